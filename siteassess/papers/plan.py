"""The printable plan: one drawing in millimetres at a round scale, written as SVG and as PDF.

A site too large for one sheet is cut into several that overlap a little, with an overview first; an anchor table too
long for its place goes on sheets of its own.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from pathlib import Path

from siteassess.advice.results import Assessment
from siteassess.papers.drawing import Sheet, write_pdf
from siteassess.papers.language import words_in
from siteassess.papers.plan_blocks import Heading, band_height, draw_columns, draw_title, draw_words
from siteassess.papers.plan_frame import (
    FEW_SHEETS,
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
from siteassess.papers.plan_ground import draw_ground, draw_index, draw_site, drawn_in
from siteassess.papers.plan_insets import (
    Inset,
    boxes_of,
    draw_inset,
    draw_place,
    furniture,
    kept_clear,
    map_insets,
    names_within,
    overview_insets,
)
from siteassess.papers.plan_labels import Wanted
from siteassess.papers.plan_table import Row, Table, draw_table, end_table, line_table
from siteassess.papers.scene import Scene, build
from siteassess.records.files import write_whole
from siteassess.reference.pages import plain

ROWS_BESIDE_MAP = 12
LEAST_MAP_MM = 60.0  # of a map with a long table below it


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
    size = paper_size(paper, orientation)
    feet = feet or bool(scale and '"' in scale)
    scene = build(assessment, positions, language, lines_only)
    heading = Heading(paper, orientation, scale="", sheet=1, sheets=1, title="pl-title", feet=feet, errors=errors)
    draft = min(_drafts(assessment, scene, size, heading, scale, lines_only), key=lambda draft: draft.order)
    heading = replace(heading, scale=draft.name, sheets=draft.count)
    pen = _Pen(assessment, scene, draft)
    if not draft.views:
        pen.sheets.append(pen.without_map(heading))
    if draft.whole is not None:
        head = replace(heading, title="pl-overview", scale=f"1:{draft.whole.scale}")
        pen.sheets.append(pen.overview(draft.whole, head))
    for view in draft.views:
        pen.sheets.append(pen.map_sheet(view, replace(heading, sheet=len(pen.sheets) + 1)))
    for number in range(len(draft.parts)):
        head = replace(heading, title="pl-table", scale="", sheet=len(pen.sheets) + 1)
        pen.sheets.append(pen.table_sheet(number, head))
    if draft.cut:
        pen.sheets.append(_words_sheet(assessment, scene, *size, replace(heading, sheet=draft.count)))
    lost = (pen.lost | pen.lost_in_first) - pen.told
    return DrawnPlan(tuple(pen.sheets), draft.name or "no drawing", pen.bar_mm, len(lost))


@dataclass(frozen=True)
class _Draft:
    """How the sheets are shared out: the table stands below the map, or its parts on sheets of their own."""

    place: Layout
    table: Table
    parts: list[tuple[list[Row], list[tuple[str | None, str]]]]
    name: str
    views: list[View]
    whole: View | None
    cut: bool

    @property
    def count(self) -> int:
        return (len(self.views) + (self.whole is not None) or 1) + len(self.parts) + self.cut

    @property
    def order(self) -> tuple[int, bool, int, int]:
        """Few sheets first, then cautions on each, then the larger drawing, then fewer still."""
        return max(self.count, FEW_SHEETS), self.cut, SCALES.get(self.name, 0), self.count


def _drafts(
    assessment: Assessment, scene: Scene, size: tuple[float, float], heading: Heading, scale: str | None,
    lines_only: bool,
) -> list[_Draft]:
    """Ways to share the sheets out, the roomiest first."""
    ends, bands = end_table(assessment, scene.words, lines_only), [0.0]
    few = len(ends.rows) <= ROWS_BESIDE_MAP
    tables = [ends] if few else [ends, end_table(assessment, scene.words, lines_only, dense=True),
                                 line_table(assessment, scene.words, lines_only)]  # fmt: skip
    bare = layout(*size, 0.0)
    if not draw_columns(Sheet(*size), bare, assessment, scene, heading):
        bands.append(band_height(assessment, scene.words, bare.map.width))
    found = []
    for band in bands:
        place = layout(*size, 0.0, band)
        cut = len(bands) > 1 and not (band and draw_columns(Sheet(*size), place, assessment, scene, heading))
        alone = _shown(scene, place, scale, heading.feet)
        for table in tables:
            if not few:
                own = _Draft(place, table, table.parts(place.map), *alone, cut)
                fewer = [] if own.count <= FEW_SHEETS or scale else _on_fewer(own, scene, heading.feet)
                found += [own, *fewer]
            below = layout(*size, table.height(place.map.width) if table.rows or table.alone else 0.0, band)
            if few or below.map.height > LEAST_MAP_MM and len(alone[1]) == 1:
                shown = _shown(scene, below, scale, heading.feet)
                if few or (shown[0], len(shown[1])) == (alone[0], 1):  # the table must not cost the drawing its scale
                    found.append(_Draft(below, table, [], *shown, cut))
    return found


def _on_fewer(draft: _Draft, scene: Scene, feet: bool) -> list[_Draft]:
    """The same with fewer maps, where that makes few sheets of all of it."""
    shown = (_shown(scene, draft.place, None, feet, most) for most in range(2, FEW_SHEETS))
    drafts = [replace(draft, name=name, views=views, whole=whole) for name, views, whole in shown]
    return [one for one in drafts if one.count <= FEW_SHEETS]


def _shown(
    scene: Scene, place: Layout, scale: str | None, feet: bool, most: int = FEW_SHEETS
) -> tuple[str, list[View], View | None]:
    if scene.spots:
        return _views(scene, place, scale, feet, most)
    pick_scale((0, 0, 1, 1), place.map, scale, feet)  # a wrong scale is told even where nothing can be drawn
    return "", [], None


def _views(
    scene: Scene, place: Layout, scale: str | None, feet: bool, most: int
) -> tuple[str, list[View], View | None]:
    """The scale's name, what each sheet looks at, and the overview where there are several."""
    bounds = scene.anchor_bounds_m()
    name, fits = pick_scale(bounds, place.map, scale, feet, most)
    frame, strip = with_strip(place.map)
    if fits:
        view = _one_view(scene, place.map, SCALES[name])
        # bar and arrows move out of the map where they would hide an anchor, if the scale can stay
        if hides_an_anchor(view, scene, feet) and pick_scale(bounds, frame, name, feet)[1]:
            view = replace(_one_view(scene, frame, SCALES[name]), strip=strip)
        return name, [view], None
    views = [view for view in tiles(bounds, frame, SCALES[name], strip) if _shows_something(view, scene)]
    whole = View(frame, *_middle(bounds), overview_scale(bounds, frame, feet), strip)
    return name, views, _in_corner(whole, views, bounds)


def _one_view(scene: Scene, frame: Box, scale: int) -> View:
    """All anchors, and as much of the marks about them as there is room for."""
    tight, wide = scene.anchor_bounds_m(), scene.bounds_m()
    half = (frame.width * scale / 2000.0, frame.height * scale / 2000.0)
    centre = []
    for axis in (0, 1):
        low, high = tight[axis + 2] - half[axis], tight[axis] + half[axis]
        centre.append(min(max((wide[axis] + wide[axis + 2]) / 2, low), high))
    return View(frame, centre[0], centre[1], scale)


def _in_corner(whole: View, views: list[View], bounds: Extent) -> View:
    """The overview with the sheets in its upper left corner, so that its blank is in one piece."""
    west, south, east, north = whole.reach()
    reaches = [view.reach() for view in views]
    right = max(0.0, min(bounds[0] - west, min(reach[0] for reach in reaches) - west))
    up = max(0.0, min(north - bounds[3], north - max(reach[3] for reach in reaches)))
    return replace(whole, east=whole.east + right, north=whole.north - up)


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


class _Pen:
    """Draws the sheets of a draft one after the other, and keeps what they told and what found no room on any."""

    def __init__(self, assessment: Assessment, scene: Scene, draft: _Draft):
        self.assessment, self.scene, self.draft, self.place = assessment, scene, draft, draft.place
        self.first: list[Inset] = []  # insets of the overview
        self.sheets: list[Sheet] = []
        self.bar_mm: tuple[float, float, float] | None = None
        self.lost_in_first: set[str] = set()
        self.told: set[str] = set()
        self.lost: set[str] = set()

    def map_sheet(self, view: View, heading: Heading) -> Sheet:
        heading, scene = replace(heading, view=view), self.scene
        sheet = Sheet(self.place.width, self.place.height, "white")
        draw_ground(sheet, view, scene, heading.errors)
        bar = plan_bar(view, scene, heading.feet)
        draw_bar(sheet, view, bar, heading.feet)
        first = scene.words("pl-sheet-number", number=1)
        places = {f"{inset.letter}{scene.words('colon')} {first}": inset for inset in self.first}
        taken = furniture(view, scene, heading.feet)
        taken += [kept_clear(inset, view, told) for told, inset in places.items()]
        insets = map_insets(view, scene, taken, heading.feet, self.first, frozenset(self.told))
        boxes, inside = [*taken, *boxes_of(insets, view)], names_within(scene, [*self.first, *insets])
        left_out = draw_site(sheet, view, scene, boxes, leave=inside)
        for told, inset in places.items():
            draw_place(sheet, inset, view, told)
        for inset in insets:
            left_out += draw_inset(sheet, inset, view, scene, heading.errors, heading.feet)
        draw_frame(sheet, view, scene)
        notes = self._notes([wanted for wanted in left_out if wanted.name not in self.told])
        self._count(view, left_out)
        self._finish(sheet, heading, notes)
        self.bar_mm = self.bar_mm or bar.ten_metres(view.per_metre)
        return sheet

    def _count(self, view: View, left_out: list[Wanted]) -> None:
        scene, lost = self.scene, {wanted.name or wanted.text for wanted in left_out}
        shown = {spot.code for spot in scene.spots if drawn_in(view, spot)}
        shown |= {s.result.id for s in scene.stretches if {s.a.code, s.b.code} & shown}
        self.lost |= lost
        self.told |= shown - lost - self.lost_in_first

    def _notes(self, left_out: list[Wanted]) -> tuple[str, ...]:
        """What found no room, from the fullest telling to the shortest; anchors and lines with their place."""
        if not left_out:
            return ()
        scene, named = self.scene, {wanted.name for wanted in left_out}
        places = {spot.code: (spot.east_m, spot.north_m) for spot in scene.spots}
        places |= {s.result.id: ((s.a.east_m + s.b.east_m) / 2, (s.a.north_m + s.b.north_m) / 2)
                   for s in scene.stretches}  # fmt: skip
        told = (f"{name} {at[0]:+.0f} {at[1]:+.0f}" for name, at in places.items() if name in named)
        listed = scene.words("between").join(told)
        short = scene.words("pl-labels-left-out", count=len(left_out))
        return (f"{short} {scene.words('pl-left-out-at', names=listed)}", short) if listed else (short,)

    def overview(self, whole: View, heading: Heading) -> Sheet:
        heading = replace(heading, view=whole)
        sheet = Sheet(self.place.width, self.place.height, "white")
        draw_ground(sheet, whole, self.scene, heading.errors)
        draw_bar(sheet, whole, plan_bar(whole, self.scene, heading.feet), heading.feet)
        draw_index(sheet, whole, self.scene, self.draft.views)
        taken = furniture(whole, self.scene, heading.feet)
        for west, south, east, north in (view.reach() for view in self.draft.views):
            x, y = whole.x(west), whole.y(south)
            taken.append(Box(x, y, whole.x(east) - x, whole.y(north) - y))
        self.first = overview_insets(whole, self.scene, self.draft.views, taken, heading.feet)
        left_out: list[Wanted] = []
        for inset in self.first:
            left_out += draw_inset(sheet, inset, whole, self.scene, heading.errors, heading.feet)
        self.lost_in_first = {wanted.name for wanted in left_out if wanted.name}
        draw_frame(sheet, whole, self.scene)
        self._finish(sheet, heading, self._notes(left_out))
        return sheet

    def without_map(self, heading: Heading) -> Sheet:
        """No anchor has a position: the table and the words still serve, and the sheet says why there is no map."""
        sheet, b = Sheet(self.place.width, self.place.height, "white"), self.place.map
        sheet.box(b.x, b.y, b.width, b.height, "paper", "ink", 0.5)
        sheet.lines_of_text(b.x + 8, b.top - 14, self.scene.words("pl-no-map"), b.width - 16, 4)
        self._finish(sheet, heading)
        return sheet

    def table_sheet(self, number: int, heading: Heading) -> Sheet:
        sheet = Sheet(self.place.width, self.place.height, "white")
        draw_table(sheet, self.place.map, self.draft.table, *self.draft.parts[number])
        draw_columns(sheet, self.place, self.assessment, self.scene, heading)
        return sheet

    def _finish(self, sheet: Sheet, heading: Heading, notes: tuple[str, ...] = ()) -> None:
        """The table below, where it stands there, and the words beside."""
        table = self.draft.table
        if not self.draft.parts and self.place.table.height:
            draw_table(sheet, self.place.table, table, table.rows, table.alone_lines(self.place.table.width))
        draw_columns(sheet, self.place, self.assessment, self.scene, heading, notes)


def _words_sheet(assessment: Assessment, scene: Scene, width: float, height: float, heading: Heading) -> Sheet:
    sheet, place = Sheet(width, height, "white"), layout(width, height, 0.0)
    draw_words(sheet, place.map, assessment, scene)
    head = replace(heading, title="pl-words", scale="")
    draw_title(sheet, place.columns[-1], assessment, scene, head)
    return sheet
