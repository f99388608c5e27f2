"""Photos in a paper: drawn anew and small, so that no place, time or device rides along; else only named."""

from __future__ import annotations

import base64
import io
from dataclasses import dataclass
from pathlib import Path

from siteassess.errors import FaultyInput
from siteassess.records.files import beside
from siteassess.records.record import Record
from siteassess.reference.pages import plain
from siteassess.register.photos import stripped

MOST_SHOWN_BYTES = 12_000_000
LONGEST_EDGE = 900
MOST_SHOWN = 16  # of one paper; the others are named


@dataclass(frozen=True)
class ShownPhoto:
    """One photo of an anchor; `source` is a data address, or None where it is only named."""

    name: str
    shows: str
    anchor: str
    source: str | None


def photos_of(record: Record, folder: Path | None, codes: set[str] | None = None) -> list[ShownPhoto]:
    """Photos of a record's anchors.

    Parameters
    ----------
    record : its anchors may have photos
    folder : where it lies; None shows none and names all
    codes : anchors wanted; None takes all
    """
    found: list[ShownPhoto] = []
    for anchor in record.anchors:
        if codes is not None and anchor.code not in codes:
            continue
        for photo in anchor.photos:
            room = sum(1 for earlier in found if earlier.source) < MOST_SHOWN
            source = _beside(folder, photo.path) if folder is not None and room else None
            found.append(ShownPhoto(plain(photo.path), plain(photo.shows or ""), anchor.code, source))
    return found


def _beside(folder: Path, path: str) -> str | None:
    """The photo as a data address; None for what is not there, lies elsewhere, is too large or is no photo."""
    try:
        file = beside(folder, path)
        if file is None or not file.is_file() or file.stat().st_size > MOST_SHOWN_BYTES:
            return None
        return small_picture(file.read_bytes())
    except (OSError, ValueError):
        return None


def small_picture(data: bytes) -> str | None:
    """A JPEG or PNG photo drawn anew at a modest size, as a data address; None where it is no photo."""
    from PIL import Image, ImageOps  # only where a record has photos

    try:
        clean = stripped(data)
    except FaultyInput:
        return None
    with Image.open(io.BytesIO(clean.data), formats=("JPEG", "PNG")) as picture:
        upright = ImageOps.exif_transpose(picture).convert("RGB")
    upright.thumbnail((LONGEST_EDGE, LONGEST_EDGE))
    drawn = io.BytesIO()
    upright.save(drawn, "JPEG", quality=82)
    return "data:image/jpeg;base64," + base64.b64encode(drawn.getvalue()).decode("ascii")
