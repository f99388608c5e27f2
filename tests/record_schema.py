"""JSON Schema of a record, written from its models: editors complete and check a record by it as it is typed."""

import re
from typing import Any

from schema_head import headed

from siteassess.records.record import RECORD_FORMAT, Record
from siteassess.units import UNITS

A_NUMBER = "[+-]?(?:[0-9][0-9., \u00a0\u2009\u202f]*|\\.[0-9]+)"
FOOT_MARKS, INCH_MARKS = "'\u2032\u2019", '"\u2033\u201d\u201c'
A_DAY = "^[0-9]{4}-[0-9]{2}-[0-9]{2}$"


def record_schema() -> dict[str, Any]:
    """JSON Schema (2020-12) of a record; shipped as data/schemas/record-N.json, N the version of its form.

    Returns
    -------
    Keys that begin with `x-` are ours: unit, range and example of a quantity, who sees a field, whether the short
    form asks it. What several fields have to agree on, a schema cannot say; `siteassess check` does.
    """
    made = Record.model_json_schema()
    shapes = made["$defs"]
    # a single fix is written without its list
    shapes["Fixes"] = shapes["Position"]
    shapes["Position"] = {"anyOf": [{"$ref": "#/$defs/Fix"}, {"$ref": "#/$defs/Fixes"}]}
    for shape in (made, *shapes.values()):
        needed = shape.get("required", ())
        for name, told in shape.get("properties", {}).items():
            _yes_is_true(told)
            _reads_texts(told)
            if name not in needed:
                shape["properties"][name] = _or_blank(told)
    return headed("record", RECORD_FORMAT, Record.__doc__ or "", made)


def _yes_is_true(told: dict[str, Any]) -> None:
    """Let a field take true where it takes yes, and yes where it takes true."""
    if told.get("type") == "boolean":
        told.update(type=["boolean", "string"], enum=[True, False, "yes", "no", "true", "false"])
    elif {"yes", "no"} <= set(told.get("enum", ())):
        told.update(type=["boolean", "string"], enum=[*told["enum"], True, False, "true", "false"])
    for one in told.get("anyOf", ()):
        _yes_is_true(one)


def _reads_texts(told: dict[str, Any]) -> None:
    """Name the texts that are sizes and days: a size wants a unit of its kind."""
    if kind := told.get("x-kind"):
        told["pattern"] = _a_size(kind)
    elif told.get("format") == "date":
        told["pattern"] = A_DAY
    for one in (*told.get("anyOf", ()), *filter(None, [told.get("items")])):
        _reads_texts(one)


def _a_size(kind: str) -> str:
    """A pattern of sizes, no narrower than `units.parse`."""
    units = [re.sub(r"([.^$*+?()|\[\]{}\\/])", r"\\\1", unit) for unit in UNITS[kind]]
    size = f"{A_NUMBER}\\s*(?:{'|'.join(units)})"
    if kind == "length":
        size = f"(?:{size}|{A_NUMBER}\\s*[{FOOT_MARKS}{INCH_MARKS}]"
        size += f"|[0-9]+\\s*(?:ft|[{FOOT_MARKS}])\\s*[0-9.]+\\s*(?:in|[{INCH_MARKS}]))"
    return f"^\\s*{size}\\s*$"


def _or_blank(told: dict[str, Any]) -> dict[str, Any]:
    """Let a key be left blank, as a new record has most of them: blank means not known."""
    if "const" in told:
        return told
    blank = {"type": "null"}
    if "anyOf" in told:
        if blank not in told["anyOf"]:
            told["anyOf"].append(blank)
    elif "$ref" in told:
        told = {key: one for key, one in told.items() if key != "$ref"} | {"anyOf": [{"$ref": told["$ref"]}, blank]}
    elif "type" in told:
        kinds = told["type"] if isinstance(told["type"], list) else [told["type"]]
        told["type"] = [*dict.fromkeys([*kinds, "null"])]
        if "enum" in told:
            told["enum"] = [*told["enum"], None]
    return told
