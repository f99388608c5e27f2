"""A power line that was seen from one line, as it is told of the others, by how they lie to one another."""

from __future__ import annotations

import copy

import pytest
from parks import BASE, record

from siteassess.advice.assess import assess
from siteassess.advice.changes import carried, changed


def judged(edits: dict):
    return assess(record(edits), remedies=False).lines[0]


def codes(end) -> list[str]:
    return [one.code for one in end.findings]


def wired(a: str, b: str, north: float = 0.0, east: float = 0.0, **more) -> list[str]:
    """What is told of power lines at L1, from T1 to T2, where L2 saw one; T3 and T4 stand beside T2, and T1b is T1."""
    trees = [copy.deepcopy(BASE["anchors"][1]) | {"code": code, "tag": f"X-{code}"} for code in ("T3", "T4")]
    for tree, off in zip(trees, (0.0, 4.0)):
        tree["position"] |= {"lat": 54.5 + north / 111_300.0, "lon": 2.5 + (20.0 + east + off) / 64_640.0}
    trees.append(copy.deepcopy(BASE["anchors"][0]) | {"code": "T1b", "tag": "No. X-T1"})
    line = copy.deepcopy(BASE["lines"][0]) | {"id": "L2", "power_line": "yes", "compass": None, "span": None,
                                              "ground": [], "planned": {"date": "2026-06-01"}} | more  # fmt: skip
    line["a"]["anchor"], line["b"]["anchor"] = a, b
    edits = {"anchors": [*BASE["anchors"], *trees], "lines": [BASE["lines"][0], line]}
    return [code for code in codes(judged(edits)) if code.startswith("power")]


@pytest.mark.parametrize("a, b, north, east, told", [
    ("T1", "T2", 0, 0, "power-line-not-marked"), ("T2", "T1", 0, 0, "power-line-not-marked"),
    ("T1b", "T2", 0, 0, "power-line-not-marked"),  # by trees, not by codes
    ("T1", "T3", 6, 0, "power-line-not-marked"), ("T3", "T1b", 6, 0, "power-line-not-marked"),  # 17 degrees from it
    ("T1", "T3", 9, 0, "power-line-at-another"),  # 24 degrees
    ("T1", "T3", 200, 0, "power-line-at-another"), ("T3", "T2", 60, 9, "power-line-at-another"),
    ("T3", "T4", 28, 0, "power-line-at-another"), ("T3", "T4", 0, 28, "power-line-at-another"),
    ("T3", "T4", 33, 0, None), ("T3", "T4", 0, 33, None),
])  # fmt: skip
def test_a_power_line_seen_under_one_line_asks_of_the_next_where_that_lies_near(a, b, north, east, told):
    """It hangs over both between the same trees, or within 20 degrees from one; within 30 m it may (judgement)."""
    assert wired(a, b, north, east) == ([told] if told else [])
    assert wired(a, b, north, east, power_line="no") == []


@pytest.mark.parametrize("own", ["not looked", "no"])
@pytest.mark.parametrize("way, told", [
    (None, "power-line-way-unknown"), (100, "power-line-not-marked"), (140, "power-line-at-another"),
])  # fmt: skip
def test_of_two_lines_from_one_tree_the_way_tells_whether_a_power_line_hangs_over_both(own, way, told):
    """L1 runs east by its positions; nobody knows where the far tree of L2 stands."""
    tree = copy.deepcopy(BASE["anchors"][1]) | {"code": "T3", "tag": "X-T3", "position": None}
    read = {"out": f"{way} deg", "north": "true"} if way else None
    line = copy.deepcopy(BASE["lines"][0]) | {"id": "L2", "power_line": "yes", "ground": [], "compass": read,
                                              "planned": {"date": "2026-06-01"}}  # fmt: skip
    line["b"]["anchor"] = "T3"
    answer = judged({"anchors": [*BASE["anchors"], tree], "lines": [BASE["lines"][0] | {"power_line": own}, line]})
    assert [code for code in codes(answer) if code.startswith("power")] == [told]
    finding = next(one for one in answer.findings if one.code == told)
    assert finding.effect == ("suits if" if told == "power-line-at-another" else "cannot say")


def test_a_power_line_seen_where_nobody_knows_how_far_off_is_looked_for():
    trees = [copy.deepcopy(BASE["anchors"][0]) | {"code": code, "tag": f"X-{code}", "position": None}
             for code in ("T3", "T4")]  # fmt: skip
    line = copy.deepcopy(BASE["lines"][0]) | {"id": "L2", "power_line": "yes", "planned": {"date": "2026-06-01"}}
    line["a"]["anchor"], line["b"]["anchor"] = "T3", "T4"
    edits = {"anchors": [*BASE["anchors"], *trees], "lines": [BASE["lines"][0], line]}
    assert "power-line-at-another" in codes(judged(edits))


def test_a_power_line_drawn_where_it_runs_asks_nothing_of_the_lines_beside():
    wire = {"site.surroundings": [{"kind": "power line", "points": [[54.5006, 2.499], [54.5006, 2.503]]}]}  # 67 m off
    line = copy.deepcopy(BASE["lines"][0]) | {"id": "L2", "power_line": "yes", "compass": None, "span": None,
                                              "ground": [], "planned": {"date": "2026-06-01"}}  # fmt: skip
    line["b"]["anchor"] = "T3"
    tree = copy.deepcopy(BASE["anchors"][0]) | {"code": "T3", "tag": "X-T3"}
    tree["position"]["lat"] = 54.5004
    edits = {"anchors": [*BASE["anchors"], tree], "lines": [BASE["lines"][0], line]}
    assert "power-line-at-another" in codes(judged(edits))
    assert "power-line-at-another" not in codes(judged(edits | wire))


def test_no_remedy_carries_a_line_away_from_a_power_line_that_was_seen():
    line = record({"L1.power_line": "yes"}).lines[0]
    shorter = changed(line, "A", "span", 15.0)
    assert carried(line, "A", "T2", None).power_line == shorter.power_line == "yes"
    assert carried(record().lines[0], "A", "T2", None).power_line == "not looked"
