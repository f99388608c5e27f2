"""Tension from a measured sag."""

import numpy as np
import pytest

from siteassess.mechanics.cable import WhyNot, solve
from siteassess.mechanics.cable_many import solve_table
from siteassess.mechanics.cable_sag import solve_from_sag, standing_from_sag
from siteassess.mechanics.stretch_table import StretchTable

RNG = np.random.default_rng(21)
N = 500
SPAN = RNG.uniform(15, 400, N)
RISE = SPAN * RNG.uniform(-0.2, 0.2, N)
STANDING = np.exp(RNG.uniform(np.log(700), np.log(20e3), N))
STIFFNESS = np.exp(RNG.uniform(np.log(25e3), np.log(2e6), N))
WEIGHT = RNG.uniform(0, 1.2, N)
LOAD = RNG.uniform(300, 2000, N)
AT = RNG.uniform(0.02, 0.98, N)


def test_the_sag_gives_back_the_standing_tension_it_came_from():
    sag = solve(SPAN, RISE, STANDING, STIFFNESS, WEIGHT, LOAD, AT).require().drop
    assert np.allclose(standing_from_sag(SPAN, RISE, sag, STIFFNESS, WEIGHT, LOAD, AT), STANDING, rtol=1e-8)


def test_the_sag_of_own_weight_alone_will_do():
    weight = np.maximum(WEIGHT, 0.3)
    sag = solve(SPAN, RISE, STANDING, STIFFNESS, weight, 0.0, 0.5).drop
    assert np.allclose(standing_from_sag(SPAN, RISE, sag, STIFFNESS, weight, 0.0, 0.5), STANDING, rtol=1e-5)


def test_deeper_means_slacker():
    standing = standing_from_sag(50.0, 0.0, np.linspace(1.0, 6.0, 30), 60e3, 0.7, 900.0, 0.5)
    assert (np.diff(standing) < 0).all()


def test_a_weightless_line_deep_under_load_hangs_slack_when_empty():
    assert standing_from_sag(30.0, 0.0, 8.0, 60e3, 0.0, 900.0, 0.5) == 0.0


@pytest.mark.parametrize(
    ("sag", "rise", "reason"),
    [
        (0.0, 0.0, WhyNot.CANNOT_GIVE),
        (-1.0, 0.0, WhyNot.CANNOT_GIVE),
        (1.0, -3.0, WhyNot.CANNOT_GIVE),
        (np.nan, 0.0, WhyNot.MISSING),
        (1.0, 40.0, WhyNot.TOO_STEEP),
    ],
)
def test_a_sag_not_under_the_straight_line_is_refused(sag, rise, reason):
    state = solve_from_sag(30.0, rise, sag, 60e3, 0.7, 900.0, 0.5)
    assert state.reason == reason
    assert np.isnan(standing_from_sag(30.0, rise, sag, 60e3, 0.7, 900.0, 0.5))


def test_the_sag_of_webbing_given_as_a_table():
    """The table's tangent stands for it along the line, whose tension varies by some 5 %: 1e-5."""
    table = StretchTable([1e3, 2e3, 5e3, 1e4, 3e4], [0.03, 0.05, 0.09, 0.14, 0.30])
    standing = np.array([1000.0, 2500.0, 6000.0])
    sag = solve_table(60.0, 3.0, standing, table, 0.7, 900.0, 0.4).require().drop
    assert np.allclose(standing_from_sag(60.0, 3.0, sag, table, 0.7, 900.0, 0.4), standing, rtol=1e-5)
    assert np.isnan(standing_from_sag(60.0, 3.0, -5.0, table, 0.7, 900.0, 0.4))
