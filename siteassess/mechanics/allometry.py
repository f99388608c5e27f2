"""Height and crown width from trunk diameter, where a measurement is missing.

A power of the diameter, fitted to city trees, with the scatter of trees and of regions about it. A filled value is a
guess: taken at a low fractile where more would be kinder, at a high one where less would be, and it lowers the
evidence.

References
----------
[1] McPherson, van Doorn, Peper 2016, Urban tree database, RDS-2016-0005, table TS3, 13,296 trees of 17 climate regions
    of the US (read in a public copy); the fits are ours (derived; rows of the table `allometry`).
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike
from scipy.special import ndtri

from siteassess.mechanics.arrays import Array, as_array
from siteassess.reference.constants import constant

LEAST_DIAMETER = constant("least filled diameter")
"""The thinnest trunk of the trees the fits rest on [m]."""
LOW_FRACTILE = constant("filled size low fractile")
HIGH_FRACTILE = constant("filled size high fractile")
LOW_HEIGHT_WIDER = constant("low height wider")
THICK_CROWN_NARROWER = constant("thick crown narrower")
ALLOMETRY_ASSUMPTIONS = (LOW_FRACTILE, HIGH_FRACTILE, LOW_HEIGHT_WIDER, THICK_CROWN_NARROWER)


def fractile_scatters(quantity: str, diameter: ArrayLike) -> tuple[Array, Array]:
    """How much wider the scatter is below and above a fit than its ln sd, by trunk diameter.

    Parameters
    ----------
    quantity : {'height', 'crown'}
        What is filled.
    diameter : of the trunk [m]

    Returns
    -------
    Times its ln sd below the fit and above [-].
    """
    d = as_array(diameter)
    one = np.ones_like(d)
    if quantity == "height":
        return as_array(one * LOW_HEIGHT_WIDER.value), one
    return one, as_array(np.interp(d, [0.1, 0.8], [1.0, THICK_CROWN_NARROWER.value]))


def filled_size(
    quantity: str, diameter: ArrayLike, coefficient: float, exponent: float, ln_sd: float, fractile: float = 0.5
) -> Array:
    """Height or crown width of a tree whose trunk alone was measured [m].

    Parameters
    ----------
    quantity : {'height', 'crown'}
        What is filled.
    diameter : at breast height over bark, from 0.05 m up; thinner gives NaN [m]
    coefficient, exponent : of the fit [1]_: coefficient [m] times the diameter in m to the exponent
    ln_sd : scatter of ln about it, of a tree in a region not measured [ln]
    fractile : share of trees that fall below the answer; the median if not given [-]

    Returns
    -------
    [m]; grows with the diameter.

    Examples
    --------
    10 m times the root of 0.25, by hand:

    >>> float(filled_size("height", 0.25, 10.0, 0.5, 0.2))
    5.0
    """
    d = as_array(diameter)
    with np.errstate(invalid="ignore"):
        d = np.where(d >= LEAST_DIAMETER - 1e-12, d, np.nan)
    below, above = fractile_scatters(quantity, d)
    z = float(ndtri(fractile))
    return as_array(coefficient * d**exponent * np.exp(z * ln_sd * (below if z < 0 else above)))
