"""How to tie and pad one trunk and spare its roots: one plan from the sling, its movement, pads, wrap and ground."""

from __future__ import annotations

import datetime
import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

from siteassess.advice.care import Care, Mend, link_fault, strands_of
from siteassess.advice.care_results import PadsAsked, Protection
from siteassess.advice.finding import Finding, found
from siteassess.advice.line_inputs import LineInputs
from siteassess.advice.movement import arcs_of, movement_of
from siteassess.advice.padding_plan import NOTHING_ASKED, PAD_THICKNESS_M, padding_plan
from siteassess.advice.remedies import MOST_TOLD
from siteassess.advice.results import Load, Remedy
from siteassess.advice.rootzone_plan import root_zone_plan, root_zone_radius
from siteassess.advice.season import growing_on, season_plan
from siteassess.advice.sling_inputs import SlingInputs, usual_link_distance
from siteassess.advice.tree_inputs import TreeInputs
from siteassess.advice.wrap_plan import shortest_sling, wrap_plan
from siteassess.records.anchor import Tree
from siteassess.records.site import Site

__all__ = ["Tied", "bark_remedies", "protect", "protection_findings", "root_zone_radius"]

WRAP_WORDS = {"doubled": "doubled basket", "friction": "friction turns"}


@dataclass(frozen=True)
class Tied:
    """One tree at one end of a line, with what the plan rests on.

    `tie` is the height of the tie [m], `bearing` that of the pull [deg true] (NaN where unknown, and then no arc is
    told), `watchers` the distances of watchers' places from the trunk [m].
    """

    tree: TreeInputs
    recorded: Tree
    line: LineInputs
    loads: tuple[Load, ...]
    sling: SlingInputs
    care: Care
    tie: float
    bearing: float
    site: Site
    on: datetime.date
    watchers: tuple[float, ...] = ()
    pads_asked: PadsAsked = NOTHING_ASKED
    last: datetime.date | None = None  # day the line hangs; None for one day only


def protect(end: Tied) -> Protection:
    """The plan for one trunk."""
    tree, sling, care = end.tree, end.sling, end.care
    diameter = tree.diameter_at(end.tie)
    outer, link = _outer(end), _link(end)
    # a link within the pad has no legs to follow
    contact = None if link_fault(link, outer / 2, sling.wrap) else care.contact
    moved = movement_of(end.line, end.loads, sling, contact, outer / 2, link)
    arcs = arcs_of(end.bearing, sling.wrap, care.contact, moved, outer / 2)
    pads = padding_plan(tree, sling, care, moved, arcs, diameter, end.pads_asked)
    growing = growing_on(end.on, tree, end.site, end.last)
    wrap = wrap_plan(tree, end.loads, sling, care, moved, end.line.use, growing, outer, link)
    ground = root_zone_plan(tree, end.recorded, end.site.root_zone_standard, end.line.span, end.watchers)
    season = season_plan(end.on, tree, end.site, end.last)
    return Protection(
        trunk_diameter_m=diameter, wrap=WRAP_WORDS.get(sling.wrap, sling.wrap), why_wrapped=wrap.reasons,
        sling_length_m=wrap.length_m, sling_width_m=sling.width, strands=strands_of(sling), link_distance_m=link,
        leg_angle_deg=wrap.leg_angle_deg,
        strand_tension_n=float(care.contact.strand_n) if care.contact else None,
        pressure_pa=_known(care.pressure), peak_pressure_pa=_known(care.peak), reference_pa=_known(care.reference),
        pressing_case=care.case, reading=care.reading, arcs=arcs,
        pad_length_m=pads.length_m, pad_height_m=pads.height_m,
        pad_thickness_m=pads.thickness_m, pad_material=pads.material, slats=sling.slats, slat_width_m=sling.slat_width,
        slat_length_m=sling.slat_length, slat_thickness_m=sling.slat_thickness,
        told=(*pads.advice, *wrap.advice, *(moved.told() if moved else ()), *season.told),
        root_zone_radius_m=ground.radius_m, root_zone_standard=end.site.root_zone_standard,
        pad_scope=pads.scope, pad_pieces=pads.pieces, pad_choices=pads.choices, slat_choices=pads.slat_choices,
        ridge_pressure_pa=pads.ridge_pressure_pa, movement=moved, rope_length_m=wrap.with_knots_m,
        better_link_m=wrap.better_link_m, slide_use=wrap.slide_use, rub_use=wrap.rub_use, sling_kind=sling.kind,
        root_zone=ground, season=season,
    )  # fmt: skip


def protection_findings(end: Tied, plan: Protection) -> list[Finding]:
    """What movement and creep ask for before the tie is right."""
    told, moved = [], plan.movement
    if fault := link_fault(_link(end), _outer(end) / 2, end.sling.wrap):
        told.append(found("link-in-the-pad", "cannot say", looked_at=False, fault=fault, outer=_outer(end)))
    told += _too_short(end, end.sling)
    if not end.sling.pad_material and (moved is None or moved.rubs) and not end.sling.slats:
        told.append(found("rubs-without-pads", "suits if", scope=plan.pad_scope))
    if plan.slide_use is not None and plan.slide_use >= 1:
        told.append(found("sling-creeps", "suits if", use=plan.slide_use))
    return told


def bark_remedies(end: Tied, mends: Sequence[Mend]) -> tuple[Remedy, ...]:
    """What mends the bark, with the longer sling it takes where the one at hand does not go round so."""
    found = []
    for mend in mends:
        longer = tuple(one.met_by for one in _too_short(end, mend.sling or end.sling))
        found.append(replace(mend.remedy, still=longer, reaches="suits if") if longer else mend.remedy)
    return tuple(found[:MOST_TOLD])


def _too_short(end: Tied, sling: SlingInputs) -> list[Finding]:
    """A sling at hand that does not go round trunk and padding with its legs in bounds."""
    least = shortest_sling(sling, _outer(end))
    if sling.length is None or sling.proposed or sling.length >= least:
        return []
    return [found("sling-too-short", "suits if", length=sling.length, least=least)]


def _outer(end: Tied) -> float:
    """Diameter of trunk and padding together [m]."""
    pad = PAD_THICKNESS_M if end.sling.pad_thickness is None else end.sling.pad_thickness
    return end.tree.diameter_at(end.tie) + 2 * pad


def _link(end: Tied) -> float:
    """Distance of the link from the trunk's centre, as planned or usual [m]."""
    planned = end.sling.link_distance
    return usual_link_distance(end.tree.diameter_at(end.tie)) if planned is None else planned


def _known(value: float) -> float | None:
    return value if math.isfinite(value) else None
