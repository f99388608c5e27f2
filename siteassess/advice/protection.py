"""How to tie and pad one trunk and spare its roots: one plan from the sling, its movement, pads, wrap and ground.

Where to pad, how large and thick, with what; slats where the sum says they help; and what no padding mends.
"""

from __future__ import annotations

import datetime
import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

from siteassess.advice.care import Care, Mend, link_fault, strands_of
from siteassess.advice.care_results import Arc, Movement, PadChoice, PadsAsked, Protection, SlatChoice
from siteassess.advice.finding import Finding, found, met_by
from siteassess.advice.gear_inputs import SlingInputs, pad_row, usual_link_distance
from siteassess.advice.line_inputs import LineInputs
from siteassess.advice.remedies import MOST_TOLD
from siteassess.advice.results import Load, Remedy
from siteassess.advice.rootzone_plan import root_zone_plan, root_zone_radius
from siteassess.advice.season import growing_on, season_plan
from siteassess.advice.tree_inputs import TreeInputs
from siteassess.advice.wrap_plan import arcs_of, movement_of, shortest_sling, wrap_plan
from siteassess.mechanics.bark import BARK_READINGS, THICK_OVER
from siteassess.mechanics.padding import padded_width, ridge_pressure, slats, slats_for
from siteassess.records.anchor import Tree
from siteassess.records.site import Site
from siteassess.reference.constants import constant
from siteassess.reference.findings import Said, said
from siteassess.reference.tables import document, rows

PAD_OVER_SLING = constant("pad over sling")
PAD_LEAST_HEIGHT_M = constant("pad least height")
PAD_THICKNESS_M = constant("pad thickness")
PAD_SPARE_M = constant("pad edge spare")
PAD_END_SPARE_M = constant("pad end spare")
ALL_ROUND = ("smooth", "lenticellate", "papery_peeling", "flaky_exfoliating", "fibrous_shreddy", "warty", "unknown")
RESINOUS = ("Pinus", "Picea", "Abies", "Larix", "Pseudotsuga", "Cedrus", "Tsuga")
NOTHING_ASKED = PadsAsked()
LEAST_GAIN = constant("slats least gain")


@dataclass(frozen=True)
class PaddingPlan:
    """Pads for one tie: how many pieces of what size, where, and what else may lie there."""

    scope: str  # "rub arcs only", "contact" or "whole trunk"
    pieces: int
    length_m: float | None  # of one piece, round the trunk
    height_m: float
    thickness_m: float
    material: str
    choices: tuple[PadChoice, ...]
    slat_choices: tuple[SlatChoice, ...]
    ridge_pressure_pa: float | None
    advice: tuple[Said, ...]


def padding_plan(
    tree: TreeInputs, sling: SlingInputs, care: Care, moved: Movement | None, arcs: tuple[Arc, ...], diameter: float,
    asked: PadsAsked = NOTHING_ASKED,
) -> PaddingPlan:  # fmt: skip
    """The pads for one tie.

    Parameters
    ----------
    care : Care
        Pressure of the sling that is planned or proposed.
    moved : Movement or None
        Its movement; None where not known.
    arcs : tuple of Arc
        Where it rubs and presses.
    diameter : float
        Of the trunk at the tie [m].
    asked : PadsAsked, optional
        What the rules of the place ask of pads: the plan meets it, whatever the bark bears.
    """
    scope = "whole trunk" if asked.all_round else _scope(tree, sling, care)
    pieces, length = _pieces(scope, arcs, diameter)
    strands = (sling.width or 0.0) * strands_of(sling)
    height = max(_height(sling, moved), asked.height_m, asked.height_in_slings * strands)
    choices = _choices(sling, care, height)
    slat_choices = _slat_choices(sling, care, diameter)
    return PaddingPlan(
        scope=scope, pieces=pieces, length_m=length, height_m=height,
        thickness_m=max(sling.pad_thickness or 0.0, PAD_THICKNESS_M, asked.thickness_m),
        material=sling.pad_material or "carpet or felt", choices=choices, slat_choices=slat_choices,
        ridge_pressure_pa=_on_ridges(tree, care),
        advice=(*_where(scope, tree, sling, asked), *_bark_advice(tree, scope), *_material_advice(sling, care),
                *_slat_advice(sling, care, slat_choices, tree), *_unmendable(sling, care, choices, diameter)),
    )  # fmt: skip


def _scope(tree: TreeInputs, sling: SlingInputs, care: Care) -> str:
    if sling.wrap == "choker" or tree.bark_form in ALL_ROUND or tree.bark_smooth is not False or tree.bark_slips:
        return "whole trunk"
    thick = math.isfinite(tree.bark_thin) and tree.bark_thin > THICK_OVER.value
    return "rub arcs only" if care.reading == BARK_READINGS[0] and thick and not tree.stressed else "contact"


def _pieces(scope: str, arcs: tuple[Arc, ...], diameter: float) -> tuple[int, float | None]:
    """Number of pads and length of each round the trunk [m]."""
    if scope == "whole trunk":
        return 1, math.pi * diameter
    wide = {arc: ((arc.end_deg - arc.start_deg) % 360 or 360.0) for arc in arcs if arc.kind != "free"}
    if not wide:
        return 1, None
    rubbed = [width for arc, width in wide.items() if arc.kind == "rub"]
    if scope == "rub arcs only" and len(rubbed) == 2:
        # the arcs already hold what a pad placed by eye needs to spare
        return 2, math.radians(max(rubbed)) * diameter / 2 + PAD_END_SPARE_M
    covered = min(math.radians(sum(wide.values())) * diameter / 2 + 2 * PAD_END_SPARE_M, math.pi * diameter)
    return 1, covered


def _height(sling: SlingInputs, moved: Movement | None) -> float:
    """Height of the pad along the stem: the strands, what they move up and down, and a margin [m]."""
    strands = strands_of(sling)
    wide = (sling.width or 0.0) * strands
    swept = wide + (moved.up_down_m if moved else 0.0) + 2 * PAD_SPARE_M
    return max(PAD_LEAST_HEIGHT_M, PAD_OVER_SLING * wide, swept)


def _choices(sling: SlingInputs, care: Care, height: float) -> tuple[PadChoice, ...]:
    """Every material of the table, with the pressure under it."""
    return tuple(
        PadChoice(row["id"], row["kind"], row["stiffness"], row["thickness_mm"] / 1e3,
                  _pressure_over(sling, care, height, row["thickness_mm"] / 1e3, row["spread_deg"]),
                  row["does"], row["does_not"])
        for row in rows("pads")
    )  # fmt: skip


def _pressure_over(sling: SlingInputs, care: Care, height: float, thickness: float, spread_deg: float) -> float | None:
    """Pressure under the bare strands once a pad has spread them [Pa]; None where it is not known."""
    if care.bare_pressure is None or sling.width is None:
        return None
    together = sling.width * strands_of(sling)
    return care.bare_pressure * together / float(padded_width(together, height, thickness, spread_deg))


def _slat_choices(sling: SlingInputs, care: Care, diameter: float) -> tuple[SlatChoice, ...]:
    """For each kind of slat, the fewest that bring the pressure within the reference, or what the most of them do."""
    if care.contact is None or sling.width is None or care.bare_pressure is None or sling.wrap == "choker":
        return ()
    count = strands_of(sling)
    tension, contact = float(care.contact.strand_n) * count, float(care.contact.contact_rad)
    found = []
    for row in document("pads")["slats"]:
        size = row["width_mm"] / 1e3, row["length_mm"] / 1e3, row["thickness_mm"] / 1e3
        fewest = slats_for(tension, contact, diameter, min(care.reference, LEAST_GAIN * care.bare_pressure), *size,
                           sling.width * count)  # fmt: skip
        most = int(contact * diameter / 2 / size[0])
        tried = fewest or most
        if tried < 2:
            continue
        pressed = float(slats(tension, contact, diameter, tried, *size, sling.width * count).pressure_pa)
        told = _slats_told(row["id"], size, fewest, most, pressed, care.bare_pressure, care.reference)
        found.append(SlatChoice(row["id"], *size, fewest, pressed, told))
    return tuple(found)


def _slats_told(
    what: str, size: tuple[float, ...], fewest: int | None, most: int, pressed: float, bare: float, reference: float
) -> Said:
    values = {"count": fewest or most, "what": what, "width": size[0], "length": size[1], "thickness": size[2],
              "pressed": pressed, "bare": bare}  # fmt: skip
    if fewest:
        return said("slats-help", **values)
    if pressed > LEAST_GAIN * bare:
        return said("slats-press-harder" if pressed > bare else "slats-hardly-help", **values)
    return said("slats-help-too-little", **values, reference=reference)


def _on_ridges(tree: TreeInputs, care: Care) -> float | None:
    """Pressure on the ridges that really touch [Pa]; the share is a judgement."""
    row = next((row for row in rows("bark_forms") if row.form == tree.bark_form), None)
    if care.bare_pressure is None or row is None or not row.contact_share:
        return None
    return float(ridge_pressure(care.bare_pressure, row.contact_share))


def _where(scope: str, tree: TreeInputs, sling: SlingInputs, asked: PadsAsked) -> tuple[Said, ...]:
    if asked.all_round:
        return (said("pad-all-round-by-rules", place=asked.place),)
    if scope != "whole trunk":
        return (said("pad-where-it-rubs" if scope == "rub arcs only" else "pad-the-contact"),)
    if sling.wrap == "choker":
        return (said("pad-all-round-choker"),)
    unseen = tree.bark_smooth is None and not tree.bark_slips  # the form is then the usual one of the kind
    return (said("pad-all-round-unseen" if unseen else "pad-all-round-thin"),)


def _bark_advice(tree: TreeInputs, scope: str) -> tuple[Said, ...]:
    forms = [tree.bark_form] + (["resinous"] if tree.species.genus in RESINOUS else [])
    return tuple(said("the-table-says", told=row["advice"]) for row in document("pads")["by_bark_form"]
                 if row["form"] in forms and row.get("scope", scope) == scope)  # fmt: skip


def _material_advice(sling: SlingInputs, care: Care) -> tuple[Said, ...]:
    if sling.pad_in_no_table:
        return (said("counts-for-nothing", why=(said("no-such-pad", name=sling.pad_in_no_table),)),)
    if sling.pad_too_narrow:
        return (said("counts-for-nothing", why=(said("pad-narrower-than-sling", width=sling.pad_width),)),)
    if not sling.pad_material:
        return ()
    row = pad_row(sling.pad_material)
    told = said("pad-does", name=row["id"], does=row["does"], does_not=row["does_not"])
    thin = sling.pad_thickness is not None and sling.pad_thickness < PAD_THICKNESS_M
    return (told, said("pad-too-thin", least=PAD_THICKNESS_M)) if thin else (told,)


def _slat_advice(sling: SlingInputs, care: Care, choices: tuple[SlatChoice, ...], tree: TreeInputs) -> tuple[Said, ...]:
    told = []
    if care.on_slats and care.bare_pressure is not None and care.pressure > care.bare_pressure:
        told.append(said("planned-slats-press", pressed=care.pressure, bare=care.bare_pressure))
    if care.on_slats and tree.bark_smooth is not False:
        told.append(said("no-slats-on-thin-bark"))
    if care.bare_pressure is not None and care.bare_pressure > care.reference:
        flat = [choice for choice in choices if choice.what in ("flat slat", "wide slat")]
        told += [choice.told for choice in flat if choice.count] or [choice.told for choice in flat]
    return tuple(told)


def _unmendable(sling: SlingInputs, care: Care, choices: tuple[PadChoice, ...], diameter: float) -> tuple[Said, ...]:
    """What to change where even the stiffest pad leaves the pressure over the reference."""
    pressed = [(choice.pressure_pa, choice) for choice in choices if choice.pressure_pa is not None]
    if not pressed or sling.width is None or care.bare_pressure is None:
        return ()
    least, best = min(pressed, key=lambda one: one[0])
    over = care.bare_pressure / care.reference
    if least <= care.reference:
        told = said("pad-spreads", name=best.material, thickness=best.thickness_m, pressed=least)
        return (told,) if care.bare_pressure > care.reference else ()
    return (said("no-padding-mends", width=math.ceil(over * sling.width * 1e3 - 1e-6) / 1e3, one=sling.width,
                 times=strands_of(sling) * over, trunk=over * diameter, share=1 / over),)  # fmt: skip


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
        pressing_case=care.case, read=said(care.reading), arcs=arcs,
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
    told = []
    if fault := link_fault(_link(end), _outer(end) / 2, end.sling.wrap):
        told.append(found("link-in-the-pad", "cannot say", looked_at=False, fault=fault, outer=_outer(end)))
    told += _too_short(end, end.sling)
    told += _rubs(end.sling, plan)
    if plan.slide_use is not None and plan.slide_use >= 1:
        told.append(found("sling-creeps", "suits if", use=plan.slide_use))
    return told


def bark_remedies(end: Tied, mends: Sequence[Mend], plan: Protection) -> tuple[Remedy, ...]:
    """What mends the bark within the place's rules, with the longer sling where the one at hand does not go round, and
    the pads where the slats that are taken out were all that lay there."""
    told, already = [], met_by(_rubs(end.sling, plan))
    for mend in (one for one in mends if not _against_rules(end, one)):
        sling = mend.sling or end.sling
        more = met_by([*_too_short(end, sling), *(() if already else _rubs(sling, plan))])
        asked = replace(mend.remedy, still=(*mend.remedy.still, *more), reaches="suits if")
        told.append(asked if more else mend.remedy)
    return tuple(told[:MOST_TOLD])


def _rubs(sling: SlingInputs, plan: Protection) -> list[Finding]:
    """A sling that moves with nothing between it and the bark: one slat keeps it off on neither side, and slats that
    nobody measured are judged as if there were none."""
    laid = sling.pad_material and not sling.pad_too_narrow or sling.slats >= 2 and sling.slat_sizes
    if laid or plan.movement is not None and not plan.movement.rubs:
        return []
    return [found("rubs-without-pads", "suits if", scope=plan.pad_scope)]


def _against_rules(end: Tied, mend: Mend) -> bool:
    """Whether a mend asks for a sling wider than the place allows."""
    width = (mend.sling.width if mend.sling else None) or 0.0
    return width > max(end.pads_asked.most_sling_width_m, end.sling.width or 0.0) + 1e-9


def _too_short(end: Tied, sling: SlingInputs) -> list[Finding]:
    """A sling at hand that does not go round trunk and padding with its legs in bounds."""
    least = shortest_sling(sling, _outer(end))
    if sling.length is None or sling.proposed or sling.length >= least:
        return []
    return [found("sling-too-short", "suits if", length=sling.length, least=least)]


def _outer(end: Tied) -> float:
    """Diameter of trunk and padding together [m]."""
    told = end.sling.pad_thickness
    # what is no known pad gives way to the one that is advised in its stead
    pad = told if told is not None and end.sling.pad_material else max(told or 0.0, PAD_THICKNESS_M)
    return end.tree.diameter_at(end.tie) + 2 * pad


def _link(end: Tied) -> float:
    """Distance of the link from the trunk's centre, as planned or usual [m]."""
    planned = end.sling.link_distance
    return usual_link_distance(end.tree.diameter_at(end.tie)) if planned is None else planned


def _known(value: float) -> float | None:
    return value if math.isfinite(value) else None
