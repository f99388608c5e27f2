"""Clauses of months and of hours; hours by the sun need the place, the day, and the time zone its clocks keep.

Dawn and dusk are taken as civil twilight, the sun's centre six degrees below the horizon (common usage, no rule said).
"""

from __future__ import annotations

import calendar
import datetime
from zoneinfo import ZoneInfo

from siteassess.advice.rule_answer import Answer, Held
from siteassess.reference.rules import ClockEvent, HoursClause, MonthsClause

TWILIGHT_DEG = 6.0
NEAR_MIN = 3.0  # the horizon of a real place is not level: nearer to an hour than this nobody can tell (judgement)
BY_THE_SUN = ("sunrise", "sunset", "dawn", "dusk")


def months_clause(clause: MonthsClause, held: Held) -> Answer:
    """(answer, wanted, measured) of months that are closed or call for care."""
    first, last = _days(held)
    touched = sorted({(first + datetime.timedelta(days=day)).month for day in range(min((last - first).days, 366) + 1)})
    shown = first.isoformat() + (f" to {last.isoformat()}" if last != first else "")
    wanted = f"{clause.asks} in {month_names(clause)}"
    if not set(touched) & set(clause.months):
        return "met", wanted, shown
    return ("not met" if clause.asks == "closed" else "cannot tell"), wanted, shown


def month_names(clause: MonthsClause) -> str:
    return ", ".join(calendar.month_abbr[month] for month in clause.months)


def hours_clause(clause: HoursClause, held: Held) -> Answer:
    """(answer, wanted, measured) of hours in which a line may hang."""
    wanted = f"{event_words(clause.start)} to {event_words(clause.end)}"
    planned = held.line.planned
    if planned is None or planned.start is None or planned.end is None:
        return "cannot tell", wanted, "no times planned"
    first, last = _days(held)
    shown = f"{planned.start} to {planned.end}"
    if last != first:
        return "not met", wanted, f"{shown}, left up until {last.isoformat()}"
    if _minutes(planned.end) <= _minutes(planned.start):
        return "not met", wanted, f"{shown} of the next day"
    sides = [_side(clause.start, held, first, _minutes(planned.start), 1),
             _side(clause.end, held, first, _minutes(planned.end), -1)]  # fmt: skip
    shown = "; ".join([shown, *(told for _, told in sides)])
    answers = [answer for answer, _ in sides]
    return next((word for word in ("not met", "cannot tell") if word in answers), "met"), wanted, shown


def _side(event: ClockEvent, held: Held, day: datetime.date, planned: float, sign: int) -> tuple[str, str]:
    """Answer for one end of the hours, `sign` 1 for its start, and what is told of it."""
    moment, why = clock_of(event, held, day)
    if moment is None:
        return "cannot tell", why
    told = f"{event_words(event)}: {moment:%H:%M}"
    spare, unsure = sign * (planned - _minutes_of(moment)), NEAR_MIN if event.event in BY_THE_SUN else 0.0
    if spare < -unsure:
        return "not met", told
    if spare < unsure:
        return "cannot tell", f"{told}, within {NEAR_MIN:.0f} minutes, and no horizon is level"
    return "met", told


def clock_of(event: ClockEvent, held: Held, day: datetime.date) -> tuple[datetime.datetime | None, str]:
    """Local clock time of an event with its offset, or why it is not known."""
    if event.event not in BY_THE_SUN:
        said = held.record.site.opens if event.event == "park opening" else held.record.site.closes
        if said is None:
            return None, f"the hour of {event.event} is not in the record"
        opening = datetime.datetime.combine(day, datetime.time.fromisoformat(said))
        return opening + datetime.timedelta(minutes=event.offset_min), ""
    if held.place is None:
        return None, "no position"
    if held.record.site.time_zone is None:
        return None, "the site's time zone was not given"
    found = sun_event(event.event, *held.place, day, held.record.site.time_zone)
    if found is None:
        return None, f"no {event.event} there on that day"
    return found + datetime.timedelta(minutes=event.offset_min), ""


def sun_event(
    event: str, latitude: float, longitude: float, day: datetime.date, time_zone: str
) -> datetime.datetime | None:
    """Local clock time of sunrise, sunset, dawn or dusk over a level horizon; None where the sun keeps up or down.

    Parameters
    ----------
    latitude, longitude : float
        Of the place, north and east positive [deg].
    time_zone : str
        As the tz database names it.
    """
    from astral import Observer, sun

    observer = Observer(latitude, longitude)
    zone = ZoneInfo(time_zone)
    try:
        if event in ("dawn", "dusk"):
            return getattr(sun, event)(observer, day, TWILIGHT_DEG, tzinfo=zone)
        return getattr(sun, event)(observer, day, tzinfo=zone)
    except ValueError:
        return None


def event_words(event: ClockEvent) -> str:
    if not event.offset_min:
        return event.event
    return f"{abs(event.offset_min)} min {'after' if event.offset_min > 0 else 'before'} {event.event}"


def _days(held: Held) -> tuple[datetime.date, datetime.date]:
    """First and last day the line hangs."""
    planned = held.line.planned
    if planned is None or planned.until is None or planned.date is None:
        return held.on, held.on
    return held.on, held.on + (planned.until - planned.date)


def _minutes(clock: str) -> float:
    hours, minutes = clock.split(":")
    return 60.0 * int(hours) + int(minutes)


def _minutes_of(moment: datetime.datetime) -> float:
    return 60.0 * moment.hour + moment.minute + moment.second / 60.0
