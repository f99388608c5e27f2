"""What the rules of a place answer: plain frozen shapes of codes, told in any language."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from siteassess.reference.findings import Said, word


@dataclass(frozen=True)
class Clause:
    """One clause of the land manager's rules, answered."""

    clause: str  # its kind
    answer: Literal["met", "not met", "cannot tell"]
    asks: Said
    shows: Said
    cites: Said

    @property
    def wanted(self) -> str:
        return self.asks.in_words()

    @property
    def measured(self) -> str:
        return self.shows.in_words()

    @property
    def source(self) -> str:
        return self.cites.in_words()

    def in_words(self, language: str = "en") -> dict[str, str]:
        """Its parts by name in a language; the answer stays a word to decide by."""
        told = {"wanted": self.asks, "measured": self.shows, "source": self.cites}
        return {"clause": word(self.clause, language), "answer": self.answer,
                **{name: one.in_words(language) for name, one in told.items()}}  # fmt: skip


@dataclass(frozen=True)
class RuleCheck:
    """The rules of the place, kept apart from the verdict."""

    name: str
    as_of: str
    source: str
    check_current_text: str
    clauses: tuple[Clause, ...]
