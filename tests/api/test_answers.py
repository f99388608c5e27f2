"""Answers as objects and frames: the same figures as `assess --json`, in rows and in places."""

import geopandas
import numpy as np
import pytest
from geographiclib.geodesic import Geodesic

import siteassess as sa
from siteassess.api.frames import FRAMES, PLACED
from siteassess.records.writing import as_plain
from siteassess.reference import texts
from siteassess.reference.locate import shipped

EXAMPLE = shipped("examples") / "brindlewick" / "park.yaml"


@pytest.fixture(scope="module")
def park():
    return sa.read(EXAMPLE)


@pytest.fixture(scope="module")
def answer(park):
    return sa.assess(park)


def test_a_line_answers_as_in_json(answer):
    for told in answer.to_dict()["lines"]:
        line = answer.line(told["id"])
        assert line.verdict == told["verdict"] and line.weaker_anchor == told["weaker_anchor"]
        uses = [end["hold_use"] for end in told["anchors"]]
        assert line.hold_use == (None if None in uses else max(uses))
        assert (line.stop_at is None) == (line.verdict not in ("suits", "suits if"))
        assert line.deciding == line.findings[0] and str(line.deciding).endswith(line.deciding.short)


def test_a_line_that_is_not_there_is_refused(park, answer):
    for ask in (lambda: answer.line("L9"), lambda: answer.explain("L9"), lambda: sa.assess(park, "L9")):
        with pytest.raises(sa.UnknownName, match="L1"):
            ask()
    with pytest.raises(sa.FaultyInput, match="2026-13-01"):
        sa.assess(park, on="2026-13-01")


def test_the_day_and_the_line_asked_for_are_taken(park):
    assert [one.id for one in sa.assess(park, "L2").lines] == ["L2"]
    assert str(sa.assess(park, "L1", on="2026-03-03").line("L1").day) == "2026-03-03"


def test_words_are_those_of_the_command(answer):
    assert answer.explain("L1", "de") != answer.explain("L1") and "L1" in answer.in_words()
    assert answer.cautions == texts.cautions() and "arborist" in answer.in_words()


@pytest.mark.parametrize("of", FRAMES)
def test_a_frame_is_tidy(answer, of):
    frame = answer.to_frame(of)
    assert len(frame) > 0 and frame.columns.is_unique and "line" in frame
    assert not any(isinstance(one, (dict, list, tuple)) for one in frame.to_numpy().ravel())
    for name in frame:
        if name.endswith(("_m", "_n", "_deg", "_nm", "_use")) or (of, name) == ("limits", "use"):
            assert frame[name].dtype.kind in "fi", name


def test_frames_hold_what_json_tells(answer):
    told = answer.to_dict()["lines"]
    assert list(answer.to_frame("lines")["verdict"]) == [one["verdict"] for one in told]
    ends = [(line["id"], end) for line in told for end in line["anchors"]]
    anchors, loads = answer.to_frame(), answer.to_frame("loads")
    assert list(zip(anchors["line"], anchors["anchor"])) == [(line, end["code"]) for line, end in ends]
    uses = [np.nan if end["hold_use"] is None else end["hold_use"] for _, end in ends]
    np.testing.assert_allclose(anchors["hold_use"], uses)
    np.testing.assert_allclose(loads["tension_n"], [load["tension_n"] for _, end in ends for load in end["loads"]])
    orders = answer.to_frame("findings").groupby("line")["order"].max()
    assert list(orders) == [len(one.findings) for one in answer.lines]


def test_a_park_without_lines_has_empty_frames_with_their_columns(park):
    empty = sa.assess(sa.change(park, "lines", None))
    for of, (_, columns) in FRAMES.items():
        frame = empty.to_frame(of)
        assert len(frame) == 0 and list(frame) == list(columns)
    assert len(empty.to_geodataframe("lines")) == 0 and empty.to_geodataframe("lines").crs.to_epsg() == 4326


def test_a_frame_of_nothing_known_is_refused(answer):
    with pytest.raises(sa.UnknownName, match="lines, anchors"):
        answer.to_frame("trees")
    with pytest.raises(sa.UnknownName, match="root zones"):
        answer.to_geodataframe("trees")
    with pytest.raises(sa.UnknownName, match="EPSG:4326"):
        answer.to_geodataframe("anchors", "EPSG:1")


@pytest.mark.parametrize("of", PLACED)
def test_a_geoframe_is_one_in_a_named_system(answer, of):
    frame = answer.to_geodataframe(of)
    assert isinstance(frame, geopandas.GeoDataFrame) and frame.crs.to_string() == "EPSG:4326"
    west, south, east, north = frame.total_bounds
    assert 2.49 < west < east < 2.51 and 54.49 < south < north < 54.51
    assert answer.to_geodataframe(of, "UTM").crs.to_epsg() == 32631  # 2.5 degrees east lies in zone 31
    assert answer.to_geodataframe(of, 3857).crs.to_epsg() == 3857


def test_lines_run_from_anchor_to_anchor_as_the_map_shows_them(answer):
    anchors = answer.to_geodataframe("anchors").set_index("anchor").geometry
    for row in answer.to_geodataframe("lines").itertuples():
        assert list(row.geometry.coords) == [(anchors[one].x, anchors[one].y) for one in (row.a, row.b)]


def test_areas_of_root_zones_are_those_of_circles(answer):
    """64 corners are 0.2 % short of a circle, and the zone's scale (0.9996 on its middle meridian) is 0.1 % off."""
    zones = answer.to_geodataframe("root zones", "UTM")
    np.testing.assert_allclose(zones.area, np.pi * zones["radius_m"] ** 2, rtol=3e-3)


def test_a_root_zone_is_round_its_tree_by_an_outside_geodesic(answer):
    anchors = answer.to_geodataframe("anchors").set_index("anchor").geometry
    for row in answer.to_geodataframe("root zones").itertuples():
        tree = anchors[row.anchor]
        apart = [Geodesic.WGS84.Inverse(tree.y, tree.x, y, x)["s12"] for x, y in row.geometry.exterior.coords]
        np.testing.assert_allclose(apart, row.radius_m, rtol=1e-4)


def test_an_anchor_without_a_place_keeps_its_row(park):
    frame = sa.assess(sa.change(park, "anchors.T1.position", None)).to_geodataframe()
    assert set(frame["anchor"]) == {one.code for one in park.anchors}
    assert list(frame[frame.geometry.isna()]["anchor"]) == ["T1"]


def test_geoframes_come_back_from_a_file(answer, tmp_path):
    for of in PLACED:
        frame = answer.to_geodataframe(of)
        frame.to_file(tmp_path / "park.gpkg", layer=of)
        back = geopandas.read_file(tmp_path / "park.gpkg", layer=of)
        assert back.crs == frame.crs and back.geometry.geom_equals_exact(frame.geometry, 1e-9).all()
        assert list(back.iloc[:, 0]) == list(frame.iloc[:, 0])


def test_a_sweep_moves_the_answer_as_single_changes_do(park):
    tensions = np.array([2.0, 3.0, 8.0])
    frame = sa.sweep(park, "lines.L1.standing.tension", tensions, unit="kN", line="L1")
    assert list(frame["lines.L1.standing.tension"]) == [2.0, 3.0, 8.0] and len(frame) == 3
    assert frame["care_use"].is_monotonic_increasing and frame["hold_use"].is_monotonic_increasing
    for tension, verdict in zip(tensions, frame["verdict"]):
        changed = sa.change(park, "lines.L1.standing.tension", f"{tension} kN")
        assert sa.assess(changed, "L1").line("L1").verdict == verdict


def test_a_sweep_over_two_paths_has_each_pairing(park):
    ties = ["1 m", "1.2 m", "1.4 m"]
    frame = sa.sweep(park, {"lines.L1.standing.tension": ["2 kN", "4 kN"], "lines.L1.a.tie_height": ties}, line="L1")
    assert len(frame) == 6 and not frame.duplicated(list(frame.columns[:2])).any()
    assert (frame.groupby("lines.L1.a.tie_height")["care_use"].max() > 0).all()


def test_a_sweep_refuses_what_a_change_refuses(park):
    with pytest.raises(sa.UnknownName, match="standing"):
        sa.sweep(park, "lines.L1.standng.tension", ["2 kN"])
    with pytest.raises(sa.FaultyInput, match="unit"):
        sa.sweep(park, "lines.L1.standing.tension", [2.0])
    with pytest.raises(sa.UnknownName, match="own values"):
        sa.sweep(park, {"lines.L1.standing.tension": [2.0]}, unit="kN")
    assert len(sa.sweep(park, "lines.L1.standing.tension", [])) == 0


def test_pages_and_sheets_are_kept(answer, tmp_path):
    page = sa.report(answer, name="paper.html", made_on=None)
    written = page.save(tmp_path / "paper.html")
    assert [one.name for one in written] == ["paper.html", "paper_appendix.html"] and "paper_appendix.html" in page.html
    assert sa.site_map(answer).save(tmp_path / "map.html")[0].read_text("utf-8").startswith("<!DOCTYPE html>")
    plan = sa.plan(answer, language="de")
    assert [one.suffix for one in plan.save(tmp_path / "plan.svg")] == [".svg"] * len(plan.drawn.sheets)
    assert plan.save(tmp_path / "plan.pdf")[0].read_bytes().startswith(b"%PDF") and "<svg" in plan._repr_svg_()[:500]
    with pytest.raises(sa.UnknownName, match="pdf"):
        plan.save(tmp_path / "plan.png")


def test_a_paper_is_of_the_answer_it_is_made_from(park):
    """Not judged again for another day or for other lines."""
    answer = sa.assess(park, "L1", on="2026-03-03")
    page = sa.report(answer, "card")
    assert "2026-03-03" in page.html and "2026-04-25" not in page.html and not page.beside


@pytest.mark.parametrize("kind, wanted", [("care", "register"), ("year", "register"), ("reprt", "officer")])
def test_a_paper_that_cannot_be_made_says_why(answer, kind, wanted):
    with pytest.raises(sa.UnknownName, match=wanted):
        sa.report(answer, kind)


def test_a_stamp_is_a_day_and_anything_else_is_refused(park):
    import pandas as pd

    for day in (pd.Timestamp("2026-03-03 10:00"), np.datetime64("2026-03-03")):
        assert str(sa.assess(park, "L1", on=day).line("L1").day) == "2026-03-03"
    for none in (5, "2026-03-03T10", pd.NaT):
        with pytest.raises(sa.FaultyInput, match="wanted a date"):
            sa.assess(park, "L1", on=none)


def test_a_frame_of_no_name_is_refused(answer, tmp_path):
    for of in (None, ["lines"], 5):
        for frame in (answer.to_frame, answer.to_geodataframe):
            with pytest.raises(sa.UnknownName, match="lines"):
                frame(of)
    for crs in (None, "nowhere", 5):
        with pytest.raises(sa.UnknownName, match="reference system"):
            answer.to_geodataframe("lines", crs)
    with pytest.raises(sa.UnknownName, match="language"):
        answer.to_map_file(tmp_path / "park.gpkg", "xx")


def test_the_zone_is_that_of_the_park_across_180_degrees_too(park):
    at = {"T1": 179.99999, "T2": -179.99999}
    near = sa.change(park, {f"anchors.{code}.position": {"lat": 60.0, "lon": lon, "accuracy": "3 m", "how": "phone"}
                            for code, lon in at.items()})  # fmt: skip
    alone = sa.change(near, {"anchors": [one for one in as_plain(near)["anchors"] if one["code"] in at],
                             "lines": [one for one in as_plain(near)["lines"] if one["id"] == "L1"],
                             "measured_pairs": None, "site.surroundings": None})  # fmt: skip
    for of in PLACED:
        found = sa.assess(alone).to_geodataframe(of, "UTM")
        assert sa.assess(alone).to_geodataframe(of).geometry.is_valid.all()
        assert found.crs.to_epsg() in (32660, 32601) and 6.6e6 < found.total_bounds[1] < 6.7e6


def test_no_zone_where_nothing_has_a_place():
    trees = [{"kind": "tree", "code": code, "species": {"name": "oak"}} for code in ("T1", "T2")]
    answer = sa.assess(sa.new_park("Nowhere Green (invented)", "A. Surveyor", "2026-05-01", trees))
    with pytest.raises(sa.UnknownName, match="has a place"):
        answer.to_geodataframe("anchors", "UTM")
    assert answer.to_geodataframe("anchors").geometry.isna().all()


def test_frames_carry_the_cautions(answer):
    assert answer.to_frame("lines").attrs["cautions"] == answer.to_geodataframe().attrs["cautions"] == answer.cautions


def test_a_park_without_a_tree_answers():
    """Nothing thick is known of it."""
    boulder = {"kind": "boulder", "code": "B1", "position": {"lat": 54.5, "lon": 2.5}}
    for anchors in ([], [boulder]):
        answer = sa.assess(sa.new_park("Nowhere Green (invented)", "A. Surveyor", "2026-05-01", anchors))
        assert answer.lines == () and answer.to_frame("anchors").empty and answer._repr_html_()


@pytest.mark.parametrize("path, values", [
    ("lines.L1.standing.tension", "6 kN"), ("lines.L1.standing.tension", 6),
    ("lines.L1.standng.tension", []), ({"lines.L1.standing.tension": "6 kN"}, ()), (5, [1]),
])  # fmt: skip
def test_a_sweep_over_no_list_of_values_is_refused(park, path, values):
    with pytest.raises(sa.UnknownName):
        sa.sweep(park, path, values)


def test_all_values_of_a_sweep_that_do_not_fit_are_told(park):
    with pytest.raises(sa.FaultyInput) as caught:
        sa.sweep(park, "lines.L1.standing.tension", ["2 kN", "x", "6 kg", 7])
    assert len(caught.value.faults) == 3
