"""What nobody said of a line is told as taken, and a rule that hangs on it answers that it cannot tell."""

from __future__ import annotations

import datetime
from types import SimpleNamespace

import pytest
from both_files import requested
from parks import data, record

from siteassess.advice import survey_age
from siteassess.advice.assess import assess
from siteassess.advice.verdict import worst
from siteassess.papers.handover import manner
from siteassess.places.crossings import PAST_STRIP_M
from siteassess.records.line import Line
from siteassess.records.record import Record
from siteassess.reference.constants import constant
from siteassess.reference.findings import said
from siteassess.reference.languages import SIDE_BY_SIDE
from siteassess.reference.texts import cautions

ONE, CLEAR = "one person at a time", "no road, railway, water or path over, under or beside it"
HAMMOCK = {"L1.use": "hammock", "L1.span.taped": "4 m", "L1.standing": None}
FAR = [[54.4, 2.4], [54.4, 2.6]]


def taken(edits: dict) -> tuple[str, ...]:
    (line,) = assess(record(edits), remedies=False).lines
    told = [one for one in line.findings if one.code == "not-told-and-taken"]
    assert {one.effect for one in told} <= {"suits"}
    return tuple(thing for one in told for thing in dict(one.values)["things"])


@pytest.mark.parametrize("use", [{}, HAMMOCK], ids=["low line", "hammock"])
def test_how_many_are_on_it_is_taken_for_one_and_told(use):
    assert taken(use | {"L1.walkers.at_once": None}) == (ONE, CLEAR) == taken(use | {"L1.walkers": None})
    assert taken(use) == (CLEAR,)
    alone = [assess(record(use | {"L1.walkers.at_once": people}), remedies=False).lines[0] for people in (None, 1)]
    assert len({tuple(end.hold_use for end in line.anchors) for line in alone}) == 1


@pytest.mark.parametrize("use", [{}, HAMMOCK], ids=["low line", "hammock"])
def test_that_nothing_lies_across_is_taken_and_told_where_nobody_marked_what_lies_about(use):
    for kind in ("path", "power line"):
        assert taken(use | {"site.surroundings": [{"kind": kind, "points": FAR}]}) == ()
    assert taken(use | {"site.surroundings_files": [{"file": "around.geojson"}]}) == ()
    # who marked where a watcher stands looked for nothing else
    assert taken(use | {"site.surroundings": [{"kind": "watcher place", "points": FAR[:1]}]}) == (CLEAR,)


def test_what_is_taken_is_told_in_four_languages():
    for language, wanted in zip(("en", "de", "fr", "es"), ("power line", "Stromleitung", "ligne électrique",
                                                           "línea eléctrica")):  # fmt: skip
        assert any(wanted in one for one in cautions(language))
        for code in ("power-line-unseen", "power-line-not-marked"):
            assert wanted in said(code, reach=30.0).in_words(language)


WIRE_ACROSS = {"kind": "power line", "points": [[54.499, 2.5001], [54.501, 2.5001]]}
WIRE_BESIDE = {"kind": "power line", "points": [[54.50018, 2.499], [54.50018, 2.502]]}  # 20 m north of the line


@pytest.mark.parametrize("use", [{}, HAMMOCK], ids=["low line", "hammock"])
@pytest.mark.parametrize("said_of_it, marked, verdict, code", [
    ("no", FAR, "suits", None), ("not looked", None, "suits if", "power-line-unseen"),
    # one marked elsewhere shows nothing of this line; a map file shows the large ones alone
    ("not looked", FAR, "suits if", "power-line-unseen"), ("yes", None, "cannot say", "power-line-not-marked"),
    ("yes", FAR, "cannot say", "power-line-not-marked"), ("yes", WIRE_BESIDE, "suits if", None),
    ("not looked", WIRE_BESIDE, "suits if", "power-line-unseen"),  # nor one drawn far off that no other runs nearer
    ("no", WIRE_BESIDE, "suits if", None),
    ("yes", WIRE_ACROSS, "leave it", None), ("no", WIRE_ACROSS, "leave it", None),
])  # fmt: skip
def test_a_power_line_nobody_looked_for_is_a_condition_and_one_that_is_placed_judged_there(
    use, said_of_it, marked, verdict, code
):
    wire = {"kind": "power line", "points": FAR} if marked is FAR else marked
    edits = use | {"L1.power_line": said_of_it, "site.surroundings": [wire] if wire else []}
    if use:  # a hammock's ends stand 4 m apart
        edits |= {"T2.position.lon": 2.5 + 4.0 / 64_790.0}
    (line,) = assess(record(edits), remedies=False).lines
    found = {one.code: one.effect for one in line.findings if one.code.startswith("power-line")}
    assert found == ({code: verdict} if code else {})
    assert worst([verdict, line.verdict]) == line.verdict
    around = [one.effect for one in line.findings if one.about in ("surroundings", "power line")]
    assert worst(["suits", *around]) == verdict


PYLON = {"kind": "power line", "points": [[54.50018, 2.5001]]}
STUB = {"kind": "power line", "points": [[54.50018, 2.5001], [54.50018, 2.5002]]}  # 6 m beside a line of 20 m
ZIGZAG = {"kind": "power line", "points": [[54.50018, 2.5001 + 0.0001 * (turn % 2)] for turn in range(6)]}
OUT_OF_REACH = {"kind": "power line", "points": [[54.500285, 2.499], [54.500285, 2.502]], "width": "0 m"}  # 31.7 m off


@pytest.mark.parametrize("mark", [PYLON, STUB, ZIGZAG, OUT_OF_REACH],
                         ids=["pylon", "stub", "to and fro", "out of reach"])
@pytest.mark.parametrize("said_of_it, verdict, code", [("yes", "cannot say", "power-line-not-marked"),
                                                       ("not looked", "suits if", "power-line-unseen")])  # fmt: skip
def test_a_mark_that_does_not_show_where_the_wire_runs_places_none(said_of_it, verdict, code, mark):
    """A pole is where a wire hangs, not where it runs; beside a wire that is drawn it takes nothing back."""
    sure = {f"{tree}.position.accuracy": "0.1 m" for tree in ("T1", "T2")}
    edits = sure | {"L1.power_line": said_of_it, "site.surroundings": [mark]}
    (line,) = assess(record(edits), remedies=False).lines
    assert {one.code for one in line.findings if one.code.startswith("power-line")} == {code}
    assert line.verdict == verdict
    (line,) = assess(record(edits | {"site.surroundings": [mark, WIRE_BESIDE]}), remedies=False).lines
    left = {one.code for one in line.findings if one.code.startswith("power-line")}
    assert left == ({"power-line-unseen"} if said_of_it == "not looked" else set())


def test_the_question_asks_as_far_as_a_marked_power_line_is_told():
    assert f"within {PAST_STRIP_M['power line'].value:g} m" in str(Line.model_fields["power_line"])


@pytest.mark.parametrize("people, answer", [(None, "cannot tell"), (1, "met"), (9, "not met")])
def test_a_rule_on_how_many_are_on_it_cannot_tell_where_nobody_said(people, answer):
    edits = {"site.rule_set": "fort_collins_co_us", "L1.walkers.at_once": people}
    (line,) = assess(record(edits), remedies=False).lines
    (found,) = {(one.answer, one.measured) for one in line.anchors[0].rules.clauses
                if one.clause == "people on the line"}  # fmt: skip
    assert found == (answer, str(people or "not told how many at once"))


def test_the_request_says_that_nobody_told_how_many():
    def asked(people) -> str:
        made = assess(Record.model_validate(data({"L1.walkers.at_once": people})), remedies=False)
        return requested(made, manner())

    label = manner().words("people-at-once")
    unsaid = asked(None).split(label)[1][:200]
    assert manner().words("not-recorded") in unsaid
    assert manner().words("not-recorded") not in asked(1).split(label)[1][:60]


def test_the_age_past_which_a_survey_settles_nothing_is_told_from_its_constant(monkeypatch):
    monkeypatch.setattr(survey_age, "TOO_OLD", SimpleNamespace(value=300.0))
    last = datetime.date(2027, 3, 1)
    told = survey_age.survey_findings(last - datetime.timedelta(days=310), last, last, True)[-1]
    assert told.effect == "cannot say" and constant("survey too old").value != 300
    for language in SIDE_BY_SIDE:
        words = told.in_words(language)
        assert "300" in words and "310" in words


@pytest.mark.parametrize("factor, written", [(2.96, "2.9"), (3.0, "3.0"), (3.04, "3.0"), (2.9999999999999996, "3.0")])
def test_a_factor_just_short_is_not_told_as_the_one_wanted(factor, written):
    piece, place = said("name-alone", name="X"), said("kind-alone", kind="shackle")
    for code in ("gear-short", "gear-too-weak"):
        values = {"piece": piece, "place": place, "factor": factor, "wanted": 3.0}
        for language in SIDE_BY_SIDE:
            number = written if language == "en" else written.replace(".", ",")
            assert f" {number}" in said(code, **values).in_words(language)
