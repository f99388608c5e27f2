"""What the ends of one line share before they are judged, the other lines on their anchors among it."""

from __future__ import annotations

import datetime
from dataclasses import dataclass

from siteassess.advice.finding import Finding, found
from siteassess.advice.geometry import Places, pair_geometry, pull_bearing
from siteassess.advice.hold import Pulls
from siteassess.advice.kindest import pulls_at
from siteassess.advice.line_inputs import LineInputs, line_inputs
from siteassess.advice.results import PairGeometry
from siteassess.advice.survey_age import last_day, same_day, same_time
from siteassess.advice.under_line import Drop, drop_beside
from siteassess.records.line import ENDS, Line
from siteassess.records.readings import entered_twice
from siteassess.records.record import Record

# by the first entry of a tree: every line's setting with its pulls there, or the least they may be; None where unknown
OnAnchors = dict[str, list[tuple["LineSetting", Pulls | None, Pulls | None]]]


@dataclass(frozen=True)
class LineSetting:
    """What the ends of one line share."""

    record: Record
    line: Line
    inputs: LineInputs
    on: datetime.date
    places: Places
    geometry: PairGeometry
    shared: OnAnchors
    first_entry: dict[str, str]  # by code of an anchor the code its tree was first entered by
    asked: datetime.date | None = None  # the day that was asked for instead of each line's own

    @property
    def last(self) -> datetime.date:
        """The last day the line hangs."""
        return last_day(self.line, self.on)

    @property
    def has_day(self) -> bool:
        """Whether the day judged for was chosen, not that of the survey for want of another."""
        return self.asked is not None or self.line.planned is not None and self.line.planned.date is not None

    def beside(self, code: str) -> list[tuple[str, Pulls | None, Pulls | None]]:
        """Other lines on an anchor that may hang at the same time: their ids and pulls, or the least of these."""
        return [(other.line.id, pulls, least) for other, pulls, least in self._at(code)
                if other.line.id != self.line.id and same_time(other.line, self.line, self.asked)]  # fmt: skip

    def drop_at(self, code: str) -> Drop | None:
        """The nearest drop beside an anchor that was taped under any line from it."""
        drops = [drop_beside(one.line, end, one.inputs.span, one.inputs.rise, one.inputs.tie_a)
                 for one, _, _ in self._at(code) for end in ENDS
                 if self.first_entry[one.line.at(end).anchor] == self.first_entry.get(code)]  # fmt: skip
        return min((drop for drop in drops if drop), default=None)

    def _at(self, code: str) -> list[tuple[LineSetting, Pulls | None, Pulls | None]]:
        """Every line on an anchor, by whichever entry of its tree."""
        return self.shared.get(self.first_entry.get(code, code), [])

    def one_after_the_other(self) -> list[Finding]:
        """Lines on its anchors at other hours of its days: not added up, if one is down before the next goes up."""
        others = dict.fromkeys(
            other.line.id for end in self.line.ends for other, _, _ in self._at(end.anchor)
            if other is not self and same_day(other.line, self.line, self.asked)
            and not same_time(other.line, self.line, self.asked))  # fmt: skip
        return [found("down-before-the-next", "suits if", lines=tuple(others))] if others else []


def settings_of(record: Record, places: Places, on: datetime.date | None) -> list[LineSetting]:
    """Every line of a record, on the day asked for or else its own, else that of the survey."""
    settings: list[LineSetting] = []
    shared: OnAnchors = {}
    used = [record.anchor(code) for code in dict.fromkeys(end.anchor for line in record.lines for end in line.ends)]
    entries = {one.code: next(other.code for other in used if other is one or entered_twice(other, one))
               for one in used}  # fmt: skip
    for line in record.lines:
        day = on or (line.planned.date if line.planned and line.planned.date else record.survey.date)
        geometry = pair_geometry(line, places)
        inputs = line_inputs(line, geometry.span_m)
        settings.append(LineSetting(record, line, inputs, day, places, geometry, shared, entries, on))
    for setting in settings:
        for end, recorded in zip(ENDS, setting.line.ends):
            bearing = pull_bearing(setting.line, setting.geometry, end)
            shared.setdefault(entries[recorded.anchor], []).append((setting, *pulls_at(setting.inputs, end, bearing)))
    return settings
