"""JSON Schema of what `assess --json` answers, written from the shapes of the answer themselves.

It walks the same dataclasses that `as_json` writes; what that puts beside or in place of a field stands here as well,
and a test holds the two together: every answer of the tests fits, and nothing in it is unknown to the schema.
"""

import dataclasses
import datetime
import types
from collections.abc import Iterable
from typing import Any, Literal, Union, get_args, get_origin, get_type_hints

from schema_head import headed

from siteassess.advice import crossings, packing
from siteassess.advice.care_results import SeasonPlan
from siteassess.advice.finding import Finding, Limit
from siteassess.advice.results import (
    AnchorResult,
    Answered,
    Assessment,
    Clause,
    Evidence,
    LineResult,
    PairGeometry,
    PullRow,
    Remedy,
    RuleCheck,
    StatedAssumption,
    TreeAlone,
)
from siteassess.advice.verdict import VERDICTS
from siteassess.papers.as_json import ANSWER_FORMAT
from siteassess.reference.findings import English, Said

Schema = dict[str, Any]
A_TEXT: Schema = {"type": "string"}
NUMBER: Schema = {"type": ["number", "null"]}  # what is not known is null, never NaN
ANY: Schema = {}
_PLAIN: dict[Any, Schema] = {
    str: A_TEXT, bool: {"type": "boolean"}, int: {"type": "integer"}, float: NUMBER, Any: ANY,
    datetime.date: {"type": "string", "format": "date"}, datetime.time: A_TEXT,
}


def answer_schema() -> Schema:
    """JSON Schema (2020-12) of the answer; shipped as data/schemas/answer-N.json, N the version of its form.

    Returns
    -------
    Objects take no keys it does not name; numbers are in the unit that their key ends in.
    """
    walk = _Walk()
    lines, trees = (walk.of(kind) for kind in (LineResult, TreeAlone))
    site = {name: {"type": ["string", "null"]} for name in
            ("name", "manager", "manager_contact", "land_status", "surveyed_by", "surveyed_on", "contact",
             "assessed_for")}  # fmt: skip
    whole = _object({
        "siteassess_answer": {"const": ANSWER_FORMAT}, "site": _object(site | {"invented": {"type": "boolean"}}),
        "note": A_TEXT, "lines": _list(lines), "trees": _list(trees), "packing": _list(walk.of(packing.PackItem)),
        **_beside("packing_notes", several=True),
        "rules": {"type": "object", "additionalProperties": walk.of(RuleCheck)},
        "assumptions": _list(walk.of(StatedAssumption)), "cautions": _list(A_TEXT), **_beside("warnings", several=True),
    })  # fmt: skip
    return headed("answer", ANSWER_FORMAT, (Assessment.__doc__ or "").partition(";")[0], whole | {"$defs": walk.defs})


def _object(properties: Schema, optional: Iterable[str] = ()) -> Schema:
    needed = [name for name in properties if name not in set(optional)]
    return {"type": "object", "properties": properties, "required": needed, "additionalProperties": False}


def _list(of: Schema) -> Schema:
    return {"type": "array", "items": of}


def _beside(name: str, several: bool = False) -> Schema:
    """English under a name, and the codes it is made of beside it."""
    return {name: _list(A_TEXT) if several else A_TEXT, f"{name}_codes": _list(CODE) if several else _or_null(CODE)}


def _or_null(of: Schema) -> Schema:
    return {"anyOf": [of, {"type": "null"}]}


# a code with the values its wording names, whose names are the code's own
CODE: Schema = {"type": "object", "required": ["code", "says"], "properties": {"code": A_TEXT, "says": A_TEXT}}
_VALUES: Schema = {"type": "object"}


class _Walk:
    def __init__(self) -> None:
        self.defs: Schema = {}

    def of(self, kind: Any) -> Schema:
        """Of a type as its fields are annotated with it."""
        if kind in _PLAIN:
            return _PLAIN[kind]
        origin, inner = get_origin(kind), get_args(kind)
        if origin is Literal:
            return {"enum": list(inner)}
        if origin in (Union, types.UnionType):
            known = [self.of(one) for one in inner if one is not types.NoneType]
            return _or_null(known[0] if len(known) == 1 else {"anyOf": known})
        if origin is dict:
            return {"type": "object", "additionalProperties": self.of(inner[1])}
        if origin in (tuple, list, frozenset):
            return _list(self.of(inner[0]))
        if kind is Said:
            return CODE
        return self.named(kind) if isinstance(kind, type) and dataclasses.is_dataclass(kind) else ANY

    def named(self, kind: type) -> Schema:
        name = kind.__name__
        if name not in self.defs:
            self.defs[name] = {}  # a shape may hold itself
            made = _BY_HAND[kind](self) if kind in _BY_HAND else _object(self.fields(kind))
            self.defs[name] = {"description": (kind.__doc__ or name).split("\n\n")[0], **made}
        return {"$ref": f"#/$defs/{name}"}

    def fields(self, kind: Any, but: Iterable[str] = ()) -> Schema:
        """Of a dataclass by name, those of codes as English with the codes beside it."""
        hints = get_type_hints(kind, localns={"Met": crossings.Met, "PackItem": packing.PackItem, "Tightness": Any})
        worded = {one.of: name for name, one in vars(kind).items() if isinstance(one, English)}
        found: Schema = {}
        for part in dataclasses.fields(kind):
            if part.name in but:
                continue
            several = get_origin(hints[part.name]) is tuple
            found |= (_beside(worded[part.name], several) if part.name in worded else
                      {part.name: self.of(hints[part.name])})  # fmt: skip
        return found


def _finding(walk: _Walk) -> Schema:
    texts = dict.fromkeys(("code", "about", "short", "says", "condition", "do_next"), A_TEXT)
    return _object({**texts, "effect": {"enum": list(VERDICTS)}, "rank": {"type": "integer"},
                    "looked_at": {"type": "boolean"}, "values": _VALUES, "asked": _or_null(CODE), "more": _list(CODE)})


def _remedy(walk: _Walk) -> Schema:
    return _object({"change": A_TEXT, "code": A_TEXT, "values": _VALUES, **walk.fields(Remedy, but=("what", "still")),
                    **_beside("still", several=True)})  # fmt: skip


def _season(walk: _Walk) -> Schema:
    return _object({**walk.fields(SeasonPlan), "hygiene": _list(A_TEXT), "hygiene_codes": _list(ANY)})


def _pull(walk: _Walk) -> Schema:
    return _object({**walk.fields(PullRow), "limited_by": A_TEXT, "limited_by_codes": _list(CODE)})


def _geometry(walk: _Walk) -> Schema:
    return _object({**walk.fields(PairGeometry), **_beside("agreement"), **_beside("notes", several=True)})


def _clause(walk: _Walk) -> Schema:
    parts = ("wanted", "measured", "source")
    return _object({"clause": A_TEXT, "answer": {"enum": list(get_args(Answered))}, **dict.fromkeys(parts, A_TEXT),
                    "codes": _object(dict.fromkeys(parts, CODE))})  # fmt: skip


def _limit(walk: _Walk) -> Schema:
    return _object({**walk.fields(Limit), "reason": A_TEXT, "do_next": A_TEXT, "outside": _list(A_TEXT)})


def _assumption(walk: _Walk) -> Schema:
    return _object(dict.fromkeys(("name", "value", "flag", "source"), A_TEXT))


def _anchor(walk: _Walk) -> Schema:
    evidence = _object({**walk.fields(Evidence), "known": {"type": "integer"}, **_beside("words")})
    return _object({
        **walk.fields(AnchorResult), "evidence": evidence, "conditions": _list(A_TEXT), "reasons": _list(A_TEXT),
        **_beside("hold_words"), **_beside("care_words"), **_beside("probability_limits"),
    })  # fmt: skip


def _line(walk: _Walk) -> Schema:
    number = {"factor": NUMBER, "wanted": NUMBER, "load_n": NUMBER, "strength_n": NUMBER, "slips_from_n": NUMBER}
    gear = _object({**_beside("part"), **_beside("place"), **number, "answer": A_TEXT})
    return _object({
        **walk.fields(LineResult, but=("day", "sweeps", "gear_checks")), "verdict_tail": A_TEXT,
        "assessed_for": _or_null({"type": "string", "format": "date"}), **_beside("probability_limits"),
        "reasons": _list(A_TEXT), "stop_at_n": NUMBER, "walker_sag_m": NUMBER, "gear": _list(gear),
        "hauling": {"type": "object"},
    }, optional=("hauling",))  # fmt: skip


# what `as_json` writes in a way of its own
_BY_HAND = {
    Finding: _finding, Remedy: _remedy, SeasonPlan: _season, PullRow: _pull, PairGeometry: _geometry, Clause: _clause,
    Limit: _limit, StatedAssumption: _assumption, AnchorResult: _anchor, LineResult: _line,
}
