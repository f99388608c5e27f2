"""Two registers become one: the union of their events, the same whichever is merged into which.

A merge takes over what the other group approved, marked and withdrew, for its places and for those both list: merge
with groups you trust. From others, `adopt` takes in drafts only.

The same trunk under two names is found and proposed; people decide. Things that two groups changed side by side stay
side by side, listed, the more cautious word holding until somebody settles them.
"""

from __future__ import annotations

import hashlib
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, field
from datetime import UTC

from siteassess.errors import FaultyInput, refused
from siteassess.reference.findings import worded
from siteassess.register import events as ev
from siteassess.register.bodies import checked
from siteassess.register.checks import impossible, misfit
from siteassess.register.clock import CLOCK_LEAP, ahead_of, set_right
from siteassess.register.events import Event
from siteassess.register.intact import lost as lost_in
from siteassess.register.intact import moments_of, moments_said
from siteassess.register.reasons import Reason, reason
from siteassess.register.schema import TABLES_OF_THINGS
from siteassess.register.standing import label
from siteassess.register.store import Store
from siteassess.register.views import Folded
from siteassess.register.writer import Writer


@dataclass(frozen=True)
class Conflict:
    """Changes made side by side that nobody has settled."""

    subject: str
    label: str
    kind: str
    what: Reason
    sides: tuple[Event, ...]


@dataclass
class MergeReport:
    """What a merge brought."""

    added: int = 0
    known: int = 0
    photos: int = 0
    set_right: int = 0
    subjects: set[str] = field(default_factory=set)


def merge_events(
    writer: Writer, incoming: Iterable[tuple[str, str]], photos: Mapping[str, tuple[str, bytes]], source: str,
    tick: Callable[[int], None] = lambda done: None, lost: Iterable[str] = (),
    set_right_by: tuple[str, str] | None = None,
) -> MergeReport:
    """Take in another register's events and photos, inside the caller's change.

    Parameters
    ----------
    incoming : (name, canonical text) pairs in any order
    photos : by hash, (media type, bytes)
    lost : names of events the other register lost in a salvage: that they are missing is no fault
    set_right_by : who says, and why, that events ahead of this clock were written no later than now; None refuses them

    Raises
    ------
    FaultyInput : an event that is altered, hostile, dated ahead of this clock, does not fit those it builds on, or
        builds on one that is missing; a photo that is none, carries metadata, or is not what its name says. Nothing is
        taken in then.
    """
    lost = set(lost) | lost_in(writer.db)
    events = _read_all(incoming, source)
    moments = moments_of(writer.db)
    for name, moment in moments_said(e for e in events.values() if e.kind == "clock").items():
        moments[name] = min(moment, moments.get(name, moment))
    if set_right_by is None:
        _refuse_ahead(writer.store, events, moments, source)
    report = MergeReport(known=sum(1 for e in events.values() if writer.store.event(e.name)))

    def get(name: str) -> Event | None:
        return events.get(name) or writer.store.event(name)

    for event in events.values():
        if wrong := misfit(event, get, lost, moments):
            mend = worded("rg-mend-verify")
            raise refused(source, _the_change(event.name), wrong, worded("rg-want-whole-history"), mend)
    writer.expect_lost(name for name in sorted(lost) if get(name) is None)
    for done, event in enumerate(parents_first(events, source), start=1):
        if writer.take(event):
            report.added += 1
            report.subjects.add(event.about)
        tick(done)
    for event in events.values():
        if wrong := impossible(event, writer.db):
            raise refused(source, _the_change(event.name), wrong, worded("rg-want-what-can-be"))
    report.photos = _take_photos(writer, photos, source)
    for event in events.values():
        if event.kind == "photo" and writer.store.photo(event.body["sha256"]) is None:
            raise _photo_refused(source, event.body["sha256"], "rg-read-nothing-there", "rg-want-all-photos")
    writer.draw()
    if set_right_by is not None and ahead_of(writer.store, writer.store.now())[0]:
        report.set_right = len(set_right(writer, *set_right_by).body["ahead"])
        writer.draw()
    return report


def _refuse_ahead(store: Store, events: Mapping[str, Event], moments: Mapping[str, str], source: str) -> None:
    latest = ev.utc_text(store.now().astimezone(UTC) + CLOCK_LEAP)
    counted = (moments.get(event.name, event.recorded) for event in events.values())
    ahead = sorted(moment for moment in counted if moment > latest)
    if ahead:
        read_ = worded("rg-read-entries-up-to", count=len(ahead), day=ahead[-1][:10])
        wanted = worded("rg-want-moments-before", day=latest[:10])
        raise refused(source, "recorded", read_, wanted, worded("rg-mend-clocks"))


def _the_change(name: str) -> str:
    return worded("rg-the-change", name=name[:16])


def _photo_refused(source: str, sha256: str, read_: str, wanted: str) -> FaultyInput:
    return refused(source, worded("rg-the-photo", name=sha256[:16]), worded(read_), worded(wanted))


def _read_all(incoming: Iterable[tuple[str, str]], source: str) -> dict[str, Event]:
    events = {}
    for name, content in incoming:
        event = ev.read(content, source)
        if event.name != name:
            raise refused(source, _the_change(name), worded("rg-read-altered-text"), worded("rg-want-named-text"))
        if checked(event.kind, event.body, source) != event.body:
            raise refused(source, _the_change(name), worded("rg-read-unusual-form"), worded("rg-want-form-of-kind"))
        events[event.name] = event
    return events


def parents_first(events: Mapping[str, Event], source: str) -> Iterable[Event]:
    done: set[str] = set()
    for start in sorted(events):
        stack = [start]
        while stack:
            name = stack[-1]
            waiting = [p for p in events[name].parents if p in events and p not in done]
            if waiting:
                stack.extend(waiting)
                continue
            stack.pop()
            if name not in done:
                done.add(name)
                yield events[name]


def _take_photos(writer: Writer, photos: Mapping[str, tuple[str, bytes]], source: str) -> int:
    from siteassess.register.photos import stripped

    taken = 0
    for sha256, (media_type, data) in photos.items():
        if hashlib.sha256(data).hexdigest() != sha256:
            raise _photo_refused(source, sha256, "rg-read-other-bytes", "rg-want-named-bytes")
        clean = stripped(data, worded("rg-the-photo", name=sha256[:16]))
        if clean.data != data or clean.media_type != media_type:
            raise _photo_refused(source, sha256, "rg-read-beside-picture", "rg-want-stripped")
        if writer.store.photo(sha256) is None:
            writer.keep_photo(sha256, media_type, data)
            taken += 1
    return taken


def merge_store(
    into: Store, other: Store, dry_run: bool = False, tick: Callable[[int], None] = lambda done: None
) -> MergeReport:
    """Merge another open register into this one; the other is not touched."""
    photos = {row[0]: (row[1], row[2]) for row in other.db.execute("SELECT sha256, media_type, bytes FROM photos")}
    with into.change(dry_run) as writer:
        return merge_events(writer, other.iterate(), photos, other.path.name, tick, lost_in(other.db))


def conflicts(store: Store) -> list[Conflict]:
    """Everything two copies changed side by side and nobody has settled, sorted.

    Parameters
    ----------
    store : of the register
    """
    folded = Folded(store.db)
    found = []
    for table in TABLES_OF_THINGS:
        for (name,) in store.db.execute(f"SELECT subject FROM {table} WHERE conflicts > 0 ORDER BY subject").fetchall():
            subject = folded.known(name)
            for what, sides in subject.conflicts():
                by_name = tuple(sorted(sides, key=lambda e: e.name))
                found.append(Conflict(name, label(subject), subject.kind, what, by_name))
    rows = store.db.execute(
        "SELECT a, b, group_concat(event) FROM joins WHERE void = 0 GROUP BY a, b"
        " HAVING count(DISTINCT finding) > 1 ORDER BY a, b"
    )
    for a, _b, names in rows.fetchall():
        subject = folded.known(a)
        sides = tuple(event for name in sorted(names.split(",")) if (event := store.event(name)) is not None)
        found.append(Conflict(a, label(subject), subject.kind, reason("same-twice"), sides))
    return found
