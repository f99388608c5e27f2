"""The whole chain on the shipped examples: an invented park, and real census rows with and without made-up readings."""

import json
from pathlib import Path

import pytest

from siteassess.advice.assess import assess
from siteassess.papers.as_json import to_dict
from siteassess.records.reading import read_record

EXAMPLES = Path(__file__).resolve().parents[2] / "examples"


@pytest.fixture(scope="module")
def park():
    return assess(read_record(EXAMPLES / "brindlewick" / "park.yaml"))


@pytest.fixture(scope="module")
def lines(park):
    return {line.id: line for line in park.lines}


def reasons(line) -> str:
    return " | ".join(f"{a.code}: {finding.says}" for a in line.anchors for finding in a.findings)


def test_the_park_is_marked_as_invented(park):
    assert park.record.site.invented and "invented" in park.record.site.name
    assert len(park.record.anchors) >= 10 and len(park.record.lines) >= 5


def test_the_good_pair_suits_with_margin_at_both_ends(lines):
    line = lines["L1"]
    assert line.verdict == "suits"
    for end in line.anchors:
        assert end.hold_use < 0.6 and end.care_use < 1 and not end.evidence.missing
    assert line.weaker_anchor == max(line.anchors, key=lambda end: end.hold_use).code


def test_the_thin_birch_is_left_with_its_size_as_a_reason(lines):
    line = lines["L2"]
    assert line.verdict == "leave it" and line.weaker_anchor == "T3"
    assert "T3: the trunk is 18 cm" in reasons(line)


def test_a_stop_sign_beats_a_big_trunk(lines):
    line = lines["L3"]
    ash = next(end for end in line.anchors if end.code == "T5")
    assert line.verdict == ash.verdict == "leave it"
    assert ash.hold_use < 1 and ash.stop_signs == ("bracket fungus at the base",)


def test_roots_gone_behind_the_pull_end_in_cannot_say(lines):
    line = lines["L4"]
    beech = next(end for end in line.anchors if end.code == "T7")
    assert line.verdict == beech.verdict == "cannot say"
    assert "roots that hold this pull" in reasons(line)
    # the same tree pulled the other way keeps its roots behind the pull
    assert beech.use_by_sector["N"] is None and beech.use_by_sector["S"] is not None


def test_the_spring_line_suits_only_with_a_wider_sling(lines):
    line = lines["L5"]
    hornbeam = next(end for end in line.anchors if end.code == "T9")
    assert line.verdict == hornbeam.verdict == "suits if"
    assert any("mm wide" in condition for condition in hornbeam.conditions)
    assert hornbeam.care_use > 1 and hornbeam.hold_use < 1


def test_the_rules_of_the_place_stand_apart(lines):
    clauses = {c.clause: c.answer for c in lines["L2"].anchors[0].rules.clauses}
    assert clauses["trunk diameter"] == "not met" and clauses["padding"] == "met"
    assert any(c.answer == "not met" for c in lines["L5"].anchors[0].rules.clauses)  # 25 mm strap, yet not a reason
    assert "strap" not in reasons(lines["L5"])


def test_every_answer_carries_cautions_assumptions_and_flags(park):
    assert len(park.cautions) >= 5 and len(park.assumptions) > 20
    assert {a.flag for a in park.assumptions} <= {"read", "derived", "judgement", "memory"}


def test_the_same_record_gives_the_same_answer(park):
    again = assess(read_record(EXAMPLES / "brindlewick" / "park.yaml"))
    assert json.dumps(to_dict(again), sort_keys=True) == json.dumps(to_dict(park), sort_keys=True)


def test_inventory_rows_alone_end_in_cannot_say_and_name_what_is_missing():
    # New York City 2015 street tree census, rows 196487, 196485, 196483; CC0 in its GBIF republication
    result = assess(read_record(EXAMPLES / "new_york_rows" / "rows_only.yaml"))
    (line,) = result.lines
    assert line.verdict == "cannot say"
    said = reasons(line)
    for thing in ("tie height", "lean", "slope", "roots by sector", "stop sign: bracket fungus", "standing tension"):
        assert thing in said
    assert all(tree.verdict == "cannot say" for tree in result.trees)


def test_the_same_rows_with_invented_readings_are_decided():
    result = assess(read_record(EXAMPLES / "new_york_rows" / "rows_with_invented_readings.yaml"))
    (line,) = result.lines
    assert line.verdict in ("suits", "suits if")
    assert all(not end.evidence.missing for end in line.anchors)
    # the tape of 91 ft is the distance between the census positions, by their own state-plane columns 27.7 m
    assert line.geometry.distance_m == pytest.approx(27.7, abs=0.1) and line.geometry.level == "agrees"


@pytest.mark.parametrize("name", ["rows_only.yaml", "rows_with_invented_readings.yaml"])
def test_the_census_keeps_its_credit(name):
    text = (EXAMPLES / "new_york_rows" / name).read_text()
    assert "CC0" in text and "New York City 2015 street tree census" in text
