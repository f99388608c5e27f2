"""Diameter carried from the height where it was read to another section, by a stated taper."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from siteassess.mechanics.arrays import Array, as_array
from siteassess.reference.constants import constant

TAPER_PER_METRE = constant("taper per metre")
TAPER_POWER = constant("taper power")


def diameter_at(
    diameter: ArrayLike, read_height: ArrayLike, section_height: ArrayLike, taper: ArrayLike = TAPER_PER_METRE.value
) -> Array:
    """Diameter at a section by even taper [m].

    Parameters
    ----------
    diameter : as read [m]
    read_height, section_height : above the ground [m]; below the reading the trunk earns no more than what was read,
        since a flare may be hollow or ribbed
    taper : diameter lost per metre going up, not negative [m/m]

    Returns
    -------
    NaN where nothing would be left.

    Examples
    --------
    50 cm read at 1 m, losing 2 cm a metre up to 4 m, by hand:

    >>> f"{diameter_at(0.50, 1.0, 4.0, 0.02):.2f}"
    '0.44'
    """
    d, read, section, per_metre = map(as_array, (diameter, read_height, section_height, taper))
    with np.errstate(invalid="ignore"):
        carried = d - per_metre * np.maximum(section - read, 0.0)
        good = (d > 0) & (read >= 0) & (section >= 0) & (per_metre >= 0) & (carried > 0)
        return np.where(good, carried, np.nan)


def diameter_at_by_height(
    diameter: ArrayLike, read_height: ArrayLike, section_height: ArrayLike, tree_height: ArrayLike
) -> Array:
    """Diameter at a section where the tree's height is known [m].

    Parameters
    ----------
    diameter, read_height, section_height : as in `diameter_at` [m]
    tree_height : above both heights [m]
    """
    d, read, section, top = map(as_array, (diameter, read_height, section_height, tree_height))
    with np.errstate(invalid="ignore", divide="ignore"):
        carried = np.minimum(d * ((top - section) / (top - read)) ** TAPER_POWER.value, d)
        good = (d > 0) & (read >= 0) & (section >= 0) & (read < top) & (section < top)
        return np.where(good, carried, np.nan)


def least_diameter_at(
    diameter: ArrayLike, read_height: ArrayLike, section_height: ArrayLike, tree_height: ArrayLike
) -> Array:
    """The smaller diameter of even taper and of the taper toward the tree's top, with no credit for a flare [m].

    Parameters
    ----------
    diameter, read_height, section_height : as in `diameter_at` [m]
    tree_height : NaN where it is not known, and then even taper alone answers [m]

    Notes
    -----
    Even taper is set for the foot of the trunk; high up the trunk thins faster. NaN for a section above the top.
    """
    even = diameter_at(diameter, read_height, section_height)
    top = as_array(tree_height)
    thinning = diameter_at_by_height(diameter, read_height, section_height, top)
    return np.where(np.isnan(top), even, np.minimum(even, thinning))
