"""The terminal text and the JSON answer."""

from __future__ import annotations

import dataclasses
import json
import math
import re

import pytest
from any_words import plainly
from hypothesis import given, settings
from hypothesis import strategies as st

from siteassess.advice.finding import found
from siteassess.papers import wording
from siteassess.papers.as_json import jsonable, to_dict
from siteassess.papers.look import shorten
from siteassess.papers.terminal import WIDTH, explain, summary
from siteassess.reference import texts
from siteassess.reference.pages import plain


def test_summary_tells_verdicts_reasons_remedies_rules_and_cautions(assessment):
    text = summary(assessment)
    for wanted in (
        "Alder Meadow", "suits if the soil is not wet", "uses 78% of our stem-and-root limit",
        "uses 86% of our bark limit", "2 of 3 deciding things", "stop sign seen: bracket fungus at the base",
        "root plate: cannot say, no height was taken", "remedy: at T01 the tie sits at 1.10 m or lower",
        "not met: height at mid-span", "gear: not checked", "not looked at: height",
        "Trees fail without warning signs.", texts.text("verdict-tail"), texts.text("no-inspection"),
    ):  # fmt: skip
        assert " ".join(wanted.split()) in " ".join(text.split())


def test_summary_keeps_to_its_width_and_never_calls_a_result_safe(assessment):
    text = summary(assessment)
    assert max(map(len, text.splitlines())) <= WIDTH
    assert not re.search(r"\bsafe", text, re.IGNORECASE)


def test_summary_can_be_plain_ascii(make_assessment):
    text = summary(make_assessment(text=lambda t: f"{t} Ärger–×°中"), ascii_only=True)
    assert text.isascii()
    assert "Arger-x deg?" in text


def test_hostile_texts_cannot_steer_the_terminal(make_assessment):
    text = summary(make_assessment(text=lambda t: f"{t}\x1b[2J\r\x07\u202eevil", record_text=str))
    assert not re.search("[\x00-\x09\x0b-\x1f\x7f-\x9f\u202a-\u202e]", text)
    assert "evil" in text


def test_explain_lists_every_step_in_order(assessment):
    line = assessment.lines[0]
    first = dataclasses.replace(line.anchors[0], every_step=tuple(map(plainly, ("one", "two", "three"))))
    text = explain(dataclasses.replace(line, anchors=(first, line.anchors[1])))
    assert re.search(r"1\. one\s+2\. two\s+3\. three", text)


def test_summary_without_lines_says_so(make_assessment):
    assert "No line is planned" in summary(make_assessment(lines=()))


@pytest.mark.parametrize("lacks, told", [
    ({"distance_m": None}, "m taped; bearing"), ({"taped_m": None}, "m by position; bearing"),
    ({"distance_m": None, "taped_m": None}, "length not known; bearing by position 0"),
    ({"bearing_true_deg": None, "back_bearing_true_deg": None}, "taped; bearing not known."),
])  # fmt: skip
def test_what_is_not_known_of_a_line_is_left_out_or_said_once(make_assessment, lacks, told):
    made = make_assessment()
    line = made.lines[0]
    line = dataclasses.replace(line, geometry=dataclasses.replace(line.geometry, **lacks))
    shown = " ".join(summary(dataclasses.replace(made, lines=(line,))).split())
    assert told in shown and "not known taped" not in shown and "not known true" not in shown


CONTRACT_ANCHOR = {
    "loads", "limits", "hold_use", "care_use", "evidence", "stop_signs", "reasons", "remedies", "protection", "rules",
}  # fmt: skip


def test_json_keeps_the_command_contract(assessment):
    answer = to_dict(assessment)
    assert {"site", "lines", "assumptions", "cautions"} <= set(answer)
    for line in answer["lines"]:
        assert {"id", "verdict", "weaker_anchor", "anchors"} <= set(line)
        for anchor in line["anchors"]:
            assert set(anchor) >= CONTRACT_ANCHOR
            assert {"tension_n", "bearing_true_deg", "drop_m"} <= set(anchor["loads"][0])
            assert {"demand", "allowable", "use", "probability", "unit"} <= set(anchor["limits"][0])
    assert answer["lines"][0]["anchors"][0]["protection"]["pressure_pa"] == 150e3


def test_json_holds_null_where_nothing_is_known(assessment):
    line = assessment.lines[0]
    anchor = dataclasses.replace(line.anchors[0], hold_use=math.nan, tie_height_m=math.inf)
    odd = dataclasses.replace(
        assessment, lines=(dataclasses.replace(line, anchors=(anchor, line.anchors[1]), probability=math.nan),)
    )
    text = json.dumps(to_dict(odd), allow_nan=False)
    answer = json.loads(text)["lines"][0]
    assert answer["probability"] is None
    assert answer["anchors"][0]["hold_use"] is None and answer["anchors"][0]["tie_height_m"] is None
    # a limit the model cannot work out has no use at all, rather than nought
    assert to_dict(assessment)["lines"][3]["anchors"][0]["limits"][0]["use"] is None


NUMBERS_WITHOUT_UNIT = {
    "siteassess_answer",
    "demand", "allowable", "use", "probability", "capacity_median", "capacity_p05", "divisor", "ln_sd", "ln_sd_demand",
    "ln_sd_capacity", "value", "hold_use", "care_use", "strands", "slats", "known", "count", "pad_pieces", "slide_use",
    "rub_use", "under_line_share", "rank",
}  # fmt: skip
UNITS = ("_n", "_m", "_pa", "_deg", "_nm", "_m_s", "_m2")


def test_json_keys_of_numbers_end_in_their_unit(assessment):
    def numbers(value, key=""):
        if isinstance(value, dict):
            for name, item in value.items():
                # shares and sectors are named by what they are shares of; a code's values are SI, and its wording units
                if name not in ("variance_shares", "use_by_sector", "values") and not name.endswith("_codes"):
                    yield from numbers(item, name)
        elif isinstance(value, list):
            for item in value:
                yield from numbers(item, key)
        elif isinstance(value, (int, float)) and not isinstance(value, bool):
            yield key

    keys = set(numbers(to_dict(assessment)))
    assert len(keys) > 20
    assert {key for key in keys if not key.endswith(UNITS)} <= NUMBERS_WITHOUT_UNIT


def test_a_finding_in_json_is_whole():
    """Its clauses too, by their codes: who words it in another language needs more than the English sentence."""
    whole = found("limit-within", "suits", limit="stem", case="walked", use=0.2).adding("sum-underrates-squat")
    told = jsonable(whole)
    assert [clause["code"] for clause in told["more"]] == ["sum-underrates-squat"]
    assert told["says"].endswith(told["more"][0]["says"])


@given(
    st.recursive(
        st.floats() | st.none() | st.text() | st.booleans(), lambda c: st.lists(c) | st.dictionaries(st.text(), c)
    )
)
@settings(max_examples=60, deadline=None)
def test_any_nesting_becomes_json_without_nan(value):
    json.dumps(jsonable(value), allow_nan=False)


@given(st.text())
@settings(max_examples=100, deadline=None)
def test_plain_texts_stand_on_one_line_and_lose_no_letters(text):
    shown = plain(text)
    assert "\n" not in shown and "\x1b" not in shown
    letters = re.compile(r"[A-Za-z0-9<>$`]")
    assert letters.findall(shown) == letters.findall(text)
    assert len(shorten(text, 12)) <= 12


@pytest.mark.parametrize(
    ("value", "words"),
    [(None, "cannot say"), (math.nan, "cannot say"), (0.0, "under 1 in 1000"), (0.004, "about 1 in 250"),
     (0.9, "more likely than not"), (0.5, "about 1 in 2")],
)  # fmt: skip
def test_probabilities_in_words(value, words):
    assert wording.probability(value) == words


def test_when_a_line_comes_down_is_one_figure_rounded_down():
    assert wording.take_down(5.76) == "before gusts of 18 km/h (11 mph, 5 m/s) are forecast or felt"
    assert wording.take_down(40.0) == "before gusts of 61 km/h (38 mph, 17 m/s) are forecast or felt"
    assert wording.take_down(0.7) == "before any gust is forecast or felt"
    assert "cannot be worked out" in wording.take_down(None)
    assert "whatever the wind" in wording.take_down(0.0)
