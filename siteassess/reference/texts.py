"""Texts the program shows, by language."""

from __future__ import annotations

import string
from collections.abc import Mapping
from functools import cache
from typing import Any

from siteassess.errors import UnknownName
from siteassess.reference.languages import languages
from siteassess.reference.tables import rows


def cautions(language: str = "en", on: str = "result") -> tuple[str, ...]:
    """The cautions that stand on every result, or on what else `texts.yaml` names, in their order.

    Parameters
    ----------
    language : to tell them in
    on : what they stand on: "result", or another word of `stands_on`

    Raises
    ------
    UnknownName : if nothing stands on it, or the program has no such language
    """
    known_language(language)
    told = tuple(row[language] for row in rows("texts") if on in row.get("stands_on", ()))
    if not told:
        raise UnknownName(f"no caution stands on {on!r} in texts.yaml")
    return told


@cache
def text(key: str, language: str = "en") -> str:
    """One text by its key.

    Parameters
    ----------
    key : of the row
    language : to tell it in

    Raises
    ------
    UnknownName : if texts.yaml has no such key, or the program no such language
    """
    known_language(language)
    for row in rows("texts"):
        if row["key"] == key:
            return str(row[language])
    raise UnknownName(f"no text {key!r} in texts.yaml")


def known_language(language: str) -> str:
    """The code of a language, if the program speaks it.

    Parameters
    ----------
    language : code that was asked for

    Raises
    ------
    UnknownName : if it does not
    """
    if language not in languages():
        raise UnknownName(f"no language {language!r}; there is: {', '.join(languages())}")
    return language


def filled(told: str, values: Mapping[str, Any], language: str = "en") -> str:
    """A text with its values: `{count}`, and `{count:tree|trees}` for the word that goes with one and with several.

    Parameters
    ----------
    told : with names in braces
    values : by name
    language : whose numbers and plurals are meant
    """
    return _Filled(language).vformat(told, (), values) if "|" in told else told.format(**values)


class _Filled(string.Formatter):
    def __init__(self, language: str):
        self.language = language

    def format_field(self, value: Any, format_spec: str) -> str:
        return of_count(value, format_spec, self.language) if "|" in format_spec else str(format(value, format_spec))


def of_count(count: Any, forms: str, language: str = "en") -> str:
    """Of two forms with a stroke between, the one for this many: French takes the first for all below two.

    A number of decimals before the forms is that of the number as it is shown: 1.6 shown as 2 is several.
    """
    one, several = forms.split("|")
    if count is None:
        return several
    if one[:1].isdigit():
        places, one = one.split(" ", 1)
        count = round(float(count), int(places))
    return one if float(count) == 1 or (language == "fr" and abs(float(count)) < 2) else several


def decimal(value: float, decimals: int, language: str = "en") -> str:
    """A number with so many decimals and the mark of a language; what rounds to nought has no sign."""
    return marked(f"{value:z.{decimals}f}", language)


def marked(number: str, language: str) -> str:
    """A number written with a point, with the decimal mark of a language.

    Parameters
    ----------
    number : written with a point
    language : whose mark it gets
    """
    return number.replace(".", text("decimal-mark", language))


def share(value: float, decimals: int, language: str = "en") -> str:
    """A share as so many of a hundred.

    Parameters
    ----------
    value : 0 to 1 [-]
    decimals : of the hundredths
    language : to tell it in
    """
    return text("share", language).format(decimal(100 * value, decimals, language))
