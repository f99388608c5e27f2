"""Figures that a condition changes: the plan's is told as such, with the condition's own; stop and sag are rounded."""

from __future__ import annotations

import datetime
import html
import re
from dataclasses import replace
from functools import cache

import pytest
from drawn import drawn
from parks import record

from siteassess.advice.assess import assess
from siteassess.advice.finding import found
from siteassess.advice.results import Assessment
from siteassess.papers import as_planned
from siteassess.papers.card import card_page
from siteassess.papers.decision import asked_for, decision, tree_schedule
from siteassess.papers.doubts import doubts_of
from siteassess.papers.handover import manner
from siteassess.papers.language import words_in
from siteassess.papers.terminal import figures
from siteassess.records.record import Record
from siteassess.reference.languages import SIDE_BY_SIDE
from siteassess.reference.measures import Measures

DAY = datetime.date(2026, 4, 1)


@cache
def judged(seed: int) -> Assessment:
    return assess(Record.model_validate(drawn(seed)))


def flat(told: str) -> str:
    """With plain spaces, as no number is parted from its unit on a page."""
    return " ".join(told.split())


def screen(seed: int, name: str, language: str = "en") -> str:
    """The text of one screen of a card."""
    page = card_page(judged(seed), "L1", manner(language, made_on=DAY))
    mine = page.split(f'id="{name}"', 1)[1].split("</section>")[0]
    return flat(html.unescape(re.sub("<[^>]*>", " ", mine)))


@pytest.mark.parametrize("language", SIDE_BY_SIDE)
def test_a_tie_is_told_as_planned_with_the_height_its_condition_asks_for(language):
    """Fresh eyes: the card told 2.47 m, and below that the tie sits at 1.35 m or lower."""
    t, m = words_in(language), Measures(language)
    assert judged(1024).lines[0].verdict == "suits if"
    for name, height in (("end-A", 2.47), ("end-B", 2.09)):
        told = t("as-asked", planned=m.length(height, 2), asked=m.length(1.35, 2))
        assert flat(f"{t.with_colon('tie-height')} {told}") in screen(1024, name, language)
    rows = tree_schedule(judged(1024), manner(language))
    assert [t("as-asked-in-row", planned=m.length(high, 2), asked=m.length(1.35, 2)) in row.ties
            for high, row in zip((2.47, 2.09), rows)] == [True, True]  # fmt: skip


@pytest.mark.parametrize("language", SIDE_BY_SIDE)
def test_a_trial_that_comes_with_a_change_has_its_steps_on_the_card(language):
    end = judged(1024).lines[0].anchors[0]
    assert end.trial == ()
    told = screen(1024, "end-A", language).split(words_in(language)("rp-trial") + " ")
    assert len(told) > 1 and "7.7" in told[-1].replace(",", ".") and "0.25" in told[-1].replace(",", ".")


def test_a_hammock_is_tried_with_weight_and_no_tightening():
    told = screen(60040, "end-A").split("Trial load")[1]
    assert "bags of weight, not people" in told and "rigging" not in told and "tighten" not in told


@pytest.mark.parametrize("language", SIDE_BY_SIDE)
def test_a_gust_that_the_plan_alone_stands_is_not_told_beside_the_conditions(language):
    """Fresh eyes: no more than one on it, and then no gust of 25 km/h; below stood down before gusts of 3 km/h."""
    t, m, (line,) = words_in(language), Measures(language), judged(15).lines
    both = t("as-asked-in-row", planned="3 km/h", asked="25 km/h")
    *_, down = figures(line, t)
    assert down == t("te-down-before", gust=both)
    told = screen(15, "line", language)
    assert flat(as_planned.take_down_asked(line, t)) in told and "25 km/h" in as_planned.take_down_asked(line, t)
    fewer = told.split(t("judged-for"))[1]
    assert re.search(flat(t("as-asked", planned=r"2 .*?", asked="1 ?")), fewer)
    most = max(load.tension_n for load in line.anchors[1].loads)
    assert flat(t("as-planned", planned=m.force(most))) in screen(15, "end-B", language)
    asked = asked_for(line, judged(15).record, manner(language))
    assert "25 km/h" in asked.take_down and t("as-planned", planned="").strip() in asked.what


def test_a_tension_that_a_condition_asks_for_stands_beside_the_planned_one():
    (line,) = assess(record()).lines
    for code, says in (("touches-tighter", "stop at 2.0 kN as planned (3.0 kN asked)"), ("clears", "stop at 2.0 kN")):
        asks = found(code, "suits if", feet=None, standing=3000.0)
        told = figures(replace(line, verdict="suits if", findings=(asks,)), words_in("en"))
        assert told[0] == says and ("as planned" in told[1]) is (code == "touches-tighter")


@pytest.mark.parametrize("seed, says", [(1001, "feet reach the ground, 4 to 18 m from A"), (15, "stay 0.34 m over")])
def test_how_the_feet_stay_over_the_ground_stands_beside_the_sag(seed, says):
    """Fresh eyes: a printed card told the bare sag, and on the phone alone that the feet reach the ground."""
    assert re.search(rf"Feet ?: as planned the walker's feet .*{says}|Feet ?: as planned the walker's {says}",
                     screen(seed, "line"))  # fmt: skip


def test_doubtful_readings_stand_on_the_card_and_beside_the_conditions_of_a_decision():
    judged = assess(record({"L1.a.tie_height": "14 cm"}))
    told = doubts_of(judged, judged.lines[0])
    assert told and flat(told[0]) in flat(html.unescape(re.sub("<[^>]*>", " ", card_page(judged, "L1", manner()))))
    asked = replace(judged, lines=(replace(judged.lines[0], verdict="suits if"),))
    assert told[0] in decision(asked, manner())["doubts"]


def test_a_tension_to_stop_at_is_rounded_down_and_a_sag_up():
    """To tighten to 4.6 kN where 4.58 was judged asks more of both trees than was judged."""
    m = Measures("en")
    assert (m.stop(4580.0), m.stop(4500.0), m.stop(4500.0000001)) == ("4.5 kN", "4.5 kN", "4.5 kN")
    assert (m.sag(0.845), m.sag(0.8)) == ("0.9 m", "0.8 m")


def test_a_gust_of_one_unit_is_that_of_the_reader():
    assert [Measures("en", system).gust(8.0, others=False) for system in ("metric", "us")] == ["28 km/h", "17 mph"]
