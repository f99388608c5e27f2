"""Positions against tape and compass: calibrated alarms, and the slip that explains them."""

import math

import numpy as np
import pytest

from siteassess.errors import FaultyInput
from siteassess.places.agreement import check_pair, level_of
from siteassess.places.geodesy import destination
from siteassess.places.magnetics import declination
from siteassess.places.positions import Located
from siteassess.places.readings import Sighting, Tape
from siteassess.places.slips import (
    decimals_typed_as_minutes,
    minutes_typed_as_decimals,
    seconds_typed_as_decimals,
)

HERE = (40.7829, -73.9654)
TODAY = declination(*HERE, "2026-05-01")


def a_pair(span=75.0, bearing=37.0, sigma=2.5):
    return Located.at(*HERE, sigma), Located.at(*destination(*HERE, bearing, span), sigma)


def magnetic(true):
    return TODAY.magnetic_from_true(true)


def kinds(agreement):
    return [e.slip.code for e in agreement.explanations]


def test_readings_that_agree():
    found = check_pair(*a_pair(), tape=Tape(74.6), out=Sighting(magnetic(38.0)), back=Sighting(magnetic(219.0)),
                       declination=TODAY, names=("T1", "T2"))  # fmt: skip
    assert (found.level, found.comparison.dof, found.explanations) == ("agree", 2, ())
    assert (found.span_m, found.span_from) == (74.6, "tape")
    assert "T1 to T2" in found.told[0].in_words() and "they agree" in found.told[0].in_words()


def test_over_long_spans_the_statistic_is_the_sum_of_both_squares():
    a, b = a_pair(span=150.0, sigma=1.0)
    found = check_pair(a, b, tape=Tape(148.5, 0.2), out=Sighting(39.0, "true", 1.0)).comparison
    assert found.statistic == pytest.approx(found.distance_z**2 + found.bearing_z**2, rel=0.02)


@pytest.mark.parametrize("span, sigma", [(20.0, 4.0), (20.0, 1.0), (75.0, 2.5), (150.0, 6.0)])
@pytest.mark.parametrize("given", ["both", "tape", "compass"])
def test_false_alarms_stay_at_their_level(span, sigma, given):
    # 1,500 pairs with nothing wrong; binomial standard error of a 5 % share is 0.6 %. Positions as loose as 0.28 of the
    # span are included, where sums of z squares go wrong. Distance alone is not normal there, hence the wider band.
    rng = np.random.default_rng(int(span * 10 + sigma))
    turn, count = math.radians(37.0), 1500
    true_ends = span * np.array([[0.0, 0.0], [math.sin(turn), math.cos(turn)]])
    ends = rng.normal(0.0, sigma, (count, 2, 2)) + true_ends
    frame_lat, frame_lon = 1.0 / 111_048.0, 1.0 / 84_376.0  # m to deg at 40.78 north (derived), to 1e-4
    alarms = 0
    for (a, b), tape, compass in zip(ends, rng.normal(span, 0.1, count), rng.normal(37.0, 2.0, count)):
        found = check_pair(
            Located.at(HERE[0] + a[1] * frame_lat, HERE[1] + a[0] * frame_lon, sigma),
            Located.at(HERE[0] + b[1] * frame_lat, HERE[1] + b[0] * frame_lon, sigma),
            tape=Tape(tape, 0.1) if given != "compass" else None,
            out=Sighting(compass, "true", 2.0) if given != "tape" else None,
        )
        alarms += found.position_level != "agree"
    assert alarms / count == pytest.approx(0.05, abs=0.025 if given == "tape" else 0.02)


def test_levels():
    levels = [level_of(p) for p in (0.06, 0.04, 0.009, 0.0009, math.nan)]
    assert levels == ["agree", "note", "flag", "reject", "cannot say"]
    # chi-square limits of two degrees of freedom as printed in any table (memory): 5.991, 9.210, 13.816
    a, b = a_pair(span=100.0, sigma=1.0)
    for limit, below, above in ((5.991, "agree", "note"), (9.210, "note", "flag"), (13.816, "flag", "reject")):
        for factor, expected in ((0.998, below), (1.002, above)):
            off = math.sqrt(limit * factor * (2.0 + 0.1**2))
            found = check_pair(a, b, tape=Tape(100.0 - off, 0.1), out=Sighting(37.0, "true", 2.0))
            assert found.position_level == expected


SLIPS = [
    ("slip-metres-are-feet", {"tape": Tape(75.0 / 0.3048), "out": 37.0, "back": 217.0}),
    ("slip-feet-are-metres", {"tape": Tape(75.0 * 0.3048), "out": 37.0, "back": 217.0}),
    ("slip-positions-swapped", {"tape": Tape(75.0), "out": 217.0, "back": 37.0}),
    ("slip-out-is-back", {"tape": Tape(75.0), "out": 217.0, "back": 217.0}),
    ("slip-back-is-out", {"tape": Tape(75.0), "out": 37.0, "back": 37.0}),
    ("slip-back-misread", {"tape": Tape(75.0), "out": 37.0, "back": 247.0}),
    ("slip-out-misread", {"tape": Tape(75.0), "out": 67.0, "back": 217.0}),
]


@pytest.mark.parametrize("kind, given", SLIPS)
def test_the_slip_is_named(kind, given):
    given = dict(given)
    for side in ("out", "back"):
        given[side] = Sighting(magnetic(given[side]))
    found = check_pair(*a_pair(), declination=TODAY, **given)
    assert found.level == "reject"
    assert kinds(found) == [kind]
    assert "Check that first" in found.told[-1].in_words()


def test_slips_of_north_are_named():
    tape = Tape(75.0)
    already_true = check_pair(*a_pair(), tape=tape, out=Sighting(37.0), back=Sighting(217.0), declination=TODAY)
    assert kinds(already_true) == ["slip-magnetic-was-true"]
    m = magnetic(37.0)
    really_magnetic = check_pair(
        *a_pair(), tape=tape, out=Sighting(m, "true"), back=Sighting(m + 180.0, "true"), declination=TODAY
    )
    assert kinds(really_magnetic) == ["slip-true-was-magnetic"]
    wrong = m - TODAY.declination_deg
    wrong_way = check_pair(
        *a_pair(), tape=tape, out=Sighting(wrong, "true"), back=Sighting(wrong + 180.0, "true"), declination=TODAY
    )
    assert kinds(wrong_way) == ["slip-declination-wrong-way"]
    dial = check_pair(*a_pair(), tape=tape, out=Sighting(360.0 - m), back=Sighting(180.0 - m), declination=TODAY)
    assert kinds(dial) == ["slip-dial-reversed"]


def test_minutes_typed_as_decimals_are_named():
    true_place = 40 + 47.123 / 60, -(73 + 57.924 / 60)
    b = Located.at(*destination(*true_place, 37.0, 75.0), 2.5)
    found = check_pair(Located.at(40.47123, -73.57924, 2.5), b, tape=Tape(75.0), out=Sighting(37.0, "true"))
    assert kinds(found) == ["slip-minutes-as-decimals"]
    assert minutes_typed_as_decimals(40.47123) == pytest.approx(true_place[0])
    assert minutes_typed_as_decimals(-73.57924) == pytest.approx(true_place[1])
    assert math.isnan(minutes_typed_as_decimals(40.7829))
    assert seconds_typed_as_decimals(-40.47123) == pytest.approx(-(40 + 47 / 60 + 12.3 / 3600))
    assert decimals_typed_as_minutes(minutes_typed_as_decimals(40.47123)) == pytest.approx(40.47123)


def test_slips_that_look_alike_are_listed_together():
    found = check_pair(*a_pair(), tape=Tape(75.0), out=Sighting(217.0, "true"))
    assert sorted(kinds(found)) == ["slip-out-is-back", "slip-positions-swapped"]
    assert "cannot tell which" in found.told[-1].in_words()


def test_an_unexplained_disagreement_is_not_explained():
    found = check_pair(*a_pair(), tape=Tape(110.0), out=Sighting(37.0, "true"))
    assert found.level == "reject" and found.explanations == ()
    assert "none of the usual slips" in found.told[-1].in_words()


def test_short_spans_say_that_positions_carry_little_about_bearings():
    found = check_pair(*a_pair(span=25.0), tape=Tape(25.0), out=Sighting(45.0, "true"))
    assert found.level == "agree"
    # sqrt(2.5^2 + 2.5^2) / 25 in degrees
    assert found.comparison.position_bearing_sigma_deg == pytest.approx(8.10, abs=0.01)
    assert any("carry little about the bearing" in m.in_words() for m in found.told)
    long = check_pair(*a_pair(span=120.0), tape=Tape(120.0), out=Sighting(37.0, "true"))
    assert not any("carry little" in m.in_words() for m in long.told)


def test_the_bearing_spread_of_the_notes():
    # linear values of a 400,000-draw simulation in the project's notes: sigma 2.5, D 50 -> 4.06 deg and so on
    for sigma, span, expected in ((1.0, 50.0, 1.62), (2.5, 20.0, 10.13), (2.5, 100.0, 2.03), (4.0, 150.0, 2.16)):
        found = check_pair(*a_pair(span=span, sigma=sigma), tape=Tape(span), out=Sighting(37.0, "true"))
        assert found.comparison.position_bearing_sigma_deg == pytest.approx(expected, abs=0.01)


def test_unknown_accuracy_is_never_agreement():
    a, b = a_pair()
    unknown = Located.at(a.latitude_deg, a.longitude_deg)
    found = check_pair(unknown, b, tape=Tape(300.0), out=Sighting(200.0, "true"))
    assert found.level == "cannot say"
    assert found.comparison.distance_residual_m == pytest.approx(-225.0, abs=0.01)
    assert "not known" in found.told[0].in_words()
    assert check_pair(a, b).level == "cannot say"


def test_magnetic_reading_without_declination_is_not_used():
    found = check_pair(*a_pair(), tape=Tape(75.0), out=Sighting(200.0))
    assert found.comparison.dof == 1 and found.level == "agree"
    assert any("not known" in m.in_words() for m in found.told)


def test_out_and_back_are_compared_without_a_declination():
    found = check_pair(*a_pair(), out=Sighting(10.0), back=Sighting(220.0))
    assert (found.position_level, found.back_level, found.level) == ("cannot say", "reject", "reject")
    assert found.comparison.back_residual_deg == pytest.approx(-30.0)
    assert check_pair(*a_pair(), out=Sighting(10.0), back=Sighting(191.0)).back_level == "agree"


def test_slope_tape():
    flat = math.cos(math.radians(20.0)) * 75.0
    pair = a_pair(span=flat, sigma=0.5)
    along = Tape(75.0, along_slope=True, slope_deg=20.0)
    assert check_pair(*pair, tape=along).span_m == pytest.approx(flat)
    # 75 m of tape on 20 deg, the angle read to 1 deg: 75 sin 20 x 0.01745 = 0.45 m beside the tape's own error
    assert along.horizontal()[1] == pytest.approx(math.hypot(0.4477, math.cos(math.radians(20.0)) * 0.0901), rel=0.01)
    no_angle = check_pair(*pair, tape=Tape(75.0, along_slope=True))
    assert no_angle.span_from == "positions" and any("no horizontal length" in m.in_words() for m in no_angle.told)
    taken_level = check_pair(*pair, tape=Tape(75.0, slope_deg=20.0))
    assert kinds(taken_level) == ["slip-tape-along-the-slope"]


def test_grid_bearings_need_their_convergence():
    pair = a_pair(span=150.0, sigma=0.5)
    with_it = check_pair(*pair, out=Sighting(37.0 - 6.0, "grid"), convergence_deg=6.0)
    assert with_it.comparison.compass_true_deg == pytest.approx(37.0)
    assert check_pair(*pair, out=Sighting(31.0, "grid")).level == "cannot say"


def test_two_anchors_at_one_point():
    a = Located.at(*HERE, 0.5)
    alone = check_pair(a, a)
    assert alone.level == "cannot say" and "one point" in alone.told[0].in_words()
    assert check_pair(a, a, out=Sighting(37.0, "true")).level == "cannot say"
    taped = check_pair(a, a, tape=Tape(25.0), out=Sighting(37.0, "true"))
    assert taped.level == "reject" and any("copied" in m.in_words() for m in taped.told)


def test_across_the_antimeridian_and_in_the_south():
    a = Located.at(-17.0, 179.9998, 2.0)
    b = Located.at(*destination(-17.0, 179.9998, 80.0, 60.0), 2.0)
    assert b.longitude_deg < 0.0
    assert check_pair(a, b, tape=Tape(60.0), out=Sighting(80.0, "true")).level == "agree"


def test_readings_that_cannot_be_are_refused():
    for wrong in (lambda: Tape(0.0), lambda: Tape(math.nan), lambda: Tape(5.0, 0.0), lambda: Sighting(math.inf),
                  lambda: Sighting(10.0, "true", -1.0), lambda: Located.at(*HERE, 0.0)):  # fmt: skip
        with pytest.raises(FaultyInput):
            wrong()
