"""Whoever holds the outline of a hidden tree's park beside the inventory finds five trees inside it, or none told."""

from __future__ import annotations

import dataclasses
import json
from collections.abc import Callable
from random import Random

import pytest
import shapely
from click.testing import CliRunner
from made_copies import BY, ON, History, candidates
from tree_inventories import DATA, METRES_A_DEGREE, candidates_in, dense_trees, helsinki_trees, park_of

from siteassess.cli.register import register as command
from siteassess.errors import FaultyInput
from siteassess.places.features import PlacedFeature
from siteassess.register import actions, map_files
from siteassess.register.crowd import LEAST_CANDIDATES, SHOWN_M, Crowd, KnownTree, Saying
from siteassess.register.outlines import EDGE_M, Outlines, read_outlines
from siteassess.register.share import make_copy
from siteassess.register.store import Store

HELSINKI = DATA / "osm_helsinki_trees_parks.geojson"
STEP = 1 / METRES_A_DEGREE  # a metre of latitude [deg]


def inside(outline, tree: KnownTree) -> bool:
    return outline.intersects(shapely.Point(tree.longitude, tree.latitude))


def parks_of_helsinki(chance: Random, genera: bool) -> tuple[list[KnownTree], list[tuple]]:
    """Trees of the map, kinds and girths drawn by lot, and of each park its outline, a tree to hide and three others"""
    kinds = ("tilia", "tilia", "tilia", "acer", "betula", "quercus") if genera else (None,)
    drawn = [dataclasses.replace(tree, genus=chance.choice(kinds), girth_m=chance.choice((0.5, 0.9, 1.5, 2.0)))
             for tree in dict.fromkeys(helsinki_trees())]  # fmt: skip
    features = json.loads(HELSINKI.read_text(encoding="utf-8"))["features"]
    outlines = [shapely.geometry.shape(f["geometry"]) for f in features if f["properties"].get("leisure") == "park"]
    with_trees = [(outline, [tree for tree in drawn if inside(outline, tree)]) for outline in outlines]
    return drawn, [(outline, *chance.sample(trees, 4)) for outline, trees in with_trees if len(trees) >= 4]


def left_inside(path, chance: Random, genera: bool, outlines: Outlines | None) -> list[int]:
    """Of every tree told of in its park in Helsinki, how many trees inside the park's outline it may be."""
    trees, parks = parks_of_helsinki(chance, genera)
    left = []
    for number, (outline, *four) in enumerate(parks):
        with Store.create(path / f"{number}.gpkg", title="Invented", who="Ada") as store:
            store.db.execute("PRAGMA synchronous = OFF")
            with store.change() as writer:
                record, codes = park_of(number, four, {0})
                names = actions.add_record(writer, record | {"lines": []}, BY, sensitive=codes)
            copied = make_copy(store, "members", ON, crowd=Crowd(trees, outlines))
        features = json.loads(map_files.geojson(copied))["features"]
        about = next(f for f in features if f["id"] == names[f"anchor {codes[0]}"])
        if about["geometry"]:
            assert bool(copied.no_outline) == (outlines is None)
            left.append(sum(inside(outline, tree) for tree in candidates_in(features, about, trees)))
    return left


@pytest.mark.parametrize("genera", [False, True])
def test_inside_the_outlines_of_helsinki_five_are_left(tmp_path, genera):
    outlines = read_outlines(HELSINKI)
    held, alone = [], []
    for seed in range(3):
        for found, against in ((held, outlines), (alone, None)):
            path = tmp_path / f"{seed}-{against is None}"
            path.mkdir()
            found += left_inside(path, Random(seed), genera, against)
    assert min(held) >= LEAST_CANDIDATES and len(held) > 0.3 * len(alone)
    # without outlines the same search singles trees out: it is no search that finds nothing
    assert sum(left < LEAST_CANDIDATES for left in alone) > 0.1 * len(alone)


def test_five_are_left_inside_after_all_copies_of_an_invented_park_land(tmp_path):
    """Parks that overlap, lie within each other or beside each other; whoever looks takes all that hold the place."""
    told = 0
    for seed in range(40):
        chance = Random(seed)
        trees = dense_trees(chance)
        boxes = []
        for _ in range(14):
            south, west = 54.5 + 0.012 * chance.random(), 2.5 + 0.016 * chance.random()
            high, wide = (chance.uniform(150, 700) * STEP for _ in range(2))
            boxes.append(shapely.box(west, south, west + 1.7 * wide, south + high))

        def struck(beside: list, boxes=boxes) -> Callable[[KnownTree], bool]:
            park = [box for box in boxes if all(box.intersects(shapely.Point(place)) for place in beside)]
            return lambda tree: not all(inside(box, tree) for box in park)

        with Store.create(tmp_path / f"{seed}.gpkg", title="Invented", who="Ada") as store:
            store.db.execute("PRAGMA synchronous = OFF")
            history = History(store, trees, chance)
            history.crowd = Crowd(trees, Outlines(PlacedFeature("park", box) for box in boxes))
            history.run()
        left = candidates(history.copies, history, struck)
        assert {name: len(some) for name, some in left.items() if len(some) < LEAST_CANDIDATES} == {}, seed
        told += len(left)
    assert told > 20


# -- a row of limes, ten metres apart from south to north; outlines are named by the metres they reach from and to --

ROW = [KnownTree(54.5 + 10 * at * STEP, 2.5, "tilia", 1.0) for at in range(12)]


def outline(south_m: float, north_m: float) -> PlacedFeature:
    return PlacedFeature("park", shapely.box(2.499, 54.5 + south_m * STEP, 2.501, 54.5 + north_m * STEP))


def left_of_row(outlines: list[PlacedFeature], *metres: float) -> list[int]:
    """Which of the row are candidates where trees are shown so many metres north of the first."""
    places = tuple((2.5, 54.5 + metre * STEP) for metre in metres)
    return [ROW.index(tree) for tree in Outlines(outlines).within(places, ROW)]


def test_which_outline_holds_a_park():
    assert left_of_row([outline(-5, 45), outline(55, 95)], 10, 20) == [0, 1, 2, 3, 4]
    # a park within a park: readers may take it for the whole, unless trees are shown outside of it
    assert left_of_row([outline(-5, 95), outline(15, 45)], 20) == [2, 3, 4]
    assert left_of_row([outline(-5, 95), outline(15, 45)], 20, 80) == list(range(10))
    # what the register rounds moves no tree out of a park
    assert left_of_row([outline(-5, 95), outline(20.7, 45)], 20) == [3, 4]
    assert left_of_row([outline(-5, 95), outline(21.2, 45)], 20) == list(range(10))
    # two parks that both hold it: inside both
    assert left_of_row([outline(-5, 55), outline(15, 95)], 20) == [2, 3, 4, 5]
    # a list of two parks
    assert left_of_row([outline(-5, 25), outline(75, 115)], 10, 90) == [0, 1, 2, 8, 9, 10, 11]


def test_how_far_over_the_edge_a_tree_may_be_shown_and_how_far_inside_it_counts():
    park, beside = outline(-5, 45), outline(46, 95)
    assert left_of_row([park], 45 + SHOWN_M - 1) == [0, 1, 2, 3, 4]
    assert left_of_row([park], 45 + SHOWN_M + 1) == list(range(12)) and not Outlines([park]).hold(((2.5, 54.6),))
    # one that strayed into the park beside opens it to none; one that stands there does
    assert left_of_row([park, beside], 20, 30, 47) == [0, 1, 2, 3, 4]
    assert left_of_row([park, beside], 20, 30, 80) == list(range(10))
    # a bed that holds but one of three is not the park of the two that strayed
    assert left_of_row([park, outline(17, 25)], -15, 20, 55) == [0, 1, 2, 3, 4]
    # a park across a path is not that of trees this side of it
    assert left_of_row([park, beside], 40) == [0, 1, 2, 3, 4] and left_of_row([park, beside], 50) == [5, 6, 7, 8, 9]
    assert left_of_row([outline(-EDGE_M - 0.5, 40 + EDGE_M - 0.5)], 20) == [0, 1, 2, 3]


def test_a_tree_stands_in_the_park_that_each_copy_showed():
    crowd = Crowd(ROW, Outlines([outline(-5, 95), outline(15, 45)]))
    one, two = (tuple((2.5, 54.5 + metre * STEP) for metre in metres) for metres in ((20,), (20, 80)))
    for sayings in ([Saying(beside=one), Saying(beside=two)], [Saying(beside=two), Saying(beside=one)]):
        assert [ROW.index(tree) for tree in crowd.fitting(sayings, ROW)] == [2, 3, 4]


def test_what_earlier_copies_told_without_an_outline_is_told_no_more_inside_it(tmp_path):
    with Store.create(tmp_path / "row.gpkg", title="Invented", who="Ada") as store:
        history = History(store, ROW, Random(1))
        history.parks, history.lines = [{"T0": [ROW[0], True], "T1": [ROW[1], False]}], [set()]
        history.survey(0)
        hidden = next(name for name, (_, tree) in history.by_name.items() if tree is ROW[0])
        first = history.copy()
        assert {f.id: f.points for f in first.features}[hidden] and not first.too_few and first.no_outline
        # seven limes, of which any of three may be the neighbour that is shown
        history.crowd = Crowd(ROW, Outlines([outline(-5, 65)]))
        copied = history.copy()
        assert not {f.id: f.points for f in copied.features}[hidden]
        assert copied.too_few == [hidden] and not copied.no_outline
        # a neighbour outside the outline takes nobody away, one inside does
        history.parks[0] |= {"T2": [ROW[11], False], "T3": [ROW[5], False]}
        history.survey(0)
        copied = history.copy()
        assert [(one.tree.record["code"], one.left) for one in copied.left_out] == [("T3", 1)]
        assert {f.code for f in copied.features if f.kind == "anchor" and f.exact} == {"T1", "T2"}
        # inside a wider one five are left beside both, and what was told is told again
        history.crowd = Crowd(ROW, Outlines([outline(-5, 75)]))
        copied = history.copy()
        assert {f.id: f.points for f in copied.features}[hidden] and not copied.too_few


def test_a_tree_outside_the_outline_takes_one_away_from_whoever_holds_no_outline(tmp_path):
    """What was told without an outline is too much for whoever holds one, and still has to be enough for the others."""
    with Store.create(tmp_path / "row.gpkg", title="Invented", who="Ada") as store:
        history = History(store, ROW, Random(1))
        history.parks, history.lines = [{"T0": [ROW[0], True], "T1": [ROW[1], False]}], [set()]
        history.survey(0)
        history.copy()
        history.crowd = Crowd(ROW, Outlines([outline(-5, 65)]))
        # of nine limes the first takes two, and the second three
        for number, left_out in ((11, []), (8, [("T3", 4)])):
            history.parks[0][f"T{len(history.parks[0])}"] = [ROW[number], False]
            history.survey(0)
            copied = history.copy()
            assert [(one.tree.record["code"], one.left) for one in copied.left_out] == left_out
        assert min(len(some) for some in candidates(history.copies, history).values()) >= LEAST_CANDIDATES


# -- files and the command --


def map_file(path, *features: tuple[dict, PlacedFeature | shapely.Geometry]):
    made = [{"type": "Feature", "properties": tags, "geometry": shapely.geometry.mapping(shape)}
            for tags, shape in features]  # fmt: skip
    path.write_text(json.dumps({"type": "FeatureCollection", "features": made}), encoding="utf-8")
    return path


def test_outlines_are_read_as_any_map_is(tmp_path):
    wide, narrow = outline(-5, 95).geometry, outline(-5, 45).geometry
    place = ((2.5, ROW[2].latitude),)
    lawn = ({"landuse": "grass"}, narrow)
    tagged = read_outlines(map_file(tmp_path / "a.geojson", ({"leisure": "park"}, wide), lawn))
    assert len(tagged.within(place, ROW)) == 10
    # a city's own file names its polygons nothing; a lake is no park in it
    untagged = read_outlines(map_file(tmp_path / "b.geojson", ({"objectid": 7}, wide), ({"natural": "water"}, narrow)))
    assert len(untagged.within(place, ROW)) == 10
    nothing = map_file(tmp_path / "c.geojson", ({"leisure": "park"}, shapely.Point(2.5, 54.5)))
    with pytest.raises(FaultyInput, match="polygons of parks"):
        read_outlines(nothing)


def test_the_command_says_where_no_outline_was_held_against_a_copy(tmp_path):
    rows = "".join(f"{t.latitude},{t.longitude},Tilia cordata,32\n" for t in ROW)
    (tmp_path / "trees.csv").write_text(f"lat,lon,species,dbh_cm\n{rows}", encoding="utf-8")
    with Store.create(tmp_path / "row.gpkg", title="Invented", who="Ada") as store:
        history = History(store, ROW, Random(1))
        history.parks, history.lines = [{"T0": [ROW[0], True], "T1": [ROW[1], False]}], [set()]
        history.survey(0)

    def run(*more, code=0):
        done = CliRunner().invoke(command, [
            "export", str(tmp_path / "row.gpkg"), str(tmp_path / "out.geojson"), "--layer", "members",
            "--on", "2026-11-28", "--dry-run", "--json", *map(str, more),
        ])  # fmt: skip
        assert done.exit_code == code, done.output
        return (json.loads(done.stdout) if code == 0 else {}), done.stderr

    inventory = ("--inventory", tmp_path / "trees.csv")
    holds, elsewhere = (
        map_file(tmp_path / f"{name}.geojson", ({"leisure": "park"}, outline(*reach).geometry))
        for name, reach in (("holds", (-5, 95)), ("elsewhere", (900, 999)))
    )
    values, said = run(*inventory)
    assert len(values["no_outline"]) == 1 and "Invented park 0: no park outlines were held" in said
    assert "within 150 m" in said and "fewer than five" in said and "--park" in said
    values, said = run(*inventory, "--park", elsewhere)
    assert len(values["no_outline"]) == 1 and "Invented park 0: no outline in elsewhere.geojson" in said
    values, said = run(*inventory, "--park", holds)
    assert values["no_outline"] == [] and "outline" not in said
    _, said = run("--park", holds, code=2)
    assert "--park needs --inventory" in said
    # nothing is told, so that nothing has to be said of it
    values, said = run()
    assert values["no_outline"] == [] and "outline" not in said
