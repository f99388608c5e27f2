"""What pads, slats and rough bark do to the pressure of a sling.

A pad spreads the load along the stem by its thickness only, and soft foam that bottoms out not at all: its work is
against rub and ridge peaks. Slats carry the whole turn of the sling on a few narrow strips: they spare the ring of
bark between them and press harder where they stand, and each bears only near the sling.

References
----------
[1] Statics of a taut strand turning over N supports (derived here).
[2] Load-spread angles of pads and slats, contact shares of rough bark: assumptions of ours, not measured on bark
    (judgement); rows of the tables `pads` and `bark_forms`.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from siteassess.errors import OutsideModel
from siteassess.mechanics.arrays import Array, Flags, as_array, positive
from siteassess.reference.constants import constant

BOND_SHARE = constant("bond share")


def padded_width(width: ArrayLike, pad_width: ArrayLike, thickness: ArrayLike, spread_deg: ArrayLike) -> Array:
    """Width over which a pad hands the pressure on to the bark.

    Parameters
    ----------
    width : bearing width of the strand or strands [m]
    pad_width : width of the pad along the stem [m]
    thickness : thickness of the pad as pressed [m]
    spread_deg : angle at which the pad spreads load [deg]: 45 stiff, 27 medium, 0 for soft foam, which bottoms out

    Returns
    -------
    min(pad width, w + 2 t tan a), and never under w [m].

    Notes
    -----
    A load-spread assumption of foundations, not measured on bark (judgement).

    Examples
    --------
    5 cm on 2 cm of a pad that spreads by 45 degrees, by hand:

    >>> f"{padded_width(0.05, 0.20, 0.02, 45.0):.2f}"
    '0.09'
    """
    w = positive("bearing width", width)
    spread = w + 2.0 * as_array(thickness) * np.tan(np.radians(spread_deg))
    return as_array(np.maximum(w, np.minimum(as_array(pad_width), spread)))


def slat_bearing_length(length: ArrayLike, sling_width: ArrayLike, thickness: ArrayLike) -> Array:
    """Length of a slat along the stem that really bears: min(its length, w + 4 t) [m] (judgement).

    Parameters
    ----------
    length : of the slat along the stem [m]
    sling_width : bearing width of all the strands together [m]
    thickness : of the slat [m]
    """
    return as_array(np.minimum(as_array(length), as_array(sling_width) + 4.0 * as_array(thickness)))


def rub_shear_use(
    pressure: ArrayLike, friction: ArrayLike, bond_strength: ArrayLike, share: ArrayLike = BOND_SHARE
) -> Array:
    """Share of the bark's bond to the wood that a sling uses when it drags along the trunk.

    Parameters
    ----------
    pressure : pressure under the sling [Pa]
    friction : friction coefficient between sling or pad and bark [-]
    bond_strength : shear strength of the bond [Pa]; across the grain about the longitudinal one over 1.5 (read, oak)
    share : of the bond strength that is allowed (judgement) [-]

    Returns
    -------
    mu p over that share of the bond strength; above 1 the bark may be sheared off where the sling drags.

    Examples
    --------
    Spruce in growth, 0.26 MPa along the grain (Vilkovsky et al. 2022, abstract, read) over 1.5 across it, half
    of it, bears 0.29 MPa at 0.3, by hand:

    >>> f"{rub_shear_use(0.289e6, 0.3, 0.26e6 / 1.5):.2f}"
    '1.00'
    """
    allowed = positive("bond strength", bond_strength) * as_array(share)
    return as_array(as_array(friction) * as_array(pressure) / allowed)


@dataclass(frozen=True)
class Slats:
    """Slats under a sling: force on each [N], pressure [Pa], covered share of the contact, and whether the sling
    stays off the bark between them."""

    force_n: Array
    pressure_pa: Array
    covered_share: Array
    sling_clear: Flags


def slats(
    tension: ArrayLike, contact: ArrayLike, diameter: ArrayLike, count: ArrayLike, slat_width: ArrayLike,
    slat_length: ArrayLike, slat_thickness: ArrayLike, sling_width: ArrayLike,
) -> Slats:
    """Pressure under upright slats or sticks spaced evenly round the contact.

    Parameters
    ----------
    tension : tension of all the strands together on one side [N]
    contact : angle of contact [rad]
    diameter : diameter of the trunk [m]
    count : number of slats [-]
    slat_width, slat_length, slat_thickness : width round the trunk, length along it, thickness [m]. For a round stick
        its diameter stands for width and thickness, which flatters it: a stick touches on a line.
    sling_width : bearing width of all the strands together [m]

    Returns
    -------
    Force 2 T sin(theta / (2 N)) on a slat; pressure over slat width times the bearing length.

    Raises
    ------
    OutsideModel : if the slats would overlap

    Examples
    --------
    Two of them under half a turn at 1 kN each turn the strand by 90 degrees: 2 T sin 45 degrees, by hand.

    >>> f"{slats(1e3, np.pi, 0.40, 2, 0.04, 0.40, 0.02, 0.05).force_n:.1f}"
    '1414.2'
    """
    n = positive("number of slats", count)
    b = positive("slat width", slat_width)
    radius = positive("trunk diameter", diameter) / 2.0
    theta = as_array(contact)
    share = n * b / (theta * radius)
    if np.any(share > 1.0 + 1e-9):
        raise OutsideModel("the slats overlap: fewer or narrower ones", "slats-overlap")
    force = 2.0 * as_array(tension) * np.sin(theta / (2.0 * n))
    bearing = slat_bearing_length(slat_length, sling_width, slat_thickness)
    clear = (radius + as_array(slat_thickness)) * np.cos(theta / (2.0 * n)) >= radius
    return Slats(as_array(force), as_array(force / (b * bearing)), as_array(share), np.asarray(clear))


def ridge_pressure(pressure: ArrayLike, contact_share: ArrayLike) -> Array:
    """Pressure on the ridges of rough bark, which carry it all [Pa]; share 1 on smooth bark (judgement).

    Parameters
    ----------
    pressure : mean pressure under the sling [Pa]
    contact_share : share of the bark that touches, above 0 [-]

    Raises
    ------
    OutsideModel : if the share is not positive
    """
    return as_array(as_array(pressure) / positive("contact share", contact_share))


def slats_for(
    tension: float, contact: float, diameter: float, target: float, slat_width: float, slat_length: float,
    slat_thickness: float, sling_width: float,
) -> int | None:
    """Fewest slats that bring the pressure to a target and keep the sling off the bark between them.

    Parameters
    ----------
    tension, contact, diameter, slat_width, slat_length, slat_thickness, sling_width : as for `slats`
    target : pressure wanted under each slat [Pa]

    Returns
    -------
    int or None
        None where so many would overlap: wider or longer slats, or another remedy.
    """
    counts = np.arange(2, int(contact * (diameter / 2.0) / slat_width) + 1)
    if not counts.size:
        return None
    tried = slats(tension, contact, diameter, counts, slat_width, slat_length, slat_thickness, sling_width)
    enough = (tried.pressure_pa <= target) & tried.sling_clear
    return int(counts[np.argmax(enough)]) if enough.any() else None
