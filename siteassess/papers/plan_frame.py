"""Paper sizes, round scales, and how a site is cut into sheets."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TypeAlias

from siteassess.errors import Fault, FaultyInput
from siteassess.papers.look import Numbers
from siteassess.reference.faults import any_of

Extent: TypeAlias = tuple[float, float, float, float]  # west, south, east, north [m]
PAPERS_MM = {"A4": (210.0, 297.0), "A3": (297.0, 420.0), "Letter": (215.9, 279.4), "Tabloid": (279.4, 431.8)}
# what one unit on paper stands for on the ground: what the edges of a scale ruler read, metric and in feet
SCALES = {
    **{f"1:{of}": of for of in (100, 125, 200, 250, 300, 400, 500, 750, 1000, 1250, 2000, 2500, 4000, 5000)},
    **{f"1\" = {feet}'": 12 * feet for feet in (10, 20, 30, 40, 50, 60, 100, 200, 300, 400)},
}
METRIC = tuple(name for name in SCALES if name.startswith("1:"))
IMPERIAL = tuple(name for name in SCALES if name not in METRIC)
MARGIN, PUNCH_MARGIN = 9.0, 16.0  # room for a punch on the left [mm]
SIDE_WIDTH, GAP, STRIP_MM, FOOT_MM = 80.0, 3.0, 22.0, 84.0
# sizes of text, and times a size from line to line; the least is 6.5 points, read at arm's length (judgement)
TEXT, READABLE, LEAD = 2.5, 2.3, 1.38
OVERLAP = 0.08  # share of a sheet that its neighbour shows too, so that a line can be followed across
# beyond this scale a sheet's symbols swallow the site and a few sheets are better; by its frame's width (judgement)
SINGLE_SHEET_UP_TO, WIDE_FRAME_MM, WIDE_SHEET_UP_TO, FEW_SHEETS = 1250, 260.0, 2500, 4


@dataclass(frozen=True)
class Box:
    """A rectangle on paper [mm]."""

    x: float
    y: float
    width: float
    height: float

    @property
    def right(self) -> float:
        return self.x + self.width

    @property
    def top(self) -> float:
        return self.y + self.height


@dataclass(frozen=True)
class Layout:
    """Where things stand on a sheet. `columns` are the places for legend, emergency and title, in that order; `band` is
    one across the foot of map and table for cautions that find no room beside them.
    """

    width: float
    height: float
    map: Box
    table: Box
    columns: tuple[Box, ...]
    band: Box | None = None


@dataclass(frozen=True)
class View:
    """A map frame looking at the ground: centre in local metres, one millimetre standing for `scale`/1000 m.

    `strip` is a place under the frame for bar and north arrows; without one they stand in corners of the map.
    """

    box: Box
    east: float
    north: float
    scale: int
    strip: Box | None = None

    @property
    def per_metre(self) -> float:
        return 1000.0 / self.scale

    def x(self, east: Numbers) -> Numbers:
        return self.box.x + self.box.width / 2 + (east - self.east) * self.per_metre

    def y(self, north: Numbers) -> Numbers:
        return self.box.y + self.box.height / 2 + (north - self.north) * self.per_metre

    def shows(self, east: float, north: float, margin_mm: float = 0.0) -> bool:
        x, y = self.x(east), self.y(north)
        b = self.box
        return b.x + margin_mm <= x <= b.right - margin_mm and b.y + margin_mm <= y <= b.top - margin_mm

    def reach(self) -> Extent:
        """West, south, east, north of the frame [m]."""
        wide, tall = self.box.width / self.per_metre / 2, self.box.height / self.per_metre / 2
        return self.east - wide, self.north - tall, self.east + wide, self.north + tall


def paper_size(paper: str, orientation: str) -> tuple[float, float]:
    """Width and height of a sheet [mm].

    Raises
    ------
    FaultyInput : another paper or orientation.
    """
    faults = []
    if paper not in PAPERS_MM:
        faults.append(Fault(0, "paper", repr(paper), any_of(*PAPERS_MM)))
    if orientation not in ("portrait", "landscape"):
        faults.append(Fault(0, "orientation", repr(orientation), any_of("portrait", "landscape")))
    if faults:
        raise FaultyInput("plan", faults)
    width, height = PAPERS_MM[paper]
    return (width, height) if orientation == "portrait" else (height, width)


def layout(width: float, height: float, table_mm: float, band_mm: float = 0.0) -> Layout:
    """Split a sheet: the map large, the table below it, the rest beside it or in a strip at the foot."""
    left, low, wide = PUNCH_MARGIN, MARGIN, width - PUNCH_MARGIN - MARGIN
    if width > height:
        wide -= SIDE_WIDTH + GAP
        columns: tuple[Box, ...] = (Box(width - MARGIN - SIDE_WIDTH, low, SIDE_WIDTH, height - 2 * MARGIN),)
    else:
        third = (wide - 2 * GAP) / 3
        columns = tuple(Box(left + i * (third + GAP), low, third, FOOT_MM) for i in range(3))
        low += FOOT_MM + GAP
    band = Box(left, low, wide, band_mm) if band_mm else None
    low = band.top + GAP if band else low
    table = Box(left, low, wide, table_mm)
    low = table.top + GAP if table_mm else low
    return Layout(width, height, Box(left, low, wide, height - MARGIN - low), table, columns, band)


def pick_scale(
    bounds: Extent, frame: Box, wanted: str | None, feet: bool, most_sheets: int = FEW_SHEETS
) -> tuple[str, bool]:
    """A round scale, and whether the whole site fits the frame at it; else one that takes at most so many sheets.

    Raises
    ------
    FaultyInput : `wanted` is no scale of the list.
    """
    if wanted is not None:
        # spaces in 1"=20' are a matter of taste
        wanted = next((name for name in SCALES if name.replace(" ", "") == wanted.replace(" ", "")), wanted)
    if wanted is not None and wanted not in SCALES:
        raise FaultyInput("plan", [Fault(0, "scale", repr(wanted), any_of(*SCALES))])
    west, south, east, north = bounds

    def fits(name: str) -> bool:
        per_metre = 1000.0 / SCALES[name]
        return (east - west) * per_metre <= frame.width and (north - south) * per_metre <= frame.height

    if wanted:
        return wanted, fits(wanted)
    known = sorted(IMPERIAL if feet else METRIC, key=SCALES.__getitem__)
    most = WIDE_SHEET_UP_TO if frame.width > WIDE_FRAME_MM else SINGLE_SHEET_UP_TO
    if single := [name for name in known if fits(name) and SCALES[name] <= most]:
        return single[0], True
    lower, _ = with_strip(frame)
    few = [name for name in known if len(tiles(bounds, lower, SCALES[name])) <= most_sheets]
    return (few or known[-1:])[0], False


def overview_scale(bounds: Extent, frame: Box, feet: bool) -> int:
    """The smallest round scale that shows the whole site; beyond the list, a round thousand."""
    west, south, east, north = bounds
    need = max((east - west) / frame.width, (north - south) / frame.height) * 1000.0
    known = sorted(SCALES[name] for name in (IMPERIAL if feet else METRIC))
    return next((scale for scale in known if scale >= need), math.ceil(need / 1000.0) * 1000)


def with_strip(frame: Box) -> tuple[Box, Box]:
    """A map frame made lower, and the strip gained under it; on a crowded sheet no corner is free."""
    strip = Box(frame.x, frame.y, frame.width, STRIP_MM)
    return Box(frame.x, strip.top, frame.width, frame.height - STRIP_MM), strip


def tiles(bounds: Extent, frame: Box, scale: int, strip: Box | None = None) -> list[View]:
    """Views of equal size that cover the bounds with some overlap, row by row from the north-west."""
    west, south, east, north = bounds
    wide, tall = frame.width * scale / 1000.0, frame.height * scale / 1000.0

    def centres(low: float, high: float, size: float) -> list[float]:
        if high - low <= size:
            return [(low + high) / 2]
        count = math.ceil((high - low - size) / (size * (1 - OVERLAP))) + 1
        step = (high - low - size) / (count - 1)
        return [low + size / 2 + i * step for i in range(count)]

    rows, columns = reversed(centres(south, north, tall)), centres(west, east, wide)
    return [View(frame, x, y, scale, strip) for y in rows for x in columns]
