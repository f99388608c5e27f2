"""What a rule's clause is held against, and how several values that may be meant make one answer."""

from __future__ import annotations

import datetime
from collections.abc import Sequence
from dataclasses import dataclass

from siteassess.advice.around import Near
from siteassess.advice.results import AnchorResult, LineResult
from siteassess.records.anchor import Anchor, Tree
from siteassess.records.line import End, Line
from siteassess.records.record import Record
from siteassess.reference.findings import Said, said

Answer = tuple[str, Said, Said]  # answer, what is wanted, what was measured
NO_TREE, NO_POSITION, A_TREE = Said("rule-no-tree"), Said("rule-no-position"), Said("rule-a-tree")


def written(text: str) -> Said:
    """What somebody wrote."""
    return said("name-alone", name=text)


def chosen(word: str) -> Said:
    """A word of the record or the rules."""
    return said("kind-alone", kind=word)


def anchor_words(anchor: Anchor) -> Said:
    """What an anchor is that is no tree: as somebody named it, else its kind."""
    what = getattr(anchor, "what", None)
    return written(what) if what else chosen(anchor.kind)


@dataclass(frozen=True)
class HeldAgainst:
    """One end of one line, with what was worked out for it: what every clause is held against.

    `place` is the latitude and longitude of the anchor [deg], None where it has no position; `near` what the site
    marks, by distance from the line; `crossed` the kinds of marked things the line crosses.
    """

    record: Record
    line: Line
    anchor: Anchor
    end: End
    result: AnchorResult
    whole: LineResult
    on: datetime.date
    place: tuple[float, float] | None = None
    near: tuple[Near, ...] = ()
    crossed: tuple[Near, ...] = ()

    @property
    def tree(self) -> Tree | None:
        return self.anchor if isinstance(self.anchor, Tree) else None


def meets(value: float, operator: str, limit: float) -> bool:
    """Whether a value meets a limit; a hair is let pass, so that 30 cm meets 30 cm in every unit."""
    hair = 1e-9
    return {">=": value >= limit - hair, ">": value > limit + hair, "<=": value <= limit + hair,
            "<": value < limit - hair}[operator]  # fmt: skip


def among(values: Sequence[float], operator: str, limit: float) -> str:
    """One answer from every value the clause may mean: where they disagree, or there is none, nobody can tell."""
    answers = {meets(value, operator, limit) for value in values}
    if len(answers) != 1:
        return "cannot tell"
    return "met" if answers.pop() else "not met"


def asked(there: bool | None, asks: str) -> str:
    """Answer for a thing that is there or not, or of which the record does not say."""
    if there is None:
        return "cannot tell"
    return "met" if there == (asks == "required") else "not met"


def si(quantity) -> float | None:
    return quantity.si if quantity else None
