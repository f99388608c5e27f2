"""Filled sizes: units, ranges, fractiles, own weight."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from siteassess.mechanics import allometry, ownweight

WHITE_OAK_HEIGHT = (170.1330787, 3.27815866, -0.48744214)


def test_units_are_converted_inside():
    # By hand: D = 10 in, h = 4.5 + 170.133 exp(-3.27816 x 10^-0.48744) ft.
    feet = 4.5 + 170.1330787 * np.exp(-3.27815866 * 10.0**-0.48744214)
    assert allometry.curtis_arney_height(0.254, *WHITE_OAK_HEIGHT) == pytest.approx(feet * 0.3048)


@pytest.mark.parametrize("bad", [np.nan, 0.0, 0.05, -0.4])
def test_thin_or_unknown_trunks_fill_nothing(bad):
    assert np.isnan(allometry.curtis_arney_height(bad, *WHITE_OAK_HEIGHT))
    assert np.isnan(allometry.clark_inside_bark(bad, -0.24096, 0.93789))
    assert np.isnan(allometry.crown_width(bad, "04", 1.8, 1.883))
    assert np.isnan(allometry.london_plane_height(bad)) and np.isnan(allometry.london_plane_crown(bad))


def test_london_plane_is_not_carried_past_its_peak():
    assert np.isnan(allometry.london_plane_height(1.5)) and np.isnan(allometry.london_plane_crown(1.5))


def test_crown_forms_by_hand_at_ten_inches():
    at = 0.254
    assert allometry.crown_width(at, "01", 3.9361, 1.15) == pytest.approx((3.9361 + 11.5) * 0.3048)
    assert allometry.crown_width(at, "02", 4.102718, 1.396006, 1.077474) == pytest.approx(
        (4.102718 + 1.396006 * 10**1.077474) * 0.3048
    )
    assert allometry.crown_width(at, "03", 0.327, 5.116, 0.5035) == pytest.approx((0.327 + 5.116 * 10**0.5035) * 0.3048)
    assert allometry.crown_width(at, "04", 1.8, 1.883) == pytest.approx((1.8 + 18.83) * 0.3048)
    assert allometry.crown_width(at, "05", 0.738, 0.245, 0.000809) == pytest.approx(
        0.738 + 0.245 * 25.4 + 0.000809 * 25.4**2
    )


def test_crowns_stop_at_the_limits_of_their_form():
    assert allometry.crown_width(2.0, "04", 1.8, 1.883, widest=21.0) == 21.0
    pond_pine = {"form": "01", "a1": -8.7711, "a2": 3.7252, "a3": -0.1063, "diameter_limit": 18 * 0.0254}
    assert allometry.crown_width(0.9, **pond_pine) == allometry.crown_width(18 * 0.0254, **pond_pine)
    with pytest.raises(ValueError, match="crown form"):
        allometry.crown_width(0.3, "06", 1.0, 1.0)


def test_a_filled_height_lies_low_and_a_filled_crown_wide():
    assert allometry.filled_height(20.0) < 0.7 * 20.0 < 20.0
    assert allometry.filled_height(20.0, park_share=1.0, fractile=0.5) == pytest.approx(20.0)
    assert allometry.filled_crown_width(10.0) > 10.0
    assert np.isnan(allometry.filled_height(np.nan))


@settings(max_examples=60, deadline=None)
@given(st.floats(0.08, 1.3), st.floats(1.001, 1.5))
def test_thicker_trunks_stand_higher_and_have_more_wood(d, more):
    thin, thick = allometry.curtis_arney_height([d, d * more], *WHITE_OAK_HEIGHT)
    assert thin < thick
    thin, thick = allometry.clark_inside_bark([d, d * more], -0.24096, 0.93789)
    assert thin < thick
    assert allometry.clark_bark_thickness(d, -0.24096, 0.93789) > 0


def test_own_weight_by_hand():
    # 950 x 0.45 x pi/4 x 0.16 x 18 x 1.2 = 1,160 kg; half its height; 5 degrees.
    assert ownweight.tree_mass(0.40, 18.0) == pytest.approx(1_160.4, rel=1e-3)
    by_hand = 1_160.4 * 9.80665 * 9.0 * np.sin(np.deg2rad(5))
    assert ownweight.own_lean_moment(0.40, 18.0, 5.0) == pytest.approx(by_hand, rel=1e-3)
    assert ownweight.lean_moment(1_000.0, 9.0, -5.0) < 0


def test_an_upright_tree_has_no_lean_moment_even_of_unknown_height_but_a_leaning_one_is_unknown():
    found = ownweight.own_lean_moment(0.40, [np.nan, np.nan, 18.0], [0.0, 2.0, np.nan])
    assert found[0] == 0.0 and np.isnan(found[1:]).all()


def test_only_the_tree_above_a_section_bends_it():
    assert ownweight.lean_moment(1_000.0, 9.0, 5.0, 3.0) == pytest.approx(ownweight.lean_moment(1_000.0, 6.0, 5.0))
    assert ownweight.lean_moment(1_000.0, 9.0, 5.0, 10.0) == 0.0
    assert np.isnan(ownweight.lean_moment(1_000.0, 9.0, 95.0))
