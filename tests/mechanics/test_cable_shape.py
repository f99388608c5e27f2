"""The shape of a solved line."""

import numpy as np
from cable_shape import profile

from siteassess.mechanics.cable import solve


def test_profile_runs_from_anchor_to_anchor_through_the_load():
    span, rise = np.array([30.0, 200.0]), np.array([2.0, -20.0])
    state = solve(span, rise, 2000.0, 60e3, 0.7, 800.0, 0.3)
    x, z = profile(state, 60e3, 0.7, 800.0, points=61)
    assert x.shape == z.shape == (2, 61)
    assert np.allclose(x[:, 0], 0) and np.allclose(z[:, 0], 0)
    assert np.allclose(x[:, -1], span) and np.allclose(z[:, -1], rise)
    assert np.allclose(x[:, 30], 0.3 * span) and np.allclose(z[:, 30], -state.drop)
    assert (np.diff(x, axis=1) > 0).all()


def test_profile_lies_under_the_straight_line_and_is_made_of_stretched_webbing():
    state = solve(100.0, 5.0, 1000.0, 60e3, 0.7, 800.0, 0.5)
    x, z = profile(state, 60e3, 0.7, 800.0, points=4001)
    assert (z[1:-1] < 0.05 * x[1:-1]).all()
    length = np.hypot(np.diff(x), np.diff(z)).sum()
    mean_tension = 0.5 * (state.tension_a + state.tension_b)
    assert np.isclose(length / state.unstretched - 1, mean_tension / 60e3, rtol=2e-2)
