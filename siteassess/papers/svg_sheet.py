"""A small sheet in millimetres written straight as SVG, for the many pictures of a report.

It draws the same shapes as `drawing.Sheet`. That one goes through matplotlib, so that a PDF comes from the same
drawing; a report needs no PDF, holds dozens of pictures, and each costs a thirtieth this way. Only attributes are
written, no styles, so that a page with a strict content policy shows them.
"""

from __future__ import annotations

import html
import math
import textwrap
from collections.abc import Iterable, Sequence
from typing import Unpack

from siteassess.papers.look import SYMBOL_BOX, Ink
from siteassess.reference.look import look
from siteassess.reference.pages import plain

HATCHES = {  # name: path of the strokes within a 2 mm tile
    "////": "M -0.5 0.5 L 0.5 -0.5 M 0 2 L 2 0 M 1.5 2.5 L 2.5 1.5",
    "xx": "M 0 0 L 2 2 M 0 2 L 2 0",
    "//": "M -0.5 0.5 L 0.5 -0.5 M 0 2 L 2 0 M 1.5 2.5 L 2.5 1.5",
}
SMALL_MM = 3.0  # the smallest text: 11 px of a page that shows the picture as wide as it is
BARK = "#8a6d3b"  # of a trunk, on whichever picture
ANCHORS = {"left": "start", "center": "middle", "right": "end"}


class SvgSheet:
    """A sheet of paper; x to the right and y upward from its lower left corner, in millimetres."""

    def __init__(self, width_mm: float, height_mm: float):
        self.width_mm, self.height_mm = width_mm, height_mm
        self._look = look()
        self._parts: list[tuple[float, int, str]] = []
        self._patterns: dict[tuple[str, str], str] = {}

    def colour(self, name: str | None) -> str:
        return "none" if name is None else self._look.colours.get(name, name)

    def _put(self, order: float, text: str) -> None:
        self._parts.append((order, len(self._parts), text))

    def _flip(self, y: float) -> float:
        return self.height_mm - float(y)

    def _points(self, xs: Iterable[float], ys: Iterable[float]) -> str:
        return " ".join(f"{float(x):.2f},{self._flip(y):.2f}" for x, y in zip(xs, ys))

    def _ink(self, fill: str | None, stroke: str | None, width_mm: float, **how: Unpack[Ink]) -> str:
        told = f'fill="{self.colour(fill)}"'
        if stroke not in (None, "none"):
            told += f' stroke="{self.colour(stroke)}" stroke-width="{width_mm:g}"'
        if dash := how.get("dash"):
            told += f' stroke-dasharray="{" ".join(f"{d:g}" for d in dash)}"'
        if (alpha := how.get("alpha")) is not None:
            told += f' fill-opacity="{alpha:g}"'
        return told

    def _shape(
        self, order: float, shape: str, fill: str | None, stroke: str | None, width_mm: float, **how: Unpack[Ink]
    ) -> None:
        self._put(order, f"<{shape} {self._ink(fill, stroke, width_mm, **how)}/>")
        if hatch := how.get("hatch"):
            key = (hatch, self.colour(stroke))
            name = self._patterns.setdefault(key, f"h{len(self._patterns)}")
            self._put(order, f'<{shape} fill="url(#PREFIX-{name})"/>')

    def line(
        self, xs: Iterable[float], ys: Iterable[float], colour: str = "ink", width_mm: float = 0.35,
        dash: Sequence[float] | None = None, order: float = 2, cap: str = "butt",
    ) -> None:
        """A line through points; `dash` is on-off lengths in millimetres."""
        self._put(
            order,
            f'<polyline points="{self._points(xs, ys)}" {self._ink(None, colour, width_mm, dash=dash)} '
            f'stroke-linejoin="round" stroke-linecap="{cap}"/>',
        )

    def box(
        self, x: float, y: float, width: float, height: float, fill: str | None = None, stroke: str | None = "ink",
        width_mm: float = 0.35, order: float = 2, **how: Unpack[Ink],
    ) -> None:
        where = f'x="{x:.2f}" y="{self._flip(y + height):.2f}" width="{width:.2f}" height="{height:.2f}"'
        self._shape(order, f"rect {where}", fill, stroke, width_mm, **how)

    def circle(
        self, x: float, y: float, radius: float, fill: str | None = None, stroke: str | None = "ink",
        width_mm: float = 0.35, order: float = 2, **how: Unpack[Ink],
    ) -> None:
        where = f'cx="{x:.2f}" cy="{self._flip(y):.2f}" r="{radius:.2f}"'
        self._shape(order, f"circle {where}", fill, stroke, width_mm, **how)

    def area(
        self, xs: Iterable[float], ys: Iterable[float], fill: str | None = None, stroke: str | None = "ink",
        width_mm: float = 0.35, order: float = 2, **how: Unpack[Ink],
    ) -> None:
        self._shape(order, f'polygon points="{self._points(xs, ys)}"', fill, stroke, width_mm, **how)

    def arc_band(
        self, x: float, y: float, radius: float, thickness: float, start_deg: float, end_deg: float, fill: str | None,
        stroke: str | None = "ink", width_mm: float = 0.25, order: float = 2, **how: Unpack[Ink],
    ) -> None:
        """Part of a ring clockwise from one bearing to another, bearings counted from the top."""
        width_deg = (end_deg - start_deg) % 360.0 or 360.0
        steps = max(2, math.ceil(width_deg / 4.0))
        turns = [math.radians(start_deg + width_deg * i / steps) for i in range(steps + 1)]
        rings = [(r, t) for r, row in ((radius, turns), (radius - thickness, turns[::-1])) for t in row]
        xs, ys = [x + r * math.sin(t) for r, t in rings], [y + r * math.cos(t) for r, t in rings]
        self.area(xs, ys, fill, stroke, width_mm, order, **how)

    def symbol(self, name: str, x: float, y: float, size_mm: float, fill: str = "none", order: float = 5) -> None:
        """One symbol of the look, centred on a point."""
        step = size_mm / SYMBOL_BOX
        paths = "".join(
            f'<path d="{part["d"]}" fill="{self._look.paint(part["paint"], fill)}" '
            f'stroke="{self._look.paint(part["line"], fill)}" stroke-width="1.8"/>'
            for part in self._look.symbols[name]
        )
        move = f"translate({x - size_mm / 2:.2f} {self._flip(y) - size_mm / 2:.2f}) scale({step:.4f})"
        self._put(order, f'<g transform="{move}">{paths}</g>')

    def text(
        self, x: float, y: float, text: object, size_mm: float = SMALL_MM, *, across: str = "left",
        up: str = "baseline", colour: str = "ink", bold: bool = False, turn_deg: float = 0.0, halo: bool = False,
        order: float = 7,
    ) -> None:
        """One line of text, escaped; `halo` keeps it readable over a drawing."""
        low = self._flip(y) + (0.36 * size_mm if up == "center" else 0.0)
        told = f'x="{x:.2f}" y="{low:.2f}" font-size="{size_mm:g}" text-anchor="{ANCHORS[across]}"'
        told += f' fill="{self.colour(colour)}"'
        if bold:
            told += ' font-weight="700"'
        if turn_deg:
            told += f' transform="rotate({-turn_deg:g} {x:.2f} {low:.2f})"'
        words = html.escape(plain(text))
        if halo:  # a text of its own below: printers that know no paint-order would cover the letters
            edge = f'stroke="{self.colour("paper")}" stroke-width="{0.35 * size_mm:.2f}" stroke-linejoin="round"'
            self._put(order, f"<text {told} {edge}>{words}</text>")
        self._put(order, f"<text {told}>{words}</text>")

    def picture(self, prefix: str, title: str) -> str:
        """The drawing as an element for a page, named for screen readers; `prefix` keeps its ids apart."""
        patterns = "".join(
            f'<pattern id="PREFIX-{name}" width="2" height="2" patternUnits="userSpaceOnUse">'
            f'<path d="{HATCHES[hatch]}" stroke="{colour}" stroke-width="0.35" fill="none"/></pattern>'
            for (hatch, colour), name in self._patterns.items()
        )
        drawn = "".join(text for _, _, text in sorted(self._parts, key=lambda part: part[:2]))
        wide, tall = f"{self.width_mm:g}", f"{self.height_mm:g}"
        size = f'width="{wide}mm" height="{tall}mm" viewBox="0 0 {wide} {tall}"'
        # ids are set last, in our own markup only: escaped texts cannot hold url(# or a pattern element
        body = (f"<defs>{patterns}</defs>" if patterns else "") + drawn
        body = body.replace('"url(#PREFIX-', f'"url(#{prefix}-').replace(
            '<pattern id="PREFIX-', f'<pattern id="{prefix}-'
        )
        return (
            f'<svg xmlns="http://www.w3.org/2000/svg" role="img" aria-label="{html.escape(plain(title), quote=True)}" '
            f'{size} font-family="Helvetica Neue, Arial, Liberation Sans, sans-serif">{body}</svg>'
        )


def lines_of_text(sheet: SvgSheet, x: float, y: float, rows: Sequence[str], size_mm: float) -> None:
    """Rows of text from the first baseline downward."""
    for i, row in enumerate(rows):
        sheet.text(x, y - i * 1.35 * size_mm, row, size_mm)


def nothing(sheet: SvgSheet, words: str, prefix: str) -> str:
    sheet.box(1, 1, sheet.width_mm - 2, sheet.height_mm - 2, None, "hair", 0.3, dash=(2, 1.5))
    rows = textwrap.wrap(plain(words), int(sheet.width_mm / 1.75))
    lines_of_text(sheet, 5, sheet.height_mm / 2 + 4, rows[:8], 3)
    return sheet.picture(prefix, words)
