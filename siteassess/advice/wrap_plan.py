"""How to tie: method with reasons, length, leg angle, what keeps the sling from sliding, how its strands share."""

from __future__ import annotations

import math
from dataclasses import dataclass

from siteassess.advice.care import Care, strands_of
from siteassess.advice.care_results import Movement
from siteassess.advice.movement import friction_of
from siteassess.advice.results import Load
from siteassess.advice.sling_inputs import SlingInputs
from siteassess.advice.tree_inputs import TreeInputs
from siteassess.errors import OutsideModel
from siteassess.mechanics.bark import NEAREST_LINK, slide_use
from siteassess.mechanics.linkmove import STRENGTH_PER_WIDTH, compliance
from siteassess.mechanics.padding import rub_shear_use
from siteassess.mechanics.sling import WIDEST_ANGLE, basket, held_by_turns, knots_length, sling_length
from siteassess.mechanics.taper import TAPER_PER_METRE
from siteassess.reference.constants import constant
from siteassess.reference.tables import rows

BETTER_ANGLE_DEG = constant("better sling angle")
SLIDES_OVER = constant("slides over")
ACROSS_THE_GRAIN = constant("across the grain")
HOLDING_TURNS = constant("holding turns")
WIDE_ANGLE_DEG = constant("wide sling angle")


@dataclass(frozen=True)
class WrapPlan:
    """One tie. Lengths in metres."""

    length_m: float | None  # of the sling or rope in the wrap
    with_knots_m: float | None  # a rope's with two knots and tails
    leg_angle_deg: float | None
    better_link_m: float | None  # distance of the link that brings the legs within 60 degrees
    slide_use: float | None  # share of the friction that creep along the stem uses
    rub_use: float | None  # share of the bark's bond that dragging uses
    reasons: tuple[str, ...]
    advice: tuple[str, ...]


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
        legs = None if sling.wrap == "choker" else basket(0.0, outer, link).included_deg
        return sling_length(outer, link, sling.wrap, _turns_of(sling)), legs
    except OutsideModel:
        return None, None


def _turns_of(sling: SlingInputs) -> int:
    return int(HOLDING_TURNS) if sling.wrap == "friction" else 2 if sling.wrap == "turns" else 1


def _with_knots(sling: SlingInputs, length: float | None) -> float | None:
    if sling.kind != "rope" or length is None or not sling.width:
        return None
    return length + knots_length(sling.width)


def _reasons(sling: SlingInputs, care: Care) -> tuple[str, ...]:
    by_wrap = {
        "basket": "a basket bears on the back of the trunk and leaves the pull side free",
        "doubled": "two strands side by side halve the pressure; spread them so that none lies on the other",
        "choker": "a choker grips the whole ring of bark and presses up to twice as hard: tie a basket instead",
        "turns": "turns of rope keep the height; they do not share the pull, so the pressure is that of one turn",
        "friction": "turns held by friction press twice as hard as a wrap with both ends to the link",
    }
    return (*_why_proposed(sling, care), by_wrap[sling.wrap])


def _why_proposed(sling: SlingInputs, care: Care) -> tuple[str, ...]:
    if not sling.proposed:
        return ()
    if math.isnan(care.use):
        return ("no sling was planned; this is the least width that land managers commonly ask for",)
    if care.use > 1:
        return ("no sling was planned; this is the widest sold one, doubled, and it still passes our reference",)
    return ("no sling was planned; this is the narrowest sold one, single before doubled, that stays within our "
            f"reference: it uses {care.use:.0%} of it",)  # fmt: skip


def _angle_advice(sling, angle: float | None, better: float, outer: float) -> tuple[str, ...]:
    if sling.wrap == "choker":
        return ()
    if angle is None:
        nearest = outer / 2 * NEAREST_LINK
        return (f"the link sits too near: {nearest:.2f} m from the trunk's centre opens the legs to "
                f"{WIDEST_ANGLE:.0f} degrees, the limit; {better:.2f} m brings them to "
                f"{BETTER_ANGLE_DEG:.0f}",)  # fmt: skip
    if angle <= BETTER_ANGLE_DEG:
        return (f"the legs meet at {angle:.0f} degrees, well under the limit of {WIDEST_ANGLE:.0f}",)
    told = [f"the legs meet at {angle:.0f} degrees (limit {WIDEST_ANGLE:.0f}): a link {better:.2f} m from the "
            f"trunk's centre brings them to {BETTER_ANGLE_DEG:.0f}"]  # fmt: skip
    if angle > WIDE_ANGLE_DEG:
        told.append("or a spreader bar longer than the trunk is thick holds the legs parallel, so that each carries "
                    "half of the pull; the bar must not touch the trunk")  # fmt: skip
    return tuple(told)


def _at_hand(sling: SlingInputs, outer: float, wanted: float | None) -> tuple[str, ...]:
    """Where the sling that was recorded puts its link."""
    if sling.length is None or sling.wrap not in ("basket", "doubled"):
        return ()
    shortest = shortest_sling(sling, outer)
    if sling.length < shortest:
        return (f"the sling of {sling.length:.2f} m is too short: {shortest:.2f} m is the least for legs within "
                f"{WIDEST_ANGLE:.0f} degrees, {wanted:.2f} m sets the link as planned" if wanted else
                f"the sling of {sling.length:.2f} m is too short: {shortest:.2f} m is the least",)  # fmt: skip
    link = _link_of(sling, outer)
    return (f"the sling of {sling.length:.2f} m sets its link {link:.2f} m from the trunk's centre, legs at "
            f"{basket(0.0, outer, link).included_deg:.0f} degrees",)  # fmt: skip


def shortest_sling(sling: SlingInputs, outer: float) -> float:
    """Least length of a sling whose legs stay within 120 degrees, round trunk and padding [m]; 0 for other wraps."""
    if sling.wrap not in ("basket", "doubled"):
        return 0.0
    return sling_length(outer, outer / 2 * NEAREST_LINK, sling.wrap)


def _link_of(sling: SlingInputs, outer: float) -> float:
    """Distance of the link that uses up a sling's length [m]; the length grows steadily with it."""
    low, high = outer / 2 * NEAREST_LINK, outer / 2 + sling.length
    for _ in range(60):
        middle = (low + high) / 2
        low, high = (middle, high) if sling_length(outer, middle, sling.wrap) < sling.length else (low, middle)
    return low


def _sharing(sling: SlingInputs, care: Care, length: float | None) -> tuple[str, ...]:
    """How the strands share, with the difference in length that leaves one of two slack."""
    if strands_of(sling) < 2 or care.contact is None or length is None:
        return ()
    told = ["lay the strands side by side, none over another, and set the link in the middle of them"]
    strength = sling.rating or STRENGTH_PER_WIDTH.value * (sling.width or 0.025)
    pair = 2 * float(care.contact.strand_n)
    one = length / 2 if sling.wrap == "doubled" else length
    slack = pair * float(compliance(strength)) * one
    told.append(f"a strand {max(slack * 1e3, 1):.0f} mm longer than its neighbour hangs slack {care.when()} "
                "and leaves it the whole pull: pull both snug before tensioning, feel them once tight")  # fmt: skip
    return tuple(told)


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


def _creep_advice(creep: float | None, tree: TreeInputs) -> tuple[str, ...]:
    if creep is None:
        return ()
    smooth = tree.bark_smooth is not False
    hold = "lay it over a pad with a rough back, or take one more turn round the trunk"
    if creep >= 1:
        return (f"the pull drags the sling along the stem with {creep:.0%} of what friction holds: it slides; {hold}, "
                "or tie it where a fork or flare stops it",)  # fmt: skip
    if creep >= SLIDES_OVER or smooth:
        where = " on smooth bark" if smooth else ""
        return (f"the pull along the stem uses {creep:.0%} of the friction{where} (from memory): {hold}",)
    return (f"friction keeps it from sliding along the stem (uses {creep:.0%}; friction from memory)",)


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
    return min(row.strength_low_mpa or row.strength_value_mpa for row in own) * 1e6


def _rub_advice(rub: float | None, moved: Movement | None, sling: SlingInputs) -> tuple[str, ...]:
    if rub is None or (moved is not None and not moved.rubs):
        return ()
    if rub > 1:
        return (f"where the sling drags, its friction reaches {rub:.0%} of half the bark's bond: tie the pad to the "
                "trunk, so that the sling moves on the pad and not the pad on the bark",)  # fmt: skip
    return ()


def _second(use: str) -> tuple[str, ...]:
    if use not in ("high line", "aerial equipment"):
        return ()
    return ("a second sling, independent of the first, tied just above it with its own link and with hardly any slack: "
            "one cut or one knot must not drop anybody",)  # fmt: skip


def _turns(sling: SlingInputs) -> tuple[str, ...]:
    if sling.wrap != "friction":
        return ()
    left = float(held_by_turns(HOLDING_TURNS, friction_of(sling).low))
    return (f"after {HOLDING_TURNS:.0f} turns {left:.1%} of the pull is left for the tail to hold at low friction: "
            "lock the tail off",)  # fmt: skip
