"""A record from a file, whatever its form: YAML, or the spreadsheet template."""

from __future__ import annotations

from pathlib import Path

from siteassess.records.reading import read_record
from siteassess.records.record import Record


def load_record(path: str | Path) -> Record:
    """Read a record by the ending of its name.

    Raises
    ------
    FaultyInput
        With every fault of the file.
    """
    path = Path(path)
    if path.suffix.lower() == ".csv":
        from siteassess.records.csv_rows import read_csv

        return read_csv(path)
    return read_record(path)
