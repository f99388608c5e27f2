"""Declination against the published values of the World Magnetic Model 2025."""

from pathlib import Path

import numpy as np
import pytest

from siteassess.places import magnetics

ROWS = np.loadtxt(Path(__file__).parent / "data" / "wmm2025_test_values.txt", comments="#")


def test_all_hundred_published_values():
    # NOAA NCEI and British Geological Survey, WMM2025 test values: angles printed to 0.01 deg, strength to 1e-6 nT.
    assert len(ROWS) == 100
    for year, altitude_km, lat, lon, d, i, h, *_ in ROWS:
        field = magnetics._field(lat, lon, year, altitude_km * 1000.0)
        assert abs((field.d - d + 180.0) % 360.0 - 180.0) <= 0.00501
        assert field.i == pytest.approx(i, abs=0.00501)
        assert field.h == pytest.approx(h, abs=0.001)


def test_the_public_way_gives_the_same_values_outside_the_blackout_zone():
    usable = ROWS[ROWS[:, 6] > 2000.0]
    assert len(usable) > 80
    for year, altitude_km, lat, lon, d, *_ in usable:
        ours = magnetics.at_decimal_year(lat, lon, year, altitude_km * 1000.0).declination_deg
        assert abs((ours - d + 180.0) % 360.0 - 180.0) <= 0.00501


def test_natick():
    # Example in the handbook of a vendor's toolbox (read): 42.283 N 71.35 W, 1000 m, 2028-07-04: D -13.6891.
    ours = magnetics.declination(42.283, -71.35, "2028-07-04", altitude_m=1000.0)
    assert ours.declination_deg == pytest.approx(-13.6891, abs=0.0005)
    assert ours.horizontal_nt == pytest.approx(20_727, abs=1.0)
