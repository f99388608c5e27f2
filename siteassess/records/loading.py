"""A record from a file, whatever its form: YAML, or the spreadsheet template."""

from __future__ import annotations

from pathlib import Path

from siteassess.records.reading import ReadRecord, read_with_lines
from siteassess.records.record import Record


def load_record(path: str | Path) -> Record:
    """Read a record by the ending of its name.

    Raises
    ------
    FaultyInput
        With every fault of the file.
    """
    return load_with_lines(path).record


def load_with_lines(path: str | Path) -> ReadRecord:
    """As `load_record`, keeping lines (rows of a spreadsheet), so that later findings can name them too."""
    path = Path(path)
    if path.suffix.lower() == ".csv":
        from siteassess.records.csv_rows import read_csv_with_lines

        return read_csv_with_lines(path)
    return read_with_lines(path)
