"""What one limit of an anchor answers: capacity, demand, use, and why it may not be able to say.

Arrays throughout. Where the model does not apply the numbers are NaN and `outside` says why, so that a
refusal can never be mistaken for a small or a large number.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import IntFlag

import numpy as np
from numpy.typing import ArrayLike, NDArray

from siteassess.mechanics.arrays import Array, as_array
from siteassess.mechanics.scatter import LOWER_FRACTILE, allowable, exceedance_probability, percentile


class Outside(IntFlag):
    """Why a limit cannot be judged (refusals), or what a reader of the number must know (notes)."""

    NOTHING = 0
    MISSING = 1 << 0
    IMPOSSIBLE = 1 << 1
    THIN_WALL = 1 << 2
    WIDE_OPENING = 1 << 3
    SLENDER = 1 << 4
    ROOTS_LOST_OVER_LIMIT = 1 << 5
    ROOTS_LOST_OVER_HALF = 1 << 6
    DIGGING_BEHIND = 1 << 7
    STEEP = 1 << 8
    EDGE_NEAR = 1 << 9
    FOOTING_DOUBTFUL = 1 << 10
    WAY_UNKNOWN = 1 << 11
    # Notes: the number stands, the reader must know.
    SQUAT = 1 << 20
    HEIGHT_CAPPED = 1 << 21
    LEANS_AWAY = 1 << 22


REFUSALS = Outside((1 << 20) - 1)


@dataclass(frozen=True)
class LimitSums:
    """One limit judged for one or many anchors; every field broadcasts to the same shape."""

    name: str
    unit: str
    capacity_median: Array
    capacity_p05: Array
    capacity_ln_sd: Array
    divisor: Array
    allowable: Array
    demand: Array
    use: Array
    outside: NDArray[np.int64]

    @property
    def refused(self) -> NDArray[np.bool_]:
        """True where the limit cannot say."""
        return np.asarray((self.outside & int(REFUSALS)) != 0)

    def probability(self, demand_ln_sd: ArrayLike, capacity_extra_ln_sd: ArrayLike = 0.0) -> Array:
        """Probability that the demand exceeds the capacity [-].

        Parameters
        ----------
        demand_ln_sd : scatter of the demand [ln]; 0.10 with a load cell, 0.20 for an estimate
        capacity_extra_ln_sd : further scatter for guessed inputs [ln]
        """
        capacity_sd = np.hypot(self.capacity_ln_sd, capacity_extra_ln_sd)
        return exceedance_probability(self.demand, demand_ln_sd, self.capacity_median, capacity_sd)


def make_limit(
    name: str, median: ArrayLike, ln_sd: ArrayLike, demand: ArrayLike, divisor: ArrayLike, outside: ArrayLike,
    unit: str = "N m",
) -> LimitSums:
    """Close a limit: blank what was refused, then 5 % value, allowable and use.

    Parameters
    ----------
    name, unit : of the limit, and of its capacity and demand
    median, demand : median capacity and demand [unit]
    ln_sd, divisor : scatter of the capacity [ln] and divisor of its 5 % value [-]
    outside : flags of `Outside` [-]
    """
    median, ln_sd, demand, divisor, outside = np.broadcast_arrays(
        *map(as_array, (median, ln_sd, demand, divisor)), np.asarray(outside, dtype=np.int64)
    )
    blank = np.isnan(median) | np.isnan(demand) | np.isnan(ln_sd) | np.isnan(divisor)
    explained = (outside & int(REFUSALS)) != 0
    outside = np.where(blank & ~explained, outside | int(Outside.MISSING), outside)
    refused = (outside & int(REFUSALS)) != 0
    median = np.where(refused, np.nan, median)
    allowed = allowable(median, ln_sd, divisor)
    with np.errstate(divide="ignore", invalid="ignore"):
        use = np.where(demand == 0.0, 0.0 * median, demand / allowed)
    return LimitSums(
        name=name, unit=unit, capacity_median=median, capacity_p05=percentile(median, ln_sd, LOWER_FRACTILE),
        capacity_ln_sd=ln_sd.copy(), divisor=divisor.copy(), allowable=allowed, demand=demand.copy(), use=use,
        outside=outside,
    )
