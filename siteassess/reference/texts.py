"""Texts the program shows, by language; a text missing in a language is shown in English."""

from __future__ import annotations

from collections.abc import Mapping

from siteassess.errors import UnknownName
from siteassess.reference.tables import document, rows


def languages() -> tuple[str, ...]:
    """Languages that texts.yaml has room for."""
    return tuple(document("texts")["languages"])


def cautions(language: str = "en") -> tuple[str, ...]:
    """The cautions that stand on every result, in their order."""
    return tuple(_in(row, language) for row in rows("texts") if row["group"] == "caution")


def text(key: str, language: str = "en") -> str:
    """One text by its key.

    Raises
    ------
    UnknownName
        If texts.yaml has no such key or no room for the language.
    """
    for row in rows("texts"):
        if row["key"] == key:
            return _in(row, language)
    raise UnknownName(f"no text {key!r} in texts.yaml")


def _in(row: Mapping[str, str], language: str) -> str:
    if language not in languages():
        raise UnknownName(f"no language {language!r}; there is: {', '.join(languages())}")
    return row.get(language) or row["en"]
