"""Adds events to a register, inside one change: stamped, fitted to what is there, counted, and drawn."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from typing import TYPE_CHECKING, Any

from siteassess.errors import StoreError
from siteassess.reference.findings import worded
from siteassess.register import events as ev
from siteassess.register.checks import impossible, misfit
from siteassess.register.clock import ahead_of
from siteassess.register.events import Event
from siteassess.register.intact import as_named, count_in, event_named, lost, moments_of, moments_said
from siteassess.register.views import redraw

if TYPE_CHECKING:
    from siteassess.register.store import Store


class Writer:
    """Adds events inside one change; see `Store.change`."""

    def __init__(self, store: Store):
        self.store, self.db = store, store.db
        self._heads = set(store.heads())
        self._lost = lost(store.db)
        self._moments = moments_of(store.db)
        self._latest = self._latest_recorded()
        self.added: list[Event] = []
        self._undrawn: dict[str, list[Event]] = {}

    def _latest_recorded(self) -> str:
        heads = (event_named(self.db, name, self._moments) for name in self._heads)
        return max((event.recorded for event in heads if event), default="")

    def add(
        self, kind: str, subject: str, body: Mapping[str, Any], *, who: str, why: str, replaces: Iterable[str] = (),
        salt: str | None = None,
    ) -> Event:
        """Add a change made here, on top of all this register holds.

        Parameters
        ----------
        kind, subject, body, who, why, replaces : what it says, see `events.Event`
        salt : that tells a second sending of it; None makes one up

        Raises
        ------
        FaultyInput : what was said is not what this kind of change says.
        StoreError : it does not fit what it names, or says what cannot be.
        """
        # kept out of the top: a writer of plain entries starts without it
        from siteassess.register.bodies import checked

        # an entry that sets right what lies ahead of the clock does not wait for it
        latest = ahead_of(self.store, self.store.now())[1] if kind == "clock" else self._latest
        recorded = max(ev.utc_text(self.store.now()), latest)
        event = ev.make(
            kind, subject, checked(kind, body), who=who, why=why, recorded=recorded, parents=self._heads,
            replaces=replaces, salt=salt,
        )
        moments = {**self._moments, **moments_said([event] if kind == "clock" else ())}
        if wrong := misfit(event, self.store.event, self._lost, moments) or impossible(event, self.db):
            raise StoreError(worded("rg-cannot-be", file=self.store.path.name, kind=kind, wrong=wrong))
        self.take(event)
        return event

    def take(self, event: Event) -> bool:
        """Take in an event as it is; False when it is here already. Its parents must be here."""
        if self.store.event(event.name) is not None:
            return False
        self.db.execute(
            "INSERT INTO events (name, kind, subject, who, recorded, why, content) VALUES (?,?,?,?,?,?,?)",
            (event.name, event.kind, event.about, event.who, event.recorded, event.why, event.content),
        )
        count_in(self.db, event)
        self.store.at_point("event written")
        # what a salvage did not find comes back with a merge: others may build on it already
        was_lost = event.name in self._lost
        if was_lost:
            self._lost.discard(event.name)
            self.db.execute("DELETE FROM lost WHERE name = ?", (event.name,))
        if not (was_lost and self._is_built_on(event.name)):
            self._heads.add(event.name)
            self.db.execute("INSERT INTO heads (name) VALUES (?)", (event.name,))
        for parent in event.parents:
            if parent in self._heads:
                self._heads.discard(parent)
                self.db.execute("DELETE FROM heads WHERE name = ?", (parent,))
        self.store.at_point("heads written")
        self._latest = max(self._latest, self._moments.get(event.name, event.recorded))
        if event.kind == "clock":
            self._moments = moments_of(self.db)
            self._latest = self._latest_recorded()
        self.added.append(event)
        self._undrawn.setdefault(event.about, []).append(event)
        return True

    def _is_built_on(self, name: str) -> bool:
        query = "SELECT CAST(content AS BLOB), CAST(name AS BLOB) FROM events WHERE instr(content, ?)"
        found = (as_named(*row) for row in self.db.execute(query, (name,)))
        return any(event is not None and name in event.parents for event in found)

    def expect_lost(self, names: Iterable[str]) -> None:
        """Note entries that others build on and that are not to be had; each is struck off when it comes in."""
        for name in names:
            if name not in self._lost:
                self._lost.add(name)
                self.db.execute("INSERT INTO lost (name) VALUES (?)", (name,))

    def keep_photo(self, sha256: str, media_type: str, data: bytes) -> None:
        self.db.execute(
            "INSERT OR IGNORE INTO photos (sha256, media_type, bytes) VALUES (?,?,?)", (sha256, media_type, data)
        )
        self.store.at_point("photo written")

    def draw(self, tick: Callable[[int], None] = lambda done: None) -> None:
        """Bring the drawn tables up to what was added so far, so that later steps of this change can look."""
        pending, self._undrawn = self._undrawn, {}
        redraw(self.db, pending, tick)

    def finish(self) -> None:
        self.draw()
        self.store.at_point("views drawn")
