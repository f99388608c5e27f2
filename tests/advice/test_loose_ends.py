"""What lies about a line is known no better than the looser of its ends was placed."""

from __future__ import annotations

import math

import pytest
from parks import record

from siteassess.advice.geometry import Places
from siteassess.advice.surroundings import things_near, things_near_line
from siteassess.places.positions import Located

POND = {"kind": "water", "points": [[54.5001, 2.5001]]}


def unsure(first: str, second: str) -> tuple[float, float, float]:
    """How unsure the pond's distance is from T1, from T2 and from the line, by what both positions may miss [m]."""
    made = record({"site.surroundings": [POND], "T1.position.accuracy": first, "T2.position.accuracy": second})
    places = Places(made)
    near = (things_near(places, "T1"), things_near(places, "T2"), things_near_line(places, made.lines[0]))
    return tuple(one.sigma_m for (one,) in near)


@pytest.mark.parametrize("first, second", [("2 m", "9 m"), ("9 m", "2 m"), ("3 m", "3 m")])
def test_a_line_is_placed_as_loosely_as_its_looser_end(first, second):
    a, b, line = unsure(first, second)
    assert line == max(a, b) and (a < b) == (first == "2 m")


@pytest.mark.parametrize("unknown", [("T1",), ("T2",), ("T1", "T2")])
def test_of_a_line_with_an_end_that_may_lie_off_by_anything_nobody_knows_how_far_it_lies(unknown):
    """Every way of a record has its usual error; a place without any is what a caller of the sums may hand over."""
    made = record({"site.surroundings": [POND]})
    places = Places(made)
    known = {code: places.at(code) for code in ("T1", "T2")}

    class Unsure(Places):
        def at(self, code):
            place = known[code]
            error = None if code in unknown else place.sigma_m
            return Located.at(place.latitude_deg, place.longitude_deg, error)

    (near,) = things_near_line(Unsure(made), made.lines[0])
    assert math.isnan(near.sigma_m) and math.isfinite(near.distance_m)
