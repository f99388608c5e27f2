"""Importing what lies around a site, and refusing files that are broken or not what they say."""

import json
import math

import geopandas
import pytest
from shapely import LineString, Point, Polygon

from siteassess.errors import FaultyInput
from siteassess.places.geodesy import LocalFrame
from siteassess.places.surroundings import read_surroundings
from siteassess.reference.findings import Worded

PATH = LineString([(8.0, 47.0), (8.001, 47.001)])
POND = Polygon([(8.0, 47.0), (8.0005, 47.0), (8.0005, 47.0005)])
TREE = Point(8.0002, 47.0003)
TAGS = [
    {"highway": "footway", "name": "Ring path", "natural": None},
    {"highway": None, "name": None, "natural": "water"},
    {"highway": None, "name": None, "natural": "tree"},
]


def frame():
    return geopandas.GeoDataFrame(TAGS, geometry=[PATH, POND, TREE], crs=4326)


def geojson(tmp_path, features, name="a.geojson", **more):
    file = tmp_path / name
    file.write_text(json.dumps({"type": "FeatureCollection", "features": features, **more}), encoding="utf-8")
    return file


def feature(geometry, **tags):
    return {"type": "Feature", "geometry": geometry, "properties": tags}


def kinds(imported):
    return sorted(f.kind for f in imported.features)


def test_geojson_with_its_credit(tmp_path):
    file = geojson(
        tmp_path,
        [feature(PATH.__geo_interface__, highway="path", informal="yes"), feature(TREE.__geo_interface__, bench="yes")],
        attribution="An invented survey", license="CC0-1.0",
    )  # fmt: skip
    found = read_surroundings(file)
    assert kinds(found) == ["worn track"]
    assert (found.read, found.without_kind, found.credit, found.licence) == (2, 1, "An invented survey", "CC0-1.0")
    assert dict(found.told.values)["whose"] == "An invented survey CC0-1.0"
    nobodys = dict(read_surroundings(geojson(tmp_path, [], name="b.geojson")).told.values)["whose"]
    assert nobodys.said.code == "map-owner-not-stated"


def test_geopackage_in_another_coordinate_system(tmp_path):
    file = tmp_path / "park.gpkg"
    frame().to_crs(32632).to_file(file, layer="all", driver="GPKG")
    found = read_surroundings(file, credit="City", licence="CC BY 4.0")
    assert kinds(found) == ["path", "tree", "water"]
    path = next(f for f in found.features if f.kind == "path")
    assert path.name == "Ring path" and path.source == "park.gpkg"
    assert path.geometry.coords[0] == pytest.approx((8.0, 47.0), abs=1e-8)
    with pytest.raises(FaultyInput) as refused:
        read_surroundings(file, layer="none")
    assert dict(refused.value.faults[0].wanted.said.values) == {"choices": ("all",)}


def test_kml(tmp_path):
    file = tmp_path / "park.kml"
    ring = geopandas.GeoDataFrame({"Name": ["Ring"], "highway": ["footway"]}, geometry=[PATH], crs=4326)
    ring.to_file(file, driver="KML")
    found = read_surroundings(file)
    assert kinds(found) == ["path"] and found.features[0].name == "Ring"
    assert kinds(read_surroundings(file, kind="worn track")) == ["path"]  # a telling tag goes before the default


def test_gpx_tracks_and_waypoints(tmp_path):
    file = tmp_path / "walk.gpx"
    file.write_text(
        '<?xml version="1.0"?><gpx version="1.1" creator="x" xmlns="http://www.topografix.com/GPX/1/1">'
        '<wpt lat="47.0" lon="8.0"><name>North gate</name><type>gate</type></wpt>'
        '<wpt lat="47.0" lon="8.1"><name>Bench</name></wpt>'
        '<trk><name>Mud track</name><trkseg><trkpt lat="47.0" lon="8.0"/><trkpt lat="47.001" lon="8.0"/></trkseg></trk>'
        "</gpx>"
    )
    assert kinds(read_surroundings(file)) == ["gate"]
    assert kinds(read_surroundings(file, kind="worn track")) == ["gate", "worn track", "worn track"]


def test_openstreetmap_extract(tmp_path):
    file = tmp_path / "cut.osm"
    file.write_text(
        '<?xml version="1.0"?><osm version="0.6">'
        '<node id="1" lat="47.0" lon="8.0" version="1"/><node id="2" lat="47.001" lon="8.0" version="1"/>'
        '<node id="3" lat="47.0005" lon="8.0" version="1"><tag k="natural" v="tree"/><tag k="circumference" v="2.3"/>'
        '</node><way id="9" version="1"><nd ref="1"/><nd ref="2"/><tag k="highway" v="path"/>'
        '<tag k="informal" v="yes"/></way></osm>'
    )
    found = read_surroundings(file)
    assert kinds(found) == ["tree", "worn track"]
    assert found.credit == "© OpenStreetMap contributors" and found.licence == "ODbL 1.0"
    tree = next(f for f in found.features if f.kind == "tree")
    assert tree.attributes["circumference"] == "2.3"  # as published, nothing converted


def test_broken_features_are_set_aside_and_counted(tmp_path):
    file = geojson(
        tmp_path,
        [
            feature(None, highway="path"),
            feature({"type": "LineString", "coordinates": [[8.0, 47.0]]}, highway="path"),
            feature({"type": "Point", "coordinates": ["a", "b"]}, natural="tree"),
            feature({"type": "Nonsense"}, natural="tree"),
            "not even a feature",
            feature(TREE.__geo_interface__, natural="tree"),
        ],
    )
    found = read_surroundings(file)
    assert kinds(found) == ["tree"] and found.read == 6
    assert sum(item.count for item in found.set_aside) == 5
    assert {item.reason.said.code for item in found.set_aside} == {"map-no-geometry"}


def test_a_file_of_broken_features_alone_is_read_and_counted_too(tmp_path):
    shapes = [None, {"type": "Point", "coordinates": [math.inf, 47]}, {"type": "Point", "coordinates": [10**400, 47]}]
    found = read_surroundings(geojson(tmp_path, [feature(shape, natural="tree") for shape in shapes]))
    assert (found.read, sum(item.count for item in found.set_aside), found.features) == (3, 3, ())


def test_a_column_of_any_name_is_an_attribute(tmp_path):
    # a table of this one column was taken for one of ours
    file = tmp_path / "park.gpkg"
    geopandas.GeoDataFrame({"tags": ["old oak"]}, geometry=[TREE], crs=4326).to_file(file, layer='x"; --\n{{ 7 }}')
    (found,) = read_surroundings(file, kind="tree").features
    assert found.attributes == {"tags": "old oak"}


def test_a_self_crossing_pond_is_mended_when_drawn(tmp_path):
    bow = {"type": "Polygon", "coordinates": [[[8, 47], [8.001, 47.001], [8.001, 47], [8, 47.001], [8, 47]]]}
    (pond,) = read_surroundings(geojson(tmp_path, [feature(bow, natural="water")])).features
    assert not pond.geometry.is_valid
    assert pond.in_metres(LocalFrame(47.0, 8.0)).is_valid


CUT = "read-file-unopened|read-file-unread"
HOSTILE = {
    "missing.geojson": (None, "want-readable-file"),
    "empty.geojson": (b"", "read-bytes"),
    "words.txt": (b"hello", "want-one-of"),
    "cut.geojson": (b'{"type": "FeatureCollection",\n "features": [', "read-broken-json"),
    "list.geojson": (b"[1, 2]", "read-other-under-name"),
    "other.geojson": (b'{"type": "Topology"}', "want-collection"),
    "pipeline.geojson": (b'{"type": "gdal_streamed_alg", "command_line": "gdal vector info x"}', "want-collection"),
    "latin.geojson": ('{"type": "FeatureCollection", "features": [], "a": "é"}'.encode("latin-1"), "read-no-utf-8"),
    "deep.geojson": (b'{"type":' + b"[" * 200_000, "read-endless-json|read-broken-json"),
    "metres.geojson": (
        b'{"type":"FeatureCollection","features":[{"type":"Feature","properties":{"natural":"tree"},'
        b'"geometry":{"type":"Point","coordinates":[587297,4515172]}}]}',
        "want-file-with-crs",
    ),
    "system.geojson": (
        b'{"type":"FeatureCollection","features":[],"crs":{"properties":{"name":"moon"}}}',
        "want-named-crs",
    ),
    "local.geojson": (
        b'{"type":"FeatureCollection","features":[{"type":"Feature","properties":{},"geometry":{"type":"Point",'
        b'"coordinates":[8,47]}}],"crs":{"properties":{"name":"LOCAL_CS[\\"hall\\",UNIT[\\"m\\",1]]"}}}',
        "want-crs-of-earth",
    ),
    "digits.geojson": (b'{"type":"FeatureCollection","features":[],"a":' + b"1" * 5000 + b"}", "read-long-number"),
    "other.gpkg": (b"SQLite format 3\x00" + b"\x00" * 200, "read-other-under-name"),
    "cut.gpkg": (b"SQLite format 3\x00" + b"\x00" * 52 + b"GPKG" + b"\x00" * 100, CUT),
    "pointer.kml": (b"<OGRVRTDataSource><!-- <kml --></OGRVRTDataSource>", "read-other-under-name"),
    "inside.kml": (b"<kml><OGRVRTDataSource/></kml>", "read-pointers"),
    "bomb.gpx": (b'<?xml version="1.0"?><!DOCTYPE gpx [<!ENTITY a "aaaa">]><gpx>&a;</gpx>', "read-other-under-name"),
    "late.gpx": (b"<gpx>" + b" " * 3_000_000 + b"<!DOCTYPE x></gpx>", "read-pointers"),
    "cut.gpx": (b'<gpx version="1.1"><wpt lat="47" lon="8"><name>x</na', CUT),
    "text.pbf": (b"hello hello", "read-other-under-name"),
}  # fmt: skip


@pytest.mark.parametrize("name", HOSTILE)
def test_hostile_and_odd_files_give_a_fault(tmp_path, name):
    content, reasons = HOSTILE[name]
    file = tmp_path / name
    if content is not None:
        file.write_bytes(content)
    with pytest.raises(FaultyInput) as refused:
        read_surroundings(file)
    (fault,) = refused.value.faults
    told = {text.said.code for text in (fault.read, fault.wanted) if isinstance(text, Worded)}
    assert name == refused.value.source and told & {*reasons.split("|")}


def test_an_unknown_kind_is_refused(tmp_path):
    with pytest.raises(FaultyInput) as refused:
        read_surroundings(geojson(tmp_path, []), kind="trail")
    assert "worn track" in dict(refused.value.faults[0].wanted.said.values)["choices"]
