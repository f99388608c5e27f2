"""What a group owns: slings, pads, slats, links and the rest, from a YAML list read as strictly as a record."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated, Literal

from pydantic import Field, ValidationError
from pydantic_core import ErrorDetails

from siteassess.errors import Fault, FaultyInput
from siteassess.records.fields import Measured, Part, SmallLength, Strength, Text, Width, asks
from siteassess.records.reading import file_text
from siteassess.records.sentences import sentence_of
from siteassess.records.yaml_lines import Node, load_nodes
from siteassess.reference.findings import worded
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

    Parameters
    ----------
    path : YAML

    Raises
    ------
    FaultyInput : with every fault and its line
    """
    source = str(path)
    document = load_nodes(file_text(path))
    if not isinstance(document.root.value, dict):
        read, wanted = worded("read-no-block-of-keys"), worded("want-list-block")
        bare = Fault(document.root.line, worded("the-list"), read, wanted)
        raise FaultyInput(source, document.faults or [bare])
    faults, found = list(document.faults), None
    try:
        found = Owned.model_validate(document.root.plain())
    except ValidationError as error:
        faults += [_fault(one, document.root) for one in error.errors(include_url=False)]
    if faults or found is None:
        raise FaultyInput(source, dict.fromkeys(faults))
    return found


_ASKED = {"siteassess_owned": "want-version-of-list", "owned": "want-what-is-there", "kind": "want-what-it-is-for"}


def _fault(error: ErrorDetails, root: Node) -> Fault:
    path = tuple(error["loc"])
    field = ".".join(str(step) for step in path) or worded("the-list")
    line = root.line_at(path)
    if error["type"] == "missing":
        return Fault(line, field, worded("read-nothing"), worded(_ASKED[str(path[-1])]))
    if error["type"] == "extra_forbidden":
        model = OwnedItem if path[:1] == ("owned",) else Owned
        wanted = worded("want-one-of", choices=tuple(model.model_fields))
        return Fault(line, field, worded("read-key-not-of-list"), wanted)
    return Fault(line, field, *sentence_of(error, path, Owned))
