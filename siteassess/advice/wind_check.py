"""The wind at which line and crown together reach what we allow, and what that means for the verdict."""

from __future__ import annotations

import math

from siteassess.advice.filled import crown_width_of
from siteassess.advice.results import Finding, Limit
from siteassess.advice.tree_inputs import TreeInputs
from siteassess.mechanics.wind import crown_area, take_down_wind

STAYS_BELOW = 8.0  # [m/s] under it the verdict hangs on the wind (agreed model, judgement)
LEAVE_BELOW = 5.0  # [m/s] under it a light breeze is too much (agreed model, judgement)
CROWN_BASE_SHARE = 0.25  # height of the lowest branch over tree height where it was not read (judgement)


def wind_finding(tree: TreeInputs, limits: tuple[Limit, ...], tie: float) -> tuple[float | None, list[Finding]]:
    """Take-down wind [m/s], None where it cannot be worked out, and what to say of it."""
    known = [limit for limit in limits if limit.use is not None]
    width = tree.crown_width if math.isfinite(tree.crown_width) else crown_width_of(tree.species, tree.diameter)
    if not known or not math.isfinite(tree.height) or width is None or not math.isfinite(width):
        told = "the take-down wind cannot be worked out; take the line down when the crown moves"
        return None, [Finding("wind", "suits", told, looked_at=False)]
    base = tree.crown_base if math.isfinite(tree.crown_base) else CROWN_BASE_SHARE * tree.height
    area = crown_area(width, tree.height - base)
    centre = (tree.height + base) / 2
    wind = min(float(take_down_wind(limit.allowable, limit.demand, area, centre)) for limit in known)
    if any(limit.use > 1 for limit in known):
        return 0.0, []  # the line alone is too much; the limits say so
    told = f"line and crown together reach what we allow at a gust of {wind:.0f} m/s at crown height"
    if wind < LEAVE_BELOW:
        return wind, [Finding("wind exceeded", "leave it", told)]
    if wind < STAYS_BELOW:
        return wind, [Finding("wind", "suits if", told, f"gusts stay below {math.floor(wind)} m/s")]
    return wind, [Finding("wind", "suits", told)]
