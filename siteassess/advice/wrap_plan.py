"""How to tie: method with reasons, length, leg angle, what keeps the sling from sliding, how its strands share.

How the line drags its sling over the trunk, and the arcs of bark that rub, press or stay free, are worked out first.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any

from siteassess.advice.care import SUSTAINED, Care, strands_of
from siteassess.advice.care_results import Arc, Movement
from siteassess.advice.gear_inputs import SlingInputs
from siteassess.advice.line_inputs import LineInputs
from siteassess.advice.results import Load
from siteassess.advice.tree_inputs import TreeInputs
from siteassess.errors import OutsideModel
from siteassess.mechanics.bark import NEAREST_LINK, ONE_STRAND, Contact, half_angle, rub_arcs_deg, slide_use
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
from siteassess.mechanics.padding import rub_shear_use
from siteassess.mechanics.sling import WIDEST_ANGLE, basket, held_by_turns, knots_length, sling_length
from siteassess.mechanics.taper import TAPER_PER_METRE
from siteassess.records.line import FROM_HEIGHT
from siteassess.reference.constants import constant
from siteassess.reference.findings import Said, said
from siteassess.reference.tables import rows

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
    two_legs = sling.wrap not in ONE_STRAND  # one strand runs to the line: its touch-down stays put
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


def friction_of(sling: SlingInputs) -> Any:
    """Row of the table of friction between the sling, or its pad, and the bark."""
    wanted = "strap on carpet" if sling.pad_material else "strap on bark"
    return next(row for row in rows("friction") if row.pair == wanted)


def _weight_at_anchor(line: LineInputs, still: Load) -> float:
    """Greatest part of a user's weight that reaches one anchor [N]: that of a walker near it, half of one who hangs."""
    weight = line.load if line.load is not None else UNNAMED_WALKER
    if line.hung:
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
        rubbed = _rub_arcs(bearing, moved, radius)
    except OutsideModel:
        return (Arc("rub", bearing % 360, bearing % 360),)
    if rubbed is None:
        start, end = (bearing + 90 - b) % 360, (bearing - 90 + b) % 360
        return (Arc("press", start, end), *_front(wrap, bearing, b))
    right, left = rubbed
    between = (left[0] - right[1]) % 360
    if between >= 180 + 2 * b or between < MEET_DEG:  # the two have met behind the trunk
        return (Arc("rub", right[0], left[1]), *_front_of(wrap, left[1], right[0]))
    return (Arc("rub", *right), Arc("press", right[1], left[0]), Arc("rub", *left), *_front_of(wrap, left[1], right[0]))


def _rub_arcs(
    bearing: float, moved: Movement, radius: float
) -> tuple[tuple[float, float], tuple[float, float]] | None:
    """Right and left rub arcs [deg true], None where nothing moves."""
    if not moved.rubs:
        return None
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


BETTER_ANGLE_DEG = constant("better sling angle")
SLIDES_OVER = constant("slides over")
ACROSS_THE_GRAIN = constant("across the grain")
HOLDING_TURNS = constant("holding turns")
WIDE_ANGLE_DEG = constant("wide sling angle")
WHY = {"basket": "tie-basket", "doubled": "tie-doubled", "choker": "tie-choker", "turns": "tie-turns",
       "friction": "tie-friction"}  # fmt: skip


@dataclass(frozen=True)
class WrapPlan:
    """One tie. Lengths in metres."""

    length_m: float | None  # of the sling or rope in the wrap
    with_knots_m: float | None  # a rope's with two knots and tails
    leg_angle_deg: float | None
    better_link_m: float | None  # distance of the link that brings the legs within 60 degrees
    slide_use: float | None  # share of the friction that creep along the stem uses
    rub_use: float | None  # share of the bark's bond that dragging uses
    reasons: tuple[Said, ...]
    advice: tuple[Said, ...]


def wrap_plan(
    tree: TreeInputs, loads: tuple[Load, ...], sling: SlingInputs, care: Care, moved: Movement | None, use: str,
    growing: bool, outer: float, link: float,
) -> WrapPlan:  # fmt: skip
    """The tie of one end.

    Parameters
    ----------
    growing : bool
        Whether the cambium may be at work.
    outer : float
        Diameter of trunk and padding together [m].
    link : float
        Distance of the link from the trunk's centre [m].
    """
    length, angle = _length(sling, outer, link)
    better = outer / 2 / math.sin(math.radians(BETTER_ANGLE_DEG / 2))
    creep = _creep(loads, sling, care)
    rub = _rub(tree, sling, care, growing)
    return WrapPlan(
        length_m=length, with_knots_m=_with_knots(sling, length), leg_angle_deg=angle, better_link_m=better,
        slide_use=creep, rub_use=rub, reasons=_reasons(sling, care),
        advice=(*_angle_advice(sling, angle, better, outer), *_at_hand(sling, outer, length),
                *_sharing(sling, care, length), *_creep_advice(creep, tree), *_rub_advice(rub, moved, sling),
                *_second(use), *_turns(sling)),
    )  # fmt: skip


def _length(sling: SlingInputs, outer: float, link: float) -> tuple[float | None, float | None]:
    """Sling length [m] and angle between the legs [deg]."""
    try:
        legs = None if sling.wrap in ONE_STRAND else basket(0.0, outer, link).included_deg
        return sling_length(outer, link, sling.wrap, _turns_of(sling)), legs
    except OutsideModel:
        return None, None


def _turns_of(sling: SlingInputs) -> int:
    return int(HOLDING_TURNS) if sling.wrap == "friction" else 2 if sling.wrap == "turns" else 1


def _with_knots(sling: SlingInputs, length: float | None) -> float | None:
    if sling.kind != "rope" or length is None or not sling.width:
        return None
    return length + knots_length(sling.width)


def _reasons(sling: SlingInputs, care: Care) -> tuple[Said, ...]:
    return (*_why_proposed(sling, care), said(WHY[sling.wrap]))


def _why_proposed(sling: SlingInputs, care: Care) -> tuple[Said, ...]:
    if not sling.proposed:
        return ()
    if math.isnan(care.use):
        return (said("no-sling-common-width"),)
    return (said("no-sling-widest") if care.use > 1 else said("no-sling-narrowest", use=care.use),)


def _angle_advice(sling: SlingInputs, angle: float | None, better: float, outer: float) -> tuple[Said, ...]:
    if sling.wrap in ONE_STRAND:
        return ()
    if angle is None:
        return (said("legs-past-the-limit", nearest=outer / 2 * NEAREST_LINK, most=WIDEST_ANGLE, better=better,
                     aim=BETTER_ANGLE_DEG),)  # fmt: skip
    if angle <= BETTER_ANGLE_DEG:
        return (said("legs-within", angle=angle, most=WIDEST_ANGLE),)
    told = said("legs-wide", angle=angle, most=WIDEST_ANGLE, better=better, aim=BETTER_ANGLE_DEG)
    return (told, said("or-a-spreader")) if angle > WIDE_ANGLE_DEG else (told,)


def _at_hand(sling: SlingInputs, outer: float, wanted: float | None) -> tuple[Said, ...]:
    """Where the sling that was recorded puts its link."""
    if sling.length is None or sling.wrap not in ("basket", "doubled"):
        return ()
    shortest = shortest_sling(sling, outer)
    if sling.length < shortest:
        if not wanted:
            return (said("sling-under-the-least", length=sling.length, least=shortest),)
        return (said("sling-reaches-no-legs", length=sling.length, least=shortest, most=WIDEST_ANGLE, wanted=wanted),)
    link = _link_of(sling.length, sling.wrap, outer)
    angle = float(basket(0.0, outer, link).included_deg)
    return (said("sling-sets-its-link", length=sling.length, link=link, angle=angle),)


def shortest_sling(sling: SlingInputs, outer: float) -> float:
    """Least length of a sling whose legs stay within 120 degrees, round trunk and padding [m]; 0 for other wraps."""
    if sling.wrap not in ("basket", "doubled"):
        return 0.0
    return sling_length(outer, outer / 2 * NEAREST_LINK, sling.wrap)


def _link_of(length: float, wrap: str, outer: float) -> float:
    """Distance of the link that uses up a sling's length [m]; the length grows steadily with it."""
    low, high = outer / 2 * NEAREST_LINK, outer / 2 + length
    for _ in range(60):
        middle = (low + high) / 2
        low, high = (middle, high) if sling_length(outer, middle, wrap) < length else (low, middle)
    return low


def _sharing(sling: SlingInputs, care: Care, length: float | None) -> tuple[Said, ...]:
    """How the strands share, with the difference in length that leaves one of two slack."""
    if strands_of(sling) < 2 or care.contact is None or length is None:
        return ()
    strength = sling.rating or STRENGTH_PER_WIDTH.value * (sling.width or 0.025)
    pair = 2 * float(care.contact.strand_n)
    one = length / 2 if sling.wrap == "doubled" else length
    slack = pair * float(compliance(strength)) * one
    return said("strands-side-by-side"), said("strand-hangs-slack", longer=max(slack, 1e-3), when=care.when())


def _creep(loads: tuple[Load, ...], sling: SlingInputs, care: Care) -> float | None:
    """Greatest share of the friction that creep along the stem uses, over all cases."""
    if care.contact is None or not loads:
        return None
    still = care.contact_tension
    uses = []
    for load in loads:
        if not load.tension_n > 0:  # a backup that stays slack hangs there by its own weight alone
            continue
        strand = float(care.contact.strand_n) * load.tension_n / still
        # an upward pull meets a trunk that grows thinner; a downward one is given no help by its growing thicker
        taper = math.atan(TAPER_PER_METRE.value / 2) if load.vertical_n < 0 else 0.0
        uses.append(float(slide_use(load.vertical_n, strand, care.contact.contact_rad, friction_of(sling).value, taper,
                                    strands_of(sling))))  # fmt: skip
    return max(uses)


def _creep_advice(creep: float | None, tree: TreeInputs) -> tuple[Said, ...]:
    if creep is None:
        return ()
    if creep >= 1:
        return (said("sling-slides", use=creep),)
    if tree.bark_smooth is not False:
        return (said("sling-may-creep-on-smooth-bark", use=creep),)
    return (said("sling-may-creep" if creep >= SLIDES_OVER else "friction-keeps-it", use=creep),)


def _rub(tree: TreeInputs, sling: SlingInputs, care: Care, growing: bool) -> float | None:
    """Share of the bark's bond to the wood that dragging friction uses."""
    if care.bare_pressure is None:
        return None
    bond = bond_strength(tree.species.genus, growing)
    return float(rub_shear_use(care.pressure, friction_of(sling).high, bond / ACROSS_THE_GRAIN))


def bond_strength(genus: str, growing: bool) -> float:
    """Bond of bark to wood along the stem [Pa]: the genus' own lowest value, else the lowest read."""
    state = [row for row in rows("bark_bond") if row.state == ("growing" if growing else "dormant")]
    own = [row for row in state if row.scientific_name.split()[0] == genus] or state
    return 1e6 * float(min(row.strength_low_mpa or row.strength_value_mpa for row in own))


def _rub_advice(rub: float | None, moved: Movement | None, sling: SlingInputs) -> tuple[Said, ...]:
    if rub is None or rub <= 1 or (moved is not None and not moved.rubs):
        return ()
    return (said("sling-drags-the-bark", use=rub),)


def _second(use: str) -> tuple[Said, ...]:
    return (said("second-sling"),) if use in FROM_HEIGHT else ()


def _turns(sling: SlingInputs) -> tuple[Said, ...]:
    if sling.wrap != "friction":
        return ()
    left = float(held_by_turns(HOLDING_TURNS, friction_of(sling).low))
    return (said("tail-to-lock", turns=HOLDING_TURNS, left=left),)
