"""Tree names as files write them: the tree one of them means, where the table of species alone does not hold it.

A record asks its writer; a file of a city has none to ask, so a slip of spelling, an old name of a genus and a common
name with a cultivar before it are taken here, and told. What such a name is taken for is never kinder than what it
says: without a species it is the weakest of its genus.
"""

from __future__ import annotations

import re
from dataclasses import dataclass, replace
from functools import cache, lru_cache
from typing import Any

import numpy as np
from numpy.typing import NDArray

from siteassess.reference import names
from siteassess.reference.findings import Said, said
from siteassess.reference.species import SpeciesMatch, known_species
from siteassess.reference.tables import rows

LONG_ENOUGH = 7  # letters of a genus that is known although one of them is wrong
LONGER = 10  # and although two are
_ENDINGS = re.compile(r"(?:us|um|is|os|on|er|ae|ii|a|e|i)$")
_PARTS = re.compile(r"\s*::\s*|\s+[-–—/|]\s+|\s*[()\[\]]\s*|\s*;\s*")
_SIGNS = re.compile(r"[®™©\u00a0\u200b\ufeff]+")
_NOT_WORDS = re.compile(r"[^\w'’-]+|[\d_]+")
_OPEN_QUOTE = re.compile(r"\s['\"‘’“‚`´][^'\"’”`´]*$")
_CV = re.compile(r"\s+(?:cv|var|subsp|ssp|f)\.\s.*$", re.IGNORECASE)


@lru_cache(maxsize=65536)
def written_species(name: str) -> SpeciesMatch | None:
    """The tree that a name out of a file means, with the note of how it was taken; None for a name of none.

    Parameters
    ----------
    name : as written: scientific or common, in any of four languages, several of them parted by "::", "-" or brackets
    """
    whole = " ".join(_SIGNS.sub(" ", name).split())
    if is_no_name(whole):
        return None
    parts = _parts(whole)
    for way in (_as_it_stands, _common_with_cultivar, _genus_misspelt):
        if matches := [match for part in parts if (match := way(part)) is not None and match.genus]:
            return replace(_closest(matches), asked=name)
    if any(word in _no_wood() for part in parts for word in names.folded(part).split()):
        palm = known_species("palm")
        return replace(palm, asked=name, note=said("name-without-wood", name=whole[:60])) if palm else None
    leafy = (known_species(part) for part in parts)
    return next((replace(match, asked=name) for match in leafy if match), None)


def _closest(matches: list[SpeciesMatch]) -> SpeciesMatch:
    """The first match, or a species of its genus that another part of the name tells: "Linden (Tilia cordata)"."""
    first = matches[0]
    kinds = (match for match in matches if match.genus == first.genus and match.matched_by != "genus")
    return next(kinds, first)


@lru_cache(maxsize=65536)
def is_no_name(name: str) -> bool:
    """Whether a cell says that there is no tree, or nobody knows which, in place of a name.

    Parameters
    ----------
    name : as written
    """
    plain = _bare(name)
    return not plain or not {plain, _bare(plain.partition("::")[0])}.isdisjoint(_nothing()) or names.is_nothing(plain)


def is_no_tree(name: str) -> bool:
    """Whether a cell in the place of a name or a status says that no tree stands there, or not yet.

    Parameters
    ----------
    name : as written
    """
    return not {_bare(name), _bare(name.partition("::")[0])}.isdisjoint(_words("no_tree"))


def is_several(cell: str, of_a_kind: bool = False) -> bool:
    """Whether a cell says that its row is a group of trees, whose girth may be the sum of all of them.

    Parameters
    ----------
    cell : of any column
    of_a_kind : of a column that tells what a row is, where "group" is enough
    """
    return _bare(cell) in _words("several") or (of_a_kind and _bare(cell) in _words("several_by_kind"))


def named_itself(called: str) -> str:
    """What somebody calls a point without where it stands: "oak" of "oak by the bench".

    Parameters
    ----------
    called : as written
    """
    words = called.split()
    at = next((i for i, word in enumerate(words) if i and _bare(word) in _words("beside")), len(words))
    return " ".join(words[:at])


def names_a_tree(called: str) -> bool:
    """Whether a text holds the name of a tree, or the word itself.

    Parameters
    ----------
    called : as written, without where it stands
    """
    words = _folded(_numberless(called))
    if any(word.removesuffix("s").endswith(("tree", "baum", "baume", "arbre", "arbol", "arbole")) for word in words):
        return True
    match = written_species(" ".join(words))
    return match is not None and (match.genus != "" or match.leaf_type == "palm")


def thing_named(called: str) -> tuple[str, bool]:
    """What a text names that is no tree.

    Parameters
    ----------
    called : as written, without where it stands

    Returns
    -------
    The thing, '' for none; whether the text names nothing beside it.
    """
    words = [word for word in _numberless(called).split() if word not in _words("slight")]
    whole = " ".join(words)
    forms = [" ".join(words[at:]) for at in range(len(words))] + [" ".join(words[:end]) for end in range(len(words))]
    named = next((form for form in forms if not {form, form.removesuffix("s")}.isdisjoint(_words("thing"))), "")
    return named, named == whole != ""


def _numberless(called: str) -> str:
    """A text in small letters without figures, marks and single letters, as "Bench 2 (B)" numbers a bench."""
    return " ".join(word for word in _NOT_WORDS.split(called.casefold()) if len(word) > 1)


def joined(genus: Any, epithet: Any) -> NDArray[np.object_]:
    """Genus and epithet of each row as one name; the second alone where it holds the first already.

    Parameters
    ----------
    genus, epithet : tidied cells
    """
    both = [f"{one} {other}".strip() if not other.casefold().startswith(one.casefold()) or not one else other
            for one, other in zip(genus, epithet)]  # fmt: skip
    named: NDArray[np.object_] = np.empty(len(both), dtype=object)
    named[:] = both
    return named


def _bare(name: str) -> str:
    return " ".join(name.casefold().split()).strip(" :;,.-?'\"")


def _parts(name: str) -> tuple[str, ...]:
    """The whole, and what stands between "::", dashes and brackets; a name of the form "Maple, Norway" turned round."""
    parts = [part.strip(" ,:-") for part in _PARTS.split(name)]
    before, comma, after = name.partition(",")
    turned = [f"{after.strip()} {before.strip()}", before.strip(), after.strip()] if comma and after.strip() else []
    trimmed = [_OPEN_QUOTE.sub("", _CV.sub("", part)) for part in (name, *parts)]
    found = dict.fromkeys([name, *parts, *trimmed, *turned])
    return tuple(part for part in found if part and not is_no_name(part))


def _as_it_stands(name: str) -> SpeciesMatch | None:
    match = known_species(name)
    if match is None or match.matched_by != "genus" or match.note is None:
        return match
    return _with_other_ending(name) or match


def _with_other_ending(name: str) -> SpeciesMatch | None:
    """A species whose epithet differs in its ending alone, as "syriaca" for "syriacus"; none where two do."""
    genus, epithet = names.binomial(name)
    stem = _stem(epithet)
    found = [one for one in _epithets().get(genus, ()) if _stem(one) == stem] if len(stem) > 3 else []
    if len(found) != 1:
        return None
    match = known_species(f"{genus} {found[0]}")
    return match and replace(match, note=_taken(name, match.accepted))


def _stem(epithet: str) -> str:
    return _ENDINGS.sub("", epithet.replace("-", ""))


def _taken(name: str, accepted: str) -> Said:
    return said("name-taken-for", name=name[:60], accepted=accepted)


# ---- a genus by another name, or misspelt


def _genus_misspelt(name: str) -> SpeciesMatch | None:
    genus, epithet = names.binomial(name)
    meant = _other_genera().get(genus.casefold()) or _near_genus(genus, epithet)
    match = meant and (_as_it_stands(f"{meant} {epithet}".strip()) or known_species(meant))
    return replace(match, note=_taken(name, match.accepted)) if match else None


@cache
def _near_genus(genus: str, epithet: str) -> str:
    """The one genus that a slip of one letter away is known, or of two in a long word before an epithet it has."""
    slips = 2 if len(genus) >= LONGER else 1 if len(genus) >= LONG_ENOUGH else 0
    typed = genus.casefold()
    near = [known for known in _known_genera() if slips and abs(len(known) - len(typed)) <= slips
            and known[0].casefold() == typed[:1] and _slips(known.casefold(), typed, slips) <= slips]  # fmt: skip
    if len(near) != 1 or (_slips(near[0].casefold(), typed, 1) > 1 and epithet not in _epithets().get(near[0], ())):
        return ""
    return near[0]


def _slips(one: str, other: str, most: int) -> int:
    """Letters to change, leave out, add or turn round between two words; more than `most` is not counted on."""
    before, row = list[int](), list(range(len(other) + 1))
    for i, letter in enumerate(one, 1):
        now = [i]
        for j, typed in enumerate(other, 1):
            least = min(row[j] + 1, now[j - 1] + 1, row[j - 1] + (letter != typed))
            if i > 1 and j > 1 and letter == other[j - 2] and one[i - 2] == typed:
                least = min(least, before[j - 2] + 1)
            now.append(least)
        if min(now) > most:
            return most + 1
        before, row = row, now
    return row[-1]


@cache
def _known_genera() -> tuple[str, ...]:
    return tuple(sorted({row.genus for row in rows("species")}))


@cache
def _epithets() -> dict[str, tuple[str, ...]]:
    """Epithets of named species by genus, of synonyms too."""
    found: dict[str, list[str]] = {}
    for row in rows("species"):
        for name in (row.scientific_name, *row.synonyms.split(";")):
            genus, epithet = names.binomial(name)
            if row.rank == "species" and epithet:
                found.setdefault(genus, []).append(epithet)
    return {genus: tuple(dict.fromkeys(epithets)) for genus, epithets in found.items()}


# ---- a common name with more before it than the table has


def _common_with_cultivar(name: str) -> SpeciesMatch | None:
    """The genus of a common name by the end that a table holds ("Bowhall red maple"), or by its one telling word."""
    words = names.without_cultivar(name).split()
    genus = next((match.genus for start in range(1, len(words) - 1)
                  if (match := known_species(" ".join(words[start:]))) and match.genus), "")  # fmt: skip
    genus = "" if genus and _barred(genus, name) else genus or _by_telling_word(name)
    match = known_species(f"{genus} sp.") if genus else None
    return replace(match, note=_taken(name, match.accepted)) if match else None


def _by_telling_word(name: str) -> str:
    words = _folded(name)
    found = {one.genus for one in _heads() if one.tells(words)}
    return found.pop() if len(found) == 1 else ""


def _folded(name: str) -> list[str]:
    """Words of a name without accents and marks; a compound with a hyphen, as "Weiß-Dorn", is one word."""
    words = (word.strip(".,'’()").replace("-", "") for word in names.without_accents(name).split())
    return [word for word in words if word]


def _barred(genus: str, name: str) -> bool:
    words = _folded(name)
    return any(one.genus == genus and one.barred.intersection(words) for one in _heads())


@dataclass(frozen=True)
class _Head:
    """The word of a common name that tells the genus."""

    genus: str
    words: frozenset[str]
    first: bool  # at the start of the name, else at its end
    barred: frozenset[str]

    def tells(self, words: list[str]) -> bool:
        ends = tuple(word for word in self.barred if len(word) >= LONG_ENOUGH)
        if not words or self.barred.intersection(words) or any(word.endswith(ends) for word in words):
            return False
        if self.first:
            return words[0] in self.words
        # a German compound ends in the word; short ones end too many others
        return words[-1] in self.words or words[-1].endswith(tuple(word for word in self.words if len(word) >= 5))


# ---- the table


@cache
def _heads() -> tuple[_Head, ...]:
    def folded(words: Any) -> frozenset[str]:
        return frozenset(word for one in words for word in _folded(one))

    return tuple(_Head(row["genus"], folded(row["head"]), row["at"] == "start", folded(row["not_with"]))
                 for row in rows("written_names") if "head" in row)  # fmt: skip


@cache
def _other_genera() -> dict[str, str]:
    return {typed.casefold(): row["genus"] for row in rows("written_names") if "typed" in row for typed in row["typed"]}


@cache
def _no_wood() -> frozenset[str]:
    return frozenset(names.folded(word) for row in rows("written_names") if "no_wood" in row for word in row["no_wood"])


@cache
def _nothing() -> frozenset[str]:
    return _words("nothing") | _words("no_tree")


@cache
def _words(kind: str) -> frozenset[str]:
    return frozenset(_bare(word) for row in rows("written_names") if kind in row for word in row[kind])
