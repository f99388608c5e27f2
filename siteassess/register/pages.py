"""Rows out of the pages of a damaged SQLite file, without SQLite: it stops where the tree over the pages is broken.

Every page is taken for a leaf of a table if it looks like one, whatever points at it. What comes out may be old, half
or wrong: it counts only for somebody who can check it, as entries and photos can by the hash they are named by.

References
----------
1. SQLite, Database File Format, sections 1.3, 1.6 and 2.1 (memory): header, leaf pages, overflow, records. Checked
   against what SQLite reads out of whole files.
"""

from __future__ import annotations

from collections.abc import Iterator

_TABLE_LEAF = 0x0D
_INTEGER_BYTES = {1: 1, 2: 2, 3: 3, 4: 4, 5: 6, 6: 8}
USUAL_PAGE_SIZE = 4096


def leaf_rows(raw: bytes) -> Iterator[list[bytes | int | None]]:
    """The columns of every row that any leaf page of a table holds; texts and blobs as bytes, reals as their bytes."""
    for size, reserved in _page_sizes(raw):
        for number in range(-(-len(raw) // size)):
            page = raw[number * size : (number + 1) * size]
            start = 100 if number == 0 else 0
            if len(page) < start + 8 or page[start] != _TABLE_LEAF:
                continue
            yield from _rows_on(raw, page, start, size, reserved)


def _page_sizes(raw: bytes) -> list[tuple[int, int]]:
    """Page sizes to try with the bytes kept free at each page's end: what the file says, and the usual one."""
    said = int.from_bytes(raw[16:18], "big")
    said = 65536 if said == 1 else said
    found = {(USUAL_PAGE_SIZE, 0): None}
    if 512 <= said <= 65536 and said & (said - 1) == 0 and len(raw) > 20 and raw[20] <= 32:
        found = {(said, raw[20]): None} | found
    return list(found)


def _rows_on(raw: bytes, page: bytes, start: int, size: int, reserved: int) -> Iterator[list[bytes | int | None]]:
    count = int.from_bytes(page[start + 3 : start + 5], "big")
    for index in range(min(count, size // 4)):
        at = start + 8 + 2 * index
        try:
            payload = _payload(raw, page, int.from_bytes(page[at : at + 2], "big"), size, size - reserved)
            yield _columns(payload)
        except (IndexError, ValueError):
            continue


def _payload(raw: bytes, page: bytes, at: int, size: int, usable: int) -> bytes:
    length, at = _varint(page, at)
    _, at = _varint(page, at)
    most, least = usable - 35, (usable - 12) * 32 // 255 - 23
    if length <= most:
        return page[at : at + length]
    here = least + (length - least) % (usable - 4)
    here = least if here > most else here
    pieces, left = [page[at : at + here]], length - here
    onward = int.from_bytes(page[at + here : at + here + 4], "big")
    seen = set()
    while left > 0:
        if onward in seen or not 0 < onward <= len(raw) // size + 1:
            raise ValueError("a chain of pages that leads nowhere")
        seen.add(onward)
        more = raw[(onward - 1) * size : (onward - 1) * size + usable]
        pieces.append(more[4 : 4 + left])
        if not pieces[-1]:
            raise ValueError("a page that is not there")
        left -= len(pieces[-1])
        onward = int.from_bytes(more[:4], "big")
    return b"".join(pieces)


def _columns(payload: bytes) -> list[bytes | int | None]:
    end, at = _varint(payload, 0)
    if not 0 < end <= len(payload):
        raise ValueError("a row whose head is longer than it")
    kinds = []
    while at < end:
        kind, at = _varint(payload, at)
        kinds.append(kind)
    columns: list[bytes | int | None] = []
    at = end
    for kind in kinds:
        length = (kind - 12) // 2 if kind >= 12 else _INTEGER_BYTES.get(kind, 8 if kind == 7 else 0)
        value = payload[at : at + length]
        at += length
        if kind >= 12 or kind == 7:
            columns.append(value)
        elif kind in _INTEGER_BYTES:
            columns.append(int.from_bytes(value, "big", signed=True))
        else:
            columns.append({8: 0, 9: 1}.get(kind))
    return columns


def _varint(data: bytes, at: int) -> tuple[int, int]:
    value = 0
    for step in range(9):
        byte = data[at + step]
        if step == 8:
            return (value << 8) | byte, at + 9
        value = (value << 7) | (byte & 0x7F)
        if byte < 0x80:
            return value, at + step + 1
    raise ValueError("no number")
