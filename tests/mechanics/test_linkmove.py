"""How the link moves: closed forms by hand, limits, and that more of a cause never gives less of its effect."""

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.integrate import trapezoid

from siteassess.mechanics.linkmove import (
    FELT_SLIDE,
    compliance,
    rubbed_inwards,
    slide_along,
    swing_deg,
    tilt_at_touchdown,
)

forces = st.floats(10.0, 20e3)
mus = st.floats(0.05, 1.0)
contacts = st.floats(math.pi, 1.6 * math.pi)
quick = settings(max_examples=60, deadline=None)


def test_swing_is_the_sideways_push_over_the_pull():
    # 800 N of walker pushing 15 % sideways on a line of 3 kN: atan(120 / 3000)
    assert swing_deg(800.0, 3000.0, 0.15) == pytest.approx(2.2906, abs=1e-3)
    assert swing_deg(0.0, 3000.0, 0.15) == 0.0


def test_slide_without_friction_is_the_stretch_of_half_the_contact():
    # friction so low that the whole half contact is drawn: r c (T2 - T1) theta / 2
    low, high, theta, r, c = 1000.0, 2000.0, math.pi, 0.2, 4e-6
    assert slide_along(low, high, theta, r, 1e-9, c) == pytest.approx(r * c * 1000.0 * math.pi / 2, rel=1e-6)


def test_slide_with_friction_by_hand():
    # X = ln(2)/0.5 = 1.386 rad lies inside half the contact; r c [T2 (1 - 1/2)/mu - T1 X]
    found = slide_along(1000.0, 2000.0, math.pi, 0.2, 0.5, 4e-6)
    assert found == pytest.approx(0.2 * 4e-6 * (2000.0 * 0.5 / 0.5 - 1000.0 * math.log(2) / 0.5), rel=1e-9)


def test_slide_is_the_integral_of_the_stretch():
    low, high, theta, r, mu, c = 800.0, 2500.0, 3.6, 0.25, 0.3, 5e-6
    x = np.linspace(0.0, theta / 2, 20001)
    stretch = np.maximum(high * np.exp(-mu * x) - low, 0.0) * c
    assert slide_along(low, high, theta, r, mu, c) == pytest.approx(trapezoid(stretch, x) * r, rel=1e-4)


def test_a_strand_let_go_slides_over_half_its_contact():
    assert slide_along(0.0, 1000.0, math.pi, 0.2, 0.3, 4e-6, math.pi / 2) == 0.0
    assert slide_along(0.0, 1000.0, math.pi, 0.2, 0.3, 4e-6, 1.5) > 0.0


@quick
@given(forces, contacts, mus)
def test_nothing_changing_slides_nothing(tension, contact, mu):
    assert slide_along(tension, tension, contact, 0.2, mu, 4e-6) == pytest.approx(0.0, abs=1e-12)
    assert rubbed_inwards(tension, tension, contact, 0.2, mu, 4e-6) == 0.0


@quick
@given(forces, st.floats(1.0, 3.0), st.floats(1.0, 1.5), contacts, mus)
def test_a_larger_change_never_rubs_less(low, ratio, more, contact, mu):
    once = rubbed_inwards(low, low * ratio, contact, 0.2, mu, 1e-5)
    again = rubbed_inwards(low, low * ratio * more, contact, 0.2, mu, 1e-5)
    assert again >= once - 1e-9
    assert 0.0 <= once <= contact / 2 + 1e-12


@quick
@given(forces, st.floats(1.01, 4.0), contacts, mus)
def test_more_friction_never_slides_more_and_the_slide_falls_inwards(low, ratio, contact, mu):
    angles = np.linspace(0.0, contact / 2, 50)
    slides = slide_along(low, low * ratio, contact, 0.2, mu, 1e-5, angles)
    assert np.all(np.diff(slides) <= 1e-15)
    rougher = slide_along(low, low * ratio, contact, 0.2, 1.2 * mu, 1e-5, angles)
    assert np.all(rougher <= slides + 1e-15)


def test_the_rubbed_angle_is_where_the_slide_falls_to_what_is_felt():
    args = (1000.0, 4000.0, 3.5, 0.3, 0.25, 8e-6)
    angle = rubbed_inwards(*args)
    assert 0.0 < angle < 1.75
    assert slide_along(*args, angle) == pytest.approx(FELT_SLIDE.value, rel=2e-3)


def test_unknown_tension_stays_unknown():
    assert math.isnan(slide_along(math.nan, 1000.0, 3.2, 0.2, 0.3, 4e-6))
    assert math.isnan(rubbed_inwards(1000.0, math.nan, 3.2, 0.2, 0.3, 4e-6))


def test_tilt_of_the_plane_moves_the_touchdown_by_its_lever():
    # parallel legs on a trunk of 0.2 m radius, the pull dipping from 0 to 10 degrees: 0.2 tan 10
    assert tilt_at_touchdown(0.0, 10.0, 0.2, 0.0) == pytest.approx(0.2 * math.tan(math.radians(10)))
    assert tilt_at_touchdown(3.0, 3.0, 0.2, 0.3) == 0.0


def test_compliance_reaches_the_break_at_its_strength():
    assert compliance(30e3) * 30e3 == pytest.approx(0.12)
