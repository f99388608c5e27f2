"""Every "cannot say" tells what to do next, and every list of findings tells the word each of them allows."""

from __future__ import annotations

import ast
from pathlib import Path

import pytest
from any_words import sentence
from drawn import drawn
from parks import data
from worse_pairs import judged

import siteassess.advice
from siteassess.advice.finding import BY_REASON, steps_for
from siteassess.mechanics.limit import REFUSALS, Outside
from siteassess.papers import wording
from siteassess.reference.findings import codes, row_of

ROOM = Path(siteassess.advice.__file__).parent


def _calls():
    for path in sorted(ROOM.glob("*.py")):
        for node in ast.walk(ast.parse(path.read_text("utf-8"))):
            if isinstance(node, ast.Call) and getattr(node.func, "id", "") in ("found", "replace"):
                yield path.name, node


def _says_cannot(node: ast.Call) -> bool:
    given = [*node.args[1:2], *(word.value for word in node.keywords if word.arg == "effect")]
    return any(isinstance(part, ast.Constant) and part.value == "cannot say"
               for one in given for part in ast.walk(one))  # fmt: skip


CANNOT = [(name, node) for name, node in _calls() if _says_cannot(node)]


def test_there_are_many_of_them():
    assert len(CANNOT) > 30


@pytest.mark.parametrize("name, node", CANNOT, ids=[f"{name}:{node.lineno}" for name, node in CANNOT])
def test_every_cannot_say_tells_what_to_do_next(name, node):
    given = {word.arg: word.value for word in node.keywords}
    code = node.args[0] if node.func.id == "found" else given.get("code")
    if code is None:
        assert "do_next" in given, ast.unparse(node)
    for one in ast.walk(code) if code is not None else ():
        if isinstance(one, ast.Constant) and one.value in codes():
            assert row_of(one.value).get("action"), one.value


@pytest.mark.parametrize("seed", range(20))
def test_so_it_does_in_answers(seed):
    answer = judged(drawn(seed))
    found = [] if answer is None else [*answer.findings, *(f for end in answer.anchors for f in end.findings)]
    for one in found:
        assert bool(one.do_next) == (one.effect == "cannot say"), one
        assert one.condition or one.effect != "suits if", one


def test_every_refusal_has_a_next_step():
    assert {flag for flag in Outside if flag in REFUSALS and flag} == set(BY_REASON)


def test_next_steps_of_several_refusals_are_told_once_each():
    both = Outside.THIN_WALL | Outside.SLENDER | Outside.EDGE_NEAR | Outside.SQUAT
    assert [step.code for step in steps_for(int(both))] == ["ask-an-arborist", "take-another-anchor"]
    assert [step.code for step in steps_for(0)] == ["look-at-what-is-missing"]


@pytest.mark.parametrize("effect, told", [
    ("cannot say", "it is so (cannot say; next: look)"), ("leave it", "it is so (leave it)"),
    ("suits if", "it is so (suits if dry)"), ("suits", "it is so"),
])  # fmt: skip
def test_a_finding_is_told_with_the_word_it_allows(effect, told):
    assert wording.finding(sentence("x", effect, "it is so", "dry", action="look")) == told


def test_a_list_of_the_line_as_a_whole_tells_suits_too():
    assert wording.finding(sentence("x", "suits", "it is so"), even_suits=True) == "it is so (suits)"


@pytest.mark.parametrize("edits, step", [
    ({"L1.standing": None}, "measure the line, or plan one that the model covers"),
    ({"L1.a.sling.link_distance": "0.31 m"}, "set the link further off"),
])  # fmt: skip
def test_bark_that_cannot_be_judged_asks_for_what_it_lacks(edits, step):
    """The trunk was taped, and how the sling lies was said."""
    told = next(f for f in judged(data(edits)).anchors[0].findings if f.about == "bark" and f.effect == "cannot say")
    assert told.do_next.startswith(step) and "trunk's size" not in told.says
