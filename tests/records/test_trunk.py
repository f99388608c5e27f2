"""How thick a trunk is at a height: which of several readings it is judged by, each at the edge of its rule."""

from __future__ import annotations

import math

import pytest
from parks import record

from siteassess.records.anchor import Tree
from siteassess.records.trunk import (
    at_ties,
    limb_readings,
    nearer_copies,
    nearest_reading,
    on_a_limb,
    too_steep,
    trunk_at,
)


def tree(*readings: tuple[str, str, str], **more) -> Tree:
    """A tree read so: diameter, height, how."""
    trunk = [{"diameter": size, "read_at": at, "how": how} for size, at, how in readings]
    return record({"T1.trunk": trunk} | {f"T1.{name}": value for name, value in more.items()}).anchor("T1")


def judged_by(height: float | None, *readings: tuple[str, str, str]) -> str:
    return nearest_reading(tree(*readings).trunk, height).diameter.text


def test_a_reading_where_the_flare_ends_is_one_of_the_stem():
    """80 cm (data/constants.csv, judgement): a tie at half a metre is judged by the stem there, not by the flare."""
    flare, stem = ("60 cm", "0.5 m", "taped"), ("40 cm", "0.8 m", "taped")
    assert judged_by(0.5, flare, stem) == "40 cm" == judged_by(1.5, stem, flare)
    assert judged_by(0.5, ("60 cm", "0.5 m", "estimated"), ("70 cm", "0.8 m", "taped")) == "60 cm"


def test_a_tree_is_known_at_breast_height_whatever_waist_or_flare_was_taped():
    """1.3 m, where winched trees and inventories are read (Hill 2024)."""
    waist, breast, high = ("30 cm", "0.9 m", "taped"), ("50 cm", "1.35 m", "taped"), ("45 cm", "1.2 m", "taped")
    assert judged_by(None, waist, breast, high) == "50 cm"  # 5 cm off, and 10 cm
    assert judged_by(1.3, waist, breast, high) == "30 cm"  # a tie there bends the waist
    assert judged_by(None, ("30 cm", "0.5 m", "estimated"), ("50 cm", "1.3 m", "taped")) == "50 cm"
    assert judged_by(None, ("30 cm", "0.5 m", "estimated"), ("50 cm", "1.3 m", "estimated")) == "30 cm"


def test_of_readings_as_near_the_thinner_counts_and_heights_are_as_near_as_a_tape_reads_them():
    """1.2 and 1.4 m lie as far from 1.3 m, though not in floats."""
    for first, second in (("1.2 m", "1.4 m"), ("1.4 m", "1.2 m")):
        assert judged_by(None, ("50 cm", first, "taped"), ("45 cm", second, "taped")) == "45 cm"


@pytest.mark.parametrize("at, counts", [("1.2 m", False), ("1.21 m", True), ("1.39 m", True), ("1.4 m", False)])
def test_of_tapes_of_one_place_the_thinner_counts_however_little_they_differ(at, counts):
    """Less than 10 cm apart (data/constants.csv, judgement): a second tape makes no trunk kinder than it is alone."""
    near = ("50 cm", "1.3 m", "taped")
    assert judged_by(None, near, ("49 cm", at, "taped")) == ("49 cm" if counts else "50 cm")
    assert judged_by(None, near, ("49 cm", at, "estimated")) == ("49 cm" if counts else "50 cm")  # no guess is kinder
    assert judged_by(1.3, near, ("49 cm", at, "taped")) == ("50 cm" if at == "1.4 m" else "49 cm")  # lower is a waist


@pytest.mark.parametrize("size, counts", [("37.1 cm", "48.3 cm"), ("38.6 cm", "50.0 cm"), ("38.7 cm", "50 cm")])
@pytest.mark.parametrize("how", ["taped", "estimated", "unknown"])
def test_a_trunk_counts_as_no_thicker_than_any_taper_makes_it_unless_a_fork_or_branch_lies_between(size, how, counts):
    """50 cm at 1.3 m; by 8 cm a metre and 15 % for grooves 37.1 cm at 2 m are 0.371 x 1.15 + 0.7 x 0.08 = 0.483."""
    readings = ("50 cm", "1.3 m", "taped"), (size, "2 m", how)
    assert judged_by(1.2, *readings) == judged_by(None, *readings) == counts
    assert too_steep(0.6, 0.5, 0.4, 1.0) and not too_steep(0.6, 0.49, 0.4, 1.0)  # in the flare it may be
    for fork, branch, stems, one_piece in (
        ("1.5 m", "3 m", "fork above tie", False), (None, "3 m", "fork above tie", True),
        ("2 m", "3 m", "fork above tie", True), ("1.3 m", "3 m", "single", True), (None, "3 m", "unknown", True),
        (None, None, "single", True), (None, "1.9 m", "single", False), (None, "2 m", "single", True),
    ):  # fmt: skip
        made = tree(*readings, stems=stems, fork_height=fork, crown_base=branch)
        assert trunk_at(made, 1.2).reading.diameter.text == (counts if one_piece else "50 cm")
    for height in (None, 1.2):  # of several thin ones the one that leaves least
        assert judged_by(height, *readings, ("30 cm", "2.5 m", "taped")) == "44.1 cm"


def test_a_copy_counts_against_the_tape_where_it_is_as_near_or_lower():
    """A tape in its place would have counted there: the one nearest to the tie, and any waist under it."""
    taped = ("50 cm", "1.0 m", "taped")
    for at, nearer in (("1.41 m", False), ("1.4 m", True), ("1.2 m", True), ("0.9 m", True), ("0.5 m", True)):
        copies = nearer_copies(tree(taped, ("40 cm", at, "copied")).trunk, 1.2)
        assert bool(copies) is nearer
    further = tree(("50 cm", "2.2 m", "taped"), taped, ("40 cm", "1.5 m", "copied"))
    assert nearer_copies(further.trunk, 1.2) == []  # the nearest tape counts
    assert len(nearer_copies(tree(("40 cm", "9 m", "copied"), ("41 cm", "1 m", "copied")).trunk, 1.2)) == 2
    assert nearer_copies(tree(("50 cm", "1.1 m", "estimated")).trunk, 1.2) == []


@pytest.mark.parametrize("fork, tie, limb", [("1.2 m", 1.2, False), ("1.19 m", 1.2, True), ("1.2 m", None, False)])
def test_a_tie_at_a_fork_still_goes_round_the_trunk(fork, tie, limb):
    assert on_a_limb(tree(("50 cm", "1.3 m", "taped"), fork_height=fork), tie) is limb


def test_a_limb_is_known_by_what_was_read_at_the_tie_where_its_fork_is_not():
    split = {"stems": "fork below tie", "fork_height": None}
    at_tie, below = ("40 cm", "1.7 m", "taped"), ("60 cm", "1.6 m", "taped")
    assert [one.diameter.text for one in limb_readings(tree(at_tie, below, **split), 1.7)] == ["40 cm"]
    forked = tree(at_tie, below, **split | {"fork_height": "1.6 m"})  # a girth at the fork goes round both
    assert [one.diameter.text for one in limb_readings(forked, 1.7)] == ["40 cm"]
    assert len(limb_readings(forked, None)) == len(limb_readings(forked, 1.6)) == 2


def test_every_reading_is_that_of_a_trunk_with_no_fork_under_the_tie():
    assert len(limb_readings(tree(("60 cm", "1.3 m", "taped"), ("40 cm", "2 m", "taped")), 1.7)) == 2


def test_of_two_as_thick_the_one_read_lower_is_the_thinner_at_the_tie():
    low, high = ("64 cm", "1 m", "estimated"), ("64 cm", "1.8 m", "taped")
    split = {"stems": "fork below tie", "fork_height": None}
    assert trunk_at(tree(high, low), 1.2).read_at == trunk_at(tree(high, low, **split), 1.2).read_at == 1.0


def test_a_limb_is_judged_no_thicker_than_the_trunk_under_its_fork():
    split = {"stems": "fork below tie", "fork_height": "1.5 m"}
    for limb, under in (("60 cm", "40 cm"), ("40 cm", "60 cm")):
        here = trunk_at(tree((limb, "1.7 m", "taped"), (under, "1.3 m", "taped"), **split), 1.7)
        assert here.diameter == pytest.approx(0.4)


def test_a_copied_number_counts_where_there_is_nothing_else():
    copy = ("30 cm", "1.3 m", "copied")
    assert judged_by(1.3, copy, ("50 cm", "1 m", "estimated")) == "50 cm" and judged_by(1.3, copy) == "30 cm"
    stems = {"stems": "several", "each_stem": [{"girth": "180 cm"}, {"girth": "200 cm"}]}
    assert trunk_at(tree(copy, **stems), 1.3).diameter == pytest.approx(1.8 / math.pi)


@pytest.mark.parametrize("stems, listed", [("single", ["90 cm", "95 cm"]), ("several", ["90 cm"])])
def test_stems_that_contradict_the_word_or_leave_others_unmeasured_are_not_what_is_judged(stems, listed):
    """Both end in "cannot say": nobody knows which stem bears the line."""
    here = trunk_at(tree(("60 cm", "1.3 m", "taped"), stems=stems, each_stem=[{"girth": one} for one in listed]), 1.2)
    assert here.diameter == pytest.approx(0.6) and here.stems == (here.diameter,)


def test_the_thinnest_of_several_stems_is_judged_at_the_tie_and_at_the_ground_where_none_is_planned():
    """A stem's girth comes without a height, and is that at the tie; a reading as thick says no more."""
    stems = {"stems": "several", "each_stem": [{"girth": "157 cm"}, {"girth": "200 cm"}]}
    as_thick = [{"girth": "157 cm", "read_at": "3 m", "how": "taped"}]
    for made in (tree(**stems), tree(**stems, trunk=as_thick)):
        here = trunk_at(made, 1.5)
        assert (here.diameter, here.read_at, len(here.stems)) == (pytest.approx(1.57 / math.pi), 1.5, 2)
    assert trunk_at(tree(**stems), None).read_at == 0.0
    thin = trunk_at(tree(("30 cm", "1.3 m", "taped"), **stems), 1.5)
    assert (thin.diameter, thin.read_at, len(thin.stems)) == (pytest.approx(0.3), 1.3, 2)
    none = trunk_at(tree(), 1.5)
    assert math.isnan(none.diameter) and none.reading is None and len(none.stems) == 1


@pytest.mark.parametrize("stem, thinner", [("157 cm", True), ("219.9 cm", True), ("220 cm", False), ("221 cm", False)])
def test_one_stem_listed_beside_one_trunk_is_that_trunk_at_the_tie_read_once_more(stem, thinner):
    """220 cm round are 70 cm through: the thinner counts at a tie, and the tree is known by its own reading."""
    made = tree(trunk=[{"girth": "220 cm", "read_at": "1.3 m", "how": "taped"}], each_stem=[{"girth": stem}])
    here = trunk_at(made, 1.5)
    assert here.diameter == pytest.approx((float(stem[:-3]) if thinner else 220) / 100 / math.pi)
    assert here.read_at == (1.5 if thinner else 1.3) and len(here.stems) == 1
    assert trunk_at(made, None).diameter == pytest.approx(2.2 / math.pi)


def test_ties_judged_by_another_reading_than_the_tree_is_known_by_are_told_by_their_height():
    """45 cm at breast height, and 40 cm at 3 m."""
    made = tree(("45 cm", "1.3 m", "taped"), ("40 cm", "3 m", "taped"))
    told = at_ties(made, [1.2, None, 2.9, 3.5])
    assert {height: here.diameter for height, here in told.items()} == {2.9: 0.4, 3.5: 0.4}
    assert at_ties(tree(), [1.2]) == {} == at_ties(made, [])


def test_where_no_tape_went_round_the_thinnest_counts_wherever_it_was_read():
    """Copied or guessed where it had been taped, the thinner of two must not be passed over for being further off."""
    for how in ("copied", "estimated", "unknown"):
        assert judged_by(1.2, ("33 cm", "1.6 m", how), ("40 cm", "1.3 m", how)) == "33 cm"
    assert judged_by(1.2, ("33 cm", "1.6 m", "taped"), ("40 cm", "1.3 m", "taped")) == "40 cm"
    assert judged_by(None, ("33 cm", "1.6 m", "copied"), ("40 cm", "1.3 m", "copied")) == "40 cm"  # it is known by


def test_two_tapes_are_held_against_each_other_at_the_tie():
    """41 cm at 0.4 m lose 1.5 cm a metre (taper of the even trunk, constants.csv) up to a tie at 1.8 m."""
    for other in ("41.3 cm", "40.9 cm", "39 cm"):
        expected = other if other == "39 cm" else "41 cm"
        assert judged_by(1.8, ("41 cm", "0.4 m", "taped"), (other, "1.6 m", "taped")) == expected


def test_of_two_as_near_that_which_counts_less_is_taken():
    """27 cm at 1.6 m leave most at 1.1 m and less at 1.5 m: 20 cm off breast height each."""
    trunk = (("27 cm", "1.6 m", "taped"), ("40 cm", "1.5 m", "taped"))
    kept = [nearest_reading(tree(*trunk, (size, "1.1 m", "taped")).trunk, None).diameter.si
            for size in ("48 cm", "39 cm")]  # fmt: skip
    assert kept[0] >= kept[1] and kept[0] < 0.33
