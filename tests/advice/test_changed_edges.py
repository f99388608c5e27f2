"""Small facts of the deciding sums that a change of one sign or number would break; the figures are by hand."""

from __future__ import annotations

import math
from dataclasses import replace
from types import SimpleNamespace

import numpy as np
import pytest
from parks import record

from siteassess.advice.care import SlingInputs, care_mends, link_fault, narrowest, pressing, usual_link_distance
from siteassess.advice.changes import Try
from siteassess.advice.hold import Pulls, _bending, _lean_from_pull
from siteassess.advice.remedies import _smallest
from siteassess.advice.tree_inputs import tree_inputs
from siteassess.mechanics.bark import NEAREST_LINK, press, reading
from siteassess.reference.findings import said

SLING = SlingInputs("basket", True, None, None, None, None, None, None, 0, None, None, None)


def tree(edits: dict | None = None, tie: float = 1.0):
    return tree_inputs(record(edits).anchors[0], tie, 48.0)


def pulled(newtons: float):
    return (SimpleNamespace(case="standing", tension_n=newtons),)


def sling(**more):
    base = narrowest(tree(), pulled(1e3), SLING, False, 1.0)
    return replace(base, proposed=False, **more)


def test_a_link_nobody_placed_may_press_the_bark_as_hard_as_legs_at_120_degrees_do():
    """Legs tangent to the trunk from 2.5 radii: sin b = 0.4, each F / (2 cos b); at the widest b = 60: each F."""
    inputs = tree()
    planned = pressing(inputs, pulled(1e3), sling(), False, 1.0)
    link = usual_link_distance(inputs.diameter_at(1.0))
    even = math.cos(math.asin(inputs.diameter_at(1.0) / 2 / link))
    assert planned.harder_nearer == pytest.approx(even / math.cos(math.radians(60.0)), rel=1e-6)
    assert pressing(inputs, pulled(1e3), sling(link_distance=1.0), False, 1.0).harder_nearer == 1.0


def test_the_leg_that_carries_more_presses_the_bark_harder_and_the_middle_of_the_legs_mends_it():
    """By hand: past half their angle one leg is slack and the other carries all, 2 cos b times an even one."""
    inputs, off = tree(), sling(link_distance=1.0, off_middle=40.0)
    even, uneven = (pressing(inputs, pulled(1e3), one, False, 1.0) for one in (replace(off, off_middle=0.0), off))
    legs = math.asin(inputs.diameter_at(1.0) / 2 / 1.0)
    assert math.degrees(legs) < 40.0 and uneven.use / even.use == pytest.approx(2 * math.cos(legs))
    hard = pulled(1e3 * 0.9 / even.use)
    told = care_mends(inputs, hard, off, False, 1.0, pressing(inputs, hard, off, False, 1.0))
    assert told[0].remedy.what.code == "link-to-the-middle" and told[0].sling == replace(off, off_middle=0.0)
    ours, in_the_middle = (narrowest(inputs, hard, replace(one, width=None), False, 1.0).width
                           for one in (off, replace(off, off_middle=0.0)))  # fmt: skip
    assert ours > in_the_middle  # a sling nobody measured gains nothing by it: the link stays where it was read


def test_a_link_just_where_its_legs_stand_at_their_widest_is_none_too_near():
    assert link_fault(0.25 * NEAREST_LINK, 0.25, "basket") is None
    assert link_fault(0.25 * NEAREST_LINK * 0.998, 0.25, "basket") is not None


def test_where_no_sling_is_wide_enough_the_widest_that_is_sold_is_proposed_doubled():
    found = narrowest(tree(), pulled(1e6), SLING, True, 1.0)
    assert (found.wrap, found.width) == ("doubled", 0.2)


def test_slats_that_press_harder_are_taken_out_and_no_narrower_sling_is_told():
    """Two slats of a centimetre under a sling of 10 cm press ten times harder on what they touch."""
    slatted = sling(width=0.1, slats=2, slat_width=0.01, slat_length=0.1, slat_thickness=0.01)
    inputs, loads = tree(), pulled(2e3)
    care = pressing(inputs, loads, slatted, False, 1.0)
    assert care.pressure > care.bare_pressure
    told = care_mends(inputs, loads, slatted, False, 1.0, care)
    assert told[0].remedy.field == "slats" and told[0].remedy.value == 0
    assert all(one.remedy.value > 0.1 for one in told if one.remedy.field == "sling width")


def test_a_pull_scaled_is_scaled_in_every_part():
    """A guy that leaves half: half the pull, and half of each line's in its moment; ways and ties stay."""
    half = Pulls.single(("walked",), 2e3, 90.0, 1.5, 0.1).scaled(0.5)
    assert half.pull.tolist() == [1e3] and half.parts.tolist() == [[[1e3, 90.0, 1.5]]]


def test_a_lean_of_no_known_way_is_taken_along_the_pull():
    inputs = replace(tree(), lean_deg=3.0, lean_toward_deg=math.nan)
    assert _lean_from_pull(inputs, np.array([10.0, 200.0])).tolist() == [0.0, 0.0]


def test_of_opposed_lines_a_lean_adds_to_the_harder_one_where_it_leans_that_way():
    """3 kN east at 1 m, 1 kN west at 2 m: at 0.5 m the lines turn 1.5 - 1.5 kN m, at the foot 3 - 2 east."""
    east, west = Pulls.single(("walked",), 3e3, 90.0, 1.0, 0.1), Pulls.single(("walked",), 1e3, 270.0, 2.0, 0.1)
    parts = np.concatenate([east.parts, west.parts], axis=1)
    both = replace(east, parts=parts, pull=np.array([2e3]))
    at = np.array([0.0, 1.5])
    toward_east, lean = _bending(replace(tree(), lean_deg=5.0, lean_toward_deg=90.0), both, at)
    assert toward_east[0, 0] == pytest.approx(1e3 + lean[0])  # with the sum of the lines
    assert toward_east[0, 1] == pytest.approx(max(500.0, lean[1]))  # over the lower tie only the west line bends it
    toward_west, _ = _bending(replace(tree(), lean_deg=5.0, lean_toward_deg=270.0), both, at)
    assert toward_west[0, 1] == pytest.approx(500.0 + lean[1])


@pytest.mark.parametrize("first", range(5))
def test_the_smallest_change_that_reaches_is_found_wherever_it_lies(first):
    tries = [Try("tie height", 2.0 - 0.1 * step, "m", said("tie-no-higher", tie=2.0)) for step in range(5)]
    levels = {one: 0 if place >= first else 2 for place, one in enumerate(tries)}
    line = SimpleNamespace(inputs=SimpleNamespace(use="low line", hung=False))
    assert _smallest(line, tries, 0, levels) is tries[first]
    assert _smallest(line, tries[:first], 0, levels) is None


def test_a_lowest_branch_near_the_top_counts_no_higher_than_nearly_all_city_trees_carry_it():
    """0.71 of the height bounds 99.5 % of 9,056 city trees (McPherson et al. 2016, table TS3)."""
    inputs = tree({"T1.height": "20 m", "T1.crown_base": "19.5 m"})
    assert inputs.crown_base == pytest.approx(0.71 * 20.0, abs=0.2)
    assert tree({"T1.height": "20 m", "T1.crown_base": "14 m"}).crown_base == 14.0


def test_a_fork_at_the_tie_counts_whole():
    assert tree({"T1.stems": "fork above tie", "T1.fork_height": "1.2 m"}).forked == 1.0


def test_strands_round_a_choker_and_turns_round_a_trunk_by_hand():
    """10 kN on a trunk of 0.5 m: a choker of two strands 5 kN each; n turns touch pi + 2 b + (n - 1) 2 pi round."""
    choker = press(1e4, 0.5, 0.05, wrap="choker", strands=2)
    assert float(choker.strand_n) == 5e3 and float(choker.contact_rad) == pytest.approx(2 * math.pi)
    b = math.asin(0.25 / 1.0)
    for turns in (1, 2, 3):
        found = press(1e4, 0.5, 0.05, 1.0, "turns", turns=turns)
        assert float(found.contact_rad) == pytest.approx(math.pi + 2 * b + 2 * math.pi * (turns - 1))
        assert float(press(1e4, 0.5, 0.05, wrap="friction", turns=turns).contact_rad) == pytest.approx(
            2 * math.pi * turns)


def test_a_reading_at_the_peak_limit_is_the_bands_own_and_past_it_the_hardest():
    """1,000 kPa is the limit asked of the hardest case (judgement, its row); the word there is the share's."""
    assert reading(0.3, 1e6) == reading(0.3, 0.0) != reading(0.3, 1.001e6) == reading(99.0, 0.0)
