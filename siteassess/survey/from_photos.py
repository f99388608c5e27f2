"""Geotagged photos as rows: where the camera stood, when, and which way it looked, as the photo itself says.

The camera stood beside the tree, not in it: its place is that of a photo, with the error the phone gives, if any.
"""

from __future__ import annotations

import math
import warnings
from pathlib import Path
from typing import Any

from siteassess.errors import FaultyInput, refused
from siteassess.reference.findings import worded

PHOTO_ENDINGS = {".jpg", ".jpeg", ".tif", ".tiff", ".png", ".webp", ".heic"}
LARGEST_PHOTO_BYTES = 100_000_000
_GPS_PART, _CAMERA_PART = 0x8825, 0x8769  # where EXIF keeps what a receiver and what the camera say
_LAT_REF, _LAT, _LON_REF, _LON, _LOOKS_REF, _LOOKS, _ERROR = 1, 2, 3, 4, 16, 17, 31
_TAKEN, _DATE = 0x9003, 0x0132


def photo_row(path: Path) -> dict[str, str]:
    """What a photo says of where and when it was taken, as a row of an inventory.

    Parameters
    ----------
    path : of the photo

    Raises
    ------
    FaultyInput : no photo, one too large, or one without a position.
    """
    if path.stat().st_size > LARGEST_PHOTO_BYTES:
        raise refused(path.name, worded("the-file"), path.stat().st_size,
                      worded("want-bytes-most", most=LARGEST_PHOTO_BYTES / 1e6))  # fmt: skip
    gps, camera, base = _exif(path)
    lat, lon = _degrees(gps.get(_LAT), gps.get(_LAT_REF)), _degrees(gps.get(_LON), gps.get(_LON_REF))
    if math.isnan(lat) or math.isnan(lon):
        raise refused(path.name, worded("the-position"), worded("read-photo-without-place"), worded("want-geotag"),
                      worded("mend-geotag"))  # fmt: skip
    row = {"latitude": repr(lat), "longitude": repr(lon), "photo": path.name}
    error, looks = _number(gps.get(_ERROR)), _number(gps.get(_LOOKS))
    if error > 0:
        row["accuracy_m"] = f"{error:.6g}"
    if 0 <= looks <= 360:
        north = {"T": "true", "M": "magnetic"}.get(_text(gps.get(_LOOKS_REF)).upper()[:1], "")
        row["looks_deg"], row["looks_north"] = f"{looks % 360:.4g}", north
    if taken := _taken(camera.get(_TAKEN) or base.get(_DATE)):
        row["seen"] = taken
    return row


def _exif(path: Path) -> tuple[Any, Any, Any]:
    """EXIF of a photo: of its receiver, its camera, and the rest; the picture itself is not unpacked."""
    from PIL import Image, UnidentifiedImageError

    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            with Image.open(path) as photo:
                exif = photo.getexif()
                return exif.get_ifd(_GPS_PART), exif.get_ifd(_CAMERA_PART), exif
    except (UnidentifiedImageError, OSError, ValueError, SyntaxError, TypeError, KeyError,
            Image.DecompressionBombError):  # fmt: skip
        raise _no_photo(path) from None


def _no_photo(path: Path) -> FaultyInput:
    return refused(path.name, worded("the-file"), worded("read-no-photo"), worded("want-photo"))


def _degrees(parts: Any, letter: Any) -> float:
    """Degrees of a triple of degrees, minutes and seconds; NaN for anything else."""
    try:
        whole, minutes, seconds = (float(part) for part in parts)
    except (TypeError, ValueError, ZeroDivisionError):
        return math.nan
    value = whole + minutes / 60 + seconds / 3600
    sign = {"N": 1, "E": 1, "S": -1, "W": -1}.get(_text(letter).upper()[:1])
    # without its letter nobody knows the side of the equator or of Greenwich
    return math.nan if sign is None or not math.isfinite(value) else round(sign * value, 7)


def _number(value: Any) -> float:
    try:
        return float(value)
    except (TypeError, ValueError, ZeroDivisionError):
        return math.nan


def _text(value: Any) -> str:
    if isinstance(value, bytes):
        return value.decode("ascii", "ignore").strip("\0 ")
    return str(value or "").strip("\0 ")


def _taken(value: Any) -> str:
    """Day and time as a photo has them, "2026:05:01 10:12:33", with the day as a record writes it; '' for others."""
    day, _, clock = _text(value).partition(" ")
    parts = day.split(":")
    if len(parts) != 3 or not all(part.isdigit() for part in parts) or not int(parts[0]):
        return ""
    return f"{'-'.join(parts)} {clock}".strip()
