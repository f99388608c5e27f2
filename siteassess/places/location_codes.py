"""Open Location Codes (plus codes) to degrees and back, a short public algorithm written out here."""

from __future__ import annotations

import math

from siteassess.errors import Fault, FaultyInput
from siteassess.places.grids import Cell, degrees_in_metres
from siteassess.reference.findings import worded

OLC_DIGITS = "23456789CFGHJMPQRVWX"
OLC_LAT_STEPS, OLC_LON_STEPS = 25_000_000, 8_192_000  # finest steps in a degree: 8000 x 5^5 and 8000 x 4^5
OLC_PAIR_DIGITS, OLC_MAX_DIGITS, OLC_SEPARATOR_AT = 10, 15, 8


def to_open_location_code(latitude_deg: float, longitude_deg: float, digits: int = 10) -> str:
    """The Open Location Code of a place.

    Parameters
    ----------
    latitude_deg, longitude_deg : the place [deg]
    digits : 2, 4, 6, 8, or 10 to 15; 10 name a patch of about 14 m, 11 one of about 3 m

    Raises
    ------
    FaultyInput : another number of digits.

    References
    ----------
    1. Open Location Code specification and its 302 encoding test rows (read).

    Examples
    --------
    Rows 1, 2 and 4 of the test [1]_:

    >>> to_open_location_code(20.375, 2.775, 6), to_open_location_code(20.3700625, 2.7821875)
    ('7FG49Q00+', '7FG49QCJ+2V')
    >>> to_open_location_code(20.3701135, 2.78223535156, 13)
    '7FG49QCJ+2VXGJ'
    """
    if digits < 2 or (digits < OLC_PAIR_DIGITS and digits % 2):
        raise FaultyInput("Open Location Code", [Fault(0, "digits", str(digits), "2, 4, 6, 8, or 10 to 15")])
    digits = min(digits, OLC_MAX_DIGITS)
    # a decimal such as 40.6 lies a hair below its own step in binary: the sixth decimal of a step is no ground
    lat = math.floor(round(latitude_deg * OLC_LAT_STEPS, 6)) + 90 * OLC_LAT_STEPS
    lat = min(max(lat, 0), 180 * OLC_LAT_STEPS - 1)
    lon = (math.floor(round(longitude_deg * OLC_LON_STEPS, 6)) + 180 * OLC_LON_STEPS) % (360 * OLC_LON_STEPS)
    code = ""
    for _ in range(OLC_MAX_DIGITS - OLC_PAIR_DIGITS):
        code = OLC_DIGITS[lat % 5 * 4 + lon % 4] + code
        lat, lon = lat // 5, lon // 4
    for _ in range(OLC_PAIR_DIGITS // 2):
        code = OLC_DIGITS[lat % 20] + OLC_DIGITS[lon % 20] + code
        lat, lon = lat // 20, lon // 20
    code = code[:digits].ljust(OLC_SEPARATOR_AT, "0")
    return f"{code[:OLC_SEPARATOR_AT]}+{code[OLC_SEPARATOR_AT:]}"


def from_open_location_code(code: str) -> Cell:
    """The patch of ground a full Open Location Code names.

    Parameters
    ----------
    code : with its plus sign, in either case

    Raises
    ------
    FaultyInput : a short code, which means nothing without a place beside it, or letters the code does not use.

    References
    ----------
    1. Encoding test of the Open Location Code standard, row 2 (read), whose place is the middle of its patch.

    Examples
    --------
    20.3700625, 2.7821875 [1]_:

    >>> cell = from_open_location_code("7FG49QCJ+2V")
    >>> round(cell.latitude_deg, 7), round(cell.longitude_deg, 7)
    (20.3700625, 2.7821875)
    """
    text = code.strip().upper()
    before, plus, after = text.partition("+")
    digits = before.rstrip("0") + after
    if not plus or len(before) != OLC_SEPARATOR_AT:
        raise _code_fault(code, worded("want-full-code"), worded("mend-short-code"))
    padded = "0" in before
    odd_letters = bool(set(digits) - set(OLC_DIGITS))
    if odd_letters or len(digits) < 2 or (padded and (after or len(digits) % 2)) or len(after) == 1:
        raise _code_fault(code, worded("want-code-digits", digits=OLC_DIGITS))
    if len(digits) > OLC_MAX_DIGITS:
        digits = digits[:OLC_MAX_DIGITS]
    lat = lon = 0
    lat_step, lon_step = 400 * OLC_LAT_STEPS, 400 * OLC_LON_STEPS
    for place in range(0, min(len(digits), OLC_PAIR_DIGITS), 2):
        lat_step, lon_step = lat_step // 20, lon_step // 20
        lat += OLC_DIGITS.index(digits[place]) * lat_step
        lon += OLC_DIGITS.index(digits[place + 1]) * lon_step
    for digit in digits[OLC_PAIR_DIGITS:]:
        lat_step, lon_step = lat_step // 5, lon_step // 4
        lat += OLC_DIGITS.index(digit) // 4 * lat_step
        lon += OLC_DIGITS.index(digit) % 4 * lon_step
    south, west = lat / OLC_LAT_STEPS - 90.0, lon / OLC_LON_STEPS - 180.0
    if south >= 90.0 or west >= 180.0:
        raise _code_fault(code, worded("want-code-on-earth"))
    height, width = lat_step / OLC_LAT_STEPS, lon_step / OLC_LON_STEPS
    middle = south + height / 2.0
    return Cell(middle, west + width / 2.0, *degrees_in_metres(middle, width, height))


def _code_fault(read: str, wanted: str, mend: str = "") -> FaultyInput:
    return FaultyInput("Open Location Code", [Fault(0, "Open Location Code", repr(read), wanted, mend)])
