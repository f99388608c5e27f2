"""What the plan shows within its map frame: ground, surroundings, lines, anchors, labels, bar, north and ticks."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from siteassess.papers import wording
from siteassess.papers.drawing import Sheet, text_width
from siteassess.papers.look import look, shorten
from siteassess.papers.plan_frame import Box, View
from siteassess.papers.plan_labels import Crowd, Wanted, place
from siteassess.papers.scene import Scene, Shape, Stretch

SYMBOL_MM, MARK_MM = 5.0, 4.4
DASHES_MM = {"suits": None, "suits if": (4.5, 1.6), "cannot say": (0.9, 1.6), "leave it": (4.5, 1.2, 0.9, 1.2)}
NORTH_BOX_MM, LOW_NORTH_BOX_MM = (25.0, 31.0), (48.0, 19.0)


def draw_ground(sheet: Sheet, view: View, scene: Scene) -> None:
    """The ground, the surrounding things, root zones and crowns."""
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


def draw_site(sheet: Sheet, view: View, scene: Scene, bar_box: Box) -> int:
    """Lines, anchors and labels; returns how many labels found no room."""
    b = view.box
    crowd = Crowd(b)
    crowd.take(bar_box.x, bar_box.y, bar_box.right, bar_box.top)
    north = north_box(view, scene)
    crowd.take(north.x, north.y, north.right, north.top)
    shown = [spot for spot in scene.spots if view.shows(spot.east_m, spot.north_m)]
    half = SYMBOL_MM / 2
    for spot in shown:
        x, y = view.x(spot.east_m), view.y(spot.north_m)
        crowd.take(x - half, y - half, x + half, y + half)
    marks = [m for m in scene.shapes if "symbol" in look().features[m.kind] and view.shows(m.east_m[0], m.north_m[0])]
    for mark in marks:
        x, y = view.x(float(mark.east_m[0])), view.y(float(mark.north_m[0]))
        crowd.take(x - MARK_MM / 2, y - MARK_MM / 2, x + MARK_MM / 2, y + MARK_MM / 2)
    sheet.clipped_to(b.x, b.y, b.width, b.height)
    for stretch in scene.stretches:
        _draw_line(sheet, view, stretch)
    for spot in shown:
        x, y = view.x(spot.east_m), view.y(spot.north_m)
        if spot.trunk_radius_m:
            sheet.circle(x, y, spot.trunk_radius_m * view.per_metre, "ink", "none", order=4)
        sheet.verdict(spot.verdict, x, y, SYMBOL_MM)
    sheet.unclipped()
    placed, left_out = place(
        [*_anchor_labels(view, shown), *_line_labels(view, scene), *_shape_labels(view, scene)], crowd
    )
    for label in placed:
        _draw_label(sheet, label)
    return len(left_out)


def _draw_line(sheet: Sheet, view: View, stretch: Stretch) -> None:
    xs = [view.x(stretch.a.east_m), view.x(stretch.b.east_m)]
    ys = [view.y(stretch.a.north_m), view.y(stretch.b.north_m)]
    sheet.line(xs, ys, "paper", 1.9, order=3)
    sheet.line(xs, ys, "ink", 0.8, DASHES_MM[stretch.result.verdict], order=3.1)


def _anchor_labels(view: View, spots) -> list[Wanted]:
    return [
        Wanted(
            view.x(s.east_m),
            view.y(s.north_m),
            f"{s.code} {s.verdict or 'not judged'}",
            2.7,
            SYMBOL_MM / 2 + 0.8,
            short=s.code,
            bold=True,
        )
        for s in spots
    ]


def _line_labels(view: View, scene: Scene) -> list[Wanted]:
    labels = []
    for stretch in scene.stretches:
        g, a, b = stretch.result.geometry, stretch.a, stretch.b
        span = g.taped_m if wording.known(g.taped_m) else g.distance_m
        words = (
            f"{stretch.result.id} {stretch.result.verdict}, {wording.metres(span)}, "
            f"{wording.bearing(g.bearing_true_deg)} / {wording.bearing(g.back_bearing_true_deg)}"
        )
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
                    short=f"{stretch.result.id} {stretch.result.verdict}",
                    anchors=tuple(seen[1:]),
                )
            )
    return labels


def _shape_labels(view: View, scene: Scene) -> list[Wanted]:
    labels = []
    for shape in scene.shapes:
        # a vertex is a poor place for a long path's name: try the middle of each stretch of it
        east = [float(shape.east_m.mean())] if shape.closed or len(shape.east_m) == 1 else list(_middles(shape.east_m))
        north = (
            [float(shape.north_m.mean())] if shape.closed or len(shape.north_m) == 1 else list(_middles(shape.north_m))
        )
        seen = [(view.x(e), view.y(n)) for e, n in zip(east, north) if view.shows(e, n, 2)]
        if not seen:
            continue
        gap = MARK_MM / 2 + 0.8 if "symbol" in look().features[shape.kind] else 1.4
        labels.append(
            Wanted(
                *seen[0],
                shorten(shape.name or shape.kind, 34),
                2.3,
                gap,
                short=shape.kind,
                colour="soft_ink",
                anchors=tuple(seen[1:]),
            )
        )
    return labels


def _middles(values: np.ndarray) -> np.ndarray:
    return (values[:-1] + values[1:]) / 2


def _draw_label(sheet: Sheet, label) -> None:
    b, wanted = label.box, label.wanted
    if label.leader:
        near = (min(max(label.leader[0], b.x), b.right), min(max(label.leader[1], b.y), b.top))
        sheet.line([label.leader[0], near[0]], [label.leader[1], near[1]], "soft_ink", 0.2, order=5)
    sheet.box(b.x - 0.5, b.y - 0.4, b.width + 1, b.height + 0.8, "paper", "none", order=6, alpha=0.85)
    sheet.text(b.x, b.y + 0.22 * b.height, label.text, wanted.size_mm, bold=wanted.bold, colour=wanted.colour, order=7)


@dataclass(frozen=True)
class Bar:
    """A scale bar of some equal parts, in the corner where it hides least."""

    box: Box
    step_m: float
    parts: int

    def ten_metres(self, per_metre: float) -> tuple[float, float, float] | None:
        """Left, right and foot of the bar's first 10 m [mm]; None where 10 m is not one of its marks."""
        marks = 10.0 / self.step_m
        if marks > self.parts + 1e-9 or abs(marks - round(marks)) > 1e-9:
            return None
        x, y = self.box.x + 5, self.box.y + 2.2
        return x, x + 10 * per_metre, y


def plan_bar(view: View, scene: Scene, feet: bool) -> Bar:
    """The longest of a few bars that hides no anchor, in any corner but that of the north arrows."""
    per_metre, b = view.per_metre, view.box
    step = next((s for s in (1, 2, 5, 10, 50, 100, 500, 1000, 5000, 10000) if s * per_metre >= 9), 20000)
    most = max(1, min(5, int(min(70.0, b.width * 0.45) / (step * per_metre))))
    tall, north = (19.0 if feet else 11.0), north_box(view, scene)
    if view.strip:
        return Bar(Box(view.strip.x + 2, view.strip.y + 1.5, most * step * per_metre + 16, tall), step, most)
    tried = []
    for parts in range(most, 0, -1):
        wide = parts * step * per_metre + 16
        for x in (b.x + 2, b.right - wide - 2):
            for y in (b.y + 2, b.top - tall - 2):
                box = Box(x, y, wide, tall)
                apart = box.right < north.x or north.right < box.x or box.top < north.y or north.top < box.y
                if apart:
                    tried.append(Bar(box, step, parts))
    hidden = [_hidden(view, scene, bar.box) for bar in tried]
    return tried[int(np.argmin(hidden))]


def _hidden(view: View, scene: Scene, box: Box) -> int:
    """How much a box hides: anchors count thrice a twelfth of a line."""
    points = [(spot.east_m, spot.north_m) for spot in scene.spots] * 3
    points += [
        (s.a.east_m + t / 12 * (s.b.east_m - s.a.east_m), s.a.north_m + t / 12 * (s.b.north_m - s.a.north_m))
        for s in scene.stretches
        for t in range(13)
    ]
    east, north = (np.array(column) for column in zip(*points))
    xs, ys = view.x(east), view.y(north)
    inside = (xs > box.x - 4) & (xs < box.right + 4) & (ys > box.y - 4) & (ys < box.top + 4)
    return int(np.sum(inside))


def draw_bar(sheet: Sheet, view: View, bar: Bar, feet: bool) -> None:
    """The scale bar in metres and, where asked, in feet above."""
    box, each_m = bar.box, bar.step_m * view.per_metre
    sheet.box(box.x, box.y, box.width, box.height, "paper", "ink", 0.35, order=8)
    x, y = box.x + 5, box.y + 2.2
    _segments(sheet, x, y, each_m, bar.parts, [f"{i * bar.step_m}" for i in range(bar.parts + 1)], "m")
    if feet:
        foot = 0.3048 * view.per_metre
        each = next((s for s in (5, 10, 20, 50, 100, 200, 500, 1000) if s * foot >= 10), 2000)
        count = max(1, int((bar.parts * each_m) / (each * foot) + 1e-6))
        _segments(sheet, x, y + 8, each * foot, count, [f"{i * each}" for i in range(count + 1)], "ft")


def _segments(sheet: Sheet, x: float, y: float, each: float, count: int, names: list[str], unit: str) -> None:
    for i in range(count):
        sheet.box(x + i * each, y, each, 1.8, "ink" if i % 2 == 0 else "paper", "none", order=9)
        # the outline lies within the bar, so that its ends are its length
    sheet.line([x, x + count * each], [y + 0.1] * 2, "ink", 0.2, order=9)
    sheet.line([x, x + count * each], [y + 1.7] * 2, "ink", 0.2, order=9)
    sheet.line([x + count * each - 0.1] * 2, [y, y + 1.8], "ink", 0.2, order=9)
    for i, name in enumerate(names):
        last = f" {unit}" if i == count else ""
        sheet.text(x + i * each - text_width(name, 2.5) / 2, y + 3, name + last, 2.5, order=9)


def draw_frame(sheet: Sheet, view: View, scene: Scene) -> None:
    """The frame with its ticks, and the north arrows in the upper right corner."""
    b = view.box
    sheet.box(b.x, b.y, b.width, b.height, None, "ink", 0.6, order=8)
    if view.strip:
        sheet.box(view.strip.x, view.strip.y, view.strip.width, view.strip.height, None, "ink", 0.6, order=8)
    step = _grid_step(view)
    west, south, east, north = view.reach()
    for metre in np.arange(math.ceil(west / step) * step, east, step):
        x = view.x(metre)
        sheet.strokes([(x, b.y, x, b.y + 2), (x, b.top - 2, x, b.top)], order=8)
        sheet.text(x, b.top + 0.9, f"{metre:+.0f}" if metre else "0", 2.0, across="center", colour="soft_ink")
    for metre in np.arange(math.ceil(south / step) * step, north, step):
        y = view.y(metre)
        sheet.strokes([(b.x, y, b.x + 2, y), (b.right - 2, y, b.right, y)], order=8)
        sheet.text(
            b.x - 0.9, y, f"{metre:+.0f}" if metre else "0", 2.0, across="center", turn_deg=90, colour="soft_ink"
        )
    _north(sheet, view, scene)


def _grid_step(view: View) -> float:
    return next((s for s in (5, 10, 20, 50, 100, 200, 500, 1000, 5000) if s * view.per_metre >= 18), 10000)


def _grid_crosses(sheet: Sheet, view: View) -> None:
    step = _grid_step(view)
    west, south, east, north = view.reach()
    places = [
        (view.x(e), view.y(n))
        for e in np.arange(math.ceil(west / step) * step, east, step)
        for n in np.arange(math.ceil(south / step) * step, north, step)
    ]
    strokes = [stroke for x, y in places for stroke in ((x - 1, y, x + 1, y), (x, y - 1, x, y + 1))]
    sheet.strokes(strokes, "hair", 0.2, order=0.5)


def north_box(view: View, scene: Scene) -> Box:
    """The corner for the north arrows that hides the fewest anchors and lines."""
    if view.strip:
        wide, tall = LOW_NORTH_BOX_MM
        return Box(view.strip.right - wide - 2, view.strip.y + 1.5, wide, tall)
    b, (wide, tall) = view.box, NORTH_BOX_MM
    corners = [(b.right - wide - 2, b.top - tall - 2), (b.x + 2, b.top - tall - 2), (b.right - wide - 2, b.y + 2)]
    boxes = [Box(*corner, wide, tall) for corner in corners]
    return boxes[int(np.argmin([_hidden(view, scene, box) for box in boxes]))]


def _north(sheet: Sheet, view: View, scene: Scene) -> None:
    box = north_box(view, scene)
    low = box.height < box.width  # words beside the arrows rather than below them
    sheet.box(box.x, box.y, box.width, box.height, "paper", "ink", 0.35, order=8)
    x, foot, tall = (box.x + 10, box.y + 2.0, 12.0) if low else (box.x + box.width / 2, box.y + 9.5, 16.0)
    sheet.line([x, x], [foot, foot + tall - 3], "ink", 0.6, order=9)
    sheet.area([x, x - 1.6, x + 1.6], [foot + tall, foot + tall - 4.5, foot + tall - 4.5], "ink", "none", order=9)
    sheet.text(x, foot + tall + 1, "N", 3.2, across="center", bold=True, order=9)
    turn = scene.declination_deg
    words = ["true north up", "magnetic not known" if turn is None else f"magnetic {abs(turn):.1f}° {east_west(turn)}"]
    for i, row in enumerate(words):
        at = (box.x + 17, box.y + 11 - 4 * i, "left") if low else (x, box.y + 5.2 - 3.4 * i, "center")
        sheet.text(at[0], at[1], row, 2.2, across=at[2], order=9)
    if turn is not None:
        _magnetic_arrow(sheet, x, foot, tall - 1, turn)


def _magnetic_arrow(sheet: Sheet, x: float, foot: float, tall: float, declination_deg: float) -> None:
    """A thin arrow with half a barb, on its own side."""
    turn = math.radians(declination_deg)
    end = (x + tall * math.sin(turn), foot + tall * math.cos(turn))
    sheet.line([x, end[0]], [foot, end[1]], "#0072B2", 0.5, order=9)
    side = 2.2 if declination_deg >= 0 else -2.2
    barb = (end[0] + side * math.cos(turn) - 3 * math.sin(turn), end[1] - side * math.sin(turn) - 3 * math.cos(turn))
    sheet.line([end[0], barb[0]], [end[1], barb[1]], "#0072B2", 0.5, order=9)


def east_west(turn_deg: float) -> str:
    return "east" if turn_deg >= 0 else "west"


def draw_index(sheet: Sheet, whole: View, scene: Scene, views: list[View]) -> None:
    """Where each sheet lies, on the overview."""
    b = whole.box
    sheet.clipped_to(b.x, b.y, b.width, b.height)
    for stretch in scene.stretches:
        _draw_line(sheet, whole, stretch)
    for spot in scene.spots:
        sheet.verdict(spot.verdict, whole.x(spot.east_m), whole.y(spot.north_m), 2.6)
    for number, view in enumerate(views, 2):
        west, south, east, north = view.reach()
        x, y = whole.x(west), whole.y(south)
        sheet.box(x, y, whole.x(east) - x, whole.y(north) - y, None, "#0072B2", 0.5, order=7)
        sheet.text(x + 1, whole.y(north) - 3.4, f"sheet {number}", 3, bold=True, colour="#0072B2", halo=True, order=8)
    sheet.unclipped()
