"""Published rules for decayed trunks, shown beside the section-modulus answer.

Each rule tells the strength a hollow costs. They disagree; the disagreement is told, and the section
modulus, which knows the opening, is what the limit uses.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from siteassess.mechanics.arrays import Array, as_array, broadcast
from siteassess.mechanics.section import solid_modulus, trunk_modulus
from siteassess.mechanics.stem import LEAST_WALL_SHARE
from siteassess.reference.constants import constant

WAGENER_LIMIT = constant("wagener limit")
CODER_HAZARD = constant("coder hazard")
SMILEY_FRAEDRICH_LIMIT = constant("smiley fraedrich limit")


def hole_loss(hole_diameter: ArrayLike, diameter: ArrayLike, power: int) -> Array:
    """Strength lost by a power of hole over trunk diameter [-]: the cube by Wagener 1963, the fourth by Coder 1989.

    Parameters
    ----------
    hole_diameter, diameter : of the hole and of the trunk's wood [m]
    power : 3 or 4

    Examples
    --------
    Section A of a table of decay rules (Arboriculture and Urban Forestry 2008, markup 6705, read): 22 % and 13 %.

    >>> [round(float(hole_loss(0.6, 1.0, power)), 2) for power in (3, 4)]
    [0.22, 0.13]
    """
    d, D = as_array(hole_diameter), as_array(diameter)
    with np.errstate(invalid="ignore", divide="ignore"):
        return as_array(np.where((D > 0) & (d >= 0) & (d < D), d / D, np.nan) ** power)


def smiley_fraedrich_1992_loss(hole_diameter: ArrayLike, diameter: ArrayLike, opening_share: ArrayLike = 0.0) -> Array:
    """Strength lost with an opening [-].

    Parameters
    ----------
    hole_diameter, diameter : [m]
    opening_share : width of the opening over the girth, 0 to 1 [-]

    Examples
    --------
    Section A, closed, of a table of decay rules (Arboriculture and Urban Forestry 2008, markup 6705, read): 22 %.

    >>> f"{smiley_fraedrich_1992_loss(0.6, 1.0):.2f}"
    '0.22'
    """
    cube = hole_loss(hole_diameter, diameter, 3)
    share = as_array(opening_share)
    with np.errstate(invalid="ignore"):
        share = np.where((share >= 0) & (share <= 1), share, np.nan)
    return as_array(cube + share * (1.0 - cube))


def sound_wall_ratio(wall: ArrayLike, diameter: ArrayLike) -> Array:
    """Thickness of sound wood over the radius [-]; wall and diameter in [m].

    Parameters
    ----------
    wall, diameter : thinnest sound wall and diameter of the wood [m]
    """
    wall, D = as_array(wall), as_array(diameter)
    with np.errstate(invalid="ignore", divide="ignore"):
        return np.where((D > 0) & (wall >= 0), np.minimum(wall / (D / 2.0), 1.0), np.nan)


@dataclass(frozen=True)
class DecayRules:
    """Losses by each rule and by the section modulus, 0 to 1, and whether each rule passes the trunk."""

    wagener_1963_loss: Array
    coder_1989_loss: Array
    smiley_fraedrich_1992_loss: Array
    sound_wall_ratio: Array
    section_modulus_loss: Array
    passes: dict[str, NDArray[np.bool_]]
    disagree: NDArray[np.bool_]


def compare_decay_rules(diameter: ArrayLike, wall: ArrayLike, opening_deg: ArrayLike) -> DecayRules:
    """Set the published rules beside the section modulus.

    Parameters
    ----------
    diameter, wall : wood diameter and thinnest sound wall [m]
    opening_deg : missing sector, in the worst direction [deg]

    Notes
    -----
    All are given a hole in the middle that leaves the thinnest wall all round. Kane and Ryan 2004 (J. Arboric.
    30(6), read) show that the rules misjudge holes off the centre, both ways.

    Examples
    --------
    Section A, closed, of a table of decay rules (Arboriculture and Urban Forestry 2008, markup 6705, read): 22 % by
    Wagener, 13 % by Coder, 22 % by Smiley and Fraedrich:

    >>> rules = compare_decay_rules(1.0, 0.2, 0.0)
    >>> losses = rules.wagener_1963_loss, rules.coder_1989_loss, rules.smiley_fraedrich_1992_loss
    >>> [f"{float(loss):.0%}" for loss in losses]
    ['22%', '13%', '22%']
    """
    D, wall, opening = broadcast(diameter, wall, opening_deg)
    with np.errstate(invalid="ignore"):
        hole = np.maximum(D - 2.0 * wall, 0.0)
    wagener, coder = hole_loss(hole, D, 3), hole_loss(hole, D, 4)
    opened = smiley_fraedrich_1992_loss(hole, D, opening / 360.0)
    ratio = sound_wall_ratio(wall, D)
    loss = as_array(1.0 - trunk_modulus(D, wall, opening) / solid_modulus(D))
    with np.errstate(invalid="ignore"):
        passes = {
            "Wagener 1963": np.asarray(wagener <= WAGENER_LIMIT.value),
            "Coder 1989": np.asarray(coder <= CODER_HAZARD.value),
            "Smiley and Fraedrich 1992": np.asarray(opened <= SMILEY_FRAEDRICH_LIMIT.value),
            "sound wall": np.asarray(ratio >= LEAST_WALL_SHARE.value - 1e-12),
        }
    votes = np.stack(list(passes.values()))
    return DecayRules(wagener, coder, opened, ratio, loss, passes, np.asarray(votes.any(axis=0) & ~votes.all(axis=0)))
