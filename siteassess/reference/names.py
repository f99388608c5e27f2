"""Reads a tree's name as people write it: accents, hybrid signs, authors, cultivars, "sp.", case and hyphens."""

from __future__ import annotations

import difflib
import re
import unicodedata
from functools import cache

from siteassess.errors import UnknownName
from siteassess.reference.findings import said, wording
from siteassess.reference.tables import rows


def _typed(group: str) -> tuple[str, ...]:
    return tuple(word for row in rows("plain_words") if row.group == group for word in row.words.split("; "))


# by the table `plain_words`, in small letters without accents but for leaf types: what says of a tree its leaves alone;
# what has no trunk of wood that the models know, or is wood that no longer lives; what is typed where there is nothing
# or nobody, or nobody knows, of trees, pads, knots and who shuts a path, marks before and after left out
LEAF_TYPE_WORDS = {row.group.removeprefix("leaf type "): _typed(row.group) for row in rows("plain_words")
                   if row.group.startswith("leaf type ")}  # fmt: skip
NO_TREES, NO_LONGER_ALIVE = _typed("no tree"), _typed("no longer alive")
NO_NAME = ("", *_typed("nothing"))
# words that say of a name or a paper that it is still to come, or was refused
STILL_OPEN = frozenset(_typed("still open"))
SHORTEST_END = 5  # letters of a word that may end a compound, as "Baumstumpf" and "Dattelpalme"
SO_FAR = frozenset(_typed("so far"))
_NO_MARKS = re.compile(r"[^\w' ]|_")
_NOT_EPITHETS = {"sp", "spp", "species", "var", "subsp", "ssp", "cv", "f", "x", "hybrid", "hybrids", "tree", "trees"}
_CULTIVAR = re.compile(r"""(?:^|\s)['"‘’“‚`´].+?['"’”`´](?=\s|$)""")
_NOT_LETTERS = re.compile(r"[\W_]+")
_LONE_X = re.compile(r"(?<![a-z0-9])x(?![a-z0-9])")
_RANK_WORDS = re.compile(r"\b(?:var|subsp|ssp|cv|sp|spp|species|tree|trees)\b\.?")


def key(name: str) -> str:
    """What of a name counts: letters only, no accents, no hybrid sign, no words of rank, no "tree"."""
    text = name.casefold().replace("_", " ")
    if not text.isascii():
        text = without_accents(text.replace("×", " "))
    text = _RANK_WORDS.sub(" ", _LONE_X.sub(" ", text))
    return _NOT_LETTERS.sub("", text).removesuffix("tree") or _NOT_LETTERS.sub("", text)


def words_outside(name: str, words: tuple[str, ...]) -> str:
    """The first of some words that a name holds, or that ends one of its words; '' where it holds none.

    Accents and a plural's "s" are put aside. A short word, such as "fern", ends too many others.

    Parameters
    ----------
    name : of a plant, as typed
    words : in small letters, without accents
    """
    held = [word for word in _NOT_LETTERS.split(without_accents(without_cultivar(name))) if word]
    ends = tuple(word for word in words if len(word) >= SHORTEST_END)
    return next((word for word in held if word in words or word.removesuffix("s") in words or word.endswith(ends)), "")


def is_nothing(name: str) -> bool:
    """Whether a text only says that there is none, or nobody, or that it is not known or settled.

    Parameters
    ----------
    name : as typed
    """
    words = _NO_MARKS.sub(" ", without_accents(name).replace("’", "'")).split()
    return bool(STILL_OPEN.intersection(words)) or " ".join(word for word in words if word not in SO_FAR) in NO_NAME


def folded(name: str) -> str:
    """A whole name as it is compared: capitals, accents, hyphens and spaces make no difference, every word does.

    Parameters
    ----------
    name : as typed
    """
    return " ".join(_NOT_LETTERS.split(without_accents(name))).strip()


def without_accents(text: str) -> str:
    """A text in small letters without accents.

    Parameters
    ----------
    text : any
    """
    text = unicodedata.normalize("NFKD", text.casefold())
    return "".join(letter for letter in text if not unicodedata.combining(letter))


def without_cultivar(name: str) -> str:
    """The name without a cultivar in quotes."""
    return _CULTIVAR.sub(" ", name).strip()


def binomial(name: str) -> tuple[str, str]:
    """Genus and epithet of a scientific name ('' where there is none), authors and lower ranks dropped."""
    words = re.findall(r"[^\W\d_]+(?:-[^\W\d_]+)*", without_cultivar(name).replace("×", " x "))
    words = [word for word in words if word.casefold() != "x"]
    genus = words[0].capitalize() if words else ""
    epithet = words[1].casefold() if len(words) > 1 else ""
    return genus, "" if epithet in _NOT_EPITHETS else epithet


@cache
def index() -> dict[str, tuple[tuple[int, str, str], ...]]:
    """From key to (row number in `species`, how it is named there, the name as written)."""
    entries: dict[str, list[tuple[int, str, str]]] = {}
    for number, row in enumerate(rows("species")):
        entries.setdefault(key(row.scientific_name), []).append((number, "species", row.scientific_name))
        for column in ("synonyms", "english", "german", "french", "spanish"):
            how = "synonym" if column == "synonyms" else "common name"
            for name in getattr(row, column).split(";"):
                if name:
                    entries.setdefault(key(name), []).append((number, how, name))
    return {k: tuple(found) for k, found in entries.items()}


@cache
def leaf_type_index() -> dict[str, str]:
    """From key to leaf type, for trees named by no more than that."""
    words = {}
    for leaf_type, names in LEAF_TYPE_WORDS.items():
        for name in names:
            words[key(name)] = leaf_type
            if leaf_type != "unknown":
                words[key("unknown " + name)] = leaf_type
    return words


def unknown(name: str) -> UnknownName:
    """The error for a name that no row holds, with the near ones."""
    # two letters of three in their order are as much as a slip leaves of a short name
    near = difflib.get_close_matches(key(name), index(), n=8, cutoff=0.72 if len(key(name)) > 4 else 0.66)
    named: dict[str, str] = {}
    for number, how, written in (entry for k in near for entry in index()[k]):
        accepted = rows("species")[number].scientific_name
        named.setdefault(accepted, accepted if how == "species" else f"{written} ({accepted})")
    near_it = (said("near-it", names=tuple(named.values())[:5]),) if named else ()
    values = {"name": repr(name), "near": near_it}
    return UnknownName(wording("no-tree-of-the-name", values), "no-tree-of-the-name", **values)


def ambiguous(name: str, candidates: list[str]) -> UnknownName:
    """The error for a common name that several genera share."""
    values = {"name": repr(name), "trees": tuple(candidates)}
    return UnknownName(wording("name-of-several-trees", values), "name-of-several-trees", **values)
