"""A boulder as one end of a line."""

from __future__ import annotations

import random

import pytest
from applied_remedy import applied
from parks import record

from siteassess.advice.assess import assess
from siteassess.advice.verdict import VERDICTS, boulder_deciding

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


@pytest.mark.parametrize("lacks", [
    {"slope": None}, {"edge_distance": None}, {"embedded": None}, {"edge_distance": "1 m"},
    {"slope": None, "embedded": None},
    {"slope": "28 deg", "downhill": "90 deg"}, {"slope": "10 deg", "downhill": None},
])  # fmt: skip
def test_a_block_too_small_is_left_whatever_was_not_looked_at(lacks):
    """Half a cubic metre under a long line's pull slides and tips on the best bed and level ground as well."""
    small = {"along_pull": "0.9 m", "across_pull": "0.8 m", "upright": "0.7 m"}
    low = {"L1.b.tie_height": "0.4 m"}
    found, _ = end_b(low, **small)
    assert found.verdict == "leave it" and found.hold_use > 1.5
    assert end_b(low, **small, **lacks)[0].verdict == "leave it"


def test_a_steeper_bed_is_never_kinder_though_the_block_may_slide_by_itself():
    """Past the slope on which its own footing is in doubt nothing is worked out: what lesser ones leave is left."""
    words = [end_b(slope=f"{slope} deg", downhill="270 deg")[0].verdict for slope in range(0, 45, 3)]
    assert words == sorted(words, key=VERDICTS.index) and {"suits", "leave it"} == {words[0], words[-1]}
    uphill = [end_b(slope=f"{slope} deg", downhill="90 deg")[0].verdict for slope in (0, 18, 40)]
    assert uphill == ["suits", "suits", "cannot say"], "no lesser slope was too much for a pull uphill"


@pytest.mark.parametrize("part", ["standing", "webbing"])
def test_a_block_too_small_for_any_line_is_left_without_the_lines_numbers(part):
    tiny = {"along_pull": "0.4 m", "across_pull": "0.4 m", "upright": "0.3 m"}
    assert end_b({f"L1.{part}": None, "L1.b.tie_height": "0.2 m"}, **tiny)[0].verdict == "leave it"


def test_the_lines_own_deciding_things_count_at_a_boulder_too():
    end, _ = end_b({"L1.walkers": None})
    assert "walker" in end.evidence.missing and end.evidence.deciding == boulder_deciding("low line")
    assert end_b({"L1.standing": None})[0].verdict == "cannot say"


def test_a_slope_toward_the_pull_makes_it_slide_sooner():
    uses = [end_b(slope=f"{slope} deg", downhill="270 deg")[0].hold_use for slope in (0, 5, 10)]
    assert uses == sorted(uses) and uses[0] < uses[2]


def test_a_slope_nobody_said_the_way_of_is_not_taken_to_run_toward_the_pull_where_that_alone_rejects():
    """Pulled uphill the block holds: "cannot say", and its downhill is asked for."""
    end, _ = end_b(slope="12 deg", downhill=None, along_pull="1.6 m", across_pull="1.6 m", upright="1.28 m")
    assert end.limits[0].use > 1.2 and end.verdict == "cannot say"
    downhill, uphill = (end_b(slope="12 deg", downhill=f"{way} deg", along_pull="1.6 m", across_pull="1.6 m",
                              upright="1.28 m")[0] for way in (270, 90))  # fmt: skip
    assert downhill.limits[0].use == pytest.approx(end.limits[0].use) and uphill.hold_use < 1


def test_several_lines_on_one_boulder_cannot_say():
    _, made = end_b()
    second = made.lines[0].model_copy(update={"id": "L2"})
    end = assess(made.model_copy(update={"lines": (made.lines[0], second)})).lines[0].anchors[1]
    assert end.verdict == "cannot say" and any("L2 may hang on this boulder" in says for says in end.reasons)


# ---- worse in one way


BEDS = ("rock", "soil", "grass", "wet soil")  # from the roughest to the slickest
ROCKS = ("basalt", "granite", "limestone", "sandstone", "other")  # from the heaviest
KINDEST = {"slope": "0 deg", "downhill": None, "edge_distance": "20 m", "embedded": "deeply", "rock": "basalt",
           "bed": "rock"}  # fmt: skip


def _drawn(draw: random.Random) -> dict:
    size = draw.uniform(0.9, 2.4)
    return {"along_pull": f"{size:.2f} m", "across_pull": f"{size * draw.uniform(0.6, 1.2):.2f} m",
            "upright": f"{size * draw.uniform(0.5, 0.9):.2f} m", "rock": draw.choice(ROCKS), "bed": draw.choice(BEDS),
            "slope": f"{draw.choice((0, 3, 8, 15))} deg", "downhill": draw.choice((None, "90 deg", "270 deg")),
            "edge_distance": f"{draw.choice((1, 4, 20))} m",
            "embedded": draw.choice(("no", "partly", "deeply"))}  # fmt: skip


def _worse(block: dict, draw: random.Random):
    """The block made worse in each way there is."""
    for size in ("along_pull", "across_pull"):
        yield size, {size: f"{float(block[size].split()[0]) * 0.9:.3f} m"}
    if block["downhill"] != "90 deg":  # a bed that falls away from the pull holds the better the steeper
        yield "slope", {"slope": f"{float(block['slope'].split()[0]) + 4} deg", "downhill": "270 deg"}
    yield "edge", {"edge_distance": f"{float(block['edge_distance'].split()[0]) / 2} m"}
    for name, order in (("rock", ROCKS), ("bed", BEDS), ("embedded", ("deeply", "partly", "no"))):
        if block[name] != order[-1]:
            yield name, {name: order[order.index(block[name]) + 1]}
    for name in ("slope", "edge_distance", "embedded", "rock", "bed"):
        yield f"withheld {name}", {name: None}


@pytest.mark.parametrize("seed", range(12))
def test_no_block_improves_by_getting_worse(seed):
    draw = random.Random(seed)
    block, edits = _drawn(draw), {"L1.standing.tension": f"{draw.uniform(1, 7):.1f} kN", "L1.b.tie_height": "0.3 m"}
    before, _ = end_b(edits, **block)
    for name, change in _worse(block, draw):
        after, _ = end_b(edits, **block | change)
        better = VERDICTS.index(after.verdict) < VERDICTS.index(before.verdict)
        if better and name.startswith("withheld") and after.verdict == "cannot say":
            kind = {what: KINDEST[what] for what in change}
            better = end_b(edits, **block | kind)[0].verdict == "leave it"  # left whatever it is
        assert not better, (name, before.verdict, after.verdict)
        if None not in (before.hold_use, after.hold_use):
            assert after.hold_use >= before.hold_use * (1 - 1e-9), name


@pytest.mark.parametrize("tie", ["0.4 m", None])
def test_a_hammock_on_a_small_block_is_left_whether_or_not_its_tie_was_taped(tie):
    """Where it hangs at its kindest lies above the block, at which no tie could sit."""
    hung = {"L1.use": "hammock", "L1.standing": None, "L1.webbing": None, "L1.ground": None, "L1.compass": None,
            "L1.span.taped": "4 m", "L1.a.tie_height": "1.5 m", "L1.b.tie_height": tie}  # fmt: skip
    near = {"lat": 54.5, "lon": 2.5 + 4.0 / 64_790.0}
    end, _ = end_b(hung, position=near, along_pull="0.6 m", across_pull="0.6 m", upright="0.5 m")
    assert end.verdict == "leave it"
