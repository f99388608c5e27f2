"""The register's state as plain rows, for lists, papers and other programs; numbers in SI, keys end in their unit."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import asdict, dataclass
from datetime import date
from typing import Any

from siteassess.errors import StoreError
from siteassess.reference.findings import Worded, worded
from siteassess.register import reading_records
from siteassess.register.answer import answer, conditions_on, why_told
from siteassess.register.care import LOAD_HOURS_NOTE, use_of
from siteassess.register.events import Event
from siteassess.register.fold import Subject, Trigger
from siteassess.register.girths import GirthReading, girth_over_years
from siteassess.register.intact import Doubts
from siteassess.register.reasons import Reason, reason, sentence, text_of
from siteassess.register.standing import MarkNow, label, standing
from siteassess.register.store import Store
from siteassess.register.views import Folded


@dataclass(frozen=True)
class Listed:
    """A site, anchor or line as a list shows it on a day; `of_kind` is what only things of its kind have, plain.

    `left_out` is a thing of the history that the drawn tables do not hold, see `Folded.undrawn`.
    """

    kind: str
    label: str
    subject: str
    may_rig_now: str
    may_rig_until: str | None
    why: Reason
    may_rig_reasons: tuple[Reason, ...]
    marks: Mapping[str, Reason]
    conditions: tuple[str | Reason, ...]
    status: str
    status_until: str | None
    valid_until: str | None
    reasons: tuple[Reason, ...]
    conflicts: int
    of_kind: Mapping[str, Any]
    left_out: bool = False

    def as_dict(self) -> dict[str, Any]:
        """For other programs, sentences in English."""
        return {
            "kind": self.kind, "label": self.label, "subject": self.subject, "may_rig_now": self.may_rig_now,
            "may_rig_until": self.may_rig_until, "may_rig_why": sentence(self.why),
            "may_rig_reasons": [why.as_dict() for why in self.may_rig_reasons],
            "group_mark": sentence(self.marks["group"], group="mark"),
            "owner_mark": sentence(self.marks["owner"], group="mark"),
            "conditions": list(map(text_of, self.conditions)),
            "status": self.status, "status_until": self.status_until, "valid_until": self.valid_until,
            "reasons": [sentence(why) for why in self.reasons], "conflicts": self.conflicts, **self.of_kind,
            **({"left_out_of_tables": True} if self.left_out else {}),
        }


def listed_rows(store: Store, on: date, site: str | None = None) -> list[Listed]:
    """Sites, each followed by its anchors and lines, with their standing on a day.

    Parameters
    ----------
    store, on : of the register; the day asked about
    site : name of one site's subject; None takes all
    """
    folded = Folded(store.db)
    doubts = store.doubts(folded)
    left_out = {subject.id for subject in folded.undrawn()}
    out: list[Listed] = []

    def row(subject: Subject) -> Listed:
        return _row(subject, folded, on, doubts, subject.id in left_out)

    for name in [site] if site else folded.site_names():
        out += [row(subject) for subject in (folded.known(name), *folded.parts(name, "anchor", "line"))]
        folded.keep_small()
    # what stands on a site that is itself gone comes last: nothing vanishes without a word
    seen = {one.subject for one in out}
    return out + [row(one) for one in folded.undrawn() if site is None and one.id not in seen]


def _row(subject: Subject, folded: Folded, on: date, doubts: Doubts, left_out: bool = False) -> Listed:
    may = answer(subject, folded.around, on, doubts)
    now = may.standing
    stands_on = [folded.subject(name) for name in subject.current.body.get("anchors", ())]
    stands_on += [] if subject.kind == "site" else folded.around.sites(subject)
    return Listed(
        subject.kind, label(subject), subject.id, may.word, may.until, why_told(may, on), may.reasons, may.marks,
        tuple(conditions_on(subject, now, filter(None, stands_on))), now.status, now.until, now.valid_until,
        now.reasons, len(subject.conflicts()), _of_kind(subject, folded), left_out,
    )


def _of_kind(subject: Subject, folded: Folded) -> dict[str, Any]:
    if subject.kind == "anchor":
        size, place = reading_records.girth(subject.record), reading_records.position(subject.record)
        return {
            "tag": subject.record.get("tag"), "species": reading_records.species(subject.record),
            "girth_m": size[0] if size else None, "lat_deg": place[0] if place else None,
            "lon_deg": place[1] if place else None,
        }
    return {"anchors": [label(one) for one in folded.around.anchors(subject)]} if subject.kind == "line" else {}


@dataclass(frozen=True)
class Details:
    """All there is to say of one subject on a day; `more` is plain, as other programs read it."""

    listed: Listed
    on: date
    own_status: str
    legal_moves: tuple[str, ...]
    news: tuple[tuple[Trigger, Reason], ...]
    marks: tuple[MarkNow, ...]
    conflicts: tuple[tuple[Reason, tuple[Event, ...]], ...]
    same_as: tuple[str, ...]
    record: Mapping[str, Any]
    girths: tuple[GirthReading, ...]
    more: Mapping[str, Any]

    def as_dict(self) -> dict[str, Any]:
        """For other programs, sentences in English."""
        return {
            **self.listed.as_dict(), "on": self.on.isoformat(), "own_status": self.own_status,
            "legal_moves": list(self.legal_moves),
            "news": [{"what": n.what, "date": n.date, "event": n.event, "says": sentence(says)}
                     for n, says in self.news],
            "marks": [_mark(mark, self.on) for mark in self.marks],
            "conflicts": [{"what": sentence(what), "sides": list(map(event_told, sides))}
                          for what, sides in self.conflicts],
            "same_as": list(self.same_as), **self.more,
        }  # fmt: skip


def details(store: Store, name: str, on: date) -> Details:
    """All there is to say of one subject on a day.

    Parameters
    ----------
    store : of the register
    name : of the subject
    on : the day asked about

    Raises
    ------
    StoreError : the register holds nothing of that name.
    """
    folded = Folded(store.db)
    if (subject := folded.subject(name)) is None:
        raise StoreError(worded("rg-holds-nothing", file=store.path.name, name=name[:10]))
    now = standing(subject, folded.around, on)
    girths = girth_over_years(store.events(name)) if subject.kind == "anchor" else []
    more = {
        # an entry of what happened has an "event" of its own
        "log": [{"entry": entry.event.name, **entry.body} for entry in subject.log()],
        "assessments": [{"event": e.event.name, "date": e.body["date"]} for e in subject.of("assessment")],
        "photos": [dict(entry.body) for entry in subject.of("photo")], "record": dict(subject.record),
        "heads": list(store.heads()),
    }
    if subject.kind == "anchor":
        more["girths"] = [asdict(reading) for reading in girths]
        use = use_of([subject, *folded.around.same_as(subject)], None, on)
        more["use"] = {
            "uses": use.uses, "uses_without_pull_or_time": use.uses_unknown, "hours_h": use.hours,
            "load_hours_kn_h": use.load_hours_kn_h, "last_used": use.last_used, "note": sentence(LOAD_HOURS_NOTE),
        }
    return Details(
        _row(subject, folded, on, store.doubts(folded)), on, now.own, now.legal,
        tuple((one, news_told(store, one.event)) for one in now.open_news),
        tuple(mark for mark in now.marks.values() if mark.events), tuple(subject.conflicts()),
        tuple(folded.mates(name)), dict(subject.record), tuple(girths), more,
    )


def damage_in_words(file: str, left_out: list[Worded], gone: bool, beside: bool = False) -> list[Worded]:
    """What was done to a register's file behind its back, and how to mend it.

    Parameters
    ----------
    file : its name
    left_out : what the history holds and the drawn tables do not
    gone : whether newest entries were taken out, see `intact.taken_out`
    beside : whether another program holds it open and has its newest entries kept in a second file
    """
    said = [worded("rg-tables-lack", things=left_out, file=file)] if left_out else []
    said += [worded("rg-latest-missing", file=file)] if gone else []
    return said + ([worded("rg-newest-beside", file=file)] if beside else [])


def _mark(mark: MarkNow, on: date) -> dict[str, Any]:
    body = mark.events[0].body
    return {
        "by": mark.by, "given": not mark.refused, "name": body["name"], "role": body.get("role"), "date": body["date"],
        "expires": mark.expires, "conditions": body.get("conditions"), "holds_today": mark.holds(on),
    }


def event_told(event: Event) -> dict[str, Any]:
    """An event as plain values.

    Parameters
    ----------
    event : of any kind

    Returns
    -------
    Fit for JSON.
    """
    return {
        "event": event.name, "kind": event.kind, "subject": event.about, "who": event.who, "recorded": event.recorded,
        "why": event.why, "replaces": list(event.replaces), "body": dict(event.body),
    }


def news_told(store: Store, name: str) -> Reason:
    """An event that forced a review: what, when, where.

    Parameters
    ----------
    store : of the register
    name : of the event
    """
    event = store.event(name)
    if event is None:
        return reason("news-elsewhere", name=name[:10])
    where = label(store.subject(event.about))
    if event.kind == "log":
        return reason("news-logged", what=event.body.get("event") or "marks", day=event.body["date"], part=where)
    return reason("news-survey", part=where, day=event.recorded[:10])
