"""How the link of a sling moves between load cases, and how that drags the sling over the bark.

Three movements are told apart: the pull swings sideways, so that the points where the legs leave the trunk sweep to
and fro; the pull dips as the line sags, so that the plane of the sling tilts; the strands stretch, so that they creep
along the bark from where they touch down inwards, as far as the change of tension reaches against friction.

References
----------
[1] Statics of a point load on a taut line; capstan equation with a changing tension (derived here).
[2] How far people sway and slings stretch: assumptions of ours (judgement).
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from siteassess.mechanics.arrays import Array, as_array
from siteassess.reference.constants import constant, constants

SIDE_PUSH = constants("side push")
STRETCH_AT_BREAK = constant("sling stretch at break")
STRENGTH_PER_WIDTH = constant("sling strength per width")
FELT_SLIDE = constant("felt slide")
NEAREST_WALK = constant("nearest walk")


def swing_deg(weight_at_anchor: ArrayLike, horizontal: ArrayLike, push_share: ArrayLike) -> Array:
    """Angle by which the pull swings to either side.

    Parameters
    ----------
    weight_at_anchor : part of the walker's weight that reaches this anchor [N]
    horizontal : horizontal part of the pull [N]
    push_share : sideways push over the walker's weight [-]

    Returns
    -------
    Half the swing [deg].

    Notes
    -----
    On a taut line a sideways push reaches an anchor in the same share as the weight does, so its angle on the plan
    is atan(share x weight / H) [1]_.

    Examples
    --------
    A push of half a weight of 1 kN against 500 N, by hand:

    >>> round(float(swing_deg(1e3, 500.0, 0.5)), 9)
    45.0
    """
    sideways = as_array(push_share) * as_array(weight_at_anchor)
    return as_array(np.degrees(np.arctan2(sideways, as_array(horizontal))))


def compliance(strength: ArrayLike, stretch_at_break: float = STRETCH_AT_BREAK.value) -> Array:
    """Stretch of a strand for each newton, taken as straight up to its strength [1/N].

    Parameters
    ----------
    strength : of one strand [N]
    stretch_at_break : stretch it breaks at [-]
    """
    return as_array(stretch_at_break / as_array(strength))


def slide_along(
    low: ArrayLike, high: ArrayLike, contact: ArrayLike, radius: ArrayLike, friction: ArrayLike, stretch: ArrayLike,
    inwards: ArrayLike = 0.0,
) -> Array:
    """How far a strand slides along the bark when its tension rises, at an angle inwards from the touch-down.

    Parameters
    ----------
    low, high : tension of the strand before and after [N]
    contact : angle of contact of the strand [rad]; the slide is nought at its middle
    radius : of the trunk with its padding [m]
    friction : friction coefficient, above nought; a low one lets the slide reach farther [-]
    stretch : stretch of the strand for each newton [1/N]
    inwards : angle from the touch-down [rad]

    Returns
    -------
    Slide [m]; nought beyond ln(high/low)/mu, where friction has taken up the change, and where nothing changes.

    Notes
    -----
    The strand is first under `low` all along, then under high exp(-mu x) from the touch-down in, until that falls to
    `low`. The slide is the stretch that comes in from there on:
    r c [high (exp(-mu x) - exp(-mu X)) / mu - low (X - x)], X the least of that angle and half the contact [1]_.
    """
    given = (low, high, contact, radius, friction, stretch, inwards)
    t1, t2, theta, r, mu, c, x = map(as_array, given)
    with np.errstate(divide="ignore", invalid="ignore"):
        reach = np.where(t1 > 0.0, np.log(np.maximum(t2, t1) / np.where(t1 > 0.0, t1, 1.0)) / mu, np.inf)
    reach = np.where(np.isnan(t1) | np.isnan(t2), np.nan, np.minimum(reach, theta / 2.0))
    x = np.minimum(x, reach)
    drawn = t2 * (np.exp(-mu * x) - np.exp(-mu * reach)) / mu - t1 * (reach - x)
    return as_array(np.maximum(r * c * drawn, 0.0))


def rubbed_inwards(
    low: float, high: float, contact: float, radius: float, friction: float, stretch: float,
    felt: float = FELT_SLIDE.value,
) -> float:
    """Angle inwards from the touch-down over which the slide passes what bark is taken to bear unrubbed [rad].

    Parameters
    ----------
    low, high, contact, radius, friction, stretch : as in `slide_along` [N, N, rad, m, -, 1/N]
    felt : slide that bark is taken to bear [m]

    Returns
    -------
    Nought where the slide stays under it everywhere; NaN where it is unknown [rad].
    """
    angles = np.linspace(0.0, contact / 2.0, 181)
    slides = slide_along(low, high, contact, radius, friction, stretch, angles)
    if np.isnan(slides).any():
        return float("nan")
    # the slide falls steadily inwards, so the crossing is read off the reversed curve
    return float(np.interp(felt, slides[::-1], angles[::-1])) if slides[0] > felt else 0.0


def tilt_at_touchdown(
    slope_low_deg: ArrayLike, slope_high_deg: ArrayLike, radius: ArrayLike, half_angle: ArrayLike
) -> Array:
    """How far the sling moves up and down the trunk where it touches down, as the pull dips [m].

    Parameters
    ----------
    slope_low_deg, slope_high_deg : least and greatest dip of the pull below level [deg]
    radius : of the trunk with its padding [m]
    half_angle : angle between a leg and the line of pull [rad]

    Notes
    -----
    The plane of the sling hinges at the back of the trunk, where it is held best; the touch-down lies r (1 + sin b)
    in front of that (derived) [1]_.

    Examples
    --------
    From level to 45 degrees with parallel legs, by hand one radius:

    >>> round(float(tilt_at_touchdown(0.0, 45.0, 0.2, 0.0)), 9)
    0.2
    """
    lever = as_array(radius) * (1.0 + np.sin(as_array(half_angle)))
    return as_array(lever * (np.tan(np.radians(slope_high_deg)) - np.tan(np.radians(slope_low_deg))))
