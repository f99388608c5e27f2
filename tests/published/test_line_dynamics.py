"""Energy balances against direct integration in time, closed forms and stored cases."""

import csv
from pathlib import Path

import numpy as np
import pytest
from line_checks import leash_fall, sudden_load
from scipy.integrate import solve_ivp

from siteassess.mechanics import dynamics as dyn
from siteassess.units import STANDARD_GRAVITY

HERE = Path(__file__).parent


def stored_cases():
    with open(HERE / "line_dynamics_cases.csv", newline="", encoding="utf-8") as file:
        return [{k: float(v) for k, v in row.items() if k != "flag"} for row in csv.DictReader(file)]


def test_gere_drop_on_a_spring():
    """Gere, Mechanics of Materials, 7th ed., problem 2.8-5 (read): 1 lb from 12 in, 0.5 lb/in, 9.21 in, factor 4.6."""
    force, travel = dyn.spring_drop(1.0, 0.5, 12.0)
    assert travel == pytest.approx(9.21, abs=0.005)
    assert force == pytest.approx(4.6, abs=0.05)
    assert force == pytest.approx(1 + np.sqrt(1 + 2 * 12 * 0.5), rel=1e-12)


@pytest.mark.parametrize("case", stored_cases())
def test_stored_cases(case):
    """Five digits stored, derived by an energy solver and an integration in time; 1e-4 for the stiffest lines."""
    span, standing, stiffness = case["span_m"], case["standing_n"], case["stiffness_kn"] * 1e3
    load = case["mass_kg"] * 9.80665
    sudden, half = (sudden_load(span, standing, stiffness, load, h) for h in (0.0, 0.5))
    falls = [leash_fall(span, standing, stiffness, load, h, 10e3) for h in (1.5, 3.0)]
    assert sudden.tension == pytest.approx(case["sudden_tension_n"], rel=1e-4)
    assert half.tension == pytest.approx(case["drop_half_m_tension_n"], rel=1e-4)
    assert half.force / load == pytest.approx(case["drop_half_m_force_over_weight"], rel=1e-4)
    for fall, name in zip(falls, ("fall_1500mm", "fall_3000mm")):
        assert fall.tension == pytest.approx(case[f"{name}_tension_n"], rel=1e-4)
        assert fall.force / load == pytest.approx(case[f"{name}_force_over_weight"], rel=1e-4)


@pytest.mark.parametrize("case", stored_cases()[::2])
def test_energy_balance_against_integration_in_time(case):
    """m y'' = m g - F(y), dropped from 0.5 m: the same lowest point to 1e-6."""
    span, stiffness, mass = case["span_m"], case["stiffness_kn"] * 1e3, case["mass_kg"]
    load, length = mass * STANDARD_GRAVITY, dyn.taut_length(span, case["standing_n"], stiffness)

    def motion(_, state):
        return state[1], STANDARD_GRAVITY - float(dyn.line_force(span, length, stiffness, state[0])) / mass

    def lowest(_, state):
        return state[1]

    lowest.terminal, lowest.direction = True, -1
    start = (0.0, np.sqrt(2 * STANDARD_GRAVITY * 0.5))
    run = solve_ivp(motion, (0, 20), start, events=lowest, rtol=1e-10, atol=1e-10)
    peak = dyn.catch(span, length, stiffness, load, free_fall=0.5)
    assert run.y_events[0][0][0] == pytest.approx(float(peak.depth), rel=1e-6)


def test_leash_fall_against_integration_in_time():
    """Body and leash over a massless line: the leash force equals the line's at every moment."""
    span, standing, stiffness, mass, leash = 40.0, 2000.0, 100e3, 60.0, 10e3
    length, load = dyn.taut_length(span, standing, stiffness), mass * STANDARD_GRAVITY

    def force_at(body):
        """Leash force with the body this far under where the leash is just tight."""
        low, high = 0.0, body
        for _ in range(60):
            depth = 0.5 * (low + high)
            below = dyn.line_force(span, length, stiffness, depth) < leash * (body - depth)
            low, high = (depth, high) if below else (low, depth)
        return leash * (body - low)

    def motion(_, state):
        return state[1], STANDARD_GRAVITY - float(force_at(max(state[0], 0.0))) / mass

    def lowest(_, state):
        return state[1]

    lowest.terminal, lowest.direction = True, -1
    start = (0.0, np.sqrt(2 * STANDARD_GRAVITY * 2.2))
    run = solve_ivp(motion, (0, 10), start, events=lowest, rtol=1e-8, atol=1e-8)
    peak = leash_fall(span, standing, stiffness, load, 2.2, leash)
    assert run.y_events[0][0][0] == pytest.approx(float(peak.depth + peak.leash_stretch), rel=1e-5)


def chain_forces(x, y, span, piece, stiffness):
    """Forces on the inner nodes of a chain of springs that only pull."""
    along, up = np.diff(np.concatenate(([0.0], x, [span]))), np.diff(np.concatenate(([0.0], y, [0.0])))
    long = np.hypot(along, up)
    tension = stiffness * np.maximum(long / piece - 1, 0.0)
    fx, fy = tension * along / long, tension * up / long
    return np.diff(fx), np.diff(fy), 0.5 * stiffness / piece * np.maximum(long - piece, 0.0) ** 2


def test_chain_of_masses_drifts_little_and_agrees_with_the_energy_balance():
    """Two-dimensional chain of 20 springs, a light line (10 g/m) and a walker put on suddenly at mid-span.

    The energy balance knows one quasi-static shape; the chain may also swing sideways and carry waves. Energy
    drifts under 0.1 %, the depth of the first low point agrees within 1 %.
    """
    span, standing, stiffness, mass, parts = 30.0, 3000.0, 60e3, 80.0, 20
    length = dyn.taut_length(span, standing, stiffness)
    piece, inner = length / parts, parts - 1
    masses = np.full(inner, 0.010 * piece)
    masses[inner // 2] += mass
    weight = np.zeros(inner)
    weight[inner // 2] = mass * STANDARD_GRAVITY
    x0 = np.linspace(0, span, parts + 1)[1:-1]

    def motion(_, state):
        x, y, u, v = state.reshape(4, inner)
        fx, fy, _ = chain_forces(x, y, span, piece, stiffness)
        return np.concatenate((u, v, fx / masses, (fy - weight) / masses))

    def lowest(_, state):
        return state[3 * inner + inner // 2]

    lowest.terminal, lowest.direction = True, 1
    start = np.concatenate((x0, np.zeros(3 * inner)))
    start[3 * inner + inner // 2] = -1e-9
    run = solve_ivp(motion, (0, 2.0), start, events=lowest, method="DOP853", rtol=1e-8, atol=1e-9)

    def energy(state):
        x, y, u, v = state.reshape(4, inner)
        stored = chain_forces(x, y, span, piece, stiffness)[2].sum()
        return stored + 0.5 * (masses * (u**2 + v**2)).sum() + (weight * y).sum()

    last = run.y[:, -1]
    lost = mass * STANDARD_GRAVITY * -last[inner + inner // 2]
    assert abs(energy(last) - energy(start)) < 1e-3 * lost
    peak = sudden_load(span, standing, stiffness, mass * STANDARD_GRAVITY)
    assert -last[inner + inner // 2] == pytest.approx(float(peak.depth), rel=1e-2)


SOFT_LINES = [(30.0, 3000.0, 80.0), (40.0, 1000.0, 80.0), (60.0, 1500.0, 57.0)]


@pytest.mark.parametrize(("span", "standing", "mass"), SOFT_LINES)
def test_a_fall_near_an_anchor_stays_under_the_sum_that_stands_for_it(span, standing, mass):
    """A ring of 0.3 kg that cannot slide, at 0.02 of a soft line (60 kN), a body 2.2 m fallen into a leash of 10 kN/m.

    The pull of the near leg on the anchor stays under standing tension and straight fall added as vectors, and is
    more than the fall at mid-span: that sum is a bound that means something.
    """
    stiffness, leash, leash_length, fall, at = 60e3, 10e3, 1.2, 2.2, 0.02
    length = dyn.taut_length(span, standing, stiffness)
    near_length, far_length, far_anchor = at * length, (1 - at) * length, np.array([span, 0.0])
    gravity = np.array([0.0, -STANDARD_GRAVITY])

    def pulls(ring, body):
        near, far, hung = np.hypot(*ring), np.hypot(*(ring - far_anchor)), np.hypot(*(body - ring))
        tension = stiffness * max(near / near_length - 1, 0.0)
        other = stiffness * max(far / far_length - 1, 0.0)
        down = leash * max(hung - leash_length, 0.0) * (body - ring) / hung
        return tension, down - tension * ring / near - other * (ring - far_anchor) / far, -down

    def motion(_, state):
        ring, ring_speed, body, body_speed = state.reshape(4, 2)
        _, on_ring, on_body = pulls(ring, body)
        slowed = (on_ring - 30.0 * ring_speed) / 0.3 + gravity  # a light damping, or the ring rattles for ever
        return np.concatenate((ring_speed, slowed, body_speed, on_body / mass + gravity))

    speed = -np.sqrt(2 * STANDARD_GRAVITY * fall)
    start = np.array([at * span, 0, 0, 0, at * span, -leash_length, 0, speed])
    run = solve_ivp(motion, (0, 0.8), start, method="LSODA", rtol=1e-6, atol=1e-7, max_step=2e-3)
    near = max(pulls(*state.reshape(4, 2)[[0, 2]])[0] for state in run.y.T)
    load = mass * STANDARD_GRAVITY
    bound = np.hypot(standing, dyn.spring_drop(load, leash, fall)[0])
    at_mid_span = leash_fall(span, standing, stiffness, load, fall, leash).tension
    assert 0.75 * bound < near < bound
    assert near > at_mid_span


def test_sudden_load_on_a_taut_line_as_stored():
    """30 m, 3 kN, 60 kN, 80 kg (derived): static 3419 N, sudden 4423 N at 3.206 m; from 0.5 m 4720 N at 3.528 m."""
    load = 80 * 9.80665
    sudden, dropped = (sudden_load(30.0, 3000.0, 60e3, load, h) for h in (0.0, 0.5))
    assert [sudden.tension, sudden.depth] == pytest.approx([4423.0, 3.206], rel=5e-4)
    assert [dropped.tension, dropped.depth] == pytest.approx([4720.0, 3.528], rel=5e-4)
