"""A boulder: sliding and tipping by hand, refusals and what must never look kinder."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from siteassess.mechanics import boulder
from siteassess.mechanics.limit import Outside

WHOLE = {"length_along": 2.0, "width": 1.5, "height": 1.2, "tie_height": 0.5, "pull": 5_000.0}


def test_weight_of_a_rounded_block():
    # 2,500 kg/m3 x 0.52 x 3.6 m3 = 4,680 kg.
    assert boulder.boulder_weight(2.0, 1.5, 1.2) == pytest.approx(4_680.0 * 9.80665)
    assert np.isnan(boulder.boulder_weight(2.0, 1.5, 1.2, shape_factor=1.1))
    assert np.isnan(boulder.boulder_weight(2.0, np.nan, 1.2))


def test_on_level_ground_a_level_pull_slides_at_friction():
    assert boulder.sliding_pull_over_weight(0.5) == pytest.approx(0.5)


def test_downhill_and_uphill_pulls_by_the_textbook_wedge():
    # Horizontal pull on a slope a with friction angle f: W tan(f - a) downhill, W tan(f + a) uphill.
    friction_angle = np.arctan(0.5)
    for slope in (5.0, 15.0, 25.0):
        a = np.deg2rad(slope)
        assert boulder.sliding_pull_over_weight(0.5, slope, 0.0) == pytest.approx(np.tan(friction_angle - a))
        assert boulder.sliding_pull_over_weight(0.5, slope, 180.0) == pytest.approx(np.tan(friction_angle + a))


def test_a_pull_across_the_slope_shares_the_friction_with_the_weight():
    a, mu = np.deg2rad(15.0), 0.5
    across = np.sqrt((mu * np.cos(a)) ** 2 - np.sin(a) ** 2)
    assert boulder.sliding_pull_over_weight(mu, 15.0, 90.0) == pytest.approx(across)


def test_a_rising_pull_slides_sooner_and_a_falling_one_earns_nothing():
    # Level ground, pull rising by r: mu W / (cos r + mu sin r).
    r = np.deg2rad(20.0)
    assert boulder.sliding_pull_over_weight(0.5, rise_deg=20.0) == pytest.approx(0.5 / (np.cos(r) + 0.5 * np.sin(r)))
    assert boulder.sliding_pull_over_weight(0.5, rise_deg=-20.0) == pytest.approx(0.5)


def test_on_its_own_friction_angle_the_block_slides_by_itself():
    assert boulder.sliding_pull_over_weight(0.5, np.rad2deg(np.arctan(0.5)) + 0.01) == 0.0


def test_tipping_on_level_ground_by_hand():
    # Half the foot times the weight over the tie height.
    assert boulder.tipping_pull_over_weight(1.2, 0.6, 0.5) == pytest.approx(0.6 / 0.5)
    assert np.isinf(boulder.tipping_pull_over_weight(1.2, 0.6, 0.0))
    assert boulder.tipping_pull_over_weight(0.4, 0.6, 0.5, slope_deg=20.0) == 0.0


@pytest.mark.parametrize(
    ("arguments", "reason"),
    [
        ({"edge_distance": 1.9}, Outside.EDGE_NEAR),
        ({"edge_distance": np.nan}, Outside.MISSING),
        ({"tie_height": 1.3}, Outside.IMPOSSIBLE),
        ({"height": np.nan}, Outside.MISSING),
        ({"slope_deg": 25.0}, Outside.FOOTING_DOUBTFUL),
        ({"density": np.nan}, Outside.MISSING),
        ({"pull": np.nan}, Outside.MISSING),
    ],
)
def test_refusals(arguments, reason):
    slide, tip = boulder.boulder_limits(**(WHOLE | arguments))
    for limit in (slide, tip):
        assert limit.refused and np.isnan(limit.use)
        assert reason in Outside(int(limit.outside))


def test_sunk_into_the_ground_tips_later_but_slides_alike_and_unknown_counts_as_free():
    free, sunk, unknown = (boulder.boulder_limits(**WHOLE, embedded=e) for e in (0, 1, np.nan))
    assert sunk[1].use < free[1].use and sunk[0].use == free[0].use
    assert unknown[1].use == free[1].use


@settings(max_examples=80, deadline=None)
@given(
    length=st.floats(0.5, 4.0),
    width=st.floats(0.5, 4.0),
    height=st.floats(0.5, 3.0),
    tie=st.floats(0.05, 0.9),
    slope=st.floats(0.0, 12.0),
    turn=st.floats(0.0, 180.0),
    more=st.floats(1.01, 1.5),
)
def test_nothing_unkind_lowers_the_use(length, width, height, tie, slope, turn, more):
    block = {
        "length_along": length, "width": width, "height": height, "tie_height": tie * height, "pull": 3_000.0,
        "slope_deg": slope, "pull_from_downhill_deg": turn,
    }  # fmt: skip

    def use(**changes):
        return np.array([float(limit.use) for limit in boulder.boulder_limits(**(block | changes))])

    base = use()
    if np.isnan(base).any():
        return
    assert (base > 0).all()
    slack = 1 + 1e-9
    assert (use(pull=3_000.0 * more) >= base).all()
    assert (use(density=2_500.0 * more) < base).all()
    assert (use(width=width * more) <= base * slack).all()
    assert use(friction=0.4)[0] > base[0] or np.isnan(use(friction=0.4)[0])
    assert use(tie_height=tie * height * 1.05)[1] * slack >= base[1]
    steeper = use(slope_deg=slope + 2.0, pull_from_downhill_deg=0.0)
    downhill = use(pull_from_downhill_deg=0.0)
    assert np.isnan(steeper).any() or (steeper * slack >= downhill).all()
