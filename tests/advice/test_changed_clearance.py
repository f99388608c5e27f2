"""A height measured over what was worked out, and a foot taped off itself, at their edges."""

from __future__ import annotations

from types import SimpleNamespace

import pytest
from parks import record

from siteassess.advice import ground
from siteassess.advice.ground import HEIGHTS_DIFFER_M, MARGIN_M, TAPES_APART, clearance_of
from siteassess.advice.line_inputs import line_inputs


def told(**edits) -> dict:
    line = record({f"L1.{key}": value for key, value in edits.items()}).lines[0]
    return {one.code: one for one in clearance_of(line, line_inputs(line, 20.0), seek=False)[1]}


@pytest.mark.parametrize("off, asked", [(0.0, False), (float(TAPES_APART), False), (0.16, True)])
def test_a_foot_taped_off_itself_by_more_than_two_tapes_differ_was_not_looked_at(monkeypatch, off, asked):
    monkeypatch.setattr(ground, "feet_apart", lambda *of: off)
    found = told().get("ground-foot-apart")
    assert (found is not None) is asked
    assert found is None or (found.effect, found.looked_at, dict(found.values)["apart"]) == ("cannot say", False, off)


def test_the_straight_way_from_tie_to_tie_is_told_over_the_ground_at_mid_span():
    """By hand: A tied at 1.2 m and B at 1.6 m over level feet, the ground a metre down half way: 1.4 and 1 m."""
    found = told(**{"b.tie_height": "1.6 m", "mid_height": "2.6 m"})["measured-over-the-ties"]
    assert dict(found.values)["straight"] == pytest.approx(2.4) and found.looked_at is False
    assert "measured-over-the-ties" not in told(**{"b.tie_height": "1.6 m", "mid_height": "2.4 m"})


@pytest.mark.parametrize("height, off, effect", [
    (1.0 + HEIGHTS_DIFFER_M, 0.5, "suits if"), (1.05, 0.5, "suits if"), (1.11, 0.5, "cannot say"),
    (0.9, float(MARGIN_M), "suits"), (0.9, 0.31, "suits if"),
])  # fmt: skip
def test_a_line_over_its_ties_is_no_line_and_a_tighter_one_is_asked_for(height, off, effect):
    """Ten centimetres over the straight way (1 m here), and thirty over what was worked out (judgements)."""
    line = SimpleNamespace(mid_height=SimpleNamespace(si=float(height), text="so high"))
    (found,) = ground._measured_higher(line, off, 1.0)
    assert (found.effect, found.looked_at) == (effect, False)
