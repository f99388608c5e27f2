"""What `verify` must find, each planted by hand behind the register's back."""

from __future__ import annotations

import shutil
import sqlite3

import pytest

from siteassess.errors import StoreError
from siteassess.register import actions, schema
from siteassess.register.events import canonical, name_of
from siteassess.register.intact import recount
from siteassess.register.store import Store
from siteassess.register.verify import verify
from siteassess.register.views import draw_all


@pytest.fixture
def tampered(group, picture):
    """Opens a full register without its guards, and verifies it after the hand's work."""
    group.activate()
    group.do(actions.add_photo, group["anchor T01"], picture())
    group.log(group["anchor T01"], what="use", hours="2 h", pull="3 kN")
    assert verify(group.store) == []
    db = group.store.db
    db.execute("DROP TRIGGER events_are_never_changed")
    db.execute("DROP TRIGGER events_are_never_deleted")

    def work(statement, *values):
        assert db.execute(statement, values).rowcount > 0
        return [str(finding) for finding in verify(group.store)]

    work.group = group
    return work


def test_an_altered_text_is_found(tampered):
    found = tampered(
        "UPDATE events SET content = replace(content, '\"given\":true', '\"given\":false') WHERE kind = 'mark'"
    )
    assert len(found) == 2 and all("altered" in text for text in found)


def test_an_altered_text_with_its_name_made_to_fit_is_found(tampered):
    group = tampered.group
    event = next(event for event in group.store.events() if event.kind == "mark")
    forged = event.content.replace('"given":true', '"given":false')
    found = tampered("UPDATE events SET content = ?, name = ? WHERE name = ?", forged, name_of(forged), event.name)
    assert any("missing" in text for text in found)


def test_altered_columns_are_found(tampered):
    assert any("columns" in t for t in tampered("UPDATE events SET who = 'Mallory' WHERE kind = 'move'"))


def test_a_missing_change_is_found(tampered):
    assert any("missing" in text for text in tampered("DELETE FROM events WHERE kind = 'mark'"))


def test_a_forged_list_of_heads_is_found(tampered):
    assert any("heads" in text for text in tampered("UPDATE heads SET name = ?", "0" * 64))


def test_altered_and_missing_photos_are_found(tampered):
    assert any("bytes were altered" in t for t in tampered("UPDATE photos SET bytes = x'ffd8ffe0'"))
    assert any("missing" in t for t in tampered("DELETE FROM photos"))


@pytest.mark.parametrize(
    "statement",
    [
        "UPDATE lines SET status_when_written = 'active' WHERE code = 'L2'",
        "UPDATE anchors SET girth_m = 9.9 WHERE code = 'T01'",
        "DELETE FROM care_log",
        "UPDATE approvals SET said = 'refused' WHERE what = 'owner''s mark'",
        "UPDATE sites SET geom = NULL",
        "INSERT INTO care_log (event, subject, void, corrected) VALUES ('mine', 'mine', 0, 0)",
    ],
)
def test_a_table_edited_by_a_map_program_is_found_and_can_be_drawn_anew(tampered, statement):
    assert any("does not say what the history says" in text for text in tampered(statement))
    tampered.group.store.redraw_all()
    assert verify(tampered.group.store) == []


def _cut(path, keep):
    """The file with its last changes cut off and everything else made to fit."""
    db = sqlite3.connect(path, isolation_level=None)
    db.execute("DROP TRIGGER events_are_never_deleted")
    db.execute("DELETE FROM events WHERE id > ?", (keep,))
    db.execute("UPDATE sqlite_sequence SET seq = ? WHERE name = 'events'", (keep,))
    db.execute("DELETE FROM heads")
    db.execute("INSERT INTO heads (name) SELECT name FROM events ORDER BY id DESC LIMIT 1")
    recount(db)
    schema.redraw_empty(db)
    draw_all(db)
    db.close()
    return Store.open(path)


def test_a_cut_off_tail_is_whole_in_itself_and_shows_against_a_noted_head(group):
    group.activate()
    noted = group.store.heads()[0]
    group.log(group["anchor T01"], what="event", event="storm")
    assert verify(group.store, [noted, group.store.heads()[0][:16]]) == []
    group.store.close()
    short = group.store.path.with_name("short.gpkg")
    shutil.copy(group.store.path, short)
    with _cut(short, 6) as store:
        assert verify(store) == []
        assert any("cut off" in str(finding) for finding in verify(store, [noted]))
        assert any("cut off" in str(finding) for finding in verify(store, [noted[:16].upper()]))


def test_a_history_written_anew_shows_against_a_noted_head(new_group):
    old, new = new_group("old"), new_group("new")
    assert verify(new.store) == []
    assert verify(new.store, [old.store.heads()[0]]) != []


@pytest.mark.parametrize("text", ["", "abc", "g" * 20, "1234567890abcde"])
def test_a_noted_head_must_be_long_enough_to_mean_anything(group, text):
    with pytest.raises(StoreError, match="head"):
        verify(group.store, [text])


def test_a_move_that_skips_the_table_is_found_even_when_well_named(group):
    """Somebody with an editor writes 'active' straight onto a draft, name and parents all right."""
    from siteassess.register.events import make, read

    head = group.store.event(group.store.heads()[0])
    event = make(
        "move",
        group["line L1"],
        {"to": "active", "seen": "draft"},
        who="Mallory",
        why="now",
        recorded=head.recorded,
        parents=[head.name],
    )
    assert canonical(event.body) and read(event.content).name == event.name
    with group.store.change() as writer:
        writer.take(event)
    assert any("no move leads" in str(finding) for finding in verify(group.store))
    # and even so it does not stand: no mark, no review
    assert group.status("line L1") == "review due"
