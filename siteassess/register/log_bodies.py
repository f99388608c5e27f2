"""What each kind of care log entry must say: uses, marks, inspections, events and rests.

Quantities stay as the text that was typed. An inspection names the standing of whoever made it: a user's look is
never an arborist's inspection.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Annotated, Any, Literal

from pydantic import AfterValidator, Field, model_validator
from pydantic_core import PydanticCustomError

from siteassess.records.anchor import Wetness
from siteassess.records.fields import ClockTime, Force, HeightOnTrunk, Hours, IsoDate, Part, SmallLength, Text, fault
from siteassess.reference.findings import worded
from siteassess.register.events import is_name

BarkMark = Literal["none", "polish", "dent", "torn", "bare wood", "not looked"]
GroundMark = Literal["none", "flattened", "bare", "not looked"]
InspectorStanding = Literal[
    "user of the line", "group coordinator", "land manager's staff", "tree officer", "qualified arborist", "unknown"
]


def _name(text: str) -> str:
    if not is_name(text):
        raise fault(text, worded("rg-want-a-name"))
    return text


EntryName = Annotated[str, AfterValidator(_name)]


def day_before(read: object, first: object) -> PydanticCustomError:
    """The error for a last day before the first."""
    return fault(read, worded("rg-want-last-day-not-before", first=first), worded("rg-mend-two-dates"))


class Photos(Part):
    """Photos by the hash of what is kept."""

    before: tuple[EntryName, ...] = ()
    after: tuple[EntryName, ...] = ()


class UseEntry(Part):
    what: Literal["use"]
    date: IsoDate
    start: ClockTime | None = None
    end: ClockTime | None = None
    hours: Hours | None = None
    line: EntryName | None = None
    people: Annotated[int, Field(ge=1, le=500)] | None = None
    pull: Force | None = None
    pull_how: Literal["load cell", "from sag", "hauling sum", "assessment", "guess", "unknown"] = "unknown"
    peak: Force | None = None
    padding: Text | None = None
    tie_height: HeightOnTrunk | None = None
    sling_width: SmallLength | None = None
    wetness: Wetness = "unknown"
    bark_marks: BarkMark = "not looked"
    ground_marks: GroundMark = "not looked"
    mark_size: SmallLength | None = None
    photos: Photos | None = None
    notes: Text | None = None

    @model_validator(mode="after")
    def _one_time(self) -> UseEntry:
        if (self.start is None) != (self.end is None):
            raise fault(self._times(), worded("rg-want-both-times"))
        if self.start is not None and self.hours is not None:
            read, wanted = worded("rg-read-times-and-hours"), worded("rg-want-one-of-the-two")
            raise fault(read, wanted, worded("mend-leave-one-out"))
        if self.start is not None and self.end is not None and self.end < self.start:
            # past midnight; longer than half a day it is the two times that were swapped, or a day left out
            hours = (int(self.end[:2]) - int(self.start[:2])) % 24 + (int(self.end[3:]) - int(self.start[3:])) / 60
            if hours > 12:
                raise fault(self._times(), worded("rg-want-end-after-start"), worded("rg-mend-past-midnight"))
        return self

    def _times(self) -> str:
        given = {"start": self.start, "end": self.end}
        return ", ".join(f"{key} {clock}" for key, clock in given.items() if clock)


class MarksEntry(Part):
    """Marks found on bark or ground, whoever made them."""

    what: Literal["marks"]
    date: IsoDate
    bark_marks: BarkMark = "not looked"
    ground_marks: GroundMark = "not looked"
    mark_size: SmallLength | None = None
    photos: Photos | None = None
    notes: Text | None = None


def by_arborist(inspection: Mapping[str, Any]) -> bool:
    """Whether a qualified arborist made it: what anybody else looks at is no inspection to hand to others.

    Parameters
    ----------
    inspection : body of a log entry
    """
    return bool(inspection["standing"] == "qualified arborist")


class InspectionEntry(Part):
    what: Literal["inspection"]
    date: IsoDate
    inspector: Text
    standing: InspectorStanding
    qualification: Text | None = None
    level: Text | None = None
    finding: Text
    action: Text | None = None
    action_due: IsoDate | None = None
    action_done: IsoDate | None = None
    next_due: IsoDate | None = None
    photos: Photos | None = None

    @model_validator(mode="after")
    def _standing_is_shown(self) -> InspectionEntry:
        if self.standing == "qualified arborist" and self.qualification is None:
            read, mend = worded("rg-read-no-qualification"), worded("rg-mend-add", key="qualification")
            raise fault(read, worded("rg-want-qualification"), mend)
        for name in ("action_done", "next_due"):
            day = getattr(self, name)
            if day is not None and day < self.date:
                wanted = worded("rg-want-day-since-inspection", day=self.date)
                raise fault(f"{name} {day}", wanted, worded("rg-mend-two-dates"))
        return self


class EventEntry(Part):
    what: Literal["event"]
    date: IsoDate
    event: Literal[
        "storm", "damage", "root works", "rule set changed", "disease notice", "vandalism", "pruning", "complaint",
        "incident", "reopened", "entries lost", "other",
    ]
    notes: Text | None = None
    photos: Photos | None = None


class RestEntry(Part):
    what: Literal["rest"]
    date: IsoDate
    until: IsoDate | None = None
    notes: Text | None = None

    @model_validator(mode="after")
    def _ends_after_it_began(self) -> RestEntry:
        if self.until is not None and self.until < self.date:
            raise day_before(f"until {self.until}", self.date)
        return self


LOG_ENTRIES: dict[str, type[Part]] = {
    "use": UseEntry, "marks": MarksEntry, "inspection": InspectionEntry, "event": EventEntry, "rest": RestEntry
}
