"""Looks a register over: is every change as it was named, is any missing, do the drawn tables tell the same story?"""

from __future__ import annotations

import hashlib
import re
import sqlite3
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from functools import lru_cache

from siteassess.errors import FaultyInput, StoreError
from siteassess.reference import faults
from siteassess.reference.findings import worded
from siteassess.register import events as ev
from siteassess.register import schema
from siteassess.register.checks import misfit
from siteassess.register.intact import UNREADABLE, as_named, lost, miscounted, moments_of, recount, taken_out
from siteassess.register.store import Store
from siteassess.register.views import draw_all

SHORTEST_NOTED = 16
REMEMBERED = 20_000
_NOTED = re.compile(rf"[0-9a-f]{{{SHORTEST_NOTED},64}}")


@dataclass(frozen=True)
class Flaw:
    """One thing wrong with a register: what is touched, and what is wrong with it."""

    what: str
    wrong: str

    def __str__(self) -> str:
        return worded("rg-flaw", what=self.what, wrong=self.wrong)


def verify(
    store: Store, noted_heads: Iterable[str] = (), tick: Callable[[int], None] = lambda done: None
) -> list[Flaw]:
    """Every fault of a register; an empty list where none was found.

    Parameters
    ----------
    store : of the register
    noted_heads : heads written down elsewhere, whole or their first 16 characters or more
    tick : told how many events are done

    Raises
    ------
    StoreError : a noted head is no head at all.

    Notes
    -----
    A history whose end was cut off, or that was written anew, is whole in itself: only a head noted outside the file
    shows it. Whoever can write the file can also write a wrong name under "who": the register proves that nothing
    was changed since, not that it was true.
    """
    looked_over = (row[0] for row in store.db.execute("PRAGMA integrity_check"))
    if findings := [Flaw(worded("the-file"), found) for found in looked_over if found != "ok"]:
        return findings
    findings += _events(store, tick)
    findings += _noted(store, noted_heads)
    findings += _photos(store)
    if not findings:
        # tables drawn from a faulty history would only repeat its faults
        findings += _drawn(store)
    return findings


def noted(text: str) -> str:
    """A noted head as typed, spaces and capitals forgiven.

    Raises
    ------
    StoreError : fewer than 16 characters, or others than 0-9 and a-f.
    """
    clean = re.sub(r"[\s-]", "", text).lower()
    if not _NOTED.fullmatch(clean):
        raise StoreError(worded("rg-no-head", text=text[:80], least=SHORTEST_NOTED))
    return clean


def _events(store: Store, tick: Callable[[int], None]) -> list[Flaw]:
    findings = []
    # most events build on the one before: what was read last is asked for again at once
    get = lru_cache(maxsize=REMEMBERED)(lambda name: _filed(store, name))
    gone, moments = lost(store.db), moments_of(store.db)
    names: set[str] = set()
    parents: set[str] = set()
    columns = "name, kind, subject, who, recorded, why, content"
    for done, row in enumerate(store.db.execute(f"SELECT {columns} FROM events ORDER BY id"), start=1):
        name, content = row[0], row[-1]
        names.add(name)
        try:
            event = ev.read(content, name[:16])
        except FaultyInput as error:
            altered = worded("rg-text-altered", fault=faults.told(error.faults[0]))
            findings.append(Flaw(worded("rg-the-change", name=name[:16]), altered))
            continue
        parents.update(event.parents)
        if event.name != name:
            findings.append(Flaw(worded("rg-the-change", name=name[:16]), worded("rg-name-unfit")))
        elif (event.kind, event.about, event.who, event.recorded, event.why) != row[1:6]:
            findings.append(Flaw(worded("rg-the-change", name=name[:16]), worded("rg-columns-altered")))
        elif wrong := misfit(event, get, gone, moments):
            findings.append(Flaw(worded("rg-the-change", name=name[:16]), wrong))
        tick(done)
    for name in sorted(gone):
        findings.append(Flaw(worded("rg-the-change", name=name[:16]), worded("rg-lost-in-salvage")))
    if set(store.heads()) != names - parents:
        findings.append(Flaw(worded("rg-the-heads"), worded("rg-heads-unfit")))
    if taken_out(store.db):
        findings.append(Flaw(worded("rg-the-history"), worded("rg-end-cut")))
    for subject in sorted(miscounted(store.db)):
        findings.append(Flaw(worded("rg-the-thing", name=subject[:16]), worded("rg-changes-moved")))
    return findings


def _filed(store: Store, name: str) -> ev.Event | None:
    """The event filed under a name, altered or not: what builds on an altered one is not itself at fault."""
    row = store.db.execute("SELECT CAST(content AS BLOB) FROM events WHERE name = ?", (name,)).fetchone()
    return as_named(row[0], hashlib.sha256(row[0]).hexdigest()) if row and row[0] else None


def _noted(store: Store, heads: Iterable[str]) -> list[Flaw]:
    findings = []
    for text in heads:
        head = noted(text)
        upper = head[:-1] + chr(ord(head[-1]) + 1)
        if not store.db.execute("SELECT 1 FROM events WHERE name >= ? AND name < ?", (head, upper)).fetchone():
            findings.append(Flaw(worded("rg-the-noted-head", name=head[:16]), worded("rg-not-in-history")))
    return findings


def _photos(store: Store) -> list[Flaw]:
    findings = []
    kept = set()
    for sha256, data in store.db.execute("SELECT sha256, bytes FROM photos"):
        kept.add(sha256)
        if hashlib.sha256(data).hexdigest() != sha256:
            findings.append(Flaw(worded("rg-the-photo", name=sha256[:16]), worded("rg-bytes-altered")))
    for (content,) in store.db.execute("SELECT content FROM events WHERE kind = 'photo'"):
        try:
            sha256 = ev.read(content).body["sha256"]
        except FaultyInput:
            continue
        if sha256 not in kept:
            findings.append(Flaw(worded("rg-the-photo", name=sha256[:16]), worded("rg-photo-named-missing")))
    return findings


def _drawn(store: Store) -> list[Flaw]:
    # an unnamed database lives in a temporary file that goes with the connection
    fresh = sqlite3.connect("", isolation_level=None)
    fresh.execute("BEGIN")
    schema.create(fresh)
    rows = store.db.execute("SELECT name, kind, subject, who, recorded, why, content FROM events ORDER BY id")
    fresh.executemany(
        "INSERT INTO events (name, kind, subject, who, recorded, why, content) VALUES (?,?,?,?,?,?,?)", rows
    )
    recount(fresh)
    draw_all(fresh)
    findings = []
    for table in schema.DRAWN_TABLES:
        columns = [row[1] for row in fresh.execute(f"PRAGMA table_info({table})") if row[1] != "id"]
        query = f"SELECT {', '.join(columns)} FROM {table} ORDER BY {', '.join(columns)}"
        try:
            differ = _differ(store.db.execute(query), fresh.execute(query))
        except UNREADABLE:
            # a text that is none, or a column that is gone
            differ = True
        if differ:
            findings.append(Flaw(worded("rg-the-table", name=table), worded("rg-not-drawn-so")))
    fresh.close()
    return findings


def _differ(one: Iterable[object], other: Iterable[object]) -> bool:
    missing = object()
    one, other = iter(one), iter(other)
    while True:
        a, b = next(one, missing), next(other, missing)
        if a is missing and b is missing:
            return False
        if a != b:
            return True
