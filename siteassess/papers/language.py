"""The words and measures of a paper in the reader's language and units."""

from __future__ import annotations

import functools
import math
import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Any

from siteassess.advice.results import Assessment
from siteassess.errors import UnknownName
from siteassess.papers.wording import known
from siteassess.records.site import Emergency
from siteassess.reference.findings import word
from siteassess.reference.pages import plain
from siteassess.reference.tables import rows
from siteassess.reference.texts import cautions, decimal, marked, share
from siteassess.reference.texts import known as known_language
from siteassess.register.reasons import Reason, in_words
from siteassess.units import si_factor

EMERGENCY = ("number", "place", "gate", "key", "access", "signal", "meeting_point", "defibrillator")
WORD_GROUPS = frozenset(("verdict", "status", "word"))
SYSTEMS = ("metric", "us")


@dataclass(frozen=True)
class Words:
    """Texts by key, and words of records and registers by their English word."""

    language: str
    texts: Mapping[str, str]
    vocabulary: Mapping[str, str]

    def __call__(self, key: str, **values: object) -> str:
        """One text.

        Raises
        ------
        UnknownName : no text of that key.
        """
        if key not in self.texts:
            raise UnknownName(f"no text {key!r} for the papers")
        return self.texts[key].format(**values) if values else self.texts[key]

    def with_colon(self, key: str) -> str:
        """One text with the colon behind it, as far off as its language sets it."""
        return self(key) + self("colon")

    def of(self, word: str | None) -> str:
        """A word of a record or register in this language; as it is where the table does not hold it."""
        return self.vocabulary.get(word, plain(word)) if word is not None else self("not-recorded")

    def why(self, reasons: Iterable[Reason]) -> str:
        """Reasons of a register as one sentence in this language."""
        return "; ".join(in_words(reason, self.language, self.of) for reason in reasons)


@functools.cache
def words_in(language: str = "en") -> Words:
    """The words of a language.

    Raises
    ------
    UnknownName : no such language.
    """
    known_language(language)
    texts: dict[str, str] = {}
    vocabulary: dict[str, str] = {}
    own_words = (row for row in rows("register_texts") if row["group"] in WORD_GROUPS)
    for row in (*own_words, *rows("texts"), *rows("paper_texts")):
        into = vocabulary if row["group"] in WORD_GROUPS else texts
        into[row["key"]] = row[language]
    return Words(language, texts, vocabulary)


def emergency_told(emergency: Emergency | None, words: Words) -> list[tuple[str, str]]:
    """What is known for an emergency, as (word, text)."""
    told = ((name, getattr(emergency, name, None)) for name in EMERGENCY)
    return [(words(f"em-{name}"), plain(value)) for name, value in told if value]


def cautions_told(assessment: Assessment, words: Words) -> tuple[str, ...]:
    """The cautions of an answer in a language."""
    return assessment.cautions if words.language == "en" else cautions(words.language)


def trunk_told(reading: Mapping[str, Any], stems: int, words: Words) -> str:
    """A reading of a trunk as it was typed, what it goes round, and how it was read.

    Parameters
    ----------
    reading : of a trunk, or of the thinnest of several stems, as plain values
    stems : how many were read each by itself
    """
    if stems > 1:
        return words("rp-stems", count=stems, girth=plain(reading["girth"]))
    key, size = ("rp-girth", reading["girth"]) if reading.get("girth") else ("rp-diameter", reading["diameter"])
    how = word(reading.get("how", "unknown"), words.language)
    return words(key, size=plain(size), at=plain(reading["read_at"]), how=how)


@dataclass(frozen=True)
class Measures:
    """SI numbers as a reader writes them; with `both`, the other system stands behind in brackets."""

    words: Words
    system: str = "metric"
    both: bool = False

    def _told(self, value: float | None, metric: tuple[str, str, int], us: tuple[str, str, int]) -> str:
        if not known(value):
            return self.words("not-known")
        first, other = (metric, us) if self.system == "metric" else (us, metric)
        text = self._in(value, *first)
        return f"{text} ({self._in(value, *other)})" if self.both else text

    def _in(self, value: float, kind: str, unit: str, decimals: int) -> str:
        return f"{self.number(value / si_factor(kind, unit), decimals)} {unit}"

    def number(self, value: float | None, decimals: int = 1) -> str:
        """A plain number with the language's decimal mark."""
        if not known(value):
            return self.words("not-known")
        return decimal(value, decimals, self.words.language)

    def length(self, value: float | None, decimals: int = 1) -> str:
        return self._told(value, ("length", "m", decimals), ("length", "ft", 1 if decimals > 1 else 0))

    def width(self, value: float | None) -> str:
        """Widths of slings and pads, diameters of stems."""
        return self._told(value, ("length", "mm", 0), ("length", "in", 1))

    def round(self, value: float | None) -> str:
        """Girths."""
        return self._told(value, ("length", "cm", 0), ("length", "in", 0))

    def force(self, value: float | None) -> str:
        return self._told(value, ("force", "kN", 1), ("force", "lbf", 0))

    def pressure(self, value: float | None) -> str:
        return self._told(value, ("pressure", "kPa", 0), ("pressure", "psi", 0))

    def speed(self, value: float | None) -> str:
        """Gusts as a forecast tells them, with m/s always beside; rounded down, so that a line comes down early."""
        if not known(value):
            return self.words("not-known")
        units = ("km/h" if self.system == "metric" else "mph", "m/s")
        told, plain = (f"{math.floor(value / si_factor('speed', unit) + 1e-9)} {unit}" for unit in units)
        return f"{told} ({plain})"

    def area(self, value: float | None) -> str:
        if not known(value):
            return self.words("not-known")
        metric = f"{self.number(value, 0)} m2"
        feet = f"{self.number(value / si_factor('length', 'ft') ** 2, 0)} sq ft"
        first, other = (metric, feet) if self.system == "metric" else (feet, metric)
        return f"{first} ({other})" if self.both else first

    def marked(self, text: str) -> str:
        """Numbers written with a point, with the language's decimal mark."""
        return re.sub(r"\d\.\d", lambda found: marked(found[0], self.words.language), text)

    def share(self, value: float | None) -> str:
        return share(value, 0, self.words.language) if known(value) else self.words.of("cannot say")

    def bearing(self, value: float | None) -> str:
        return f"{round(value) % 360:03d}°" if known(value) else self.words("not-known")


def measures(words: Words, system: str = "metric", both: bool = False) -> Measures:
    """Measures of a system.

    Raises
    ------
    UnknownName : neither metric nor us.
    """
    if system not in SYSTEMS:
        raise UnknownName(f"no system of units {system!r}; there is: {', '.join(SYSTEMS)}")
    return Measures(words, system, both)
