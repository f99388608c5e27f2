"""Wind told as an instruction, not as a verdict: of complete records it may decide one in five at most."""

from __future__ import annotations

import copy

import pytest
from everyday import EVERYDAY
from parks import record
from wind_alone import ends_and_those_decided_by_wind

from siteassess.advice.assess import assess


def test_the_wind_alone_decides_one_everyday_pair_in_five_at_most():
    count, by_wind = ends_and_those_decided_by_wind([record(copy.deepcopy(one.edits)) for one in EVERYDAY])
    assert count >= 40
    assert len(by_wind) <= count / 5


@pytest.mark.parametrize("one", EVERYDAY, ids=lambda one: one.name)
def test_an_everyday_tree_is_told_when_the_line_comes_down_and_not_in_a_breeze(one):
    for end in assess(record(copy.deepcopy(one.edits))).lines[0].anchors:
        (told,) = [f for f in end.findings if f.about.startswith("wind")]
        assert "take the line down before gusts of" in told.says and "km/h (" in told.says and "m/s)" in told.says
        # a gentle breeze, in which people walk lines, asks for nothing (common practice, no source)
        assert end.take_down_wind_m_s >= 5
