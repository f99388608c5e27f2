"""A damaged file met in words: what is wrong with it, told apart from a full disk, a lock or a fault of ours."""

from __future__ import annotations

import sqlite3
from functools import cache
from pathlib import Path

from siteassess.errors import SiteassessError, StoreError
from siteassess.register import schema
from siteassess.register.intact import UNREADABLE, fits, lost, miscounted, one_moment, parents_in, shown_name, taken_out

# errors that a damaged cell makes somewhere far from it
ODD = (ArithmeticError, AttributeError, LookupError, RecursionError, TypeError, ValueError)
_OURS_TO_SAY = {
    sqlite3.SQLITE_FULL: "the disk is full",
    sqlite3.SQLITE_BUSY: "another program has been writing to it for over a minute",
    sqlite3.SQLITE_LOCKED: "another program has been writing to it for over a minute",
    sqlite3.SQLITE_READONLY: "the file may only be read",
    sqlite3.SQLITE_IOERR: "the disk fails",
}
# a statement that does not fit the tables (1) is damage only where the tables are not ours any more
_BROKEN = (sqlite3.SQLITE_CORRUPT, sqlite3.SQLITE_NOTADB, sqlite3.SQLITE_FORMAT, sqlite3.SQLITE_MISMATCH)


def damaged(path: Path, found: str) -> StoreError:
    """The error that names the damage and the two ways on."""
    return StoreError(
        f"{path.name}: this file is damaged ({found}). Nothing was changed. Salvage it with: siteassess register "
        f"salvage {path.name} NEW.gpkg, or restore a copy."
    )


def explained(path: Path, db: sqlite3.Connection, error: Exception) -> StoreError | None:
    """An error met while a register was open, in words; None where the file is not to blame."""
    if isinstance(error, SiteassessError):
        return None
    if isinstance(error, sqlite3.Error):
        code = getattr(error, "sqlite_errorcode", sqlite3.SQLITE_ERROR) & 0xFF
        if code in _OURS_TO_SAY:
            return StoreError(f"{path.name}: nothing was changed: {_OURS_TO_SAY[code]}")
        if code in _BROKEN:
            return damaged(path, _plain(error))
    elif not isinstance(error, ODD):
        return None
    found = what_is_wrong(db)
    return damaged(path, found) if found else None


def what_is_wrong(db: sqlite3.Connection) -> str:
    """The first thing found wrong with what a register keeps, in words; an empty text where nothing is.

    Reads the whole file: its structure, its tables, each event against its name, tallies, heads and the chain.
    The drawn tables are left to `verify`, since `redraw` makes them anew.
    """
    try:
        with one_moment(db):
            (found,) = db.execute("PRAGMA quick_check(1)").fetchone()
            return "its pages do not hang together" if found != "ok" else _wrong_tables(db) or _wrong_events(db)
    except UNREADABLE as error:
        return _plain(error)


def _wrong_tables(db: sqlite3.Connection) -> str:
    here = {}
    for name in wanted_columns():
        here[name] = [row[1] for row in db.execute(f"PRAGMA table_info({name})")]
    for name, columns in wanted_columns().items():
        if here[name] != columns:
            return f"table {name} is {'not what it was' if here[name] else 'missing'}"
    return ""


@cache
def wanted_columns() -> dict[str, list[str]]:
    """Columns of every table of a register, as they are made."""
    fresh = sqlite3.connect(":memory:", isolation_level=None)
    schema.create(fresh)
    tables = [row[0] for row in fresh.execute("SELECT name FROM sqlite_master WHERE type = 'table'")]
    columns = {name: [row[1] for row in fresh.execute(f"PRAGMA table_info({name})")] for name in tables}
    fresh.close()
    return columns


def _wrong_events(db: sqlite3.Connection) -> str:
    names: set[str] = set()
    parents: set[str] = set()
    rows = db.execute("SELECT CAST(name AS BLOB), CAST(content AS BLOB), CAST(subject AS BLOB) FROM events")
    for name, content, subject in rows:
        if not fits(name, content, subject):
            return f"entry {shown_name(name)[:16]} was altered"
        names.add(name.decode())
        parents |= parents_in(content)
    if missing := parents - names - lost(db):
        return f"entry {min(missing)[:16]} is missing"
    if {row[0] for row in db.execute("SELECT name FROM heads")} != names - parents:
        return "the list of its latest entries was altered"
    if taken_out(db):
        return "an entry that was here is gone"
    if wrong := miscounted(db):
        return f"entries about {min(wrong)[:16]} were taken out or slipped in"
    return ""


def not_opened(path: Path, error: Exception) -> StoreError:
    """The error for a file that cannot even be opened: damaged, or never a register."""
    code = getattr(error, "sqlite_errorcode", sqlite3.SQLITE_ERROR) & 0xFF
    if code in _OURS_TO_SAY:
        return StoreError(f"{path.name} cannot be opened: {_OURS_TO_SAY[code]}")
    if path.read_bytes()[:16] != b"SQLite format 3\0" and b"CREATE TABLE" not in path.read_bytes():
        return StoreError(f"{path.name} is no register")
    return damaged(path, _plain(error))


def not_brought_up(path: Path, error: Exception) -> StoreError:
    """The error for a register of an older form that could not be brought up to this one."""
    code = getattr(error, "sqlite_errorcode", sqlite3.SQLITE_ERROR) & 0xFF
    if code in (sqlite3.SQLITE_ERROR, *_BROKEN):
        return damaged(path, "what it holds cannot be brought up to this form")
    return StoreError(f"{path.name}: nothing was changed: {_OURS_TO_SAY.get(code, str(error))}")


def _plain(error: Exception) -> str:
    """What the database says, in a reader's words."""
    code = getattr(error, "sqlite_errorcode", None)
    if code == sqlite3.SQLITE_NOTADB:
        return "its first bytes are not those of a register"
    if code == sqlite3.SQLITE_ERROR:  # a statement that does not fit; only the library's own message tells why
        return f"something of its form is missing: {error}"
    return "its pages do not hang together"
