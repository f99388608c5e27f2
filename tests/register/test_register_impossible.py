"""What cannot be is refused, whoever says it: on writing and on merging."""

from __future__ import annotations

import copy
import datetime

import pytest

from siteassess.errors import FaultyInput, SiteassessError, StoreError
from siteassess.register import actions
from siteassess.register.events import canonical, name_of
from siteassess.register.merge import merge_events
from siteassess.register.verify import verify


def forged(group, kind, subject, body, **said):
    """A well-named entry on top of a register, made past every check."""
    head = group.store.event(group.store.heads()[0])
    parts = {
        "format": 1,
        "kind": kind,
        "subject": subject,
        "parents": [head.name],
        "replaces": [],
        "who": "Mallory",
        "recorded": head.recorded,
        "why": "x",
        "body": body,
        "salt": "0",
        **said,
    }
    content = canonical(parts)
    return name_of(content), content


def merge_refuses(group, event, why):
    before = group.store.count()
    with pytest.raises(FaultyInput, match=why), group.store.change() as writer:
        merge_events(writer, [event], {}, "other")
    assert group.store.count() == before


def test_a_line_on_a_tree_of_another_park(group, park):
    other = copy.deepcopy(park)
    other["site"]["name"] = "The Green"
    elsewhere = group.do(actions.add_record, other)
    line = {"id": "L9", "use": "low line", "a": {"anchor": "T01"}, "b": {"anchor": "T02"}}
    body = {"site": group["site"], "anchors": [group["anchor T01"], elsewhere["anchor T02"]], "record": line}
    with group.store.change() as writer, pytest.raises(StoreError, match="another park"):
        writer.add("line", "", body, who="Ada", why="x")
    merge_refuses(group, forged(group, "line", "", body), "another park")


def test_a_use_of_a_line_that_is_not_tied_to_that_tree(group):
    use = {"what": "use", "hours": "2 h", "line": group["line L1"], "date": "2026-05-02"}
    group.do(actions.log, group["anchor T01"], use)
    with pytest.raises(StoreError, match="L1, is not tied there"):
        group.do(actions.log, group["anchor T03"], use)
    merge_refuses(group, forged(group, "log", group["anchor T03"], use), "not tied there")
    with pytest.raises(StoreError, match="is missing"):
        group.do(actions.log, group["anchor T03"], {**use, "line": group["anchor T01"]})
    # under another name it is the same trunk
    group.do(actions.join, group["anchor T01"], group["anchor T03"])
    group.do(actions.log, group["anchor T03"], use)
    assert verify(group.store) == []


@pytest.mark.parametrize(
    "body",
    [{"what": "use", "hours": "2 h"}, {"what": "event", "event": "storm"}, {"what": "marks", "bark_marks": "dent"}],
)
def test_nothing_is_seen_or_used_ahead_of_its_day(group, body):
    today = datetime.datetime.now(datetime.UTC)
    east = (today + datetime.timedelta(hours=14)).date()
    group.do(actions.log, group["anchor T01"], {**body, "date": str(east)})
    ahead = {**body, "date": str(east + datetime.timedelta(days=1))}
    with pytest.raises(StoreError, match="lies after the day it is written"):
        group.do(actions.log, group["anchor T01"], ahead)
    merge_refuses(group, forged(group, "log", group["anchor T01"], ahead), "lies after")
    entry = group.log(group["anchor T01"], **body)
    with pytest.raises(StoreError, match="lies after"):
        group.do(actions.correct, entry.name, body=ahead)


def test_an_assessment_is_not_made_ahead_and_a_rest_may_be_planned(group):
    ahead = datetime.date.today() + datetime.timedelta(days=9)
    with pytest.raises(StoreError, match="lies after"), group.store.change() as writer:
        actions.keep_answer(writer, group["line L1"], {"verdict": "suits"}, ahead, group.by())
    group.do(actions.log, group["anchor T01"], {"what": "rest", "date": str(ahead)})


@pytest.mark.parametrize(
    "body",
    [
        {"what": "use", "start": "14:00", "end": "10:00"},
        {"what": "use", "start": "10:00", "end": "09:59"},
        {"what": "rest", "until": "2026-05-01"},
        {"what": "inspection", "inspector": "x", "standing": "unknown", "finding": "x", "action_done": "2026-05-01"},
        {"what": "inspection", "inspector": "x", "standing": "unknown", "finding": "x", "next_due": "2026-05-01"},
    ],
)
def test_an_end_before_its_start(group, body):
    with pytest.raises(FaultyInput, match="wanted"):
        group.log(group["anchor T01"], **body)
    entry = {"date": "2026-05-02", **body}
    with pytest.raises(SiteassessError), group.store.change() as writer:
        merge_events(writer, [forged(group, "log", group["anchor T01"], entry)], {}, "other")


@pytest.mark.parametrize(("start", "end"), [("10:00", "14:00"), ("22:00", "01:00"), ("20:00", "08:00")])
def test_a_night_is_no_slip(group, start, end):
    group.log(group["anchor T01"], what="use", start=start, end=end)


def test_a_rest_or_season_that_ends_before_it_begins(group):
    group.activate()
    with pytest.raises(StoreError, match="ends before it begins"):
        group.move(group["line L1"], "resting", until=group.today - datetime.timedelta(days=1))
    group.move(group["line L1"], "resting", until=group.today)
