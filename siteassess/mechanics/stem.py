"""What a trunk may carry in bending: 0.8 times green bending strength times section modulus.

The pull bends the trunk about any section below the tie; the section with the greatest use governs. Winched
trees, not clear-wood samples, set the scatter.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

from siteassess.mechanics.arrays import Array, as_array, broadcast
from siteassess.mechanics.limit import LimitSums, Outside, make_limit
from siteassess.mechanics.scatter import DIVISOR_GROUND_LINE
from siteassess.mechanics.section import trunk_modulus, wood_diameter
from siteassess.reference.constants import constant

WHOLE_STEM_FACTOR = constant("whole stem factor")
FORK_FACTOR = constant("fork factor")
STEM_LN_SD = constant("stem ln sd")
FORKED_LN_SD = constant("forked ln sd")
LEAST_WALL_SHARE = constant("least wall share")
WIDEST_OPENING_DEG = constant("widest opening")

STEM_ASSUMPTIONS = (WHOLE_STEM_FACTOR, FORK_FACTOR, STEM_LN_SD, FORKED_LN_SD, LEAST_WALL_SHARE, WIDEST_OPENING_DEG)


def stem_outside(wood: ArrayLike, wall: ArrayLike, opening_deg: ArrayLike, forked: ArrayLike) -> NDArray[np.int64]:
    """Why bending theory cannot judge a section: flags of `Outside`.

    Parameters
    ----------
    wood : wood diameter [m]
    wall : thinnest sound wall, infinite where sound to the heart [m]
    opening_deg : missing sector [deg]
    forked : 1 forked, 0 not, NaN not looked [-]
    """
    wood, wall, opening, forked = broadcast(wood, wall, opening_deg, forked)
    missing = np.isnan(wood) | np.isnan(wall) | np.isnan(opening) | np.isnan(forked)
    with np.errstate(invalid="ignore"):
        impossible = (wood <= 0) | (wall < 0) | (opening < 0) | (opening >= 360)
        thin = wall < LEAST_WALL_SHARE.value * wood / 2.0 - 1e-9
        wide = opening > WIDEST_OPENING_DEG.value
    flags = (
        np.where(missing, int(Outside.MISSING), 0)
        | np.where(impossible, int(Outside.IMPOSSIBLE), 0)
        | np.where(thin, int(Outside.THIN_WALL), 0)
        | np.where(wide, int(Outside.WIDE_OPENING), 0)
    )
    return np.asarray(flags, dtype=np.int64)


def stem_capacity(mor_green: ArrayLike, modulus: ArrayLike, forked: ArrayLike = 0.0) -> tuple[Array, Array]:
    """Median bending capacity [N m] and its scatter [ln].

    Parameters
    ----------
    mor_green : bending strength (modulus of rupture) of clear green wood [Pa]
    modulus : section modulus of the wood [m^3]
    forked : 1 where the trunk forks below or near the tie, 0 where not, NaN where not looked [-]

    References
    ----------
    1. Kane and Clouston 2008, AUF 34(2):101, doi 10.48044/jauf.2008.013, Table 4 (read; names from memory).
    """
    strength, modulus, forked = broadcast(mor_green, modulus, forked)
    factor = np.where(forked > 0, FORK_FACTOR.value, 1.0) + 0.0 * forked
    with np.errstate(invalid="ignore"):
        good = (strength > 0) & (modulus > 0)
    median = np.where(good, WHOLE_STEM_FACTOR.value * strength * modulus * factor, np.nan)
    return median, as_array(np.where(forked > 0, FORKED_LN_SD.value, STEM_LN_SD.value) + 0.0 * forked)


def bending_demand(
    pull: ArrayLike, tie_height: ArrayLike, section_height: ArrayLike = 0.0, other_moment: ArrayLike = 0.0
) -> Array:
    """Bending moment of a horizontal pull about a section, with what else bends the same way [N m].

    Parameters
    ----------
    pull : horizontal pull, not negative [N]
    tie_height, section_height : above the ground [m]; a section above the tie feels no moment from the line
    other_moment : moment of the tree's own lean or of wind about the section; a negative one is not credited [N m]

    Examples
    --------
    5 kN tied at 1.5 m about the ground, by hand:

    >>> float(bending_demand(5e3, 1.5))
    7500.0
    """
    pull, tie, section, other = map(as_array, (pull, tie_height, section_height, other_moment))
    with np.errstate(invalid="ignore"):
        moment = pull * np.maximum(tie - section, 0.0) + np.maximum(other, 0.0)
        return np.where((pull >= 0.0) & (tie >= 0.0) & (section >= 0.0), moment, np.nan)


def stem_limit(
    mor_green: ArrayLike, diameter: ArrayLike, tie_height: ArrayLike, pull: ArrayLike, *,
    section_height: ArrayLike = 0.0, bark_thickness: ArrayLike = 0.0, wall: ArrayLike = np.inf,
    opening_deg: ArrayLike = 0.0, forked: ArrayLike = 0.0, other_moment: ArrayLike = 0.0,
    divisor: ArrayLike = DIVISOR_GROUND_LINE,
) -> LimitSums:
    """Judge one section of one or many trunks; everything broadcasts.

    Parameters
    ----------
    mor_green : bending strength of clear green wood [Pa]
    diameter : over bark at the section [m]
    tie_height, section_height : above the ground [m]
    pull : horizontal pull, not negative [N]
    bark_thickness : single bark thickness [m]
    wall : thinnest sound wood; infinite where sound to the heart [m]
    opening_deg : missing sector, in the worst direction [deg]
    forked : 1 forked below or near the tie, 0 not, NaN not looked [-]
    other_moment : lean or wind about the section [N m]
    divisor : of the 5 % value: 1.5, or 2.0 for high lines and aerial equipment [-]

    Returns
    -------
    In N m; refused with NaN where the wall is under 0.3 of the radius, the opening over 120 degrees, or an input is
    missing or impossible.
    """
    wood = wood_diameter(diameter, bark_thickness)
    outside = stem_outside(wood, wall, opening_deg, forked)
    no_wood = np.isnan(wood) & ~np.isnan(as_array(diameter)) & ~np.isnan(as_array(bark_thickness))
    outside = np.where(no_wood, outside & ~int(Outside.MISSING) | int(Outside.IMPOSSIBLE), outside)
    median, ln_sd = stem_capacity(mor_green, trunk_modulus(wood, wall, opening_deg), forked)
    demand = bending_demand(pull, tie_height, section_height, other_moment)
    return make_limit("stem", median, ln_sd, demand, divisor, outside)
