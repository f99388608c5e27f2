"""Wind on the crown and the gust at which a line comes down."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.special import ndtr

from siteassess.mechanics import wind

KINDS = ("broadleaf", "conifer")


def test_drag_of_fifty_square_metres_in_a_gale_by_hand():
    # 0.5 x 1.2 x 0.18 x 50 x 20 x 20, and half of it without leaves; the conifer's 0.34
    assert wind.crown_drag(20.0, 50.0, "broadleaf") == pytest.approx(2_160.0)
    assert wind.crown_drag(20.0, 50.0, "conifer") == pytest.approx(4_080.0)
    assert wind.crown_drag(0.0, 50.0, "broadleaf") == 0.0
    assert wind.wind_moment(20.0, 50.0, 8.0, "broadleaf") == pytest.approx(2_160.0 * 8.0)


def test_a_kind_of_leaf_not_known_catches_as_much_as_a_conifer_and_is_as_full_as_a_broadleaf():
    assert wind.drag_coefficient(15.0, "unknown") == wind.drag_coefficient(15.0, "conifer")
    assert wind.crown_area(8.0, 10.0, "unknown") == wind.crown_area(8.0, 10.0, "broadleaf")
    assert wind.crown_centre(2.0, 12.0, "unknown") == wind.crown_centre(2.0, 12.0, "broadleaf")


def test_a_gust_grows_with_height_beyond_ten_metres_and_no_shelter_is_counted_below():
    # EN 1991-1-4, open country, from memory: peak pressure at 20 m over that at 10 m is 1.19, its root 1.09
    assert wind.gust_at_crown(20.0, [2.0, 10.0, 20.0]) == pytest.approx([20.0, 20.0, 20.0 * 1.09], rel=0.01)


def test_crown_area_is_an_ellipse_or_a_cone_with_the_wind_lower_on_it():
    assert wind.crown_area(8.0, 10.0, "broadleaf") == pytest.approx(np.pi / 4 * 80.0, rel=1e-3)
    assert wind.crown_area(8.0, 10.0, "conifer") == pytest.approx(40.0)
    assert wind.crown_centre(2.0, 12.0, "broadleaf") == 7.0 > wind.crown_centre(2.0, 12.0, "conifer")
    assert np.isnan(wind.crown_area(-1.0, 10.0, "broadleaf")) and np.isnan(wind.crown_drag(8.0, -1.0, "broadleaf"))
    assert np.isnan(wind.crown_centre(13.0, 12.0, "broadleaf"))


def test_take_down_wind_at_the_edges():
    least = 10e3 * np.exp(-1.6448536 * 0.5)  # the 5 % value

    def found(line, area=50.0):
        return wind.take_down_wind(10e3, 0.5, line, area, 10.0, "broadleaf")

    assert found(least * 1.0001) == 0.0 and found(12e3) == 0.0
    assert 0 < found(least * 0.9999) < 1.0
    assert np.isinf(found(1e3, area=0.0)) and found(12e3, area=0.0) == 0.0


@pytest.mark.parametrize("place", range(5))
def test_any_unknown_leaves_the_wind_unknown(place):
    arguments = [10e3, 0.5, 1e3, 50.0, 10.0]
    arguments[place] = np.nan
    assert np.isnan(wind.take_down_wind(*arguments, "broadleaf"))


moments, scatters, kinds = st.floats(1e3, 1e6), st.floats(0.2, 0.9), st.sampled_from(KINDS)


@settings(max_examples=80, deadline=None)
@given(moments, scatters, st.floats(0.0, 0.99), st.floats(1.0, 300.0), st.floats(2.0, 25.0), kinds)
def test_in_that_gust_the_tree_is_asked_too_much_one_time_in_twenty(median, ln_sd, share, area, height, kind):
    line = share * median * np.exp(-1.6448536 * ln_sd)
    gust = wind.take_down_wind(median, ln_sd, line, area, height, kind)
    moment = wind.wind_moment(gust, area, height, kind)
    nodes, weights = np.polynomial.hermite_e.hermegauss(64)
    drags = np.exp(wind.DRAG_LN_SD.value * nodes)
    chance = np.sum(weights * ndtr(np.log((line + moment * drags) / median) / ln_sd)) / weights.sum()
    assert chance == pytest.approx(0.05, abs=2e-4)


def test_the_gust_against_seeded_draws():
    gust = wind.take_down_wind(71e3, 0.47, 10e3, 66.0, 8.75, "broadleaf")
    moment = wind.wind_moment(gust, 66.0, 8.75, "broadleaf")
    draw = np.random.default_rng(4)
    held = 71e3 * np.exp(0.47 * draw.standard_normal(400_000))
    asked = 10e3 + moment * np.exp(wind.DRAG_LN_SD.value * draw.standard_normal(400_000))
    # three standard errors of a share of 5 % in 400,000
    assert np.mean(asked > held) == pytest.approx(0.05, abs=0.001)


@settings(max_examples=80, deadline=None)
@given(moments, scatters, st.floats(0.0, 0.9), st.floats(1.0, 300.0), st.floats(2.0, 25.0), st.floats(1.01, 2.0), kinds)
def test_larger_crowns_and_more_line_come_down_earlier_and_stronger_trees_later(
    median, ln_sd, share, area, height, more, kind
):
    least = median * np.exp(-1.6448536 * ln_sd)

    def gust(median=median, line=share * least, area=area, height=height):
        return wind.take_down_wind(median, ln_sd, line, area, height, kind)

    base = gust()
    assert gust(area=area * more) < base and gust(height=height * more) < base
    assert gust(line=(share + 0.05) * least) < base
    assert gust(median=median * more) > base


@settings(max_examples=60, deadline=None)
@given(st.floats(0.0, 60.0), st.floats(1.001, 1.5), kinds)
def test_more_wind_is_more_force_and_a_gust_is_found_back_from_its_moment(speed, more, kind):
    assert wind.crown_drag(speed * more, 30.0, kind) >= wind.crown_drag(speed, 30.0, kind)
    moment = wind.wind_moment(speed, 30.0, 13.0, kind)
    assert wind.gust_of_moment(moment, 30.0, 13.0, kind) == pytest.approx(speed, rel=1e-9, abs=1e-12)
