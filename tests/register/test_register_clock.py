"""Wrong clocks: asked about before they write, said when they read, and set right by an entry that travels."""

from __future__ import annotations

import datetime

import pytest
from click.testing import CliRunner

from siteassess.cli import group as commands
from siteassess.errors import FaultyInput, StoreError
from siteassess.register import clock
from siteassess.register.listing import details
from siteassess.register.merge import merge_events, merge_store
from siteassess.register.store import Store
from siteassess.register.verify import verify


def at(**shift):
    """A clock that is off by so much."""
    return lambda: datetime.datetime.now(datetime.UTC) + datetime.timedelta(**shift)


def prune(group):
    return group.log(group["anchor T01"], what="event", event="pruning")


def test_a_clock_far_past_the_newest_entry_is_refused_with_how_to_go_on(group):
    before = group.store.count()
    for days, refused in ((clock.CLOCK_GAP.days - 1, False), (clock.CLOCK_GAP.days + 1, True), (36_500, True)):
        group.store.now = at(days=days)
        if refused:
            with pytest.raises(StoreError, match="days after the newest entry.*--clock-is-right"):
                prune(group)
        else:
            clock.refuse_leap(group.store)
    assert group.store.count() == before
    group.store.clock_is_right = True
    prune(group)


@pytest.mark.parametrize("right", [True, False])
def test_who_sits_at_the_machine_is_asked_once(group, right):
    asked = []
    group.store.now = at(days=400)
    group.store.ask = lambda text: asked.append(text) or right
    for _ in range(2):
        if right:
            prune(group)
        else:
            with pytest.raises(StoreError, match="Nothing was written"):
                prune(group)
    assert len(asked) == (1 if right else 2) and "400 days" in asked[0]


@pytest.mark.parametrize("right", [None, True, False])
def test_a_mark_that_would_hold_for_good_is_asked_about(group, right):
    asked = []
    if right is not None:
        group.store.ask = lambda text: asked.append(text) or right
    before = group.store.count()
    if right:
        group.mark(group["site"], expires="2206-12-31")
    else:
        with pytest.raises(StoreError, match="until 2206-12-31, 180 years. Nothing was written.*--far-end-is-right"):
            group.mark(group["site"], expires="2206-12-31")
    assert group.store.count() - before == (right is True) and len(asked) == (right is not None)
    # leave for five years is usual, and taking a mark back is never asked about
    group.mark(group["site"], "owner", expires="2031-04-20")
    group.mark(group["site"], "owner", given=False)
    if not right:
        with pytest.raises(StoreError, match="6 years"):
            group.mark(group["site"], "owner", expires="2032-04-21")


def test_a_far_end_that_nobody_said_is_meant_holds_nowhere(group, new_group):
    """An older program, or another file, may have let one through: it is read and merged, and does not hold."""
    group.activate()
    for meant, state in ((None, "mark-too-long"), (True, "mark-in-force")):
        body = {"by": "owner", "given": True, "name": "x", "date": "2026-04-20", "expires": "2190-12-31"}
        body |= {"far_end_is_right": True} if meant else {}
        before = [event.name for event in group.store.subject(group["site"]).marks["owner"]]
        with group.store.change() as writer:
            writer.add("mark", group["site"], body, who="Ada", why="w", replaces=before)
        other = new_group(f"other-{meant}", record=None)
        merge_store(other.store, group.store)
        for store in (group.store, other.store):
            found = details(store, group["line L1"], group.today).listed
            assert store.standing(group["line L1"], group.today).marks["owner"].state(group.today).code == state
            assert found.may_rig_now == ("yes with conditions" if meant else "no")


@pytest.fixture
def ahead(group):
    """A register written by a clock three years ahead, and the same clock put right afterwards."""
    group.activate()
    group.store.clock_is_right = True
    group.store.now = at(days=1100)
    group.late = [prune(group), group.log(group["anchor T02"], what="event", event="storm")]
    group.store.now = at()
    return group


def test_entries_ahead_are_named_and_set_right_by_a_signed_entry(ahead):
    doubts = ahead.store.doubts()
    assert doubts.clock_behind and set(doubts.ahead) == {event.name for event in ahead.late}
    with ahead.store.change() as writer:
        event = clock.set_right(writer, "Cleo", "the laptop ran three years ahead")
    assert event.who == "Cleo" and set(event.body["ahead"]) == set(doubts.ahead)
    assert ahead.store.doubts().ahead == () and not ahead.store.doubts().clock_behind
    later = prune(ahead)
    assert later.recorded < ahead.late[0].recorded
    assert verify(ahead.store) == []
    storm = next(t for t in ahead.store.subject(ahead["anchor T02"]).triggers if t.what == "storm")
    assert ahead.store.subject(ahead["anchor T02"]).last_recorded == event.recorded and storm
    with pytest.raises(StoreError, match="no entry is ahead"), ahead.store.change() as writer:
        clock.set_right(writer, "Cleo", "again")


def test_one_wrong_clock_no_longer_blocks_every_later_merge(ahead, new_group):
    other = new_group("other")
    with pytest.raises(FaultyInput, match="2 entries.*--set-right"):
        merge_store(other.store, ahead.store)
    with ahead.store.change() as writer:
        clock.set_right(writer, "Cleo", "a clock was wrong")
    prune(ahead)
    merge_store(other.store, ahead.store)
    merge_store(ahead.store, other.store)
    for store in (other.store, ahead.store):
        assert verify(store) == [] and not store.doubts().ahead
    assert other.store.heads() == ahead.store.heads()


def test_whoever_merges_can_set_right_what_nobody_else_does(ahead, new_group):
    other = new_group("other")
    with other.store.change() as writer:
        report = merge_events(writer, ahead.store.iterate(), {}, "theirs", set_right_by=("Ben", "their clock"))
    assert report.set_right == 2
    assert verify(other.store) == [] and not other.store.doubts().clock_behind
    # the copy still ahead takes it in without a word more, and both write at the true time again
    merge_store(ahead.store, other.store)
    assert not ahead.store.doubts().ahead
    assert prune(ahead).recorded < ahead.late[0].recorded


def test_two_who_set_the_same_right_agree_on_the_earlier(ahead, tmp_path):
    import shutil

    shutil.copy(ahead.store.path, tmp_path / "two.gpkg")
    with Store.open(tmp_path / "two.gpkg") as two:
        said = []
        for store in (ahead.store, two):
            with store.change() as writer:
                said.append(clock.set_right(writer, "Cleo", "x").recorded)
        merge_store(ahead.store, two)
        merge_store(two, ahead.store)
        for store in (ahead.store, two):
            assert store.subject(ahead["anchor T02"]).last_recorded == min(said)
            assert verify(store) == []


def test_what_is_not_ahead_cannot_be_moved_back(group):
    from siteassess.register.events import canonical, name_of

    head = group.store.event(group.store.heads()[0])
    parts = {
        "format": 1,
        "kind": "clock",
        "subject": group.store.first_register().name,
        "parents": [head.name],
        "replaces": [],
        "who": "Mallory",
        "recorded": head.recorded,
        "why": "x",
        "body": {"ahead": [head.name]},
        "salt": "0",
    }
    content = canonical(parts)
    with pytest.raises(FaultyInput, match="not ahead of it"), group.store.change() as writer:
        merge_events(writer, [(name_of(content), content)], {}, "other")


def run(*args):
    return CliRunner().invoke(commands, ["register", *map(str, args)])


def test_the_commands_say_what_is_ahead_and_how_to_go_on(ahead, new_group):
    ahead.store.close()
    other = new_group("other")
    other.store.close()
    path, theirs = other.store.path, ahead.store.path
    said = run("list", theirs)
    assert said.exit_code == 0 and "ahead of this machine's clock" in said.output and "--set-right" in said.output
    assert "--set-right --who NAME" in str(run("merge", path, theirs).exception)
    assert run("merge", path, theirs, "--set-right").exit_code == 2
    done = run("merge", path, theirs, "--set-right", "--who", "Ben")
    assert done.exit_code == 0 and "2 entries ahead of the clock set right by Ben" in done.output
    assert run("verify", path).exit_code == 0
    looked = run("clock", theirs)
    assert "2 entries are ahead" in looked.output
    assert "set right, kept" in run("clock", theirs, "--who", "Ada", "--set-right").output
    assert "0 entries are ahead" in run("clock", theirs).output
    assert run("merge", path, theirs).exit_code == 0


def test_who_merges_into_a_list_that_rested_can_do_what_the_refusal_asks_for(group, tmp_path):
    long_ago = at(days=-900)
    with Store.create(tmp_path / "old.gpkg", title="Invented", who="Ada", now=long_ago):
        pass
    group.store.close()
    refused = run("merge", tmp_path / "old.gpkg", group.store.path)
    assert "--clock-is-right" in str(refused.exception)
    done = run("merge", tmp_path / "old.gpkg", group.store.path, "--clock-is-right")
    assert done.exit_code == 0 and "changes and 0 photos added" in done.output
