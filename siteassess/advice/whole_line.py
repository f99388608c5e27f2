"""The line as a whole, apart from its anchors: over the ground, the crew that tightens it, and its sweeps."""

from __future__ import annotations

from dataclasses import replace

from siteassess.advice.ground import MARGIN_M, HeightLimit, clearance_of, ground_of
from siteassess.advice.line_inputs import LineInputs, line_loads
from siteassess.advice.results import Clearance, Finding
from siteassess.advice.sweeps import sweeps_of
from siteassess.advice.tightness import tightness_of
from siteassess.advice.under_line import UNSEEN_DIP, UnderLine
from siteassess.errors import OutsideModel
from siteassess.records.line import Line
from siteassess.units import show


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


def _ground_not_known(inputs: LineInputs) -> list[Finding]:
    """What answering one question about the ground would do for the load, tried with level ground."""
    if inputs.under.points is not None or inputs.high or None in (inputs.span, inputs.tie_a, inputs.tie_b):
        return []
    level = UnderLine("answered", ((0.0, 0.0), (inputs.span, inputs.ground_rise)), UNSEEN_DIP.value)
    now, then = (_hardest(one) for one in (inputs, replace(inputs, under=level)))
    if now is None or then is None or then > 0.99 * now:
        return []
    says = (f"nobody said whether the ground dips under the line, so no drop ends on it: over level or rising ground "
            f"the hardest load would be {show(then, 'kN', 2)} instead of {show(now, 'kN', 2)}")  # fmt: skip
    return [Finding("ground between", "suits", says, looked_at=False)]


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
