"""What a group writes alike in each record: who it is, its country, its webbing, gear, crew and slings.

It is copied into a new record, where everybody can read and change it, and never taken while judging. What has to be
looked at is not in it: trees, their signs, the ground, and how tight a line stands are seen anew each time.
"""

from __future__ import annotations

import re
from dataclasses import replace
from pathlib import Path
from typing import Any

from siteassess.errors import Fault, FaultyInput
from siteassess.records.fields import Part
from siteassess.records.line import BackupLine, Crew, Gear, Sling, Walkers
from siteassess.records.loading import record_with_rules
from siteassess.records.reading import file_text
from siteassess.records.record import RECORD_FORMAT
from siteassess.records.yaml_lines import Document, Node, document_of, load_nodes
from siteassess.reference.findings import worded

USUAL_FORM = 1
HEAD = "siteassess_usual"
KEPT = {
    "site": ("manager", "manager_contact", "country", "region", "time_zone", "rule_set", "root_zone_standard",
             "emergency"),
    "survey": ("by", "contact", "group", "insurance", "level"),
    "line": ("use", "webbing", "crew", "walkers", "gear", "backup_line"),
    "end": ("sling", "padding"),
}  # fmt: skip
SEEN_THERE: dict[str, tuple[type[Part], tuple[str, ...]]] = {
    "line.crew": (Crew, ("footing",)), "line.gear": (Gear, ("strand_angle",)),
    "line.backup_line": (BackupLine, ("extra_length",)), "line.walkers": (Walkers, ("movement",)),
    "end.sling": (Sling, ("link_distance", "off_middle", "choke_angle")),
}  # fmt: skip
"""Of what is kept, what depends on the tree, the ground, the line or the day: told at the place."""
_NOWHERE: dict[str, Any] = {
    "siteassess_record": RECORD_FORMAT, "site": {"name": "-"}, "survey": {"by": "-", "date": "2026-01-01"},
    "anchors": [{"kind": "tree", "code": code} for code in ("T1", "T2")],
    "lines": [{"id": "L1", "use": "low line", "a": {"anchor": "T1"}, "b": {"anchor": "T2"}}],
}  # fmt: skip
"""A record in which what is usual is read by the rules of every record."""
_FIELDS = ((r"^lines\[L1\]\.a\b", "end"), (r"^lines\[L1\]", "line"))


def read_usual(path: str | Path) -> dict[str, Any]:
    """Read what a group writes alike.

    Parameters
    ----------
    path : YAML

    Returns
    -------
    By part of the record, "site", "survey", "line" and "end": what is filled in, as it was typed.

    Raises
    ------
    FaultyInput : with every fault and its line
    """
    source = str(path)
    document = load_nodes(file_text(path))
    root, faults = document.root, list(document.faults)
    if not isinstance(root.value, dict):
        bare = Fault(root.line, worded("the-file"), worded("read-no-block-of-keys"), worded("want-usual-block"))
        raise FaultyInput(source, faults or [bare])
    if not faults:
        faults = [*_of_form(root), *_as_in_a_record(root, source)]
    if faults:
        raise FaultyInput(source, dict.fromkeys(faults))
    return {part: root.value[part].plain() for part in KEPT if part in root.value and root.value[part].value}


def _of_form(root: Node) -> list[Fault]:
    """What the file holds beside the parts and fields that are usual."""
    assert isinstance(root.value, dict)
    form, faults = root.child(HEAD), []
    if form is None or form.value != USUAL_FORM:
        read = worded("read-nothing") if form is None else repr(form.plain())
        faults.append(Fault(form.line if form else root.line, HEAD, read, str(USUAL_FORM)))
    for key, part in root.value.items():
        if key != HEAD and key not in KEPT:
            faults.append(_not_kept(part.line, key, key, tuple(KEPT)))
        elif key in KEPT and isinstance(part.value, dict):
            faults += [_not_kept(one.line, f"{key}.{name}", name, KEPT[key]) for name, one in part.value.items()
                       if name not in KEPT[key]]  # fmt: skip
            faults += [one for name, held in part.value.items() for one in _seen_there(f"{key}.{name}", held)]
        elif key in KEPT and part.value is not None:
            faults.append(Fault(part.line, key, ascii(part.plain())[:40], worded("a-block-of-keys")))
    return faults


def _seen_there(field: str, held: Node) -> list[Fault]:
    """What is measured at the place within a part that is kept, or within each of several."""
    if field not in SEEN_THERE:
        return []
    kind, measured = SEEN_THERE[field]
    kept = tuple(name for name in kind.model_fields if name not in measured)
    parts = held.value if isinstance(held.value, list) else [held]
    return [_not_kept(one.line, f"{field}.{name}", name, kept) for part in parts if isinstance(part.value, dict)
            for name, one in part.value.items() if name in measured]  # fmt: skip


def _not_kept(line: int, field: str, name: str, kept: tuple[str, ...]) -> Fault:
    read, wanted = worded("read-unknown-key", key=name), worded("want-one-of-keys", keys=kept)
    return Fault(line, field, read, wanted, worded("mend-seen-each-time"))


def _as_in_a_record(root: Node, source: str) -> list[Fault]:
    """What the rules of a record say of it."""
    whole = document_of(_NOWHERE).root
    line = whole.child("lines").child(0)  # type: ignore[union-attr]
    places = {"site": whole.child("site"), "survey": whole.child("survey"), "line": line,
              "end": line and line.child("a")}  # fmt: skip
    for key, place in places.items():
        part = root.child(key)
        if part is None or not isinstance(part.value, dict) or place is None or not isinstance(place.value, dict):
            continue
        place.value |= {name: node for name, node in part.value.items() if name in KEPT[key]}
    try:
        record_with_rules(Document(whole), source)
    except FaultyInput as error:
        return [replace(one, field=_named(one.field)) for one in error.faults if one.line]
    return []


def _named(field: str) -> str:
    """A field of the record as it is called where it is usual."""
    for pattern, name in _FIELDS:
        field = re.sub(pattern, name, field)
    return field
