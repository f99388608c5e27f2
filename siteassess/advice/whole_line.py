"""The line as a whole: over the ground, the crew that tightens it, its sweeps for pictures, what bouncing would ask.

Sweeps are statics only: the walker stands still, no factor for steps, bounces or falls.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Sequence
from dataclasses import replace
from functools import lru_cache
from itertools import product

import numpy as np

from siteassess.advice.changes import changed
from siteassess.advice.finding import Finding, found
from siteassess.advice.ground import MARGIN_M, HeightLimit, clearance_of, feet_said, touching
from siteassess.advice.hold import end_loads
from siteassess.advice.line_inputs import LineInputs, line_inputs, line_loads
from siteassess.advice.rated_gear import gear_checks, gear_findings
from siteassess.advice.remedies import LOWER_THE_LINE
from siteassess.advice.results import AnchorResult, Clearance, LineResult, Sweep
from siteassess.advice.tightness import Tightness, tightness_of
from siteassess.advice.under_line import UNSEEN_DIP, UnderLine, profile_of
from siteassess.advice.verdict import Verdict, worst
from siteassess.errors import OutsideModel
from siteassess.mechanics.arrays import Array
from siteassess.mechanics.bark import PEAK_PRESSURE
from siteassess.mechanics.clearance import walked_height
from siteassess.mechanics.line_load import LoadedLine, moved_along
from siteassess.records.line import ENDS, EndName, Line
from siteassess.reference.findings import Said, said

CLEARED_BY = ("touches-tighter-or-higher", "touches-tighter", "touches-higher")
"""Findings on touched ground that ask for the line to hang otherwise."""
NewValue = tuple[EndName, str, float]  # end, field and new value [SI]


def of_the_whole_line(
    line: Line, inputs: LineInputs, limits: tuple[HeightLimit, ...] = (), seek: bool = True
) -> tuple[Clearance | None, list[Finding], Tightness | None, tuple[Sweep, ...]]:
    """Clearance and findings of one line, what its crew reaches, and its sweeps.

    Parameters
    ----------
    line, inputs : the line as recorded and as numbers
    limits : greatest heights of the place's rules
    seek : whether to look for what would mend it, and to draw its sweeps
    """
    clearance, told = clearance_of(line, inputs, seek, limits)
    hauling, hauling_told = _hauling(line, inputs)
    told = [*told, *(_ground_not_known(inputs) if seek else ()), *hauling_told]
    return clearance, told, hauling, sweeps_of(line, inputs) if seek else ()


def both_lowered(
    line: Line, inputs: LineInputs, clearance: Clearance | None, ends: tuple[AnchorResult, ...]
) -> list[Finding]:
    """Changes of the two ends that clear the ground each by itself and not together."""
    if clearance is None or clearance.touches:
        return []
    asked = [[remedy for remedy in end.remedies if remedy.field in LOWER_THE_LINE] for end in ends]
    for pair in product(*asked):
        if all(remedy.field == "standing tension" for remedy in pair):
            continue  # the lesser of the two, which cleared
        lowered = line
        for end, remedy in zip(ends, pair):
            lowered = changed(lowered, end.end, remedy.field, remedy.value)
        then, _ = clearance_of(lowered, line_inputs(lowered, inputs.span), seek=False)
        if then is not None and then.touches:
            changes = tuple(said("change-at", anchor=end.code, change=remedy.what) for end, remedy in zip(ends, pair))
            return [found("touches-once-both-lowered", "suits if", changes=changes, feet=feet_said(then))]
    return []


def cleared_where_it_holds(
    line: Line, inputs: LineInputs, clearance: Clearance | None, told: Sequence[Finding],
    no_worse: Callable[[Line], bool],
) -> list[Finding]:  # fmt: skip
    """The findings, the ground's asking for no tension or tie at which an anchor is "leave it" or the word is worse.

    `no_worse` judges the whole line as it would hang.
    """
    return [_where_it_holds(line, inputs, clearance, one, no_worse) for one in told]


def _where_it_holds(
    line: Line, inputs: LineInputs, clearance: Clearance | None, told: Finding, no_worse: Callable[[Line], bool]
) -> Finding:
    if clearance is None or told.code not in CLEARED_BY:
        return told
    asked, ties = dict(told.values), [(end, inputs.tie(end)) for end in ENDS]
    ways: dict[str, list[NewValue]] = {}
    if "standing" in asked:
        ways["standing"] = [("A", "standing tension", asked["standing"])]
    if "lift" in asked:
        ways["lift"] = [(end, "tie height", tie + asked["lift"]) for end, tie in ties if tie is not None]
    tighter, higher = (name in ways and _hung_otherwise(line, ways[name], no_worse) for name in ("standing", "lift"))
    return touching(clearance, tighter, higher)


def _hung_otherwise(line: Line, changes: Sequence[NewValue], no_worse: Callable[[Line], bool]) -> bool:
    try:
        for end, field, value in changes:
            line = changed(line, end, field, value)
    except OutsideModel:  # no record holds it, so nobody can hang it
        return False
    return no_worse(line)


def _ground_not_known(inputs: LineInputs) -> list[Finding]:
    """What answering one question about the ground would do for the load, tried with level ground."""
    span = inputs.span
    if span is None or inputs.under.points is not None or inputs.high or None in (inputs.tie_a, inputs.tie_b):
        return []
    level = UnderLine("answered", ((0.0, 0.0), (span, inputs.ground_rise)), UNSEEN_DIP.value)
    now, then = (_hardest(one) for one in (inputs, replace(inputs, under=level)))
    if now is None or then is None or then > 0.99 * now:
        return []
    return [found("ground-between-unsaid", "suits", looked_at=False, then=then, now=now)]


def _hardest(inputs: LineInputs) -> float | None:
    cases, _ = line_loads(inputs)
    return max((case.tension for case in cases), default=None)


@lru_cache(maxsize=4096)
def _hauling(line: Line, inputs: LineInputs) -> tuple[Tightness | None, list[Finding]]:
    """What the crew reaches; remedies of what it leaves alone ask again and again, hence the cache."""
    loaded, tie_a = inputs.loading(), inputs.tie_a
    if loaded is None or tie_a is None or inputs.tie_b is None:
        return None, []
    margin = MARGIN_M if inputs.keep_clear is None else inputs.keep_clear
    try:
        ground, _ = profile_of(line, loaded.span, loaded.rise, inputs.ground_rise, tie_a)
    except OutsideModel:
        return None, []
    return tightness_of(line, inputs, ground, margin)


TIMES_STANDING = np.geomspace(0.4, 2.5, 25)
ALONG = np.linspace(0.02, 0.98, 49)


def sweeps_of(line: Line, inputs: LineInputs) -> tuple[Sweep, ...]:
    """The sweeps of a walked line, ready to be drawn; none where the line is not known well enough."""
    loaded = inputs.loading()
    if inputs.hung or loaded is None or inputs.standing is None:
        return ()
    try:
        return _along(line, inputs, loaded), _against_standing(line, inputs, loaded)
    except OutsideModel:
        return ()


def _along(line: Line, inputs: LineInputs, loaded: LoadedLine) -> Sweep:
    state, height = moved_along(loaded, ALONG), _heights(line, inputs, loaded)
    return Sweep(tuple((loaded.span * ALONG).tolist()), "walker's distance from A, m", tuple(state.tension.tolist()),
                 None if height is None else tuple(height.tolist()), None)  # fmt: skip


def _against_standing(line: Line, inputs: LineInputs, loaded: LoadedLine) -> Sweep:
    rows = []
    for standing in (loaded.standing * TIMES_STANDING).tolist():
        tight = replace(loaded, standing=standing)
        try:
            state = moved_along(tight)
        except OutsideModel:  # too slack to hold its own weight there: the curve begins later
            continue
        height = _heights(line, inputs, tight)
        rows.append((standing / 1e3, float(state.tension.max()), None if height is None else float(height.min())))
    tensions, pulls, lowest = zip(*rows)
    return Sweep(tensions, "standing tension, kN, walker at the worst place", pulls,
                 None if None in lowest else lowest, loaded.standing / 1e3)  # fmt: skip


def _heights(line: Line, inputs: LineInputs, loaded: LoadedLine) -> Array | None:
    """Of the walker's feet over the ground, along the line [m]; None where a tie's height is not known."""
    if inputs.tie_a is None or inputs.tie_b is None:
        return None
    ground, _ = profile_of(line, loaded.span, loaded.rise, inputs.ground_rise, inputs.tie_a)
    height = walked_height(loaded, inputs.tie_a, ground, ALONG).height
    return np.maximum(height, 0.0)  # where the line would hang lower, the walker stands on the ground


def bounced_findings(line: Line, inputs: LineInputs, ends: tuple[AnchorResult, ...]) -> list[Finding]:
    """The conditions that nobody bounces and that the webbing is no wider than was taken, where bark or gear would not
    do and no anchor has asked for it yet."""
    asked = {one.code for end in ends for one in end.findings}
    told = []
    hard, wide = replace(inputs, walk_only=False), inputs.at_its_widest
    if inputs.walk_only and "bounced-would-not-do" not in asked and (fails := _not_enough_for(line, hard, ends)):
        told.append(found("bounced-would-not-do-for", "suits if", what=tuple(fails)))
    if inputs.wider and wide and "wider-would-not-do" not in asked and (fails := _not_enough_for(line, wide, ends)):
        told.append(found("wider-would-not-do-for", "suits if", looked_at=False, what=tuple(fails),
                          width=inputs.wider.width))  # fmt: skip
    return told


def _not_enough_for(line: Line, harder: LineInputs, ends: tuple[AnchorResult, ...]) -> list[Said]:
    """What bears the line as planned, and would not bear it harder loaded."""
    loaded = tuple(replace(end, loads=end_loads(harder, end.end, _bearing(end))[0]) for end in ends)
    fails = [said("bark-of", tree=walked.code) for walked, hit in zip(ends, loaded)
             if _peak(walked, walked) <= PEAK_PRESSURE.value < _peak(walked, hit)]  # fmt: skip
    words = [worst(_effects(line, some)) for some in (ends, loaded)]
    return [*fails, *([said("the-gear")] if words[0] != worst(words) else [])]


def _bearing(end: AnchorResult) -> float:
    return math.nan if end.pull_bearing_true_deg is None else end.pull_bearing_true_deg


def _peak(end: AnchorResult, loaded: AnchorResult) -> float:
    """Pressure on an end's bark under its hardest load, its sling being as it is [Pa]; NaN where not known."""
    plan = end.protection
    if plan is None or plan.peak_pressure_pa is None or not loaded.loads:
        return math.nan
    hardest, walked = (max(load.tension_n for load in one.loads) for one in (loaded, end))
    return plan.peak_pressure_pa * hardest / walked


def _effects(line: Line, ends: tuple[AnchorResult, ...]) -> Iterator[Verdict]:
    return (finding.effect for finding in gear_findings(gear_checks(line, ends)))


def held_back(line: LineResult) -> set[tuple[str, str]]:
    """What holds a line back from "suits if", by the place where it was found."""
    places = [("line", line.findings), *((end.end, end.findings) for end in line.anchors)]
    return {(place, one.code) for place, findings in places for one in findings
            if one.effect in ("cannot say", "leave it")}  # fmt: skip
