"""Section modulus of a trunk: how well one cross-section resists bending along the pull.

All lengths in m of sound wood under the bark; the modulus comes in m^3. Anything impossible gives NaN.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from siteassess.mechanics.arrays import Array, as_array, broadcast


def _floats(*values: ArrayLike) -> list[Array]:
    return list(broadcast(*values))


def wood_diameter(diameter_over_bark: ArrayLike, bark_thickness: ArrayLike) -> Array:
    """Diameter of the wood under the bark [m]; NaN where no wood would be left.

    Parameters
    ----------
    diameter_over_bark, bark_thickness : array_like
        Diameter with bark and single bark thickness, not negative [m].

    Examples
    --------
    40 cm over 2 cm of bark on either side, by hand:

    >>> f"{wood_diameter(0.40, 0.02):.2f}"
    '0.36'
    """
    d, bark = _floats(diameter_over_bark, bark_thickness)
    wood = d - 2.0 * bark
    with np.errstate(invalid="ignore"):
        return np.where((bark >= 0.0) & (wood > 0.0), wood, np.nan)


def ellipse_modulus(diameter_along: ArrayLike, diameter_across: ArrayLike | None = None) -> Array:
    """Section modulus of a sound round or oval trunk bent along the pull [m^3].

    Parameters
    ----------
    diameter_along : array_like
        Diameter along the pull [m].
    diameter_across : array_like, optional
        Diameter across the pull; the same as along if not given [m].

    Examples
    --------
    pi d^3 / 32 of 40 cm, by hand 0.064 pi / 32:

    >>> f"{ellipse_modulus(0.40):.6f}"
    '0.006283'
    """
    along, across = _floats(diameter_along, diameter_along if diameter_across is None else diameter_across)
    with np.errstate(invalid="ignore"):
        return np.where((along > 0) & (across > 0), np.pi / 32.0 * across * along**2, np.nan)


def hollow_modulus(diameter_along: ArrayLike, wall: ArrayLike, diameter_across: ArrayLike | None = None) -> Array:
    """Section modulus with a concentric hollow that leaves an even wall [m^3].

    Parameters
    ----------
    diameter_along, diameter_across : array_like
        Outer diameters of the wood [m].
    wall : array_like
        Thickness of sound wood, positive; at or above the radius the trunk is solid [m].

    Examples
    --------
    A sound wall of 0.3 of the radius leaves 76 % (Huang et al. 2017, R. Soc. Open Sci. 4:160972, figure 6, read):

    >>> f"{hollow_modulus(1.0, 0.15) / ellipse_modulus(1.0):.2f}"
    '0.76'
    """
    along, across = _floats(diameter_along, diameter_along if diameter_across is None else diameter_across)
    wall = as_array(wall)
    with np.errstate(invalid="ignore"):
        hole_along = np.maximum(along - 2.0 * wall, 0.0)
        hole_across = np.maximum(across - 2.0 * wall, 0.0)
        removed = hole_across * hole_along**3 / along
        good = (along > 0) & (across > 0) & (wall > 0)
        return np.where(good, np.pi / 32.0 * (across * along**2 - removed), np.nan)


def offset_hole_modulus(diameter: ArrayLike, hole_diameter: ArrayLike, offset: ArrayLike) -> Array:
    """Section modulus of a round trunk with a round hole shifted along the pull, the worst direction [m^3].

    Parameters
    ----------
    diameter, hole_diameter, offset : array_like
        Wood, hole, and distance between their centres [m].

    Notes
    -----
    Parallel-axis theorem about the shifted neutral axis; the side with the thin wall is the farther one.

    Examples
    --------
    A table of decay rules (Arboriculture and Urban Forestry 2008, markup 6705, read) tells a loss of 28 %:

    >>> f"{1 - offset_hole_modulus(1.0, 0.45, 0.20) / ellipse_modulus(1.0):.2f}"
    '0.28'
    """
    D, d, e = _floats(diameter, hole_diameter, offset)
    e = np.abs(e)
    with np.errstate(invalid="ignore", divide="ignore"):
        good = (D > 0) & (d >= 0) & (d / 2.0 + e < D / 2.0)
        A_b, A_s = np.pi / 4.0 * D**2, np.pi / 4.0 * d**2
        I_b, I_s = np.pi / 64.0 * D**4, np.pi / 64.0 * d**4
        shift = A_s * e / (A_b - A_s)
        inertia = I_b - I_s - A_b * A_s * e**2 / (A_b - A_s)
        return np.where(good, inertia / (D / 2.0 + shift), np.nan)


def open_ring_modulus(
    diameter: ArrayLike,
    hole_diameter: ArrayLike,
    opening_deg: ArrayLike,
    opening_from_pull_deg: ArrayLike | None = None,
) -> Array:
    """Section modulus of a ring from which a sector is missing [m^3].

    Parameters
    ----------
    diameter, hole_diameter : array_like
        Wood and concentric hole; 0 for a slit into sound wood [m].
    opening_deg : array_like
        Angle of the missing sector, 0 up to below 360 [deg].
    opening_from_pull_deg : array_like, optional
        Direction of the opening's middle against the pull [deg]; the worst direction where not given.

    Notes
    -----
    Exact: area, centroid and second moments of the ring sector are integrated in closed form, and the
    greatest fibre stress is taken from unsymmetric bending, since an opening off the pull's axis turns the
    neutral axis.
    """
    D, d, opening = _floats(diameter, hole_diameter, opening_deg)
    if opening_from_pull_deg is None:
        return _open_ring_worst(D, d, np.deg2rad(opening))
    D, d, opening, direction = _floats(D, d, opening, opening_from_pull_deg)
    return _open_ring_towards(D, d, np.deg2rad(opening), np.deg2rad(direction))


def _open_ring_inertia(D: Array, d: Array, psi: Array) -> tuple[Array, Array, Array]:
    """Centroid and second moments in axes where the opening's middle lies along +u; NaN if impossible."""
    R, r = D / 2.0, d / 2.0
    with np.errstate(invalid="ignore", divide="ignore"):
        good = (R > 0) & (r >= 0) & (r < R) & (psi >= 0) & (psi < 2 * np.pi)
        kept = 2.0 * np.pi - psi
        area = (R**2 - r**2) / 2.0 * kept
        u_c = -(R**3 - r**3) / 3.0 * 2.0 * np.sin(psi / 2.0) / area
        quarter = (R**4 - r**4) / 4.0
        I_uu = quarter * (kept - np.sin(psi)) / 2.0 - area * u_c**2
        I_vv = quarter * (kept + np.sin(psi)) / 2.0
    return u_c, np.where(good, I_uu, np.nan), np.where(good, I_vv, np.nan)


def _open_ring_worst(D: Array, d: Array, psi: Array) -> Array:
    u_c, I_uu, I_vv = _open_ring_inertia(D, d, psi)
    R = D / 2.0
    worst = np.zeros(D.shape)
    with np.errstate(invalid="ignore", divide="ignore"):
        # Turned against one fibre, a moment stresses it by the length of (u/I_uu, v/I_vv); along the kept arc
        # that length peaks opposite the opening, at its lips, or where its slope in cos(angle) is nil.
        level = R * u_c / I_uu**2 / (R**2 / I_uu**2 - R**2 / I_vv**2)
        for cosine in (-1.0, np.cos(psi / 2.0), np.clip(np.nan_to_num(level), -1.0, np.cos(psi / 2.0))):
            u, v = R * cosine - u_c, R * np.sqrt(1.0 - np.square(cosine))
            worst = np.maximum(worst, np.hypot(u / I_uu, v / I_vv))
        return as_array(1.0 / worst)


def _open_ring_towards(D: Array, d: Array, psi: Array, beta: Array) -> Array:
    u_c, I_uu, I_vv = _open_ring_inertia(D, d, psi)
    R = D / 2.0
    with np.errstate(invalid="ignore", divide="ignore"):
        # A moment that bends along the pull splits into both principal axes; the stress is linear in (u, v).
        slope_u, slope_v = np.cos(beta) / I_uu, -np.sin(beta) / I_vv
        steepest = np.arctan2(slope_v, slope_u)
        worst = np.zeros(D.shape) + 0.0 * slope_u
        for angle in (steepest, steepest + np.pi, psi / 2.0, -psi / 2.0):
            turned = np.mod(angle, 2.0 * np.pi)
            on_wood = (turned >= psi / 2.0 - 1e-12) & (turned <= 2.0 * np.pi - psi / 2.0 + 1e-12)
            stress = slope_u * (R * np.cos(angle) - u_c) + slope_v * R * np.sin(angle)
            worst = np.where(on_wood, np.maximum(worst, np.abs(stress)), worst)
        return as_array(1.0 / worst)


def trunk_modulus(
    diameter_along: ArrayLike,
    wall: ArrayLike = np.inf,
    diameter_across: ArrayLike | None = None,
    hole_offset: ArrayLike = 0.0,
    opening_deg: ArrayLike = 0.0,
    opening_from_pull_deg: ArrayLike | None = None,
) -> Array:
    """Section modulus of a trunk as it was looked at: round or oval, sound or hollow, closed or open [m^3].

    Parameters
    ----------
    diameter_along, diameter_across : array_like
        Wood diameters along and across the pull [m].
    wall : array_like
        Thinnest sound wall; infinite for a trunk sound to the heart [m].
    hole_offset : array_like
        Distance of the hole's centre from the trunk's, taken along the pull [m].
    opening_deg, opening_from_pull_deg : array_like
        Missing sector and its direction against the pull; worst direction where not given [deg].

    Notes
    -----
    An oval trunk with an off-centre hole or an opening is taken as round with its smaller diameter, which
    never overrates it. Hole offset and opening together multiply their losses.
    """
    given = diameter_along if diameter_across is None else diameter_across
    along, across, wall, offset, opening = _floats(diameter_along, given, wall, hole_offset, opening_deg)
    base = hollow_modulus(along, wall, across)
    special = (offset != 0.0) | (opening != 0.0) | np.isnan(offset) | np.isnan(opening)
    if not np.any(special):
        return base
    with np.errstate(invalid="ignore", divide="ignore"):
        D = np.minimum(along, across)
        solid = ellipse_modulus(D)
        centred_hole = np.maximum(D - 2.0 * wall, 0.0)
        # The thin wall was measured, so a shifted hole is smaller: its far wall is thicker by twice the shift.
        hole = np.maximum(centred_hole - 2.0 * np.abs(offset), 0.0)
        offset_loss = offset_hole_modulus(D, hole, np.where(hole > 0.0, offset, 0.0)) / solid
        hole_in_ring = np.where(opening > 0.0, centred_hole, hole)
        opened = open_ring_modulus(D, hole_in_ring, opening, opening_from_pull_deg)
        closed = open_ring_modulus(D, hole_in_ring, 0.0, 0.0)
        modulus = solid * offset_loss * opened / closed
        return np.where(special, np.where(wall > 0.0, modulus, np.nan) + 0.0 * offset, base)
