"""The file: whole or untouched, whatever happens to the program, the disk or another writer."""

from __future__ import annotations

import multiprocessing
import os
import resource
import signal
import sqlite3
import subprocess
import sys

import pytest

from siteassess.errors import FaultyInput, StoreError
from siteassess.register import actions, schema
from siteassess.register.store import FAULT_POINTS, Store
from siteassess.register.verify import verify

STORM = {"what": "event", "date": "2026-05-02", "event": "storm"}
PRUNING = {"what": "event", "date": "2026-05-02", "event": "pruning"}


class Stopped(Exception):
    pass


def _change(store, names, picture, who="Ada"):
    """One change that passes every fault point."""
    with store.change() as writer:
        event = actions.log(writer, names["anchor T01"], STORM, actions.By(who, "seen"))
        actions.add_photo(writer, names["anchor T01"], picture, actions.By(who, "seen"))
    return event


def test_one_change_passes_every_fault_point(group, picture):
    passed = []
    group.store.at_point = passed.append
    _change(group.store, group.names, picture())
    assert set(passed) == set(FAULT_POINTS)


@pytest.mark.parametrize("point", FAULT_POINTS)
def test_an_error_at_a_fault_point_leaves_all_or_nothing(group, picture, point):
    before = group.store.count()

    def stop(at):
        if at == point:
            raise Stopped

    group.store.at_point = stop
    with pytest.raises(Stopped):
        _change(group.store, group.names, picture())
    group.store.at_point = lambda at: None
    assert group.store.count() == (before + 2 if point == "committed" else before)
    assert verify(group.store) == []
    _change(group.store, group.names, picture())


@pytest.mark.parametrize("point", FAULT_POINTS)
def test_a_kill_at_a_fault_point_leaves_all_or_nothing(group, picture, point):
    before, path, data = group.store.count(), group.store.path, picture()
    group.store.close()
    child = os.fork()
    if child == 0:
        try:
            store = Store.open(path)
            # a cache of a few pages forces half-done work into the file itself
            store.db.execute("PRAGMA cache_size = 2")
            store.at_point = lambda at: os.kill(os.getpid(), signal.SIGKILL) if at == point else None
            _change(store, group.names, data)
        finally:
            os._exit(1)
    assert os.WIFSIGNALED(os.waitpid(child, 0)[1])
    with Store.open(path) as store:
        assert store.count() == (before + 2 if point == "committed" else before)
        assert verify(store) == []
        _change(store, group.names, data)


def _write_many(path, subject, who, count, told):
    with Store.open(path) as store:
        # whether the disk is waited for has no bearing on two writers meeting; the bench waits for it
        store.db.execute("PRAGMA synchronous = OFF")
        for _ in range(count):
            with store.change() as writer:
                event = actions.log(writer, subject, PRUNING, actions.By(who, "seen"))
            # told only once it is confirmed
            told.put(event.name)


def test_two_processes_writing_500_changes_each_lose_none(group):
    group.store.close()
    context = multiprocessing.get_context("fork")
    told = context.Queue()
    subject, path = group["anchor T01"], group.store.path
    writers = [context.Process(target=_write_many, args=(path, subject, who, 500, told)) for who in ("Ada", "Ben")]
    for writer in writers:
        writer.start()
    names = {told.get(timeout=120) for _ in range(1000)}
    for writer in writers:
        writer.join()
        assert writer.exitcode == 0
    with Store.open(path) as store:
        kept = {event.name for event in store.events() if event.kind == "log"}
        assert kept == names and len(kept) == 1000
        assert len(store.heads()) == 1
        assert verify(store) == []


def test_a_second_writer_that_waits_too_long_is_told_and_nothing_changes(group, monkeypatch):
    other = sqlite3.connect(group.store.path, isolation_level=None)
    other.execute("BEGIN IMMEDIATE")
    group.store.db.execute("PRAGMA busy_timeout = 50")
    with pytest.raises(StoreError, match="another program"):
        group.log(group["anchor T01"], what="event", event="storm")
    other.execute("ROLLBACK")
    other.close()
    group.log(group["anchor T01"], what="event", event="storm")


def test_a_map_program_that_switched_to_a_write_ahead_log_does_no_harm(group):
    path = group.store.path
    group.store.close()
    other = sqlite3.connect(path, isolation_level=None)
    assert other.execute("PRAGMA journal_mode = WAL").fetchone() == ("wal",)
    other.execute("BEGIN")
    other.execute("SELECT count(*) FROM events").fetchone()
    with Store.open(path) as store:
        _log(store, group["anchor T01"])
        assert verify(store) == []
    other.execute("COMMIT")
    other.close()
    with Store.open(path) as store:
        assert store.db.execute("PRAGMA journal_mode").fetchone() == ("delete",)
        _log(store, group["anchor T01"])
        assert verify(store) == [] and len([e for e in store.events() if e.kind == "log"]) == 2
    assert {p.name for p in path.parent.iterdir()} == {path.name}


def _log(store, subject):
    with store.change() as writer:
        actions.log(writer, subject, PRUNING, actions.By("Ada", "seen"))


def test_a_full_disk_as_sqlite_sees_it_keeps_what_was_there(group, picture):
    before = [event.name for event in group.store.events()]
    (pages,) = group.store.db.execute("PRAGMA page_count").fetchone()
    group.store.db.execute(f"PRAGMA max_page_count = {pages}")
    with pytest.raises(StoreError, match="disk is full"):
        for _ in range(200):
            _change(group.store, group.names, picture())
    group.store.db.execute("PRAGMA max_page_count = 1073741823")
    now = [event.name for event in group.store.events()]
    assert now[: len(before)] == before
    assert verify(group.store) == []
    _change(group.store, group.names, picture())


def test_a_file_that_may_not_grow_keeps_every_confirmed_change(group, picture):
    """The system refuses to write past a size, in the file and in its journal alike."""
    path, data = group.store.path, picture()
    group.store.close()
    reads, writes = os.pipe()
    child = os.fork()
    if child == 0:
        status = 1
        try:
            signal.signal(signal.SIGXFSZ, signal.SIG_IGN)
            limit = path.stat().st_size + 6000
            resource.setrlimit(resource.RLIMIT_FSIZE, (limit, limit))
            store = Store.open(path)
            try:
                for _ in range(500):
                    os.write(writes, _change(store, group.names, data).name.encode())
            except StoreError:
                status = 7
        finally:
            os._exit(status)
    os.close(writes)
    with os.fdopen(reads, "rb") as pipe:
        told = pipe.read().decode()
    assert os.waitstatus_to_exitcode(os.waitpid(child, 0)[1]) == 7
    confirmed = {told[i : i + 64] for i in range(0, len(told), 64)}
    with Store.open(path) as store:
        assert confirmed <= {event.name for event in store.events()}
        assert verify(store) == []


def test_a_register_is_never_written_over(group):
    with pytest.raises(StoreError, match="there already"):
        Store.create(group.store.path, title="Other", who="Ben")
    assert verify(group.store) == []


def test_a_beginning_that_fails_leaves_nothing_behind(tmp_path):
    with pytest.raises(FaultyInput):
        Store.create(tmp_path / "new.gpkg", title="<b>Bold</b>", who="Ada")
    assert list(tmp_path.iterdir()) == []


@pytest.mark.parametrize("content", [b"", b"no database at all", b"SQLite format 3\0" + b"x" * 200])
def test_what_is_no_register_is_refused(tmp_path, content):
    path = tmp_path / "thing.gpkg"
    path.write_bytes(content)
    with pytest.raises(StoreError):
        Store.open(path)
    assert path.read_bytes() == content


def test_a_newer_form_is_refused_and_untouched(group):
    path = group.store.path
    group.store.db.execute("UPDATE about SET value = '99' WHERE key = 'store_version'")
    group.store.close()
    content = path.read_bytes()
    with pytest.raises(StoreError, match="newer program"):
        Store.open(path)
    assert path.read_bytes() == content


def _as_older_form(group):
    """The file as an invented form 0 would have it: without the list of heads and without tallies."""
    group.activate()
    expected = group.store.heads()
    db = group.store.db
    db.execute("DROP TABLE heads")
    for table in ("tallies", "lost"):
        db.execute(f"DROP TABLE {table}")
    db.execute("DELETE FROM gpkg_contents WHERE table_name IN ('heads', 'tallies', 'lost')")
    db.execute("UPDATE about SET value = '0' WHERE key = 'store_version'")
    group.store.close()
    return expected


def _with_heads(db):
    db.execute("CREATE TABLE heads (id INTEGER PRIMARY KEY AUTOINCREMENT, name TEXT NOT NULL UNIQUE)")
    db.execute("INSERT INTO gpkg_contents (table_name, data_type, identifier) VALUES ('heads', 'attributes', 'heads')")
    db.execute("INSERT INTO heads (name) SELECT name FROM events ORDER BY id DESC LIMIT 1")


def test_an_older_form_is_brought_up_with_a_copy_kept(group, monkeypatch):
    expected, path = _as_older_form(group), group.store.path
    monkeypatch.setitem(schema.FORM_STEPS, 0, _with_heads)
    with Store.open(path) as store:
        assert store.heads() == expected
        assert verify(store) == []
        assert store.standing(group["line L1"], group.today).status == "active"
    copy = sqlite3.connect(path.with_name("group.form-0.gpkg"))
    assert copy.execute("SELECT value FROM about WHERE key = 'store_version'").fetchone() == ("0",)
    assert copy.execute("PRAGMA integrity_check").fetchone() == ("ok",)
    copy.close()


def _trouble(code=None):
    error = sqlite3.OperationalError("invented trouble")
    if code is not None:
        error.sqlite_errorcode = code
    return error


@pytest.mark.parametrize("trouble, said", [
    (_trouble(), "damaged"), (_trouble(sqlite3.SQLITE_CORRUPT), "damaged"), (_trouble(sqlite3.SQLITE_FULL), "full"),
    (_trouble(sqlite3.SQLITE_IOERR), "disk fails"), (KeyboardInterrupt(), ""),
])  # fmt: skip
def test_bringing_up_that_fails_midway_changes_nothing(group, monkeypatch, trouble, said):
    _as_older_form(group)

    def breaks(db):
        db.execute("DELETE FROM photos")
        raise trouble

    monkeypatch.setitem(schema.FORM_STEPS, 0, breaks)
    for _ in range(2):  # no copy is left, which would stand in the way
        with pytest.raises(StoreError if said else KeyboardInterrupt, match=said or None):
            Store.open(group.store.path)
    db = sqlite3.connect(group.store.path)
    assert db.execute("SELECT value FROM about WHERE key = 'store_version'").fetchone() == ("0",)
    assert db.execute("SELECT count(*) FROM sqlite_master WHERE name = 'heads'").fetchone() == (0,)
    db.close()
    assert [path.name for path in group.store.path.parent.glob("*form-0*")] == []


def test_a_copy_of_an_older_form_that_cannot_be_written_is_met_in_words(group, monkeypatch):
    _as_older_form(group)
    path = group.store.path
    copy = path.with_name("group.form-0.gpkg")

    def full(*_, **__):
        raise OSError(28, "No space left on device")

    with monkeypatch.context() as patch, pytest.raises(StoreError, match=r"copy group\.form-0\.gpkg .*No space"):
        patch.setattr(type(path), "touch", full)
        Store.open(path)
    # the disk fills while the copy is written
    fill = "import resource as r, sys; r.setrlimit(r.RLIMIT_FSIZE, (100_000, 100_000)); "
    fill += "from siteassess.register.store import Store; Store.open(sys.argv[1])"
    done = subprocess.run([sys.executable, "-c", fill, str(path)], capture_output=True, text=True, check=False)
    assert "StoreError: group.gpkg: nothing was changed: the disk" in done.stderr
    assert not copy.exists()


def test_a_disk_that_fails_is_no_damaged_file(group):
    group.store.close()
    fails = "import resource as r, sys; r.setrlimit(r.RLIMIT_FSIZE, (2048, 2048)); "
    fails += "from siteassess.cli import main; main(sys.argv[1:])"
    command = ["register", "log", str(group.store.path), "T01", "event", "--event", "storm", "--who", "Ada"]
    done = subprocess.run([sys.executable, "-c", fails, *command], capture_output=True, text=True, check=False)
    assert (done.returncode, done.stderr) == (1, "siteassess: group.gpkg: nothing was changed: the disk fails\n")
    with Store.open(group.store.path) as store:
        assert verify(store) == []


@pytest.mark.parametrize("statement", ["UPDATE events SET who = 'Mallory'", "DELETE FROM events WHERE id = 2"])
def test_the_database_itself_refuses_to_change_history(group, statement):
    with pytest.raises(sqlite3.IntegrityError, match="never"):
        group.store.db.execute(statement)


def test_a_dry_run_keeps_nothing(group):
    before = (group.store.count(), group.store.heads(), group.store.db.execute("SELECT * FROM lines").fetchall())
    with group.store.change(dry_run=True) as writer:
        actions.move(writer, group["line L1"], "surveyed", group.by(), on=group.today)
        assert group.store.count() == before[0] + 1
    after = (group.store.count(), group.store.heads(), group.store.db.execute("SELECT * FROM lines").fetchall())
    assert after == before


def test_a_clock_that_runs_late_never_dates_a_change_before_its_parent(group):
    import datetime

    group.store.now = lambda: datetime.datetime(2001, 1, 1, tzinfo=datetime.UTC)
    late = group.log(group["anchor T01"], what="event", event="storm")
    assert late.recorded == max(event.recorded for event in group.store.events())
    assert verify(group.store) == []
