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
from numpy.typing import ArrayLike, NDArray
from scipy.special import ndtri

from siteassess.mechanics.assumptions import Assumption

Array = NDArray[np.float64]

LEAST_DIAMETER = 0.05
"""The thinnest trunk of the trees the fits rest on [m]."""
LOW_FRACTILE = Assumption(
    "fractile at which a height is filled for what holds", 0.10, 0.05, 0.25, "", "judgement", "an over-guess is unkind",
)  # fmt: skip
HIGH_FRACTILE = Assumption(
    "fractile at which a height or crown is filled for wind and lean", 0.90, 0.75, 0.95, "", "judgement",
    "an under-guess is unkind",
)  # fmt: skip
LOW_HEIGHT_WIDER = Assumption(
    "scatter of a low height over that of its fit", 1.12, 1.04, 1.15, "", "derived",
    "trees of regions left out fall lower than a normal scatter has it [1]",
)  # fmt: skip
THICK_CROWN_NARROWER = Assumption(
    "scatter of a wide crown over that of its fit, trunks of 0.8 m and more", 0.78, 0.75, 1.0, "", "derived",
    "falling from 1 at 0.1 m: crowns of thick trunks scatter less [1]",
)  # fmt: skip
ALLOMETRY_ASSUMPTIONS = (LOW_FRACTILE, HIGH_FRACTILE, LOW_HEIGHT_WIDER, THICK_CROWN_NARROWER)


def fractile_scatters(quantity: str, diameter: ArrayLike) -> tuple[Array, Array]:
    """How much wider the scatter is below and above a fit than its ln sd, by trunk diameter.

    Parameters
    ----------
    quantity : {'height', 'crown'}
        What is filled.
    diameter : array_like
        Of the trunk [m].
    """
    d = np.asarray(diameter, dtype=float)
    one = np.ones_like(d)
    if quantity == "height":
        return one * LOW_HEIGHT_WIDER.value, one
    return one, np.interp(d, [0.1, 0.8], [1.0, THICK_CROWN_NARROWER.value])


def filled_size(
    quantity: str, diameter: ArrayLike, coefficient: float, exponent: float, ln_sd: float, fractile: float = 0.5
) -> Array:
    """Height or crown width of a tree whose trunk alone was measured [m].

    Parameters
    ----------
    quantity : {'height', 'crown'}
        What is filled.
    diameter : array_like
        At breast height over bark, from 0.05 m up; thinner gives NaN [m].
    coefficient, exponent : float
        Of the fit [1]_: coefficient [m] times the diameter in m to the exponent.
    ln_sd : float
        Scatter of ln about it, of a tree in a region not measured.
    fractile : float, optional
        Share of trees that fall below the answer; the median if not given.

    Returns
    -------
    ndarray
        [m]; grows with the diameter.
    """
    d = np.asarray(diameter, dtype=float)
    with np.errstate(invalid="ignore"):
        d = np.where(d >= LEAST_DIAMETER - 1e-12, d, np.nan)
    below, above = fractile_scatters(quantity, d)
    z = float(ndtri(fractile))
    return coefficient * d**exponent * np.exp(z * ln_sd * (below if z < 0 else above))
