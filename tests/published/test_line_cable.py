"""The exact line against other codes, books and papers. Where a printed value is from memory the test says so."""

import csv
from pathlib import Path

import numpy as np
import pytest
from line_checks import irvine_pull, weightless_pull
from scipy.optimize import brentq

from siteassess.mechanics.cable import solve, solve_clamped
from siteassess.mechanics.cable_many import solve_loads

HERE = Path(__file__).parent
GRAM_PER_METRE = 9.80665e-3  # [N/m]


def stored_cases():
    with open(HERE / "line_reference_cases.csv", newline="", encoding="utf-8") as file:
        return [{k: float(v) for k, v in row.items() if k != "flag"} for row in csv.DictReader(file)]


@pytest.mark.parametrize("case", stored_cases())
def test_stored_cases_of_three_solvers(case):
    """Own earlier solver, MoorPy 1.3.0 and OpenSees 3.7.1 with 200 truss elements agreed to the six digits stored;
    so the tolerance is half a unit of the sixth digit."""
    state = solve(
        case["span_m"], case["height_B_minus_A_m"], case["standing_tension_at_A_N"], case["EA_kN"] * 1e3,
        case["mass_g_per_m"] * GRAM_PER_METRE, case["point_load_N"], case["load_pos_frac"],
    ).require()  # fmt: skip
    for column, value in {
        "unstretched_len_m": state.unstretched, "H_exact_N": state.horizontal, "VA_N": state.vertical_a,
        "VB_N": state.vertical_b, "TA_N": state.tension_a, "TB_N": state.tension_b,
        "drop_below_A_m": state.drop, "H_moorpy_N": state.horizontal, "TA_moorpy_N": state.tension_a,
        "drop_moorpy_m": state.drop, "H_opensees_N": state.horizontal, "TA_opensees_N": state.tension_a,
    }.items():  # fmt: skip
        assert value == pytest.approx(case[column], rel=5.1e-6), column


def test_level_lines_agree_with_the_small_sag_theories():
    """Irvine's cubic within 0.6 % from 1.5 kN up, the weightless one within 2.2 % from 3 kN (derived, 18 cases)."""
    for case in stored_cases():
        if case["height_B_minus_A_m"]:
            continue
        numbers = case["EA_kN"] * 1e3, case["point_load_N"], case["load_pos_frac"]
        stiffness, load, at = numbers
        weight = case["mass_g_per_m"] * GRAM_PER_METRE
        exact = case["H_exact_N"]
        cubic = irvine_pull(case["span_m"], case["H0_N"], stiffness, weight, load, at)
        assert cubic == pytest.approx(case["H_irvine_cubic_N"], rel=1e-4)
        assert 0 < cubic / exact - 1 < 0.006
        weightless = weightless_pull(case["H0_N"], stiffness, load, at)
        assert weightless == pytest.approx(case["H_weightless_cubic_N"], rel=1e-4)
        assert abs(weightless / exact - 1) < 0.022


def test_weightless_limit_of_the_exact_line():
    """With a small load the exact weightless line falls onto H^2 (H - H0) = EA P^2 x (1 - x) / 2, span dropped."""
    for span in (15.0, 400.0):
        exact = solve(span, 0.0, 3000.0, 60e3, 0.0, 80.0, [0.1, 0.5]).horizontal
        assert np.allclose(exact, [weightless_pull(3000.0, 60e3, 80.0, at) for at in (0.1, 0.5)], rtol=1e-5)


def test_own_weight_sag_and_triangle():
    """70 g/m at 3 kN: 0.026 m at 30 m, 0.16 at 75, 0.29 at 100, 0.41 at 120 (derived, two digits stored)."""
    spans = np.array([30.0, 75.0, 100.0, 120.0])
    sags = 70 * GRAM_PER_METRE * spans**2 / (8 * 3000.0)  # a parabola
    assert np.allclose(sags, [0.026, 0.16, 0.29, 0.41], atol=0.006)
    # The line is 5 % stretched, so it weighs that much less a metre than the formula takes.
    assert np.allclose(solve(spans, 0.0, 3000.0, 60e3, 70 * GRAM_PER_METRE, 0.0, 0.5).drop, sags / 1.05, rtol=1e-3)
    state = solve(40.0, 0.0, 2000.0, 60e3, 0.0, 800.0, 0.5)
    assert 400.0 / np.sin(np.arctan(state.drop / 20.0)) == pytest.approx(float(state.tension_a), rel=1e-12)


def test_position_of_the_walker():
    """75 m, 3 kN, 60 kN, 70 g/m, 800 N (derived, whole newtons stored)."""
    at = [0.02, 0.05, 0.1, 0.2, 0.3, 0.4, 0.5]
    state = solve(75.0, 0.0, 3000.0, 60e3, 70 * GRAM_PER_METRE, 800.0, at)
    assert np.allclose(state.tension_a, [3148, 3197, 3265, 3362, 3422, 3452, 3455], atol=0.51)
    assert np.allclose(state.vertical_a[[0, -1]], [809, 424], atol=0.6)


def test_anchors_at_different_heights():
    """75 m, B 2 m above A (derived, MoorPy and OpenSees agree)."""
    state = solve(75.0, 2.0, 3000.0, 60e3, 70 * GRAM_PER_METRE, 800.0, 0.5)
    figures = [state.tension_a, state.tension_b, state.vertical_a, state.vertical_b]
    assert np.allclose(figures, [3443.67, 3466.14, 333.09, 515.96], rtol=1e-5)


def test_karnovsky_and_lebed_two_straight_legs():
    """Karnovsky and Lebed, Advanced Methods of Structural Analysis, 2010, section 5.3 example 1 (read): length over
    span 1.2, load at 0.4, no stretch: H = 0.7339 P; the small-sag formula gives 0.7746 P."""
    state = solve_clamped(1.0, 0.0, 1.2, np.inf, 0.0, 1.0, 0.4).require()
    assert state.horizontal == pytest.approx(0.7339, abs=5e-5)
    # The same with another method: heights of a triangle with sides 0.4 + x and given perimeter.
    depth = brentq(lambda d: np.hypot(0.4, d) + np.hypot(0.6, d) - 1.2, 0.01, 1.0, xtol=1e-14)
    assert state.horizontal == pytest.approx(0.4 * 0.6 / depth, rel=1e-9)
    small_sag = np.sqrt(0.4 * 0.6 / (2 * (1.2 - 1.0)))
    assert small_sag == pytest.approx(0.7746, abs=5e-5)


def test_catenaries_of_the_mooring_library_s_own_tests():
    """MoorPy tests/test_catenary.py rows 4 and 5 (read). Weightless sea bed, one line, no load."""
    for span, rise, length, stiffness, weight, pull, lower, upper, digits in (
        (400.0, 200.0, 500.0, 7.51e12, 200.0, 43694.58, 22365.60, 77634.40, 1e-6),
        (89.9, 59.2, 130.0, 751e6, 881.05, 31373.23, 26650.34, 87886.16, 4e-7),
    ):
        state = solve_clamped(span, rise, length, stiffness, weight, 0.0, 0.5).require()
        # There B stands above A and the anchor A is pulled down by the part named here lower.
        assert np.allclose([state.horizontal, state.vertical_a, state.vertical_b], [pull, lower, upper], rtol=digits)


def test_inextensible_catenaries_of_three_textbooks():
    """Printed values from memory: Hibbeler, Statics, example 7.13 (45.9 N, 75.9 N, 24.2 m); Beer and Johnston,
    sample problem 7.9/7.10 (1284 lb, 551 ft at a sag of 100 ft); Meriam and Kraige, sample problem 5/17 (23.2 kN,
    30.2 kN, 330 m). Recomputed digits (derived) to 0.1 %."""
    for span, weight, length, sag, pull, most in (
        (20.0, 5.0, 24.19, 6.0, 45.94, 75.94),
        (500.0, 3.0, 549.9, 100.0, 983.8, 1283.8),
        (300.0, 12 * 9.81, 329.9, 60.0, 23.16e3, 30.23e3),
    ):
        state = solve_clamped(span, 0.0, length, np.inf, weight, 0.0, 0.5).require()
        assert state.drop == pytest.approx(sag, rel=2e-3)
        assert state.horizontal == pytest.approx(pull, rel=3e-3)
        assert state.tension_a == pytest.approx(most, rel=2e-3)


def test_cable_with_a_load_at_a_node_of_michalos_and_birnstiel():
    """Michalos and Birnstiel 1962, O'Brien and Francis 1964, Jayaraman and Knudson 1981, Comput. Struct. 14:325:
    the node moves 5.626 m down and 0.859 m to the left (printed values from memory, hence 0.3 %). Pulls recomputed."""
    span, upto, whole = 304.8, 125.88, 125.88 + 186.85
    stiffness, weight, load = 131.0e9 * 548.4e-6, 46.12, 35.586e3

    def state_at(at, force):
        return solve_clamped(span, 0.0, whole, stiffness, weight, force, at)

    def place(force):
        return brentq(lambda at: float(state_at(at, force).unstretched_to_load) - upto, 0.1, 0.9, xtol=1e-12)

    before, after = place(0.0), place(load)
    loaded = state_at(after, load)
    assert float(loaded.drop - state_at(before, 0.0).drop) == pytest.approx(5.626, rel=3e-3)
    assert (before - after) * span == pytest.approx(0.859, rel=4e-3)
    assert loaded.horizontal == pytest.approx(89.30e3, rel=1e-4)
    assert loaded.tension_a == pytest.approx(93.80e3, rel=1e-4)


# -- the mooring library as an outside check -----------------------------------------------------------------------


def mooring_state(span, rise, pieces, stiffness, weight, loads, places):
    """Static state by MoorPy: fixed ends, one free point per load, lines without volume far above any sea bed.

    `pieces` are the unstretched lengths between loads; the free points start well under the straight line.
    """
    moorpy = pytest.importorskip("moorpy")
    system = moorpy.System(depth=1000)
    # The library works the weight out of mass and volume again, so the mass must carry it with its own gravity.
    system.lineTypes["line"] = {
        "name": "line", "EA": stiffness, "w": weight, "m": weight / system.g, "d_vol": 1e-9, "input_d": 1e-9,
    }  # fmt: skip
    system.addPoint(1, [0, 0, -100])
    system.addPoint(1, [span, 0, -100 + rise])
    for load, at in zip(loads, places):
        system.addPoint(0, [at * span, 0, -100 + at * rise - 0.05 * span], fExt=[0, 0, -load])
    points = [1, *range(3, 3 + len(loads)), 2]
    for length, begin, end in zip(pieces, points, points[1:]):
        system.addLine(length, "line", pointA=begin, pointB=end)
    system.initialize()
    converged = system.solveEquilibrium(tol=1e-9)
    first, last = system.lineList[0].fA, system.lineList[-1].fB
    heights = [point.r for point in system.pointList[2:]]
    return converged, np.hypot(first[0], first[2]), np.hypot(last[0], last[2]), -first[2], -last[2], heights


def grid(count, seed):
    """15 to 400 m, 0.3 to 20 kN, EA 25 kN to 2 MN, rises to 20 % of the span, the load at 0.02 to 0.98."""
    rng = np.random.default_rng(seed)
    span = np.exp(rng.uniform(np.log(15), np.log(400), count))
    rise = span * rng.uniform(-0.2, 0.2, count)
    standing = np.exp(rng.uniform(np.log(300), np.log(20e3), count))
    stiffness = np.exp(rng.uniform(np.log(25e3), np.log(2e6), count))
    weight = rng.uniform(0.25, 1.2, count)
    load = rng.uniform(300, 2000, count)
    at = np.concatenate(([0.02, 0.98], rng.uniform(0.02, 0.98, count - 2)))
    return span, rise, standing, stiffness, weight, load, at


def test_agreement_with_the_mooring_library_on_a_grid():
    """220 cases. Both find the same forces and the same place of the load to 1e-6 wherever both converge."""
    pytest.importorskip("moorpy")
    columns = grid(220, seed=2)
    ours = solve(*columns)
    compared = 0
    for i, (span, rise, _, stiffness, weight, load, at) in enumerate(zip(*columns)):
        if not ours.converged[i]:
            continue
        upto, whole = float(ours.unstretched_to_load[i]), float(ours.unstretched[i])
        met, *forces, (point,) = mooring_state(span, rise, [upto, whole - upto], stiffness, weight, [load], [at])
        if not met:
            continue
        compared += 1
        expected = [ours.tension_a[i], ours.tension_b[i], ours.vertical_a[i], ours.vertical_b[i]]
        assert np.allclose(forces, expected, rtol=1e-6, atol=1e-6 * load), i
        assert point[0] == pytest.approx(at * span, abs=1e-6 * span)
        assert -100 - point[2] == pytest.approx(float(ours.drop[i]), abs=1e-6 * span)
    assert compared >= 200


def test_three_walkers_agree_with_the_mooring_library():
    pytest.importorskip("moorpy")
    loads, places = [800.0, 600.0, 900.0], [0.2, 0.45, 0.8]
    state = solve_loads(80.0, 4.0, 77.0, 60e3, 0.7, loads, places).require()
    pieces = np.diff([0.0, *state.unstretched_to_load, 77.0])
    met, tension_a, tension_b, down_a, down_b, points = mooring_state(80.0, 4.0, pieces, 60e3, 0.7, loads, places)
    assert met
    assert [tension_a, tension_b] == pytest.approx([float(state.tension_a), float(state.tension_b)], rel=1e-6)
    assert [down_a, down_b] == pytest.approx([float(state.vertical_a), float(state.vertical_b)], rel=1e-6)
    assert [-100 - point[2] for point in points] == pytest.approx(state.drop.tolist(), rel=1e-6)
