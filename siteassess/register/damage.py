"""A damaged file met in words: what is wrong with it, told apart from a full disk, a lock or a fault of ours."""

from __future__ import annotations

import sqlite3
from functools import cache
from pathlib import Path

from siteassess.errors import SiteassessError, StoreError
from siteassess.reference.findings import worded
from siteassess.register import schema
from siteassess.register.intact import UNREADABLE, fits, lost, miscounted, one_moment, parents_in, shown_name, taken_out

# errors that a damaged cell makes somewhere far from it
ODD = (ArithmeticError, AttributeError, LookupError, RecursionError, TypeError, ValueError)
_OURS_TO_SAY = {
    sqlite3.SQLITE_FULL: "rg-disk-full",
    sqlite3.SQLITE_BUSY: "rg-other-writer",
    sqlite3.SQLITE_LOCKED: "rg-other-writer",
    sqlite3.SQLITE_READONLY: "rg-read-only",
    sqlite3.SQLITE_IOERR: "rg-disk-fails",
}
# a statement that does not fit the tables (1) is damage only where the tables are not ours any more
_BROKEN = (sqlite3.SQLITE_CORRUPT, sqlite3.SQLITE_NOTADB, sqlite3.SQLITE_FORMAT, sqlite3.SQLITE_MISMATCH)


def damaged(path: Path, found: str) -> StoreError:
    """The error that names the damage and the two ways on."""
    return StoreError(worded("rg-damaged", file=path.name, found=found))


def explained(path: Path, db: sqlite3.Connection, error: Exception) -> StoreError | None:
    """An error met while a register was open, in words; None where the file is not to blame."""
    if isinstance(error, SiteassessError):
        return None
    if isinstance(error, sqlite3.Error):
        code = getattr(error, "sqlite_errorcode", sqlite3.SQLITE_ERROR) & 0xFF
        if code in _OURS_TO_SAY:
            return StoreError(worded("rg-unchanged", file=path.name, why=worded(_OURS_TO_SAY[code])))
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
            return worded("rg-pages-torn") if found != "ok" else _wrong_tables(db) or _wrong_events(db)
    except UNREADABLE as error:
        return _plain(error)


def _wrong_tables(db: sqlite3.Connection) -> str:
    here = {}
    for name in wanted_columns():
        here[name] = [row[1] for row in db.execute(f"PRAGMA table_info({name})")]
    for name, columns in wanted_columns().items():
        if here[name] != columns:
            return worded("rg-table-altered" if here[name] else "rg-table-missing", name=name)
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
            return worded("rg-entry-altered", name=shown_name(name)[:16])
        names.add(name.decode())
        parents |= parents_in(content)
    if missing := parents - names - lost(db):
        return worded("rg-entry-missing", name=min(missing)[:16])
    if {row[0] for row in db.execute("SELECT name FROM heads")} != names - parents:
        return worded("rg-heads-altered")
    if taken_out(db):
        return worded("rg-entry-gone")
    if wrong := miscounted(db):
        return worded("rg-tally-off", name=min(wrong)[:16])
    return ""


def not_opened(path: Path, error: Exception) -> StoreError:
    """The error for a file that cannot even be opened: damaged, or never a register."""
    code = getattr(error, "sqlite_errorcode", sqlite3.SQLITE_ERROR) & 0xFF
    if code in _OURS_TO_SAY:
        return StoreError(worded("rg-not-opened", file=path.name, why=worded(_OURS_TO_SAY[code])))
    if path.read_bytes()[:16] != b"SQLite format 3\0" and b"CREATE TABLE" not in path.read_bytes():
        return StoreError(worded("rg-no-register", file=path.name))
    return damaged(path, _plain(error))


def not_brought_up(path: Path, error: Exception) -> StoreError:
    """The error for a register of an older form that could not be brought up to this one."""
    code = getattr(error, "sqlite_errorcode", sqlite3.SQLITE_ERROR) & 0xFF
    if code in (sqlite3.SQLITE_ERROR, *_BROKEN):
        return damaged(path, worded("rg-not-brought-up"))
    why = worded(_OURS_TO_SAY[code]) if code in _OURS_TO_SAY else error
    return StoreError(worded("rg-unchanged", file=path.name, why=why))


def _plain(error: Exception) -> str:
    """What the database says, in a reader's words."""
    code = getattr(error, "sqlite_errorcode", None)
    if code == sqlite3.SQLITE_NOTADB:
        return worded("rg-first-bytes")
    if code == sqlite3.SQLITE_ERROR:  # a statement that does not fit; only the library's own message tells why
        return worded("rg-form-missing", error=error)
    return worded("rg-pages-torn")
