"""Where things are drawn: corrected places, their error ellipses, and what is left as it was read."""

from __future__ import annotations

import math

import pytest

from siteassess.papers.scene import build, standings
from siteassess.places.geodesy import bearing_distance

PAIR = (
    ("T01", "tree", 0, 0, "196 cm", "8 m", None, "Quercus robur"),
    ("T02", "tree", 40, 0, "171 cm", "7 m", None, "Tilia cordata"),
)
ONE_LINE = (("L1", "T01", "T02", "suits"),)


def with_span(assessment, taped: str):
    line = assessment.record.lines[0]
    span = line.span.model_copy(update={"taped": line.span.taped.__class__(float(taped.split()[0]), taped, "length")})
    return assessment.record.model_copy(update={"lines": (line.model_copy(update={"span": span}),)})


def test_a_tape_pulls_loose_fixes_to_its_length(make_assessment):
    """Fixes good to metres give way to a tape good to centimetres; their middle stays, as both fixes weigh alike."""
    record = with_span(make_assessment(anchors=PAIR, lines=ONE_LINE), "41.0 m")
    found, _ = standings(record)
    a, b = found["T01"], found["T02"]
    way = bearing_distance(a.latitude_deg, a.longitude_deg, b.latitude_deg, b.longitude_deg)
    assert way.distance_m == pytest.approx(41.0, abs=0.02)
    assert way.bearing_true_deg == pytest.approx(90.0, abs=0.1)
    middle = (a.longitude_deg + b.longitude_deg) / 2
    assert middle == pytest.approx((a.as_read_deg[1] + b.as_read_deg[1]) / 2, abs=1e-7)
    assert a.corrected and a.as_read_deg[0] == pytest.approx(52.0, abs=1e-9)


def test_readings_that_cannot_agree_are_drawn_as_read(make_assessment):
    record = with_span(make_assessment(anchors=PAIR, lines=ONE_LINE), "140 m")
    found, says = standings(record)
    assert not any(where.corrected for where in found.values())
    assert found["T01"].latitude_deg == pytest.approx(52.0, abs=1e-9)
    assert says  # and the reader is told


def test_error_ellipse_of_a_lone_fix_holds_95_of_100(make_assessment):
    """4 m that half of the fixes fall within (Rayleigh: 1.177 sigma) are 8.3 m for 95 of 100 (2.448 sigma)."""
    found, says = standings(make_assessment(anchors=PAIR[:1], lines=()).record)
    assert found["T01"].ellipse.semi_major_m == pytest.approx(
        4 / math.sqrt(2 * math.log(2)) * math.sqrt(-2 * math.log(0.05))
    )
    assert says == ()


def test_given_positions_are_drawn_without_an_ellipse(make_assessment):
    scene = build(make_assessment(anchors=PAIR, lines=ONE_LINE), positions={"T01": (52.00001, 5.0)})
    assert (scene.spot("T01").latitude_deg, scene.spot("T01").ellipse) == (52.00001, None)
    assert scene.spot("T02").ellipse is not None


def test_crown_and_root_zone_come_with_the_spot(make_assessment):
    spot = build(make_assessment()).spot("T04")
    assert (spot.crown_radius_m, spot.root_zone_radius_m) == (8.0, 7.4)
    assert spot.trunk_radius_m == pytest.approx(2.40 / (2 * math.pi))
    assert spot.line_ids == ("L2", "L3")


def test_declination_outside_the_model_is_told_not_guessed(make_assessment):
    import dataclasses
    import datetime

    scene = build(dataclasses.replace(make_assessment(), date=datetime.date(2041, 1, 1)))
    assert scene.declination_deg is None
    assert "not shown" in scene.declination_told.in_words()
