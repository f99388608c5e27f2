"""The state of the register as a fold over its events.

Nothing here knows the order in which events came in: a change is current when no other change names it as replaced.
So folding the union of two registers gives the same state whichever was merged into which, and however often. Where
two copies changed the same thing side by side both stay current: that is a conflict, shown, and the more cautious
word holds until a later change replaces both.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, field
from typing import Any

from siteassess.register.events import Event, canonical
from siteassess.register.moves import (
    APPROVED,
    DAMAGING_MARKS,
    DRAFT,
    ENTRIES_LOST,
    FORCES_REVIEW,
    REVIEWED,
    most_cautious,
)
from siteassess.register.reasons import Reason, reason

CORRECTABLE = ("log", "photo", "join", "assessment")


@dataclass(frozen=True)
class Trigger:
    """News that asks for a second look, named by the event that brought it."""

    event: str
    what: str
    date: str


@dataclass(frozen=True)
class Entry:
    """A log entry, photo or assessment as it reads after corrections."""

    event: Event
    bodies: tuple[Mapping[str, Any], ...]
    void: bool
    corrections: tuple[Event, ...] = ()

    @property
    def body(self) -> Mapping[str, Any]:
        return self.bodies[0]

    @property
    def disputed(self) -> bool:
        return len(self.corrections) > 1


@dataclass
class Subject:
    """A site, anchor or line as its events leave it."""

    id: str
    kind: str = ""
    versions: tuple[Event, ...] = ()
    moves: tuple[Event, ...] = ()
    approval_conditions: tuple[str, ...] = ()
    # what the moves in force were signed against, by the name of the entry that spoke against it
    signed: Mapping[str, tuple[Event, ...]] = field(default_factory=dict)
    marks: dict[str, tuple[Event, ...]] = field(default_factory=dict)
    reviewed: frozenset[str] = frozenset()
    triggers: tuple[Trigger, ...] = ()
    entries: tuple[Entry, ...] = ()
    joins: tuple[Entry, ...] = ()
    last_recorded: str = ""
    # names of events that are not what they are named by and count for nothing here
    altered: tuple[str, ...] = ()
    # whether all its changes are there: if not, the worst news may be what is gone
    complete: bool = True
    # the moment a salvage found entries about it lost: no mark recorded before it holds; empty if none did
    lost_since: str = ""

    @property
    def current(self) -> Event:
        """The version shown first; the others of a conflict stand beside it in `versions`."""
        return self.versions[0]

    @property
    def record(self) -> Mapping[str, Any]:
        """The record shown first; empty where nothing of it is left in a damaged file."""
        return self.current.body["record"] if self.versions else {}

    @property
    def moved_to(self) -> str:
        """The word its moves leave it with, before news and dates are looked at."""
        return most_cautious(move.body["to"] for move in self.moves) if self.moves else DRAFT

    def log(self, what: str | None = None) -> list[Entry]:
        """Log entries that stand, oldest first."""
        found = (e for e in self.entries if e.event.kind == "log" and not e.void)
        chosen = [e for e in found if what is None or e.body["what"] == what]
        return sorted(chosen, key=lambda e: (e.body["date"], e.event.recorded, e.event.name))

    def of(self, kind: str) -> list[Entry]:
        return [e for e in self.entries if e.event.kind == kind and not e.void]

    def conflicts(self) -> list[tuple[Reason, tuple[Event, ...]]]:
        """Changes made side by side that nobody has settled, as (what, the events)."""
        found = []
        if len({canonical(version.body) for version in self.versions}) > 1:
            found.append((reason("record-twice"), self.versions))
        if len({move.body["to"] for move in self.moves}) > 1:
            found.append((reason("status-twice"), self.moves))
        for by, marks in sorted(self.marks.items()):
            if len({canonical(mark.body) for mark in marks}) > 1:
                found.append((reason("mark-twice", by=by), marks))
        found.extend((reason("correction-twice", kind=e.event.kind), e.corrections) for e in self.entries if e.disputed)
        return found


def tips(events: Iterable[Event]) -> tuple[Event, ...]:
    """The events no other of them replaces, latest recorded first, then by name."""
    events = list(events)
    replaced = {name for event in events for name in event.replaces}
    current = [event for event in events if event.name not in replaced]
    return tuple(sorted(current, key=lambda e: (e.recorded, e.name), reverse=True))


def fold_subject(events: Iterable[Event], altered: tuple[str, ...] = (), complete: bool = True) -> Subject:
    """The state of one subject from all of its events, in any order.

    Parameters
    ----------
    altered, complete : what was found wrong on reading them, see `intact.History`

    Returns
    -------
    Subject; its kind is empty when the founding event is not among the events.
    """
    by_kind: dict[str, list[Event]] = {}
    for event in {event.name: event for event in events}.values():
        by_kind.setdefault(event.kind, []).append(event)
    every = [event for group in by_kind.values() for event in group]
    if not every:
        return Subject("", altered=altered, complete=complete)
    last = max(event.recorded for event in every)
    subject = Subject(id=every[0].about, last_recorded=last, altered=altered, complete=complete)
    founding = next((event for event in every if event.name == subject.id), None)
    subject.kind = founding.kind if founding else ""
    version_events = by_kind.get(subject.kind, [])
    subject.versions = tips(version_events)
    subject.moves = tips(by_kind.get("move", []))
    chains = [_back_to_approval(move, by_kind["move"]) for move in subject.moves]
    subject.approval_conditions = tuple(
        sorted({text for chain in chains for move in chain if (text := move.body.get("conditions"))})
    )
    subject.signed = _signed(chains)
    for by in ("group", "owner"):
        if marks := tips(event for event in by_kind.get("mark", []) if event.body["by"] == by):
            subject.marks[by] = marks
    subject.reviewed = frozenset(name for move in by_kind.get("move", []) for name in move.body.get("reviewed", ()))
    entries = _entries(by_kind)
    subject.joins = tuple(entry for entry in entries if entry.event.kind == "join")
    subject.entries = tuple(entry for entry in entries if entry.event.kind != "join")
    lost = (e.event.recorded for e in subject.entries if not e.void and e.body.get("event") == ENTRIES_LOST)
    subject.lost_since = max(lost, default="")
    subject.triggers = tuple(sorted(_triggers(subject, version_events), key=lambda t: (t.date, t.event)))
    return subject


def _back_to_approval(move: Event, moves: Iterable[Event]) -> list[Event]:
    """A move in force and those before it, back to the approval it rests on.

    Opening a line for the season does not lift what its approval asked for.
    """
    by_name = {each.name: each for each in moves}
    found: dict[str, Event] = {}
    todo = [move]
    while todo:
        one = todo.pop()
        if one.name in found:
            continue
        found[one.name] = one
        if one.body["to"] in REVIEWED and one.body["to"] != APPROVED:
            todo += [by_name[name] for name in one.replaces if name in by_name]
    return list(found.values())


def _signed(chains: list[list[Event]]) -> dict[str, tuple[Event, ...]]:
    """What was signed against; where copies moved side by side, only what each of them signed."""
    each: list[dict[str, list[Event]]] = []
    for chain in chains:
        names: dict[str, list[Event]] = {}
        for move in chain:
            for name in (move.body.get("against") or {}).get("entries", ()):
                names.setdefault(name, []).append(move)
        each.append(names)
    shared = set.intersection(*map(set, each)) if each else set()
    return {
        name: tuple(sorted({m.name: m for names in each for m in names[name]}.values(), key=lambda m: m.name))
        for name in sorted(shared)
    }


def _entries(by_kind: dict[str, list[Event]]) -> list[Entry]:
    corrections: dict[str, list[Event]] = {}
    for event in by_kind.get("correction", []):
        corrections.setdefault(event.body["corrects"], []).append(event)
    entries = []
    for kind in CORRECTABLE:
        for event in sorted(by_kind.get(kind, []), key=lambda e: (e.recorded, e.name)):
            now = tips(corrections.get(event.name, ()))
            bodies = tuple(c.body["body"] for c in now if not c.body.get("void", False))
            # struck out only when every copy says so: news of a tree must not be lost to one side's correction
            void = bool(now) and not bodies
            entries.append(Entry(event, bodies or (event.body,), void, now))
    return entries


def _triggers(subject: Subject, version_events: list[Event]) -> Iterable[Trigger]:
    for event in version_events:
        if subject.kind in ("anchor", "line") and _changes(event, version_events, lambda record: record):
            yield Trigger(event.name, "new survey", event.recorded[:10])
        elif subject.kind == "site" and event.subject and _changes(event, version_events, _rules):
            yield Trigger(event.name, "rule set changed", event.recorded[:10])
    for entry in subject.entries:
        if entry.event.kind != "log" or entry.void:
            continue
        for body in entry.bodies:
            if what := forces_review(body):
                yield Trigger(entry.event.name, what, body["date"])
                break


def _rules(record: Mapping[str, Any]) -> tuple[Any, Any]:
    return record.get("rule_set"), record.get("rules")


def _changes(event: Event, versions: list[Event], part: Callable[[Mapping[str, Any]], Any]) -> bool:
    """Whether a version says something else in a part of its record than any it replaces."""
    before = [version for version in versions if version.name in event.replaces]
    # a version whose forerunner is not here may hide a change
    return not before or any(part(version.body["record"]) != part(event.body["record"]) for version in before)


def forces_review(body: Mapping[str, Any]) -> str:
    """What in a log entry forces a review, or an empty text."""
    if body["what"] == "event" and body["event"] in FORCES_REVIEW:
        return str(body["event"])
    if body["what"] in ("use", "marks") and body.get("bark_marks") in DAMAGING_MARKS:
        return "damage"
    return ""
