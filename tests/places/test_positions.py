"""Positions from text, stated accuracies, repeated fixes."""

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from siteassess.errors import FaultyInput
from siteassess.places.geodesy import bearing_distance
from siteassess.places.grids import to_mgrs, to_utm
from siteassess.places.location_codes import to_open_location_code
from siteassess.places.magnetics import declination
from siteassess.places.position_text import KnownPlaces, read_position
from siteassess.places.positions import RADIUS_IN_SIGMAS, Located, axis_sigma, from_landmark, mean_of_fixes

PARK = (40.7829, -73.9654)
GATE = Located.at(*PARK, 2.0)
KNOWN = KnownPlaces({"GATE": GATE}, declination(*PARK, "2026-05-01"), convergence_deg=0.6758, near=PARK)

SAME_PLACE = [
    ("40.7829, -73.9654", 1e-9),
    ("40.7829,-73.9654", 1e-9),
    ("40.7829 -73.9654", 1e-9),
    ("40.7829; -73.9654", 1e-9),
    ("40.7829 N 73.9654 W", 1e-9),
    ("N40.7829 W73.9654", 1e-9),
    ("W 73.9654, N 40.7829", 1e-9),
    ("40 46.974 N, 73 57.924 W", 1e-9),
    ("40° 46' 58.44\" N 73° 57' 55.44\" W", 1e-9),
    ("40°46′58.44″N, 73°57′55.44″W", 1e-9),
    ("40 deg 46 min 58.44 sec, -73 deg 57 min 55.44 sec", 1e-9),
    ("18 north 587297.026 4515172.216", 1e-8),
    ("UTM 18T 587297.026 4515172.216", 1e-8),
    ("18N 587297 4515172", 1e-5),
    ("18TWL 87297 15172", 1e-5),
    ("MGRS 18TWL8729715172", 1e-5),
    ("87G8Q2MM+5R", 1e-4),
    ("plus code 87g8q2mm+5r", 1e-4),
]


@pytest.mark.parametrize("text, slack", SAME_PLACE)
def test_every_form_reads_to_the_same_place(text, slack):
    position = read_position(text, sigma_m=3.0, known=KNOWN)
    assert (position.latitude_deg, position.longitude_deg) == pytest.approx(PARK, abs=slack)
    assert position.sigma_m >= 3.0
    assert position.how


def test_an_s_is_south_and_never_a_mark_for_seconds():
    for text in ("37 48 49 S, 144 58 49 E", "37°48'49\"S 144°58'49\"E", "S37 48 49 E144 58 49", "-37 48 49, 144 58 49"):
        position = read_position(text)
        assert position.latitude_deg == pytest.approx(-37.813611, abs=1e-6), text
        assert position.longitude_deg == pytest.approx(144.980278, abs=1e-6), text


REFUSED = [
    ("40,7829, -73,9654", "decimal point"),
    ("40,7829 -73,9654", "decimal point"),
    ("40,73", "decimal point"),
    ("-73.9654, 40.7829", "swapped"),
    ("144.9803, -37.8136", "swapped"),
    ("40.7829, 73.9654", "west is negative"),
    ("40 75.2 N, 73 57.9 W", "minutes below 60"),
    ("40 46 60 N, 73 57 55 W", "seconds below 60"),
    ("40.5 46 N, 73 57 W", "whole degrees"),
    ("40.7829 N, 73.9654 N", "one latitude"),
    ("40.7829 N, 73.9654", "on both"),
    ("-40.7829 S, 73.9654 W", "sign or a letter"),
    ("95, 100", "-90 to 90"),
    ("45, 190", "-180 to 180"),
    ("18S 587297 4000000", "north and short for south|half of the earth"),
    ("61 north 587297 4515172", "1 to 60"),
    ("18 north 4515172 587297", "easting goes first"),
    ("18TWL 8729 151", "as many digits"),
    ("18TZZ 8729 1517", "square"),
    ("32XMG 00000 58369", "32X"),
    ("Q2MM+5R", "town"),
    ("0, 0", "no fix"),
    ("51.5073, -0.1657", "km away"),
    ("23,4 m at 137 deg magnetic from GATE", "decimal point"),
    ("23.4 m at 137 from GATE", "which north"),
    ("23.4 m at 137 true from HUT", "landmark"),
    ("23.4 m at 400 true from GATE", "0 to 360"),
    ("nan, nan", "degrees"),
    ("1e5, 3", "degrees"),
    ("banana", "degrees"),
    ("", "a position such as"),
]


@pytest.mark.parametrize("text, reason", REFUSED)
def test_ambiguous_or_wrong_text_is_refused_with_the_reason(text, reason):
    with pytest.raises(FaultyInput, match=reason) as refused:
        read_position(text, known=KNOWN, field="anchors[2].position", line=17, source="park.yaml")
    (fault,) = refused.value.faults
    assert (fault.line, fault.field) == (17, "anchors[2].position")
    assert fault.read and fault.wanted


def test_magnetic_bearing_without_a_date_is_refused():
    with pytest.raises(FaultyInput, match="declination"):
        read_position("23.4 m at 137 deg magnetic from GATE", known=KnownPlaces({"GATE": GATE}))


def test_tape_and_bearing_leave_an_ellipse():
    position = read_position("50 m at 90 deg true from GATE", known=KNOWN, compass_sigma_deg=2.0)
    course = bearing_distance(*PARK, position.latitude_deg, position.longitude_deg)
    assert course.distance_m == pytest.approx(50.0, abs=1e-6)
    assert course.bearing_true_deg == pytest.approx(90.0, abs=1e-6)
    east, both, north = position.covariance_m2
    assert east == pytest.approx(4.0 + 0.05**2 + 0.05**2, abs=1e-6)  # gate, tape floor, 0.1 % of the length
    assert north == pytest.approx(4.0 + (50.0 * math.radians(2.0)) ** 2, abs=1e-6)
    assert both == pytest.approx(0.0, abs=1e-9)
    by_compass = read_position("50 m at 90 deg magnetic from GATE", known=KNOWN, compass_sigma_deg=2.0)
    with_declination = math.radians(math.hypot(2.0, KNOWN.declination.sigma_deg))
    spread = by_compass.covariance_m2[0] + by_compass.covariance_m2[2]
    assert spread == pytest.approx(8.0 + 0.05**2 + 0.05**2 + (50.0 * with_declination) ** 2, abs=1e-6)
    feet = read_position("100 ft, 90 true from GATE", known=KNOWN)
    assert bearing_distance(*PARK, feet.latitude_deg, feet.longitude_deg).distance_m == pytest.approx(30.48)


def test_an_accuracy_nobody_stated_stays_unknown():
    assert read_position("40.7829, -73.9654").covariance_m2 is None
    assert math.isnan(read_position("40.7829, -73.9654").sigma_m)
    assert math.isnan(from_landmark(Located.at(*PARK), 20.0, 10.0, 0.1, 2.0).sigma_m)
    assert read_position("40.78290, -73.96540", how="phone, under trees").sigma_m == pytest.approx(6.0, abs=0.1)


def test_few_decimals_widen_the_error():
    coarse, fine = (read_position(t, sigma_m=2.0).sigma_m for t in ("40.78, -73.97", "40.782900, -73.965400"))
    # 0.01 deg is 1110 m north and 843 m east here: steps spread evenly, over sqrt 12
    assert coarse == pytest.approx(math.sqrt((1110.6**2 + 843.9**2) / 24.0), rel=0.01)
    assert fine == pytest.approx(2.0, abs=0.01)


@pytest.mark.parametrize("meaning, share", [("68 %", 0.68), ("95 %", 0.95), ("median", 0.5)])
def test_stated_radii_hold_their_share_of_fixes(meaning, share):
    rng = np.random.default_rng(5)
    fixes = rng.normal(0.0, axis_sigma(4.9, meaning), size=(200_000, 2))
    inside = np.mean(np.hypot(*fixes.T) <= 4.9)
    assert inside == pytest.approx(share, abs=0.005)  # about four standard errors of the draw


def test_accuracy_meanings():
    # the factors of the notes, printed to three decimals
    expected = {"68 %": 1.510, "95 %": 2.448, "median": 1.177, "rms": 1.414, "per axis": 1.0}
    assert {k: round(v, 3) for k, v in RADIUS_IN_SIGMAS.items()} == expected
    with pytest.raises(FaultyInput, match="68 %"):
        axis_sigma(4.9, "typical")
    with pytest.raises(FaultyInput, match="above 0"):
        axis_sigma(math.nan, "95 %")


def fixes_around(sigmas, rng, scale=1.0):
    metre = 1.0 / 111_000.0
    north, east = rng.normal(0.0, scale * metre, size=(2, len(sigmas))) * sigmas
    return [Located.at(PARK[0] + n, PARK[1] + e / 0.757, s) for n, e, s in zip(north, east, sigmas)]


def test_averaging_weighs_by_accuracy_and_keeps_the_shared_error():
    rng = np.random.default_rng(1)
    fixes = fixes_around([2.0, 4.0, 8.0], rng)
    mean = mean_of_fixes(fixes, correlation=0.0)
    assert mean.sigma_m == pytest.approx((2.0**-2 + 4.0**-2 + 8.0**-2) ** -0.5, rel=1e-9)
    weights = np.array([2.0, 4.0, 8.0]) ** -2.0
    assert mean.latitude_deg == pytest.approx(np.average([f.latitude_deg for f in fixes], weights=weights), abs=1e-9)
    many = fixes_around([4.0] * 400, rng)
    assert mean_of_fixes(many, correlation=0.0).sigma_m == pytest.approx(0.2, rel=1e-6)
    assert mean_of_fixes(many, correlation=0.5).sigma_m == pytest.approx(4.0 * math.sqrt(0.5 + 0.5 / 400), rel=1e-6)
    assert mean_of_fixes(many, correlation=1.0).sigma_m == pytest.approx(4.0, rel=1e-6)


def test_fixes_that_scatter_too_much_widen_the_error_and_say_so():
    rng = np.random.default_rng(2)
    wild = mean_of_fixes(fixes_around([3.0] * 8, rng, scale=5.0))
    tame = mean_of_fixes(fixes_around([3.0] * 8, rng))
    assert wild.sigma_m > 3.0 * tame.sigma_m
    assert wild.apart_m > 3.0 * 5.0 and tame.apart_m is None


def test_averaging_across_the_antimeridian_and_without_accuracy():
    mean = mean_of_fixes([Located.at(-17.0, 179.99999), Located.at(-17.0, -179.99999)])
    assert abs(mean.longitude_deg) == pytest.approx(180.0, abs=1e-9)
    assert mean.covariance_m2 is None
    with pytest.raises(FaultyInput):
        mean_of_fixes([Located.at(*PARK), GATE])
    with pytest.raises(FaultyInput):
        mean_of_fixes([])


@settings(max_examples=60, deadline=None)
@given(st.floats(-79.0, 83.0), st.floats(-179.9, 179.9))
def test_what_is_written_reads_back(latitude, longitude):
    ways = {
        f"{latitude:.7f}, {longitude:.7f}": 0.02,
        to_utm(latitude, longitude).text(): 0.8,
        to_mgrs(latitude, longitude): 0.8,
        to_open_location_code(latitude, longitude, 11): 3.0,
    }
    for text, slack_m in ways.items():
        if abs(latitude) < 1e-6 and abs(longitude) < 1e-6:
            continue
        back = read_position(text)
        apart = bearing_distance(latitude, longitude, back.latitude_deg, back.longitude_deg).distance_m
        assert apart < slack_m, text


@settings(max_examples=200, deadline=None)
@given(st.text(alphabet="0123456789.,;+- NSEWnsew°'\"mft", max_size=30))
def test_any_text_gives_a_position_or_a_fault(text):
    try:
        position = read_position(text)
    except FaultyInput:
        return
    assert abs(position.latitude_deg) <= 90.0 and abs(position.longitude_deg) <= 180.0
