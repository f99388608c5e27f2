"""The day judged for: the planned one, told once where the lines share it and line by line where they do not."""

from __future__ import annotations

import datetime

import pytest
from parks import data, own_rules, record

from siteassess.advice.assess import assess
from siteassess.advice.rule_hours import months_of, sun_event
from siteassess.advice.survey_age import last_day, same_day, same_time, surely_last_day
from siteassess.papers.as_json import to_dict
from siteassess.papers.language import words_in
from siteassess.papers.map_data import page_texts
from siteassess.papers.report import report_page
from siteassess.papers.terminal import summary
from siteassess.reference.rules import MonthsClause

SHARED, OTHER = datetime.date(2026, 4, 20), datetime.date(2026, 6, 7)


def two_lines(second: str | None):
    return record({"lines": [data()["lines"][0], {**data()["lines"][0], "id": "L2"}], "L2.planned.date": second})


def test_lines_of_one_day_are_judged_for_it_and_every_head_says_so():
    result = assess(two_lines(SHARED.isoformat()))
    assert result.date == result.one_day == SHARED and {line.day for line in result.lines} == {SHARED}
    told = to_dict(result)
    assert told["site"]["assessed_for"] == SHARED.isoformat() and told["site"]["surveyed_on"] == "2026-04-18"
    assert "judged for 2026-04-20." in summary(result) and "judged for 2026-04-20" in report_page(result)
    assert page_texts(result, words_in())["judged_for"] == "2026-04-20"


def test_lines_of_two_days_are_told_one_by_one():
    result = assess(two_lines(OTHER.isoformat()))
    assert result.one_day is None and [line.day for line in result.lines] == [SHARED, OTHER]
    told = to_dict(result)
    assert told["site"]["assessed_for"] is None
    assert [line["assessed_for"] for line in told["lines"]] == [SHARED.isoformat(), OTHER.isoformat()]
    for paper in (summary(result), report_page(result)):
        assert "judged for each line" in paper
        assert f"judged for {SHARED}" in paper and f"judged for {OTHER}" in paper
    assert page_texts(result, words_in())["judged_for"] == "each line's own day"


def test_one_line_asked_for_gives_its_own_day_and_a_line_without_a_day_that_of_the_survey():
    assert assess(two_lines(OTHER.isoformat()), line_id="L2").one_day == OTHER
    assert assess(record({"L1.planned": None})).one_day == datetime.date(2026, 4, 18)
    assert assess(two_lines(None), on=OTHER).one_day == OTHER


@pytest.mark.parametrize("other, start, together", [("2026-04-21", "20:00", True), ("2026-04-21", "02:00", False),
                                                    ("2026-04-22", "20:00", False), ("2026-04-20", "02:00", True)])
def test_a_line_that_comes_down_the_next_morning_hangs_on_two_days(other, start, together):
    """Fresh eyes: down at three, it still hung beside the line of the next day, and neither was told of the other."""
    made = two_lines(other)
    night = made.lines[0].model_copy(update={"planned": made.lines[0].planned.model_copy(
        update={"start": start, "end": "03:00"})})  # fmt: skip
    assert same_time(night, made.lines[1]) is same_time(made.lines[1], night) is together
    later = datetime.timedelta(days=start == "20:00")
    assert last_day(night, SHARED) == SHARED + later
    stays = night.planned.model_copy(update={"until": SHARED + datetime.timedelta(days=2)})
    several = night.model_copy(update={"planned": stays})
    assert last_day(several, SHARED) == stays.until + later  # the hours may be those of each day
    assert surely_last_day(several, SHARED) == stays.until


@pytest.mark.parametrize("first, second, together", [
    (("08:00", "10:00"), ("15:00", "17:00"), False), (("08:00", "10:00"), ("10:00", "12:00"), False),
    (("08:00", "10:30"), ("10:00", "12:00"), True), (("08:00", "10:00"), (None, None), True),
    (("18:00", "02:00"), ("20:00", "21:00"), True),
])  # fmt: skip
def test_two_lines_at_different_hours_of_a_day_do_not_hang_at_once(first, second, together):
    lines = [line.model_copy(update={"planned": line.planned.model_copy(update={"start": start, "end": end})})
             for line, (start, end) in zip(two_lines(SHARED.isoformat()).lines, (first, second))]  # fmt: skip
    assert same_time(*lines) is same_time(*reversed(lines)) is together
    stays = lines[1].model_copy(update={"planned": lines[1].planned.model_copy(update={"until": OTHER})})
    assert same_time(lines[0], stays)


@pytest.mark.parametrize("first, second, together", [
    (("22:00", None), ("07:00", "09:00"), True), (("22:00", None), ("22:00", "23:00"), False),  # up for a day at most
    ((None, "08:00"), ("07:00", "09:00"), True), ((None, "08:00"), ("08:00", "09:00"), False),
    ((None, None), ("07:00", "09:00"), False),
])  # fmt: skip
def test_an_hour_left_out_is_taken_at_the_one_that_leaves_a_line_up_longest(first, second, together):
    """The other hangs the day after: to leave an hour out earns no more than to say that it hangs over night."""
    lines = [line.model_copy(update={"planned": line.planned.model_copy(update={"start": start, "end": end})})
             for line, (start, end) in zip(two_lines("2026-04-21").lines, (first, second))]  # fmt: skip
    assert same_time(*lines) is same_time(*reversed(lines)) is together
    assert not same_time(lines[0], lines[1].model_copy(update={"planned": lines[1].planned.model_copy(
        update={"date": datetime.date(2026, 4, 22)})}))  # fmt: skip


@pytest.mark.parametrize("start, end", [("06:30", None), (None, "09:00"), (None, None)])
@pytest.mark.parametrize("day, near", [("2026-04-21", True), ("2026-04-22", False)])
def test_the_night_after_a_line_is_counted_once_however_few_of_its_hours_were_said(start, end, day, near):
    """Fresh eyes: up at 06:30, it was still asked to be down before a line two days on, without it not."""
    line, other = two_lines(day).lines
    hung = line.model_copy(update={"planned": line.planned.model_copy(update={"start": start, "end": end})})
    assert same_day(hung, other) is same_day(other, hung) is near


@pytest.mark.parametrize("asked", ["2026-04-19", "2026-04-20", "2026-04-21", "2026-04-24"])
@pytest.mark.parametrize("start, end, together", [("08:00", None, True), ("08:00", "10:00", False),
                                                  ("22:00", "06:31", True), ("22:00", "06:30", False)])
@pytest.mark.parametrize("withheld", [(), (0,), (1,), (0, 1)])
def test_a_day_nobody_told_parts_no_night_from_the_morning_after(asked, start, end, together, withheld):
    """Fresh eyes: with both days told the two were summed on whatever day was asked for, with one withheld not."""
    times = [("2026-04-20", start, end), ("2026-04-21", "06:30", "07:00")]
    lines = [line.model_copy(update={"planned": line.planned.model_copy(update={
        "date": None if number in withheld else datetime.date.fromisoformat(day), "start": up, "end": down})})
        for number, (line, (day, up, down)) in enumerate(zip(two_lines(None).lines, times))]  # fmt: skip
    on = datetime.date.fromisoformat(asked)
    assert same_time(*lines, on) is same_time(*reversed(lines), on) is together


def answers(clause: dict, site: dict, **planned) -> str:
    hung = {"L1.planned": {"attended": "always", "date": "2026-06-20"} | planned, "site.time_zone": "Europe/London"}
    edits = hung | {f"site.{key}": value for key, value in site.items()}
    line = assess(record(edits | {"site.rules": own_rules({"id": "one", **clause})}), remedies=False).lines[0]
    return line.anchors[0].rules.clauses[0].answer


@pytest.mark.parametrize("day, start, end, closed, care", [
    ("2026-04-30", "22:00", "01:00", "not met", "cannot tell"), ("2026-04-30", "22:00", "23:00", "met", "met"),
    ("2026-04-30", "22:00", None, "cannot tell", "cannot tell"), ("2026-04-30", None, "08:00", "cannot tell",
                                                                  "cannot tell"),
    ("2026-04-30", None, None, "met", "met"), ("2026-04-29", "22:00", None, "met", "met"),
    ("2026-05-30", "22:00", None, "not met", "cannot tell"),
])  # fmt: skip
def test_closed_months_are_kept_to_only_where_the_later_morning_keeps_to_them_too(day, start, end, closed, care):
    times = {key: value for key, value in (("start", start), ("end", end)) if value}
    told = [answers({"kind": "months", "asks": asks, "months": [5]}, {}, date=day, **times)
            for asks in ("closed", "care")]  # fmt: skip
    assert told == [closed, care]


@pytest.mark.parametrize("opens, closes, start, end, answer", [
    ("00:00", "00:00", "23:00", "01:00", "met"), ("00:00", "23:59", "23:00", "01:00", "met"),
    ("00:00", "23:58", "23:00", "01:00", "not met"),
    ("06:00", "06:00", "05:00", "07:00", "met"), ("00:00", "00:00", "10:00", None, "met"),
    ("06:00", "02:00", "23:00", "01:00", "met"), ("06:00", "02:00", "00:30", "01:30", "met"),
    ("06:00", "02:00", "23:00", "03:00", "not met"), ("06:00", "22:00", "23:00", "01:00", "not met"),
    ("06:00", "22:00", "10:00", None, "cannot tell"), ("06:00", "22:00", "10:00", "12:00", "met"),
    (None, "01:00", "18:00", "00:30", "cannot tell"), (None, "01:00", "18:00", "01:30", "not met"),
    (None, "22:00", "18:00", "23:30", "not met"), (None, "11:59", "18:00", "11:00", "cannot tell"),
    (None, "12:00", "18:00", "11:00", "not met"),
])  # fmt: skip
def test_a_place_that_never_shuts_is_open_to_a_line_over_midnight(opens, closes, start, end, answer):
    clause = {"kind": "hours", "start": {"event": "park opening"}, "end": {"event": "park closing"}}
    times = {key: value for key, value in (("start", start), ("end", end)) if value}
    assert answers(clause, {"opens": opens, "closes": closes}, **times) == answer


@pytest.mark.parametrize("start, end, answer", [
    ("23:00", "02:00", "met"), ("02:00", "03:00", "met"), ("02:00", "06:00", "not met"), ("20:00", "23:00", "not met"),
    ("12:00", "13:00", "not met"), ("23:00", "22:30", "not met"),
])  # fmt: skip
def test_hours_from_sunset_to_sunrise_are_the_night_s(start, end, answer):
    """At 54.5 N on 20 June the sun is down from about 21:40 to 04:20 by British summer time."""
    assert answers({"kind": "hours", "start": {"event": "sunset"}, "end": {"event": "sunrise"}}, {}, start=start,
                   end=end) == answer


@pytest.mark.parametrize("later, start, end", [
    (-5, "not met", "met"), (-2, "cannot tell", "cannot tell"), (2, "cannot tell", "cannot tell"),
    (5, "met", "not met"),
])  # fmt: skip
def test_within_three_minutes_of_sunrise_or_sunset_nobody_can_tell(later, start, end):
    """Data/constants.csv, judgement: the horizon of a real place is not level."""
    day, told = datetime.date(2026, 6, 20), []
    clause = {"kind": "hours", "start": {"event": "sunrise"}, "end": {"event": "sunset"}}
    for name, event, other in (("start", "sunrise", {"end": "12:00"}), ("end", "sunset", {"start": "12:00"})):
        at = sun_event(event, 54.5, 2.5, day, "Europe/London") + datetime.timedelta(minutes=later)
        told.append(answers(clause, {}, **{name: f"{at:%H:%M}"} | other))
    assert told == [start, end]


@pytest.mark.parametrize("start, end, known, answer", [
    ("sunset", "sunrise", {}, "met"), ("sunset", "sunrise", {"time_zone": None}, "cannot tell"),
    ("dusk", "park opening", {"opens": "06:00"}, "met"), ("dusk", "park opening", {}, "cannot tell"),
    ("dusk", "park opening", {"opens": "06:00", "time_zone": None}, "cannot tell"),
])  # fmt: skip
def test_hours_that_end_in_the_morning_are_left_open_where_a_clock_is_not_known(start, end, known, answer):
    clause = {"kind": "hours", "start": {"event": start}, "end": {"event": end}}
    assert answers(clause, known, start="23:00", end="02:00") == answer


def test_hours_from_an_hour_to_the_same_hour_are_the_whole_day():
    clause = {"kind": "hours", "start": {"event": "park opening"}, "end": {"event": "park opening"}}
    assert answers(clause, {"opens": "06:00"}, start="10:00", end="12:00") == "met"


@pytest.mark.parametrize("until, answer", [("2026-06-20", "met"), ("2026-06-21", "cannot tell")])
def test_a_line_that_comes_down_on_its_day_hangs_for_no_several(until, answer):
    clause = {"kind": "hours", "start": {"event": "park opening"}, "end": {"event": "park closing"}}
    assert answers(clause, {"opens": "06:00", "closes": "22:00"}, start="10:00", end="12:00", until=until) == answer


def test_the_months_of_a_clause_are_told_by_their_names():
    clause = MonthsClause(id="m", kind="months", asks="closed", months=(1, 12))
    assert months_of(clause) == ("Jan", "Dec")


def test_a_place_that_never_shuts_keeps_no_rule_of_the_sun():
    clause = {"kind": "hours", "start": {"event": "sunrise"}, "end": {"event": "park closing"}}
    always = {"opens": "00:00", "closes": "00:00"}
    assert [answers(clause, always, start=start, end="12:00") for start in ("03:00", "08:00")] == ["not met", "met"]


@pytest.mark.parametrize("second, told", [(("12:00", "16:00"), True), (("11:00", "16:00"), False), (None, False)])
def test_lines_of_one_tree_at_other_hours_are_asked_to_come_down_first(second, told):
    planned = {"date": SHARED.isoformat(), "attended": "always"}
    day = SHARED if second else OTHER
    times = dict(zip(("start", "end"), second or ("12:00", "16:00")))
    lines = [{**data()["lines"][0], "planned": planned | {"start": "08:00", "end": "12:00"}},
             {**data()["lines"][0], "id": "L2", "planned": planned | {"date": day.isoformat()} | times}]  # fmt: skip
    for line in assess(record({"lines": lines}), remedies=False).lines:
        found = [one for one in line.findings if one.code == "down-before-the-next"]
        assert bool(found) == told and (not told or "is down before the next" in found[0].condition)


NIGHT = ({"date": "2026-04-20", "start": "22:00", "end": "08:00"},
         {"date": "2026-04-21", "start": "07:00", "end": "09:00"})  # fmt: skip


@pytest.mark.parametrize("first, on, told", [
    (NIGHT[0], None, "meets-another-line"), (NIGHT[0], "2026-04-20", "meets-another-line"),
    (NIGHT[0], "2026-08-01", "meets-another-line"), ({"date": "2026-04-20"}, None, "down-before-the-next"),
    ({"date": "2026-04-20", "start": "12:00", "end": "13:00"}, None, None), ({"date": "2026-04-18"}, None, None),
])  # fmt: skip
def test_a_night_between_two_days_is_not_parted_by_the_day_asked_for(first, on, told):
    """Two lines of one pair of trees: what hangs in the morning meets it, and of no hour told somebody looks."""
    lines = [{**data()["lines"][0], "id": name, "planned": planned | {"attended": "always"}}
             for name, planned in zip(("L1", "L2"), (first, NIGHT[1]))]  # fmt: skip
    found = assess(record({"lines": lines}), on=datetime.date.fromisoformat(on) if on else None, remedies=False)
    codes = {one.code for one in found.lines[0].findings} & {"meets-another-line", "down-before-the-next"}
    assert codes == ({told} if told else set())


def test_a_day_before_the_survey_is_a_doubtful_reading():
    early = "planned for 2026-04-02, before the survey of 2026-04-18"
    assert sum(early in told.in_words() for told in assess(record({"L1.planned.date": "2026-04-02"})).warnings) == 1
    same_day = assess(record({"L1.planned.date": "2026-04-18"})).warnings
    assert not any("before the survey" in told.in_words() for told in same_day)


def test_a_line_of_no_day_suits_only_as_long_as_its_survey_is_fresh():
    """Leaving the day out of a plan does not pay: common practice, no source, looks again after a month."""
    survey = {"survey.date": "2024-04-18"}
    line = assess(record({"L1.planned": None, **survey})).lines[0]
    told = next(one for one in line.findings if one.code == "day-not-chosen")
    assert line.verdict == "suits if" and dict(told.values)["latest"] == "2024-05-18"
    assert assess(record(survey)).lines[0].verdict == "cannot say"
    for chosen in (record(), record({"L1.planned": None})):
        on = SHARED if chosen.lines[0].planned is None else None
        line = assess(chosen, on=on).lines[0]
        assert line.verdict == "suits" and "day-not-chosen" not in {one.code for one in line.findings}


def test_a_stay_of_no_first_day_is_judged_to_its_last():
    line = assess(record({"L1.planned": {"until": "2026-08-01"}})).lines[0]
    told = next(one for one in line.findings if one.code == "day-not-chosen")
    assert dict(told.values)["latest"] == "2026-08-01"


@pytest.mark.parametrize("asked", [None, SHARED, OTHER])
def test_lines_judged_for_one_day_that_was_asked_for_are_counted_together(asked):
    """As if they were planned for it; planned for two days, and on none asked for, they are not."""
    heavy = {"L1.standing.tension": "6 kN", "L2.standing.tension": "6 kN", "L2.planned.date": OTHER.isoformat()}
    both = {"lines": [data()["lines"][0], {**data()["lines"][0], "id": "L2"}], **heavy}
    apart = assess(record(both), on=asked, remedies=False)
    together = assess(record({**both, "L1.planned.date": str(asked), "L2.planned.date": str(asked)})
                      if asked else record(both), remedies=False)  # fmt: skip
    alone = assess(record({"L1.standing.tension": "6 kN"}), remedies=False)
    uses = [[one.anchors[0].hold_use for one in made.lines] for made in (apart, together)]
    assert uses[0] == pytest.approx(uses[1])
    assert (uses[0][0] > 1.5 * alone.lines[0].anchors[0].hold_use) == (asked is not None)
    beside = [{met.kind for met in line.crossings} for line in apart.lines]
    assert beside == [{"other line"} if asked else set()] * 2
    assert apart.packing == together.packing
    counted = assess(record({**both, "site.rules": own_rules({"id": "one", "kind": "lines per tree", "operator": "<=",
                                                              "value": 1})}), on=asked, remedies=False)  # fmt: skip
    assert [line.anchors[0].rules.clauses[0].answer for line in counted.lines] == ["not met" if asked else "met"] * 2


# ---- days and hours that a place's rules ask for

def answer_to(rule: dict, edits: dict) -> str:
    (line,) = assess(record(edits | {"site.rules": own_rules(rule)}), remedies=False).lines
    (clause,) = [one for one in line.anchors[0].rules.clauses if one.clause == rule["kind"]]
    return clause.answer


@pytest.mark.parametrize("permit, planned, answer", [
    ({"expires": "2026-04-20", "reference": "7/26"}, {}, "met"), ({"expires": "2026-04-20"}, {}, "met"),
    ({"reference": "7/26"}, {}, "cannot tell"),
    ({"expires": "2026-12-31", "reference": "unbekannt"}, {}, "cannot tell"),
    ({"expires": "2026-12-31", "reference": "refused"}, {}, "cannot tell"),
    ({"expires": "2026-04-22"}, {"until": "2026-04-22", "start": "18:00", "end": "10:00"}, "cannot tell"),
    ({"expires": "2026-04-23"}, {"until": "2026-04-22", "start": "18:00", "end": "10:00"}, "met"),
    ({"expires": "2026-12-31", "reference": "applied for, not yet granted"}, {}, "cannot tell"),
    ({"expires": "2026-12-31"}, {"date": None}, "cannot tell"),
    ({"expires": "2026-04-20"}, {"start": "20:00", "end": "02:00"}, "not met"),
    ({"expires": "2026-04-21"}, {"start": "20:00", "end": "02:00"}, "met"),
])  # fmt: skip
def test_a_permit_holds_that_is_granted_until_the_line_is_down(permit, planned, answer):
    times = {f"L1.planned.{name}": clock for name, clock in planned.items()}
    rule = {"id": "permit", "kind": "permit", "asks": "required"}
    assert answer_to(rule, {"site.permission": {"basis": "permit", **permit}, **times}) == answer


@pytest.mark.parametrize("closes, start, end, answer", [
    ("01:00", "10:00", "23:30", "met"), ("01:00", "18:00", "00:30", "met"), ("01:00", "18:00", "01:30", "not met"),
    ("01:00", "00:15", "00:50", "met"), ("01:00", "00:15", "01:10", "not met"), ("01:00", "05:00", "07:00", "not met"),
    ("22:00", "00:15", "00:50", "not met"), ("22:00", "10:00", "21:30", "met"),
    ("22:00", "10:00", "23:30", "not met"), ("22:00", "18:00", "00:30", "not met"),
])  # fmt: skip
def test_a_park_may_close_after_midnight(closes, start, end, answer):
    rule = {"id": "h", "kind": "hours", "start": {"event": "park opening"}, "end": {"event": "park closing"}}
    made = {"site.opens": "06:00", "site.closes": closes, "L1.planned.start": start, "L1.planned.end": end}
    assert answer_to(rule, made) == answer


@pytest.mark.parametrize("planned", ["2026-04-20", None])
def test_hours_of_several_days_are_left_open_whether_the_first_was_told_or_asked_for(planned):
    rule = {"id": "h", "kind": "hours", "start": {"event": "park opening"}, "end": {"event": "park closing"}}
    made = {"site.opens": "06:00", "site.closes": "22:00", "L1.planned.start": "10:00", "L1.planned.end": "18:00",
            "L1.planned.until": "2026-04-25", "L1.planned.date": planned, "site.rules": own_rules(rule)}  # fmt: skip
    for opens, told in (("06:00", "cannot tell"), ("11:00", "not met")):
        (line,) = assess(record({**made, "site.opens": opens}), on=SHARED, remedies=False).lines
        assert [one.answer for one in line.anchors[0].rules.clauses if one.clause == "hours"] == [told]


@pytest.mark.parametrize("until, by_day, by_night", [
    (None, "not met", "met"), ("2026-04-21", "not met", "met"), ("2026-04-22", "not met", "cannot tell"),
])  # fmt: skip
def test_of_several_days_that_end_no_later_by_the_clock_a_night_is_one(until, by_day, by_night):
    """Fresh eyes: 21:30 to 18:00 broke hours that end at 22:00, and with one day more nobody could tell."""
    rule = {"id": "h", "kind": "hours", "start": {"event": "park opening"}, "end": {"event": "park closing"}}
    for opens, closes, start, end, told in (("06:00", "22:00", "21:30", "18:00", by_day),
                                            ("06:00", "22:00", "09:00", "09:00", by_day),
                                            ("20:00", "08:00", "21:30", "05:00", by_night)):  # fmt: skip
        made = {"site.opens": opens, "site.closes": closes, "L1.planned.date": "2026-04-20",
                "L1.planned.until": until, "L1.planned.start": start, "L1.planned.end": end}  # fmt: skip
        assert answer_to(rule, made) == told


@pytest.mark.parametrize("opens, closes, end, day, answer", [
    ("sunrise", "sunset", "18:00", "2026-12-20", "not met"), ("sunrise", "sunset", "18:00", None, "cannot tell"),
    ("sunrise", "park closing", "18:00", None, "cannot tell"), ("sunrise", "park closing", "23:00", None, "not met"),
    ("park opening", "park closing", "18:00", None, "met"),
])  # fmt: skip
def test_hours_by_the_sun_ask_for_the_day(opens, closes, end, day, answer):
    """Fresh eyes: a winter evening without its date was held against the sunset of the survey's day in April."""
    made = {"site.time_zone": "Europe/London", "site.opens": "06:00", "site.closes": "22:00", "L1.planned.date": day,
            "L1.planned.start": "10:00", "L1.planned.end": end}  # fmt: skip
    assert answer_to({"id": "h", "kind": "hours", "start": {"event": opens}, "end": {"event": closes}}, made) == answer


def test_closed_months_ask_for_the_day():
    rule = {"id": "m", "kind": "months", "asks": "closed", "months": [4]}
    assert [answer_to(rule, {"L1.planned.date": day}) for day in ("2026-04-20", "2026-05-20", None)] == [
        "not met", "met", "cannot tell"]  # fmt: skip
    night = {"L1.planned.date": "2026-03-31", "L1.planned.start": "20:00"}
    assert [answer_to(rule, night | {"L1.planned.end": end}) for end in ("23:00", "01:00")] == ["met", "not met"]
