"""Sweeps of one line for pictures: tension and height along it, and both against its standing tension.

Statics only: the walker stands still, no factor for steps, bounces or falls.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from siteassess.advice.ground import ground_of
from siteassess.advice.line_inputs import LineInputs
from siteassess.errors import OutsideModel
from siteassess.mechanics.clearance import walked_height
from siteassess.mechanics.line_load import sweep
from siteassess.records.line import Line

TIMES_STANDING = np.geomspace(0.4, 2.5, 25)
ALONG = np.linspace(0.02, 0.98, 49)


def sweeps_of(line: Line, inputs: LineInputs) -> list[dict]:
    """The sweeps of a walked line, ready to be drawn; none where the line is not known well enough.

    Returns
    -------
    list of dict
        Each with `x`, `x_words`, `tension_n` (the greater of the two anchors), `height_m` of the feet over the
        ground or None, and `planned`, the planned place on the x axis or None.
    """
    if inputs.use == "hammock" or None in (inputs.span, inputs.standing, inputs.stiffness):
        return []
    try:
        return [_along(line, inputs), _against_standing(line, inputs)]
    except OutsideModel:
        return []


def _along(line: Line, inputs: LineInputs) -> dict:
    state = sweep(inputs.loading(), ALONG)
    height = _heights(line, inputs, inputs.standing, ALONG)
    return {
        "x": (inputs.span * ALONG).tolist(), "x_words": "walker's distance from A, m",
        "tension_n": state.tension.tolist(), "height_m": None if height is None else height.tolist(), "planned": None,
    }  # fmt: skip


def _against_standing(line: Line, inputs: LineInputs) -> dict:
    rows = []
    for standing in inputs.standing * TIMES_STANDING:
        try:
            state = sweep(replace(inputs.loading(), standing=float(standing)))
        except OutsideModel:  # too slack to hold its own weight there: the curve begins later
            continue
        height = _heights(line, inputs, float(standing), ALONG)
        rows.append((standing / 1e3, float(state.tension.max()), None if height is None else float(height.min())))
    x, tension, height = (list(column) for column in zip(*rows))
    return {
        "x": x, "x_words": "standing tension, kN, walker at the worst place", "tension_n": tension,
        "height_m": None if None in height else height, "planned": inputs.standing / 1e3,
    }  # fmt: skip


def _heights(line: Line, inputs: LineInputs, standing: float, positions) -> np.ndarray | None:
    if inputs.tie_a is None or inputs.tie_b is None:
        return None
    ground, _ = ground_of(line, inputs)
    height = walked_height(replace(inputs.loading(), standing=standing), inputs.tie_a, ground, positions).height
    return np.maximum(height, 0.0)  # where the line would hang lower, the walker stands on the ground
