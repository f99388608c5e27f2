"""The three measured lines (Volery, Forces in highlining, web article, undated; read) with their errors as they are.

One person, one load cell; the standing tension of the 63 m line is re-read as 1.5 kN. An indication, no validation.
"""

import numpy as np
import pytest
from line_checks import bounce_frequency, leash_fall, sudden_load
from scipy.optimize import brentq

from siteassess.mechanics import calibration as cal
from siteassess.mechanics import line_load as ll
from siteassess.mechanics import loadcases as lc
from siteassess.mechanics.cable import solve
from siteassess.reference.webbing import leash_stiffness

LOAD = cal.WALKER_MASS * 9.80665


def test_the_measured_lines_are_those_of_the_article():
    """Transcribed a second time, from the notes' table and not from the program [m, kN, Hz]; 57 kg on all three."""
    article = [
        # span, standing, with the person, bounce peak, hardest fall, frequency, stretch at 10 kN
        (63, 1.5, 2.4, 3.6, 4.3, 0.35, 0.18),
        (39, 1.4, 2.1, 3.3, 4.0, 0.46, 0.18),
        (41, 1.7, 3.1, 4.4, 5.3, 0.56, 0.04),
    ]
    for line, (span, *tensions, frequency, stretch) in zip(cal.MEASURED_LINES, article, strict=True):
        kept = [line.standing, line.walked, line.bounced, line.leash_fall]
        assert kept == pytest.approx([1e3 * tension for tension in tensions])
        assert (line.span, line.bounce_frequency, 10e3 / line.stiffness) == pytest.approx((span, frequency, stretch))


def test_static_tension_from_a_catalogue_stiffness_is_low_by_6_to_15_percent():
    errors = [line.static() / line.walked - 1 for line in cal.MEASURED_LINES]
    assert errors == pytest.approx([-0.15, -0.06, -0.07], abs=0.006)


def test_energy_values_have_the_stored_errors():
    """Sudden load against the bounce peak, fall of 2.2 m into 10 kN/m against the hardest fall, stiffness x 1.5."""
    sudden, fall = [], []
    for line in cal.MEASURED_LINES:
        numbers = line.span, line.standing, ll.QUICK_STIFFNESS * line.stiffness, LOAD
        sudden.append(float(sudden_load(*numbers).tension) / line.bounced - 1)
        fall.append(float(leash_fall(*numbers, 2.2, 10e3).tension) / line.leash_fall - 1)
    assert sudden == pytest.approx([-0.01, 0.08, 0.33], abs=0.006)
    assert fall == pytest.approx([-0.03, 0.10, 0.45], abs=0.006)


def test_the_shipped_cases_stay_above_all_three_lines():
    """Calibrated on these lines, so this says only that the rule was put together as meant: nothing stays low, and
    the excess runs to half on the low-stretch line, 50.3 %. The article does not tell the leash: dynamic rope is taken
    (judgement); with the softer 10 kN/m of before it was 46 %."""
    for line in cal.MEASURED_LINES:
        known = lc.load_cases("high line", line.span, 0.0, line.standing, line.stiffness, 0.0, LOAD,
                              leash_stiffness=leash_stiffness("dynamic rope") / ll.LEASH)  # fmt: skip
        cases = {case.name: case for case in known}
        for name in cal.CASES:
            excess = cases[name].tension / line.measured(name) - 1
            assert 0 <= excess < 0.51, (line.name, name, excess)
            assert cases[name].calibrated


def test_with_a_step_factor_of_11_one_line_stays_low():
    assert [1.1 * line.static() < line.walked for line in cal.MEASURED_LINES] == [True, False, False]
    assert all(ll.WALKED * line.static() >= line.walked for line in cal.MEASURED_LINES)


def test_leave_one_out_errors_as_they_are():
    rows = cal.leave_one_out()
    errors = {case: [row.error for row in rows if row.case == case] for case in cal.CASES}
    assert errors["walked"] == pytest.approx([-0.09, 0.06, 0.04], abs=0.006)
    assert errors["bounced"] == pytest.approx([-0.095, -0.02, 0.126], abs=0.006)
    assert errors["leash fall"] == pytest.approx([-0.085, -0.03, 0.124], abs=0.006)
    for case in cal.CASES:
        logs = np.log1p(errors[case])
        assert cal.leave_one_out_scatter(case) == pytest.approx(np.sqrt(np.mean(logs**2)), rel=1e-12)


def test_a_fourth_line_never_used_lies_under_the_fall_factor():
    """169 m, 3.3 kN with the person, 6.0 kN in a 40 m pendulum jump (Volery, web log, 2015; read)."""
    assert ll.LEASH_FALL > 6.0 / 3.3


def test_bounce_frequencies():
    """Measured 0.35, 0.46, 0.56 Hz. With stiffness fitted to the static pair the small-motion frequency is 2 to 14 %
    low; the fit is done here again, so 4 % on the stored errors."""
    errors = []
    for line in cal.MEASURED_LINES:

        def excess(stiffness, line=line):
            state = solve(line.span, 0.0, line.standing, stiffness, 0.0, LOAD, 0.5)
            return float(state.tension_a) - line.walked

        fitted = brentq(excess, 2e4, 2e6)
        errors.append(float(bounce_frequency(line.span, line.standing, fitted, LOAD)) / line.bounce_frequency - 1)
    assert errors == pytest.approx([-0.02, -0.14, -0.10], abs=0.015)


def test_orders_of_magnitude_for_80_kg():
    """3 kN standing, 30 to 100 m: 3.4 kN at 60 kN, 4.2 kN at 250 kN, 5.6 kN at 1 MN (derived)."""
    for stiffness, tension in ((60e3, 3400), (250e3, 4200), (1e6, 5600)):
        state = solve([30.0, 75.0, 100.0], 0.0, 3000.0, stiffness, 0.7, 800.0, 0.5)
        assert np.allclose(state.tension_a, tension, rtol=0.02)
