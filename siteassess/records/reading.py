"""Reading a record: every fault at once, each with its line, or a record that can be relied on."""

from __future__ import annotations

import datetime
from dataclasses import dataclass, replace
from pathlib import Path

from pydantic import ValidationError
from pydantic_core import ErrorDetails

from siteassess.errors import Fault, FaultyInput
from siteassess.records.agreement import disagreements, likelier
from siteassess.records.anchor import ANCHOR_KINDS
from siteassess.records.files import read_at_most
from siteassess.records.record import Record
from siteassess.records.sentences import faults_of
from siteassess.records.sizes import size_doubts
from siteassess.records.yaml_lines import MAX_BYTES, MAX_FAULTS, Document, Node, Steps, load_nodes
from siteassess.reference.findings import worded


@dataclass(frozen=True)
class ReadRecord:
    """A record with the lines it was read from."""

    record: Record
    source: str
    root: Node

    def line_at(self, path: Steps) -> int:
        """Line of a field by names and indices; of the nearest part above where it was not typed."""
        return self.root.line_at(path)


def read_record(path: str | Path, today: datetime.date | None = None) -> Record:
    """Read a record from a YAML file.

    Parameters
    ----------
    path : the file, at most `yaml_lines.MAX_BYTES` long
    today : datetime.date, optional
        Day the survey may not be later than; the latest day anywhere on earth if not given.

    Raises
    ------
    FaultyInput : with every fault found: line, field, what was read, what is wanted, how to mend it
    """
    return read_with_lines(path, today).record


def read_with_lines(path: str | Path, today: datetime.date | None = None) -> ReadRecord:
    """As `read_record`, keeping the lines, so that later findings can name them too."""
    return record_of(load_nodes(file_text(path)), str(path), today)


def read_text(text: str, source: str = "record", today: datetime.date | None = None) -> Record:
    """Read a record from text; `source` names it in messages. Otherwise as `read_record`.

    Raises
    ------
    FaultyInput : with every fault; also for a text too large to be a record
    """
    if len(text) > MAX_BYTES:
        raise FaultyInput(source, [_too_large()])
    return record_of(load_nodes(text), source, today).record


def record_of(document: Document, source: str, today: datetime.date | None = None) -> ReadRecord:
    """The record in a document, whatever it was loaded from.

    Parameters
    ----------
    document : whole, or as much of it as could be read
    source : names it in messages
    today : as for `read_record`

    Raises
    ------
    FaultyInput : with the document's own faults and all that the record's fields and their agreement add
    """
    root = without_blanks(document.root)
    if not isinstance(root.value, dict):
        raise FaultyInput(source, document.faults or [_not_a_record(root)])
    faults = list(document.faults)
    record = None
    try:
        record = Record.model_validate(root.plain())
    except ValidationError as error:
        faults += _field_faults(error, root, document)
    if document.open_path is None:
        faults += disagreements(root, today)
    if faults or record is None:
        raise FaultyInput(source, _in_reason(_once_each(faults)))
    return ReadRecord(record, source, root)


def _field_faults(error: ValidationError, root: Node, document: Document) -> list[Fault]:
    errors = error.errors(include_url=False)
    found = faults_of(errors + _errors_of_unknown_kinds(errors), root)
    broken = document.open_path
    if broken is None:
        # a size that was read and is refused all the same is beyond what its field takes
        slips = {slip.path: likelier(slip) for slip in size_doubts(root.plain())}
        return [replace(fault, mend=slips.get(path) or fault.mend) for path, _, fault in found]
    # the part the grammar broke in is unfinished: what it lacks may well follow
    return [
        fault for path, kind, fault in found
        if path != document.last_path and not _unfinished(path[:-1] if kind == "missing" else path, broken)
    ]


def _errors_of_unknown_kinds(errors: list[ErrorDetails]) -> list[ErrorDetails]:
    """Errors inside anchors whose kind is missing or misspelt, read as the kind that knows most of their keys."""
    more: list[ErrorDetails] = []
    for error in errors:
        anchor = error.get("input")
        if not error["type"].startswith("union_tag") or not isinstance(anchor, dict):
            continue
        kind = max(ANCHOR_KINDS, key=lambda kind: len(set(anchor) & set(ANCHOR_KINDS[kind].model_fields)))
        try:
            ANCHOR_KINDS[kind].model_validate({**anchor, "kind": kind})
        except ValidationError as inner:
            more += [{**one, "loc": (*error["loc"], kind, *one["loc"])} for one in inner.errors(include_url=False)]
    return more


def _unfinished(path: Steps, open_path: Steps) -> bool:
    return path == open_path[: len(path)]


def _once_each(faults: list[Fault]) -> list[Fault]:
    """Faults without those a parser's own finding already explains: the same field on the same line."""
    kept: dict[tuple[int, str], list[Fault]] = {}
    for fault in faults:
        same_place = kept.setdefault((fault.line, fault.field), [])
        if not any(earlier.read == fault.read and earlier.wanted == fault.wanted for earlier in same_place):
            same_place.append(fault)
    return [fault for same_place in kept.values() for fault in same_place]


def _in_reason(faults: list[Fault]) -> list[Fault]:
    """The first faults of very many: a file of another kind should not answer with a hundred thousand sentences."""
    if len(faults) <= MAX_FAULTS:
        return faults
    kept = sorted(faults)[:MAX_FAULTS]
    read = worded("read-more-faults", count=len(faults) - MAX_FAULTS)
    return [*kept, Fault(kept[-1].line, worded("the-rest"), read, worded("a-record"), worded("mend-those-above"))]


def without_blanks(root: Node) -> Node:
    """A copy without keys left blank and blocks of nothing but such keys, as a form only part filled leaves them.

    The land manager's own rules are kept as typed, since their form is not the record's.
    """
    return _pruned(root, ()) or Node(root.line, None)


def _pruned(node: Node, path: Steps) -> Node | None:
    if path == ("site", "rules"):
        return node
    if isinstance(node.value, dict):
        kept = {key: left for key, child in node.value.items() if (left := _pruned(child, (*path, key))) is not None}
        blanks = {key: child.line for key, child in node.value.items() if key not in kept}
        # site and survey stay even when blank, so that each thing they lack is named on its own line
        return Node(node.line, kept, blanks) if kept or not node.value or len(path) <= 1 else None
    if isinstance(node.value, list):
        items = [left for child in node.value if (left := _pruned(child, (*path, 0))) is not None]
        return Node(node.line, items) if items or not node.value else None
    return None if node.value is None else node


def file_text(path: str | Path) -> str:
    """Text of a file that may be anything.

    Parameters
    ----------
    path : of the file

    Raises
    ------
    FaultyInput : no such file, a folder, unreadable, too large, or not UTF-8
    """
    try:
        data = read_at_most(path, MAX_BYTES + 1)
    except (OSError, ValueError) as error:
        raise FaultyInput(str(path), [_not_opened(error)]) from None
    if len(data) > MAX_BYTES:
        raise FaultyInput(str(path), [_too_large()])
    try:
        return data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = data.count(b"\n", 0, error.start) + 1
        byte = worded("read-byte", byte=f"0x{data[error.start]:02X}")
        where, wanted, mend = worded("the-characters"), worded("want-utf-8"), worded("mend-utf-8")
        raise FaultyInput(str(path), [Fault(line, where, byte, wanted, mend)]) from None


def _not_opened(error: Exception) -> Fault:
    codes: dict[type[Exception], tuple[str, str]] = {
        FileNotFoundError: ("read-no-file", "mend-name-and-folder"),
        IsADirectoryError: ("read-a-folder", "mend-record-inside"),
        PermissionError: ("read-file-forbidden", "mend-ask-right"),
        TimeoutError: ("read-silent-pipe", "mend-silent-pipe"),
    }
    read, mend = codes.get(type(error), ("read-file-unopened", "mend-name-and-folder"))
    return Fault(0, worded("the-file"), worded(read), worded("want-yaml-record"), worded(mend))


def _too_large() -> Fault:
    wanted = worded("want-bytes-most", most=MAX_BYTES / 1e6)
    return Fault(0, worded("the-file"), worded("read-larger-file"), wanted, worded("mend-split-with-photos"))


def _not_a_record(root: Node) -> Fault:
    code = "read-nothing" if root.value is None else "a-list" if isinstance(root.value, list) else "read-one-text"
    wanted, mend = worded("want-record-block"), worded("mend-write-fresh")
    return Fault(root.line, worded("the-record"), worded(code), wanted, mend)
