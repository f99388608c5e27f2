"""The register's file: opened, written in whole transactions, never half.

Why a rollback journal and not a write-ahead log: a GeoPackage is one file that groups mail, copy and put on sticks. A
write-ahead log keeps the newest changes in a second file beside it, which a copy leaves behind, and map programs that
open the file read-only trip over it. Writes here are few and small, so the journal's slower commit does not matter.
`synchronous = EXTRA` also writes through the folder's entry of the journal, so that a change confirmed is still there
after the power fails, as far as the disk keeps its word.
"""

from __future__ import annotations

import secrets
import sqlite3
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from datetime import UTC, date, datetime
from pathlib import Path

from siteassess.errors import StoreError
from siteassess.reference.findings import worded
from siteassess.register import schema
from siteassess.register.clock import ahead_of, refuse_leap
from siteassess.register.damage import ODD, damaged, explained, not_opened, what_is_wrong
from siteassess.register.events import Event
from siteassess.register.fold import Subject
from siteassess.register.intact import UNREADABLE, Doubts, event_named, history_of, read_all, taken_out
from siteassess.register.opening import connect, migrate, put_in_place, store_version, there_already
from siteassess.register.standing import HowItStands, standing
from siteassess.register.views import Folded, draw_all
from siteassess.register.writer import Writer

# up to this size a file is looked over whole before the first change: some 40 ms on the slowest machine tried
LOOKED_OVER_BYTES = 32 * 1024 * 1024

# the steps of one change, in order; tests stop the program at each
FAULT_POINTS = (
    "transaction begun", "event written", "heads written", "photo written", "views drawn", "before commit", "committed"
)


class Store:
    """An open register.

    Use `Store.create` or `Store.open`, then `with store.change() as writer: ...` for whatever alters it.
    """

    def __init__(self, path: Path, db: sqlite3.Connection, now: Callable[[], datetime] | None = None):
        self.path, self.db = path, db
        self.now = now or (lambda: datetime.now(UTC))
        self._looked_over = False
        # whether somebody said that this machine's clock is right, and how to ask
        self.clock_is_right = False
        self.ask: Callable[[str], bool] | None = None
        self.at_point: Callable[[str], None] = lambda point: None

    @classmethod
    def create(
        cls, path: str | Path, *, title: str, who: str, licence: str = "group only", why: str = "begin a register",
        now: Callable[[], datetime] | None = None,
    ) -> Store:
        """Begin a register in a new file.

        Raises
        ------
        StoreError : something of that name is there already, or the file cannot be written; nothing is left behind.
        """

        def begin(writer: Writer) -> None:
            writer.add("register", "", {"title": title, "licence": licence}, who=who, why=why)

        return cls.create_with(path, begin, now)

    @classmethod
    def create_with(
        cls, path: str | Path, fill: Callable[[Writer], None], now: Callable[[], datetime] | None = None
    ) -> Store:
        """A register in a new file, holding what `fill` writes.

        Raises
        ------
        StoreError : as for `create`.
        """
        path = Path(path)
        if path.exists():
            raise there_already(path)
        # made whole under another name, then linked: a register under its own name is never half made
        draft = path.with_name(f".{path.name}.{secrets.token_hex(4)}.new")
        try:
            db = connect(draft)
            db.execute("PRAGMA page_size = 4096")
            db.execute("BEGIN IMMEDIATE")
            schema.create(db)
            writer = Writer(cls(draft, db, now))
            fill(writer)
            writer.finish()
            db.execute("COMMIT")
            db.close()
            put_in_place(draft, path)
        except sqlite3.Error as error:
            raise StoreError(worded("rg-not-written", file=path.name, why=error)) from None
        except OSError as error:
            raise StoreError(worded("rg-not-written", file=path.name, why=error.strerror or error)) from None
        finally:
            for leftover in (draft, draft.with_name(draft.name + "-journal")):
                leftover.unlink(missing_ok=True)
        return cls.open(path, now=now)

    @classmethod
    def open(cls, path: str | Path, now: Callable[[], datetime] | None = None) -> Store:
        """Open a register, bringing an older form up to this one with a copy of the file kept.

        Raises
        ------
        StoreError : no such file, no register, or a form newer than this program knows.
        """
        path = Path(path)
        if not path.is_file():
            raise StoreError(worded("rg-not-begun", read=worded("read-no-file"), file=path.name))
        if path.stat().st_size == 0:
            raise StoreError(worded("rg-empty", file=path.name))
        try:
            db = connect(path)
            version = store_version(db, path)
        except UNREADABLE as error:
            raise not_opened(path, error) from None
        if version > schema.STORE_VERSION:
            db.close()
            raise StoreError(worded("rg-newer", file=path.name, form=version, known=schema.STORE_VERSION))
        store = cls(path, db, now)
        if version < schema.STORE_VERSION:
            migrate(store, version)
        return store

    def close(self) -> None:
        self.db.close()

    def __enter__(self) -> Store:
        return self

    def __exit__(self, _kind: object, error: BaseException | None, _trace: object) -> None:
        try:
            with self.in_words():
                if isinstance(error, Exception):
                    raise error
        except Exception as said:
            if said is not error:
                raise
        finally:
            self.close()

    @contextmanager
    def in_words(self) -> Iterator[None]:
        """Meets what a damaged file does to a reader.

        Raises
        ------
        StoreError : that says so.
        """
        try:
            yield
        except Exception as error:
            if said := self._explained(error):
                raise said from error
            raise

    def _explained(self, error: Exception) -> StoreError | None:
        if (said := explained(self.path, self.db, error)) is None and isinstance(error, (sqlite3.Error, *ODD)):
            from siteassess.register.verify import verify

            if findings := verify(self):
                said = StoreError(worded("rg-flaw", what=self.path.name, wrong=str(findings[0])))
        return said

    @contextmanager
    def change(self, dry_run: bool = False) -> Iterator[Writer]:
        """One whole change: all that is added inside is kept, or none of it.

        Parameters
        ----------
        dry_run : do everything, then take it back

        Raises
        ------
        StoreError : the file is damaged, locked by another writer for longer than a minute, the disk is full or fails;
            this machine's clock lies far past the newest entry and nobody says that it is right.
        """
        self.refuse_damaged()
        refuse_leap(self)
        with self.whole(dry_run):
            self.at_point("transaction begun")
            writer = Writer(self)
            yield writer
            writer.finish()
            self.at_point("before commit")
        self.at_point("committed")

    @contextmanager
    def whole(self, dry_run: bool = False) -> Iterator[None]:
        """One transaction on the tables, for what is no event.

        Raises
        ------
        StoreError : as for `change`.
        """
        try:
            with self.in_words(), self.transaction(dry_run):
                yield
        except sqlite3.Error as error:
            raise StoreError(worded("rg-unchanged", file=self.path.name, why=error)) from error

    @contextmanager
    def transaction(self, dry_run: bool = False) -> Iterator[None]:
        try:
            self.db.execute("BEGIN IMMEDIATE")
            yield
            self.db.execute("ROLLBACK" if dry_run else "COMMIT")
        except BaseException:
            self._take_back()
            raise

    def refuse_damaged(self) -> None:
        """Nothing, unless the file is damaged: what is written into one may be lost, or hide what is. Looks once.

        A file too large to look over for each entry is not; what an entry touches in it still is, on reading.

        Raises
        ------
        StoreError : it is damaged.
        """
        if self._looked_over:
            return
        if self.path.stat().st_size <= LOOKED_OVER_BYTES and (found := what_is_wrong(self.db)):
            raise damaged(self.path, found)
        self._looked_over = True

    def _take_back(self) -> None:
        if self.db.in_transaction:
            try:
                self.db.execute("ROLLBACK")
            except sqlite3.Error:
                # a disk that fails here leaves the journal, which the next opening plays back
                self.db.close()

    def about(self, key: str) -> str | None:
        row = self.db.execute("SELECT value FROM about WHERE key = ?", (key,)).fetchone()
        return row[0] if row else None

    def heads(self) -> tuple[str, ...]:
        """Names of the changes no other builds on: noted elsewhere, they prove what history there was."""
        return tuple(row[0] for row in self.db.execute("SELECT name FROM heads ORDER BY name"))

    def event(self, name: str) -> Event | None:
        """The event of a name; None when it is not here, or altered."""
        return event_named(self.db, name)

    def events(self, subject: str | None = None) -> list[Event]:
        """Events as they were named, in the order they came into this file; altered ones are left out."""
        if subject is not None:
            return list(history_of(self.db, subject).events)
        return [event for _, event in read_all(self.db) if event is not None]

    def doubts(self, folded: Folded | None = None) -> Doubts:
        """Why what this register answers is not to be believed now.

        Parameters
        ----------
        folded : names the altered events it has met, which costs nothing; None reads the whole file
        """
        met = tuple(folded.altered) if folded else tuple(name for name, event in read_all(self.db) if event is None)
        ahead, newest = ahead_of(self, self.now())
        newest = max((event.recorded for event in ahead), default=newest)
        return Doubts(met, tuple(event.name for event in ahead), newest or None, bool(ahead), taken_out(self.db))

    def first_register(self) -> Event:
        """The entry this register began with.

        Raises
        ------
        StoreError : it is gone from the file.
        """
        row = self.db.execute("SELECT name FROM events WHERE kind = 'register' ORDER BY id LIMIT 1").fetchone()
        if row is None or (found := self.event(row[0])) is None:
            raise damaged(self.path, worded("rg-no-beginning"))
        return found

    def iterate(self) -> Iterator[tuple[str, str]]:
        """(name, canonical text) of every event in the order they came in."""
        yield from self.db.execute("SELECT name, content FROM events ORDER BY id")

    def count(self) -> int:
        return int(self.db.execute("SELECT count(*) FROM events").fetchone()[0])

    def folded(self) -> Folded:
        """A fresh look at the state."""
        return Folded(self.db)

    def subject(self, name: str) -> Subject:
        """A thing by its name in the history.

        Raises
        ------
        StoreError : the register holds none of that name.
        """
        found = Folded(self.db).subject(name)
        if found is None:
            raise StoreError(worded("rg-holds-nothing", file=self.path.name, name=name[:10]))
        return found

    def standing(self, name: str, on: date) -> HowItStands:
        """How a subject stands on a day."""
        return standing(self.subject(name), Folded(self.db).around, on)

    def photo(self, sha256: str) -> tuple[str, bytes] | None:
        """(media type, bytes) of a photo."""
        row = self.db.execute("SELECT media_type, bytes FROM photos WHERE sha256 = ?", (sha256,)).fetchone()
        return (row[0], row[1]) if row else None

    def redraw_all(self, tick: Callable[[int], None] = lambda done: None, dry_run: bool = False) -> None:
        """Draw every table anew from the events, as one change; raises as `change`."""
        self.refuse_damaged()
        with self.whole(dry_run):
            schema.redraw_empty(self.db)
            draw_all(self.db, tick)
