"""The register's state as plain rows, for lists, papers and other programs; numbers in SI, keys end in their unit."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import asdict
from datetime import date
from typing import Any

import yaml

from siteassess.errors import StoreError
from siteassess.register import reading_records
from siteassess.register.answer import answer, conditions_on, mark_in_words, why_in_words
from siteassess.register.care import LOAD_HOURS_NOTE, use_of
from siteassess.register.events import Event
from siteassess.register.fold import Subject
from siteassess.register.girths import girth_over_years
from siteassess.register.intact import Doubts
from siteassess.register.reasons import in_words
from siteassess.register.standing import MarkNow, label, standing
from siteassess.register.store import Store
from siteassess.register.views import Folded
from siteassess.units import show


def rows(store: Store, on: date, site: str | None = None) -> list[dict[str, Any]]:
    """Sites, each followed by its anchors and lines, with their standing on a day.

    Parameters
    ----------
    site : name of one site's subject; None takes all

    Returns
    -------
    Rows; one with "left_out_of_tables" is in the history and not in the drawn tables, see `Folded.undrawn`.
    """
    folded = Folded(store.db)
    doubts = store.doubts(folded)
    left_out = {subject.id for subject in folded.undrawn()}
    out: list[dict[str, Any]] = []

    def row(subject: Subject) -> dict[str, Any]:
        return _row(subject, folded, on, doubts) | ({"left_out_of_tables": True} if subject.id in left_out else {})

    for name in [site] if site else folded.site_names():
        out += [row(subject) for subject in (folded.known(name), *folded.parts(name, "anchor", "line"))]
        folded.keep_small()
    # what stands on a site that is itself gone comes last: nothing vanishes without a word
    seen = {one["subject"] for one in out}
    return out + [row(one) for one in folded.undrawn() if site is None and one.id not in seen]


def _row(subject: Subject, folded: Folded, on: date, doubts: Doubts) -> dict[str, Any]:
    may = answer(subject, folded.around, on, doubts)
    now = may.standing
    stands_on = [folded.subject(name) for name in subject.current.body.get("anchors", ())]
    stands_on += [] if subject.kind == "site" else folded.around.sites(subject)
    row: dict[str, Any] = {
        "kind": subject.kind, "label": label(subject), "subject": subject.id, "may_rig_now": may.word,
        "may_rig_until": may.until, "may_rig_why": why_in_words(may, on),
        "may_rig_reasons": [why.as_dict() for why in may.reasons], "group_mark": mark_in_words(may.marks["group"]),
        "owner_mark": mark_in_words(may.marks["owner"]),
        "conditions": conditions_on(subject, now, filter(None, stands_on)), "status": now.status,
        "status_until": now.until, "valid_until": now.valid_until, "reasons": [in_words(why) for why in now.reasons],
        "conflicts": len(subject.conflicts()),
    }
    if subject.kind == "anchor":
        size, place = reading_records.girth(subject.record), reading_records.position(subject.record)
        row |= {
            "tag": subject.record.get("tag"),
            "species": reading_records.species(subject.record),
            "girth_m": size[0] if size else None,
            "lat_deg": place[0] if place else None,
            "lon_deg": place[1] if place else None,
        }
    if subject.kind == "line":
        row["anchors"] = [label(anchor) for anchor in folded.around.anchors(subject)]
    return row


def details(store: Store, name: str, on: date) -> dict[str, Any]:
    """All there is to say of one subject on a day.

    Raises
    ------
    StoreError : the register holds nothing of that name.
    """
    folded = Folded(store.db)
    if (subject := folded.subject(name)) is None:
        raise StoreError(f"{store.path.name} holds nothing named {name[:10]}")
    doubts = store.doubts(folded)
    now = standing(subject, folded.around, on)
    out = {
        **_row(subject, folded, on, doubts),
        "on": on.isoformat(),
        "own_status": now.own,
        "legal_moves": list(now.legal),
        "news": [
            {"what": n.what, "date": n.date, "event": n.event, "says": news_in_words(store, n.event)}
            for n in now.open_news
        ],
        "marks": [_mark(mark, on) for mark in now.marks.values() if mark.events],
        "conflicts": [
            {"what": in_words(what), "sides": [told(event) for event in sides]} for what, sides in subject.conflicts()
        ],
        "same_as": folded.mates(name),
        # an entry of what happened has an "event" of its own
        "log": [{"entry": entry.event.name, **entry.body} for entry in subject.log()],
        "assessments": [{"event": e.event.name, "date": e.body["date"]} for e in subject.of("assessment")],
        "photos": [dict(entry.body) for entry in subject.of("photo")],
        "record": dict(subject.record),
        "heads": list(store.heads()),
    }
    if subject.kind == "anchor":
        out["girths"] = [asdict(reading) for reading in girth_over_years(store.events(name))]
        use = use_of([subject, *folded.around.same_as(subject)], None, on)
        out["use"] = {
            "uses": use.uses, "uses_without_pull_or_time": use.uses_unknown, "hours_h": use.hours,
            "load_hours_kn_h": use.load_hours_kn_h, "last_used": use.last_used, "note": LOAD_HOURS_NOTE,
        }
    return out


def told_in_words(found: dict[str, Any]) -> list[tuple[str, str]]:
    """What `details` found as titles and sentences, for a person."""
    until = f", until {found['status_until']}" if found["status_until"] else ""
    own = f" (by its own moves alone: {found['own_status']})" if found["own_status"] != found["status"] else ""
    said = [
        (found["kind"], f"{found['label']} [{found['subject'][:10]}]"),
        ("status", f"{found['status']}{until}{own}"),
        ("may rig now", f"{found['may_rig_now']} ({found['may_rig_why']})"),
        ("group's mark", _mark_in_words(found, "group")),
        ("owner's mark", _mark_in_words(found, "owner")),
        ("conditions", "; ".join(found["conditions"]) or "none written down"),
    ]
    said += [("why this status", reason) for reason in found["reasons"]]
    said += [("news not looked at yet", news["says"]) for news in found["news"]] or [("news not looked at yet", "none")]
    said.append(("may be moved to", ", ".join(found["legal_moves"])))
    for conflict in found["conflicts"]:
        sides = [f"{one['who']} on {one['recorded'][:10]} ({one['event'][:10]})" for one in conflict["sides"]]
        said.append(("conflict", f"{conflict['what']}: {' beside '.join(sides)}"))
    for girth in found.get("girths", ()):
        day = girth["day"] or f"a day not written down, entered {girth['entered']}"
        height = "" if girth["read_at_m"] is None else f" at {show(girth['read_at_m'], 'm 2')}"
        if girth["stems"] > 1:
            height = f" round the thinnest of {girth['stems']} stems"
        said.append(("girth read", f"{show(girth['girth_m'], 'm 2')}{height} on {day}"))
    said += [("found to be the same as", name[:10]) for name in found["same_as"]]
    return said


def damage_in_words(file: str, left_out: list[str], gone: bool, beside: bool = False) -> list[str]:
    """What was done to a register's file behind its back, and how to mend it.

    Parameters
    ----------
    left_out : what the history holds and the drawn tables do not
    gone : whether newest entries were taken out, see `intact.taken_out`
    beside : whether another program holds it open and has its newest entries kept in a second file
    """
    said = []
    if left_out:
        said.append(
            f"the history holds {', '.join(left_out)}, and the tables of {file} do not: somebody edited the file. "
            f"Told out of the history. Mend it with: siteassess register redraw {file}"
        )
    if gone:
        said.append(
            f"a latest entry is missing: {file} held entries that it does not hold now, and no line may be rigged by "
            f"it. If a copy has them, merge this file into it: siteassess register merge COPY {file}. If none has: "
            f"siteassess register salvage {file} NEW"
        )
    if beside:
        said.append(
            f"another program has {file} open and has its newest entries kept in {file}-wal: close it there before you "
            "copy or send the file, or the copy lacks them"
        )
    return said


class _OnOneLine(yaml.SafeDumper):
    """Writes a text of several lines on one, so that none of them reads as a key."""


_OnOneLine.add_representer(
    str, lambda to, text: to.represent_scalar("tag:yaml.org,2002:str", text, '"' if "\n" in text else None)
)


def record_in_words(record: Mapping[str, Any]) -> str:
    """A record as YAML, each text on the line of its key."""
    return yaml.dump(record, Dumper=_OnOneLine, allow_unicode=True, sort_keys=False, indent=1, width=math.inf)


def _mark_in_words(found: dict[str, Any], by: str) -> str:
    mark = next((mark for mark in found["marks"] if mark["by"] == by), None)
    standing_now: str = found[f"{by}_mark"]
    if mark is None:
        return standing_now
    role = f", {mark['role']}" if mark["role"] else ""
    return f"{standing_now}; said by {mark['name']}{role} on {mark['date']}"


def _mark(mark: MarkNow, on: date) -> dict[str, Any]:
    body = mark.events[0].body
    return {
        "by": mark.by, "given": not mark.refused, "name": body["name"], "role": body.get("role"), "date": body["date"],
        "expires": mark.expires, "conditions": body.get("conditions"), "holds_today": mark.holds(on),
    }


def told(event: Event) -> dict[str, Any]:
    """An event as plain values."""
    return {
        "event": event.name, "kind": event.kind, "subject": event.about, "who": event.who, "recorded": event.recorded,
        "why": event.why, "replaces": list(event.replaces), "body": dict(event.body),
    }


def news_in_words(store: Store, name: str) -> str:
    """An event that forced a review, in words: what, when, where."""
    event = store.event(name)
    if event is None:
        return f"{name[:10]}, which is not here"
    where = label(store.subject(event.about))
    if event.kind == "log":
        return f"{event.body.get('event') or 'marks'} of {event.body['date']} at {where}"
    return f"survey of {where} recorded {event.recorded[:10]}"
