"""Every shipped rule set, clause by clause: a record that just meets it and one that just breaks it.

The cases are made from each clause's own number, name or month. A clause that a record can only leave open (padding
that was not written down is not padding that is missing) has no breaking case, and the few sets that can reach only
one of the two answers say why.
"""

from __future__ import annotations

import json
from dataclasses import replace
from datetime import date
from typing import get_args

import pytest
from parks import record
from rule_cases import answer_of, case, held, mark, use_for

from siteassess.advice.assess import assess
from siteassess.advice.rule_hours import MONTH_NAMES, hours_clause
from siteassess.advice.rule_sizes import MARKED_AS, in_unit
from siteassess.advice.rules import check_end, pads_asked, rule_set_of
from siteassess.reference.findings import said, word
from siteassess.reference.languages import SIDE_BY_SIDE as LANGUAGES
from siteassess.reference.rules import (
    ClockEvent,
    CountClause,
    HoursClause,
    ListClause,
    LookClause,
    MonthsClause,
    RuleSet,
    SizeClause,
    ThingClause,
    rule_ids,
    rule_set,
)

ONE_ANSWER = {
    "san_luis_obispo_ca_us": ("met", "its one clause names places; a place it does not name is not thereby allowed"),
}

CASES = [
    pytest.param(rule_id, clause, good, id=f"{rule_id}-{clause.id}-{'met' if good else 'broken'}")
    for rule_id in rule_ids() for clause in rule_set(rule_id).clauses for good in (True, False)
    if case(clause, good) is not None
]  # fmt: skip


@pytest.mark.parametrize(("rule_id", "clause", "good"), CASES)
def test_a_clause_tells_a_record_that_meets_it_from_one_that_breaks_it(rule_id, clause, good):
    rules = rule_set(rule_id)
    found = answer_of(rules, clause.id, {**use_for(rules, clause), **case(clause, good)})
    assert found.answer == ("met" if good else "not met"), found


@pytest.mark.parametrize("rule_id", rule_ids())
def test_every_set_reaches_both_answers_or_says_why_not(rule_id):
    rules = rule_set(rule_id)
    reached = {good for clause in rules.clauses for good in (True, False) if case(clause, good) is not None}
    missing, why = ONE_ANSWER.get(rule_id, ("", ""))
    assert reached == ({True, False} - ({missing == "met"} if why else set()))


@pytest.mark.parametrize("rule_id", [i for i in rule_ids() if rule_set(i).status in ("prohibited", "posts only")])
def test_a_prohibition_is_not_met_by_a_tree_whatever_else_holds(rule_id):
    rules = rule_set(rule_id)
    status = check_end(rules, held(use_for(rules, rules.clauses[0]))).clauses[0]
    assert (status.clause, status.answer) == ("status", "not met")


def test_nothing_known_is_never_met():
    """A record that says nothing beyond two anchors leaves every clause open, or broken by being a tree."""
    bare = {
        "site": {"name": "Testing Green (invented)"},
        "anchors": [{"kind": "tree", "code": "T1"}, {"kind": "tree", "code": "T2"}],
        "lines": [{"id": "L1", "use": "low line", "a": {"anchor": "T1"}, "b": {"anchor": "T2"}}],
    }
    for rule_id in rule_ids():
        checked = assess_rules(record({**bare, "site.rule_set": rule_id}))
        # one line on the tree, of a tree, by this record: the only things it does say
        known = ("lines per tree", "trees", "objects", "status")
        answered = {one.clause for one in checked if one.answer == "met" and one.clause not in known}
        # the day of the survey stands for the day of the line
        assert answered <= {"months"}, (rule_id, answered)


def assess_rules(made):
    (line,) = assess(made).lines
    return line.anchors[0].rules.clauses


def test_the_whole_way_from_a_record_that_names_its_set():
    made = record({"site.rule_set": "fort_collins_co_us", "T1.trunk": [
        {"girth": "130 cm", "read_at": "1.2 m", "how": "taped"}]})  # fmt: skip
    answers = {one.clause: one for one in assess_rules(made)}
    assert answers["trunk girth"].answer == "not met" and answers["trunk girth"].measured == "51.2 in"
    assert answers["attach height"].answer == "met" and answers["attach height"].wanted == "<= 4 ft"
    assert answers["clear stem"].answer == "met"
    assert answers["places"].answer == "cannot tell"
    sources = [one.source for one in answers.values()]
    assert all("Fort Collins" in one and "text without a date" in one for one in sources)


def test_a_record_may_carry_its_own_rules():
    own = {**rule_set("lausanne_ch").model_dump(mode="json", exclude_none=True), "id": "own"}
    made = record({"site.rules": json.loads(json.dumps(own))})
    assert rule_set_of(made).id == "own"
    assert [one.answer for one in assess_rules(made) if one.clause == "months"] == ["not met"]


def test_a_trunk_read_at_two_heights_answers_only_where_both_agree():
    at = {"T1.trunk": [{"girth": "140 cm", "read_at": "0.6 m", "how": "taped"},
                       {"girth": "120 cm", "read_at": "1.5 m", "how": "taped"}]}  # fmt: skip
    rules = rule_set("fort_collins_co_us")  # 57 in is 144.8 cm, at 4 ft
    assert answer_of(rules, "trunk-girth", at).answer == "not met"
    at["T1.trunk"][0]["girth"] = "150 cm"
    assert answer_of(rules, "trunk-girth", at).answer == "cannot tell"
    at["T1.trunk"][1]["girth"] = "146 cm"
    assert answer_of(rules, "trunk-girth", at).answer == "met"


def test_a_distance_within_the_error_of_the_positions_stays_open():
    rules = rule_set("cincinnati_oh_us")  # 30 ft is 9.14 m from a road
    near = {"site.surroundings": [mark("road", 10.0)], "T1.position.accuracy": "2 m", "T2.position.accuracy": "2 m"}
    assert answer_of(rules, "distance-road", near).answer == "cannot tell"
    assert answer_of(rules, "distance-road", {}).answer == "cannot tell"  # none marked is not none there


@pytest.mark.parametrize("width, answer", [("0 m", "met"), (None, "cannot tell"), ("2 m", "not met")])
def test_a_width_nobody_told_leaves_a_distance_open(width, answer):
    """The road's middle lies 9.5 m off, and 30 ft (9.14 m) are asked for from its edge."""
    ((north, east),) = mark("road", 9.5)["points"]
    road = {"kind": "road", "points": [[north, east - 0.01], [north, east + 0.01]], "width": width}
    made = {"site.surroundings": [road],
            "T1.position.accuracy": "5 cm", "T2.position.accuracy": "5 cm"}  # fmt: skip
    assert answer_of(rule_set("cincinnati_oh_us"), "distance-road", made).answer == answer


def test_hours_by_the_sun_need_the_time_zone_and_stay_open_near_the_event():
    rules = rule_set("madison_wi_us")  # sunrise to 30 minutes before sunset
    when = {"L1.planned.date": "2026-06-20", "L1.planned.start": "10:00", "L1.planned.end": "20:00"}
    assert answer_of(rules, "hours", when).answer == "cannot tell"
    assert answer_of(rules, "hours", {**when, "site.time_zone": "Europe/London"}).answer == "met"
    late = {**when, "site.time_zone": "Europe/London", "L1.planned.end": "21:15"}
    found = answer_of(rules, "hours", late)
    assert found.answer == "not met" and "30 min before sunset: 20:5" in found.measured
    edge = {**late, "L1.planned.end": found.measured.rsplit(" ", 1)[1]}
    assert answer_of(rules, "hours", edge).answer == "cannot tell"
    night = {**when, "site.time_zone": "Europe/London", "L1.planned.start": "22:00", "L1.planned.end": "06:00"}
    assert answer_of(rules, "hours", night).answer == "not met"
    overnight = {**when, "site.time_zone": "Europe/London", "L1.planned.until": "2026-06-21"}
    assert answer_of(rules, "hours", overnight).answer == "cannot tell"  # it may come down in the evening


SHUT_AT_TEN = {"site.opens": "08:00", "site.closes": "22:00", "L1.planned.date": "2026-06-20"}
OPEN_HOURS = HoursClause(id="h", kind="hours", start=ClockEvent(event="park opening"),
                         end=ClockEvent(event="park closing"))  # fmt: skip


def hours_told(edits: dict):
    return hours_clause(OPEN_HOURS, held(SHUT_AT_TEN | edits))


@pytest.mark.parametrize("said_one", ["start", "end"])
@pytest.mark.parametrize("at, word", [("07:00", "not met"), ("08:00", "cannot tell"), ("22:00", "cannot tell"),
                                      ("23:00", "not met")])  # fmt: skip
def test_one_hour_outside_those_wanted_breaks_them_whatever_the_other_is(said_one, at, word):
    answer, _, told = hours_told({f"L1.planned.{said_one}": at})
    assert answer == word and told.code == ("rule-one-time" if word == "not met" else "rule-no-times")
    other = {"start": "end", "end": "start"}[said_one]
    both = {hours_told({f"L1.planned.{said_one}": at, f"L1.planned.{other}": f"{hour:02d}:30"})[0]
            for hour in range(24)}  # fmt: skip
    assert word == "cannot tell" or both == {"not met"}


@pytest.mark.parametrize("closes, at", [("01:00", "00:30"), ("02:00", "23:00")])
def test_one_hour_after_midnight_may_lie_in_the_hours_of_the_day_before(closes, at):
    assert hours_told({"site.closes": closes, "L1.planned.end": at})[0] == "cannot tell"


def test_a_line_that_stays_until_a_day_and_nobody_said_from_when_may_stay_for_several():
    stays = {"L1.planned.start": "10:00", "L1.planned.end": "18:00", "L1.planned.until": "2026-06-20"}
    assert hours_told(stays)[0] == "met"
    asked = replace(held(SHUT_AT_TEN | stays | {"L1.planned.date": "2026-06-18"}), on=date(2026, 6, 20))
    assert hours_clause(OPEN_HOURS, asked)[0] == "cannot tell"
    unsaid = replace(asked, line=asked.line.model_copy(
        update={"planned": asked.line.planned.model_copy(update={"date": None})}))  # fmt: skip
    assert hours_clause(OPEN_HOURS, unsaid)[0] == "cannot tell"


def test_a_permit_past_its_day_is_none():
    rules = rule_set("santa_monica_ca_us")
    old = {"site.permission": {"basis": "permit", "expires": "2026-04-19"}}
    assert answer_of(rules, "permit", old).answer == "not met"


# ---- in the reader's language


@pytest.mark.parametrize("language, told", [
    ("en", ("trunk diameter", ">= 30 cm at the attachment", "75.1 cm",
            "line card 3, clause least, text without a date")),
    ("de", ("Stammdurchmesser", "mindestens 30 cm an der Befestigung", "75,1 cm",
            "line card 3, Punkt least, Text ohne Datum")),
    ("fr", ("diamètre du tronc", "min. 30 cm à l'attache", "75,1 cm",
            "line card 3, clause least, texte sans date")),
    ("es", ("diámetro del tronco", "al menos 30 cm en la atadura", "75,1 cm",
            "line card 3, cláusula least, texto sin fecha")),
])  # fmt: skip
def test_an_answer_is_told_in_the_readers_language_and_keeps_what_the_manager_wrote(language, told):
    place = {"place": "attachment"}
    own = {**rule_set("basel_ch").model_dump(mode="json", exclude_none=True), "id": "own", "as_of": "2026-03",
           "source": {"title": "line card 3"}, "second_hand": False, "clauses": [
               {"id": "least", "kind": "trunk diameter", "operator": ">=", "value": 30, "unit": "cm",
                "measured_at": place}]}  # fmt: skip
    made = record({"site.rules": own, "T1.trunk": [{"diameter": "75.1 cm", "read_at": "1.2 m", "how": "taped"}]})
    clause = assess_rules(made)[-1]
    read = clause.in_words(language)
    assert tuple(read[part] for part in ("clause", "wanted", "measured", "source")) == told
    assert clause.answer == read["answer"] == "met"


def test_every_word_of_the_rules_has_its_word_in_every_language():
    """A kind, status, use, hour or month that the tables lack would stand in English on a German request."""
    kinds = [get_args(one.model_fields["kind"].annotation) for one in (
        SizeClause, CountClause, ThingClause, ListClause, MonthsClause, HoursClause, LookClause)]  # fmt: skip
    words = {*sum(kinds, ()), *get_args(RuleSet.model_fields["status"].annotation), "status", "use", "sling widths",
             *get_args(get_args(RuleSet.model_fields["uses"].annotation)[0]), *MONTH_NAMES, *MARKED_AS, "all",
             *get_args(ClockEvent.model_fields["event"].annotation), "spectators"}  # fmt: skip
    words -= {"slackline", "walk", "play", "power", "spectator"}  # one the same everywhere, and parts of words
    for one in words:
        assert word(one, "de") != one or word(one, "fr") != one, one
        assert word(one, "es") != one, one


def test_every_answer_of_every_set_reads_in_four_languages():
    """Of every case of every set, whatever is said by a code with words of its own differs from the English."""
    own_words = set()
    for rule_id in rule_ids():
        for clause in rule_set(rule_id).clauses:
            made = case(clause, False) or case(clause, True) or {}
            for one in check_end(rule_set(rule_id), held({**use_for(rule_set(rule_id), clause), **made})).clauses:
                for told in (one.asks, one.shows, one.cites):
                    read = {language: told.in_words(language) for language in LANGUAGES}
                    assert all(read.values())
                    own_words |= {told.code} if len(set(read.values())) == len(LANGUAGES) else set()
    assert {"rule-required", "rule-names-barred", "rule-months-closed", "rule-by-a-person", "rule-source-clause"} <= (
        own_words)  # fmt: skip


# ---- what a list means is a field, not its words


def test_a_list_is_no_wider_than_its_fields_say_whatever_its_names():
    def answer(edits: dict, **fields) -> str:
        clause = {"id": "own", "asks": "barred", **fields}
        rules = RuleSet.model_validate({**rule_set("basel_ch").model_dump(), "clauses": [clause]})
        return check_end(rules, held(edits)).clauses[-1].answer

    path = {"site.surroundings": [{"kind": "path", "points": [[54.4999, 2.5001], [54.5001, 2.5001]]}]}
    places = {"kind": "places", "names": ["across a path"]}
    assert answer(path, **places) == "cannot tell"
    assert answer(path, **places, crosses=["path"]) == "not met"
    assert answer(path, **places, crosses=["road"]) == "cannot tell"
    post = {"anchors.0": {"kind": "other", "code": "T1", "what": "lamp post"}}
    objects = {"kind": "objects", "names": ["anything but trees"]}
    assert answer(post, **objects) == "cannot tell"
    assert answer(post, **objects, all_but_trees=True) == "not met"
    assert answer({}, **objects, all_but_trees=True) == "met"
    others = {"kind": "objects", "names": ["all other city trees"]}
    assert answer({"T1.designated": "no"}, **others) == "met"
    for designated, told in (("no", "not met"), ("yes", "met"), ("not looked", "cannot tell")):
        assert answer({"T1.designated": designated}, **others, unnamed_trees=True) == told


def test_a_great_length_is_written_out():
    """Three figures, and never as a power of ten."""
    assert in_unit(1.2345, "mm") == said("rule-length", length=1230.0, unit="mm")
    assert in_unit(1.2345, "mm").in_words() == "1230 mm" and in_unit(0.5, "sling widths").in_words("de") == "0,5 m"


def test_a_pad_thickness_in_sling_widths_asks_for_no_metres():
    """The set may write it so; the plan of pads stumbled over a thickness of nothing known."""
    thick = {"id": "thick", "kind": "pad thickness", "operator": ">=", "value": 1, "unit": "sling widths"}
    rules = rule_set("basel_ch").model_copy(update={"clauses": (SizeClause.model_validate(thick),)})
    assert pads_asked(rules, "low line").thickness_m == 0.0
