"""What a group owns: slings, pads, slats, links and the rest, from a YAML list read as strictly as a record."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated, Literal

from pydantic import Field, ValidationError
from pydantic_core import ErrorDetails

from siteassess.errors import Fault, FaultyInput
from siteassess.records.fields import Measured, Part, SmallLength, Strength, Text, Width, asks
from siteassess.records.reading import file_text
from siteassess.records.yaml_lines import Node, Steps, load
from siteassess.units import Quantity

OwnedKind = Literal["sling", "rope", "link", "rigging", "pad", "slat", "tie", "ground", "sign", "hygiene",
                    "measuring"]
GearLength = Annotated[Quantity, Measured("length", "1 cm", "200 m", "4 m")]


class OwnedItem(Part):
    """Some pieces of one kind and size."""

    kind: OwnedKind = asks("What it is for", ...)
    what: Text | None = asks("What it is")
    count: Annotated[int, Field(strict=True, ge=1, le=1000)] = asks("How many", 1)
    length: GearLength | None = asks("Length, end to end in use; of a pad round the trunk")
    width: Width | None = asks("Bearing width of a sling; height of a pad along the trunk; width of a slat")
    thickness: SmallLength | None = asks("Thickness of a pad or slat")
    rating: Strength | None = asks("Rated strength of a sling, rope, link or piece of rigging")


class Owned(Part):
    """The whole list."""

    siteassess_owned: Literal[1] = asks("Version of this form of list", ...)
    group: Text | None = asks("Whose it is")
    owned: tuple[OwnedItem, ...] = asks("What is there", ...)


def read_owned(path: str | Path) -> Owned:
    """Read a list of gear.

    Raises
    ------
    FaultyInput : with every fault and its line
    """
    source = str(path)
    document = load(file_text(path))
    if not isinstance(document.root.value, dict):
        wanted = "a block of keys that starts with `siteassess_owned: 1`"
        raise FaultyInput(source, document.faults or [Fault(document.root.line, "list", "no block of keys", wanted)])
    faults, found = list(document.faults), None
    try:
        found = Owned.model_validate(document.root.plain())
    except ValidationError as error:
        faults += [_fault(one, document.root) for one in error.errors(include_url=False)]
    if faults or found is None:
        raise FaultyInput(source, dict.fromkeys(faults))
    return found


def _fault(error: ErrorDetails, root: Node) -> Fault:
    path = tuple(error["loc"])
    field = ".".join(str(step) for step in path) or "list"
    line = root.line_at(path)
    if error["type"] == "siteassess":
        said = error["ctx"]
        return Fault(line, field, said["read"], said["wanted"], said["mend"])
    if error["type"] == "missing":
        return Fault(line, field, "nothing", _question(path))
    if error["type"] == "extra_forbidden":
        return Fault(line, field, "a key this list does not know", f"one of: {', '.join(OwnedItem.model_fields)}"
                     if path[:1] == ("owned",) else f"one of: {', '.join(Owned.model_fields)}")
    return Fault(line, field, repr(error["input"])[:80], error["msg"][0].lower() + error["msg"][1:])


def _question(path: Steps) -> str:
    """What a field asks, for one that was left out."""
    model = OwnedItem if path[:1] == ("owned",) and len(path) > 1 else Owned
    field = model.model_fields.get(str(path[-1]))
    return (field.description or "a value").lower() if field else "a value"
