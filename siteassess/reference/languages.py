"""The languages the program speaks, and how another one comes in as one file.

The texts in en, de, fr and es stand side by side in the tables. A further language is one file of the folder
`languages` beside them, named by its code (`it.yaml`): by table, group and key the texts of that language, and by
scientific name its names of trees. What it leaves out is shown in English. `to_fill` makes the file to fill in.
"""

from __future__ import annotations

import re
import string
from collections.abc import Iterator, Mapping
from functools import cache
from pathlib import Path
from typing import Any

from siteassess.reference.locate import data_folder

SIDE_BY_SIDE = ("en", "de", "fr", "es")
TABLES = ("texts", "findings", "paper_texts", "form_texts", "register_texts")
TREES = "trees"
_NAMES = re.compile(r"\{[^{}|]*\}")  # what a text is filled with; what words go with a count is its own


def load_yaml(path: Path, texts_alone: bool = False) -> Any:
    """Plain content of one of our own YAML files, by the C loader where there is one.

    Parameters
    ----------
    path : of a shipped file
    texts_alone : all in it is text, also what YAML takes for a truth: an Italian "no" is a word

    Returns
    -------
    Dictionaries, lists, texts and numbers as they stand.
    """
    import yaml  # only tables that nest need it; species, wood and bark do without

    plain, fast = ("BaseLoader", "CBaseLoader") if texts_alone else ("SafeLoader", "CSafeLoader")
    loader = getattr(yaml, fast, getattr(yaml, plain))
    return yaml.load(path.read_text(encoding="utf-8"), loader)


def languages() -> tuple[str, ...]:
    """Codes of all languages, English first."""
    return (*SIDE_BY_SIDE, *_files())


@cache
def _files() -> dict[str, Path]:
    return {path.stem: path for path in sorted((data_folder() / "languages").glob("*.yaml"))}


@cache
def _read(language: str) -> tuple[Mapping[str, Any], str]:
    """What the file of a further language holds, and why it cannot be read where it cannot."""
    import yaml

    try:
        whole = load_yaml(_files()[language], texts_alone=True) or {}
    except (OSError, UnicodeDecodeError, yaml.YAMLError) as error:
        return {}, " ".join(str(error).split())
    return (whole, "") if isinstance(whole, Mapping) else ({}, "wanted tables by name")


def own_file(language: str) -> Mapping[str, Any]:
    """What the file of a further language holds; nothing for one that stands side by side with English.

    Parameters
    ----------
    language : code of any language

    Returns
    -------
    By table, group and key, the texts.
    """
    return _read(language)[0] if language in _files() else {}


def faults(language: str) -> list[str]:
    """What is wrong with the file of a further language: texts that fill in other names, and rows no table has.

    Parameters
    ----------
    language : code of a further language; one of ours has none
    """
    from siteassess.reference.tables import document

    if language not in _files():
        return []
    whole, unread = _read(language)
    told = [f"{language}.yaml cannot be read, all is shown in English: {unread}"] if unread else []
    for name, own in whole.items():
        known = {address: text["en"] for address, text in _texts(document(name))} if name in TABLES else {}
        for group, rows in own.items() if isinstance(own, Mapping) and name != TREES else ():
            for key in rows if isinstance(rows, Mapping) else ():
                english, given = known.get((group, key)), _at(own, (group, key))
                if english is None:
                    told.append(f"{language}.yaml: {name}, {group}, {key!r}: no such text")
                elif given is not None and not _fills_alike(given, english):
                    wanted = ", ".join(sorted(set(_NAMES.findall(english)))) or "no names in braces"
                    wanted = wanted if _can_be_filled(given) else "braces in pairs, and two words for a count"
                    told.append(f"{language}.yaml: {name}, {group}, {key!r}: wanted {wanted}; shown in English")
    return told


def with_languages(name: str, whole: Any) -> Any:
    """A table in which each text has every language; one that a language lacks stands there in English."""
    if name in TABLES:
        for address, text in _texts(whole):
            for language in languages():
                own = _at(own_file(language).get(name), address)
                text.setdefault(language, own if own and _fills_alike(own, text["en"]) else text["en"])
    return whole


def _at(told: Any, address: tuple[str, str]) -> str | None:
    for key in address:
        told = told.get(key) if isinstance(told, Mapping) else None
    return str(told) if told is not None else None


def _fills_alike(text: str, english: str) -> bool:
    """Whether a text is filled with what the English one is: a number left out, or written otherwise, must not pass."""
    return set(_NAMES.findall(text)) == set(_NAMES.findall(english)) and _can_be_filled(text)


def _can_be_filled(text: str) -> bool:
    """Whether its braces close, and words for a count are two: else a paper that fills it in ends in an error."""
    try:
        specs = [how or "" for _, _, how, _ in string.Formatter().parse(text)]
    except ValueError:
        return False
    return all(how.count("|") <= 1 for how in specs)


def _texts(whole: Mapping[str, Any]) -> Iterator[tuple[tuple[str, str], Any]]:
    """Each text of a table: its group, its key (else its English words), for findings the part; and its languages."""
    for section in ("words", "rows"):
        for row in whole.get(section, ()):
            if "code" in row:
                yield from (((row["code"], part), told) for part, told in row.items()
                            if isinstance(told, Mapping) and "en" in told)
            elif "en" in row:
                yield (row.get("group", section), row.get("key", row["en"])), row


def to_fill(language: str) -> str:
    """The file of a further language as YAML: its own text where it has one, the English one where it lacks it."""
    import yaml

    from siteassess.reference.tables import document, rows

    told: dict[str, Any] = {}
    for name in TABLES:
        for address, text in _texts(document(name)):
            into = told.setdefault(name, {}).setdefault(address[0], {})
            into[address[1]] = text.get(language, text["en"])
    own = own_file(language).get(TREES, {})
    told[TREES] = {row.scientific_name: own.get(row.scientific_name, row.english) for row in rows("species")}
    return str(yaml.safe_dump(told, allow_unicode=True, sort_keys=False, width=10_000))
