"""Does the line clear the ground with the walker on it, at every place?"""

from __future__ import annotations

import math

import numpy as np

from siteassess.advice.line_inputs import LineInputs
from siteassess.advice.results import Clearance, Finding
from siteassess.errors import OutsideModel
from siteassess.mechanics.clearance import Ground, empty_height, least_standing, plain_slope, walked_height
from siteassess.mechanics.loadcases import UNNAMED_WALKER
from siteassess.mechanics.loadcases import Line as LoadLine
from siteassess.records.line import Line
from siteassess.units import show

MARGIN_M = 0.3  # feet over the ground at the lowest place (judgement)


def clearance_of(line: Line, inputs: LineInputs, seek: bool = True) -> tuple[Clearance | None, list[Finding]]:
    """The line over the ground, and what it means for the line as a whole.

    `seek` looks for the standing tension that would clear it, which takes most of the time.
    """
    known = (inputs.span, inputs.standing, inputs.stiffness, inputs.tie_a, inputs.tie_b)
    if inputs.use == "hammock" or any(value is None for value in known):
        return None, []
    ground, taped = _ground(line, inputs)
    load = inputs.load if inputs.load is not None else UNNAMED_WALKER
    walked = LoadLine(inputs.span, inputs.rise, inputs.standing, inputs.stiffness, inputs.weight, load)
    try:
        on, empty = walked_height(walked, inputs.tie_a, ground), empty_height(walked, inputs.tie_a, ground)
    except OutsideModel:
        return None, []
    touches = on.lowest < 0
    needed = least_standing(walked, inputs.tie_a, ground, MARGIN_M) if seek and on.lowest < MARGIN_M else math.nan
    says = _says(on, touches, needed, taped)
    found = Clearance(
        x_m=tuple(map(float, on.distance)), ground_m=tuple(map(float, ground.at(on.distance))),
        unloaded_m=tuple(map(float, empty.height + ground.at(on.distance))),
        walker_m=tuple(map(float, on.height + ground.at(on.distance))),
        mid_height_loaded_m=on.at_mid_span, lowest_m=on.lowest, lowest_at_m=on.lowest_at, touches=bool(touches),
        standing_to_clear_n=float(needed) if math.isfinite(needed) else None, says=says,
    )  # fmt: skip
    if not touches:
        return found, [Finding("ground", "suits", says[0])]
    if not taped:
        return found, [Finding("ground", "suits", f"{says[0]}, if the ground is as level as taken")]
    condition = (f"it stands at {show(float(needed), 'kN', 2)} or is tied higher, and is judged again"
                 if math.isfinite(needed) else "it is tied higher, and is judged again")  # fmt: skip
    return found, [Finding("ground", "suits if", says[0], condition)]


def _ground(line: Line, inputs: LineInputs) -> tuple[Ground, bool]:
    """The ground profile and whether it was taped."""
    if len(line.ground) >= 2:
        points = sorted((point.at.si, point.height.si) for point in line.ground)
        return Ground(np.array([p[0] for p in points]), np.array([p[1] for p in points])), True
    return plain_slope(inputs.span, inputs.ground_rise), False


def _says(on, touches: bool, needed: float, taped: bool) -> tuple[str, ...]:
    where = f"{on.lowest_at:.0f} m from A"
    lead = (f"the walker's feet reach the ground {where}" if touches
            else f"the walker's feet stay {on.lowest:.2f} m over the ground at the lowest place, {where}")  # fmt: skip
    more = [f"with the walker at mid-span the line is {on.at_mid_span:.2f} m over the ground"]
    if math.isfinite(needed):
        more.append(f"a standing tension of {show(float(needed), 'kN', 2)} would keep {MARGIN_M:g} m everywhere")
    if not taped:
        more.append("no ground profile was taped: the ground is taken as a plain slope")
    return (lead, *more)
