"""What lines cross, come near, and what runs down into them."""

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import LineString, Point, Polygon

from siteassess.places.crossings import (
    ADVICE,
    SEVERITY,
    GroundSlope,
    PlannedLine,
    RootZone,
    check_crossings,
    obstacle_to_aircraft,
    run_out_m,
)
from siteassess.places.features import FEATURE_KINDS, PlacedFeature, kind_by_tags
from siteassess.places.geodesy import LocalFrame

FRAME = LocalFrame(47.0, 8.0)


def at(east, north):
    return FRAME.to_degrees(east, north)


def drawn(kind, *points, name="", closed=False):
    places = [at(*p)[::-1] for p in points]
    shape = Point(places[0]) if len(places) == 1 else Polygon(places) if closed else LineString(places)
    return PlacedFeature(kind, shape, name)


def line(start=(0, 0), end=(40, 0), name="L1", sigma_m=0.1, **more):
    return PlannedLine(name, at(*start), at(*end), sigma_m=sigma_m, **more)


def only(found):
    assert len(found) == 1, found
    return found[0]


def test_a_path_across_the_line():
    crossing = only(check_crossings([line()], [drawn("path", (10, -20), (10, 20), name="Ring")]))
    assert (crossing.relation, crossing.advice, crossing.distance_m) == ("crosses", "do not rig", 0.0)
    assert crossing.along_m == pytest.approx(10.0, abs=0.01)
    assert FRAME.to_metres(*crossing.place) == pytest.approx((10.0, 0.0), abs=0.01)


def test_a_worn_track_is_a_path():
    crossing = only(check_crossings([line()], [drawn("worn track", (10, -20), (10, 20))]))
    assert crossing.advice == "do not rig"


@pytest.mark.parametrize(
    "gap, relation, advice", [(2.0, "in the fall strip", "shift"), (8.0, "near", "watcher"), (30.0, None, None)]
)
def test_a_path_beside_the_line(gap, relation, advice):
    found = check_crossings([line()], [drawn("path", (-50, gap), (90, gap))])
    if relation is None:
        assert found == []
        return
    assert (only(found).relation, only(found).advice) == (relation, advice)
    assert only(found).distance_m == pytest.approx(gap, abs=0.01)


def test_loose_positions_widen_the_strip_and_unknown_ones_more():
    path = [drawn("path", (-50, 12), (90, 12))]
    assert only(check_crossings([line(sigma_m=0.1)], path)).relation == "near"
    loose = only(check_crossings([line(sigma_m=5.0)], path))
    assert (loose.relation, loose.advice) == ("may reach the fall strip", "shift")
    assert only(check_crossings([line(sigma_m=math.nan)], path)).relation == "may reach the fall strip"


def test_every_kind_crossed_is_advised_on():
    box = ((15, -5), (25, -5), (25, 5), (15, 5))
    across = {kind: drawn(kind, *box, closed=True) for kind in FEATURE_KINDS if kind in ADVICE}
    for kind, feature in across.items():
        crossing = only(check_crossings([line()], [feature]))
        assert crossing.advice == ADVICE[kind].crosses and crossing.relation == "crosses"
    grave = {kind for kind in across if ADVICE[kind].crosses == "do not rig"}
    assert {"path", "worn track", "road", "railway", "power line", "play area", "building"} <= grave


def test_what_lies_past_an_anchor_is_in_the_strip_too():
    found = only(check_crossings([line()], [drawn("play area", (42, -10), (60, -10), (60, 10), (42, 10), closed=True)]))
    assert (found.relation, found.advice) == ("in the fall strip", "do not rig")


def test_parks_and_trees_are_no_obstacles():
    park = drawn("park", (-99, -99), (99, -99), (99, 99), closed=True)
    assert check_crossings([line()], [park, drawn("tree", (5, 1))]) == []


def test_the_gravest_comes_first():
    features = [drawn("path", (-50, 8), (90, 8)), drawn("power line", (20, -30), (20, 30))]
    found = check_crossings([line()], features)
    assert [c.kind for c in found] == ["power line", "path"]


def test_root_zones_of_trees_not_used():
    zone = RootZone("T9", *at(20, 5), radius_m=6.0)
    crossing = only(check_crossings([line()], [], root_zones=[zone]))
    assert (crossing.kind, crossing.name, crossing.relation, crossing.advice) == ("root zone", "T9", "crosses", "note")
    assert check_crossings([line()], [], root_zones=[RootZone("T9", *at(20, 30), radius_m=6.0)]) == []


def test_lines_against_each_other():
    across = check_crossings([line(), line((20, -20), (20, 20), "L2")], [])
    assert [c.advice for c in across] == ["do not rig", "do not rig"]
    beside = check_crossings([line(), line((0, 4), (40, 4), "L2")], [])
    assert {c.relation for c in beside} == {"in the fall strip"} and {c.advice for c in beside} == {"shift"}
    assert check_crossings([line(), line((0, 30), (40, 30), "L2")], []) == []


def test_two_lines_on_one_tree():
    apart = check_crossings([line(), line((0, 0), (0, 40), "L2")], [])
    assert {c.relation for c in apart} == {"shares an anchor"} and {c.advice for c in apart} == {"note"}
    narrow = check_crossings([line(), line((0, 0), (40, 3), "L2")], [])
    assert {c.advice for c in narrow} == {"shift"}


def test_the_same_line_twice_is_in_each_others_strip():
    assert {c.advice for c in check_crossings([line(), line(name="L2")], [])} <= {"shift", "do not rig"}


def test_a_path_uphill_leads_people_into_the_line():
    # ground falls to the south (180 deg); the path runs 25 m to the north, along the slope
    along = drawn("path", (-50, 25), (90, 25))
    crossing = only(check_crossings([line()], [along], slope=GroundSlope(180.0, 8.0)))
    assert (crossing.relation, crossing.advice) == ("uphill of the line", "watcher")
    assert crossing.distance_m == pytest.approx(25.0, abs=0.05)
    # the same path below the line is no approach
    assert check_crossings([line()], [along], slope=GroundSlope(0.0, 8.0)) == []
    # nor on the flat, nor beyond the run-out
    assert check_crossings([line()], [along], slope=GroundSlope(180.0, 1.0)) == []
    assert check_crossings([line()], [along], slope=GroundSlope(180.0, 3.0)) == []
    # an unknown slope is taken as steep
    assert len(check_crossings([line()], [along], slope=GroundSlope(180.0))) == 1


def test_a_path_that_runs_down_the_slope_and_bends_away_above_the_line():
    # the documented death: a rider left a bend and met a chest-high line off the path
    bend = drawn("path", (20, 80), (20, 20), (80, 15))
    crossing = only(check_crossings([line()], [bend], slope=GroundSlope(180.0, 8.0)))
    assert (crossing.relation, crossing.advice) == ("heads downhill at the line", "shift")


def test_what_lies_near_and_uphill_is_said_once():
    near = drawn("play area", (0, 12), (20, 12), (20, 25), (0, 25), closed=True)
    crossing = only(check_crossings([line()], [near], slope=GroundSlope(180.0, 8.0)))
    assert crossing.relation == "uphill of the line"
    assert only(check_crossings([line()], [near], slope=GroundSlope(0.0, 8.0))).relation == "near"


def test_play_areas_uphill():
    area = drawn("play area", (0, 30), (20, 30), (20, 45), (0, 45), closed=True)
    assert only(check_crossings([line()], [area], slope=GroundSlope(180.0, 8.0))).advice == "watcher"


def test_run_out_grows_with_the_slope():
    assert [run_out_m(s) for s in (1.0, 3.0, 7.0, 15.0, math.nan)] == [0.0, 20.0, 40.0, 60.0, 60.0]


def test_high_lines_are_reminded_of_the_air():
    assert obstacle_to_aircraft(line(high=True)) and obstacle_to_aircraft(line(height_m=30.0))
    assert obstacle_to_aircraft(line(height_m=25.0)) and not obstacle_to_aircraft(line(height_m=24.9))
    assert not obstacle_to_aircraft(line())


def test_no_line_no_crossing_and_a_line_without_a_place_is_passed_over():
    assert check_crossings([], [drawn("path", (0, 0), (1, 1))]) == []
    lost = PlannedLine("L9", (math.nan, math.nan), at(0, 0))
    assert {c.line for c in check_crossings([lost, line()], [drawn("path", (10, -20), (10, 20))])} == {"L1"}


def test_across_the_antimeridian():
    frame = LocalFrame(-17.0, 180.0)

    def east(e, n):
        return frame.to_degrees(e, n)

    across = PlannedLine("L1", east(-20, 0), east(20, 0), sigma_m=0.1)
    assert across.start[1] > 0 > across.end[1]
    path = PlacedFeature("path", LineString([east(5, -20)[::-1], east(5, 20)[::-1]]))
    assert only(check_crossings([across], [path])).advice == "do not rig"


@settings(max_examples=40, deadline=None)
@given(st.floats(0.0, 360.0), st.floats(3.2, 60.0), st.sampled_from(["path", "road", "play area", "power line"]))
def test_farther_is_never_graver(turn, gap, kind):
    def advice(distance):
        a = math.radians(turn)
        along, across = (math.cos(a), math.sin(a)), (-math.sin(a), math.cos(a))
        points = [(along[0] * s + across[0] * distance, along[1] * s + across[1] * distance) for s in (-80, 80)]
        ends = [(along[0] * s, along[1] * s) for s in (0, 40)]
        found = check_crossings([line(*ends)], [drawn(kind, *points)])
        return SEVERITY.index(found[0].advice) if found else -1

    assert advice(gap) >= advice(gap + 5.0)


def test_tags():
    assert kind_by_tags({"highway": "footway"}) == "path"
    assert kind_by_tags({"highway": "path", "informal": "yes"}) == "worn track"
    assert kind_by_tags({"highway": "service"}) == "road"
    assert kind_by_tags({"building": "no"}) == ""
    assert kind_by_tags({"building": "yes"}) == "building"
    assert kind_by_tags({"power": "line"}) == "power line"
    assert kind_by_tags({"power": "line", "location": "underground"}) == ""
    assert kind_by_tags({"power": "cable"}) == ""
    assert kind_by_tags({"waterway": "stream", "tunnel": "culvert"}) == ""
    assert kind_by_tags({"kind": "Worn Track"}) == "worn track"
    assert kind_by_tags({"amenity": "bench"}) == ""
