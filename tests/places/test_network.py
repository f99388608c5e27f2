"""Networks of anchors: adjustment, error ellipses, and the planted gross error."""

import collections
import itertools
import math
import os
from dataclasses import replace

import numpy as np
import pytest

from siteassess.errors import FaultyInput, OutsideModel
from siteassess.places.geodesy import LocalFrame, bearing_distance, wrap180, wrap360
from siteassess.places.magnetics import declination
from siteassess.places.network import adjust_network, error_ellipse
from siteassess.places.network_from_pairs import network_of
from siteassess.places.network_model import Equations, middle_frame, position_of, sighted, taped
from siteassess.places.network_solution import _by_minpack, alarm, solve_network
from siteassess.places.positions import Located
from siteassess.places.readings import PairReadings, Sighting, Tape

HERE = (40.7829, -73.9654)
FRAME = LocalFrame(*HERE)
PLANTED = int(os.environ.get("SITEASSESS_PLANTED", "80"))
FIX_M, TAPE_M, COMPASS_DEG = 3.0, 0.15, 2.0


def at(east, north, sigma=FIX_M):
    return Located.at(*FRAME.to_degrees(east, north), sigma)


def random_network(rng, noise=1.0):
    """Four anchors 15 m or more apart in a square of 120 m, most pairs taped and sighted both ways."""
    while True:
        points = rng.uniform(-60.0, 60.0, (4, 2))
        apart = np.hypot(*(points[:, None] - points[None]).transpose(2, 0, 1))
        if apart[np.triu_indices(4, 1)].min() > 15.0:
            break
    readings = [position_of("ABCD"[k], at(*(points[k] + noise * rng.normal(0, FIX_M, 2)))) for k in range(4)]
    for i, j in itertools.combinations(range(4), 2):
        if rng.random() < 0.9:
            readings.append(taped("ABCD"[i], "ABCD"[j], apart[i, j] + noise * rng.normal(0, TAPE_M), TAPE_M))
        out = math.degrees(math.atan2(*(points[j] - points[i])))
        for start, end, true in ((i, j, out), (j, i, out + 180.0)):
            if rng.random() < 0.8:
                read = float(wrap360(true + noise * rng.normal(0, COMPASS_DEG)))
                readings.append(sighted("ABCD"[start], "ABCD"[end], read, COMPASS_DEG))
    return points, readings


def with_gross_error(readings, rng):
    """The readings with one of them wrong, which one, and the error in its standard errors."""
    k = int(rng.integers(len(readings)))
    good = readings[k]
    if good.kind == "position":
        east, north = FRAME.to_metres(good.position.latitude_deg, good.position.longitude_deg)
        turn = rng.uniform(0.0, 2.0 * math.pi)
        shift = rng.uniform(10.0, 80.0) * np.array([math.cos(turn), math.sin(turn)])
        bad, error = position_of(good.start, at(east + shift[0], north + shift[1])), shift / FIX_M
    elif good.kind == "tape":
        lengths = (0.3048 * good.value, good.value / 0.3048, good.value + 10.0, abs(good.value - 10.0),
                   good.value + 1.0, good.value + rng.uniform(0.3, 3.0))  # fmt: skip
        value = float(rng.choice(lengths))
        bad, error = taped(good.start, good.end, value, TAPE_M), np.array([(value - good.value) / TAPE_M])
    else:
        turned = (good.value + 180.0, good.value + 12.5, good.value - 12.5, -good.value,
                  good.value + 10.0, good.value + rng.uniform(5.0, 60.0))  # fmt: skip
        value = float(wrap360(rng.choice(turned)))
        bad = sighted(good.start, good.end, value, COMPASS_DEG)
        error = np.array([wrap180(value - good.value) / COMPASS_DEG])
    return [*readings[:k], bad, *readings[k + 1 :]], k, error


def visible(readings, k, error):
    """The error as the geometry lets it show, in standard errors (derived: Baarda's non-centrality)."""
    solution, _ = solve_network(readings, middle_frame(readings), True, 0.0)
    rows = solution.rows(k)
    return math.sqrt(error @ solution.shown[np.ix_(rows, rows)] @ error)


def test_planted_gross_errors_are_pinned_on_the_right_reading(capsys):
    # 80 seeded networks, or as many as SITEASSESS_PLANTED says.
    rng = np.random.default_rng(7)
    outcomes = collections.Counter()
    for _ in range(PLANTED):
        _, readings = random_network(rng)
        planted, k, error = with_gross_error(readings, rng)
        if visible(readings, k, error) <= 5.0:
            continue
        found = adjust_network(planted)
        if found.named:
            outcomes["right" if found.named == (planted[k],) else "wrong or more than one"] += 1
        else:
            outcomes[found.outcome] += 1
    total = sum(outcomes.values())
    with capsys.disabled():
        print(f"\nof {PLANTED} planted errors {total} show over five standard errors: {dict(outcomes)}")
    assert total > PLANTED / 2
    assert outcomes["right"] / total >= 0.90
    assert outcomes["wrong or more than one"] / total <= 0.02


def test_false_alarms_stay_at_the_chosen_level():
    # 400 networks with nothing wrong: three standard errors of the share above the level are 3.3 % and 1.5 %.
    rng = np.random.default_rng(11)
    chances = []
    for _ in range(400):
        _, readings = random_network(rng)
        chances.append(alarm(solve_network(readings, middle_frame(readings), True, 0.0)[0]))
    for level in (0.05, 0.01):
        alarms = np.mean(np.array(chances) < level)
        assert alarms <= level + 3.0 * math.sqrt(level * (1 - level) / 400)
    assert np.mean(np.array(chances) < 0.05) >= 0.01  # and the alarm is alive


def test_adjusted_places_beat_the_fixes_and_keep_their_ellipses():
    # Normalised errors of 150 networks' anchors, two axes each. A fix error common to all four anchors stays: so the
    # mean square of the normalised errors must be 2 within its scatter.
    rng = np.random.default_rng(4)
    normalised, own, raw = [], [], []
    for _ in range(120):
        points, readings = random_network(rng)
        adjusted = adjust_network(readings, level=1e-9)
        for k, anchor in enumerate(adjusted.anchors[name] for name in "ABCD"):
            miss = np.array(FRAME.to_metres(anchor.position.latitude_deg, anchor.position.longitude_deg)) - points[k]
            normalised.append(miss @ np.linalg.solve(anchor.position.covariance(), miss))
            own.append(miss @ miss)
            fix = readings[k].position
            raw.append(np.sum((np.array(FRAME.to_metres(fix.latitude_deg, fix.longitude_deg)) - points[k]) ** 2))
    assert np.mean(normalised) == pytest.approx(2.0, abs=0.35)
    assert np.mean(own) < 0.45 * np.mean(raw)


def test_exact_readings_give_the_places_back():
    rng = np.random.default_rng(2)
    points, readings = random_network(rng, noise=0.0)
    adjusted = adjust_network(readings)
    assert adjusted.outcome == "consistent" and adjusted.statistic < 1e-6
    for k, name in enumerate("ABCD"):
        position = adjusted.anchors[name].position
        assert FRAME.to_metres(position.latitude_deg, position.longitude_deg) == pytest.approx(points[k], abs=1e-3)
    assert "agree" in adjusted.told[0].in_words()


def test_plain_steps_and_minpack_end_in_the_same_place():
    rng = np.random.default_rng(21)
    for _ in range(10):
        _, readings = random_network(rng)
        solution, _ = solve_network(readings, middle_frame(readings), True, 0.0)
        other = _by_minpack(solution.equations, solution.x + rng.normal(0, 2.0, len(solution.x)), np.arange(8))
        assert other == pytest.approx(solution.x, abs=1e-4)


def test_derivatives_are_those_of_the_residuals():
    # by central differences of 1 mm (1e-3 rad for the declination), whose own error is far under 1e-4
    fixes, pairs = square()
    readings = network_of(fixes, pairs)
    equations = Equations("ABCD", readings, middle_frame(readings), 0.4)
    assert equations.unknowns == 9  # four places and the declination that all magnetic bearings share
    assert all(r.magnetic for r in readings if r.kind == "bearing")
    x = np.array([1.0, -2.0, 61.0, 4.0, 54.0, 52.0, -6.0, 38.0, 0.01])
    steps = [(equations.residuals(x + h) - equations.residuals(x - h)) / 2e-3 for h in 1e-3 * np.eye(9)]
    np.testing.assert_allclose(equations.derivatives(x), np.transpose(steps), rtol=0, atol=1e-3)


def test_true_bearings_far_from_the_middle_of_the_plan():
    # Two pairs 20 km apart at latitude 65, bearings good to 0.02 deg: meridians there lean against the plan by
    # several times that, which shows if it is left out or turned the wrong way.
    fixes = {"A": (65.0, 10.0), "B": (65.001, 10.002), "C": (65.05, 10.42), "D": (65.052, 10.421)}
    readings = [position_of(name, Located.at(*place, 0.01)) for name, place in fixes.items()]
    for one, two in (("A", "B"), ("B", "A"), ("C", "D"), ("D", "C")):
        true = bearing_distance(*fixes[one], *fixes[two]).bearing_true_deg
        readings.append(sighted(one, two, true, 0.02))
    found = adjust_network(readings)
    assert found.outcome == "consistent"
    assert found.statistic < 1.0


def square(swap=(), copy=None):
    corners = {"A": (0.0, 0.0), "B": (60.0, 5.0), "C": (55.0, 50.0), "D": (-5.0, 40.0)}
    fixes = {name: at(*corners[swap[1 - swap.index(name)] if name in swap else name]) for name in corners}
    today = declination(*HERE, "2026-05-01")
    pairs = {}
    for one, two in itertools.combinations(corners, 2):
        vector = np.subtract(corners[two], corners[one])
        out = today.magnetic_from_true(math.degrees(math.atan2(*vector)))
        pairs[one, two] = PairReadings(
            fixes[one], fixes[two], tape=Tape(float(np.hypot(*vector))), out=Sighting(out),
            back=Sighting(float(wrap360(out + 180.0))), declination=today,
        )  # fmt: skip
    return fixes, pairs


def test_a_site_from_its_pairs_and_slips_named():
    fixes, pairs = square()
    assert adjust_network(network_of(fixes, pairs), declination_sigma_deg=0.37).outcome == "consistent"
    slips = {
        "feet": replace(pairs["A", "C"], tape=Tape(pairs["A", "C"].tape.length_m / 0.3048)),
        "the other way": replace(pairs["A", "C"], out=pairs["A", "C"].back),
        "already counted from true": replace(
            pairs["A", "C"], out=Sighting(pairs["A", "C"].true_bearing(pairs["A", "C"].out))
        ),
    }
    for words, changed in slips.items():
        found = adjust_network(network_of(fixes, {**pairs, ("A", "C"): changed}), declination_sigma_deg=0.37)
        assert found.outcome == "one named", words
        assert found.named[0].anchors == ("A", "C")
        assert words in found.slips[0].in_words() and words in found.told[0].in_words()


def test_swapped_fixes_are_found_as_a_pair():
    fixes, pairs = square(swap=("B", "D"))
    found = adjust_network(network_of(fixes, pairs), declination_sigma_deg=0.37)
    assert {r.start for r in found.named} == {"B", "D"}
    assert "swapped" in found.told[0].in_words()
    east, _ = FRAME.to_metres(found.anchors["B"].position.latitude_deg, found.anchors["B"].position.longitude_deg)
    assert east == pytest.approx(60.0, abs=0.5)


def test_minutes_typed_as_decimals_move_one_anchor_tens_of_kilometres():
    fixes, pairs = square()
    lat, lon = fixes["B"].latitude_deg, fixes["B"].longitude_deg

    def mistyped(x):
        whole = math.floor(abs(x))
        return math.copysign(whole + (abs(x) - whole) * 0.6, x)

    fixes["B"] = Located.at(mistyped(lat), mistyped(lon), FIX_M)
    found = adjust_network(network_of(fixes, pairs), declination_sigma_deg=0.37)
    assert [r.named.in_words() for r in found.named] == ["the position of B"]
    assert "minutes were typed as decimals" in found.slips[0].in_words()


def test_two_readings_that_cannot_be_told_apart():
    # one pair, one tape that disagrees with two fixes: the tape, either fix
    readings = [position_of("A", at(0, 0, 1.0)), position_of("B", at(40, 0, 1.0)), taped("A", "B", 80.0, 0.1)]
    found = adjust_network(readings)
    assert found.outcome == "cannot tell which"
    assert "cannot be told" in found.told[0].in_words()
    assert found.named == ()


def test_loose_fixes_still_check_a_tape_in_feet():
    # 4 m fixes against a 0.1 m tape: it keeps all but 0.03 % of its own error to itself, and 100 m still show
    readings = [position_of("A", at(0, 0, 4.0)), position_of("B", at(40, 0, 4.0)), taped("A", "B", 131.0, 0.1),
                sighted("A", "B", 90.0, 2.0)]  # fmt: skip
    found = adjust_network(readings)
    assert found.outcome == "cannot tell which"
    assert readings[2] in found.suspects
    good = adjust_network([*readings[:2], taped("A", "B", 40.0, 0.1)])
    check = next(c for c in good.checks if c.reading.kind == "tape")
    # five standard errors of tape and fixes together: derived
    assert check.smallest_shown == pytest.approx(5.0 * math.sqrt(4.0**2 + 4.0**2 + 0.1**2), rel=1e-3)


def test_parts_of_a_site_are_judged_apart():
    good = [position_of("A", at(0, 0)), position_of("B", at(40, 0)), taped("A", "B", 40.0, 0.1)]
    bad = [position_of("C", at(300, 0, 1.0)), position_of("D", at(340, 0, 1.0)), taped("C", "D", 80.0, 0.1)]
    found = adjust_network([*good, *bad, taped("X", "Y", 20.0, 0.1)])
    assert found.outcome == "cannot tell which"
    assert {name for r in found.suspects for name in r.anchors} == {"C", "D"}
    assert set(found.anchors) == {"A", "B", "C", "D"} and found.not_placed == ("X", "Y")
    assert adjust_network(good).anchors["A"].east_m != 0.0


def test_many_parts_raise_no_more_alarms_than_one():
    # 60 sites of 15 separate pairs: tested each at 5 % half of the sites would raise one; binomial error 2.8 %
    rng = np.random.default_rng(6)
    alarms = 0
    for _ in range(60):
        readings = []
        for k in range(15):
            ends = np.array([(0.0, 300.0 * k), (50.0, 300.0 * k)]) + rng.normal(0.0, 2.0, (2, 2))
            readings += [position_of(f"A{k}", at(*ends[0], 2.0)), position_of(f"B{k}", at(*ends[1], 2.0))]
            readings.append(taped(f"A{k}", f"B{k}", 50.0 + rng.normal(0.0, 0.1), 0.1))
        alarms += adjust_network(readings, level=0.05).outcome != "consistent"
    assert alarms / 60 <= 0.05 + 3.0 * 0.028


def test_two_hundred_anchors():
    rng = np.random.default_rng(0)
    points = rng.uniform(-700.0, 700.0, (200, 2))
    readings = [position_of(f"T{k}", at(*(p + rng.normal(0, 4.0, 2)), 4.0)) for k, p in enumerate(points)]
    for i, j in itertools.combinations(range(200), 2):
        vector = points[j] - points[i]
        if np.hypot(*vector) < 60.0:
            true = float(wrap360(math.degrees(math.atan2(*vector)) + rng.normal(0, 2.0)))
            readings.append(taped(f"T{i}", f"T{j}", float(np.hypot(*vector) + rng.normal(0, 0.1)), 0.1))
            readings.append(sighted(f"T{i}", f"T{j}", true, 2.0, magnetic=True))
    found = adjust_network(readings, declination_sigma_deg=0.37)
    assert found.outcome == "consistent" and len(found.anchors) == 200
    assert all(len(message.in_words()) < 600 for message in found.told)


def test_just_enough_readings_check_nothing():
    found = adjust_network([position_of("A", at(0, 0)), taped("A", "B", 30.0, 0.1), sighted("A", "B", 90.0, 2.0)])
    assert found.outcome == "nothing to check" and math.isnan(found.probability)
    ellipse = found.anchors["B"].ellipse
    assert ellipse.semi_major_m == pytest.approx(math.hypot(FIX_M, 30.0 * math.radians(2.0)), rel=1e-3)
    assert ellipse.semi_minor_m == pytest.approx(math.hypot(FIX_M, 0.1), rel=1e-3)
    assert ellipse.major_bearing_deg % 180.0 == pytest.approx(0.0, abs=1.0) or ellipse.major_bearing_deg > 179.0


def test_one_anchor_alone():
    found = adjust_network([position_of("A", at(3.0, 4.0))])
    assert found.outcome == "nothing to check"
    assert found.anchors["A"].ellipse.semi_major_m == pytest.approx(FIX_M)


def test_no_fix_at_all_still_draws_the_shape():
    readings = [taped("A", "B", 30.0, 0.1), sighted("A", "B", 90.0, 2.0), taped("B", "C", 40.0, 0.1),
                sighted("B", "C", 0.0, 2.0), taped("C", "A", 50.0, 0.1)]  # fmt: skip
    found = adjust_network(readings)
    assert found.outcome == "consistent" and found.frame is None
    assert (found.anchors["C"].east_m, found.anchors["C"].north_m) == pytest.approx((30.0, 40.0), abs=1e-6)
    assert math.isnan(found.anchors["C"].position.latitude_deg)


def test_an_anchor_nothing_reaches_is_said_and_not_drawn():
    found = adjust_network([position_of("A", at(0, 0)), position_of("B", at(30, 0)), taped("A", "B", 30.0, 0.1),
                            taped("B", "X", 20.0, 0.1)])  # fmt: skip
    assert found.not_placed == ("X",)
    assert "X" not in found.anchors and any("Not placed" in m.in_words() for m in found.told)


def test_a_reading_nothing_checks_is_said():
    readings = [position_of("A", at(0, 0)), position_of("B", at(30, 0)), taped("A", "B", 30.0, 0.1),
                taped("B", "C", 20.0, 0.1), sighted("B", "C", 10.0, 2.0)]  # fmt: skip
    found = adjust_network(readings)
    assert any("Checked by no other" in m.in_words() and "B to C" in m.in_words() for m in found.told)


def test_a_shared_declination_error_does_not_average_out():
    fixes = {"A": at(0, 0, 0.05), "B": at(100, 0, 50.0)}
    sights = [sighted("A", "B", 90.0, 2.0, magnetic=True)] * 400
    readings = [*(position_of(k, v) for k, v in fixes.items()), taped("A", "B", 100.0, 0.05), *sights]
    alone, shared = (adjust_network(readings, declination_sigma_deg=s).anchors["B"].ellipse for s in (0.0, 0.5))
    assert alone.semi_major_m == pytest.approx(math.hypot(0.05, 100 * math.radians(0.1)), rel=0.02)
    assert shared.semi_major_m == pytest.approx(math.hypot(0.05, 100 * math.radians(math.hypot(0.1, 0.5))), rel=0.02)


def test_error_ellipse_of_a_known_covariance():
    # derived: standard errors 4 along 30 deg and 1 across
    turn = math.radians(30.0)
    ahead, aside = np.array([math.sin(turn), math.cos(turn)]), np.array([math.cos(turn), -math.sin(turn)])
    ellipse = error_ellipse(16.0 * np.outer(ahead, ahead) + np.outer(aside, aside))
    assert (ellipse.semi_major_m, ellipse.semi_minor_m, ellipse.major_bearing_deg) == pytest.approx((4.0, 1.0, 30.0))
    outline = ellipse.outline_m()
    assert np.hypot(*outline.T).max() == pytest.approx(4.0) and np.hypot(*outline.T).min() == pytest.approx(1.0)
    assert outline[0] == pytest.approx(4.0 * ahead)
    assert ellipse.at_95_percent().semi_major_m == pytest.approx(4.0 * 2.448, abs=0.002)


def test_impossible_readings_are_refused():
    with pytest.raises(FaultyInput, match="two different anchors"):
        taped("A", "A", 10.0, 0.1)
    with pytest.raises(FaultyInput, match="above 0"):
        sighted("A", "B", 10.0, 0.0)
    with pytest.raises(FaultyInput, match="without one"):
        position_of("A", Located.at(*HERE))
    with pytest.raises(OutsideModel):
        adjust_network([])
    with pytest.raises(OutsideModel):
        adjust_network([taped("A", "B", 10.0, 0.1)])
