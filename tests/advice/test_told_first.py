"""What is told first of an end or a line: the worst effect, then the least rank, then the larger use."""

from __future__ import annotations

import copy

import pytest
from answers_as_before import records

from siteassess.advice.assess import assess
from siteassess.advice.finding import found, told_first
from siteassess.advice.verdict import VERDICTS
from siteassess.errors import UnknownName
from siteassess.papers.as_json import to_dict
from siteassess.papers.terminal_short import short
from siteassess.records.record import Record
from siteassess.reference.languages import SIDE_BY_SIDE
from siteassess.reference.pages import plain

RECORDS = records()


def limit(effect, name, use):
    codes = {"leave it": "limit-exceeded", "suits if": "limit-watched", "suits": "limit-within"}
    return found(codes[effect], effect, limit=name, case="bounced", use=use)


def test_the_worst_effect_comes_first_then_rank_then_use():
    bark = found("loose-bark-seen", "suits if")
    sign = found("stop-sign-seen", "leave it", sign="dead tree")
    stem, roots, watched = (limit(*one) for one in (
        ("leave it", "stem", 1.2), ("leave it", "root plate", 1.8), ("suits if", "stem", 0.9)))  # fmt: skip
    missing = found("not-looked-at", "cannot say", looked_at=False, things=("lean",))
    within = limit("suits", "stem", 0.3)
    assert told_first([within, bark, stem, missing, watched, roots, sign]) == (
        sign, roots, stem, missing, watched, bark, within)  # fmt: skip


def test_what_is_only_said_within_a_finding_is_none():
    with pytest.raises(UnknownName, match="no rank"):
        found("even-at-its-kindest", "leave it")


@pytest.mark.parametrize("name", list(RECORDS)[::12])
def test_of_a_whole_answer_the_first_told_is_the_worst_effects_least_rank(name):
    judged = assess(Record.model_validate(copy.deepcopy(RECORDS[name])), remedies=False)
    line, shown = judged.lines[0], short(judged)
    for end in line.anchors:
        first = end.deciding_finding
        assert first.effect == end.verdict
        assert first.rank == min(one.rank for one in end.findings if one.effect == end.verdict)
        assert sorted(map(id, end.ordered)) == sorted(map(id, end.findings))  # nothing lost, nothing told twice
    where, first = line.deciding_finding
    everything = [*line.findings, *(one for end in line.anchors for one in end.findings)]
    assert first.effect == line.verdict == max((one.effect for one in everything), key=VERDICTS.index)
    assert first.rank == min(one.rank for one in everything if one.effect == line.verdict)
    told = to_dict(judged)["lines"][0]
    assert [one["code"] for one in told["findings"]] == [one.code for one in line.ordered]
    if line.verdict != "suits":
        part = "condition" if line.verdict == "suits if" else "short"
        assert plain(first.in_words("en", part)) in " ".join(shown.split())
    for one in everything:
        for language in SIDE_BY_SIDE:
            brief = one.in_words(language, "short")
            assert 0 < len(brief) <= 60, (one.code, language, brief)
