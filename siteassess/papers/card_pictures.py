"""Two small pictures for the pair card, legible in black and white: the pair on the ground, and its year."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from typing import TypeAlias

from siteassess.advice.care_results import SeasonPlan
from siteassess.papers.language import Words
from siteassess.papers.look import shorten
from siteassess.papers.scene import LineStretch, Scene, Shape
from siteassess.papers.seasons import SHOWN_KINDS, months_between
from siteassess.papers.svg_sheet import SvgSheet
from siteassess.reference.measures import Measures
from siteassess.units import factor, show

WIDE, TALL, EDGE = 96.0, 62.0, 5.0
LEAST_TEXT, ROW_TALL = 3.1, 9.0  # eleven pixels of a phone that shows the picture as wide as itself
BAR_LENGTHS_M = (2.0, 5.0, 10.0, 20.0, 50.0, 100.0, 200.0)
ROUND_MARGIN_M = 6.0
Point: TypeAlias = tuple[float, float]


def pair_plan(scene: Scene, stretch: LineStretch, words: Words, measures: Measures, prefix: str) -> str:
    """The two trees, the line between them and what lies about, true north up, with a bar."""
    sheet = SvgSheet(WIDE, TALL)
    sheet.box(0.4, 0.4, WIDE - 0.8, TALL - 0.8, "white", "ink", 0.4)
    place, per_metre = _fit(stretch)

    for shape in scene.shapes:
        points = [place(float(e), float(n)) for e, n in zip(shape.east_m, shape.north_m)]
        _shape(sheet, shape, points, words)
    for spot in (stretch.a, stretch.b):
        x, y = place(spot.east_m, spot.north_m)
        if spot.crown_radius_m and _inside(x, y):
            sheet.circle(x, y, min(spot.crown_radius_m * per_metre, 16), None, "soft_ink", 0.25, dash=(1, 1))
        sheet.circle(x, y, 1.5, "ink", "ink", 0.3, order=6)
        left = spot.east_m < (stretch.a.east_m + stretch.b.east_m) / 2
        sheet.text(x, y + 2.6, spot.code, 3.6, across="right" if left else "left", bold=True, halo=True, order=8)
    xs, ys = zip(*(place(spot.east_m, spot.north_m) for spot in (stretch.a, stretch.b)))
    sheet.line(xs, ys, "ink", 0.9, order=5)
    _bar_and_north(sheet, per_metre, measures)
    return sheet.picture(prefix, f"{words.with_colon('plan')} {stretch.a.code}, {stretch.b.code}")


def _fit(stretch: LineStretch) -> tuple[Callable[[float, float], Point], float]:
    """From metres east and north to the sheet, so that both trees are well inside, and millimetres a metre."""
    a, b = stretch.a, stretch.b
    wide = abs(a.east_m - b.east_m) + 2 * ROUND_MARGIN_M
    tall = abs(a.north_m - b.north_m) + 2 * ROUND_MARGIN_M
    per_metre = min((WIDE - 2 * EDGE - 8) / wide, (TALL - 2 * EDGE - 8) / tall)
    east, north = (a.east_m + b.east_m) / 2, (a.north_m + b.north_m) / 2
    return lambda x, y: (WIDE / 2 + (x - east) * per_metre, TALL / 2 + 2 + (y - north) * per_metre), per_metre


def _inside(x: float, y: float) -> bool:
    return 1 < x < WIDE - 1 and 1 < y < TALL - 1


def _shape(sheet: SvgSheet, shape: Shape, points: Sequence[Point], words: Words) -> None:
    """Parts of a thing that lie on the sheet; a path is drawn piece by piece so that none runs over the frame."""
    name = shorten(words.of(shape.kind), 20)
    if len(points) == 1:
        (x, y) = points[0]
        if _inside(x, y):
            sheet.box(x - 1, y - 1, 2, 2, "white", "ink", 0.4, order=3)
            sheet.text(min(x + 2, WIDE - 36), y - 1, name, LEAST_TEXT, halo=True)
        return
    ring = [*points, points[0]] if shape.closed else points
    labelled = False
    for (x0, y0), (x1, y1) in zip(ring, ring[1:]):
        steps = max(2, math.ceil(math.hypot(x1 - x0, y1 - y0) / 1.0))
        walk = [(x0 + (x1 - x0) * i / steps, y0 + (y1 - y0) * i / steps) for i in range(steps + 1)]
        inside = [point for point in walk if _inside(*point)]
        if len(inside) > 1:
            xs, ys = zip(*inside)
            sheet.line(xs, ys, "ink", 0.5, dash=dashes(shape.kind), order=2)
            if not labelled:
                # not over the bar in the corner
                middle = next((p for p in inside[len(inside) // 2 :] if p[0] > 40 or p[1] > 9), inside[0])
                sheet.text(min(middle[0], WIDE - 36), min(middle[1] + 1, TALL - 4), name, LEAST_TEXT, halo=True)
                labelled = True


def dashes(kind: str) -> tuple[float, ...]:
    """Dashes tell kinds of lines apart without colour."""
    return {"path": (3.0, 1.2), "road": (6.0, 1.0), "worn track": (1.0, 1.0), "water": (4.0, 1.0, 1.0, 1.0)}.get(
        kind, (2.0, 1.0)
    )


def _bar_and_north(sheet: SvgSheet, per_metre: float, measures: Measures) -> None:
    name = "ft" if measures.system == "us" else "m"
    unit = factor(name)
    fits = [length for length in BAR_LENGTHS_M if length * unit * per_metre <= 34] or [BAR_LENGTHS_M[0]]
    length = max(fits)
    width = length * unit * per_metre
    sheet.box(2.6, 2.2, width, 1.5, "ink", "ink", 0.3, order=7)
    sheet.text(2.6, 4.6, show(length * unit, f"{name} g"), LEAST_TEXT, halo=True, order=8)
    x, y = WIDE - 6, TALL - 12
    sheet.area([x - 2, x, x + 2], [y, y + 6, y], "ink", "ink", 0.3, order=7)
    sheet.text(x, y - 3, "N", 3.2, across="center", bold=True, halo=True, order=8)


def season_strip(plan: SeasonPlan, month: int, words: Words, prefix: str) -> str:
    """Twelve months: when bark slips, when to keep away or take care, and the month judged; each row under its word."""
    rows: dict[str, set[int]] = {}
    for window in plan.windows:
        if window.kind in SHOWN_KINDS:
            rows.setdefault(words.of(window.kind), set()).update(months_between(window.start, window.end))
    height = 15.0 + ROW_TALL * len(rows)
    sheet, left, step = SvgSheet(WIDE, height), 3.0, 7.5
    for number, name in enumerate(words("months").split()[:12]):
        x = left + number * step
        sheet.text(x + step / 2, 2.0, name, LEAST_TEXT, across="center", bold=month == number + 1)
        growing = plan.months[number]["growing"]
        sheet.box(x, 5.5, step, 4.0, "white", "ink", 0.35, hatch="////" if growing and plan.known else None)
        if not plan.known:
            sheet.text(x + step / 2, 6.4, "?", LEAST_TEXT, across="center")
    sheet.text(left, 10.6, words("bark"), LEAST_TEXT, halo=True, order=8)
    for row, (name, months) in enumerate(rows.items(), 1):
        y = 5.5 + ROW_TALL * row
        sheet.text(left, y + 4.6, name, LEAST_TEXT, halo=True, order=8)
        for covered in months:
            sheet.box(left + (covered - 1) * step, y, step, 3.4, "ink", "ink", 0.25)
    x = left + (month - 1) * step
    sheet.box(x, 4.9, step, height - 6.0, None, "ink", 1.0, order=6)
    return sheet.picture(prefix, words("season-year"))
