"""Every format gives back what was written; what comes in starts as a draft, and a withdrawal travels."""

from __future__ import annotations

import contextlib
import copy
import csv
import datetime
import io
import json
import re
import sqlite3
from dataclasses import replace

import pyogrio
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from siteassess.errors import FaultyInput, StoreError
from siteassess.papers.copy_page import copy_page
from siteassess.places.geopackage import blob_points, geometry_blob
from siteassess.places.map_styles import gps_symbol
from siteassess.reference.look import NOT_JUDGED
from siteassess.register import actions, csvw, map_files
from siteassess.register.answer import MAY, MAY_NOT
from siteassess.register.files import bring_in, merge_file, read_features, write_copy
from siteassess.register.share import Copy, Shared, make_copy
from siteassess.register.verify import verify

READ_BACK = (".geojson", ".gpx", ".kml", ".csv", ".gpkg")


def _same(one: Shared, other: Shared):
    assert (one.kind, one.id, one.site_id, one.code, one.status, one.exact, one.anchors) == (
        other.kind,
        other.id,
        other.site_id,
        other.code,
        other.status,
        other.exact,
        other.anchors,
    )
    assert (one.valid_until, one.status_until, one.conditions) == (
        other.valid_until,
        other.status_until,
        other.conditions,
    )
    assert one.record == other.record
    if one.points is None:
        assert other.points is None
    else:
        for a, b in zip(one.points, other.points, strict=True):
            assert a == pytest.approx(b, abs=6e-8)


@pytest.mark.parametrize("ending", READ_BACK)
@pytest.mark.parametrize("layer", ["public", "members", "officer"])
def test_what_was_written_is_read_back(group, tmp_path, ending, layer):
    group.activate()
    group.mark(group["site"], "owner", conditions='two people at most; "dry" ground, please')
    copied = make_copy(group.store, layer, group.today)
    out = tmp_path / f"copy{ending}"
    write_copy(group.store, copied, out)
    back = read_features(out)
    assert not back.foreign and back.facts["licence"] == "group only"
    assert len(back.features) == len(copied.features) == (1 if layer == "public" else 6)
    # GPX lists routes after points
    ours = {feature.id: feature for feature in copied.features}
    for feature in back.features:
        _same(feature, ours[feature.id])


TEXTS = st.text(
    st.characters(codec="utf-8", exclude_categories=("Cs", "Cc", "Cf", "Zl", "Zp", "Cn", "Co")), min_size=1, max_size=30
).filter(lambda text: "<" not in text and "&#" not in text and "javascript" not in text.lower() and text.strip())


@settings(max_examples=60, deadline=None)
@given(name=TEXTS, conditions=TEXTS, notes=TEXTS, lat=st.floats(-89, 89), lon=st.floats(-180, 180))
def test_any_text_goes_through_every_text_format_unharmed(name, conditions, notes, lat, lon):
    record = {"kind": "tree", "code": "T1", "name": name, "notes": notes}
    feature = Shared("anchor", "a" * 64, "b" * 64, name, "T1", "active", record, [(lon, lat)], conditions=conditions)
    whole = Copy("title", "officer", "licence", "2026-05-01", "2026-08-01", ("c" * 64,), [feature])
    for back in (
        map_files.from_geojson(map_files.geojson(whole), "x"),
        csvw.read(csvw.write(whole), "x"),
        map_files.from_xml(map_files.gpx(whole).encode(), "x", "GPX"),
        map_files.from_xml(map_files.kml(whole).encode(), "x", "KML"),
    ):
        _same(back.features[0], feature)
    for row in csv.DictReader(io.StringIO(csvw.write(whole), newline="")):
        for text in (row["site_name"], row["conditions"]):
            # a plain number is no formula
            plain = re.fullmatch(r"[+-]\d+(\.\d+)?(e[+-]?\d+)?", text, re.IGNORECASE)
            assert plain or not text.startswith(("=", "+", "-", "@", "\t"))


@given(st.lists(st.tuples(st.floats(-180, 180), st.floats(-90, 90)), min_size=1, max_size=4))
def test_geometry_blobs_read_back(points):
    assert blob_points(geometry_blob(points[:1], "POINT")) == points[:1]
    if len(points) > 1:
        assert blob_points(geometry_blob(points, "LINESTRING")) == points


@given(st.binary(max_size=60))
def test_no_bytes_make_the_geometry_reader_stumble(data):
    for blob in (data, b"GP\x00\x01\xe6\x10\x00\x00" + data):
        with contextlib.suppress(ValueError):
            blob_points(blob)


@pytest.mark.parametrize("ending", [*READ_BACK, ".zip"])
def test_a_members_copy_comes_into_another_register_as_drafts(new_group, tmp_path, picture, ending):
    a, b = new_group("a"), new_group("b", None)
    a.activate()
    a.do(actions.add_photo, a["anchor T01"], picture(), share="members", no_people=True)
    out = tmp_path / f"copy{ending}"
    write_copy(a.store, make_copy(a.store, "members", a.today), out)
    report = bring_in(b.store, out, b.by(), b.today)
    assert sorted(report["added"].values()) == ["L1", "L2", "Larchmere Green", "T01", "T02", "T03"]
    assert {r[0] for r in b.store.db.execute("SELECT status_when_written FROM lines")} == {"draft"}
    (line,) = [name for name, code in report["added"].items() if code == "L1"]
    assert b.store.subject(line).record == a.store.subject(a["line L1"]).record
    assert report["photos_added"] == (1 if ending == ".zip" else 0)
    assert verify(b.store) == []
    # the same file again: all of it is known
    again = bring_in(b.store, out, b.by(), b.today)
    assert not again["added"] and len(again["known"]) == 6


def test_a_copy_looks_by_whether_a_place_may_be_rigged_now_and_its_days_are_days(new_group, tmp_path):
    group = new_group("a")
    group.activate()
    copied = make_copy(group.store, "members", group.today)
    for ending in (".gpkg", ".kml", ".gpx"):
        write_copy(group.store, copied, tmp_path / f"copy{ending}")
    with sqlite3.connect(tmp_path / "copy.gpkg") as db:
        looks = dict(db.execute("SELECT f_table_name, styleQML FROM layer_styles WHERE useAsDefault"))
    assert set(looks) == {"sites", "anchors", "lines"}
    assert all(f'value="{word}"' in looks["lines"] for word in (MAY, MAY_NOT))
    assert {one.may_rig_now for one in copied.features if one.kind == "line"} == {MAY, MAY_NOT}
    info = pyogrio.read_info(tmp_path / "copy.gpkg", layer="lines")
    assert dict(zip(info["fields"], info["dtypes"]))["copy_valid_until"] == "datetime64[D]"
    kml, gpx = ((tmp_path / f"copy{ending}").read_text("utf-8") for ending in (".kml", ".gpx"))
    # a tree or park alone is never rigged, and looks neither way
    assert set(re.findall("<styleUrl>(.*?)</styleUrl>", kml)) == {"#not-judged", "#yes-with-conditions", "#no"}
    assert set(re.findall("<sym>(.*?)</sym>", gpx)) == {gps_symbol(NOT_JUDGED), gps_symbol(MAY_NOT)}  # one is a draft


def test_a_tree_that_was_withdrawn_looks_as_what_may_not_be_rigged(new_group):
    group = new_group("a")
    group.activate()
    group.move(group["anchor T01"], "withdrawn")
    copied = make_copy(group.store, "members", group.today)
    assert gps_symbol(MAY_NOT) in re.findall("<sym>(.*?)</sym>", map_files.gpx(copied))
    assert "#no</styleUrl>" in map_files.kml(copied)


@pytest.mark.parametrize("ending", [*READ_BACK, ".zip"])
def test_a_withdrawal_travels_in_every_format_and_beats_what_is_listed(new_group, tmp_path, ending):
    a, b = new_group("a"), new_group("b", None)
    a.activate()
    write_copy(a.store, make_copy(a.store, "members", a.today), tmp_path / f"old{ending}")
    bring_in(b.store, tmp_path / f"old{ending}", b.by(), b.today)
    a.move(a["line L1"], "withdrawn")
    write_copy(a.store, make_copy(a.store, "members", a.today), tmp_path / f"new{ending}")
    report = bring_in(b.store, tmp_path / f"new{ending}", b.by(), b.today)
    (name,) = report["withdrawn"]
    assert b.store.standing(name, b.today).status == "withdrawn"
    # the older copy does not bring it back
    bring_in(b.store, tmp_path / f"old{ending}", b.by(), b.today)
    assert b.store.standing(name, b.today).status == "withdrawn"


@pytest.mark.parametrize("things", [("line L1",), ("line L1", "site")])
def test_the_last_open_line_withdrawn_shows_in_the_public_copy(group, things):
    """Also of a park that somebody moved by itself: its own word says nothing of the lines in it."""
    for thing in things:
        group.activate(thing)
    (site,) = make_copy(group.store, "public", group.today).features
    assert site.status == "active" and site.is_open
    group.move(group["line L1"], "withdrawn")
    for layer in ("public", "members", "officer"):
        copied = make_copy(group.store, layer, group.today)
        assert not [feature.code for feature in copied.features if feature.is_open]
    (site,) = make_copy(group.store, "public", group.today).features
    assert site.status == "withdrawn"


def test_a_withdrawal_in_a_copy_of_our_own_register_is_taken(group, tmp_path):
    group.activate()
    copied = make_copy(group.store, "members", group.today)
    for feature in copied.features:
        if feature.code == "L1":
            feature.status = "withdrawn"
    write_copy(group.store, copied, tmp_path / "x.geojson")
    bring_in(group.store, tmp_path / "x.geojson", group.by(), group.today)
    assert group.status("line L1") == "withdrawn"


def test_a_photo_gone_from_the_file_is_no_photo_of_a_bundle(group, tmp_path, picture):
    group.do(actions.add_photo, group["anchor T01"], picture())
    group.store.db.execute("DELETE FROM photos")
    copy = make_copy(group.store, "officer", group.today, sites=[group["site"]])
    with pytest.raises(StoreError, match="not the picture that was kept"):
        write_copy(group.store, copy, tmp_path / "c.zip")


def test_an_officers_bundle_brings_the_whole_history(new_group, tmp_path, picture):
    a, b = new_group("a"), new_group("b", None)
    a.activate()
    a.do(actions.add_photo, a["anchor T01"], picture())
    out = tmp_path / "whole.zip"
    write_copy(a.store, make_copy(a.store, "officer", a.today), out)
    report = bring_in(b.store, out, b.by(), b.today)
    assert report == {"changes_added": a.store.count(), "changes_known": 0, "photos_added": 1}
    assert {e.name for e in b.store.events()} > {e.name for e in a.store.events()}
    assert b.store.standing(a["line L1"], a.today).status == "active"
    assert verify(b.store, a.store.heads()) == []


def test_a_part_of_the_register_brings_no_history_of_the_rest(new_group, tmp_path, park):
    a = new_group("a")
    other = copy.deepcopy(park)
    other["site"]["name"] = "SECRETPARK"
    a.do(actions.add_record, other)
    out = tmp_path / "part.zip"
    write_copy(a.store, make_copy(a.store, "officer", a.today, sites=[a["site"]]), out)
    import zipfile

    with zipfile.ZipFile(out) as archive:
        assert "events.jsonl" not in archive.namelist()
        assert not any(b"SECRETPARK" in archive.read(name) for name in archive.namelist())
    with pytest.raises(StoreError, match="no history"), a.store.change() as writer:
        merge_file(a.store, writer, out)


def test_a_register_is_read_and_not_touched_by_a_merge(new_group):
    a, b = new_group("a"), new_group("b")
    b.store.close()
    content = b.store.path.read_bytes()
    with a.store.change() as writer:
        merge_file(a.store, writer, b.store.path)
    assert b.store.path.read_bytes() == content
    with pytest.raises(StoreError, match="itself"), a.store.change() as writer:
        merge_file(a.store, writer, a.store.path)


@pytest.mark.parametrize(
    ("name", "text"),
    [
        (
            "p.geojson",
            json.dumps(
                {
                    "type": "FeatureCollection",
                    "features": [
                        {
                            "type": "Feature",
                            "properties": {"name": "Big oak"},
                            "geometry": {"type": "Point", "coordinates": [8.1, 50.1, 210]},
                        },
                        {"type": "Feature", "properties": None, "geometry": {"type": "Polygon", "coordinates": []}},
                    ],
                }
            ),
        ),
        ("p.gpx", '<gpx version="1.0"><wpt lat="50.1" lon="8.1"><name>Big oak</name></wpt><trk/></gpx>'),
        (
            "p.kml",
            '<kml xmlns="http://www.opengis.net/kml/2.2"><Folder><Placemark><name>Big oak</name><Point>'
            "<coordinates>8.1,50.1,0</coordinates></Point></Placemark></Folder></kml>",
        ),
        ("p.csv", "name,Latitude,Longitude\nBig oak,50.1,8.1\n"),
    ],
)
def test_points_of_other_programs_come_in_as_something_nobody_has_looked_at(group, tmp_path, name, text):
    (tmp_path / name).write_text(text)
    report = bring_in(group.store, tmp_path / name, group.by(), group.today, site=group["site"])
    (subject,) = report["added"]
    record = group.store.subject(subject).record
    assert record["kind"] == "other" and record["what"] == "Big oak" and record["code"] == "Big-oak"
    assert (record["position"]["fixes"][0]["lat"], record["position"]["fixes"][0]["lon"]) == (50.1, 8.1)
    assert group.store.standing(subject, group.today).status == "draft"
    tree = bring_in(group.store, tmp_path / name, group.by(), group.today, site=None, kind="tree")
    assert len(tree["added"]) == 2


def test_a_dry_run_of_an_import_keeps_nothing(new_group, tmp_path):
    a, b = new_group("a"), new_group("b", None)
    for name in ("x.geojson", "x.zip"):
        write_copy(a.store, make_copy(a.store, "officer", a.today), tmp_path / name)
        before = b.store.count()
        bring_in(b.store, tmp_path / name, b.by(), b.today, dry_run=True)
        assert b.store.count() == before and verify(b.store) == []


def test_a_copy_is_never_written_over_something(group, tmp_path):
    copied = make_copy(group.store, "members", group.today)
    for ending in (".geojson", ".gpkg", ".csv"):
        out = tmp_path / f"x{ending}"
        out.write_text("mine")
        with pytest.raises(StoreError, match="there already"):
            write_copy(group.store, copied, out)
        assert out.read_text() == "mine"
    with pytest.raises(StoreError, match="ending"):
        write_copy(group.store, copied, tmp_path / "x.docx")


def test_the_csv_metadata_names_every_column_with_its_unit(group):
    copied = make_copy(group.store, "members", group.today)
    metadata = json.loads(csvw.metadata(copied, "x.csv"))
    columns = metadata["tableSchema"]["columns"]
    assert [c["name"] for c in columns] == csvw.write(copied).splitlines()[0].split(",")
    for column in columns:
        assert column["dc:description"]
        unit = {"_m": "m", "_deg": "deg"}.get("_" + column["name"].rsplit("_", 1)[-1])
        assert column.get("schema:unitText") == unit
        assert (column["datatype"] == "double") == (unit is not None)


@pytest.mark.parametrize("ending", READ_BACK)
def test_a_copy_in_another_language_is_read_as_the_english_one(group, tmp_path, ending):
    group.activate()
    for language in ("en", "fr"):
        copied = make_copy(group.store, "members", group.today, language=language)
        write_copy(group.store, copied, tmp_path / f"{language}{ending}")
    one, other = (read_features(tmp_path / f"{language}{ending}") for language in ("en", "fr"))
    told = {facts.pop("cautions", ending) for facts in (one.facts, other.facts)}
    assert len(told) == (1 if ending == ".csv" else 2) and one.facts == other.facts
    for feature, again in zip(one.features, other.features, strict=True):
        assert replace(feature, conditions=None) == replace(again, conditions=None)


def test_a_copy_in_another_language_tells_what_people_read_in_it(group):
    group.activate()
    copied = make_copy(group.store, "members", group.today, language="fr")
    for text in (map_files.geojson(copied), map_files.gpx(copied), map_files.kml(copied)):
        assert text.count("Monter maintenant : ") == len(copied.features) and "May rig now" not in text
    for text in (csvw.write(copied), map_files.geojson(copied)):
        assert "yes with conditions" in text and "pas au-delà du" in text and "no later than" not in text
    assert "Parc ou lieu" in csvw.metadata(copied, "x.csv")


def test_the_sheet_escapes_needs_nothing_and_says_what_it_is(group):
    group.activate()
    copied = make_copy(group.store, "members", group.today)
    copied.features[1].conditions_told = ("<script>alert(1)</script>\"'&",)
    page = copy_page(copied)
    assert "<script" not in page and "&lt;script&gt;" in page
    assert "http:" not in page and "https:" not in page and "src=" not in page
    for wanted in (*copied.cautions, "Content-Security-Policy", "group only", "2026-07-30"):
        assert wanted.replace("'", "&#39;") in page
    assert "safe" not in page.lower().replace("'unsafe-inline'", "").replace("&#39;unsafe-inline&#39;", "")


def test_a_package_that_cannot_be_written_leaves_nothing(group, tmp_path):
    copied = make_copy(group.store, "members", group.today)
    with pytest.raises(StoreError, match="x.gpkg could not be written"):
        write_copy(group.store, copied, tmp_path / "no such folder" / "x.gpkg")
    assert list(tmp_path.glob("**/x.gpkg")) == []


def test_last_days_follow_the_day_of_the_copy(group):
    copied = make_copy(group.store, "members", datetime.date(2026, 12, 31), copy_days=1)
    assert copied.copy_valid_until == "2027-01-01"


def test_a_copy_past_its_last_day_says_so(new_group, tmp_path):
    a, b = new_group("a"), new_group("b", None)
    write_copy(a.store, make_copy(a.store, "members", a.today, copy_days=10), tmp_path / "x.gpx")
    assert bring_in(b.store, tmp_path / "x.gpx", b.by(), datetime.date(2026, 5, 11))["notes"] == []
    (note,) = bring_in(b.store, tmp_path / "x.gpx", b.by(), datetime.date(2026, 5, 12))["notes"]
    assert "ran out on 2026-05-11" in note


def test_features_without_a_site_or_anchor_are_left_out_and_named(group, tmp_path, new_group):
    copied = make_copy(group.store, "members", group.today)
    copied.features = [feature for feature in copied.features if feature.code != "T02"]
    write_copy(group.store, copied, tmp_path / "x.geojson")
    other = new_group("other", None)
    report = bring_in(other.store, tmp_path / "x.geojson", other.by(), other.today)
    assert len(report["left_out"]) == 2 and all("anchors are not in the file" in text for text in report["left_out"])


def test_a_copy_with_a_faulty_record_is_refused_whole(group, tmp_path, new_group):
    copied = make_copy(group.store, "members", group.today)
    copied.features[1].record["trunk"] = [{"girth": "1,850 m", "read_at": "1.3 m"}]
    write_copy(group.store, copied, tmp_path / "x.geojson")
    other = new_group("other", None)
    before = other.store.count()
    with pytest.raises(FaultyInput, match="girth"):
        bring_in(other.store, tmp_path / "x.geojson", other.by(), other.today)
    assert other.store.count() == before
