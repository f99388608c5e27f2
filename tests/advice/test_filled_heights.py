"""Sizes nobody read: one low height for the root plate, one high for lean and wind, a wide crown, all of it told."""

from __future__ import annotations

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from parks import record

from siteassess.advice.assess import assess
from siteassess.advice.filled import crown_width_of, filled_height_of
from siteassess.advice.tree_inputs import tree_inputs
from siteassess.reference.species import find_species
from siteassess.reference.tables import rows

NAMES = ("Quercus robur", "Quercus alba", "Tilia cordata", "Platanus x hispanica", "Pinus strobus", "unknown conifer",
         "unknown")  # fmt: skip


@settings(max_examples=80, deadline=None)
@given(st.sampled_from(NAMES), st.floats(0.1, 1.2))
def test_the_low_height_lies_under_the_high_one_and_both_grow_with_the_trunk(name, diameter):
    match = find_species(name)
    thin, thick = filled_height_of(match, diameter), filled_height_of(match, diameter * 1.1)
    assert 0 < thin.height < thin.high
    assert thick.height >= thin.height and thick.high >= thin.high


def test_an_unknown_species_is_filled_lower_and_higher_than_any_named_one():
    unknown = filled_height_of(find_species("unknown"), 0.5)
    for genus in {row.scientific_name.split(" ")[0] for row in rows("allometry")} - {""}:
        named = filled_height_of(find_species(genus), 0.5)
        assert unknown.height <= named.height and unknown.high >= named.high


def test_nothing_is_filled_without_a_trunk():
    match = find_species("Quercus robur")
    assert filled_height_of(match, math.nan) is None and crown_width_of(match, math.nan) is None


def test_an_open_grown_form_of_the_table_is_used_where_there_is_one():
    # Quercus alba has an open-grown form: at 0.5 m (19.7 in) white oaks stand about 11 to 12 m wide in the open
    # (Ek 1974 through Keyser 2008, read second hand); the 0.9 fractile of a scatter of 0.25 is 1.38 times that
    width, basis = crown_width_of(find_species("Quercus alba"), 0.5)
    assert "open-grown" in basis and 14 < width < 18


def test_a_forest_form_alone_never_makes_a_crown_narrower_than_the_rule_of_height():
    width, _ = crown_width_of(find_species("Tilia americana"), 0.5, height=20.0)
    assert width >= 0.7 * 20.0


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
