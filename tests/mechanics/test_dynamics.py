"""Properties of falls, bounces and frequencies."""

import numpy as np
import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st
from line_checks import bounce_frequency, leash_fall, sudden_load

from siteassess.mechanics import dynamics as dyn
from siteassess.mechanics import held
from siteassess.mechanics.cable import solve
from siteassess.units import STANDARD_GRAVITY

SPAN = st.floats(5, 200)
STANDING = st.floats(100, 10e3)
STIFFNESS = st.floats(20e3, 1e6)
LOAD = st.floats(300, 1500)
HEIGHT = st.floats(0, 3)


@settings(max_examples=150, deadline=None)
@given(SPAN, STANDING, STIFFNESS, LOAD, HEIGHT)
def test_energy_is_conserved_at_the_lowest_point(span, standing, stiffness, load, height):
    length = dyn.taut_length(span, standing, stiffness)
    peak = dyn.catch(span, length, stiffness, load, height, leash_stiffness=10e3)
    gained = dyn.line_energy(span, length, stiffness, peak.depth) - dyn.line_energy(span, length, stiffness, 0.0)
    gained = gained + 0.5 * 10e3 * peak.leash_stretch**2
    assert gained == pytest.approx(load * (height + peak.depth + peak.leash_stretch), rel=1e-9)
    assert peak.force == pytest.approx(10e3 * peak.leash_stretch, rel=1e-9)


@settings(max_examples=150, deadline=None)
@given(SPAN, STANDING, STIFFNESS, LOAD, HEIGHT, st.floats(1.01, 2))
def test_higher_heavier_and_stiffer_never_kinder(span, standing, stiffness, load, height, more):
    peak = sudden_load(span, standing, stiffness, load, height).tension
    assert sudden_load(span, standing, stiffness, load, height + more).tension > peak
    assert sudden_load(span, standing, stiffness, load * more, height).tension > peak
    assert sudden_load(span, standing, stiffness * more, load, height).tension >= peak * (1 - 1e-9)


@settings(max_examples=100, deadline=None)
@given(SPAN, STANDING, STIFFNESS, LOAD)
def test_a_sudden_load_passes_the_static_one_and_a_leash_softens(span, standing, stiffness, load):
    static = solve(span, 0.0, standing, stiffness, 0.0, load, 0.5).tension_a
    sudden = sudden_load(span, standing, stiffness, load)
    assert sudden.tension > static
    assert sudden.force > 2 * load * (1 - 1e-9)
    hard, soft = (leash_fall(span, standing, stiffness, load, 2.0, k).tension for k in (1e6, 5e3))
    assert soft < hard


def test_a_stiff_line_of_short_travel_is_a_linear_spring():
    """Two tight strands at a small angle: vertical stiffness 4 T / L."""
    span, standing, load = 40.0, 50e3, 10.0
    force, travel = dyn.spring_drop(load, 4 * standing / span, 0.01)
    peak = sudden_load(span, standing, 60e3, load, 0.01)
    assert peak.depth == pytest.approx(travel, rel=1e-3)
    assert peak.force == pytest.approx(force, rel=1e-3)


def test_a_slack_backup_catches_later_and_unknowns_stay_unknown():
    peak = dyn.catch(40.0, [40.5, 42.0], 60e3, 800.0, free_fall=2.2, start=2.0, leash_stiffness=10e3)
    assert peak.depth[1] > peak.depth[0] > 2.0
    assert np.isnan(dyn.catch(40.0, 39.0, [np.inf, np.nan], 800.0).tension).all()
    assert np.isnan(sudden_load(40.0, 2000.0, 60e3, [np.nan, 0.0]).tension).all()


def test_off_the_middle_both_legs_share_one_tension():
    span, length = 40.0, dyn.taut_length(40.0, 2000.0, 60e3)
    peak = dyn.catch(span, length, 60e3, 800.0, at=0.3)
    up = peak.depth / np.hypot(12.0, peak.depth) + peak.depth / np.hypot(28.0, peak.depth)
    assert peak.force == pytest.approx(peak.tension * up)
    assert peak.horizontal == pytest.approx(peak.tension * 12.0 / np.hypot(12.0, peak.depth))


def test_bounce_frequency_is_the_slope_of_the_static_answer():
    span, standing, stiffness, load = 50.0, 2000.0, 80e3, 700.0
    step = 1e-3
    drops = solve(span, 0.0, standing, stiffness, 0.0, [load - step, load + step], 0.5).drop
    slope = 2 * step / (drops[1] - drops[0])
    frequency = np.sqrt(slope * STANDARD_GRAVITY / load) / 2 / np.pi
    assert bounce_frequency(span, standing, stiffness, load) == pytest.approx(frequency, rel=1e-6)


def held_by_halving(span, before, after, stiffness, depth):
    """Energy and harder leg [J, N] of a foot that holds its webbing, its place found by halving: nothing of ours."""
    low, high = 0.0, span
    for _ in range(80):
        foot = 0.5 * (low + high)
        near, far = np.hypot(foot, depth), np.hypot(span - foot, depth)
        first, second = (stiffness * max(x / y - 1, 0.0) for x, y in ((near, before), (far, after)))
        low, high = (foot, high) if first * foot / near < second * (span - foot) / far else (low, foot)
    return 0.5 / stiffness * (before * first**2 + after * second**2), max(first, second)


@settings(max_examples=60, deadline=None)
@given(st.floats(15, 150), st.floats(0, 5000), st.floats(60e3, 1.5e6), st.floats(450, 1200), st.floats(0.0, 1.0),
       st.floats(1.0, 3.0))  # fmt: skip
@example(90.2, 614.85, 1.4951e6, 986.7, 0.4, 2.11)  # once 2e21 N
@example(128.79, 0.0, 588433.0, 842.18, 0.0, 3.29)  # once less than half
@example(70.0, 0.0, 375e3, 589.0, 0.25, 1.0)
def test_a_landing_beside_a_trunk_balances_its_energy(span, standing, stiffness, load, fall, off):
    length, at = dyn.taut_length(span, standing, stiffness), off / span
    stored = dyn.line_energy(span, length, stiffness, 0.0, at)
    low, high = 0.0, span
    for _ in range(80):
        depth = 0.5 * (low + high)
        energy, tension = held_by_halving(span, at * length, (1 - at) * length, stiffness, depth)
        low, high = (depth, high) if energy - stored < load * (fall + depth) else (low, depth)
    found = held.landing(span, length, stiffness, load, fall, at=at)
    assert float(found.depth) == pytest.approx(depth, rel=1e-4)
    assert float(found.tension) == pytest.approx(tension, rel=1e-3)
