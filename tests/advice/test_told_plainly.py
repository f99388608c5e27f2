"""What is told beside a figure or a finding: its limits, its true case, and nothing that cannot hold at the place."""

from __future__ import annotations

import pytest
from parks import record

from siteassess.advice.assess import assess
from siteassess.papers.as_json import to_dict
from siteassess.papers.report import report_page
from siteassess.papers.terminal import summary


def line_of(edits: dict | None = None):
    (line,) = assess(record(edits)).lines
    return line


def test_no_probability_stands_without_its_limits():
    result = assess(record())
    (line,) = result.lines
    rough = [load.case for load in line.anchors[0].loads if not load.calibrated]
    assert rough and all(case in line.probability_limits for case in rough)
    assert "wind is not in it" in line.probability_limits
    page, told = report_page(result), to_dict(result)["lines"][0]
    for chance in ("Chance that the load exceeds", "Chance of exceeding what it holds"):
        for found in page.split(chance)[1:]:
            assert "wind is not in it; load cases outside the measured lines" in found.split("</p>")[0]
    assert told["probability_limits"] == line.probability_limits
    assert all("wind is not in it" in end["probability_limits"] for end in told["anchors"])


def test_limits_of_a_probability_name_no_case_that_was_measured():
    # 45 m between trees, polyester, a walker within those measured
    far = {"T2.position.lon": 2.5 + 45.0 / 64_790.0, "L1.span.taped": "45 m", "L1.walkers.mass": "60 kg",
           "L1.ground": None, "L1.standing.tension": "4 kN", "L1.use": "long line"}  # fmt: skip
    line = line_of(far)
    for load in line.anchors[0].loads:
        assert (f" {load.case}" in line.probability_limits.replace(",", "")) == (not load.calibrated)
