"""Hours of the night for a line that goes up after midnight: it hangs in the night that began the day before."""

from __future__ import annotations

import pytest
from rule_cases import held

from siteassess.advice.rule_hours import hours_clause
from siteassess.reference.rules import ClockEvent, HoursClause


def night(opens: str, closes: str, day: str, start: str, end: str):
    """Answer and what is told, at 54.5 N 2.5 E by British clocks."""
    clause = HoursClause(id="h", kind="hours", start=ClockEvent(event=opens), end=ClockEvent(event=closes))
    made = {"site.time_zone": "Europe/London", "L1.planned.date": day, "L1.planned.start": start,
            "L1.planned.end": end}  # fmt: skip
    answer, _, told = hours_clause(clause, held(made))
    return answer, told.in_words()


@pytest.mark.parametrize("day, answer", [("2026-03-28", "not met"), ("2026-03-29", "met"), ("2026-03-30", "met")])
def test_a_line_after_midnight_comes_down_by_the_sunrise_of_its_own_morning(day, answer):
    """Clocks go forward on 29 March 2026: the sun rises about 05:40 the day before, and about 06:35 from then on."""
    assert night("sunset", "sunrise", day, "03:00", "06:10")[0] == answer


@pytest.mark.parametrize("day, answer", [("2026-10-24", "met"), ("2026-10-25", "not met"), ("2026-10-26", "not met")])
def test_in_autumn_the_sunrise_of_its_own_morning_is_the_earlier_one(day, answer):
    """Clocks go back on 25 October 2026: the sun rises about 07:40 the day before, and about 06:40 from then on."""
    assert night("sunset", "sunrise", day, "03:00", "07:10")[0] == answer


@pytest.mark.parametrize("start, answer", [("02:00", "met"), ("01:00", "met"), ("00:30", "met"), ("22:00", "not met")])
def test_after_midnight_is_later_than_any_dusk_of_the_evening_before(start, answer):
    """On 20 June it is dusk about 22:30: two in the morning is past it, ten in the evening is not."""
    assert night("dusk", "sunrise", "2026-06-20", start, "03:00")[0] == answer


def test_what_goes_up_before_sunset_is_told_the_sunset_of_its_own_evening():
    """About 18:25 on 28 March 2026, and with the clocks put forward about 19:27 on the 29th."""
    answer, told = night("sunset", "sunrise", "2026-03-29", "17:00", "21:00")
    assert answer == "not met" and "19:2" in told and "18:2" not in told
