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
    """Take-down wind [m/s], None where it cannot be worked out, and what to say of it.

    The wind is that at which the first of all limits is reached, so one limit that is not known leaves it unknown; what
    the known ones say can still reject.
    """
    known = [limit for limit in limits if limit.use is not None]
    unknown = [limit.name for limit in limits if limit.use is None]
    width, basis = _crown(tree)
    if not known or not math.isfinite(tree.height_high) or width is None:
        return None, [_not_worked_out("")]
    if any(limit.use > 1 for limit in known):
        return (None, [_not_worked_out(_lacks(unknown))]) if unknown else (0.0, [])  # the line alone is too much
    height = tree.height_high
    base = min(tree.crown_base if math.isfinite(tree.crown_base) else CROWN_BASE_SHARE.value * height, height)
    area, centre = crown_area(width, height - base), (height + base) / 2
    wind = min(float(take_down_wind(limit.allowable, limit.demand, area, centre)) for limit in known)
    if not math.isfinite(wind):
        return None, [_not_worked_out(", since the crown has no height by its readings")]
    taken = basis + _height_note(tree)
    told = (f"a gust of {told_wind(wind):.0f} m/s at crown height, along the pull, brings line and crown to what we "
            f"allow{taken}")  # fmt: skip
    if unknown:
        # an upper bound only: worth telling where it rejects by itself, never as a wind to go by
        least = _verdict_of(wind, f"{told}, by the {known[0].name} alone", bool(basis), tree)
        return None, [_not_worked_out(_lacks(unknown)), *(one for one in least if one.effect == "leave it")]
    return wind, _verdict_of(wind, told, bool(basis), tree)


def told_wind(wind: float | None) -> float | None:
    """A take-down wind as every paper tells it: whole m/s, rounded down, so that a line comes down early [m/s]."""
    return None if wind is None else float(math.floor(wind))


def _verdict_of(wind: float, told: str, crown_taken: bool, tree: TreeInputs) -> list[Finding]:
    if wind < LEAVE_BELOW and (crown_taken or tree.height_how == "filled"):
        # a size taken at its worst cannot reject a tree
        return [Finding("wind", "cannot say", f"{told}; pace the crown and measure the height", looked_at=False)]
    if wind < LEAVE_BELOW:
        return [Finding("wind exceeded", "leave it", told)]
    if wind < STAYS_BELOW:
        rests = [*["a crown width taken, not paced"] * crown_taken,
                 *["a tree height not measured"] * (tree.height_how != "measured")]  # fmt: skip
        by = f" (a figure that rests on {' and '.join(rests)})" if rests else ""
        return [Finding("wind", "suits if", told, f"gusts at crown height stay below {told_wind(wind):.0f} m/s{by}")]
    return [Finding("wind", "suits", told)]


def _not_worked_out(why: str) -> Finding:
    told = f"the wind it can bear cannot be worked out{why}: take the line down as soon as the crown moves"
    return Finding("wind", "suits", told, looked_at=False)


def _lacks(unknown: list[str]) -> str:
    return f", since the {' and the '.join(unknown)} cannot be told" if unknown else ""


def _height_note(tree: TreeInputs) -> str:
    """A note where the height was not measured."""
    if tree.height_how == "measured":
        return ""
    how = {"filled": "taken from a table, not read", "unknown": "read, nobody said how"}
    return f" (tree height {tree.height_high:.0f} m, {how.get(tree.height_how, tree.height_how)})"


def _crown(tree: TreeInputs) -> tuple[float | None, str]:
    """Crown width [m] and a note where it was filled in."""
    if math.isfinite(tree.crown_width):
        return tree.crown_width, ""
    read = tree.height if tree.height_how != "filled" else math.nan
    found = crown_width_of(tree.species, tree.root_diameter, read)
    return (found[0], f" (crown width not read: {found[0]:.0f} m taken, {found[1]})") if found else (None, "")
