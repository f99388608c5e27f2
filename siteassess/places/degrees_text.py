"""Latitude and longitude in degrees, with or without minutes and seconds, from text."""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import NoReturn

from siteassess.errors import Fault, FaultyInput
from siteassess.places.grids import Cell, degrees_in_metres

_MARKS = str.maketrans("º˚’′‘`″“”−–", "°°''''\"\"\"--")
_HALF = re.compile(
    r"""(?P<before>[NSEW])?\s*(?P<sign>[-+])?\s*
        (?P<degrees>\d{1,3}(?:\.\d+)?)\s*(?:°|deg\b)?\s*
        (?:(?P<minutes>\d{1,2}(?:\.\d+)?)\s*(?:'|min\b)?\s*)?
        (?:(?P<seconds>\d{1,2}(?:\.\d+)?)\s*(?:"|sec\b)?\s*)?
        (?P<after>[NSEW])?""",
    re.X | re.I | re.A,
)
# without a comma: a letter ends the first half, a letter opens both, one space, a sign opens the second
_SPLITS = tuple(
    re.compile(pattern, re.I | re.A)
    for pattern in (
        r"(.*?[NSEW])\s*([-+\d].*)", r"([NSEW].*?)\s*([NSEW].*)", r"(\S+)\s+(\S+)", r"([-+]?[^-+]*?)\s+([-+].*)"
    )
)
_UNIT_DEG = {"degrees": 1.0, "minutes": 1.0 / 60.0, "seconds": 1.0 / 3600.0}


@dataclass(frozen=True)
class _Angle:
    value: float
    axis: str  # "latitude", "longitude" or "" where no letter says so
    step_deg: float
    text: str


def read_degrees(text: str) -> Cell:
    """Latitude and longitude [deg] with the size of the last digit typed [m].

    Parameters
    ----------
    text : two numbers of degrees, minutes and seconds, with letters or signs

    Raises
    ------
    FaultyInput : text that cannot be read, or can be read in two ways.

    Examples
    --------
    40 + 30/60 + 36/3600 degrees and 73.5, by hand:

    >>> cell = read_degrees("40 30 36 N, 73 30 W")
    >>> round(cell.latitude_deg, 9), cell.longitude_deg
    (40.51, -73.5)
    """
    clean = text.strip().translate(_MARKS).replace("''", '"')
    first, second = (_angle(half, text) for half in _halves(clean, text))
    if bool(first.axis) != bool(second.axis):
        _refuse(text, "N or S and E or W on both numbers, or on neither")
    if first.axis and first.axis == second.axis:
        _refuse(text, "one latitude (N or S) and one longitude (E or W)")
    latitude, longitude = (second, first) if first.axis == "longitude" else (first, second)
    if not first.axis and abs(latitude.value) > 90.0 >= abs(longitude.value):
        _refuse(text, "latitude first, then longitude", "They look swapped: a latitude never exceeds 90 deg.")
    if abs(latitude.value) > 90.0:
        _refuse(latitude.text, "a latitude from -90 to 90 deg")
    if abs(longitude.value) > 180.0:
        _refuse(longitude.text, "a longitude from -180 to 180 deg")
    east, north = degrees_in_metres(latitude.value, longitude.step_deg, latitude.step_deg)
    return Cell(latitude.value, longitude.value, east, north)


def _halves(clean: str, text: str) -> tuple[str, str]:
    """The text of the two coordinates."""
    if re.search(r"[a-zA-Z]", re.sub(r"(?i)deg|min|sec|[NSEW]", "", clean)):
        _refuse(text, "degrees, UTM, MGRS, an Open Location Code, or tape and bearing from a landmark")
    pieces = re.split(r"[,;]", clean)
    if len(pieces) == 2 and _reads_as_separator(*pieces):
        return pieces[0], pieces[1]
    if len(pieces) > 1:
        _refuse(text, "a decimal point and one comma between the two numbers", "Write 40.7829, -73.9654.")
    for pattern in _SPLITS:
        if (match := pattern.fullmatch(clean)) and all(_HALF.fullmatch(g.strip()) for g in match.groups()):
            return match[1], match[2]
    _refuse(text, "two numbers with a comma between", "Write 40.7829, -73.9654 or 40 46 58.4 N, 73 57 55.4 W.")


def _reads_as_separator(before: str, after: str) -> bool:
    """Whether the comma stands between two coordinates rather than inside a number."""
    if not (before.strip() and after.strip()):
        return False
    touching = before[-1:].isdigit() and after[:1].isdigit()
    # 40,73 may be one number or two; with a point in both halves it is two
    return not touching or ("." in before and "." in after)


def _angle(half: str, text: str) -> _Angle:
    match = _HALF.fullmatch(half.strip())
    if not match:
        _refuse(half.strip() or text, "degrees, or degrees and minutes, or degrees, minutes and seconds")
    letters = [g.upper() for g in (match["before"], match["after"]) if g]
    if len(letters) > 1:
        _refuse(half.strip(), "one letter of N, S, E, W")
    if letters and match["sign"]:
        _refuse(half.strip(), "either a sign or a letter", "A minus and a W (or S) together can mean two things.")
    parts = {name: match[name] for name in _UNIT_DEG if match[name]}
    *whole, last = parts
    for name in whole:
        if "." in parts[name]:
            _refuse(half.strip(), f"whole {name} where {last} follow")
    for name in ("minutes", "seconds"):
        if name in parts and float(parts[name]) >= 60.0:
            mend = "Decimals of a degree are not minutes." if name == "minutes" else ""
            _refuse(half.strip(), f"{name} below 60", mend)
    value = sum(float(number) * _UNIT_DEG[name] for name, number in parts.items())
    decimals = len(parts[last].partition(".")[2])
    negative = match["sign"] == "-" or letters in (["S"], ["W"])
    axis = "" if not letters else "latitude" if letters[0] in "NS" else "longitude"
    return _Angle(-value if negative else value, axis, _UNIT_DEG[last] * 10.0**-decimals, half.strip())


def _refuse(read: str, wanted: str, mend: str = "") -> NoReturn:
    raise FaultyInput("position", [Fault(0, "position", repr(read), wanted, mend)])
