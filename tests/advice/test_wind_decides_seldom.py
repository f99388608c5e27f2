"""Wind told as an instruction, not as a verdict: of complete records it may decide one in five at most."""

from __future__ import annotations

from everyday import EVERYDAY, ends_and_those_decided_by_wind, everyday
from parks import record

from siteassess.advice.assess import assess


def test_the_wind_alone_decides_one_everyday_pair_in_five_at_most():
    count, by_wind = ends_and_those_decided_by_wind([record(everyday(*one)) for one in EVERYDAY])
    assert count >= 40
    assert len(by_wind) <= count / 5


def test_every_everyday_tree_stands_in_its_yearly_gale_and_is_told_when_to_take_the_line_down():
    for one in EVERYDAY:
        for end in assess(record(everyday(*one))).lines[0].anchors:
            (told,) = [f for f in end.findings if f.about.startswith("wind")]
            assert "take the line down before gusts of" in told.says and "km/h (" in told.says and "m/s)" in told.says
            # never below a gentle breeze, in which people walk lines
            assert end.take_down_wind_m_s >= 5, one
