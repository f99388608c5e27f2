"""Hours by the sun against a printed almanac.

U.S. Naval Observatory, Astronomical Applications Department, Rise and Set for the Sun for 2008, location W121 55,
N37 24, zone 8 h west of Greenwich (first of each month; read in a copy on a public web page, 2008-09).
"""

import datetime

import pytest

from siteassess.advice.rule_hours import sun_event

FIRSTS = {
    1: ("0722", "1700"), 2: ("0711", "1732"), 3: ("0638", "1802"), 4: ("0552", "1831"), 5: ("0512", "1858"),
    6: ("0448", "1923"), 7: ("0451", "1932"), 8: ("0512", "1915"), 9: ("0539", "1836"), 10: ("0604", "1750"),
    11: ("0633", "1709"), 12: ("0704", "1650"),
}  # fmt: skip
LATITUDE, LONGITUDE = 37 + 24 / 60, -(121 + 55 / 60)


def minutes(moment: datetime.datetime) -> float:
    return 60 * moment.hour + moment.minute + moment.second / 60


@pytest.mark.parametrize("month", FIRSTS)
def test_sunrise_and_sunset_of_the_almanac(month):
    # the table is rounded to the minute, and refraction is taken as a constant by both: a minute and a half
    for event, printed in zip(("sunrise", "sunset"), FIRSTS[month]):
        found = sun_event(event, LATITUDE, LONGITUDE, datetime.date(2008, month, 1), "Etc/GMT+8")
        assert minutes(found) == pytest.approx(60 * int(printed[:2]) + int(printed[2:]), abs=1.5)


def test_worked_example_of_the_almanac_for_computers():
    # Almanac for Computers 1990, Nautical Almanac Office: Wayne NJ, 40.9 N 74.3 W, 25 June 1990, sunrise at 5:26 of
    # daylight time (place and day read in a copy; the hour is from memory)
    found = sun_event("sunrise", 40.9, -74.3, datetime.date(1990, 6, 25), "America/New_York")
    assert minutes(found) == pytest.approx(5 * 60 + 26, abs=2)


def test_civil_twilight_lies_about_half_an_hour_outside_the_day():
    # at this latitude civil twilight lasts 26 to 31 minutes through the year (common knowledge, no source)
    for month in FIRSTS:
        day = datetime.date(2008, month, 1)
        dawn, sunrise = (sun_event(event, LATITUDE, LONGITUDE, day, "Etc/GMT+8") for event in ("dawn", "sunrise"))
        assert 25 < minutes(sunrise) - minutes(dawn) < 32


def test_midnight_sun_and_polar_night_have_no_hours():
    assert sun_event("sunset", 69.65, 18.96, datetime.date(2026, 6, 21), "Europe/Oslo") is None
    assert sun_event("sunrise", 69.65, 18.96, datetime.date(2026, 12, 21), "Europe/Oslo") is None


def test_the_clocks_of_summer_are_an_hour_on():
    winter, summer = (sun_event("sunrise", 51.5, 0.0, datetime.date(2026, 3, day), "Europe/London") for day in (28, 29))
    assert 50 < minutes(summer) - minutes(winter) < 62  # the clocks went on in the night to 29 March 2026
