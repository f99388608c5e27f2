"""The wind at which line and crown together reach what we allow, and what that means for the verdict."""

from __future__ import annotations

import math

from siteassess.advice.filled import crown_width_of
from siteassess.advice.results import Finding, Limit
from siteassess.advice.tree_inputs import TreeInputs
from siteassess.mechanics.assumptions import Assumption
from siteassess.mechanics.wind import crown_area, take_down_wind

WIND_TO_MIND = Assumption(
    "take-down wind under which the verdict hangs on it", 8.0, 6.0, 11.0, "m/s", "judgement", "agreed model",
)  # fmt: skip
WIND_TO_LEAVE = Assumption(
    "take-down wind under which we say leave it", 5.0, 4.0, 7.0, "m/s", "judgement", "agreed model: a light breeze",
)  # fmt: skip
CROWN_BASE_SHARE = Assumption(
    "height of the lowest branch over tree height where not read", 0.25, 0.1, 0.4, "", "judgement", "no source found",
)  # fmt: skip
STAYS_BELOW, LEAVE_BELOW = WIND_TO_MIND.value, WIND_TO_LEAVE.value
WIND_CHECK_ASSUMPTIONS = (WIND_TO_MIND, WIND_TO_LEAVE, CROWN_BASE_SHARE)


def wind_finding(tree: TreeInputs, limits: tuple[Limit, ...], tie: float) -> tuple[float | None, list[Finding]]:
    """Take-down wind [m/s], None where it cannot be worked out, and what to say of it."""
    known = [limit for limit in limits if limit.use is not None]
    width, basis = _crown(tree)
    if not known or not math.isfinite(tree.height_high) or width is None:
        told = "the wind it can bear cannot be worked out: take the line down as soon as the crown moves"
        return None, [Finding("wind", "suits", told, looked_at=False)]
    if any(limit.use > 1 for limit in known):
        return 0.0, []  # the line alone is too much; the limits say so
    height = tree.height_high
    base = min(tree.crown_base if math.isfinite(tree.crown_base) else CROWN_BASE_SHARE.value * height, height)
    area, centre = crown_area(width, height - base), (height + base) / 2
    wind = min(float(take_down_wind(limit.allowable, limit.demand, area, centre)) for limit in known)
    told = f"a gust of {wind:.0f} m/s at crown height, along the pull, brings line and crown to what we allow{basis}"
    if wind < LEAVE_BELOW and (basis or tree.height_how == "filled"):
        # a size taken at its worst cannot reject a tree
        return wind, [Finding("wind", "cannot say", f"{told}; pace the crown and measure the height", looked_at=False)]
    if wind < LEAVE_BELOW:
        return wind, [Finding("wind exceeded", "leave it", told)]
    if wind < STAYS_BELOW:
        return wind, [Finding("wind", "suits if", told, f"gusts stay below {math.floor(wind)} m/s")]
    return wind, [Finding("wind", "suits", told)]


def _crown(tree: TreeInputs) -> tuple[float | None, str]:
    """Crown width [m] and a note where it was filled in."""
    if math.isfinite(tree.crown_width):
        return tree.crown_width, ""
    read = tree.height if tree.height_how != "filled" else math.nan
    found = crown_width_of(tree.species, tree.root_diameter, read)
    return (found[0], f" (crown width not read: {found[0]:.0f} m taken, {found[1]})") if found else (None, "")
