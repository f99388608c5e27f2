"""Decisions that changed code once passed unnoticed: readings of a trunk, banks of no known length, two entries."""

from __future__ import annotations

import copy
import math

import numpy as np
import pytest
from parks import data, record

from siteassess.advice.entries import entries_of
from siteassess.advice.geometry import Places
from siteassess.advice.trunk_inputs import root_diameter, thicker_tapes
from siteassess.advice.under_line import BANK_FALL, Drop, taped_beside
from siteassess.mechanics.ground import STEEPEST_DEG
from siteassess.records.record import Record
from siteassess.records.trunk import FLARE_UP_TO, above_flare, nearest_reading, steeper, trunk_at

STEEP = math.tan(math.radians(STEEPEST_DEG.value))  # 0.70 at 35 degrees (data/constants.csv, judgement)


def bank(*rows, string=()) -> Drop | None:
    """The bank seen from B of a line whose length nobody knows, by rows from A's foot or from a string at 1.2 m."""
    line = record({
        "L1.ground": [{"at": f"{at} m", "height": f"{height} m"} for at, height in rows],
        "L1.ground_below": [{"at": f"{at} m", "down": f"{down} m"} for at, down in string],
    }).lines[0]  # fmt: skip
    return taped_beside(line, "B", None, 0.0, 0.0, 1.2).drop


@pytest.mark.parametrize("rows, drop", [
    (((2, 0), (3, -1)), (3, 1.0)), (((0.5, -0.5),), (0.5, 0.5)), (((0.5, -0.49),), None),
    (((1, -0.8), (4, -0.8), (5, -1.9)), (5, 1.1)),  # the greater of two
    (((2, 0.3), (2.5, -0.3)), (2.5, 0.6)), (((0.5, 1),), (0.5, 1.0)),  # up is down from the other end
    (((0.5, -1), (10, -1)), (10, 1.0)),  # somewhere up to the last row
    (((1.6, -1.1),), None), (((1.5, -1.1),), (1.5, 1.1)),  # 1.12 and 1.05 would be as steep as a slope may be
    (((0.5, 0),), None), (((0.8, -0.5),), None),
])  # fmt: skip
def test_a_bank_under_a_line_of_no_known_length_is_the_greatest_that_was_taped(rows, drop):
    assert BANK_FALL == 0.5 and 0.70 < STEEP < 0.701
    found = bank(*rows)
    assert (found and (found.near, found.far, found.fall)) == (drop and (0.0, drop[0], pytest.approx(drop[1])))


def test_a_string_of_no_known_length_hangs_level():
    assert bank(string=((5, 1.2), (10, 1.2))) is None
    assert bank(string=((5, 1.2), (5.5, 1.8))).fall == pytest.approx(0.6)


# ---- readings of a trunk


def tree(*readings):
    trunk = [{"diameter": f"{size} cm", "read_at": f"{at} m", "how": how} for size, at, how in readings]
    return record({"T1.trunk": trunk}).anchor("T1")


def judged_by(height, *readings) -> float:
    return 100 * nearest_reading(tree(*readings).trunk, height).diameter.si


def test_what_was_read_above_the_flare_is_read_there_and_all_where_nothing_was():
    flare, edge, stem = (60, 0.5, "taped"), (50, FLARE_UP_TO.value, "taped"), (40, 1.3, "taped")
    assert [one.read_at.si for one in above_flare(tree(flare, edge, stem).trunk)] == [FLARE_UP_TO.value, 1.3]
    assert [one.read_at.si for one in above_flare(tree(flare).trunk)] == [0.5]


@pytest.mark.parametrize("more, counts", [(0.97, "lower"), (1.03, "at the tie")])
def test_a_lower_reading_counts_where_its_usual_taper_makes_it_the_thinner(more, counts):
    """15 mm a metre (data/constants.csv, judgement), over half a metre."""
    lower = 40 + 50 * 0.015 * more  # in centimetres
    assert judged_by(1.5, (40, 1.5, "taped"), (lower, 1.0, "taped")) == pytest.approx(
        lower if counts == "lower" else 40)  # fmt: skip


def test_a_guess_below_the_highest_of_the_nearest_counts_where_it_is_thinner():
    assert judged_by(1.0, (40, 0.9, "estimated"), (40, 1.5, "taped"), (30, 1.2, "estimated")) == pytest.approx(30)


def test_two_readings_of_one_height_are_no_taper():
    thick, thin = tree((40, 1.3, "taped"), (20, 1.3, "taped")).trunk
    assert not steeper(thick, thin, math.inf) and not steeper(thin, thick, math.inf)


def told_of(*readings, tie=0.9):
    one = tree(*readings)
    return {found.code: found for found in thicker_tapes(one, trunk_at(one, tie), "taped")}


def test_a_trunk_thinner_above_than_any_taper_is_told_by_the_reading_that_leaves_least():
    found = told_of((50, 0.9, "taped"), (25, 1.4, "taped"), (24, 1.9, "taped"))["steeper-than-any-taper"]
    values = dict(found.values)
    assert (found.effect, found.looked_at) == ("suits if", False)
    # 1.15 times 25 and 8 cm a metre over half a metre: 32.75 cm; by the 24 cm a metre up 35.6 cm
    assert (values["thick"], values["thin"]) == (0.5, 0.25) and values["most"] == pytest.approx(0.3275)
    assert told_of((30, 0.9, "taped"), (25, 1.4, "taped")) == {}


def test_a_thicker_tape_is_told_where_it_went_round_the_same_place_and_a_thicker_guess_is_not():
    assert set(told_of((40, 0.9, "taped"), (60, 0.95, "taped"))) == {"thinner-tape-counts"}
    assert told_of((40, 0.9, "taped"), (60, 0.95, "estimated")) == {}
    assert told_of((40, 0.9, "taped"), (60, 0.3, "taped")) == {}


def test_roots_go_by_the_tape_beside_a_thinner_guess_and_by_the_thinnest_of_guesses():
    def roots(*readings):
        one = tree(*readings)
        return root_diameter(one, np.array([0.4]), [])

    assert roots((40, 1.3, "taped"), (36, 1.6, "estimated")) == pytest.approx(0.40)
    assert roots((40, 1.3, "estimated"), (36, 1.6, "estimated")) < 0.37


# ---- two entries of one tree


def may_be(*more: dict, of: str = "T1", **edits):
    made = data({"T1.tag": None, "T1.species": {"name": "oak", "certainty": "sure"}} | edits)
    for number, entry in enumerate(more, 3):
        made["anchors"].append({"code": f"T{number}", "kind": "tree", **entry})
        line = copy.deepcopy(made["lines"][0]) | {"id": f"L{number}", "span": None}
        line["a"]["anchor"] = f"T{number}"
        made["lines"].append(line)
    whole = Record.model_validate(made)
    return entries_of(whole, Places(whole)).may_be(of)


def girths(*readings):
    return {"trunk": [{"girth": f"{girth} cm", "read_at": f"{at} m", "how": "taped"} for girth, at in readings]}


@pytest.mark.parametrize("readings, same", [
    (((226, 1.8),), False), (((226, 1.84),), True),  # half a metre off, as far as two tapes are compared, and past it
    (((226, 0.8),), False), (((226, 0.79),), True),  # where the stem begins, and in its flare
    (((190, 1.3), (226, 1.5)), True),  # one of two tapes goes with it
])
def test_tapes_tell_two_trees_apart_at_like_heights_above_the_flare_where_none_goes_with_it(readings, same):
    """188.5 cm at 1.3 m is T1's; 226 cm is a sixth more, past the 15 % (judgement) of two tapes of one trunk."""
    assert ("T3" in may_be(girths(*readings))) is same


def test_two_trees_without_a_place_may_be_one_and_none_is_its_own_double():
    alike = girths((188.5, 1.3))
    assert "T4" in may_be(alike, alike, of="T3") and "T3" in may_be(alike, alike, of="T4")
    assert "T3" not in may_be(alike, of="T3")
