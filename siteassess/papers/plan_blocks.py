"""The words on the plan: legend, emergency block, cautions and the title block."""

from __future__ import annotations

from dataclasses import dataclass

import shapely

from siteassess.advice.results import Assessment
from siteassess.papers.drawing import Sheet, fitted, in_rows, text_width
from siteassess.papers.language import Words, cautions_told, emergency_told
from siteassess.papers.plan_frame import GAP, LEAD, READABLE, TEXT, Box, Layout, View
from siteassess.papers.scene import Scene, Shape
from siteassess.places.grids import to_mgrs
from siteassess.places.location_codes import to_open_location_code
from siteassess.reference.look import look
from siteassess.reference.measures import lat_long
from siteassess.reference.pages import plain

DASHES_MM = {"suits": None, "suits if": (4.5, 1.6), "cannot say": (0.9, 1.6), "leave it": (4.5, 1.2, 0.9, 1.2)}
CAUTIONS_AT_LEAST_MM, SAYS_AT_LEAST_MM, HEAD_MM = 34.0, 24.0, 8.2


@dataclass(frozen=True)
class Heading:
    """What the title block says of this sheet."""

    paper: str
    orientation: str
    scale: str  # empty where nothing is drawn to one
    sheet: int
    sheets: int
    title: str  # key of a text
    feet: bool
    errors: bool = False  # whether error ellipses are drawn
    view: View | None = None  # what the sheet's map looks at; None where it has none


def draw_columns(
    sheet: Sheet, place: Layout, assessment: Assessment, scene: Scene, heading: Heading, notes: tuple[str, ...] = ()
) -> bool:
    """Legend, emergency, cautions and title: in one column beside the map, or in three below it.

    Cautions that have a band of their own across the foot leave their place in the column to the emergency and a note.
    Of `notes` the first is told that there is room for.

    Returns
    -------
    Whether all of it found room; where not, a sheet of words has to follow.
    """
    legend, emergency, title = place.columns * (3 // len(place.columns))
    top = _legend(sheet, legend, legend.top, scene, heading) - GAP
    low = draw_title(sheet, title, assessment, scene, heading) + 1.5
    if title is not emergency:
        top, low = emergency.top, emergency.y
    texts = cautions_told(assessment, scene.words)
    least, most = (CAUTIONS_AT_LEAST_MM, 2) if place.band is None else (0.0, 4)
    top, told = _emergency(sheet, emergency, top, low + least, assessment, scene, most)
    if place.band is None:
        room = top - GAP - HEAD_MM - low
        note = next((note for note in notes if _tall((note, *texts), emergency.width) <= room), None)
        return _cautions(sheet, emergency, top - GAP, low, scene.words, (*([note] if note else []), *texts)) and told
    room = top - GAP - low
    if note := next((note for note in notes if _tall((note,), emergency.width) <= room), None):
        sheet.lines_of_text(emergency.x, top - GAP, note, emergency.width, READABLE, lead=LEAD)
    _cautions_abreast(sheet, place.band, scene.words, texts)
    return told


def band_height(assessment: Assessment, words: Words, width: float) -> float:
    """Of a band so wide that holds all cautions in two columns [mm]."""
    halves = _in_halves(cautions_told(assessment, words), (width - GAP) / 2)
    return HEAD_MM + READABLE * LEAD * max(map(len, halves))


def _in_halves(texts: tuple[str, ...], width: float) -> tuple[list[str], list[str]]:
    """Rows of two columns about as long as each other, no text broken between them."""
    blocks = [in_rows(text, width, READABLE) for text in texts]
    count = min(range(len(blocks) + 1), key=lambda n: max(sum(map(len, blocks[:n])), sum(map(len, blocks[n:]))))
    return sum(blocks[:count], []), sum(blocks[count:], [])


def _cautions_abreast(sheet: Sheet, band: Box, words: Words, texts: tuple[str, ...]) -> None:
    top = _head(sheet, band, band.top, words("cautions"))
    wide = (band.width - GAP) / 2
    for number, rows in enumerate(_in_halves(texts, wide)):
        for i, row in enumerate(rows):
            sheet.text(band.x + number * (wide + GAP), top - i * READABLE * LEAD, row, READABLE)


def draw_words(sheet: Sheet, box: Box, assessment: Assessment, scene: Scene) -> None:
    """Emergency block and cautions at full length, for a sheet of their own."""
    y = _head(sheet, box, box.top, scene.words("emergency"))
    for words, value in [*emergency_told(assessment.record.site.emergency, scene.words), *_grid_rows(scene)]:
        sheet.text(box.x, y, words, 3.0, colour="soft_ink")
        y = sheet.lines_of_text(box.x + 30, y, value, box.width - 30, 3.2, most=4) - 0.6
    y = _head(sheet, box, y - 2, scene.words("cautions"))
    for caution in cautions_told(assessment, scene.words):
        y = sheet.lines_of_text(box.x, y, caution, box.width, 3.2, most=8) - 1.2


def _head(sheet: Sheet, column: Box, top: float, words: str) -> float:
    sheet.line([column.x, column.right], [top] * 2, "ink", 0.5)
    sheet.text(column.x, top - 4.0, words, 3.0, bold=True)
    return top - HEAD_MM


def _legend(sheet: Sheet, column: Box, top: float, scene: Scene, heading: Heading) -> float:
    t = scene.words
    y = _head(sheet, column, top, t("pl-legend"))
    lines = {stretch.result.verdict for stretch in scene.stretches}
    for how in look().verdicts.values():
        sheet.symbol(how.shape, column.x + 2.4, y + 0.8, 3.8, how.fill)
        sheet.text(column.x + 6.5, y, t.of(how.word), TEXT, bold=True)
        wide = max(24.0, 8.5 + text_width(t.of(how.word), TEXT, True))
        if how.word in lines:
            sheet.line([column.x + wide, column.x + wide + 10], [y + 0.8] * 2, "ink", 0.8, DASHES_MM[how.word])
        beside = column.width - wide - 12
        at, room = (wide + 12, beside) if beside > SAYS_AT_LEAST_MM else (6.5, column.width - 6.5)
        y -= 0.0 if beside > SAYS_AT_LEAST_MM else 3.2
        for row in in_rows(t(f"says {how.word}"), room, READABLE):
            sheet.text(column.x + at, y, row, READABLE)
            y -= READABLE * 1.2
        y -= 4.4 - READABLE * 1.2
    ellipse = ["place, 95 of 100"] if heading.errors else []
    crown = ["crown"] if any(spot.crown_radius_m for spot in scene.spots) else []
    zone = ["root zone"] if any(spot.root_zone_radius_m for spot in scene.spots) else []
    strip = ["fall strip"] if scene.stretches else []
    shapes = (shape.kind for shape in scene.shapes if _on_sheet(shape, heading.view))
    kinds = [*crown, *zone, *strip, *ellipse, *dict.fromkeys(shapes)] if heading.title != "pl-table" else []
    for i, kind in enumerate(kinds):
        x, foot = column.x + (i % 2) * column.width / 2, y - 4.0 * (i // 2)
        _sample(sheet, kind, x, foot)
        sheet.text(x + 8.5, foot, fitted(t.of(kind), column.width / 2 - 9, READABLE), READABLE)
    return y - 4.0 * ((len(kinds) + 1) // 2) + 2.6


def _on_sheet(shape: Shape, view: View | None) -> bool:
    """Whether any of a thing lies within the sheet's map; on a sheet without a map the legend serves all sheets."""
    if view is None:
        return True
    points = list(zip(shape.east_m, shape.north_m))
    if len(points) == 1:
        return view.shows(*points[0])
    thing = shapely.Polygon(points) if shape.closed else shapely.LineString(points)
    return bool(shapely.intersects(shapely.make_valid(thing), shapely.box(*view.reach())))


def _sample(sheet: Sheet, kind: str, x: float, y: float) -> None:
    if kind == "crown":
        sheet.circle(x + 3, y + 0.8, 1.7, "#d9efe7", "ink", 0.2)
        return
    if kind == "root zone":
        sheet.circle(x + 3, y + 0.8, 1.7, None, "#8a6d3b", 0.3, dash=(1.0, 0.8))
        return
    if kind == "fall strip":
        sheet.box(x, y - 0.6, 6.5, 2.8, None, "#D55E00", 0.2, dash=(0.3, 0.9))
        return
    if kind == "place, 95 of 100":
        sheet.circle(x + 3, y + 0.8, 1.7, None, "#CC79A7", 0.3)
        return
    how = look().features[kind]
    if "symbol" in how:
        sheet.symbol(how["symbol"], x + 3, y + 0.8, 3.4, "#F0E442")
        return
    dash = tuple(float(d) / 5 for d in how["dash"].split()) or None
    if how["fill"] == "none":
        sheet.line([x, x + 6.5], [y + 0.8] * 2, how["stroke"], 0.45, dash)
        return
    hatch = "////" if how["fill"] == "hatch" else None
    sheet.box(x, y - 0.6, 6.5, 2.8, None if hatch else how["fill"], how["stroke"], 0.3, hatch=hatch, dash=dash)


def _emergency(
    sheet: Sheet, column: Box, top: float, low: float, assessment: Assessment, scene: Scene, most: int
) -> tuple[float, bool]:
    """The emergency block, each row on up to `most` lines as there is room above `low`; its foot, if all is told."""
    rows, t = [*_grid_rows(scene), *emergency_told(assessment.record.site.emergency, scene.words)], scene.words
    if assessment.record.site.emergency is None:
        rows.append((t("pl-else"), t("pl-no-emergency")))
    y, lead = _head(sheet, column, top, t("emergency")), TEXT * 1.25
    label = min(25.0, max(17.0, *(text_width(name, READABLE) + 1.5 for name, _ in rows)))
    lines = {words: in_rows(value, column.width - label, TEXT) for words, value in rows}
    room = y - low
    while most > 1 and sum(min(most, len(found)) * lead + 0.2 for found in lines.values()) > room:
        most -= 1
    for words, _ in rows:
        sheet.text(column.x, y, fitted(words, label - 1, READABLE), READABLE, colour="soft_ink")
        shown = lines[words][:most]
        if len(lines[words]) > most:
            shown[-1] = fitted(shown[-1] + " ...", column.width - label, TEXT)
        for row in shown:
            sheet.text(column.x + label, y, row, TEXT)
            y -= lead
        y -= 0.2
    return y + 1.6, all(len(found) <= most for found in lines.values())


def _grid_rows(scene: Scene) -> list[tuple[str, str]]:
    """The emergency point, or else the middle of the site, in forms a dispatcher can use."""
    t = scene.words
    if scene.frame is None:
        return [(t("em-position"), t("not-known"))]
    point = next((s for s in scene.shapes if s.kind == "emergency point"), None)
    lat, lon = (
        (scene.frame.lat0, scene.frame.lon0)
        if point is None
        else (float(point.latitudes_deg[0]), float(point.longitudes_deg[0]))
    )
    rows = [(t("em-position"), lat_long(lat, lon)), (t("pl-location-code"), to_open_location_code(lat, lon))]
    if -80.0 <= lat <= 84.0:
        rows.append(("MGRS", to_mgrs(lat, lon, 4)))
    return [(name, value if point is not None else t("pl-middle", value=value)) for name, value in rows]


def _cautions(sheet: Sheet, column: Box, top: float, low: float, t: Words, texts: tuple[str, ...]) -> bool:
    """All cautions, if they find room in a size that can be read; whether they did."""
    y = _head(sheet, column, top, t("cautions"))
    if _tall(texts, column.width) <= y - low:
        for text in texts:
            y = sheet.lines_of_text(column.x, y, text, column.width, READABLE, lead=LEAD) - 0.6
        return True
    sheet.text(column.x, max(y, low), t("pl-cautions-last"), TEXT, bold=True)
    return False


def _tall(texts: tuple[str, ...], width: float) -> float:
    """From the first foot of some texts to the last [mm]."""
    rows = sum(len(in_rows(text, width, READABLE)) for text in texts)
    return (rows - 1) * READABLE * LEAD + 0.6 * len(texts)


def draw_title(sheet: Sheet, column: Box, assessment: Assessment, scene: Scene, heading: Heading) -> float:
    """The title block in the lower corner; returns its upper edge."""
    site, survey = assessment.record.site, assessment.record.survey
    t, frame = scene.words, scene.frame
    credit = plain(site.credit or t("pl-own-survey")) + (t("pl-invented") if site.invented else "")
    texts = [
        t("pl-judged", day=assessment.one_day or t("own-days"), surveyed=survey.date, by=plain(survey.by)),
        t("pl-manager", manager=plain(site.manager or t("not-recorded"))),
        t("pl-ticks-from", at=lat_long(frame.lat0, frame.lon0)) if frame else t("pl-ticks"),
        t("pl-credit", credit=credit),
        f"{t('no-inspection')} {t('each-verdict', tail=t('verdict-tail'))}",
    ]
    inner = column.width - 4
    blocks = [in_rows(text, inner, READABLE)[:6] for text in texts]
    name_rows = in_rows(site.name, inner, 4.2, bold=True)[:2]
    height = 3.4 + 5.6 * len(name_rows) + 6.5 + 8.6 + sum(len(rows) * READABLE * LEAD + 1.6 for rows in blocks)
    y = column.y + height
    sheet.box(column.x, column.y, column.width, height, "paper", "ink", 0.6)
    y -= 5.6
    for row in name_rows:
        sheet.text(column.x + 2, y, row, 4.2, bold=True)
        y -= 5.6
    sheet.text(column.x + 2, y, t(heading.title), 3.0)
    y -= 3.2
    sheet.line([column.x, column.right], [y] * 2, "ink", 0.35)
    cells = (
        (t("pl-scale"), heading.scale or t("pl-no-drawing")),
        (t("pl-paper"), f"{heading.paper} {t(f'pl-{heading.orientation}')}"),
        (t("pl-sheet"), t("pl-of", number=heading.sheet, count=heading.sheets)),
    )
    third = column.width / 3
    for i, (label, value) in enumerate(cells):
        x = column.x + i * third
        if i:
            sheet.line([x, x], [y, y - 8.6], "ink", 0.25)
        sheet.text(x + 1.6, y - 3, label, READABLE, colour="soft_ink")
        sheet.text(x + 1.6, y - 7, fitted(value, third - 2.4, TEXT, True), TEXT, bold=True)
    y -= 8.6
    for rows in blocks:
        sheet.line([column.x, column.right], [y] * 2, "ink", 0.25)
        y -= READABLE + 0.6
        for row in rows:
            sheet.text(column.x + 2, y, row, READABLE)
            y -= READABLE * LEAD
        y += READABLE - 0.6 - 1.0 + 0.4
    return column.y + height
