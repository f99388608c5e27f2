"""How old the survey is on the days a line hangs: what was seen once does not hold for ever."""

from __future__ import annotations

import datetime

from siteassess.advice.results import Finding, as_told
from siteassess.mechanics.assumptions import Assumption
from siteassess.records.anchor import Tree
from siteassess.records.line import Line
from siteassess.records.readings import OLD_SURVEY_DAYS

TOO_OLD = Assumption(
    "days after a survey from which it settles nothing", OLD_SURVEY_DAYS, 180, 730, "d", "judgement", "no source found",
)  # fmt: skip
LOOK_AGAIN = Assumption(
    "days after a survey from which signs and wetness must be looked at again", 30, 7, 60, "d", "judgement",
    "no source found",
)  # fmt: skip
SURVEY_AGE_ASSUMPTIONS = (LOOK_AGAIN, TOO_OLD)
SEEN_AGAIN = "the stop signs and the wetness of the ground are looked at again on the day"


def last_day(line: Line, on: datetime.date) -> datetime.date:
    """The last day a line hangs, counted from the day judged for: a day asked for outside its plan stands alone."""
    planned = line.planned
    if planned is None or planned.until is None:
        return on
    first = planned.date or on
    return planned.until if first <= on <= planned.until else on


def hardest_day(tree: Tree, on: datetime.date, last: datetime.date) -> datetime.date:
    """The day of a line's stay on which a trial load earns least: its last, but for a trial made while it hung."""
    return on if tree.trial is not None and tree.trial.date > on else last


def survey_findings(surveyed: datetime.date, on: datetime.date, last: datetime.date) -> list[Finding]:
    """What the age of the survey means for a line that hangs from one day to another."""
    if on < surveyed:
        return [as_told("survey", "cannot say", f"the survey of {surveyed} is later than the day judged, {on}: nobody "
                                                "had looked yet", looked_at=False,
                        do_next="judge it for a later day, or put the survey's date right")]  # fmt: skip
    told, days = [], (last - surveyed).days
    if last > on:
        told.append(as_told("days", "suits", f"it hangs from {on} to {last}: bark and diseases are judged at the worst "
                                             "of these days"))  # fmt: skip
    if days > TOO_OLD.value:
        return [*told, as_told("survey", "cannot say", f"the survey is over a year old on {last} ({days} days)",
                                looked_at=False, do_next="survey the trees again")]  # fmt: skip
    if days > LOOK_AGAIN.value:
        told.append(as_told("survey", "suits if", f"the survey is {days} days old on {last}", SEEN_AGAIN))
    return told
