"""Approvals: the table of moves, the two marks, news that forces a review, and what a line leans on."""

from __future__ import annotations

import datetime

import pytest
from hypothesis import given
from hypothesis import strategies as st

from siteassess.errors import FaultyInput, StoreError
from siteassess.register import actions, moves
from siteassess.register.reasons import reason

DAY = datetime.date


def test_every_word_can_be_reached_and_left():
    reached, todo = {moves.DRAFT}, [moves.DRAFT]
    while todo:
        for to in moves.MOVES[todo.pop()]:
            if to not in reached:
                reached.add(to)
                todo.append(to)
    assert reached == set(moves.STATUSES)
    assert set(moves.CAUTION_ORDER) == set(moves.STATUSES)


def test_no_way_leads_to_active_without_a_second_look():
    """Take the second look out of the table: then nothing active is left to reach from a draft or a due review."""
    for start in (moves.DRAFT, moves.REVIEW_DUE, moves.WITHDRAWN):
        reached, todo = {start}, [start]
        while todo:
            for to in moves.MOVES[todo.pop()]:
                if to not in reached and to != moves.SECOND_LOOK:
                    reached.add(to)
                    todo.append(to)
        assert moves.ACTIVE not in reached and moves.APPROVED not in reached


@given(st.sets(st.sampled_from(moves.STATUSES), min_size=1), st.sampled_from(moves.STATUSES))
def test_one_more_copy_never_makes_the_word_bolder(statuses, more):
    order = moves.CAUTION_ORDER.index
    assert order(moves.most_cautious(statuses | {more})) <= order(moves.most_cautious(statuses))


@pytest.mark.parametrize("now", moves.STATUSES)
@pytest.mark.parametrize("to", moves.STATUSES)
def test_an_illegal_move_is_refused_and_the_legal_ones_named(now, to):
    if to in moves.MOVES[now]:
        moves.refuse_illegal(now, to, "line L1")
        return
    with pytest.raises(StoreError) as refused:
        moves.refuse_illegal(now, to, "line L1")
    for legal in moves.MOVES[now]:
        assert legal in str(refused.value)


def test_the_whole_way_to_active_and_back_to_rest(group):
    group.activate()
    assert group.status("line L1") == "active"
    group.move(group["line L1"], "resting", until=DAY(2026, 6, 1))
    assert group.status("line L1") == "resting"
    group.move(group["line L1"], "active", on=DAY(2026, 6, 2))
    assert group.status("line L1") == "active"


def test_a_second_look_is_not_by_whoever_surveyed(group):
    group.move(group["line L1"], "surveyed", "Ben")
    for who in ("Ada", " ada ", "BEN"):
        with pytest.raises(StoreError, match="somebody else"):
            group.move(group["line L1"], "second look", who)
    group.move(group["line L1"], "second look", "Cleo")


def test_approval_needs_the_groups_mark_and_use_the_owners_too(group):
    line = group["line L1"]
    group.move(line, "surveyed")
    group.move(line, "second look", "Ben")
    with pytest.raises(StoreError, match="group's mark"):
        group.move(line, "approved with conditions", "Ben")
    group.mark(line, "group")
    group.move(line, "approved with conditions", "Ben")
    with pytest.raises(StoreError, match="owner's mark"):
        group.move(line, "active", "Ben")
    group.mark(group["site"], "owner", expires="2026-04-25", date="2026-04-20")
    with pytest.raises(StoreError, match="owner's mark"):
        group.move(line, "active", "Ben")
    group.mark(group["site"], "owner")
    group.move(line, "active", "Ben")
    assert group.status("line L1") == "active"


def test_a_mark_always_has_an_end(group):
    with pytest.raises(FaultyInput, match="always has an end"):
        group.do(actions.mark, group["line L1"], {"by": "group", "given": True, "name": "x", "date": "2026-05-01"})


def test_a_mark_that_runs_out_makes_a_review_due_the_day_after(group):
    group.activate()
    assert group.status("line L1", DAY(2026, 12, 31)) == "active"
    assert group.status("line L1", DAY(2027, 1, 1)) == "review due"


def test_the_earlier_of_two_marks_decides(group):
    group.activate()
    group.mark(group["line L1"], "group", expires="2026-07-01")
    assert group.status("line L1", DAY(2026, 7, 2)) == "review due"


@pytest.mark.parametrize("where", ["site", "line L1"])
def test_an_owner_who_takes_the_mark_back_withdraws_at_once(group, where):
    group.activate()
    group.mark(group[where], "owner", given=False)
    assert group.status("line L1") == "withdrawn"
    assert group.status("line L2") == ("withdrawn" if where == "site" else "draft")


@pytest.mark.parametrize("event", sorted(moves.FORCES_REVIEW))
@pytest.mark.parametrize("where", ["site", "anchor T02", "line L1"])
def test_news_of_the_tree_the_line_or_the_park_makes_a_review_due(group, event, where):
    group.activate()
    group.log(group[where], what="event", event=event)
    assert group.status("line L1") == "review due"
    with pytest.raises(StoreError, match="surveyed, second look, withdrawn, archived"):
        group.move(group["line L1"], "active", "Ben")


@pytest.mark.parametrize("event", ["pruning", "complaint", "other"])
def test_other_news_does_not(group, event):
    group.activate()
    group.log(group["anchor T01"], what="event", event=event)
    assert group.status("line L1") == "active"


def test_news_of_another_tree_does_not(group):
    group.activate()
    group.log(group["anchor T03"], what="event", event="storm")
    assert group.status("line L1") == "active"


@pytest.mark.parametrize("mark", ["torn", "bare wood"])
def test_torn_bark_after_a_use_is_damage(group, mark):
    group.activate()
    group.log(group["anchor T01"], what="use", hours="1 h", pull="1 kN", bark_marks=mark)
    assert group.status("line L1") == "review due"


def test_a_review_clears_only_the_news_it_has_seen(group):
    group.activate()
    line = group["line L1"]
    group.log(group["anchor T01"], what="event", event="storm")
    group.move(line, "second look", "Ben")
    group.log(group["anchor T02"], what="event", event="root works")
    # news that came after the look is not swallowed by the approval
    group.move(line, "approved with conditions", "Ben")
    assert group.status("line L1") == "review due"
    assert [news.what for news in group.store.standing(line, group.today).open_news] == ["root works"]
    for to in ("second look", "approved with conditions", "active"):
        group.move(line, to, "Ben")
    assert group.status("line L1") == "active"


def test_a_new_survey_makes_a_review_due(group, park):
    group.activate()
    park["anchors"][0]["trunk"][0]["girth"] = "176 cm"
    group.do(actions.add_record, park)
    standing = group.store.standing(group["line L1"], group.today)
    assert standing.status == "review due" and [news.what for news in standing.open_news] == ["new survey"]


def test_the_same_survey_again_changes_nothing(group, park):
    group.activate()
    before = group.store.count()
    group.do(actions.add_record, park)
    assert group.store.count() == before and group.status("line L1") == "active"


def test_a_changed_rule_set_makes_a_review_due_and_a_changed_note_does_not(group, park):
    group.activate()
    park["site"]["notes"] = "the gate squeaks"
    group.do(actions.add_record, park)
    assert group.status("line L1") == "active"
    park["site"]["rule_set"] = "another made up"
    group.do(actions.add_record, park)
    assert group.status("line L1") == "review due"


@pytest.mark.parametrize("to", ["withdrawn", "archived"])
def test_a_withdrawn_tree_takes_its_lines_with_it(group, to):
    group.activate()
    group.move(group["anchor T01"], to)
    standing = group.store.standing(group["line L1"], group.today)
    assert standing.status == to and reason("part-status", part="T01", word=to) in standing.reasons


def test_a_tree_that_rests_rests_its_line(group):
    group.activate()
    for to, who in (
        ("surveyed", "Ada"),
        ("second look", "Ben"),
        ("approved with conditions", "Ben"),
        ("resting", "Ben"),
    ):
        group.move(group["anchor T02"], to, who)
    assert group.status("line L1") == "resting"
    group.move(group["anchor T02"], "active", "Ben")
    assert group.status("line L1") == "active"


def test_a_closed_season_needs_its_last_day(group):
    group.activate()
    with pytest.raises(FaultyInput, match="last day of the closed season"):
        group.move(group["line L1"], "closed for a season")
    group.move(group["line L1"], "closed for a season", until=DAY(2026, 7, 31))
    assert group.status("line L1") == "closed for a season"


def test_news_entered_in_error_can_be_struck_out_and_stays_in_the_history(group):
    group.activate()
    storm = group.log(group["anchor T01"], what="event", event="storm")
    group.do(actions.correct, storm.name)
    assert group.status("line L1") == "active"
    assert storm.name in {event.name for event in group.store.events()}
    assert group.store.db.execute("SELECT void, corrected FROM care_log").fetchall() == [(1, 1)]


def test_a_correction_can_turn_an_entry_into_news(group):
    group.activate()
    entry = group.log(group["anchor T01"], what="event", event="pruning")
    group.do(actions.correct, entry.name, body={"what": "event", "date": "2026-05-02", "event": "root works"})
    assert group.status("line L1") == "review due"


def test_withdrawn_starts_again_as_a_draft(group):
    group.activate()
    group.move(group["line L1"], "withdrawn")
    with pytest.raises(StoreError, match="allowed from here: draft, archived"):
        group.move(group["line L1"], "active")
    group.move(group["line L1"], "draft")
    assert group.status("line L1") == "draft"


def test_an_arborists_standing_needs_the_qualification(group):
    body = {"what": "inspection", "inspector": "D.", "standing": "qualified arborist", "finding": "sound"}
    with pytest.raises(FaultyInput, match="qualification"):
        group.log(group["anchor T01"], **body)
    group.log(group["anchor T01"], **body, qualification="made-up number 7")


@pytest.mark.parametrize(
    "text", ["<b>x</b>", "<svg onload=x>", "a\u202eb", "x\x07", "JavaScript:alert(1)", "</td>", "&#60;"]
)
def test_markup_and_control_characters_are_refused_in_every_text(group, text):
    with pytest.raises(FaultyInput):
        group.log(group["anchor T01"], what="event", event="other", notes=text)
    with pytest.raises(FaultyInput):
        group.move(group["line L1"], "surveyed", who=text)
    with pytest.raises(FaultyInput):
        group.mark(group["line L1"], conditions=text)


def test_plain_comparisons_are_no_markup(group):
    group.log(group["anchor T01"], what="event", event="other", notes="trunk < 3 m round; tape <2 mm off & dry")
