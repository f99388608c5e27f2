"""What is marked around an anchor, held against the edges that were listed at it."""

from __future__ import annotations

import math

import numpy as np
import pytest
from parks import data, record

from siteassess.advice.crossings import crossings_of
from siteassess.advice.geometry import Places
from siteassess.advice.surroundings import Near, edges_on_the_map, things_near, things_near_line

METRES_A_DEGREE = 111_320.0
BESIDE = "yes"


def tree(*edges: tuple[str, str, float], near: str = BESIDE):
    """A tree with edges: what, on which side, how far [m]."""
    listed = [{"what": what, "side": side, "distance": f"{metres} m"} for what, side, metres in edges]
    return record({"T1.hard_edge_near": near, "T1.hard_edges": listed}).anchors[0]


def pond(bearing: float, metres: float = 1.0, kind: str = "water") -> Near:
    return Near(kind, "", metres, 1.0, bearing)


def asked(one, *near: Near, diameter: float = 0.6) -> list[float]:
    """How far off what is asked for lies."""
    return [dict(finding.values)["apart"] for finding in edges_on_the_map(one, near, diameter)]


@pytest.mark.parametrize("side, bearing, may_be", [
    *(("W", 270.0 + off, True) for off in (-67.5, -60.0, 0.0, 60.0, 67.5)), ("W", 270.0 + 68, False),
    ("W", 270.0 - 68, False), ("W", 90.0, False), ("W", 1.0, False), ("W", math.nan, True),
    *(("N", bearing, True) for bearing in (0.0, 67.5, 292.5, 359.9)), ("N", 68.0, False), ("N", 292.0, False),
    ("NW", 0.0, True), ("NW", 22.5, True), ("NW", 23.0, False), ("SE", 200.0, True), ("SE", 203.0, False),
])  # fmt: skip
def test_a_listed_edge_may_be_what_is_marked_up_to_a_sector_and_a_half_beside_it(side, bearing, may_be):
    """67.5 degrees (data/constants.csv, judgement); on which side lies what lies about the trunk, nobody can tell."""
    assert asked(tree(("water", side, 1.0)), pond(bearing)) == ([] if may_be else [1.0])


@pytest.mark.parametrize("marked, listed, may_be", [
    (1.0, 2.0, True), (1.0, 2.05, False), (1.5, 0.5, True), (1.5, 0.45, False),  # a metre
    (4.0, 6.0, True), (4.0, 6.1, False), (4.0, 2.0, True), (4.0, 1.95, False),  # half of it
])  # fmt: skip
def test_a_listed_edge_may_be_what_is_marked_within_a_metre_or_half_its_distance(marked, listed, may_be):
    """Judgement: what a map and a paced distance may miss."""
    one = tree(("water", "W", listed))
    assert asked(one, pond(270.0, marked), diameter=1.5) == ([] if may_be else [marked])


def test_what_is_marked_nearest_is_asked_for_once_and_as_something_nobody_looked_at():
    """Within three diameters, 1.5 m of a trunk of 0.5 m."""
    assert asked(tree(), pond(270.0, 1.2), pond(90.0, 1.3), diameter=0.5) == [1.2]
    assert asked(tree(), pond(270.0, 1.5), diameter=0.5) == [] and asked(tree(), pond(0.0, 1.499), diameter=0.5)
    (told,) = edges_on_the_map(tree(), [pond(270.0)], 0.6)
    assert (told.effect, told.looked_at, dict(told.values)["reach"]) == ("suits if", False, pytest.approx(1.8))
    assert asked(tree(near="not looked"), pond(270.0)) == []


def test_of_several_listed_edges_one_is_enough():
    edges = ("kerb", "W", 1.0), ("water", "W", 1.0)
    assert asked(tree(*edges), pond(270.0)) == [] and asked(tree(edges[0]), pond(270.0)) == [1.0]


def marked(*things: dict, **edits):
    """What is near T1, at 54.5 N 2.5 E, and near the line from there eastward over 20 m."""
    made = record({"site.surroundings": list(things), **edits})
    places = Places(made)
    return things_near(places, "T1"), things_near_line(places, made.lines[0])


def place(east: float, north: float) -> list[float]:
    return [54.5 + north / METRES_A_DEGREE, 2.5 + east / (METRES_A_DEGREE * math.cos(math.radians(54.5)))]


@pytest.mark.parametrize("east, north", [(0, 10), (10, 10), (10, 0), (10, -10), (0, -10), (-10, -10), (-10, 0),
                                         (-10, 10), (-3, 8)])  # fmt: skip
def test_a_mark_lies_on_the_side_of_an_anchor_where_it_was_marked(east, north):
    (one,), (line,) = marked({"kind": "water", "points": [place(east, north)]})
    turned = (one.bearing_deg - math.degrees(math.atan2(east, north)) + 180) % 360 - 180
    assert abs(turned) < 1 and 0 <= one.bearing_deg < 360
    assert one.distance_m == pytest.approx(math.hypot(east, north), rel=0.01)
    assert math.isnan(line.bearing_deg) and one.name == line.name == ""


def test_a_long_mark_lies_where_it_is_nearest_and_one_an_anchor_stands_in_on_no_side():
    bank = {"kind": "water", "name": "Mill Race (invented)", "points": [place(-6, -50), place(-6, 80)]}
    ((one,), _), ((wide,), _) = marked(bank | {"width": "0 m"}), marked(bank | {"width": "13 m"})
    assert one.bearing_deg == pytest.approx(270, abs=1) and one.distance_m == pytest.approx(6, rel=0.01)
    assert one.name == "Mill Race (invented)"
    assert math.isnan(wide.bearing_deg) and wide.distance_m == 0.0
    ((usual,), _) = marked(bank)  # 2 m wide (data/constants.csv), and for all anybody said a thread or twice as wide
    assert usual.distance_m == pytest.approx(5, rel=0.01) and 2 * (usual.sigma_m - one.sigma_m) == pytest.approx(1.0)


@pytest.mark.parametrize("kind", ["wall", "boundary"])
def test_a_wall_nobody_told_the_width_of_is_no_wider_than_it_was_drawn_and_known_no_worse(kind):
    line = {"kind": kind, "points": [place(-6, -50), place(-6, 80)]}
    widths = {}, {"width": "0 m"}, {"width": "1 m"}
    ((bare,), _), ((thin,), _), ((wide,), _) = (marked(line | width) for width in widths)
    assert (bare.distance_m, bare.sigma_m) == (thin.distance_m, thin.sigma_m)
    assert bare.distance_m == pytest.approx(6, rel=0.01) and wide.distance_m == pytest.approx(bare.distance_m - 0.5)


def test_marks_are_told_nearest_first_and_none_without_a_position():
    far, near = ({"kind": "water", "points": [place(0, metres)]} for metres in (9.0, 4.0))
    assert np.allclose([one.distance_m for one in marked(far, near)[0]], [4.0, 9.0], rtol=0.01)
    assert marked(far, near, **{"T1.position": None}) == ((), ())


@pytest.mark.parametrize("off, length, marked", [(29.9, 30, True), (30.1, 30, False), (29.9, 15, False)])
def test_a_wire_is_marked_for_the_lines_it_runs_near_and_as_long_as(off, length, marked):
    """Thirty metres (data/constants.csv); L2 runs 40 m north of L1, L3 has an end without a position."""
    first = data()["lines"][0]
    north = [tree | {"code": tree["code"] + "n", "tag": None, "position": tree["position"] | {
        "lat": 54.5 + 40 / METRES_A_DEGREE}} for tree in data()["anchors"]]  # fmt: skip
    lost = data()["anchors"][0] | {"code": "T9", "tag": "X-9", "position": None}
    lines = [first] + [first | {"id": name, "a": first["a"] | {"anchor": a}, "b": first["b"] | {"anchor": b}}
                       for name, a, b in (("L2", "T1n", "T2n"), ("L3", "T1", "T9"))]  # fmt: skip
    wire = [[54.5 - off / METRES_A_DEGREE, 2.5 + east / 64_640.0] for east in (0, length)]
    made = record({"anchors": [*data()["anchors"], *north, lost], "lines": lines,
                   "site.surroundings": [{"kind": "power line", "points": wire, "width": "0 m"}]})  # fmt: skip
    found = crossings_of(made, Places(made))
    assert {one.wires_of for one in found.values()} == {frozenset({"L1"} if marked else ())}
    assert {one.wires_of for one in found.values()} == {frozenset(("L1",) if marked else ())}
