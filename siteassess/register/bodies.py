"""What each kind of event must say, checked before it is kept; quantities stay as the text that was typed."""

from __future__ import annotations

from typing import Annotated, Any, Literal

from pydantic import BaseModel, Field, ValidationError, model_validator

from siteassess.errors import Fault, FaultyInput, refused
from siteassess.records.anchor import ANCHOR_KINDS
from siteassess.records.fields import IsoDate, Latitude, Layer, Longitude, Part, Text, fault
from siteassess.records.line import Line
from siteassess.records.sentences import sentence_of, shown
from siteassess.records.site import Site, Survey
from siteassess.reference.findings import worded
from siteassess.register.events import THINGS
from siteassess.register.log_bodies import LOG_ENTRIES, EntryName, day_before
from siteassess.register.moves import CLOSED, NEEDS_MARK, STATUSES

Status = Literal[STATUSES]  # type: ignore[valid-type]


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
    origin: EntryName | None = None


class AnchorBody(Part):
    site: EntryName
    record: dict[str, Any]
    surveyed: IsoDate | None = None
    share: Layer | None = None
    sensitive: bool = False
    source: Text | None = None
    origin: EntryName | None = None


class LineBody(Part):
    site: EntryName
    anchors: tuple[EntryName, EntryName]
    record: dict[str, Any]
    surveyed: IsoDate | None = None
    share: Layer | None = None
    sensitive: bool = False
    source: Text | None = None
    origin: EntryName | None = None


class AssessmentBody(Part):
    date: IsoDate
    result: dict[str, Any]
    program: Text | None = None


class Against(Part):
    """What an approval was given against: the entries that spoke against it, why, and who answers for it."""

    entries: Annotated[tuple[EntryName, ...], Field(min_length=1)]
    why: Text
    signed: Text


class MoveBody(Part):
    to: Status
    seen: Status
    # the day it is made, as said by whoever makes it; the stamp is when it was written down
    date: IsoDate | None = None
    reviewed: tuple[EntryName, ...] = ()
    conditions: Text | None = None
    until: IsoDate | None = None
    against: Against | None = None

    @model_validator(mode="after")
    def _season_ends(self) -> MoveBody:
        if self.to == CLOSED and self.until is None:
            raise fault(worded("rg-no-last-day"), worded("rg-want-season-end"), worded("rg-mend-add", key="until"))
        if self.against is not None and self.to not in NEEDS_MARK:
            read = worded("rg-read-signed-against", to=self.to)
            raise fault(read, worded("rg-want-signed-approval"), worded("rg-mend-leave-out"))
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
            raise fault(worded("rg-no-last-day"), worded("rg-want-mark-end"), worded("rg-mend-mark-end"))
        if self.given and self.expires is not None and self.expires < self.date:
            raise day_before(self.expires, self.date)
        return self


class PhotoBody(Part):
    sha256: EntryName
    media_type: Literal["image/jpeg", "image/png"]
    size_bytes: Annotated[int, Field(ge=1, le=1_000_000_000)]  # far more than any photo that is kept
    taken: IsoDate | None = None
    shows: Text | None = None
    share: Layer = "officer"
    no_people: bool = False


class CorrectionBody(Part):
    """A later entry that puts an earlier one right, or says it was entered in error."""

    corrects: EntryName
    void: bool = False
    body: dict[str, Any] | None = None

    @model_validator(mode="after")
    def _says_one_thing(self) -> CorrectionBody:
        if self.void == (self.body is not None):
            raise fault(f"void {self.void}", worded("rg-want-entry-or-void"), worded("rg-mend-one-of-two"))
        return self


class JoinBody(Part):
    """What people found about two subjects that looked like one."""

    same: tuple[EntryName, EntryName]
    finding: Literal["the same", "not the same"]

    @model_validator(mode="after")
    def _two(self) -> JoinBody:
        if self.same[0] >= self.same[1]:
            raise fault(self.same, worded("rg-want-two-names"))
        return self


class ClockBody(Part):
    """Entries stamped ahead of the clock, written no later than this one."""

    ahead: Annotated[tuple[EntryName, ...], Field(min_length=1)]

    @model_validator(mode="after")
    def _sorted(self) -> ClockBody:
        if list(self.ahead) != sorted(set(self.ahead)):
            raise fault(worded("rg-read-out-of-order"), worded("rg-want-names-sorted"))
        return self


class ToldCell(Part):
    """A cell of the map: its middle and its side [m]."""

    lat: Latitude
    lon: Longitude
    # wider than any that is told, so that another program may cut otherwise
    side_m: Annotated[float, Field(ge=1, le=100_000)]


class ToldTree(Part):
    """What a copy told of a hidden anchor, nothing where all is left out; `unlike` are kinds that it cannot be."""

    tree: EntryName
    cell: ToldCell | None = None
    genus: Text | None = None
    girth_class: Text | None = None
    unlike: tuple[Text, ...] = ()


class ToldPark(Part):
    """What a copy showed of one site: where anchors stand, as (latitude, longitude), and the hidden ones."""

    site: EntryName
    shown: tuple[tuple[Latitude, Longitude], ...] = ()
    hidden: tuple[ToldTree, ...] = ()


class CopyBody(Part):
    """What members were newly told by a copy, or that what they were told was lost."""

    date: IsoDate
    parks: tuple[ToldPark, ...] = ()
    lost: bool = False


BODIES: dict[str, type[Part]] = {
    "register": RegisterBody, "site": SiteBody, "anchor": AnchorBody, "line": LineBody, "assessment": AssessmentBody,
    "move": MoveBody, "mark": MarkBody, "photo": PhotoBody, "correction": CorrectionBody, "join": JoinBody,
    "clock": ClockBody, "copy": CopyBody,
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
    try:
        return _checked(kind, body)
    except FaultyInput as error:
        named = source or worded("rg-care-log-entry" if kind == "log" else "kind-alone", kind=kind)
        raise FaultyInput(named, error.faults) from None


def _checked(kind: str, body: Any) -> dict[str, Any]:
    if kind == "log":
        what = body.get("what") if isinstance(body, dict) else None
        if not isinstance(what, str) or what not in LOG_ENTRIES:
            raise refused("", "what", shown(what), worded("one-of", names=tuple(LOG_ENTRIES)))
        model = LOG_ENTRIES[what]
    else:
        model = BODIES[kind]
    try:
        return _as_plain(model.model_validate(_with_inner_records(kind, body)))
    except ValidationError as error:
        raise FaultyInput("", refused_body(error, model)) from None


def refused_body(error: ValidationError, model: type[Part]) -> list[Fault]:
    """A validation error about a model in the reader's words."""
    faults = []
    for item in error.errors(include_url=False):
        place = ".".join(str(step) for step in item["loc"]) or worded("rg-the-entry")
        faults.append(Fault(0, place, *sentence_of(item, item["loc"], model)))
    return faults


def _with_inner_records(kind: str, body: Any) -> Any:
    """The body with its records read by their own models, so that what is kept is what was checked."""
    if not isinstance(body, dict) or kind not in THINGS:
        return body
    out = dict(body)
    for key, model in _inner_models(kind, body).items():
        if out.get(key) is None:
            continue
        try:
            out[key] = _as_plain(model.model_validate(out[key]))
        except ValidationError as error:
            raise FaultyInput("", refused_body(error, model)) from None
    return out


def _inner_models(kind: str, body: dict[str, Any]) -> dict[str, type[Part]]:
    if kind == "site":
        return {"record": Site, "survey": Survey}
    if kind == "line":
        return {"record": Line}
    record = body.get("record")
    anchor_kind = record.get("kind") if isinstance(record, dict) else None
    if not isinstance(anchor_kind, str) or anchor_kind not in ANCHOR_KINDS:
        raise refused("", "kind", shown(anchor_kind), worded("one-of", names=tuple(ANCHOR_KINDS)))
    return {"record": ANCHOR_KINDS[anchor_kind]}
