"""What must hold for every tree and every pull: more tree, less pull, drier ground never raise the use."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from parks import SIGNS, record

from siteassess.advice.assess import assess
from siteassess.advice.changes import TreeEnd
from siteassess.advice.hold import Pulls, root_limits, stem_limits, together
from siteassess.advice.judge import judge_hold
from siteassess.advice.verdict import VERDICTS

QUICKLY = settings(max_examples=25, deadline=None)
SECTORS = ("N", "NE", "E", "SE", "S", "SW", "W", "NW")
STATES = ("covered", "tips", "ridges over 5 cm", "undercut", "cut", "hard surface")
RANK = VERDICTS.index


@st.composite
def trees(draw) -> dict:
    """Edits that make T1 some tree or other, everything about it looked at."""
    girth = draw(st.integers(70, 300))
    edits = {
        "T1.trunk.0.girth": f"{girth} cm", "T1.height": f"{draw(st.integers(5, 30))} m",
        "T1.height_how": draw(st.sampled_from(["measured", "estimated"])),
        "T1.lean": f"{draw(st.integers(0, 12))} deg", "T1.lean_toward": f"{draw(st.integers(0, 359))} deg",
        "T1.ground.wetness": draw(st.sampled_from(["moist", "wet", "standing water"])),
        "T1.ground.slope": f"{draw(st.integers(0, 30))} deg", "T1.crown_base": "2 m",
        "L1.a.tie_height": f"{draw(st.integers(5, 25)) / 10} m",
        "L1.standing.tension": f"{draw(st.integers(10, 80)) / 10} kN",
    }  # fmt: skip
    if draw(st.booleans()):
        edits |= {f"T1.roots.{sector}": draw(st.sampled_from(STATES)) for sector in SECTORS}
    if draw(st.booleans()):
        wall = draw(st.floats(0.35, 0.9)) * girth / (2 * math.pi) - 4
        edits["T1.hollow"] = {"height": "1 m", "sound_wall": f"{max(wall, 1):.1f} cm"}
    return edits


def setting(edits: dict, bearing: float = 90.0) -> TreeEnd:
    made = record(edits)
    line, tree = made.lines[0], made.anchor("T1")
    return TreeEnd(line, "A", tree, 20.0, bearing, 54.5, line.planned.date)


def uses(edits: dict, bearing: float = 90.0) -> list[float | None]:
    return [limit.use for limit in judge_hold(setting(edits, bearing).case()).limits]


def never_more(worse: list[float | None], better: list[float | None]) -> None:
    """Every limit that could be judged in both is used no more in the better."""
    assert len(worse) == len(better)
    for before, after in zip(worse, better):
        if before is not None:
            assert after is not None and after <= before * (1 + 1e-9)


@QUICKLY
@given(trees(), st.integers(1, 60))
def test_a_thicker_trunk_of_the_same_height_is_never_used_more(edits, more):
    # without a bank or an edge, whose reach grows with the trunk, and with the hollow growing along
    edits = {path: value for path, value in edits.items() if "hollow" not in path and "roots" not in path}
    girth = int(edits["T1.trunk.0.girth"].split()[0])
    thick = uses(edits | {"T1.trunk.0.girth": f"{girth + more} cm"})
    never_more(uses(edits), thick)


@QUICKLY
@given(trees())
def test_drier_ground_is_never_used_more(edits):
    soaked, wet, moist = (uses(edits | {"T1.ground.wetness": state}) for state in ("standing water", "wet", "moist"))
    never_more(soaked, wet)
    never_more(wet, moist)
    never_more(uses(edits | {"T1.ground.wetness": "frozen"}), moist)


@QUICKLY
@given(trees(), st.floats(0.5, 0.99))
def test_lower_ties_are_never_used_more(edits, share):
    tie = float(edits["L1.a.tie_height"].split()[0])
    high = edits | {"L1.b.tie_height": f"{tie} m"}
    low = edits | {f"L1.{end}.tie_height": f"{share * tie:.3f} m" for end in "ab"}
    never_more(uses(high), uses(low))


@QUICKLY
@given(trees(), st.floats(0.4, 0.99))
def test_a_slacker_line_is_never_used_more(edits, share):
    pull = float(edits["L1.standing.tension"].split()[0])
    never_more(uses(edits), uses(edits | {"L1.standing.tension": f"{share * pull:.3f} kN"}))


@QUICKLY
@given(trees(), st.integers(30, 74))
def test_a_lighter_walker_is_never_used_more(edits, mass):
    never_more(uses(edits), uses(edits | {"L1.walkers.mass": f"{mass} kg"}))


@QUICKLY
@given(trees(), st.sampled_from(SECTORS))
def test_fewer_lost_roots_are_never_used_more(edits, sector):
    never_more(uses(edits | {f"T1.roots.{sector}": "cut"}), uses(edits | {f"T1.roots.{sector}": "covered"}))


@QUICKLY
@given(trees(), st.floats(0.0, 0.99))
def test_less_lean_is_never_used_more(edits, share):
    lean = float(edits["T1.lean"].split()[0])
    never_more(uses(edits), uses(edits | {"T1.lean": f"{share * lean:.3f} deg"}))


@QUICKLY
@given(trees(), st.integers(0, 7), st.integers(0, 359))
def test_turning_the_pull_and_the_sectors_together_changes_nothing(edits, turns, bearing):
    roots = {sector: edits.get(f"T1.roots.{sector}", "covered") for sector in SECTORS}
    turned = edits | {f"T1.roots.{SECTORS[(i + turns) % 8]}": roots[sector] for i, sector in enumerate(SECTORS)}
    turned["T1.lean_toward"] = f"{(int(edits['T1.lean_toward'].split()[0]) + 45 * turns) % 360} deg"
    before, after = uses(edits, bearing), uses(turned, (bearing + 45 * turns) % 360)
    for one, other in zip(before, after):
        assert (one is None) == (other is None)
        assert one is None or one == pytest.approx(other, rel=1e-9)


# every answer that says "no" or "none", and what it looks like when nobody looked
NO_AND_NOT_LOOKED = [
    *(f"T1.signs.{sign}" for sign in SIGNS), "T1.hard_edge_near", "T1.ground.shallow", "T1.designated",
]  # fmt: skip


@pytest.mark.parametrize("path", NO_AND_NOT_LOOKED)
def test_an_answer_moved_from_no_to_not_looked_never_improves_a_verdict(path):
    for base in ({}, {"T1.height": "8 m", "L1.a.tie_height": "2.5 m"}, {"T1.signs.nest_in_use": "yes"}):
        known = assess(record({path: "no"} | base)).lines[0].verdict
        unseen = assess(record(base | {path: "not looked"})).lines[0].verdict
        if path in base:
            continue
        assert RANK(unseen) >= RANK(known)


@pytest.mark.parametrize("sector", SECTORS)
def test_a_side_not_looked_at_never_improves_a_verdict(sector):
    known = assess(record()).lines[0].verdict
    assert RANK(assess(record({f"T1.roots.{sector}": "not looked"})).lines[0].verdict) >= RANK(known)


@pytest.mark.parametrize("field", ["lean", "ground.slope", "height", "bark", "species", "stems", "position"])
def test_a_field_left_out_never_improves_a_verdict(field):
    blank = {"stems": "unknown"}.get(field)
    without = assess(record({f"T1.{field}": blank})).lines[0].anchors[0]
    assert RANK(without.verdict) >= RANK("suits")
    assert without.evidence.known < assess(record()).lines[0].anchors[0].evidence.known


PULL = st.floats(100, 2e4)
LINES = st.lists(st.tuples(PULL, st.floats(0, 359), st.floats(0.5, 2.5)), min_size=1, max_size=4)


@QUICKLY
@given(LINES)
def test_the_trunk_under_several_lines_bends_by_their_vector_sum_at_each_section(lines):
    tree = setting({}).case().tree
    pulls = [Pulls.single(("one",), *line, 0.2) for line in lines]
    joint = together(pulls[0], tuple(pulls[1:]), tree.root_diameter)
    found, _ = stem_limits(tree, joint, 1.5)
    pull, bearing, tie = np.array(lines).T
    heights = [0.3, *sorted({t for t in tie if t > 0.3})] if len(lines) > 1 else [0.3]
    # the sections between come after these
    arms = np.maximum(tie - np.array(heights)[:, None], 0.0) * pull
    expected = np.hypot(*((arms * of(np.radians(bearing))).sum(axis=1) for of in (np.sin, np.cos)))
    assert found.demand[0, : len(heights)] == pytest.approx(expected, rel=1e-9, abs=1e-6)


def test_opposed_lines_cancel_together_but_each_is_judged_alone():
    tree = setting({}).case().tree
    east, west = (Pulls.single(("line",), 5000.0, bearing, 1.2, 0.2) for bearing in (90.0, 270.0))
    both = east.then(together(east, (west,), tree.root_diameter))
    use = root_limits(tree, both, 1.5)[0].use.max(axis=1)
    assert use[1] < 1e-9 < use[0]


def test_lines_opposed_at_two_heights_bend_the_trunk_between_them():
    tree = setting({}).case().tree
    low, high = Pulls.single(("low",), 6000.0, 90.0, 1.0, 0.2), Pulls.single(("high",), 3000.0, 270.0, 2.0, 0.2)
    found, _ = stem_limits(tree, together(low, (high,), tree.root_diameter), 1.5)
    # about 1 m, where only the upper line bends: 3 kN x 1 m
    assert found.demand[0, 1] == pytest.approx(3000.0)


@QUICKLY
@given(trees(), st.floats(0, 359))
def test_a_pull_of_unknown_bearing_is_never_kinder_than_any_bearing(edits, bearing):
    unknown, known = uses(edits, math.nan), uses(edits, round(bearing / 45) * 45 % 360)
    for one, other in zip(unknown, known):
        assert one is None or (other is not None and one >= other * (1 - 1e-9))


def test_the_same_record_gives_the_same_answer():
    edits = {"T1.height": "9 m", "L1.a.tie_height": "2.4 m"}
    assert repr(assess(record(edits))) == repr(assess(record(edits)))  # what is not known is NaN, which is no other


def test_a_lean_across_the_pull_counts_as_a_vector():
    upright, across = (uses({"T1.lean": lean, "T1.lean_toward": "0 deg"}) for lean in ("0 deg", "8 deg"))
    along = uses({"T1.lean": "8 deg", "T1.lean_toward": "90 deg"})
    for one, two, three in zip(upright, across, along):
        assert one < two < three
