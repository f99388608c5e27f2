"""Marks and moves that two copies hold side by side, and the edges of their days."""

from __future__ import annotations

import datetime
from types import SimpleNamespace

import pytest

from siteassess.register.fold import Subject
from siteassess.register.standing import Around, label, mark_now, standing


def mark(given: bool = True, expires: str = "2026-12-31", date: str = "2026-01-10", recorded: str = "2026-01-10"):
    return SimpleNamespace(body={"given": given, "expires": expires, "date": date}, recorded=recorded)


def tree(*marks, **told) -> Subject:
    return Subject("t", kind="tree", marks={"group": marks}, **told)


def test_of_two_marks_the_earlier_end_and_the_later_beginning_hold():
    found = mark_now(tree(mark(expires="2026-06-30"), mark(expires="2026-09-30", date="2026-03-01")), [], "group")
    assert (found.expires, found.begins) == ("2026-06-30", "2026-03-01")


def test_a_mark_holds_on_its_first_day_and_on_its_last():
    found = mark_now(tree(mark(expires="2026-06-30")), [], "group")
    days = ("2026-01-09", "2026-01-10", "2026-06-30", "2026-07-01")
    assert [found.holds(datetime.date.fromisoformat(day)) for day in days] == [False, True, True, False]


@pytest.mark.parametrize("lost, doubted", [("2026-01-09", False), ("2026-01-10", True), ("2026-01-11", True)])
def test_a_mark_recorded_when_entries_were_lost_of_tree_or_site_is_doubted(lost, doubted):
    assert mark_now(tree(mark(), lost_since=lost), [], "group").doubted is doubted
    assert mark_now(tree(mark()), [Subject("s", lost_since=lost)], "group").doubted is doubted


def test_of_two_rests_the_later_end_is_told():
    moves = tuple(SimpleNamespace(body={"to": "resting", "until": day}) for day in ("2026-05-01", "2026-08-01"))
    resting = Subject("t", kind="tree", moves=moves)
    assert standing(resting, Around(lambda name: None, lambda name: ())).until == "2026-08-01"


# ---- what a line leans on; the words' demands are the group's good practice (register/moves.py, common practice)

IN_JUNE = datetime.date(2026, 6, 1)


def moved(*words: str) -> tuple:
    return tuple(SimpleNamespace(body={"to": word}) for word in words)


def line(*words: str, group: tuple = (mark(),), owner: tuple = (), anchors: tuple[str, ...] = ("a",)) -> Subject:
    marks = {by: given for by, given in (("group", group), ("owner", owner)) if given}
    versions = (SimpleNamespace(body={"anchors": anchors, "record": {"id": "L1"}}),)
    return Subject("l", kind="line", versions=versions, moves=moved(*words), marks=marks)


def anchor(word: str, expires: str = "2026-12-31") -> Subject:
    return Subject("a", kind="anchor", moves=moved(word), marks={"group": (mark(expires=expires),)})


def stands(subject: Subject, *here: Subject):
    held = {one.id: one for one in here}
    return standing(subject, Around(held.get, lambda name: ()), IN_JUNE)


def codes(found) -> list[str]:
    return [why.code for why in found.reasons]


def test_an_anchor_that_is_named_and_not_here_keeps_a_line_from_being_approved():
    found = stands(line("approved with conditions"), anchor("approved with conditions"))
    assert (found.status, codes(found)) == ("approved with conditions", [])
    found = stands(line("approved with conditions"))
    assert (found.status, found.own, codes(found)) == ("review due", "approved with conditions", ["missing"])


def test_an_anchor_whose_own_mark_ran_out_holds_its_lines():
    found = stands(line("approved with conditions"), anchor("approved with conditions", expires="2026-05-31"))
    assert (found.status, codes(found)) == ("review due", ["part-status"])


def test_what_is_approved_wants_the_groups_mark_and_what_is_active_the_owners_too():
    here = anchor("approved with conditions")
    assert stands(line("approved with conditions"), here).own == "approved with conditions"
    found = stands(line("active"), here)
    assert (found.own, codes(found)) == ("review due", ["mark-missing"])
    assert stands(line("active", owner=(mark(),)), here).own == "active"


def test_two_copies_are_told_to_differ_where_they_moved_to_two_words():
    differ = {words: "copies-differ" in codes(stands(line(*words)))
              for words in ((), ("surveyed",), ("surveyed", "surveyed"), ("surveyed", "draft"))}  # fmt: skip
    assert list(differ.values()) == [False, False, False, True]


def test_a_line_stands_until_the_earlier_of_its_marks_ends_and_a_refusal_ends_on_no_day():
    both = line("active", owner=(mark(expires="2026-09-30"),))
    assert stands(both).valid_until == "2026-09-30"
    refused = line("active", owner=(mark(given=False, expires="2026-06-30"),))
    assert stands(refused).valid_until == "2026-12-31"


@pytest.mark.parametrize("kind, whole", [("tree", False), ("tree", True), ("", True), ("", False)])
def test_what_lost_its_record_is_known_by_the_beginning_of_its_name(kind, whole):
    versions = (SimpleNamespace(body={"record": {"code": "T1"}}),) if whole else ()
    known = label(Subject("0123456789abcdef", kind=kind, versions=versions))
    assert known == ("T1" if kind and whole else "0123456789")
