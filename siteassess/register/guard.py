"""What is refused at the door: texts, sizes and shapes that have no business in a register.

A register is handed from group to group, opened in browsers, spreadsheets and map programs. So no text in it may
carry markup, control characters or marks that turn the reading direction round, whatever program shows it later.
"""

from __future__ import annotations

import re
from pathlib import Path
from typing import Any

from siteassess.errors import Fault, FaultyInput
from siteassess.records.characters import forbidden_character
from siteassess.units import show

MAX_TEXT = 20_000
MAX_DEPTH = 24
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
        return Fault(0, where, f"{len(text)} characters", f"at most {MAX_TEXT}", "Shorten it.")
    if _MARKUP.search(text):
        return Fault(0, where, shown, "plain text without HTML, SVG or other markup", "Write it in words.")
    if bad := forbidden_character(text):
        return Fault(0, where, f"the character {bad}", "no control characters or direction marks", "Delete it.")
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
    return deepest < MAX_DEPTH


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
        if depth > MAX_DEPTH or nodes > MAX_NODES:
            raise FaultyInput(source, [Fault(0, where or "content", "nested too deep or too large", "a plain record")])
        if isinstance(item, str):
            if found := text_fault(item, where or "text"):
                faults.append(found)
        elif isinstance(item, dict):
            for key, part in item.items():
                if not isinstance(key, str):
                    raise FaultyInput(source, [Fault(0, where, repr(key), "text as a key")])
                if found := text_fault(key, f"{where} key".strip()):
                    faults.append(found)
                todo.append((part, f"{where}.{key}".lstrip("."), depth + 1))
        elif isinstance(item, (list, tuple)):
            todo.extend((part, f"{where}[{index}]", depth + 1) for index, part in enumerate(item))
        elif isinstance(item, float) and item - item != 0:
            faults.append(Fault(0, where, str(item), "a finite number"))
        elif not (item is None or isinstance(item, (bool, int, float))):
            faults.append(Fault(0, where, type(item).__name__, "text, number, list or mapping"))
    if faults:
        raise FaultyInput(source, faults)


def read_bytes(path: Path, limit: int = MAX_FILE_BYTES) -> bytes:
    """The bytes of a file that is not too large; its size is looked at before a byte is read.

    Parameters
    ----------
    limit : largest size accepted [bytes]

    Raises
    ------
    FaultyInput : no such file, not a plain file, or larger than the limit.
    """
    path = Path(path)
    if not path.is_file():
        raise FaultyInput(path.name, [Fault(0, "file", "nothing there", "a file that can be read")])
    size = path.stat().st_size
    if size > limit:
        raise FaultyInput(
            path.name,
            [Fault(0, "file size", show(size, "MB 0"), f"at most {show(limit, 'MB 0')}", "Is this the right file?")],
        )
    with path.open("rb") as source:
        # a file may grow between the look and the reading
        data = source.read(limit + 1)
    if len(data) > limit:
        raise FaultyInput(path.name, [Fault(0, "file size", "growing", f"at most {show(limit, 'MB 0')}")])
    return data


def read_text(path: Path, limit: int = MAX_FILE_BYTES) -> str:
    """The UTF-8 text of a file, a leading byte-order mark taken off.

    Raises
    ------
    FaultyInput : as `read_bytes`, or bytes that are not UTF-8.
    """
    data = read_bytes(path, limit)
    try:
        return data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        raise FaultyInput(
            Path(path).name, [Fault(0, "text", f"byte {error.start} is not UTF-8", "UTF-8 text", "Save it as UTF-8.")]
        ) from None
