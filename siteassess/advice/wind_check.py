"""The gust at which line and crown together exceed what the tree bears, and what that means for the verdict."""

from __future__ import annotations

import math

import numpy as np

from siteassess.advice.crown import Crown, crown_of
from siteassess.advice.next_steps import ASK_ARBORIST
from siteassess.advice.results import Finding, Limit
from siteassess.advice.tree_inputs import TreeInputs
from siteassess.mechanics.assumptions import Assumption
from siteassess.mechanics.rootplate import SQUAT_PER_DIAMETER
from siteassess.mechanics.wind import take_down_wind
from siteassess.units import si_factor

WIND_TO_MIND = Assumption(
    "take-down gust under which the verdict hangs on it", 8.0, 6.0, 11.0, "m/s", "judgement", "agreed model",
)  # fmt: skip
WIND_TO_LEAVE = Assumption(
    "take-down gust under which we say leave it", 5.0, 4.0, 7.0, "m/s", "judgement", "agreed model: a light breeze",
)  # fmt: skip
TOLD_AT_MOST = Assumption(
    "take-down gust never told higher", 17.0, 14.0, 20.0, "m/s", "memory",
    "where the Beaufort scale has twigs break off trees: whatever the line, nobody stays under a crown",
)  # fmt: skip
STAYS_BELOW, LEAVE_BELOW = WIND_TO_MIND.value, WIND_TO_LEAVE.value
WIND_CHECK_ASSUMPTIONS = (WIND_TO_MIND, WIND_TO_LEAVE, TOLD_AT_MOST)


def wind_finding(tree: TreeInputs, limits: tuple[Limit, ...], tie: float) -> tuple[float | None, list[Finding]]:
    """Take-down gust as a forecast tells it [m/s], None where it cannot be worked out, and what to say of it.

    The gust is that at which the first of all limits is exceeded one time in twenty, so one limit that is not known
    leaves it unknown; what the known ones say can still reject.
    """
    known = [limit for limit in limits if limit.use is not None]
    unknown = [limit.name for limit in limits if limit.use is None]
    crown = crown_of(tree)
    if not known or crown is None:
        return None, [_not_worked_out("")]
    first, wind = _first_reached(known, crown)
    if not math.isfinite(wind):
        return None, [_not_worked_out("")]
    if unknown:
        # an upper bound only: worth telling where it rejects by itself, never as a wind to go by
        least = _verdict_of(wind, f" by the {first} alone{crown.note}{_height_note(tree)}", crown.guessed, tree, first)
        return None, [_not_worked_out(_lacks(unknown)), *(one for one in least if one.effect == "leave it")]
    return wind, _verdict_of(wind, f"{crown.note}{_height_note(tree)}", crown.guessed, tree, first)


def _first_reached(known: list[Limit], crown: Crown) -> tuple[str, float]:
    """The limit reached in the least wind, and that gust [m/s]: no divisor, as a gust is met attended."""
    found = take_down_wind(
        [limit.capacity_median for limit in known], [limit.ln_sd_capacity for limit in known],
        [limit.demand for limit in known], crown.area, crown.centre, crown.leaf_type,
    )  # fmt: skip
    first = int(np.argmin(np.where(np.isnan(found), -np.inf, found)))
    return known[first].name, float(found[first])


def told_wind(wind: float | None) -> float | None:
    """A take-down gust as every paper tells it: whole m/s, rounded down, so that a line comes down early [m/s]."""
    return None if wind is None else float(math.floor(min(wind, TOLD_AT_MOST.value)))


def gust_told(wind: float) -> str:
    """The same in the units of forecasts."""
    whole = told_wind(wind)
    kmh, mph = (math.floor(whole / si_factor("speed", unit) + 1e-9) for unit in ("km/h", "mph"))
    return f"{kmh} km/h ({mph} mph, {whole:.0f} m/s)"


def _verdict_of(wind: float, taken: str, crown_taken: bool, tree: TreeInputs, first: str) -> list[Finding]:
    told = f"take the line down before gusts of {gust_told(wind)} are forecast or felt{taken}"
    if wind < 1:
        told = f"line and lean leave nothing for any gust{taken}"
    if wind >= STAYS_BELOW:
        return [Finding("wind", "suits", told)]
    # a size taken at its worst cannot reject a tree, nor can a sum that underrates it
    squat = first == "root plate" and tree.height < SQUAT_PER_DIAMETER.value * tree.root_diameter
    if wind < LEAVE_BELOW and (crown_taken or tree.height_how == "filled"):
        return [Finding("wind", "cannot say", told, looked_at=False,
                        do_next="pace the crown and measure the height")]  # fmt: skip
    if wind < LEAVE_BELOW and squat:
        return [Finding("wind", "cannot say", f"{told}; the sum underrates a squat tree", looked_at=False,
                        do_next=ASK_ARBORIST)]  # fmt: skip
    if wind < LEAVE_BELOW:
        return [Finding("wind exceeded", "leave it", told)]
    rests = [*["a crown width taken, not paced"] * crown_taken,
             *["a tree height not measured"] * (tree.height_how != "measured")]  # fmt: skip
    by = f" (a figure that rests on {' and '.join(rests)})" if rests else ""
    return [Finding("wind", "suits if", told, f"no gust of {gust_told(wind)} is forecast{by}")]


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
