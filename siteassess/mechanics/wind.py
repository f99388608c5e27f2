"""Wind on the crown while a line is up, and the wind at which the line should come down.

Wind is told as people get it: a gust 10 m above open ground, as a forecast gives it. It is taken to blow along the
pull, its worst direction, and no shelter is counted on. A gust is taken as a steady force: a crown neither sways in
time with it nor lies wholly in it, and the two err against each other (judgement).
"""

from __future__ import annotations

import numpy as np
from numpy.polynomial.hermite_e import hermegauss
from numpy.typing import ArrayLike
from scipy.special import ndtr, ndtri

from siteassess.mechanics.arrays import Array, as_array, broadcast
from siteassess.mechanics.scatter import LOWER_FRACTILE
from siteassess.reference.constants import constant, constants

AIR_DENSITY = constant("air density")
DRAG_MEASURED_AT = 20.0  # [m/s]
DRAG_AT_20 = constants("drag at 20 m/s")
DRAG_FALL_BELOW_20 = constant("drag fall below 20")
DRAG_FALL_ABOVE_20 = constant("drag fall above 20")
DRAG_LN_SD = constant("drag ln sd")
LEAFLESS_SHARE = constant("leafless drag share")
CROWN_FILL = constants("crown fill")
CENTRE_OF_CROWN = constants("centre of crown")
GUST_HEIGHT = 10.0  # [m] over open ground, where a gust is measured and forecast
GUST_GROWTH = constant("gust growth")

WIND_ASSUMPTIONS = (
    AIR_DENSITY, *DRAG_AT_20.values(), DRAG_FALL_BELOW_20, DRAG_FALL_ABOVE_20, DRAG_LN_SD, *CROWN_FILL.values(),
    *CENTRE_OF_CROWN.values(), GUST_GROWTH,
)


def crown_area(crown_width: ArrayLike, crown_height: ArrayLike, leaf_type: str) -> Array:
    """Frontal area of a crown in still air [m^2].

    Parameters
    ----------
    crown_width, crown_height : [m]
    leaf_type : broadleaf or conifer; any other is taken as full as a broadleaf
    """
    width, height = as_array(crown_width), as_array(crown_height)
    fill = CROWN_FILL.get(leaf_type, CROWN_FILL["broadleaf"]).value
    with np.errstate(invalid="ignore"):
        return np.where((width >= 0) & (height >= 0), fill * width * height, np.nan)


def crown_centre(crown_base: ArrayLike, tree_height: ArrayLike, leaf_type: str) -> Array:
    """Height above ground at which the wind acts on the crown [m]; sizes in [m], leaf type as `crown_area`.

    Parameters
    ----------
    crown_base, tree_height : above the ground [m]
    leaf_type : as in `crown_area`
    """
    base, top = as_array(crown_base), as_array(tree_height)
    share = CENTRE_OF_CROWN.get(leaf_type, CENTRE_OF_CROWN["broadleaf"]).value
    with np.errstate(invalid="ignore"):
        return np.where((base >= 0) & (base <= top), base + share * (top - base), np.nan)


def drag_coefficient(wind: ArrayLike, leaf_type: str) -> Array:
    """Middling drag coefficient of a crown in leaf on its still-air area [-].

    Parameters
    ----------
    wind : gust at the crown, not negative [m/s]
    leaf_type : broadleaf or conifer; any other is taken as the conifer, which catches more

    References
    ----------
    1. Vollsinger et al. 2005, Can. J. For. Res. 35(5); Rudnicki et al. 2004, Can. J. For. Res. 34(3) (abstracts read).
    2. Angelou, Dellwik and Mann 2019, Forestry 92(4):381 (abstract read).
    3. Birch on a roof, J. Wood Sci. 2016, doi 10.1007/s10086-016-1556-5 (abstract read).

    Examples
    --------
    A birch on a roof at 30 m/s had 0.154 [3]_: within a tenth, where kinds of trees differ by more.

    >>> abs(float(drag_coefficient(30.0, "broadleaf")) / 0.154 - 1.0) < 0.1
    True
    """
    wind = as_array(wind)
    at_20 = DRAG_AT_20.get(leaf_type, DRAG_AT_20["conifer"]).value
    with np.errstate(invalid="ignore", divide="ignore"):
        ratio = wind / DRAG_MEASURED_AT
        power = np.where(ratio < 1.0, DRAG_FALL_BELOW_20.value, DRAG_FALL_ABOVE_20.value)
        return np.where(wind >= 0, at_20 * ratio**-power, np.nan)


def crown_drag(wind: ArrayLike, area: ArrayLike, leaf_type: str) -> Array:
    """Horizontal force of the wind on the crown [N]: half density times drag coefficient, area, wind squared.

    Parameters
    ----------
    wind : gust at the crown [m/s]
    area : frontal area in still air [m^2]
    leaf_type : as `drag_coefficient`

    Examples
    --------
    The pull on a grown oak rose with the 1.60th to 1.68th power of the wind (Angelou, Dellwik and Mann 2019, abstract,
    read):

    >>> at_20, at_30 = crown_drag([20.0, 30.0], 50.0, "broadleaf")
    >>> bool(1.60 <= np.log(at_30 / at_20) / np.log(1.5) <= 1.68)
    True
    """
    wind, area = as_array(wind), as_array(area)
    with np.errstate(invalid="ignore"):
        area = np.where(area >= 0, area, np.nan)
        # in still air the coefficient has no value, and nothing pulls; nor is there any for what no float can square
        still = np.where(wind**2 == 0, 1.0, wind)
        pulled = 0.5 * AIR_DENSITY.value * drag_coefficient(still, leaf_type) * area * still**2
        return as_array(np.where(wind**2 == 0, 0.0 * pulled, pulled))


def gust_at_crown(forecast: ArrayLike, centre_height: ArrayLike) -> Array:
    """Gust at the crown in the open from one 10 m over open ground [m/s]; never less than that.

    Parameters
    ----------
    forecast : gust 10 m over open ground [m/s]
    centre_height : of the crown, from `crown_centre` [m]
    """
    height = np.maximum(as_array(centre_height), GUST_HEIGHT)
    return as_array(as_array(forecast) * (height / GUST_HEIGHT) ** GUST_GROWTH.value)


def wind_moment(forecast: ArrayLike, area: ArrayLike, centre_height: ArrayLike, leaf_type: str) -> Array:
    """Middling moment of a forecast gust about the ground [N m]; centre's height in [m], the rest as `crown_drag`.

    Parameters
    ----------
    forecast, centre_height : as in `gust_at_crown` [m/s, m]
    area, leaf_type : as in `crown_drag` [m^2]
    """
    centre = as_array(centre_height)
    return as_array(crown_drag(gust_at_crown(forecast, centre), area, leaf_type) * centre)


def gust_of_moment(moment: ArrayLike, area: ArrayLike, centre_height: ArrayLike, leaf_type: str) -> Array:
    """Forecast gust that brings a moment about the ground [m/s]: the closed inverse of `wind_moment`.

    Infinite where a crown without area catches nothing; NaN where anything is unknown.

    Parameters
    ----------
    moment : of the wind about the ground [N m]
    area, centre_height, leaf_type : as in `wind_moment` [m^2, m]
    """
    at_20 = crown_drag(DRAG_MEASURED_AT, area, leaf_type) * as_array(centre_height)
    with np.errstate(invalid="ignore", divide="ignore"):
        ratio = as_array(moment) / at_20
        power = np.where(ratio < 1.0, 2.0 - DRAG_FALL_BELOW_20.value, 2.0 - DRAG_FALL_ABOVE_20.value)
        at_crown = DRAG_MEASURED_AT * ratio ** (1.0 / power)
        found = at_crown / gust_at_crown(1.0, centre_height)
        return np.where((at_20 == 0) & (np.asarray(moment) >= 0), np.inf, found)


_NODES, _WEIGHTS = hermegauss(12)  # agrees with 64 points to 1e-4 of the wind (tested)
_FACTORS, _WEIGHTS = np.exp(DRAG_LN_SD.value * _NODES), _WEIGHTS / _WEIGHTS.sum()
_ROUNDS = 8  # of Newton's rule on a curve that is nearly straight; a few more change nothing


def greatest_wind_moment(capacity_median: ArrayLike, capacity_ln_sd: ArrayLike, other_moment: ArrayLike) -> Array:
    """Middling wind moment with which a capacity is exceeded one time in twenty [N m].

    Parameters
    ----------
    capacity_median, capacity_ln_sd : of a log-normal capacity [N m], [ln]
    other_moment : what the line and the lean ask already [N m]

    Returns
    -------
    0 where line and lean alone reach the 5 % value; NaN where anything is unknown.

    Notes
    -----
    Capacity and drag both scatter; the drag by `DRAG_LN_SD`, summed over twelve points.
    """
    median, ln_sd, other = broadcast(capacity_median, capacity_ln_sd, other_moment)
    target = ndtri(LOWER_FRACTILE)
    with np.errstate(invalid="ignore", divide="ignore", over="ignore"):
        none_left = ~(other < median * np.exp(target * ln_sd))
        # from the room a sure drag would leave: too much, so that every step comes from above
        wind = np.where(none_left, median, median * np.exp(target * ln_sd) - other)
        for _ in range(_ROUNDS):
            pulled = wind[..., None] * _FACTORS
            asked = other[..., None] + pulled
            deviate = np.log(asked / median[..., None]) / ln_sd[..., None]
            chance = np.sum(_WEIGHTS * ndtr(deviate), axis=-1)
            slope = np.sum(_WEIGHTS * np.exp(-0.5 * deviate**2) * pulled / asked, axis=-1) / ln_sd
            over = ndtri(chance)
            wind = wind * np.exp(np.clip((target - over) * np.exp(-0.5 * over**2) / slope, -1.0, 1.0))
        known = np.isfinite(median) & np.isfinite(ln_sd) & np.isfinite(other)
        return np.where(known, np.where(none_left, 0.0, wind), np.nan)


def take_down_wind(
    capacity_median: ArrayLike, capacity_ln_sd: ArrayLike, line_and_lean_moment: ArrayLike, area: ArrayLike,
    centre_height: ArrayLike, leaf_type: str,
) -> Array:
    """Forecast gust at which line, lean and crown together exceed what the tree bears one time in twenty [m/s].

    Parameters
    ----------
    capacity_median, capacity_ln_sd : array_like
        Of the trunk's section or the root plate [N m], [ln]; no divisor, since a gust is met attended.
    line_and_lean_moment : what is asked without wind [N m]
    area, centre_height, leaf_type : as in `wind_moment` [m^2, m]

    Returns
    -------
    0 where line and lean alone reach the 5 % value; infinite where the crown catches no wind; NaN where anything is
    unknown. Take the smaller answer of trunk and root plate.
    """
    room = greatest_wind_moment(capacity_median, capacity_ln_sd, line_and_lean_moment)
    found = gust_of_moment(room, area, centre_height, leaf_type)
    return np.where(room == 0, np.where(np.isnan(found), found, 0.0), found)
