"""Ground told of under one line holds for every line between the same two trees."""

from __future__ import annotations

import copy

import pytest
from parks import BASE, record

from siteassess.advice.assess import assess

LEVEL = [(at, 0) for at in (0, 5, 10, 15, 20)]
RIDGE = [(0, 0), (5, 0), (10, 0.9), (15, 0), (20, 0)]
DITCH = [(0, 0), (5, 0), (10, -0.9), (15, 0), (20, 0)]
RISES = [(0, 0), (5, 0.5), (10, 1.0), (15, 1.5), (20, 2.0)]


def rows(pairs):
    return [{"at": f"{at} m", "height": f"{height} m"} for at, height in pairs]


def two(first: dict, second: dict, turned: bool = False):
    """Verdict and codes of a line of its own, with a second one between the same trees on another day."""
    lines = [copy.deepcopy(BASE["lines"][0]) | first,
             copy.deepcopy(BASE["lines"][0]) | {"id": "L2", "planned": {"date": "2026-09-01"}} | second]  # fmt: skip
    if turned:
        lines[1]["a"], lines[1]["b"] = lines[1]["b"], lines[1]["a"]
        lines[1]["compass"] = {"out": "270 deg", "back": "90 deg", "north": "true"}
    line = assess(record({"lines": lines}), remedies=False).lines[0]
    return line.verdict, {one.code: dict(one.values) for one in line.findings}


def turned_about(pairs):
    """The same ground taped from the other end."""
    return [(20 - at, height - pairs[-1][1]) for at, height in reversed(pairs)]


@pytest.mark.parametrize("turned", [False, True])
@pytest.mark.parametrize("mine, its, apart", [
    ({"ground": rows(LEVEL)}, RIDGE, 0.9), ({"ground": rows(LEVEL)}, DITCH, 0.9),
    ({"ground": rows(LEVEL)}, LEVEL, None),
    ({"ground": rows(RIDGE)}, RIDGE, None), ({"ground": rows(DITCH)}, DITCH, None),
    ({"ground": []}, RIDGE, 0.9), ({"ground": [], "ground_between": "level or rising, no dip"}, RIDGE, 0.9),
    ({"ground": rows(RISES)}, RISES, None), ({"ground": rows(RISES)}, RISES[::4], None),
    ({"ground": rows(RISES[::2])}, RISES, None),  # between two rows of 1 m apart ground may lie anywhere
])  # fmt: skip
def test_a_tape_under_a_second_line_is_held_against_what_the_first_is_judged_over(mine, its, apart, turned):
    """By hand: a ridge of 0.9 m over level ground lies 0.9 m over it, seen from either end."""
    _, plain = two(mine, mine)
    assert "ground-told-otherwise" not in plain
    verdict, told = two(mine, {"ground": rows(turned_about(its) if turned else its)}, turned)
    if apart is None:
        assert "ground-told-otherwise" not in told
    else:
        assert verdict == "cannot say"
        assert told["ground-told-otherwise"]["apart"] == pytest.approx(apart)
        assert told["ground-told-otherwise"]["other"] == "L2"


def test_a_tape_from_the_string_under_a_second_line_counts_too():
    """A string level at 1.2 m over level ground; 0.5 m down to it half way is a ridge of 0.7 m."""
    string = [{"at": f"{at} m", "down": f"{down} m"} for at, down in ((5, 1.2), (10, 0.5), (15, 1.2), (20, 1.2))]
    verdict, told = two({"ground": rows(LEVEL)}, {"ground": [], "ground_below": string})
    assert verdict == "cannot say" and told["ground-told-otherwise"]["apart"] == pytest.approx(0.7)


def test_a_line_to_another_tree_tells_nothing_of_this_ground():
    east = copy.deepcopy(BASE["anchors"][1]) | {"code": "T3", "tag": "X-T3"}
    east["position"] = east["position"] | {"lon": 2.5 - 20.0 / 64_790.0}
    other = copy.deepcopy(BASE["lines"][0]) | {"id": "L2", "ground": rows(RIDGE), "compass": {"out": "270 deg"}}
    other["b"]["anchor"] = "T3"
    made = record({"anchors": [*BASE["anchors"], east], "lines": [BASE["lines"][0] | {"ground": rows(LEVEL)}, other]})
    assert "ground-told-otherwise" not in [one.code for one in assess(made, remedies=False).lines[0].findings]


@pytest.mark.parametrize("mine", [
    {"ground": rows(LEVEL)}, {"ground": [], "ground_between": "level or rising, no dip"}, {"ground": []},
])  # fmt: skip
def test_a_depth_told_under_a_second_line_is_no_level_ground(mine):
    deep = {"ground": [], "ground_between": "unknown", "open_below": "20 m"}
    verdict, told = two(mine, deep)
    # 20 m under a string at 1.2 m, less the fifth of it that an eye may miss
    assert verdict == "cannot say" and told["ground-told-otherwise"]["apart"] == pytest.approx(20 - 1.2 - 20 / 5)
    shallow = {"ground": [], "ground_between": "unknown", "open_below": "1.3 m"}
    assert "ground-told-otherwise" not in two(mine, shallow)[1]


def test_a_line_taped_level_and_told_open_below_contradicts_itself():
    verdict, told = two({"ground": rows(LEVEL), "open_below": "20 m"}, {"ground": rows(LEVEL)})
    assert verdict == "cannot say" and told["ground-told-otherwise"]["other"] == "L1"
    ground = [(0, 0), (1, -8), (10, -8), (19, -8), (20, 0)]
    assert "ground-told-otherwise" not in two({"ground": rows(ground), "open_below": "9 m"}, {"ground": []})[1]


def test_a_dip_said_of_a_second_line_is_no_ground_without_one():
    level, dips = ({"ground": [], "ground_between": said} for said in ("level or rising, no dip", "dips somewhere"))
    verdict, told = two(level, dips)
    assert verdict == "cannot say" and told["ground-dips-otherwise"]["other"] == "L2"
    assert "ground-dips-otherwise" not in two(dips, level)[1] and "ground-dips-otherwise" not in two(level, level)[1]


def beside(turn_deg: float, mine: dict, starts: str = "a", gully: float = -6.0):
    """What a line is told with a longer one from one of its trees, over a gully ten metres off, some degrees beside it.

    Of the gully 0.1 m might lie unseen where nothing was taped, by the table of constants.
    """
    lines = [copy.deepcopy(BASE["lines"][0]) | {"id": name} for name in ("L1", "L2")]
    out = (90.0 if starts == "a" else 270.0) + turn_deg
    lines[0] |= mine
    lines[1] |= {"planned": {"date": "2026-09-01"}, "span": {"taped": "30 m", "along": "horizontal"},
                 "ground": rows([(0, 0), (5, 0), (10, gully), (15, 0), (30, 0)]),
                 "compass": {"out": f"{out} deg", "back": f"{(out + 180.0) % 360.0} deg", "north": "true"}}  # fmt: skip
    lines[1]["a"]["anchor"], lines[1]["b"]["anchor"] = ("T1" if starts == "a" else "T2"), "T3"
    third = copy.deepcopy(BASE["anchors"][1]) | {"code": "T3", "tag": "X-T3", "position": None}
    line = assess(record({"lines": lines, "anchors": [*BASE["anchors"], third]}), remedies=False).lines[0]
    return line.verdict, {one.code: dict(one.values) for one in line.findings}


UNTAPED = {"ground": [], "ground_between": "level or rising, no dip"}


@pytest.mark.parametrize("starts", ["a", "b"])
@pytest.mark.parametrize("turn_deg, mine, apart", [
    (0.0, UNTAPED, 5.9), (4.9, UNTAPED, 5.9), (-4.9, UNTAPED, 5.9), (5.1, UNTAPED, None),
    (0.0, {"ground": rows(LEVEL)}, None),  # its own tape decides
])  # fmt: skip
def test_a_gully_taped_under_a_longer_line_the_same_way_lies_under_the_shorter_too(starts, turn_deg, mine, apart):
    verdict, told = beside(turn_deg, mine, starts)
    if apart is None:
        assert "ground-told-beside" not in told
    else:
        assert verdict == "cannot say" and told["ground-told-beside"]["apart"] == pytest.approx(apart)
    assert "ground-told-beside" not in beside(turn_deg, mine, starts, gully=0.0)[1]


@pytest.mark.parametrize("left_out", ["tie_height", "span"])
def test_a_depth_under_a_second_line_of_no_tie_or_span_is_taken_at_the_least_tie_and_this_span(left_out):
    second = copy.deepcopy(BASE["lines"][0]) | {"open_below": "11 m", "ground": []}
    if left_out == "span":
        second["span"] = None
    else:
        second["a"].pop("tie_height")
    assert two(UNTAPED, second)[0] == "cannot say"
    assert "ground-told-otherwise" in two(UNTAPED, {**second, "id": "L2", "planned": {"date": "2026-09-01"}})[1]


BANK = [{"at": "5 m", "height": "0 m"}, {"at": "5.5 m", "height": "-2 m"}]
STEP_UP = [{"at": "5 m", "height": "-2 m"}, {"at": "5.5 m", "height": "0 m"}]
BY_A_STRING = [{"at": "5 m", "down": "1.2 m"}, {"at": "5.5 m", "down": "3.2 m"}]


@pytest.mark.parametrize("its, told", [
    ({"ground": BANK}, True), ({"ground": STEP_UP}, True), ({"ground": [], "ground_below": BY_A_STRING}, True),
    ({"ground": rows([(5, 2), (10, 4)])}, False),  # a hillside no steeper than ground may be said to slope
    ({"ground": rows([(5, 0), (10, 0)])}, False), ({"ground": []}, False),
])  # fmt: skip
def test_a_bank_taped_from_a_tree_nobody_placed_may_lie_right_beside_the_other_end(its, told):
    """The third tree has no place and the line no span: how far from its other end the bank lies, nobody can tell."""
    third = copy.deepcopy(BASE["anchors"][1]) | {"code": "T3", "tag": "X-T3", "position": None}
    second = copy.deepcopy(BASE["lines"][0]) | {"id": "L2", "planned": {"date": "2026-09-01"}, "span": None,
                                                "compass": None, **its}  # fmt: skip
    second["a"]["anchor"], second["b"]["anchor"] = "T3", "T1"
    made = record({"lines": [BASE["lines"][0], second], "anchors": [*BASE["anchors"], third]})
    beside, other = ({one.code: dict(one.values) for one in anchor.findings}
                     for anchor in assess(made, remedies=False).lines[0].anchors)  # fmt: skip
    assert ("bank-by-the-tape" in beside) == told and "bank-by-the-tape" not in other
    if told:
        assert beside["bank-by-the-tape"]["near"] == 0.0
        assert beside["bank-by-the-tape"]["fall"] == pytest.approx(2.0)


@pytest.mark.parametrize("lost", [{"T3": None}, {"T3": "30 m"}, {"T1": None}, {"T2": None}])
def test_ground_taped_beside_counts_where_a_place_left_out_no_longer_tells_the_way(lost):
    """Fresh eyes: three metres taped under a longer line the same way were forgotten with the place of its far tree."""
    def told(of):
        made = copy.deepcopy(BASE["anchors"]) + [copy.deepcopy(BASE["anchors"][1]) | {"code": "T3", "tag": "X-T3"}]
        made[2]["position"]["lon"] = 2.5 + 24.0 / 64_790.0
        for anchor in made:
            if anchor["code"] in of:
                accuracy = of[anchor["code"]]
                anchor["position"] = anchor["position"] | {"accuracy": accuracy} if accuracy else None
        lines = [copy.deepcopy(BASE["lines"][0]) | {"id": name, "compass": None} for name in ("L1", "L2")]
        lines[0] |= UNTAPED
        lines[1] |= {"planned": {"date": "2026-09-01"}, "span": {"taped": "24 m", "along": "horizontal"},
                     "ground": rows([(0, 0), (6, 0), (12, -3), (18, 0), (24, 0)])}  # fmt: skip
        lines[1]["b"]["anchor"] = "T3"
        line = assess(record({"lines": lines, "anchors": made}), remedies=False).lines[0]
        return line.verdict, [one.code for one in line.findings]

    for verdict, codes in (told({}), told(lost)):
        assert verdict == "cannot say" and "ground-told-beside" in codes


def test_a_mound_taped_from_a_string_whose_tie_was_left_out_still_lies_high():
    """Its ties 2.2 m up and 0.2 m down to it; of a tie nobody read it is taken at the least and at 2.5 m, past which a
    line is a high one."""
    string = [{"at": f"{at} m", "down": "0.2 m"} for at in (4, 8, 12, 16)]
    second = copy.deepcopy(BASE["lines"][0]) | {"ground": [], "ground_below": string}
    second["a"]["tie_height"] = second["b"]["tie_height"] = "2.2 m"
    known = two(UNTAPED, {**second, "id": "L2", "planned": {"date": "2026-09-01"}})
    second["a"].pop("tie_height")
    lost = two(UNTAPED, {**second, "id": "L2", "planned": {"date": "2026-09-01"}})
    assert known[0] == lost[0] == "cannot say"
    assert lost[1]["ground-told-otherwise"]["apart"] >= known[1]["ground-told-otherwise"]["apart"]
