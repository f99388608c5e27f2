"""Roots by direction: which of eight compass sectors hold a pull, and how much of that holding is lost.

Sectors run north, north-east, east ... north-west, each 45 degrees wide. A pull's bearing points from the
tree towards where it pulls; the roots behind it, on the far side, are in tension and count most.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

from siteassess.mechanics.arrays import Array, as_array
from siteassess.mechanics.rootplate import ROOT_LOSS_HALF
from siteassess.reference.constants import constant, constants

SECTOR_BEARINGS_DEG = np.arange(0.0, 360.0, 45.0)

DIRECTION_CONTRAST = constant("root direction contrast")
ROOT_STATES = constants("roots of a sector")
DIGGING_DIAMETERS = constant("digging diameters")


def _from_behind(pull_bearing_deg: ArrayLike) -> Array:
    """Cosine of each sector's angle from straight behind the pull; sectors on the last axis."""
    pull = as_array(pull_bearing_deg)[..., None]
    return as_array(-np.cos(np.deg2rad(SECTOR_BEARINGS_DEG - pull)))


def _reach_behind(pull_bearing_deg: ArrayLike) -> NDArray[np.bool_]:
    """Whether any part of each sector lies behind the pull; sectors on the last axis.

    What was seen in a sector may lie anywhere in its 45 degrees, and an edge beside a trunk runs on behind it.
    """
    square_to_it = -np.sin(np.pi / SECTOR_BEARINGS_DEG.size)  # of a sector with its edge there
    return np.asarray(_from_behind(pull_bearing_deg) > square_to_it + 1e-9)


def sector_weights(pull_bearing_deg: ArrayLike) -> Array:
    """Share of the holding that each sector brings for a pull; sectors on the last axis, sum 1 [-].

    Parameters
    ----------
    pull_bearing_deg : [deg true]
    """
    return (1.0 + DIRECTION_CONTRAST.value * _from_behind(pull_bearing_deg)) / SECTOR_BEARINGS_DEG.size


def holding_share_lost(sector_lost: ArrayLike, pull_bearing_deg: ArrayLike) -> Array:
    """Share of the roots holding a pull that are lost [-], for `rootplate.root_limit`.

    Parameters
    ----------
    sector_lost : share of roots lost in each of the eight sectors on the last axis, 0 to 1, NaN not looked [-]
    pull_bearing_deg : [deg true]

    Returns
    -------
    NaN where any sector was not looked at. Where more than half of all roots are gone the plain share is returned if
    larger, so that no direction is kinder than the tests that stopped there.

    References
    ----------
    1. Smiley 2008, AUF 34(2):123, doi 10.48044/jauf.2008.016 (read).
    2. Smiley et al. 2014, AUF 40(4):230 (read).
    3. Pallafray et al. 2024, Forests 15(6):1041 (read).

    Examples
    --------
    One buttress root cut cost 12 % on average [1]_. One of eight sectors, over all directions; a hundredth either way,
    for the trees had about that many roots:

    >>> lost = [1.0, 0, 0, 0, 0, 0, 0, 0]
    >>> abs(float(np.mean(holding_share_lost(lost, SECTOR_BEARINGS_DEG))) - 0.12) < 0.01
    True
    """
    lost = as_array(sector_lost)
    with np.errstate(invalid="ignore"):
        lost = np.where((lost >= 0.0) & (lost <= 1.0), lost, np.nan)
    weighted = np.sum(sector_weights(pull_bearing_deg) * lost, axis=-1)
    plain = np.mean(lost, axis=-1)
    return as_array(np.where(plain > ROOT_LOSS_HALF.value, np.maximum(weighted, plain), weighted))


def share_cut_off(
    sector_lost: ArrayLike, distances: ArrayLike, pull_bearing_deg: ArrayLike, diameter: ArrayLike
) -> Array:
    """Share of the roots holding a pull that are lost, those cut off behind it counted as lost [-].

    Parameters
    ----------
    sector_lost : as `holding_share_lost` [-]
    distances : nearest kerb, wall, trench or digging in each of the eight sectors on the last axis; infinite where
        none, NaN not looked [m]. One within three diameters behind the pull counts as the roots of its sector cut.
    pull_bearing_deg : [deg true]
    diameter : of the trunk [m]
    """
    behind = _reach_behind(pull_bearing_deg)
    with np.errstate(invalid="ignore"):
        near = as_array(distances) < DIGGING_DIAMETERS.value * as_array(diameter)
    return holding_share_lost(np.where(behind & near, 1.0, sector_lost), pull_bearing_deg)


def digging_behind(distances: ArrayLike, pull_bearing_deg: ArrayLike, diameter: ArrayLike) -> Array:
    """Is there a trench, kerb, wall, bank or digging within three diameters behind the pull?

    Parameters
    ----------
    distances : nearest one in each of the eight sectors on the last axis, from the trunk; infinite where looked for and
        none, NaN not looked [m]
    pull_bearing_deg : [deg true]
    diameter : of the trunk [m]

    Returns
    -------
    1 yes, 0 no, NaN where a sector behind was not looked at and none is known to be near.
    """
    behind = _reach_behind(pull_bearing_deg)
    reach = DIGGING_DIAMETERS.value * as_array(diameter)[..., None]
    distances = as_array(distances)
    with np.errstate(invalid="ignore"):
        near = np.any(behind & (distances < reach), axis=-1)
    unknown = np.any(behind & (np.isnan(distances) | np.isnan(reach)), axis=-1)
    unknown = unknown | np.isnan(as_array(pull_bearing_deg))
    return np.where(near, 1.0, np.where(unknown, np.nan, 0.0))
