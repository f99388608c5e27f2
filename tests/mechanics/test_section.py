"""Section modulus: closed forms against each other, against limits a carpenter would know, and refusals."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from siteassess.mechanics import section

diameters = st.floats(0.1, 2.0)
shares = st.floats(0.0, 0.95)


def test_round_trunk_of_forty_centimetres():
    assert section.solid_modulus(0.40) == pytest.approx(6.283e-3, rel=1e-3)
    assert section.solid_modulus(0.40) == pytest.approx(np.pi * 0.4**3 / 32)


def test_bark_is_taken_off_both_sides():
    assert section.wood_diameter(0.40, 0.02) == pytest.approx(0.36)
    assert np.isnan(section.wood_diameter(0.04, 0.02))
    assert np.isnan(section.wood_diameter(0.40, -0.01))
    assert np.isnan(section.wood_diameter(0.40, np.nan))


def test_a_wall_as_thick_as_the_radius_is_solid():
    solid = section.solid_modulus(0.5)
    for wall in (0.25, 0.4, np.inf):
        assert section.trunk_modulus(0.5, wall) == pytest.approx(solid)


def test_two_routes_to_the_same_even_ring():
    ring = section.hollow_modulus(0.6, 0.1)
    assert section.open_ring_modulus(0.6, 0.4, 0.0) == pytest.approx(ring)
    assert section.trunk_modulus(0.6, 0.1) == pytest.approx(ring)


def test_half_a_log_matches_the_textbook_half_circle():
    # Half circle of radius R about its own centroid: I = (pi/8 - 8/(9 pi)) R^4, farthest fibre R - 4R/(3 pi).
    R = 0.5
    inertia = (np.pi / 8 - 8 / (9 * np.pi)) * R**4
    found = section.open_ring_modulus(2 * R, 0.0, 180.0)
    assert found == pytest.approx(inertia / (R - 4 * R / (3 * np.pi)), rel=1e-12)


@pytest.mark.parametrize(
    "arguments",
    [
        (np.nan, np.inf), (-0.4, np.inf), (0.0, np.inf), (0.4, np.nan), (0.4, 0.0), (0.4, 0.1, np.nan),
        (0.4, 0.0, 60.0), (0.4, np.nan, 60.0), (np.nan, 0.1, 60.0),
    ],
)
def test_impossible_or_unknown_gives_no_number(arguments):
    assert np.isnan(section.trunk_modulus(*arguments))


def test_one_unknown_trunk_does_not_spoil_its_neighbours():
    found = section.trunk_modulus([0.4, np.nan, 0.4], 0.1, [0.0, 0.0, np.nan])
    assert np.isnan(found).tolist() == [False, True, True]
    assert found[0] == pytest.approx(float(section.hollow_modulus(0.4, 0.1)))


@settings(max_examples=60, deadline=None)
@given(diameters, shares, st.floats(0.0, 120.0), st.floats(1.01, 1.5))
def test_thicker_trunks_and_thicker_walls_are_never_weaker(d, hole, opening, more):
    wall = d / 2 * (1 - hole)
    base = section.trunk_modulus(d, wall, opening)
    assert section.trunk_modulus(d, wall * more, opening) >= base * (1 - 1e-9)
    assert section.trunk_modulus(d * more, wall * more, opening) >= base * (1 - 1e-9)


@settings(max_examples=60, deadline=None)
@given(diameters, shares, st.floats(0.0, 110.0))
def test_a_wider_opening_is_never_stronger(d, hole, opening):
    worst = section.open_ring_modulus(d, hole * d, opening)
    assert section.open_ring_modulus(d, hole * d, opening + 10.0) <= worst * (1 + 1e-9)
    assert worst <= section.solid_modulus(d) * (1 + 1e-9)
