"""The load cases against a motion integrated in time: a chain of masses that knows nothing of the product.

A small seeded grid; the large one is `python -m tests.bench motion`. Tolerances: the sums of `dynamics` are one point
mass on a weightless line, the motion carries the line's mass, its waves and a springy leg, which moves a peak by a few
percent either way; 5 % is allowed on a sum, and a load case may not stay more than 3 % low.
"""

from functools import cache

import line_motion
import numpy as np
import pytest
from scipy.integrate import solve_ivp

from siteassess.mechanics import dynamics as dyn
from siteassess.mechanics import held
from siteassess.mechanics.line_load import Floor
from siteassess.mechanics.loadcases import load_cases
from siteassess.mechanics.profile import plain_slope

COUNT = 16
GRAVITY = 9.80665


@cache
def grid():
    """Spans 15 to 150 m, 50 to 110 kg, nylon to polyester, 1 to 1.5 times as stiff when quick, leash 0.8 to 1.8 m."""
    rng = np.random.default_rng(20260418)
    span = np.exp(rng.uniform(np.log(15), np.log(150), COUNT))
    standing = (1500 + 10 * span) * rng.uniform(1, 2, COUNT)
    stiffness = np.exp(rng.uniform(np.log(55e3), np.log(250e3), COUNT))
    times, mass = rng.uniform(1, 1.5, COUNT), rng.uniform(50, 110, COUNT)
    at = rng.choice([0.5, 0.25, 0.15], COUNT)
    return span, standing, stiffness, times, mass, at, rng.uniform(0.8, 1.8, COUNT)


def cases(i, use="low line", **more):
    span, standing, stiffness, _, mass, _, _ = (column[i] for column in grid())
    found = load_cases(use, span, 0.0, standing, stiffness, 0.07 * GRAVITY, mass * GRAVITY, **more)
    return {case.name: case for case in found}


def test_the_stepping_agrees_with_one_of_scipys_integrators():
    """The same chain under LSODA: peak tension and depth within 0.5 %, the steps' own error."""
    span, standing, stiffness, mass = 20.0, 3000.0, 90e3, 80.0
    ours = line_motion.peaks(span, standing, stiffness, mass, height=0.3)
    one = [np.array([value]) for value in (span, standing, stiffness, 0.07, mass)]
    node = np.array([line_motion.PIECES // 2])
    link, whole = np.array([line_motion.LEG]), np.array([np.nan])
    chain = line_motion.Chain(*one, node, link, whole, np.array([0.5]), np.array([np.inf]))
    masses, inner = chain.node_masses(), line_motion.PIECES - 1
    x0 = np.linspace(0, span, line_motion.PIECES + 1)
    y0 = -0.07 * GRAVITY * x0 * (span - x0) / (2 * standing)

    def spread(state):
        x, y, u, v = (np.pad(part, 1) for part in state[:-2].reshape(4, inner))
        x[-1] = span
        return x[None], y[None], u[None], v[None]

    def motion(_, state):
        x, y, u, v = spread(state)
        across, up, body, *_ = line_motion._acceleration(chain, masses, x, y, u, v, state[-2:-1], state[-1:])
        return np.concatenate((u[0, 1:-1], v[0, 1:-1], across[0], up[0], state[-1:], body))

    start = np.concatenate((x0[1:-1], y0[1:-1], np.zeros(2 * inner),
                            [y0[line_motion.PIECES // 2], -np.sqrt(2 * GRAVITY * 0.3)]))  # fmt: skip
    run = solve_ivp(motion, (0, 1.2), start, method="LSODA", rtol=1e-6, atol=1e-7, max_step=2e-3)
    drop = max(-state[inner + inner // 2] for state in run.y.T)
    tension = max(chain.pulls(*spread(state))[0][0, [0, -1]].max() for state in run.y.T)
    assert ours.drop[0] == pytest.approx(drop, rel=5e-3) and ours.tension[0] == pytest.approx(tension, rel=5e-3)


@pytest.mark.parametrize("height", [0.0, 0.4])
def test_a_landing_is_what_the_motion_makes_of_it(height):
    span, standing, stiffness, times, mass, at, _ = grid()
    quick = stiffness * times
    motion = line_motion.peaks(span, standing, quick, mass, at=at, height=height, link=200e3)
    length = dyn.taut_length(span, standing, quick)
    ours = held.landing(span, length, quick, mass * GRAVITY, height, at=at)
    assert ours.tension == pytest.approx(motion.tension, rel=0.05)
    assert ours.depth == pytest.approx(motion.drop, rel=0.05)
    sliding = dyn.catch(span, length, quick, mass * GRAVITY, height, at=at)
    assert np.all(sliding.tension <= ours.tension * (1 + 1e-9)) and np.all(sliding.depth >= ours.depth * (1 - 1e-9))


def test_no_bounce_or_jump_stays_low():
    span, standing, stiffness, times, mass, at, _ = grid()
    motion = line_motion.peaks(span, standing, stiffness * times, mass, at=at, height=0.4)
    ratios = [cases(i)["bounced"].tension / motion.tension[i] for i in range(COUNT)]
    assert min(ratios) > 0.97


def test_no_jump_beside_a_trunk_pulls_it_harder_straight_down_than_we_say():
    """Level with two straight legs: A takes the share of the walker's force that lies nearer to it; mid-span said half.

    Nothing beside it that is milder may ask more: a walker who never bounces, and a stumble.
    """
    span, standing, stiffness, times, mass, _, _ = grid()
    motion = line_motion.peaks(span, standing, stiffness * times, mass, at=0.15, height=0.4)
    for i in range(COUNT):
        bounced, stumbled = cases(i)["bounced"], cases(i, walk_only=True)["stumbled"]
        assert bounced.vertical_a > 0.97 * 0.85 * motion.force[i]
        assert bounced.vertical_a == pytest.approx(bounced.vertical_b) and bounced.vertical_a >= stumbled.vertical_a


def test_over_level_ground_no_jump_stays_low_and_the_ground_is_worth_something():
    """Tied at 1 m: the motion's foot is stopped by turf; what it then reads stays under the case."""
    span, standing, stiffness, times, mass, at, _ = grid()
    motion = line_motion.peaks(span, standing, stiffness * times, mass, at=at, height=0.4, floor=1.0)
    level = [cases(i, floor=Floor(plain_slope(span[i]), 1.0))["bounced"] for i in range(COUNT)]
    free = [cases(i)["bounced"] for i in range(COUNT)]
    assert min(case.tension / peak for case, peak in zip(level, motion.tension)) > 0.97
    assert all(case.drop <= 1.0 + 1e-9 for case in level)
    assert np.median([ours.tension / other.tension for ours, other in zip(level, free)]) < 0.9


def lagging(span, at, depth, standing, stiffness, mass):
    """What the near leg feels at most before a jumper's foot touches the ground; NaN where the line alone holds it.

    The body goes straight down, the feet with half of both shanks along the webbing: 8 % of the body (handbooks of
    biomechanics give a foot some 1.4 %, a shank 4.5 %; from memory). Legs without weight.
    """
    length = dyn.taut_length(span, standing, stiffness)

    def legs(foot, deep):
        near, far = np.hypot(foot, deep), np.hypot(span - foot, deep)
        first = stiffness * np.maximum(near / (at / span * length) - 1, 0.0)
        second = stiffness * np.maximum(far / ((1 - at / span) * length) - 1, 0.0)
        return first, second * (span - foot) / far - first * foot / near, (first / near + second / far) * deep

    def motion(_, state):
        foot, deep, along, down = state
        _, pull, up = legs(foot, deep)
        return along, down, pull / (0.08 * mass), GRAVITY - up / mass

    def touches(_, state):
        return state[1] - depth

    touches.terminal = True
    start = at, 0, 0, np.sqrt(2 * GRAVITY * 0.4)
    fall = solve_ivp(motion, (0, 1), start, "LSODA", max_step=1e-3, rtol=1e-8, events=touches)
    return legs(*fall.y[:2])[0].max() if fall.t_events[0].size else np.nan


def test_beside_a_trunk_a_foot_that_lags_along_the_line_asks_little_more_than_the_line_held_down():
    """On the ground it no longer swings: shoe, webbing and turf hold it. Until then at most 5 % more than at rest."""
    rng = np.random.default_rng(20261128)
    span, at, depth = rng.uniform(10, 60, 40), rng.uniform(2, 5, 40), rng.uniform(0.5, 1.4, 40)
    standing, stiffness, mass = rng.uniform(1500, 6000, 40), rng.uniform(55e3, 250e3, 40), rng.uniform(50, 110, 40)
    length = dyn.taut_length(span, standing, 1.5 * stiffness)
    ours = held.held_down(span, length, 1.5 * stiffness, depth, at / span)[1].tension
    motion = np.array(list(map(lagging, span, at, depth, standing, 1.5 * stiffness, mass)))
    ends = np.isfinite(motion)
    assert ends.sum() > 20
    assert np.all((ours > 0.95 * motion)[ends]) and np.all((ours < 1.05 * motion)[ends])


@pytest.mark.parametrize("leash_ea", [30e3, 250e3])
def test_no_fall_into_the_leash_stays_low(leash_ea):
    """From the loaded line, as it happens; a leash of dynamic rope and one of webbing, which was 23 % low before."""
    span, standing, stiffness, times, mass, at, leash = grid()
    motion = line_motion.peaks(span, standing, stiffness * times, mass, at=at, leash=leash, link=leash_ea / leash,
                               from_loaded=True)  # fmt: skip
    for i in range(COUNT):
        found = cases(i, "high line", leash=leash[i], leash_stiffness=leash_ea / leash[i])
        ours = max(found[name].tension for name in ("leash fall", "fall at an anchor"))
        assert ours > 0.97 * motion.tension[i]


def test_a_fall_beside_an_anchor_is_what_the_motion_makes_of_it():
    """A ring that does not slide, 0.5 to 2 m from the anchor; straight on the anchor would be 10 and 28 kN."""
    span, leash_ea = np.array([10.0, 20.0, 40.0] * 2), np.repeat([30e3, 250e3], 3)
    link, load = leash_ea / 1.2, 80 * GRAVITY
    motion = line_motion.peaks(span, 3000.0, 200e3, 80.0, at=0.05, leash=1.2, link=link)
    ours = held.held_fall(span, dyn.taut_length(span, 3000.0, 200e3), 200e3, load, 2.2, link, 0.05)
    assert ours.tension == pytest.approx(motion.tension, rel=0.05)
    assert np.all(ours.force <= dyn.spring_drop(load, link, 2.2)[0])
    for i in (0, 3):  # on 10 m that is the half metre our case goes by
        case = {one.name: one for one in load_cases("high line", 10.0, 0.0, 3000.0, 200e3 / 1.5, 0.07 * GRAVITY, load,
                                                    leash=1.2, leash_stiffness=link[i])}["fall at an anchor"]
        assert case.vertical_a == case.vertical_b == pytest.approx(motion.force[i], rel=0.05)


def test_a_stumble_is_milder_than_a_bounce_and_harder_than_a_walk_on_short_lines():
    for i in range(COUNT):
        walk_only, any_way = cases(i, walk_only=True), cases(i)
        assert "bounced" not in walk_only
        assert any_way["walked"].tension <= walk_only["stumbled"].tension <= any_way["bounced"].tension * (1 + 1e-9)
