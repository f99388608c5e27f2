"""What stands about the plan's map: frame with ticks, scale bar and north arrows, placed where they hide least."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from siteassess.papers.drawing import Sheet, text_width
from siteassess.papers.plan_frame import READABLE, Box, View
from siteassess.papers.scene import Scene
from siteassess.units import FOOT_M

NORTH_BOX_MM, LOW_NORTH_BOX_MM = (25.0, 31.0), (48.0, 19.0)


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
    """The longest of a few bars that hides no anchor nor the north arrows, in a corner where it can be."""
    per_metre, b = view.per_metre, view.box
    step = next((s for s in (1, 2, 5, 10, 50, 100, 500, 1000, 5000, 10000) if s * per_metre >= 9), 20000)
    most = max(1, min(5, int(min(70.0, b.width * 0.45) / (step * per_metre))))
    tall, north = (19.0 if feet else 11.0), north_box(view, scene)
    if view.strip:
        return Bar(Box(view.strip.x + 2, view.strip.y + 1.5, most * step * per_metre + 16, tall), step, most)
    tried = []
    for parts in range(most, 0, -1):
        wide = parts * step * per_metre + 16
        for box in _along_edges(b, wide, tall):
            apart = box.right < north.x or north.right < box.x or box.top < north.y or north.top < box.y
            if apart:
                tried.append(Bar(box, step, parts))
    hidden = [_hidden(view, scene, bar.box) for bar in tried]
    return tried[int(np.argmin(hidden))]


def hides_an_anchor(view: View, scene: Scene, feet: bool) -> bool:
    """Whether bar or north arrows would stand on an anchor."""
    boxes = (north_box(view, scene), plan_bar(view, scene, feet).box)
    return any(
        box.x - 4 < view.x(spot.east_m) < box.right + 4 and box.y - 4 < view.y(spot.north_m) < box.top + 4
        for spot in scene.spots
        for box in boxes
    )


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
        foot = FOOT_M * view.per_metre
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
    step = grid_step(view)
    west, south, east, north = view.reach()
    for metre in np.arange(math.ceil(west / step) * step, east, step):
        x = view.x(metre)
        sheet.strokes([(x, b.y, x, b.y + 2), (x, b.top - 2, x, b.top)], order=8)
        sheet.text(x, b.top + 0.9, f"{metre:+.0f}" if metre else "0", READABLE, across="center", colour="soft_ink")
    for metre in np.arange(math.ceil(south / step) * step, north, step):
        y = view.y(metre)
        sheet.strokes([(b.x, y, b.x + 2, y), (b.right - 2, y, b.right, y)], order=8)
        sheet.text(
            b.x - 0.9, y, f"{metre:+.0f}" if metre else "0", READABLE, across="center", turn_deg=90, colour="soft_ink"
        )
    _north(sheet, view, scene)


def grid_step(view: View) -> float:
    return next((s for s in (5, 10, 20, 50, 100, 200, 500, 1000, 5000) if s * view.per_metre >= 18), 10000)


def _along_edges(frame: Box, wide: float, tall: float, first: str = "lower left") -> list[Box]:
    """Places for a box within a frame: its corners, then places along its upper, lower and side edges."""
    left, right, low, high = frame.x + 2, frame.right - wide - 2, frame.y + 2, frame.top - tall - 2
    corners = [(left, low), (right, low), (left, high), (right, high)]
    if first == "upper right":
        corners = corners[::-1]
    xs = [left + (right - left) * i / 8 for i in range(1, 8)]
    ys = [low + (high - low) * i / 6 for i in range(1, 6)]
    edges = [(x, high) for x in xs] + [(x, low) for x in xs] + [(right, y) for y in ys] + [(left, y) for y in ys]
    return [Box(x, y, wide, tall) for x, y in (*corners, *edges)]


def north_box(view: View, scene: Scene) -> Box:
    """The place for the north arrows that hides the fewest anchors and lines, a corner where it can be."""
    if view.strip:
        wide, tall = LOW_NORTH_BOX_MM
        return Box(view.strip.right - wide - 2, view.strip.y + 1.5, wide, tall)
    b, (wide, tall) = view.box, NORTH_BOX_MM
    boxes = _along_edges(b, wide, tall, first="upper right")
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
    words = [scene.words("north-up"), magnetic_words(scene)]
    for i, row in enumerate(words):
        at = (box.x + 17, box.y + 11 - 4 * i, "left") if low else (x, box.y + 5.2 - 3.4 * i, "center")
        sheet.text(at[0], at[1], row, READABLE, across=at[2], order=9)
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


def magnetic_words(scene: Scene) -> str:
    """Where magnetic north lies, beside an arrow."""
    turn, t = scene.declination_deg, scene.words
    if turn is None:
        return t("magnetic-not-known")
    return t("magnetic-east" if turn >= 0 else "magnetic-west", turn=f"{scene.measures.number(abs(turn))}°")
