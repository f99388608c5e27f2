"""Whoever holds a copy and the city's open tree inventory cannot tell which tree a hidden one is.

The inventories are the street tree census of New York City, 2015 (5,000 rows as published) and an extract of
OpenStreetMap around Helsinki: see tests/published/data/README-inventories.md. The attack below reads the files of a
copy with nothing of this program but the words of its girth classes.
"""

from __future__ import annotations

import csv
import datetime
import functools
import io
import json
import math
import re
import zipfile
from pathlib import Path
from random import Random

import pytest
from click.testing import CliRunner
from parks import data

from siteassess.cli.register import register as command
from siteassess.register import actions, geojson, hidden
from siteassess.register.events import name_of
from siteassess.register.files import ENDINGS, bring_in, write_copy
from siteassess.register.hidden import GIRTH_EDGES_M, LEAST_CANDIDATES, NEAR_M, Crowd, KnownTree, Told
from siteassess.register.share import make_copy
from siteassess.register.store import Store

DATA = Path(__file__).resolve().parents[1] / "published" / "data"
METRES_A_DEGREE = 111_195.0


@pytest.fixture(scope="module")
def census():
    """The census as the attacker has it: position, genus, girth over bark."""
    with (DATA / "nyc_2015_street_trees_5000.csv").open(encoding="utf-8", newline="") as file:
        rows = list(csv.DictReader(file))
    return [
        KnownTree(
            float(row["latitude"]),
            float(row["longitude"]),
            row["spc_latin"].split(" ")[0].lower() or None,
            # diameters there are whole inches at 1.37 m
            math.pi * 0.0254 * float(row["tree_dbh"]) if float(row["tree_dbh"]) > 0 else None,
        )
        for row in rows
    ]


@pytest.fixture(scope="module")
def crowd(census):
    return Crowd(census)


@pytest.fixture(scope="module")
def helsinki():
    features = json.loads((DATA / "osm_helsinki_trees_parks.geojson").read_text(encoding="utf-8"))["features"]
    return [
        KnownTree(f["geometry"]["coordinates"][1], f["geometry"]["coordinates"][0], None, None)
        for f in features
        if f["properties"].get("natural") == "tree" and f["geometry"]["type"] == "Point"
    ]


def test_of_every_tree_of_the_census_at_least_five_would_be_told_alike(census, crowd):
    """Also to somebody who knows the rule by which more or less is told."""
    alike: dict[Told, int] = {}
    for tree in census:
        told = crowd.told(tree.latitude, tree.longitude, tree.genus, tree.girth_m)
        alike[told] = alike.get(told, 0) + 1
    told_nothing = alike.pop(Told(), 0)
    assert min(alike.values()) >= LEAST_CANDIDATES
    # most of what can be told is: the rule does not get by on silence
    kinds = sum(count for told, count in alike.items() if told.genus)
    classes = sum(count for told, count in alike.items() if told.girth_class)
    assert told_nothing < 0.05 * len(census) and kinds > 0.4 * len(census) and classes > 500


def test_where_no_kind_is_known_the_cell_alone_is_told(helsinki):
    crowd = Crowd(helsinki)
    for tree in helsinki:
        told = crowd.told(tree.latitude, tree.longitude, "quercus", 1.5)
        assert told.genus is None and told.girth_class is None
        assert told.cell is None or len(told.cell.trees) >= LEAST_CANDIDATES


def test_a_cell_is_never_cut_so_that_few_stand_alone():
    # ninety-nine trees in one quarter and one in another: the one must not show by its larger cell
    near = [KnownTree(49.99, 7.99 + i * 1e-6, "tilia", 1.0) for i in range(99)]
    alone = KnownTree(49.97, 7.96, "tilia", 1.0)
    crowd = Crowd([*near, alone])
    assert crowd.told(alone.latitude, alone.longitude, "tilia", 1.0) == crowd.told(49.99, 7.99, "tilia", 1.0)


def test_a_rare_kind_is_not_told_by_leaving_it_untold():
    # four rowans among twenty limes: were the limes named, whoever is not named were a rowan
    place = (50.001, 8.001)
    trees = [KnownTree(*place, "tilia", 1.0)] * 20 + [KnownTree(*place, "sorbus", 1.0)] * 4
    crowd = Crowd(trees)
    assert crowd.told(*place, "tilia", 1.0).genus is None and crowd.told(*place, "sorbus", 1.0).genus is None
    crowd = Crowd([*trees, KnownTree(*place, "acer", 1.0)])
    assert crowd.told(*place, "tilia", 1.0).genus == "tilia" and crowd.told(*place, "sorbus", 1.0).genus is None


def test_girth_classes_meet_at_their_edges():
    words = [hidden.girth_class(edge + step) for edge in GIRTH_EDGES_M for step in (-1e-9, 0.0)]
    assert words == ["under 0.6 m", *["0.6 m to under 1.2 m"] * 2, *["1.2 m to under 1.8 m"] * 2, "1.8 m and more"]
    assert hidden.girth_class(None) is None and hidden.girth_class(math.nan) is None


# -- the attack on whole files --


def _site(number: int, trees: list[KnownTree], sensitive: set[int]) -> tuple[dict, list[str]]:
    """A site record of inventory trees, with codes and tags as a city numbers them, and the codes to hide."""
    anchors = [
        {
            "kind": "tree",
            "code": f"NYC-{number}-{place}",
            "tag": f"TAG{number:05d}{place:02d}",
            "position": {"fixes": [{"lat": tree.latitude, "lon": tree.longitude, "accuracy": "3 m"}]},
            "species": {"name": f"{(tree.genus or 'unknown').capitalize()} secreta", "certainty": "sure"},
            "trunk": [{"girth": f"{tree.girth_m:.4f} m", "read_at": "1.37 m"}],
            "height": "17.31 m",
        }
        for place, tree in enumerate(trees)
    ]
    line = [{
        "id": f"{anchors[0]['code']}..{anchors[1]['code']}"[:24], "use": "low line", "span": {"taped": "17.77 m"},
        "a": {"anchor": anchors[0]["code"], "tie_height": "1.23 m", "sling": {"length": "3.21 m"}},
        "b": {"anchor": anchors[1]["code"]}, "compass": {"out": "123.4 deg", "back": "303.4 deg"},
    }] if len(anchors) > 1 else []  # fmt: skip
    record = {
        "siteassess_record": 1, "site": {"name": f"Invented park {number}", "land_status": "mown amenity"},
        "survey": {"by": "Ada", "date": "2026-04-18"}, "anchors": anchors, "lines": line,
    }  # fmt: skip
    return record, [anchors[place]["code"] for place in sensitive]


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
            record, codes = _site(number, trees, {0, 1} & set(range(len(trees))))
            names = actions.add_record(writer, record, actions.By("Ada", "survey"), sensitive=codes)
            for place, code in enumerate(codes):
                city.hidden[names[f"anchor {code}"]] = trees[place]
    yield city
    city.store.close()


def _metres(tree: KnownTree, lat: float, lon: float) -> tuple[float, float]:
    north = (tree.latitude - lat) * METRES_A_DEGREE
    return north, (tree.longitude - lon) * METRES_A_DEGREE * math.cos(math.radians(lat))


def _candidates(features: list[dict], about: dict, census: list[KnownTree]) -> list[KnownTree]:
    """Trees of the census that a hidden one may be, from all that a members' GeoJSON says of it and around it."""
    said = about["properties"]
    left = census
    if about["geometry"]:
        lon, lat = about["geometry"]["coordinates"]
        # half a side and a hair, for cells narrow towards the pole
        half = said["accuracy_m"] / 2**0.5 * 1.005
        left = [t for t in left if all(abs(m) <= half for m in _metres(t, lat, lon))]
    if genus := said.get("species"):
        left = [t for t in left if t.genus == genus.lower()]
    if words := said.get("girth_class"):
        left = [t for t in left if hidden.girth_class(t.girth_m) == words]
    shown = [
        f["geometry"]["coordinates"]
        for f in features
        if f["properties"]["site_id"] == said["site_id"] and f["properties"]["exact"] == "yes" and f["geometry"]
        and f["properties"]["feature"] == "anchor"
    ]  # fmt: skip
    if shown:
        left = [t for t in left if any(math.hypot(*_metres(t, lat, lon)) <= NEAR_M for lon, lat in shown)]
    # what is shown, in whichever park, is not hidden
    known = [
        f["geometry"]["coordinates"]
        for f in features
        if f["properties"]["exact"] == "yes" and f["properties"]["feature"] == "anchor"
    ]
    return [t for t in left if not any(math.hypot(*_metres(t, lat, lon)) < 1 for lon, lat in known)]


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
        left.append(len(_candidates(features, about[name], census)))
        told = about[name]["properties"]
        # what is told is true, so that the search is no search for somebody else
        assert told.get("species", "").lower() in ("", tree.genus or "")
        assert told.get("girth_class") in (None, hidden.girth_class(tree.girth_m))
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
    for ending in ENDINGS:
        for path in write_copy(city.store, copied, tmp_path / f"{layer}{ending}"):
            raw = path.read_bytes()
            if path.suffix == ".zip":
                with zipfile.ZipFile(io.BytesIO(raw)) as archive:
                    raw = b"".join(name.encode() + archive.read(name) for name in archive.namelist())
            text = raw.decode("latin-1")
            found = {code for code in secret if re.search(rf"{code}(?!\d)", text)}
            assert not found, (path.name, found)
            # a metre in latitude is shared with shown trees by chance, a tenth of one is not
            numbers = [str(tree.latitude)[:9] for tree in city.hidden.values()]
            assert not [number for number in numbers if number in text], path.name
            if layer == "public":
                assert "secreta" not in text


def test_a_copy_tells_no_hour(city, tmp_path):
    """Stamps carry the day alone: when somebody was at work is nobody's business, and T01 is a time of day too."""
    copied = make_copy(city.store, "members", city.today)
    for ending in ENDINGS:
        for path in write_copy(city.store, copied, tmp_path / f"members{ending}"):
            raw = path.read_bytes()
            if path.suffix == ".zip":
                with zipfile.ZipFile(io.BytesIO(raw)) as archive:
                    assert {info.date_time for info in archive.infolist()} == {(1980, 1, 1, 0, 0, 0)}
                    raw = b"".join(archive.read(name) for name in archive.namelist())
            hours = set(re.findall(r"\d{4}-\d\d-\d\d[T ](\d\d:\d\d)", raw.decode("latin-1")))
            assert hours <= {"00:00"}, path.name


def test_the_order_and_the_names_of_hidden_things_tell_nothing(new_group, census):
    """The same trees listed twice bear other names, codes and places in the file: they are salted, not of the tree."""
    record, codes = _site(1, census[:12], set(range(12)))
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
    assert "TAG" not in geojson.write(copied)


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


@pytest.fixture(scope="module")
def neighbours(census):
    """A seeded sample of pairs of the census within 100 m, each a park of its own."""
    chance = Random(20152)
    grown = [tree for tree in census if (tree.girth_m or 0.0) >= 0.1]
    pairs = []
    while len(pairs) < 150:
        one = chance.choice(grown)
        near = [t for t in grown if t is not one and math.hypot(*_metres(t, one.latitude, one.longitude)) <= 100]
        pairs += [(one, chance.choice(near))] if near else []
    return pairs


def test_trees_that_are_shown_are_no_candidates_for_one_that_is_not(tmp_path, census, crowd):
    """The worst case: a park shows just those trees among which its hidden one would stay lost."""
    chance, made, told = Random(2016), {}, 0
    grown = [tree for tree in census if (tree.girth_m or 0.0) >= 0.1]
    with Store.create(tmp_path / "shown.gpkg", title="Invented", who="Ada") as store:
        with store.change() as writer:
            for number in range(80):
                tree = chance.choice(grown)
                alike = [t for t in grown if t is not tree and t.genus == tree.genus]
                alike.sort(key=lambda t: math.hypot(*_metres(t, tree.latitude, tree.longitude)))
                record, codes = _site(number, [tree, *alike[:5]], {0})
                record["lines"] = []
                names = actions.add_record(writer, record, actions.By("Ada", "survey"), sensitive=codes)
                made[names[f"anchor {codes[0]}"]] = tree
        copied = make_copy(store, "members", City.today, crowd=crowd)
        (path,) = write_copy(store, copied, tmp_path / "members.geojson")
    features = json.loads(path.read_text(encoding="utf-8"))["features"]
    about = {f["id"]: f for f in features}
    for name in made:
        if about[name]["geometry"] is not None:
            told += 1
            assert len(_candidates(features, about[name], census)) >= LEAST_CANDIDATES
    assert told > 5


def _in_some_way(row: int, domains: list[list[KnownTree]], reach_m: float) -> list[KnownTree]:
    """Trees the one in that place of a chain may be, its neighbours within reach, all of them different."""

    def goes_on(chain: list[KnownTree], rest: list[int]) -> bool:
        if not rest:
            return True
        beside = rest[0] + (1 if rest[0] < row else -1)
        known = dict(chain)
        near = (t for t in domains[rest[0]] if t not in known.values()
                and math.hypot(*_metres(t, known[beside].latitude, known[beside].longitude)) <= reach_m)  # fmt: skip
        return any(goes_on([*chain, (rest[0], t)], rest[1:]) for t in near)

    outward = [*range(row - 1, -1, -1), *range(row + 1, len(domains))]
    return [t for t in domains[row] if goes_on([(row, t)], outward)]


@pytest.mark.parametrize("length", [3, 4])
def test_chains_of_hidden_trees_single_nobody_out(census, crowd, length):
    """Lines from tree to tree, all hidden: in the middle of a chain stands whoever has neighbours on both sides."""
    chance, told_cells, made = Random(2017 + length), 0, 0
    grown = [tree for tree in census if (tree.girth_m or 0.0) >= 0.1]
    near = functools.cache(
        lambda one: [t for t in grown if t is not one and math.hypot(*_metres(t, one.latitude, one.longitude)) <= 100]
    )
    while made < 150:
        chain = [chance.choice(grown)]
        while len(chain) < length and (more := [t for t in near(chain[-1]) if t not in chain]):
            chain.append(chance.choice(more))
        if len(chain) < length:
            continue
        made += 1
        places = [(tree.longitude, tree.latitude) for tree in chain]
        alone = [crowd.told(t.latitude, t.longitude, t.genus, t.girth_m) for t in chain]
        told = hidden.told_of_all(dict(enumerate(zip(alone, places, strict=True))), crowd, places)
        if not any(one.cell for one in told.values()):
            continue
        told_cells += 1
        domains = [crowd.candidates(one) if one.genus else list(one.cell.trees) if one.cell else census
                   for one in told.values()]  # fmt: skip
        in_park = {t for t in census if any(math.hypot(*_metres(t, y, x)) <= NEAR_M for x, y in places)}
        domains = [[t for t in some if t in in_park] for some in domains]
        for row in range(length):
            assert len(_in_some_way(row, domains, 100)) >= LEAST_CANDIDATES
    assert told_cells > 0.4 * made


def test_a_search_that_takes_too_long_and_a_park_of_too_many_tell_nothing(crowd, neighbours, monkeypatch):
    tree = next(one for one, _ in neighbours if crowd.told(one.latitude, one.longitude, None, None).cell)
    place = (tree.longitude, tree.latitude)
    alike = crowd.told(tree.latitude, tree.longitude, None, None)
    trees = list(alike.cell.trees)
    dense = Crowd(KnownTree(t.latitude, t.longitude, "tilia", 1.0) for t in trees)
    told = dense.told(tree.latitude, tree.longitude, "tilia", 1.0)
    places = [(t.longitude, t.latitude) for t in trees]
    assert hidden.told_of_all({"a": (told, place), "b": (told, place)}, dense, places)["a"].cell
    monkeypatch.setattr(hidden, "MOST_TOGETHER", 1)
    assert set(hidden.told_of_all({"a": (told, place), "b": (told, place)}, dense, places).values()) == {Told()}
    monkeypatch.undo()
    monkeypatch.setattr(hidden, "MOST_STEPS", 0)
    assert set(hidden.told_of_all({"a": (told, place), "b": (told, place)}, dense, places).values()) == {Told()}


def test_a_hidden_line_and_the_name_of_its_park_single_nobody_out(tmp_path, census, crowd, neighbours):
    """Both ends are hidden: that they are neighbours is told, and where the park lies is known by its name."""
    told_kinds, told_cells = 0, 0
    with Store.create(tmp_path / "pairs.gpkg", title="Invented pairs", who="Ada") as store:
        made = []
        with store.change() as writer:
            for number, pair in enumerate(neighbours):
                record, codes = _site(number, list(pair), {0, 1})
                record["site"]["emergency"] = {"number": "112", "gate": "under the oak", "access": "by the oak"}
                names = actions.add_record(writer, record, actions.By("Ada", "survey"), sensitive=codes)
                made.append([names[f"anchor {code}"] for code in codes])
        copied = make_copy(store, "members", City.today, crowd=crowd)
        (path,) = write_copy(store, copied, tmp_path / "members.geojson")
    assert "oak" not in path.read_text(encoding="utf-8")
    features = json.loads(path.read_text(encoding="utf-8"))["features"]
    about = {f["id"]: f for f in features}
    for pair, names in zip(neighbours, made, strict=True):
        ends = [about[name] for name in names]
        if not any(end["geometry"] for end in ends):
            # nothing is told but that there is a pair
            assert not any("species" in end["properties"] for end in ends)
            continue
        places = [(t.latitude, t.longitude) for t in pair]
        left = [_candidates(features, end, census) for end in ends]
        left = [[t for t in some if any(math.hypot(*_metres(t, *p)) <= NEAR_M for p in places)] for some in left]
        for one, other in (left, left[::-1]):
            able = [
                t for t in one
                if any(o is not t and math.hypot(*_metres(o, t.latitude, t.longitude)) <= 100 for o in other)
            ]  # fmt: skip
            assert len(able) >= LEAST_CANDIDATES
        told_cells += 1
        told_kinds += any("species" in end["properties"] for end in ends)
    # most of what can be told is: the rule does not get by on silence
    assert told_cells > 0.5 * len(made) and told_kinds > 0.1 * len(made)


# -- the card --


def test_the_card_of_a_hidden_pair_finds_and_measures_nothing(tmp_path):
    from siteassess.advice.assess import assess
    from siteassess.papers.card import card_page
    from siteassess.papers.from_register import line_standing
    from siteassess.papers.handover import manner
    from siteassess.records.record import Record

    on = datetime.date(2026, 5, 20)
    pages = []
    with Store.create(tmp_path / "x.gpkg", title="x", who="Ada") as store:
        for edits in ({}, {"T1.trunk.0.girth": "250 cm"}):
            judged = assess(Record.model_validate(data(edits)))
            if not pages:
                with store.change() as writer:
                    values = judged.record.model_dump(mode="json", exclude_unset=True)
                    actions.add_record(writer, values, actions.By("Ada", "x"), sensitive=["T1"])
            pages.append(card_page(judged, "L1", manner(made_on=on), line_standing(store, judged, "L1", on)))
    for said in ("Quercus", "X-T1", "T1", "T2", "20 m", "20.0 m", "090°", "188", "75 mm", "54.5"):
        # the names of entries are made by chance, and may hold any figure
        assert said not in re.sub(r"<style.*?</style>|[0-9a-f]{12,}", "", pages[0], flags=re.S), said
    # its version is no hash by which a guess at the readings could be tried
    version = r"[0-9a-f]{12}(?![0-9a-f])"
    assert re.findall(version, pages[0]) == re.findall(version, pages[1])
