"""Slope and banks, tilt and trial loads, and diameters carried along a trunk."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from siteassess.mechanics import ground, taper, tilt
from siteassess.mechanics.limit import Outside


def test_level_ground_without_a_bank_costs_nothing():
    assert ground.ground_factor(0.0, np.inf, 0.4) == 1.0
    assert ground.ground_factor(10.0, np.inf, 0.4) == 1.0


def test_slope_and_bank_cost_and_their_unkind_end_costs_more():
    """Pins judgements: no number was published for slopes or banks."""
    assert ground.ground_factor(20.0, np.inf, 0.4) == pytest.approx(0.9)
    assert ground.ground_factor(20.0, np.inf, 0.4, pessimistic=True) == pytest.approx(0.8)
    assert ground.ground_factor(0.0, 1.0, 0.4) == pytest.approx(0.75)
    assert ground.ground_factor(0.0, 1.21, 0.4) == 1.0
    assert ground.ground_factor(20.0, 1.0, 0.4, pessimistic=True) == pytest.approx(0.4)


@pytest.mark.parametrize("bad", [(np.nan, np.inf, 0.4), (0.0, np.nan, 0.4), (0.0, np.inf, np.nan), (-5.0, np.inf, 0.4)])
def test_unknown_ground_is_no_factor(bad):
    assert np.isnan(ground.ground_factor(*bad))


def test_too_steep_and_not_looked_are_told_apart():
    found = ground.ground_outside([0.0, 36.0, np.nan])
    assert [Outside(int(f)) for f in found] == [Outside.NOTHING, Outside.STEEP, Outside.MISSING]


def test_the_ground_decides_only_where_the_two_answers_differ():
    decides = ground.ground_decides([0.5, 0.9, 1.2, 0.9], [0.6, 1.1, 1.5, np.nan])
    assert decides.tolist() == [False, True, False, True]


def test_tilt_curve_passes_through_its_two_stated_points():
    """Pins two inputs that were recalled; what other fields say stands in tests/published/test_anchor_roots.py."""
    assert tilt.moment_share_at_tilt(0.25) == pytest.approx(0.40)
    assert tilt.moment_share_at_tilt(2.5) == 1.0
    assert tilt.moment_share_at_tilt(5.0) == 1.0
    assert np.isnan(tilt.moment_share_at_tilt(-0.1))


@settings(max_examples=60, deadline=None)
@given(st.floats(100.0, 1e5), st.floats(0.02, 2.0), st.floats(1.05, 1.2))
def test_more_tilt_under_one_load_means_less_capacity(moment, angle, more):
    capacity = tilt.capacity_from_trial(moment, angle)
    assert capacity >= moment
    assert tilt.capacity_from_trial(moment, angle * more) < capacity


def test_a_trial_reading_that_says_nothing_gives_no_number():
    assert np.isnan(tilt.capacity_from_trial([5e3, 5e3, 5e3, 0.0], [0.0, np.nan, 2.6, 0.3])).all()


def test_diameter_carried_up_shrinks_and_carried_down_earns_no_flare():
    assert taper.diameter_at(0.40, 1.3, 2.3) == pytest.approx(0.385)
    assert taper.diameter_at(0.40, 1.3, 0.3) == 0.40
    assert np.isnan(taper.diameter_at(0.02, 1.3, 3.3)) and np.isnan(taper.diameter_at(0.4, np.nan, 1.0))


def test_taper_by_height_has_no_trunk_left_at_the_top():
    assert taper.diameter_at_by_height(0.40, 1.3, 1.3, 18.0) == pytest.approx(0.40)
    assert np.isnan(taper.diameter_at_by_height(0.40, 1.3, 18.0, 18.0))
    assert taper.diameter_at_by_height(0.40, 1.3, 0.3, 18.0) == 0.40


def test_stated_taper_agrees_with_the_taper_by_height_near_the_ground():
    # Both are our own assumptions; for the 0.40 m by 18 m tree that the even taper was derived from they must agree.
    even = taper.diameter_at(0.40, 1.3, 2.8)
    assert taper.diameter_at_by_height(0.40, 1.3, 2.8, 18.0) == pytest.approx(float(even), rel=0.01)


@settings(max_examples=60, deadline=None)
@given(st.floats(0.2, 1.0), st.floats(0.5, 2.0), st.floats(0.0, 3.0), st.floats(0.0, 0.03), st.floats(0.0, 0.01))
def test_more_taper_never_leaves_a_thicker_trunk(d, read, section, per_metre, more):
    thin, base = taper.diameter_at(d, read, section, per_metre + more), taper.diameter_at(d, read, section, per_metre)
    assert thin <= base <= d
