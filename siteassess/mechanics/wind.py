"""Wind on the crown while a line is up, and the wind at which the line should come down.

Wind here is the gust at crown height, not the mean of a forecast, and it is taken to blow along the pull,
its worst direction.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

from siteassess.mechanics.assumptions import Assumption

Array = NDArray[np.float64]

AIR_DENSITY = Assumption("density of air", 1.2, 1.1, 1.3, "kg/m^3", "memory", "common physics, 20 C near sea level")
DRAG_IN_LEAF = Assumption(
    "drag coefficient of a crown in leaf up to 10 m/s, on its still-air area", 0.70, 0.60, 0.80, "", "judgement",
    "crowns measured at 20 m/s have 0.15 to 0.47, more in lighter wind (Vollsinger et al. 2005, Rudnicki et al. 2004)",
)  # fmt: skip
DRAG_FALL_FROM = Assumption(
    "wind above which the drag coefficient is let fall", 10.0, 10.0, 10.0, "m/s", "judgement", "agreed model",
)  # fmt: skip
DRAG_FALL_POWER = Assumption(
    "power by which the drag coefficient falls beyond that", 0.14, 0.0, 0.6, "", "derived",
    "the gentlest fall that stays above every measured crown, the highest being 0.594 at 30 m/s (J. Wood Sci. 2016)",
)  # fmt: skip
LEAFLESS_SHARE = Assumption(
    "drag out of leaf over drag in leaf", 0.50, 0.20, 0.60, "", "judgement", "no source read; taken high",
)  # fmt: skip
CROWN_FILL = Assumption(
    "frontal area over crown width times crown height", 0.785, 0.50, 1.0, "", "derived",
    "an ellipse; Kane and Smiley 2006 warn that triangles and rectangles mispredict drag",
)  # fmt: skip

WIND_ASSUMPTIONS = (AIR_DENSITY, DRAG_IN_LEAF, DRAG_FALL_FROM, DRAG_FALL_POWER, LEAFLESS_SHARE, CROWN_FILL)


def crown_area(crown_width: ArrayLike, crown_height: ArrayLike) -> Array:
    """Frontal area of a crown in still air, as an ellipse [m^2]; both sizes in [m]."""
    width, height = np.asarray(crown_width, dtype=float), np.asarray(crown_height, dtype=float)
    with np.errstate(invalid="ignore"):
        return np.where((width >= 0) & (height >= 0), CROWN_FILL.value * width * height, np.nan)


def drag_coefficient(wind: ArrayLike, in_leaf: ArrayLike = 1.0) -> Array:
    """Drag coefficient of a crown on its still-air area [-].

    Parameters
    ----------
    wind : array_like
        Gust at crown height, not negative [m/s].
    in_leaf : array_like
        1 in leaf, 0 bare, NaN not looked [-].
    """
    wind, leaf = np.asarray(wind, dtype=float), np.asarray(in_leaf, dtype=float)
    with np.errstate(invalid="ignore"):
        fallen = (np.maximum(wind, DRAG_FALL_FROM.value) / DRAG_FALL_FROM.value) ** -DRAG_FALL_POWER.value
        share = np.where(leaf > 0, 1.0, LEAFLESS_SHARE.value) + 0.0 * leaf
        return np.where(wind >= 0, DRAG_IN_LEAF.value * fallen * share, np.nan)


def crown_drag(wind: ArrayLike, area: ArrayLike, in_leaf: ArrayLike = 1.0) -> Array:
    """Horizontal force of the wind on the crown [N]: half density times drag coefficient, area, wind squared.

    Parameters
    ----------
    wind : array_like
        Gust at crown height [m/s].
    area : array_like
        Frontal area in still air [m^2].
    in_leaf : array_like
        1 in leaf, 0 bare [-].
    """
    wind, area = np.asarray(wind, dtype=float), np.asarray(area, dtype=float)
    with np.errstate(invalid="ignore"):
        area = np.where(area >= 0, area, np.nan)
    return 0.5 * AIR_DENSITY.value * drag_coefficient(wind, in_leaf) * area * wind**2


def wind_moment(
    wind: ArrayLike,
    area: ArrayLike,
    crown_centre_height: ArrayLike,
    section_height: ArrayLike = 0.0,
    in_leaf: ArrayLike = 1.0,
) -> Array:
    """Moment of the wind about a section, or about the ground [N m]; heights in [m], the rest as `crown_drag`."""
    arm = np.maximum(np.asarray(crown_centre_height, dtype=float) - section_height, 0.0)
    return crown_drag(wind, area, in_leaf) * arm


def take_down_wind(
    allowable: ArrayLike,
    line_and_lean_moment: ArrayLike,
    area: ArrayLike,
    crown_centre_height: ArrayLike,
    section_height: ArrayLike = 0.0,
    in_leaf: ArrayLike = 1.0,
) -> Array:
    """Gust at crown height at which line, lean and crown together reach the allowable [m/s].

    Parameters
    ----------
    allowable : array_like
        Of the trunk's section or the root plate [N m].
    line_and_lean_moment : array_like
        What is used already without wind [N m].
    area, crown_centre_height, section_height, in_leaf : array_like
        See `wind_moment`.

    Returns
    -------
    ndarray
        0 where line and lean alone reach the allowable; infinite where the crown catches no wind about the
        section; NaN where anything is unknown.

    Notes
    -----
    Closed inverse of `wind_moment`. Take the smaller answer of trunk and root plate.
    """
    room = np.asarray(allowable, dtype=float) - np.asarray(line_and_lean_moment, dtype=float)
    knee = DRAG_FALL_FROM.value
    at_knee = wind_moment(knee, area, crown_centre_height, section_height, in_leaf)
    with np.errstate(invalid="ignore", divide="ignore"):
        ratio = np.maximum(room, 0.0) / at_knee
        below, above = knee * np.sqrt(ratio), knee * ratio ** (1.0 / (2.0 - DRAG_FALL_POWER.value))
        wind = np.where(ratio <= 1.0, below, above)
        wind = np.where((room > 0) & (at_knee == 0), np.inf, wind)
        wind = np.where((room <= 0) & ~np.isnan(at_knee), 0.0, wind)
    return np.where(np.isnan(room) | np.isnan(at_knee), np.nan, wind)
