"""The register's files read by others: GDAL, an independent GPX parser, an iCalendar parser, the words of standards.

Sources, from memory unless said: OGC 12-128r19 GeoPackage 1.4; RFC 7946 GeoJSON (2016); Topografix GPX 1.1 schema
(2004); OGC 07-147r2 KML 2.2; W3C CSVW (2015); RFC 5545 iCalendar (2009); FIPS 180-4 test vector. The second readers are
GDAL through pyogrio, gpxpy and icalendar, none of which this package uses itself.
"""

from __future__ import annotations

import csv
import datetime
import json
import sqlite3
from xml.etree import ElementTree

import pyogrio
import pytest
import shapely

from siteassess.papers.ical import calendar
from siteassess.places.exchange_xml import GPX, OWN
from siteassess.places.geopackage import geometry_blob
from siteassess.register import actions
from siteassess.register.due import due
from siteassess.register.events import name_of
from siteassess.register.files import write_copy
from siteassess.register.share import make_copy
from siteassess.register.store import Store

gpxpy = pytest.importorskip("gpxpy")
icalendar = pytest.importorskip("icalendar")

TODAY = datetime.date(2026, 5, 1)
PLACES = {"T1": (-33.8567844, 151.2152967), "T2": (-33.8571234, 151.2157654)}


@pytest.fixture(scope="module")
def store(tmp_path_factory):
    store = Store.create(
        tmp_path_factory.mktemp("outside") / "list.gpkg", title="Invented; group, with \\ marks", who="Ada"
    )
    record = {
        "site": {"name": "Larchmere Green & Grove", "invented": True, "land_status": "mown amenity"},
        "anchors": [
            {
                "kind": "tree",
                "code": code,
                "position": {"fixes": [{"lat": lat, "lon": lon, "accuracy": "3 m"}]},
                "species": {"name": "Quercus robur"},
                "trunk": [{"girth": "185 cm", "read_at": "1.3 m"}],
            }
            for code, (lat, lon) in PLACES.items()
        ],
        "lines": [
            {"id": "L1", "use": "long line", "a": {"anchor": "T1"}, "b": {"anchor": "T2"}, "span": {"taped": "57 m"}}
        ],
    }
    by = actions.By("Ada", "survey")
    with store.change() as writer:
        names = actions.add_record(writer, record, by)
        for side in ("group", "owner"):
            body = {"by": side, "given": True, "name": "office", "date": "2026-04-01", "expires": "2026-06-30"}
            actions.mark(writer, names["line L1"], {**body, "conditions": "two, at most; dry\nground"}, by)
        entry = {
            "what": "inspection",
            "date": "2026-04-01",
            "inspector": "D",
            "standing": "tree officer",
            "finding": "sound",
            "action": "größere Äste; prüfen, bitte — ✓ " * 4,
            "action_due": "2026-05-09",
        }
        actions.log(writer, names["anchor T1"], entry, by)
    yield store
    store.close()


@pytest.fixture(scope="module")
def copies(store, tmp_path_factory):
    folder = tmp_path_factory.mktemp("copies")
    copy = make_copy(store, "officer", TODAY, licence="CC0-1.0")
    for ending in (".geojson", ".gpx", ".kml", ".csv", ".gpkg"):
        write_copy(store, copy, folder / f"c{ending}")
    return {path.suffix: path for path in folder.iterdir() if not path.name.endswith(".json")}


REQUIRED = {
    # OGC 12-128r19, tables 1, 3 (memory): column -> declared type, not null
    "gpkg_spatial_ref_sys": {
        "srs_name": ("TEXT", 1),
        "srs_id": ("INTEGER", 0),
        "organization": ("TEXT", 1),
        "organization_coordsys_id": ("INTEGER", 1),
        "definition": ("TEXT", 1),
        "description": ("TEXT", 0),
    },
    "gpkg_contents": {
        "table_name": ("TEXT", 1),
        "data_type": ("TEXT", 1),
        "identifier": ("TEXT", 0),
        "description": ("TEXT", 0),
        "last_change": ("DATETIME", 1),
        "min_x": ("DOUBLE", 0),
        "min_y": ("DOUBLE", 0),
        "max_x": ("DOUBLE", 0),
        "max_y": ("DOUBLE", 0),
        "srs_id": ("INTEGER", 0),
    },
    "gpkg_geometry_columns": {
        "table_name": ("TEXT", 1),
        "column_name": ("TEXT", 1),
        "geometry_type_name": ("TEXT", 1),
        "srs_id": ("INTEGER", 1),
        "z": ("TINYINT", 1),
        "m": ("TINYINT", 1),
    },
}


@pytest.mark.parametrize("which", ["register", "copy"])
def test_geopackage_ids_and_required_tables_are_those_of_the_standard(store, copies, which):
    path = store.path if which == "register" else copies[".gpkg"]
    db = sqlite3.connect(path)
    assert path.read_bytes()[68:72] == b"GPKG"
    assert db.execute("PRAGMA user_version").fetchone() == (10400,)
    assert db.execute("PRAGMA integrity_check").fetchone() == ("ok",)
    assert db.execute("PRAGMA foreign_key_check").fetchall() == []
    for table, columns in REQUIRED.items():
        found = {row[1]: (row[2], row[3]) for row in db.execute(f"PRAGMA table_info({table})")}
        assert found == columns, table
    rows = db.execute("SELECT srs_id, organization, organization_coordsys_id FROM gpkg_spatial_ref_sys").fetchall()
    assert {(-1, "NONE", -1), (0, "NONE", 0), (4326, "EPSG", 4326)} <= set(rows)
    tables = {
        row[0] for row in db.execute("SELECT name FROM sqlite_master WHERE type = 'table' AND name NOT LIKE 'sqlite_%'")
    }
    listed = dict(db.execute("SELECT table_name, data_type FROM gpkg_contents"))
    # every user table is announced, and each has an integer primary key (requirements 29 and 119)
    assert tables - set(REQUIRED) == set(listed) and set(listed.values()) == {"features", "attributes"}
    for table in listed:
        keys = [row for row in db.execute(f"PRAGMA table_info({table})") if row[5]]
        assert [(row[2], row[5]) for row in keys] == [("INTEGER", 1)], table
    db.close()


@pytest.mark.parametrize("which", ["register", "copy"])
def test_gdal_reads_points_lines_and_values_of_the_geopackage(store, copies, which):
    path = store.path if which == "register" else copies[".gpkg"]
    shapes = dict(pyogrio.list_layers(path))
    assert (shapes["sites"], shapes["anchors"], shapes["lines"]) == ("Point", "Point", "LineString")
    anchors = pyogrio.read_dataframe(path, layer="anchors").set_index("code")
    assert anchors.crs.to_epsg() == 4326
    for code, (lat, lon) in PLACES.items():
        assert (anchors.geometry[code].y, anchors.geometry[code].x) == (lat, lon)
    assert anchors.girth_m.tolist() == [1.85, 1.85]
    line = pyogrio.read_dataframe(path, layer="lines").iloc[0]
    assert [tuple(reversed(point)) for point in line.geometry.coords] == list(PLACES.values())
    info = pyogrio.read_info(path, layer="anchors")
    assert info["total_bounds"] == pytest.approx((151.2152967, -33.8571234, 151.2157654, -33.8567844))


def test_gdal_reads_the_history_as_a_plain_table(store):
    events = pyogrio.read_dataframe(store.path, layer="events", read_geometry=False)
    assert len(events) == store.count() and set(events.who) == {"Ada"}
    assert all(name_of(row.content) == row["name"] for _, row in events.iterrows())


def test_names_are_plain_sha256():
    """FIPS 180-4, the message "abc" (memory of the published vector)."""
    assert name_of("abc") == "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad"


@pytest.mark.parametrize("points", [[(8.25, 50.5)], [(8.25, 50.5), (-179.5, -1.25), (0.0, 90.0)]])
def test_geometry_blobs_are_a_header_before_the_well_known_binary_shapely_writes(points):
    kind = "POINT" if len(points) == 1 else "LINESTRING"
    shape = shapely.Point(points[0]) if len(points) == 1 else shapely.LineString(points)
    blob = geometry_blob(points, kind)
    assert blob[:8] == b"GP\x00\x01" + (4326).to_bytes(4, "little")
    assert blob[8:] == shapely.to_wkb(shape, byte_order=1)


def _check_geojson(whole):
    """The rules of RFC 7946 that bear on what is written here."""
    assert whole["type"] == "FeatureCollection" and "crs" not in whole
    assert not {"coordinates", "geometry", "geometries", "properties"} & set(whole)
    for feature in whole["features"]:
        assert feature["type"] == "Feature" and {"geometry", "properties"} <= set(feature)
        assert isinstance(feature["id"], str) and isinstance(feature["properties"], dict)
        assert not {"coordinates", "geometries", "features"} & set(feature)
        shape = feature["geometry"]
        if shape is None:
            continue
        depth = {"Point": 0, "LineString": 1, "MultiLineString": 2}[shape["type"]]
        positions = [shape["coordinates"]]
        for _ in range(depth):
            assert all(len(part) >= 2 for part in positions) or depth == 2
            positions = [position for part in positions for position in part]
        for lon, lat in positions:
            assert -180 <= lon <= 180 and -90 <= lat <= 90
            assert max(len(repr(number).split(".")[-1]) for number in (lon, lat)) <= 7


def test_geojson_keeps_the_rules_and_gdal_and_shapely_read_it(copies):
    whole = json.loads(copies[".geojson"].read_text())
    _check_geojson(whole)
    assert whole["siteassess_copy"]["licence"] == "CC0-1.0"
    frame = pyogrio.read_dataframe(copies[".geojson"]).set_index("code")
    assert frame.crs.to_epsg() == 4326 and len(frame) == 4
    assert (frame.geometry["T1"].y, frame.geometry["T1"].x) == PLACES["T1"]
    assert frame.status["L1"] == "draft" and frame.span_m["L1"] == 57.0
    for feature in whole["features"]:
        assert shapely.from_geojson(json.dumps(feature["geometry"])).is_valid


# children of wpt and rte in the order of the GPX 1.1 schema (memory)
WPT = [
    "ele",
    "time",
    "magvar",
    "geoidheight",
    "name",
    "cmt",
    "desc",
    "src",
    "link",
    "sym",
    "type",
    "fix",
    "sat",
    "hdop",
    "vdop",
    "pdop",
    "ageofdgpsdata",
    "dgpsid",
    "extensions",
]
RTE = ["name", "cmt", "desc", "src", "link", "number", "type", "extensions", "rtept"]
METADATA = ["name", "desc", "author", "copyright", "link", "time", "keywords", "bounds", "extensions"]


def test_gpx_is_read_by_an_independent_parser_and_by_gdal(copies):
    parsed = gpxpy.parse(copies[".gpx"].read_text(), version="1.1")
    assert parsed.version == "1.1" and parsed.name == "Invented; group, with \\ marks"
    points = {point.name: point for point in parsed.waypoints}
    for code, (lat, lon) in PLACES.items():
        assert (points[code].latitude, points[code].longitude) == (lat, lon) and points[code].type == "anchor"
    (route,) = parsed.routes
    assert [(point.latitude, point.longitude) for point in route.points] == list(PLACES.values())
    layers = {name for name, _ in pyogrio.list_layers(copies[".gpx"])}
    assert {"waypoints", "routes"} <= layers
    frame = pyogrio.read_dataframe(copies[".gpx"], layer="waypoints").set_index("name")
    assert frame.geometry["T2"].y == PLACES["T2"][0]


def test_gpx_children_stand_in_the_order_of_the_schema(copies):
    root = ElementTree.parse(copies[".gpx"]).getroot()
    space = f"{{{GPX}}}"
    assert root.tag == f"{space}gpx" and root.attrib == {"version": "1.1", "creator": "siteassess"}
    assert [child.tag for child in root] == [space + name for name in ("metadata", "wpt", "wpt", "wpt", "rte")]
    for element in root:
        order = {"metadata": METADATA, "wpt": WPT, "rte": RTE}[element.tag.removeprefix(space)]
        places = [order.index(child.tag.removeprefix(space)) for child in element]
        assert places == sorted(places)
    for element in root.iter():
        assert element.tag.startswith((space, f"{{{OWN}}}"))


def test_kml_is_read_by_gdal(copies):
    frame = pyogrio.read_dataframe(copies[".kml"]).set_index("Name")
    assert len(frame) == 4
    assert (frame.geometry["T1"].y, frame.geometry["T1"].x) == PLACES["T1"]
    assert frame.geometry["L1"].geom_type == "LineString" and frame.geometry["L1"].coords[1] == tuple(
        reversed(PLACES["T2"])
    )
    assert ElementTree.parse(copies[".kml"]).getroot().tag == "{http://www.opengis.net/kml/2.2}kml"


def test_csv_and_its_metadata_fit_and_gdal_reads_it(copies):
    path = copies[".csv"]
    metadata = json.loads(path.with_name(f"{path.name}-metadata.json").read_text())
    assert metadata["@context"][0] == "http://www.w3.org/ns/csvw" and metadata["url"] == path.name
    assert metadata["dc:license"] == "CC0-1.0" and metadata["dc:valid"] == "2026-07-30"
    with path.open(newline="", encoding="utf-8") as source:
        rows = list(csv.DictReader(source))
    for column in metadata["tableSchema"]["columns"]:
        values = [row[column["name"]] for row in rows if row[column["name"]]]
        if column["datatype"] == "double":
            [float(value) for value in values]
    frame = pyogrio.read_dataframe(path).set_index("code")
    assert float(frame.lat_deg["T1"]) == PLACES["T1"][0] and set(frame.licence) == {"CC0-1.0"}


def test_the_calendar_is_read_by_an_independent_parser(store):
    items = due(store, TODAY, 90)
    assert len(items) == 3
    stamp = datetime.datetime(2026, 5, 1, 8, 30, tzinfo=datetime.UTC)
    text = calendar(items, stamp, "Due; at, Larchmere \\ Green")
    parsed = icalendar.Calendar.from_ical(text)
    assert parsed["VERSION"] == "2.0" and parsed["PRODID"]
    # the parser does not know RFC 7986 and leaves its NAME as a raw text
    assert str(parsed["NAME"]) == r"Due\; at\, Larchmere \\ Green"
    assert parsed.errors == []
    events = parsed.walk("VEVENT")
    assert len({str(event["UID"]) for event in events}) == 3
    for event, item in zip(events, items, strict=True):
        assert event.errors == []
        assert event.decoded("DTSTART") == datetime.date.fromisoformat(item.date)
        assert event.decoded("DTEND") - event.decoded("DTSTART") == datetime.timedelta(days=1)
        # a copy tells the day it was made, not the hour
        assert event.decoded("DTSTAMP") == stamp.replace(hour=0, minute=0)
        assert str(event["SUMMARY"]) == f"{item.site}: {item.kind} {item.label}: {item.says}"
        told = str(event.get("DESCRIPTION", ""))
        assert told.startswith(item.reason) and (item.may_rig_now or "") in told
    assert any("größere Äste; prüfen" in str(event.get("DESCRIPTION", "")) for event in events)


def test_gdal_may_read_while_a_change_is_open_and_sees_the_last_whole_state(store):
    """Why a rollback journal was chosen: readers of the one file need nothing beside it."""
    before = len(pyogrio.read_dataframe(store.path, layer="events", read_geometry=False))
    with store.change(dry_run=True) as writer:
        subject = store.db.execute("SELECT subject FROM anchors LIMIT 1").fetchone()[0]
        actions.log(
            writer, subject, {"what": "event", "date": "2026-05-01", "event": "pruning"}, actions.By("Ada", "x")
        )
        during = len(pyogrio.read_dataframe(store.path, layer="events", read_geometry=False))
    assert before == during == store.count()
    assert {path.name for path in store.path.parent.iterdir()} == {store.path.name}
