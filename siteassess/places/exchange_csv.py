"""Tables as CSV: what a cell may hold, so that no spreadsheet runs it, written and read.

A cell that a spreadsheet would take for a formula is written with an apostrophe before it; one that comes in from
elsewhere is refused.

References
----------
1. RFC 4180 (memory).
"""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Iterable, Iterator

from siteassess.errors import refused
from siteassess.places.exchange import one_text
from siteassess.records.files import FORMULA
from siteassess.reference.findings import worded

MAX_CELL = 1_000_000
_NUMBER = re.compile(r"[-+]?\d+(\.\d+)?([eE][-+]?\d+)?")


def csv_text(rows: Iterable[Iterable[object]]) -> str:
    """Rows as CSV; unknown is an empty cell, and several words in one stand apart by semicolons.

    Parameters
    ----------
    rows : the names of the columns first
    """
    stream = io.StringIO(newline="")
    csv.writer(stream, lineterminator="\r\n").writerows([cell(value) for value in row] for row in rows)
    return stream.getvalue()


def cell(value: object) -> str:
    """A value as a cell that starts no formula; `read_cell` gives it back.

    Parameters
    ----------
    value : object
        What the cell is to hold; None is empty.
    """
    if value is None:
        return ""
    text = str(one_text(value))
    return f"'{text}" if text.startswith("'") or FORMULA.match(text) and not _NUMBER.fullmatch(text) else text


def read_cell(text: str, column: str, source: str, line: int) -> str:
    """The text that was meant by a cell.

    Parameters
    ----------
    text : as it stands in the file
    column, source : names of its column and file, for what is told of faults
    line : of the file

    Raises
    ------
    FaultyInput : a formula.
    """
    if text.startswith("'"):
        return text[1:]
    if FORMULA.match(text) and not _NUMBER.fullmatch(text.strip()):
        raise refused(source, column, ascii(text[:40]), worded("want-no-formula"), line=line)
    return text


def read_rows(text: str, source: str) -> tuple[list[str], Iterator[tuple[int, dict[str, str]]]]:
    """Names of the columns of a CSV text, and its rows by these names, each with its line.

    Parameters
    ----------
    text : of the file
    source : its name, for what is told of faults

    Returns
    -------
    Names; (line, cells by name) row by row.

    Raises
    ------
    FaultyInput : no CSV, a row with more or fewer cells than columns, a formula.
    """
    csv.field_size_limit(MAX_CELL)
    rows = csv.DictReader(io.StringIO(text, newline=""))
    try:
        names = rows.fieldnames = [name.strip() for name in rows.fieldnames or ()]
    except csv.Error as error:
        raise refused(source, "CSV", str(error), worded("want-a-form", form="CSV"), line=rows.line_num) from None
    return names, _rows(rows, names, source)


def _rows(rows: csv.DictReader[str], names: list[str], source: str) -> Iterator[tuple[int, dict[str, str]]]:
    try:
        for row in rows:
            line = rows.line_num
            if None in row or None in row.values():
                read, wanted = worded("read-other-cells"), worded("want-cells", count=len(names))
                raise refused(source, worded("the-row"), read, wanted, line=line)
            yield line, {column: read_cell(value, column, source, line) for column, value in row.items()}
    except csv.Error as error:
        raise refused(source, "CSV", str(error), worded("want-a-form", form="CSV"), line=rows.line_num) from None
