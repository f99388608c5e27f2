"""Geodesy against figures that others published."""

import csv
from pathlib import Path

import numpy as np
import pytest
from pyproj import Geod, Transformer

from siteassess.places.geodesy import LocalFrame, bearing_distance, destination

DATA = Path(__file__).parent / "data"


def degrees(text):
    """Degrees from "-37 57 3.72"."""
    d, m, s = text.lstrip("-").split()
    return (-1.0 if text.startswith("-") else 1.0) * (float(d) + float(m) / 60.0 + float(s) / 3600.0)


def seconds_apart(one, other):
    return abs((one - other + 180.0) % 360.0 - 180.0) * 3600.0


def test_flinders_peak_to_buninyong():
    # Geoscience Australia's worked example, GRS80: 54 972.271 m, 306 52 05.37, back 127 10 25.07 (read in a copy).
    # Printed to 1 mm and 0.01 second; WGS84 differs from GRS80 by under 0.1 mm here.
    flinders = degrees("-37 57 3.72030"), degrees("144 25 29.52440")
    buninyong = degrees("-37 39 10.15610"), degrees("143 55 35.38390")
    course = bearing_distance(*flinders, *buninyong)
    assert course.distance_m == pytest.approx(54_972.271, abs=0.001)
    assert seconds_apart(course.bearing_true_deg, degrees("306 52 5.37")) < 0.006
    assert seconds_apart(course.back_bearing_true_deg, degrees("127 10 25.07")) < 0.006


BESSEL = Geod(a=6377397.155, rf=299.1528128)
HAYFORD = Geod(a=6378388.0, rf=297.0)
VINCENTY_1975 = """
a   55 45 0          -33 26 0          108 13 0          14110526.170   96 36 8.79960   137 52 22.01454
b   37 19 54.95367    26 7 42.83946     41 28 35.50729    4085966.703   95 27 59.63089  118 5 58.96161
c   35 16 11.24862    67 22 14.77638   137 47 28.31435    8084823.839   15 44 23.74850  144 55 39.92147
d   1 0 0             -0 59 53.83076   179 17 48.02997   19960000.000   89 0 0.0         91 0 6.11733
e   1 0 0              1 1 15.18952    179 46 17.84244   19780006.558    4 59 59.99995  174 59 59.88481
""".strip().splitlines()


@pytest.mark.parametrize("row", VINCENTY_1975)
def test_vincentys_five_lines_on_their_own_ellipsoids(row):
    # T. Vincenty, Direct and inverse solutions of geodesics, Survey Review 23 (1975), table II (read in a copy).
    # Lengths are printed to 1 mm; the published azimuth 2 runs on ahead, so the way back is it plus 180.
    # The two near-antipodal lines are steep in azimuth: 0.002 second there, 0.0001 elsewhere.
    line, *numbers = row.split()
    lat1, lat2, lon2 = (degrees(" ".join(numbers[i : i + 3])) for i in (0, 3, 6))
    ahead, onward = (degrees(" ".join(numbers[i : i + 3])) for i in (10, 13))
    course = bearing_distance(lat1, 0.0, lat2, lon2, ellipsoid=BESSEL if line == "a" else HAYFORD)
    slack = 0.002 if line in "de" else 0.0001
    assert course.distance_m == pytest.approx(float(numbers[9]), abs=0.001)
    assert seconds_apart(course.bearing_true_deg, ahead) < slack
    assert seconds_apart(course.back_bearing_true_deg, onward + 180.0) < slack


def test_karneys_rows_through_a_second_library():
    # C. F. F. Karney, test set for geodesics (2010), rows carried by his own Python library (MIT), which is also
    # asked for its own answer. Lengths to 10 nm of the row; we allow 1 micrometre.
    geodesic = pytest.importorskip("geographiclib.geodesic")
    suite = pytest.importorskip("geographiclib.test.test_geodesic")
    rows = np.array(suite.GeodesicTest.testcases)
    assert len(rows) == 20
    lat1, lon1, azi1, lat2, lon2, azi2, s12 = rows[:, :7].T
    course = bearing_distance(lat1, lon1, lat2, lon2)
    np.testing.assert_allclose(course.distance_m, s12, rtol=0, atol=1e-6)
    assert max(map(seconds_apart, course.bearing_true_deg, azi1)) < 1e-6
    assert max(map(seconds_apart, course.back_bearing_true_deg, azi2 + 180.0)) < 1e-6
    for row in rows:
        theirs = geodesic.Geodesic.WGS84.Inverse(row[0], row[1], row[3], row[4])
        ours = bearing_distance(row[0], row[1], row[3], row[4])
        assert ours.distance_m == pytest.approx(theirs["s12"], abs=1e-6)


SHORT_BASELINES = [  # (lat, lon, bearing, length, lat2, lon2, onward azimuth), worked with geographiclib 2.1 (derived)
    (40.7829, -73.9654, 37.0, 20.0, 40.7830438338, -73.9652574075, 37.0000931),
    (51.5073, -0.1657, 123.4, 45.0, 51.5070773483, -0.1651589042, 123.4004235),
    (-37.8136, 144.9803, 271.0, 75.0, -37.8135882040, 144.9794483828, 271.0005221),
    (60.1710, 24.9430, 0.0, 150.0, 60.1723463154, 24.9430000000, 0.0),
    (0.0, 179.9999, 90.0, 50.0, 0.0, -179.9996508424, 90.0),
]


@pytest.mark.parametrize("row", SHORT_BASELINES)
def test_short_baselines(row):
    # Coordinates are printed to 1e-10 deg, 0.01 mm, which turns a 20 m line by under 0.0001 deg.
    lat, lon, bearing, length, lat2, lon2, onward = row
    assert destination(lat, lon, bearing, length) == pytest.approx((lat2, lon2), abs=1e-10)
    course = bearing_distance(lat, lon, lat2, lon2)
    assert course.distance_m == pytest.approx(length, abs=2e-5)
    assert seconds_apart(course.bearing_true_deg, bearing) < 0.36
    assert seconds_apart(course.back_bearing_true_deg, onward + 180.0) < 0.36


def new_york():
    with open(DATA / "nyc_2015_positions.csv", encoding="utf-8") as file:
        rows = [[float(row[k]) for k in ("latitude", "longitude", "x_sp", "y_sp")] for row in csv.DictReader(file)]
    return np.array(rows).T


def test_new_yorks_state_plane_feet_are_its_degrees():
    # 5,000 rows published twice, in degrees (8 decimals, 1 mm) and in state-plane US feet. A check of the libraries'
    # axis order, datum and foot, to under 1 mm.
    lat, lon, x, y = new_york()
    assert len(lat) == 5000
    ours_x, ours_y = Transformer.from_crs(4326, 2263, always_xy=True).transform(lon, lat)
    apart_mm = np.hypot(ours_x - x, ours_y - y) * 1200.0 / 3937.0 * 1000.0
    assert apart_mm.max() < 1.0


def test_local_metres_keep_new_yorks_own_distances():
    # The same rows: distances under 2 km between neighbours in the list, on our plane and on the state plane, whose
    # scale departs from 1 by up to 1e-4 over Long Island. Both are plane pictures of one city; 2e-4 covers both.
    lat, lon, x, y = new_york()
    frame = LocalFrame.around(lat, lon)
    east, north = frame.to_metres(lat, lon)
    ours = np.hypot(np.diff(east), np.diff(north))
    theirs = np.hypot(np.diff(x), np.diff(y)) * 1200.0 / 3937.0
    near = (theirs > 10.0) & (theirs < 2000.0)
    assert near.sum() > 100
    assert np.max(np.abs(ours[near] / theirs[near] - 1.0)) < 2e-4
