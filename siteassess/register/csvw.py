"""CSV of a copy with a metadata file that gives each column its meaning and unit, and back.

References
----------
1. W3C, Model for Tabular Data and Metadata on the Web, 2015 (memory): `tableSchema`, `datatype`.
"""

from __future__ import annotations

import json
from collections.abc import Mapping
from typing import Any

from siteassess.errors import refused
from siteassess.places.exchange import Exchanged, MapFile, Place, rounded_place
from siteassess.places.exchange_csv import csv_text, read_rows
from siteassess.reference.findings import worded
from siteassess.register.columns import COLUMNS, NUMBERS, flat
from siteassess.register.incoming import Incoming, taken_in
from siteassess.register.reasons import Reason, sentence
from siteassess.register.share import Copy

PLACES = ("lon_deg", "lat_deg", "lon_b_deg", "lat_b_deg")  # of end A for a line, then of end B
ALL_COLUMNS = (*COLUMNS[:-1], *PLACES, COLUMNS[-1])  # the record is last
FACTS = ("licence", "layer", "copy_valid_until")


def metadata_name(csv_name: str) -> str:
    """Name of the metadata file beside a CSV file."""
    return f"{csv_name}-metadata.json"


def write(copy: Copy) -> str:
    """The CSV text."""
    rows = []
    for feature in copy.features:
        places = (number for place in feature.points or () for number in rounded_place(place))
        row = {**flat(feature, copy), **dict(zip(PLACES, places))}
        rows.append([row.get(column) for column in ALL_COLUMNS])
    return csv_text([ALL_COLUMNS, *rows])


def metadata(copy: Copy, csv_name: str) -> str:
    """The metadata file: meaning, unit and type of each column, licence and last day of the copy."""
    columns = []
    for name in ALL_COLUMNS:
        meaning = sentence(Reason(name), copy.language, group="column")
        number = name in NUMBERS or name in PLACES
        column: dict[str, Any] = {"name": name, "titles": name, "dc:description": meaning}
        column["datatype"] = "double" if number else "string"
        if number:
            column["schema:unitText"] = "deg" if name.endswith("_deg") else "m"
        columns.append(column)
    whole = {
        "@context": ["http://www.w3.org/ns/csvw", {"schema": "http://schema.org/"}], "url": csv_name,
        "dc:title": copy.title, "dc:license": copy.licence, "dc:valid": copy.copy_valid_until,
        "dc:created": copy.made_on, "rdfs:comment": " ".join(copy.cautions), "schema:identifier": " ".join(copy.heads),
        "schema:audience": copy.layer,
        "dialect": {"encoding": "utf-8", "delimiter": ",", "header": True, "doubleQuote": True},
        "tableSchema": {"columns": columns},
    }
    return json.dumps(whole, ensure_ascii=False, indent=1)


def read(text: str, source: str, kind: str = "other") -> Incoming:
    """Features of a CSV text: ours, or another's with columns for latitude and longitude.

    Raises
    ------
    FaultyInput : as `taken_in`; a spreadsheet formula, a column missing.
    """
    names, rows = read_rows(text, source)
    if "copy_valid_until" not in names:
        return taken_in(MapFile(source, [_theirs(row, source, line) for line, row in rows], None), kind)
    features = [_ours(row, source, line) for line, row in rows]
    facts = {key: one.fields[key] for one in features[:1] for key in FACTS if key in one.fields}
    return taken_in(MapFile(source, features, facts), kind)


def _ours(row: dict[str, str], source: str, line: int) -> Exchanged:
    ends = (_place(row, "lon_deg", "lat_deg", source, line), _place(row, "lon_b_deg", "lat_b_deg", source, line))
    return Exchanged(places=[place for place in ends if place], fields=row, line=line)


def _theirs(row: dict[str, str], source: str, line: int) -> Exchanged:
    lower = {name.lower(): value for name, value in row.items()}
    lat = next((n for n in ("lat_deg", "lat", "latitude", "y") if n in lower), "lat")
    lon = next((n for n in ("lon_deg", "lon", "lng", "longitude", "x") if n in lower), "lon")
    place = _place(lower, lon, lat, source, line)
    if place is None:
        raise refused(source, worded("rg-the-columns"), ", ".join(row)[:80], worded("rg-want-lat-and-lon"), line=line)
    name = next((lower[n] for n in ("code", "name", "ref", "id") if lower.get(n)), None)
    return Exchanged(name, places=[place], fields=lower, line=line)


def _place(row: Mapping[str, str], lon: str, lat: str, source: str, line: int) -> Place | None:
    if not row.get(lon) or not row.get(lat):
        return None
    try:
        return float(row[lon]), float(row[lat])
    except ValueError:
        read = f"{row[lon]}, {row[lat]}"
        raise refused(source, f"{lon}, {lat}", read, worded("rg-want-plain-degrees"), line=line) from None
