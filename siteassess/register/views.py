"""Draws the tables a map program shows from the events.

Each row is a function of the events alone, with no clock in it: so two files with the same events show the same rows,
and `verify` can find a row that somebody changed by hand.
"""

from __future__ import annotations

import sqlite3
from collections.abc import Callable, Mapping
from typing import Any

from siteassess.places.geopackage import geometry_blob, widen
from siteassess.register import reading_records
from siteassess.register.care import entry_hours, entry_load_hours
from siteassess.register.events import THINGS, Event, canonical
from siteassess.register.fold import Entry, Subject, fold_subject, forces_review
from siteassess.register.intact import event_named, history_of, joins_filed, moments_of
from siteassess.register.standing import Around, standing

MOST_KEPT = 5000
# lines take their points from anchors, sites theirs too
_ORDER = {"anchor": 0, "line": 1, "site": 2}


class Folded:
    """Folds subjects out of a file on demand, and keeps them while one change or question is dealt with."""

    def __init__(self, db: sqlite3.Connection):
        self._db = db
        self._kept: dict[str, Subject | None] = {}
        self._joined: dict[str, list[str]] | None = None
        self._moments: dict[str, str] | None = None
        self._undrawn: list[Subject] | None = None
        # names of altered events met so far, in the order they were met
        self.altered: dict[str, None] = {}
        self.around = Around(self.subject, self.mates, lambda site: self.parts(site, "anchor", "line"))

    def subject(self, name: str) -> Subject | None:
        if name not in self._kept:
            if self._moments is None:
                self._moments = moments_of(self._db)
            history = history_of(self._db, name, self._moments)
            found = fold_subject(history.events, history.altered, history.complete)
            found.id = name
            self.altered.update(dict.fromkeys(history.altered))
            # nothing else knows this name: a thing that is damaged is not a thing that never was
            self._kept[name] = found if found.kind or not found.complete else None
        return self._kept[name]

    def known(self, name: str) -> Subject:
        """The subject of a name that something here points at.

        Raises
        ------
        KeyError : the history holds nothing of that name: somebody edited the file, see `Store.in_words`.
        """
        if (found := self.subject(name)) is None:
            raise KeyError(name)
        return found

    def mates(self, name: str) -> list[str]:
        """Names people found to be the same thing, near and far along the joins, sorted."""
        if self._joined is None:
            self._joined = {}
            for a, b in self._found_the_same():
                self._joined.setdefault(a, []).append(b)
                self._joined.setdefault(b, []).append(a)
        seen, todo = {name}, [name]
        while todo:
            for other in self._joined.get(todo.pop(), ()):
                if other not in seen:
                    seen.add(other)
                    todo.append(other)
        return sorted(seen - {name})

    def _found_the_same(self) -> set[tuple[str, str]]:
        # anybody can edit a drawn table, and what it leaves out may bring the worst news: the entries are asked too
        found = set(self._db.execute("SELECT a, b FROM joins WHERE finding = 'the same' AND void = 0"))
        for name, filed in joins_filed(self._db):
            if filed is not None and filed.about != name and filed.body["finding"] == "the same":
                # moved under another thing: what struck it out may have been moved too, so it holds
                found.add(tuple(filed.body["same"]))
            subject = self.subject(name)
            for entry in subject.joins if subject else ():
                if not entry.void and finding_of(entry) == "the same":
                    found.add(tuple(entry.body["same"]))
        return found

    def undrawn(self) -> list[Subject]:
        """Sites, anchors and lines of the history that the drawn tables do not lead to: somebody edited the file.

        Compares names alone, so that every list can ask it; the rest of what tables may say wrong is for `verify`.
        """
        if self._undrawn is None:
            rows = self._db.execute(
                "SELECT name FROM events WHERE kind IN ('site', 'anchor', 'line') AND name = subject"
                " EXCEPT SELECT subject FROM sites"
                " EXCEPT SELECT anchors.subject FROM anchors JOIN sites ON anchors.site = sites.subject"
                " EXCEPT SELECT lines.subject FROM lines JOIN sites ON lines.site = sites.subject"
            )
            found = [self.subject(name) for (name,) in rows.fetchall()]
            self._undrawn = [subject for subject in found if subject is not None and subject.versions]
        return self._undrawn

    def site_names(self) -> list[str]:
        """Names of all sites, in the order of what they are called; those left out of the drawn tables last."""
        drawn = self._db.execute("SELECT subject FROM sites ORDER BY name, subject").fetchall()
        return [name for (name,) in drawn] + [subject.id for subject in self.undrawn() if subject.kind == "site"]

    def parts(self, site: str, *kinds: str) -> list[Subject]:
        """The anchors or lines of a site by code, those left out of the drawn tables last of their kind."""
        found = []
        for kind in kinds:
            rows = self._db.execute(f"SELECT code, subject FROM {kind}s WHERE site = ?", (site,)).fetchall()
            rows.sort(key=lambda row: (reading_records.natural(row[0]), row[1]))
            names = [name for _, name in rows]
            # of a site that is left out its parts may still be drawn
            names += [s.id for s in self.undrawn() if s.kind == kind and s.current.body["site"] == site]
            found += [self.known(name) for name in dict.fromkeys(names)]
        return found

    def joins_changed(self) -> None:
        """Read the joins anew when next asked."""
        self._joined = None

    def keep_small(self) -> None:
        """Let go of what was folded once there is much of it."""
        if len(self._kept) > MOST_KEPT:
            self._kept.clear()


def redraw(
    db: sqlite3.Connection, added: Mapping[str, list[Event]], tick: Callable[[int], None] = lambda done: None
) -> None:
    """Draw anew what added events touch, inside the caller's transaction.

    Parameters
    ----------
    added : the events added, by the subject they are about
    tick : told how many subjects are done
    """
    folded = Folded(db)
    # joins first: they decide what leans on what
    for name, events in added.items():
        if any(event.kind in ("join", "correction") for event in events):
            _draw_joins(db, folded, name)
    to_draw: dict[str, None] = {}
    clocks = (event for events in added.values() for event in events if event.kind == "clock")
    for set_right in (name for clock in clocks for name in clock.body["ahead"]):
        if (event := event_named(db, set_right)) is not None:
            to_draw.update(dict.fromkeys(_leaning_on(db, folded, event.about)))
    for name, events in added.items():
        _draw_lists(db, folded, name, events)
        if any(_moves_standing(event) for event in events):
            to_draw.update(dict.fromkeys(_leaning_on(db, folded, name)))
    for done, name in enumerate(sorted(to_draw, key=lambda n: _order(folded, n)), start=1):
        _draw_subject(db, folded, name)
        tick(done)


def _moves_standing(event: Event) -> bool:
    # a plain use must not cost a redraw of the park
    if event.kind == "log":
        return bool(forces_review(event.body))
    return event.kind not in ("photo", "assessment", "register", "clock", "copy")


def _order(folded: Folded, name: str) -> tuple[int, str]:
    subject = folded.subject(name)
    return _ORDER.get(subject.kind if subject else "", 3), name


def _leaning_on(db: sqlite3.Connection, folded: Folded, name: str) -> list[str]:
    """A subject and all whose row can change with it."""
    found: dict[str, None] = {}
    todo = [name]
    while todo:
        one = todo.pop()
        if one in found:
            continue
        found[one] = None
        subject = folded.subject(one)
        if subject is None:
            continue
        todo += folded.mates(one)
        # a join struck out parts two that leaned on each other until now
        todo += [other for entry in subject.joins for body in entry.bodies for other in body["same"]]
        if subject.kind == "site":
            for table in ("anchors", "lines"):
                todo += [row[0] for row in db.execute(f"SELECT subject FROM {table} WHERE site = ?", (one,))]
        elif subject.kind == "anchor":
            todo += _lines_at(db, one)
    subject = folded.subject(name)
    if subject is not None and subject.kind == "anchor":
        # a site's point is the middle of its anchors
        found.update(dict.fromkeys(version.body["site"] for version in subject.versions))
    return list(found)


def _lines_at(db: sqlite3.Connection, anchor: str) -> list[str]:
    rows = db.execute("SELECT subject FROM lines WHERE anchor_a = :here OR anchor_b = :here", {"here": anchor})
    return [row[0] for row in rows]


def _draw_subject(db: sqlite3.Connection, folded: Folded, name: str) -> None:
    subject = folded.subject(name)
    if subject is None or subject.kind not in THINGS or not subject.versions:
        return
    row, points = subject_row(db, folded, subject)
    table = f"{subject.kind}s"
    _put(db, table, "subject", row)
    widen(db, table, points or ())


def subject_row(
    db: sqlite3.Connection, folded: Folded, subject: Subject
) -> tuple[dict[str, Any], list[tuple[float, float]] | None]:
    """The row of a site, anchor or line, and its points as (longitude, latitude) [deg]."""
    now = standing(subject, folded.around)
    record, body = subject.record, subject.current.body
    row = {
        "subject": subject.id, "status_when_written": now.status, "valid_until": now.valid_until,
        "conflicts": len(subject.conflicts()), "origin": body.get("origin"), "record": canonical(record),
    }
    if subject.kind == "site":
        points = site_point(db, subject.id)
        row |= {"name": record.get("name"), "land_status": record.get("land_status", "unknown")}
    elif subject.kind == "anchor":
        place, size = reading_records.position(record), reading_records.girth(record)
        points = [(place[1], place[0])] if place else None
        row |= {
            "site": body["site"], "code": record["code"], "kind": record["kind"],
            "species": reading_records.species(record), "girth_m": size[0] if size else None,
            "girth_read_at_m": size[1] if size else None, "accuracy_m": place[2] if place else None,
            "lat_deg": place[0] if place else None, "lon_deg": place[1] if place else None,
        }
    else:
        points = ends_of_line(folded, subject)
        span = (record.get("span") or {}).get("taped")
        row |= {
            "site": body["site"], "code": record["id"], "use": record["use"], "anchor_a": body["anchors"][0],
            "anchor_b": body["anchors"][1], "span_m": reading_records.si(span, "length"),
        }
    row["geom"] = geometry_blob(points, "LINESTRING" if subject.kind == "line" else "POINT")
    return row, points


def ends_of_line(folded: Folded, line: Subject) -> list[tuple[float, float]] | None:
    """Both ends as (longitude, latitude) [deg]; None unless both anchors have a position."""
    places = []
    for name in line.current.body["anchors"]:
        anchor = folded.subject(name)
        place = reading_records.position(anchor.record) if anchor and anchor.versions else None
        if place is None:
            return None
        places.append((place[1], place[0]))
    return places


def site_point(db: sqlite3.Connection, site: str) -> list[tuple[float, float]] | None:
    """The middle of a site's anchors as (longitude, latitude) [deg]; None when none has a position."""
    low_lat, high_lat, low_lon, high_lon, west, east = db.execute(
        "SELECT min(lat_deg), max(lat_deg), min(lon_deg), max(lon_deg), min(CASE WHEN lon_deg >= 0 THEN lon_deg END),"
        " max(CASE WHEN lon_deg < 0 THEN lon_deg END) FROM anchors WHERE site = ? AND lat_deg IS NOT NULL",
        (site,),
    ).fetchone()
    if low_lat is None:
        return None
    lon = (low_lon + high_lon) / 2
    if high_lon - low_lon > 180:
        # the site lies across the antimeridian: the middle is there, not on the far side of the world
        lon = (west + east + 360) / 2
        lon = lon - 360 if lon > 180 else lon
    return [(lon, (low_lat + high_lat) / 2)]


def _draw_lists(db: sqlite3.Connection, folded: Folded, name: str, events: list[Event]) -> None:
    kinds = {event.kind for event in events}
    subject = folded.subject(name) if kinds & {"correction", "move", "mark"} else None
    if "correction" in kinds:
        wanted = {event.body.get("corrects", event.name) for event in events}
        entries = [e for e in subject.entries if e.event.name in wanted] if subject else []
    else:
        entries = [Entry(event, (event.body,), False) for event in events if event.kind in ("log", "assessment")]
    for entry in entries:
        if entry.event.kind == "log":
            _put(db, "care_log", "event", log_row(entry))
        elif entry.event.kind == "assessment":
            _put(db, "assessments", "event", _assessment_row(entry))
    if subject is not None and kinds & {"move", "mark"}:
        current = {event.name for events in (subject.moves, *subject.marks.values()) for event in events}
        for event in history_of(db, name).events:
            if event.kind in ("move", "mark"):
                _put(db, "approvals", "event", _approval_row(event, event.name in current))


def log_row(entry: Entry) -> dict[str, Any]:
    body = entry.body
    return {
        "event": entry.event.name, "subject": entry.event.about, "what": body["what"], "date": body["date"],
        "line": body.get("line"), "hours": entry_hours(body), "pull_n": reading_records.si(body.get("pull"), "force"),
        "load_hours_kn_h": entry_load_hours(body), "wetness": body.get("wetness"), "bark_marks": body.get("bark_marks"),
        "ground_marks": body.get("ground_marks"), "void": int(entry.void), "corrected": len(entry.corrections),
        "body": canonical(body),
    }


def _assessment_row(entry: Entry) -> dict[str, Any]:
    return {
        "event": entry.event.name, "subject": entry.event.about, "date": entry.body["date"], "void": int(entry.void),
        "corrected": len(entry.corrections), "body": canonical(entry.body),
    }


def _approval_row(event: Event, current: bool) -> dict[str, Any]:
    body = event.body
    move = event.kind == "move"
    said = body["to"] if move else ("given" if body["given"] else "refused")
    return {
        "event": event.name, "subject": event.about, "what": "move" if move else f"{body['by']}'s mark", "said": said,
        "who": event.who if move else body["name"], "recorded": event.recorded, "date": body.get("date"),
        "expires": body.get("until") if move else body.get("expires"), "conditions": body.get("conditions"),
        "current": int(current),
    }


def finding_of(join: Entry) -> str:
    """What a join says; of two corrections side by side the finding that spreads bad news holds."""
    return "the same" if any(body["finding"] == "the same" for body in join.bodies) else "not the same"


def _draw_joins(db: sqlite3.Connection, folded: Folded, name: str) -> None:
    subject = folded.subject(name)
    for entry in subject.joins if subject else ():
        a, b = entry.body["same"]
        row = {"event": entry.event.name, "a": a, "b": b, "void": int(entry.void), "finding": finding_of(entry)}
        _put(db, "joins", "event", row)
    folded.joins_changed()


def _put(db: sqlite3.Connection, table: str, key: str, row: Mapping[str, Any]) -> None:
    columns = list(row)
    updates = ", ".join(f"{column} = excluded.{column}" for column in columns if column != key)
    db.execute(
        f"INSERT INTO {table} ({', '.join(columns)}) VALUES ({', '.join('?' * len(columns))})"
        f" ON CONFLICT ({key}) DO UPDATE SET {updates}",
        tuple(row.values()),
    )


def draw_all(db: sqlite3.Connection, tick: Callable[[int], None] = lambda done: None) -> None:
    """Fill empty drawn tables from all events, inside the caller's transaction."""
    kinds = dict(db.execute("SELECT name, kind FROM events WHERE name = subject"))
    names = [row[0] for row in db.execute("SELECT DISTINCT subject FROM events")]
    names.sort(key=lambda name: (_ORDER.get(kinds.get(name, ""), 3), name))
    folded = Folded(db)
    # joins first, for they decide what leans on what
    for (name,) in db.execute("SELECT DISTINCT subject FROM events WHERE kind = 'join'").fetchall():
        _draw_joins(db, folded, name)
    for done, name in enumerate(names, start=1):
        _draw_lists(db, folded, name, list(history_of(db, name).events))
        _draw_subject(db, folded, name)
        folded.keep_small()
        tick(done)
