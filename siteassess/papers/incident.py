"""The incident note: blank, or with place, emergency block, lines and trees filled in from the record."""

from __future__ import annotations

from collections.abc import Sequence

from siteassess.papers.handover import Manner, RegisterSide, emergency_rows, page, record_values
from siteassess.papers.language import Words
from siteassess.papers.look import shorten
from siteassess.records.anchor import Anchor
from siteassess.records.line import Line
from siteassess.records.record import Record
from siteassess.reference.measures import lat_long
from siteassess.reference.pages import plain

TAG_ON_NOTE = 40  # characters
INCIDENT_KINDS = ("i-hurt", "i-near", "i-passer", "i-tree-moved", "i-tree-failed", "i-bark", "i-ground", "i-gear",
         "i-complaint", "i-other")  # fmt: skip
OPEN_LINES = (("i-people", 3), ("i-injury", 3), ("i-state", 2), ("i-told", 6), ("i-done", 3), ("i-who-told", 3),
              ("i-photos", 2))  # fmt: skip


def incident_page(
    record: Record | None, how: Manner, *, line_id: str | None = None, logged: Sequence[tuple[str, str, str]] = (),
    side: RegisterSide | None = None,
) -> str:  # fmt: skip
    """The note as text.

    Parameters
    ----------
    record : fills in what it knows; None for a blank note
    line_id : only this line and its trees
    logged : (date, what, words) written in a register of late
    side : heads and licence of that register
    """
    t = how.words
    heads, licence = side or ((), "")
    known_emergency = record.site.emergency if record else None
    return page(
        "incident", how,
        place=record.site.name if record else "", invented=bool(record and record.site.invented),
        facts=[f"{t.with_colon('contact')} {plain(record.survey.contact or '')}"] if record else [], heads=heads,
        licence=licence, version_of=[record_values(record) if record else None, line_id, list(logged)],
        emergency=emergency_rows(known_emergency, t),
        where=[
            (t("i-day-time"), None),
            (t("em-place"), plain(record.site.name) if record else None),
            (t("em-position"), _position(record, line_id) if record else None),
            (t("manager"), _manager(record)),
        ],
        which=_which(record, line_id, how) if record else [],
        logged=logged, log_heads=[t("date"), t("c-events"), t("notes")], kinds=INCIDENT_KINDS, open_lines=OPEN_LINES,
    )  # fmt: skip


def _manager(record: Record | None) -> str | None:
    if record is None or not record.site.manager:
        return None
    contact = record.site.manager_contact
    return plain(record.site.manager) + (f", {plain(contact)}" if contact else "")


def _lines(record: Record, line_id: str | None) -> list[Line]:
    return [line for line in record.lines if line_id is None or line.id == line_id]


def _position(record: Record, line_id: str | None) -> str | None:
    """Where to send help: the first tree of the line that has a position."""
    from siteassess.advice.geometry import Places  # a blank note needs no geodesy

    places = Places(record)
    codes = [end.anchor for line in _lines(record, line_id) for end in line.ends] or [a.code for a in record.anchors]
    for code in codes:
        if place := places.at(code):
            return f"{lat_long(place.latitude_deg, place.longitude_deg)} ({code})"
    return None


def _which(record: Record, line_id: str | None, how: Manner) -> list[str]:
    t = how.words
    lines = _lines(record, line_id)
    told = [f"{t('line')} {line.id}, {t.of(line.use)}{t('colon')} {line.a.anchor} - {line.b.anchor}" for line in lines]
    codes = dict.fromkeys(end.anchor for line in lines for end in line.ends) if line_id else [
        anchor.code for anchor in record.anchors
    ]  # fmt: skip
    anchors = [record.anchor(code) for code in codes]
    return told + [f"{_kind(a, t)} {a.code}, {_tag(a, how)}" for a in anchors]


def _kind(anchor: Anchor, t: Words) -> str:
    return t("tree") if anchor.kind == "tree" else t.of(getattr(anchor, "what", anchor.kind))


def _tag(anchor: Anchor, how: Manner) -> str:
    return shorten(getattr(anchor, "tag", None) or how.words("tag-none"), TAG_ON_NOTE)
