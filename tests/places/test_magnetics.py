"""Declination: dates, places, signs."""

import datetime

import pytest

from siteassess.errors import FaultyInput, OutsideModel
from siteassess.places.magnetics import at_decimal_year, decimal_year, declination

NEW_YORK = (40.7829, -73.9654)


def test_signs_and_sizes_around_the_world():
    # run with pygeomag at 2026.0, printed to 0.001 deg (derived from the model)
    for lat, lon, expected in (
        (*NEW_YORK, -12.525),
        (37.7694, -122.4862, 12.911),
        (51.5073, -0.1657, 1.064),
        (-37.8136, 144.9803, 11.936),
    ):
        assert declination(lat, lon, "2026-01-01").declination_deg == pytest.approx(expected, abs=0.002)


def test_true_is_magnetic_plus_east():
    here = declination(*NEW_YORK, "2026-05-01")
    assert here.declination_deg < 0.0 and "west" in here.told.in_words()
    assert here.true_from_magnetic(5.0) == pytest.approx(360.0 + 5.0 + here.declination_deg)
    assert here.magnetic_from_true(here.true_from_magnetic(123.0)) == pytest.approx(123.0)
    assert 0.3 < here.sigma_deg < 0.4


@pytest.mark.parametrize("on", ["2024-12-31", "2030-01-02", "1999-06-01"])
def test_dates_outside_the_model_are_refused_naming_its_dates(on):
    with pytest.raises(OutsideModel, match="2025-01-01 to 2030-01-01"):
        declination(*NEW_YORK, on)


def test_the_models_own_first_and_last_day_are_inside():
    assert declination(*NEW_YORK, "2025-01-01").decimal_year == 2025.0
    assert declination(*NEW_YORK, datetime.date(2029, 12, 31)).decimal_year < 2030.0
    assert declination(*NEW_YORK, "2030-01-01").decimal_year == 2030.0


def test_dates():
    assert decimal_year("2026-07-02") == pytest.approx(2026 + 182 / 365)
    assert decimal_year("2028-12-31") == pytest.approx(2028 + 365 / 366)
    assert decimal_year(datetime.datetime(2026, 1, 1, 13, 0)) == 2026.0
    for text in ("1/5/2026", "", "2026-13-01", "soon"):
        with pytest.raises(FaultyInput, match="2026-05-01"):
            decimal_year(text)


def test_the_blackout_zone_is_refused_and_the_caution_zone_said():
    with pytest.raises(OutsideModel, match="no compass"):
        declination(86.0, 150.0, "2026-01-01")
    doubtful = declination(75.0, -95.0, "2026-01-01")
    assert doubtful.zone == "caution" and "weak" in doubtful.told.in_words()
    assert doubtful.sigma_deg > 0.9


def test_no_place_no_declination():
    with pytest.raises(OutsideModel, match="position"):
        declination(float("nan"), 0.0, "2026-01-01")
    with pytest.raises(OutsideModel, match="heights"):
        declination(*NEW_YORK, "2026-01-01", altitude_m=2e6)


def test_many_anchors_of_one_park_cost_one_sum():
    at_decimal_year.cache_clear()
    for k in range(200):
        declination(40.7829 + k * 1e-6, -73.9654, "2026-05-01")
    assert at_decimal_year.cache_info().misses <= 2
