"""The spreadsheet form: one row a tree, a header from the schema, the same faults by row and column.

Site and survey stand in columns of their own, filled in on the first row. A list keeps one item a row: one trunk
reading, one position. Lines need a record in YAML; a spreadsheet holds trees alone.
"""

from __future__ import annotations

import csv
import datetime
import io
import re
from collections.abc import Iterator
from dataclasses import dataclass, field
from functools import cache
from pathlib import Path

from siteassess.errors import Fault, FaultyInput
from siteassess.records.anchor import Signs, Tree
from siteassess.records.characters import LONGEST_SHOWN, shortened
from siteassess.records.reading import ReadRecord, file_text, record_of
from siteassess.records.record import RECORD_FORMAT
from siteassess.records.schema import ITEM, Asked, fields, members
from siteassess.records.sentences import did_you_mean, near_names, shown
from siteassess.records.site import Site, Survey
from siteassess.records.yaml_lines import UNREAD, Document, Node, Steps, scalar_value
from siteassess.reference.findings import worded

DELIMITERS = ",;\t"
TEMPLATE_ROWS = 3
MAX_ROWS = 20_000
_ABOVE_TREES: dict[str, type[Site] | type[Survey]] = {"site": Site, "survey": Survey}
_IN_PLAIN_NUMBERS = ("number", "whole number", "yes or no")
_NOT_IN_A_CELL = ("part", "parts", "points", "table")


@dataclass(frozen=True)
class Column:
    """One column: its header, and the way to its field below the tree (or the record, for site and survey)."""

    header: str
    path: Steps
    asked: Asked

    @property
    def is_of_the_tree(self) -> bool:
        return self.path[0] not in _ABOVE_TREES


@cache
def columns(full: bool = True) -> dict[str, Column]:
    """The columns a spreadsheet may have, by header, in the order of the form."""
    found: dict[str, Column] = {}
    for name, model in _ABOVE_TREES.items():
        found |= _columns_of(fields(model, quick=not full, above=(name,)))
    found |= _columns_of(asked for asked in fields(Tree, quick=not full) if asked.path != ("kind",))
    return found


def _columns_of(walk: Iterator[Asked]) -> dict[str, Column]:
    found = {}
    for asked in walk:
        if asked.kind in _NOT_IN_A_CELL or asked.path.count(ITEM) > 1:
            continue
        # a single fix is written without its list, as in YAML
        names = [step for step in asked.path if step != ITEM and step != "fixes"]
        path = tuple(0 if step == ITEM else step for step in asked.path)
        header = ".".join(names)
        found[header] = Column(header, path, asked)
    return found


def blank_csv(full: bool = False) -> str:
    """The spreadsheet template: a header, and rows with codes and every stop sign as not looked.

    Parameters
    ----------
    full : whether it asks all fields, not only those of the short form
    """
    headers = list(columns(full))
    signs = {f"signs.{sign.name}": "not looked" for sign in members(Signs)}
    file = io.StringIO()
    writer = csv.writer(file, lineterminator="\r\n")
    writer.writerow(headers)
    for number in range(1, TEMPLATE_ROWS + 1):
        cells = {"code": f"T{number}", **signs}
        writer.writerow([cells.get(header, "") for header in headers])
    return file.getvalue()


def read_csv_with_lines(path: str | Path, today: datetime.date | None = None) -> ReadRecord:
    """A record of trees from a spreadsheet saved as CSV, with the rows, so that later findings can name them too.

    Parameters
    ----------
    path : comma, semicolon or tab separated, in UTF-8, with headers of `columns()` in any order
    today : as for `read_record`

    Raises
    ------
    FaultyInput : with every fault: the fault's line is the row (the header is row 1), its field names the column
    """
    return csv_record(file_text(path), str(path), today)


def csv_record(text: str, source: str = "spreadsheet", today: datetime.date | None = None) -> ReadRecord:
    """As `read_csv_with_lines`, from text.

    Raises
    ------
    FaultyInput : with every fault, as there
    """
    sheet = _Sheet()
    sheet.take(text)
    if not sheet.trees and not sheet.faults:
        wanted, mend = worded("want-rows-of-trees"), worded("mend-csv-template")
        raise FaultyInput(source, [Fault(1, worded("the-rows"), worded("read-no-tree"), wanted, mend)])
    above = {name: sheet.above.get(name, Node(1, {})) for name in _ABOVE_TREES}
    root = Node(1, {"siteassess_record": Node(1, RECORD_FORMAT), **above, "anchors": Node(1, sheet.trees)})
    try:
        read = record_of(Document(root), source, today)
    except FaultyInput as error:
        raise FaultyInput(source, [*sheet.faults, *map(sheet.by_column, error.faults)]) from None
    if sheet.faults:
        raise FaultyInput(source, sheet.faults)
    return read


@dataclass
class _Sheet:
    """Rows on their way to a record."""

    faults: list[Fault] = field(default_factory=list)
    headers: list[Column | None] = field(default_factory=list)
    trees: list[Node] = field(default_factory=list)
    above: dict[str, Node] = field(default_factory=dict)

    def take(self, text: str) -> None:
        header_line = text.split("\n", 1)[0]
        delimiter = max(DELIMITERS, key=header_line.count)
        rows = csv.reader(io.StringIO(text, newline=""), delimiter=delimiter, strict=True)
        row = 0
        try:
            for row, cells in enumerate(rows, 1):
                if row > MAX_ROWS:
                    read, wanted = worded("read-many-rows", most=MAX_ROWS), worded("want-one-site")
                    self.fault(row, worded("the-rows"), read, wanted, worded("mend-split-file"))
                    break
                self._row(row, [cell.strip().replace("\r\n", "\n").replace("\r", "\n") for cell in cells])
        except csv.Error:
            self.fault(row + 1, worded("the-row"), worded("read-cell-open"), "CSV", worded("mend-cell-open"))

    def fault(self, row: int, where: str, read: str, wanted: str, mend: str = "") -> None:
        self.faults.append(Fault(row, where, shown(read), wanted, mend))

    def _row(self, row: int, cells: list[str]) -> None:
        if row == 1:
            self._header(cells)
        elif any(cells):
            self._tree(row, cells)

    def _header(self, cells: list[str]) -> None:
        known = columns()
        for header in cells:
            column = known.get(header)
            if header and column is None:
                mend = did_you_mean(near_names(header, list(known))) or worded("mend-delete-column")
                # as short as one text with the words before it
                read = worded("read-unknown-column", name=shortened(header, LONGEST_SHOWN - len("the unknown column ")))
                self.fault(1, worded("the-column", name=shown(header)), read, worded("want-template-column"), mend)
            elif column is not None and column in self.headers:
                read, where = worded("read-column-again", name=header), worded("the-column", name=header)
                self.fault(1, where, read, worded("want-columns-once"), worded("mend-delete-one"))
                column = None
            self.headers.append(column)

    def _tree(self, row: int, cells: list[str]) -> None:
        for extra in filter(None, cells[len(self.headers) :]):
            where, wanted = worded("beyond-last-column"), worded("want-headed-cells")
            self.fault(row, where, extra, wanted, worded("mend-split-cell"))
        typed = {"kind": Node(row, "tree")}
        tree = Node(row, typed)
        for column, cell in zip(self.headers, cells):
            if column is None or not cell:
                continue
            if column.is_of_the_tree:
                _put(tree, column.path, self._value(row, column, cell))
            else:
                self._put_above(row, column, cell)
        if len(typed) > 1:
            self.trees.append(tree)

    def _value(self, row: int, column: Column, cell: str) -> Node:
        if column.asked.kind not in _IN_PLAIN_NUMBERS:
            return Node(row, cell)
        try:
            return Node(row, scalar_value(cell))
        except ValueError as error:
            where = worded("the-column", name=column.header)
            self.fault(row, where, cell, column.asked.wanted(), error.args[0])
            return Node(row, UNREAD)

    def _put_above(self, row: int, column: Column, cell: str) -> None:
        holder = Node(1, self.above)
        value = self._value(row, column, cell)
        earlier: Node | None = holder
        for step in column.path:
            earlier = earlier.child(step) if earlier is not None else None
        if earlier is None:
            _put(holder, column.path, value)
        elif earlier.value != value.value:
            wanted = worded("want-as-in-row", value=shown(earlier.value), row=earlier.line)
            self.fault(row, worded("the-column", name=column.header), cell, wanted, worded("mend-one-site-survey"))

    def by_column(self, fault: Fault) -> Fault:
        """A fault of the record with its column for its path."""
        steps = re.sub(r"^anchors(\[[^\]]*\])?\.?", "", fault.field)
        header = re.sub(r"\[\d+\]", "", steps).replace("position.fixes", "position")
        place = worded("the-column", name=header) if header else worded("the-row")
        return Fault(fault.line, place, fault.read, fault.wanted, fault.mend)


def _put(root: Node, path: Steps, value: Node) -> None:
    """Put a value at a path, making the parts and one-item lists on the way."""
    node = root
    for step, following in zip(path, (*path[1:], None)):
        if following is None:
            made = value
        else:
            made = node.child(step) or Node(value.line, [] if isinstance(following, int) else {})
        if isinstance(node.value, list) and isinstance(step, int):
            node.value[step:] = [made]
        elif isinstance(node.value, dict) and isinstance(step, str):
            node.value[step] = made
        node = made
