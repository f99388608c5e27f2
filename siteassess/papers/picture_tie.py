"""Pictures of one tie: the trunk from above with sling, pads and slats, and the tie from the side.

Bearings are true; sizes are to scale, except that what was never recorded is drawn at a usual size or left out.
"""

from __future__ import annotations

import math

import numpy as np

from siteassess.advice.care_results import Protection
from siteassess.advice.results import AnchorResult
from siteassess.papers import wording
from siteassess.papers.language import Words, words_in
from siteassess.papers.look import shorten
from siteassess.papers.svg_sheet import BARK, SMALL_MM, SvgSheet, nothing
from siteassess.reference.findings import said, word
from siteassess.reference.measures import Measures, known
from siteassess.reference.pages import plain

WOOD, SLING, PAD, SLAT = "#efe3c8", "#0072B2", "#E69F00", "#b9b5a6"
RUB, PRESS = "#D55E00", "#56B4E9"


def asked_tie(anchor: AnchorResult) -> Protection | None:
    """What is to be tied: the tie the verdict asks for, else the planned one."""
    return anchor.protection.asked if anchor.protection else None


def cross_section(
    anchor: AnchorResult, prefix: str = "section", language: str = "en", placed_deg: float | None = None
) -> str:
    """The trunk from above, true north up: sling, legs, link, pads, slats, and the arcs that rub and that press.

    Where the positions tell another true way of the pull, `placed_deg`, the compass told the one drawn, and it says so.
    """
    plan, sheet, t, m = asked_tie(anchor), SvgSheet(92, 92), words_in(language), Measures(language)
    if plan is None or not known(plan.trunk_diameter_m):
        return nothing(sheet, t("px-no-section", code=anchor.code), prefix)
    radius = plan.trunk_diameter_m / 2
    link = plan.link_distance_m if known(plan.link_distance_m) else None
    reach = max(1.45 * radius, (link or 0.0) * 1.12 + 0.05)
    mm = 34.0 / reach
    x, y, r = 46.0, 46.0, radius * mm
    _arcs(sheet, plan, x, y, r, t)
    sheet.circle(x, y, r, WOOD, BARK, 0.7, order=3)
    sheet.circle(x, y, 0.5, "ink", order=4)
    sheet.text(x, y - 4.2, m.trunk(plan.trunk_diameter_m), 3, across="center")
    if known(anchor.pull_bearing_true_deg):
        _sling(sheet, plan, x, y, r, mm, anchor.pull_bearing_true_deg, link)
    to = anchor.pull_bearing_true_deg
    pull = t("px-pull", bearing=wording.way_told(to, placed_deg, t)) if known(to) else t("px-no-pull")
    sheet.text(x, 9, pull, SMALL_MM, across="center")
    sheet.line([8, 8], [76, 86], width_mm=0.5)
    sheet.area([8, 6.6, 9.4], [88.5, 84, 84], "ink")
    sheet.text(10.5, 83, t("px-true-n"), SMALL_MM)
    _section_key(sheet, plan, t)
    arcs = t("between").join(
        t("px-arc", kind=t(f"px-{arc.kind}"), start=m.bearing(arc.start_deg), end=m.bearing(arc.end_deg))
        for arc in plan.arcs
    )
    return sheet.picture(prefix, t("px-section", code=anchor.code, pull=pull, arcs=arcs))


def _arcs(sheet: SvgSheet, plan: Protection, x: float, y: float, r: float, t: Words) -> None:
    for arc in plan.arcs:
        if arc.kind == "free":
            continue
        fill, hatch = (RUB, "////") if arc.kind == "rub" else (PRESS, None)
        sheet.arc_band(
            x,
            y,
            r + 6.4,
            SMALL_MM,
            arc.start_deg,
            arc.end_deg,
            fill if hatch is None else "paper",
            fill if hatch else "ink",
            0.3,
            hatch=hatch,
        )
        middle = math.radians(arc.start_deg + ((arc.end_deg - arc.start_deg) % 360 or 360.0) / 2)
        sheet.text(
            x + (r + 9.4) * math.sin(middle),
            y + (r + 9.4) * math.cos(middle),
            t(f"px-{arc.kind}"),
            SMALL_MM,
            across="center",
            up="center",
            halo=True,
        )
    for start, end in _padded(plan):
        sheet.arc_band(x, y, r + 2.0, 1.7, start, end, PAD, "ink", 0.25, order=3.5)
    for bearing in _slat_bearings(plan):
        _slat(sheet, plan, x, y, r, bearing)


def _padded(plan: Protection) -> list[tuple[float, float]]:
    """From where to where a pad lies on the bark, in degrees; nothing where none is asked for."""
    if not plan.pad_height_m:
        return []
    if plan.pad_scope == "whole trunk":
        return [(0.0, 360.0)]
    kinds = ("rub",) if plan.pad_scope == "rub arcs only" else ("rub", "press")
    return [(arc.start_deg, arc.end_deg) for arc in plan.arcs if arc.kind in kinds]


def _slat(sheet: SvgSheet, plan: Protection, x: float, y: float, r: float, bearing: float) -> None:
    """One slat on end against the bark, its width to scale; 2 cm where none is planned."""
    turn = math.radians(bearing)
    out, along = (math.sin(turn), math.cos(turn)), (math.cos(turn), -math.sin(turn))
    half = (plan.slat_width_m or 0.02) / plan.trunk_diameter_m * r
    corners = [(r + 0.4, -half), (r + 1.7, -half), (r + 1.7, half), (r + 0.4, half)]
    sheet.area(
        [x + d * out[0] + w * along[0] for d, w in corners],
        [y + d * out[1] + w * along[1] for d, w in corners],
        SLAT,
        "ink",
        0.2,
        order=4,
    )


def _slat_bearings(plan: Protection) -> list[float]:
    """Slats spread evenly over the arcs that rub or press."""
    arcs = [(arc.start_deg, (arc.end_deg - arc.start_deg) % 360 or 360.0) for arc in plan.arcs if arc.kind != "free"]
    if not arcs:
        return []
    total, bearings = sum(width for _, width in arcs), []
    for i in range(plan.slats):
        along = (i + 0.5) * total / plan.slats
        for start, width in arcs:
            if along <= width:
                bearings.append((start + along) % 360)
                break
            along -= width
    return bearings


def _sling(
    sheet: SvgSheet, plan: Protection, x: float, y: float, r: float, mm: float, bearing: float, link: float | None
) -> None:
    """The part of the sling that lies on the trunk, its two legs to the link, and the pull."""
    turn = math.radians(bearing)

    def at(distance: float, angle: float) -> tuple[float, float]:
        return x + distance * math.sin(angle), y + distance * math.cos(angle)

    on = r + 2.3
    leg = math.acos(min(1.0, radius_share)) if link and (radius_share := r / (link * mm)) < 1 else math.pi / 2
    angles = np.linspace(turn + leg, turn + 2 * math.pi - leg, 80)
    points = [at(on, a) for a in angles]
    end = at(link * mm, turn) if link else at(on * 2.2, turn)
    if link:
        points = [end, *points, end]
    else:  # parallel legs
        side = (end[0] - x, end[1] - y)
        points = [
            (points[0][0] + side[0] * 0.6, points[0][1] + side[1] * 0.6),
            *points,
            (points[-1][0] + side[0] * 0.6, points[-1][1] + side[1] * 0.6),
        ]
    for strand in range(min(plan.strands, 2)):
        grown = [
            (x + (px - x) * (1 + 0.9 * strand / on), y + (py - y) * (1 + 0.9 * strand / on)) for px, py in points[1:-1]
        ]
        drawn = [points[0], *grown, points[-1]]
        sheet.line([px for px, _ in drawn], [py for _, py in drawn], SLING, 0.7, order=5, cap="round")
    sheet.circle(*end, 1.5, "paper", "ink", 0.6, order=7)
    far = (end[0] + 8 * math.sin(turn), end[1] + 8 * math.cos(turn))
    sheet.line([end[0], far[0]], [end[1], far[1]], "ink", 0.5, order=4)
    tip, back = far, (far[0] - 2.6 * math.sin(turn), far[1] - 2.6 * math.cos(turn))
    aside = (1.1 * math.cos(turn), -1.1 * math.sin(turn))
    sheet.area(
        [tip[0], back[0] + aside[0], back[0] - aside[0]], [tip[1], back[1] + aside[1], back[1] - aside[1]], "ink"
    )
    sheet.text(
        far[0] + 3.4 * math.sin(turn),
        far[1] + 3.4 * math.cos(turn),
        Measures().bearing(bearing),
        SMALL_MM,
        across="center",
        up="center",
        halo=True,
    )


def _section_key(sheet: SvgSheet, plan: Protection, t: Words) -> None:
    rows = [shorten(word(plan.wrap, t.language), 34)]
    if known(plan.leg_angle_deg):
        strands = f", {t('tp-strands', count=plan.strands)}" if plan.strands > 1 else ""
        rows.append(t("tp-legs", angle=Measures(t.language).angle(plan.leg_angle_deg)) + strands)
    for i, row in enumerate(rows):
        sheet.text(27, 86 - 4 * i, row, SMALL_MM, bold=i == 0)  # a phone shows the left of a row of pictures first
    x = 4
    for kind, fill, hatch in (("rub", RUB, "////"), ("press", PRESS, None)):
        sheet.box(x, 2.4, 5, 2.6, "paper" if hatch else fill, fill if hatch else "ink", 0.3, hatch=hatch)
        sheet.text(x + 6.5, SMALL_MM, t(f"tp-arc-{kind}"), SMALL_MM)
        x += 20
    if plan.slats:
        sheet.box(x, 2.4, 5, 2.6, SLAT, "ink", 0.3)
        sheet.text(x + 6.5, SMALL_MM, t("tp-slats", count=plan.slats), SMALL_MM)
    if _padded(plan):
        x = 62  # the middle is left to a pull due south
        sheet.box(x, 2.4, 5, 2.6, PAD, "ink", 0.3)
        sheet.text(x + 6.5, SMALL_MM, t("px-pad"), SMALL_MM)


def elevation(anchor: AnchorResult, prefix: str = "elevation", language: str = "en") -> str:
    """The tie from the side: trunk, height of the tie, pad, slats, sling and link."""
    plan, sheet, t = asked_tie(anchor), SvgSheet(72, 92), words_in(language)
    if plan is None or not known(anchor.tie_height_m):
        return nothing(sheet, t("px-no-tie", code=anchor.code), prefix)
    link = plan.link_distance_m or plan.trunk_diameter_m
    mm = min(62.0 / max(anchor.tie_height_m + 0.7, 0.8), 44.0 / (plan.trunk_diameter_m / 2 + link + 0.15))
    half, tie, foot = plan.trunk_diameter_m / 2 * mm, anchor.tie_height_m * mm, 12.0
    x = 13.0 + half
    top = min(88.0, foot + tie + 22)
    sheet.area(
        [x - half * 1.5, x - half, x - half, x + half, x + half, x + half * 1.5],
        [foot, foot + 5, top, top, foot + 5, foot],
        WOOD,
        BARK,
        0.7,
        order=1,
    )
    sheet.line([2, 70], [foot, foot], "ink", 0.6)
    pad = (plan.pad_height_m or 0.0) * mm
    if pad:
        sheet.box(x - half - 0.9, foot + tie - pad / 2, 2 * half + 1.8, pad, PAD, "ink", 0.25, order=2, alpha=0.55)
    if plan.slats:
        tall = (plan.slat_length_m or plan.pad_height_m or 0.2) * mm
        for share in np.linspace(-0.85, 0.85, max(2, plan.slats // 2)):
            wide = max(0.6, (plan.slat_width_m or 0.02) * mm)
            sheet.box(x + share * half - wide / 2, foot + tie - tall / 2, wide, tall, SLAT, "ink", 0.2, order=3)
    wide = max(0.9, (plan.sling_width_m or 0.03) * mm)
    sheet.box(x - half - 1.1, foot + tie - wide / 2, 2 * half + 2.2, wide, SLING, "ink", 0.25, order=4)
    end = x + link * mm
    sheet.line([x + half, end], [foot + tie] * 2, SLING, max(0.9, 0.5 * wide), order=3)
    sheet.circle(end, foot + tie, 1.5, "paper", "ink", 0.6, order=5)
    sheet.line([end + 1.5, min(end + 10, 71)], [foot + tie] * 2, "ink", 0.5)
    low, height = x - half * 1.5 - 2, Measures(t.language).length(anchor.tie_height_m, 2)
    sheet.line([low, low], [foot, foot + tie], "ink", 0.25)
    for y in (foot, foot + tie):
        sheet.line([low - 1, low + 1], [y, y], "ink", 0.25)
    sheet.text(low - 1.2, foot + tie / 2, height, SMALL_MM, across="center", turn_deg=90)
    notes = []
    if plan.pad_material:
        high = said("pad-high", height=plan.pad_height_m).in_words(language) if pad else ""
        notes.append(word(plan.pad_material, language) + high)
    if known(plan.sling_width_m):
        notes.append(said("sling-wide", width=plan.sling_width_m).in_words(language))
    for i, note in enumerate(notes[:2]):
        sheet.text(3, 6.4 - 4 * i, shorten(note, 44), SMALL_MM)
    told = t("between").join(map(plain, notes))
    return sheet.picture(prefix, t("px-tie", code=anchor.code, height=height, notes=told))
