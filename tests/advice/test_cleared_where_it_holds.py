"""What a line that touches is asked for is tried on its anchors: no condition leads to "leave it"."""

from __future__ import annotations

import pytest
from everyday import LIME30, LIME40, OAK70, pair
from parks import record

from siteassess.advice.assess import assess
from siteassess.advice.ground import clearance_of
from siteassess.advice.line_inputs import line_inputs
from siteassess.advice.whole_line import CLEARED_BY, cleared_where_it_holds

SLACK = {"span_m": 15, "tension": "2 kN", "tie": "0.7 m"}


def touched(edits: dict):
    """The line and what is told of the ground it touches."""
    line = assess(record(edits)).lines[0]
    return line, next(one for one in line.findings if one.code.startswith("touches"))


def test_slim_limes_are_not_told_to_be_pulled_at_what_they_would_be_left_for():
    line, told = touched(pair(LIME30, **SLACK))
    needed = line.clearance.standing_to_clear_n
    assert needed > 6e3 and told.code == "touches" and "shorter" in told.condition
    hard = pair(LIME30, **SLACK) | {"L1.standing.tension": f"{needed / 1e3:.2f} kN"}
    assert assess(record(hard), remedies=False).lines[0].verdict == "leave it"


def test_stouter_limes_are_and_hold_it():
    line, told = touched(pair(LIME40, **SLACK))
    assert told.code == "touches-tighter-or-higher"
    clearance = line.clearance
    tighter = {"L1.standing.tension": f"{clearance.standing_to_clear_n / 1e3 + 0.01:.2f} kN"}
    higher = {f"L1.{end}.tie_height": f"{0.7 + clearance.lift_to_clear_m:.3f} m" for end in "ab"}
    for change in (tighter, higher):
        then = assess(record(pair(LIME40, **SLACK) | change), remedies=False).lines[0]
        assert not then.clearance.touches and "leave it" not in {end.verdict for end in then.anchors}


@pytest.mark.parametrize("holds, code", [
    (lambda hung: hung.standing.tension.si > 2001, "touches-tighter"),
    (lambda hung: hung.a.tie_height.si > 0.71 and hung.b.tie_height.si > 0.71, "touches-higher"),
    (lambda hung: True, "touches-tighter-or-higher"), (lambda hung: False, "touches"),
])  # fmt: skip
def test_each_way_is_asked_for_only_where_the_anchors_bear_it(holds, code):
    line = record(pair(LIME40, **SLACK)).lines[0]
    inputs = line_inputs(line)
    clearance, told = clearance_of(line, inputs)
    assert any(one.code in CLEARED_BY for one in told)
    asked = cleared_where_it_holds(line, inputs, clearance, told, holds)
    assert [one.code for one in asked if one.about == "ground"] == [code] and len(asked) == len(told)


@pytest.mark.parametrize("edits", [
    {"L1.a.tie_height": "1.9 m", "L1.b.tie_height": "1.9 m", "L1.webbing.stiffness": "20 kN"},  # a high line
    {f"T{tree}.crown_base": "1.5 m" for tree in (1, 2)},  # among the branches
])  # fmt: skip
def test_a_tie_so_high_that_nobody_can_say_is_not_asked_for(edits):
    """It was told to sit higher, and once that was done the word was "cannot say"."""
    slack = pair(OAK70, span_m=20, tension="1 kN", tie="1.2 m", more={
        "L1.webbing": {"stiffness": "40 kN", "mass": "70 g/m"}} | edits)  # fmt: skip
    line, told = touched(slack)
    lift = line.clearance.lift_to_clear_m
    higher = {f"L1.{end}.tie_height": f"{float(slack[f'L1.{end}.tie_height'][:3]) + lift:.3f} m" for end in "ab"}
    assert assess(record(slack | higher), remedies=False).lines[0].verdict == "cannot say" != line.verdict
    assert "higher" not in told.code and "higher" not in told.condition
