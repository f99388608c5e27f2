"""Events read out of a file that somebody may have edited: each is checked against its name before it counts.

Three things can be wrong with what a file says of a subject: a text no longer fits the name it is filed under, an
event was filed under another subject, or one is gone. The first two show in the event itself. For the third, and to
see from the subject that lost an event to another, the file keeps a tally of each subject's changes: how many there
are, and the sum of their names. It is no secret and keeps out nobody who means to forge; against that only a head
noted elsewhere helps (`verify`). It is there because reading the whole history for each answer would cost too much.
"""

from __future__ import annotations

import hashlib
import json
import sqlite3
from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from typing import Any

from siteassess.register.events import Event

# what SQLite raises on a damaged file: its own errors, and texts or even messages that are no UTF-8
UNREADABLE = (sqlite3.Error, UnicodeDecodeError)
# a sum of the first 15 hexadecimal digits of the names, kept within what SQLite adds without loss
_DIGITS, _MASK = 15, (1 << 60) - 1


_TALLY = "SELECT changes, names FROM tallies WHERE subject = ?"
# one question instead of two for each subject: a list asks it for everything
# the row is read a second time by its number, or SQLite would take the subject out of the index instead of the row
_OF_SUBJECT = (
    "SELECT CAST(e.content AS BLOB), CAST(e.name AS BLOB), CAST(e.kind AS BLOB), CAST(e.subject AS BLOB),"
    " changes, names FROM events AS i CROSS JOIN events AS e ON e.id = i.id LEFT JOIN tallies"
    " ON tallies.subject = i.subject WHERE i.subject = ? ORDER BY i.id"
)
# rows of drawn tables looked at for an entry that is not here: the newest, since what is drawn last stands last
_DRAWN_LAST = 20
# whether a number was given that no row bears, a head is no row, or a drawn row comes of none; a row added in a map
# program has no such name
_NUMBERED = "SELECT (SELECT seq FROM sqlite_sequence WHERE name = 'events') IS NOT (SELECT max(id) FROM events)"
_NEWEST_GONE = _NUMBERED + "".join(
    f" OR EXISTS (SELECT 1 FROM (SELECT {column} AS name FROM {table} ORDER BY id DESC LIMIT {_DRAWN_LAST}) AS named"
    " WHERE length(named.name) = 64 AND NOT EXISTS (SELECT 1 FROM events WHERE events.name = named.name))"
    for table, column in (
        ("heads", "name"), ("approvals", "event"), ("care_log", "event"), ("assessments", "event"), ("joins", "event")
    )
)
_TALLIED_AS_HELD = "SELECT (SELECT sum(changes) FROM tallies) IS (SELECT count(*) FROM events)"


@dataclass(frozen=True)
class Doubts:
    """Why a register's answers are not to be believed on this machine at this moment.

    `altered` names the events whose text or place in the file does not fit their name: none of them is in the state.
    `ahead` names the events stamped later than this machine's clock. `newest` is the moment of the newest entry.
    `clock_behind` says that this clock lies before it, so that nothing that ends on a day can be judged.
    `taken_out` says that entries were here which are not any more, of whatever thing: see `taken_out`.
    """

    altered: tuple[str, ...] = ()
    ahead: tuple[str, ...] = ()
    newest: str | None = None
    clock_behind: bool = False
    taken_out: bool = False


@dataclass(frozen=True)
class History:
    """What a file holds of one subject; `complete` is whether all its changes are there and as they were named."""

    events: tuple[Event, ...]
    altered: tuple[str, ...] = ()
    complete: bool = True


def as_named(content: Any, name: Any, moments: dict[str, str] | None = None) -> Event | None:
    """The event of a text, or None when the text is not what its name says.

    Parameters
    ----------
    content, name : as the file holds them, bytes or text, for a damaged file may hold anything
    moments : by name, when events with a wrong stamp were truly written, see `moments_of`
    """
    try:
        raw = content if isinstance(content, bytes) else content.encode()
        name = name.decode("ascii") if isinstance(name, bytes) else name
        if hashlib.sha256(raw).hexdigest() != name:
            return None
        text = raw.decode()
        parts = json.loads(text)
        recorded = parts["recorded"]
        return Event(
            parts["kind"], parts["subject"], tuple(parts["parents"]), tuple(parts["replaces"]), parts["who"],
            moments.get(name, recorded) if moments else recorded, parts["why"], parts["body"], parts["salt"], text,
            name,
        )
    except (AttributeError, KeyError, TypeError, ValueError, RecursionError):
        return None


def fits(name: Any, content: Any, subject: Any) -> bool:
    """Whether a row's text, as bytes, is what its name says and stands under the subject it is about.

    Looks at the tail of the canonical text alone: what follows the last such key are texts, in which no bare quotation
    mark can stand.
    """
    if not (isinstance(content, bytes) and hashlib.sha256(content).hexdigest().encode() == name):
        return False
    start = content.rfind(b'"subject":"') + 11
    return start > 10 and (content[start : content.find(b'"', start)] or name) == subject


def parents_in(content: bytes) -> set[str]:
    """Names of the parents in a canonical text that fits its name."""
    start = content.rfind(b'"parents":[') + 11
    return set(content[start : content.find(b"]", start)].decode().replace('"', "").split(",")) - {""}


def lost(db: sqlite3.Connection) -> set[str]:
    """Names of entries that others build on and that a salvage did not find."""
    return {row[0] for row in db.execute("SELECT name FROM lost")}


def shown_name(name: Any) -> str:
    """The name a row carries, however damaged, as text that can be printed."""
    text = name.decode("ascii", "replace") if isinstance(name, bytes) else str(name)
    return ascii(text)[1:-1][:64]


def event_named(db: sqlite3.Connection, name: str, moments: dict[str, str] | None = None) -> Event | None:
    """One event by its name; None when it is not there or not as it was named."""
    row = db.execute("SELECT CAST(content AS BLOB) FROM events WHERE name = ?", (name,)).fetchone()
    return as_named(row[0], name, moments) if row else None


def moments_of(db: sqlite3.Connection) -> dict[str, str]:
    """When the events stamped by a wrong clock count as written, by name: see `clock`."""
    rows = db.execute("SELECT CAST(content AS BLOB), CAST(name AS BLOB) FROM events WHERE kind = 'clock'")
    return moments_said(event for row in rows if (event := as_named(*row)) is not None)


def moments_said(events: Iterable[Event]) -> dict[str, str]:
    """What entries of the kind "clock" say, the earliest where several name the same."""
    moments: dict[str, str] = {}
    for event in events:
        # the column that says an entry's kind is no part of what its name proves
        for name in event.body["ahead"] if event.kind == "clock" else ():
            moments[name] = min(event.recorded, moments.get(name, event.recorded))
    return moments


def read_all(db: sqlite3.Connection) -> Iterator[tuple[str, Event | None]]:
    """(name, event) of every row in the order they came in; None for an altered one."""
    for name, content in db.execute("SELECT CAST(name AS BLOB), CAST(content AS BLOB) FROM events ORDER BY id"):
        yield shown_name(name), as_named(content, name)


@contextmanager
def one_moment(db: sqlite3.Connection) -> Iterator[None]:
    """Read as the file stands at one moment, whatever another program writes meanwhile."""
    if db.in_transaction:
        yield
        return
    db.execute("BEGIN")
    try:
        yield
    finally:
        db.execute("ROLLBACK")


def history_of(db: sqlite3.Connection, subject: str, moments: dict[str, str] | None = None) -> History:
    """All a file holds of a subject, checked."""
    history = _history_of(db, subject, moments)
    if history.complete or db.in_transaction:
        return history
    # another program may have written between the entries and their tally
    with one_moment(db):
        return _history_of(db, subject, moments)


def _history_of(db: sqlite3.Connection, subject: str, moments: dict[str, str] | None) -> History:
    rows = db.execute(_OF_SUBJECT, (subject,)).fetchall()
    events: list[Event] = []
    altered = []
    for content, name, *filed, _, _ in rows:
        event = as_named(content, name, moments)
        # joins and clocks are found by the column, so one that is filed as something else would hide
        if event is not None and event.about == subject and filed == [event.kind.encode(), subject.encode()]:
            events.append(event)
        else:
            altered.append(shown_name(name))
    kept = rows[0][4:] if rows else db.execute(_TALLY, (subject,)).fetchone() or (0, 0)
    names = {event.name for event in events}
    # whoever takes an entry out and counts anew leaves the one that replaced it
    replaced = {name for event in events for name in event.replaces} - names
    complete = not altered and kept == tally(names) and (not replaced or replaced <= lost(db))
    return History(tuple(events), tuple(altered), complete)


def tally(names: Iterable[str]) -> tuple[int, int]:
    """(how many, the sum of their names) of a subject's events, the same in any order."""
    values = [int(name[:_DIGITS], 16) for name in names]
    return len(values), sum(values) & _MASK


def count_in(db: sqlite3.Connection, event: Event) -> None:
    """Enter an event into its subject's tally, inside the caller's transaction."""
    db.execute(
        "INSERT INTO tallies (subject, changes, names) VALUES (:about, 1, :sum) ON CONFLICT (subject)"
        " DO UPDATE SET changes = changes + 1, names = (names + :sum) & :mask",
        {"about": event.about, "sum": tally([event.name])[1], "mask": _MASK},
    )


def taken_out(db: sqlite3.Connection) -> bool:
    """Whether newest entries were here that are not any more, and no thing's tally tells which it was about.

    Rows are numbered one by one and never taken away, a head is an entry, and a drawn row is drawn from one. Whoever
    takes the newest entry out and counts anew has to mend all of these too; against that only a noted head helps. One
    taken out from amidst leaves those that build on it, which `verify` finds; to look for it here would cost too much.

    Parameters
    ----------
    db : of the register
    """
    (seen,) = db.execute(_NEWEST_GONE).fetchone()
    return bool(seen) and db.execute(_TALLIED_AS_HELD).fetchone()[0] == 1


def joins_filed(db: sqlite3.Connection) -> Iterator[tuple[str, Event | None]]:
    """(subject it is filed under, event) of every join; None for an altered one."""
    query = "SELECT CAST(subject AS BLOB), CAST(name AS BLOB), CAST(content AS BLOB) FROM events WHERE kind = 'join'"
    for subject, name, content in db.execute(query).fetchall():
        yield subject.decode(errors="replace"), as_named(content, name)


def recount(db: sqlite3.Connection) -> None:
    """Make all tallies anew from the rows as they stand, inside the caller's transaction."""
    db.execute("DELETE FROM tallies")
    for subject, names in _names_by_subject(db):
        db.execute("INSERT INTO tallies (subject, changes, names) VALUES (?,?,?)", (subject, *tally(names)))


def miscounted(db: sqlite3.Connection) -> set[str]:
    """Subjects whose tally does not fit their rows."""
    kept = {row[0]: (row[1], row[2]) for row in db.execute("SELECT subject, changes, names FROM tallies")}
    found = {subject: tally(names) for subject, names in _names_by_subject(db)}
    return {str(subject) for subject in kept.keys() | found.keys() if kept.get(subject) != found.get(subject)}


def _names_by_subject(db: sqlite3.Connection) -> list[tuple[str, list[str]]]:
    found: dict[str, list[str]] = {}
    for subject, name in db.execute("SELECT subject, name FROM events"):
        found.setdefault(subject, []).append(name)
    return list(found.items())
