"""What is left of a damaged register, brought into a new one.

An entry is named by the hash of its text, so a text found anywhere in the file is known to be whole when its hash is a
name the file holds too. Entries are looked for in three ways, each of which finds what the others cannot: asked of
SQLite, read off the pages one by one, and searched for in the bare bytes.

A whole text is not enough: somebody may have written one with a name made to fit. In a whole history every entry is a
head or built on by another, its subject's tally counts it and drawn tables name it; one that nothing knows of is left
out and named.

What was lost may have been the refusal of a mark or a storm. So where anything is gone, each thing whose entries are
not all there gets an entry "entries lost": its lines are due for review and its marks have to be given again. A copy
of the file that still holds what was lost can be merged in.
"""

from __future__ import annotations

import errno
import hashlib
import os
import re
import sqlite3
import tempfile
from collections import Counter
from collections.abc import Callable, Iterable, Iterator
from contextlib import closing, contextmanager, suppress
from dataclasses import dataclass, field
from datetime import date, datetime
from pathlib import Path

from siteassess.errors import FaultyInput, StoreError
from siteassess.reference.findings import Worded, worded
from siteassess.register import events as ev
from siteassess.register import pages
from siteassess.register.bodies import checked
from siteassess.register.events import Event, is_name
from siteassess.register.guard import nothing_there
from siteassess.register.intact import UNREADABLE, taken_out, tally
from siteassess.register.merge import parents_first
from siteassess.register.moves import ENTRIES_LOST
from siteassess.register.opening import there_already
from siteassess.register.photos import MAX_PHOTO_BYTES, stripped
from siteassess.register.standing import label
from siteassess.register.store import Store
from siteassess.register.writer import Writer

# its own row and the index over names mention an entry, and nothing else need
OWN_MENTIONS = 2
_JOURNALS = ("-journal", "-wal")
_BEGIN = b'{"body":'
_ENTRY = re.compile(rb'\{"body":.{0,1000000}?"why":"(?:[^"\\]|\\.){0,4000}"\}', re.DOTALL)
_NAMES = re.compile(rb"[0-9a-f]{64,}")


@dataclass
class SalvageReport:
    """What came back; `lost` names what others build on and was not found, `unknown` what nothing knows of."""

    entries: int = 0
    photos: int = 0
    lost: tuple[str, ...] = ()
    unknown: tuple[str, ...] = ()
    doubted: list[str] = field(default_factory=list)
    photos_lost: tuple[str, ...] = ()

    @property
    def whole(self) -> bool:
        return not (self.lost or self.unknown or self.doubted or self.photos_lost)

    def labels(self, store: Store) -> list[Worded]:
        """What has to be looked at again, by the names a person knows."""
        folded = store.folded()
        found = [folded.subject(name) for name in self.doubted]
        return sorted(worded("rg-thing", kind=one.kind, label=label(one)) for one in found if one is not None)


@dataclass
class _Found:
    """What a damaged file gave: texts by their own hash, blobs by theirs, and what it says of heads and tallies."""

    texts: dict[str, bytes] = field(default_factory=dict)
    blobs: dict[str, bytes] = field(default_factory=dict)
    heads: set[str] | None = None
    tallies: dict[str, tuple[int, int]] = field(default_factory=dict)
    lost: set[str] = field(default_factory=set)
    taken_out: bool = False

    def take(self, value: object) -> None:
        if isinstance(value, bytes) and value:
            if value.startswith(_BEGIN):
                self.texts[hashlib.sha256(value).hexdigest()] = value
            elif value[:3] == b"\xff\xd8\xff" or value[:8] == b"\x89PNG\r\n\x1a\n":
                self.blobs[hashlib.sha256(value).hexdigest()] = value


def salvage(
    damaged: Path, new: Path, who: str, why: str, on: date, now: Callable[[], datetime] | None = None
) -> tuple[Store, SalvageReport]:
    """A new register of every intact entry and photo of a damaged one, which is only read.

    Parameters
    ----------
    damaged, new : paths of both files; the second not there yet
    who, why : written on the entries that say what is doubted
    on : the day written on the entries that say what is doubted
    now : the clock they are stamped by; None takes this machine's

    Returns
    -------
    The new register; what was found and what was lost.

    Raises
    ------
    FaultyInput : there is no such file.
    StoreError : nothing of a register is found in it, the new file is there already, or a disk is full.
    """
    damaged, new = Path(damaged), Path(new)
    if not damaged.is_file():
        raise nothing_there(damaged)
    if new.exists():
        raise there_already(new)
    found, raw = _look_through(damaged)
    mentions = _mentions(raw)
    entries = _entries(found, mentions)
    if not entries:
        raise StoreError(worded("rg-nothing-to-salvage", file=damaged.name))
    report = SalvageReport()
    unknown = _unknown(entries, found, mentions)
    kept = {name: event for name, event in entries.items() if name not in unknown}
    report.unknown = tuple(sorted(unknown))
    report.lost = tuple(sorted(_named_by(kept.values(), found) - kept.keys()))
    store = Store.create_with(new, lambda writer: _write(writer, kept, found, report, (who, why, on)), now)
    return store, report


def _look_through(path: Path) -> tuple[_Found, bytes]:
    found = _Found()
    raw = path.read_bytes()
    # the journal of a change cut off belongs to it
    journals = {end: one.read_bytes() for end in _JOURNALS if (one := path.with_name(path.name + end)).is_file()}
    with _scratch() as folder:
        # a copy, since opening may play back a journal
        copy = folder / "copy.gpkg"
        for ending, data in {"": raw, **journals}.items():
            copy.with_name(copy.name + ending).write_bytes(data)
        with _readable(), closing(sqlite3.connect(copy, isolation_level=None)) as db:
            _ask(db, found)
        played_back = copy.read_bytes()
    for data in (played_back, raw) if played_back != raw else (raw,):
        for row in pages.leaf_rows(data):
            for value in row:
                found.take(value)
        for match in _ENTRY.finditer(data):
            found.take(match.group())
    return found, played_back + raw if played_back != raw else raw


@contextmanager
def _scratch() -> Iterator[Path]:
    """A folder for a copy; what goes wrong there is told of it, for the damaged file is not to blame."""
    try:
        with tempfile.TemporaryDirectory() as folder:
            yield Path(folder)
    except OSError as error:
        why = worded("rg-disk-full") if error.errno == errno.ENOSPC else error.strerror or error
        raise StoreError(worded("rg-no-room", why=why)) from None


@contextmanager
def _readable() -> Iterator[None]:
    """Pass over what is damaged; a full disk is no damage, and what it hides would be taken for lost."""
    try:
        yield
    except UNREADABLE as error:
        if getattr(error, "sqlite_errorcode", sqlite3.SQLITE_ERROR) & 0xFF == sqlite3.SQLITE_FULL:
            raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC)) from None


def _ask(db: sqlite3.Connection, found: _Found) -> None:
    db.execute("PRAGMA trusted_schema = OFF")
    with _readable():
        found.heads = {row[0] for row in db.execute("SELECT CAST(name AS TEXT) FROM heads") if is_name(row[0])} or None
    with _readable():
        found.lost = {row[0] for row in db.execute("SELECT name FROM lost") if is_name(row[0])}
    with _readable():
        found.taken_out = taken_out(db)
    with _readable():
        for subject, *counted in db.execute("SELECT subject, changes, names FROM tallies"):
            if is_name(subject) and all(isinstance(number, int) for number in counted):
                found.tallies[subject] = tuple(counted)
    with _readable():
        for row in db.execute("SELECT CAST(content AS BLOB) FROM events"):
            found.take(row[0])
    with _readable():
        for row in db.execute("SELECT CAST(bytes AS BLOB) FROM photos"):
            found.take(row[0])


def _mentions(raw: bytes) -> Counter[str]:
    """How often each possible name stands in the bare bytes."""
    counted: Counter[str] = Counter()
    for match in _NAMES.finditer(raw):
        run = match.group().decode()
        counted.update(run[start : start + 64] for start in range(len(run) - 63))
    return counted


def _entries(found: _Found, mentions: Counter[str]) -> dict[str, Event]:
    """Events whose text is whole and of a form this program keeps."""
    events = {}
    for name, text in found.texts.items():
        if not mentions[name]:
            continue
        with suppress(FaultyInput, UnicodeDecodeError):
            event = ev.read(text.decode())
            if checked(event.kind, event.body) == event.body:
                events[name] = event
    return events


def _unknown(entries: dict[str, Event], found: _Found, mentions: Counter[str]) -> set[str]:
    """Events that neither another, nor the list of heads, nor their subject's tally, nor a drawn table knows of."""
    built_on = {parent for event in entries.values() for parent in event.parents}
    counted = {subject for subject, names in _by_subject(entries).items() if found.tallies.get(subject) == tally(names)}
    heads = found.heads or set()
    if not heads and not found.tallies:
        return set()
    return {
        name
        for name, event in entries.items()
        if not (name in built_on or name in heads or event.about in counted or mentions[name] > OWN_MENTIONS)
    }


def _by_subject(entries: dict[str, Event]) -> dict[str, list[str]]:
    names: dict[str, list[str]] = {}
    for name, event in entries.items():
        names.setdefault(event.about, []).append(name)
    return names


def _named_by(events: Iterable[Event], found: _Found) -> set[str]:
    """All entries that others, or the file, name."""
    named = set(found.heads or ()) | found.lost
    for event in events:
        named.update(event.parents, event.replaces, [event.about])
        body = event.body
        named.update(body.get("anchors", ()), body.get("same", ()))
        named.update(body[key] for key in ("site", "corrects") if key in body)
    return named


def _more_than_missed(lost: set[str], kept: dict[str, Event], found: _Found) -> bool:
    """Whether more entries are newly lost than the tallies miss: somebody counted anew after taking one out."""
    names = _by_subject(kept)
    if not names.keys() <= found.tallies.keys():
        # a thing without a tally is doubted anyhow, and what is lost may be its own
        return False
    missed = sum(max(0, counted - len(names.get(subject, ()))) for subject, (counted, _) in found.tallies.items())
    return len(lost) > missed


def _write(
    writer: Writer, kept: dict[str, Event], found: _Found, report: SalvageReport, by: tuple[str, str, date]
) -> None:
    who, why, on = by
    writer.expect_lost(report.lost)
    for event in parents_first(kept, "salvage"):
        writer.take(event)
    report.entries = len(kept)
    wanted = {event.body["sha256"] for event in kept.values() if event.kind == "photo"}
    for sha256 in sorted(wanted & found.blobs.keys()):
        with suppress(FaultyInput):
            photo = stripped(found.blobs[sha256])
            if photo.sha256 == sha256 and len(photo.data) <= MAX_PHOTO_BYTES:
                writer.keep_photo(sha256, photo.media_type, photo.data)
                report.photos += 1
    report.photos_lost = tuple(sorted(s for s in wanted if writer.store.photo(s) is None))
    if not any(event.kind == "register" for event in kept.values()):
        # what it was called is lost; it is known by why it was begun anew, in the words of who did so
        writer.add("register", "", {"title": why, "licence": "group only"}, who=who, why=why)
    # an unbroken chain of names up to the heads proves a history whole, but for an end cut off with its heads
    broken = bool(report.lost or report.unknown or not found.heads)
    nobodys = _more_than_missed(set(report.lost) - found.lost, kept, found)
    for subject, names in sorted(_by_subject(kept).items()):
        founding = kept.get(subject)
        if founding is None:
            continue
        counted = found.tallies.get(subject)
        torn = counted != tally(names) and (broken or (counted is not None and counted[0] > len(names)))
        # where nothing tells which thing an entry was about, all of them lean on a park
        if torn and founding.kind == "register":
            # what copies told may be gone
            writer.add("copy", subject, {"date": on.isoformat(), "lost": True}, who=who, why=why)
        elif torn or ((found.taken_out or nobodys) and founding.kind == "site"):
            body = {"what": "event", "date": on.isoformat(), "event": ENTRIES_LOST, "notes": why}
            writer.add("log", subject, body, who=who, why=why)
            report.doubted.append(subject)
