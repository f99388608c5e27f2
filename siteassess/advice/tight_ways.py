"""What would make a line clear the ground: the least tension at its ties, the least ties at its tension, who is needed.

Every way that is offered was judged again at the webbing's soft end and at the low end of what the crew leaves in the
line, so that a "yes" is one.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass, replace

from siteassess.advice.ground import HIGH_M
from siteassess.advice.hauling_inputs import stages_said
from siteassess.errors import OutsideModel
from siteassess.mechanics.clearance import MOST_TRIED, least_standing, lowest_tie, walked_height
from siteassess.mechanics.hauling import Range
from siteassess.mechanics.line_load import LoadedLine
from siteassess.mechanics.profile import Profile
from siteassess.mechanics.stretch_table import StretchTable
from siteassess.mechanics.tightening import Pullers
from siteassess.reference.constants import constant
from siteassess.reference.findings import Said, said

MOST_PEOPLE = int(constant("most people on a rope"))
STEP_M = 0.01  # a tie is told to the centimetre, rounded up


@dataclass(frozen=True)
class TightPlan:
    """A line to be made tight: its webbing at the soft, likely and stiff end, its ties, the ground and the crew."""

    line: LoadedLine
    soft: float | StretchTable
    stiff: float | StretchTable
    tie_a: float  # over the ground at A [m]
    tie_b: float  # over the ground at B [m]
    ground: Profile
    margin: float  # of the feet over the ground [m]
    crew: Pullers
    settles: Range | str
    re_tensioned: int = 0

    @property
    def stays(self) -> Range:
        """Tension left after lock-off and settling [N]."""
        return self.crew.left(self.settles, self.re_tensioned)

    @property
    def lines(self) -> tuple[LoadedLine, LoadedLine, LoadedLine]:
        """With soft, likely and stiff webbing."""
        return replace(self.line, stiffness=self.soft), self.line, replace(self.line, stiffness=self.stiff)

    def with_people(self, people: int) -> TightPlan:
        return replace(self, crew=replace(self.crew, people=people))

    def higher(self, lift: float) -> TightPlan:
        """Both ties moved up alike [m]."""
        return replace(self, tie_a=round(self.tie_a + lift, 6), tie_b=round(self.tie_b + lift, 6))


@dataclass(frozen=True)
class Way:
    """One way that clears, judged again at the soft and low ends."""

    what: Said
    tie_a_m: float
    tie_b_m: float
    people: int

    def as_dict(self) -> dict:
        """With keys that end in their unit, and words in English."""
        return {"change": self.what.in_words(), "tie_a_m": self.tie_a_m, "tie_b_m": self.tie_b_m, "people": self.people}


@dataclass(frozen=True)
class Ways:
    """Least tension and least ties that clear, each from kind to careful, and the ways within reach."""

    answer: str  # whether what this crew leaves in it clears at these ties: yes, perhaps, no
    needed: Range  # least standing tension at these ties; NaN where none does [N]
    tie_a: Range  # least height of the tie at A with the tension that stays, both ties moved alike [m]
    works: tuple[Way, ...]
    told: tuple[Said, ...]


def ways_to_clear(plan: TightPlan) -> Ways:
    """The least tension and ties with which a line clears the ground, and what within reach gets there.

    Parameters
    ----------
    plan : Plan
        The line as planned; the standing tension of its `line` is not used.

    Returns
    -------
    Ways
    """
    needed = _needed(plan)
    found = Ways(_answer(needed, plan.stays), needed, least_ties(plan, plan.stays), (), ())
    works = tuple(_works(plan, found))
    return replace(found, works=works, told=tuple(_told(plan, found, works)))


def least_ties(plan: TightPlan, tension: Range) -> Range:
    """Least height of the tie at A, both ties moved alike, from the kindest to the most careful reading [m].

    The low end takes the high tension and stiff webbing, the high end the low tension and soft webbing. NaN where the
    line would not even hold itself up.
    """
    soft, likely, stiff = plan.lines
    return Range(*(_tie(plan, line, pull) for line, pull in
                   ((stiff, tension.high), (likely, tension.likely), (soft, tension.low))))  # fmt: skip


def _tie(plan: TightPlan, line: LoadedLine, tension: float) -> float:
    try:
        return lowest_tie(replace(line, standing=tension), plan.tie_a, plan.ground, plan.margin)
    except OutsideModel:
        return math.nan


def _needed(plan: TightPlan) -> Range:
    """Least standing tension with stiff, likely and soft webbing [N]."""
    soft, likely, stiff = (least_standing(line, plan.tie_a, plan.ground, plan.margin) for line in plan.lines)
    return Range(stiff, likely, soft)


def _answer(needed: Range, stays: Range) -> str:
    if stays.low >= needed.high:
        return "yes"
    return "perhaps" if stays.high >= needed.low else "no"


def clears(plan: TightPlan) -> bool:
    """Whether it clears with the webbing at its soft and the crew at its low end."""
    try:
        line = replace(plan.lines[0], standing=plan.stays.low)
        return walked_height(line, plan.tie_a, plan.ground).lowest >= plan.margin
    except OutsideModel:
        return False


def _works(plan: TightPlan, found: Ways) -> Iterator[Way]:
    """Ways within reach: other ties, more people, else both; each judged again."""
    ties = _with_ties(plan)
    if ties is not None:
        yield _way(said("ties-as-low-as-clears" if ties.tie_a <= plan.tie_a else "higher-ties"), ties)
    people = None if found.answer == "yes" else _with_people(plan)
    if people is not None:
        yield _way(said("more-people"), people)
    if ties is None and people is None:
        both = _with_both(plan)
        if both is not None:
            yield _way(said("higher-ties-and-more-people"), both)


def _way(what: Said, plan: TightPlan) -> Way:
    return Way(what, plan.tie_a, plan.tie_b, plan.crew.people)


def _with_ties(plan: TightPlan) -> TightPlan | None:
    """The plan with both ties as low as clears, to the centimetre; None where that is out of reach."""
    least = least_ties(plan, plan.stays).high
    if not math.isfinite(least):
        return None
    moved = plan.higher(math.ceil((least - plan.tie_a) / STEP_M - 1e-6) * STEP_M)
    within = min(moved.tie_a, moved.tie_b) > 0 and max(moved.tie_a, moved.tie_b) <= HIGH_M
    return moved if within and clears(moved) else None


def _with_people(plan: TightPlan) -> TightPlan | None:
    tried = (plan.with_people(count) for count in range(plan.crew.people + 1, MOST_PEOPLE + 1))
    return next((one for one in tried if clears(one)), None)


def _with_both(plan: TightPlan) -> TightPlan | None:
    """The fewest people with whom some ties within reach clear."""
    tried = (_with_ties(plan.with_people(count)) for count in range(plan.crew.people + 1, MOST_PEOPLE + 1))
    return next((one for one in tried if one is not None), None)


def _told(plan: TightPlan, found: Ways, works: tuple[Way, ...]) -> Iterator[Said]:
    if math.isfinite(found.needed.likely):
        known = math.isfinite(found.needed.high)
        sure = {"sure": found.needed.high} if known else {"most": MOST_TRIED}
        yield said("must-stay-to-be-sure" if known else "must-stay-more-to-be-sure", least=found.needed.likely,
                   margin=plan.margin, answer=found.answer, **sure)  # fmt: skip
    else:
        yield said("nothing-clears", most=MOST_TRIED, margin=plan.margin)
    if math.isfinite(found.tie_a.likely):
        sure = (said("tie-to-be-sure", tie=found.tie_a.high),) if math.isfinite(found.tie_a.high) else ()
        yield said("tie-with-what-stays", tie=found.tie_a.likely, sure=sure)
    for way in works:
        yield said("works-judged-again", change=way.what, with_it=_with_it(way, plan))
    if works:
        yield said("judge-the-trees-with-them")
    if not works and found.answer != "yes":
        yield said("nothing-works-within-reach", most=HIGH_M, people=MOST_PEOPLE, kit=stages_said(plan.crew.stages))


def _with_it(way: Way, plan: TightPlan) -> tuple[Said, ...]:
    moved, more = way.tie_a_m != plan.tie_a, way.people != plan.crew.people
    values = ({"a": way.tie_a_m, "b": way.tie_b_m} if moved else {}) | ({"people": way.people} if more else {})
    if not values:
        return ()
    return (said("with-ties-and-people" if moved and more else "with-ties" if moved else "with-people", **values),)
