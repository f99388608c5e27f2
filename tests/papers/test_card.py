"""The card of a session: what it tells of a line and its ends, in four languages, and what it never tells."""

from __future__ import annotations

import datetime
import html
import re
from dataclasses import replace

import pytest
from parks import data
from seldom_said import SELDOM_SAID

from siteassess.advice.assess import assess
from siteassess.advice.finding import conditions_of, found
from siteassess.advice.wind_check import told_wind
from siteassess.papers import card_ends, wording
from siteassess.papers.card import card_page
from siteassess.papers.handover import manner
from siteassess.papers.language import words_in
from siteassess.records.loading import load_record
from siteassess.records.record import Record
from siteassess.reference.findings import in_words, said
from siteassess.reference.languages import SIDE_BY_SIDE, languages
from siteassess.reference.locate import shipped
from siteassess.reference.measures import Measures
from siteassess.reference.pages import beside_its_unit
from siteassess.reference.texts import cautions
from siteassess.register.answer import AGAINST
from siteassess.register.reasons import reason

DAY = datetime.date(2026, 4, 1)
CALLS_SAFE = re.compile(
    r"\b(safe(ly|ty)?|secure|sicher(e[mnrs]?|heit)?|sûre?s?|sécurité|segur[oa]s?|seguridad)\b", re.IGNORECASE
)


@pytest.fixture(scope="module")
def demo():
    return assess(load_record(shipped("examples") / "brindlewick" / "park.yaml"))


@pytest.fixture(scope="module")
def asking():
    """A line that suits if much is done at one end, and after a trial load."""
    judged = assess(Record.model_validate(data(SELDOM_SAID["harmful slats, taken out"])))
    assert judged.lines[0].verdict == "suits if"
    return judged


def read(page: str) -> str:
    """Its text, a mark where a part of it begins."""
    page = re.sub(r"(?s)<(style|title|desc|svg)\b.*?</\1>", " ", page)
    return html.unescape(re.sub("<[^>]*>", " ", re.sub(r'<[^>]* id="([\w-]+)"[^>]*>', r" #\1# ", page)))


def part(page: str, name: str) -> str:
    """The text of one screen."""
    return re.split(r"#[\w-]+#", read(page).split(f"#{name}#", 1)[1], maxsplit=1)[0]


def ways(finding) -> tuple:
    """Further ways to meet a condition, each enough."""
    return dict(finding.met_by.values).get("others", ()) if finding.effect == "suits if" else ()


def parts_of(line) -> dict[str, tuple]:
    return {"line": line.findings, **{f"end-{end.end}": end.findings for end in line.anchors}}


@pytest.mark.parametrize("language", languages())
def test_every_condition_stands_on_its_own_screen(demo, asking, language):
    told = 0
    for judged in (demo, asking):
        for line in (line for line in judged.lines if line.verdict == "suits if"):
            page = card_page(judged, line.id, manner(language, made_on=DAY))
            for name, findings in parts_of(line).items():
                for condition in map(beside_its_unit, conditions_of(findings, language)):
                    assert condition in part(page, name), name
                    told += 1
    assert told == 6


@pytest.mark.parametrize("language", languages())
def test_a_condition_without_room_is_counted_and_told_further_down(asking, language, monkeypatch):
    for room in ("END_ROWS", "TRIAL_ROWS", "DECIDING_RANK"):
        monkeypatch.setattr(card_ends, room, 0)
    page, t = card_page(asking, "L1", manner(language, made_on=DAY)), words_in(language)
    for end in asking.lines[0].anchors:
        if asked := conditions_of(end.findings, language):
            mine = part(page, f"end-{end.end}")
            assert t("card-and-more", count=len(asked)) in mine
            assert not any(beside_its_unit(one) in mine for one in asked)
            assert all(beside_its_unit(one) in read(page).split("#more#")[1] for one in asked)


def test_what_decides_is_never_left_out_for_want_of_room(asking, monkeypatch):
    for room in ("END_ROWS", "TRIAL_ROWS"):
        monkeypatch.setattr(card_ends, room, 0)
    page = card_page(asking, "L1", manner(made_on=DAY))
    decides = [(end, one) for end in asking.lines[0].anchors for one in end.findings
               if one.effect == "suits if" and one.rank <= card_ends.DECIDING_RANK]  # fmt: skip
    assert decides
    for end, one in decides:
        first = dict(one.met_by.values)["first"].in_words() if ways(one) else one.condition
        assert beside_its_unit(first) in part(page, f"end-{end.end}")
        assert beside_its_unit(one.condition) in read(page)


def test_of_several_ways_to_meet_a_condition_one_stands_there_where_it_is_narrow(asking, monkeypatch):
    several = [(end, one) for end in asking.lines[0].anchors for one in end.findings if ways(one)]
    assert several
    for rows, whole in ((100, True), (0, False)):
        for room in ("END_ROWS", "TRIAL_ROWS"):
            monkeypatch.setattr(card_ends, room, rows)
        page = card_page(asking, "L1", manner(made_on=DAY))
        for end, one in several:
            mine = part(page, f"end-{end.end}")
            assert (beside_its_unit(one.condition) in mine) == whole
            assert (words_in()("card-and-more", count=1) in mine) == (not whole)


@pytest.mark.parametrize("language", languages())
@pytest.mark.parametrize("verdict", sorted(AGAINST))
def test_a_line_not_to_be_tied_says_so_and_tells_no_way_to_tie_it(demo, language, verdict):
    t, how = words_in(language), manner(language, made_on=DAY)
    kept = next(line for line in demo.lines if line.verdict == "suits if")
    lines = [line for line in demo.lines if line.verdict == verdict] + [replace(kept, verdict=verdict)]
    for line in lines:
        page = card_page(replace(demo, lines=(line,)), line.id, how)
        assert t("do-not-rig") in part(page, "line") and t.of(verdict) in part(page, "line")
        assert read(page).count(beside_its_unit(wording.unsettled(verdict, language))) == len(line.anchors)
        for key in ("tie-height", "sling", "padding", "pull-greatest", "card-stop-at", "card-sag", "take-down-wind",
                    "card-look-again", "card-take-down", "rp-trial", "card-bark-check"):  # fmt: skip
            assert t(key) not in read(page).split("#more#")[0], key  # below, the rules of the place may name a thing
        for asked in [one for end in line.anchors for one in conditions_of(end.findings, language)]:
            assert beside_its_unit(asked) not in read(page)
    assert len(lines) > 1


@pytest.mark.parametrize("language", languages())
def test_a_line_not_to_be_tied_says_why_at_the_tree_and_first_of_all(demo, language):
    for line in (line for line in demo.lines if line.verdict in AGAINST):
        page = card_page(demo, line.id, manner(language, made_on=DAY))
        for end in line.anchors:
            held = [one for one in end.ordered if one.effect == line.verdict]
            for one in held:
                stop = one.about == "stop sign"
                says = beside_its_unit(one.in_words(language, "full" if stop else "short"))
                assert says in part(page, f"end-{end.end}")
                assert (says in part(page, "line")) == (one == held[0])


@pytest.mark.parametrize("system", ["metric", "us"])
def test_where_to_stop_what_sag_to_expect_and_when_it_comes_down_stand_first(demo, system):
    line, m = demo.lines[0], Measures("en", system)
    told = part(card_page(demo, line.id, manner("en", system, DAY)), "line")
    gust = m.gust(told_wind(wording.least_wind(line.anchors)))
    standing = next(load.tension_n for load in line.anchors[0].loads if load.case == "standing")
    over = line.clearance
    # with the walker in the middle the line hangs there by the height of the ties less that of the line
    middle = min(range(len(over.x_m)), key=lambda i: abs(over.x_m[i] - over.x_m[-1] / 2))
    sag = over.unloaded_m[0] - over.walker_m[middle]
    for says in (m.stop(standing), m.sag(sag), gust):
        assert beside_its_unit(says) in told, says


def test_the_steps_of_a_trial_load_are_short_and_those_of_the_assessment():
    tried = assess(load_record(shipped("examples") / "brindlewick" / "park.yaml"), line_id="L3")
    end = tried.lines[0].anchors[1]
    opened = replace(tried, lines=(replace(tried.lines[0], verdict="suits if"),))
    assert end.trial
    for language in languages():
        mine = part(card_page(opened, "L3", manner(language, made_on=DAY)), "end-B")
        peak = next(load.tension_n for load in end.loads if load.case == "rigging peak")
        t, m = words_in(language), Measures(language)
        steps = [says for says in in_words((replace(one, part="short") for one in end.trial), language) if says]
        stop = wording.stop_at(opened.lines[0])
        steps[1] = t("card-trial-up", peak=m.stop(peak), stop=m.stop(stop))
        assert peak > stop and len(steps) == 5 and all(beside_its_unit(says) in mine for says in steps)
        assert max(map(len, steps)) <= 82


@pytest.mark.parametrize("language", languages())
def test_each_caution_stands_once_and_nothing_is_called_safe(demo, language):
    for line in demo.lines:
        text = read(card_page(demo, line.id, manner(language, made_on=DAY)))
        assert [text.count(beside_its_unit(one)) for one in cautions(language)] == [1] * len(cautions(language))
        assert not CALLS_SAFE.search(text)


def test_a_nest_is_counted_where_it_holds_a_line_and_not_told():
    nested = assess(Record.model_validate(data({"T1.signs.nest_in_use": "yes"})))
    for language in languages():
        mine = part(card_page(nested, "L1", manner(language, made_on=DAY)), "end-A")
        assert words_in(language)("card-and-more", count=1) in mine
        assert said("stop-sign-seen", sign="nest in use").in_words(language) not in mine


@pytest.mark.parametrize("language", languages())
def test_what_forbids_rigging_is_told_at_each_end_too(demo, language):
    """Whoever stands at the tree sees one screen alone: that it is a draft, or that the permission has run out."""
    t = words_in(language)
    for day, stops, not_told in ((DAY, "draft-stamp", "do-not-rig"), (datetime.date(2027, 1, 1), "do-not-rig", "")):
        page = card_page(demo, "L5", manner(language, made_on=day))
        assert all(beside_its_unit(t(stops)) in part(page, name) for name in ("line", "end-A", "end-B"))
        assert not_told == "" or t(not_told) not in read(page).split("#more#")[0]


@pytest.mark.parametrize("system, mass", [("metric", "85 kg"), ("us", "187 lb")])
def test_the_card_says_with_what_it_was_judged(demo, system, mass):
    for line in demo.lines:
        told = part(card_page(demo, line.id, manner("en", system, DAY)), "line")
        kept = next(one for one in demo.record.lines if one.id == line.id)
        for says in (line.use, f"1 person, up to {mass} with gear", "webbing: polyester",
                     Measures("en", system).force(kept.standing.tension.si)):  # fmt: skip
            assert beside_its_unit(says) in told, says


def test_what_nobody_said_of_those_on_it_is_said_so_and_a_hammock_has_no_tension_to_stop_at():
    nobody = assess(Record.model_validate(data({"L1.walkers": None, "L1.webbing": None})))
    told = part(card_page(nobody, "L1", manner(made_on=DAY)), "line")
    assert "1 person, mass not recorded" in told and "webbing: not recorded" in told
    hung = Record.model_validate(data({"L1.use": "hammock", "L1.standing": None, "L1.webbing": None, "L1.ground": []}))
    told = part(card_page(assess(hung), "L1", manner(made_on=DAY)), "line")
    assert "hammock" in told and words_in()("card-stop-at") not in told and "webbing" not in told


def test_the_day_of_the_verdict_how_long_it_stays_and_the_permission_are_told_apart():
    made = data({"L1.planned.until": "2026-05-21"})
    made["site"]["permission"] = {"basis": "permit", "expires": "2026-12-31"}
    judged = assess(Record.model_validate(made))
    told = part(card_page(judged, "L1", manner(made_on=DAY)), "line")
    assert "Permission until: 2026-12-31" in told and "Expires" not in told
    assert f"{judged.lines[0].day}" in told.split("Judged for")[1] and "planned until 2026-05-21" in told


def test_a_rule_on_straps_says_what_was_planned_and_what_the_card_asks_instead(demo):
    told = " ".join(read(card_page(demo, "L5", manner(made_on=DAY))).split("#more#")[1].split())
    assert "(not met) as planned: T9, T10: 2.5 cm; to tie as told here: T9 75 mm, T10 50 mm" in told


@pytest.mark.parametrize("language", languages())
def test_the_card_names_what_was_not_looked_at_and_what_to_look_at_next(demo, language):
    line = next(one for one in demo.lines if one.looks)
    said_next = beside_its_unit(wording.looks(line, language, most=1, shares=False))
    assert said_next in part(card_page(demo, line.id, manner(language, made_on=DAY)), "more")
    unseen = assess(Record.model_validate(data({"T1.lean": None})))
    page = card_page(unseen, "L1", manner(language, made_on=DAY))
    assert beside_its_unit(wording.looks(unseen.lines[0], language, most=1, shares=False)) in part(page, "line")
    mine = part(page, "end-A")
    assert beside_its_unit(said("not-looked-at", things=("lean",)).in_words(language)) in mine
    assert said("look-at-these").in_words(language) not in mine


def test_a_condition_that_names_others_loses_none_of_them(asking, monkeypatch):
    """Trees of which each may be the same one are no ways to choose from."""
    monkeypatch.setattr("siteassess.papers.card.LINE_ROWS", 0)
    twice = found("may-be-entered-twice", "suits if", tree="T1", others=("T7", "T8"))
    line = replace(asking.lines[0], findings=(twice,))
    assert "T8" in twice.condition
    mine = part(card_page(replace(asking, lines=(line,)), "L1", manner(made_on=DAY)), "line")
    assert beside_its_unit(twice.condition) in mine


@pytest.mark.parametrize("language", SIDE_BY_SIDE)
def test_a_card_past_its_permission_says_what_has_run_out(language):
    judged = assess(Record.model_validate(data({"site.permission": {"basis": "permit", "expires": "2026-05-01"}})))
    page = " ".join(html.unescape(card_page(judged, "L1", manner(language, made_on=datetime.date(2026, 6, 1)))).split())
    assert reason("permission-ended", day="2026-05-01").in_words(language)[1:] in page  # its first letter may be large
