"""What was told of a hidden tree stays as it is when it is surveyed again, put right, or read from an older file."""

from __future__ import annotations

import datetime
import json

import pytest
from parks import data

from siteassess.records.record import Record
from siteassess.register import actions
from siteassess.register.crowd import GIRTH_EDGES_M, SMALLEST_CELL_M, Crowd, KnownTree
from siteassess.register.share import make_copy
from siteassess.register.store import Store
from siteassess.register.verify import verify

BY = actions.By("Ada (invented)", "warden")
ON = datetime.date(2026, 11, 28)
DEGREE = SMALLEST_CELL_M / 111_195  # about a cell's height
TREES = [KnownTree(54.5 + i * DEGREE / 10, 2.5 + j * 2e-4, "tilia", GIRTH_EDGES_M[-1] + 0.1 * (-1) ** j)
         for i in range(-30, 30) for j in range(8)]  # fmt: skip
CROWD = Crowd(TREES)


def park(lat: float, girth: str, name: str = "Tilia cordata") -> dict:
    made = data()
    tree = json.loads(json.dumps(made["anchors"][0]))
    tree |= {"code": "H1", "position": {"lat": lat, "lon": 2.5007}, "species": {"name": name, "certainty": "sure"}}
    tree["trunk"][0]["girth"] = girth
    tree.pop("tag")
    made |= {"anchors": [tree], "lines": []}
    return Record.model_validate(made).model_dump(mode="json", exclude_unset=True)


def told(store) -> tuple:
    (tree,) = (f for f in make_copy(store, "members", ON, crowd=CROWD).features if f.kind == "anchor")
    return tree.points, (tree.record.get("species") or {}).get("name"), tree.girth_class


def border() -> float:
    """A latitude at which one cell ends and the next begins [deg]."""
    cells = [CROWD.told(54.5 + step * 1e-5, 2.5007, "tilia", 1.9).cell for step in range(600)]
    return 54.5 + next(at for at, (one, next_one) in enumerate(zip(cells, cells[1:])) if one != next_one) * 1e-5


@pytest.mark.parametrize("again", [
    {"lat_off": 6e-5}, {"girth": f"{GIRTH_EDGES_M[-1] + 0.02:.2f} m"}, {"lat_off": 6e-5, "girth": "1.85 m"},
])  # fmt: skip
def test_a_second_survey_moves_a_hidden_tree_to_no_other_cell_and_no_other_class(tmp_path, again):
    at, girth = border() - 3e-5, f"{GIRTH_EDGES_M[-1] - 0.02:.2f} m"
    assert CROWD.told(at, 2.5007, "tilia", 1.9).cell != CROWD.told(at + 6e-5, 2.5007, "tilia", 1.9).cell
    with Store.create(tmp_path / "r.gpkg", title="Invented", who="Ada") as store:
        with store.change() as writer:
            actions.add_record(writer, park(at, girth), BY, sensitive=["H1"])
        first = told(store)
        with store.change() as writer:
            later = park(at + again.get("lat_off", 0.0), again.get("girth", girth))
            actions.add_record(writer, later, BY, sensitive=["H1"])
        assert told(store) == first and first[0] and first[1] == "Tilia"


def test_a_kind_that_was_put_right_is_told_no_more(tmp_path):
    with Store.create(tmp_path / "r.gpkg", title="Invented", who="Ada") as store:
        for name in ("Tilia cordata", "Acer campestre"):
            with store.change() as writer:
                actions.add_record(writer, park(54.5012, "1.9 m", name), BY, sensitive=["H1"])
        assert told(store)[1:] == (None, None) and told(store)[0]


def test_a_register_of_an_older_form_tells_as_it_told(tmp_path):
    with Store.create(tmp_path / "r.gpkg", title="Invented", who="Ada") as store:
        with store.change() as writer:
            actions.add_record(writer, park(54.5012, "1.9 m"), BY, sensitive=["H1"])
        first = told(store)
        store.db.execute("UPDATE about SET value = '2' WHERE key = 'store_version'")
    with Store.open(tmp_path / "r.gpkg") as store:
        assert told(store) == first and first[0] and verify(store) == []
    assert (tmp_path / "r.form-2.gpkg").is_file()
