"""Kinds of field a record is made of, and how each reads a text.

A field carries what the reader, the blank record, the paper form and the phone form all need: its question, its
unit and plausible range, its choices, and whether the quick form asks it.
"""

from __future__ import annotations

import datetime
import difflib
import math
from collections.abc import Hashable, Iterator, Mapping
from functools import cache, cached_property, partial
from textwrap import shorten
from typing import Annotated, Any, Literal, Self, get_args

from pydantic import (
    AfterValidator,
    BaseModel,
    ConfigDict,
    Field,
    PlainSerializer,
    PlainValidator,
    StringConstraints,
    WithJsonSchema,
    model_validator,
)
from pydantic.config import JsonDict
from pydantic_core import PydanticCustomError, core_schema

from siteassess.errors import UnknownName
from siteassess.records.characters import forbidden_character
from siteassess.reference.faults import of_unit
from siteassess.reference.findings import worded
from siteassess.units import SI_UNIT, Quantity, UnitText, parse

Answer = Literal["yes", "no", "not looked"]
Layer = Literal["public", "members", "officer"]  # who sees a field in a copy of a register, widest first
Sector = Literal["N", "NE", "E", "SE", "S", "SW", "W", "NW"]
SECTORS: tuple[Sector, ...] = get_args(Sector)
SECTOR_BEARING_DEG = {sector: 45.0 * index for index, sector in enumerate(SECTORS)}


def sector_at(bearing: float) -> Sector | None:
    """The sector a bearing lies in [deg]; None for NaN.

    Parameters
    ----------
    bearing : true [deg]
    """
    return SECTORS[round(bearing / 45.0) % 8] if math.isfinite(bearing) else None


LONGEST_REPR = 160  # letters: about two lines


class Part(BaseModel):
    """A piece of a record: frozen, no unknown keys, readable by its own name."""

    model_config = ConfigDict(frozen=True, extra="forbid", str_strip_whitespace=False, validate_default=False)

    @classmethod
    def misfit(cls, present: set[str]) -> tuple[str, str, str] | None:
        """What is wrong with the set of fields filled in: read, wanted, how to mend it; None if nothing.

        Asked of names alone, so that it can be answered beside other faults of the same part.
        """
        return None

    def model_copy(self, *, update: Mapping[str, Any] | None = None, deep: bool = False) -> Self:
        """A copy with other values, which are not read again.

        Raises
        ------
        UnknownName : a name that is no field of this part; it would be kept beside the others, and read by nobody.
        """
        for name in set(update or ()) - set(type(self).model_fields):
            near = difflib.get_close_matches(name, type(self).model_fields, n=3, cutoff=0.5) or type(self).model_fields
            raise UnknownName(f"{type(self).__name__.lower()} has no {name!r}; known: {', '.join(near)}")
        return super().model_copy(update=update, deep=deep)

    def __repr__(self) -> str:
        """What was filled in, on a line or two."""
        told = (f"{name}={value!r}" for name, value in self.__repr_args__()
                if name in self.model_fields_set and value not in (None, ()))  # fmt: skip
        return f"{type(self).__name__}({shorten(', '.join(told), LONGEST_REPR, placeholder=' ...')})"

    __str__ = __repr__

    @model_validator(mode="before")
    @classmethod
    def _yes_is_true(cls, given: Any) -> Any:
        """What was typed, true and yes alike, whichever of the two a field keeps."""
        if not isinstance(given, dict):
            return given
        kept = {name: _YES_OR_TRUE[kept][given[name]] for name, kept in _told_by_yes(cls).items()
                if type(given.get(name)) in (bool, str) and given[name] in _YES_OR_TRUE[kept]}  # fmt: skip
        return given | kept if kept else given

    @model_validator(mode="after")
    def _fields_fit(self) -> Self:
        if wrong := self.misfit({name for name in type(self).model_fields if getattr(self, name) is not None}):
            raise fault(*wrong)
        return self


_YES_OR_TRUE: dict[type, dict[Any, Any]] = {
    bool: {"yes": True, "no": False, "true": True, "false": False},
    str: {True: "yes", False: "no", "true": "yes", "false": "no"},
}


@cache
def _told_by_yes(part: type[Part]) -> dict[str, type]:
    """Fields of a part that take yes and no, and whether they keep a truth or a word."""
    kinds = {name: set(_kinds_of(info.annotation)) for name, info in part.model_fields.items()}
    words = {name: str for name, kind in kinds.items() if {"yes", "no"} & {one for one in kind if isinstance(one, str)}}
    return words | {name: bool for name, kind in kinds.items() if bool in kind}


def _kinds_of(annotation: Any) -> Iterator[Any]:
    """A type and all it is made of: yes or no may be one of several, or marked, `Annotated[bool, ...] | None`."""
    yield annotation
    for one in () if isinstance(annotation, str) else get_args(annotation):
        if isinstance(one, Hashable):
            yield from _kinds_of(one)


def either(present: set[str], one: str, other: str) -> str | None:
    """How two fields of which exactly one is wanted were filled in; None if exactly one was."""
    if one in present and other in present:
        return worded("read-both", one=one, other=other)
    return None if one in present or other in present else worded("read-neither", one=one, other=other)


def fault(read: object, wanted: str, mend: str = "") -> PydanticCustomError:
    """A fault of one value, for a validator to raise; `sentences.sentence_of` tells it.

    Parameters
    ----------
    read : what stands there
    wanted, mend : what should, and how to put it right
    """
    told = read if isinstance(read, str) else str(read)
    return PydanticCustomError("siteassess", "{wanted}", {"read": told, "wanted": wanted, "mend": mend})


class Measured:
    """Marks a field as a quantity of one kind within a plausible range.

    `low` and `high` are texts with units, so that messages speak the trade's units; beyond them a reading is
    refused as a slip of the pen, not judged as rare. `example` shows how a reading is typed; `called` is what a fault
    calls it, where that is not its kind.
    """

    def __init__(self, kind: str, low: str, high: str, example: str, called: str = ""):
        self.kind, self.low, self.high, self.example, self.called = kind, low, high, example, called or kind

    @cached_property
    def _limits(self) -> tuple[float, float]:
        # a hair wider than said, so that the limit itself passes in every unit
        low, high = parse(self.low, self.kind).si, parse(self.high, self.kind).si
        hair = 1e-9 * max(abs(low), abs(high))
        return low - hair, high + hair

    def read(self, value: Any) -> Quantity:
        """A value as a quantity of this kind.

        Raises
        ------
        PydanticCustomError : no number with a unit of the kind, or one out of the range.
        """
        if isinstance(value, Quantity):
            if SI_UNIT[value.kind] != SI_UNIT[self.kind]:
                mend = worded("mend-is-a-kind", typed=value.text, kind=value.kind)
                raise fault(value.text, worded("want-a-kind", kind=self.called), mend)
            read = value
        else:
            try:
                read = parse(value, self.kind, usual_unit=self.example.split()[-1])
            except UnitText as error:
                raise fault(error.read, *of_unit(error, self.called)) from None
        low, high = self._limits
        if not low <= read.si <= high:
            wanted = worded("want-between", low=self.low, high=self.high)
            wrong_sign = low >= 0 > read.si and -read.si <= high
            raise fault(read.text, wanted, worded("mend-sign" if wrong_sign else "mend-number-and-unit"))
        return read

    def __get_pydantic_core_schema__(self, source: object, handler: object) -> core_schema.CoreSchema:
        return core_schema.no_info_plain_validator_function(
            self.read, serialization=core_schema.plain_serializer_function_ser_schema(lambda q: q.text)
        )

    def __get_pydantic_json_schema__(self, schema: object, handler: object) -> JsonDict:
        return {
            "type": "string", "x-kind": self.kind, "x-low": self.low, "x-high": self.high,
            "x-si-unit": SI_UNIT[self.kind], "x-example": self.example,
        }


def _read_date(value: object) -> datetime.date:
    if isinstance(value, datetime.date):
        return value
    try:
        if not isinstance(value, str) or len(value) != 10:
            raise ValueError
        return datetime.date.fromisoformat(value)
    except ValueError:
        raise fault(value, worded("want-a-date"), worded("mend-a-date")) from None


class Degrees:
    """Marks a field as decimal degrees of latitude or longitude, up to a limit either way."""

    def __init__(self, limit: float):
        self.limit = limit

    def read(self, value: object) -> float:
        """A value as degrees.

        Raises
        ------
        PydanticCustomError : no plain number, or one beyond the limit.
        """
        if isinstance(value, bool) or not isinstance(value, (int, float)):
            raise fault(value, worded("want-decimal-degrees", limit=self.limit), worded("mend-plain-degrees"))
        if not math.isfinite(value) or abs(value) > self.limit:
            raise fault(value, worded("want-decimal-degrees", limit=self.limit), worded("mend-swapped-degrees"))
        return float(value)

    def __get_pydantic_core_schema__(self, source: object, handler: object) -> core_schema.CoreSchema:
        return core_schema.no_info_plain_validator_function(self.read)

    def __get_pydantic_json_schema__(self, schema: object, handler: object) -> JsonDict:
        return {"type": "number", "minimum": -self.limit, "maximum": self.limit}


def _readable(text: str) -> str:
    if not text.strip():
        raise fault(worded("read-blank-space"), worded("want-a-text"), worded("mend-nothing-to-say"))
    if bad := forbidden_character(text):
        raise fault(worded("read-character", name=bad), worded("want-printable"), worded("mend-delete"))
    return text


IsoDate = Annotated[
    datetime.date, PlainValidator(_read_date), PlainSerializer(datetime.date.isoformat),
    WithJsonSchema({"type": "string", "format": "date"}),
]
ClockTime = Annotated[str, StringConstraints(pattern=r"^([01]\d|2[0-3]):[0-5]\d$")]
YesNo = Annotated[bool, Field(strict=True)]
Latitude = Annotated[float, Degrees(90)]
Longitude = Annotated[float, Degrees(180)]
Text = Annotated[str, StringConstraints(min_length=1, max_length=2000), AfterValidator(_readable)]
Code = Annotated[str, StringConstraints(min_length=1, max_length=24, pattern=r"^[A-Za-z0-9][A-Za-z0-9_.-]*$")]


def asks(
    question: str, default: Any = None, *, quick: bool = False, example: str = "", table: str = "",
    seen_by: Layer | None = None,
) -> Any:
    """A field with its question; `quick` puts it on the short form, `example` stands in for that of its kind.

    A text's answer may be a word of a reference `table`: a form suggests its words.

    What a copy shows of a register is said here: the answer is `seen_by` officers alone, unless it is asked with
    `shares` or `publishes`. A part is seen as far as what it holds, or no farther than `seen_by`.
    """
    given = {"x-example": example, "x-table": table, "x-seen-by": seen_by}
    schema_extra: JsonDict = {"x-quick": quick, **{key: value for key, value in given.items() if value}}
    if callable(default):
        return Field(default_factory=default, description=question, json_schema_extra=schema_extra)
    return Field(default=default, description=question, json_schema_extra=schema_extra)


shares = partial(asks, seen_by="members")
publishes = partial(asks, seen_by="public")


def accepted(field: Any) -> tuple[float, float]:
    """The least and the most that a record accepts.

    Parameters
    ----------
    field : one of the types below, of a quantity

    Returns
    -------
    As said, in SI.
    """
    mark = next(one for one in get_args(field) if isinstance(one, Measured))
    return parse(mark.low, mark.kind).si, parse(mark.high, mark.kind).si


Girth = Annotated[Quantity, Measured("length", "10 cm", "15 m", "142 cm")]
Diameter = Annotated[Quantity, Measured("length", "3 cm", "4.8 m", "45 cm")]
HeightOnTrunk = Annotated[Quantity, Measured("length", "0 m", "12 m", "1.3 m")]
TreeHeight = Annotated[Quantity, Measured("length", "1.5 m", "100 m", "18 m")]
SmallLength = Annotated[Quantity, Measured("length", "0 mm", "3 m", "50 mm")]
LeashLength = Annotated[Quantity, Measured("length", "20 cm", "3 m", "1.5 m")]
Width = Annotated[Quantity, Measured("length", "1 mm", "3 m", "50 mm")]
BoulderSize = Annotated[Quantity, Measured("length", "10 cm", "50 m", "1.8 m")]
SiteLength = Annotated[Quantity, Measured("length", "0 m", "1000 m", "12 m")]
SpanLength = Annotated[Quantity, Measured("length", "1 m", "500 m", "25 m")]
Offset = Annotated[Quantity, Measured("length", "-100 m", "100 m", "-0.4 m")]
Force = Annotated[Quantity, Measured("force", "0 N", "60 kN", "2.8 kN")]
Strength = Annotated[Quantity, Measured("force", "0.5 kN", "500 kN", "30 kN")]
Mass = Annotated[Quantity, Measured("mass", "10 kg", "400 kg", "80 kg")]
MassPerLength = Annotated[Quantity, Measured("mass per length", "1 g/m", "1000 g/m", "70 g/m")]
Stiffness = Annotated[Quantity, Measured("force", "1 kN", "20000 kN", "60 kN")]
Slope = Annotated[Quantity, Measured("slope", "-60 deg", "60 deg", "5 deg")]
Angle = Annotated[Quantity, Measured("angle", "0 deg", "360 deg", "90 deg")]
OffMiddle = Annotated[Quantity, Measured("angle", "0 deg", "90 deg", "5 deg")]
StrandAngle = Annotated[Quantity, Measured("angle", "0 deg", "180 deg", "60 deg")]
Stretch = Annotated[Quantity, Measured("stretch", "0.01 %", "40 %", "4 %")]
Tilt = Annotated[Quantity, Measured("angle", "0 deg", "20 deg", "0.2 deg")]
Lean = Annotated[Quantity, Measured("slope", "0 deg", "60 deg", "3 deg", "lean")]
Bearing = Annotated[Quantity, Measured("bearing", "0 deg", "360 deg", "135 deg")]
Accuracy = Annotated[Quantity, Measured("length", "1 mm", "5 km", "5 m")]
Gust = Annotated[Quantity, Measured("speed", "5 m/s", "90 m/s", "90 km/h")]
Hours = Annotated[Quantity, Measured("duration", "1 min", "60 d", "3 h")]
