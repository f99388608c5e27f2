"""What lines of one tree and of one pair tell of each other's ground, at its edges: by hand, over spans of 20 m."""

from __future__ import annotations

import copy

import pytest
from parks import BASE, record

from siteassess.advice.geometry import Places
from siteassess.advice.line_setting import LineSetting, settings_of

LEVEL, DIPS = {"ground_between": "level or rising, no dip"}, {"ground_between": "dips somewhere"}
RISES = {"span": BASE["lines"][0]["span"] | {"slope": "5.710593 deg"}}  # by 2 m over 20 m


def rows(*pairs) -> dict:
    return {"ground": [{"at": f"{at} m", "height": f"{height} m"} for at, height in pairs]}


FLAT = rows((0, 0), (5, 0), (10, 0), (15, 0), (20, 0))


def line(name: str, a: str = "T1", b: str = "T2", out: float | None = 90.0, **edits) -> dict:
    """From one tree to another by a compass, with no ground told of but what is given."""
    made = copy.deepcopy(BASE["lines"][0]) | {"id": name, "ground": [], "compass": None} | edits
    made["a"]["anchor"], made["b"]["anchor"] = a, b
    if out is not None:
        made["compass"] = {"out": f"{out % 360} deg", "back": f"{(out + 180) % 360} deg", "north": "true"}
    return made


def settings(*lines: dict) -> list[LineSetting]:
    """Beside T1 and T2 stands T3, nobody knows where, and T1 was entered again as T1b."""
    third = copy.deepcopy(BASE["anchors"][1]) | {"code": "T3", "tag": "X-T3", "position": None}
    again = copy.deepcopy(BASE["anchors"][0]) | {"code": "T1b"}
    made = record({"anchors": [*BASE["anchors"], third, again], "lines": list(lines)})
    return settings_of(made, Places(made), None)


def told(*lines: dict) -> list[tuple]:
    """What the first is told of the ground: the code, the line it was told under, and by how much it lies off."""
    found = settings(*lines)[0].ground_told_otherwise()
    assert all(one.effect == "cannot say" and not one.looked_at for one in found)
    return [(one.code, dict(one.values)["other"], round(dict(one.values).get("apart", 0.0), 3)) for one in found]


# ---- lines between the same trees


def test_lines_of_a_pair_are_those_between_its_two_trees_by_whichever_entry_and_either_way():
    first, *_ = settings(line("L1"), line("L2"), line("L3", "T2", "T1", 270.0), line("L4", "T1b", "T2"),
                         line("L5", "T1", "T3"), line("L6", "T3", "T2"), line("L7", "T2", "T1b", 270.0))  # fmt: skip
    assert [(one.line.id, turned) for one, turned in first.of_the_pair()] == [
        ("L2", False), ("L3", True), ("L4", False), ("L7", True)]  # fmt: skip


def test_ground_is_another_where_it_lies_off_by_more_than_two_tapes_may_differ():
    """15 cm, half the margin kept over the ground (data/constants.csv)."""
    for height, otherwise in ((0.15, False), (0.16, True), (-0.15, False), (-0.16, True)):
        its = rows((0, 0), (5, 0), (10, height), (15, 0), (20, 0))
        found = [("ground-told-otherwise", "L2", abs(height))] if otherwise else []
        assert told(line("L1", **FLAT), line("L2", **its)) == found


@pytest.mark.parametrize("turned", [False, True])
def test_a_ditch_seen_from_the_other_end_lies_where_it_lies(turned):
    """5 m from T1 on ground that rises by 2 m: from T2 it is 15 m off, and 2.5 m under that foot."""
    mine = rows((0, 0), (5, 0.5), (10, 1), (15, 1.5), (20, 2))
    ditch = [(0, 0), (5, -0.5), (10, 1), (15, 1.5), (20, 2)]
    its = rows(*((20 - at, height - 2) for at, height in reversed(ditch))) if turned else rows(*ditch)
    other = line("L2", "T2", "T1", 270.0, **its) if turned else line("L2", **its)
    assert told(line("L1", **mine), other) == [("ground-told-otherwise", "L2", 1.0)]


@pytest.mark.parametrize("mine, its, dips", [
    (LEVEL, DIPS, True), (LEVEL, LEVEL, False), (DIPS, DIPS, False), ({}, DIPS, False), (DIPS, LEVEL, False),
    (LEVEL, {}, False), ({}, {}, False),
])  # fmt: skip
def test_a_dip_is_told_to_a_line_that_was_said_to_have_none(mine, its, dips):
    assert told(line("L1", **mine), line("L2", **its)) == ([("ground-dips-otherwise", "L2", 0.0)] if dips else [])


@pytest.mark.parametrize("mine, its, dips", [
    (LEVEL | rows((10, -0.5)), LEVEL, True), (LEVEL | rows((10, -0.05)), LEVEL, False), (rows((10, -0.5)), {}, False),
    (LEVEL | FLAT | {"ground": [*FLAT["ground"], {"at": "12 m", "height": "-0.5 m"}]}, LEVEL, False),
])  # fmt: skip
def test_a_line_s_own_rows_dip_where_they_are_too_few_to_decide(mine, its, dips):
    """A whole profile decides by itself; without a span no row lies under the way from foot to foot."""
    found = [one for one in told(line("L1", **mine), line("L2", **its)) if one[1] == "L1"]
    assert found == ([("ground-dips-otherwise", "L1", 0.0)] if dips else [])
    assert told(line("L1", "T1", "T3", span=None, **mine), line("L2", "T1", "T3", span=None, **its)) == []


def test_of_lines_without_a_tie_no_ground_is_held_against_another():
    first, second = line("L1"), line("L2", open_below="20 m")
    assert told(first, second) == [("ground-told-otherwise", "L2", 14.8)]  # 20 m less a fifth, and a tie at 1.2 m
    first["a"].pop("tie_height")
    assert told(first, second) == []


def test_a_depth_under_a_line_of_no_tie_or_span_is_taken_at_the_least_tie_and_this_span():
    """30 cm (data/constants.csv) instead of 1.2 m; the span is that of the other line, for T3 has no position."""
    second = line("L2", open_below="20 m")
    second["a"].pop("tie_height")
    assert told(line("L1"), second) == [("ground-told-otherwise", "L2", 15.7)]
    second = line("L2", "T1", "T3", open_below="20 m", span=None)
    assert told(line("L1", "T1", "T3"), second) == [("ground-told-otherwise", "L2", 14.8)]


def test_where_a_line_s_own_ground_is_no_profile_that_is_told_elsewhere():
    """A tape from the string that ends half way."""
    half = line("L1", ground_below=[{"at": "10 m", "down": "1.2 m"}])
    assert told(half, line("L2", open_below="20 m")) == []


def test_an_end_that_was_entered_twice_or_may_have_been_is_told_by_its_code():
    first, other = settings(line("L1"), line("L2", "T3", "T2"))
    assert [(one.code, one.effect, one.looked_at, dict(one.values)) for one in first.entered_twice()] == [
        ("tree-entered-twice", "cannot say", False, {"tree": "T1", "others": ("T1b",)})]  # fmt: skip
    assert other.entered_twice() == []
    named = BASE["anchors"][0] | {"name": "gate oak", "tag": None}
    again = copy.deepcopy(named) | {"code": "T1b", "position": None}
    made = record({"anchors": [named, BASE["anchors"][1], again], "lines": [line("L1")]})
    (first,) = settings_of(made, Places(made), None)
    assert [(one.code, one.effect, one.looked_at, dict(one.values)) for one in first.entered_twice()] == [
        ("may-be-entered-twice", "suits if", False, {"tree": code, "others": ("T1b",)}) for code in ("T1", "T2")
    ]  # fmt: skip


def test_a_line_taped_level_that_was_told_open_below_is_held_against_itself():
    """Twenty metres less the fifth that an eye may miss, and the tie at 1.2 m."""
    assert told(line("L1", open_below="20 m", **FLAT), line("L2")) == [("ground-told-otherwise", "L1", 14.8)]
    falls = rows((0, 0), (5, -0.5), (10, -1), (15, -1.5), (20, -2))
    assert told(line("L1", open_below="20 m", **falls), line("L2")) == [("ground-told-otherwise", "L1", 14.8)]


# ---- lines the same way from one tree


def gully(name: str, a: str, b: str, out: float, at: float, **more) -> dict:
    """A line of 30 m over a gully 6 m deep, some metres off."""
    return line(name, a, b, out, **rows((0, 0), (at - 4, 0), (at, -6), (at + 4, 0), (30, 0)),
                **{"span": {"taped": "30 m", "along": "horizontal"}} | more)  # fmt: skip


@pytest.mark.parametrize("out, beside", [(90.0, True), (94.9, True), (85.1, True), (95.1, False), (270.0, False)])
def test_ground_taped_from_one_tree_holds_for_what_runs_within_five_degrees_of_it(out, beside):
    """Of the 6 m, 0.1 m may lie unseen where nothing was taped (data/constants.csv)."""
    assert told(line("L1"), gully("L2", "T1", "T3", out, 8)) == ([("ground-told-beside", "L2", 5.9)] if beside else [])
    assert told(line("L1"), gully("L2", "T1b", "T3", out, 8)) == (
        [("ground-told-beside", "L2", 5.9)] if beside else [])
    assert told(line("L1", **FLAT), gully("L2", "T1", "T3", out, 8)) == []  # its own tape decides


def test_of_lines_on_both_ends_each_is_told_once_with_the_most_and_the_pair_s_own_are_told_of_elsewhere():
    lines = [line("L1"), gully("L2", "T1", "T3", 90, 8), gully("L3", "T2", "T3", 270, 8), line("L4", **FLAT)]
    assert told(*lines) == [("ground-told-beside", "L2", 5.9), ("ground-told-beside", "L3", 5.9)]
    assert told(line("L1"), line("L2", "T1", "T3", 90.0, **FLAT)) == []


@pytest.mark.parametrize("from_b, apart", [(False, 6.0 + 0.6 - 0.1), (True, 6.0 - 0.6 - 0.1)])
def test_on_a_slope_ground_seen_from_the_upper_tree_lies_as_it_lies(from_b, apart):
    """By hand: the way from T1 up to T2 rises by 2 m over 20 m. Six metres off T1 it lies 0.6 m over its foot, six off
    T2 0.6 m under that one; the gully lies 6 m under the foot it was taped from."""
    seen = gully("L2", "T2", "T3", 270.0, 6) if from_b else gully("L2", "T1", "T3", 90.0, 6)
    assert told(line("L1", **RISES), seen) == [("ground-told-beside", "L2", round(apart, 3))]


def test_a_gully_past_its_other_end_is_no_ground_of_a_line_and_none_is_held_against_one_of_no_span():
    assert told(line("L1"), gully("L2", "T1", "T3", 90.0, 25)) == []
    assert told(line("L1", "T1", "T3", span=None), line("L2", **rows((0, 0), (8, -6), (15, 0), (20, 0)))) == []


@pytest.mark.parametrize("height, beside", [(0.15, False), (0.16, True)])
def test_ground_beside_is_another_too_from_what_two_tapes_may_differ_by(height, beside):
    ridge = line("L2", "T1", "T3", **rows((0, 0), (8, height), (15, 0), (20, 0)))
    assert told(line("L1"), ridge) == ([("ground-told-beside", "L2", height)] if beside else [])


def test_a_depth_that_lies_somewhere_under_a_longer_line_may_lie_past_the_shorter_one():
    deep = line("L2", "T1", "T3", open_below="20 m", span={"taped": "30 m", "along": "horizontal"})
    assert told(line("L1"), deep) == []


# ---- what a tree is told by the tapes of its lines


@pytest.mark.parametrize("tie, fall", [("1.2 m", 1.8), (None, 2.7)])
def test_a_string_of_no_known_tie_hangs_at_the_least_so_that_the_ground_lies_deeper(tie, fall):
    """3 m under a string that hangs at 1.2 m, or at 30 cm (data/constants.csv) where nobody said."""
    made = line("L1", ground_below=[{"at": f"{at} m", "down": "3 m"} for at in (0.8, 5, 10, 15, 20)])
    for end in ("a", "b"):
        made[end] = made[end] | {"tie_height": tie}
    (first,) = settings(made)
    assert first.taped_at("T1").drop.fall == pytest.approx(fall) and first.taped_at("T1b") == first.taped_at("T1")
    assert first.taped_at("T1").drop.side == "E" and first.taped_at("T3").drop is None


def test_a_line_of_no_known_way_tells_a_drop_of_no_side():
    (first,) = settings(line("L1", "T1", "T3", out=None, **rows((0, 0), (0.8, -1.5), (10, -1.5), (20, -1.5))))
    assert first.taped_at("T1").drop.side is None and first.taped_at("T1").drop.fall == pytest.approx(1.5)
