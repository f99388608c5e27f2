"""Whoever holds the files of a copy and the city's open tree inventory cannot tell which tree a hidden one is."""

from __future__ import annotations

import csv
import datetime
import io
import json
import re
import zipfile
from random import Random

import pytest
from click.testing import CliRunner
from tree_inventories import DATA, candidates_in, park_of

from siteassess.cli.register import register as command
from siteassess.papers.copy_page import copy_page
from siteassess.register import actions, map_files
from siteassess.register.crowd import LEAST_CANDIDATES, girth_class
from siteassess.register.events import name_of
from siteassess.register.files import COPY_ENDINGS, bring_in, write_copy
from siteassess.register.share import make_copy
from siteassess.register.store import Store


class City:
    """A register of many places, and the trees hidden in it by name."""

    today = datetime.date(2026, 5, 1)

    def __init__(self, store):
        self.store, self.hidden = store, {}


@pytest.fixture(scope="module")
def city(tmp_path_factory, census):
    """A register of 120 places in the census: lone hidden trees, hidden pairs, and hidden ones beside others shown."""
    chance = Random(20151)
    # the record takes no trunk under 10 cm round
    grown = [tree for tree in census if (tree.girth_m or 0.0) >= 0.1]
    by_place = sorted(grown, key=lambda t: (round(t.latitude, 3), round(t.longitude, 3)))
    city = City(Store.create(tmp_path_factory.mktemp("city") / "city.gpkg", title="Invented city", who="Ada"))
    with city.store.change() as writer:
        for number in range(120):
            start = chance.randrange(len(by_place) - 4)
            trees = by_place[start : start + chance.choice([1, 2, 4])]
            record, codes = park_of(number, trees, {0, 1} & set(range(len(trees))))
            names = actions.add_record(writer, record, actions.By("Ada", "survey"), sensitive=codes)
            for place, code in enumerate(codes):
                city.hidden[names[f"anchor {code}"]] = trees[place]
    yield city
    city.store.close()


@pytest.mark.parametrize("held_against", [True, False])
def test_five_trees_remain_for_every_hidden_one(city, census, crowd, held_against, tmp_path):
    copied = make_copy(city.store, "members", city.today, crowd=crowd if held_against else None)
    (path,) = write_copy(city.store, copied, tmp_path / "members.geojson")
    features = json.loads(path.read_text(encoding="utf-8"))["features"]
    about = {f["id"]: f for f in features}
    left = []
    for name, tree in city.hidden.items():
        if not held_against:
            # without an inventory nothing is told, so that all that is left to go by is where its neighbours stand
            assert set(about[name]["properties"]["record"]) == {"kind", "code"} and about[name]["geometry"] is None
            continue
        left.append(len(candidates_in(features, about[name], census)))
        told = about[name]["properties"]
        # what is told is true, so that the search is no search for somebody else
        assert told.get("species", "").lower() in ("", tree.genus or "")
        assert told.get("girth_class") in (None, girth_class(tree.girth_m))
    assert not held_against or min(left) >= LEAST_CANDIDATES
    kinds = sum("species" in about[name]["properties"] for name in city.hidden)
    assert (kinds > 20) == held_against


@pytest.mark.parametrize("layer", ["public", "members"])
def test_nothing_in_any_file_names_or_measures_a_hidden_tree(city, crowd, layer, tmp_path):
    copied = make_copy(city.store, layer, city.today, crowd=crowd)
    codes = [e.body["record"]["code"] for e in city.store.events() if e.kind == "anchor"]
    shown = {f.code for f in copied.features}
    secret = [code for code in codes if code not in shown]
    assert len(secret) >= len(city.hidden)
    for ending in COPY_ENDINGS:
        for path in write_copy(city.store, copied, tmp_path / f"{layer}{ending}", page=copy_page):
            raw = path.read_bytes()
            if path.suffix == ".zip":
                with zipfile.ZipFile(io.BytesIO(raw)) as archive:
                    raw = b"".join(name.encode() + archive.read(name) for name in archive.namelist())
            text = raw.decode("latin-1")
            found = {code for code in secret if re.search(rf"{code}(?!\d)", text)}
            assert not found, (path.name, found)
            # a tenth of a metre in latitude is shared with shown trees by chance, a hundredth is not
            numbers = [form for t in city.hidden.values() for form in (str(t.latitude), f"{t.latitude:.7f}")]
            assert not [number for number in numbers if number in text], path.name
            if layer == "public":
                assert "secreta" not in text


def test_a_copy_tells_no_hour(city, tmp_path):
    """Stamps carry the day alone: when somebody was at work is nobody's business, and T01 is a time of day too."""
    copied = make_copy(city.store, "members", city.today)
    for ending in COPY_ENDINGS:
        for path in write_copy(city.store, copied, tmp_path / f"members{ending}", page=copy_page):
            raw = path.read_bytes()
            if path.suffix == ".zip":
                with zipfile.ZipFile(io.BytesIO(raw)) as archive:
                    assert {info.date_time for info in archive.infolist()} == {(1980, 1, 1, 0, 0, 0)}
                    raw = b"".join(archive.read(name) for name in archive.namelist())
            hours = set(re.findall(r"\d{4}-\d\d-\d\d[T ](\d\d:\d\d)", raw.decode("latin-1")))
            assert hours <= {"00:00"}, path.name


def test_the_order_and_the_names_of_hidden_things_tell_nothing(new_group, census):
    """The same trees listed twice bear other names, codes and places in the file: they are salted, not of the tree."""
    record, codes = park_of(1, census[:12], set(range(12)))
    orders, names = [], []
    for name in ("one", "two"):
        group = new_group(name, None)
        made = group.do(actions.add_record, record, sensitive=codes)
        copied = make_copy(group.store, "members", group.today)
        by_id = {made[f"anchor {code}"]: code for code in codes}
        orders.append([by_id[f.id] for f in copied.features if f.kind == "anchor"])
        names.append({f.code for f in copied.features if f.kind != "site"})
        event = group.store.event(made[f"anchor {codes[0]}"])
        assert len(event.salt) >= 16 and name_of(event.content.replace(event.salt, "")) != event.name
    assert orders[0] != orders[1] and not names[0] & names[1]


def test_officers_find_a_hidden_thing_by_the_code_members_have(city):
    from siteassess.register.naming import resolve

    copied = make_copy(city.store, "members", city.today)
    for feature in copied.features:
        if feature.id in city.hidden:
            assert resolve(city.store, feature.code) == feature.id


def test_a_copy_with_hidden_trees_can_be_taken_in_elsewhere(city, crowd, new_group, tmp_path):
    copied = make_copy(city.store, "members", city.today, crowd=crowd)
    (path,) = write_copy(city.store, copied, tmp_path / "members.geojson")
    other = new_group("other", None)
    report = bring_in(other.store, path, other.by(), other.today)
    assert not report["left_out"] and len(report["added"]) == len(copied.features)


def test_one_trunk_listed_twice_is_hidden_under_both_names(new_group, park):
    group = new_group("g", None)
    names = group.do(actions.add_record, park)
    again = {**park, "site": {**park["site"], "name": "Elsewhere"}, "anchors": park["anchors"][2:], "lines": []}
    other = group.do(actions.add_record, again, sensitive=["T03"])
    exact = {f.id: f.exact for f in make_copy(group.store, "members", group.today).features}
    assert exact[names["anchor T03"]] and not exact[other["anchor T03"]]
    group.do(actions.join, names["anchor T03"], other["anchor T03"])
    exact = {f.id: f.exact for f in make_copy(group.store, "members", group.today).features}
    assert not exact[names["anchor T03"]] and not exact[names["anchor T02"]] and not exact[names["line L2"]]


def listed_twice(new_group, park):
    """A park, and the last two of its trees with their line again under another park's name; there T03 is hidden."""
    group = new_group("g", None)
    names = group.do(actions.add_record, park)
    again = json.loads(json.dumps({**park, "anchors": park["anchors"][1:], "lines": park["lines"][1:]}))
    again["site"]["name"] = "Elsewhere"
    for one in again["anchors"]:
        one["code"] = f"TAG-{one['code']}"
    again["lines"][0] |= {"id": "TAG-L", "a": {"anchor": "TAG-T02"}, "b": {"anchor": "TAG-T03"}}
    return group, names, group.do(actions.add_record, again, sensitive=["TAG-T03"])


@pytest.mark.parametrize(("one", "other"), [("line L2", "line TAG-L"), ("anchor T02", "anchor TAG-T02")])
def test_a_hidden_line_is_hidden_under_the_names_of_its_trees_and_its_own(new_group, park, one, other):
    """The far tree alone is told apart: its line, or the line's other tree, stands in a second park too."""
    group, names, elsewhere = listed_twice(new_group, park)
    group.do(actions.join, names[one], elsewhere[other])
    group.log(elsewhere[other], what="rest", until="2026-09-30", date="2026-04-30")
    copied = make_copy(group.store, "members", group.today)
    # what hangs on a hidden tree is hidden too, along all the lines of a park
    assert not [feature.code for feature in copied.features if feature.exact and feature.kind != "site"]
    assert "TAG" not in map_files.geojson(copied)


def test_the_command_holds_a_copy_against_an_inventory(city, tmp_path):
    out = tmp_path / "members.csv"
    done = CliRunner().invoke(command, [
        "export", str(city.store.path), str(out), "--layer", "members", "--on", "2026-05-01",
        "--inventory", str(DATA / "nyc_2015_street_trees_5000.csv"),
    ])  # fmt: skip
    assert done.exit_code == 0, done.output
    rows = list(csv.DictReader(out.open(encoding="utf-8", newline="")))
    told = [row for row in rows if row["id"] in city.hidden]
    assert len(told) == len(city.hidden)
    assert sum(bool(row["species"]) for row in told) > 20 and any(row["girth_class"] for row in told)
    assert not any(row["girth_m"] for row in told)
