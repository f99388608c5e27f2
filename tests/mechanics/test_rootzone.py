"""Protection radii and the areas that lie over them."""

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from siteassess.errors import OutsideModel
from siteassess.mechanics import rootzone as rz

calm = settings(max_examples=60, deadline=None)
LENGTH = st.floats(0.5, 15.0)


def test_radius_by_the_named_standard():
    assert rz.protection_radius("BS 5837", 0.5) == 6.0
    assert rz.protection_radius("AS 4970", 0.1) == 2.0
    assert rz.protection_radius("critical root radius", 0.254, feet_per_inch=1.5) == pytest.approx(4.572)
    assert rz.protection_radius("DIN 18920", 0.5, crown_radius=4.0) == 5.5
    with pytest.raises(OutsideModel, match="crown"):
        rz.protection_radius("DIN 18920", 0.5)
    with pytest.raises(OutsideModel, match="BS 5837"):
        rz.protection_radius("BS 1234", 0.5)


def test_stems_that_are_not_known_are_refused():
    for stems in ([], [0.2, math.nan], [0.2, 0.0]):
        with pytest.raises(OutsideModel):
            rz.equivalent_diameter(stems)


def test_not_known_stays_not_known():
    assert np.isnan(rz.bs5837_radius(np.nan)) and np.isnan(rz.as4970_protection_radius(np.nan))
    assert np.isnan(rz.as4970_structural_radius(np.nan))
    assert np.isnan(rz.circles_overlap(2.0, np.nan, 1.0)) and np.isnan(rz.circles_overlap(2.0, 1.0, np.nan))
    assert np.isnan(rz.band_overlap(np.nan, 0.0, 5.0, 1.0))


@calm
@given(st.floats(0.05, 2.0), st.floats(1.0, 2.0))
def test_a_thicker_tree_never_has_a_smaller_zone(diameter, more):
    for radius in (rz.bs5837_radius, rz.as4970_protection_radius, rz.critical_root_radius):
        assert radius(diameter * more) >= radius(diameter)


@calm
@given(st.lists(st.floats(0.05, 0.8), min_size=1, max_size=5), st.floats(0.05, 0.8))
def test_another_stem_never_makes_the_zone_smaller_up_to_five(stems, another):
    if len(stems) < 5:
        assert rz.equivalent_diameter([*stems, another]) >= rz.equivalent_diameter(stems)
    assert rz.equivalent_diameter(stems) >= max(stems) - 1e-12


@calm
@given(LENGTH, LENGTH, st.floats(0.01, 40.0))
def test_overlap_of_circles_against_shapely(a, b, distance):
    """shapely's buffers of 256 segments a quarter are short of the circle by under 2e-5 of its area."""
    from shapely.geometry import Point

    shared = Point(0, 0).buffer(a, 256).intersection(Point(distance, 0).buffer(b, 256)).area
    assert rz.circles_overlap(a, b, distance) == pytest.approx(shared, rel=1e-3, abs=2e-3)


@calm
@given(LENGTH, st.floats(0.0, 10.0), st.floats(0.1, 20.0), st.floats(0.1, 12.0))
def test_overlap_of_a_band_against_shapely(radius, start, length, half):
    from shapely.geometry import Point, box

    shared = Point(0, 0).buffer(radius, 256).intersection(box(start, -half, start + length, half)).area
    assert rz.band_overlap(radius, start, start + length, half) == pytest.approx(shared, rel=1e-3, abs=2e-3)


def test_overlap_of_the_same_circle_is_its_area():
    assert rz.circles_overlap(3.0, 3.0, 0.0) == pytest.approx(math.pi * 9.0)
    assert rz.circles_overlap([3.0, 1.0], [1.0, 3.0], 0.0) == pytest.approx([math.pi, math.pi])


def test_a_band_wider_than_the_zone_is_never_lost_to_rounding():
    # the square of these radii rounds differently as a scalar and as an array, which once gave not-a-number
    for radius in (9.628131854142538, 14.339994811076531):
        assert rz.band_overlap(radius, 0.0, 2 * radius, 20.0) == pytest.approx(math.pi * radius**2 / 2)
