"""The frame of a GeoPackage: its required tables, ids, and points and lines as its blobs.

Written with the standard library's sqlite3, so that one transaction covers the history, the tables drawn from it and
the photos.

References
----------
1. OGC 12-128r19, GeoPackage Encoding Standard 1.4.0 (memory): application id "GPKG", user version 10400, the rows
   -1, 0 and 4326 of gpkg_spatial_ref_sys, the header of a geometry blob. Checked by reading the files with GDAL.
"""

from __future__ import annotations

import math
import sqlite3
import struct
from collections.abc import Iterable, Sequence

from siteassess.places.map_styles import qml
from siteassess.reference.findings import worded
from siteassess.reference.locate import data_folder

APPLICATION_ID = 0x47504B47
USER_VERSION = 10400
WGS84_ID = 4326

_WGS84_WKT = (
    'GEOGCS["WGS 84",DATUM["WGS_1984",SPHEROID["WGS 84",6378137,298.257223563,AUTHORITY["EPSG","7030"]],'
    'AUTHORITY["EPSG","6326"]],PRIMEM["Greenwich",0,AUTHORITY["EPSG","8901"]],UNIT["degree",0.0174532925199433,'
    'AUTHORITY["EPSG","9122"]],AXIS["Latitude",NORTH],AXIS["Longitude",EAST],AUTHORITY["EPSG","4326"]]'
)



def run_statements(db: sqlite3.Connection, script: str) -> None:
    """Run statements one by one: sqlite3's executescript would commit an open transaction.

    Parameters
    ----------
    db : open, in a transaction
    script : statements, each ended by a semicolon
    """
    statement = ""
    for piece in script.split(";"):
        statement += piece + ";"
        if sqlite3.complete_statement(statement):
            if statement.strip() != ";":
                db.execute(statement)
            statement = ""


def make_tables(db: sqlite3.Connection, name: str) -> None:
    """Make the tables of a script in `data/sql`, inside the caller's transaction.

    Parameters
    ----------
    db : open
    name : of the script
    """
    run_statements(db, (data_folder() / "sql" / f"{name}.sql").read_text(encoding="utf-8"))


def write_frame(db: sqlite3.Connection) -> None:
    """Write ids and required tables into an empty database, inside the caller's transaction.

    Parameters
    ----------
    db : empty
    """
    db.execute(f"PRAGMA application_id = {APPLICATION_ID}")
    db.execute(f"PRAGMA user_version = {USER_VERSION}")
    make_tables(db, "geopackage")
    undefined = [
        ("Undefined cartesian SRS", -1, "NONE", -1, "undefined", "undefined cartesian coordinate reference system"),
        ("Undefined geographic SRS", 0, "NONE", 0, "undefined", "undefined geographic coordinate reference system"),
        ("WGS 84 geodetic", WGS84_ID, "EPSG", WGS84_ID, _WGS84_WKT, "longitude and latitude in degrees, WGS 84"),
    ]
    db.executemany("INSERT INTO gpkg_spatial_ref_sys VALUES (?,?,?,?,?,?)", undefined)


def announce(db: sqlite3.Connection, table: str, description: str, geometry: str | None = None) -> None:
    """Enter a table into the contents: a feature table when a geometry type is named, else attributes.

    Parameters
    ----------
    db : with its frame
    table, description : its name and what it holds
    geometry : "POINT", "LINESTRING" or "POLYGON"
    """
    db.execute(
        "INSERT INTO gpkg_contents (table_name, data_type, identifier, description, srs_id) VALUES (?,?,?,?,?)",
        (table, "features" if geometry else "attributes", table, description, WGS84_ID if geometry else None),
    )
    if geometry:
        db.execute("INSERT INTO gpkg_geometry_columns VALUES (?,'geom',?,?,0,0)", (table, geometry, WGS84_ID))


def write_styles(db: sqlite3.Connection, looks: Iterable[tuple[str, str, str, str]]) -> None:
    """Write how tables look in a map program, each by the look it opens with; inside the caller's transaction.

    Parameters
    ----------
    db : with its frame
    looks : of each table its name, its shape, the field it is drawn by and the one it is labelled by
    """
    make_tables(db, "layer_styles")
    announce(db, "layer_styles", "How the tables look in a map program")
    for table, shape, field, label in looks:
        db.execute(
            "INSERT INTO layer_styles (f_table_catalog, f_table_schema, f_table_name, f_geometry_column, styleName,"
            " styleQML, useAsDefault, description, owner) VALUES ('', '', :table, 'geom', :table, :qml, 1, :table, '')",
            {"table": table, "qml": qml(shape, field, label)},
        )


def widen(db: sqlite3.Connection, table: str, points: Sequence[tuple[float, float]]) -> None:
    """Let a table's extent hold these points, and note the change.

    Parameters
    ----------
    db : with its frame
    table : its name
    points : (longitude, latitude) pairs [deg]
    """
    stamp = "last_change = strftime('%Y-%m-%dT%H:%M:%fZ','now')"
    if not points:
        db.execute(f"UPDATE gpkg_contents SET {stamp} WHERE table_name = ?", (table,))
        return
    x, y = [point[0] for point in points], [point[1] for point in points]
    db.execute(
        f"UPDATE gpkg_contents SET {stamp}, min_x = min(coalesce(min_x, :west), :west),"
        " min_y = min(coalesce(min_y, :south), :south), max_x = max(coalesce(max_x, :east), :east),"
        " max_y = max(coalesce(max_y, :north), :north) WHERE table_name = :table",
        {"west": min(x), "south": min(y), "east": max(x), "north": max(y), "table": table},
    )


def geometry_blob(points: Sequence[tuple[float, float]] | None, kind: str) -> bytes | None:
    """A point, line string or polygon as a GeoPackage blob; None stays None.

    Parameters
    ----------
    points : (longitude, latitude) pairs, of a polygon its closed ring, shape (n, 2) [deg]
    kind : "POINT", "LINESTRING" or "POLYGON"
    """
    if not points:
        return None
    head = b"GP" + struct.pack("<BBi", 0, 0b0000_0001, WGS84_ID)
    if kind == "POINT":
        return head + struct.pack("<BIdd", 1, 1, *points[0])
    flat = [number for point in points for number in point]
    rings = (3, 1) if kind == "POLYGON" else (2,)
    return head + struct.pack(f"<B{len(rings)}II{len(flat)}d", 1, *rings, len(points), *flat)


def blob_points(blob: bytes | None) -> list[tuple[float, float]] | None:
    """(longitude, latitude) pairs of a point or line string blob [deg]; None for an empty or other geometry.

    Parameters
    ----------
    blob : as a file holds it

    Raises
    ------
    ValueError : the bytes are no GeoPackage geometry.
    """
    if blob is None:
        return None
    if len(blob) < 8 or blob[:2] != b"GP":
        raise ValueError(worded("rg-no-geometry"))
    flags = blob[3]
    envelope = {0: 0, 1: 32, 2: 48, 3: 48, 4: 64}.get((flags >> 1) & 0b111)
    if envelope is None:
        raise ValueError(worded("rg-no-geometry"))
    if flags & 0b1_0000:
        return None
    body = blob[8 + envelope :]
    try:
        order = "<" if body[0] == 1 else ">"
        (code,) = struct.unpack_from(f"{order}I", body, 1)
        kind, dimensions = _wkb_kind(code)
        if kind == 1:
            count, start = 1, 5
        elif kind == 2:
            (count,) = struct.unpack_from(f"{order}I", body, 5)
            start = 9
        else:
            return None
        if count * dimensions * 8 > len(body) - start:
            raise ValueError(worded("rg-geometry-short"))
        numbers = struct.unpack_from(f"{order}{count * dimensions}d", body, start)
    except (struct.error, IndexError):
        raise ValueError(worded("rg-no-geometry")) from None
    points = [tuple(numbers[i * dimensions : i * dimensions + 2]) for i in range(count)]
    if any(math.isnan(number) for point in points for number in point):
        return None
    return points


def _wkb_kind(code: int) -> tuple[int, int]:
    """Kind and number of coordinates of a WKB type code, ISO or with the older high bits."""
    dimensions = 2 + bool(code & 0x8000_0000) + bool(code & 0x4000_0000)
    code &= 0x0FFF_FFFF
    return code % 1000, dimensions + {0: 0, 1: 1, 2: 1, 3: 2}.get(code // 1000, 0)
