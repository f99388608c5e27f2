"""Directions of pull on one tree: the angle to another bearing, and a guy line straight behind."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from siteassess.mechanics.arrays import Array, as_array


def angle_between(bearing_1_deg: ArrayLike, bearing_2_deg: ArrayLike) -> Array:
    """Angle between two bearings, 0 to 180 [deg]; from a pull to the downhill bearing, 0 is straight downhill.

    Parameters
    ----------
    bearing_1_deg, bearing_2_deg : [deg true]

    Examples
    --------
    By hand:

    >>> float(angle_between(350.0, 10.0))
    20.0
    """
    return as_array(np.abs((as_array(bearing_1_deg) - as_array(bearing_2_deg) + 180) % 360 - 180))


def guy_tension(pull: ArrayLike, share: ArrayLike, slope_deg: ArrayLike) -> Array:
    """Tension in a guy tied where the pull is and run straight behind it, that takes a share of the tipping moment [N].

    Parameters
    ----------
    pull : horizontal pull on the first tree [N]
    share : of the tipping moment, 0.5 to halve it [-]
    slope_deg : how steeply the guy runs down to a second tree, which must be judged for it [deg]

    Notes
    -----
    Statics of a guy whose tension is known. A guy that is merely snug takes load only as the tree moves.

    Examples
    --------
    Half of 10 kN by a level guy, and by one that runs down by 60 degrees, by hand:

    >>> guy_tension(10e3, 0.5, [0.0, 60.0]).round(6).tolist()
    [5000.0, 10000.0]
    """
    level = as_array(share) * as_array(pull)
    return as_array(np.hypot(level, level * np.tan(np.radians(slope_deg))))
