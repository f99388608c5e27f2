"""JSON Schema of a record, written from its models: editors complete and check a record by it as it is typed."""

from __future__ import annotations

from typing import Any

from siteassess.records.record import RECORD_FORMAT, Record
from siteassess.reference.schemas import headed


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
        for told in shape.get("properties", {}).values():
            _yes_is_true(told)
    return headed("record", RECORD_FORMAT, Record.__doc__ or "", made)


def _yes_is_true(told: dict[str, Any]) -> None:
    """Let a field take true where it takes yes, and yes where it takes true."""
    if told.get("type") == "boolean":
        told.update(type=["boolean", "string"], enum=[True, False, "yes", "no", "true", "false"])
    elif {"yes", "no"} <= set(told.get("enum", ())):
        told.update(type=["boolean", "string"], enum=[*told["enum"], True, False, "true", "false"])
    for one in told.get("anyOf", ()):
        _yes_is_true(one)
