"""Areas about a line: what is one by nature, what closes, how wide it counts, and what may come down from one."""

from __future__ import annotations

import pytest
from line_around import SURE, around, effect, thing
from parks import record

from siteassess.advice.assess import assess
from siteassess.advice.verdict import VERDICTS
from siteassess.papers.scene import build

RING = [(-50, -60), (-50, 60), (70, 60), (70, -60)]


@pytest.mark.parametrize("kind, expected", [
    ("play area", "leave it"), ("closed area", "leave it"), ("building", "leave it"), ("hazard", "leave it"),
    ("protected area", "suits if"), ("road", "suits"), ("power line", "suits"), ("water", "suits"),
])  # fmt: skip
def test_what_is_an_area_by_nature_is_one_whether_or_not_somebody_said_that_it_closes(kind, expected):
    inside = around(thing(kind, *RING, closed=True))
    assert VERDICTS.index(effect(inside)) >= VERDICTS.index(expected)
    assert effect(around(thing(kind, *RING))) == effect(around(thing(kind, *RING, closed=False))) == expected
    far = [(east + 300, north) for east, north in RING]
    assert effect(around(thing(kind, *far))) == "suits" == effect(around(thing(kind, *RING[:2])))


@pytest.mark.parametrize("kind, expected", [("water", "suits if"), ("play area", "leave it"), ("path", "suits"),
                                            ("railway", "suits")])  # fmt: skip
def test_points_that_come_back_to_the_first_close_but_a_way_leads_round_in_a_ring(kind, expected):
    assert effect(around(thing(kind, *RING, RING[0]))) == expected
    assert effect(around(thing(kind, RING[0], RING[1], RING[0]))) == "suits"


def test_a_recorded_width_counts_whatever_shape_it_is_recorded_beside():
    for points in ([(-5, 8), (30, 8)], [(-5, 8), (30, 8), (12, 15)], [(10, 8)]):
        assert effect(around(thing("hazard", *points))) == "suits"
        assert effect(around(thing("hazard", *points, width="12 m"))) == "suits if"


def test_the_map_draws_the_area_that_is_judged():
    made = assess(record(SURE | {"site.surroundings": [thing("play area", *RING), thing("path", *RING)]}))
    assert [shape.closed for shape in build(made).shapes] == [True, False]


@pytest.mark.parametrize("other", [
    {"T2.ground.slope": "2 deg"}, {"T2.ground.slope": "0 deg"}, {"T2.ground": {"slope": "0 deg", "wetness": "moist"}},
])  # fmt: skip
def test_a_level_end_says_nothing_of_a_steep_one_whose_way_down_nobody_read(other):
    path = thing("path", (10, 25), (10, 60))
    steep = other | {"T1.ground.slope": "20 deg"}
    assert effect(around(path, **steep)) == "suits if"
    unread = around(path, **steep | {"T1.ground.downhill": None})
    assert effect(unread) == "suits if" and [one.code for one in unread.findings] == ["downhill-not-checked"]
