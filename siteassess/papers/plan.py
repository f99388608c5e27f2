"""The printable plan: one drawing in millimetres at a round scale, written as SVG and as PDF.

A site too large for one sheet is cut into several that overlap a little, with an overview first; an anchor table too
long for its place goes on sheets of its own.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from pathlib import Path

from siteassess.advice.results import Assessment
from siteassess.papers.drawing import Sheet, write_pdf
from siteassess.papers.language import Words, words_in
from siteassess.papers.plan_blocks import (
    TABLE_HEAD_MM,
    TABLE_ROW_MM,
    Heading,
    Row,
    draw_columns,
    draw_table,
    draw_title,
    draw_words,
    table_rows,
    table_widths,
)
from siteassess.papers.plan_frame import (
    GAP,
    SCALES,
    Box,
    Extent,
    Layout,
    View,
    layout,
    overview_scale,
    paper_size,
    pick_scale,
    tiles,
    with_strip,
)
from siteassess.papers.plan_furniture import draw_bar, draw_frame, hides_an_anchor, plan_bar
from siteassess.papers.plan_ground import draw_ground, draw_index, draw_site
from siteassess.papers.scene import Scene, build
from siteassess.records.files import write_whole
from siteassess.reference.pages import plain

ROWS_BESIDE_MAP = 12


@dataclass(frozen=True)
class Plan:
    """What was written. `bar_mm` is where the scale bar's first 10 m run on the first plan sheet: left, right and foot
    of the bar counted from the paper's lower left corner [mm]; None where the bar is in another unit or no map fits."""

    svg: tuple[Path, ...]
    pdf: Path | None
    scale: str
    sheets: int
    bar_mm: tuple[float, float, float] | None
    labels_left_out: int


@dataclass(frozen=True)
class DrawnPlan:
    """The sheets before they are written."""

    sheets: tuple[Sheet, ...]
    scale: str
    bar_mm: tuple[float, float, float] | None
    labels_left_out: int


def write_plan(
    assessment: Assessment, path_svg: str | Path, path_pdf: str | Path | None = None, *, paper: str = "A4",
    orientation: str = "landscape", scale: str | None = None, feet: bool = False,
    positions: dict[str, tuple[float, float]] | None = None, errors: bool = False, drawn: DrawnPlan | None = None,
    language: str = "en",
) -> Plan:
    """Write the printable plan.

    Parameters
    ----------
    assessment : the answers with their record
    path_svg : file of the first sheet; further sheets are named beside it with -2, -3 and so on
    path_pdf : file that holds all sheets, or None for no PDF
    paper : "A4", "A3", "Letter" or "Tabloid"
    orientation : "landscape" or "portrait"
    scale : one of `plan_frame.SCALES`, such as "1:200" or '1" = 20\\''; the largest that shows the site on one sheet
        when left out
    feet : choose among scales in feet, and show a bar in feet
    positions : corrected latitude and longitude by anchor code [deg]
    errors : draw the ellipses that hold each anchor's true place 95 times of 100
    drawn : a plan drawn already by `draw_plan`, written as it is
    language : what it is told in

    Returns
    -------
    Plan, with the paths written and where the bar stands.

    Raises
    ------
    FaultyInput : a paper, orientation or scale that is not on the list.
    OutsideModel : positions at a pole, or spread over more than 100 km.
    """
    if drawn is None:
        drawn = draw_plan(assessment, paper=paper, orientation=orientation, scale=scale, feet=feet,
                          positions=positions, errors=errors, language=language)
    paths = write_sheets(drawn, path_svg, assessment, language)
    pdf = write_sheets(drawn, path_pdf, assessment, language)[0] if path_pdf else None
    return Plan(tuple(paths), pdf, drawn.scale, len(paths), drawn.bar_mm, drawn.labels_left_out)


def write_sheets(drawn: DrawnPlan, path: str | Path, assessment: Assessment, language: str = "en") -> list[Path]:
    """Write a drawn plan: as PDF with all sheets where the name ends so, else as SVG, one file a sheet.

    Parameters
    ----------
    drawn : by `draw_plan`
    path : of the file; further sheets of SVG are named beside it with -2, -3 and so on
    assessment, language : as it was drawn

    Returns
    -------
    Paths written.
    """
    first = Path(path)
    if first.suffix.lower() == ".pdf":
        title = f"{words_in(language)('pl-title')}, {plain(assessment.record.site.name)}"
        write_pdf(drawn.sheets, first, title[:200])
        return [first]
    paths = [first, *(first.with_name(f"{first.stem}-{n}{first.suffix}") for n in range(2, len(drawn.sheets) + 1))]
    for sheet, one in zip(drawn.sheets, paths):
        write_whole(sheet.svg(text_as_shapes=True), one)
    return paths


def draw_plan(
    assessment: Assessment, *, paper: str = "A4", orientation: str = "landscape", scale: str | None = None,
    feet: bool = False, positions: dict[str, tuple[float, float]] | None = None, errors: bool = False,
    language: str = "en", lines_only: bool = False,
) -> DrawnPlan:
    """Draw all sheets.

    Parameters
    ----------
    assessment, paper, orientation, scale, feet, positions, errors, language : as in `write_plan`
    lines_only : leave out anchors that no line of the answer uses
    """
    width, height = paper_size(paper, orientation)
    feet = feet or bool(scale and '"' in scale)
    scene = build(assessment, positions, language, lines_only)
    rows = table_rows(assessment, scene.words, lines_only)
    beside = len(rows) <= ROWS_BESIDE_MAP
    place = layout(width, height, TABLE_HEAD_MM + TABLE_ROW_MM * len(rows) if beside and rows else 0.0)
    heading = Heading(paper, orientation, scale="", sheet=1, sheets=1, title="pl-title", feet=feet, errors=errors)
    if scene.spots:
        name, views, whole = _views(scene, place, scale, feet)
    else:
        pick_scale((0, 0, 1, 1), place.map, scale, feet)  # a wrong scale is told even where nothing can be drawn
        name, views, whole = "", [], None
    beside_rows = rows if beside else []
    table_sheets, widths = ([], []) if beside else _table_parts(rows, width, height, scene.words)
    cut = not draw_columns(Sheet(width, height), place.columns, assessment, scene, heading, "")
    maps = len(views) + (whole is not None) or 1
    heading = replace(heading, scale=name, sheets=maps + len(table_sheets) + cut)
    sheets, bar, left_out = [], None, 0
    if not views:
        sheets.append(_sheet_without_map(assessment, scene, place, beside_rows, heading))
    if whole is not None:
        head = replace(heading, title="pl-overview", scale=f"1:{whole.scale}")
        sheets.append(_overview(assessment, scene, place, whole, views, beside_rows, head))
    for number, view in enumerate(views, len(sheets) + 1):
        head = replace(heading, sheet=number)
        sheet, bar_here, missing = _map_sheet(assessment, scene, place, view, beside_rows, head)
        sheets.append(sheet)
        bar, left_out = bar or bar_here, left_out + missing
    for number, part in enumerate(table_sheets, len(sheets) + 1):
        head = replace(heading, title="pl-table", scale="", sheet=number)
        sheets.append(_table_sheet(assessment, scene, (width, height), part, widths, head))
    if cut:
        sheets.append(_words_sheet(assessment, scene, width, height, replace(heading, sheet=heading.sheets)))
    return DrawnPlan(tuple(sheets), name or "no drawing", bar, left_out)


def _views(scene: Scene, place: Layout, scale: str | None, feet: bool) -> tuple[str, list[View], View | None]:
    """The scale's name, what each sheet looks at, and the overview where there are several."""
    bounds = scene.anchor_bounds_m()
    name, fits = pick_scale(bounds, place.map, scale, feet)
    frame, strip = with_strip(place.map)
    if fits:
        view = _one_view(scene, place.map, SCALES[name])
        # bar and arrows move out of the map where they would hide an anchor, if the scale can stay
        if hides_an_anchor(view, scene, feet) and pick_scale(bounds, frame, name, feet)[1]:
            view = replace(_one_view(scene, frame, SCALES[name]), strip=strip)
        return name, [view], None
    views = [view for view in tiles(bounds, frame, SCALES[name], strip) if _shows_something(view, scene)]
    return name, views, View(frame, *_middle(bounds), overview_scale(bounds, frame, feet), strip)


def _one_view(scene: Scene, frame: Box, scale: int) -> View:
    """All anchors, and as much of the marks about them as there is room for."""
    tight, wide = scene.anchor_bounds_m(), scene.bounds_m()
    half = (frame.width * scale / 2000.0, frame.height * scale / 2000.0)
    centre = []
    for axis in (0, 1):
        low, high = tight[axis + 2] - half[axis], tight[axis] + half[axis]
        centre.append(min(max((wide[axis] + wide[axis + 2]) / 2, low), high))
    return View(frame, centre[0], centre[1], scale)


def _middle(bounds: Extent) -> tuple[float, float]:
    west, south, east, north = bounds
    return (west + east) / 2, (south + north) / 2


def _shows_something(view: View, scene: Scene) -> bool:
    """Whether an anchor or part of a line lies on the sheet; empty sheets are not printed."""
    if any(view.shows(spot.east_m, spot.north_m) for spot in scene.spots):
        return True
    return any(
        view.shows(a.east_m + t / 20 * (b.east_m - a.east_m), a.north_m + t / 20 * (b.north_m - a.north_m))
        for a, b in ((stretch.a, stretch.b) for stretch in scene.stretches)
        for t in range(21)
    )


def _map_sheet(
    assessment: Assessment, scene: Scene, place: Layout, view: View, rows: list[Row], heading: Heading
) -> tuple[Sheet, tuple[float, float, float] | None, int]:
    """The sheet, where its bar's first 10 m run, and how many labels found no room."""
    heading = replace(heading, view=view)
    sheet = Sheet(place.width, place.height, "white")
    draw_ground(sheet, view, scene, heading.errors)
    bar = plan_bar(view, scene, heading.feet)
    draw_bar(sheet, view, bar, heading.feet)
    left_out = draw_site(sheet, view, scene, bar.box)
    draw_frame(sheet, view, scene)
    if rows:
        draw_table(sheet, place.table, rows, scene.words)
    note = scene.words("pl-labels-left-out", count=left_out) if left_out else ""
    draw_columns(sheet, place.columns, assessment, scene, heading, note)
    return sheet, bar.ten_metres(view.per_metre), left_out


def _overview(
    assessment: Assessment, scene: Scene, place: Layout, whole: View, views: list[View], rows: list[Row],
    heading: Heading,
) -> Sheet:
    heading = replace(heading, view=whole)
    sheet = Sheet(place.width, place.height, "white")
    draw_ground(sheet, whole, scene, heading.errors)
    draw_bar(sheet, whole, plan_bar(whole, scene, heading.feet), heading.feet)
    draw_index(sheet, whole, scene, views)
    draw_frame(sheet, whole, scene)
    if rows:
        draw_table(sheet, place.table, rows, scene.words)
    draw_columns(sheet, place.columns, assessment, scene, heading, "")
    return sheet


def _table_parts(
    rows: list[Row], width: float, height: float, words: Words
) -> tuple[list[list[list[Row]]], list[float]]:
    """Rows of each column of each sheet, as many columns beside each other as there is room for, and their widths."""
    box = _table_box(width, height)
    widths = table_widths(rows, words, box.width)
    beside = max(1, math.floor((box.width + GAP) / (sum(widths) + GAP)))
    each = max(1, math.floor((box.height - TABLE_HEAD_MM) / TABLE_ROW_MM))
    columns = [rows[start : start + each] for start in range(0, len(rows), each)]
    return [columns[start : start + beside] for start in range(0, len(columns), beside)], widths


def _table_box(width: float, height: float) -> Box:
    return layout(width, height, 0.0).map


def _table_sheet(
    assessment: Assessment, scene: Scene, size: tuple[float, float], columns: list[list[Row]], widths: list[float],
    heading: Heading,
) -> Sheet:  # fmt: skip
    sheet, place = Sheet(*size, "white"), layout(*size, 0.0)
    beside = max(1, math.floor((place.map.width + GAP) / (sum(widths) + GAP)))
    wide = (place.map.width - GAP * (beside - 1)) / beside
    for number, rows in enumerate(columns):
        tall = TABLE_HEAD_MM + TABLE_ROW_MM * len(rows)
        left = place.map.x + number * (wide + GAP)
        draw_table(sheet, Box(left, place.map.top - tall, wide, tall), rows, scene.words, widths)
    draw_columns(sheet, place.columns, assessment, scene, heading, "")
    return sheet


def _words_sheet(assessment: Assessment, scene: Scene, width: float, height: float, heading: Heading) -> Sheet:
    sheet, place = Sheet(width, height, "white"), layout(width, height, 0.0)
    draw_words(sheet, place.map, assessment, scene)
    head = replace(heading, title="pl-words", scale="")
    draw_title(sheet, place.columns[-1], assessment, scene, head)
    return sheet


def _sheet_without_map(assessment: Assessment, scene: Scene, place: Layout, rows: list[Row], heading: Heading) -> Sheet:
    """No anchor has a position: the table and the words still serve, and the sheet says why there is no map."""
    sheet, b = Sheet(place.width, place.height, "white"), place.map
    sheet.box(b.x, b.y, b.width, b.height, "paper", "ink", 0.5)
    sheet.lines_of_text(b.x + 8, b.top - 14, scene.words("pl-no-map"), b.width - 16, 4)
    if rows:
        draw_table(sheet, place.table, rows, scene.words)
    draw_columns(sheet, place.columns, assessment, scene, heading, "")
    return sheet
