"""One tree under two codes bears both its lines, however its number or its place was written."""

from __future__ import annotations

import copy

import pytest
from parks import BASE, record

from siteassess.advice.assess import assess
from siteassess.advice.entries import entries_of
from siteassess.advice.geometry import Places

FIX = BASE["anchors"][0]["position"]
HERE, THERE = 2.5, 2.5006  # forty metres on, past any error of the two, and past T2
DEAD = BASE["anchors"][0]["signs"] | {"dead_tree": "yes"}


def east(metres: float) -> float:
    return HERE + metres / 64_640.0


def codes(result) -> list[str]:
    return [one.code for one in result.findings]


def again(tag: str | None, position: dict | float | None = THERE, **fields) -> dict:
    """A second entry of T1."""
    placed = FIX | {"lon": position} if isinstance(position, float) else position
    return copy.deepcopy(BASE["anchors"][0]) | {"code": "T1b", "tag": tag, "position": placed} | fields


def trees_of(second: dict, **more):
    made = record({"anchors": [*BASE["anchors"], second], **more})
    return entries_of(made, Places(made))


def joined(second: dict, **more) -> bool:
    return trees_of(second, **more).others("T1") == ("T1b",)


def doubted(second: dict, **more) -> bool:
    found = trees_of(second, **more)
    assert not set(found.others("T1")) & set(found.may_be("T1"))
    return found.may_be("T1") == ("T1b",)


def twice(second: dict, **line) -> tuple[dict, dict]:
    """Edits for a second line from a second entry of T1, and those for one from T1 itself."""
    known = copy.deepcopy(BASE["lines"][0]) | {"id": "L2"} | line
    entered = copy.deepcopy(known)
    entered["a"]["anchor"] = "T1b"
    return ({"anchors": [*BASE["anchors"], second], "lines": [BASE["lines"][0], entered]},
            {"lines": [BASE["lines"][0], known]})  # fmt: skip


@pytest.mark.parametrize("tag, where, one", [
    ("X-T1", HERE, True), ("x-t1", THERE, True), ("X T1 ", THERE, True), (None, HERE, True), ("untagged", HERE, True),
    ("X-9", HERE, True), ("X-9", east(1), False), (None, east(9), False), ("untagged", east(9), False),
])  # fmt: skip
def test_lines_on_two_entries_of_one_tree_are_added_and_nothing_suits(tag, where, one):
    """By the manager's number, or by one place whatever the tags say: two trunks do not stand in each other."""
    entered, known = (assess(record(edits), remedies=False).lines for edits in twice(again(tag, where)))
    alone = assess(record(), remedies=False).lines[0].anchors[0].hold_use
    use = known[0].anchors[0].hold_use
    assert entered[0].anchors[0].hold_use == (pytest.approx(use) if one else alone) and use > 1.5 * alone
    assert [("tree-entered-twice" in codes(line)) for line in entered] == [one, one]
    assert not one or {line.verdict for line in entered} <= {"cannot say", "leave it"}


@pytest.mark.parametrize("tag", ["017", "No. 17", "Nr. 17", "Nº 17", "n° 17", "№17", "N. 17", "Tree 17", "Baum 17",
                                 "tree no 17", "#17", "17.", "１７", "١٧", "Árbol 17", "Tag: 17"])  # fmt: skip
def test_one_number_is_one_tree_however_it_is_spelt(tag):
    assert joined(again(tag), **{"T1.tag": "17"})


@pytest.mark.parametrize("one, other", [("X-T1", "Х-Т1"), ("O-17", "0-17"), ("A17", "Α17"), ("b 7", "B-07")])
def test_letters_that_look_alike_are_read_alike(one, other):
    assert joined(again(other), **{"T1.tag": one})


@pytest.mark.parametrize("one, other", [("17", "17a"), ("17", "171"), ("17", "T17"), ("170", "17"), ("N17", "17"),
                                        ("Row 3 tree 17", "Row 3 tree 18"), ("17", "17/1"), ("X-T1", "Y-T1"),
                                        ("untagged", "untagged"), ("no", "no")])  # fmt: skip
def test_another_number_is_another_tree(one, other):
    assert not joined(again(other), **{"T1.tag": one}) and not doubted(again(other), **{"T1.tag": one})


@pytest.mark.parametrize("position", [
    {"at": "54.5 2.5"}, {"at": "54°30'00\"N 2°30'00\"E", "accuracy": "2 m"}, FIX | {"lon": east(0.05)},
    FIX | {"lon": east(0.59)}, {"fixes": [FIX | {"lon": east(9)}, FIX]},
    {"fixes": [FIX | {"lon": east(9)}, {"at": "54.5 2.5"}]}, {"ties": [{"landmark": "T1", "distance": "0 m"}]},
    {"ties": [{"landmark": "T1", "distance": "0.5 m"}]},
    {"ties": [{"landmark": "T1", "distance": "0.1 m", "bearing": "90 deg", "north": "true"}]},
])  # fmt: skip
def test_one_place_is_one_tree_however_it_is_written(position):
    """Within the thickness of a trunk, 60 cm."""
    assert joined(again(None, position))


def test_a_place_told_of_a_landmark_or_by_a_measured_pair_is_a_place_too():
    thick = [{"girth": "330 cm", "read_at": "1.3 m", "how": "taped"}]
    near = [{"a": "T1b", "b": "T1", "span": {"taped": length}} for length in ("1 m", "2 m")]
    unplaced = again(None, None, trunk=thick)
    assert [joined(unplaced, measured_pairs=[one], **{"T1.trunk": thick}) for one in near] == [True, False]
    tie = {"landmark": "M", "distance": "4 m", "bearing": "30 deg", "north": "true"}
    post = [{"code": "M", "what": "post", "position": FIX | {"lon": east(30)}}]
    by_tape = {"site.landmarks": post, "T1.position": {"ties": [tie]}}
    assert joined(again(None, {"ties": [tie]}), **by_tape)
    assert not joined(again(None, {"ties": [tie | {"bearing": "80 deg"}]}), **by_tape)


@pytest.mark.parametrize("second", [
    again("X-9", east(0.8)), again("X-9", FIX | {"lon": east(3), "accuracy": "5 m"}),
    again(None, FIX | {"lon": east(3), "accuracy": "5 m"}),
    again("X-9", FIX, trunk=[{"girth": "40 cm", "read_at": "1.3 m", "how": "taped"}]) | {"position": FIX | {
        "lon": east(0.3)}},
])  # fmt: skip
def test_neighbours_stay_two_trees(second):
    """However loose the positions: farther apart than the thinner is thick."""
    assert not joined(second) and not doubted(second)


def test_a_tape_tells_two_trees_apart_whose_position_was_copied():
    pair = {"a": "T1", "b": "T1b", "span": {"taped": "4 m"}}
    assert joined(again("X-9", HERE)) and not joined(again("X-9", HERE), measured_pairs=[pair])


@pytest.mark.parametrize("second, first, doubt", [
    (again("X-9", {"fixes": [FIX | {"lon": east(9)}, FIX]}), {}, True),  # one reading of many in common
    (again("17 (oak)"), {"T1.tag": "17"}, False),  # forty metres on
    (again("17 (oak)", east(2)), {"T1.tag": "17"}, True), (again("17, by the gate", None), {"T1.tag": "17"}, True),
    (again(None, east(2), name="Tree 17"), {"T1.tag": "17"}, True),
    (again("X-9", east(2), name="Gate  Oak"), {"T1.name": "gate oak"}, True),
    (again("X-9", east(2), name="lime"), {"T1.name": "gate oak"}, False),
    (again("X-9", east(40), name="gate oak"), {"T1.name": "gate oak"}, False),
    (again(None, None, name="gate oak"), {"T1.name": "gate oak"}, True),
    (again("X-9", None, name="gate oak"), {"T1.name": "gate oak"}, False),
    (again(None, None, name="gate oak", species={"name": "Tilia", "certainty": "sure"}), {"T1.name": "gate oak"},
     False),
    (again(None, None, name="gate oak", trunk=[{"girth": "90 cm", "read_at": "1.3 m", "how": "taped"}]),
     {"T1.name": "gate oak"}, False),
])  # fmt: skip
def test_what_may_be_one_tree_is_asked_for_and_not_joined(second, first, doubt):
    assert doubted(second, **first) is doubt and not joined(second, **first)


def test_a_doubt_is_a_condition_and_its_lines_are_not_added():
    edits, _ = twice(again("X-9", east(2), name="gate oak"), planned={"date": "2026-05-02", "attended": "always"})
    first, second = assess(record(edits | {"T1.name": "gate oak"}), remedies=False).lines
    for line in (first, second):
        assert {one.code: one.effect for one in line.findings}["may-be-entered-twice"] == "suits if"
    assert first.anchors[0].hold_use == assess(record(), remedies=False).lines[0].anchors[0].hold_use


@pytest.mark.parametrize("second, first", [
    (again("X-T1"), {}), (again("No. X-T1", HERE), {}), (again(None, east(0.05)), {}),
    (again("X-9", east(2), name="gate oak"), {"T1.name": "gate oak"}),
])  # fmt: skip
def test_no_sign_is_left_out_by_entering_a_tree_again_and_no_other_entry_is_another_tree(second, first):
    edits, _ = twice(second)
    one, other = assess(record(edits | first | {"T1.signs": DEAD})).lines
    assert one.verdict == "leave it" and other.verdict in ("suits if" if first else "cannot say", "cannot say")
    assert "another tree" not in {remedy.field for end in one.anchors for remedy in end.remedies}


def test_a_tree_that_is_another_is_still_one_to_hang_from():
    second = again("X-9", FIX | {"lat": 54.5 + 3.0 / 111_300.0})
    (one,) = assess(record({"anchors": [*BASE["anchors"], second], "T1.signs": DEAD})).lines
    assert "another tree" in {remedy.field for end in one.anchors for remedy in end.remedies}


@pytest.mark.parametrize("order", [(0, 1, 2), (1, 0, 2), (2, 0, 1), (1, 2, 0)])
def test_three_entries_are_one_tree_in_whatever_order_they_stand(order):
    """One without a number in the place of the second, and a third with the second's number some metres off."""
    entries = [again(None, HERE, code="T0"), BASE["anchors"][0], again("X-T1", east(3), code="T9")]
    made = record({"anchors": [*(entries[place] for place in order), BASE["anchors"][1]]})
    found = entries_of(made, Places(made))
    assert {"T1", *found.others("T1")} == {"T0", "T1", "T9"} and found.of("T2") == "T2"


@pytest.mark.parametrize("tag, other", [("1-12", "11-2"), ("1/1", "11"), ("3/12", "31/2"), ("1.05", "1.5")])
def test_what_parts_figures_makes_another_number_of_them(tag, other):
    """A row and a place in it: tree 12 of row 1 is not tree 2 of row 11 (common practice, no source)."""
    assert not joined(again(other), **{"T1.tag": tag}) and not doubted(again(other), **{"T1.tag": tag})
    assert joined(again(tag), **{"T1.tag": tag})


@pytest.mark.parametrize("tag", ["oak 17", "Eiche Nr. 17", "17 N", "17-a", "17.0", "17/2026", "Plakette 17"])
def test_a_number_with_more_around_it_may_be_the_bare_one_where_it_stands_near(tag):
    assert doubted(again(tag, east(3)), **{"T1.tag": "17"}) and not doubted(again(tag, east(39)), **{"T1.tag": "17"})
    assert not doubted(again("18 N", east(3)), **{"T1.tag": "17"})


@pytest.mark.parametrize("metres, more, doubt", [
    (0.7, {}, True), (1.9, {}, True), (2.2, {}, False), (1.9, {"tag": "X-9"}, False),
    (1.9, {"species": {"name": "Betula pendula", "certainty": "sure"}}, False),
    (1.9, {"species": {"name": "Betula pendula"}}, True), (1.9, {"species": {"name": "Quercus"}}, True),
    (1.9, {"trunk": [{"girth": "226 cm", "read_at": "1.3 m", "how": "taped"}]}, False),  # a fifth thicker
    (1.9, {"trunk": [{"girth": "205 cm", "read_at": "1.3 m"}]}, True),
])  # fmt: skip
def test_two_like_trees_so_near_that_a_surveyor_may_err_are_doubted_where_no_number_tells(metres, more, doubt):
    assert doubted(again(None, east(metres)) | more) == doubt


def test_a_figure_in_a_name_tells_nothing_against_the_manager_s_number():
    """Fresh eyes: two entries called "tree 17", one of them with a tag, were not asked about; two "gate oak" were."""
    for name in ("gate oak", "tree 17"):
        second = again(None, None, name=name)
        assert doubted(second, **{"T1.name": name}) and doubted(again(None, east(3), name=name), **{"T1.name": name})
        assert not doubted(again("X-9", None, name=name), **{"T1.name": name})
    assert not doubted(again(None, None, name="tree 18"), **{"T1.tag": None, "T1.name": "tree 17"})


def test_a_like_tree_of_no_place_and_no_number_may_be_any_whose_line_tells_nothing_else():
    """Fresh eyes: a hollow, a fork or a second line was told of an entry that lost its place, and asked nothing."""
    lost = again(None, None)
    assert doubted(lost) and not doubted(again("X-9", None)) and doubted(again("X-1", None), **{"T1.tag": None})
    assert not doubted(lost | {"species": {"name": "Betula pendula", "certainty": "sure"}})
    assert not doubted(lost | {"trunk": [{"girth": "226 cm", "read_at": "1.3 m", "how": "taped"}]})  # a fifth thicker
    made = record({"anchors": [*BASE["anchors"], again(None, None, code="Z1"), again(None, None, code="Z2")]})
    assert entries_of(made, Places(made)).may_be("Z1") == ("T1", "T2")  # neither Z carries a line
    edits, _ = twice(lost)
    assert doubted(lost, lines=edits["lines"])  # as far from a third tree
    edits["lines"][1]["span"] = {"taped": "28 m", "along": "horizontal"}
    assert not doubted(lost, lines=edits["lines"])  # farther off than the first
    between = edits["lines"][1]
    between |= {"span": None, **{end: between[end] | {"anchor": code} for end, code in (("a", "T1"), ("b", "T1b"))}}
    assert not doubted(lost, lines=edits["lines"])  # a line joins the two


def test_a_name_that_many_bear_still_doubts_the_end_of_a_line():
    crowd = [again(None, None, code=f"Z{number}", name="old oak") for number in range(25)]
    assert set(trees_of(again(None, None, name="old oak"), **{"T1.name": "old oak"}).may_be("T1")) == {"T1b"}
    made = record({"anchors": [*BASE["anchors"], *crowd], "T1.name": "old oak"})
    assert "Z24" in entries_of(made, Places(made)).may_be("T1")
