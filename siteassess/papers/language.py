"""The words of a paper in the reader's language."""

from __future__ import annotations

import functools
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from siteassess.errors import UnknownName
from siteassess.reference.findings import answered, with_constants
from siteassess.reference.measures import Measures
from siteassess.reference.pages import plain
from siteassess.reference.tables import rows
from siteassess.reference.texts import cautions, filled, known_language
from siteassess.register.reasons import WORD_GROUPS, Reason, ReasonValue, sentence, text_of, word_here

if TYPE_CHECKING:
    from siteassess.advice.results import Assessment
    from siteassess.records.site import Emergency
    from siteassess.records.trunk import TrunkHere

EMERGENCY = ("number", "place", "gate", "key", "access", "signal", "meeting_point", "defibrillator")


@dataclass(frozen=True)
class Words:
    """Texts by key, and words of records and registers."""

    language: str
    texts: Mapping[str, str]

    def __call__(self, key: str, **values: object) -> str:
        """One text.

        Raises
        ------
        UnknownName : no text of that key.
        """
        if key not in self.texts:
            raise UnknownName(f"no text {key!r} for the papers")
        return filled(self.texts[key], values, self.language) if values else self.texts[key]

    def with_colon(self, key: str, **values: object) -> str:
        """One text with the colon behind it, as far off as its language sets it."""
        return self(key, **values) + self("colon")

    def of(self, word: str | None) -> str:
        """A word of a record or register in this language; as it is where no table holds it."""
        if word is None:
            return self("not-recorded")
        return plain(word_here(word, self.language))

    def why(self, reasons: Iterable[Reason]) -> str:
        """Reasons of a register as one sentence in this language."""
        return self.said(tuple(reasons))

    def said(self, value: ReasonValue) -> str:
        """The same of one reason; what somebody wrote stays as it is."""
        return text_of(value, self.language)

    def mark(self, state: Reason) -> str:
        """How a mark stands, where a title says already whose it is."""
        return sentence(state, self.language, group="mark")


@functools.cache
def words_in(language: str = "en") -> Words:
    """The words of a language.

    Parameters
    ----------
    language : one that the program speaks

    Raises
    ------
    UnknownName : no such language.
    """
    known_language(language)
    told = (row for row in (*rows("texts"), *rows("paper_texts")) if row["group"] not in WORD_GROUPS)
    return Words(language, {row["key"]: with_constants(row[language], language) for row in told})


def emergency_told(emergency: Emergency | None, words: Words) -> list[tuple[str, str]]:
    """What is known for an emergency, as (word, text)."""
    told = ((name, getattr(emergency, name, None)) for name in EMERGENCY)
    return [(words(f"em-{name}"), plain(value)) for name, value in told if value]


def cautions_told(assessment: Assessment, words: Words) -> tuple[str, ...]:
    """The cautions of an answer in a language."""
    return assessment.cautions if words.language == "en" else cautions(words.language)


def trunk_here(trunk: TrunkHere, words: Words, at_ties: Mapping[float, TrunkHere] | None = None) -> str:
    """The reading of a trunk that counts here, as `trunk_told` writes it; then what is judged at each tie by another.

    Parameters
    ----------
    trunk : as it is known, or at one tie
    at_ties : by height, see `records.trunk.at_ties`
    """
    if trunk.reading is None:
        return words("rp-not-measured")
    m = Measures(words.language)
    there = (words("rp-for-tie", height=m.length(height, 2), through=words("map-through", size=m.trunk(tied.diameter)),
                   reading=trunk_here(tied, words)) for height, tied in (at_ties or {}).items())  # fmt: skip
    return words("between").join((trunk_told(trunk.reading.model_dump(mode="json"), len(trunk.stems), words), *there))


def told_how_read(reading: Mapping[str, Any], words: Words) -> str:
    """How a trunk was read, behind its size; that nobody said so is told as well."""
    how = reading.get("how", "unknown")
    return words("rp-nobody-said-how") if how == "unknown" else answered(how, words.language)


def trunk_told(reading: Mapping[str, Any], stems: int, words: Words) -> str:
    """A reading of a trunk as it was typed, what it goes round, and how it was read.

    Parameters
    ----------
    reading : of a trunk, or of a stem, which is read at the tie; as plain values
    stems : how many were read each by itself, of which this is the thinnest reading
    """
    def typed(size: Any) -> str:
        return plain(Measures(words.language).typed(str(size)))

    if at := reading.get("read_at"):
        key, size = ("rp-girth", reading["girth"]) if reading.get("girth") else ("rp-diameter", reading["diameter"])
        told = words(key, size=typed(size), at=typed(at), how=told_how_read(reading, words))
    else:
        told = words("rp-stem", size=typed(reading["girth"]))
    return words("rp-stems", count=stems, reading=told) if stems > 1 else told
