"""A copy as GeoJSON, GPX, KML and GeoPackage, and back: which of its fields stand where.

The formats are `places/exchange` and `places/geopackage`. A GeoPackage is written afresh from what its layer may see,
never cut down from the register's own file: a database keeps what was deleted in its free pages.
"""

from __future__ import annotations

import json
import sqlite3
from pathlib import Path
from typing import Any

from siteassess.errors import refused
from siteassess.places import exchange
from siteassess.places.exchange import Exchanged
from siteassess.places.exchange_xml import gpx_text, kml_text, read_xml
from siteassess.places.geopackage import (
    APPLICATION_ID,
    announce,
    blob_points,
    geometry_blob,
    run_statements,
    widen,
    write_frame,
    write_styles,
)
from siteassess.reference.findings import worded
from siteassess.reference.look import look
from siteassess.register.columns import COLUMNS, DAYS, NUMBERS, described, flat
from siteassess.register.incoming import Incoming, foreign_point, from_flat, refuse_too_many, taken_in
from siteassess.register.intact import UNREADABLE, lost
from siteassess.register.schema import STORE_VERSION, TABLES_OF_THINGS
from siteassess.register.share import Copy, Shared

FACTS_KEY = "siteassess_copy"
FACT_OF_OURS = "copy_valid_until"


def geojson(copy: Copy) -> str:
    """A FeatureCollection with the facts of the copy beside it.

    Parameters
    ----------
    copy : for one layer
    """
    features = (exchange.geojson_feature(one.points, _properties(one, copy), one.id) for one in copy.features)
    return exchange.geojson_text(exchange.geojson(features, **{FACTS_KEY: copy.facts()}))


def _properties(feature: Shared, copy: Copy) -> dict[str, Any]:
    properties = {key: value for key, value in flat(feature, copy).items() if value is not None}
    return {**properties, "record": json.loads(properties["record"]), "description": described(feature, copy)}


def gpx(copy: Copy) -> str:
    """Anchors and sites as waypoints, lines as routes of two points; what has no position is left out."""
    placed = [feature for feature in copy.features if feature.points]
    points = (_told(feature, copy) for feature in placed if feature.kind != "line")
    routes = (
        (_told(feature, copy), [Exchanged(places=[place]) for place in feature.points or ()])
        for feature in placed
        if feature.kind == "line"
    )
    return gpx_text(_about(copy), points, routes, copy.made_on)


def kml(copy: Copy) -> str:
    """Every feature as a place."""
    return kml_text(_about(copy), {"": (_told(feature, copy) for feature in copy.features)},
                    ["may_rig_now", "verdict"])  # fmt: skip


def _about(copy: Copy) -> Exchanged:
    return Exchanged(copy.title, copy.in_words(), fields=copy.facts())


def _told(feature: Shared, copy: Copy) -> Exchanged:
    # only a line is ever rigged: a tree or park of which nothing else is said looks like one nobody judged
    alone = look().words_of("may_rig_codes").get(feature.may_rig_codes)
    return Exchanged(feature.code, described(feature, copy), feature.kind, feature.points, flat(feature, copy),
                     word=alone.word if alone else feature.may_rig_now)  # fmt: skip


def from_geojson(text: str, source: str, kind: str = "other") -> Incoming:
    """Features of a GeoJSON text; as `taken_in`."""
    return taken_in(exchange.read_geojson(text, source, FACTS_KEY), kind)


def from_xml(data: bytes, source: str, form: str, kind: str = "other") -> Incoming:
    """Features of a file in the form "GPX" or "KML"; as `taken_in`."""
    return taken_in(read_xml(data, source, form, FACT_OF_OURS), kind)


_SHAPES = {"site": "POINT", "anchor": "POINT", "line": "LINESTRING"}
_MOST_TABLES = 200


def write_package(copy: Copy) -> bytes:
    """The copy as the bytes of a new GeoPackage.

    Parameters
    ----------
    copy : for one layer
    """
    db = sqlite3.connect(":memory:", isolation_level=None)
    db.execute("BEGIN")
    write_frame(db)
    run_statements(db, "CREATE TABLE copy_facts (id INTEGER PRIMARY KEY AUTOINCREMENT, key TEXT, value TEXT);")
    announce(db, "copy_facts", "What this copy is: licence, last day, layer, head")
    db.executemany("INSERT INTO copy_facts (key, value) VALUES (?,?)", copy.facts().items())
    for kind, shape in _SHAPES.items():
        _write_table(db, copy, kind, shape)
    write_styles(db, [(f"{kind}s", shape, "may_rig_now" if kind == "line" else "may_rig_codes", "code")
                      for kind, shape in _SHAPES.items()])  # fmt: skip
    # the day alone: nobody needs to know at what hour the coordinator was at work
    db.execute("UPDATE gpkg_contents SET last_change = ?", (f"{copy.made_on}T00:00:00.000Z",))
    db.execute("COMMIT")
    content = db.serialize()
    db.close()
    return content


def _write_table(db: sqlite3.Connection, copy: Copy, kind: str, shape: str) -> None:
    table = f"{kind}s"
    kinds = dict.fromkeys(NUMBERS, "DOUBLE") | dict.fromkeys(DAYS, "DATE")
    columns = ", ".join(f"{name} {kinds.get(name, 'TEXT')}" for name in COLUMNS)
    run_statements(db, f"CREATE TABLE {table} (fid INTEGER PRIMARY KEY AUTOINCREMENT, geom {shape}, {columns});")
    about = f"Licence: {copy.licence}. Copy valid until {copy.copy_valid_until}. {copy.cautions[0]}"
    announce(db, table, about, shape)
    for feature in copy.features:
        if feature.kind == kind:
            row = flat(feature, copy)
            db.execute(
                f"INSERT INTO {table} (geom, {', '.join(COLUMNS)}) VALUES (?{', ?' * len(COLUMNS)})",
                (geometry_blob(feature.points, shape), *(row[name] for name in COLUMNS)),
            )
            widen(db, table, feature.points or ())


def is_register(path: Path) -> bool:
    """Whether a GeoPackage is a whole register rather than a copy of one.

    Raises
    ------
    FaultyInput : it cannot be read.
    """
    try:
        db = _look(path)
        names = {row[0] for row in db.execute("SELECT name FROM sqlite_master WHERE type = 'table'")}
        db.close()
    except UNREADABLE as error:
        raise refused(path.name, worded("the-file"), str(error), worded("rg-want-geopackage")) from None
    return {"about", "events", "heads"} <= names


def read_history(path: Path) -> tuple[list[tuple[str, str]], dict[str, tuple[str, bytes]], set[str]]:
    """(name, text) of every event, the photos by hash and the names of lost events of another group's register.

    The file is only read.

    Raises
    ------
    FaultyInput : a form this program does not read as it stands, or a file that cannot be read.
    """
    try:
        db = _look(path)
        form = db.execute("SELECT value FROM about WHERE key = 'store_version'").fetchone()
        if form is None or form[0] != str(STORE_VERSION):
            said = ascii(form[0]) if form else worded("none")
            where, mend = worded("rg-the-form-of-register"), worded("rg-mend-open-once")
            raise refused(path.name, where, said, str(STORE_VERSION), mend)
        events = [(str(name), str(content)) for name, content in db.execute("SELECT name, content FROM events")]
        rows = db.execute("SELECT sha256, media_type, bytes FROM photos")
        photos = {str(row[0]): (str(row[1]), bytes(row[2])) for row in rows}
        names = lost(db)
        db.close()
    except (*UNREADABLE, TypeError) as error:
        wanted, mend = worded("rg-want-register"), worded("rg-mend-salvage")
        raise refused(path.name, worded("the-file"), str(error), wanted, mend) from None
    return events, photos, names


def read_package(path: Path, kind: str = "other") -> Incoming:
    """Features of a GeoPackage: ours, or the points of another program's feature tables.

    Raises
    ------
    FaultyInput : no GeoPackage, hostile texts, coordinates off the earth, geometries that are none.
    """
    source = path.name
    try:
        db = _look(path)
        if db.execute("PRAGMA application_id").fetchone()[0] != APPLICATION_ID:
            raise refused(source, worded("the-file"), worded("rg-read-other-database"), worded("rg-a-geopackage"))
        tables = {row[0] for row in db.execute("SELECT name FROM sqlite_master WHERE type = 'table'")}
        if len(tables) > _MOST_TABLES:
            raise refused(source, worded("rg-the-tables"), len(tables), worded("want-at-most", limit=_MOST_TABLES))
        incoming = Incoming(source, foreign="copy_facts" not in tables)
        if incoming.foreign:
            _read_foreign(db, tables, incoming, kind)
        else:
            incoming.facts = {str(k): str(v) for k, v in db.execute("SELECT key, value FROM copy_facts LIMIT 50")}
            for table in TABLES_OF_THINGS:
                _read_ours(db, table, incoming)
        db.close()
    except UNREADABLE as error:
        raise refused(source, worded("the-file"), str(error), worded("rg-want-geopackage")) from None
    return incoming


def _look(path: Path) -> sqlite3.Connection:
    # read-only, and no function of an untrusted schema is run
    db = sqlite3.connect(f"{path.resolve().as_uri()}?mode=ro", uri=True, isolation_level=None)
    db.execute("PRAGMA trusted_schema = OFF")
    db.execute("PRAGMA query_only = ON")
    return db


def _read_ours(db: sqlite3.Connection, table: str, incoming: Incoming) -> None:
    there = {row[1] for row in db.execute(f"PRAGMA table_info({table})")}
    # a copy written before a column was thought of is still read
    columns = [name for name in COLUMNS if name in there]
    for number, (blob, *values) in enumerate(db.execute(f"SELECT geom, {', '.join(columns)} FROM {table}"), start=1):
        refuse_too_many(number, incoming.source)
        points = _points(blob, incoming.source, number)
        incoming.features.append(from_flat(dict(zip(columns, values, strict=True)), points, incoming.source, number))


def _read_foreign(db: sqlite3.Connection, tables: set[str], incoming: Incoming, kind: str) -> None:
    geometries = db.execute("SELECT table_name, column_name, srs_id FROM gpkg_geometry_columns").fetchall()
    for table, column, srs in geometries:
        if table not in tables:
            continue
        if srs != 4326:
            where, read_ = worded("rg-the-table", name=ascii(table)), worded("rg-read-other-system", srs=srs)
            raise refused(incoming.source, where, read_, "WGS84, EPSG 4326")
        quoted = '"' + table.replace('"', '""') + '"'
        known = {row[1] for row in db.execute(f"PRAGMA table_info({quoted})")}
        wanted = [
            next((n for n in names if n in known), None) for names in (("code", "name", "ref"), ("species", "genus"))
        ]
        parts = ['"' + column.replace('"', '""') + '"', *('"' + n + '"' if n else "NULL" for n in wanted)]
        for number, (blob, name, species) in enumerate(db.execute(f"SELECT {', '.join(parts)} FROM {quoted}"), start=1):
            refuse_too_many(len(incoming.features) + 1, incoming.source)
            points = _points(blob, incoming.source, number)
            if points and len(points) == 1:
                name, species = (None if value is None else str(value) for value in (name, species))
                incoming.features.append(foreign_point(name, points[0], incoming.source, number, kind, species))


def _points(blob: bytes | None, source: str, number: int) -> list[tuple[float, float]] | None:
    try:
        return blob_points(blob)
    except (ValueError, TypeError) as error:
        where = worded("rg-the-geometry", number=number)
        raise refused(source, where, error.args[0], worded("rg-want-point-or-line")) from None
