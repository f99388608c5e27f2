"""The care log in figures: hours, load-hours, share of each tree, and who should rest.

Load-hours are the pull at the anchor times the time it stood, in kN h. They are a use index to spread wear by; no
threshold of harm is known, and none is implied.

References
----------
The factors below are ours (judgement): no study was found that turns use into harm. They only order trees of one
group's list among themselves.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date
from typing import Any

from siteassess.reference.constants import constant, constants
from siteassess.register.fold import Entry, Subject
from siteassess.register.reading_records import si
from siteassess.register.reasons import reason

LOAD_HOURS_NOTE = reason("load-hours-index")

# how much heavier an hour on such ground counts, for roots and soil (judgement)
WETNESS_WEIGHT = constants("wear by wetness")
# bark slips more easily while the cambium grows: an hour counts heavier then (judgement)
GROWING_WEIGHT = constant("growing wear")
GROWING_MONTHS_NORTH = frozenset((3, 4, 5, 6, 7, 8))
# wear fades as a tree and a turf recover: half of it after this time (judgement)
HALF_LIFE_DAYS = constant("wear half life")
# ground that does not turn to mud underfoot (common practice, no source)
FIRM_GROUND = frozenset(("sand", "rock"))


def entry_hours(body: Mapping[str, Any]) -> float | None:
    """Time a line stood, from clock times or hours typed [h]; None when neither was noted.

    Parameters
    ----------
    body : of an entry of use

    Notes
    -----
    An end before the start is taken as past midnight; equal times are no time noted.
    """
    if body.get("hours") is not None:
        seconds = si(body["hours"], "duration")
        return None if seconds is None else seconds / 3600.0
    if body.get("start") is None or body.get("end") is None:
        return None
    start, end = (int(text[:2]) + int(text[3:]) / 60.0 for text in (body["start"], body["end"]))
    return None if start == end else (end - start) % 24.0


def entry_load_hours(body: Mapping[str, Any]) -> float | None:
    """Pull times hours of a use [kN h]; None when either is unknown, never zero in its stead.

    Parameters
    ----------
    body : of any entry; one that is no use has none
    """
    if body.get("what") != "use":
        return None
    hours, pull = entry_hours(body), si(body.get("pull"), "force")
    return None if hours is None or pull is None else hours * pull / 1000.0


@dataclass(frozen=True)
class UseSum:
    """Use of one anchor over a stretch of time.

    `hours` sums the uses whose time is known, `load_hours_kn_h` those whose pull is known too; `uses_unknown` counts
    the others, so that the sums are lower bounds when any is.
    """

    subject: str
    uses: int
    uses_unknown: int
    hours: float
    load_hours_kn_h: float
    index: float
    last_used: str | None
    resting_until: str | None


def use_of(subjects: Iterable[Subject], since: date | None, on: date, southern: bool = False) -> UseSum:
    """Use of one trunk, which may stand in the list under several names.

    Parameters
    ----------
    subjects : the anchor and what it is joined to
    since : first day counted; None counts all
    on : last day counted, from which wear is faded
    southern : whether the growing months are those of the southern half

    Returns
    -------
    Use; `index` is load-hours weighted for wetness, season and age [-].
    """
    subjects = list(subjects)
    uses = unknown = 0
    hours = load_hours = index = 0.0
    last = None
    for subject in subjects:
        for entry in subject.log():
            body, day = entry.body, date.fromisoformat(entry.body["date"])
            if day > on or (since is not None and day < since):
                continue
            if body["what"] != "use":
                continue
            uses += 1
            last = max(last or "", body["date"])
            hours += entry_hours(body) or 0.0
            # of two corrections side by side the heavier holds
            amounts = [amount for each in entry.bodies if (amount := entry_load_hours(each)) is not None]
            if len(amounts) < len(entry.bodies):
                unknown += 1
            if amounts:
                load_hours += max(amounts)
                index += max(amounts) * _weight(body, day, on, southern)
    return UseSum(subjects[0].id, uses, unknown, hours, load_hours, index, last, open_rest(subjects, on))


def open_rest(subjects: Iterable[Subject], on: date) -> str | None:
    """Last day of a rest that is on; "9999-12-31" for one without an end, None for none.

    A "reopened" entry ends every rest begun on or before its day. Of two corrections side by side the one that lets
    the tree rest holds.

    Parameters
    ----------
    subjects : that are one trunk
    on : the day asked about
    """
    entries = [entry for subject in subjects for entry in subject.log()]
    reopened = max(
        (day for entry in entries if _all_reopen(entry) and (day := min(b["date"] for b in entry.bodies)) <= str(on)),
        default="",
    )
    rests = [
        body.get("until") or "9999-12-31"
        for entry in entries
        for body in entry.bodies
        if body["what"] == "rest" and reopened < body["date"] <= str(on)
    ]
    return max((until for until in rests if until >= str(on)), default=None)


def _all_reopen(entry: Entry) -> bool:
    return all(body["what"] == "event" and body["event"] == "reopened" for body in entry.bodies)


def _weight(body: Mapping[str, Any], day: date, on: date, southern: bool) -> float:
    month = (day.month + 5) % 12 + 1 if southern else day.month
    season = GROWING_WEIGHT if month in GROWING_MONTHS_NORTH else 1.0
    fading: float = 0.5 ** ((on - day).days / HALF_LIFE_DAYS)
    return WETNESS_WEIGHT[body.get("wetness", "unknown")] * season * fading
