"""What keeps a sum from being made is told by a code in every language; its message is the English of that code."""

from __future__ import annotations

import ast
from pathlib import Path

import numpy as np
import pytest
from parks import record

import siteassess
from siteassess.advice.assess import assess
from siteassess.advice.finding import whys
from siteassess.errors import OutsideModel, UnknownName, WordedError
from siteassess.mechanics.bark import positive, press
from siteassess.mechanics.cable import WhyNot, solve
from siteassess.mechanics.loadcases import load_cases
from siteassess.reference import findings
from siteassess.reference.findings import wording
from siteassess.reference.languages import SIDE_BY_SIDE as LANGUAGES
from siteassess.reference.species import find_species

MECHANICS = Path(siteassess.__file__).parent / "mechanics"


def raised() -> list[tuple[str, str]]:
    """Message and code of every error of the models that has both as plain texts."""
    calls = [node for path in sorted(MECHANICS.glob("*.py")) for node in ast.walk(ast.parse(path.read_text("utf-8")))
             if isinstance(node, ast.Call) and getattr(node.func, "id", "") == "OutsideModel" and len(node.args) == 2]
    plain = [(call.args[0], call.args[1]) for call in calls if isinstance(call.args[0], ast.Constant)]
    return [(message.value, code.value) for message, code in plain]  # fmt: skip


@pytest.mark.parametrize("message, code", raised())
def test_a_message_is_the_english_of_its_code(message, code):
    assert wording(code, {}) == message


def test_there_are_such_errors():
    assert len(raised()) >= 12


def test_every_reason_of_a_line_without_an_answer_is_worded():
    reasons = [one for one in WhyNot if one]
    assert len(reasons) == 8 and all(wording(one.code, {}, language=language)
                                     for one in reasons for language in LANGUAGES)  # fmt: skip


def refused(call) -> WordedError:
    with pytest.raises((OutsideModel, UnknownName)) as caught:
        call()
    return caught.value


CASES = {
    "link": lambda: press(1e3, 0.4, 0.05, 0.21),
    "diameter": lambda: press(1e3, -0.4, 0.05),
    "several": lambda: positive("slat width", np.array([0.1, -0.2])),
    "pull": lambda: press(-5.0, 0.4, 0.05),
    "steep": lambda: solve(10.0, 20.0, 3e3, 60e3, 0.7, 800.0, 0.5).require(),
    "two reasons": lambda: solve(10.0, [20.0, np.nan], 3e3, 60e3, 0.7, 800.0, 0.5).require(),
    "leash": lambda: load_cases("high line", 30.0, 0.0, 3e3, 60e3, 0.7, 800.0, leash=0.0),
    "name": lambda: find_species("Qercus robr"),
    "no near name": lambda: find_species("zzzz"),
}


@pytest.mark.parametrize("case", CASES)
def test_an_error_with_values_reads_the_same_by_its_codes_and_no_language_is_english(case):
    error = refused(CASES[case])
    told = {language: "; ".join(why.in_words(language) for why in whys(error)) for language in LANGUAGES}
    of_the_line = {one.code for one in WhyNot if one}  # whose message is its codes: the models know no wording
    assert error.codes and str(error) == (told["en"] if not of_the_line & {*error.codes} else "; ".join(error.codes))
    assert len(set(told.values())) == len(LANGUAGES)


def test_an_error_without_a_code_is_told_as_it_is():
    (why,) = whys(OutsideModel("no such trunk"))
    assert {why.in_words(language) for language in LANGUAGES} == {"no such trunk"}


def test_a_german_card_carries_no_english_reason():
    (line,) = assess(record({"L1.webbing": {"stretch": [
        {"tension": "4 kN", "stretch": "5 %"}, {"tension": "2 kN", "stretch": "8 %"}]}})).lines
    finding = next(one for end in line.anchors for one in end.findings if one.code == "stretch-table-unusable")
    why = "a stretch table must rise from row to row in tension and in strain"
    assert finding.says == f"the stretch table cannot be used: {why}"
    assert finding.in_words("de") == (
        "die Dehnungstabelle ist nicht brauchbar: eine Dehnungstabelle muss von Zeile zu Zeile in Spannung und Dehnung "
        "steigen")  # fmt: skip
    assert finding.effect == "cannot say"


def test_a_post_is_told_in_every_language_with_what_somebody_wrote():
    made = record({"anchors.0": {"kind": "other", "code": "T1", "what": "lamp post"}})
    (finding,) = assess(made).lines[0].anchors[0].findings
    assert finding.says == "lamp post: posts, walls, rails and bolts lie outside this program"
    assert finding.in_words("fr").startswith("lamp post : poteaux") and "Anker" in finding.in_words("de", "action")


def test_rewording_the_reasons_changes_no_verdict(monkeypatch):
    made = record({"L1.standing.tension": "3 N"})
    usual = [line.verdict for line in assess(made).lines]
    plain = findings.unfilled
    monkeypatch.setattr(findings, "unfilled", lambda code, part="full", language="en": (
        "x" if code.startswith(("line-", "load-")) and part == "full" else plain(code, part, language)))
    assert [line.verdict for line in assess(made).lines] == usual
