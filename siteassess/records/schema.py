"""The record's own field list, walked.

The blank record, the spreadsheet template, the forms and the sentences of a fault are all made from this walk, so
that none of them can drift from the record.
"""

from __future__ import annotations

import types
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache
from typing import Annotated, Any, Literal, Union, get_args, get_origin

from pydantic import StringConstraints
from pydantic.fields import FieldInfo

from siteassess.records.fields import ClockTime, Degrees, IsoDate, Layer, Measured, Part
from siteassess.records.record import Record
from siteassess.records.yaml_lines import Steps
from siteassess.reference.findings import worded
from siteassess.units import SI_UNIT, UNITS

ITEM = "[]"  # the step from a list to one of its items


@dataclass(frozen=True)
class Asked:
    """One field as a form asks it.

    `kind` is one of: quantity, text, code, date, time, choice, number, whole number, yes or no, part, parts, points,
    table. `low` and `high` are texts with units for a quantity, else numbers. `models` holds the parts below it.
    `table` names the reference table a text may be a word of.
    """

    path: tuple[str, ...]
    question: str
    kind: str
    quick: bool
    required: bool
    default: Any = None
    choices: tuple[str | int, ...] = ()
    quantity: str = ""
    low: Any = None
    high: Any = None
    example: str = ""
    models: tuple[type[Part], ...] = ()
    table: str = ""
    seen_by: Layer = "officer"

    @property
    def name(self) -> str:
        return self.path[-1]

    @property
    def unit(self) -> str:
        """SI unit the quantity is kept in (degrees for angles)."""
        return SI_UNIT.get(self.quantity, "")

    @property
    def units(self) -> tuple[str, ...]:
        """Unit texts a person may type."""
        return tuple(UNITS.get(self.quantity, ()))

    def wanted(self) -> str:
        """What the field wants, as the second half of a sentence."""
        if self.kind == "quantity":
            return worded("want-quantity", kind=self.quantity, example=self.example, low=self.low, high=self.high)
        if self.kind == "choice":
            one, *others = map(str, self.choices)
            return worded("want-one-of", choices=(one, *others)) if others else one
        if self.kind in ("number", "whole number"):
            return worded("want-number" if self.kind == "number" else "want-whole-number", low=self.low, high=self.high)
        return worded(_WANTED[self.kind])


_WANTED = {
    "text": "want-a-text", "code": "want-a-code", "date": "want-a-date", "time": "want-a-time",
    "yes or no": "want-true-or-false", "part": "a-block-of-keys", "parts": "want-dashed-list", "points": "want-points",
    "table": "a-block-of-keys",
}


def fields(model: type[Part], quick: bool = False, above: tuple[str, ...] = ()) -> Iterator[Asked]:
    """Every field below a model in order, each part before what it holds.

    Parameters
    ----------
    model : type
        A part of the record, such as `Tree`; where a list may hold several kinds (anchors) the walk stops at the list.
    quick : only the fields of the quick form
    above : path put before every name

    Yields
    ------
    Asked
        Paths name the way down from `model`; `[]` is the step from a list to one of its items.
    """
    for asked in members(model, above):
        if quick and not asked.quick:
            continue
        yield asked
        if len(asked.models) == 1:
            step = (ITEM,) if asked.kind == "parts" else ()
            yield from fields(asked.models[0], quick, asked.path + step)


@cache
def members(model: type[Part], above: tuple[str, ...] = ()) -> tuple[Asked, ...]:
    """The fields of one model, not of the parts below it.

    Parameters
    ----------
    model : a part of the record
    above : names of the parts it stands in
    """
    return tuple(_asked((*above, name), info) for name, info in model.model_fields.items())


def asked_at(path: Steps, model: type[Part] = Record) -> Asked | None:
    """The field at a path of names, indices and kinds of anchor; None where the record has no such field."""
    models: tuple[type[Part], ...] = (model,)
    found: Asked | None = None
    for step in path:
        if isinstance(step, int):
            continue
        by_kind = [one for one in models if len(models) > 1 and one.__name__.lower() == step]
        if by_kind:
            models = tuple(by_kind)
            continue
        info = next((one.model_fields[step] for one in models if step in one.model_fields), None)
        if info is None:
            return None
        try:
            found = _asked((step,), info)
        except TypeError:
            return None  # a list of names, which no form asks for
        models = found.models
    return found


def models_at(path: Steps, model: type[Part] = Record) -> tuple[type[Part], ...]:
    """The part or parts that may stand at a path."""
    if not path:
        return (model,)
    asked = asked_at(path, model)
    found = asked.models if asked else ()
    of_a_kind = tuple(one for one in found if len(found) > 1 and one.__name__.lower() == path[-1])
    return of_a_kind or found


def _asked(path: tuple[str, ...], info: FieldInfo) -> Asked:
    kind, detail = _kind(info.annotation, tuple(info.metadata))
    extra = info.json_schema_extra if isinstance(info.json_schema_extra, dict) else {}
    quick = bool(extra.get("x-quick"))
    if "x-example" in extra:
        detail["example"] = extra["x-example"]
    required = info.is_required()
    default = None if required else info.get_default(call_default_factory=True)
    layers: tuple[Layer, ...] = get_args(Layer)
    unsaid: Layer = "public" if "models" in detail else "officer"
    return Asked(
        path=path, question=info.description or "", kind=kind, quick=quick, required=required, default=default,
        table=str(extra.get("x-table", "")),
        seen_by=next((layer for layer in layers if layer == extra.get("x-seen-by")), unsaid), **detail,
    )


def _kind(annotation: Any, metadata: tuple[Any, ...]) -> tuple[str, dict[str, Any]]:
    """Kind of field and what goes with it, from a type with its marks."""
    if get_origin(annotation) is Annotated:
        inner, *marks = get_args(annotation)
        return _kind(inner, (*marks, *metadata))
    if get_origin(annotation) in (Union, types.UnionType):
        return _union(get_args(annotation), metadata)
    if get_origin(annotation) is Literal:
        return "choice", {"choices": get_args(annotation)}
    for mark in metadata:
        if isinstance(mark, Measured):
            return "quantity", {"quantity": mark.kind, "low": mark.low, "high": mark.high, "example": mark.example}
        if mark in get_args(IsoDate)[1:]:
            return "date", {"example": "2026-04-18"}
        if isinstance(mark, Degrees):
            return "number", {"low": -mark.limit, "high": mark.limit}
    if get_origin(annotation) is tuple:
        return _sequence(get_args(annotation)[0])
    if isinstance(annotation, type) and issubclass(annotation, Part):
        return "part", {"models": (annotation,)}
    return _simple(annotation, metadata)


def _union(options: tuple[Any, ...], metadata: tuple[Any, ...]) -> tuple[str, dict[str, Any]]:
    options = tuple(option for option in options if option is not type(None))
    if len(options) == 1:
        return _kind(options[0], metadata)
    return "part", {"models": options}


def _sequence(item: Any) -> tuple[str, dict[str, Any]]:
    if get_origin(item) is tuple:
        return "points", {}
    kind, detail = _kind(item, ())
    if kind != "part":
        raise TypeError(f"no form asks for a list of {item}: make each item a part")
    return "parts", {"models": detail["models"]}


def _simple(annotation: Any, metadata: tuple[Any, ...]) -> tuple[str, dict[str, Any]]:
    if annotation is bool:
        return "yes or no", {}
    if annotation is int:
        return "whole number", {"low": _limit(metadata, "ge"), "high": _limit(metadata, "le")}
    if annotation is str:
        pattern = next((mark.pattern for mark in metadata
                        if isinstance(mark, StringConstraints) and isinstance(mark.pattern, str)), "")
        if pattern == get_args(ClockTime)[1].pattern:
            return "time", {"example": "14:30"}
        return ("code", {"example": "T1"}) if pattern.startswith("^[A-Za-z0-9]") else ("text", {})
    return "table", {}


def _limit(metadata: tuple[Any, ...], name: str) -> float:
    """A lower or upper limit among the marks, which pydantic keeps loose or wrapped."""
    for mark in metadata:
        for own in (mark, *getattr(mark, "metadata", ())):
            if hasattr(own, name):
                limit: float = getattr(own, name)
                return limit
    raise LookupError(name)
