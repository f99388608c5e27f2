"""What a tree or line leans on, how a refusal and a join reach it, and which end of several marks is told."""

from __future__ import annotations

import datetime
from dataclasses import replace
from types import SimpleNamespace

import pytest

from siteassess.register.fold import Subject, Trigger
from siteassess.register.moves import ACTIVE, APPROVED, ARCHIVED, CLOSED, RESTING, REVIEW_DUE, WITHDRAWN
from siteassess.register.standing import Around, standing

TODAY = datetime.date(2026, 5, 1)


def mark(given: bool = True, expires: str = "2026-12-31"):
    return SimpleNamespace(body={"given": given, "expires": expires, "date": "2026-01-10"}, recorded="2026-01-10")


GIVEN = (mark(),)


def moved(to: str):
    return (SimpleNamespace(body={"to": to}),)


def subject(name: str, to: str, group=GIVEN, owner=GIVEN, **told) -> Subject:
    return Subject(name, kind=told.pop("kind", "tree"), moves=moved(to), marks={"group": group, "owner": owner}, **told)


def codes(found) -> list[str]:
    return [why.code for why in found.reasons]


def line_on(*names: str) -> Subject:
    leans = SimpleNamespace(body={"anchors": list(names)})
    return subject("l", ACTIVE, kind="line", versions=(leans,))


def around(*subjects: Subject, joined: dict[str, tuple[str, ...]] | None = None) -> Around:
    known = {one.id: one for one in subjects}
    return Around(known.get, lambda name: (joined or {}).get(name, ()), lambda site: ())


def test_of_what_group_and_owner_gave_the_earlier_end_is_told_and_a_refusal_has_none():
    tree = subject("t", ACTIVE, (mark(expires="2026-09-30"),), (mark(expires="2026-06-30"),))
    assert standing(tree, around(), TODAY).valid_until == "2026-06-30"
    refused = subject("t", ACTIVE, (mark(expires="2026-09-30"),), (mark(False, "2026-06-30"),))
    assert standing(refused, around(), TODAY).valid_until == "2026-09-30"


@pytest.mark.parametrize("to, word", [
    (ACTIVE, WITHDRAWN), (APPROVED, WITHDRAWN), (RESTING, WITHDRAWN), (ARCHIVED, ARCHIVED)])
def test_what_its_owner_refuses_is_withdrawn_whatever_it_was_unless_it_is_put_away(to, word):
    assert standing(subject("t", to, owner=(mark(False),)), around(), TODAY).status == word


def test_approved_asks_for_the_groups_mark_and_active_for_the_owners_too():
    def word(to: str, group, owner) -> str:
        return standing(subject("t", to, group, owner), around(), TODAY).status

    assert word(APPROVED, GIVEN, ()) == APPROVED and word(ACTIVE, GIVEN, ()) == REVIEW_DUE
    found = standing(subject("t", ACTIVE, GIVEN, ()), around(), TODAY)
    assert found.own == REVIEW_DUE and codes(found) == ["mark-missing"]
    assert word(APPROVED, (), GIVEN) == REVIEW_DUE and word(ACTIVE, GIVEN, GIVEN) == ACTIVE


@pytest.mark.parametrize("tree, word", [
    (subject("t", ACTIVE), ACTIVE), (subject("t", RESTING), RESTING), (subject("t", CLOSED), CLOSED),
    (subject("t", ACTIVE, owner=(mark(False),)), WITHDRAWN),
    (subject("t", ACTIVE, owner=(mark(expires="2026-04-30"),)), REVIEW_DUE),
    (subject("t", "draft"), ACTIVE),  # never reviewed by itself, it holds nothing back
])  # fmt: skip
def test_a_line_reads_no_better_than_a_tree_it_leans_on(tree, word):
    found = standing(line_on("t"), around(tree), TODAY)
    assert found.status == word and found.own == ACTIVE
    assert codes(found) == ["part-status"] * (word != ACTIVE)


def test_a_tree_that_is_named_and_not_here_may_hold_the_worst_news():
    found = standing(line_on("t", "gone"), around(subject("t", ACTIVE)), TODAY)
    assert (found.status, found.own, codes(found)) == (REVIEW_DUE, ACTIVE, ["missing"])


def test_two_copies_are_told_to_differ_where_they_moved_to_two_words():
    marks = {"group": GIVEN, "owner": GIVEN}
    told = ["copies-differ" in codes(standing(Subject("t", kind="tree", moves=moves, marks=marks), around(), TODAY))
            for moves in ((), moved(ACTIVE), moved(ACTIVE) * 2, moved(ACTIVE) + moved(RESTING))]  # fmt: skip
    assert told == [False, False, False, True]


def test_a_join_of_a_join_is_found_and_nothing_is_found_twice():
    one, two, three = (subject(name, ACTIVE, versions=(SimpleNamespace(body={}),)) for name in "abc")
    found = around(one, two, three, joined={"a": ("b",), "b": ("a", "c"), "c": ("b",)}).beside([one])
    assert sorted(part.id for part in found) == ["a", "b", "c"]


def test_a_refusal_for_the_site_refuses_its_trees_whatever_these_were_given_themselves():
    site = Subject("s", kind="site", marks={"owner": (mark(False),)})
    inside = (SimpleNamespace(body={"site": "s"}),)
    for owner in (GIVEN, ()):
        tree = subject("t", ACTIVE, owner=owner, versions=inside)
        assert standing(tree, around(site), TODAY).status == WITHDRAWN


def test_news_of_a_tree_that_only_the_review_of_its_line_has_named_still_holds_the_line_back():
    news = (Trigger("e1", "storm", "2026-04-01"),)
    line = replace(line_on("t"), reviewed=frozenset({"e1"}))
    found = standing(line, around(subject("t", ACTIVE, triggers=news)), TODAY)
    assert found.own == ACTIVE and found.status == REVIEW_DUE
    assert standing(line, around(subject("t", ACTIVE)), TODAY).status == ACTIVE
