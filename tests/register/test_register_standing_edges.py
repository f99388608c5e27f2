"""Marks and moves that two copies hold side by side, and the edges of their days."""

from __future__ import annotations

import datetime
from types import SimpleNamespace

import pytest

from siteassess.register.fold import Subject
from siteassess.register.moves import ACTIVE, APPROVED, CLOSED, RESTING, REVIEW_DUE
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


@pytest.mark.parametrize(
    "word, now", [(APPROVED, APPROVED), (RESTING, RESTING), (CLOSED, CLOSED), (ACTIVE, REVIEW_DUE)]
)
def test_a_place_the_group_lets_rest_asks_for_no_mark_of_the_owner_until_it_is_used(word, now):
    moved = (SimpleNamespace(body={"to": word}),)
    assert standing(tree(mark(), moves=moved), Around(lambda name: None, lambda name: ())).status == now


@pytest.mark.parametrize("lost, doubted", [("2026-01-09", False), ("2026-01-10", True), ("2026-01-11", True)])
def test_a_mark_recorded_when_entries_were_lost_of_tree_or_site_is_doubted(lost, doubted):
    assert mark_now(tree(mark(), lost_since=lost), [], "group").doubted is doubted
    assert mark_now(tree(mark()), [Subject("s", lost_since=lost)], "group").doubted is doubted


def test_of_two_rests_the_later_end_is_told():
    moves = tuple(SimpleNamespace(body={"to": "resting", "until": day}) for day in ("2026-05-01", "2026-08-01"))
    resting = Subject("t", kind="tree", moves=moves)
    assert standing(resting, Around(lambda name: None, lambda name: ())).until == "2026-08-01"


@pytest.mark.parametrize("kind, whole", [("tree", False), ("tree", True), ("", True), ("", False)])
def test_what_lost_its_record_is_known_by_the_beginning_of_its_name(kind, whole):
    versions = (SimpleNamespace(body={"record": {"code": "T1"}}),) if whole else ()
    known = label(Subject("0123456789abcdef", kind=kind, versions=versions))
    assert known == ("T1" if kind and whole else "0123456789")
