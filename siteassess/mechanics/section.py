"""Section modulus of a trunk: how well one cross-section resists bending along the pull.

All lengths in m of sound wood under the bark; the modulus comes in m^3. Anything impossible gives NaN.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from siteassess.mechanics.arrays import Array, as_array, broadcast


def wood_diameter(diameter_over_bark: ArrayLike, bark_thickness: ArrayLike) -> Array:
    """Diameter of the wood under the bark [m]; NaN where no wood would be left.

    Parameters
    ----------
    diameter_over_bark, bark_thickness : diameter with bark and single bark thickness, not negative [m]

    Examples
    --------
    40 cm over 2 cm of bark on either side, by hand:

    >>> f"{wood_diameter(0.40, 0.02):.2f}"
    '0.36'
    """
    d, bark = broadcast(diameter_over_bark, bark_thickness)
    wood = d - 2.0 * bark
    with np.errstate(invalid="ignore"):
        return np.where((bark >= 0.0) & (wood > 0.0), wood, np.nan)


def solid_modulus(diameter: ArrayLike) -> Array:
    """Section modulus of a sound round trunk [m^3].

    Parameters
    ----------
    diameter : of the wood [m]

    Examples
    --------
    0.0982 of the diameter cubed (any table of sections):

    >>> f"{solid_modulus(1.0):.4f}"
    '0.0982'
    """
    d = as_array(diameter)
    with np.errstate(invalid="ignore"):
        return np.where(d > 0, np.pi / 32.0 * d**3, np.nan)


def hollow_modulus(diameter: ArrayLike, wall: ArrayLike) -> Array:
    """Section modulus with a concentric hollow that leaves an even wall [m^3].

    Parameters
    ----------
    diameter : outer diameter of the wood [m]
    wall : thickness of sound wood, positive; at or above the radius the trunk is solid [m]

    Examples
    --------
    A sound wall of 0.3 of the radius leaves 76 % (Huang et al. 2017, R. Soc. Open Sci. 4:160972, figure 6, read):

    >>> f"{hollow_modulus(1.0, 0.15) / solid_modulus(1.0):.2f}"
    '0.76'
    """
    d, wall = broadcast(diameter, wall)
    with np.errstate(invalid="ignore"):
        hole = np.maximum(d - 2.0 * wall, 0.0)
        return np.where((d > 0) & (wall > 0), np.pi / 32.0 * (d**3 - hole**4 / d), np.nan)


def open_ring_modulus(diameter: ArrayLike, hole_diameter: ArrayLike, opening_deg: ArrayLike) -> Array:
    """Section modulus of a ring from which a sector is missing, pulled in the direction worst for it [m^3].

    Parameters
    ----------
    diameter, hole_diameter : wood and concentric hole; 0 for a slit into sound wood [m]
    opening_deg : angle of the missing sector, 0 up to below 360 [deg]

    Notes
    -----
    Exact: area, centroid and second moments of the ring sector are integrated in closed form, and the
    greatest fibre stress is taken from unsymmetric bending, since an opening off the pull's axis turns the
    neutral axis.

    Examples
    --------
    Half a disc bent across its flat side, 0.1908 of the radius cubed (any table of sections; 0.1907 unrounded):

    >>> f"{open_ring_modulus(2.0, 0.0, 180.0):.3f}"
    '0.191'
    """
    D, d, opening = broadcast(diameter, hole_diameter, opening_deg)
    R, r, psi = D / 2.0, d / 2.0, np.deg2rad(opening)
    with np.errstate(invalid="ignore", divide="ignore"):
        good = (R > 0) & (r >= 0) & (r < R) & (psi >= 0) & (psi < 2 * np.pi)
        kept = 2.0 * np.pi - psi
        area = (R**2 - r**2) / 2.0 * kept
        # centroid and second moments in axes where the opening's middle lies along +u
        u_c = -(R**3 - r**3) / 3.0 * 2.0 * np.sin(psi / 2.0) / area
        quarter = (R**4 - r**4) / 4.0
        I_uu = quarter * (kept - np.sin(psi)) / 2.0 - area * u_c**2
        I_vv = quarter * (kept + np.sin(psi)) / 2.0
        # Turned against one fibre, a moment stresses it by the length of (u/I_uu, v/I_vv); along the kept arc
        # that length peaks opposite the opening, at its lips, or where its slope in cos(angle) is nil.
        level = R * u_c / I_uu**2 / (R**2 / I_uu**2 - R**2 / I_vv**2)
        worst = np.zeros(D.shape)
        for cosine in (-1.0, np.cos(psi / 2.0), np.clip(np.nan_to_num(level), -1.0, np.cos(psi / 2.0))):
            u, v = R * cosine - u_c, R * np.sqrt(1.0 - np.square(cosine))
            worst = np.maximum(worst, np.hypot(u / I_uu, v / I_vv))
        return np.where(good, 1.0 / worst, np.nan)


def trunk_modulus(diameter: ArrayLike, wall: ArrayLike, opening_deg: ArrayLike = 0.0) -> Array:
    """Section modulus of a trunk as it was looked at: sound or hollow, closed or open [m^3].

    Parameters
    ----------
    diameter : of the wood [m]
    wall : thinnest sound wall, taken as thin all round; infinite for a trunk sound to the heart [m]
    opening_deg : missing sector, in the direction worst for the pull [deg]

    Examples
    --------
    A steel pipe of 6.625 in with a wall of 0.280 in: 8.496 cubic inches (Mott, Machine Elements in Mechanical Design,
    4th ed., table A16-6, read).

    >>> f"{trunk_modulus(6.625, 0.280):.3f}"
    '8.496'
    """
    d, wall, opening = broadcast(diameter, wall, opening_deg)
    with np.errstate(invalid="ignore"):
        opened = open_ring_modulus(d, np.maximum(d - 2.0 * wall, 0.0), opening)
        return np.where(opening == 0.0, hollow_modulus(d, wall), np.where(wall > 0.0, opened, np.nan))
