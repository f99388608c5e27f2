"""The root plate judged by direction of pull: one bearing, or eight for a picture."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from siteassess.mechanics.arrays import Array, as_array
from siteassess.mechanics.limit import LimitSums
from siteassess.mechanics.rootplate import root_limit
from siteassess.mechanics.roots import SECTOR_BEARINGS_DEG, digging_behind, holding_share_lost


def root_limit_by_direction(
    diameter: ArrayLike,
    height: ArrayLike,
    tie_height: ArrayLike,
    pull: ArrayLike,
    sector_lost: ArrayLike,
    digging_distances: ArrayLike,
    pull_bearings_deg: ArrayLike = SECTOR_BEARINGS_DEG,
    *,
    lean_moment: ArrayLike = 0.0,
    lean_bearing_deg: ArrayLike = 0.0,
    **others: ArrayLike,
) -> LimitSums:
    """Judge the same pull towards one or several bearings.

    Parameters
    ----------
    diameter, height, tie_height, pull : array_like
        One tree, or many on leading axes [m], [m], [m], [N].
    sector_lost : array_like
        Share of roots lost in each of eight sectors on the last axis, NaN not looked [-].
    digging_distances : array_like
        Nearest trench, kerb, wall or bank in each sector on the last axis; infinite none, NaN not looked [m].
    pull_bearings_deg : array_like
        Bearings to try on the last axis; the eight sectors if not given [deg true].
    lean_moment : array_like
        Of the tree's own weight, not negative [N m].
    lean_bearing_deg : array_like
        Towards which the tree leans [deg true]; of no matter to an upright tree.
    **others
        Soil, ground and divisor of `rootplate.root_limit`.

    Returns
    -------
    Limit
        With the bearings on a new last axis.
    """

    def outer(value: ArrayLike) -> Array:
        return as_array(value)[..., None]

    bearings = as_array(pull_bearings_deg)
    sectors = as_array(sector_lost)[..., None, :]
    digging = as_array(digging_distances)[..., None, :]
    own, towards = outer(lean_moment), outer(lean_bearing_deg)
    turn = np.where(own == 0.0, 0.0, towards - bearings)
    return root_limit(
        outer(diameter),
        outer(height),
        outer(tie_height),
        outer(pull),
        share_lost=holding_share_lost(sectors, bearings),
        digging_behind=digging_behind(digging, bearings, outer(diameter)),
        lean_moment=own,
        lean_from_pull_deg=turn,
        **{name: np.asarray(value)[..., None] for name, value in others.items()},
    )
