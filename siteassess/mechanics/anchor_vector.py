"""Pulls on one tree as vectors: several lines at once, the way they tip the tree, downhill, and a guy line.

Bearings in degrees true, clockwise from north; east, north, up in metres and newtons.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from siteassess.mechanics.arrays import Array, as_array


@dataclass(frozen=True)
class Pull:
    """One line's pull on a tree."""

    bearing_deg: float  # from the tree along the line [deg true]
    horizontal: float  # [N]
    vertical: float  # positive: down [N]
    height: float  # of the tie over the ground [m]


@dataclass(frozen=True)
class Together:
    """All pulls on one tree."""

    horizontal: float  # sum of the horizontal pulls as vectors [N]
    bearing_deg: float  # of that sum [deg true]; NaN where it vanishes
    vertical: float  # sum of the vertical pulls, positive: down [N]
    moment: float  # tipping moment at the ground, every pull at its own height [N m]
    tips_towards_deg: float
    """Bearing the moment tips the tree towards [deg true]; not always that of the horizontal sum."""

    @property
    def height(self) -> float:
        """Height at which the horizontal sum alone would tip as much [m]."""
        return self.moment / self.horizontal if self.horizontal > 0 else np.nan


def unit(bearing_deg: ArrayLike) -> Array:
    """East and north of a bearing, last axis 2 [-].

    Parameters
    ----------
    bearing_deg : clockwise from true north [deg]
    """
    angle = np.radians(bearing_deg)
    return np.stack((np.sin(angle), np.cos(angle)), axis=-1)


def together(pulls: Sequence[Pull], extra_arm: float = 0.0) -> Together:
    """Vector sum of the pulls on one tree.

    Parameters
    ----------
    pulls : at least one
    extra_arm : how far the point the tree tips about lies under the ground, the same for all pulls [m]

    Raises
    ------
    ValueError : without any pull

    Examples
    --------
    10 and 6 kN, 70 degrees apart, by hand the root of 136 + 120 cos 70 degrees:

    >>> f"{together([Pull(20.0, 10e3, 0.0, 1.5), Pull(90.0, 6e3, 0.0, 1.5)]).horizontal:.0f}"
    '13306'
    """
    if not pulls:
        raise ValueError("no pulls to add")
    level = np.sum([p.horizontal * unit(p.bearing_deg) for p in pulls], axis=0)
    tipping = np.sum([p.horizontal * (p.height + extra_arm) * unit(p.bearing_deg) for p in pulls], axis=0)
    largest = max(abs(p.horizontal) for p in pulls)
    return Together(
        horizontal=float(np.hypot(*level)), bearing_deg=_bearing(level, 1e-9 * largest),
        vertical=float(sum(p.vertical for p in pulls)), moment=float(np.hypot(*tipping)),
        tips_towards_deg=_bearing(tipping, 1e-9 * largest * max(abs(p.height) + extra_arm for p in pulls)),
    )


def _bearing(vector: Array, nothing: float) -> float:
    if not np.hypot(*vector) > nothing:
        return np.nan
    return float(np.degrees(np.arctan2(vector[0], vector[1])) % 360)


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


@dataclass(frozen=True)
class Guy:
    """A guy line set to take a share of the tipping moment."""

    tension: float  # tension to set in the guy [N]
    moment_left: float  # moment that stays on the tree with the guy working [N m]
    tips_towards_deg: float  # [deg true]
    added_down: float  # vertical pull the guy adds, positive: down [N]; the stem carries it as compression
    horizontal_on_second: float  # horizontal pull on the second tree, which must be judged for it [N]


def guy_for_share(
    pull: Pull, share: float, guy_bearing_deg: float, guy_height: float, guy_slope_deg: float = 0.0
) -> Guy:
    """Tension in a guy to a second tree that takes a share of the moment along the pull, 0.5 to halve it.

    Parameters
    ----------
    pull : on the first tree
    share : of the tipping moment along the pull [-]
    guy_bearing_deg : from the first tree to the second [deg true]; best straight behind the pull
    guy_height : where the guy is tied to the first tree [m]
    guy_slope_deg : how steeply the guy runs down from the first tree [deg]

    Raises
    ------
    ValueError : where the guy does not lie behind the pull

    Notes
    -----
    Statics of a guy whose tension is known. A guy that is merely snug takes load only as the tree moves.

    Examples
    --------
    Half of 10 kN at 2 m, taken at 4 m straight behind, by hand:

    >>> guy = guy_for_share(Pull(0.0, 10e3, 0.0, 2.0), 0.5, 180.0, 4.0)
    >>> round(guy.tension, 6), round(guy.moment_left, 6)
    (2500.0, 10000.0)
    """
    behind = -np.cos(np.radians(guy_bearing_deg - pull.bearing_deg))
    if behind <= 1e-6 or guy_height <= 0 or not 0 <= guy_slope_deg < 90:
        raise ValueError("the guy must be tied above the ground and run to the side opposite the pull")
    horizontal = share * pull.horizontal * pull.height / (guy_height * behind)
    down = horizontal * np.tan(np.radians(guy_slope_deg))
    left = together([pull, Pull(guy_bearing_deg, horizontal, down, guy_height)])
    tension = float(np.hypot(horizontal, down))
    return Guy(tension, left.moment, left.tips_towards_deg, float(down), float(horizontal))
