"""The load cases by use."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from line_checks import sudden_load

from siteassess.errors import OutsideModel
from siteassess.mechanics import line_load as ll
from siteassess.mechanics import loadcases as lc
from siteassess.mechanics.dynamics import spring_drop
from siteassess.mechanics.stretch_table import StretchTable

WALKED_LINES = [use for use, kind in lc.USES.items() if not kind.hung]


def named(*args, **more):
    return {case.name: case for case in lc.load_cases(*args, **more)}


@pytest.mark.parametrize("use", WALKED_LINES)
def test_names_and_order_of_size(use):
    cases = named(use, 50.0, 0.0, 3000.0, 60e3, 0.7, 800.0, second_load=800.0)
    wanted = {"rigging peak", "standing", "walked", "bounced", "two walkers"}
    falls = {"leash fall", "fall at an anchor", "backup catch"}
    assert set(cases) == (wanted | falls if use == "high line" else wanted)
    assert cases["standing"].tension_a == pytest.approx(3000.0)
    assert cases["rigging peak"].tension_a == pytest.approx(3750.0)
    assert cases["standing"].tension < cases["walked"].tension < cases["bounced"].tension
    assert cases["walked"].tension < cases["two walkers"].tension
    assert [name for name, case in cases.items() if case.sustained] == ["standing"]


def test_walked_is_the_worst_position_times_the_step_factor():
    walked = named("low line", 75.0, 0.0, 3000.0, 60e3, 0.07 * 9.80665, 800.0)["walked"]
    # Tension is worst a little off mid-span (3454.66 N there, three solvers), the vertical pull near the anchor
    # (809 N at 0.02).
    assert 1.2 * 3454.66 < walked.tension_a < 1.2 * 3454.66 * 1.001
    assert walked.vertical_a == pytest.approx(1.2 * 809, rel=2e-3)
    assert walked.drop == pytest.approx(4.5092, abs=1e-3)


@settings(max_examples=40, deadline=None)
@given(
    st.sampled_from(WALKED_LINES),
    st.floats(15, 120),
    st.floats(1500, 8000),
    st.floats(40e3, 400e3),
    st.floats(500, 1200),
    st.floats(1.05, 1.5),
)
def test_heavier_walker_and_tighter_line_never_kinder(use, span, standing, stiffness, load, more):
    cases = named(use, span, 0.0, standing, stiffness, 0.7, load)
    heavier = named(use, span, 0.0, standing, stiffness, 0.7, load * more)
    tighter = named(use, span, 0.0, standing * more, stiffness, 0.7, load)
    for name in ("walked", "bounced", *(["leash fall"] if use == "high line" else [])):
        assert heavier[name].tension > cases[name].tension
        assert heavier[name].vertical_a > cases[name].vertical_a
        assert tighter[name].tension >= cases[name].tension * (1 - 1e-9)
    assert tighter["walked"].tension > cases["walked"].tension


def test_a_tension_that_gets_lost_is_never_credited():
    """The bare energy balance is kinder to some tighter lines; the case is not."""
    slack, tight = (named("low line", 15.0, 0.0, t, 262.5e3, 0.7, 1194.0)["bounced"].tension for t in (1500.0, 2250.0))
    bare = sudden_load(15.0, np.array([1500.0, 2250.0]), 1.5 * 262.5e3, 1194.0).tension
    assert bare[1] < bare[0] < slack <= tight


def test_the_drop_of_a_bounce_is_that_of_the_line_as_tensioned_at_its_slow_stiffness():
    bounced = named("low line", 50.0, 0.0, 3000.0, 60e3, 0.7, 800.0)["bounced"]
    assert bounced.drop == pytest.approx(float(sudden_load(50.0, 3000.0, 60e3, 800.0, ll.JUMP).depth), rel=1e-9)


def test_a_fall_near_an_anchor_is_a_case_of_its_own_and_no_harder_than_straight_on_it():
    """The sum itself is checked against a motion in two dimensions in tests/published/test_line_motion.py."""
    load = 80 * 9.80665
    for leash_stiffness in (10e3, 25e3, 200e3):
        cases = named("high line", 60.0, 0.0, 1000.0, 60e3, 0.0, load, leash_stiffness=leash_stiffness)
        near, straight = cases["fall at an anchor"], float(spring_drop(load, leash_stiffness, 2.2)[0])
        assert load < near.vertical_a <= straight and near.tension > cases["leash fall"].tension
        assert near.horizontal == pytest.approx(cases["standing"].horizontal)
    assert near.vertical_a < 0.7 * straight  # on a leash of webbing the line gives, straight on the anchor nothing does


def test_an_unnamed_walker_weighs_100_kg():
    unsaid, told = (named("low line", 30.0, 0.0, 3000.0, 60e3, 0.7, *mass) for mass in ((), (980.665,)))
    assert repr(unsaid) == repr(told)  # a reach that is NaN equals none, from Python 3.13 on nor within a case


def test_the_higher_anchor_carries_more():
    walked = named("long line", 60.0, 5.0, 3000.0, 60e3, 0.7, 800.0)["walked"]
    assert walked.vertical_b > walked.vertical_a
    assert walked.tension_b > walked.tension_a


def test_only_lines_like_the_measured_ones_count_as_calibrated():
    inside = named("high line", 50.0, 0.0, 1500.0, 100e3, 0.6, 57 * 9.80665)
    assert inside["walked"].calibrated and inside["leash fall"].calibrated
    assert inside["standing"].calibrated is None
    assert inside["backup catch"].calibrated is False
    for change in ({"span": 90.0}, {"stiffness": 500e3}, {"load": 981.0}):
        line = {"span": 50.0, "rise": 0.0, "standing": 1500.0, "stiffness": 100e3, "weight": 0.6, "load": 559.0}
        fall = named("high line", **(line | change))["leash fall"]
        assert fall.calibrated is False and len(fall.outside) == 1
    assert named("trick line", 50.0, 0.0, 1500.0, 100e3, 0.6, 559.0)["bounced"].calibrated is False


def test_scatter_grows_with_a_guessed_tension_and_with_the_dynamic_factor():
    cell = named("high line", 50.0, 0.0, 1500.0, 100e3, 0.6, 559.0, standing_scatter=ll.SCATTER_LOAD_CELL)
    guess = named("high line", 50.0, 0.0, 1500.0, 100e3, 0.6, 559.0)
    assert cell["standing"].ln_sd == 0.10 and guess["standing"].ln_sd == 0.20
    for name in ("walked", "bounced", "leash fall"):
        assert cell["standing"].ln_sd < cell[name].ln_sd < guess[name].ln_sd


def test_backup_is_not_worked_out_without_its_length_and_passes_20_kn_where_it_is_stiff_and_short():
    unknown = named("high line", 50.0, 0.0, 3000.0, 100e3, 0.6, 800.0)["backup catch"]
    assert np.isnan(unknown.tension_a)
    soft = named("high line", 50.0, 0.0, 3000.0, 100e3, 0.6, 800.0, backup_extra_length=1.0, backup_stiffness=60e3)
    assert soft["backup catch"].tension < ll.BACKUP_FLAG
    hard = named(
        "high line", 25.0, 0.0, 3000.0, 1e6, 0.6, 1000.0,
        backup_extra_length=0.05, backup_stiffness=1.5e6, leash=3.0, leash_stiffness=50e3,
    )  # fmt: skip
    assert hard["backup catch"].tension > ll.BACKUP_FLAG


def test_a_hammock_hangs_at_its_angle():
    cases = named("hammock", 4.0, 0.0, None, 60e3, 0.0, 800.0)
    assert list(cases) == ["lying", "dropping in"]
    # Half the load at each end at 30 degrees: the tension is the load itself, x 1.2.
    assert cases["lying"].tension_a == pytest.approx(1.2 * 800.0, rel=1e-6)
    assert cases["lying"].horizontal == pytest.approx(1.2 * 800.0 * np.cos(np.pi / 6), rel=1e-6)
    assert cases["lying"].sustained and not cases["lying"].calibrated
    flat = named("hammock", 4.0, 0.0, None, 60e3, 0.0, 800.0, hang_angle_deg=15.0)
    assert flat["lying"].tension_a > 1.8 * cases["lying"].tension_a
    assert cases["dropping in"].tension > 1.5 * cases["lying"].tension


def test_a_table_of_one_slope_gives_the_cases_of_one_stiffness():
    table = StretchTable([1e3, 1e4, 4e4], np.array([1e3, 1e4, 4e4]) / 60e3)
    for use in lc.USES:
        plain, tabled = (lc.load_cases(use, 30.0, 1.0, 3000.0, ea, 0.7, 800.0) for ea in (60e3, table))
        for one, other in zip(plain, tabled):
            assert np.isclose(one.tension_a, other.tension_a, rtol=1e-8, equal_nan=True)
            assert np.isclose(one.drop, other.drop, rtol=1e-8, equal_nan=True)


def test_an_unknown_leash_is_not_left_out_of_the_larger_of_two():
    for leash, stiffness in ((np.nan, 10e3), (1.2, np.nan), (-1.0, 10e3), (1.2, 0.0)):
        with pytest.raises(OutsideModel, match="leash"):
            lc.load_cases("high line", 50.0, 0.0, 3000.0, 60e3, 0.7, 800.0, leash=leash, leash_stiffness=stiffness)
    with pytest.raises(OutsideModel):
        lc.load_cases("low line", 50.0, 0.0, 3000.0, 60e3, 0.7, np.nan)
    with pytest.raises(OutsideModel):
        lc.load_cases("low line", 50.0, 0.0, 3000.0, 60e3, 0.7, 800.0, second_load=np.nan)


@pytest.mark.parametrize(
    "arguments",
    [
        ("zip line", 30.0, 0.0, 3000.0, 60e3, 0.7),
        ("low line", 30.0, 0.0, None, 60e3, 0.7),
        ("low line", 30.0, 0.0, np.nan, 60e3, 0.7),
        ("low line", 30.0, 0.0, 3000.0, np.inf, 0.7),
        ("low line", 30.0, 0.0, 3000.0, np.nan, 0.7),
        ("low line", 300.0, 0.0, 50.0, 60e3, 0.7),
        ("low line", 0.0, 0.0, 3000.0, 60e3, 0.7),
        ("low line", 30.0, 40.0, 3000.0, 60e3, 0.7),
    ],
)
def test_outside_the_model_is_said(arguments):
    with pytest.raises(OutsideModel):
        lc.load_cases(*arguments)
