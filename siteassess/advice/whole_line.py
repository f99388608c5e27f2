"""The line as a whole, apart from its anchors: over the ground, the crew that tightens it, and its sweeps."""

from __future__ import annotations

from siteassess.advice.ground import MARGIN_M, HeightLimit, clearance_of, ground_of
from siteassess.advice.line_inputs import LineInputs
from siteassess.advice.results import Clearance, Finding
from siteassess.advice.sweeps import sweeps_of
from siteassess.advice.tightness import tightness_of
from siteassess.errors import OutsideModel
from siteassess.records.line import Line


def of_the_whole_line(
    line: Line, inputs: LineInputs, limits: tuple[HeightLimit, ...] = ()
) -> tuple[Clearance | None, list[Finding], dict]:
    """Clearance, findings and further answers (`hauling`, `sweeps`) of one line.

    Parameters
    ----------
    line, inputs : the line as recorded and as numbers
    limits : greatest heights of the place's rules
    """
    clearance, told = clearance_of(line, inputs, limits=limits)
    extra: dict = {"webbing": inputs.webbing_words, "sweeps": sweeps_of(line, inputs)}
    hauling, hauling_told = _hauling(line, inputs)
    if hauling is not None:
        extra["hauling"] = hauling.as_dict()
    return clearance, [*told, *hauling_told], extra


def _hauling(line: Line, inputs: LineInputs):
    if None in (inputs.span, inputs.stiffness, inputs.tie_a, inputs.tie_b):
        return None, []
    margin = MARGIN_M if inputs.keep_clear is None else inputs.keep_clear
    try:
        ground, _ = ground_of(line, inputs)
    except OutsideModel:
        return None, []
    return tightness_of(line, inputs, ground, margin)
