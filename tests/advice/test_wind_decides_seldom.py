"""Wind told as an instruction, not as a verdict: of complete records it may decide one in five at most."""

from __future__ import annotations

import copy

import pytest
from everyday import EVERYDAY, pair, tree
from parks import record
from wind_alone import ends_and_those_decided_by_wind

from siteassess.advice.assess import assess


def test_the_wind_alone_decides_one_everyday_pair_in_five_at_most():
    count, by_wind = ends_and_those_decided_by_wind([record(copy.deepcopy(one.edits)) for one in EVERYDAY])
    assert count >= 40
    assert len(by_wind) <= count / 5


def test_a_crown_of_no_width_is_one_that_nobody_paced():
    """Typed as 0 m it left nothing for the wind to push, and a poplar that no breeze may meet read "suits if"."""
    poplar = pair(tree("Populus nigra", 106.8, 22, 12, "deep ridged"), span_m=20, tension="3 kN", tie="1 m")
    words = []
    for width in ("0 m", None):
        line = assess(record(poplar | {"T1.crown_spread": width, "T2.crown_spread": width})).lines[0]
        words.append([finding.effect for finding in line.anchors[0].findings if finding.about == "wind"])
    assert words == [["cannot say"], ["cannot say"]]


@pytest.mark.parametrize("one", EVERYDAY, ids=lambda one: one.name)
def test_an_everyday_tree_is_told_when_the_line_comes_down_and_not_in_a_breeze(one):
    for end in assess(record(copy.deepcopy(one.edits))).lines[0].anchors:
        (told,) = [f for f in end.findings if f.about.startswith("wind")]
        assert "take the line down before gusts of" in told.says and "km/h (" in told.says and "m/s)" in told.says
        # a gentle breeze, in which people walk lines, asks for nothing (common practice, no source)
        assert end.take_down_wind_m_s >= 5
