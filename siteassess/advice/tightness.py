"""Can these people with this kit make the line tight enough, and which change helps most?

A range in, a word out: "yes" where even the low end reaches it, "no" where not even the high end does.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass, replace

from siteassess.advice.finding import Finding, found
from siteassess.advice.hauling_inputs import crew_of, stages_said, unknown_sheave_of
from siteassess.advice.line_inputs import LineInputs
from siteassess.errors import OutsideModel
from siteassess.mechanics.clearance import MOST_TRIED
from siteassess.mechanics.hauling import Range, haul, reaches, rounds_to_keep, settled
from siteassess.mechanics.line_load import RIGGING_PEAK
from siteassess.mechanics.profile import Profile
from siteassess.mechanics.tightening import HIGHER, STIFFER, Change, Pullers, tight_enough, what_helps
from siteassess.records.line import Line
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

    def as_dict(self) -> dict:
        """With keys that end in their unit, and words in English."""
        def band(tension: Range) -> dict:
            return {f"{name}_n": value for name, value in zip(("low", "likely", "high"), tension)}

        return {
            "answer": self.answer, "needed_n": self.needed_n, "margin_m": self.margin_m,
            "reached": band(self.reached_n), "locked": band(self.locked_n), "stays": band(self.stays_n),
            "rounds": self.rounds, "planned_answer": self.planned_answer, "grip_slips": self.grip_slips,
            "helps": [{"change": change_said(c).in_words(), "answer": c.answer,
                       "needed_n": c.needed if math.isfinite(c.needed) else None, "stays": band(c.stays)}
                      for c in self.helps],
            "says": [one.in_words() for one in self.told],
        }  # fmt: skip


def tightness(
    inputs: LineInputs, ground: Profile, margin: float, crew: Pullers,
    re_tensioned: int = 0, taken: tuple[Said, ...] = (),
    *, tell_needed: bool = True,
) -> Tightness:  # fmt: skip
    """What a crew can do about a line whose span, webbing and tie heights are known.

    Parameters
    ----------
    inputs : LineInputs
        Its own standing tension is only compared with.
    ground : Ground
    margin : float
        Height the feet are to keep over the ground [m].
    crew : Crew
    re_tensioned : int
        Times it is pulled up again after a walk.
    taken : tuple of Said
        What had to be taken for the crew, to be told.
    tell_needed : bool
        Tell what must stay; `tight_ways` tells it with the webbing's range.

    Raises
    ------
    OutsideModel
        Where the line has no steady state.
    """
    line = inputs.loading()
    plan = (line, inputs.tie_a, ground, margin, crew, inputs.settles, re_tensioned)
    now = tight_enough(*plan)
    pulled = haul(crew.people, crew.stages, crew.pull_each, crew.footing, crew.friction_grip)
    needed = now.needed if math.isfinite(now.needed) else None
    helps = () if now.answer == "yes" else tuple(change for change in what_helps(*plan) if _better(change, now))
    rounds = None if needed is None else rounds_to_keep(needed, pulled.locked, inputs.settles)
    planned = "cannot say" if inputs.standing is None else reaches(inputs.standing, pulled.locked)
    helps = helps[:HELP_TO_NAME]
    reached = Tightness(now.answer, needed, margin, pulled.reached, pulled.locked,
                        settled(pulled.locked, inputs.settles, re_tensioned), rounds, planned, pulled.grip_slips,
                        helps, ())  # fmt: skip
    return replace(reached, told=(*_told(reached, inputs, crew, re_tensioned, tell_needed), *taken))


def _better(change: Change, now: Change) -> bool:
    return change.ratio > now.ratio * (1 + 1e-6) or (now.ratio == 0 and math.isfinite(change.needed))


def change_said(change: Change) -> Said:
    """What one change that helps is."""
    values = {"ties-higher": {"lift": HIGHER}, "stiffer-webbing": {"times": STIFFER}}
    return said(change.name, **values.get(change.name, {}))


def _told(found: Tightness, inputs: LineInputs, crew: Pullers, re_tensioned: int, tell_needed: bool) -> Iterator[Said]:
    bands = {"reached": _band(found.reached_n), "locked": _band(found.locked_n), "stays": _band(found.stays_n)}
    one_or_more = "one-person-reaches" if crew.people == 1 else "people-reach"
    yield said(one_or_more, people=crew.people, kit=stages_said(crew.stages), **bands)
    if tell_needed:
        yield from _needed_told(found, re_tensioned)
    if inputs.standing is not None and found.planned_answer != "yes":
        yield said("planned-tension-locked-off", standing=inputs.standing, answer=found.planned_answer)
    judged = None if inputs.standing is None else RIGGING_PEAK * inputs.standing
    if judged is not None and found.reached_n.high > judged:
        yield said("crew-pulls-past-the-judged", most=found.reached_n.high, judged=judged)
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
    if found.answer != "yes" and found.rounds is None:
        yield said("pulling-up-again-is-not-enough")
    elif found.answer != "yes" and found.rounds > re_tensioned:
        once_or_more = "pulled-up-again-once" if found.rounds == 1 else "pulled-up-again-times"
        yield said(once_or_more, times=found.rounds)


def _band(tension: Range) -> Said:
    return said("likely-from-to", **tension._asdict())


def tightness_of(
    line: Line, inputs: LineInputs, ground: Profile, margin: float
) -> tuple[Tightness | None, list[Finding]]:
    """The recorded crew and the line: what they reach, and what that means for the line; nothing without a crew."""
    if line.crew is None or inputs.use == "hammock":
        return None, []
    if unknown := unknown_sheave_of(line.crew):
        return None, [found("crew-not-worked-out", "suits", why=unknown)]
    crew, taken = crew_of(line.crew)
    if crew is None:
        return None, [found("crew-not-worked-out", "suits", why=why) for why in taken]
    try:
        reached = tightness(inputs, ground, margin, crew, line.crew.re_tensioned, taken)
    except OutsideModel as error:
        return None, [found("crew-not-worked-out", "suits", why=said("outside-the-sum", why=str(error)))]
    told = [found(one.code, "suits", **dict(one.values)) for one in reached.told]
    if reached.answer == "no":
        best = [change_said(change) for change in reached.helps[:1] if change.answer != "no"]
        told.append(found("crew-cannot-clear", "suits if", such=tuple(said("such-as", change=one) for one in best)))
    return reached, told
