"""What a root plate may carry before it turns over, and what a pull asks of it.

Winched trees show that diameter squared times height explains most of the turning moment. The factor in front of it
hangs on the kind of tree; that factor, the soil, the roots lost, the ground and the tree's own lean are all stated and
adjustable.
Bearings in degrees true; a pull's bearing points from the tree towards where it pulls.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

from siteassess.mechanics.arrays import Array, as_array, broadcast
from siteassess.mechanics.limit import LimitSums, Outside, make_limit
from siteassess.mechanics.scatter import DIVISOR_GROUND_LINE
from siteassess.reference.constants import constant, constants

MOMENT_PER_D2H = constant("moment per d2h")
ROOT_LN_SD = constant("root ln sd")
HEIGHT_CAP_PER_DIAMETER = constant("height cap per diameter")
SLENDER_PER_DIAMETER = constant("slender per diameter")
SQUAT_PER_DIAMETER = constant("squat per diameter")
LOW_PULL_ARM_PER_DIAMETER = constant("low pull arm per diameter")
LOW_PULL_ARM_MOST = constant("low pull arm most")
SOIL_FACTORS = constants("soil")
SHALLOW_SOIL_FACTOR = constant("shallow soil factor")
ROOT_LOSS_LIMIT = constant("root loss limit")
ROOT_LOSS_HALF = constant("root loss half")

ROOT_ASSUMPTIONS = (
    MOMENT_PER_D2H, ROOT_LN_SD, HEIGHT_CAP_PER_DIAMETER, SLENDER_PER_DIAMETER, SQUAT_PER_DIAMETER,
    LOW_PULL_ARM_PER_DIAMETER, LOW_PULL_ARM_MOST, ROOT_LOSS_LIMIT, ROOT_LOSS_HALF,
)


def height_used(diameter: ArrayLike, height: ArrayLike) -> Array:
    """Height that earns credit: no more than 50 diameters [m].

    Parameters
    ----------
    diameter, height : of trunk and tree [m]
    """
    d, h = as_array(diameter), as_array(height)
    with np.errstate(invalid="ignore"):
        return np.where((d > 0) & (h > 0), np.minimum(h, HEIGHT_CAP_PER_DIAMETER.value * d), np.nan)


def root_capacity(
    diameter: ArrayLike, height: ArrayLike, soil_factor: ArrayLike = SOIL_FACTORS["unknown"].value,
    root_factor: ArrayLike = 1.0, ground_factor: ArrayLike = 1.0, moment_per_d2h: ArrayLike = MOMENT_PER_D2H.value,
) -> Array:
    """Median moment that turns the root plate over [N m].

    Parameters
    ----------
    diameter, height : trunk diameter over bark and height of the tree [m]
    soil_factor, root_factor, ground_factor : array_like
        Between 0 and 1: soil state, share of holding roots left, slope and banks [-].
    moment_per_d2h : k of the kind of tree; that of a tree of any kind where not given [N m/m^3]

    Notes
    -----
    k d^2 h. The winched trees stood on urban and forest sites of Europe and North America.

    References
    ----------
    1. Detter, Rust and Krisans 2023, Forests 14(3):533, in the copy of Hill, Bennion and Lovelock 2024 (k derived).
    2. Peltola et al. 2000, Forest Ecol. Manag. 135:143: d^2 h predicts uprooting best (read).
    """
    soil, roots, ground = map(as_array, (soil_factor, root_factor, ground_factor))
    d = as_array(diameter)
    share = as_array(1.0)
    for factor in (soil, roots, ground):
        with np.errstate(invalid="ignore"):
            share = share * np.where((factor >= 0.0) & (factor <= 1.0), factor, np.nan)
    return as_array(as_array(moment_per_d2h) * d**2 * height_used(d, height) * share)


def joint_diameter(diameters: ArrayLike) -> Array:
    """Diameter of one trunk with the wood area of several stems on one root plate [m]; stems on the last axis.

    Parameters
    ----------
    diameters : of the stems [m]

    Examples
    --------
    Stems of 4.0, 10.5 and 6.1 stand for one of 12.8 (Chojnacky and Rogers 1999, Western Journal of Applied Forestry 14,
    figure 1, read):

    >>> f"{joint_diameter([4.0, 10.5, 6.1]):.1f}"
    '12.8'
    """
    d = as_array(diameters)
    with np.errstate(invalid="ignore"):
        return as_array(np.sqrt(np.sum(np.where(d > 0, d, np.nan) ** 2, axis=-1)))


def lever_arm(tie_height: ArrayLike, diameter: ArrayLike) -> Array:
    """Lever arm of a low horizontal pull about the true turning centre [m]: tie height + min(2 d, 1 m).

    Parameters
    ----------
    tie_height, diameter : tie above the ground, and the trunk's diameter [m]
    """
    tie, d = as_array(tie_height), as_array(diameter)
    with np.errstate(invalid="ignore"):
        below = np.minimum(LOW_PULL_ARM_PER_DIAMETER.value * d, LOW_PULL_ARM_MOST.value)
        return np.where((tie >= 0) & (d > 0), tie + below, np.nan)


def turning_demand(
    pull: ArrayLike, tie_height: ArrayLike, diameter: ArrayLike, lean_moment: ArrayLike = 0.0,
    lean_from_pull_deg: ArrayLike = 0.0,
) -> Array:
    """Moment that pull and lean ask of the root plate [N m].

    Parameters
    ----------
    pull : horizontal pull, not negative [N]
    tie_height, diameter : [m]
    lean_moment : moment of the tree's own weight [N m]; a negative one leans away
    lean_from_pull_deg : direction of the lean against the pull [deg]

    Notes
    -----
    The part of the lean along the pull adds, the part away from it is not credited, and the part across it
    is added as a vector. Never less than the lean alone: the line may be slack.

    Examples
    --------
    2 kN tied at 1 m to a trunk of 25 cm turns by 3 kN m, a lean across it by 4, by hand:

    >>> round(float(turning_demand(2e3, 1.0, 0.25, 4e3, 90.0)), 6)
    5000.0
    """
    pull, lean, turn = map(as_array, (pull, lean_moment, lean_from_pull_deg))
    with np.errstate(invalid="ignore"):
        line = np.where(pull >= 0, pull, np.nan) * lever_arm(tie_height, diameter)
        along = np.maximum(lean * np.cos(np.deg2rad(turn)), 0.0)
    return as_array(np.maximum(np.hypot(line + along, lean * np.sin(np.deg2rad(turn))), np.abs(lean)))


def root_outside(
    diameter: ArrayLike, height: ArrayLike, share_lost: ArrayLike = 0.0, digging_behind: ArrayLike = 0.0,
    share_cut_off: ArrayLike = 0.0,
) -> NDArray[np.int64]:
    """Why the root plate cannot be judged, and what the reader must know: flags of `Outside`.

    Parameters
    ----------
    diameter, height : [m]
    share_lost : share of the roots that hold this pull, 0 to 1, NaN not looked [-]
    digging_behind : 1 where a trench, kerb, wall or digging lies within three diameters behind the pull, 0 where looked
        for and not found, NaN where not looked [-]
    share_cut_off : from `roots.share_cut_off`, where edges were looked for by side [-]
    """
    d, h, lost, dug, cut = broadcast(diameter, height, share_lost, digging_behind, share_cut_off)
    # Sums of sector shares carry rounding; a loss of exactly 0.3 is not over 0.3.
    slack = 1e-9
    with np.errstate(invalid="ignore", divide="ignore"):
        slim = h / d
        checks = (
            (np.isnan(d) | np.isnan(h) | np.isnan(lost), Outside.MISSING),
            ((d <= 0) | (h <= 0) | (lost < -slack) | (lost > 1 + slack), Outside.IMPOSSIBLE),
            (slim > SLENDER_PER_DIAMETER.value + slack, Outside.SLENDER),
            (lost > ROOT_LOSS_LIMIT.value + slack, Outside.ROOTS_LOST_OVER_LIMIT),
            (np.fmax(lost, cut) > ROOT_LOSS_HALF.value + slack, Outside.ROOTS_LOST_OVER_HALF),
            (np.isnan(dug) | (dug > 0), Outside.DIGGING_BEHIND),
            (slim < SQUAT_PER_DIAMETER.value - slack, Outside.SQUAT),
            (slim > HEIGHT_CAP_PER_DIAMETER.value + slack, Outside.HEIGHT_CAPPED),
        )
    outside = np.zeros(d.shape, dtype=np.int64)
    for where, flag in checks:
        outside |= np.where(where, int(flag), 0)
    return outside


def root_limit(
    diameter: ArrayLike, height: ArrayLike, tie_height: ArrayLike, pull: ArrayLike, *,
    soil_factor: ArrayLike = SOIL_FACTORS["unknown"].value, share_lost: ArrayLike = 0.0, ground_factor: ArrayLike = 1.0,
    digging_behind: ArrayLike = 0.0, share_cut_off: ArrayLike = 0.0, lean_moment: ArrayLike = 0.0,
    lean_from_pull_deg: ArrayLike = 0.0, extra_outside: ArrayLike = 0, divisor: ArrayLike = DIVISOR_GROUND_LINE,
    moment_per_d2h: ArrayLike = MOMENT_PER_D2H.value, ln_sd: ArrayLike = ROOT_LN_SD.value,
) -> LimitSums:
    """Judge the root plate of one or many trees under horizontal pulls; everything broadcasts.

    Parameters
    ----------
    diameter, height, tie_height : [m]
    pull : horizontal pull [N]
    soil_factor, ground_factor : see `SOIL_FACTORS` and `siteassess.mechanics.ground` [-]
    share_lost : share of the holding roots lost; from `roots.holding_share_lost` where sectors were looked at, else one
        number for the whole tree [-]
    digging_behind : 1 yes, 0 looked for and none, NaN not looked [-]
    share_cut_off : see `root_outside` [-]
    lean_moment, lean_from_pull_deg : from `siteassess.mechanics.ownweight` [N m], [deg]
    extra_outside : further `Outside` flags, such as those of the ground [-]
    divisor : 1.5, or 2.0 for high lines and aerial equipment [-]
    moment_per_d2h, ln_sd : of the kind of tree; those of a tree of any kind where not given [N m/m^3], [ln]
    """
    lost = as_array(share_lost)
    median = root_capacity(diameter, height, soil_factor, 1.0 - lost, ground_factor, moment_per_d2h)
    demand = turning_demand(pull, tie_height, diameter, lean_moment, lean_from_pull_deg)
    outside = root_outside(diameter, height, lost, digging_behind, share_cut_off)
    outside = outside | np.asarray(extra_outside, dtype=np.int64)
    with np.errstate(invalid="ignore"):
        away = np.asarray(lean_moment) * np.cos(np.deg2rad(lean_from_pull_deg)) < -1e-9
    outside = outside | np.where(away, int(Outside.LEANS_AWAY), 0)
    return make_limit("root plate", median, ln_sd, demand, divisor, outside)


def combined_pull(
    pulls: ArrayLike, bearings_deg: ArrayLike, tie_heights: ArrayLike, diameter: ArrayLike
) -> tuple[Array, Array, Array]:
    """Several lines on one tree as one pull: moments add as vectors.

    Parameters
    ----------
    pulls, bearings_deg, tie_heights : one entry per line on the last axis [N], [deg true], [m]
    diameter : of the trunk [m]

    Returns
    -------
    pull, bearing_deg, tie_height : ndarray
        The single horizontal pull that turns the tree alike [N], its bearing [deg true] and tie height [m].
        Opposed lines cancel here, so each line alone must be judged too: one may be slackened first. The
        trunk is not judged by it, since its arms differ.

    Examples
    --------
    400 N and 600 N at 75.52 degrees make 800 N (Hibbeler, Statics, SI ed. of 2013, two forces on a screw eye, with a
    worked solution; read).

    >>> pull, bearing, tie = combined_pull([400.0, 600.0], [0.0, 75.52], [1.5, 1.5], 0.40)
    >>> round(float(pull))
    800
    """
    F, bearing, tie = broadcast(pulls, bearings_deg, tie_heights)
    d = as_array(diameter)
    arm = lever_arm(tie, d[..., None])
    east, north = np.sin(np.deg2rad(bearing)), np.cos(np.deg2rad(bearing))
    with np.errstate(invalid="ignore"):
        F = np.where(F >= 0, F, np.nan)
    moment = np.hypot(np.sum(F * arm * east, axis=-1), np.sum(F * arm * north, axis=-1))
    direction = np.arctan2(np.sum(F * arm * east, axis=-1), np.sum(F * arm * north, axis=-1))
    # The mean arm of the lines, weighted by pull, keeps the equivalent pull inside the range of the parts.
    with np.errstate(invalid="ignore", divide="ignore"):
        total = np.sum(F, axis=-1)
        mean_arm = np.where(total > 0, np.sum(F * arm, axis=-1) / total, np.mean(arm, axis=-1))
    mean_tie = mean_arm - lever_arm(0.0, d)
    return as_array(moment / mean_arm), as_array(np.mod(np.rad2deg(direction), 360.0)), as_array(mean_tie)
