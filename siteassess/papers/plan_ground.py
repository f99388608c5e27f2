"""What the plan shows within its map frame: ground, surroundings, lines, anchors and labels."""

from __future__ import annotations

import math

import numpy as np

from siteassess.mechanics.arrays import Array
from siteassess.papers import wording
from siteassess.papers.drawing import Sheet
from siteassess.papers.look import shorten
from siteassess.papers.plan_blocks import DASHES_MM
from siteassess.papers.plan_frame import Box, View
from siteassess.papers.plan_furniture import grid_step
from siteassess.papers.plan_labels import LabelCrowd, Placed, Wanted, place
from siteassess.papers.scene import LineStretch, Scene, Shape, Spot
from siteassess.reference.look import NOT_JUDGED, look
from siteassess.reference.measures import known

SYMBOL_MM, MARK_MM, INDEX_NAME_MM = 5.0, 4.4, 18.0


def draw_ground(sheet: Sheet, view: View, scene: Scene, errors: bool = False) -> None:
    """The ground, the surrounding things, fall strips, root zones, crowns and, if asked for, error ellipses."""
    b = view.box
    sheet.box(b.x, b.y, b.width, b.height, "paper", "none", order=0)
    sheet.clipped_to(b.x, b.y, b.width, b.height)
    _grid_crosses(sheet, view)
    for shape in scene.shapes:
        _draw_shape(sheet, view, shape)
    for spot in scene.spots:
        x, y = view.x(spot.east_m), view.y(spot.north_m)
        if spot.crown_radius_m:
            sheet.circle(x, y, spot.crown_radius_m * view.per_metre, "#009E73", "none", order=2.2, alpha=0.14)
            sheet.circle(x, y, spot.crown_radius_m * view.per_metre, None, "ink", 0.2, order=2.3)
        if spot.root_zone_radius_m:
            sheet.circle(
                x, y, spot.root_zone_radius_m * view.per_metre, None, "#8a6d3b", 0.3, order=2.4, dash=(1.2, 1.0)
            )
        if errors and spot.ellipse:
            outline = spot.ellipse.outline_m() + (spot.east_m, spot.north_m)
            sheet.area(view.x(outline[:, 0]), view.y(outline[:, 1]), None, "#CC79A7", 0.3, order=2.5)
    for stretch in scene.stretches:
        strip = stretch.strip_m()
        sheet.area(view.x(strip[:, 0]), view.y(strip[:, 1]), None, "#D55E00", 0.2, order=2.1, dash=(0.3, 0.9))
    sheet.unclipped()


def _draw_shape(sheet: Sheet, view: View, shape: Shape) -> None:
    how = look().features[shape.kind]
    xs, ys = view.x(shape.east_m), view.y(shape.north_m)
    if "symbol" in how or len(xs) == 1:
        if view.shows(float(shape.east_m[0]), float(shape.north_m[0])):
            sheet.symbol(how.get("symbol", "small_dot"), float(xs[0]), float(ys[0]), MARK_MM, "#F0E442", order=4)
        return
    dash = tuple(float(d) / 4 for d in how["dash"].split()) or None
    if shape.closed:
        hatch = "////" if how["fill"] == "hatch" else None
        fill = None if how["fill"] in ("hatch", "none") else how["fill"]
        sheet.area(xs, ys, fill, how["stroke"], 0.35, order=1, hatch=hatch, dash=dash)
        return
    metres = shape.width_m or how["width_m"]
    if dash or how["fill"] == "none":
        sheet.line(xs, ys, how["stroke"], 0.45, dash, order=1.4)
        return
    wide = max(0.8, metres * view.per_metre)
    sheet.line(xs, ys, how["stroke"], wide + 0.5, order=1.2, cap="round")
    sheet.line(xs, ys, how["fill"], wide, order=1.3, cap="round")


def drawn_in(view: View, spot: Spot) -> bool:
    return view.shows(spot.east_m, spot.north_m)


def labelled(
    view: View, scene: Scene, taken: list[Box], leave: frozenset[str] = frozenset(), only: frozenset[str] | None = None
) -> tuple[list[Placed], list[Wanted]]:
    """Labels with their places, and those that find no room.

    Parameters
    ----------
    view, scene : the map and what is on it
    taken : boxes that labels keep off
    leave, only : anchors and lines that an inset tells; of an inset, those that it tells and no others
    """
    crowd, half = LabelCrowd(view.box), SYMBOL_MM / 2
    for box in taken:
        crowd.take(box.x, box.y, box.right, box.top)
    shown = [spot for spot in scene.spots if drawn_in(view, spot)]
    for spot in shown:
        x, y = view.x(spot.east_m), view.y(spot.north_m)
        crowd.take(x - half, y - half, x + half, y + half)
    marks = [m for m in scene.shapes if "symbol" in look().features[m.kind] and view.shows(m.east_m[0], m.north_m[0])]
    for mark in marks:
        x, y = view.x(float(mark.east_m[0])), view.y(float(mark.north_m[0]))
        crowd.take(x - MARK_MM / 2, y - MARK_MM / 2, x + MARK_MM / 2, y + MARK_MM / 2)
    named = named_labels(view, scene)
    wanted = [label for label in named if label.name not in leave and (only is None or label.name in only)]
    return place([*wanted, *_shape_labels(view, scene)], crowd)


def named_labels(view: View, scene: Scene) -> list[Wanted]:
    """Labels of anchors and lines that a map shows."""
    shown = [spot for spot in scene.spots if drawn_in(view, spot)]
    return [*_anchor_labels(view, shown, scene), *_line_labels(view, scene)]


def draw_site(
    sheet: Sheet, view: View, scene: Scene, taken: list[Box], leave: frozenset[str] = frozenset(),
    only: frozenset[str] | None = None,
) -> list[Wanted]:
    """Lines, anchors and labels, these as in `labelled`; returns the labels that found no room."""
    b = view.box
    sheet.clipped_to(b.x, b.y, b.width, b.height)
    for stretch in scene.stretches:
        _draw_line(sheet, view, stretch)
    for spot in scene.spots:
        if drawn_in(view, spot):
            x, y = view.x(spot.east_m), view.y(spot.north_m)
            if spot.trunk_radius_m:
                sheet.circle(x, y, spot.trunk_radius_m * view.per_metre, "ink", "none", order=4)
            sheet.verdict(spot.verdict, x, y, SYMBOL_MM)
    sheet.unclipped()
    placed, left_out = labelled(view, scene, taken, leave, only)
    for label in placed:
        _draw_label(sheet, label)
    return left_out


def _draw_line(sheet: Sheet, view: View, stretch: LineStretch) -> None:
    xs = [view.x(stretch.a.east_m), view.x(stretch.b.east_m)]
    ys = [view.y(stretch.a.north_m), view.y(stretch.b.north_m)]
    sheet.line(xs, ys, "paper", 1.9, order=3)
    sheet.line(xs, ys, "ink", 0.8, DASHES_MM[stretch.result.verdict], order=3.1)


def _anchor_labels(view: View, spots: list[Spot], scene: Scene) -> list[Wanted]:
    ways: dict[str, list[float]] = {}
    for line in scene.stretches:
        east, north = line.b.east_m - line.a.east_m, line.b.north_m - line.a.north_m
        ways.setdefault(line.a.code, []).append(math.atan2(east, north))
        ways.setdefault(line.b.code, []).append(math.atan2(-east, -north))
    return [
        Wanted(
            view.x(spot.east_m), view.y(spot.north_m), f"{spot.code} {scene.words.of(spot.verdict or NOT_JUDGED)}", 2.7,
            SYMBOL_MM / 2 + 0.8, shorter=(spot.code,), bold=True, name=spot.code, avoid=tuple(ways.get(spot.code, ())),
        )
        for spot in spots
    ]  # fmt: skip


def _line_labels(view: View, scene: Scene) -> list[Wanted]:
    labels = []
    for stretch in scene.stretches:
        g, a, b, m = stretch.result.geometry, stretch.a, stretch.b, scene.measures
        ways = (g.bearing_true_deg, g.back_bearing_true_deg)
        short = f"{stretch.result.id} {scene.words.of(stretch.result.verdict)}"
        bearings = " / ".join(map(m.bearing, ways)) if all(map(known, ways)) else scene.words("te-no-bearing")
        words = f"{short}, {wording.span(stretch.result, m)}, {bearings}"
        along = [
            (a.east_m + t * (b.east_m - a.east_m), a.north_m + t * (b.north_m - a.north_m))
            for t in (0.5, 0.38, 0.62, 0.25, 0.75)
        ]
        seen = [(view.x(e), view.y(n)) for e, n in along if view.shows(e, n, 2)]
        if seen:
            labels.append(
                Wanted(
                    *seen[0],
                    words,
                    2.5,
                    1.4,
                    shorter=(short, stretch.result.id),
                    anchors=tuple(seen[1:]),
                    name=stretch.result.id,
                )
            )
    return labels


def _shape_labels(view: View, scene: Scene) -> list[Wanted]:
    labels = []
    for shape in scene.shapes:
        # a vertex is a poor place for a long path's name: try the middle of each stretch of it
        whole = shape.closed or len(shape.east_m) == 1
        ways = [[float(m.mean())] if whole else _middles(m) for m in (shape.east_m, shape.north_m)]
        seen = [(view.x(e), view.y(n)) for e, n in zip(*ways) if view.shows(e, n, 2)]
        if not seen:
            continue
        gap = MARK_MM / 2 + 0.8 if "symbol" in look().features[shape.kind] else 1.4
        labels.append(
            Wanted(
                *seen[0],
                shorten(shape.name or scene.words.of(shape.kind), 34),
                2.3,
                gap,
                shorter=(scene.words.of(shape.kind),),
                colour="soft_ink",
                anchors=tuple(seen[1:]),
            )
        )
    return labels


def _middles(values: Array) -> list[float]:
    return [float(middle) for middle in (values[:-1] + values[1:]) / 2]


def _draw_label(sheet: Sheet, label: Placed) -> None:
    b, wanted = label.box, label.wanted
    if label.leader:
        near = (min(max(label.leader[0], b.x), b.right), min(max(label.leader[1], b.y), b.top))
        sheet.line([label.leader[0], near[0]], [label.leader[1], near[1]], "soft_ink", 0.2, order=5)
    sheet.box(b.x - 0.5, b.y - 0.4, b.width + 1, b.height + 0.8, "paper", "none", order=6, alpha=0.85)
    sheet.text(b.x, b.y + 0.22 * b.height, label.text, wanted.size_mm, bold=wanted.bold, colour=wanted.colour, order=7)


def _grid_crosses(sheet: Sheet, view: View) -> None:
    step = grid_step(view)
    west, south, east, north = view.reach()
    places = [
        (view.x(e), view.y(n))
        for e in np.arange(math.ceil(west / step) * step, east, step)
        for n in np.arange(math.ceil(south / step) * step, north, step)
    ]
    strokes = [stroke for x, y in places for stroke in ((x - 1, y, x + 1, y), (x, y - 1, x, y + 1))]
    sheet.strokes(strokes, "hair", 0.2, order=0.5)


def draw_index(sheet: Sheet, whole: View, scene: Scene, views: list[View]) -> None:
    """Where each sheet lies, on the overview."""
    b = whole.box
    sheet.clipped_to(b.x, b.y, b.width, b.height)
    for stretch in scene.stretches:
        _draw_line(sheet, whole, stretch)
    for spot in scene.spots:
        sheet.verdict(spot.verdict, whole.x(spot.east_m), whole.y(spot.north_m), 2.6)
    names: list[tuple[float, float]] = []
    for number, view in enumerate(views, 2):
        west, south, east, north = view.reach()
        x, y = whole.x(west), whole.y(south)
        sheet.box(x, y, whole.x(east) - x, whole.y(north) - y, None, "#0072B2", 0.5, order=7)
        at = (max(x, b.x) + 1, min(whole.y(north), b.top) - 3.4)
        while any(abs(at[0] - other[0]) < INDEX_NAME_MM and abs(at[1] - other[1]) < 4.0 for other in names):
            at = (at[0], at[1] - 4.2)
        names.append(at)
        name = scene.words("pl-sheet-number", number=number)
        sheet.text(*at, name, 3, bold=True, colour="#0072B2", halo=True, order=8)
    sheet.unclipped()
