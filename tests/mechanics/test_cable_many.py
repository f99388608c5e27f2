"""Several loads, joined lines and stretch tables against the one-load solver and against themselves."""

import numpy as np
import pytest
from scipy.integrate import solve_ivp

from siteassess.errors import OutsideModel
from siteassess.mechanics.cable import WhyNot, solve
from siteassess.mechanics.cable_many import Section, solve_joined, solve_loads, solve_table
from siteassess.mechanics.stretch_table import StretchTable

RNG = np.random.default_rng(11)
N = 300
SPAN = RNG.uniform(15, 400, N)
RISE = SPAN * RNG.uniform(-0.2, 0.2, N)
STANDING = np.exp(RNG.uniform(np.log(500), np.log(20e3), N))
STIFFNESS = np.exp(RNG.uniform(np.log(25e3), np.log(2e6), N))
WEIGHT = RNG.uniform(0, 1.2, N)
LOAD = RNG.uniform(300, 2000, N)
AT = RNG.uniform(0.02, 0.98, N)
ONE = solve(SPAN, RISE, STANDING, STIFFNESS, WEIGHT, LOAD, AT)


def test_one_load_agrees_with_the_other_solver():
    many = solve_loads(SPAN, RISE, ONE.unstretched, STIFFNESS, WEIGHT, LOAD[:, None], AT[:, None])
    assert many.converged.all()
    assert np.allclose(many.tension_a, ONE.tension_a, rtol=1e-10)
    assert np.allclose(many.drop[:, 0], ONE.drop, rtol=1e-9)


def test_a_load_in_two_halves_at_one_place_is_one_load():
    loads, places = np.stack((LOAD / 2, LOAD / 2), axis=1), np.stack((AT, AT), axis=1)
    many = solve_loads(SPAN, RISE, ONE.unstretched, STIFFNESS, WEIGHT, loads, places)
    assert many.converged.all()
    assert np.allclose(many.tension_b, ONE.tension_b, rtol=1e-7)


def test_own_weight_as_many_small_loads():
    """A weightless line with its weight hung on in 60 places comes near the line with weight."""
    places = (np.arange(60) + 0.5) / 60
    heavy = solve(100.0, 5.0, 500.0, 60e3, 0.8, 0.0, 0.5)
    loads = np.full(60, 0.8 * float(heavy.unstretched) / 60)
    hung = solve_loads(100.0, 5.0, float(heavy.unstretched), 60e3, 0.0, loads, places)
    assert np.isclose(hung.tension_a, heavy.tension_a, rtol=2e-3)


def test_order_of_the_loads_does_not_matter():
    one = solve_loads(60.0, 2.0, 58.0, 60e3, 0.7, [800.0, 500.0, 300.0], [0.2, 0.5, 0.9])
    other = solve_loads(60.0, 2.0, 58.0, 60e3, 0.7, [300.0, 800.0, 500.0], [0.9, 0.2, 0.5])
    assert np.allclose(one.drop, other.drop[[1, 2, 0]])
    assert one.tension_a == pytest.approx(float(other.tension_a), rel=1e-12)


def test_two_walkers_pull_most_when_they_stand_together_at_mid_span():
    first, second = np.meshgrid(np.linspace(0.05, 0.95, 19), np.linspace(0.05, 0.95, 19))
    apart = solve_loads(50.0, 0.0, 48.0, 60e3, 0.7, [800.0, 800.0], np.stack((first, second), axis=-1))
    together = solve_loads(50.0, 0.0, 48.0, 60e3, 0.7, [1600.0], [0.5])
    assert apart.converged.all()
    assert apart.horizontal.max() <= together.horizontal * (1 + 1e-9)


def test_two_sections_of_one_webbing_are_one_webbing():
    sections = [Section(0.3, STIFFNESS, WEIGHT), Section(0.7, STIFFNESS, WEIGHT)]
    joined = solve_joined(SPAN, RISE, STANDING, sections, LOAD[:, None], AT[:, None])
    assert joined.converged.all()
    assert np.allclose(joined.tension_a, ONE.tension_a, rtol=1e-9)
    assert np.allclose(joined.unstretched, ONE.unstretched, rtol=1e-9)


def test_a_joined_line_lies_between_its_webbings_and_near_their_series_stiffness():
    def pull(share):
        sections = [Section(share, 60e3, 0.7), Section(1 - share, 250e3, 0.7)]
        return float(solve_joined(60.0, 1.0, 3000.0, sections, [900.0], [0.5]).require().tension_a)

    soft, stiff = (float(solve(60.0, 1.0, 3000.0, ea, 0.7, 900.0, 0.5).tension_a) for ea in (60e3, 250e3))
    assert soft < pull(0.75) < pull(0.5) < pull(0.25) < stiff
    series = 1 / (0.5 / 60e3 + 0.5 / 250e3)
    assert pull(0.5) == pytest.approx(float(solve(60.0, 1.0, 3000.0, series, 0.7, 900.0, 0.5).tension_a), rel=1e-3)


def test_a_table_that_is_a_straight_line_is_one_stiffness():
    straight = StretchTable([1e3, 4e3, 1e4, 3e4], np.array([1e3, 4e3, 1e4, 3e4]) / 60e3)
    table = solve_table(SPAN, RISE, STANDING, straight, 0.7, LOAD, AT)
    plain = solve(SPAN, RISE, STANDING, 60e3, 0.7, LOAD, AT)
    assert np.array_equal(table.converged, plain.converged)
    assert np.allclose(table.tension_a, plain.tension_a, rtol=1e-9, equal_nan=True)


CURVED = StretchTable([1e3, 2e3, 5e3, 1e4, 3e4], [0.03, 0.05, 0.09, 0.14, 0.30])


def test_a_weightless_table_line_obeys_its_table():
    """Independent of the solver: the stretched legs over the unstretched length give the table's strain."""
    span, load = 60.0, 900.0
    state = solve_table(span, 0.0, 2500.0, CURVED, 0.0, load, 0.5).require()
    stretched = 2 * np.hypot(span / 2, float(state.drop))
    assert stretched / float(state.unstretched) - 1 == pytest.approx(float(CURVED.strain(state.tension_a)), rel=1e-10)
    assert float(state.unstretched) == pytest.approx(span / (1 + float(CURVED.strain(2500.0))), rel=1e-12)


def test_a_table_line_under_weight_is_close_to_its_local_straight_line():
    state = solve_table(60.0, 2.0, 2500.0, CURVED, 0.7, 900.0, [0.1, 0.5])
    tension = float(state.tension_a[1])
    low, high = CURVED.strain(2500.0), CURVED.strain(tension)
    between = (tension - 2500.0) / (high - low) * (1 + low)  # EA of a line with the standing length as reference
    near = solve(60.0, 2.0, 2500.0, between, 0.7, 900.0, 0.5)
    assert tension == pytest.approx(float(near.tension_a), rel=2e-2)


TWO_WALKERS = [900.0, 500.0]


@pytest.mark.parametrize(("standing", "loads"), [(2500.0, TWO_WALKERS), (150.0, TWO_WALKERS), (150.0, [0.0, 0.0])])
def test_integrated_step_by_step_along_the_webbing_a_table_line_ends_at_anchor_b(standing, loads):
    """The differential equations themselves, by SciPy, for two joined webbings, one of them a table."""
    sections, places = [Section(0.4, CURVED, 0.7), Section(0.6, 90e3, 0.5)], [0.3, 0.6]
    state = solve_joined(150.0, 6.0, standing, sections, loads, places).require()
    whole, pull = float(state.unstretched), float(state.horizontal)

    def slope(s, _, passed):
        joint = 0.4 * whole
        vertical = state.vertical_a - 0.7 * min(s, joint) - 0.5 * max(s - joint, 0.0) - passed
        tension = np.hypot(pull, vertical)
        stretched = 1 + (float(CURVED.strain(tension)) if s < joint else tension / 90e3)
        return pull / tension * stretched, vertical / tension * stretched

    where, at = np.zeros(2), 0.0
    stops = [(0.4 * whole, 0.0), *zip(state.unstretched_to_load, loads), (whole, 0.0)]
    passed = 0.0
    for stop, load in sorted(stops):
        run = solve_ivp(slope, (at, stop - 1e-12), where, args=(passed,), rtol=1e-10, atol=1e-12)
        where, at, passed = run.y[:, -1], stop, passed + load
        if load:
            i = loads.index(load)
            assert where == pytest.approx([places[i] * 150.0, float(state.drop[i])], abs=1e-6)
    assert where == pytest.approx([150.0, -6.0], abs=1e-6)
    empty = solve_joined(150.0, 6.0, standing, sections, [0.0], [0.5])
    assert empty.tension_a == pytest.approx(standing, rel=1e-9)
    assert empty.unstretched == pytest.approx(whole, rel=1e-12)


def test_a_table_must_rise():
    for tension, strain in ([[1e3, 2e3], [0.02, 0.01]], [[2e3, 1e3], [0.01, 0.02]], [[], []], [[0.0], [0.0]]):
        with pytest.raises(OutsideModel):
            StretchTable(tension, strain)


def test_a_table_goes_on_straight_and_says_so():
    assert CURVED.covers(3e4) and not CURVED.covers(3.1e4)
    step = CURVED.strain([3e4, 4e4, 5e4])
    assert step[2] - step[1] == pytest.approx(step[1] - step[0])
    assert CURVED.secant(1e4) == pytest.approx(1e4 / 0.14)
    assert StretchTable([1e4], [0.18]).strain(5e3) == pytest.approx(0.09)


def test_faults_are_flagged_case_by_case():
    places = [[0.5, 0.6], [0.5, 0.6], [0.5, 1.0]]
    state = solve_loads([30.0, 0.0, 30.0], 0.0, 29.0, 60e3, 0.7, [[800.0, 1.0]] * 3, places)
    assert state.reason.tolist() == [WhyNot.SOLVED, WhyNot.NO_SPAN, WhyNot.OFF_THE_LINE]
    slack = solve_joined(100.0, 0.0, [20.0, 3000.0], [Section(1.0, 60e3, 0.7)], [[800.0]] * 2, [[0.5]] * 2)
    assert slack.reason.tolist() == [WhyNot.TOO_SLACK, WhyNot.SOLVED]
    with pytest.raises(ValueError, match="sum to 1"):
        solve_joined(100.0, 0.0, 3000.0, [Section(0.6, 60e3, 0.7)], [800.0], [0.5])
