"""A file's head: its encoding, the row in which columns are named, and which sheet of a workbook has them."""

from __future__ import annotations

import codecs
import re
import zipfile
from collections.abc import Sequence
from html import unescape
from pathlib import Path

from siteassess.reference.findings import Said, said
from siteassess.survey.mapping import column_key

INVENTORY_DELIMITERS = (",", ";", "\t", "|")
HEADER_WITHIN = 12  # rows of a file in which the names of its columns are looked for (judgement)
_SHEET = re.compile(r"<\s*(?:\w+:)?sheet\s[^>]*>")
_NAME, _HIDDEN = re.compile(r"\bname=[\"']([^\"']*)"), re.compile(r"\bstate=[\"'](?:hidden|veryHidden)")


def find_encoding(path: Path) -> tuple[str, Said]:
    """Encoding of a text file by its mark, or by trying its first megabyte, and why."""
    with path.open("rb") as stream:
        head = stream.read(1 << 20)
    if head.startswith(codecs.BOM_UTF8):
        return "utf-8-sig", said("ds-by-mark", encoding="UTF-8")
    if head.startswith((codecs.BOM_UTF16_LE, codecs.BOM_UTF16_BE)):
        return "utf-16", said("ds-by-mark", encoding="UTF-16")
    if 0 in head[:2]:  # every other byte, of a text in letters of the west
        return ("utf-16-be" if head[0] == 0 else "utf-16-le"), said("ds-by-zeros")
    try:
        codecs.getincrementaldecoder("utf-8")().decode(head)
        return "utf-8", said("ds-reads-as-utf-8")
    except UnicodeDecodeError as error:
        return "cp1252", said("ds-is-no-utf-8", byte=error.start)


def parted(line: str, after: str) -> list[str]:
    """Cells of a line if the next one is parted alike, as a title of words and commas is not.

    Parameters
    ----------
    line, after : of a file's head
    """
    mark = max(INVENTORY_DELIMITERS, key=line.count)
    return line.split(mark) if mark in after and not line.startswith("sep=") else []


def named_apart(names: Sequence[str]) -> list[str]:
    """Names of columns of which none is given twice: a second "dbh" is "dbh 2", and is read and noted as well.

    Two names are one where case, blanks and marks alone part them, since columns are looked for without these.

    Parameters
    ----------
    names : as the file has them; blank ones stay
    """
    given = {_key(name) for name in names}
    apart: list[str] = []
    taken = set[str]()
    for name in names:
        number, own = 2, name
        while own and (_key(own) in taken or (own != name and _key(own) in given)):
            own, number = f"{name} {number}", number + 1
        apart.append(own)
        taken.add(_key(own))
    return apart


def _key(name: str) -> str:
    return column_key(name) or name  # "%" and "#" are two names


def header_row(rows: Sequence[Sequence[object]]) -> int:
    """Place of the first row with two filled cells, below a title or blank rows; 0 where none is.

    Parameters
    ----------
    rows : at the head of a file
    """
    filled = (sum(cell is not None and cell == cell and str(cell).strip() != "" for cell in row) for row in rows)
    return next((at for at, count in enumerate(filled) if count > 1), 0)


def first_table(path: Path, layers: Sequence[str]) -> tuple[str, list[list[str]]]:
    """The first sheet in sight whose head names columns, and its rows from the top, where the first is no header.

    Parameters
    ----------
    path : of the workbook
    layers : its sheets

    Returns
    -------
    Name of the sheet; its rows from the first on, or none where the names of its columns stand on top.
    """
    seen = [layer for layer in layers if layer not in _hidden(path)] or list(layers)
    for layer in seen:
        rows = _rows(path, layer, HEADER_WITHIN)
        if any(sum(cell != "" for cell in row) > 1 for row in rows):
            return layer, _rows(path, layer) if header_row(rows) else []
    return seen[0], []


def _hidden(path: Path) -> set[str]:
    """Names of sheets that a spreadsheet program does not show; of an XLSX alone."""
    try:
        with zipfile.ZipFile(path) as archive:
            text = archive.read("xl/workbook.xml").decode("utf-8", "replace")
    except (KeyError, OSError, zipfile.BadZipFile):
        return set()
    return {unescape(name[1]) for tag in _SHEET.findall(text) if _HIDDEN.search(tag) and (name := _NAME.search(tag))}


def _rows(path: Path, layer: str, most: int | None = None) -> list[list[str]]:
    import pyogrio

    if not len(pyogrio.read_info(path, layer=layer, HEADERS="DISABLE")["fields"]):
        return []
    _, _, _, fields = pyogrio.raw.read(path, layer=layer, max_features=most, read_geometry=False, HEADERS="DISABLE",
                                       FIELD_TYPES="STRING")  # fmt: skip
    return [["" if cell is None or cell != cell else str(cell) for cell in row] for row in zip(*fields)]
