"""A permission that is over before the line comes down is told on every paper, and costs a condition."""

from __future__ import annotations

import pytest
from parks import record

from siteassess.advice.assess import assess
from siteassess.advice.verdict import VERDICTS
from siteassess.papers.terminal import summary
from siteassess.reference.findings import wording


def judged(ends: str | None, **planned):
    permission = {"basis": "permit", "expires": ends} if ends else {"basis": "permit"}
    return assess(record({"site.permission": permission, "L1.planned": {"date": "2026-04-20", "attended": "always",
                                                                        **planned}}))  # fmt: skip


@pytest.mark.parametrize("ends, planned, over", [
    (None, {}, False), ("2026-04-20", {}, False), ("2026-04-19", {}, True),
    ("2026-04-21", {"until": "2026-04-22"}, True),
    ("2026-04-22", {"until": "2026-04-22"}, False),
    ("2026-04-20", {"start": "20:00", "end": "07:00"}, True), ("2026-04-20", {"start": "20:00"}, False),
])  # fmt: skip
def test_a_permission_that_ends_before_the_line_does_is_a_condition(ends, planned, over):
    (line,) = judged(ends, **planned).lines
    assert ("permission-over" in {one.code for one in line.findings}) == over
    assert (line.verdict == "suits if") == over


def test_an_earlier_end_is_never_kinder():
    days = [f"2026-04-{day:02}" for day in (25, 21, 20, 19, 1)]
    words = [judged(day).lines[0].verdict for day in days]
    assert words == sorted(words, key=VERDICTS.index)


@pytest.mark.parametrize("language", ["en", "de", "fr", "es"])
def test_the_terminal_tells_it(language):
    told = " ".join(summary(judged("2026-04-19"), language=language).split())
    assert wording("permission-over", {"day": "2026-04-19", "last": "2026-04-20"}, language, "condition") in told
