"""Real inventories: counts checked by hand once, and held against a second, plain count of the same cells.

Sources: New York City street tree census 2015 (dataset uvpi-gqnh, 5,000 rows; CC0 in its GBIF republication);
OpenStreetMap around central Helsinki (649 trees, 36 outlines of parks; ODbL 1.0, © OpenStreetMap contributors).
"""

import csv
import json
from pathlib import Path

import numpy as np
import pytest
from scipy.spatial.distance import pdist

from siteassess.reference.written_names import written_species
from siteassess.survey.desk import desk_survey
from siteassess.survey.importing import read_inventory
from siteassess.survey.kinds import kinds_of
from siteassess.survey.notes import Note
from siteassess.survey.pairs import PairWindow, pairs_in_window
from siteassess.survey.screen import Wish

DATA = Path(__file__).parent / "data"
NEW_YORK, HELSINKI = DATA / "nyc_2015_street_trees_5000.csv", DATA / "osm_helsinki_trees_parks.geojson"


@pytest.fixture(scope="module")
def new_york():
    return read_inventory(NEW_YORK)


@pytest.fixture(scope="module")
def helsinki():
    return read_inventory(HELSINKI)


@pytest.fixture(scope="module")
def cells():
    with NEW_YORK.open(encoding="utf-8", newline="") as stream:
        return list(csv.DictReader(stream))


def test_new_york_counts(new_york):
    # by hand: 106 stumps, 100 dead, the 425 in swamp white oak on line 2407, and the second of two trees on one spot
    assert new_york.counts == {"rows_read": 5000, "rows_kept": 4792, "rows_repaired": 0, "rows_set_aside": 208}


def test_new_york_counts_again_from_the_bare_cells(new_york, cells):
    status = [row["status"] for row in cells]
    assert np.count_nonzero(new_york.flags & Note.STUMP) == status.count("Stump") == 106
    assert np.count_nonzero(new_york.flags & Note.DEAD) == status.count("Dead") == 100
    assert np.count_nonzero(new_york.flags & Note.SPECIES_BLANK) == sum(row["spc_latin"] == "" for row in cells) == 206
    assert np.count_nonzero(new_york.flags & Note.SIZE_ZERO) == sum(row["tree_dbh"] == "0" for row in cells) == 109
    poor = [row["health"] for row in cells].count("Poor")
    assert np.count_nonzero(new_york.flags & Note.POOR_CONDITION) == poor > 100
    inches = np.array([float(row["tree_dbh"]) for row in cells])
    measured = new_york.trees["diameter_m"].to_numpy()
    np.testing.assert_allclose(measured[inches > 0], inches[inches > 0] * 0.0254, rtol=1e-12)


def test_the_425_inch_oak_is_set_aside_not_believed(new_york):
    oak = new_york.trees[new_york.trees["size_text"] == "425"]
    assert oak["line"].tolist() == [2407] and oak["species"].tolist() == ["Quercus bicolor"]
    assert new_york.set_aside[oak.index[0]]
    beyond = (new_york.flags & Note.SIZE_BEYOND) != 0
    assert beyond.sum() == 1  # the 72 in silver maple is large, and stays


def test_the_tree_on_the_spot_of_another(new_york):
    later = new_york.trees[(new_york.flags & Note.DUPLICATE) != 0]
    assert later["id"].tolist() == ["209918"]
    first = new_york.trees[new_york.trees["line"] == later["same_as"].iloc[0]]
    assert first["id"].tolist() == ["209919"]


def test_state_plane_columns_agree_with_degrees(new_york, cells):
    """EPSG:2263 of all 5,000 rows against their degrees: within 2 mm.

    The published degrees carry eight decimals (about 1 mm) and the feet three (0.3 mm).
    """
    from siteassess.places.geodesy import LocalFrame
    from siteassess.survey.cleaning import to_degrees

    x, y = (np.array([float(row[name]) for row in cells]) for name in ("x_sp", "y_sp"))
    lat, lon = to_degrees(x, y, "EPSG:2263")
    frame = LocalFrame(40.7, -73.94)
    there = np.column_stack(frame.to_metres(lat, lon))
    here = np.column_stack(frame.to_metres(new_york.trees["lat_deg"].to_numpy(), new_york.trees["lon_deg"].to_numpy()))
    assert np.abs(there - here).max() < 2e-3
    assert not (new_york.flags & Note.POSITIONS_DISAGREE).any()


def test_new_york_pairs_equal_brute_force(new_york):
    """All 5,000 positions, 20 to 100 m: 9,696 pairs, as a separate run of the notes found with other code."""
    from siteassess.places.geodesy import LocalFrame

    trees = new_york.trees
    xy = np.column_stack(LocalFrame(40.7, -73.94).to_metres(trees["lat_deg"].to_numpy(), trees["lon_deg"].to_numpy()))
    pairs, _ = pairs_in_window(xy, PairWindow(20, 100))
    distance = pdist(xy)
    assert len(pairs) == np.count_nonzero((distance >= 20) & (distance <= 100))
    # the notes' plane is not ours: a pair at the very edge of the window may fall to the other side
    assert len(pairs) == pytest.approx(9696, abs=3)


def test_helsinki_counts(helsinki):
    # by hand: 36 outlines of parks, and the one tree with a girth: 30, in metres by the tag's own rule
    assert helsinki.counts == {"rows_read": 685, "rows_kept": 648, "rows_repaired": 0, "rows_set_aside": 37}
    shapes = [feature["geometry"]["type"] for feature in json.loads(HELSINKI.read_text(encoding="utf-8"))["features"]]
    assert np.count_nonzero(helsinki.flags & Note.NOT_A_POINT) == sum(kind != "Point" for kind in shapes) == 36
    beyond = helsinki.trees[(helsinki.flags & Note.SIZE_BEYOND) != 0]
    assert beyond["size_text"].tolist() == ["30"] and beyond["id"].tolist() == ["node/946524698"]


def test_helsinki_species_and_parks(helsinki):
    named = helsinki.trees[helsinki.trees["species"] != ""]
    assert sorted(named["species"]) == ["Betula Pendula", "Betula Pendula"]
    survey = desk_survey(helsinki, Wish(), PairWindow(20, 60), parks=HELSINKI)
    # the notes counted 289 trees in parks, 183 of them in the largest
    in_park = survey.trees[survey.trees["park_number"] >= 0]
    assert len(in_park) == 289
    assert (in_park["park"] == "Kaisaniemen puisto").sum() == 183
    assert set(survey.trees["park_number"].to_numpy()[survey.pairs].ravel()) <= set(in_park["park_number"])
    assert (
        survey.trees["park_number"].to_numpy()[survey.pairs[:, 0]]
        == survey.trees["park_number"].to_numpy()[survey.pairs[:, 1]]
    ).all()


def test_nearly_every_named_row_of_new_york_is_taken_as_that_tree(new_york, cells):
    """Of the rows that name a tree by its scientific or its common name (the issue asks for 97 %)."""
    assert (kinds_of(new_york.good).genus != "")[(new_york.good["species"] != "").to_numpy()].mean() == 1.0
    for column in ("spc_latin", "spc_common"):
        matches = {name: written_species(name) for name in {row[column] for row in cells} if name}
        assert all(match is not None and match.genus for match in matches.values())
    # and both names of a row mean one genus
    for row in cells:
        if row["spc_latin"]:
            assert written_species(row["spc_latin"]).genus == written_species(row["spc_common"]).genus


def test_the_census_read_without_its_mapping_comes_to_the_same(new_york, monkeypatch):
    monkeypatch.setattr("siteassess.survey.importing.recognise", lambda header: None)
    guessed = read_inventory(NEW_YORK)
    np.testing.assert_allclose(guessed.trees["diameter_m"], new_york.trees["diameter_m"])  # inches, by their sizes
    assert (guessed.trees["species"].astype(str) == new_york.trees["species"].astype(str)).all()
