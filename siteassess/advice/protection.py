"""How to tie and pad one trunk: method, sling length, where it rubs and where it only presses, what to put there."""

from __future__ import annotations

import math

from siteassess.advice.care import Care, pad_row
from siteassess.advice.results import Arc, Load, Protection
from siteassess.advice.sling_inputs import SlingInputs, usual_link_distance
from siteassess.advice.tree_inputs import TreeInputs
from siteassess.errors import OutsideModel
from siteassess.mechanics.bark import rub_arcs_deg
from siteassess.mechanics.rootzone import protection_radius
from siteassess.mechanics.sling import basket, sling_length
from siteassess.reference.tables import document

# how far the pull swings to either side while in use [deg] (judgement: a walker sways, a hammock swings)
SWING_DEG = {"hammock": 12.0, "low line": 3.0, "trick line": 4.0, "long line": 3.0, "high line": 4.0,
             "aerial equipment": 15.0}  # fmt: skip
LEAST_RUB_ARC_DEG = 10.0  # the edge of a sling works over this much bark even where the pull hardly swings (judgement)
PAD_OVER_SLING = 2.0  # width of a pad over the width of the strands (read: Cologne association)
PAD_LEAST_HEIGHT = 0.25  # [m] (read: Madison, ten inches)
PAD_THICKNESS = 0.0065  # [m] (read: Madison and Boulder, a quarter of an inch)
ALL_ROUND = ("smooth", "lenticellate", "papery_peeling", "flaky_exfoliating", "fibrous_shreddy", "unknown")


def protect(
    tree: TreeInputs, loads: tuple[Load, ...], sling: SlingInputs, care: Care, use: str, tie: float, bearing: float,
    root_zone_standard: str,
) -> Protection:  # fmt: skip
    """The plan for one trunk.

    Parameters
    ----------
    sling : SlingInputs
        The sling planned, or the one proposed in its place.
    care : Care
        Its pressure.
    tie : float
        Height of the tie [m].
    bearing : float
        Of the pull [deg true]; NaN where unknown, and then no arc is told.
    """
    diameter = tree.diameter_at(tie)
    thickness = sling.pad_thickness or PAD_THICKNESS
    link = sling.link_distance or usual_link_distance(diameter)
    length, angle = _length(diameter + 2 * thickness, link, sling.wrap)
    pulls = care.contact
    all_round = care.sling.wrap == "choker" or tree.bark_form in ALL_ROUND
    strands = sling.strands or (2 if sling.wrap == "doubled" else 1)
    width = sling.width or 0.0
    arcs = _arcs(bearing, pulls, use, all_round)
    return Protection(
        trunk_diameter_m=diameter, wrap={"doubled": "doubled basket", "friction": "friction turns"}.get(sling.wrap, sling.wrap),
        wrap_reasons=_reasons(sling, tree), sling_length_m=length, sling_width_m=sling.width, strands=strands,
        link_distance_m=link, leg_angle_deg=angle,
        strand_tension_n=float(pulls.strand_n) if pulls else None,
        pressure_pa=_known(care.pressure), peak_pressure_pa=_known(care.peak), reference_pa=_known(care.reference),
        reading=care.reading, arcs=arcs,
        pad_length_m=math.pi * diameter if all_round else _arc_length(arcs, diameter),
        pad_height_m=max(PAD_LEAST_HEIGHT, PAD_OVER_SLING * width * strands), pad_thickness_m=thickness,
        pad_material=sling.pad_material or "carpet or felt", slats=sling.slats, slat_width_m=sling.slat_width,
        slat_length_m=sling.slat_length, slat_thickness_m=sling.slat_thickness, advice=_advice(tree, sling, angle, all_round),
        root_zone_radius_m=root_zone_radius(tree, root_zone_standard),
        root_zone_standard=root_zone_standard,
    )  # fmt: skip


def root_zone_radius(tree: TreeInputs, standard: str) -> float | None:
    """Protection radius by the standard the site names [m]; None where the size it asks for is not known."""
    name, feet = standard, 1.5
    if standard.startswith("critical root radius"):
        name, feet = "critical root radius", float(standard.split()[3])
    crown = tree.crown_width / 2 if math.isfinite(tree.crown_width) else None
    if not math.isfinite(tree.diameter) or (name == "DIN 18920" and crown is None):
        return None
    return float(protection_radius(name, tree.diameter, crown_radius=crown, feet_per_inch=feet))


def _length(diameter: float, link: float, wrap: str) -> tuple[float | None, float | None]:
    """Sling length [m] and angle between the legs [deg]."""
    try:
        return sling_length(diameter, link, wrap), None if wrap in ("choker",) else basket(0.0, diameter, link).included_deg
    except OutsideModel:
        return None, None


def _arcs(bearing: float, contact, use: str, all_round: bool) -> tuple[Arc, ...]:
    """Where the sling rubs and where it only presses, clockwise from the right-hand touch-down."""
    if not math.isfinite(bearing) or contact is None:
        return ()
    swing = SWING_DEG[use]
    half = float(contact.half_angle_rad)
    right, left = rub_arcs_deg([bearing - swing, bearing, bearing + swing], half)
    right, left = _at_least(right), _at_least(left)
    return (
        Arc("rub", *right), Arc("press", right[1], left[0]), Arc("rub", *left), Arc("free", left[1], right[0]),
    )  # fmt: skip


def _at_least(arc: tuple[float, float]) -> tuple[float, float]:
    short = LEAST_RUB_ARC_DEG - (arc[1] - arc[0]) % 360
    return ((arc[0] - short / 2) % 360, (arc[1] + short / 2) % 360) if short > 0 else arc


def _arc_length(arcs: tuple[Arc, ...], diameter: float) -> float | None:
    """Length of pad that covers all contact, with a hand's breadth to spare at each end [m]."""
    covered = sum((arc.end_deg - arc.start_deg) % 360 for arc in arcs if arc.kind != "free")
    return math.radians(covered) * diameter / 2 + 0.2 if arcs else None


def _reasons(sling: SlingInputs, tree: TreeInputs) -> tuple[str, ...]:
    by_wrap = {
        "basket": "a basket bears on the back of the trunk and leaves the pull side free",
        "doubled": "two strands side by side halve the pressure; spread them so that none lies on the other",
        "choker": "a choker grips the whole ring of bark and presses up to twice as hard: tie a basket instead",
        "turns": "turns of rope keep the height; they do not share the pull",
        "friction": "turns held by friction press twice as hard as a two-leg wrap",
    }
    planned = () if sling.wrap_known else ("no wrap was planned; this one is proposed",)
    return (*planned, by_wrap[sling.wrap])


def _advice(tree: TreeInputs, sling: SlingInputs, angle: float | None, all_round: bool) -> tuple[str, ...]:
    told = [row["advice"] for row in document("pads")["by_bark_form"] if row["form"] == tree.bark_form]
    told.append("pad the whole round" if all_round else "the bark bears the back; pad at least where it rubs")
    if angle is not None and angle > 90:
        told.append(f"the legs open to {angle:.0f} degrees: a longer sling brings them under 60; 120 is the limit")
    if sling.strands and sling.strands > 1 or sling.wrap == "doubled":
        told.append("set the link in the middle, so that both strands pull evenly; check again once tight")
    pad = pad_row(sling.pad_material) if sling.pad_material else None
    if pad is not None:
        told.append(f"{pad['id']}: {pad['does']}; {pad['does_not']}")
    if sling.slats and tree.bark_smooth:
        told.append("no sticks or slats straight on thin or smooth bark: a pad goes below them")
    return tuple(told)


def _known(value: float) -> float | None:
    return value if math.isfinite(value) else None
