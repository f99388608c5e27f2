"""Wind on the crown and the wind at which a line comes down."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from siteassess.mechanics import wind


def test_drag_of_fifty_square_metres_in_a_light_wind_by_hand():
    # 0.5 x 1.2 x 0.7 x 50 x 8 x 8
    assert wind.crown_drag(8.0, 50.0) == pytest.approx(1_344.0)
    assert wind.crown_drag(8.0, 50.0, in_leaf=0) == pytest.approx(672.0)
    assert wind.wind_moment(8.0, 50.0, 10.0, section_height=0.3) == pytest.approx(1_344.0 * 9.7)


def test_take_down_wind_at_the_edges():
    assert wind.take_down_wind(10e3, 10e3, 50.0, 10.0) == 0.0
    assert wind.take_down_wind(10e3, 12e3, 50.0, 10.0) == 0.0
    assert np.isinf(wind.take_down_wind(10e3, 1e3, 0.0, 10.0))
    assert np.isinf(wind.take_down_wind(10e3, 1e3, 50.0, 1.0, section_height=2.0))
    assert wind.take_down_wind(10e3, 12e3, 0.0, 10.0) == 0.0


@pytest.mark.parametrize("place", range(6))
def test_any_unknown_leaves_the_wind_unknown(place):
    arguments = [10e3, 1e3, 50.0, 10.0, 0.0, 1.0]
    arguments[place] = np.nan
    assert np.isnan(wind.take_down_wind(*arguments))


moments = st.floats(1e3, 1e6)


@settings(max_examples=80, deadline=None)
@given(moments, st.floats(0.0, 0.99), st.floats(1.0, 300.0), st.floats(2.0, 25.0), st.sampled_from([0.0, 1.0]))
def test_take_down_wind_brings_the_demand_to_the_allowable(allowable, share, area, height, leaf):
    speed = wind.take_down_wind(allowable, share * allowable, area, height, in_leaf=leaf)
    total = share * allowable + wind.wind_moment(speed, area, height, in_leaf=leaf)
    assert total == pytest.approx(allowable, rel=1e-9)


@settings(max_examples=80, deadline=None)
@given(moments, st.floats(0.0, 0.9), st.floats(1.0, 300.0), st.floats(2.0, 25.0), st.floats(1.01, 2.0))
def test_larger_crowns_and_more_line_come_down_earlier(allowable, share, area, height, more):
    base = wind.take_down_wind(allowable, share * allowable, area, height)
    assert wind.take_down_wind(allowable, share * allowable, area * more, height) < base
    assert wind.take_down_wind(allowable, (share + 0.05) * allowable, area, height) < base
    assert wind.take_down_wind(allowable, share * allowable, area, height, in_leaf=0) > base


@settings(max_examples=60, deadline=None)
@given(st.floats(0.0, 60.0), st.floats(1.001, 1.5))
def test_more_wind_is_more_force(speed, more):
    assert wind.crown_drag(speed * more, 30.0) >= wind.crown_drag(speed, 30.0)


def test_crown_area_is_an_ellipse():
    assert wind.crown_area(8.0, 10.0) == pytest.approx(np.pi / 4 * 80.0, rel=1e-3)
    assert np.isnan(wind.crown_area(-1.0, 10.0)) and np.isnan(wind.crown_drag(8.0, -1.0))
