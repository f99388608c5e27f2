"""Can these people with this kit make the line tight enough, which change helps most, and which ways clear the ground?

A range in, a word out: "yes" where even the low end reaches it, "no" where not even the high end does. Every way that
is offered was judged again at the webbing's soft end and at the low end of what the crew leaves in the line.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass, replace
from typing import Any

from siteassess.advice.finding import Finding, found, whys
from siteassess.advice.gear_loads import crew_of, stages_said, unknown_sheave_of, weakest_crew
from siteassess.advice.ground import HIGH_M
from siteassess.advice.line_inputs import LineInputs
from siteassess.errors import OutsideModel
from siteassess.mechanics.clearance import MOST_TRIED, least_standing, lowest_tie, walked_height
from siteassess.mechanics.hauling import Range, haul, reaches, rounds_to_keep, settled
from siteassess.mechanics.line_load import RIGGING_PEAK, LoadedLine
from siteassess.mechanics.profile import Profile
from siteassess.mechanics.stretch_table import StretchTable
from siteassess.mechanics.tightening import HIGHER, STIFFER, Change, Pullers, tight_enough, what_helps
from siteassess.records.line import Crew, Line
from siteassess.reference.constants import constant
from siteassess.reference.findings import Said, said

HELP_TO_NAME = 3


@dataclass(frozen=True)
class Tightness:
    """What a crew reaches beside what the line needs. Tensions in N; None where nothing clears."""

    answer: str  # whether the tension that clears is reached and stays: yes, perhaps, no, cannot say
    needed_n: float | None  # least standing tension that keeps the feet clear by `margin_m`
    margin_m: float
    reached_n: Range
    locked_n: Range
    stays_n: Range  # after the walk that follows the last tightening
    rounds: int | None  # times to tighten again until the likely tension stays; None where that does not do it
    planned_answer: str  # whether the planned standing tension is reached and locked off
    grip_slips: bool
    helps: tuple[Change, ...]  # one change at a time, the most helpful first
    told: tuple[Said, ...]

    def as_dict(self) -> dict[str, Any]:
        """With keys that end in their unit, and English beside codes, which stay codes until it is written."""
        def band(tension: Range) -> dict[str, float]:
            return {f"{name}_n": value for name, value in zip(("low", "likely", "high"), tension)}

        return {
            "answer": self.answer, "needed_n": self.needed_n, "margin_m": self.margin_m,
            "reached": band(self.reached_n), "locked": band(self.locked_n), "stays": band(self.stays_n),
            "rounds": self.rounds, "planned_answer": self.planned_answer, "grip_slips": self.grip_slips,
            "helps": [{"change": change_said(c).in_words(), "change_codes": change_said(c), "answer": c.answer,
                       "needed_n": c.needed if math.isfinite(c.needed) else None, "stays": band(c.stays)}
                      for c in self.helps],
            "says": [one.in_words() for one in self.told], "says_codes": self.told,
        }  # fmt: skip


def tightness(
    line: LoadedLine, tie_a: float, ground: Profile, margin: float, crew: Pullers, settles: Range,
    re_tensioned: int = 0, taken: tuple[Said, ...] = (), *, tell_needed: bool = True,
) -> Tightness:  # fmt: skip
    """What a crew can do about a line whose span, webbing and tie heights are known.

    Parameters
    ----------
    line : LoadedLine
        Its own standing tension is only compared with; NaN where none is planned.
    tie_a : float
        Height of tie A over the ground at A [m].
    ground : Profile
    margin : float
        Height the feet are to keep over the ground [m].
    crew : Pullers
    settles, re_tensioned
        As in `hauling.settled`.
    taken : tuple of Said
        What had to be taken for the crew, to be told.
    tell_needed : bool
        Tell what must stay; `tight_ways` tells it with the webbing's range.

    Raises
    ------
    OutsideModel
        Where the line has no steady state.
    """
    plan = (line, tie_a, ground, margin, crew, settles, re_tensioned)
    now = tight_enough(*plan)
    pulled = haul(crew.people, crew.stages, crew.pull_each, crew.footing, crew.friction_grip)
    needed = now.needed if math.isfinite(now.needed) else None
    helps = () if now.answer == "yes" else tuple(change for change in what_helps(*plan) if _better(change, now))
    rounds = None if needed is None else rounds_to_keep(needed, pulled.locked, settles)
    reached = Tightness(now.answer, needed, margin, pulled.reached, pulled.locked,
                        settled(pulled.locked, settles, re_tensioned), rounds, reaches(line.standing, pulled.locked),
                        pulled.grip_slips, helps[:HELP_TO_NAME], ())  # fmt: skip
    return replace(reached, told=(*_told(reached, line.standing, crew, re_tensioned, tell_needed), *taken))


def _better(change: Change, now: Change) -> bool:
    return change.ratio > now.ratio * (1 + 1e-6) or (now.ratio == 0 and math.isfinite(change.needed))


def change_said(change: Change) -> Said:
    """What one change that helps is."""
    values = {"ties-higher": {"lift": HIGHER}, "stiffer-webbing": {"times": STIFFER}}
    return said(change.name, **values.get(change.name, {}))


def _told(found: Tightness, standing: float, crew: Pullers, re_tensioned: int, tell_needed: bool) -> Iterator[Said]:
    bands = {"reached": _band(found.reached_n), "locked": _band(found.locked_n), "stays": _band(found.stays_n)}
    one_or_more = "one-person-reaches" if crew.people == 1 else "people-reach"
    yield said(one_or_more, people=crew.people, kit=stages_said(crew.stages), **bands)
    if tell_needed:
        yield from _needed_told(found, re_tensioned)
    if not math.isnan(standing) and found.planned_answer != "yes":
        yield said("planned-tension-locked-off", standing=standing, answer=found.planned_answer)
    if found.reached_n.high > RIGGING_PEAK * standing:
        yield said("crew-pulls-past-the-judged", most=found.reached_n.high, judged=RIGGING_PEAK * standing)
    if found.grip_slips:
        yield said("grip-gives-way")
    for place, change in enumerate(found.helps):
        first_or_not = "helps-next" if place else "helps-most"
        yield said(first_or_not, change=change_said(change), answer=change.answer)


def _needed_told(found: Tightness, re_tensioned: int) -> Iterator[Said]:
    if found.needed_n is None:
        yield said("nothing-clears", most=MOST_TRIED, margin=found.margin_m)
        return
    yield said("must-stay", least=found.needed_n, margin=found.margin_m, answer=found.answer)
    if found.answer == "yes":
        return
    if found.rounds is None:
        yield said("pulling-up-again-is-not-enough")
    elif found.rounds > re_tensioned:
        once_or_more = "pulled-up-again-once" if found.rounds == 1 else "pulled-up-again-times"
        yield said(once_or_more, times=found.rounds)


def _band(tension: Range) -> Said:
    return said("likely-from-to", **tension._asdict())


def tightness_of(
    line: Line, inputs: LineInputs, ground: Profile, margin: float
) -> tuple[Tightness | None, list[Finding]]:
    """The recorded crew and the line: what they reach, and what that means for the line; nothing without a crew."""
    loaded = inputs.loading()
    if line.crew is None or inputs.hung or loaded is None or inputs.tie_a is None:
        return None, []
    plan = loaded, inputs.tie_a, ground, margin
    if unknown := unknown_sheave_of(line.crew):
        return None, [found("crew-not-worked-out", "suits", why=unknown), *_might_not_clear(line.crew, inputs, plan)]
    crew, taken = crew_of(line.crew)
    if crew is None:
        told = [found("crew-not-worked-out", "suits", why=why) for why in taken]
        return None, [*told, *_might_not_clear(line.crew, inputs, plan)]
    try:
        reached = tightness(*plan, crew, inputs.settles, line.crew.re_tensioned, taken)
    except OutsideModel as error:
        return None, [found("crew-not-worked-out", "suits", why=why) for why in whys(error)]
    told = [found(one.code, "suits", **dict(one.values)) for one in reached.told]
    if reached.answer == "no":
        best = [change_said(change) for change in reached.helps[:1] if change.answer != "no"]
        told.append(found("crew-cannot-clear", "suits if", such=tuple(said("such-as", change=one) for one in best)))
    else:
        told += _might_not_clear(line.crew, inputs, plan)
    return reached, told


def _might_not_clear(
    recorded: Crew, inputs: LineInputs, plan: tuple[LoadedLine, float, Profile, float]
) -> list[Finding]:  # fmt: skip
    """A condition where what nobody said of the crew may leave the line too slack, for all anybody knows."""
    weakest, unsaid = weakest_crew(recorded)
    crew, _ = crew_of(weakest)
    if not unsaid or crew is None:
        return []
    try:
        now = tight_enough(*plan, crew, inputs.settles, recorded.re_tensioned)
    except OutsideModel:
        return []
    return [found("crew-might-not-clear", "suits if", looked_at=False, things=unsaid)] if now.answer == "no" else []


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
    settles: Range  # share of the tension lost at the first walk [-]
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

    def as_dict(self) -> dict[str, Any]:
        """With keys that end in their unit, and English beside codes, which stay codes until it is written."""
        return {"change": self.what.in_words(), "change_codes": self.what, "tie_a_m": self.tie_a_m,
                "tie_b_m": self.tie_b_m, "people": self.people}  # fmt: skip


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
    return replace(found, works=works, told=tuple(_ways_told(plan, found, works)))


def least_ties(plan: TightPlan, tension: Range) -> Range:
    """Least height of the tie at A, both ties moved alike, from the kindest to the most careful reading [m].

    The low end takes the high tension and stiff webbing, the high end the low tension and soft webbing. NaN where the
    line would not even hold itself up.

    Parameters
    ----------
    plan : the line as it is planned
    tension : that it stands at when walked [N]
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


def _ways_told(plan: TightPlan, found: Ways, works: tuple[Way, ...]) -> Iterator[Said]:
    if math.isfinite(found.needed.likely):
        known = math.isfinite(found.needed.high)
        bound: dict[str, float] = {"sure": found.needed.high} if known else {"most": MOST_TRIED}
        yield said("must-stay-to-be-sure" if known else "must-stay-more-to-be-sure", least=found.needed.likely,
                   margin=plan.margin, answer=found.answer, **bound)  # fmt: skip
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
