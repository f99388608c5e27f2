"""Pictures of the report: each function gives one SVG element as text, sized in millimetres.

What is not known is written into the picture, never drawn as nought.
"""

from __future__ import annotations

import math
import textwrap
from collections.abc import Sequence

import numpy as np

from siteassess.advice.results import AnchorResult, Clearance, Limit, LineResult, Protection
from siteassess.papers import wording
from siteassess.papers.look import plain, shorten
from siteassess.papers.svg_sheet import SvgSheet, lines_of_text
from siteassess.records.fields import SECTOR_BEARING_DEG, SECTORS

BARK, WOOD, SLING, PAD, SLAT = "#8a6d3b", "#efe3c8", "#0072B2", "#E69F00", "#b9b5a6"
RUB, PRESS = "#D55E00", "#56B4E9"
GROUND = "#c9c6bb"
TRIAL_BAND, LIMIT = 0.6, 1.0


def profile(line: LineResult, prefix: str = "profile") -> str:
    """The line over the ground, height drawn larger than length where that helps; the factor is written in."""
    view = line.clearance
    sheet = SvgSheet(180, 70)
    if view is None or len(view.x_m) < 2:
        return _nothing(sheet, "The line over the ground cannot be drawn: no span or tie height is known.", prefix)
    frame = _ProfileFrame(view, sheet)
    frame.draw_ground()
    frame.draw_axis()
    unloaded, walker = np.array(view.unloaded_m, dtype=float), np.array(view.walker_m, dtype=float)
    frame.curve(unloaded, "ink", 0.4, (2, 1.2))
    frame.curve(walker, SLING, 0.7, None)
    touching = np.array(view.walker_m, dtype=float) <= np.array(view.ground_m, dtype=float)
    if touching.any():
        frame.touching(touching)
    frame.ends(line)
    frame.legend(bool(touching.any()))
    says = "; ".join(plain(s) for s in view.says) or "no words"
    return sheet.picture(prefix, f"Profile of line {line.id} over the ground: {says}")


class _ProfileFrame:
    """From metres along and above to millimetres of the sheet."""

    LEFT, RIGHT, LOW, HIGH = 16.0, 168.0, 15.0, 56.0

    def __init__(self, view: Clearance, sheet: SvgSheet):
        self.view, self.sheet = view, sheet
        self.x = np.array(view.x_m, dtype=float)
        self.ground = np.array(view.ground_m, dtype=float)
        heights = np.concatenate([self.ground, np.array(view.unloaded_m, float), np.array(view.walker_m, float)])
        heights = heights[np.isfinite(heights)]
        self.low, self.high = float(heights.min()) - 0.3, float(heights.max()) + 0.4
        self.per_metre = (self.RIGHT - self.LEFT) / max(self.x[-1] - self.x[0], 0.1)
        self.up_per_metre = min((self.HIGH - self.LOW) / (self.high - self.low), 12 * self.per_metre)

    def across(self, x):
        return self.LEFT + (np.asarray(x) - self.x[0]) * self.per_metre

    def up(self, height):
        return self.LOW + (np.asarray(height) - self.low) * self.up_per_metre

    def curve(self, heights, colour, width, dash):
        shown = np.isfinite(heights)
        self.sheet.line(self.across(self.x[shown]), self.up(heights[shown]), colour, width, dash, order=4)

    def draw_ground(self):
        xs = self.across(self.x)
        foot = np.full_like(xs, self.LOW - 2)
        self.sheet.area([*xs, *xs[::-1]], [*self.up(self.ground), *foot], GROUND, "none", order=1)
        self.sheet.line(xs, self.up(self.ground), "ink", 0.5, order=3)

    def draw_axis(self):
        span = self.x[-1] - self.x[0]
        step = next(s for s in (1, 2, 5, 10, 20, 50, 100, 200) if span / s <= 10)
        for metre in np.arange(0, span + 1e-9, step):
            x = float(self.across(self.x[0] + metre))
            self.sheet.line([x, x], [self.LOW - 2, self.LOW - 3.2], width_mm=0.25)
            self.sheet.text(x, self.LOW - 6.2, f"{metre:g}", 2.6, across="center")
        self.sheet.text(self.RIGHT + 3, self.LOW - 6.2, "m", 2.6)
        for height in range(math.ceil(self.low), math.floor(self.high) + 1):
            y = float(self.up(height))
            self.sheet.line([self.LEFT, self.RIGHT], [y, y], "hair", 0.15, order=0)
            self.sheet.text(self.LEFT - 2.5, y - 0.9, f"{height:+d}" if height else "0", 2.6, across="right")
        self.sheet.text(3, self.HIGH + 9.4, "height in m over the ground at A", 2.6)
        factor = self.up_per_metre / self.per_metre
        self.sheet.text(self.RIGHT, self.HIGH + 9.4, f"heights drawn {factor:.0f} times larger than lengths", 2.6,
                        across="right", colour="soft_ink")

    def touching(self, touching):
        for i in np.flatnonzero(touching):
            self.sheet.circle(float(self.across(self.x[i])), float(self.up(self.view.walker_m[i])), 0.8, RUB, order=5)

    def ends(self, line: LineResult):
        for x, height, anchor in zip((self.x[0], self.x[-1]), (self.view.walker_m[0], self.view.walker_m[-1]), line.anchors):
            i = 0 if x == self.x[0] else -1
            top = self.up(self.view.unloaded_m[i])
            self.sheet.line([float(self.across(x))] * 2, [float(self.up(self.ground[i])), float(top) + 4], BARK, 1.6, order=2)
            self.sheet.text(float(self.across(x)) + (1.5 if i == 0 else -1.5), float(top) + 2.5,
                            f"{anchor.end} {anchor.code}", 3, across="left" if i == 0 else "right", bold=True)

    def legend(self, touches: bool):
        y = 3
        entries = [("nobody on the line", "ink", 0.4, (2, 1.2)), ("where the walker stands", SLING, 0.7, None)]
        for i, (words, colour, width, dash) in enumerate(entries):
            self.sheet.line([16 + 50 * i, 24 + 50 * i], [y + 0.9] * 2, colour, width, dash)
            self.sheet.text(26 + 50 * i, y, words, 2.6)
        if touches:
            self.sheet.circle(122, y + 0.9, 0.9, RUB)
            self.sheet.text(125, y, "feet at or below the ground", 2.6)


def cross_section(anchor: AnchorResult, prefix: str = "section") -> str:
    """The trunk from above, true north up: sling, legs, link, pads, slats, and the arcs that rub and that press."""
    plan, sheet = anchor.protection, SvgSheet(92, 92)
    if plan is None or not wording.known(plan.trunk_diameter_m):
        return _nothing(sheet, f"The cross-section of {anchor.code} cannot be drawn: no trunk diameter is known.", prefix)
    radius = plan.trunk_diameter_m / 2
    link = plan.link_distance_m if wording.known(plan.link_distance_m) else None
    reach = max(1.45 * radius, (link or 0.0) * 1.12 + 0.05)
    mm = 34.0 / reach
    x, y, r = 46.0, 46.0, radius * mm
    _arcs(sheet, plan, x, y, r)
    sheet.circle(x, y, r, WOOD, BARK, 0.7, order=3)
    sheet.circle(x, y, 0.5, "ink", order=4)
    sheet.text(x, y - 4.2, f"{plan.trunk_diameter_m * 100:.0f} cm", 3, across="center")
    if wording.known(anchor.pull_bearing_true_deg):
        _sling(sheet, plan, x, y, r, mm, anchor.pull_bearing_true_deg, link)
    else:
        sheet.text(x, 5, "direction of pull not known: sling not drawn", 2.6, across="center")
    sheet.line([8, 8], [76, 86], width_mm=0.5)
    sheet.area([8, 6.6, 9.4], [88.5, 84, 84], "ink")
    sheet.text(10.5, 83, "true N", 2.6)
    _section_key(sheet, plan)
    words = (
        f"Trunk of {anchor.code} from above, true north up, pull towards {wording.bearing(anchor.pull_bearing_true_deg)}. "
        + "; ".join(f"{arc.kind} from {wording.bearing(arc.start_deg)} to {wording.bearing(arc.end_deg)}" for arc in plan.arcs)
    )
    return sheet.picture(prefix, words)


def _arcs(sheet: SvgSheet, plan: Protection, x, y, r) -> None:
    for arc in plan.arcs:
        if arc.kind == "free":
            continue
        fill, hatch = (RUB, "////") if arc.kind == "rub" else (PRESS, None)
        sheet.arc_band(x, y, r + 6.4, 2.6, arc.start_deg, arc.end_deg, fill if hatch is None else "paper",
                       fill if hatch else "ink", 0.3, hatch=hatch)
        middle = math.radians((arc.start_deg + ((arc.end_deg - arc.start_deg) % 360 or 360.0) / 2))
        sheet.text(x + (r + 9.4) * math.sin(middle), y + (r + 9.4) * math.cos(middle), arc.kind, 2.8, across="center",
                   up="center", halo=True)
    for bearing in _slat_bearings(plan):
        _slat(sheet, plan, x, y, r, bearing)


def _slat(sheet: SvgSheet, plan: Protection, x, y, r, bearing) -> None:
    """One slat on end against the bark, its width to scale; 2 cm where none is planned."""
    turn = math.radians(bearing)
    out, along = (math.sin(turn), math.cos(turn)), (math.cos(turn), -math.sin(turn))
    half = (plan.slat_width_m or 0.02) / plan.trunk_diameter_m * r
    corners = [(r + 0.4, -half), (r + 1.7, -half), (r + 1.7, half), (r + 0.4, half)]
    sheet.area([x + d * out[0] + w * along[0] for d, w in corners],
               [y + d * out[1] + w * along[1] for d, w in corners], SLAT, "ink", 0.2, order=4)


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


def _sling(sheet: SvgSheet, plan: Protection, x, y, r, mm, bearing, link) -> None:
    """The part of the sling that lies on the trunk, its two legs to the link, and the pull."""
    turn = math.radians(bearing)

    def at(distance, angle):
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
        points = [(points[0][0] + side[0] * 0.6, points[0][1] + side[1] * 0.6), *points,
                  (points[-1][0] + side[0] * 0.6, points[-1][1] + side[1] * 0.6)]
    for strand in range(min(plan.strands, 2)):
        grown = [(x + (px - x) * (1 + 0.9 * strand / on), y + (py - y) * (1 + 0.9 * strand / on)) for px, py in points[1:-1]]
        drawn = [points[0], *grown, points[-1]]
        sheet.line([px for px, _ in drawn], [py for _, py in drawn], SLING, 0.7, order=5, cap="round")
    sheet.circle(*end, 1.5, "paper", "ink", 0.6, order=7)
    far = (end[0] + 8 * math.sin(turn), end[1] + 8 * math.cos(turn))
    sheet.line([end[0], far[0]], [end[1], far[1]], "ink", 0.5, order=4)
    tip, back = far, (far[0] - 2.6 * math.sin(turn), far[1] - 2.6 * math.cos(turn))
    aside = (1.1 * math.cos(turn), -1.1 * math.sin(turn))
    sheet.area([tip[0], back[0] + aside[0], back[0] - aside[0]], [tip[1], back[1] + aside[1], back[1] - aside[1]], "ink")
    sheet.text(far[0] + 3.4 * math.sin(turn), far[1] + 3.4 * math.cos(turn), wording.bearing(bearing), 2.8,
               across="center", up="center", halo=True)


def _section_key(sheet: SvgSheet, plan: Protection) -> None:
    rows = [shorten(plan.wrap, 34)]
    if wording.known(plan.leg_angle_deg):
        rows.append(f"legs {plan.leg_angle_deg:.0f}° apart" + (f", {plan.strands} strands" if plan.strands > 1 else ""))
    for i, row in enumerate(rows):
        sheet.text(90, 86 - 4 * i, row, 2.8, across="right", bold=i == 0)
    x = 4
    for kind, fill, hatch in (("rubs", RUB, "////"), ("presses", PRESS, None)):
        sheet.box(x, 2.4, 5, 2.6, "paper" if hatch else fill, fill if hatch else "ink", 0.3, hatch=hatch)
        sheet.text(x + 6.5, 2.8, kind, 2.6)
        x += 20
    if plan.slats:
        sheet.box(x, 2.4, 5, 2.6, SLAT, "ink", 0.3)
        sheet.text(x + 6.5, 2.8, f"{plan.slats} slats", 2.6)


def elevation(anchor: AnchorResult, prefix: str = "elevation") -> str:
    """The tie from the side: trunk, height of the tie, pad, slats, sling and link."""
    plan, sheet = anchor.protection, SvgSheet(72, 92)
    if plan is None or not wording.known(anchor.tie_height_m):
        return _nothing(sheet, f"The tie of {anchor.code} cannot be drawn: no tie height is known.", prefix)
    link = plan.link_distance_m or plan.trunk_diameter_m
    mm = min(62.0 / max(anchor.tie_height_m + 0.7, 0.8), 44.0 / (plan.trunk_diameter_m / 2 + link + 0.15))
    half, tie, foot = plan.trunk_diameter_m / 2 * mm, anchor.tie_height_m * mm, 12.0
    x = 13.0 + half
    top = min(88.0, foot + tie + 22)
    sheet.area([x - half * 1.5, x - half, x - half, x + half, x + half, x + half * 1.5],
               [foot, foot + 5, top, top, foot + 5, foot], WOOD, BARK, 0.7, order=1)
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
    low = x - half * 1.5 - 2
    sheet.line([low, low], [foot, foot + tie], "ink", 0.25)
    for y in (foot, foot + tie):
        sheet.line([low - 1, low + 1], [y, y], "ink", 0.25)
    sheet.text(low - 1.2, foot + tie / 2, wording.metres(anchor.tie_height_m, 2), 2.8, across="center", turn_deg=90)
    notes = []
    if plan.pad_material:
        notes.append(plan.pad_material + (f", {plan.pad_height_m * 100:.0f} cm high" if pad else ""))
    if wording.known(plan.sling_width_m):
        notes.append(f"sling {plan.sling_width_m * 1000:.0f} mm wide")
    for i, note in enumerate(notes[:2]):
        sheet.text(3, 6.4 - 4 * i, shorten(note, 44), 2.7)
    words = f"The tie of {anchor.code} from the side, {wording.metres(anchor.tie_height_m, 2)} over the ground; {'; '.join(map(plain, notes))}"
    return sheet.picture(prefix, words)


def bars_of_use(limits: Sequence[Limit], prefix: str = "bars") -> str:
    """Each limit's use as a bar, with the range in which two uses of three fall if the scatters are right."""
    height = 16 + 10 * max(1, len(limits))
    sheet = SvgSheet(180, height)
    left, right = 40.0, 140.0
    most = max([1.2, *(_use_range(limit)[1] * 1.05 for limit in limits if limit.use is not None)])
    most = min(most, 3.0)

    def across(use):
        return left + (right - left) * min(use, most) / most

    for share, words in ((TRIAL_BAND, "60 %"), (LIMIT, "our limit")):
        sheet.line([across(share)] * 2, [9, height - 5], "ink", 0.35, (1.5, 1) if share < 1 else None, order=4)
        sheet.text(across(share), height - 3.4, words, 2.6, across="center")
    for i, limit in enumerate(limits):
        y = height - 13 - 10 * i
        sheet.text(left - 2, y + 0.8, limit.name, 3, across="right")
        if limit.use is None:
            sheet.text(left + 2, y + 0.8, shorten(f"cannot say: {limit.reason or 'outside the model'}", 84), 2.8)
            continue
        fill = "#0072B2" if limit.use <= TRIAL_BAND else "#E69F00" if limit.use <= LIMIT else "#D55E00"
        hatch = None if limit.use <= LIMIT else "xx"
        sheet.box(left, y, across(limit.use) - left, 5, fill, "ink", 0.3, hatch=hatch)
        low, high = _use_range(limit)
        if high > low:
            sheet.line([across(low), across(high)], [y + 2.5] * 2, "ink", 0.5, order=5)
            for end in (low, high):
                sheet.line([across(end)] * 2, [y + 1.3, y + 3.7], "ink", 0.5, order=5)
        sheet.text(right + 3, y + 0.9, f"{limit.use:.0%}, {limit.case}", 2.8)
    sheet.line([left] * 2, [9, height - 5], "ink", 0.35)
    sheet.text(left, 4, "bar: demand over what we allow; whisker: where two of three such cases fall", 2.6, colour="soft_ink")
    words = "; ".join(f"{limit.name} {wording.percent(limit.use)}" for limit in limits)
    return sheet.picture(prefix, f"Use of each limit: {words}")


def _use_range(limit: Limit) -> tuple[float, float]:
    """Use one standard deviation of the logarithm down and up, from the scatter of demand and of capacity."""
    scatter = math.hypot(limit.ln_sd_demand or 0.0, limit.ln_sd_capacity or 0.0)
    return limit.use * math.exp(-scatter), limit.use * math.exp(scatter)


def sectors(anchor: AnchorResult, prefix: str = "sectors") -> str:
    """Root-plate use if the line pulled towards each of the eight sectors of the record, true north up."""
    sheet = SvgSheet(92, 92)
    x, y, full = 46.0, 45.0, 22.0
    if not anchor.use_by_sector:
        return _nothing(sheet, f"Root-plate use by direction of {anchor.code} cannot be drawn.", prefix)
    for ring, words in ((TRIAL_BAND, "60 %"), (LIMIT, "our limit")):
        sheet.circle(x, y, full * ring, None, "soft_ink", 0.25, order=1, dash=(1.2, 1) if ring < 1 else None)
        sheet.text(x + full * ring * math.sin(0.39), y + full * ring * math.cos(0.39), words, 2.3, across="center",
                   up="center", halo=True, order=6)
    for sector in SECTORS:
        bearing = SECTOR_BEARING_DEG[sector]
        turn = math.radians(bearing)
        use = anchor.use_by_sector.get(sector)
        out = 31
        sheet.text(x + 39 * math.sin(turn), y + 39 * math.cos(turn), sector, 3, across="center", up="center", bold=True)
        if not wording.known(use):
            sheet.text(x + out * math.sin(turn), y + out * math.cos(turn), "?", 3, across="center", up="center")
            continue
        reach = full * min(use, 1.25)
        fill = "#0072B2" if use <= TRIAL_BAND else "#E69F00" if use <= LIMIT else "#D55E00"
        sheet.arc_band(x, y, reach, max(reach - 2, 0.5), bearing - 16, bearing + 16, fill, "ink", 0.25,
                       hatch=None if use <= LIMIT else "xx")
        sheet.text(x + out * math.sin(turn), y + out * math.cos(turn), f"{use:.0%}", 2.6, across="center", up="center")
    if wording.known(anchor.pull_bearing_true_deg):
        turn = math.radians(anchor.pull_bearing_true_deg)
        sheet.line([x, x + 34 * math.sin(turn)], [y, y + 34 * math.cos(turn)], "ink", 0.6, (2.5, 1), order=5)
    sheet.circle(x, y, 2, WOOD, BARK, 0.6, order=6)
    sheet.text(2, 1.6, "dashed: the planned pull; ? cannot say; true north up", 2.5, colour="soft_ink")
    words = "; ".join(f"{s} {wording.percent(anchor.use_by_sector.get(s))}" for s in SECTORS)
    return sheet.picture(prefix, f"Root-plate use of {anchor.code} by direction of pull: {words}")


def season_bar(months: Sequence[str], windows: Sequence[tuple[str, Sequence[int]]], month_now: int | None, prefix="season") -> str:
    """Twelve months in a row, each window of the year as a bar under them.

    Parameters
    ----------
    months : one word for the bark in each of the twelve months, such as "growing", "dormant" or "not known"
    windows : (words, months from 1 to 12 it covers), such as ("nesting birds", (3, 4, 5, 6, 7))
    month_now : the planned month from 1 to 12, marked; None where no day is planned
    """
    if len(months) != 12:
        raise ValueError(f"a season bar wants twelve months, got {len(months)}")
    height = 21 + 6.5 * len(windows)
    sheet = SvgSheet(180, height)
    left, step = 44.0, 11.2
    names = "Jan Feb Mar Apr May Jun Jul Aug Sep Oct Nov Dec".split()
    top = height - 14
    sheet.text(left - 2, top + 1.6, "bark", 2.8, across="right")
    for i, (name, state) in enumerate(zip(names, months)):
        x = left + i * step
        fill, hatch = {"growing": ("#E69F00", "//"), "dormant": ("#0072B2", None)}.get(state, ("paper", None))
        sheet.text(x + step / 2, top + 7.5, name, 2.7, across="center", bold=month_now == i + 1)
        sheet.box(x, top, step, 5.5, fill, "ink", 0.3, hatch=hatch)
        if fill == "paper":
            sheet.text(x + step / 2, top + 1.8, "?", 2.8, across="center")
    for row, (words, covered) in enumerate(windows):
        y = top - 6.5 * (row + 1)
        sheet.text(left - 2, y + 1.2, shorten(words, 26), 2.7, across="right")
        for month in covered:
            sheet.box(left + (month - 1) * step, y, step, 4.4, SLAT, "ink", 0.25)
    if month_now:
        x = left + (month_now - 1) * step
        sheet.box(x, top - 6.5 * len(windows) - 0.8, step, 6.3 + 6.5 * len(windows), None, "ink", 0.9, order=6)
    sheet.text(left, 1.2, "orange, striped: growing, bark slips easily; blue: dormant; framed: the planned month", 2.5, colour="soft_ink")
    words = "; ".join(f"{name} {state}" for name, state in zip(names, months))
    more = "; ".join(f"{plain(w)} in months {', '.join(map(str, m))}" for w, m in windows)
    return sheet.picture(prefix, f"Seasons: {words}. {more}")


def sweep(xs, tensions_n, heights_m=None, *, x_words: str, planned: float | None = None, prefix: str = "sweep") -> str:
    """Tension against position or against standing tension, with the height of the line beneath it where given.

    Parameters
    ----------
    xs : where each case stands: metres from A, or standing tension [m or kN, as `x_words` says]
    tensions_n : greatest tension of each case; unknown ones are left out of the curve [N]
    heights_m : height of the line over the ground in each case, or None [m]
    x_words : name of the x axis with its unit
    planned : the planned value on the x axis, marked, or None
    """
    rows = 1 if heights_m is None else 2
    sheet = SvgSheet(180, 12 + 38 * rows)
    _curve(sheet, 14 + 38 * (rows - 1), np.asarray(xs, float), np.asarray(tensions_n, float) / 1e3, "tension, kN", "ink", planned)
    if heights_m is not None:
        _curve(sheet, 14, np.asarray(xs, float), np.asarray(heights_m, float), "height over ground, m", SLING, planned)
    sheet.text(100, 2.2, x_words, 2.7, across="center")
    known = np.asarray(tensions_n, float)
    known = known[np.isfinite(known)]
    span = f"{known.min() / 1e3:.1f} to {known.max() / 1e3:.1f} kN" if known.size else "not known"
    return sheet.picture(prefix, f"Tension against {x_words}: {span}")


def _curve(sheet: SvgSheet, foot: float, xs, ys, name: str, colour: str, planned: float | None) -> None:
    left, right, tall = 22.0, 172.0, 28.0
    shown = np.isfinite(xs) & np.isfinite(ys)
    sheet.text(4, foot + tall + 3, name, 2.7)
    if shown.sum() < 2:
        sheet.text(left, foot + tall / 2, "not known", 2.8)
        return
    xs, ys = xs[shown], ys[shown]
    low, high = min(0.0, ys.min()), max(ys.max(), 1e-6)
    step = _nice((high - low) / 4)

    def across(x):
        return left + (x - xs.min()) / max(xs.max() - xs.min(), 1e-9) * (right - left)

    def up(y):
        return foot + (y - low) / (high - low) * tall

    for tick in np.arange(math.ceil(low / step) * step, high + 1e-9, step):
        sheet.line([left, right], [up(tick)] * 2, "hair", 0.15, order=0)
        sheet.text(left - 1.5, up(tick) - 0.9, f"{tick:g}", 2.5, across="right")
    x_step = _nice((xs.max() - xs.min()) / 6)
    for tick in np.arange(math.ceil(xs.min() / x_step) * x_step, xs.max() + 1e-9, x_step):
        sheet.line([across(tick)] * 2, [foot, foot - 1], width_mm=0.25)
        sheet.text(across(tick), foot - 4.2, f"{tick:.6g}", 2.5, across="center")
    sheet.line(across(xs), up(ys), colour, 0.7, order=3)
    sheet.line([left, right], [up(0) if low <= 0 <= high else foot] * 2, "ink", 0.3)
    if planned is not None and xs.min() <= planned <= xs.max():
        sheet.line([across(planned)] * 2, [foot, foot + tall], "ink", 0.4, (1.5, 1))
        sheet.text(across(planned) + 1, foot + tall - 2, "planned", 2.5, halo=True)


def _nice(step: float) -> float:
    """The next round number of 1, 2 or 5 times a power of ten."""
    power = 10.0 ** math.floor(math.log10(max(step, 1e-9)))
    return next(m * power for m in (1, 2, 5, 10) if m * power >= step * 0.999)


def _nothing(sheet: SvgSheet, words: str, prefix: str) -> str:
    sheet.box(1, 1, sheet.width_mm - 2, sheet.height_mm - 2, None, "hair", 0.3, dash=(2, 1.5))
    rows = textwrap.wrap(plain(words), int(sheet.width_mm / 1.75))
    lines_of_text(sheet, 5, sheet.height_mm / 2 + 4, rows[:8], 3)
    return sheet.picture(prefix, words)
