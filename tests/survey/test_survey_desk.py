"""The desk survey whole: layers, terrain, ranking, circuits, files, sheets the main job reads."""

import csv
import datetime
import html
import json
from xml.etree import ElementTree

import geopandas
import numpy as np
import pytest
import shapely

from siteassess.errors import FaultyInput
from siteassess.papers.sketch import sketch_page
from siteassess.places.exchange_xml import GPX
from siteassess.places.geodesy import LocalFrame, bearing_distance
from siteassess.records.reading import read_record, read_text
from siteassess.reference.findings import in_words
from siteassess.reference.texts import cautions
from siteassess.survey.desk import Options, desk_survey
from siteassess.survey.files import table, write_all
from siteassess.survey.importing import read_inventory
from siteassess.survey.layers import read_layers, read_terrain
from siteassess.survey.pairs import PairWindow
from siteassess.survey.proposal import plain_text, propose
from siteassess.survey.ranking import circuits, in_order, score, spread
from siteassess.survey.rulelimits import RuleLimits
from siteassess.survey.screen import Wish
from siteassess.survey.sheets import groups, record_of_pairs

DAY = datetime.date(2026, 5, 2)
LAT, LON = 52.0, 9.0  # open country; the park is invented


@pytest.fixture(scope="module")
def park(tmp_path_factory):
    """An invented park: a wood of 150 trees, some with spiteful texts, on a plane of metres."""
    folder = tmp_path_factory.mktemp("park")
    rng = np.random.default_rng(3)
    frame = LocalFrame(LAT, LON)
    lat, lon = frame.to_degrees(*rng.uniform(-150, 150, (2, 150)))
    kinds = ["Quercus robur", "Tilia cordata", "Picea abies", "Quercus robur '<script>alert(1)</script>'", "=1+1", ""]
    lines = ["tree_id,lat,lon,dbh_cm,height_m,species,status"]
    lines += [
        f"inv-{i},{lat[i]:.7f},{lon[i]:.7f},{rng.integers(25, 90)},{rng.integers(9, 24)},"
        f"{kinds[i % 6]},{'dead' if i == 149 else 'alive'}"
        for i in range(150)
    ]
    path = folder / "invented.csv"
    path.write_text("\n".join(lines), encoding="utf-8")
    return path


@pytest.fixture(scope="module")
def survey(park):
    return desk_survey(read_inventory(park), Wish(pull_n=3000.0), PairWindow(20, 80, 1.5), Options(top=30, lines=3))


@pytest.fixture(scope="module")
def proposal(survey):
    return propose(survey, 30)


def shapes_file(path, shapes, **columns):
    """Shapes in plane metres, written in degrees."""
    frame = LocalFrame(LAT, LON)
    moved = [
        shapely.transform(s, lambda en: np.column_stack(frame.to_degrees(en[:, 0], en[:, 1])[::-1])) for s in shapes
    ]
    geopandas.GeoDataFrame(columns, geometry=moved, crs="EPSG:4326").to_file(path)
    return path


def test_spans_and_bearings_are_geodesic(survey):
    lat, lon = survey.trees["lat_deg"].to_numpy(), survey.trees["lon_deg"].to_numpy()
    a, b = survey.pairs.T
    truth = bearing_distance(lat[a], lon[a], lat[b], lon[b])
    np.testing.assert_allclose(survey.span_m, truth.distance_m, atol=1e-5)
    which = np.arange(len(survey.pairs))
    np.testing.assert_allclose(survey.bearings(which), truth.bearing_true_deg)


def test_a_dead_tree_still_stands_in_the_way(park, survey):
    inventory = read_inventory(park)
    dead = inventory.trees.iloc[149]
    assert "inv-149" not in set(survey.trees["id"])
    east, north = survey.frame.to_metres(dead["lat_deg"], dead["lon_deg"])
    xy = survey.trees[["east_m", "north_m"]].to_numpy()
    lines = shapely.linestrings(xy[survey.pairs])
    assert shapely.distance(lines, shapely.Point(east, north)).min() > 1.5


def test_every_answer_is_cannot_say(proposal):
    answer = proposal.summary()
    for row in [*answer["candidates"], *answer["pairs"]]:
        assert row["verdict"] == "cannot say" and row["to_do"] == "to be surveyed on site"
    assert answer["verdict"] == "cannot say" and answer["cautions"] == list(cautions(on="desk survey"))
    assert json.loads(json.dumps(answer, allow_nan=False)) == answer


def test_spread_keeps_its_promises(survey):
    first = survey.chosen[:30]
    used = np.bincount(survey.pairs[first].ravel())
    assert used.max() <= 2
    xy = survey.trees[["east_m", "north_m"]].to_numpy()
    middle = np.floor(xy[survey.pairs[first]].mean(axis=1) / 50).astype(int)
    assert np.unique(middle, axis=0, return_counts=True)[1].max() <= 3


def test_ranking_takes_the_best_first_and_repeats_itself():
    pairs = np.array([[0, 1], [0, 2], [1, 2], [2, 3]])
    scores = score(pairs, np.array([3.0, 2.0, np.nan, 0.5]), np.ones(4), np.ones(4))
    assert scores.hold.tolist() == [1.0, 0.0, 0.0, 0.0]
    assert in_order(scores.total, pairs).tolist() == [0, 1, 2, 3]
    xy = np.array([[0, 0], [30, 0], [0, 30], [30, 30.0]])
    assert spread(pairs, xy, np.arange(4), most=10, per_tree=1).tolist() == [0, 3]
    assert spread(pairs, xy, np.arange(4), most=10, per_tree=2, per_cell=2).tolist() == [0, 1]


def test_circuits_share_no_tree_and_cross_nothing(survey):
    assert survey.circuits
    xy = survey.trees[["east_m", "north_m"]].to_numpy()
    seen = set()
    for circuit in survey.circuits:
        assert len(circuit.pairs) == 3 and not seen & set(circuit.pairs)
        seen |= set(circuit.pairs)
        ends = survey.pairs[list(circuit.pairs)]
        assert len(set(ends.ravel().tolist())) == 6
        lines = shapely.linestrings(xy[ends])
        apart = [shapely.distance(lines[i], lines[j]) for i in range(3) for j in range(i)]
        assert min(apart) >= 3.0
        middle = xy[ends].mean(axis=1)
        assert circuit.walk_m == pytest.approx(np.hypot(*np.diff(middle, axis=0).T).sum())
        assert set(circuit.pairs) <= set(survey.chosen.tolist())


def test_a_circuit_of_too_many_lines_is_none():
    pairs = np.array([[0, 1], [2, 3]])
    xy = np.array([[0, 0], [30, 0], [15, -15], [15, 15.0]])  # they cross
    assert circuits(pairs, xy, np.ones(2), np.arange(2), lines=2) == []


def test_parks_and_things_to_avoid(park, tmp_path):
    inventory = read_inventory(park)
    parks = shapes_file(
        tmp_path / "parks.geojson",
        [shapely.box(-150, -150, 0, 150), shapely.box(5, -150, 150, 150)],
        name=["West", "East"],
    )
    wires = shapes_file(tmp_path / "wires.gpkg", [shapely.LineString([(-150, 20), (150, 20)])], what=["wire"])
    survey = desk_survey(
        inventory, Wish(pull_n=3000.0), PairWindow(20, 80, 1.5), parks=parks, avoid={"power line": [wires]}
    )
    xy = survey.trees[["east_m", "north_m"]].to_numpy()
    offset = np.array(survey.frame.to_metres(LAT, LON))
    ends = xy[survey.pairs] - offset  # the survey's plane has its own centre
    assert len(ends) > 20
    assert ((ends[..., 0] < 0.01).all(axis=1) | (ends[..., 0] > 4.99).all(axis=1)).all()
    above, below = (ends[..., 1] > 31.4).all(axis=1), (ends[..., 1] < 8.6).all(axis=1)  # 10 m and the half width
    assert (above | below).all() and above.any() and below.any()
    assert survey.dropped["too near a thing to avoid"] > 0
    assert set(survey.trees["park"]) <= {"West", "East", ""}


def test_same_park_by_name(tmp_path):
    rows = [
        f"t{i},{LAT + (i % 8) * 4e-4:.6f},{LON + (i // 8) * 6e-4:.6f},60,Tilia,{['North', 'South', ''][i // 3 % 3]}"
        for i in range(64)
    ]
    path = tmp_path / "trees.csv"
    path.write_text("\n".join(["id,lat,lon,dbh_cm,species,park", *rows]), encoding="utf-8")
    inventory = read_inventory(path)
    free = desk_survey(inventory, Wish(pull_n=2000.0), PairWindow(20, 120))
    bound = desk_survey(inventory, Wish(pull_n=2000.0), PairWindow(20, 120), Options(same_named_park=True))
    name = bound.trees["park"].astype(str).to_numpy()
    same = (name[free.pairs[:, 0]] == name[free.pairs[:, 1]]) & (name[free.pairs[:, 0]] != "")
    assert 0 < same.sum() < len(same)
    assert {tuple(p) for p in bound.pairs.tolist()} == {tuple(p) for p in free.pairs[same].tolist()}


def test_what_was_not_looked_at_is_told(park, survey, tmp_path):
    told = " ".join(in_words(survey.remarks))
    for word in ("path", "building", "water", "power line", "road", "slope and ground"):
        assert word in told
    assert "'=1+1'" in told  # a name no table holds
    water = shapes_file(tmp_path / "water.geojson", [shapely.box(500, 500, 510, 510)], what=["pond"])
    other = desk_survey(read_inventory(park), Wish(pull_n=3000.0), PairWindow(20, 80), avoid={"water": [water]})
    (missing,) = (dict(one.values)["kinds"] for one in other.remarks if one.code == "ds-no-layer")
    assert "water" not in missing and "path" in missing


def test_thin_and_street_trees_bear_a_note(tmp_path):
    path = tmp_path / "trees.csv"
    rows = [f"{i},{10 + i},{'Alive'},Quercus rubra,oak,{40.7 + i * 3e-4:.6f},-73.9,," for i in range(20)]
    path.write_text("\n".join(["tree_id,tree_dbh,status,spc_latin,spc_common,latitude,longitude,x_sp,y_sp", *rows]))
    found = propose(desk_survey(read_inventory(path), Wish(pull_n=1000.0), PairWindow(20, 80)))
    for tree in found.trees:
        codes = {note.code for note in tree["row_notes"]}
        assert "ds-on-a-street" in codes and ("ds-thin-for-walking" in codes) == (tree["diameter_m"] < 0.30)
    assert any(tree["diameter_m"] < 0.30 for tree in found.trees)
    assert "ds-street-trees" in [remark.code for remark in found.survey.remarks]


def test_layers_that_are_none(park, tmp_path):
    points = shapes_file(tmp_path / "points.geojson", [shapely.Point(0, 0)], name=["x"])
    with pytest.raises(FaultyInput) as outlines:
        read_layers(LocalFrame(LAT, LON), points)
    with pytest.raises(FaultyInput) as kinds:
        read_layers(LocalFrame(LAT, LON), None, {"dragon": [points]})
    assert outlines.value.faults[0].read.said.code == "read-no-outline" and kinds.value.faults[0].field == "kind"
    with pytest.raises(FaultyInput):
        read_layers(LocalFrame(LAT, LON), tmp_path / "none.gpkg")


def grid_file(path, height):
    """A terrain of `height(lat, lon)` on nodes about the park."""
    step = 0.0005
    lat, lon = LAT - 0.004 + step * np.arange(17), LON - 0.006 + step * np.arange(25)
    z = height(lat[:, None], lon[None, :]) * np.ones((17, 25))
    head = f"ncols 25\nnrows 17\nxllcenter {lon[0]}\nyllcenter {lat[0]}\ncellsize {step}\nNODATA_value -9999\n"
    path.write_text(head + "\n".join(" ".join(f"{v:.6f}" for v in row) for row in z[::-1]), encoding="ascii")
    return path


def test_terrain_gives_rise_and_drops_the_steep(park, tmp_path):
    inventory = read_inventory(park)
    slope = 0.2  # rise over northing
    tilted = read_terrain(grid_file(tmp_path / "t.asc", lambda lat, lon: (lat - LAT) * 111_267.0 * slope))
    survey = desk_survey(inventory, Wish(pull_n=3000.0), PairWindow(20, 80), Options(steepest=0.1), terrain=tilted)
    xy = survey.trees[["east_m", "north_m"]].to_numpy()
    north = np.diff(xy[survey.pairs][..., 1], axis=1).ravel()
    np.testing.assert_allclose(survey.rise_m, slope * north, atol=0.03)
    assert np.abs(north / survey.span_m).max() < 0.51 and survey.dropped["too steep"] > 0
    np.testing.assert_allclose(survey.hump_m, 0, atol=0.02)


def test_terrain_shows_a_hump_and_keeps_unknown_unknown(park, tmp_path):
    inventory = read_inventory(park)
    ridge = read_terrain(grid_file(tmp_path / "r.asc", lambda lat, lon: 8.0 - np.abs(lon - LON) * 2000))
    survey = desk_survey(inventory, Wish(pull_n=3000.0), PairWindow(40, 80), Options(steepest=1.0), terrain=ridge)
    xy = survey.trees[["east_m", "north_m"]].to_numpy()
    over = np.sign(xy[survey.pairs][..., 0] - survey.frame.to_metres(LAT, LON)[0]).sum(axis=1) == 0
    assert survey.hump_m[over].max() > 0.5 and survey.hump_m[~over].max() < 0.3
    away = read_terrain(grid_file(tmp_path / "r.asc", lambda lat, lon: lat * 0 - 9999))
    blind = desk_survey(inventory, Wish(pull_n=3000.0), PairWindow(40, 80), terrain=away)
    assert np.isnan(blind.rise_m).all() and blind.dropped["too steep"] == 0


@pytest.mark.parametrize(
    "text", ["", "ncols 3\n1 2 3", "ncols 1\nnrows 1\nxllcorner 0\nyllcorner 0\ncellsize 1\n5", "what"]
)
def test_terrain_that_is_none(tmp_path, text):
    path = tmp_path / "t.asc"
    path.write_text(text, encoding="ascii")
    with pytest.raises(FaultyInput):
        read_terrain(path)


def test_rules_shorten_the_window_or_refuse_it(park):
    inventory = read_inventory(park)
    short = Wish(pull_n=3000.0, rules=RuleLimits("Somewhere", longest_span_m=30.0))
    assert desk_survey(inventory, short, PairWindow(20, 80)).span_m.max() <= 30.0
    with pytest.raises(FaultyInput) as caught:
        desk_survey(inventory, short, PairWindow(40, 80))
    assert dict(caught.value.faults[0].wanted.said.values) == {"longest": 30.0, "place": "Somewhere"}


# --- what is written ------------------------------------------------------------------------------------------


@pytest.fixture(scope="module")
def written(proposal, tmp_path_factory):
    folder = tmp_path_factory.mktemp("out")
    return folder, write_all(proposal, folder, DAY, sketch_page)


def test_field_sheets_are_records_the_main_job_reads(proposal, written):
    sheets = [path for path in written[1] if path.suffix == ".yaml"]
    assert sheets
    lines = []
    for path in sheets:
        record = read_record(path, DAY)
        codes = {anchor.code for anchor in record.anchors}
        for line in record.lines:
            assert {line.a.anchor, line.b.anchor} <= codes
            assert line.span is None, "a copied position is no tape"
            assert line.a.tie_height is None and line.standing is None
        for anchor in record.anchors:
            assert set(anchor.signs.model_dump().values()) == {"not looked"}
            assert all(reading.how == "copied" for reading in anchor.trunk)
        lines += [line.id for line in record.lines]
    assert sorted(lines) == [pair["id"] for pair in proposal.pairs]


def test_sheets_hold_every_pair_once_and_no_more_than_a_days_walk(proposal):
    parts = [members for _, members in groups(proposal)]
    assert sorted(n for members in parts for n in members) == list(range(len(proposal.pairs)))
    assert max(map(len, parts)) <= 12
    assert len({name for name, _ in groups(proposal)}) == len(parts)


def test_an_untouched_sheet_reaches_no_verdict(proposal):
    from siteassess.advice.assess import assess

    name, members = groups(proposal)[0]
    record = record_of_pairs(proposal, name, members, DAY)
    assert {line.verdict for line in assess(record).lines} == {"cannot say"}


def test_a_sheet_keeps_sizes_to_their_last_digit(proposal):
    name, members = groups(proposal)[0]
    record = record_of_pairs(proposal, name, members, DAY)
    by_code = {tree["code"]: tree for tree in proposal.trees}
    for anchor in record.anchors:
        assert anchor.trunk[0].diameter.si == pytest.approx(by_code[anchor.code]["diameter_m"], abs=1e-4)
        assert anchor.tag == by_code[anchor.code]["inventory_id"]


def test_a_filled_sheet_is_never_lost(proposal, tmp_path):
    write_all(proposal, tmp_path, DAY, sketch_page)
    before = sorted(path.name for path in tmp_path.iterdir())
    write_all(proposal, tmp_path, DAY + datetime.timedelta(days=3), sketch_page)
    assert sorted(path.name for path in tmp_path.iterdir()) == before
    sheet = tmp_path / "field_sheet_01.yaml"
    filled = sheet.read_text(encoding="utf-8").replace("how: copied", "how: taped")
    sheet.write_text(filled, encoding="utf-8")
    write_all(proposal, tmp_path, DAY, sketch_page)
    assert sheet.read_text(encoding="utf-8") == filled
    assert read_text((tmp_path / "field_sheet_01_new2.yaml").read_text(encoding="utf-8"), today=DAY)


def test_geojson_follows_the_standard(written):
    found = json.loads((written[0] / "proposal.geojson").read_text(encoding="utf-8"))
    assert found["type"] == "FeatureCollection" and "crs" not in found
    for feature in found["features"]:
        points = np.atleast_2d(feature["geometry"]["coordinates"])
        assert (np.abs(points[:, 0] - LON) < 0.01).all() and (np.abs(points[:, 1] - LAT) < 0.01).all()
    table = geopandas.read_file(written[0] / "proposal.geojson")
    assert len(table) == len(found["features"])


def test_waypoints(written, proposal):
    root = ElementTree.parse(written[0] / "waypoints.gpx").getroot()
    assert root.tag == f"{{{GPX}}}gpx" and root.get("version") == "1.1"
    points = root.findall(f"{{{GPX}}}wpt")
    assert {p.find(f"{{{GPX}}}name").text for p in points} == {
        c for pair in proposal.pairs for c in (pair["a"], pair["b"])
    }
    assert all("to be surveyed on site" in p.find(f"{{{GPX}}}desc").text for p in points)
    assert len(root.findall(f"{{{GPX}}}rte")) == len(proposal.circuits)


def test_tables_start_no_formula_and_lose_no_row(written, proposal):
    with (written[0] / "candidates.csv").open(encoding="utf-8", newline="") as stream:
        rows = list(csv.DictReader(stream))
    assert len(rows) == len(proposal.trees)
    assert not any(cell.startswith(("=", "@", "+")) for row in rows for cell in row.values())
    assert table([{"a": "-5", "b": "-x", "c": None}]).splitlines()[1] == "-5,'-x,"
    with (written[0] / "rows_set_aside.csv").open(encoding="utf-8", newline="") as stream:
        aside = list(csv.DictReader(stream))
    assert len(aside) == proposal.survey.inventory.counts["rows_set_aside"] and aside[-1]["reason"].startswith(
        "dead by its status"
    )


def test_the_sketch_runs_and_fetches_nothing(written):
    page = (written[0] / "sketch.html").read_text(encoding="utf-8")
    assert "<script" not in page and "&lt;script&gt;" in page
    assert "http:" not in page and "https:" not in page and "default-src 'none'" in page
    for caution in cautions(on="desk survey"):
        assert caution in html.unescape(page)


def test_texts_lose_their_tricks():
    assert plain_text("a\x00b\u202ec\nd") == "a b c d"
    assert len(plain_text("x" * 5000)) == 200
