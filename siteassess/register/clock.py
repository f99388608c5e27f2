"""Wrong clocks: asked about before they are written down, and set right afterwards without touching what was written.

An entry cannot be changed, so one stamped years ahead would push the stamp of all that follows and be refused by every
other register for as long. The remedy is an entry of its own, signed by name: it lists what lies ahead of the clock
and stands for "these were written no later than now". Wherever it arrives, they count as of its own moment.
"""

from __future__ import annotations

from datetime import datetime, timedelta
from typing import TYPE_CHECKING

from siteassess.errors import StoreError
from siteassess.reference.constants import constant
from siteassess.reference.findings import worded
from siteassess.register import events as ev
from siteassess.register.events import Event
from siteassess.register.intact import event_named, moments_of

if TYPE_CHECKING:
    from siteassess.register.store import Store
    from siteassess.register.writer import Writer

# two devices set by the network differ by seconds, by hand by minutes; what is judged by the clock are days (judgement)
CLOCK_SLACK = timedelta(minutes=constant("clock slack"))
# how far ahead of this machine's clock an event from elsewhere may lie
CLOCK_LEAP = timedelta(days=constant("clock leap"))
# a list rests over a winter, but a year typed wrong shows (judgement)
CLOCK_GAP = timedelta(days=constant("clock gap"))


def ahead_of(store: Store, now: datetime) -> tuple[list[Event], str]:
    """The events stamped later than a clock, and the moment of the newest other one; empty where there is none.

    No event is older than those it builds on, so it is enough to go back from the heads as far as they lie ahead.

    Parameters
    ----------
    store : of the register
    now : what the clock says

    Returns
    -------
    The events; the moment, ISO text in UTC.
    """
    limit = ev.utc_text(now + CLOCK_SLACK)
    moments = moments_of(store.db)
    ahead: dict[str, Event] = {}
    newest = ""
    todo = list(store.heads())
    while todo:
        event = event_named(store.db, todo.pop(), moments)
        if event is None or event.name in ahead:
            continue
        if event.recorded > limit:
            ahead[event.name] = event
            todo += event.parents
        else:
            newest = max(newest, event.recorded)
    return list(ahead.values()), newest


def set_right(writer: Writer, who: str, why: str) -> Event:
    """Say that every entry ahead of this machine's clock was written no later than now.

    Parameters
    ----------
    writer : of the change
    who, why : who says so, and how they know

    Raises
    ------
    StoreError : none is ahead.
    """
    ahead, _ = ahead_of(writer.store, writer.store.now())
    if not ahead:
        raise StoreError(worded("rg-none-ahead", file=writer.store.path.name))
    body = {"ahead": sorted(event.name for event in ahead)}
    return writer.add("clock", writer.store.first_register().name, body, who=who, why=why)


def refuse_leap(store: Store) -> None:
    """Nothing, unless this machine's clock lies far past the newest entry and nobody says that it is right.

    Raises
    ------
    StoreError : it does.
    """
    if store.clock_is_right:
        return
    now = store.now()
    ahead, newest = ahead_of(store, now)
    if ahead or not newest or now - datetime.fromisoformat(newest) <= CLOCK_GAP:
        return
    gap = (now - datetime.fromisoformat(newest)).days
    said = worded("rg-clock-leaps", now=f"{now:%Y-%m-%d %H:%M}", gap=gap, day=newest[:10])
    if store.ask is not None and store.ask(worded("rg-is-it-right", what=said)):
        store.clock_is_right = True
        return
    raise StoreError(worded("rg-leap-refused", file=store.path.name, what=said))
