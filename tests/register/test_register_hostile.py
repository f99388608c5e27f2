"""Hostile and broken input: refused with a reason, nothing kept, nothing written outside, no traceback."""

from __future__ import annotations

import contextlib
import io
import json
import sqlite3
import struct
import tracemalloc
import zlib

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from siteassess.errors import FaultyInput, SiteassessError
from siteassess.places.exchange_csv import cell as cell_of
from siteassess.places.exchange_csv import read_cell
from siteassess.register import csvw, map_files
from siteassess.register.events import canonical, read
from siteassess.register.guard import read_bytes, refuse_hostile
from siteassess.register.photos import stripped
from siteassess.register.share import make_copy

BILLION = """<?xml version="1.0"?><!DOCTYPE lolz [<!ENTITY a "x"><!ENTITY b "&a;&a;&a;&a;&a;&a;&a;&a;&a;&a;">]>
<gpx><wpt lat="1" lon="1"><name>&b;</name></wpt></gpx>"""


OUTSIDE = """<?xml version="1.0"?><!DOCTYPE x [<!ENTITY e SYSTEM "file:///etc/hostname">]>
<kml><Placemark><name>&e;</name><Point><coordinates>1,1</coordinates></Point></Placemark></kml>"""


@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig"])
def test_xml_entities_are_refused(refused, encoding):
    refused("x.gpx", BILLION.encode(encoding), "document type")
    refused("x.kml", OUTSIDE.encode(encoding), "document type")


@pytest.mark.parametrize("encoding", ["utf-16", "utf-16-be", "utf-32", "utf-7"])
def test_entities_cannot_hide_in_another_character_set(refused, encoding):
    text = BILLION.replace("?>", f' encoding="{encoding}"?>', 1)
    refused("x.gpx", text.encode(encoding), "")


def test_xml_nested_to_the_bottom_is_refused(refused):
    refused("x.gpx", "<gpx>" + "<a>" * 100_000 + "</a>" * 100_000 + "</gpx>", "nested too deep")
    refused("x.kml", "<kml><unclosed>", "well-formed")
    for place in ("8", "8,", "8 50", ",50"):
        point = f"<Placemark><Point><coordinates>{place}</coordinates></Point></Placemark>"
        refused("x.kml", f"<kml>{point}</kml>", "longitude,latitude")


@pytest.mark.parametrize("text", ["<svg/onload=alert(1)>", "<b>", "</table>", "a\u202etxt", "<!--", "<?php"])
def test_markup_in_texts_is_refused_in_every_format(refused, text):
    shape = {"type": "Point", "coordinates": [8, 50]}
    refused("x.geojson", json.dumps({"type": "Feature", "properties": {"name": text}, "geometry": shape}), "name: read")
    escaped = text.replace("&", "&amp;").replace("<", "&lt;")
    refused("x.gpx", f'<gpx><wpt lat="50" lon="8"><name>{escaped}</name></wpt></gpx>', "name: read")
    refused("x.csv", f'name,lat,lon\n"{text}",50,8\n', "name: read")


@pytest.mark.parametrize(
    "cell", ["=1+1", "+cmd|' /C calc'!A0", "-2+3", "@SUM(1)", "\t=1", " =1", "|x", "=HYPERLINK(1)", "＝1+1", "＋1+1",
             "－1+1", "＠SUM(1)", "\tx", "\rx"]
)
def test_spreadsheet_formulas_are_refused_and_never_written(refused, group, cell):
    quoted = '"' + cell.replace('"', '""') + '"'
    refused("x.csv", f"name,lat,lon\n{quoted},50,8\n", "formula")
    group.mark(group["line L1"], "group", conditions=cell.strip() or "x")
    copied = make_copy(group.store, "officer", group.today)
    rows = csvw.write(copied)
    back = csvw.read(rows, "x")
    assert cell.strip() in {feature.conditions for feature in back.features}
    import csv

    for text in (cell, f"'{cell}", f" {cell}", f"x{cell}"):
        assert read_cell(cell_of(text), "conditions", "x", 1) == text
    for value in (value.lstrip(" ") for row in csv.reader(io.StringIO(rows)) for value in row):
        assert value[:1] not in (*"=+@|\t\r＝＋－＠",)
        assert value[:1] != "-" or value[1:2] in "0123456789"


@pytest.mark.parametrize(
    ("text", "reason"),
    [
        ("[" * 200_000, "GeoJSON"),
        ('{"type":"FeatureCollection","features":[1]}', "features"),
        ('{"type":"FeatureCollection","crs":{"type":"name"},"features":[]}', "crs"),
        ('{"type":"Feature","properties":{},"geometry":{"type":"Point","coordinates":[200,50]}}', "coordinates"),
        ('{"type":"Feature","properties":{},"geometry":{"type":"Point","coordinates":["8","50"]}}', "numbers"),
        ('{"type":"Feature","properties":{},"geometry":{"type":"Point","coordinates":[NaN,50]}}', "numbers"),
        ('{"type":"Feature","properties":{},"geometry":{"type":"Point","coordinates":[1e999,50]}}', "coordinates"),
        (f'{{"type":"Feature","geometry":{{"type":"Point","coordinates":[{"9" * 400},50]}}}}', "numbers"),
        ('{"type":"FeatureCollection","siteassess_copy":{},"features":[{"properties":{}}]}', "record"),
    ],
)
def test_broken_geojson_is_refused(refused, text, reason):
    refused("x.geojson", text, reason)


def test_a_file_too_large_is_refused_before_it_is_read(tmp_path):
    path = tmp_path / "big.yaml"
    with path.open("wb") as out:
        out.seek(100 * 1024 * 1024)
        out.write(b"x")
    tracemalloc.start()
    with pytest.raises(FaultyInput, match="105 MB"):
        read_bytes(path, 4_000_000)
    assert tracemalloc.get_traced_memory()[1] < 1_000_000
    tracemalloc.stop()


def test_100_mb_of_yaml_are_refused_by_the_add_command(group, tmp_path):
    from click.testing import CliRunner

    from siteassess.cli.register import register

    path = tmp_path / "big.yaml"
    path.write_bytes(b"- " * 50_000_000)
    result = CliRunner().invoke(register, ["add", str(group.store.path), str(path), "--who", "Ada", "--why", "x"])
    assert isinstance(result.exception, SiteassessError), result.exception


@pytest.mark.parametrize(
    "data",
    [
        b"",
        b"GIF89a" + b"x" * 50,
        b"<svg xmlns='http://www.w3.org/2000/svg' onload='alert(1)'/>",
        b"\xff\xd8\xff\xd9",
        b"\xff\xd8\xff" + b"\xe0\xff\xff" * 30,
        b"\x89PNG\r\n\x1a\n" + b"\0" * 40,
        b"MZ" + b"\0" * 100,
        b"%PDF-1.7",
    ],
)
def test_photos_that_are_no_photos_are_refused(data):
    with pytest.raises(FaultyInput, match="photo"):
        stripped(data)


def test_a_picture_too_large_to_draw_is_refused():
    def chunk(kind, body):
        return struct.pack(">I", len(body)) + kind + body + struct.pack(">I", zlib.crc32(kind + body))

    head = struct.pack(">IIBBBBB", 50_000, 50_000, 8, 2, 0, 0, 0)
    rows = zlib.compress(b"\0" * 1000)
    with pytest.raises(FaultyInput, match="million|drawn"):
        stripped(b"\x89PNG\r\n\x1a\n" + chunk(b"IHDR", head) + chunk(b"IDAT", rows) + chunk(b"IEND", b""))


@settings(max_examples=80, deadline=None)
@given(st.data())
def test_a_cut_or_bent_photo_is_a_photo_or_refused(data):
    from PIL import Image

    out = io.BytesIO()
    dots = bytes((x * 37 + x * x * 11) % 256 for x in range(1200))
    Image.frombytes("L", (40, 30), dots).save(out, data.draw(st.sampled_from(("JPEG", "PNG"))))
    raw = bytearray(out.getvalue())
    for _ in range(data.draw(st.integers(1, 4))):
        raw[data.draw(st.integers(0, len(raw) - 1))] = data.draw(st.integers(0, 255))
    raw = raw[: data.draw(st.integers(0, len(raw)))] if data.draw(st.booleans()) else raw
    try:
        photo = stripped(bytes(raw))
    except FaultyInput:
        return
    assert stripped(photo.data).data == photo.data


@pytest.mark.parametrize(
    "statement",
    [
        "CREATE VIEW sites AS SELECT 1",
        "CREATE TABLE gpkg_geometry_columns (x)",
        "SELECT 1",
        "CREATE TABLE gpkg_geometry_columns AS SELECT 'nothing' table_name, 'geom' column_name, 4326 srs_id",
        "CREATE TABLE t AS SELECT x'00' geom; ",
    ],
)
def test_a_database_that_is_no_geopackage_is_refused(refused, tmp_path, statement):
    path = tmp_path / "made.gpkg"
    db = sqlite3.connect(path)
    db.execute("PRAGMA user_version = 10400")
    db.executescript(statement)
    db.close()
    data = path.read_bytes()
    path.unlink()
    refused("x.gpkg", data, "GeoPackage")


def test_a_geopackage_with_a_broken_geometry_or_another_reference_system_is_refused(group, refused, tmp_path):
    copied = make_copy(group.store, "members", group.today)
    for number, (statement, reason) in enumerate(
        (
            ("UPDATE anchors SET geom = x'4750'", "point or line"),
            ("UPDATE anchors SET status = 'great'", "status"),
            ("UPDATE anchors SET record = '{'", "JSON"),
            ("UPDATE anchors SET id = 'x'", "64 characters"),
        )
    ):
        path = tmp_path / f"made{number}.gpkg"
        path.write_bytes(map_files.write_package(copied))
        db = sqlite3.connect(path)
        db.execute(statement)
        db.commit()
        db.close()
        data = path.read_bytes()
        path.unlink()
        refused(f"x{number}.gpkg", data, reason)


@pytest.mark.parametrize("ending", [".json", ".txt", ".exe", ""])
def test_endings_nobody_knows_are_refused(refused, ending):
    refused(f"x{ending}", "hello", "GeoJSON" if ending == ".json" else "ending")


@pytest.mark.parametrize(
    "value",
    [{"a": float("nan")}, {"a": float("inf")}, {1: "x"}, {"a": b"x"}, {"a": "x" * 30_000}, {"<b>": 1}, {"a": "\ud800"}],
)
def test_shapes_that_have_no_place_in_a_record_are_refused(value):
    with pytest.raises(FaultyInput):
        refuse_hostile(value, "x")


def test_a_deep_shape_is_refused_without_a_stumble():
    value = []
    for _ in range(50_000):
        value = [value]
    with pytest.raises(FaultyInput, match="deep"):
        refuse_hostile(value, "x")


@settings(max_examples=100, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(st.data())
def test_no_event_text_bent_in_one_place_is_taken_for_the_same(group, data):
    name, content = next(iter(group.store.iterate()))
    at = data.draw(st.integers(0, len(content) - 1))
    letter = data.draw(st.characters(codec="utf-8", exclude_categories=("Cs",)))
    bent = content[:at] + letter + content[at + 1 :]
    try:
        event = read(bent)
    except FaultyInput:
        return
    assert (event.name == name) == (bent == content) and canonical(json.loads(bent)) == bent


@settings(max_examples=150, deadline=None)
@given(
    st.sampled_from(
        (
            lambda d, s: map_files.from_xml(d, s, "GPX"),
            lambda d, s: map_files.from_xml(d, s, "KML"),
            lambda d, s: map_files.from_geojson(d.decode("latin-1"), s),
            lambda d, s: csvw.read(d.decode("latin-1"), s),
        )
    ),
    st.binary(max_size=200),
)
def test_no_bytes_make_a_reader_stumble(reader, data):
    with contextlib.suppress(FaultyInput):
        reader(data, "x")


JSON_LIKE = st.recursive(
    st.none()
    | st.booleans()
    | st.integers()
    | st.floats()
    | st.text(max_size=12)
    | st.sampled_from(
        ["<b>", "a < b", "<3", "\x08", "\x0c", "\r", "\u202e", "JavaScript:", "&#60;", "Infinity", "\\b", '"[{']
    ),
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.text(max_size=4), inner, max_size=3),
    max_leaves=8,
)


@settings(max_examples=400, deadline=None)
@given(JSON_LIKE, st.integers(0, 40))
def test_the_quick_look_never_passes_what_the_close_look_refuses(value, depth):
    from siteassess.register.guard import plainly_harmless

    for _ in range(depth):
        value = [value]
    try:
        content = canonical(value)
    except ValueError:
        return
    if plainly_harmless(content):
        refuse_hostile(json.loads(content), "x")
