"""Photos: is it one, and its picture alone.

A phone writes into a photo where and when it was taken, with what, often a second small picture, sometimes a film
after the end. Only what draws the picture is kept, plus which way is up. What stays is written anew part by part, so
nothing else can ride along.

References
----------
1. ITU-T T.81 (1992), annex B: markers of a JPEG file (memory).
2. W3C, Portable Network Graphics, third edition: chunks and their check sums (memory).
3. CIPA DC-008 Exif 2.32: orientation is tag 0x0112 (memory). All checked against a second reader in the tests.
"""

from __future__ import annotations

import hashlib
import io
import struct
import warnings
import zlib
from dataclasses import dataclass

from siteassess.errors import FaultyInput, refused
from siteassess.reference.findings import worded
from siteassess.units import show

MAX_PHOTO_BYTES = 30 * 1024 * 1024
MAX_PIXELS = 120_000_000

_PNG_HEAD = b"\x89PNG\r\n\x1a\n"
# chunks that draw; all others (texts, times, profiles, Exif) go
_PNG_KEPT = frozenset((b"IHDR", b"PLTE", b"IDAT", b"IEND", b"tRNS", b"gAMA", b"cHRM", b"sRGB", b"sBIT"))
# tables, frames, scans, restart intervals; APP14 says how colours are stored
_JPEG_KEPT = frozenset((0xC0, 0xC1, 0xC2, 0xC4, 0xDB, 0xDD, 0xDA))
_ADOBE, _EXIF_MARK = 0xEE, 0xE1


@dataclass(frozen=True)
class KeptPhoto:
    """A photo of nothing but its picture, named by the hash of its bytes."""

    data: bytes
    media_type: str

    @property
    def sha256(self) -> str:
        return hashlib.sha256(self.data).hexdigest()

    @property
    def suffix(self) -> str:
        return ".jpg" if self.media_type == "image/jpeg" else ".png"


def stripped(data: bytes, source: str = "") -> KeptPhoto:
    """The picture of a JPEG or PNG photo and which way is up, nothing else.

    Parameters
    ----------
    data : bytes of the file
    source : its name, for faults

    Raises
    ------
    FaultyInput : the bytes are no whole JPEG or PNG picture, or too large a one.

    Notes
    -----
    A colour profile goes too: wide-gamut photos look a little duller. Stripping twice changes nothing more.
    """
    if len(data) > MAX_PHOTO_BYTES:
        raise _refused(source, show(len(data), "MB 0"), worded("want-at-most", limit=show(MAX_PHOTO_BYTES, "MB 0")))
    try:
        if data.startswith(b"\xff\xd8\xff"):
            photo = KeptPhoto(_strip_jpeg(data), "image/jpeg")
        elif data.startswith(_PNG_HEAD):
            photo = KeptPhoto(_strip_png(data), "image/png")
        else:
            raise _refused(source, worded("rg-read-first-bytes", bytes=repr(data[:8])), worded("rg-want-a-photo"))
    except (struct.error, IndexError, ValueError) as error:
        read = worded("rg-read-broken-picture", error=error.args[0])
        raise _refused(source, read, worded("rg-want-whole-jpeg-or-png")) from None
    _draw_whole(photo, source)
    return photo


def _draw_whole(photo: KeptPhoto, source: str) -> None:
    """Draw the picture to its last row: what cannot be drawn is no photo."""
    from PIL import Image

    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore", Image.DecompressionBombWarning)
            with Image.open(io.BytesIO(photo.data), formats=("JPEG", "PNG")) as picture:
                width, height = picture.size
                if width * height > MAX_PIXELS:
                    read = worded("rg-read-points", width=width, height=height)
                    raise _refused(source, read, worded("rg-want-million", most=f"{MAX_PIXELS / 1e6:.0f}"))
                picture.load()
    except FaultyInput:
        raise
    except Exception as error:
        read = worded("rg-read-undrawn-picture", error=type(error).__name__)
        raise _refused(source, read, worded("rg-want-whole-photo")) from None


def _strip_jpeg(data: bytes) -> bytes:
    out = [b"\xff\xd8"]
    up = 1
    at = 2
    while True:
        if data[at] != 0xFF:
            raise ValueError(worded("rg-no-marker"))
        while data[at] == 0xFF:
            at += 1
        marker = data[at]
        at += 1
        if marker == 0xD9:
            break
        (length,) = struct.unpack_from(">H", data, at)
        if length < 2 or at + length > len(data):
            raise ValueError(worded("rg-part-too-long"))
        part = data[at + 2 : at + length]
        at += length
        if marker == _EXIF_MARK and part.startswith(b"Exif\0\0"):
            up = _orientation(part[6:]) or up
        elif marker in _JPEG_KEPT:
            out.append(b"\xff" + bytes([marker]) + struct.pack(">H", length) + part)
        elif marker == _ADOBE and part.startswith(b"Adobe") and len(part) >= 12:
            out.append(b"\xff\xee" + struct.pack(">H", 14) + part[:12])
        if marker == 0xDA:
            at = _copy_scan(data, at, out)
    if up != 1:
        out.insert(1, _only_orientation(up))
    return b"".join([*out, b"\xff\xd9"])


def _copy_scan(data: bytes, at: int, out: list[bytes]) -> int:
    """Copy coded picture data up to the next marker that is not part of it."""
    start = at
    while True:
        at = data.index(b"\xff", at)
        after = data[at + 1]
        if after == 0xFF:
            # fill bytes before a marker
            at += 1
        elif after == 0 or 0xD0 <= after <= 0xD7:
            at += 2
        else:
            out.append(data[start:at])
            return at


def _orientation(tiff: bytes) -> int | None:
    order = {b"II": "<", b"MM": ">"}.get(tiff[:2])
    if order is None:
        return None
    try:
        (start,) = struct.unpack_from(f"{order}I", tiff, 4)
        (count,) = struct.unpack_from(f"{order}H", tiff, start)
        for index in range(min(count, 500)):
            tag, kind, _number, value = struct.unpack_from(f"{order}HHIH", tiff, start + 2 + 12 * index)
            if tag == 0x0112 and kind == 3 and 1 <= value <= 8:
                return int(value)
    except struct.error:
        return None
    return None


def _only_orientation(up: int) -> bytes:
    tiff = b"MM\0*" + struct.pack(">IHHHIHHI", 8, 1, 0x0112, 3, 1, up, 0, 0)
    part = b"Exif\0\0" + tiff
    return b"\xff\xe1" + struct.pack(">H", len(part) + 2) + part


def _strip_png(data: bytes) -> bytes:
    out = [_PNG_HEAD]
    at = len(_PNG_HEAD)
    first = True
    while True:
        length, kind = struct.unpack_from(">I4s", data, at)
        body = data[at + 8 : at + 8 + length]
        (check,) = struct.unpack_from(">I", data, at + 8 + length)
        if len(body) != length or zlib.crc32(kind + body) != check:
            raise ValueError(worded("rg-check-sum-unfit"))
        if first and kind != b"IHDR":
            raise ValueError(worded("rg-no-header"))
        first = False
        if kind in _PNG_KEPT:
            out.append(data[at : at + 12 + length])
        at += 12 + length
        if kind == b"IEND":
            return b"".join(out)


def _refused(source: str, read: str, wanted: str) -> FaultyInput:
    return refused(source or worded("rg-a-photo"), worded("rg-a-photo"), read, wanted, worded("rg-mend-save-photo"))
