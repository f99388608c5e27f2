"""Height, bark and crown from trunk diameter, where a measurement is missing.

Pure published forms that take coefficients; sizes go in and come out in m, the inches and feet of the
published tables stay inside. A filled value is a guess: taken at a low fractile where more would be kinder,
at a high one where less would be, and it lowers the evidence.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

from siteassess.mechanics.assumptions import Assumption
from siteassess.mechanics.scatter import percentile

Array = NDArray[np.float64]

INCH = 0.0254
FOOT = 0.3048
LEAST_DIAMETER = 3.0 * INCH

PARK_HEIGHT_SHARE = Assumption(
    "height of a park tree over that of a forest tree of the same girth", 0.70, 0.52, 1.0, "", "judgement",
    "one comparison: London plane street trees (McPherson et al. 2016) stand at 0.52 to 0.62 of forest "
    "sycamores (Keyser 2008) between 0.2 and 0.6 m diameter; the low fractile of ours lies at 0.51",
)  # fmt: skip
HEIGHT_LN_SD = Assumption(
    "scatter of a height filled from the diameter", 0.25, 0.15, 0.35, "ln", "judgement", "no residuals were read",
)  # fmt: skip
HEIGHT_FRACTILE = Assumption(
    "fractile at which a height is filled", 0.10, 0.05, 0.25, "", "judgement", "an over-guess is unkind",
)  # fmt: skip
CROWN_LN_SD = Assumption(
    "scatter of a crown width filled from the diameter", 0.25, 0.15, 0.35, "ln", "judgement", "no residuals were read",
)  # fmt: skip
CROWN_FRACTILE = Assumption(
    "fractile at which a crown is filled for wind", 0.90, 0.75, 0.95, "", "judgement", "an under-guess is unkind",
)  # fmt: skip

ALLOMETRY_ASSUMPTIONS = (PARK_HEIGHT_SHARE, HEIGHT_LN_SD, HEIGHT_FRACTILE, CROWN_LN_SD, CROWN_FRACTILE)


def _valid(diameter: ArrayLike) -> Array:
    d = np.asarray(diameter, dtype=float)
    with np.errstate(invalid="ignore"):
        return np.where(d >= LEAST_DIAMETER - 1e-12, d, np.nan)


def curtis_arney_height(diameter: ArrayLike, p2: ArrayLike, p3: ArrayLike, p4: ArrayLike) -> Array:
    """Height of a forest-grown tree, Curtis-Arney form [m].

    Parameters
    ----------
    diameter : array_like
        At breast height over bark, from 0.0762 m up; thinner gives NaN [m].
    p2, p3, p4 : array_like
        Coefficients for feet and inches: h = 4.5 + p2 exp(-p3 D^p4).

    References
    ----------
    1. Keyser 2008 (revised), overview of a southern US growth model, USDA Forest Service (copy read).
    """
    D = _valid(diameter) / INCH
    return FOOT * (4.5 + np.asarray(p2) * np.exp(-np.asarray(p3) * D ** np.asarray(p4)))


def clark_inside_bark(diameter: ArrayLike, b1: ArrayLike, b2: ArrayLike) -> Array:
    """Diameter inside bark [m]; Clark 1991, inches inside: b1 + b2 D.

    Parameters
    ----------
    diameter : array_like
        Over bark, from 0.0762 m up; thinner gives NaN [m].
    b1, b2 : array_like
        Intercept [in] and slope [-].
    """
    d = _valid(diameter)
    inside = INCH * (np.asarray(b1) + np.asarray(b2) * d / INCH)
    with np.errstate(invalid="ignore"):
        return np.where((inside > 0) & (inside <= d), inside, np.nan)


def clark_bark_thickness(diameter: ArrayLike, b1: ArrayLike, b2: ArrayLike) -> Array:
    """Single bark thickness by `clark_inside_bark` [m]."""
    return (_valid(diameter) - clark_inside_bark(diameter, b1, b2)) / 2.0


def crown_width(
    diameter: ArrayLike,
    form: str,
    a1: ArrayLike,
    a2: ArrayLike,
    a3: ArrayLike = 0.0,
    widest: ArrayLike = np.inf,
    diameter_limit: ArrayLike = np.inf,
) -> Array:
    """Crown width by one of the published forms, feet and inches inside [m].

    Parameters
    ----------
    diameter : array_like
        From 0.0762 m up; thinner gives NaN [m].
    form : str
        Last two digits of the equation number: "01" a quadratic for forest-grown trees, its crown-ratio terms
        left out (Bechtold 2003; reads low for a park tree), "02" and "03" a1 + a2 D^a3 (Bragg 2001,
        Ek 1974), "04" a1 + a2 D (Krajicek et al. 1961), "05" a quadratic in metres and centimetres (Smith
        et al. 1992: read in feet and inches it would give a loblolly pine of 0.4 m a crown of 1.5 m).
        "03" to "05" are for open-grown trees.
    a1, a2, a3 : array_like
        Coefficients; an empty third one is 0 in a quadratic.
    widest : array_like
        Widest crown the form was meant for [m].
    diameter_limit : array_like
        Largest diameter the form was meant for; beyond it the crown is held [m].

    Raises
    ------
    ValueError
        For a form not listed.
    """
    D = np.minimum(_valid(diameter), diameter_limit) / INCH
    a1, a2, a3 = (np.asarray(x, dtype=float) for x in (a1, a2, a3))
    if form == "01":
        width = a1 + a2 * D + a3 * D**2
    elif form == "05":
        cm = 2.54 * D
        width = (a1 + a2 * cm + a3 * cm**2) / FOOT
    elif form in ("02", "03"):
        width = a1 + a2 * D**a3
    elif form == "04":
        width = a1 + a2 * D
    else:
        raise ValueError(f"no crown form {form!r}")
    with np.errstate(invalid="ignore"):
        return np.where(width > 0, np.minimum(FOOT * width, widest), np.nan)


def london_plane_height(diameter: ArrayLike) -> Array:
    """Height of a London plane street tree, north-eastern US [m].

    Parameters
    ----------
    diameter : array_like
        At breast height, 0.0762 to 1.37 m, where the quadratic peaks; outside gives NaN [m].

    References
    ----------
    1. McPherson, van Doorn and Peper 2016, PSW-GTR-253, data doi 10.2737/RDS-2016-0005 (read second hand).
    """
    d = 100.0 * _valid(diameter)
    with np.errstate(invalid="ignore"):
        return np.where(d <= 137.0, 3.29515 + 0.30021 * d - 0.00109 * d**2, np.nan)


def london_plane_crown(diameter: ArrayLike) -> Array:
    """Crown width of a London plane street tree [m]; source and range as in `london_plane_height`."""
    d = 100.0 * _valid(diameter)
    with np.errstate(invalid="ignore"):
        width = np.exp(-0.75195 + 2.41418 * np.log(np.log(d + 1.0)) + 0.0703)
        return np.where(d <= 137.0, width, np.nan)


def filled_height(
    forest_height: ArrayLike,
    park_share: ArrayLike = PARK_HEIGHT_SHARE.value,
    fractile: ArrayLike = HEIGHT_FRACTILE.value,
) -> Array:
    """Low fractile of a park tree's height from the forest height of its species [m].

    For the tree's own weight take a high fractile and a park share of 1 instead.

    Parameters
    ----------
    forest_height : array_like
        Median for the diameter, such as by `curtis_arney_height` [m].
    park_share : array_like
        1 where the form comes from park or street trees already [-].
    fractile : array_like
        Low for the root plate's capacity [-].
    """
    return percentile(np.asarray(forest_height, dtype=float) * park_share, HEIGHT_LN_SD.value, fractile)


def filled_crown_width(width: ArrayLike, fractile: ArrayLike = CROWN_FRACTILE.value) -> Array:
    """High fractile of a crown width, for wind [m]."""
    return percentile(width, CROWN_LN_SD.value, fractile)
