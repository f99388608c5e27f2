"""Properties and refusals of the line under one load."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from siteassess.errors import OutsideModel
from siteassess.mechanics.cable import WhyNot, solve, solve_clamped

SPAN = st.floats(15, 400)
STANDING = st.floats(500, 20e3)
STIFFNESS = st.floats(25e3, 2e6)
WEIGHT = st.floats(0, 1.2)
LOAD = st.floats(100, 2000)
AT = st.floats(0.02, 0.98)
SLOPE = st.floats(-0.2, 0.2)


@st.composite
def lines(draw):
    span = draw(SPAN)
    return [span, span * draw(SLOPE), draw(STANDING), draw(STIFFNESS), draw(WEIGHT), draw(LOAD), draw(AT)]


@settings(max_examples=200, deadline=None)
@given(lines())
def test_forces_balance_and_tension_is_made_of_its_parts(line):
    span, rise, standing, stiffness, weight, load, at = line
    state = solve(*line).require()
    assert np.isclose(state.vertical_a + state.vertical_b, load + weight * state.unstretched, rtol=1e-12)
    assert np.isclose(state.tension_a, np.hypot(state.horizontal, state.vertical_a), rtol=1e-12)
    # Moments about B of everything on the line: the weight acts between B and A, nearly as on a straight line.
    moment = state.vertical_a * span + state.horizontal * rise - load * (1 - at) * span
    assert abs(moment - weight * state.unstretched * span / 2) <= 0.05 * weight * span**2 + 1e-6 * load * span


@settings(max_examples=200, deadline=None)
@given(lines(), st.floats(1.01, 2.0))
def test_heavier_walker_never_less_tension(line, more):
    heavier = [*line[:5], line[5] * more, line[6]]
    assert solve(*heavier).tension > solve(*line).tension


@settings(max_examples=200, deadline=None)
@given(lines(), st.floats(1.01, 2.0))
def test_tighter_never_more_sag_and_never_less_tension(line, more):
    tighter = [*line[:2], line[2] * more, *line[3:]]
    assert solve(*tighter).drop < solve(*line).drop
    assert solve(*tighter).tension > solve(*line).tension


@settings(max_examples=200, deadline=None)
@given(lines(), st.floats(1.01, 4.0))
def test_stiffer_webbing_never_less_tension(line, more):
    stiffer = [*line[:3], line[3] * more, *line[4:]]
    assert solve(*stiffer).tension >= solve(*line).tension * (1 - 1e-12)


@settings(max_examples=200, deadline=None)
@given(lines())
def test_mirrored_line_gives_the_mirrored_answer(line):
    span, rise, standing, stiffness, weight, load, at = line
    one = solve(*line).require()
    other = solve_clamped(span, -rise, one.unstretched, stiffness, weight, load, 1 - at).require()
    assert np.allclose(
        [one.tension_a, one.tension_b, one.vertical_a, one.vertical_b, one.drop + rise],
        [other.tension_b, other.tension_a, other.vertical_b, other.vertical_a, other.drop],
        rtol=1e-9,
        atol=1e-9,
    )


@settings(max_examples=200, deadline=None)
@given(lines())
def test_without_a_load_the_tension_at_a_is_the_standing_tension(line):
    assert np.isclose(solve(*line[:5], 0.0, line[6]).tension_a, line[2], rtol=1e-10)


@settings(max_examples=100, deadline=None)
@given(lines())
def test_unstretched_length_is_what_the_clamped_line_starts_from(line):
    span, rise, standing, stiffness, weight, load, at = line
    length = solve(span, rise, standing, stiffness, weight, 0.0, 0.5).unstretched
    clamped = solve_clamped(span, rise, length, stiffness, weight, load, at)
    assert np.isclose(clamped.tension_a, solve(*line).tension_a, rtol=1e-9)


def test_a_weightless_line_is_the_limit_of_a_light_one():
    light, none = (solve(75.0, 3.0, 3000.0, 60e3, w, 800.0, 0.3) for w in (1e-9, 0.0))
    assert np.isclose(light.tension_a, none.tension_a, rtol=1e-9)
    assert np.isclose(light.drop, none.drop, rtol=1e-9)


def test_an_inextensible_line_is_the_limit_of_a_stiff_one():
    stiff, rigid = (solve(75.0, 3.0, 3000.0, ea, 0.7, 800.0, 0.3) for ea in (1e15, np.inf))
    assert np.isclose(stiff.horizontal, rigid.horizontal, rtol=1e-5)
    assert rigid.horizontal > solve(75.0, 3.0, 3000.0, 2e6, 0.7, 800.0, 0.3).horizontal


def test_the_taut_one_of_two_curves_is_taken_and_under_three_quarters_of_the_weight_there_is_none():
    weight, span = 1.0, 100.0
    state = solve(span, 0.0, [74.0, 77.0, 100.0], np.inf, weight, 0.0, 0.5)
    assert state.reason.tolist() == [WhyNot.TOO_SLACK, WhyNot.SOLVED, WhyNot.SOLVED]
    # The slack curve through the same tension hangs deeper than half of this span at 100 N; the taut one does not.
    assert state.drop[2] < 0.2 * span
    # Level inextensible catenary: tension at the anchor = c w cosh(span / 2 c), least at span / 2 c = 1.19968.
    least = weight * span / 2 * np.cosh(1.19967864) / 1.19967864
    close = solve(span, 0.0, [least * 0.9999, least * 1.0001], np.inf, weight, 0.0, 0.5)
    assert close.converged.tolist() == [False, True]


def test_slack_stiff_long_and_short_lines_all_answer():
    span = np.array([15.0, 400.0, 400.0, 15.0, 120.0])
    standing = np.array([6.0, 250.0, 20e3, 20e3, 300.0])
    stiffness = np.array([25e3, 1e6, 2e6, 2e6, 1e6])
    state = solve(span, 0.0, standing, stiffness, 0.5, 900.0, 0.02)
    assert state.converged.all()


def test_one_bad_case_leaves_the_others_alone():
    rng = np.random.default_rng(5)
    span = rng.uniform(15, 400, 9000)
    bad = rng.random(9000) < 0.3
    standing = np.where(bad, rng.choice([np.nan, -1.0, 0.0, 1.0], 9000), 3000.0)
    mixed = solve(span, 0.0, standing, 60e3, 0.7, 800.0, 0.4)
    alone = solve(span[~bad], 0.0, 3000.0, 60e3, 0.7, 800.0, 0.4)
    assert not mixed.converged[bad].any() and mixed.converged[~bad].all()
    assert np.isnan(mixed.tension_a[bad]).all()
    assert np.allclose(mixed.tension_a[~bad], alone.tension_a, rtol=1e-12)


@pytest.mark.parametrize(
    ("change", "reason"),
    [
        ({"span": 0.0}, WhyNot.NO_SPAN),
        ({"span": -30.0}, WhyNot.NO_SPAN),
        ({"rise": 31.0}, WhyNot.TOO_STEEP),
        ({"rise": -31.0}, WhyNot.TOO_STEEP),
        ({"at": 0.0}, WhyNot.OFF_THE_LINE),
        ({"at": 1.2}, WhyNot.OFF_THE_LINE),
        ({"standing": 0.0}, WhyNot.NEGATIVE),
        ({"stiffness": -1.0}, WhyNot.NEGATIVE),
        ({"weight": -0.1}, WhyNot.NEGATIVE),
        ({"load": -800.0}, WhyNot.NEGATIVE),
        ({"load": np.nan}, WhyNot.MISSING),
        ({"stiffness": np.nan}, WhyNot.MISSING),
        ({"standing": 10.0}, WhyNot.TOO_SLACK),
        ({"stiffness": np.inf, "weight": 0.0}, WhyNot.CANNOT_GIVE),
    ],
)
def test_every_refusal_has_its_reason_and_no_number(change, reason):
    case = {"span": 30.0, "rise": 0.0, "standing": 3000.0, "stiffness": 60e3, "weight": 0.7, "load": 800.0, "at": 0.5}
    state = solve(**(case | change))
    assert state.reason == reason
    assert np.isnan([state.tension_a, state.horizontal, state.drop, state.unstretched]).all()
    with pytest.raises(OutsideModel, match=reason.code):
        state.require()


def test_a_clamped_line_may_hang_slack_but_not_without_weight_and_load():
    state = solve_clamped(10.0, 0.0, [10.1, 10.1, 9.9, 9.9], [1e5, 1e5, np.inf, 1e5], [0.0, 0.5, 0.5, 0.0], 0.0, 0.5)
    assert state.reason.tolist() == [WhyNot.CANNOT_GIVE, WhyNot.SOLVED, WhyNot.CANNOT_GIVE, WhyNot.SOLVED]


def test_shapes_follow_broadcasting():
    state = solve(np.ones((4, 1)) * 30, 0.0, 3000.0, 60e3, 0.7, 800.0, np.linspace(0.1, 0.9, 5))
    assert state.tension_a.shape == (4, 5) == state.reason.shape
    assert state[2, 1].tension_a == state.tension_a[2, 1]
    assert solve(30.0, 0.0, 3000.0, 60e3, 0.7, 800.0, 0.5).tension_a.shape == ()
    assert solve(np.zeros(0), 0.0, 3000.0, 60e3, 0.7, 800.0, 0.5).tension_a.shape == (0,)
