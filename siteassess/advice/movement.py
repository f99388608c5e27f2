"""How one line drags its sling over one trunk, and the arcs of bark that rub, press, or stay free."""

from __future__ import annotations

import math

from siteassess.advice.care_results import Arc, Movement
from siteassess.advice.line_inputs import LineInputs
from siteassess.advice.results import Load
from siteassess.advice.sling_inputs import SlingInputs
from siteassess.errors import OutsideModel
from siteassess.mechanics.bark import Contact, half_angle, rub_arcs_deg
from siteassess.mechanics.line_load import UNNAMED_WALKER
from siteassess.mechanics.linkmove import (
    NEAREST_WALK,
    SIDE_PUSH,
    STRENGTH_PER_WIDTH,
    compliance,
    rubbed_inwards,
    slide_along,
    swing_deg,
    tilt_at_touchdown,
)
from siteassess.reference.constants import constant
from siteassess.reference.tables import rows

SUSTAINED = ("standing", "lying")
ONCE = ("fall at an anchor", "backup catch")  # nobody's sling rubs by these: they turn it steeply down, once
LET_GO = ("hammock", "aerial equipment")  # uses in which the sling hangs slack between times
MEET_DEG = constant("rub arcs meet")
PLACED_BY_EYE_M = constant("placed by eye")


def movement_of(
    line: LineInputs, loads: tuple[Load, ...], sling: SlingInputs, contact: Contact | None, radius: float,
    link: float | None,
) -> Movement | None:  # fmt: skip
    """Movement of a sling between the load cases; None where the pull or the contact is not known.

    Parameters
    ----------
    radius : float
        Of the trunk with its padding [m].
    link : float or None
        Distance of the link from the trunk's centre [m]; parallel legs where None.
    """
    still = next((load for load in loads if load.case in SUSTAINED), None)
    if still is None or contact is None:
        return None
    hardest = max(load.tension_n for load in loads)
    weight = _weight_at_anchor(line, still)
    swing = float(swing_deg(weight, still.horizontal_n, SIDE_PUSH[line.use].value))
    low_dip, high_dip = _dips(line, loads, still, weight)
    per_newton = float(contact.strand_n) / still.tension_n  # tension of a strand for each newton of the line
    low = 0.0 if line.use in LET_GO else min(load.tension_n for load in loads) * per_newton
    high = hardest * per_newton
    stretch, mu = _stretch(sling), friction_of(sling).low
    theta = float(contact.contact_rad)
    b = float(contact.half_angle_rad)
    two_legs = sling.wrap not in ("choker", "friction")  # one strand runs to the line: its touch-down stays put
    slack_b = _after_stretch(b, radius, link, (high - low) * stretch) if two_legs else b
    return Movement(
        swing_deg=swing, slide_m=float(slide_along(low, high, theta, radius, mu, stretch)),
        rubbed_inwards_deg=math.degrees(rubbed_inwards(low, high, theta, radius, mu, stretch)),
        up_down_m=abs(float(tilt_at_touchdown(low_dip, high_dip, radius, b))),
        link_sideways_m=link * math.tan(math.radians(swing)) if link else None,
        dip_low_deg=low_dip, dip_high_deg=high_dip,
        half_angle_low_deg=math.degrees(slack_b),
        half_angle_high_deg=math.degrees(b),
    )  # fmt: skip


def friction_of(sling: SlingInputs):
    """Row of the table of friction between the sling, or its pad, and the bark."""
    wanted = "strap on carpet" if sling.pad_material else "strap on bark"
    return next(row for row in rows("friction") if row.pair == wanted)


def _weight_at_anchor(line: LineInputs, still: Load) -> float:
    """Greatest part of a user's weight that reaches one anchor [N]: that of a walker near it, half of one who hangs."""
    weight = line.load if line.load is not None else UNNAMED_WALKER
    if line.use == "hammock":
        return abs(still.vertical_n)
    if line.use == "aerial equipment":
        return weight / 2
    return weight * (1.0 - NEAREST_WALK.value)


def _dips(line: LineInputs, loads: tuple[Load, ...], still: Load, weight: float) -> tuple[float, float]:
    """Least and greatest angle of the pull below level [deg]."""
    seen = [math.degrees(math.atan2(load.vertical_n, load.horizontal_n)) for load in loads if load.case not in ONCE]
    if line.use not in LET_GO and len(loads) > 1:
        seen.append(math.degrees(math.atan2(still.vertical_n + weight, still.horizontal_n)))
    return min(seen), max(seen)


def _stretch(sling: SlingInputs) -> float:
    """Stretch of one strand for each newton [1/N]."""
    strength = sling.rating or STRENGTH_PER_WIDTH.value * (sling.width or 0.025)
    return float(compliance(strength))


def _after_stretch(b: float, radius: float, link: float | None, strain: float) -> float:
    """Half angle once the sling has stretched and the link has moved out by half of that [rad]."""
    if not link:
        return b
    length = 2 * math.sqrt(max(link**2 - radius**2, 0.0)) + radius * (math.pi + 2 * b)
    return float(half_angle(radius, link + strain * length / 2))


def arcs_of(
    bearing: float, wrap: str, contact: Contact | None, moved: Movement | None, radius: float
) -> tuple[Arc, ...]:
    """Where the sling rubs, where it only presses and where it stays off, clockwise from the right-hand touch-down.

    Parameters
    ----------
    bearing : float
        Of the pull [deg true]; NaN where unknown, and then no arc is told.
    moved : Movement or None
        None where the movement is not known: the whole contact then counts as rubbed.

    Notes
    -----
    The points of touch-down sweep with the pull and with the half angle; the creep of the stretching strand adds to
    them inwards. Nothing moving leaves press alone.
    """
    if not math.isfinite(bearing) or contact is None:
        return ()
    if wrap == "choker":
        return (Arc("rub", bearing % 360, bearing % 360),)  # it slips round the whole ring as the pull changes
    b = math.degrees(float(contact.half_angle_rad))
    if moved is None:
        return (Arc("rub", (bearing + 90 - b) % 360, (bearing - 90 + b) % 360), *_front(wrap, bearing, b))
    try:
        right, left = _rub_arcs(bearing, moved, radius)
    except OutsideModel:
        return (Arc("rub", bearing % 360, bearing % 360),)
    if right is None:
        start, end = (bearing + 90 - b) % 360, (bearing - 90 + b) % 360
        return (Arc("press", start, end), *_front(wrap, bearing, b))
    between = (left[0] - right[1]) % 360
    if between >= 180 + 2 * b or between < MEET_DEG:  # the two have met behind the trunk
        return (Arc("rub", right[0], left[1]), *_front_of(wrap, left[1], right[0]))
    return (Arc("rub", *right), Arc("press", right[1], left[0]), Arc("rub", *left), *_front_of(wrap, left[1], right[0]))


def _rub_arcs(bearing: float, moved: Movement, radius: float):
    """Right and left rub arcs [deg true], None where nothing moves."""
    if not moved.rubs:
        return None, None
    bearings = [bearing + turn for turn in (-moved.swing_deg, 0.0, moved.swing_deg) for _ in range(2)]
    halves = [math.radians(half) for half in (moved.half_angle_low_deg, moved.half_angle_high_deg)] * 3
    right, left = rub_arcs_deg(bearings, halves)
    margin = math.degrees(PLACED_BY_EYE_M / radius)
    inwards = moved.rubbed_inwards_deg
    return (
        ((right[0] - margin) % 360, (right[1] + inwards + margin) % 360),
        ((left[0] - inwards - margin) % 360, (left[1] + margin) % 360),
    )


def _front(wrap: str, bearing: float, b: float) -> tuple[Arc, ...]:
    return _front_of(wrap, (bearing - 90 + b) % 360, (bearing + 90 - b) % 360)


def _front_of(wrap: str, start: float, end: float) -> tuple[Arc, ...]:
    """The side of the pull: free under a basket, pressed where turns go all the way round."""
    return (Arc("press" if wrap in ("turns", "friction") else "free", start, end),)
