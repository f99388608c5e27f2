"""The list of what is due as an iCalendar file.

References
----------
1. RFC 5545, Internet Calendaring (memory): lines end in CRLF and fold before 76 octets, texts escape backslash,
   comma, semicolon and newline, an event of a whole day ends on the next. RFC 7986: calendar name and refresh.
   Checked by an independent parser.
"""

from __future__ import annotations

import hashlib
import re
from collections.abc import Iterable
from datetime import date, datetime, timedelta

from siteassess.papers.language import Words, words_in
from siteassess.register.due import Due

_CONTROLS = re.compile("[\x00-\x08\x0b-\x1f\x7f-\x9f\u2028-\u202e\u2066-\u2069\ud800-\udfff]")
PRODUCT = "-//siteassess//register//EN"


def calendar(items: Iterable[Due], stamp: datetime, title: str, language: str = "en") -> str:
    """The calendar's text.

    Parameters
    ----------
    items : that are due
    stamp : moment it is made, in UTC
    title : name of the calendar
    language : to tell it in

    Notes
    -----
    The name of an event depends on what is due and for whom, not on its day or language: a calendar read again moves
    the event.
    """
    t = words_in(language)
    lines = ["BEGIN:VCALENDAR", "VERSION:2.0", f"PRODID:{PRODUCT}", "CALSCALE:GREGORIAN", f"NAME:{_text(title)}"]
    for item in items:
        lines += _event(item, stamp, t)
    lines.append("END:VCALENDAR")
    return "".join(_folded(line) + "\r\n" for line in lines)


def _event(item: Due, stamp: datetime, t: Words) -> list[str]:
    day, c = date.fromisoformat(item.date), t("colon")
    uid = hashlib.sha256(f"{item.subject} {item.says} {item.wrote}".encode()).hexdigest()[:32]
    lines = [
        "BEGIN:VEVENT",
        f"UID:{uid}@siteassess.invalid",
        # the day alone: nobody needs to know at what hour the coordinator was at work
        f"DTSTAMP:{stamp:%Y%m%d}T000000Z",
        f"DTSTART;VALUE=DATE:{day:%Y%m%d}",
        f"DTEND;VALUE=DATE:{day + timedelta(days=1):%Y%m%d}",
        f"SUMMARY:{_text(f'{item.site}{c} {t.of(item.kind)} {item.label}{c} {t.said(item.what)}')}",
        "TRANSP:TRANSPARENT",
    ]
    may = f"{t.with_colon('may-rig')} {t.of(item.may_rig_now)} ({t.said(item.may_rig_why)})" if item.may_rig_why else ""
    if told := "\n".join(filter(None, (item.wrote or t.why(item.why), may))):
        lines.append(f"DESCRIPTION:{_text(told)}")
    return [*lines, "END:VEVENT"]


def _text(text: str) -> str:
    for plain, escaped in (("\\", "\\\\"), (";", "\\;"), (",", "\\,"), ("\r\n", "\\n"), ("\n", "\\n"), ("\r", "\\n")):
        text = text.replace(plain, escaped)
    # no control may stand in a text but the tab: a title is made of a file's name, which may hold any
    return _CONTROLS.sub(" ", text)


def _folded(line: str) -> str:
    """The line in pieces of at most 75 octets, no character cut in two."""
    pieces: list[str] = []
    piece, room = "", 75
    for letter in line:
        size = len(letter.encode())
        if size > room:
            pieces.append(piece)
            # the space that opens a continuation takes one octet
            piece, room = "", 74
        piece += letter
        room -= size
    return "\r\n ".join([*pieces, piece])
