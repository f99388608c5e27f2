"""What the ends of one line share before they are judged, the other lines on their anchors among it."""

from __future__ import annotations

import datetime
from dataclasses import dataclass, replace

from siteassess.advice.end_loads import LEAST_TIE, pulls_at
from siteassess.advice.entries import Entries, entries_of
from siteassess.advice.finding import Finding, found
from siteassess.advice.geometry import Places, pair_geometry, pull_bearing
from siteassess.advice.ground import HIGH_M, TAPES_APART
from siteassess.advice.hold import Pulls
from siteassess.advice.line_inputs import LineInputs, line_inputs
from siteassess.advice.results import PairGeometry
from siteassess.advice.survey_age import last_day, same_day, same_time
from siteassess.advice.under_line import (
    TapedBeside,
    Told,
    dips_by_the_tape,
    not_placed,
    taped_beside,
    told_apart,
    told_between,
)
from siteassess.errors import OutsideModel
from siteassess.mechanics.anchor_vector import angle_between
from siteassess.records.fields import sector_at
from siteassess.records.line import ENDS, EndName, Line
from siteassess.records.record import Record
from siteassess.reference.constants import constant

# by the code that stands for a tree: each line's setting with its pulls there, or the least they may be; None: unknown
OnAnchors = dict[str, list[tuple["LineSetting", Pulls | None, Pulls | None]]]

SAME_GROUND_DEG = constant("same ground")


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
    entries: Entries
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

    def taped_at(self, code: str) -> TapedBeside:
        """What was taped of the ground beside an anchor, under whichever line from it."""
        told = []
        for one, _, _ in self._at(code):
            for end in ENDS:
                if self.entries.of(one.line.at(end).anchor) == self.entries.of(code):
                    read = one.inputs
                    tie_a = read.tie_a or LEAST_TIE.value  # the lower the string, the deeper the ground under it
                    beside = taped_beside(one.line, end, read.span, read.rise, read.ground_rise, tie_a)
                    side = sector_at(pull_bearing(one.line, one.geometry, end))
                    told.append(replace(beside, drop=beside.drop and replace(beside.drop, side=side)))
        return TapedBeside(min((one.drop for one in told if one.drop), default=None, key=lambda drop: drop.near),
                           max((one.slope_deg for one in told), default=0.0))  # fmt: skip

    def entered_twice(self) -> list[Finding]:
        """Trees of its ends that the record holds under another code too, of which two things may have been said."""
        told = []
        for code in (end.anchor for end in self.line.ends):
            if others := self.entries.others(code):
                told.append(found("tree-entered-twice", "cannot say", looked_at=False, tree=code, others=others))
            if others := self.entries.may_be(code):
                told.append(found("may-be-entered-twice", "suits if", looked_at=False, tree=code, others=others))
        return told

    def of_the_pair(self) -> list[tuple[LineSetting, bool]]:
        """Other lines between the same two trees, and whether each runs the other way."""
        a, b = (self.entries.of(end.anchor) for end in self.line.ends)
        lines = {id(other): other for other, _, _ in self._at(self.line.a.anchor) if other is not self}.values()
        ends = [(other, tuple(self.entries.of(end.anchor) for end in other.line.ends)) for other in lines]
        return [(other, trees == (b, a)) for other, trees in ends if trees in ((a, b), (b, a))]

    def ground_told_otherwise(self) -> list[Finding]:
        """Ground told of under it or another line between the same trees that is not what it is judged over."""
        told = []
        level = self.line.ground_between == "level or rising, no dip"
        for other, turned in [(self, False), *self.of_the_pair()]:
            under, apart = other.line.id, self._apart_from(other, turned)
            if apart > TAPES_APART:
                told.append(found("ground-told-otherwise", "cannot say", looked_at=False, other=under, apart=apart))
            elif level and (self._tape_dips() if other is self else other.line.ground_between == "dips somewhere"):
                told.append(found("ground-dips-otherwise", "cannot say", looked_at=False, other=under))
        return [*told, *self._ground_told_beside(), *self._ground_not_placed()]

    def _ground_not_placed(self) -> list[Finding]:
        """Ground taped under other lines on its trees of which nobody told where it lies, so that it tells nothing."""
        other = dict.fromkeys(
            one.line.id for end in self.line.ends for one, _, _ in self._at(end.anchor) if one is not self
            for its in ENDS if self.entries.of(one.line.at(its).anchor) == self.entries.of(end.anchor)
            and not_placed(one.line, its, one.inputs.span, one.inputs.tie_a, one.inputs.tie_b))  # fmt: skip
        return [found("ground-taped-not-placed", "cannot say", looked_at=False, lines=tuple(other))] if other else []

    def _tape_dips(self) -> bool:
        """Whether the few rows taped under it dip where it is said to be level; a whole profile decides by itself."""
        read = self.inputs
        if read.span is None or read.tie_a is None or read.under.how == "taped":
            return False
        return dips_by_the_tape(self.line, read.span, read.rise, read.ground_rise, read.tie_a)

    def _ground_told_beside(self) -> list[Finding]:
        """Ground taped under a line that may run the same way from one of its trees, where its own was not taped."""
        if self.inputs.under.how == "taped":
            return []
        told_of = {self.line.id, *(other.line.id for other, _ in self.of_the_pair())}  # its own too, carried elsewhere
        told: dict[str, float] = {}
        for mine, end in zip(ENDS, self.line.ends):
            others = {one.line.id: one for one, _, _ in self._at(end.anchor) if one.line.id not in told_of}
            for other in others.values():
                for its in ENDS:
                    if self.entries.of(other.line.at(its).anchor) == self.entries.of(end.anchor) and not angle_between(
                            pull_bearing(self.line, self.geometry, mine),
                            pull_bearing(other.line, other.geometry, its)) > SAME_GROUND_DEG:  # fmt: skip
                        told[other.line.id] = max(told.get(other.line.id, 0.0), self._apart_beside(other, mine, its))
        return [found("ground-told-beside", "cannot say", looked_at=False, other=under, apart=apart)
                for under, apart in told.items() if apart > TAPES_APART]  # fmt: skip

    def _apart_beside(self, other: LineSetting, mine: EndName, its: EndName) -> float:
        """Most that ground taped from a shared tree lies over or under that of this line, as far as it runs [m]."""
        here = self.inputs
        if not here.span:
            return 0.0
        taped = [one for one in self._told_under(other, its) if not one.somewhere]
        if mine == "B":
            taped = [replace(one, points=tuple((here.span - at, height + here.ground_rise)
                                               for at, height in reversed(one.points))) for one in taped]  # fmt: skip
        return self._apart(taped)

    def _apart_from(self, other: LineSetting, turned: bool) -> float:
        """Most that the ground of another line lies over or under that of this one [m]."""
        told = self._told_under(other, "B" if turned else "A", self.inputs.span)
        if other is self:  # two tapes under one line are held against each other where its height is worked out
            told = [one for one in told if one.somewhere]
        return self._apart(told)

    def _told_under(self, other: LineSetting, end: EndName, span: float | None = None) -> list[Told]:
        """What another line tells of the ground from an end; of a tie or a span it does not tell, by what it may have.

        The lower its string was tied, the deeper lies what was taped from it, and the higher, the higher.
        """
        read = other.inputs
        ties = (LEAST_TIE.value, HIGH_M.value) if read.tie_a is None else (read.tie_a,)
        return [told for tie_a in ties for told in told_between(
            other.line, end, read.span or span, read.rise, read.ground_rise, tie_a)]  # fmt: skip

    def _apart(self, told: list[Told]) -> float:
        mine = self.inputs
        if not mine.span or mine.tie_a is None:
            return 0.0
        try:
            return told_apart(self.line, mine.span, mine.rise, mine.ground_rise, mine.tie_a, told)
        except OutsideModel:  # told where the height over the ground is worked out
            return 0.0

    def _at(self, code: str) -> list[tuple[LineSetting, Pulls | None, Pulls | None]]:
        """Every line on an anchor, by whichever entry of its tree."""
        return self.shared.get(self.entries.of(code), [])

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
    entries = entries_of(record, places)
    for line in record.lines:
        day = on or (line.planned.date if line.planned and line.planned.date else record.survey.date)
        geometry = pair_geometry(line, places)
        inputs = line_inputs(line, geometry.span_m)
        settings.append(LineSetting(record, line, inputs, day, places, geometry, shared, entries, on))
    for setting in settings:
        for end, recorded in zip(ENDS, setting.line.ends):
            bearing = pull_bearing(setting.line, setting.geometry, end)
            pulls = pulls_at(setting.inputs, end, bearing)
            shared.setdefault(entries.of(recorded.anchor), []).append((setting, *pulls))
    return settings
