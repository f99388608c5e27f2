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
    return headed("record", RECORD_FORMAT, Record.__doc__ or "", made)
