"""A boulder as an anchor: a rigid block that may slide or tip on its slope.

Only a block that stands free is judged. Bolts, posts, walls and bedrock features need someone who knows
them: "cannot say".
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from siteassess.mechanics.arrays import Array, as_array, broadcast
from siteassess.mechanics.limit import LimitSums, Outside, make_limit
from siteassess.mechanics.scatter import DIVISOR_GROUND_LINE
from siteassess.reference.constants import constant
from siteassess.units import STANDARD_GRAVITY

ROUNDED_SHAPE = constant("rounded boulder shape")
BLOCKY_SHAPE = constant("blocky boulder shape")
ROCK_DENSITY = constant("rock density")
ROCK_FRICTION = constant("boulder friction")
WEIGHT_LN_SD = constant("boulder weight ln sd")
FRICTION_LN_SD = constant("boulder friction ln sd")
FOOT_SHARE = constant("boulder foot share")
EMBEDDED_FOOT_SHARE = constant("embedded boulder foot share")
FOOT_LN_SD = constant("boulder foot ln sd")
EDGE_LENGTHS = constant("boulder edge lengths")

BOULDER_ASSUMPTIONS = (
    ROUNDED_SHAPE, BLOCKY_SHAPE, ROCK_DENSITY, ROCK_FRICTION, WEIGHT_LN_SD, FRICTION_LN_SD,
    FOOT_SHARE, EMBEDDED_FOOT_SHARE, FOOT_LN_SD, EDGE_LENGTHS,
)


def boulder_weight(
    length: ArrayLike, width: ArrayLike, height: ArrayLike, shape_factor: ArrayLike = ROUNDED_SHAPE.value,
    density: ArrayLike = ROCK_DENSITY.value,
) -> Array:
    """Weight from three taped sizes [N].

    Parameters
    ----------
    length, width, height : longest extents above the ground, at right angles to each other [m]
    shape_factor : volume over that of the box, up to 1 [-]
    density : of the rock [kg/m^3]

    Examples
    --------
    Riprap of specific gravity 2.5 and 15, 18, 24 and 42 in: 160, 275, 650 and 3500 lb (table 506-2 of a
    specification, document 627058 of Colorado's mining authority, read), rounded there by up to 1 %:

    >>> size, printed = np.array([15, 18, 24, 42]) * 0.0254, np.array([160, 275, 650, 3500]) * 4.44822
    >>> (boulder_weight(size, size, size, density=2500.0) / printed).round(2).tolist()
    [0.99, 1.0, 1.0, 0.99]
    """
    a, b, c, shape, rho = map(as_array, (length, width, height, shape_factor, density))
    with np.errstate(invalid="ignore"):
        good = (a > 0) & (b > 0) & (c > 0) & (shape > 0) & (shape <= 1) & (rho > 0)
        return np.where(good, rho * STANDARD_GRAVITY * shape * a * b * c, np.nan)


def sliding_pull_over_weight(
    friction: ArrayLike, slope_deg: ArrayLike = 0.0, pull_from_downhill_deg: ArrayLike = 0.0, rise_deg: ArrayLike = 0.0
) -> Array:
    """Pull that starts a block sliding, over its weight [-]; 0 where it would slide by itself.

    Parameters
    ----------
    friction : friction coefficient [-]
    slope_deg : of the ground [deg]
    pull_from_downhill_deg : direction of the pull in plan, against straight downhill [deg]
    rise_deg : of the pull above the horizontal; a falling pull is taken as level [deg]

    Notes
    -----
    Weight and pull are split along the slope, across it and square to it; the block slides when the pair in
    the plane reaches friction times the rest square to it. A quadratic in the pull, its smallest root.

    Examples
    --------
    A block of 490.5 N slides on the level at 98.1 N where friction is 0.20, friction times weight; on a slope as steep
    as the angle of friction it needs nothing; both by hand:

    >>> [round(float(490.5 * x), 1) for x in sliding_pull_over_weight([0.2, 1.0], [0.0, 45.0])]
    [98.1, 0.0]
    """
    mu, slope, turn, rise = broadcast(friction, slope_deg, pull_from_downhill_deg, rise_deg)
    with np.errstate(invalid="ignore"):
        rise = np.where(rise < 0.0, 0.0, rise)
    slope, turn, rise = np.deg2rad(slope), np.deg2rad(turn), np.deg2rad(rise)
    down = np.cos(rise) * np.cos(turn) * np.cos(slope) - np.sin(rise) * np.sin(slope)
    across = np.cos(rise) * np.sin(turn)
    off = np.cos(rise) * np.cos(turn) * np.sin(slope) + np.sin(rise) * np.cos(slope)
    # (sin + x down)^2 + (x across)^2 = mu^2 (cos - x off)^2
    a = down**2 + across**2 - mu**2 * off**2
    half_b = np.sin(slope) * down + mu**2 * np.cos(slope) * off
    c = np.sin(slope) ** 2 - mu**2 * np.cos(slope) ** 2
    with np.errstate(invalid="ignore", divide="ignore"):
        # In this form the smallest positive root also stands where the quadratic term vanishes.
        root = -c / (half_b + np.sqrt(np.maximum(half_b**2 - a * c, 0.0)))
        good = (mu >= 0) & (slope >= 0) & (slope < np.pi / 2)
        return np.where(good, np.where(c >= 0.0, 0.0, root), np.nan)


def tipping_pull_over_weight(
    foot_length: ArrayLike, centre_height: ArrayLike, tie_height: ArrayLike, slope_deg: ArrayLike = 0.0,
    pull_from_downhill_deg: ArrayLike = 0.0, rise_deg: ArrayLike = 0.0,
) -> Array:
    """Pull that tips a block over its foot on the pull's side, over its weight [-]; 0 where it tips by itself.

    Parameters
    ----------
    foot_length : length it stands on, along the pull [m]
    centre_height, tie_height : centre of gravity and tie above the foot [m]
    slope_deg, pull_from_downhill_deg, rise_deg : as in `sliding_pull_over_weight` [deg]

    Examples
    --------
    The same block, 0.60 m long and pulled at 0.80 m, tips at 183.94 N, weight times half the length over the height;
    by hand:

    >>> f"{490.5 * tipping_pull_over_weight(0.60, 0.5, 0.80):.2f}"
    '183.94'
    """
    foot, centre, tie, slope, turn, rise = map(
        as_array, (foot_length, centre_height, tie_height, slope_deg, pull_from_downhill_deg, rise_deg)
    )
    with np.errstate(invalid="ignore", divide="ignore"):
        rise = np.deg2rad(np.where(rise < 0.0, 0.0, rise))
        along = np.arctan(np.tan(np.deg2rad(slope)) * np.cos(np.deg2rad(turn)))
        holding = np.cos(along) * foot / 2.0 - np.sin(along) * centre
        lift = np.maximum(np.sin(along + rise), 0.0)
        turning = np.cos(along + rise) * tie + lift * foot / 2.0
        good = (foot > 0) & (centre > 0) & (tie >= 0) & (slope >= 0) & (slope < 90)
        ratio = np.where(turning > 0, np.maximum(holding, 0.0) / turning, np.inf)
        return np.where(good & ~np.isnan(turning), ratio, np.nan)


def boulder_limits(
    length_along: ArrayLike, width: ArrayLike, height: ArrayLike, tie_height: ArrayLike, pull: ArrayLike, *,
    slope_deg: ArrayLike = 0.0, pull_from_downhill_deg: ArrayLike = 0.0, rise_deg: ArrayLike = 0.0,
    edge_distance: ArrayLike = np.inf, embedded: ArrayLike = 0.0, shape_factor: ArrayLike = ROUNDED_SHAPE.value,
    density: ArrayLike = ROCK_DENSITY.value, friction: ArrayLike = ROCK_FRICTION.value,
    divisor: ArrayLike = DIVISOR_GROUND_LINE,
) -> tuple[LimitSums, LimitSums]:
    """Judge a boulder for sliding and for tipping; both limits are pulls in N.

    Parameters
    ----------
    length_along, width, height, tie_height : along the pull, across it, above the ground, and of the sling [m]
    pull : [N]
    slope_deg, pull_from_downhill_deg, rise_deg : [deg]
    edge_distance : to the nearest drop; infinite where looked for and none, NaN not looked [m]
    embedded : 1 sunk into the ground, 0 free; anything unknown counts as free [-]
    shape_factor, density, friction : [-], [kg/m^3], [-]
    divisor : 1.5, or 2.0 for high lines and aerial equipment [-]

    Returns
    -------
    Sliding, then tipping.

    Notes
    -----
    Refused where the drop is nearer than the longest size, the sling sits above the block, or the block
    would slide with friction one scatter lower, or tip, without any pull.
    """
    weight = boulder_weight(length_along, width, height, shape_factor, density)
    sizes = list(map(as_array, (length_along, width, height, tie_height, edge_distance)))
    length, across, top, tie, edge = sizes
    slide = sliding_pull_over_weight(friction, slope_deg, pull_from_downhill_deg, rise_deg)
    slippery = as_array(friction) * np.exp(-FRICTION_LN_SD.value)
    slide_low = sliding_pull_over_weight(slippery, slope_deg, pull_from_downhill_deg, rise_deg)
    sunk = as_array(embedded) == 1.0
    foot = np.where(sunk, EMBEDDED_FOOT_SHARE.value, FOOT_SHARE.value) * length
    tilt = (top / 2.0, tie, slope_deg, pull_from_downhill_deg, rise_deg)
    tip = tipping_pull_over_weight(foot, *tilt)
    tip_low = tipping_pull_over_weight(foot * np.exp(-FOOT_LN_SD.value), *tilt)

    longest = np.maximum(np.maximum(length, across), top)
    with np.errstate(invalid="ignore", divide="ignore"):
        near = edge < EDGE_LENGTHS.value * longest
        wrong = (length <= 0) | (across <= 0) | (top <= 0) | (tie > top) | (tie < 0)
        pull = np.where(as_array(pull) >= 0, pull, np.nan)
        # What the input's scatter does to the answer grows near the slope where the block moves by itself.
        slide_sd = np.hypot(WEIGHT_LN_SD.value, np.log(slide / slide_low))
        tip_sd = np.hypot(WEIGHT_LN_SD.value, np.log(tip / tip_low))
    tip_sd = np.where(np.isinf(tip), WEIGHT_LN_SD.value, tip_sd)
    common = (
        np.where(near, int(Outside.EDGE_NEAR), 0)
        | np.where(np.isnan(edge), int(Outside.MISSING), 0)
        | np.where(wrong, int(Outside.IMPOSSIBLE), 0)
        | np.where((slide_low == 0.0) | (tip_low == 0.0), int(Outside.FOOTING_DOUBTFUL), 0)
    )
    # A pull at foot height tips nothing; a capacity must stay finite to be printed, so sliding speaks for it.
    tip = np.where(np.isinf(tip), np.maximum(slide, 1.0), tip)
    return (
        make_limit("sliding", weight * slide, slide_sd, pull, divisor, common, unit="N"),
        make_limit("tipping", weight * tip, tip_sd, pull, divisor, common, unit="N"),
    )
