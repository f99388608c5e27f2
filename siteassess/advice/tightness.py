"""Can these people with this kit make the line tight enough, and which change helps most?

A range in, a word out: "yes" where even the low end reaches it, "no" where not even the high end does.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from siteassess.advice.finding import Finding, as_told
from siteassess.advice.hauling_inputs import crew_of, stages_in_words
from siteassess.advice.line_inputs import LineInputs
from siteassess.errors import OutsideModel, UnknownName
from siteassess.mechanics.clearance import MOST_TRIED
from siteassess.mechanics.hauling import Range, haul, reaches, rounds_to_keep, settled
from siteassess.mechanics.line_load import RIGGING_PEAK
from siteassess.mechanics.profile import Ground
from siteassess.mechanics.tightening import Change, Crew, tight_enough, what_helps
from siteassess.records.line import Line
from siteassess.units import show

HELP_TO_NAME = 3
GETS_THERE = "does this crew get there:"


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
    says: tuple[str, ...]

    def as_dict(self) -> dict:
        """With keys that end in their unit."""
        def band(tension: Range) -> dict:
            return {f"{name}_n": value for name, value in zip(("low", "likely", "high"), tension)}

        return {
            "answer": self.answer, "needed_n": self.needed_n, "margin_m": self.margin_m,
            "reached": band(self.reached_n), "locked": band(self.locked_n), "stays": band(self.stays_n),
            "rounds": self.rounds, "planned_answer": self.planned_answer, "grip_slips": self.grip_slips,
            "helps": [{"change": c.name, "answer": c.answer, "needed_n": c.needed if math.isfinite(c.needed) else None,
                       "stays": band(c.stays)} for c in self.helps],
            "says": list(self.says),
        }  # fmt: skip


def tightness(
    inputs: LineInputs, ground: Ground, margin: float, crew: Crew, re_tensioned: int = 0, taken: tuple[str, ...] = (),
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
    taken : tuple of str
        What had to be taken for the crew, to be told.
    tell_needed : bool
        Put what must stay into words; `tight_ways` tells it with the webbing's range.

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
    found = Tightness(now.answer, needed, margin, pulled.reached, pulled.locked,
                      settled(pulled.locked, inputs.settles, re_tensioned), rounds, planned, pulled.grip_slips,
                      helps[:HELP_TO_NAME], ())  # fmt: skip
    return Tightness(**{**vars(found), "says": (*_says(found, inputs, crew, re_tensioned, tell_needed), *taken)})


def _better(change: Change, now: Change) -> bool:
    return change.ratio > now.ratio * (1 + 1e-6) or (now.ratio == 0 and math.isfinite(change.needed))


def _says(found: Tightness, inputs: LineInputs, crew: Crew, re_tensioned: int, tell_needed: bool) -> tuple[str, ...]:
    who = f"{crew.people} {'person' if crew.people == 1 else 'people'} on a {stages_in_words(crew.stages)}"
    told = [f"{who} reach {_band(found.reached_n)} while pulling, {_band(found.locked_n)} once locked off, and "
            f"{_band(found.stays_n)} stays after the walk that follows"]  # fmt: skip
    if tell_needed:
        told += _says_needed(found, re_tensioned)
    if inputs.standing is not None and found.planned_answer != "yes":
        told.append(f"the planned {show(inputs.standing, 'kN', 2)} locked off; {GETS_THERE} {found.planned_answer}")
    judged = None if inputs.standing is None else RIGGING_PEAK * inputs.standing
    if judged is not None and found.reached_n.high > judged:
        told.append(f"this crew could pull up to {show(found.reached_n.high, 'kN', 2)}, past the "
                    f"{show(judged, 'kN', 2)} judged for rigging: stop at the planned tension")  # fmt: skip
    if found.grip_slips:
        told.append("the friction grip gives way before the crew does")
    told += [f"{'what helps most' if i == 0 else 'next'}: {change.name} (then: {change.answer})"
             for i, change in enumerate(found.helps)]  # fmt: skip
    return tuple(told)


def _says_needed(found: Tightness, re_tensioned: int) -> list[str]:
    if found.needed_n is None:
        return [f"no standing tension up to {show(MOST_TRIED, 'kN', 2)} keeps {found.margin_m:g} m under the feet at "
                "these tie heights"]  # fmt: skip
    least = show(found.needed_n, "kN", 2)
    told = [f"{least} must stay to keep {found.margin_m:g} m under the feet; {GETS_THERE} {found.answer}"]
    if found.answer != "yes" and found.rounds is not None and found.rounds > re_tensioned:
        times = "once" if found.rounds == 1 else f"{found.rounds} times"
        told.append(f"pulled up again {times} after a walk, the likely tension stays above that")
    elif found.answer != "yes" and found.rounds is None:
        told.append("pulling it up again after a walk, however often, does not do it alone")
    return told


def _band(tension: Range) -> str:
    low, likely, high = (show(value, "kN", 2) for value in tension)
    return f"{likely} ({low.split()[0]} to {high})"


def tightness_of(
    line: Line, inputs: LineInputs, ground: Ground, margin: float
) -> tuple[Tightness | None, list[Finding]]:
    """The recorded crew and the line: what they reach, and what that means for the line; nothing without a crew."""
    if line.crew is None or inputs.use == "hammock":
        return None, []
    try:
        crew, taken = crew_of(line.crew)
        if crew is None:
            return None, [as_told("hauling", "suits", "the crew's tension was not worked out: " + "; ".join(taken))]
        found = tightness(inputs, ground, margin, crew, line.crew.re_tensioned, taken)
    except (OutsideModel, UnknownName) as error:
        return None, [as_told("hauling", "suits", f"the crew's tension was not worked out: {error}")]
    told = [as_told("hauling", "suits", says) for says in found.says]
    if found.answer == "no":
        such = f", such as {found.helps[0].name}," if found.helps and found.helps[0].answer != "no" else ""
        told.append(as_told(
            "hauling", "suits if", "this crew with this kit cannot make it tight enough to clear the ground",
            f"another way to make it clear the ground{such} is found and judged again",
        ))  # fmt: skip
    return found, told
