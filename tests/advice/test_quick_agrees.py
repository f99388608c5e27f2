"""`quick root` and `quick stem` beside the whole job, where the model does not hold: one word for one tree."""

from __future__ import annotations

import math

import numpy as np
import pytest
from parks import SECTORS, record

from siteassess.advice.assess import assess
from siteassess.advice.end_loads import HIGH_LINE_TRUNK, LEAST_TRUNK, USUAL_LEAST_TRUNK
from siteassess.advice.quick import root_answer, stem_answer
from siteassess.advice.verdict import worst
from siteassess.mechanics.roots import holding_share_lost

TIE_M = 1.2
CUT = {"W": 0.5, "SW": 0.2, "NW": 0.2}  # a quarter to a half of what holds a pull to the east


def tree(diameter: float, height: float, tension: str, **edits) -> dict:
    return {
        "T1.trunk.0.girth": f"{100 * math.pi * diameter:.4f} cm", "T1.height": f"{height:g} m", "T1.crown_base": "3 m",
        "L1.standing": {"tension": tension, "how": "load cell"}, "T1.ground.slope": "0 deg",
    } | {f"T1.{path}": value for path, value in edits.items()}  # fmt: skip


def judged(edits: dict, about: tuple[str, ...]) -> tuple[str, float]:
    """The word of one limit of the tree at A, remedies left aside, and the hardest level pull [N]."""
    end = assess(record(edits), remedies=False).lines[0].anchors[0]
    found = worst(one.effect for one in end.findings if one.about.startswith(about))
    return found, max(load.horizontal_n for load in end.loads)


@pytest.mark.parametrize(("diameter", "height", "tension", "word"), [
    (0.24, 20.0, "1 kN", "cannot say"), (0.24, 20.0, "9 kN", "leave it"),  # over 80 diameters high
    (0.45, 38.0, "2 kN", "cannot say"), (0.32, 28.0, "9 kN", "leave it"),
    (0.45, 8.0, "9 kN", "cannot say"), (0.24, 5.0, "9 kN", "cannot say"),  # squat
])  # fmt: skip
def test_slender_and_squat_trees(diameter, height, tension, word):
    found, pull = judged(tree(diameter, height, tension), ("root plate",))
    quick = root_answer(diameter, height, TIE_M, pull, "firm", 0.0, 0.0, "walked", "Quercus robur")
    assert found == quick["verdict"] == word


@pytest.mark.parametrize(("height", "tension", "word"), [
    (14.0, "2 kN", "cannot say"), (14.0, "15 kN", "leave it"), (8.0, "15 kN", "cannot say"),  # the last is squat too
])  # fmt: skip
def test_roots_lost_behind_the_pull(height, tension, word):
    cut = ("W", "SW")
    roots = dict.fromkeys(SECTORS, "covered") | dict.fromkeys(cut, "cut")
    lost = float(holding_share_lost(np.array([float(sector in cut) for sector in SECTORS]), 90.0))
    assert 0.3 < lost < 0.5
    found, pull = judged(tree(0.40, height, tension, roots=roots), ("root plate",))
    quick = root_answer(0.40, height, TIE_M, pull, "firm", 0.0, lost, "walked", "Quercus robur")
    assert found == quick["verdict"] == word


@pytest.mark.parametrize(("tension", "word"), [("2 kN", "cannot say"), ("20 kN", "leave it")])
def test_a_thin_shell(tension, word):
    hollow = {"height": "0.6 m", "sound_wall": "2 cm"}
    found, pull = judged(tree(0.25, 11.0, tension, hollow=hollow), ("stem",))
    quick = stem_answer("Quercus robur", 0.25, TIE_M, pull, 0.0, 0.02, 0.0, False, None, "walked")
    assert found == quick["verdict"] == word


@pytest.mark.parametrize("purpose, cm, verdict", [
    ("high", 39.9, "cannot say"), ("high", 25, "cannot say"), ("high", 40, "suits"), ("high", 19, "leave it"),
    ("walked", 39.9, "suits"),
])  # fmt: skip
def test_sums_alone_pass_no_trunk_for_a_high_line_that_an_answer_would_not(purpose, cm, verdict):
    """As `assess` has it under 40 cm (authors' judgement: nobody steps off a high line)."""
    root = root_answer(cm / 100, 12.0, 1.0, 200.0, "firm", 0.0, 0.0, purpose)
    stem = stem_answer("Quercus robur", cm / 100, 1.0, 200.0, 0.0, None, 0.0, False, None, purpose)
    assert (root["verdict"], stem["verdict"]) == (verdict, verdict)
    assert root_answer(cm / 100, 12.0, 1.0, 1e6, "firm", 0.0, 0.0, purpose)["verdict"] == "leave it"
    # the numbers that decide the word stand among those it rests on, each with its flag
    for answer in (root, stem):
        stated = {one.name: one.flag for one in answer["assumptions"]}
        assert stated[LEAST_TRUNK.name] == LEAST_TRUNK.flag and stated[USUAL_LEAST_TRUNK.name] == USUAL_LEAST_TRUNK.flag
        assert (HIGH_LINE_TRUNK.name in stated) == (purpose == "high")


def test_what_the_quick_sums_cannot_know_and_the_whole_job_judges_is_told():
    """A side cut behind the pull loses a sixth of what holds and is "cannot say"; a lean bends the trunk by itself."""
    roots = dict.fromkeys(SECTORS, "covered") | {"SW": "cut"}
    lost = float(holding_share_lost(np.array([float(sector == "SW") for sector in SECTORS]), 90.0))
    found, pull = judged(tree(0.60, 18.0, "2 kN", roots=roots), ("root plate",))
    quick = root_answer(0.60, 18.0, TIE_M, pull, "firm", 0.0, lost, "walked", "Quercus robur")
    assert (found, quick["verdict"]) == ("cannot say", "suits")
    assert any("cut behind the pull" in why.in_words() for why in quick["reasons"])
    whole = root_answer(0.60, 18.0, TIE_M, pull, "firm", 0.0, 0.0, "walked", "Quercus robur")
    assert not any("cut behind the pull" in why.in_words() for why in whole["reasons"])
    leaning, pull = judged(tree(0.85, 40.0, "2 kN", lean="14 deg", lean_toward="90 deg"), ("stem",))
    stem = stem_answer("Quercus robur", 0.85, TIE_M, pull, 0.3, None, 0.0, False, None, "walked")
    assert leaning != stem["verdict"] == "suits"
    assert any("taken as upright" in why.in_words() for why in stem["reasons"])


@pytest.mark.parametrize("rest", ["covered", "not looked"])
def test_more_than_half_lost_is_left_whatever_the_other_sides_are(rest):
    cut = ("W", "SW", "NW", "S", "N")
    roots = dict.fromkeys(SECTORS, "covered") | dict.fromkeys(cut, "cut") | {"E": rest}
    end = assess(record(tree(0.60, 18.0, "1 kN", roots=roots))).lines[0].anchors[0]
    assert [one.effect for one in end.findings if one.about == "roots"] == ["leave it"]
