"""Tilt of the root plate: when movement becomes visible, and what a trial load tells.

Root plates turn over at a very small angle, so a base that moves visibly has little in reserve.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from siteassess.mechanics.arrays import Array, as_array
from siteassess.reference.constants import constant

TILT_AT_PEAK_DEG = constant("tilt at peak")
TILT_START_DEG = constant("tilt start")
TILT_START_SHARE = constant("tilt start share")
TRIAL_LN_SD = constant("trial ln sd")

TILT_ASSUMPTIONS = (TILT_AT_PEAK_DEG, TILT_START_DEG, TILT_START_SHARE, TRIAL_LN_SD)

# One power curve through both points; it is our shape, only its two ends come from elsewhere.
_POWER = np.log(TILT_START_SHARE.value) / np.log(TILT_START_DEG.value / TILT_AT_PEAK_DEG.value)


def moment_share_at_tilt(tilt_deg: ArrayLike) -> Array:
    """Share of the greatest moment reached at a tilt of the base [-]; 1 from the peak on.

    Parameters
    ----------
    tilt_deg : of the base, not negative [deg]
    """
    tilt = as_array(tilt_deg)
    with np.errstate(invalid="ignore"):
        share = np.minimum(tilt / TILT_AT_PEAK_DEG.value, 1.0) ** _POWER
        return np.where(tilt >= 0.0, share, np.nan)


def capacity_from_trial(moment: ArrayLike, tilt_deg: ArrayLike) -> Array:
    """Median root plate capacity that a trial load and its measured tilt point to [N m].

    Parameters
    ----------
    moment : turning moment of the trial load, with its lever arm as in `rootplate.turning_demand` [N m]
    tilt_deg : tilt of the base read under it, positive [deg]. Where no movement was seen pass the least tilt that the
        reading could have shown: the answer is then a lower bound.

    Notes
    -----
    NaN for a tilt of zero, since a reading is never that fine, and beyond the tilt at the peak, where the
    tree is going over.
    """
    moment, tilt = as_array(moment), as_array(tilt_deg)
    with np.errstate(divide="ignore", invalid="ignore"):
        value = moment / moment_share_at_tilt(tilt)
        return np.where((tilt > 0.0) & (tilt <= TILT_AT_PEAK_DEG.value) & (moment > 0.0), value, np.nan)
