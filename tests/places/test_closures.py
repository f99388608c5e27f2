"""Closing checks of triangles and traverses."""

import math

import numpy as np
import pytest

from siteassess.errors import OutsideModel
from siteassess.places.closures import Leg, traverse_closure, triangle_closure
from siteassess.places.instruments import tape_sigma

CORNERS = np.array([(0.0, 0.0), (40.0, 0.0), (0.0, 30.0)])  # the 3-4-5 triangle, in metres


def bearing(one, two):
    return math.degrees(math.atan2(*(CORNERS[two] - CORNERS[one]))) % 360.0


def right_triangle(**changes):
    given = {
        "at_a": (bearing(0, 1), bearing(0, 2)),
        "at_b": (bearing(1, 2), bearing(1, 0)),
        "at_c": (bearing(2, 0), bearing(2, 1)),
        "sides_m": (40.0, 50.0, 30.0),
    }
    return triangle_closure(**{**given, **changes})


def test_a_true_triangle_closes():
    closure = right_triangle()
    assert closure.angles_deg == pytest.approx((90.0, math.degrees(math.atan2(3, 4)), math.degrees(math.atan2(4, 3))))
    assert closure.misclosure_deg == pytest.approx(0.0, abs=1e-9)
    assert (closure.level, closure.sides_level) == ("agree", "agree")
    assert closure.angles_from_sides_deg == pytest.approx(closure.angles_deg)


def test_turning_the_other_way_round_is_the_same_triangle():
    corners = ((0, 2, 1), (2, 1, 0), (1, 0, 2))
    mirrored = triangle_closure(*((bearing(at, one), bearing(at, two)) for at, one, two in corners))
    assert sum(mirrored.angles_deg) == pytest.approx(180.0)


def test_iron_at_one_corner_turns_both_bearings_and_hides():
    here = right_triangle()
    iron = right_triangle(at_a=(bearing(0, 1) + 15.0, bearing(0, 2) + 15.0))
    assert iron.angles_deg == pytest.approx(here.angles_deg)


def test_one_misread_bearing_shows():
    closure = right_triangle(at_b=(bearing(1, 2) + 20.0, bearing(1, 0)))
    assert abs(closure.misclosure_deg) == pytest.approx(20.0)
    assert closure.z == pytest.approx(closure.misclosure_deg / (2.0 * math.sqrt(6.0)))
    assert closure.level == "reject"


def test_feet_for_metres_on_one_side_makes_no_triangle():
    assert right_triangle(sides_m=(40.0 / 0.3048, 50.0, 30.0)).sides_level == "reject"
    assert right_triangle(sides_m=(40.0, 50.0 * 1.2, 30.0)).sides_level in ("flag", "reject")
    assert right_triangle(sides_m=(40.0, 70.05, 30.0)).sides_level == "cannot say"


def test_false_alarms_of_the_triangle_stay_at_their_level():
    rng = np.random.default_rng(3)
    alarms = sides = 0
    for _ in range(2000):
        e = rng.normal(0.0, 2.0, 6)
        closure = right_triangle(
            at_a=(bearing(0, 1) + e[0], bearing(0, 2) + e[1]),
            at_b=(bearing(1, 2) + e[2], bearing(1, 0) + e[3]),
            at_c=(bearing(2, 0) + e[4], bearing(2, 1) + e[5]),
            sides_m=tuple(side + rng.normal(0, tape_sigma(side)) for side in (40.0, 50.0, 30.0)),
        )
        alarms += closure.level != "agree"
        sides += closure.sides_level != "agree"
    # binomial standard error 0.5 %
    assert alarms / 2000 == pytest.approx(0.05, abs=0.016)
    assert sides / 2000 == pytest.approx(0.05, abs=0.016)


def test_a_wrong_leg_shows_and_an_honest_walk_does_not():
    walk = [Leg(40.0, 91.0), Leg(50.0, 307.5), Leg(30.0, 180.0)]
    assert traverse_closure(walk).level == "agree"
    feet = [Leg(40.0 / 0.3048, 91.0), *walk[1:]]
    assert traverse_closure(feet).level == "reject"
    assert "one of the legs is wrong" in traverse_closure(feet).told.in_words()
    with pytest.raises(OutsideModel):
        traverse_closure(walk[:1])
