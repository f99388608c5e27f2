"""On which side of a limit its own value lies. No measured park hits one exactly; a sum of round numbers may.

The sides are the ones the texts tell ("up to", "under", "over"); that they are these is ours.
"""

from __future__ import annotations

import datetime
import math
from types import SimpleNamespace

import pytest

from siteassess.advice.care import Care, care_findings
from siteassess.advice.changes import Held
from siteassess.advice.end_loads import (
    HIGH_LINE_TRUNK,
    HIGHEST_TIE,
    LEAST_TRUNK,
    USUAL_LEAST_TRUNK,
    high_tie,
    size_findings,
    tie_findings,
)
from siteassess.advice.finding import Limit
from siteassess.advice.gear_inputs import SlingInputs
from siteassess.advice.judge import SUITS_UP_TO, limit_finding
from siteassess.advice.remedies import level
from siteassess.advice.wind_check import WIND_TO_LEAVE, WIND_TO_MIND
from siteassess.mechanics.bark import BARK_READINGS, PEAK_PRESSURE
from siteassess.register.standing import LONGEST_MARK, holds_too_long

JUST = 1e-9


def trunk(diameter: float, height: float = 12.0, base: float = 9.0):
    return SimpleNamespace(diameter=diameter, diameter_at=lambda tie: diameter, height=height, crown_base=base,
                           height_how="measured")  # fmt: skip


def codes(findings) -> list[str]:
    return [one.code for one in findings]


@pytest.mark.parametrize("use, least, code", [
    ("low line", LEAST_TRUNK.value, "trunk-under-least"), ("high line", LEAST_TRUNK.value, "trunk-under-least"),
    ("high line", HIGH_LINE_TRUNK.value, "trunk-slim-for-a-high-line"),
    ("low line", USUAL_LEAST_TRUNK.value, "trunk-under-public-rules"),
])  # fmt: skip
def test_a_trunk_of_just_the_least_size_is_not_under_it(use, least, code):
    line = SimpleNamespace(use=use, hung=use == "hammock")
    assert code not in codes(size_findings(line, trunk(least), 1.2))
    assert code in codes(size_findings(line, trunk(least - JUST), 1.2))


def test_a_tie_at_just_the_lowest_branch_is_under_it_and_one_at_the_top_is_over_it():
    tree = trunk(0.5, height=12.0, base=3.0)
    assert codes(high_tie(tree, 3.0)) == [] and codes(high_tie(tree, 3.0 + JUST)) == ["tie-in-the-crown"]
    assert codes(high_tie(tree, 12.0)) == ["tie-over-the-top"]
    third = HIGHEST_TIE.value * 12.0
    assert codes(high_tie(trunk(0.5), third)) == []
    assert codes(high_tie(trunk(0.5), third + 1e-6)) == ["tie-over-a-third"]
    assert "trunk-under-least" not in codes(tie_findings(trunk(LEAST_TRUNK.value), 1.0))
    assert "trunk-under-least" in codes(tie_findings(trunk(LEAST_TRUNK.value - JUST), 1.0))


def limit(use: float) -> Limit:
    return Limit("stem", "N m", "walked", 1.0, 1.0, use)


def test_a_use_of_just_a_limit_still_reads_the_kinder_word():
    assert limit_finding(limit(SUITS_UP_TO)).code == "limit-within"
    assert limit_finding(limit(SUITS_UP_TO + JUST)).code == "limit-watched"
    assert limit_finding(limit(1.0)).code == "limit-watched"
    assert limit_finding(limit(1.0 + JUST)).code == "limit-exceeded"


def test_a_remedy_is_sought_from_the_same_limits():
    def at(use: float, wind: float | None) -> int:
        return level(Held(use, wind, ()))

    assert at(SUITS_UP_TO, WIND_TO_MIND) == 0 and at(SUITS_UP_TO, None) == 0
    assert at(SUITS_UP_TO + JUST, WIND_TO_MIND) == 1 and at(SUITS_UP_TO, WIND_TO_MIND - JUST) == 1
    assert at(1.0, WIND_TO_LEAVE) == 1 and at(1.0 + JUST, WIND_TO_LEAVE) == 2 and at(1.0, WIND_TO_LEAVE - JUST) == 2


def pressed(use: float, peak: float) -> Care:
    sling = SlingInputs("basket", True, 0.05, 1, 1.0, None, None, None, 0, None, None, None)
    return Care(sling, None, use * 1e5, peak, 1e5, use, BARK_READINGS[-1], 1.0)


def test_bark_at_twice_its_reference_and_at_the_peak_limit_is_still_a_matter_of_slings():
    def told(use: float, peak: float) -> list[str]:
        return codes(care_findings(pressed(use, peak), (), planned=True))

    top = PEAK_PRESSURE.value
    assert told(2.0, top) == ["bark-pressed-too-hard"]
    assert told(2.0 + JUST, top) == ["bark-pressed-beyond-slings"] == told(2.0, top * (1 + JUST))
    assert told(math.nan, top) == ["bark-not-worked-out"]


@pytest.mark.parametrize("later, too_long", [(0, False), (1, True)])
def test_a_mark_of_just_the_longest_time_is_no_slip(later, too_long):
    given = datetime.date(2026, 4, 18)
    mark = {"given": True, "date": str(given), "expires": str(given + LONGEST_MARK + datetime.timedelta(days=later))}
    assert holds_too_long(mark) is too_long
    assert holds_too_long({**mark, "given": False}) is False
