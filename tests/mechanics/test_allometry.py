"""Filled sizes: units, ranges, fractiles, own weight."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from siteassess.mechanics import allometry, ownweight

OAK = (21.0, 0.6, 0.25)  # coefficient, exponent and scatter of some oak


def test_a_fill_by_hand():
    # 21 x 0.4^0.6 = 12.12 m; its 10 % value with 1.12 x 0.25 of scatter is 12.12 x exp(-1.2816 x 0.28) = 8.46 m
    assert allometry.filled_size("height", 0.4, *OAK) == pytest.approx(12.12, abs=0.005)
    assert allometry.filled_size("height", 0.4, *OAK, 0.10) == pytest.approx(8.46, abs=0.01)
    assert allometry.filled_size("height", 0.4, *OAK, 0.90) == pytest.approx(12.12 * np.exp(1.2816 * 0.25), abs=0.01)
    # a crown of a trunk of 0.8 m: 0.78 of the scatter; of 0.1 m: all of it
    wide = [allometry.filled_size("crown", d, *OAK, 0.90) / allometry.filled_size("crown", d, *OAK) for d in (0.1, 0.8)]
    assert np.log(wide) == pytest.approx([1.2816 * 0.25, 1.2816 * 0.25 * 0.78], rel=1e-3)


@pytest.mark.parametrize("bad", [np.nan, 0.0, 0.049, -0.4])
def test_thin_or_unknown_trunks_fill_nothing(bad):
    assert np.isnan(allometry.filled_size("height", bad, *OAK)) and np.isnan(allometry.filled_size("crown", bad, *OAK))


@settings(max_examples=60, deadline=None)
@given(st.sampled_from(["height", "crown"]), st.floats(0.05, 2.0), st.floats(1.001, 1.5), st.floats(0.4, 0.9),
       st.floats(0.1, 0.45))  # fmt: skip
def test_thicker_trunks_are_filled_higher_and_wider_at_every_fractile(quantity, d, more, exponent, ln_sd):
    for fractile in (0.10, 0.5, 0.90):
        thin, thick = allometry.filled_size(quantity, np.array([d, d * more]), 20.0, exponent, ln_sd, fractile)
        assert thin < thick


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
