"""The tree's own weight: how heavy it is, where it acts, and what its lean adds to a pull."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from siteassess.mechanics.arrays import Array, as_array
from siteassess.reference.constants import constant
from siteassess.units import STANDARD_GRAVITY

GREEN_DENSITY = constant("tree density")
FORM_FACTOR = constant("stem form factor")
CROWN_SHARE = constant("crown mass share")
CENTRE_HEIGHT_SHARE = constant("centre of gravity share")

OWN_WEIGHT_ASSUMPTIONS = (GREEN_DENSITY, FORM_FACTOR, CROWN_SHARE, CENTRE_HEIGHT_SHARE)


def stem_volume(diameter: ArrayLike, height: ArrayLike, form_factor: ArrayLike = FORM_FACTOR.value) -> Array:
    """Stem volume: form factor times the cylinder of the same diameter and height [m^3].

    Parameters
    ----------
    diameter, height : diameter at reading height and height of the tree [m]
    form_factor : between cone (1/3) and cylinder (1) [-]

    Examples
    --------
    Black cherry of 8.3 in, 70 ft and 10.3 cubic feet (first of 31 felled trees, Ryan, Joiner and Ryan 1976, public data
    of the R language): a form factor of 0.392.

    >>> f"{10.3 * 0.3048**3 / stem_volume(8.3 * 0.0254, 70 * 0.3048, 1.0):.3f}"
    '0.392'
    """
    d, h, f = map(as_array, (diameter, height, form_factor))
    with np.errstate(invalid="ignore"):
        return np.where((d > 0) & (h > 0) & (f > 0), f * np.pi / 4.0 * d**2 * h, np.nan)


def tree_mass(diameter: ArrayLike, height: ArrayLike) -> Array:
    """Mass of stem and crown above the ground [kg].

    Parameters
    ----------
    diameter, height : as in `stem_volume` [m]
    """
    return as_array(stem_volume(diameter, height) * GREEN_DENSITY.value * (1.0 + CROWN_SHARE.value))


def lean_moment(
    mass: ArrayLike, centre_height: ArrayLike, lean_deg: ArrayLike, section_height: ArrayLike = 0.0
) -> Array:
    """Moment of the tree's own weight about a section because it leans [N m].

    Parameters
    ----------
    mass : of the tree above the section [kg]
    centre_height, section_height : centre of gravity and section, measured along the stem from the ground [m]
    lean_deg : from the vertical; positive towards the pull [deg]

    Examples
    --------
    1 t with its centre 6 m up the stem, leaning by 30 degrees, by hand 3 m x 9806.65 N:

    >>> round(float(lean_moment(1e3, 6.0, 30.0)), 2)
    29419.95
    """
    mass, centre, lean, section = map(as_array, (mass, centre_height, lean_deg, section_height))
    arm = np.maximum(centre - section, 0.0) * np.sin(np.deg2rad(lean))
    with np.errstate(invalid="ignore"):
        return np.where((mass >= 0) & (np.abs(lean) < 90.0), mass * STANDARD_GRAVITY * arm, np.nan)


def own_lean_moment(diameter: ArrayLike, height: ArrayLike, lean_deg: ArrayLike) -> Array:
    """Lean moment about the ground from diameter, height and lean alone [N m]; none for an upright tree.

    Parameters
    ----------
    diameter, height : where the height is a guess take it high here, though low for the root plate's capacity [m]
    lean_deg : from the vertical, positive towards the pull [deg]
    """
    lean = as_array(lean_deg)
    centre = CENTRE_HEIGHT_SHARE.value * as_array(height)
    return np.where(lean == 0.0, 0.0, lean_moment(tree_mass(diameter, height), centre, lean))
