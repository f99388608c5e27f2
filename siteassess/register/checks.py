"""Whether an event fits those it builds on, and whether what it says can be: asked before anything is kept."""

from __future__ import annotations

import sqlite3
from collections.abc import Callable, Container, Mapping
from datetime import datetime, timedelta

from siteassess.reference.findings import worded
from siteassess.register.events import FOUNDING, THINGS, Event
from siteassess.register.intact import history_of
from siteassess.register.moves import MOVES, REVIEW_DUE, REVIEWED, WITHDRAWN, most_cautious
from siteassess.register.views import Folded

# how far local days run ahead of UTC, from which entries are stamped
_FARTHEST_EAST = timedelta(hours=14)

_BELONGS_TO = {
    "assessment": ("line",), "move": THINGS, "mark": THINGS, "log": THINGS, "photo": THINGS, "join": THINGS,
    "correction": THINGS, "site": ("site",), "anchor": ("anchor",), "line": ("line",),
    "register": ("register",), "clock": ("register",), "copy": ("register",),
}


def misfit(
    event: Event,
    get: Callable[[str], Event | None],
    lost: Container[str] = (),
    moments: Mapping[str, str] = {},  # noqa: B006
) -> str:
    """What is wrong with an event beside those it names, in words; an empty text where all fits.

    Parameters
    ----------
    get : gives an event by name, None where it is missing
    lost : names of events known to be lost: what hangs on one cannot be looked at
    moments : by name, when events stamped by a wrong clock count as written
    """
    for parent in event.parents:
        before = get(parent)
        if before is None and parent in lost:
            continue
        if before is None:
            return worded("rg-parent-missing", name=parent[:16])
        if moments.get(before.name, before.recorded) > moments.get(event.name, event.recorded):
            return worded("rg-dated-before", name=parent[:16])
    if not event.parents and event.kind != "register":
        return worded("rg-builds-on-nothing")
    if event.subject:
        founding = get(event.subject)
        if founding is None and event.subject in lost:
            return ""
        if founding is None or founding.kind not in FOUNDING or founding.subject:
            return worded("rg-about-missing", name=event.subject[:16])
        if founding.kind not in _BELONGS_TO[event.kind]:
            return worded("rg-kinds-apart", kind=event.kind, other=founding.kind)
    for name in event.replaces:
        before = get(name)
        if before is None and name in lost:
            return ""
        if before is None:
            return worded("rg-replaced-missing", name=name[:16])
        if before.about != event.about or before.kind != event.kind:
            return worded("rg-replaces-other", name=name[:16])
    return _illegal_move(event, get) if event.kind == "move" else _points_nowhere(event, get, lost)


def _illegal_move(event: Event, get: Callable[[str], Event | None]) -> str:
    body = event.body
    if body["to"] not in MOVES[body["seen"]]:
        return worded("rg-no-such-move", seen=body["seen"], to=body["to"])
    words = [one.body["to"] for name in event.replaces if (one := get(name)) is not None]
    before = most_cautious(words) if words else "draft"
    # news and missing marks make it "review due", the owner's refusal "withdrawn"
    turned = body["seen"] == WITHDRAWN or (before in REVIEWED and body["seen"] == REVIEW_DUE)
    if body["seen"] != before and not turned:
        return worded("rg-moves-otherwise", seen=body["seen"], before=before)
    for name in (body.get("against") or {}).get("entries", ()):
        if get(name) is None:
            return worded("rg-against-missing", name=name[:16])
    return ""


def _points_nowhere(event: Event, get: Callable[[str], Event | None], lost: Container[str]) -> str:
    body = event.body
    named = [body.get("site"), body.get("corrects"), body.get("line"), *body.get("anchors", ()), *body.get("same", ())]
    if any(name in lost and get(name) is None for name in named if name is not None):
        return ""
    wanted: list[tuple[str, str]] = []
    if event.kind in ("anchor", "line"):
        wanted.append((body["site"], "site"))
    if event.kind == "line":
        wanted += [(name, "anchor") for name in body["anchors"]]
    for name, kind in wanted:
        found = get(name)
        if found is None or found.kind != kind or found.subject:
            return worded("rg-named-missing", kind=kind, name=name[:16])
        if event.kind == "line" and kind == "anchor" and found.body["site"] != body["site"]:
            return worded("rg-tree-elsewhere", name=found.body["record"].get("code"))
    if event.kind == "log" and body.get("line") is not None:
        found = get(body["line"])
        if found is None or found.kind != "line" or found.subject:
            return worded("rg-named-missing", kind="line", name=body["line"][:16])
    for park in body.get("parks", ()):
        for name, kind in ((park["site"], "site"), *((tree["tree"], "anchor") for tree in park.get("hidden", ()))):
            found = get(name)
            if (found is None and name not in lost) or (found is not None and (found.kind != kind or found.subject)):
                return worded("rg-copied-missing", kind=kind, name=name[:16])
    if event.kind == "clock":
        for name in body["ahead"]:
            found = get(name)
            if found is None and name not in lost:
                return worded("rg-set-right-missing", name=name[:16])
            if found is not None and found.recorded <= event.recorded:
                return worded("rg-not-ahead", name=name[:16])
    if event.kind == "correction":
        found = get(body["corrects"])
        if found is None or found.about != event.about:
            return worded("rg-corrected-missing", name=body["corrects"][:16])
    if event.kind == "join":
        pair = [one for name in body["same"] if (one := get(name)) is not None]
        if len(pair) < 2 or pair[0].kind != pair[1].kind or any(one.subject for one in pair):
            return worded("rg-joins-apart")
        if event.subject != body["same"][0]:
            return worded("rg-joins-other")
    return ""


def impossible(event: Event, db: sqlite3.Connection) -> str:
    """What in an entry cannot be, in words: a day after it was written, a line that is not tied there; else empty.

    Parameters
    ----------
    db : the register's tables, holding at least the line the entry names
    """
    kind, body = event.kind, event.body
    if kind == "correction" and "body" in body:
        body = body["body"]
        kind = "assessment" if "result" in body else "log" if "what" in body else kind
    # a rest may be planned ahead; nothing can have been seen, used or judged ahead
    if kind == "assessment" or (kind == "log" and body["what"] != "rest"):
        latest = (datetime.fromisoformat(event.recorded) + _FARTHEST_EAST).date().isoformat()
        if body["date"] > latest:
            return worded("rg-day-after-written", day=body["date"], written=event.recorded[:10])
    if kind == "log" and body.get("line") is not None and body["line"] != event.about:
        versions = [e for e in history_of(db, body["line"]).events if e.kind == "line"]
        ends = {name for version in versions for name in version.body["anchors"]}
        if event.about not in ends and ends.isdisjoint(Folded(db).mates(event.about)):
            code = versions[0].body["record"]["id"] if versions else body["line"][:16]
            return worded("rg-not-tied-there", name=code)
    return ""
