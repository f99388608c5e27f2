"""Which entries are one tree, at the edges: by hand, with trunks of a known thickness and errors of a known size."""

from __future__ import annotations

import copy
import math

import pytest
from parks import BASE, record

from siteassess.advice.entries import entries_of
from siteassess.advice.geometry import Places

EAST_M = 111_320.0 * math.cos(math.radians(54.5))  # of a degree
FIX = BASE["anchors"][0]["position"]


def of_trees(*trees: dict, **more):
    made = record({"anchors": [*trees], **more})
    return entries_of(made, Places(made))


def tree(code: str, east: float | None = 0.0, north: float = 0.0, **fields) -> dict:
    """T1 once more, so many metres from it, or nobody knows where."""
    place = FIX | {"lon": 2.5 + (east or 0.0) / EAST_M, "lat": 54.5 + north / 111_320.0}
    return copy.deepcopy(BASE["anchors"][0]) | {
        "code": code, "tag": None, "position": None if east is None else place} | fields


def trunk(*girths: str) -> list[dict]:
    return [{"girth": girth, "read_at": f"{1.3 + number} m", "how": "taped"} for number, girth in enumerate(girths)]


T1, T2 = tree("T1"), BASE["anchors"][1]


def one_tree(second: dict, first: dict = T1, **more) -> bool:
    return of_trees(first, T2, second, **more).others("T1") == ("T1b",)


def tied(length: str, **fields) -> dict:
    """The tree once more in its place, with a tape to its first entry."""
    made = tree("T1b", **fields)
    made["position"] = {"fixes": [made["position"]], "ties": [{"landmark": "T1", "distance": length}]}
    return made


@pytest.mark.parametrize("length, one", [("0.6 m", True), ("0.61 m", False)])
def test_a_tape_as_long_as_the_trunk_is_thick_lies_within_it(length, one):
    """Two trunks 0.6 m thick whose middles lie 0.6 m apart stand in each other by half."""
    thick = [{"diameter": "60 cm", "read_at": "1.3 m", "how": "taped"}]
    unplaced = tree("T1b", trunk=thick) | {"position": {"ties": [{"landmark": "T1", "distance": length}]}}
    assert one_tree(unplaced, tree("T1", trunk=thick)) is one


@pytest.mark.parametrize("length, one", [("0.1 m", True), ("0.15 m", True), ("0.16 m", False)])
def test_of_thin_trunks_with_one_reading_a_tape_up_to_across_what_is_equal_as_rounded_is_one(length, one):
    """By hand: six decimals of a degree are 0.111 m of latitude, and the diagonal of that square is 0.157 m."""
    thin = trunk("30 cm")
    assert one_tree(tied(length, trunk=thin), tree("T1", trunk=thin)) is one


def test_a_tape_longer_than_the_trunk_tells_two_trees_of_one_name():
    """The positions alone, two metres apart with errors as large, would leave it open."""
    named = tree("T1", name="gate oak"), T2, tree("T1b", 2.0, name="gate oak")
    pair = {"a": "T1", "b": "T1b", "span": {"taped": "2 m"}}
    assert of_trees(*named).may_be("T1") == ("T1b",)
    assert of_trees(*named, measured_pairs=[pair]).may_be("T1") == ()


@pytest.mark.parametrize("apart, doubted", [(2.7, True), (2.95, False)])
def test_positions_tell_two_trees_of_one_name_from_two_standard_errors_of_both_on(apart, doubted):
    """A circle of 68 % of a metre and a half is a metre each way; by hand 2 x sqrt(2) m for two of them."""
    read = {"accuracy": "1.5096 m", "accuracy_means": "68 %"}
    first, second = tree("T1", name="gate oak"), tree("T1b", apart, name="gate oak")
    for one in (first, second):
        one["position"] |= read
    assert (of_trees(first, T2, second).may_be("T1") == ("T1b",)) is doubted


@pytest.mark.parametrize("many, doubted", [(20, True), (21, False)])
def test_a_name_that_more_than_twenty_bear_names_only_the_ends_of_lines(many, doubted):
    """Judgement: such as oak. X1 bears no line."""
    named = [tree("T1", name="oak"), *(tree(f"X{number}", None, name="oak") for number in range(1, many))]
    found = of_trees(*named, T2)
    assert ("X2" in found.may_be("X1")) is doubted and "X1" in found.may_be("T1")


@pytest.mark.parametrize("apart, one", [((0.5, 0.0), True), ((0.0, 0.5), True), ((0.0, -0.5), True),
                                        ((0.4, 0.4), True), ((0.5, 0.5), False), ((0.0, 0.7), False)])  # fmt: skip
def test_beside_a_thin_tree_thick_ones_are_as_thick(apart, one):
    """Two entries of one trunk of 60 cm, half a metre apart, in a park with a sapling of 10 cm."""
    sapling = tree("S1", 9.0, 9.0, trunk=trunk("30 cm"))
    assert (of_trees(T1, sapling, tree("T1b", *apart)).others("T1") == ("T1b",)) is one


@pytest.mark.parametrize("girths", [("188.5 cm", "60 cm"), ("60 cm", "188.5 cm")])
def test_a_trunk_is_as_thick_as_its_thickest_reading(girths):
    """A second trunk cannot stand in the foot of the first, whatever is left of it higher up."""
    assert one_tree(tree("T1b", 0.5, trunk=trunk(*girths)), tree("T1", trunk=trunk(*girths)))


def test_the_two_ends_of_the_degrees_are_one_place():
    second, first, beside = (copy.deepcopy(one) for one in (T1, T1, T2))
    first["position"]["lon"], second["position"]["lon"], beside["position"]["lon"] = 180.0, -180.0, 179.9997
    assert of_trees(first, beside, second | {"code": "T1b"}).others("T1") == ("T1b",)


@pytest.mark.parametrize("apart, one", [(1.9, True), (2.1, False)])
def test_a_boulder_is_as_thick_as_its_lesser_side_and_a_post_as_its_place(apart, one):
    def boulder(code: str, east: float) -> dict:
        placed = tree(code, east)["position"]
        return {"kind": "boulder", "code": code, "position": placed, "along_pull": "3 m", "across_pull": "2 m"}

    assert (of_trees(boulder("T1", 0.0), T2, boulder("T1b", apart)).others("T1") == ("T1b",)) is one
    posts = [{"kind": "other", "code": code, "what": "post", "position": tree(code, east)["position"]}
             for code, east in (("T1", 0.0), ("T1b", 0.9), ("T1c", 0.0))]  # fmt: skip
    assert of_trees(*posts, T2).others("T1") == ("T1c",)


def boulder(code: str, east: float, along: str = "3 m", across: str = "2 m") -> dict:
    placed = tree(code, east)["position"]
    return {"kind": "boulder", "code": code, "position": placed, "along_pull": along, "across_pull": across}


@pytest.mark.parametrize("apart, kind, doubted", [(1.5, "boulder", True), (2.1, "boulder", False),
                                                  (1.5, "tree", False)])  # fmt: skip
def test_two_boulders_so_near_may_be_one_and_a_tree_beside_one_is_none(apart, kind, doubted):
    beside = boulder("T1b", apart, "1 m", "1 m") if kind == "boulder" else tree("T1b", apart)
    found = of_trees(boulder("T1", 0.0, "1 m", "1 m"), T2, beside)
    assert (found.may_be("T1") == ("T1b",)) is doubted and found.others("T1") == ()


@pytest.mark.parametrize("thicker, doubted", [("221 cm", True), ("223 cm", False)])
@pytest.mark.parametrize("turned", [False, True])
def test_two_girths_of_one_trunk_differ_by_up_to_fifteen_in_a_hundred_of_the_thicker(thicker, doubted, turned):
    """188.5 cm are 85 % of 221.8 cm (data/constants.csv, judgement), whichever entry comes first or stands north."""
    girths = [trunk("188.5 cm"), trunk(thicker)]
    first, second = reversed(girths) if turned else girths
    for north in (0.1, -0.1):
        found = of_trees(tree("T1", trunk=first), T2, tree("T1b", 1.9, north, trunk=second))
        assert (found.may_be("T1") == ("T1b",)) is doubted


def test_of_two_readings_each_one_alike_is_enough_and_none_tells_nothing():
    """Foot and breast of one trunk differ by more than a tape; a tree nobody taped may be any."""
    twice = trunk("188.5 cm", "260 cm")
    assert of_trees(tree("T1", trunk=twice), T2, tree("T1b", 1.9, trunk=twice)).may_be("T1") == ("T1b",)
    assert of_trees(T1, T2, tree("T1b", 1.9, trunk=[])).may_be("T1") == ("T1b",)


@pytest.mark.parametrize("apart, doubted", [(1.99, True), (2.01, False)])
def test_a_surveyor_tells_trees_apart_from_two_metres_on(apart, doubted):
    """Data/constants.csv, judgement."""
    assert (of_trees(T1, T2, tree("T1b", apart)).may_be("T1") == ("T1b",)) is doubted


@pytest.mark.parametrize("first, second, doubted", [
    ("17", "17-a", True), ("17-a", "17", True), ("17", "17", True), ("17-a", "17-b", False), (None, "17", True),
    ("17", None, True),
])  # fmt: skip
def test_of_entries_without_a_place_a_number_tells_those_apart_that_each_have_what_the_other_lacks(
    first, second, doubted
):
    """One with a note is the bare one for all that it tells; none is any."""
    found = of_trees(tree("T1", name="gate oak", tag=first), T2, tree("T1b", None, name="gate oak", tag=second))
    assert ("T1b" in (*found.may_be("T1"), *found.others("T1"))) is doubted


@pytest.mark.parametrize("length, doubted", [("22 m", True), ("18 m", True), ("22.1 m", False), ("17.9 m", False)])
def test_two_trees_two_metres_nearer_to_a_third_may_be_one_where_one_has_no_place(length, doubted):
    """L1 is taped at 20 m."""
    line = copy.deepcopy(BASE["lines"][0])
    other = copy.deepcopy(line) | {"id": "L2", "span": {"taped": length, "along": "horizontal"}}
    other["a"]["anchor"] = "T1b"
    found = of_trees(T1, T2, tree("T1b", None), lines=[line, other])
    assert (found.may_be("T1") == ("T1b",)) is doubted


def test_a_tree_with_a_stop_sign_that_has_no_place_may_be_any_end_of_a_line():
    marked = tree("T9", None, signs=BASE["anchors"][0]["signs"] | {"dead_tree": "yes"})
    found = of_trees(T1, T2 | {"tag": None}, tree("T3", 9.0), marked)
    assert set(found.may_be("T9")) == {"T1", "T2"} and found.may_be("T1") == ("T9",)
