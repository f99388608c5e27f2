"""Findings and codes told in any words, hostile ones too, which no table holds.

Import as `from any_words import ...`; the tests folder is on the path (see pyproject.toml).
"""

from __future__ import annotations

from dataclasses import dataclass

from siteassess.advice.finding import Finding
from siteassess.advice.verdict import Verdict
from siteassess.reference.findings import Said, said


@dataclass(frozen=True)
class Sentence(Finding):
    """A finding of words that no table holds: its values are its wordings."""

    rank = 7

    def in_words(self, language: str = "en", part: str = "full", system: str = "metric") -> str:
        return dict(self.values)[part]

    @property
    def met_by(self) -> Said | None:
        asks = dict(self.values)["condition"]
        return plainly(asks) if asks else None


def sentence(about: str, effect: Verdict, full: str, condition: str = "", looked_at: bool = True,
             action: str = "") -> Sentence:  # fmt: skip
    """A finding told in any words, hostile ones too."""
    words = {"about": about, "short": full, "full": full, "condition": condition, "action": action}
    return Sentence("sentence", effect, tuple(words.items()), looked_at)


def plainly(text: str) -> Said:
    """Any words as a code, hostile ones too."""
    return said("name-alone", name=text)
