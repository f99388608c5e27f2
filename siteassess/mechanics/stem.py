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

STEM_ASSUMPTIONS = (
    WHOLE_STEM_FACTOR, FORK_FACTOR, STEM_LN_SD, FORKED_LN_SD, LEAST_WALL_SHARE, WIDEST_OPENING_DEG,
)  # fmt: skip


def stem_outside(
    wood: ArrayLike, wall: ArrayLike, opening_deg: ArrayLike, forked: ArrayLike, hole_offset: ArrayLike = 0.0
) -> NDArray[np.int64]:
    """Why bending theory cannot judge a section: flags of `Outside`.

    Parameters
    ----------
    wood : array_like
        Wood diameter; the smaller one of an oval trunk [m].
    wall, hole_offset : array_like
        Thinnest sound wall, infinite where sound to the heart; shift of the hole's centre [m].
    opening_deg : array_like
        Missing sector [deg].
    forked : array_like
        1 forked, 0 not, NaN not looked [-].
    """
    wood, wall, opening, forked, offset = broadcast(wood, wall, opening_deg, forked, hole_offset)
    missing = np.isnan(wood) | np.isnan(wall) | np.isnan(opening) | np.isnan(forked) | np.isnan(offset)
    with np.errstate(invalid="ignore"):
        impossible = (wood <= 0) | (wall < 0) | (opening < 0) | (opening >= 360) | (np.abs(offset) >= wood / 2)
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
    mor_green : array_like
        Bending strength (modulus of rupture) of clear green wood [Pa].
    modulus : array_like
        Section modulus of the wood [m^3].
    forked : array_like
        1 where the trunk forks below or near the tie, 0 where not, NaN where not looked [-].

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
    pull : array_like
        Horizontal pull, not negative [N].
    tie_height, section_height : array_like
        Above the ground [m]; a section above the tie feels no moment from the line.
    other_moment : array_like
        Moment of the tree's own lean or of wind about the section; a negative one is not credited [N m].

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


def combined_bending(
    pulls: ArrayLike, bearings_deg: ArrayLike, tie_heights: ArrayLike, section_height: ArrayLike = 0.0
) -> Array:
    """Bending moment of several lines about one section, added as vectors [N m].

    Parameters
    ----------
    pulls, bearings_deg, tie_heights : array_like
        One entry per line on the last axis [N], [deg true], [m].
    section_height : array_like
        Of the section [m]; lines tied below it do not bend it.

    Notes
    -----
    Lines tied at different heights may cancel at the root plate and still bend the trunk between them, so
    the single pull of `rootplate.combined_pull` does not stand in for them here. Give the answer to
    `stem_limit` as `other_moment` with no pull, and judge each line alone too.

    Examples
    --------
    3 and 4 kN at right angles, both at 1 m, by hand:

    >>> round(float(combined_bending([3e3, 4e3], [0.0, 90.0], [1.0, 1.0])), 6)
    5000.0
    """
    bearing = np.deg2rad(as_array(bearings_deg))
    each = bending_demand(pulls, tie_heights, as_array(section_height)[..., None])
    return as_array(np.hypot(np.sum(each * np.sin(bearing), axis=-1), np.sum(each * np.cos(bearing), axis=-1)))


def stem_limit(
    mor_green: ArrayLike,
    diameter: ArrayLike,
    tie_height: ArrayLike,
    pull: ArrayLike,
    *,
    section_height: ArrayLike = 0.0,
    bark_thickness: ArrayLike = 0.0,
    diameter_across: ArrayLike | None = None,
    wall: ArrayLike = np.inf,
    hole_offset: ArrayLike = 0.0,
    opening_deg: ArrayLike = 0.0,
    opening_from_pull_deg: ArrayLike | None = None,
    forked: ArrayLike = 0.0,
    other_moment: ArrayLike = 0.0,
    divisor: ArrayLike = DIVISOR_GROUND_LINE,
) -> LimitSums:
    """Judge one section of one or many trunks; everything broadcasts.

    Parameters
    ----------
    mor_green : array_like
        Bending strength of clear green wood [Pa].
    diameter, diameter_across : array_like
        Diameter over bark along the pull and across it (same if not given) at the section [m].
    tie_height, section_height : array_like
        Above the ground [m].
    pull : array_like
        Horizontal pull, not negative [N].
    bark_thickness : array_like
        Single bark thickness [m].
    wall : array_like
        Thinnest sound wood; infinite where sound to the heart [m].
    hole_offset : array_like
        Shift of the hollow's centre [m].
    opening_deg, opening_from_pull_deg : array_like
        Missing sector; its direction against the pull, the worst one where not given [deg].
    forked : array_like
        1 forked below or near the tie, 0 not, NaN not looked [-].
    other_moment : array_like
        Lean or wind about the section [N m].
    divisor : array_like
        Of the 5 % value: 1.5, or 2.0 for high lines and aerial equipment [-].

    Returns
    -------
    Limit
        In N m; refused with NaN where the wall is under 0.3 of the radius, the opening over 120 degrees, or
        an input is missing or impossible.

    Notes
    -----
    Bending only. For short thick hollow trunks see also `shear_stress`.
    """
    along = wood_diameter(diameter, bark_thickness)
    across = along if diameter_across is None else wood_diameter(diameter_across, bark_thickness)
    smaller = np.minimum(along, across)
    outside = stem_outside(smaller, wall, opening_deg, forked, hole_offset)
    measured = ~(np.isnan(as_array(diameter)) | np.isnan(as_array(bark_thickness)))
    if diameter_across is not None:
        measured = measured & ~np.isnan(as_array(diameter_across))
    no_wood = measured & np.isnan(smaller)
    outside = np.where(no_wood, outside & ~int(Outside.MISSING) | int(Outside.IMPOSSIBLE), outside)
    modulus = trunk_modulus(along, wall, across, hole_offset, opening_deg, opening_from_pull_deg)
    median, ln_sd = stem_capacity(mor_green, modulus, forked)
    demand = bending_demand(pull, tie_height, section_height, other_moment)
    return make_limit("stem", median, ln_sd, demand, divisor, outside)


def greatest_pull_on_stem(
    allowable: ArrayLike, tie_height: ArrayLike, section_height: ArrayLike = 0.0, other_moment: ArrayLike = 0.0
) -> Array:
    """Greatest horizontal pull the section allows at a tie height [N]; infinite for a section above the tie.

    Parameters
    ----------
    allowable : array_like
        Allowable moment of the section [N m].
    tie_height, section_height : array_like
        Above the ground [m].
    other_moment : array_like
        Lean or wind about the section, taken off first [N m].

    Examples
    --------
    7.5 kN m about a section half a metre up, tied at 2 m, by hand:

    >>> float(greatest_pull_on_stem(7.5e3, 2.0, 0.5))
    5000.0
    """
    room = np.maximum(as_array(allowable) - np.maximum(other_moment, 0.0), 0.0)
    arm = np.maximum(as_array(tie_height) - as_array(section_height), 0.0)
    with np.errstate(divide="ignore", invalid="ignore"):
        return np.where(arm > 0.0, room / arm, np.inf + 0.0 * (room + arm))


def shear_stress(pull: ArrayLike, wood: ArrayLike, wall: ArrayLike = np.inf) -> Array:
    """Greatest shear stress of a round trunk, sound or with an even hollow [Pa].

    Parameters
    ----------
    pull : array_like
        Horizontal, not negative [N].
    wood : array_like
        Diameter of the wood [m].
    wall : array_like
        Thickness of sound wood; infinite where sound to the heart [m].

    Notes
    -----
    4 F / (3 A) for a solid circle; the ring's neutral axis carries up to 2 F / A. It matters only for short
    and hollow trunks (Huang et al. 2017, read).

    Examples
    --------
    4 F / (3 A) with a trunk of 0.12566 m^2, by hand:

    >>> f"{shear_stress(12_566.37, 0.40):.0f}"
    '133333'
    """
    pull, D, wall = broadcast(pull, wood, wall)
    with np.errstate(invalid="ignore", divide="ignore"):
        R = D / 2.0
        r = np.maximum(R - wall, 0.0)
        stress = 4.0 / 3.0 * pull / (np.pi * (R**2 - r**2)) * (R**2 + R * r + r**2) / (R**2 + r**2)
        return np.where((R > 0) & (wall > 0) & (pull >= 0), stress, np.nan)


def deflection_at_tie(
    pull: ArrayLike, tie_height: ArrayLike, moe_green: ArrayLike, diameter_base: ArrayLike, diameter_tie: ArrayLike
) -> Array:
    """How far a sound round trunk of even taper bends at the tie, base held still [m].

    Parameters
    ----------
    pull : array_like
        Horizontal pull at the tie [N].
    tie_height : array_like
        Above the base [m].
    moe_green : array_like
        Modulus of elasticity of green wood along the grain [Pa].
    diameter_base, diameter_tie : array_like
        Wood diameters at the base and at the tie [m].

    Notes
    -----
    Closed form for an end load on a straight-tapered circular cantilever: F a^3 / (3 E I_base) times
    d_base / d_tie. A base that moves more than this is tilting, not bending.

    Examples
    --------
    F a^3 / (3 E I) of a pole without taper, by hand with I = pi d^4 / 64 = 1.2566e-3 m^4:

    >>> f"{deflection_at_tie(1e3, 2.0, 8e9, 0.40, 0.40):.6f}"
    '0.000265'
    """
    F, a, E, D, d = map(as_array, (pull, tie_height, moe_green, diameter_base, diameter_tie))
    with np.errstate(invalid="ignore", divide="ignore"):
        value = F * a**3 / (3.0 * E * np.pi / 64.0 * D**4) * D / d
        return np.where((E > 0) & (D > 0) & (d > 0) & (a >= 0), value, np.nan)
