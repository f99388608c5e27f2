"""Answers that were kinder than the line deserved: each stays as strict as it was made."""

from __future__ import annotations

import math

import pytest
from parks import record

from siteassess.advice.assess import assess
from siteassess.advice.changes import applied


def judged(edits: dict | None = None):
    return assess(record(edits)).lines[0]


def finding_of(line, about: str):
    return [finding for finding in line.findings if finding.about == about]


# ---- gear


def shackle(kilonewtons: float, meaning: str = "breaking strength"):
    return judged({"L1.gear": [{"what": "shackle", "rating": f"{kilonewtons} kN", "rating_is": meaning}]})


def test_gear_weaker_than_the_load_is_left():
    line = shackle(3)
    assert line.verdict == "leave it" and "weaker than the load" in finding_of(line, "gear")[0].says


def test_gear_under_the_wanted_factor_suits_only_if_it_is_replaced():
    hardest = max(load.tension_n for end in shackle(50).anchors for load in end.loads) / 1e3
    line = shackle(math.floor(20 * hardest) / 10)
    assert line.verdict == "suits if"
    assert finding_of(line, "gear")[0].condition == "shackle is replaced by stronger gear"
    assert shackle(math.ceil(3.1 * hardest)).verdict == judged().verdict == "suits"


def test_a_working_load_limit_that_is_passed_asks_for_stronger_gear():
    assert shackle(3, "working load limit").verdict == "suits if"
    assert shackle(1, "working load limit").verdict == "leave it"


def test_gear_that_was_not_checked_stays_neutral():
    assert judged({"L1.gear": []}).gear[0].startswith("gear: not checked")
