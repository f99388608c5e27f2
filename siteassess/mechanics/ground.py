"""Slope and banks: stated, adjustable assumptions, since no published number was found.

Each factor comes with its low end. Where a verdict changes between the two, the ground decides and the
honest answer is "cannot say".
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

from siteassess.mechanics.arrays import Array, as_array
from siteassess.mechanics.limit import Outside
from siteassess.reference.constants import constant

LEVEL_UP_TO_DEG = constant("ground level up to")
LOSS_PER_DEGREE = constant("ground loss per degree")
STEEPEST_DEG = constant("ground steepest")
BANK_REACH_DIAMETERS = constant("bank reach diameters")
BANK_FACTOR = constant("bank factor")

GROUND_ASSUMPTIONS = (LEVEL_UP_TO_DEG, LOSS_PER_DEGREE, STEEPEST_DEG, BANK_REACH_DIAMETERS, BANK_FACTOR)


def ground_factor(
    slope_deg: ArrayLike, bank_distance: ArrayLike, diameter: ArrayLike, pessimistic: bool = False
) -> Array:
    """Share of the root plate's capacity left on this ground [-].

    Parameters
    ----------
    slope_deg : of the ground at the tree, in whatever direction [deg]
    bank_distance : from the trunk to the nearest edge of a bank or drop; infinite where none [m]
    diameter : of the trunk [m]
    pessimistic : take the unkind end of each assumption, to see whether the ground decides
    """
    slope, bank, d = map(as_array, (slope_deg, bank_distance, diameter))
    per_degree = LOSS_PER_DEGREE.ends[1] if pessimistic else LOSS_PER_DEGREE.value
    beside = BANK_FACTOR.ends[0] if pessimistic else BANK_FACTOR.value
    with np.errstate(invalid="ignore"):
        steep = np.where((slope >= 0) & (slope < 90), slope, np.nan)
        sloped = np.maximum(1.0 - per_degree * np.maximum(steep - LEVEL_UP_TO_DEG.value, 0.0), 0.0)
        near = np.where(bank < BANK_REACH_DIAMETERS.value * d, beside, 1.0)
    # An infinite distance times zero would be NaN, so an unknown distance is spread by a test, not a product.
    return np.where(np.isnan(bank) | np.isnan(d), np.nan, sloped * near)


def ground_outside(slope_deg: ArrayLike) -> NDArray[np.int64]:
    """`Outside.STEEP` above the steepest slope; `Outside.MISSING` where the slope was not looked at.

    Parameters
    ----------
    slope_deg : NaN where nobody looked [deg]
    """
    slope = as_array(slope_deg)
    with np.errstate(invalid="ignore"):
        steep = np.where(slope > STEEPEST_DEG.value, int(Outside.STEEP), 0)
    return np.asarray(steep | np.where(np.isnan(slope), int(Outside.MISSING), 0), dtype=np.int64)


def ground_decides(use_assumed: ArrayLike, use_pessimistic: ArrayLike, threshold: float = 1.0) -> NDArray[np.bool_]:
    """True where the use passes with the assumed ground but not with the pessimistic one.

    Parameters
    ----------
    use_assumed, use_pessimistic : demand over allowable with either [-]
    threshold : up to which a use passes [-]
    """
    assumed, pessimistic = as_array(use_assumed), as_array(use_pessimistic)
    with np.errstate(invalid="ignore"):
        return np.asarray((assumed <= threshold) & ~(pessimistic <= threshold))
