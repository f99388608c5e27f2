"""The line as a whole, apart from its anchors: over the ground, the crew that tightens it, and its sweeps."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace
from itertools import product

from siteassess.advice.changes import changed
from siteassess.advice.finding import Finding, found
from siteassess.advice.ground import MARGIN_M, HeightLimit, clearance_of, feet_said, ground_of, touching
from siteassess.advice.line_inputs import LineInputs, line_inputs, line_loads
from siteassess.advice.remedies import LOWER_THE_LINE
from siteassess.advice.results import AnchorResult, Clearance
from siteassess.advice.sweeps import sweeps_of
from siteassess.advice.tightness import tightness_of
from siteassess.advice.under_line import UNSEEN_DIP, UnderLine
from siteassess.errors import OutsideModel
from siteassess.records.line import Line
from siteassess.reference.findings import said

CLEARED_BY = ("touches-tighter-or-higher", "touches-tighter", "touches-higher")
"""Findings on touched ground that ask for the line to hang otherwise."""


def of_the_whole_line(
    line: Line, inputs: LineInputs, limits: tuple[HeightLimit, ...] = (), seek: bool = True
) -> tuple[Clearance | None, list[Finding], dict]:
    """Clearance, findings and further answers (`hauling`, `sweeps`) of one line.

    Parameters
    ----------
    line, inputs : the line as recorded and as numbers
    limits : greatest heights of the place's rules
    seek : whether to look for what would mend it, and to draw its sweeps
    """
    clearance, told = clearance_of(line, inputs, seek, limits)
    extra: dict = {"webbing": inputs.webbing_words, "sweeps": sweeps_of(line, inputs) if seek else []}
    hauling, hauling_told = _hauling(line, inputs)
    if hauling is not None:
        extra["hauling"] = hauling.as_dict()
    return clearance, [*told, *(_ground_not_known(inputs) if seek else ()), *hauling_told], extra


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
            lowered, _ = changed(lowered, None, end.end, remedy.field, remedy.value)
        then, _ = clearance_of(lowered, line_inputs(lowered, inputs.span), seek=False)
        if then is not None and then.touches:
            changes = tuple(said("change-at", anchor=end.code, change=remedy.what) for end, remedy in zip(ends, pair))
            return [found("touches-once-both-lowered", "suits if", changes=changes, feet=feet_said(then))]
    return []


def cleared_where_it_holds(
    line: Line, inputs: LineInputs, clearance: Clearance | None, told: Sequence[Finding],
    none_left: Callable[[Line], bool],
) -> list[Finding]:  # fmt: skip
    """The findings, the ground's asking for no tension or tie at which an anchor is "leave it".

    `none_left` judges the anchors of the line as it would hang.
    """
    return [_where_it_holds(line, inputs, clearance, one, none_left) for one in told]


def _where_it_holds(line: Line, inputs: LineInputs, clearance, told: Finding, none_left) -> Finding:
    asked = dict(told.values)
    if clearance is None or told.code not in CLEARED_BY:
        return told
    ties = [("A", inputs.tie_a), ("B", inputs.tie_b)]
    ways = {"standing": [("A", "standing tension", asked.get("standing"))],
            "lift": [(end, "tie height", tie + asked.get("lift", 0.0)) for end, tie in ties]}  # fmt: skip
    tighter, higher = (name in asked and _hung_otherwise(line, ways[name], none_left) for name in ("standing", "lift"))
    return touching(clearance, tighter, higher)


def _hung_otherwise(line: Line, changes, none_left: Callable[[Line], bool]) -> bool:
    try:
        for end, field, value in changes:
            line, _ = changed(line, None, end, field, value)
    except OutsideModel:  # no record holds it, so nobody can hang it
        return False
    return none_left(line)


def _ground_not_known(inputs: LineInputs) -> list[Finding]:
    """What answering one question about the ground would do for the load, tried with level ground."""
    if inputs.under.points is not None or inputs.high or None in (inputs.span, inputs.tie_a, inputs.tie_b):
        return []
    level = UnderLine("answered", ((0.0, 0.0), (inputs.span, inputs.ground_rise)), UNSEEN_DIP.value)
    now, then = (_hardest(one) for one in (inputs, replace(inputs, under=level)))
    if now is None or then is None or then > 0.99 * now:
        return []
    return [found("ground-between-unsaid", "suits", looked_at=False, then=then, now=now)]


def _hardest(inputs: LineInputs) -> float | None:
    cases, _ = line_loads(inputs)
    return max((case.tension for case in cases), default=None)


def _hauling(line: Line, inputs: LineInputs):
    if None in (inputs.span, inputs.stiffness, inputs.tie_a, inputs.tie_b):
        return None, []
    margin = MARGIN_M if inputs.keep_clear is None else inputs.keep_clear
    try:
        ground, _ = ground_of(line, inputs)
    except OutsideModel:
        return None, []
    return tightness_of(line, inputs, ground, margin)
