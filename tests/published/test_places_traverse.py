"""Traverse and network adjustment against a surveying course's worked examples.

J. Mahun, Open Access Lessons: Surveying (jerrymahun.com), XIII Traverse computations: chapter I, bearing traverse, and
the answers to problem 2 of the self-study on adjustment (both read). Lengths in feet; units cancel.
"""

import numpy as np
import pytest

from siteassess.places.closures import Leg, traverse_closure
from siteassess.places.network import adjust_network
from siteassess.places.network_model import sighted, taped


def dms(d, m, s):
    return d + m / 60.0 + s / 3600.0


BEARING_TRAVERSE = [  # bearing as azimuth, length, printed latitude and departure
    (180 + dms(68, 5, 35), 472.68, -176.357, -438.548),
    (360 - dms(19, 46, 0), 216.13, 203.395, -73.093),
    (dms(45, 55, 20), 276.52, 192.357, 198.651),
    (180 - dms(54, 59, 15), 382.24, -219.312, 313.065),
]
PROBLEM_2 = [  # azimuth, length, printed latitude and departure, the same adjusted, adjusted length and azimuth
    (dms(226, 54, 23), 639.15, -436.662, -466.732, -436.631, -466.761, 639.150, dms(226, 54, 36.6)),
    (dms(0, 0, 0), 523.69, 523.690, 0.000, 523.715, -0.023, 523.715, dms(359, 59, 50.8)),
    (dms(235, 2, 29), 409.54, -234.660, -335.645, -234.640, -335.663, 409.544, dms(235, 2, 42.5)),
    (dms(79, 35, 2), 815.93, 147.517, 802.484, 147.556, 802.447, 815.901, dms(79, 34, 50.5)),
]


@pytest.mark.parametrize("rows, north, east", [(BEARING_TRAVERSE, 0.083, 0.075), (PROBLEM_2, -0.115, 0.107)])
def test_latitudes_departures_and_closure(rows, north, east):
    # Printed to 0.001: single values to half a unit, the closure as the sum of four rounded ones to two units.
    legs = [Leg(length, bearing) for bearing, length, *_ in rows]
    for leg, (_, _, latitude, departure, *_) in zip(legs, rows):
        assert leg.vector() == pytest.approx((departure, latitude), abs=0.00055)
    closure = traverse_closure(legs)
    assert closure.misclosure_north_m == pytest.approx(north, abs=0.002)
    assert closure.misclosure_east_m == pytest.approx(east, abs=0.002)


def test_length_and_precision():
    closure = traverse_closure([Leg(row[1], row[0]) for row in PROBLEM_2])
    assert closure.length_m == pytest.approx(2388.31, abs=0.001)
    assert closure.linear_misclosure_m == pytest.approx(0.157, abs=0.001)
    assert closure.length_m / closure.linear_misclosure_m == pytest.approx(15_200, abs=60)  # printed to hundreds


def test_least_squares_gives_the_same_where_the_compass_rule_is_least_squares():
    # The rule is the least-squares answer if a leg's variance is alike along and across and grows with its length
    # (derived). So the network adjustment, weighted that way, must print the course's adjusted lengths and azimuths:
    # to 0.001 and to 0.5 second, the printed digits with one unit of slack.
    scale = 1e-3
    names = "ABCD"
    readings = []
    for k, (azimuth, length, *_) in enumerate(PROBLEM_2):
        start, end = names[k], names[(k + 1) % 4]
        sigma = scale * np.sqrt(length)
        readings += [taped(start, end, length, sigma), sighted(start, end, azimuth, np.degrees(sigma / length))]
    adjusted = adjust_network(readings)
    assert adjusted.dof == 2
    for k, row in enumerate(PROBLEM_2):
        one, two = adjusted.anchors[names[k]], adjusted.anchors[names[(k + 1) % 4]]
        vector = np.array([two.east_m - one.east_m, two.north_m - one.north_m])
        assert vector == pytest.approx((row[5], row[4]), abs=0.0011)
        assert np.hypot(*vector) == pytest.approx(row[6], abs=0.0011)
        azimuth = np.degrees(np.arctan2(*vector)) % 360.0
        assert abs(azimuth - row[7]) * 3600.0 < 0.5
