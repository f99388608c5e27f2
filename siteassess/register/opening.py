"""Opening a register's file: its connection, its form, and bringing an older form up to this one."""

from __future__ import annotations

import os
import sqlite3
from contextlib import closing, suppress
from pathlib import Path
from typing import TYPE_CHECKING

from siteassess.errors import StoreError
from siteassess.places.geopackage import APPLICATION_ID
from siteassess.reference.findings import worded
from siteassess.register import schema
from siteassess.register.damage import ODD, damaged, not_brought_up, what_is_wrong
from siteassess.register.views import draw_all

if TYPE_CHECKING:
    from siteassess.register.store import Store

WAIT_FOR_OTHER_WRITER_S = 60.0


def connect(path: Path) -> sqlite3.Connection:
    db = sqlite3.connect(path, timeout=WAIT_FOR_OTHER_WRITER_S, isolation_level=None)
    if db.execute("PRAGMA journal_mode").fetchone()[0] == "wal":
        _leave_write_ahead_log(db)
    db.execute("PRAGMA synchronous = EXTRA")
    db.execute("PRAGMA trusted_schema = OFF")
    return db


def _leave_write_ahead_log(db: sqlite3.Connection) -> None:
    # some map programs switch a file over while they have it open; as long as they do, their way is followed
    db.execute("PRAGMA busy_timeout = 500")
    with suppress(sqlite3.OperationalError):
        db.execute("PRAGMA journal_mode = DELETE")
    db.execute(f"PRAGMA busy_timeout = {int(1000 * WAIT_FOR_OTHER_WRITER_S)}")


def store_version(db: sqlite3.Connection, path: Path) -> int:
    """The form of a register's tables.

    Raises
    ------
    StoreError : the file is no register, or a damaged one.
    """
    tables = {row[0] for row in db.execute("SELECT name FROM sqlite_master WHERE type = 'table'")}
    ours = db.execute("PRAGMA application_id").fetchone()[0] == APPLICATION_ID
    row = None
    if "about" in tables:
        row = db.execute("SELECT value FROM about WHERE key = 'store_version'").fetchone()
    if ours and row is not None and str(row[0]).isdecimal():
        return int(row[0])
    if tables & {"about", "events", "heads"}:
        raise damaged(path, worded("rg-kind-gone"))
    raise StoreError(worded("rg-other-geopackage" if ours else "rg-no-geopackage", file=path.name))


def migrate(store: Store, version: int) -> None:
    """Bring a register of an earlier form up to this one, beside a copy of what it was.

    Raises
    ------
    StoreError : the copy is in the way or cannot be written, or the file cannot be brought up; it stays as it was.
    """
    path = store.path
    copy = path.with_name(f"{path.stem}.form-{version}{path.suffix}")
    try:
        copy.touch(exist_ok=False)
    except FileExistsError:
        raise StoreError(worded("rg-copy-in-way", file=path.name, copy=copy.name)) from None
    except OSError as error:
        why = error.strerror or error
        raise StoreError(worded("rg-copy-unwritten", file=path.name, copy=copy.name, why=why)) from None
    try:
        with closing(sqlite3.connect(copy)) as target:
            store.db.backup(target)
        _bring_up(store, version)
    except BaseException as error:
        # what was not changed needs no copy, and half a one would pass for a whole
        for leftover in (copy, copy.with_name(copy.name + "-journal")):
            leftover.unlink(missing_ok=True)
        if isinstance(error, (sqlite3.Error, *ODD)):
            raise not_brought_up(path, error) from error
        raise


def _bring_up(store: Store, version: int) -> None:
    with store.transaction():
        for step in range(version, schema.STORE_VERSION):
            if step not in schema.FORM_STEPS:
                raise StoreError(worded("rg-old-form", file=store.path.name, form=version))
            schema.FORM_STEPS[step](store.db)
        store.db.execute("UPDATE about SET value = ? WHERE key = 'store_version'", (str(schema.STORE_VERSION),))
        schema.redraw_empty(store.db)
        draw_all(store.db)
        # what is counted now is believed from now on
        if found := what_is_wrong(store.db):
            raise damaged(store.path, found)


def there_already(path: Path) -> StoreError:
    """The error for a file that would be written over.

    Parameters
    ----------
    path : of the file
    """
    return StoreError(worded("rg-there-already", file=path.name))


def put_in_place(draft: Path, path: Path) -> None:
    """Give a whole new file its name.

    Raises
    ------
    StoreError : something has the name.
    """
    try:
        os.link(draft, path)
    except FileExistsError:
        raise there_already(path) from None
    except OSError:
        # a file system without links
        if path.exists():
            raise there_already(path) from None
        os.rename(draft, path)
