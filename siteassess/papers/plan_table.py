"""The plan's table of anchors: a row for each end of a line or, where that saves paper, a row for each line."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from siteassess.advice.results import Assessment, LineResult
from siteassess.papers.drawing import Sheet, fitted, in_rows, text_width
from siteassess.papers.language import Words
from siteassess.papers.plan_frame import GAP, READABLE, TEXT, Box
from siteassess.reference.look import NOT_JUDGED
from siteassess.reference.measures import Measures, known
from siteassess.reference.pages import plain

CELL_AIR, SIGN_MM = 1.5, 4.0  # beside a cell's text, and of a verdict's sign before it
HEAD_LEAD, ROOMY_ROW_MM, DENSE_ROW_MM, ROOMY_HEAD_MM = 3.0, 4.4, 3.4, 6.0
TABLE_COLUMNS = (  # heading, share of the width
    ("pl-anchor", 0.10),
    ("pl-tag", 0.14),
    ("pl-line", 0.09),
    ("pl-bearing", 0.12),
    ("pl-back", 0.12),
    ("pl-distance", 0.12),
    ("pl-tie", 0.11),
    ("pl-verdict", 0.20),
)
END_SHARES = tuple(share for _, share in TABLE_COLUMNS)
LINE_SHARES = (0.12, *(0.14, 0.14, 0.09) * 2, 0.08, 0.08, 0.10)  # the most of a table that each column takes


@dataclass(frozen=True)
class Row:
    """One row: `signs` are verdicts by the column whose text they stand before."""

    cells: tuple[str, ...]
    signs: tuple[tuple[int, str | None], ...]


@dataclass(frozen=True)
class Table:
    """Rows with their heads, each over so many columns, and anchors without a line, told below by their verdict."""

    rows: list[Row]
    heads: tuple[tuple[str, int], ...]
    shares: tuple[float, ...]
    alone: tuple[tuple[str | None, str, tuple[str, ...]], ...] = ()  # verdict, what is said first, names
    dense: bool = False

    @property
    def row_mm(self) -> float:
        return DENSE_ROW_MM if self.dense else ROOMY_ROW_MM

    @property
    def size(self) -> float:
        return READABLE if self.dense else TEXT

    @property
    def grouped(self) -> bool:
        return any(span > 1 for _, span in self.heads)

    @property
    def head_mm(self) -> float:
        return ROOMY_HEAD_MM + HEAD_LEAD * self.grouped

    def widths(self, most: float) -> list[float]:
        """How wide each column has to be for its widest cell, at most its share of a table so wide [mm]."""
        needs = [max((text_width(cell, self.size) for cell in set(cells)), default=0.0) + CELL_AIR
                 for cells in zip(*(row.cells for row in self.rows))]  # fmt: skip
        if not needs:
            return []
        for column in {column for row in self.rows for column, _ in row.signs}:
            needs[column] += SIGN_MM
        starts = np.cumsum([0, *(span for _, span in self.heads)])
        for column, (head, span) in zip(starts, self.heads):
            if span == 1:
                needs[column] = max(needs[column], text_width(head, READABLE) + CELL_AIR)
        return [min(need, share * most) for need, share in zip(needs, self.shares)]

    def abreast(self, width: float) -> int:
        """How many tables stand side by side in a width."""
        return max(1, math.floor((width + GAP) / (sum(self.widths(width)) + GAP)))

    def alone_lines(self, width: float) -> list[tuple[str | None, str]]:
        """The anchors without a line in rows of a width, the first of each verdict with its sign."""
        lines: list[tuple[str | None, str]] = []
        for verdict, said, names in self.alone:
            row = said
            for i, name in enumerate(names):
                name += "," * (i < len(names) - 1)
                if text_width(f"{row} {name}", self.size) > width - SIGN_MM - 1:
                    lines.append((verdict, row))
                    verdict, row = "", name
                else:
                    row = f"{row} {name}"
            lines.append((verdict, row))
        return lines

    def height(self, width: float) -> float:
        """Of the whole table in a width [mm]."""
        lines = len(self.alone_lines(width))
        each = math.ceil(len(self.rows) / self.abreast(width))
        return self.head_mm + self.row_mm * each + (GAP + self.row_mm * lines if lines else 0.0)

    def parts(self, box: Box) -> list[tuple[list[Row], list[tuple[str | None, str]]]]:
        """Rows, and lines of anchors without a line, of each box it fills."""
        beside, lines = self.abreast(box.width), self.alone_lines(box.width)
        each = max(1, math.floor((box.height - self.head_mm) / self.row_mm + 1e-6))
        chunks = [self.rows[i : i + each * beside] for i in range(0, len(self.rows), each * beside)]
        used = self.head_mm + self.row_mm * math.ceil(len(chunks[-1]) / beside) + GAP if chunks else 0.0
        room = max(0, math.floor((box.height - used) / self.row_mm + 1e-6)) if chunks else 0
        found: list[tuple[list[Row], list[tuple[str | None, str]]]] = [(chunk, []) for chunk in chunks]
        if found:
            found[-1][1].extend(lines[:room])
        return [*found, *(([], lines[i : i + each]) for i in range(room, len(lines), each))]


def end_table(assessment: Assessment, words: Words, lines_only: bool = False, dense: bool = False) -> Table:
    """A row for each end of each line, and for anchors without a line; these are gathered below where it is dense."""
    heads = tuple((words(name), 1) for name, _ in TABLE_COLUMNS)
    rows = table_rows(assessment, words, lines_only or dense)
    return Table(rows, heads, END_SHARES, _alone(assessment, words) if dense and not lines_only else (), dense)


def line_table(assessment: Assessment, words: Words, lines_only: bool = False) -> Table:
    """A row for each line, with its two ends; the signs of the legend tell the verdicts."""
    m = Measures(words.language)
    tags = {anchor.code: _tag(anchor, words) for anchor in assessment.record.anchors}
    rows = []
    for line in assessment.lines:
        g, ends = line.geometry, line.anchors
        cells = [(end.code, tags.get(end.code, ""), m.length(end.tie_height_m, 2)) for end in ends]
        ways = (m.bearing(g.bearing_true_deg), m.bearing(g.back_bearing_true_deg), m.length(_span(line)))
        rows.append(Row((line.id, *cells[0], *cells[1], *ways), ((1, ends[0].verdict), (4, ends[1].verdict))))
    names = ", ".join(words(name) for name in ("pl-anchor", "pl-tag", "pl-tie"))
    ways_told = ", ".join(words(name) for name in ("pl-bearing", "pl-back", "pl-distance"))
    heads = ((words("pl-line"), 1), (f"A: {names}", 3), (f"B: {names}", 3), (f"A-B: {ways_told}", 3))
    return Table(rows, heads, LINE_SHARES, () if lines_only else _alone(assessment, words), dense=True)


def table_rows(assessment: Assessment, words: Words, lines_only: bool = False) -> list[Row]:
    """A row for each end of each line, in the order of the anchors, and for anchors without a line."""
    rows, m = [], Measures(words.language)
    for anchor in assessment.record.anchors:
        ends = [(line, end) for line in assessment.lines for end in line.anchors if end.code == anchor.code]
        tag = _tag(anchor, words)
        for line, end in ends:
            g = line.geometry
            out, back = g.bearing_true_deg, g.back_bearing_true_deg
            if end.end == "B":
                out, back = back, out
            ways = (m.bearing(out), m.bearing(back), m.length(_span(line)), m.length(end.tie_height_m, 2))
            cells = (anchor.code, tag, f"{line.id} {end.end}", *ways, words.of(end.verdict))
            rows.append(Row(cells, ((7, end.verdict),)))
        if not ends and not lines_only:
            alone = _verdict_alone(assessment, anchor.code)
            cells = (anchor.code, tag, "-", "-", "-", "-", "-", words.of(alone or NOT_JUDGED))
            rows.append(Row(cells, ((7, alone),)))
    return rows


def _alone(assessment: Assessment, words: Words) -> tuple[tuple[str | None, str, tuple[str, ...]], ...]:
    """Anchors without a line by their verdict, each with its tag."""
    used = {end.code for line in assessment.lines for end in line.anchors}
    found: dict[str | None, list[str]] = {}
    for anchor in assessment.record.anchors:
        if anchor.code not in used:
            tag = plain(getattr(anchor, "tag", None) or "")
            name = f"{anchor.code} ({tag})" if tag else anchor.code
            found.setdefault(_verdict_alone(assessment, anchor.code), []).append(name)
    return tuple((verdict, words("pl-alone", verdict=words.of(verdict or NOT_JUDGED)), tuple(names))
                 for verdict, names in found.items())  # fmt: skip


def _verdict_alone(assessment: Assessment, code: str) -> str | None:
    return next((tree.verdict for tree in assessment.trees if tree.code == code), None)


def _tag(anchor: object, words: Words) -> str:
    return plain(getattr(anchor, "tag", None) or words("none"))


def _span(line: LineResult) -> float | None:
    g = line.geometry
    return g.taped_m if known(g.taped_m) else g.distance_m


def draw_table(sheet: Sheet, box: Box, table: Table, rows: list[Row], lines: list[tuple[str | None, str]]) -> None:
    """Rows of the table from a box's upper edge, side by side where they have room; then anchors without a line."""
    beside = table.abreast(box.width) if table.dense or len(rows) * table.row_mm > box.height else 1
    wide = (box.width - GAP * (beside - 1)) / beside
    each = math.ceil(len(rows) / beside)
    widths = table.widths(box.width)
    foot = box.top - (table.head_mm + table.row_mm * each if rows else 0.0)
    for number in range(math.ceil(len(rows) / each) if rows else 0):
        here = rows[number * each : (number + 1) * each]
        tall = table.head_mm + table.row_mm * len(here)
        _draw_rows(sheet, Box(box.x + number * (wide + GAP), box.top - tall, wide, tall), table, here, widths)
    for i, (verdict, row) in enumerate(lines):
        y = foot - GAP * bool(rows) - table.row_mm * (i + 1) + 1.0
        sheet.text(box.x + SIGN_MM, y, row, table.size)
        if verdict != "":
            sheet.verdict(verdict, box.x + 1.6, y + 0.8, 3.0)


def _draw_rows(sheet: Sheet, box: Box, table: Table, rows: list[Row], widths: list[float]) -> None:
    """One table in its box; bearings are true. Heads are bold where the columns have their usual shares."""
    usual = not table.dense and all(need <= share * box.width for need, share in zip(widths, table.shares))
    shares = table.shares if usual else widths
    edges = [box.x]
    for share in shares:
        edges.append(edges[-1] + share / sum(shares) * box.width)
    first, size = 0, TEXT if usual else READABLE
    for head, span in table.heads:
        room = edges[first + span] - edges[first] - CELL_AIR
        shown = in_rows(head, room, size)[:2] if table.grouped else [fitted(head, room, size, usual)]
        for i, row in enumerate(shown):
            y = box.top - table.head_mm + 1.8 + HEAD_LEAD * (len(shown) - 1 - i)
            sheet.text(edges[first] + 1, y, row, size, bold=usual)
        first += span
    sheet.line([box.x, box.right], [box.top - table.head_mm + 0.4] * 2, "ink", 0.4)
    for i, table_row in enumerate(rows):
        y = box.top - table.head_mm - table.row_mm * (i + 1) + 0.32 * table.row_mm
        signs = dict(table_row.signs)
        for column, cell in enumerate(table_row.cells):
            shift = 1.0 + SIGN_MM * (column in signs)
            room = edges[column + 1] - edges[column] - shift - 0.3
            sheet.text(edges[column] + shift, y, fitted(cell, room, table.size), table.size)
        for column, verdict in signs.items():
            sheet.verdict(verdict, edges[column] + 2.6, y + 0.8, 3.2 if table.row_mm > 4 else 2.8)
        sheet.line([box.x, box.right], [y - 0.27 * table.row_mm] * 2, "hair", 0.15)
    if table.grouped:
        _rules_between_ends(sheet, box, table, edges)
    sheet.box(box.x, box.y, box.width, box.height, None, "ink", 0.35)


def _rules_between_ends(sheet: Sheet, box: Box, table: Table, edges: list[float]) -> None:
    """Hair lines before each group of columns, so that an end's cells are read together."""
    first = 0
    for _, span in table.heads[:-1]:
        first += span
        sheet.line([edges[first] + 0.2] * 2, [box.y, box.top], "hair", 0.2)
