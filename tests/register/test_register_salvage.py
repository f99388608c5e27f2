"""Damaged files: met in words, refused for writing, and salvaged without a yes that the whole file would not give."""

from __future__ import annotations

import errno
import os
import shutil
import sqlite3
from pathlib import Path

import pytest
from click.testing import CliRunner

from siteassess.cli import group as commands
from siteassess.cli import main
from siteassess.errors import StoreError
from siteassess.register import actions, pages
from siteassess.register import salvage as salvaging
from siteassess.register.answer import MAY, MAY_NOT
from siteassess.register.intact import recount
from siteassess.register.listing import listed_rows
from siteassess.register.merge import merge_store
from siteassess.register.salvage import salvage
from siteassess.register.store import Store
from siteassess.register.verify import verify


def may(store, on):
    return {row.label: row.may_rig_now for row in listed_rows(store, on) if row.kind == "line"}


@pytest.fixture
def park_with_history(group, picture):
    """Two open lines, a photo, an assessment that runs over several pages."""
    group.activate("line L1")
    group.activate("line L2")
    group.do(actions.add_photo, group["anchor T01"], picture())
    with group.store.change() as writer:
        result = {"verdict": "suits", "reasons": ["x" * 900] * 20}
        actions.keep_answer(writer, group["line L1"], result, group.today, group.by())
    group.store.close()
    group.path = group.store.path
    group.copy = group.path.with_name("copy.gpkg")
    shutil.copy(group.path, group.copy)
    return group


def edit(path, *statements):
    db = sqlite3.connect(path, isolation_level=None)
    for name in ("events_are_never_changed", "events_are_never_deleted"):
        db.execute(f"DROP TRIGGER IF EXISTS {name}")
    for statement in statements:
        db.execute(statement)
    db.close()


def brought_back(group, name="new.gpkg"):
    return salvage(group.path, group.path.with_name(name), "Ada", "the disk failed", group.today)


def test_the_pages_say_what_sqlite_says(park_with_history):
    raw = park_with_history.path.read_bytes()
    db = sqlite3.connect(park_with_history.path)
    wanted = {row[0] for row in db.execute("SELECT CAST(content AS BLOB) FROM events")}
    assert any(len(content) > 4 * pages.USUAL_PAGE_SIZE for content in wanted)
    assert wanted <= {value for row in pages.leaf_rows(raw) for value in row if isinstance(value, bytes)}
    names = {row[0].encode() for row in db.execute("SELECT name FROM sqlite_master WHERE type = 'table'")}
    assert names <= {value for row in pages.leaf_rows(raw) for value in row if isinstance(value, bytes)}
    db.close()


@pytest.mark.parametrize("size", [512, 1024, 65536])
def test_pages_of_any_size_are_read(park_with_history, size):
    db = sqlite3.connect(park_with_history.path, isolation_level=None)
    db.execute(f"PRAGMA page_size = {size}")
    db.execute("VACUUM")
    wanted = {row[0] for row in db.execute("SELECT CAST(content AS BLOB) FROM events")}
    db.close()
    raw = park_with_history.path.read_bytes()
    assert wanted <= {value for row in pages.leaf_rows(raw) for value in row if isinstance(value, bytes)}


def test_a_whole_file_is_salvaged_whole(park_with_history):
    group = park_with_history
    store, report = brought_back(group)
    with store, Store.open(group.path) as old:
        assert report.whole and report.photos == 1
        assert dict(store.iterate()) == dict(old.iterate())
        assert store.heads() == old.heads()
        assert verify(store) == []
        assert may(store, group.today) == {"L1": MAY, "L2": MAY}


def test_a_lost_photo_is_missing_until_a_copy_brings_it(park_with_history):
    group = park_with_history
    edit(group.path, "PRAGMA secure_delete = 1", "DELETE FROM photos")
    store, report = brought_back(group)
    with store, Store.open(group.copy) as whole:
        assert len(report.photos_lost) == 1 and not report.whole and not (report.lost or report.doubted)
        merge_store(store, whole)
        assert verify(store) == []


BREAKS = {
    "header": lambda raw: b"\0" * 100 + raw[100:],
    "application": lambda raw: raw[:68] + b"\0" * 4 + raw[72:],
    "first page": lambda raw: b"\xff" * 4096 + raw[4096:],
}


@pytest.mark.parametrize("how", BREAKS)
def test_a_file_that_does_not_open_is_met_in_words_and_salvaged(park_with_history, how):
    group = park_with_history
    group.path.write_bytes(BREAKS[how](group.path.read_bytes()))
    before = group.path.read_bytes()
    with pytest.raises(StoreError, match="damaged.*[Ss]alvage.*restore a copy"):
        Store.open(group.path)
    store, report = brought_back(group)
    with store, Store.open(group.copy) as old:
        assert dict(store.iterate()).items() >= dict(old.iterate()).items()
    assert group.path.read_bytes() == before


def test_a_missing_table_is_met_in_words_and_refuses_writes(park_with_history):
    group = park_with_history
    edit(group.path, "DROP TABLE heads")
    for work in (
        lambda store: store.heads(),
        lambda store: actions.log(store.change().__enter__(), group["anchor T01"], {}, group.by()),
    ):
        with pytest.raises(StoreError, match="heads is missing.*[Ss]alvage"), Store.open(group.path) as store:
            work(store)
    store, report = brought_back(group)
    with store:
        assert verify(store) == [] and may(store, group.today) == {"L1": MAY, "L2": MAY}


def test_a_broken_index_is_met_in_words(park_with_history):
    group = park_with_history
    db = sqlite3.connect(group.path)
    (page,) = db.execute("SELECT rootpage FROM sqlite_master WHERE name = 'events_by_subject'").fetchone()
    db.close()
    raw = bytearray(group.path.read_bytes())
    raw[(page - 1) * 4096 : page * 4096] = b"\x07" * 4096
    group.path.write_bytes(raw)
    with pytest.raises(StoreError, match="damaged.*[Ss]alvage"), Store.open(group.path) as store:
        listed_rows(store, group.today)
    with Store.open(group.path) as store, pytest.raises(StoreError, match="damaged"), store.change():
        pass
    store, report = brought_back(group)
    with store:
        assert report.whole and verify(store) == []


ALTERED_MARK = "UPDATE events SET content = replace(content, '\"given\":false', '\"given\":true') WHERE kind = 'mark'"


def test_an_altered_entry_refuses_writes_and_stays_out_of_what_is_salvaged(park_with_history):
    group = park_with_history
    with Store.open(group.path) as group.store:
        refused = group.mark(group["line L1"], "owner", given=False)
    edit(group.path, ALTERED_MARK)
    with Store.open(group.path) as store:
        with pytest.raises(StoreError, match=f"{refused.name[:16]} was altered"), store.change():
            pass
        assert may(store, group.today) == {"L1": MAY_NOT, "L2": MAY}
    store, report = brought_back(group)
    with store:
        assert report.lost == (refused.name,)
        assert report.labels(store) == ["line L1"]
        assert may(store, group.today) == {"L1": MAY_NOT, "L2": MAY}
        assert [str(finding) for finding in verify(store)] == [
            f"change {refused.name[:16]}: was lost in a salvage; merge a copy that still holds it"
        ]


def test_a_lost_refusal_is_not_forgotten_by_a_second_look_alone(park_with_history):
    """The older mark is still in the file: it must not come back to life because its refusal is gone."""
    group = park_with_history
    with Store.open(group.path) as group.store:
        for by in ("owner", "group"):
            group.mark(group["line L1"], by)
        group.mark(group["line L1"], "owner", given=False)
    edit(group.path, ALTERED_MARK)
    group.store, _ = brought_back(group)
    with group.store as store:
        group.move(group["line L1"], "second look", "Ben")
        with pytest.raises(StoreError, match="mark"):
            group.move(group["line L1"], "approved with conditions", "Ben")
        assert may(store, group.today)["L1"] == MAY_NOT
        for by in ("owner", "group"):
            group.mark(group["line L1"], by)
        for to in ("approved with conditions", "active"):
            group.move(group["line L1"], to, "Ben")
        assert may(store, group.today) == {"L1": MAY, "L2": MAY}


def test_an_entry_with_its_name_made_to_fit_is_left_out_of_what_is_salvaged(park_with_history):
    from siteassess.register.events import name_of

    group = park_with_history
    with Store.open(group.path) as store:
        mark = store.subject(group["site"]).marks["owner"][0]
    forged = mark.content.replace("2026-12-31", "2036-12-31")
    edit(
        group.path,
        f"UPDATE events SET content = '{forged}', name = '{name_of(forged)}' WHERE name = '{mark.name}'",
    )
    store, report = brought_back(group)
    with store:
        assert report.unknown == (name_of(forged),) and report.lost == (mark.name,)
        assert set(may(store, group.today).values()) == {MAY_NOT}


def test_a_refusal_taken_out_with_its_tally_counted_anew_is_not_forgotten(park_with_history):
    """Which thing the lost entry was about nothing tells any more, so nothing in the park is open."""
    group = park_with_history
    with Store.open(group.path) as group.store:
        refused = group.mark(group["line L1"], "owner", given=False)
        group.log(group["anchor T01"], what="event", event="pruning")
    edit(
        group.path,
        f"DELETE FROM events WHERE name = '{refused.name}'",
        f"DELETE FROM approvals WHERE event = '{refused.name}'",
    )
    with sqlite3.connect(group.path) as db:
        recount(db)
    db.close()
    store, report = brought_back(group)
    with store:
        assert report.lost == (refused.name,) and report.labels(store) == ["site Larchmere Green"]
        assert set(may(store, group.today).values()) == {MAY_NOT}
    # what a salvage has told once is not told again by the next one
    store, again = salvage(store.path, group.path.with_name("newer.gpkg"), "Ada", "once more", group.today)
    with store:
        assert again.lost == report.lost and not again.doubted


def test_a_copy_that_holds_what_was_lost_makes_it_whole_again(park_with_history):
    group = park_with_history
    with Store.open(group.path) as store:
        names = [name for name, _ in store.iterate()]
    edit(group.path, *(f"UPDATE events SET content = '{{}}' WHERE name = '{name}'" for name in names[3:-1:4]))
    store, report = brought_back(group)
    with store, Store.open(group.copy) as whole:
        assert set(report.lost) == set(names[3:-1:4])
        merge_store(store, whole)
        assert verify(store) == []
        assert {name for name, _ in store.iterate()} >= set(names)
        doubted = [e for e in store.events() if e.kind == "log" and e.body.get("event") == "entries lost"]
        assert doubted and set(may(store, group.today).values()) == {MAY_NOT}
        for event in doubted:
            with store.change() as writer:
                actions.correct(writer, event.name, group.by(why="the copy brought it back"))
        assert may(store, group.today) == {"L1": MAY, "L2": MAY}


@pytest.mark.parametrize("built_on", [False, True], ids=["the newest", "one that others build on"])
def test_what_comes_back_is_a_head_where_nothing_builds_on_it_and_the_register_can_be_written(
    park_with_history, built_on
):
    group = park_with_history
    at = "(SELECT max(id) - 1 FROM events)" if built_on else "(SELECT max(id) FROM events)"
    edit(group.path, f"UPDATE events SET content = '{{}}' WHERE id = {at}")
    store, report = brought_back(group)
    with store, Store.open(group.copy) as whole:
        (gone,) = report.lost
        assert (gone in whole.heads()) is not built_on
        merge_store(store, whole)
        assert (gone in store.heads()) is not built_on and verify(store) == []
        with store.change() as writer:
            body = {"what": "event", "date": group.today.isoformat(), "event": "storm"}
            event = actions.log(writer, group["anchor T01"], body, group.by())
        assert store.heads() == (event.name,)


def test_a_salvaged_register_with_gaps_can_still_be_merged(park_with_history, new_group):
    group = park_with_history
    with Store.open(group.path) as store:
        names = [name for name, _ in store.iterate()]
    edit(group.path, f"UPDATE events SET content = '{{}}' WHERE name = '{names[4]}'")
    store, report = brought_back(group)
    other = new_group("other", None)
    with store:
        merge_store(other.store, store)
        assert {name for name, _ in other.store.iterate()} >= {name for name, _ in store.iterate()}
        with Store.open(group.copy) as whole:
            merge_store(other.store, whole)
    assert verify(other.store) == []


@pytest.mark.parametrize("where", ["copying", "playing back"])
def test_a_full_disk_is_told_of_where_it_is_full(park_with_history, monkeypatch, where):
    """Not of the damaged file, which would send somebody to a copy for want of room; and nothing counts as lost."""
    if where == "copying":
        whole = Path.write_bytes

        def full(path, data):
            if path.name.startswith("copy.gpkg") and path.parent != park_with_history.path.parent:
                raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC), str(path))
            return whole(path, data)

        monkeypatch.setattr(Path, "write_bytes", full)
    else:

        def full(db, found):
            # of SQLite itself: a table may grow by no page
            db.execute("PRAGMA max_page_count = 1")
            with salvaging._readable():
                db.execute("CREATE TABLE more AS SELECT hex(zeroblob(1000000))")

        monkeypatch.setattr(salvaging, "_ask", full)
    with pytest.raises(StoreError, match="the disk is full, in the folder for temporary files.*TMPDIR") as caught:
        brought_back(park_with_history)
    assert park_with_history.path.name not in str(caught.value)
    assert not park_with_history.path.with_name("new.gpkg").exists()


def test_a_disk_full_of_the_new_file_names_the_new_file(park_with_history, monkeypatch):
    def full(*about):
        raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))

    monkeypatch.setattr("siteassess.register.store.put_in_place", full)
    with pytest.raises(StoreError, match="new.gpkg could not be written: No space left"):
        brought_back(park_with_history)


def test_nothing_of_a_register_is_said_so(tmp_path):
    path = tmp_path / "photo.gpkg"
    path.write_bytes(b"\xff\xd8" + bytes(range(256)) * 99)
    with pytest.raises(StoreError, match="no entry of a register"):
        salvage(path, tmp_path / "new.gpkg", "Ada", "x", None)
    assert not (tmp_path / "new.gpkg").exists()


def test_a_damaged_history_is_not_passed_on(park_with_history, tmp_path):
    """In a bundle an entry has no name but its hash: an altered one would come out as good as any."""
    from siteassess.register.files import write_copy
    from siteassess.register.share import make_copy

    group = park_with_history
    with Store.open(group.path) as group.store:
        group.mark(group["line L1"], "owner", given=False)
    edit(group.path, ALTERED_MARK)
    with Store.open(group.path) as store, pytest.raises(StoreError, match="was altered"):
        write_copy(store, make_copy(store, "officer", group.today), tmp_path / "x.zip")
    assert not (tmp_path / "x.zip").exists()


def test_an_older_form_that_was_altered_is_not_brought_up(park_with_history):
    """Bringing it up would count what is there, and so believe it."""
    group = park_with_history
    edit(
        group.path,
        "DROP TABLE tallies",
        "DROP TABLE lost",
        "DELETE FROM gpkg_contents WHERE table_name IN ('tallies', 'lost')",
        "UPDATE about SET value = '1' WHERE key = 'store_version'",
    )
    shutil.copy(group.path, group.copy)
    with Store.open(group.copy) as store:
        assert verify(store) == []
    edit(group.path, "DELETE FROM events WHERE kind = 'mark' AND subject = (SELECT subject FROM sites)")
    before = group.path.read_bytes()
    with pytest.raises(StoreError, match="damaged.*is missing"):
        Store.open(group.path)
    assert group.path.read_bytes() == before


@pytest.mark.parametrize("table", ["approvals", "care_log", "assessments", "joins"])
def test_every_command_on_a_file_with_a_page_gone_says_that_it_is_damaged(park_with_history, capsys, table):
    """Pages that a command reads before it begins: the tables in which it looks for entries taken out."""
    path = park_with_history.path
    with sqlite3.connect(path) as db:
        (page,) = db.execute("SELECT rootpage FROM sqlite_master WHERE name = ?", (table,)).fetchone()
    db.close()
    raw = bytearray(path.read_bytes())
    raw[4096 * (page - 1) : 4096 * page] = bytes(4096)
    path.write_bytes(raw)
    for command in (["list"], ["due"], ["clock"], ["redraw"], ["export", "x.zip", "--layer", "officer"]):
        with pytest.raises(SystemExit) as ended:
            main(["register", command[0], str(path), *command[1:]])
        said = capsys.readouterr().err
        assert ended.value.code == 1 and "this file is damaged" in said, (command, said)


def test_the_command_salvages_and_says_what_is_gone(park_with_history):
    group = park_with_history
    with Store.open(group.path) as store:
        mark = store.subject(group["site"]).marks["owner"][0]
    edit(group.path, f"UPDATE events SET content = '{{}}' WHERE name = '{mark.name}'")
    new = group.path.with_name("new.gpkg")
    command = ["register", "salvage", str(group.path), str(new), "--who", "Ada"]
    assert CliRunner().invoke(commands, [*command, "--dry-run"]).exit_code == 0 and not new.exists()
    done = CliRunner().invoke(commands, command)
    assert done.exit_code == 0, done.output
    assert f"lost: {mark.name[:16]}" in done.output and "site Larchmere Green" in done.output
    assert "merge new.gpkg COPY" in done.output
    listed = CliRunner().invoke(commands, ["register", "list", str(new)])
    assert listed.exit_code == 0 and "yes" not in listed.output
