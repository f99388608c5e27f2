"""Directions of pull on one tree."""

import numpy as np
import pytest

from siteassess.mechanics.anchor_vector import angle_between, guy_tension


def test_angles_wrap_round_north():
    assert angle_between(350.0, 10.0) == pytest.approx(20.0)
    assert angle_between(10.0, 190.0) == pytest.approx(180.0)


def test_a_guy_takes_its_share_and_pulls_harder_the_steeper_it_runs():
    assert guy_tension(6e3, 0.5, 0.0) == pytest.approx(3e3)
    assert guy_tension(6e3, 0.25, 30.0) == pytest.approx(1.5e3 / np.cos(np.radians(30.0)))
    assert np.isnan(guy_tension(np.nan, 0.5, 0.0))
