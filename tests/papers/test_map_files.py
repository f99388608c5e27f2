"""Map files as other programs open them: GDAL reads every format, the styles name every word, nothing is lost."""

from __future__ import annotations

import math
import sqlite3
from xml.etree import ElementTree

import geopandas
import pyogrio
import pytest
from click.testing import CliRunner
from shapely.geometry import shape

from siteassess.advice.verdict import VERDICTS
from siteassess.cli import group
from siteassess.errors import UnknownName
from siteassess.papers.exports import map_tables, to_geojson, write_map_file
from siteassess.places.map_styles import MARK_FORMS, gps_symbol
from siteassess.reference.locate import shipped
from siteassess.reference.look import NOT_JUDGED, look
from siteassess.register.answer import MAY, MAY_NOT

ENDINGS = (".gpkg", ".kml", ".gpx", ".geojson")
WORDS = {*VERDICTS, NOT_JUDGED}
KML = "{http://www.opengis.net/kml/2.2}"
GPX = "{http://www.topografix.com/GPX/1/1}"
# order of a waypoint's children in the schema of GPX 1.1 (memory)
WAYPOINT = ("ele", "time", "magvar", "geoidheight", "name", "cmt", "desc", "src", "link", "sym", "type", "extensions")


@pytest.fixture
def written(assessment, tmp_path):
    return {ending: write_map_file(assessment, tmp_path / f"park{ending}") for ending in ENDINGS}


def root_of(path):
    return ElementTree.fromstring(path.read_text(encoding="utf-8"))


def by_code(path, layer=None):
    return geopandas.read_file(path, layer=layer).set_index("code")


def test_a_geopackage_opens_with_days_as_days_and_numbers_as_numbers(assessment, written):
    told = {table.name: table for table in map_tables(assessment)}
    for name, kind in pyogrio.list_layers(written[".gpkg"]):
        if name == "layer_styles":
            continue
        frame, table = by_code(written[".gpkg"], name), told[name]
        assert kind.upper() == table.shape and frame.crs.to_epsg() == 4326
        info = pyogrio.read_info(written[".gpkg"], layer=name)
        kinds = dict(zip(info["fields"], info["dtypes"]))
        assert kinds["surveyed"] == "datetime64[D]"
        for places, fields in table.rows:
            row = frame.loc[fields["code"]]
            assert row["surveyed"].date() == assessment.record.survey.date
            assert (row.geometry is None) is (places is None)
            for key, value in fields.items():
                if isinstance(value, float):
                    assert row[key] == value and kinds[key] == "float64"
                elif isinstance(value, str) and key != "code":
                    assert row[key] == value


def test_root_zones_are_areas_as_large_as_they_are_said_to_be(written):
    zones = by_code(written[".gpkg"], "root_zones")
    metres = zones.to_crs(zones.estimate_utm_crs())
    assert len(zones) >= 3 and zones.geometry.is_valid.all()
    for area, radius in zip(metres.geometry.area, zones["radius_m"]):
        assert area == pytest.approx(math.pi * radius**2, rel=0.01)  # an outline of 64 corners; the grid's own scale


@pytest.mark.parametrize("ending", [".gpkg", ".kml", ".geojson"])
def test_every_format_holds_the_same_things_at_the_same_places(assessment, written, ending):
    layers = ("anchors", "lines", "root_zones")
    for table in map_tables(assessment):
        if ending == ".geojson":
            whole = geopandas.read_file(written[ending])
            kinds = {one["kind"] for _, one in table.rows}
            mine = whole[whole["kind"].isin(kinds)]
            found = dict(zip(mine["code"].fillna(mine["id"]), mine.geometry))
        else:
            frame = by_code(written[ending], table.name)
            found = dict(zip(frame.index, frame.geometry))
        assert table.name in layers and set(found) == {fields["code"] for _, fields in table.rows}
        for places, fields in table.rows:
            if places and table.shape != "POLYGON":
                flat = [pair[:2] for pair in found[fields["code"]].coords]
                assert flat == [pytest.approx(place, abs=1e-7) for place in places]


def test_every_word_has_its_look_in_a_geopackage_and_each_table_opens_with_it(written):
    with sqlite3.connect(written[".gpkg"]) as db:
        rows = db.execute("SELECT f_table_name, styleQML, useAsDefault FROM layer_styles").fetchall()
    assert {name for name, _, default in rows if default} == {"anchors", "lines", "root_zones"}
    for name, qml, _ in rows:
        drawn = ElementTree.fromstring(qml).find("renderer-v2")
        assert len(drawn.find("symbols")) == max(1, len(drawn.findall("categories/category")))
        if name == "root_zones":
            assert drawn.get("type") == "singleSymbol"
            continue
        assert drawn.get("attr") == "verdict"
        assert {one.get("value") for one in drawn.findall("categories/category")} == {*VERDICTS, ""}
        looks = {ElementTree.tostring(one).split(b">", 1)[1] for one in drawn.find("symbols")}
        assert len(looks) == len(WORDS)  # told apart by more than their names


def test_marks_are_told_apart_without_their_colours():
    shapes = [look().verdict(word).shape for word in WORDS]
    assert len({MARK_FORMS[one] for one in shapes}) == len(WORDS)


def test_kml_has_a_style_for_each_thing_and_gdal_reads_its_fields_and_days(assessment, written):
    document = root_of(written[".kml"])[0]
    styles = {f"#{one.get('id')}" for one in document.findall(f"{KML}Style")}
    used = {one.text for one in document.iter(f"{KML}styleUrl")}
    assert used and used <= styles and len(styles) == len(WORDS) + 1
    for mark in document.iter(f"{KML}Placemark"):
        tags = [part.tag.removeprefix(KML) for part in mark]
        assert tags[:5] == ["name", "description", "TimeStamp", "styleUrl", "ExtendedData"]
    frame = by_code(written[".kml"], "anchors")
    assert {"verdict", "species", "tag", "trunk_diameter_m"} <= set(frame)
    assert {day.date() for day in frame["timestamp"]} == {assessment.record.survey.date}
    # Okabe and Ito's blue 0072B2, written alpha, blue, green, red
    blue = next(one for one in document.findall(f"{KML}Style") if one.get("id") == "suits")
    assert blue.find(f"{KML}IconStyle/{KML}color").text == "ffb27200"


def test_gpx_has_symbols_and_days_where_its_schema_has_room_for_them(assessment, written):
    root = root_of(written[".gpx"])
    points = root.findall(f"{GPX}wpt")
    assert len(points) == sum(one.geometry is not None for one in by_code(written[".gpkg"], "anchors").itertuples())
    for point in points:
        tags = [part.tag.removeprefix(GPX) for part in point]
        assert sorted(tags, key=WAYPOINT.index) == tags and {"time", "sym", "name", "extensions"} <= set(tags)
        verdict = next(part.text for part in point.iter() if part.tag.endswith("}verdict"))
        assert point.find(f"{GPX}sym").text == gps_symbol(verdict)
    for route in root.findall(f"{GPX}rte"):
        assert not {part.tag.removeprefix(GPX) for part in route} & {"sym", "time"}
        assert not list(route.iter(f"{GPX}sym"))  # its points stand where the waypoints do
    assert {layer: len(pyogrio.read_dataframe(written[".gpx"], layer=layer)) for layer in ("waypoints", "routes")} == {
        "waypoints": len(points), "routes": len(assessment.lines)}  # fmt: skip


def test_every_word_has_a_receivers_symbol_of_its_own():
    assert len({gps_symbol(word) for word in WORDS}) == len(WORDS) and gps_symbol("root zone") is None
    assert gps_symbol(None) is None
    assert set(look().words_of("may_rig_now")) == {MAY, MAY_NOT}
    assert gps_symbol(MAY_NOT) == gps_symbol("leave it") != gps_symbol(MAY)


def test_conditions_stand_beside_the_word_they_belong_to_alone(assessment):
    told = [fields for table in map_tables(assessment)[:2] for _, fields in table.rows if "conditions" in fields]
    assert {fields["verdict"] for fields in told if fields["conditions"]} == {"suits if"}


def test_geojson_keeps_the_names_of_the_first_release(assessment):
    lines = [one["properties"] for one in to_geojson(assessment)["features"] if one["properties"]["kind"] == "line"]
    assert lines and all({"id", "name", "verdict", "a", "b", "taped_m"} <= set(one) for one in lines)
    zones = [one for one in to_geojson(assessment)["features"] if one["properties"]["kind"] == "root zone"]
    assert zones and all(shape(one["geometry"]).is_valid for one in zones)


@pytest.mark.parametrize("ending", ENDINGS)
def test_every_file_says_what_it_is_not(written, ending):
    assert b"not an inspection" in written[ending].read_bytes()


@pytest.mark.parametrize("ending", ENDINGS)
def test_hostile_texts_are_carried_and_break_nothing(hostile_assessment, tmp_path, ending):
    path = write_map_file(hostile_assessment, tmp_path / f"x{ending}")
    layer = {".gpkg": "lines", ".kml": "lines", ".gpx": "routes", ".geojson": None}[ending]
    assert len(geopandas.read_file(path, layer=layer))


def test_an_ending_that_names_no_format_is_refused(assessment, tmp_path):
    with pytest.raises(UnknownName, match=r"\.shp"):
        write_map_file(assessment, tmp_path / "x.shp")


def test_several_map_files_are_written_beside_the_map_and_none_over_the_record(tmp_path):
    run = CliRunner().invoke(group, ["demo", "--out", str(tmp_path)])
    assert run.exit_code == 0, run.output
    record = str(tmp_path / "park.yaml")
    asked = [part for ending in ENDINGS for part in ("--map-file", str(tmp_path / f"m{ending}"))]
    run = CliRunner().invoke(group, ["map", record, "--out", str(tmp_path / "m.html"), *asked])
    assert run.exit_code == 0, run.output
    assert all(b"A fall from a high line can kill." in (tmp_path / f"m{ending}").read_bytes() for ending in ENDINGS)
    assert CliRunner().invoke(group, ["map", record, "--map-file", str(tmp_path / "m.shp")]).exit_code == 2


@pytest.mark.parametrize("language", ["en", "de"])
def test_what_the_place_asks_and_does_not_get_stands_beside_the_word(tmp_path, language):
    """A line that suits may still be one that the land manager's rules refuse."""
    import siteassess as sa

    park = sa.read(shipped("examples") / "brindlewick" / "park.yaml")
    strict = sa.change(park, {"site.rules.clauses.span.value": 20})
    bare = sa.change(park, {"site.rules": None})
    for record, unmet in ((park, False), (strict, True), (bare, None)):
        answer = sa.assess(record, "L1")
        lines = by_code(answer.to_map_file(tmp_path / "park.gpkg", language), "lines")
        said = answer.to_map_file(tmp_path / "park.kml", language).read_text(encoding="utf-8")
        assert lines.loc["L1", "verdict"] == "suits"
        told = lines.loc["L1", "rules_not_met"]
        assert isinstance(told, str) is (unmet is not None) and bool(unmet and told) is bool(unmet)
        assert (("not met" if language == "en" else "nicht erf\u00fcllt") in said) is bool(unmet)
