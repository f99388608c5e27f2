"""What is refused at the door: texts, sizes and shapes that have no business in a register.

A register is handed from group to group, opened in browsers, spreadsheets and map programs. So no text in it may
carry markup, control characters or marks that turn the reading direction round, whatever program shows it later.
"""

from __future__ import annotations

import re
from dataclasses import replace
from pathlib import Path
from typing import Any

from siteassess.errors import Fault, FaultyInput, refused
from siteassess.records.characters import forbidden_character
from siteassess.reference.findings import worded
from siteassess.units import show

MAX_TEXT = 20_000
MAX_ENTRY_DEPTH = 24
MAX_NODES = 200_000
MAX_FILE_BYTES = 64 * 1024 * 1024

# "<3 m" is plain talk; "<b", "</", "<!", "<?" begin markup
_MARKUP = re.compile(r"<\s*[A-Za-z/!?]|javascript\s*:|&#x?[0-9A-Fa-f]+;", re.IGNORECASE)
# what markup, escapes and links cannot do without; capitals too
_SUSPECT = re.compile(r"<|&#|\\[ubfr]|javascript|NaN|Infinity", re.IGNORECASE)
_OUTLINE = re.compile(r'"(?:[^"\\]|\\.)*"|[\[\]{}]')


def text_fault(text: str, where: str) -> Fault | None:
    """Why a text is refused, or None."""
    shown = ascii(text[:60])
    if len(text) > MAX_TEXT:
        read, wanted = worded("rg-read-characters", count=len(text)), worded("want-at-most", limit=MAX_TEXT)
        return Fault(0, where, read, wanted, worded("rg-mend-shorten"))
    if _MARKUP.search(text):
        return Fault(0, where, shown, worded("rg-want-plain-text"), worded("rg-mend-in-words"))
    if bad := forbidden_character(text):
        read = worded("read-character", name=bad)
        return Fault(0, where, read, worded("rg-want-no-controls"), worded("mend-delete"))
    return None


def plainly_harmless(content: str) -> bool:
    """Whether a JSON text cannot hold anything `refuse_hostile` refuses, seen from its letters alone.

    A quick look that spares most entries the walk through every text; False only means: look closer.
    """
    if len(content) > MAX_TEXT or _SUSPECT.search(content) or forbidden_character(content):
        return False
    depth = deepest = 0
    for mark in _OUTLINE.findall(content):
        if mark in "[{":
            depth += 1
            deepest = max(deepest, depth)
        elif mark in "]}":
            depth -= 1
    return deepest < MAX_ENTRY_DEPTH


def refuse_hostile(value: Any, source: str) -> None:
    """Raise if any text, key or shape inside a JSON-like value is refused.

    Raises
    ------
    FaultyInput : every refused text with its place, or the first shape that is too deep or too large.
    """
    faults: list[Fault] = []
    todo: list[tuple[Any, str, int]] = [(value, "", 0)]
    nodes = 0
    while todo:
        item, where, depth = todo.pop()
        nodes += 1
        if depth > MAX_ENTRY_DEPTH or nodes > MAX_NODES:
            where = where or worded("rg-the-content")
            raise refused(source, where, worded("rg-read-too-deep"), worded("rg-want-plain-record"))
        if isinstance(item, str):
            if found := text_fault(item, where):
                faults.append(found if where else replace(found, field=worded("the-text")))
        elif isinstance(item, dict):
            for key, part in item.items():
                if not isinstance(key, str):
                    raise refused(source, where, repr(key), worded("rg-want-text-as-key"))
                if found := text_fault(key, where):
                    of = worded("rg-a-key-of", where=where) if where else worded("rg-a-key")
                    faults.append(replace(found, field=of))
                todo.append((part, f"{where}.{key}".lstrip("."), depth + 1))
        elif isinstance(item, (list, tuple)):
            todo.extend((part, f"{where}[{index}]", depth + 1) for index, part in enumerate(item))
        elif isinstance(item, float) and item - item != 0:
            faults.append(Fault(0, where, str(item), worded("rg-want-finite")))
        elif not (item is None or isinstance(item, (bool, int, float))):
            faults.append(Fault(0, where, type(item).__name__, worded("rg-want-plain-values")))
    if faults:
        raise FaultyInput(source, faults)


def read_bytes(path: Path, limit: int = MAX_FILE_BYTES) -> bytes:
    """The bytes of a file that is not too large; its size is looked at before a byte is read.

    Parameters
    ----------
    path : of the file
    limit : largest size accepted [bytes]

    Raises
    ------
    FaultyInput : no such file, not a plain file, or larger than the limit.
    """
    path = Path(path)
    if not path.is_file():
        raise nothing_there(path)
    size = path.stat().st_size
    if size > limit:
        raise _too_large(path, show(size, "MB 0"), limit, worded("rg-mend-right-file"))
    with path.open("rb") as source:
        # a file may grow between the look and the reading
        data = source.read(limit + 1)
    if len(data) > limit:
        raise _too_large(path, worded("rg-read-growing"), limit)
    return data


def guarded_text(path: Path, limit: int = MAX_FILE_BYTES) -> str:
    """The UTF-8 text of a file, a leading byte-order mark taken off.

    Parameters
    ----------
    path : of the file
    limit : largest size accepted [bytes]

    Raises
    ------
    FaultyInput : as `read_bytes`, or bytes that are not UTF-8.
    """
    data = read_bytes(path, limit)
    try:
        return data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        read = worded("rg-read-no-utf-8-byte", at=error.start)
        wanted, mend = worded("rg-want-utf-8"), worded("rg-mend-utf-8")
        raise refused(Path(path).name, worded("the-text"), read, wanted, mend) from None


def nothing_there(path: Path) -> FaultyInput:
    """The error for a file that is not there."""
    return refused(path.name, worded("the-file"), worded("read-no-file"), worded("want-readable-file"))


def _too_large(path: Path, read: str, limit: int, mend: str = "") -> FaultyInput:
    wanted = worded("want-at-most", limit=show(limit, "MB 0"))
    return refused(path.name, worded("rg-the-file-size"), read, wanted, mend)
