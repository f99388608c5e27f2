"""CSV of a copy with a metadata file that gives each column its meaning and unit, and back.

A cell that a spreadsheet would take for a formula is written with an apostrophe before it; one that comes in from
elsewhere is refused.

References
----------
1. RFC 4180 (memory); W3C, Model for Tabular Data and Metadata on the Web, 2015 (memory): `tableSchema`, `datatype`.
"""

from __future__ import annotations

import csv
import io
import json
import re
from typing import Any

from siteassess.records.files import FORMULA
from siteassess.register.columns import COLUMNS, NUMBERS, flat
from siteassess.register.incoming import Incoming, foreign_point, from_flat, refuse_too_many, refused
from siteassess.register.share import Copy, Shared

PLACES = {
    "lon_deg": "Longitude on WGS84, of end A for a line",
    "lat_deg": "Latitude on WGS84, of end A for a line",
    "lon_b_deg": "Longitude of end B on WGS84",
    "lat_b_deg": "Latitude of end B on WGS84",
}
ALL_COLUMNS = {**{key: COLUMNS[key] for key in COLUMNS if key != "record"}, **PLACES, "record": COLUMNS["record"]}
MAX_CELL = 1_000_000
_PLAIN_NUMBER = re.compile(r"^[+-]?\d+(\.\d+)?([eE][+-]?\d+)?$")


def metadata_name(csv_name: str) -> str:
    """Name of the metadata file beside a CSV file."""
    return f"{csv_name}-metadata.json"


def write(copy: Copy) -> str:
    """The CSV text."""
    out = io.StringIO(newline="")
    writer = csv.writer(out, lineterminator="\r\n")
    writer.writerow(ALL_COLUMNS)
    for feature in copy.features:
        row = {**flat(feature, copy), **_places(feature.points)}
        writer.writerow([_cell(row.get(column)) for column in ALL_COLUMNS])
    return out.getvalue()


def _places(points: list[tuple[float, float]] | None) -> dict[str, float]:
    if not points:
        return {}
    row = {"lon_deg": round(points[0][0], 7), "lat_deg": round(points[0][1], 7)}
    if len(points) > 1:
        row |= {"lon_b_deg": round(points[1][0], 7), "lat_b_deg": round(points[1][1], 7)}
    return row


def _cell(value: Any) -> str:
    if value is None:
        return ""
    if isinstance(value, float):
        return repr(value)
    text = str(value)
    return "'" + text if FORMULA.match(text) or text.startswith("'") else text


def metadata(copy: Copy, csv_name: str) -> str:
    """The metadata file: meaning, unit and type of each column, licence and last day of the copy."""
    columns = []
    for name, meaning in ALL_COLUMNS.items():
        number = name in NUMBERS or name in PLACES
        column: dict[str, Any] = {"name": name, "titles": name, "dc:description": meaning}
        column["datatype"] = "double" if number else "string"
        if number:
            column["schema:unitText"] = "deg" if name.endswith("_deg") else "m"
        columns.append(column)
    whole = {
        "@context": ["http://www.w3.org/ns/csvw", {"schema": "http://schema.org/"}],
        "url": csv_name,
        "dc:title": copy.title,
        "dc:license": copy.licence,
        "dc:valid": copy.copy_valid_until,
        "dc:created": copy.made_on,
        "rdfs:comment": " ".join(copy.cautions),
        "schema:identifier": " ".join(copy.heads),
        "schema:audience": copy.layer,
        "dialect": {"encoding": "utf-8", "delimiter": ",", "header": True, "doubleQuote": True},
        "tableSchema": {"columns": columns},
    }
    return json.dumps(whole, ensure_ascii=False, indent=1)


def read(text: str, source: str, kind: str = "other") -> Incoming:
    """Features of a CSV text: ours, or another's with columns for latitude and longitude.

    Raises
    ------
    FaultyInput : a spreadsheet formula, hostile texts, a column missing, coordinates off the earth.
    """
    csv.field_size_limit(MAX_CELL)
    rows = csv.DictReader(io.StringIO(text, newline=""))
    try:
        names = [name.strip() for name in rows.fieldnames or ()]
        rows.fieldnames = names
        incoming = Incoming(source, foreign="copy_valid_until" not in names)
        for number, row in enumerate(rows, start=1):
            refuse_too_many(number, source)
            line = rows.line_num
            if None in row or None in row.values():
                raise refused(source, "row", "more or fewer cells than columns", f"{len(names)} cells", line=line)
            clean = {column: _read_cell(value, column, source, line) for column, value in row.items()}
            feature = _theirs(clean, source, line, number, kind) if incoming.foreign else _ours(clean, source, line)
            incoming.features.append(feature)
            if not incoming.foreign and not incoming.facts:
                incoming.facts = {key: clean[key] for key in ("licence", "layer", "copy_valid_until") if key in clean}
    except csv.Error as error:
        raise refused(source, "CSV", str(error), "a CSV file", line=rows.line_num) from None
    return incoming


def _read_cell(text: str, column: str, source: str, line: int) -> str:
    if text.startswith("'"):
        return text[1:]
    if FORMULA.match(text) and not _PLAIN_NUMBER.match(text.strip()):
        raise refused(source, column, ascii(text[:40]), "a value, not a spreadsheet formula", line=line)
    return text


def _ours(row: dict[str, str], source: str, line: int) -> Shared:
    points = [_point(row, "lon_deg", "lat_deg", source, line), _point(row, "lon_b_deg", "lat_b_deg", source, line)]
    known = [point for point in points if point is not None]
    return from_flat(row, known or None, source, line)


def _theirs(row: dict[str, str], source: str, line: int, number: int, kind: str) -> Shared:
    lower = {name.lower(): value for name, value in row.items()}
    lat = next((n for n in ("lat_deg", "lat", "latitude", "y") if n in lower), None)
    lon = next((n for n in ("lon_deg", "lon", "lng", "longitude", "x") if n in lower), None)
    point = _point(lower, lon or "lon", lat or "lat", source, line)
    if point is None:
        raise refused(source, "columns", ", ".join(row)[:80], "lat and lon in degrees, filled in", line=line)
    name = next((lower[n] for n in ("code", "name", "ref", "id") if lower.get(n)), None)
    return foreign_point(name, point, source, number, kind, lower.get("species") or lower.get("genus") or None)


def _point(row: dict[str, str], lon: str, lat: str, source: str, line: int) -> tuple[float, float] | None:
    if not row.get(lon) or not row.get(lat):
        return None
    try:
        return float(row[lon]), float(row[lat])
    except ValueError:
        raise refused(
            source, f"{lon}, {lat}", f"{row[lon]}, {row[lat]}", "degrees as plain numbers", line=line
        ) from None
