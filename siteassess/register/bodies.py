"""What each kind of event must say, checked before it is kept.

Quantities stay as the text that was typed. An inspection names the standing of whoever made it: a user's look is
never an arborist's inspection.
"""

from __future__ import annotations

from typing import Annotated, Any, Literal

from pydantic import BaseModel, Field, StringConstraints, ValidationError, model_validator

from siteassess.errors import Fault, FaultyInput
from siteassess.records.anchor import ANCHOR_KINDS, Wetness
from siteassess.records.fields import Force, HeightOnTrunk, Hours, IsoDate, Part, SmallLength, Text, fault
from siteassess.records.line import ClockTime, Line
from siteassess.records.sentences import say
from siteassess.records.site import Site, Survey
from siteassess.register.moves import CLOSED, NEEDS_MARK, STATUSES

Name = Annotated[str, StringConstraints(pattern=r"^[0-9a-f]{64}$")]
Layer = Literal["public", "members", "officer"]
Status = Literal[STATUSES]  # type: ignore[valid-type]
BarkMark = Literal["none", "polish", "dent", "torn", "bare wood", "not looked"]
GroundMark = Literal["none", "flattened", "bare", "not looked"]
InspectorStanding = Literal[
    "user of the line", "group coordinator", "land manager's staff", "tree officer", "qualified arborist", "unknown"
]


def _as_plain(part: BaseModel) -> dict[str, Any]:
    return part.model_dump(mode="json", exclude_unset=True)


class RegisterBody(Part):
    title: Text
    licence: Text


class SiteBody(Part):
    record: dict[str, Any]
    survey: dict[str, Any] | None = None
    share: Layer | None = None
    source: Text | None = None
    origin: Name | None = None


class AnchorBody(Part):
    site: Name
    record: dict[str, Any]
    surveyed: IsoDate | None = None
    share: Layer | None = None
    sensitive: bool = False
    source: Text | None = None
    origin: Name | None = None


class LineBody(Part):
    site: Name
    anchors: tuple[Name, Name]
    record: dict[str, Any]
    surveyed: IsoDate | None = None
    share: Layer | None = None
    sensitive: bool = False
    source: Text | None = None
    origin: Name | None = None


class AssessmentBody(Part):
    date: IsoDate
    result: dict[str, Any]
    program: Text | None = None


class Against(Part):
    """What an approval was given against: the entries that spoke against it, why, and who answers for it."""

    entries: Annotated[tuple[Name, ...], Field(min_length=1)]
    why: Text
    signed: Text


class MoveBody(Part):
    to: Status
    seen: Status
    # the day it is made, as said by whoever makes it; the stamp is when it was written down
    date: IsoDate | None = None
    reviewed: tuple[Name, ...] = ()
    conditions: Text | None = None
    until: IsoDate | None = None
    against: Against | None = None

    @model_validator(mode="after")
    def _season_ends(self) -> MoveBody:
        if self.to == CLOSED and self.until is None:
            raise fault("no last day", "the last day of the closed season", "Add until.")
        if self.against is not None and self.to not in NEEDS_MARK:
            raise fault(f"signed against, to '{self.to}'", "a signed reason only with an approval", "Leave it out.")
        return self


class MarkBody(Part):
    """The group's or the owner's mark; taking it back is a mark too."""

    by: Literal["group", "owner"]
    given: bool
    name: Text
    role: Text | None = None
    date: IsoDate
    conditions: Text | None = None
    expires: IsoDate | None = None
    # whoever wrote it said that a last day years on is meant
    far_end_is_right: bool | None = None
    reference: Text | None = None

    @model_validator(mode="after")
    def _ends(self) -> MarkBody:
        if self.given and self.expires is None:
            raise fault("no last day", "the last day the mark holds", "A mark always has an end: add expires.")
        if self.given and self.expires < self.date:
            raise fault(self.expires, f"a last day not before {self.date}", "Check the two dates.")
        return self


class Photos(Part):
    """Photos by the hash of what is kept."""

    before: tuple[Name, ...] = ()
    after: tuple[Name, ...] = ()


class UseEntry(Part):
    what: Literal["use"]
    date: IsoDate
    start: ClockTime | None = None
    end: ClockTime | None = None
    hours: Hours | None = None
    line: Name | None = None
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
            raise fault(f"start {self.start}, end {self.end}", "both clock times or neither")
        if self.start is not None and self.hours is not None:
            raise fault("clock times and hours", "one of the two", "Leave one out.")
        if self.start is not None and self.end < self.start:
            # past midnight; longer than half a day it is the two times that were swapped, or a day left out
            hours = (int(self.end[:2]) - int(self.start[:2])) % 24 + (int(self.end[3:]) - int(self.start[3:])) / 60
            if hours > 12:
                mend = "For a line that stood past midnight give the hours instead."
                raise fault(f"start {self.start}, end {self.end}", "an end after the start", mend)
        return self


class MarksEntry(Part):
    """Marks found on bark or ground, whoever made them."""

    what: Literal["marks"]
    date: IsoDate
    bark_marks: BarkMark = "not looked"
    ground_marks: GroundMark = "not looked"
    mark_size: SmallLength | None = None
    photos: Photos | None = None
    notes: Text | None = None


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
            raise fault("no qualification", "the arborist's qualification or registration", "Add qualification.")
        for name in ("action_done", "next_due"):
            day = getattr(self, name)
            if day is not None and day < self.date:
                raise fault(f"{name} {day}", f"a day not before the inspection, {self.date}", "Check the two dates.")
        return self


class EventEntry(Part):
    what: Literal["event"]
    date: IsoDate
    event: Literal[
        "storm",
        "damage",
        "root works",
        "rule set changed",
        "disease notice",
        "vandalism",
        "pruning",
        "complaint",
        "incident",
        "reopened",
        "entries lost",
        "other",
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
            raise fault(f"until {self.until}", f"a last day not before {self.date}", "Check the two dates.")
        return self


LOG_ENTRIES: dict[str, type[Part]] = {
    "use": UseEntry,
    "marks": MarksEntry,
    "inspection": InspectionEntry,
    "event": EventEntry,
    "rest": RestEntry,
}


class PhotoBody(Part):
    sha256: Name
    media_type: Literal["image/jpeg", "image/png"]
    size_bytes: Annotated[int, Field(ge=1)]
    taken: IsoDate | None = None
    shows: Text | None = None
    share: Layer = "officer"
    no_people: bool = False


class CorrectionBody(Part):
    """A later entry that puts an earlier one right, or says it was entered in error."""

    corrects: Name
    void: bool = False
    body: dict[str, Any] | None = None

    @model_validator(mode="after")
    def _says_one_thing(self) -> CorrectionBody:
        if self.void == (self.body is not None):
            raise fault(f"void {self.void}", "either the right entry, or void", "Give one of the two.")
        return self


class JoinBody(Part):
    """What people found about two subjects that looked like one."""

    same: tuple[Name, Name]
    finding: Literal["the same", "not the same"]

    @model_validator(mode="after")
    def _two(self) -> JoinBody:
        if self.same[0] >= self.same[1]:
            raise fault(self.same, "two different names, sorted")
        return self


class ClockBody(Part):
    """Entries stamped ahead of the clock, written no later than this one."""

    ahead: Annotated[tuple[Name, ...], Field(min_length=1)]

    @model_validator(mode="after")
    def _sorted(self) -> ClockBody:
        if list(self.ahead) != sorted(set(self.ahead)):
            raise fault("names out of order", "each name once, sorted")
        return self


BODIES: dict[str, type[Part]] = {
    "register": RegisterBody,
    "site": SiteBody,
    "anchor": AnchorBody,
    "line": LineBody,
    "assessment": AssessmentBody,
    "move": MoveBody,
    "mark": MarkBody,
    "photo": PhotoBody,
    "correction": CorrectionBody,
    "join": JoinBody,
    "clock": ClockBody,
}


def checked(kind: str, body: Any, source: str = "") -> dict[str, Any]:
    """A body with only what its kind may say, as plain JSON values.

    Parameters
    ----------
    source : name of what is read, for messages; the kind of entry if not given

    Raises
    ------
    FaultyInput : every fault of the body.
    """
    source = source or {"log": "care log entry"}.get(kind, kind)
    if kind == "log":
        what = body.get("what") if isinstance(body, dict) else None
        if what not in LOG_ENTRIES:
            raise FaultyInput(source, [Fault(0, "what", str(what), f"one of {', '.join(LOG_ENTRIES)}")])
        model = LOG_ENTRIES[what]
    else:
        model = BODIES[kind]
    try:
        return _as_plain(model.model_validate(_with_inner_records(kind, body, source)))
    except ValidationError as error:
        raise FaultyInput(source, faults_of(error, model)) from None


def faults_of(error: ValidationError, model: type[BaseModel]) -> list[Fault]:
    """A validation error about a model in the reader's words."""
    faults = []
    for item in error.errors(include_url=False):
        place = ".".join(str(step) for step in item["loc"]) or "entry"
        faults.append(Fault(0, place, *say(item, item["loc"], model)))
    return faults


def _with_inner_records(kind: str, body: Any, source: str) -> Any:
    """The body with its records read by their own models, so that what is kept is what was checked."""
    if not isinstance(body, dict) or kind not in ("site", "anchor", "line"):
        return body
    out = dict(body)
    for key, model in _inner_models(kind, body, source).items():
        if out.get(key) is None:
            continue
        try:
            out[key] = _as_plain(model.model_validate(out[key]))
        except ValidationError as error:
            raise FaultyInput(source, faults_of(error, model)) from None
    return out


def _inner_models(kind: str, body: dict[str, Any], source: str) -> dict[str, type[BaseModel]]:
    if kind == "site":
        return {"record": Site, "survey": Survey}
    if kind == "line":
        return {"record": Line}
    record = body.get("record")
    anchor_kind = record.get("kind") if isinstance(record, dict) else None
    if anchor_kind not in ANCHOR_KINDS:
        raise FaultyInput(source, [Fault(0, "kind", str(anchor_kind), f"one of {', '.join(ANCHOR_KINDS)}")])
    return {"record": ANCHOR_KINDS[anchor_kind]}
