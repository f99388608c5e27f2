"""How hard a sling presses on a trunk, and the pressure it is held against; what spreads it is in `padding`.

Belt statics: a strand under tension T round a cylinder of radius r presses T/r per metre of strand, so T/(r w)
on a bearing width w. Friction lets the tension fall towards the back of the trunk, never rise, so the value at
the two points where the strands touch down is the greatest. Turns round the trunk do not share that tension;
only strands that all run to the link do.

The reference pressure is a judgement, not a measured limit of injury: no published measurement of lasting
pressure on living bark was found.

References
----------
[1] Vilkovsky, Vilkovska, Klement, Cunderlik (2022), Forests 13(5):637: shear strength of the bond between bark
    and wood, dormant 0.48 to 0.49 MPa in oak and beech (read, abstract). Half of it gives the 250 kPa used here
    (judgement: a scale, not a proof, since the bond's shear strength is not a crushing strength).
[2] Basel city gardens, sheet on slacklines: 40 cm trunk, 10 cm strap, two strands side by side halve the
    pressure (read). 8 kN then presses 200 kPa, or 100 kPa doubled (derived).
[3] Statics of a belt on a cylinder (derived here).
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from siteassess.errors import OutsideModel
from siteassess.mechanics.arrays import Array, as_array, broadcast, not_negative, positive
from siteassess.mechanics.sling import WIDEST_ANGLE
from siteassess.reference.constants import constant, constants
from siteassess.units import show

WRAPS = ("basket", "doubled", "choker", "turns", "friction")
ONE_STRAND = ("choker", "friction")  # wraps that send one strand to the line, which carries all of it: no legs to open
NEAREST_LINK = 1.0 / math.sin(math.radians(WIDEST_ANGLE / 2.0))
"""Least distance of the link from the trunk's centre, in trunk radii: there the legs meet at the widest angle."""
BARK_READINGS = ("bark-low", "bark-moderate", "bark-over", "bark-far-over")  # codes; the first two ask for nothing
BARK_UNREAD = "bark-unread"


@dataclass(frozen=True)
class Contact:
    """How a wrap bears on the trunk."""

    strand_n: Array  # greatest tension in one strand [N]
    half_angle_rad: Array  # angle between a leg and the line of pull [rad]
    contact_rad: Array  # angle of trunk that one strand touches, all turns counted [rad]
    pressure_pa: Array  # greatest mean pressure under the strands [Pa]


def half_angle(radius: ArrayLike, link_distance: ArrayLike | None = None) -> Array:
    """Angle between one leg of a basket and the line of pull.

    Parameters
    ----------
    radius : radius of the trunk under the sling [m]
    link_distance : distance of the link from the trunk's centre [m]; parallel legs if not given

    Returns
    -------
    sin b = r / L [rad]; 0 for parallel legs.

    Raises
    ------
    OutsideModel : if a link lies nearer than 1.155 radii, where the legs would open past 120 degrees

    Examples
    --------
    A link two radii from the centre, by hand asin(1/2):

    >>> f"{np.degrees(half_angle(0.2, 0.4)):.1f}"
    '30.0'
    """
    r = positive("trunk radius", radius)
    if link_distance is None:
        return np.zeros_like(r)
    distance = positive("distance of the link", link_distance)
    if np.any(distance < r * NEAREST_LINK * (1.0 - 1e-3)):
        nearest = float(np.max(r * NEAREST_LINK))
        raise OutsideModel(
            f"the link must lie at least {show(nearest, 'm 3')} from the trunk's centre ({NEAREST_LINK:.3f} radii), "
            f"or the legs open past {show(WIDEST_ANGLE, 'degrees 0')}: take a longer sling",
            "link-within-the-legs", nearest=nearest, radii=NEAREST_LINK, widest=WIDEST_ANGLE,
        )
    return as_array(np.arcsin(r / distance))


def press(
    pull: ArrayLike, diameter: ArrayLike, width: ArrayLike, link_distance: ArrayLike | None = None,
    wrap: str = "basket", strands: int | None = None, turns: float = 1,
) -> Contact:
    """Strand tension, contact and greatest mean pressure of a wrap.

    Parameters
    ----------
    pull : force of the line on the trunk [N]
    diameter : diameter of the trunk under the sling [m]
    width : bearing width of one strand; the diameter for a rope [m]
    link_distance : distance of the link from the trunk's centre [m]; parallel legs if not given. Not used by a choker
        or a wrap that holds by friction, whose one strand carries the whole pull.
    wrap : {'basket', 'doubled', 'choker', 'turns', 'friction'}
        How the sling or rope goes round the trunk. `turns`: several round turns, both ends to the link.
        `friction`: round turns, one end to the line, the other held by friction alone.
    strands : strands side by side that all run to the link; 2 if doubled, else 1. Refused above 1 for `turns` and
        `friction`, since turns do not share the pull.
    turns : times round the trunk, for `turns` and `friction`; it lengthens the contact and divides nothing [-]

    Raises
    ------
    OutsideModel : on a wrap not listed, a width or diameter that is not positive, or a link too near

    Notes
    -----
    The pressure leaves friction out, which can only lower it towards the back of the trunk [3]_. A strap is
    taken as flat and evenly loaded over its width; one that is folded or on edge presses more.

    Examples
    --------
    Basel city gardens [2]_: 10 cm of strap round 40 cm, doubled and not, here under the 8 kN of Leipzig's sheet (read):

    >>> [round(float(press(8e3, 0.40, 0.10, wrap=wrap).pressure_pa)) for wrap in ("basket", "doubled")]
    [200000, 100000]
    """
    if wrap not in WRAPS:
        raise OutsideModel(f"wrap {wrap!r}: wanted one of {', '.join(WRAPS)}", "no-such-wrap", wrap=wrap,
                           wraps=tuple(WRAPS))
    count = (2 if wrap == "doubled" else 1) if strands is None else int(strands)
    if count < 1:
        raise OutsideModel(f"strands {strands}: wanted 1 or more", "strands-under-one", strands=strands)
    if count > 1 and wrap in ("turns", "friction"):
        raise OutsideModel("turns do not share the pull: count as strands only those that all run to the link",
                           "turns-share-nothing")

    force = not_negative("pull", pull)
    radius = positive("trunk diameter", diameter) / 2.0
    bearing = positive("bearing width", width)
    if wrap in ONE_STRAND:
        b = np.zeros_like(radius)
        strand = force / count
    else:
        b = half_angle(radius, link_distance)
        strand = force / (2.0 * count * np.cos(b))
    contact = {
        "choker": 2.0 * math.pi + 0.0 * b,
        "turns": math.pi + 2.0 * b + 2.0 * math.pi * max(float(turns) - 1.0, 0.0),
        "friction": 2.0 * math.pi * float(turns) + 0.0 * b,
    }.get(wrap, math.pi + 2.0 * b)
    return Contact(as_array(strand), b, as_array(contact), as_array(strand / (radius * bearing)))


def slide_use(
    down: ArrayLike, strand_tension: ArrayLike, contact: ArrayLike, friction: ArrayLike, taper: ArrayLike = 0.0,
    strands: int = 1,
) -> Array:
    """Share of the friction that keeps a wrap from creeping along the stem.

    Parameters
    ----------
    down : part of the pull along the stem, either way [N]
    strand_tension : tension in one strand [N]
    contact : angle of contact of one strand [rad]
    friction : friction coefficient [-]
    taper : angle of the trunk's side to its axis [rad]; the trunk growing thinner along `down` makes it worse
    strands : strands that bear

    Returns
    -------
    1 and above: it creeps. Infinite where nothing presses.

    Notes
    -----
    Takes the normal force n T theta round the contact as wholly free to resist creep. Part of the friction is
    already used where the line swings, so ask for a share well under 1 (judgement: 0.5).
    """
    normal = strands * as_array(strand_tension) * as_array(contact)
    wanted = np.abs(as_array(down)) + normal * np.sin(taper)
    held = as_array(friction) * normal * np.cos(taper)
    with np.errstate(divide="ignore", invalid="ignore"):
        return np.where(held > 0.0, wanted / held, np.where(wanted > 0.0, np.inf, 0.0))


def rub_arcs_deg(
    pull_bearings: ArrayLike, half_angles_rad: ArrayLike = 0.0
) -> tuple[tuple[float, float], tuple[float, float]]:
    """Arcs that the touch-down points sweep while the pull swings.

    Parameters
    ----------
    pull_bearings : true bearings of the pull in the cases a session meets [deg], within a half circle of each other
    half_angles_rad : angle between a leg and the line of pull in each case [rad]

    Returns
    -------
    right, left : tuple of float
        Start and end of the swept arc, clockwise, right and left of the pull [deg true]. Start equals end where
        nothing moves: there the sling only presses.

    Raises
    ------
    OutsideModel : if the bearings differ by half a circle or more
    """
    bearings = np.atleast_1d(as_array(pull_bearings))
    swing = (bearings - bearings[0] + 180.0) % 360.0 - 180.0
    if np.ptp(swing) >= 180.0:
        raise OutsideModel("the pull swings through half a circle or more: treat it as two lines",
                           "pull-swings-half-round")
    touch = 90.0 - np.degrees(np.broadcast_to(half_angles_rad, bearings.shape))
    right, left = bearings[0] + swing + touch, bearings[0] + swing - touch
    return (
        (float(right.min() % 360.0), float(right.max() % 360.0)),
        (float(left.min() % 360.0), float(left.max() % 360.0)),
    )


BASE = constant("bark reference pressure")
GROWING = constant("bark growing")
GROWING_THIN = constant("thin bark growing")
THICK_OVER = constant("bark thick over")
THIN_UNDER = constant("bark thin under")
THIN_BARK = constant("thin bark")
STRESSED = constant("tree stressed")
WEEKLY = constant("tree used weekly")
LEAST_PRODUCT = constant("least bark product")
PEAK_PRESSURE = constant("peak bark pressure")
BARK_BANDS = tuple(constants("bark band").values())
BARK_ASSUMPTIONS = (
    BASE, GROWING, GROWING_THIN, THICK_OVER, THIN_UNDER, THIN_BARK, STRESSED, WEEKLY, LEAST_PRODUCT,
    PEAK_PRESSURE, *BARK_BANDS,
)


def reference_pressure(
    growing: bool | None = None, bark_thickness: ArrayLike | None = None, smooth: bool | None = None,
    stressed: bool = False, weekly: bool = False, base: float = BASE.value,
) -> Array:
    """Pressure that a sling's mean pressure is compared with.

    Parameters
    ----------
    growing : whether the cambium is at work; not known counts as growing
    bark_thickness : thickness of the bark under the sling [m]; not known (None or NaN) counts as thin
    smooth : whether the bark is smooth, papery or otherwise thin-skinned; not known counts as smooth
    stressed : whether drought, wounds or poor health weaken the tree
    weekly : whether the same tree is used about weekly or more
    base : reference on thick dormant bark of a sound tree seldom used [Pa]

    Returns
    -------
    Base times the factors, their product never below 0.35 [Pa].
    """
    thickness = as_array(np.nan if bark_thickness is None else bark_thickness)
    thick = (thickness - THIN_UNDER.value) / (THICK_OVER.value - THIN_UNDER.value)
    thick = np.where(np.isnan(thick) | (smooth is None or bool(smooth)), 0.0, np.clip(thick, 0.0, 1.0))
    bark = THIN_BARK.value ** (1.0 - thick)
    in_growth = growing is None or bool(growing)
    season = GROWING_THIN.value ** (1.0 - thick) * GROWING.value**thick if in_growth else 1.0
    product = bark * season * (STRESSED.value if stressed else 1.0) * (WEEKLY.value if weekly else 1.0)
    return as_array(base * np.maximum(product, LEAST_PRODUCT.value))


def reading(use: ArrayLike, peak_pressure: ArrayLike = 0.0) -> str | NDArray[np.str_]:
    """Our reading of a share of the reference pressure, as a code.

    Parameters
    ----------
    use : pressure at standing tension over the reference pressure [-]
    peak_pressure : pressure in the hardest load case [Pa]; over 1,000 kPa asks for a remedy whatever the use

    Returns
    -------
    One of `BARK_READINGS`, or `BARK_UNREAD` where either is NaN. A bark limit is a judgement, so no reading rejects a
    tree by itself.
    """
    share, peak = broadcast(use, peak_pressure)
    step = np.searchsorted([band.value * (1.0 + 1e-9) for band in BARK_BANDS], share)  # a band's edge belongs to it
    step = np.where(peak > PEAK_PRESSURE.value, len(BARK_READINGS) - 1, step)
    words = np.where(np.isnan(share) | np.isnan(peak), BARK_UNREAD, np.array(BARK_READINGS)[step])
    return str(words) if words.ndim == 0 else words
