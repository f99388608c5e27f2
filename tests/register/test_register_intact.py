"""What a register answers when somebody has been at its file: altered, hidden and missing entries never answer yes."""

from __future__ import annotations

import dataclasses
import datetime
import shutil

import pytest
from click.testing import CliRunner

from siteassess.cli import group as commands
from siteassess.errors import StoreError
from siteassess.register import actions
from siteassess.register.answer import MAY, MAY_NOT
from siteassess.register.clock import CLOCK_SLACK
from siteassess.register.due import due
from siteassess.register.intact import recount
from siteassess.register.listing import details, listed_rows
from siteassess.register.naming import resolve
from siteassess.register.reasons import reason, sentence
from siteassess.register.rota import rota
from siteassess.register.salvage import salvage
from siteassess.register.share import make_copy
from siteassess.register.store import Store
from siteassess.register.verify import verify


def may(group, on=None):
    """What the list says of each line, by its label."""
    return {row.label: row.may_rig_now for row in listed_rows(group.store, on or group.today) if row.kind == "line"}


@pytest.fixture
def opened(group):
    """A register whose two lines are open, its guards off; takes statements and gives what the list says after."""
    group.activate("line L1")
    group.activate("line L2")
    assert may(group) == {"L1": MAY, "L2": MAY}
    db = group.store.db
    db.execute("DROP TRIGGER events_are_never_changed")
    db.execute("DROP TRIGGER events_are_never_deleted")

    def work(statement, *values):
        assert db.execute(statement, values).rowcount > 0
        return may(group)

    work.group = group
    return work


ALTERED = (
    "UPDATE events SET content = replace(content, '2026-12-31', '2036-12-31') WHERE name = ?",
    "UPDATE events SET content = x'00ff' WHERE name = ?",
    "UPDATE events SET content = 7 WHERE name = ?",
    "UPDATE events SET content = '{' WHERE name = ?",
    "UPDATE events SET subject = 'nobody' WHERE name = ?",
    "UPDATE events SET kind = 'photo' WHERE name = ?",
    "UPDATE events SET kind = 'clock' WHERE name = ?",
    "DELETE FROM events WHERE name = ?",
)


@pytest.mark.parametrize("statement", ALTERED)
def test_an_altered_hidden_or_missing_mark_of_the_park_closes_every_line_in_it(opened, statement):
    group = opened.group
    marked = group.store.subject(group["site"]).marks["owner"][0]
    assert set(opened(statement, marked.name).values()) == {MAY_NOT}
    found = details(group.store, group["line L1"], group.today)
    assert any("Larchmere Green" in sentence(why) for why in found.listed.reasons)


@pytest.mark.parametrize("statement", ALTERED)
def test_a_refusal_that_was_altered_or_taken_out_does_not_bring_the_older_mark_back(opened, statement):
    group = opened.group
    refused = group.mark(group["line L1"], "owner", given=False)
    assert may(group)["L1"] == MAY_NOT
    assert opened(statement, refused.name) == {"L1": MAY_NOT, "L2": MAY}


@pytest.mark.parametrize("statement", ALTERED)
def test_news_of_a_tree_that_was_taken_out_closes_the_lines_on_it_and_no_other(opened, statement):
    group = opened.group
    storm = group.log(group["anchor T01"], what="event", event="storm")
    assert opened(statement, storm.name) == {"L1": MAY_NOT, "L2": MAY}


@pytest.mark.parametrize("statement", ALTERED[1:])
def test_a_tree_whose_beginning_was_taken_out_closes_the_lines_on_it(opened, statement):
    group = opened.group
    group.store.db.execute(statement, (group["anchor T01"],))
    assert [group.status(line) for line in ("line L1", "line L2")] == ["review due", "active"]


def test_altered_entries_are_named(opened):
    group = opened.group
    assert group.store.doubts() == group.store.doubts(group.store.folded())
    marked = group.store.subject(group["site"]).marks["owner"][0]
    opened(ALTERED[0], marked.name)
    folded = group.store.folded()
    folded.subject(group["site"])
    assert group.store.doubts(folded).altered == group.store.doubts().altered == (marked.name,)
    assert all(event.name != marked.name for event in group.store.events())


def test_a_tally_made_to_fit_is_still_found_by_verify(opened):
    """Whoever means to forge can count anew: the chain of names shows it to whoever looks the whole file over."""
    group = opened.group
    storm = group.log(group["anchor T01"], what="event", event="storm")
    group.log(group["anchor T02"], what="event", event="pruning")
    opened("DELETE FROM events WHERE name = ?", storm.name)
    assert any("taken out" in str(finding) for finding in verify(group.store))
    recount(group.store.db)
    assert any("missing" in str(finding) for finding in verify(group.store))


def _take_out_the_newest(group, event):
    """As a forger would: the entry gone, the list of heads, the tallies and the drawn tables made to fit."""
    db = group.store.db
    db.execute("DELETE FROM events WHERE name = ?", (event.name,))
    db.execute("DELETE FROM heads")
    db.executemany("INSERT INTO heads (name) VALUES (?)", [(parent,) for parent in event.parents])
    recount(db)
    group.store.redraw_all()


def test_the_newest_entry_taken_out_and_all_counted_anew_closes_every_line(opened, tmp_path):
    group = opened.group
    shutil.copy(group.store.path, tmp_path / "before.gpkg")
    refused = group.mark(group["site"], "owner", given=False)
    _take_out_the_newest(group, refused)
    assert group.store.doubts().taken_out and set(may(group).values()) == {MAY_NOT}
    assert any("cut off" in str(finding) for finding in verify(group.store))
    group.store.close()
    with Store.open(group.store.path) as store, pytest.raises(StoreError, match="is gone"), store.change():
        pass
    run = CliRunner()
    said = run.invoke(commands, ["register", "list", str(group.store.path), "--on", str(group.today)])
    assert "a latest entry is missing" in said.stderr and "a latest entry is missing" in said.stdout
    # a file salvaged from it does not open the lines either; a copy that still has everything takes it in
    with salvage(group.store.path, tmp_path / "new.gpkg", "Ada", "salvaged", group.today)[0] as store:
        assert {row.may_rig_now for row in listed_rows(store, group.today)} == {MAY_NOT}
    merged = run.invoke(commands, ["register", "merge", str(tmp_path / "before.gpkg"), str(group.store.path)])
    assert merged.exit_code == 0, merged.output


@pytest.mark.parametrize(
    "hidden",
    [
        ("UPDATE sqlite_sequence SET seq = (SELECT max(id) FROM events) WHERE name = 'events'", "heads, not drawn"),
        ("UPDATE sqlite_sequence SET seq = (SELECT max(id) FROM events) WHERE name = 'events'", "drawn, not heads"),
    ],
)
def test_what_a_forger_forgets_to_mend_shows_it(opened, hidden):
    group, (sequence, left) = opened.group, hidden
    before = group.store.heads()
    event = group.mark(group["site"], "owner", given=False)
    group.store.db.execute("DELETE FROM events WHERE name = ?", (event.name,))
    group.store.db.execute(sequence)
    recount(group.store.db)
    if left == "drawn, not heads":
        group.store.db.execute("UPDATE heads SET name = ?", before)
    else:
        group.store.redraw_all()
    assert group.store.doubts().taken_out and set(may(group).values()) == {MAY_NOT}


def test_an_entry_taken_out_and_counted_anew_is_known_by_the_one_that_replaced_it(opened):
    """The chain of marks: given, refused, given anew. Without the second the third still names it."""
    group = opened.group
    refused = group.mark(group["line L1"], "owner", given=False)
    group.mark(group["line L1"], "owner")
    for statement in ("DELETE FROM events WHERE name = ?", "DELETE FROM approvals WHERE event = ?"):
        group.store.db.execute(statement, (refused.name,))
    recount(group.store.db)
    assert not group.store.subject(group["line L1"]).complete and may(group)["L1"] == MAY_NOT


def test_a_subject_flipped_beside_an_intact_text_does_not_answer_yes(opened, monkeypatch):
    """The index still leads to the row, whose own column says another thing: the file is damaged there."""
    group = opened.group
    path, marked = group.store.path, group.store.subject(group["site"]).marks["owner"][0]
    group.store.close()
    raw = bytearray(path.read_bytes())
    # the row: name, kind and subject stand one after the other
    at = raw.index(marked.name.encode() + b"mark" + marked.about.encode())
    raw[at + 64 + 4] ^= 1
    path.write_bytes(raw)
    with Store.open(path) as store:
        assert {row.may_rig_now for row in listed_rows(store, group.today)} == {MAY_NOT}


def test_a_join_filed_under_the_other_trunk_still_brings_bad_news(opened, park):
    """Moved to the other of the two, the tallies counted anew: the tree on the line knows nothing of it any more."""
    group, ours = opened.group, opened.group["anchor T01"]
    for number in range(50):
        park["site"]["name"] = f"Larchmere Common {number}"
        other = group.do(actions.add_record, park)["anchor T01"]
        if ours < other:
            break
    joined = group.do(actions.join, ours, other)
    group.log(other, what="event", event="storm")
    group.store.db.execute("UPDATE events SET subject = ? WHERE name = ?", (other, joined.name))
    recount(group.store.db)
    group.store.db.execute("DELETE FROM joins")
    assert group.store.folded().mates(ours) == [other]
    word = {row.subject: row.may_rig_now for row in listed_rows(group.store, group.today)}
    assert word[group["line L1"]] == MAY_NOT and word[group["line L2"]] == MAY


def test_of_a_join_that_says_they_are_two_nothing_is_made_when_it_is_moved(opened, park):
    group = opened.group
    park["site"]["name"] = "Larchmere Common"
    other = group.do(actions.add_record, park)
    one, two = sorted((group["anchor T03"], other["anchor T01"]))
    apart = group.do(actions.join, one, two, finding="not the same")
    group.store.db.execute("UPDATE events SET subject = ? WHERE name = ?", (two, apart.name))
    recount(group.store.db)
    assert group.store.folded().mates(one) == []


def test_before_the_day_it_was_opened_no_line_is_open(opened):
    group = opened.group
    for days, word in ((-1, MAY_NOT), (0, MAY), (1, MAY)):
        assert set(may(group, group.today + datetime.timedelta(days=days)).values()) == {word}
    found = details(group.store, group["line L1"], group.today - datetime.timedelta(days=1)).listed
    assert reason("approved-later", day=group.today) in found.may_rig_reasons


def test_a_move_that_says_no_day_counts_from_its_stamp(group):
    """Entries of the first release say no day. A stamp is in UTC: it may be of the day after the local one."""
    from siteassess.register import answer as answering

    group.activate()
    (move,) = group.store.subject(group["line L1"]).moves
    old = dataclasses.replace(move, body={"to": "active", "seen": "approved with conditions"})
    day = datetime.date.fromisoformat(move.recorded[:10])
    assert answering._made_on(old) == str(day - datetime.timedelta(days=1))


def test_a_clock_behind_the_newest_entry_is_said(group):
    newest = group.log(group["anchor T01"], what="event", event="pruning")
    true = datetime.datetime.fromisoformat(newest.recorded)
    for lag, ahead in ((datetime.timedelta(0), False), (CLOCK_SLACK * 0.9, False), (CLOCK_SLACK * 1.1, True)):
        group.store.now = lambda lag=lag: true - lag
        doubts = group.store.doubts()
        assert doubts.newest == newest.recorded
        assert doubts.clock_behind == ahead and (newest.name in doubts.ahead) == ahead


def test_every_entry_ahead_of_the_clock_is_named(group):
    group.store.now = lambda: datetime.datetime.now(datetime.UTC) + datetime.timedelta(days=3)
    late = {group.log(group["anchor T01"], what="event", event="pruning").name for _ in range(3)}
    group.store.now = lambda: datetime.datetime.now(datetime.UTC)
    assert set(group.store.doubts().ahead) == late


@pytest.mark.parametrize(
    "statement",
    ["DELETE FROM joins", "UPDATE joins SET void = 1", "UPDATE joins SET finding = ?", "UPDATE joins SET b = a"],
)
def test_a_join_taken_out_of_the_drawn_table_alone_still_brings_bad_news(opened, park, statement):
    group = opened.group
    park["site"]["name"] = "Larchmere Common"
    other = group.do(actions.add_record, park)
    group.do(actions.join, group["anchor T01"], other["anchor T01"])
    group.log(other["anchor T01"], what="event", event="storm")
    opened(statement, *["not the same"] * statement.count("?"))
    word = {row.subject: row.may_rig_now for row in listed_rows(group.store, group.today)}
    assert word[group["line L1"]] == MAY_NOT


@pytest.mark.parametrize("named", ["L2", "Larchmere Green/L2"])
def test_a_name_that_the_drawn_tables_give_to_another_line_is_not_answered(opened, named):
    group = opened.group
    assert resolve(group.store, named) == group["line L2"]
    opened("UPDATE lines SET code = 'away' WHERE code = 'L2'")
    opened("UPDATE lines SET code = 'L2' WHERE code = 'L1'")
    with pytest.raises(StoreError, match="is line Larchmere Green/L1 by the history; mend: siteassess register redraw"):
        resolve(group.store, named)
    group.store.redraw_all()
    assert resolve(group.store, named) == group["line L2"]


def test_a_park_whose_name_was_edited_in_the_drawn_table_is_not_answered(opened):
    opened("UPDATE sites SET name = 'Larchmere Common'")
    for named in ("Larchmere Common", "Larchmere Common/L1", "L1"):
        with pytest.raises(StoreError, match="Larchmere Green"):
            resolve(opened.group.store, named)


@pytest.mark.parametrize(
    ("edit", "gone"),
    [
        ("DELETE FROM lines WHERE code = 'L1'", {"line L1"}),
        ("UPDATE lines SET site = 'elsewhere' WHERE code = 'L1'", {"line L1"}),
        ("DELETE FROM anchors", {"anchor T01", "anchor T02", "anchor T03"}),
        ("DELETE FROM sites", {"site", "anchor T01", "anchor T02", "anchor T03", "line L1", "line L2"}),
    ],
)
def test_what_the_tables_leave_out_is_listed_all_the_same_and_said(group, edit, gone):
    before = [row.as_dict() for row in listed_rows(group.store, group.today)]
    assert not any("left_out_of_tables" in row for row in before)
    group.store.db.execute(edit)
    listed = [row.as_dict() for row in listed_rows(group.store, group.today)]
    assert {row["subject"] for row in listed if row.get("left_out_of_tables")} == {group[what] for what in gone}
    plain = [{key: row[key] for key in row if key != "left_out_of_tables"} for row in listed]
    assert sorted(plain, key=lambda row: row["subject"]) == sorted(before, key=lambda row: row["subject"])
    done = CliRunner().invoke(commands, ["register", "list", str(group.store.path), "--on", str(group.today)])
    assert "siteassess register redraw group.gpkg" in done.stderr and done.exit_code == 0
    assert CliRunner().invoke(commands, ["register", "redraw", str(group.store.path)]).exit_code == 0
    assert [row.as_dict() for row in listed_rows(group.store, group.today)] == before


@pytest.mark.parametrize("edit", ["DELETE FROM lines", "UPDATE lines SET site = 'x'"])
def test_a_line_that_is_not_drawn_is_told_by_rota_calendar_and_copies_and_asked_for_by_name(opened, edit):
    group = opened.group
    group.move(group["line L1"], "withdrawn", on=group.today)
    before = [
        [turn.label for turn in rota(group.store, group["site"], group.today).turns],
        [f.code for f in make_copy(group.store, "officer", group.today).features if f.kind == "line"],
        due(group.store, group.today, 400),
    ]
    group.log(group["line L1"], what="event", event="pruning")
    group.store.db.execute(f"{edit} WHERE code = 'L1'")
    assert before[0] == [turn.label for turn in rota(group.store, group["site"], group.today).turns]
    assert before[1] == [f.code for f in make_copy(group.store, "officer", group.today).features if f.kind == "line"]
    assert before[2] == due(group.store, group.today, 400)
    assert [one.id for one in group.store.folded().parts(group["site"], "line")][-1] == group["line L1"]
    for named in ("L1", "Larchmere Green/L1"):
        with pytest.raises(StoreError, match="the history holds line L1.*register redraw"):
            resolve(group.store, named)
