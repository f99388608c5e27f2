"""Sizes nobody read: one low height for the root plate, one high for lean and wind, a wide crown, all of it told."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from parks import record

from siteassess.advice import filled, judge
from siteassess.advice.assess import assess
from siteassess.advice.changes import TreeEnd
from siteassess.advice.filled import crown_width_of, filled_height_of
from siteassess.advice.hold import Pulls, governing, root_limits
from siteassess.advice.tree_inputs import tree_inputs
from siteassess.mechanics.allometry import filled_size
from siteassess.reference.species import find_species, species_names

NAMES = ("Quercus robur", "Quercus alba", "Tilia cordata", "Platanus x hispanica", "Pinus strobus", "unknown conifer",
         "unknown")  # fmt: skip

THIRTY = [{"diameter": "30 cm", "read_at": "1.3 m", "how": "taped"}]


@settings(max_examples=80, deadline=None)
@given(st.sampled_from(NAMES), st.floats(0.1, 1.2))
def test_the_low_height_lies_under_the_high_one_and_both_grow_with_the_trunk(name, diameter):
    match = find_species(name)
    thin, thick = filled_height_of(match, diameter), filled_height_of(match, diameter * 1.1)
    assert 0 < thin.height < thin.high
    assert thick.height >= thin.height and thick.high >= thin.high


@pytest.mark.parametrize("diameter", [0.1, 0.3, 0.6, 1.2])
def test_a_vaguer_name_is_never_filled_more_kindly(diameter):
    """Species within their genus, their leaf type and no name at all: lower, higher and wider at every step."""
    unknown = filled_height_of(find_species("unknown"), diameter)
    wide = crown_width_of(find_species("unknown"), diameter)[0]
    for name in species_names():
        match = find_species(name)
        filled, crown = filled_height_of(match, diameter), crown_width_of(match, diameter)[0]
        for vaguer in (name.split()[0] + " sp.", f"unknown {match.leaf_type}"):
            if match.leaf_type == "palm":
                continue
            low = filled_height_of(find_species(vaguer), diameter)
            assert low.height <= filled.height and low.high >= filled.high, (name, vaguer)
            assert crown_width_of(find_species(vaguer), diameter)[0] >= crown
        assert unknown.height <= filled.height and unknown.high >= filled.high and wide >= crown


def test_nothing_is_filled_without_a_trunk():
    match = find_species("Quercus robur")
    assert filled_height_of(match, math.nan) is None and crown_width_of(match, math.nan) is None


def test_a_filled_height_is_told_lowers_the_evidence_and_leaves_the_verdict_open():
    end = assess(record({"T1.height": None})).lines[0].anchors[0]
    assert "tree height" in end.evidence.missing and end.verdict == "cannot say"
    assert any("tree height not read" in says for says in end.reasons)


def test_lean_is_weighed_with_the_high_height_and_roots_with_the_low():
    known, filled = (tree_inputs(record({"T1.height": height}).anchor("T1"), 1.2) for height in ("18 m", None))
    assert known.height == known.height_high == 18.0
    assert filled.height < filled.height_high and filled.height_how == "filled"
    lean = {"T1.lean": "8 deg", "T1.lean_toward": "90 deg"}
    end = assess(record(lean | {"T1.height": None})).lines[0].anchors[0]
    high = assess(record(lean | {"T1.height": f"{filled.height_high:.4f} m"})).lines[0].anchors[0]
    assert end.limits[0].demand == pytest.approx(high.limits[0].demand, rel=1e-3)
    assert end.limits[1].capacity_median < high.limits[1].capacity_median


def test_a_root_plate_that_fails_only_by_a_filled_height_is_not_rejected():
    # a low height overrates the use: the tree may be taller
    girth = {"T1.height": None, "T1.trunk.0.girth": "126 cm", "T1.crown_spread": "4 m", "L1.a.tie_height": "1.8 m"}
    end = assess(record(girth)).lines[0].anchors[0]
    assert end.hold_use > 1 and end.verdict == "cannot say"
    assert any("true height" in says for says in end.reasons)


def test_a_trunk_asked_for_again_is_not_summed_up_again(monkeypatch):
    """What to look at first in a bare record is found by judging sixty records with the same few trunks."""
    counted = []
    monkeypatch.setattr(filled, "filled_size", lambda *given: counted.append(given) or filled_size(*given))
    sizes, sums = [], []
    for _ in range(2):
        sizes.append([fill(find_species("unknown"), 0.4321) for fill in (filled_height_of, crown_width_of)])
        sums.append(len(counted))
    assert sums[0] == sums[1] > 0 and sizes[0] == sizes[1]


def test_a_height_it_may_have_is_none_that_no_winched_tree_had():
    """However tall a table lets it be: beyond 80 diameters nothing is worked out, and no such tree excuses a pull."""
    made = record({"T1.height": None, "T1.height_how": None, "T1.trunk": THIRTY})
    case = TreeEnd(made.lines[0], "A", made.anchor("T1"), 20.0, 90.0, 54.5, made.lines[0].planned.date).case()
    for high in (case.tree.height_high, 100.0):
        tried = replace(case, tree=replace(case.tree, height_high=high))
        for pull, code in ((5e3, "root-plate-over-filled"), (2e4, "limit-exceeded")):
            pulls = Pulls.single(("pull",), pull, 90.0, 1.2, 0.2)
            root = governing(root_limits(tried.tree, pulls, 1.5)[0], pulls, {})
            assert judge._root_finding(tried, root, pulls, 1.5).code == code, (high, pull)
