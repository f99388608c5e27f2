"""Legs, strands and lengths of slings."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from siteassess.errors import OutsideModel
from siteassess.mechanics import sling


@settings(max_examples=100, deadline=None)
@given(st.floats(100, 20e3), st.floats(5, 170), st.floats(-0.95, 0.95))
def test_two_legs_balance_the_pull(pull, included, lean):
    offset = lean * included / 2
    legs = sling.two_legs(pull, included, offset)
    half, off = np.radians(included / 2), np.radians(offset)
    along = legs.leg_1 * np.cos(half - off) + legs.leg_2 * np.cos(half + off)
    across = legs.leg_1 * np.sin(half - off) - legs.leg_2 * np.sin(half + off)
    assert along == pytest.approx(pull) and across == pytest.approx(0, abs=1e-6 * pull)
    assert not legs.slack and legs.leg_1 > 0 and legs.leg_2 > 0


def test_on_the_middle_both_carry_the_same():
    legs = sling.two_legs(10e3, 60.0, 0.0)
    assert float(legs.leg_1) == pytest.approx(float(legs.leg_2))
    assert float(legs.leg_2) == pytest.approx(float(sling.leg_force(10e3, 60.0)))


def test_past_half_the_angle_one_leg_is_slack():
    at = float(sling.slack_angle(40.0))
    assert not sling.two_legs(1e3, 40.0, at * 0.999).slack
    legs = sling.two_legs(1e3, 40.0, [at * 1.001, -at * 1.001])
    assert legs.slack.all()
    assert legs.leg_1.tolist() == [1e3, 0.0] and legs.leg_2.tolist() == [0.0, 1e3]
    assert sling.unevenness(legs) == "leg-slack"
    assert sling.unevenness(sling.two_legs(1e3, 40.0, 0.5)) == "legs-even"
    assert sling.unevenness(sling.two_legs(1e3, 40.0, 8.0)) == "legs-uneven"
    assert np.isnan(sling.two_legs(1e3, 0.0, 0.0).leg_1)


@settings(max_examples=60, deadline=None)
@given(st.floats(0.2, 1.5), st.floats(1.2, 5))
def test_a_basket_is_longer_than_the_straight_way_round(diameter, far):
    link = far * diameter / 2
    basket = sling.basket(1e4, diameter, link)
    assert basket.length > 2 * link
    assert basket.contact_deg == pytest.approx(180 + basket.included_deg)
    assert sling.sling_length(diameter, link, "doubled") == pytest.approx(2 * basket.length)
    turns = [sling.sling_length(diameter, link, "turns", n) for n in (1, 2, 3)]
    assert turns[0] == pytest.approx(basket.length)
    assert np.diff(turns) == pytest.approx(np.pi * diameter)
    assert sling.sling_length(diameter, link, "choker") > np.pi * diameter


def test_the_nearest_link_makes_120_degrees():
    assert sling.nearest_link(0.5) == pytest.approx(1.1547 * 0.25, rel=1e-4)
    assert not sling.basket(1e4, 0.5, 1.001 * sling.nearest_link(0.5)).wide
    assert sling.basket(1e4, 0.5, 0.999 * sling.nearest_link(0.5)).wide


def test_parallel_legs_and_refusals():
    assert sling.basket(1e4, 0.5).leg == 5e3
    for wrong in (0.25, 0.1, np.nan):
        with pytest.raises(OutsideModel, match="inside the trunk"):
            sling.basket(1e4, 0.5, wrong)
    with pytest.raises(OutsideModel):
        sling.sling_length(0.5, 0.8, "bow")
    with pytest.raises(OutsideModel):
        sling.choke_factor(200.0)


def test_knots_add_length():
    assert sling.knots_length(0.010, 2) == pytest.approx(0.6)
