"""Protection radius of a tree's roots by the standard a manager names, and what stands on it.

References
----------
[1] BS 5837:2012, 4.6 and annex D: 12 times the stem diameter at 1.5 m, at most 15 m; two to five stems by the root
    of the sum of squares (read second hand); more by the mean (memory).
[2] AS 4970-2009, 3.2 and 3.3.5: 12 times the diameter at 1.4 m from the stem's centre; structural root zone
    0.64 (50 D)^0.42 with D above the root crown, 1.5 m below 0.15 m (read); limits 2 m and 15 m (memory).
[3] DIN 18920: crown edge plus 1.5 m, plus 5 m for columnar trees (read in summaries).
[4] Critical root radius in feet per inch of diameter: 1.0 Vancouver WA 20.170.100, 1.25 North Carolina State
    Extension, 1.5 City of Edina MN (read).
"""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import ArrayLike

from siteassess.errors import OutsideModel
from siteassess.mechanics.arrays import Array, as_array, broadcast
from siteassess.reference.constants import constant

STANDARDS = ("BS 5837", "AS 4970", "DIN 18920", "critical root radius")
MOST_RADIUS = constant("most root zone")
LEAST_RADIUS_AS4970 = constant("least root zone")
SRZ_FLOOR_DIAMETER = constant("thin structural root zone")
SRZ_FLOOR = constant("least structural root zone")


def equivalent_diameter(stems: ArrayLike) -> float:
    """One diameter that stands for a tree of several stems, by BS 5837 [1]_.

    Parameters
    ----------
    stems : diameters of the stems at 1.5 m, shape (n,) [m]

    Returns
    -------
    Root of the sum of squares for up to five stems, of n times the squared mean beyond [m].

    Raises
    ------
    OutsideModel : if there is no stem, or one that is not positive

    Examples
    --------
    30 and 40 cm, by hand:

    >>> round(equivalent_diameter([0.30, 0.40]), 6)
    0.5
    """
    d = np.atleast_1d(as_array(stems))
    if d.size == 0 or not np.all(d > 0.0):
        raise OutsideModel("the diameter of each stem must be known and positive", "stem-diameter-unknown")
    if d.size <= 5:
        return float(np.sqrt(np.sum(d**2)))
    return float(np.mean(d) * math.sqrt(d.size))


def bs5837_radius(diameter: ArrayLike) -> Array:
    """Root protection radius by BS 5837: 12 d, at most 15 m [m] [1]_.

    Parameters
    ----------
    diameter : stem diameter at 1.5 m, or the equivalent one of several stems [m]

    Examples
    --------
    12 x 0.5 m, and the most of 15 m for 1.5 m [1]_, by hand:

    >>> bs5837_radius([0.5, 1.5]).tolist()
    [6.0, 15.0]
    """
    return as_array(np.minimum(12.0 * as_array(diameter), MOST_RADIUS))


def as4970_protection_radius(diameter: ArrayLike) -> Array:
    """Tree protection zone by AS 4970: 12 d between 2 m and 15 m [m] [2]_.

    Parameters
    ----------
    diameter : stem diameter at 1.4 m [m]
    """
    return as_array(np.clip(12.0 * as_array(diameter), LEAST_RADIUS_AS4970, MOST_RADIUS))


def as4970_structural_radius(diameter: ArrayLike) -> Array:
    """Structural root zone by AS 4970: the roots that keep the tree upright [m] [2]_.

    Parameters
    ----------
    diameter : stem diameter just above the root crown [m]

    Notes
    -----
    The clause gives 1.5 m below 0.15 m; the formula there gives 1.492 m, a small step of the standard's own.

    Examples
    --------
    1.5 m for the thinnest (AS 4970-2009, 3.3.5, read), and the step, by hand:

    >>> [round(float(radius), 3) for radius in as4970_structural_radius([0.1, 0.15])]
    [1.5, 1.492]
    """
    d = as_array(diameter)
    return np.where(d < SRZ_FLOOR_DIAMETER, SRZ_FLOOR, 0.64 * (50.0 * d) ** 0.42)


def din18920_radius(crown_radius: ArrayLike) -> Array:
    """Root area by DIN 18920: crown edge plus 1.5 m [m] [3]_; columnar trees, which take 5 m, are not told apart.

    Parameters
    ----------
    crown_radius : distance from the stem to the crown's edge; the widest for one radius all round [m]
    """
    return as_array(as_array(crown_radius) + 1.5)


def critical_root_radius(diameter: ArrayLike, feet_per_inch: ArrayLike = 1.5) -> Array:
    """Critical root radius by feet for each inch of diameter: the diameter times 12 times the factor [m] [4]_.

    Parameters
    ----------
    diameter : trunk diameter at 4.5 ft [m]
    feet_per_inch : 1.0, 1.25 or 1.5 by community; the widest unless named [ft/in]

    Examples
    --------
    A community's own example, 10 in give 15 ft [4]_ (read):

    >>> f"{critical_root_radius(10 * 0.0254, 1.5) / 0.3048:.1f}"
    '15.0'
    """
    return as_array(12.0 * as_array(feet_per_inch) * as_array(diameter))


def protection_radius(
    standard: str, diameter: ArrayLike, crown_radius: ArrayLike | None = None, feet_per_inch: ArrayLike = 1.5
) -> Array:
    """Protection radius by the standard a manager names [m].

    Parameters
    ----------
    standard : {'BS 5837', 'AS 4970', 'DIN 18920', 'critical root radius'}
        The standard.
    diameter : stem diameter at the standard's own height [m]
    crown_radius : for DIN 18920 only [m]
    feet_per_inch : for the critical root radius only [ft/in]

    Raises
    ------
    OutsideModel : on a standard not listed, or DIN 18920 without a crown
    """
    if standard == "BS 5837":
        return bs5837_radius(diameter)
    if standard == "AS 4970":
        return as4970_protection_radius(diameter)
    if standard == "critical root radius":
        return critical_root_radius(diameter, feet_per_inch)
    if standard == "DIN 18920":
        if crown_radius is None:
            raise OutsideModel("DIN 18920 counts from the crown's edge: measure the crown", "crown-edge-needed")
        return din18920_radius(crown_radius)
    raise OutsideModel(f"root zone standard {standard!r}: wanted one of {', '.join(STANDARDS)}",
                       "no-such-root-zone-standard", standard=standard, standards=STANDARDS)


def circles_overlap(radius_a: ArrayLike, radius_b: ArrayLike, distance: ArrayLike) -> Array:
    """Area that two circles share [m2].

    Parameters
    ----------
    radius_a, radius_b : radii: of two root zones, or of one and a place where people stand [m]
    distance : between the centres [m]

    Notes
    -----
    Plane geometry of two circular segments (derived).

    Examples
    --------
    Two unit circles 0.8079455 apart share half of either, and one apart 1.22837 (Weisstein's constant, in the tests
    of public programs; reference page of Venn-Diagram-Lab, read); two that touch nothing, by hand:

    >>> circles_overlap(1.0, 1.0, [0.8079455, 1.0, 2.0]).round(5).tolist()
    [1.5708, 1.22837, 0.0]
    """
    a, b, d = broadcast(radius_a, radius_b, distance)
    smaller = np.minimum(a, b)
    with np.errstate(divide="ignore", invalid="ignore"):
        cos_a = np.clip((d**2 + a**2 - b**2) / (2.0 * d * a), -1.0, 1.0)
        cos_b = np.clip((d**2 + b**2 - a**2) / (2.0 * d * b), -1.0, 1.0)
        kite = np.sqrt(np.maximum((-d + a + b) * (d + a - b) * (d - a + b) * (d + a + b), 0.0)) / 2.0
        lens = a**2 * np.arccos(cos_a) + b**2 * np.arccos(cos_b) - kite
    inside = d <= np.abs(a - b)
    unknown = np.isnan(a) | np.isnan(b) | np.isnan(d)
    shared = np.where(d >= a + b, 0.0, np.where(inside, math.pi * smaller**2, lens))
    return np.where(unknown, np.nan, shared)


def band_overlap(radius: ArrayLike, start: ArrayLike, end: ArrayLike, half_width: ArrayLike) -> Array:
    """Area of a root zone under a straight band that runs out from the trunk, such as the ground below a line [m2].

    Parameters
    ----------
    radius : protection radius [m]
    start, end : distances from the trunk's centre at which the band begins and ends, start not under 0 [m]
    half_width : half the width people take up [m]

    Examples
    --------
    A tank of 0.725 m radius filled to within 0.2 m of the top lacks 0.1375 m2 (hackmath.net, problem 3613, read). Half
    of a band as wide as from there to the other side leaves two halves of that:

    >>> f"{np.pi / 2 * 0.725**2 - band_overlap(0.725, 0.0, 1.0, 0.525):.4f}"
    '0.1375'
    """
    r, near, far, half = broadcast(radius, start, end, half_width)
    reach = np.minimum(half, r)
    # rounding may leave a trace below zero where the band is wider than the zone
    corner = np.sqrt(np.maximum(r**2 - reach**2, 0.0))  # up to here its own sides cut the band, beyond the circle

    def area_up_to(x: Array) -> Array:
        x = np.clip(x, 0.0, r)
        flat = np.minimum(x, corner)
        beyond = np.where(x > corner, _under_arc(r, x) - _under_arc(r, flat), 0.0)
        return as_array(2.0 * (reach * flat + beyond))

    return as_array(area_up_to(far) - area_up_to(near))


def _under_arc(radius: Array, x: Array) -> Array:
    """Area between a circle and its diameter from the centre to x."""
    ratio = np.clip(x / np.where(radius > 0.0, radius, 1.0), -1.0, 1.0)
    return (radius**2 * np.arcsin(ratio) + x * np.sqrt(np.maximum(radius**2 - x**2, 0.0))) / 2.0
