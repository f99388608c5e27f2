"""How old the survey is on the days a line hangs: what was seen once does not hold for ever."""

from __future__ import annotations

import datetime

from siteassess.advice.finding import Finding, found
from siteassess.records.anchor import Tree
from siteassess.records.line import Line, Planned
from siteassess.records.site import Site
from siteassess.reference.constants import constant

TOO_OLD = constant("survey too old")
LOOK_AGAIN = constant("survey look again")
SURVEY_AGE_ASSUMPTIONS = (LOOK_AGAIN, TOO_OLD)


def last_day(line: Line, on: datetime.date) -> datetime.date:
    """The last day a line hangs, counted from the day judged for: a day asked for outside its plan stands alone.

    A line that comes down no later by the clock than it goes up comes down the next morning, and so may one of which
    only one of both times was said; of several days, the morning after the last.
    """
    planned = line.planned
    if planned is None:
        return on
    stays = planned.until is not None and (planned.date or on) <= on <= planned.until
    last = planned.until if planned.until is not None and stays else on
    return last + datetime.timedelta(days=1) if past_midnight(planned) else last


def past_midnight(planned: Planned) -> bool:
    """Whether a line may come down on the morning after it goes up, or after its last day."""
    if not (planned.start or planned.end):
        return False
    return planned.start is None or planned.end is None or planned.end <= planned.start


def surely_last_day(line: Line, on: datetime.date) -> datetime.date:
    """The last day a line hangs in any case: a night counts only where both its times were said, and of one day.

    Of several days the hours may be those of each, or of the first and the last.
    """
    planned = line.planned
    sure = planned is not None and planned.start and planned.end and _of_one_day(planned)
    unsure = planned is not None and past_midnight(planned) and not sure
    return last_day(line, on) - datetime.timedelta(days=unsure)


def _of_one_day(planned: Planned) -> bool:
    return planned.until is None or planned.until == planned.date


def days_hung(line: Line, asked: datetime.date | None = None) -> tuple[datetime.date, datetime.date] | None:
    """First and last day of a line, from the day asked for instead of its own; None where none is planned or asked."""
    first = asked or (line.planned.date if line.planned else None)
    return None if first is None else (first, last_day(line, first))


def same_time(one: Line, other: Line, asked: datetime.date | None = None) -> bool:
    """Whether two lines may hang at once; without days on both nobody can rule it out.

    Who asks for another day than the planned ones asks it of all lines: they are then judged as hanging on it, and what
    meets in the night between their own days is not parted by that; one with no day of its own may hang on any.
    """
    mine, theirs = _hung(one, asked), _hung(other, asked)
    if mine is None or theirs is None or _meet(mine, theirs):
        return True
    own, its = _hung(one, None), _hung(other, None)
    if own is not None and its is not None:
        return _meet(own, its)
    nights = (datetime.timedelta(days=days) for days in (-1, 1))  # before or after, for all anybody said
    return any(_meet(mine, (theirs[0] + night, theirs[1] + night)) for night in nights)


def _meet(one: tuple[datetime.datetime, datetime.datetime], other: tuple[datetime.datetime, datetime.datetime]) -> bool:
    return max(one[0], other[0]) < min(one[1], other[1])


def same_day(one: Line, other: Line, asked: datetime.date | None = None) -> bool:
    """Whether two lines hang on a day alike, whatever the clock says, or on two with a night of no hour said."""
    mine, theirs = _with_its_night(one, asked), _with_its_night(other, asked)
    return mine is not None and theirs is not None and max(mine[0], theirs[0]) <= min(mine[1], theirs[1])


def _with_its_night(line: Line, asked: datetime.date | None) -> tuple[datetime.date, datetime.date] | None:
    """Its days, and the morning after the last where nobody said when it comes down and none was counted."""
    days, planned = days_hung(line, asked), line.planned
    if days is None or planned is not None and (planned.end is not None or past_midnight(planned)):
        return days
    return days[0], days[1] + datetime.timedelta(days=1)


def _hung(line: Line, asked: datetime.date | None) -> tuple[datetime.datetime, datetime.datetime] | None:
    """From when to when a line may hang, by the clock where it stays for one day or night, or into a last morning.

    What comes down at an hour nobody said may hang until the hour it went up, a day on; what went up at one nobody
    said, from the day's beginning.
    """
    days, planned = days_hung(line, asked), line.planned
    if days is None:
        return None
    start, end, day_after = datetime.time(), datetime.time(), 1
    one_day = planned is not None and _of_one_day(planned)
    if planned and (one_day or past_midnight(planned)) and (until := planned.end or planned.start):
        start = datetime.time.fromisoformat(planned.start) if planned.start and one_day else start
        end, day_after = datetime.time.fromisoformat(until), 0
    return (datetime.datetime.combine(days[0], start),
            datetime.datetime.combine(days[1] + datetime.timedelta(days=day_after), end))  # fmt: skip


def hardest_day(tree: Tree, on: datetime.date, last: datetime.date) -> datetime.date:
    """The day of a line's stay on which a trial load earns least: its last, but for a trial made while it hung."""
    return on if tree.trial is not None and tree.trial.date > on else last


def survey_findings(surveyed: datetime.date, on: datetime.date, last: datetime.date, chosen: bool) -> list[Finding]:
    """What the age of the survey means for a line that hangs from one day to another, or on no day that was chosen."""
    if on < surveyed:
        return [found("survey-later", "cannot say", looked_at=False, surveyed=surveyed.isoformat(), on=on.isoformat())]
    told, days, until = [], (last - surveyed).days, last.isoformat()
    if not chosen:
        latest = max(last, surveyed + datetime.timedelta(days=LOOK_AGAIN.value))
        told.append(found("day-not-chosen", "suits if", on=on.isoformat(), latest=latest.isoformat()))
    if last > on:
        told.append(found("hangs-from-to", "suits", on=on.isoformat(), last=until))
    if days > TOO_OLD.value:
        most = TOO_OLD.value
        return [*told, found("survey-too-old", "cannot say", looked_at=False, last=until, days=days, most=most)]
    if days > LOOK_AGAIN.value:
        told.append(found("survey-days-old", "suits if", days=days, last=until))
    return told


def permission_findings(site: Site, last: datetime.date) -> list[Finding]:
    """A permission that is over before a line comes down: the word hangs on one that is not.

    Parameters
    ----------
    site : of the record
    last : the last day the line hangs
    """
    ends = site.permission.expires if site.permission else None
    if ends is None or ends >= last:
        return []
    return [found("permission-over", "suits if", day=ends.isoformat(), last=last.isoformat())]
