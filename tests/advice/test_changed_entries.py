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
