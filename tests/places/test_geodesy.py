"""Distances, bearings and local metres."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from siteassess.errors import OutsideModel
from siteassess.places.geodesy import (
    LocalFrame,
    bearing_distance,
    destination,
    mean_bearing,
    reverse_bearing,
    wrap180,
    wrap360,
)


def test_two_anchors_at_one_point_have_a_distance_and_no_bearing():
    course = bearing_distance(40.0, -73.0, 40.0, -73.0)
    assert course.distance_m == 0.0
    assert np.isnan(course.bearing_true_deg) and np.isnan(course.back_bearing_true_deg)


def test_arrays_and_unknowns():
    course = bearing_distance([40.0, np.nan], -73.0, [40.001, 40.0], -73.0)
    assert course.distance_m.shape == (2,)
    assert course.bearing_true_deg[0] == pytest.approx(0.0, abs=1e-9)
    assert np.isnan(course.distance_m[1]) and np.isnan(course.bearing_true_deg[1])
    assert isinstance(bearing_distance(40.0, -73.0, 40.1, -73.0).distance_m, float)


@pytest.mark.parametrize("latitude", [90.0, -90.0, 89.9, -89.6])
def test_poles_are_refused_clearly(latitude):
    for call in (
        lambda: bearing_distance(latitude, 0.0, 40.0, 0.0),
        lambda: bearing_distance(40.0, 0.0, latitude, 0.0),
        lambda: destination(latitude, 0.0, 10.0, 50.0),
        lambda: LocalFrame(latitude, 0.0),
        lambda: LocalFrame.around([latitude, 40.0], [0.0, 0.0]),
    ):
        with pytest.raises(OutsideModel, match="too near a pole"):
            call()


def test_a_latitude_that_is_none_is_refused():
    with pytest.raises(OutsideModel, match="does not exist"):
        bearing_distance(91.0, 0.0, 40.0, 0.0)


def test_the_antimeridian_is_no_edge():
    frame = LocalFrame.around([-17.0, -17.0005], [179.9998, -179.9998])
    assert abs(frame.lon0) == pytest.approx(180.0, abs=1e-9)
    east, north = frame.to_metres([-17.0, -17.0005], [179.9998, -179.9998])
    course = bearing_distance(-17.0, 179.9998, -17.0005, -179.9998)
    assert np.hypot(np.diff(east), np.diff(north)) == pytest.approx(course.distance_m, abs=1e-6)
    assert course.distance_m < 80.0


def test_one_anchor_makes_a_frame_and_no_anchor_does_not():
    assert LocalFrame.around([40.0], [-73.0]).to_metres(40.0, -73.0) == pytest.approx((0.0, 0.0), abs=1e-9)
    frame = LocalFrame.around([40.0, np.nan], [-73.0, -73.0])
    assert frame.lat0 == 40.0
    with pytest.raises(OutsideModel, match="no position is known"):
        LocalFrame.around([np.nan], [np.nan])


def test_a_mistyped_position_far_away_is_not_drawn():
    with pytest.raises(OutsideModel, match="mistyped"):
        LocalFrame.around([40.0, 40.001, 48.0], [-73.0, -73.0, -73.0])


def test_angles():
    assert wrap360(-1e-20) == 0.0
    assert wrap360(360.0) == 0.0
    assert wrap180(180.0) == 180.0 and wrap180(-180.0) == 180.0
    assert wrap180(359.0) == -1.0
    assert reverse_bearing(92.0) == 272.0  # the forestry teaching example, 92 and 272
    assert mean_bearing([359.0, 1.0]) == pytest.approx(0.0, abs=1e-9)
    assert mean_bearing([10.0, 20.0], [1.0, 3.0]) == pytest.approx(11.0, abs=0.01)
    assert np.isnan(mean_bearing([0.0, 180.0]))


places = st.tuples(st.floats(-84.0, 84.0), st.floats(-180.0, 180.0))


@settings(max_examples=100, deadline=None)
@given(places, st.floats(0.0, 359.99), st.floats(1.0, 300.0))
def test_going_there_and_looking_back(place, bearing, distance):
    there = destination(*place, bearing, distance)
    course = bearing_distance(*place, *there)
    assert course.distance_m == pytest.approx(distance, abs=1e-6)
    assert abs(wrap180(course.bearing_true_deg - bearing)) < 1e-5
    back = bearing_distance(*there, *place)
    assert abs(wrap180(back.bearing_true_deg - course.back_bearing_true_deg)) < 1e-5
    # the other way round over a park's width, but for the convergence of the meridians
    assert abs(wrap180(course.back_bearing_true_deg - reverse_bearing(bearing))) < 0.04


@settings(max_examples=100, deadline=None)
@given(places, st.floats(-2000.0, 2000.0), st.floats(-2000.0, 2000.0))
def test_metres_and_degrees_undo_each_other(place, east, north):
    # PROJ takes anything within 1e-10 of the earth's radius of the origin, 0.6 mm, for the origin itself
    frame = LocalFrame(*place)
    assert frame.to_metres(*frame.to_degrees(east, north)) == pytest.approx((east, north), abs=1e-3)


@settings(max_examples=60, deadline=None)
@given(st.tuples(st.floats(-70.0, 70.0), st.floats(-180.0, 180.0)), st.floats(0.0, 360.0), st.floats(0.0, 360.0))
def test_plane_bearings_are_true_bearings_less_the_convergence(place, away, bearing):
    # derived: two points 100 m apart, 3 km from the origin
    frame = LocalFrame(*place)
    start = destination(*place, away, 3000.0)
    end = destination(*start, bearing, 100.0)
    (e1, n1), (e2, n2) = frame.to_metres(*start), frame.to_metres(*end)
    on_plane = np.degrees(np.arctan2(e2 - e1, n2 - n1))
    assert abs(wrap180(on_plane + frame.convergence_deg(*start) - bearing)) < 0.003
    assert np.hypot(e2 - e1, n2 - n1) == pytest.approx(100.0, abs=1e-4)
