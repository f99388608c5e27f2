"""What `siteassess register` prints of a list, of one thing, of what is due and of whose turn it is."""

from __future__ import annotations

import datetime
import math
from collections.abc import Iterator, Mapping, Sequence
from typing import Any

import yaml

from siteassess.papers.language import Words, words_in
from siteassess.reference.measures import Measures
from siteassess.reference.texts import share
from siteassess.register.due import Due
from siteassess.register.girths import GirthReading
from siteassess.register.listing import Details, Listed
from siteassess.register.reasons import reason
from siteassess.register.rota import Rota

TURNS = ("next", "wait", "not now")


def list_text(rows: Sequence[Listed], on: datetime.date, language: str = "en") -> Iterator[str]:
    """Each thing that is listed, beneath it why it stands as it does, and how many they are.

    Parameters
    ----------
    rows : as `register.listing` finds them
    on : the day asked about
    language : to tell it in
    """
    t = words_in(language)
    for row in rows:
        yield from _row(row, t)
    yield t("li-count", count=len(rows), day=on)


def _row(row: Listed, t: Words) -> Iterator[str]:
    indent = "" if row.kind == "site" else "  "
    until = t("li-marks-until", day=row.valid_until) if row.valid_until else ""
    until_day = t("li-at-most", day=row.may_rig_until) if row.may_rig_until else ""
    may = t("li-may", word=t.of(row.may_rig_now)) + until_day if row.kind == "line" else ""
    yield f"{indent}{_named(row, t)} {t.of(row.status)}{until}{may}  [{row.subject[:10]}]"
    for why in row.may_rig_reasons if row.kind == "line" else row.reasons:
        yield f"{indent}    {t.said(why)}"


def _named(thing: Listed | Due, t: Words) -> str:
    return f"{t.of(thing.kind)} {thing.label}{t('colon')}"


def show_text(found: Details, language: str = "en") -> Iterator[str]:
    """One thing: its standing and what is to be done about it, and its record as it was written.

    Parameters
    ----------
    found : as `register.listing` finds it
    language : to tell it in
    """
    t, row = words_in(language), found.listed
    for title, text in _titled(found, row, t):
        yield f"{title}{t('colon')} {text}"
    yield t.said(reason("record-twice")) + t("colon")
    yield from record_text(found.record).splitlines()


def _titled(found: Details, row: Listed, t: Words) -> Iterator[tuple[str, str]]:
    until = t("li-status-until", day=row.status_until) if row.status_until else ""
    own = t("li-own-status", status=t.of(found.own_status)) if found.own_status != row.status else ""
    yield t.of(row.kind), f"{row.label} [{row.subject[:10]}]"
    yield t("li-status"), f"{t.of(row.status)}{until}{own}"
    yield t("li-may-rig"), f"{t.of(row.may_rig_now)} ({t.said(row.why)})"
    for by in ("group", "owner"):
        yield t.said(reason("mark-twice", by=by)), t.mark(row.marks[by]) + _said_by(found, by, t)
    yield t("li-conditions"), t("between").join(map(t.said, row.conditions)) or t("li-none-written")
    yield from ((t("li-why"), t.said(why)) for why in row.reasons)
    yield from ((t("li-news"), text) for text in [t.said(says) for _, says in found.news] or [t.of("none")])
    yield t("li-moves"), ", ".join(map(t.of, found.legal_moves))
    for what, sides in found.conflicts:
        told = [t("li-side", who=one.who, day=one.recorded[:10], name=one.name[:10]) for one in sides]
        yield t("li-conflict"), f"{t.said(what)}{t('colon')} {t('li-beside').join(told)}"
    yield from ((t("li-girth"), _girth(girth, t)) for girth in found.girths)
    yield from ((t("li-same"), name[:10]) for name in found.same_as)


def _said_by(found: Details, by: str, t: Words) -> str:
    body = next((mark.events[0].body for mark in found.marks if mark.by == by), None)
    if body is None:
        return ""
    name = f"{body['name']}, {body['role']}" if body.get("role") else body["name"]
    return t("li-mark-said", name=name, day=body["date"])


def _girth(girth: GirthReading, t: Words) -> str:
    m = Measures(t.language)
    at = "" if girth.read_at_m is None else t("li-girth-at", height=m.length(girth.read_at_m, 2))
    if girth.stems > 1:
        at += t("li-girth-stems", count=girth.stems)
    day = t("li-on", day=girth.day) if girth.day else t("li-on-undated", day=girth.entered)
    return f"{m.length(girth.girth_m, 2)}{at}{day}"


class _OnOneLine(yaml.SafeDumper):
    """Writes a text of several lines on one, so that none of them reads as a key."""


_OnOneLine.add_representer(
    str, lambda to, text: to.represent_scalar("tag:yaml.org,2002:str", text, '"' if "\n" in text else None)
)


def record_text(record: Mapping[str, Any]) -> str:
    """A record as YAML, each text on the line of its key; it is a file's form and stands in English."""
    told: str = yaml.dump(record, Dumper=_OnOneLine, allow_unicode=True, sort_keys=False, indent=1, width=math.inf)
    return told


def due_text(items: Sequence[Due], on: datetime.date, days: int, language: str = "en") -> Iterator[str]:
    """What is due, a line each, and how many things within how many days.

    Parameters
    ----------
    items : that are due
    on, days : the day asked about, and how far ahead [d]
    language : to tell it in
    """
    t = words_in(language)
    for item in items:
        mark = t("li-overdue" if item.date < on.isoformat() else "due-on")
        told = [f"{item.site}, {_named(item, t)} {t.said(item.what)}", item.wrote or t.why(item.why)]
        yield f"{item.date}  {mark}  " + (t("colon") + " ").join(filter(None, told))
    yield t("li-due-count", count=len(items), days=days, day=on)


def rota_text(found: Rota, language: str = "en") -> Iterator[str]:
    """Whose turn it is, with the reasons, and each anchor's share of the use.

    Parameters
    ----------
    found : as `register.rota` finds it
    language : to tell it in
    """
    t, m = words_in(language), Measures(language)
    width = 1 + max(len(t(f"li-turn-{advice}")) for advice in TURNS)
    for turn in found.turns:
        yield f"{t(f'li-turn-{turn.advice}'):{width}} {turn.label}"
        yield from (f"{'':{width}}   {t.said(why)}" for why in turn.reasons)
    for name, use, part in found.uses:
        told = "-" if part is None else share(part, 0, language)
        used = t("li-use", load=m.told(use.load_hours_kn_h, "kN h 1"), count=use.uses, share=told)
        yield f"{name}{t('colon')} {used}"
    yield t.said(found.note)
