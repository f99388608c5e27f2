"""Feet for metres between tape and positions: told by their ratio, however loose the positions are."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from parks import record

from siteassess.advice.assess import assess
from siteassess.advice.check import check_record
from siteassess.advice.pair import mixed_units
from siteassess.advice.results import PairGeometry

LOOSE = {f"{code}.position.accuracy": "25 m" for code in ("T1", "T2")}
ONLY_TAPED = LOOSE | {"L1.compass": None, "L1.ground": None}


@pytest.mark.parametrize(("typed", "slip", "meant"), [
    ("20 ft", "metres written as feet", "20.0 m"), ("65.6 m", "feet written as metres", "20.0 m"),
])  # fmt: skip
def test_a_span_in_the_wrong_unit_is_doubted_though_the_statistics_let_it_pass(typed, slip, meant):
    made = record(ONLY_TAPED | {"L1.span.taped": typed})
    (pair,) = check_record(made).pairs
    doubt = pair.geometry.notes[0].in_words()
    assert pair.geometry.level == "note" and slip in doubt and meant in doubt
    (line,) = assess(made).lines
    (told,) = [finding for finding in line.findings if finding.code == "unit-of-the-tape"]
    assert told.effect == "suits if" and "taped again" in told.condition and slip in told.says
    assert line.verdict != "suits"


def test_a_span_in_the_right_unit_is_not():
    (pair,) = check_record(record(ONLY_TAPED)).pairs
    assert pair.geometry.level == "agrees" and not mixed_units(pair.geometry)


def test_a_tape_that_positions_contradict_is_told_once():
    made = record({"L1.span.taped": "20 ft", "L1.compass": None, "L1.ground": None})  # positions to 2 m
    found = [finding for finding in assess(made).lines[0].findings if finding.about == "agreement"]
    assert len(found) == 1


@settings(max_examples=60, deadline=None)
@given(st.floats(1.0, 200.0), st.floats(0.05, 20.0))
def test_only_ratios_near_the_factor_are_doubted(apart, ratio):
    doubt = mixed_units(PairGeometry(apart, apart * ratio, None, None, None, None, "", "agrees", None))
    near = 0.2744 <= ratio <= 0.3352 or 2.9528 <= ratio <= 3.6089
    assert bool(doubt) == near
