"""Hauling by hand and what is left of it."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from siteassess.mechanics import hauling as h
from siteassess.mechanics.line_load import LoadedLine
from siteassess.mechanics.profile import plain_slope
from siteassess.mechanics.tightening import Pullers, tight_enough, what_helps

NYLON = h.SETTLING["nylon"]


@settings(max_examples=100, deadline=None)
@given(st.integers(1, 12), st.floats(0.3, 1.0))
def test_advantage_is_the_sum_over_the_strands(ideal, efficiency):
    assert h.advantage(ideal, efficiency) == pytest.approx(sum(efficiency**k for k in range(ideal)))
    assert h.advantage(ideal, efficiency) <= ideal
    assert h.advantage(ideal + 1, efficiency) > h.advantage(ideal, efficiency)
    assert h.advantage(ideal, efficiency, True) == pytest.approx(efficiency * h.advantage(ideal, efficiency))


def test_more_strands_over_bad_sheaves_give_almost_nothing():
    assert h.advantage(50, 0.5) == pytest.approx(2.0)


def test_stages_in_series_multiply():
    one, two = h.Stage(3, 0.9), h.Stage(5, 0.8)
    assert h.compound_advantage([one, two]) == pytest.approx(float(h.advantage(3, 0.9) * h.advantage(5, 0.8)))
    assert h.haul(1, [one, one]).ideal_advantage == 9.0


@settings(max_examples=60, deadline=None)
@given(st.integers(1, 6), st.integers(1, 6), st.floats(0.4, 0.99), st.floats(50, 700))
def test_ranges_are_ordered_and_more_hands_pull_more(people, ideal, efficiency, pull):
    one = h.haul(people, [h.Stage(ideal, efficiency)], pull)
    more = h.haul(people + 1, [h.Stage(ideal, efficiency)], pull)
    assert one.reached.low <= one.reached.likely <= one.reached.high
    assert one.locked.low < one.locked.likely < one.locked.high
    assert one.locked.likely < one.reached.likely < more.reached.likely
    assert more.reached.likely / one.reached.likely < (people + 1) / people


def test_two_people_pull_less_than_twice_one():
    """Pins an input recalled and never checked: 1.8 times one."""
    assert h.crew_pull(2, 400.0).likely == pytest.approx(1.8 * 400.0)


def test_a_friction_grip_caps_the_haul():
    free = h.haul(3, [h.Stage(3, 0.9), h.Stage(3, 0.9)])
    held = h.haul(3, [h.Stage(3, 0.9), h.Stage(3, 0.9)], friction_grip=h.FRICTION_GRIP)
    assert held.grip_slips and not free.grip_slips
    assert held.reached.high == h.FRICTION_GRIP.high < free.reached.high


def test_settling_is_largest_at_first_and_less_after_each_round():
    locked = h.Range(2000.0, 2000.0, 2000.0)
    left = [h.settled(locked, NYLON, n).likely for n in range(4)]
    assert left[0] == pytest.approx(1700.0)
    gains = np.diff(left)
    assert (gains > 0).all() and (np.diff(gains) < 0).all()
    assert [h.rounds_to_keep(wanted, locked, NYLON) for wanted in (1650.0, 1800.0, 2100.0)] == [0, 1, None]


def test_the_low_tension_meets_the_high_share_that_is_lost():
    locked = h.Range(2000.0, 2000.0, 2000.0)
    assert h.settled(locked, h.Range(0.1, 0.2, 0.3)) == h.Range(1400.0, 1600.0, 1800.0)


def test_answers():
    tension = h.Range(1000.0, 2000.0, 3000.0)
    assert [h.reaches(t, tension) for t in (900.0, 2500.0, 3500.0, np.nan)] == ["yes", "perhaps", "no", "cannot say"]


def test_wrong_use_is_refused():
    with pytest.raises(ValueError, match="one person"):
        h.crew_pull(0, 400.0)
    with pytest.raises(ValueError, match="stage"):
        h.haul(1, [])
    for efficiency in (0.0, 1.1, np.nan, h.Range(0.5, 0.9, 1.2)):
        with pytest.raises(ValueError, match="efficiency"):
            h.haul(1, [h.Stage(3, efficiency)])


LINE = LoadedLine(35.0, 0.0, 3000.0, 60e3, 0.7, 800.0)


def test_what_helps_changes_one_thing_at_a_time_and_none_makes_it_worse():
    crew = Pullers(2, (h.Stage(3, 0.9),))
    now = tight_enough(LINE, 2.0, plain_slope(35.0), 0.2, crew, NYLON)
    helps = what_helps(LINE, 2.0, plain_slope(35.0), 0.2, crew, NYLON)
    assert len(helps) == 5
    assert all(change.ratio >= now.ratio for change in helps)
    assert [change.ratio for change in helps] == sorted((change.ratio for change in helps), reverse=True)
    higher = next(change for change in helps if "higher" in change.name)
    assert higher.needed < now.needed and higher.stays == now.stays


def test_a_line_that_no_tension_clears_is_answered_no():
    never = tight_enough(LINE, 0.3, plain_slope(35.0), 0.25, Pullers(4, (h.Stage(9, 0.95),)), NYLON)
    assert np.isnan(never.needed) and never.answer == "no" and never.ratio == 0
