"""The file beside the register that holds what is the group's own: people, surveys that wait, comments."""

from __future__ import annotations

import os
import secrets
import sqlite3
import threading
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

from siteassess.places.geopackage import make_tables


class KeptFile:
    """An SQLite file that several threads of a server ask and change, in whole transactions."""

    def __init__(self, path: str | Path, now: Callable[[], datetime] | None = None):
        """Open a group's file, or begin it; only its owner may read it.

        Parameters
        ----------
        path : of the file
        now : the clock, for tests
        """
        self.path, self.now = Path(path), now or (lambda: datetime.now(UTC))
        self._lock = threading.RLock()
        begun = self.path.exists()
        if not begun:
            os.close(os.open(self.path, os.O_CREAT | os.O_EXCL | os.O_WRONLY, 0o600))
        self._db = sqlite3.connect(self.path, timeout=60.0, isolation_level=None, check_same_thread=False)
        self._db.execute("PRAGMA foreign_keys = ON")
        self._db.execute("PRAGMA synchronous = EXTRA")  # what was confirmed is there after the power fails
        if not begun:
            with self.whole():
                make_tables(self._db, "group_accounts")
                self.put("kept", "signing key", secrets.token_urlsafe(32))

    def close(self) -> None:
        self._db.close()

    @contextmanager
    def whole(self) -> Iterator[None]:
        """One change: all that is done inside is kept, or none of it."""
        with self._lock:
            self._db.execute("BEGIN IMMEDIATE")
            try:
                yield
            except BaseException:
                self._db.execute("ROLLBACK")
                raise
            self._db.execute("COMMIT")

    def rows(self, asked: str, *values: Any) -> list[tuple[Any, ...]]:
        """What a question finds, or what a change leaves."""
        with self._lock:
            return self._db.execute(asked, values).fetchall()

    def put(self, table: str, *values: Any) -> None:
        """A row into one of our tables."""
        self.rows(f"INSERT INTO {table} VALUES ({', '.join('?' * len(values))})", *values)

    def moment(self, further: timedelta = timedelta(0)) -> str:
        """Now, or some time from it, as text that sorts by time."""
        return (self.now() + further).astimezone(UTC).isoformat(timespec="microseconds")
