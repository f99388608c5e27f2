"""Grid references and location codes against official rows and other people's coders."""

import csv
from pathlib import Path

import numpy as np
import pytest

from siteassess.places.geodesy import bearing_distance
from siteassess.places.grids import from_mgrs, to_mgrs, to_utm, utm_zone
from siteassess.places.location_codes import from_open_location_code, to_open_location_code

DATA = Path(__file__).parent / "data"


def test_all_official_open_location_code_rows():
    # encoding.csv of the Open Location Code standard (Apache-2.0), 302 rows, every one exact.
    with open(DATA / "olc_encoding_test.csv", encoding="utf-8") as file:
        rows = [row for row in csv.reader(file) if row and not row[0].startswith("#")]
    assert len(rows) == 302
    wrong = [row for row in rows if to_open_location_code(float(row[0]), float(row[1]), int(row[4])) != row[5]]
    assert wrong == []


def test_decoding_agrees_with_the_standards_own_library():
    library = pytest.importorskip("openlocationcode.openlocationcode")
    rng = np.random.default_rng(8)
    for lat, lon in zip(rng.uniform(-90, 90, 500), rng.uniform(-180, 180, 500)):
        for digits in (2, 4, 8, 10, 11, 15):
            code = to_open_location_code(lat, lon, digits)
            theirs, ours = library.decode(code), from_open_location_code(code)
            assert ours.latitude_deg == pytest.approx(theirs.latitudeCenter, abs=1e-9)
            assert ours.longitude_deg == pytest.approx(theirs.longitudeCenter, abs=1e-9)


def test_ten_digits_are_about_fourteen_metres_and_eleven_about_three():
    # sizes as the standard's pages give them (memory): 1/8000 deg, near the equator
    ten, eleven = (from_open_location_code(to_open_location_code(0.5, 0.5, n)) for n in (10, 11))
    assert ten.north_m == pytest.approx(13.9, abs=0.1) and ten.east_m == pytest.approx(13.9, abs=0.1)
    assert eleven.north_m == pytest.approx(2.8, abs=0.1) and eleven.east_m == pytest.approx(3.5, abs=0.1)


# Norway and Svalbard as the mgrs library has them; the limits of the zones from memory.
EXCEPTIONS = [
    ("south-west Norway", 60.0, 5.0, 32, "32VKM7697958157"),
    ("Svalbard", 78.0, 15.0, 33, "33XWG0000058369"),
    ("just south of the Norwegian exception", 55.9, 5.0, 31, None),
    ("just north of it", 64.1, 5.0, 31, None),
    ("its western edge", 60.0, 2.999, 31, None),
    ("Svalbard west", 78.0, 8.9, 31, None),
    ("Svalbard, first step", 78.0, 9.0, 33, None),
    ("Svalbard, second step", 78.0, 21.0, 35, None),
    ("Svalbard, third step", 78.0, 33.0, 37, None),
    ("Svalbard, end", 78.0, 42.0, 38, None),
]


@pytest.mark.parametrize("place, lat, lon, zone, reference", EXCEPTIONS)
def test_norway_and_svalbard(place, lat, lon, zone, reference):
    assert utm_zone(lat, lon) == zone, place
    if reference:
        assert to_mgrs(lat, lon) == reference


def test_mgrs_agrees_with_the_mgrs_library():
    # That library adds half a millimetre before it cuts, so a digit may differ where less than 1 mm is missing to
    # the next metre; nowhere else.
    library = pytest.importorskip("mgrs").MGRS()
    rng = np.random.default_rng(3)
    differing = 0
    for lat, lon in zip(rng.uniform(-80, 84, 3000), rng.uniform(-180, 180, 3000)):
        ours, theirs = to_mgrs(lat, lon), library.toMGRS(lat, lon)
        if ours != theirs:
            grid = to_utm(lat, lon)
            assert max(grid.easting_m % 1.0, grid.northing_m % 1.0) > 0.999, (lat, lon, ours, theirs)
            differing += 1
        square = from_mgrs(theirs)
        corner = library.toLatLon(theirs)
        middle = bearing_distance(square.latitude_deg, square.longitude_deg, *corner).distance_m
        assert middle < 0.72  # half a diagonal of a 1 m square, and its scale
    assert differing < 20


def test_mgrs_truncates():
    # Central Park: easting 587297.026, northing 4515172.216; at 10 m the digits are cut, not rounded (memory of the
    # standard, confirmed by the library above).
    assert to_mgrs(40.7829, -73.9654) == "18TWL8729715172"
    assert to_mgrs(40.7829, -73.9654, 4) == "18TWL87291517"
    assert to_mgrs(40.7829, -73.9654, 1) == "18TWL81"
    assert to_mgrs(40.7829, -73.9654, 0) == "18TWL"


def test_convergence_of_the_gda_control_points():
    # Flinders Peak, MGA zone 55: E 273741.297 N 5796489.777; the GDA technical manual prints convergence
    # -1 35 03.65 with the opposite sign (read in other programs' tests); here positive means grid north lies east of
    # true north.
    grid = to_utm(-(37 + 57 / 60 + 3.72030 / 3600), 144 + 25 / 60 + 29.52440 / 3600)
    assert (grid.easting_m, grid.northing_m) == pytest.approx((273_741.297, 5_796_489.777), abs=0.001)
    assert grid.convergence_deg == pytest.approx(1 + 35 / 60 + 3.65 / 3600, abs=2e-6)
    assert grid.scale == pytest.approx(1.00023056, abs=1e-8)


def test_grid_bearing_is_that_of_the_grid():
    # derived: the bearing between two grid points by their own coordinates, on both sides of the central meridian
    for lat, lon in ((40.7829, -73.9654), (47.3805, 8.5394), (-37.8136, 144.9803)):
        one, two = to_utm(lat, lon), to_utm(lat + 0.0005, lon + 0.0007)
        by_grid = np.degrees(np.arctan2(two.easting_m - one.easting_m, two.northing_m - one.northing_m)) % 360
        true = bearing_distance(lat, lon, lat + 0.0005, lon + 0.0007).bearing_true_deg
        assert one.true_bearing(by_grid) == pytest.approx(true, abs=2e-4)
