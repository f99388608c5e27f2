"""Answers that were kinder than the record: signs, dates, links, pads and names that once passed unheard."""

from __future__ import annotations

import pytest
from parks import record

from siteassess.advice.assess import assess


def judged(edits: dict | None = None, **asked):
    """The line of the plain record, with edits."""
    (line,) = assess(record(edits), **asked).lines
    return line


def end_of(edits: dict | None = None, **asked):
    return judged(edits, **asked).anchors[0]


def says(end, effect: str) -> str:
    return "; ".join(finding.says for finding in end.findings if finding.effect == effect)


# ---- a stop sign seen elsewhere in the record


@pytest.mark.parametrize("answer", ["no", "not looked"])
def test_an_undercut_sector_beside_a_sign_not_told_cannot_pass(answer):
    end = end_of({"T1.roots.W": "undercut", "T1.signs.undercut_roots": answer})
    assert end_of().verdict == "suits" and end.verdict == "cannot say"
    assert "the record contradicts itself: roots are undercut to the W" in says(end, "cannot say")


def test_an_undercut_sector_with_its_sign_is_a_stop_and_no_contradiction():
    end = end_of({"T1.roots.W": "undercut", "T1.signs.undercut_roots": "yes"})
    assert end.verdict == "leave it" and "contradicts" not in says(end, "cannot say")


@pytest.mark.parametrize(("opening", "contradicts"), [("130 deg", True), ("120 deg", False)])
def test_a_wide_opening_beside_a_sign_answered_no_cannot_pass(opening, contradicts):
    hollow = {"height": "0.5 m", "sound_wall": "20 cm", "opening": opening}
    end = end_of({"T1.hollow": hollow})
    assert ("the record contradicts itself" in says(end, "cannot say")) == contradicts
    assert (end.verdict == "cannot say") or not contradicts


@pytest.mark.parametrize(("wall", "refused"), [("45 cm", True), ("31 cm", True), ("20 cm", False)])
def test_a_sound_wall_thicker_than_the_radius_clears_no_hollow_sound(wall, refused):
    end = end_of({"T1.softer_signs": {"hollow_sound": "yes"}, "T1.hollow": {"height": "0.5 m", "sound_wall": wall}})
    assert ("leaves no hollow" in says(end, "cannot say")) == refused
    assert (end.verdict == "cannot say") == refused


def test_a_tree_without_a_line_tells_its_contradiction_too():
    trees = assess(record({"T1.roots.W": "undercut"})).trees
    assert "contradicts itself" in "; ".join(finding.says for finding in trees[0].findings)
