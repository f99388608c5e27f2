"""Clauses of months and hours.

Hours by the sun need the place, the day, and the time zone its clocks keep. Dawn and dusk are taken as civil twilight,
the sun's centre six degrees below the horizon (common usage, no rule said).
"""

from __future__ import annotations

import datetime
from typing import get_args
from zoneinfo import ZoneInfo

from siteassess.advice.results import Answered
from siteassess.advice.rule_sizes import NO_POSITION, ClauseAnswer, HeldAgainst, chosen, written
from siteassess.advice.survey_age import days_hung, last_day, surely_last_day
from siteassess.reference.constants import constant
from siteassess.reference.findings import Said, said
from siteassess.reference.rules import ClockEvent, HoursClause, MonthsClause

DAY_MIN = 24 * 60
MONTH_NAMES = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")
TWILIGHT_DEG = 6.0
NEAR_MIN = constant("rule hour near")
IN_THE_MORNING = ("sunrise", "dawn", "park opening")
BY_THE_SUN = ("sunrise", "sunset", "dawn", "dusk")
NOON = "12:00"  # a place of which only the closing is known shuts after midnight where it does so before


def months_clause(clause: MonthsClause, held: HeldAgainst) -> ClauseAnswer:
    """(answer, wanted, measured) of months that are closed or call for care."""
    wanted = said("rule-months-closed" if clause.asks == "closed" else "rule-months-care", months=months_of(clause))
    if days_hung(held.line, held.asked) is None:
        return "cannot tell", wanted, said("rule-no-day")
    first, last = held.on, last_day(held.line, held.on)
    days = {"first": first.isoformat(), "last": last.isoformat()}
    shown = said("rule-days", **days) if last != first else written(first.isoformat())
    if not _months(first, last) & set(clause.months):
        return "met", wanted, shown
    surely = _months(first, surely_last_day(held.line, held.on)) & set(clause.months)
    return ("not met" if surely and clause.asks == "closed" else "cannot tell"), wanted, shown


def _months(first: datetime.date, last: datetime.date) -> set[int]:
    return {(first + datetime.timedelta(days=day)).month for day in range(min((last - first).days, 366) + 1)}


def months_of(clause: MonthsClause) -> tuple[str, ...]:
    """The months of a clause by their short names.

    Parameters
    ----------
    clause : of a rule set
    """
    return tuple(MONTH_NAMES[month - 1] for month in clause.months)


def hours_asked(clause: HoursClause) -> Said:
    """The hours of a clause.

    Parameters
    ----------
    clause : of a rule set
    """
    return said("rule-hours", start=_event(clause.start), end=_event(clause.end))


def hours_clause(clause: HoursClause, held: HeldAgainst) -> ClauseAnswer:
    """(answer, wanted, measured) of hours in which a line may hang."""
    wanted, planned = hours_asked(clause), held.line.planned
    if _never_shut(held) and not {clause.start.event, clause.end.event} & set(BY_THE_SUN):
        return "met", wanted, said("rule-never-shut")
    if planned is None or planned.start is None or planned.end is None:
        return _by_one_hour(clause, held, wanted)
    times = {"start": planned.start, "end": planned.end}
    overnight = planned.end <= planned.start  # of several days too, each by itself or all in one: a night is among them
    answer, sides = _any_night(clause, held, _minutes(planned.start), _minutes(planned.end) + DAY_MIN * overnight)
    # what stays until a day, and nobody said from when, may stay for several
    first = planned.date or (datetime.date.min if planned.until else held.on)
    last = planned.until or first
    if last > first + datetime.timedelta(days=overnight) and answer != "not met":
        return "cannot tell", wanted, said("rule-several-days", **times, last=last.isoformat())
    return answer, wanted, said("rule-times", **times, sides=sides)


def _by_one_hour(clause: HoursClause, held: HeldAgainst, wanted: Said) -> ClauseAnswer:
    """Of hours of which one was said: that one outside those that are wanted breaks them, whatever the other is."""
    planned = held.line.planned
    known = planned and (planned.start or planned.end)
    if known and not _never_shut(held):  # of a place never shut, any hour is one of a day begun before
        answer, sides = _any_night(clause, held, _minutes(known), _minutes(known))
        if answer == "not met":
            return answer, wanted, said("rule-one-time", at=known, sides=sides)
    return "cannot tell", wanted, said("rule-no-times")


def _any_night(
    clause: HoursClause, held: HeldAgainst, start: float, end: float
) -> tuple[Answered, tuple[Said, ...]]:  # fmt: skip
    """Answer for hours in minutes from midnight: what goes up after midnight may lie in those of the day before."""
    answer, sides = _within(clause, held, held.on, (start, end))
    if answer == "not met" and _past_midnight(clause, held):
        earlier = _within(clause, held, held.on - datetime.timedelta(days=1), (DAY_MIN + start, DAY_MIN + end))
        return (answer, sides) if earlier[0] == "not met" else earlier
    return answer, sides


def _within(
    clause: HoursClause, held: HeldAgainst, day: datetime.date, hours: tuple[float, ...]
) -> tuple[Answered, tuple[Said, ...]]:
    """Answer for both ends of the hours that open on a day, planned in minutes from its midnight, with what is told."""
    after = day + datetime.timedelta(days=_past_midnight(clause, held))
    start, end = clock_of(clause.start, held, day), clock_of(clause.end, held, after)
    sides = [_side(clause.start, start, held, day, hours[0], 1), _side(clause.end, end, held, day, hours[1], -1)]
    answers = {answer for answer, _ in sides}
    return next(word for word in get_args(Answered) if word in answers), tuple(told for _, told in sides)


def _past_midnight(clause: HoursClause, held: HeldAgainst) -> bool:
    """Whether the hours that open on a day end the day after, as the night's do, or those of a place shut after it."""
    opens, closes = held.record.site.opens, held.record.site.closes
    if clause.end.event == "park closing":
        return closes is not None and closes < (opens or NOON) and not _never_shut(held)
    if clause.end.event not in IN_THE_MORNING:
        return False
    start, end = (clock_of(event, held, held.on) for event in (clause.start, clause.end))
    # where a clock is not known nothing is met, and nothing is broken by a night that may be meant
    return isinstance(start, Said) or isinstance(end, Said) or end.replace(tzinfo=None) <= start.replace(tzinfo=None)


def _never_shut(held: HeldAgainst) -> bool:
    """Whether the place shuts at the minute it opens, or the minute before."""
    opens, closes = held.record.site.opens, held.record.site.closes
    return opens is not None and closes is not None and (_minutes(opens) - _minutes(closes)) % DAY_MIN <= 1


def _side(
    event: ClockEvent, moment: datetime.datetime | Said, held: HeldAgainst, day: datetime.date, planned: float,
    sign: int,
) -> tuple[Answered, Said]:  # fmt: skip
    """Answer for one end of the hours, `sign` 1 for its start, and what is told of it."""
    if event.event not in BY_THE_SUN and _never_shut(held):
        return "met", said("rule-never-shut")
    if isinstance(moment, Said):
        return "cannot tell", moment
    told = {"event": _event(event), "clock": f"{moment:%H:%M}"}
    spare, unsure = sign * (planned - _minutes_of(moment, day)), NEAR_MIN if event.event in BY_THE_SUN else 0.0
    if spare < -unsure:
        return "not met", said("rule-at-clock", **told)
    if spare < unsure:
        return "cannot tell", said("rule-near-clock", near=NEAR_MIN, **told)
    return "met", said("rule-at-clock", **told)


def clock_of(event: ClockEvent, held: HeldAgainst, day: datetime.date) -> datetime.datetime | Said:
    """Local clock time of an event with its offset, or why it is not known."""
    if event.event not in BY_THE_SUN:
        hour = held.record.site.opens if event.event == "park opening" else held.record.site.closes
        if hour is None:
            return said("rule-hour-not-in-record", event=event.event)
        shut_or_open = datetime.datetime.combine(day, datetime.time.fromisoformat(hour))
        return shut_or_open + datetime.timedelta(minutes=event.offset_min)
    if held.place is None:
        return NO_POSITION
    if held.record.site.time_zone is None:
        return said("rule-no-time-zone")
    if days_hung(held.line, held.asked) is None:  # the day of the survey tells nothing of the sun on another
        return said("rule-no-day")
    found = sun_event(event.event, *held.place, day, held.record.site.time_zone)
    if found is None:
        return said("rule-no-event", event=event.event)
    return found + datetime.timedelta(minutes=event.offset_min)


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
    zone, below = ZoneInfo(time_zone), (TWILIGHT_DEG,) if event in ("dawn", "dusk") else ()
    try:
        found: datetime.datetime = getattr(sun, event)(observer, day, *below, tzinfo=zone)
    except ValueError:
        return None
    return found


def _event(event: ClockEvent) -> Said:
    if not event.offset_min:
        return chosen(event.event)
    code = "rule-minutes-after" if event.offset_min > 0 else "rule-minutes-before"
    return said(code, minutes=abs(event.offset_min), event=event.event)


def _minutes(clock: str) -> float:
    hours, minutes = clock.split(":")
    return 60.0 * int(hours) + int(minutes)


def _minutes_of(moment: datetime.datetime, day: datetime.date) -> float:
    """From the midnight a day begins with to a moment by the same clock [min]."""
    return DAY_MIN * (moment.date() - day).days + 60.0 * moment.hour + moment.minute + moment.second / 60.0
