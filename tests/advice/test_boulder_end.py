"""A boulder as one end of a line."""

from __future__ import annotations

import pytest
from parks import record

from siteassess.advice.assess import assess
from siteassess.advice.changes import applied
from siteassess.advice.deciding import boulder_deciding
from siteassess.advice.results import VERDICTS

BOULDER = {
    "kind": "boulder", "code": "T2", "position": {"lat": 54.5, "lon": 2.5 + 20.0 / 64_790.0}, "along_pull": "2.4 m",
    "across_pull": "2 m", "upright": "1.8 m", "rock": "granite", "bed": "rock", "slope": "0 deg", "embedded": "no",
    "edge_distance": "20 m", "rocks_when_pushed": "no", "cracked": "no", "posted_no": "no",
}  # fmt: skip


def end_b(edits: dict | None = None, **changes):
    boulder = {name: value for name, value in (BOULDER | changes).items() if value is not None}
    made = record({"anchors.1": boulder, "L1.b.tie_height": "0.8 m"} | (edits or {}))
    return assess(made).lines[0].anchors[1], made


def test_a_large_block_on_level_rock_suits():
    # 0.52 x 2.4 x 2 x 1.8 m3 of 2,600 kg/m3 weigh 114 kN; half of it slides it: 57 kN; its 5 % value, 0.56 of that,
    # over 1.5 allows 21 kN, and 4.4 kN along it are asked: 1.6 times the walked 3.1 kN, less what the taped ground ends
    end, _ = end_b()
    assert end.verdict == "suits"
    sliding = end.limits[0]
    assert sliding.allowable == pytest.approx(21e3, rel=0.03) and sliding.use == pytest.approx(0.207, abs=0.02)
    assert sliding.use_p05 < sliding.use < sliding.use_p95


def test_a_small_block_is_left_and_no_change_is_promised_that_does_not_hold():
    end, made = end_b(along_pull="1 m", across_pull="1 m", upright="0.9 m")
    assert end.hold_use > 1
    for remedy in end.remedies:
        after = assess(applied(made, "L1", "B", remedy)).lines[0].anchors[1]
        assert VERDICTS.index(after.verdict) <= VERDICTS.index(remedy.reaches)


def test_a_block_somewhat_too_light_is_mended_by_less_pull():
    end, made = end_b({"L1.standing.tension": "5 kN", "L1.ground": []}, along_pull="1.8 m", across_pull="1.5 m",
                      upright="1.4 m")  # fmt: skip
    assert end.hold_use > 1 and end.verdict == "suits if"
    assert {"standing tension"} <= {remedy.field for remedy in end.remedies}
    for remedy in end.remedies:
        assert assess(applied(made, "L1", "B", remedy)).lines[0].anchors[1].verdict == remedy.reaches


@pytest.mark.parametrize("field", ["rocks_when_pushed", "cracked", "posted_no"])
def test_each_sign_seen_leaves_it_and_each_not_looked_at_cannot_say(field):
    assert end_b(**{field: "yes"})[0].verdict == "leave it"
    assert end_b(**{field: "not looked"})[0].verdict == "cannot say"


@pytest.mark.parametrize("field", ["along_pull", "rock", "bed", "slope", "edge_distance", "embedded"])
def test_each_deciding_thing_not_looked_at_cannot_say(field):
    assert end_b(**{field: None})[0].verdict == "cannot say"


def test_an_edge_nearer_than_the_block_is_long_cannot_say():
    assert end_b(edge_distance="2 m")[0].verdict == "cannot say"


def test_the_lines_own_deciding_things_count_at_a_boulder_too():
    end, _ = end_b({"L1.walkers": None})
    assert "walker" in end.evidence.missing and end.evidence.deciding == boulder_deciding("low line")
    assert end_b({"L1.standing": None})[0].verdict == "cannot say"


def test_a_slope_toward_the_pull_makes_it_slide_sooner():
    uses = [end_b(slope=f"{slope} deg", downhill="270 deg")[0].hold_use for slope in (0, 5, 10)]
    assert uses == sorted(uses) and uses[0] < uses[2]


def test_several_lines_on_one_boulder_cannot_say():
    _, made = end_b()
    second = made.lines[0].model_copy(update={"id": "L2"})
    end = assess(made.model_copy(update={"lines": (made.lines[0], second)})).lines[0].anchors[1]
    assert end.verdict == "cannot say" and any("L2 may hang on this boulder" in says for says in end.reasons)
