"""Reading a position someone typed: degrees, UTM, MGRS, an Open Location Code, or tape and bearing from a landmark.

Text that can be read in two ways is refused with the reason, never guessed at.
"""

from __future__ import annotations

import math
import re
from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from typing import NoReturn

from siteassess.errors import Fault, FaultyInput, OutsideModel
from siteassess.places.geodesy import bearing_distance
from siteassess.places.grids import Cell, degrees_in_metres, from_mgrs, from_utm
from siteassess.places.instruments import HAND_COMPASS, USUAL_BY_WAY, tape_sigma
from siteassess.places.location_codes import from_open_location_code
from siteassess.places.magnetics import Declination
from siteassess.places.positions import Located, from_landmark
from siteassess.places.readings import Sighting
from siteassess.records.site import North
from siteassess.reference.findings import worded
from siteassess.units import FOOT_M, show

FORMS = (
    "40.7829, -73.9654; 40 46 58.4 N, 73 57 55.4 W; 40 46.974 N, 73 57.924 W; UTM 18 north 587297 4515172; "
    "MGRS 18TWL8729715172; Open Location Code 87G8Q2MM+5R; or 23.4 m at 137 deg magnetic from GATE"
)
# A typed position this far from the rest of the site is looked at twice for the usual slips (judgement).
NEAR_SITE_M = 100_000.0
BAND_S_NORTHINGS_M = (3_500_000.0, 4_450_000.0)  # 32 to 40 deg north, with room (derived)

_CODE = re.compile(r"[0-9A-Z]{2,8}\+[0-9A-Z]*", re.I)
_MGRS = re.compile(r"\d{1,2}\s*[A-Z]\s*[A-Z]\s*[A-Z](\s*\d+){0,2}", re.I | re.A)
_UTM = re.compile(
    r"(?P<zone>\d{1,2})\s*(?P<letter>north|south|[A-Z])\s*,?\s+(?P<east>\d{5,7}(\.\d+)?)\s*m?E?\s*,?\s+"
    r"(?P<north>\d{1,8}(\.\d+)?)\s*m?N?",
    re.I | re.A,
)
_LANDMARK = re.compile(
    r"(?P<length>[\d.,]+)\s*(?P<unit>m|ft)\b\s*,?\s*(?:at\s+)?(?P<bearing>[\d.,]+)\s*(?:deg|°)?\s*"
    r"(?P<north>true|magnetic|grid)?\s+from\s+(?P<landmark>.+)",
    re.I | re.A,
)
_NORTHS: Mapping[str, North] = {"true": "true", "magnetic": "magnetic", "grid": "grid"}
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
# the east of German and the west of French and Spanish, before or behind a number
LETTER_O = re.compile(r"""[\d°'"′″’”]\s*O\s*(?:$|[,;)\s])|(?:^|[,;(\s])O\s*\d""", re.I)
_UNIT_DEG = {"degrees": 1.0, "minutes": 1.0 / 60.0, "seconds": 1.0 / 3600.0}


@dataclass(frozen=True)
class KnownPlaces:
    """What a position may refer to: known places by name, the site's own place, the declination of the day.

    `convergence_deg` serves grid bearings; `near` is (latitude, longitude) of the site, to catch gross slips.
    """

    landmarks: Mapping[str, Located] = field(default_factory=dict)
    declination: Declination | None = None
    convergence_deg: float | None = None
    near: tuple[float, float] | None = None


NOTHING_KNOWN = KnownPlaces()


def read_position(
    text: str, *, sigma_m: float | None = None, how: str = "", known: KnownPlaces = NOTHING_KNOWN,
    compass_sigma_deg: float = HAND_COMPASS.value, field: str = "position", line: int = 0, source: str = "position",
) -> Located:
    """A position from text in any of the forms in `FORMS`.

    Parameters
    ----------
    text : what was typed
    sigma_m : standard error per axis of the fix behind the text, if known [m]
    how : how the position was got; "phone, open sky", "phone, under trees" and "tree inventory" bring their usual
        standard error where none was given
    known : landmarks, declination and the site's whereabouts
    compass_sigma_deg : of a bearing from a landmark [deg]
    field, line, source : where the text stands, for the fault

    Returns
    -------
    Position. Its standard error joins that of the fix with that of the rounding in the text (a step spread evenly,
    step / sqrt 12). Where the fix's is not known the position's is not either.

    Raises
    ------
    FaultyInput : text that cannot be read, or can be read in two ways, with what to write instead.
    """
    usual = USUAL_BY_WAY.get(how)
    if sigma_m is None and usual is not None:
        sigma_m = usual.value
    try:
        if landmark := _LANDMARK.fullmatch(text.strip()):
            return _tape_and_bearing(landmark, known, compass_sigma_deg)
        form, cell = _read_cell(text, known)
    except FaultyInput as fault:
        faults = [Fault(line, field, f.read, f.wanted, f.mend) for f in fault.faults]
    except OutsideModel as reason:
        mend = next((worded(code, **reason.values) for code in reason.codes), str(reason))
        faults = [Fault(line, field, repr(text), worded("want-usable-position"), mend)]
    else:
        return _with_rounding(cell, sigma_m, f"{form}; {how}" if how else form)
    raise FaultyInput(source, faults)


def _read_cell(text: str, known: KnownPlaces) -> tuple[str, Cell]:
    stripped = re.sub(r"^(UTM|MGRS|OLC|plus code|Open Location Code)\b[:\s]*", "", text.strip(), flags=re.I)
    if not stripped:
        _refuse(text, worded("want-position-such-as", forms=FORMS))
    if _CODE.fullmatch(stripped):
        return "Open Location Code", _checked(from_open_location_code(stripped), text, known)
    if utm := _UTM.fullmatch(stripped):
        return "UTM", _checked(_utm_cell(utm, text), text, known)
    if _MGRS.fullmatch(stripped):
        return "MGRS", _checked(from_mgrs(stripped), text, known)
    return "degrees", _checked(read_degrees(stripped), text, known)


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
    -37.652821141666664 and 143.9264955361111 (read me of redfearn, a program for the Australian grid, read):

    >>> cell = read_degrees("37 39 10.15611 S, 143 55 35.38393 E")
    >>> round(cell.latitude_deg, 12), round(cell.longitude_deg, 12)
    (-37.652821141667, 143.926495536111)
    """
    clean = text.strip().translate(_MARKS).replace("''", '"')
    first, second = (_angle(half, text) for half in _halves(clean, text))
    if bool(first.axis) != bool(second.axis):
        _refuse(text, worded("want-letters-on-both"))
    if first.axis and first.axis == second.axis:
        _refuse(text, worded("want-one-of-each-axis"))
    latitude, longitude = (second, first) if first.axis == "longitude" else (first, second)
    if not first.axis and abs(latitude.value) > 90.0 >= abs(longitude.value):
        _refuse(text, worded("want-latitude-first"), worded("mend-look-swapped"))
    if abs(latitude.value) > 90.0:
        _refuse(latitude.text, worded("want-a-latitude"))
    if abs(longitude.value) > 180.0:
        _refuse(longitude.text, worded("want-a-longitude"))
    east, north = degrees_in_metres(latitude.value, longitude.step_deg, latitude.step_deg)
    return Cell(latitude.value, longitude.value, east, north)


def _halves(clean: str, text: str) -> tuple[str, str]:
    """The text of the two coordinates."""
    if LETTER_O.search(clean):
        _refuse(text, worded("want-letters-e-or-w"), worded("mend-letter-o"))
    if re.search(r"[a-zA-Z]", re.sub(r"(?i)deg|min|sec|[NSEW]", "", clean)):
        _refuse(text, worded("want-a-form-of-position"))
    pieces = re.split(r"[,;]", clean)
    if len(pieces) == 2 and _reads_as_separator(*pieces):
        return pieces[0], pieces[1]
    if len(pieces) > 1:
        _refuse(text, worded("want-point-and-comma"), worded("mend-point-and-comma"))
    for pattern in _SPLITS:
        if (match := pattern.fullmatch(clean)) and all(_HALF.fullmatch(g.strip()) for g in match.groups()):
            return match[1], match[2]
    _refuse(text, worded("want-two-numbers"), worded("mend-two-numbers"))


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
        _refuse(half.strip() or text, worded("want-degrees-minutes-seconds"))
    letters = [g.upper() for g in (match["before"], match["after"]) if g]
    if len(letters) > 1:
        _refuse(half.strip(), worded("want-one-letter"))
    if letters and match["sign"]:
        _refuse(half.strip(), worded("want-sign-or-letter"), worded("mend-sign-or-letter"))
    parts = {name: match[name] for name in _UNIT_DEG if match[name]}
    *whole, last = parts
    for name in whole:
        if "." in parts[name]:
            _refuse(half.strip(), worded("want-whole-parts", part=name, last=last))
    for name in ("minutes", "seconds"):
        if name in parts and float(parts[name]) >= 60.0:
            mend = worded("mend-no-decimals-as-minutes") if name == "minutes" else ""
            _refuse(half.strip(), worded("want-below-60", part=name), mend)
    value = sum(float(number) * _UNIT_DEG[name] for name, number in parts.items())
    decimals = len(parts[last].partition(".")[2])
    negative = match["sign"] == "-" or letters in (["S"], ["W"])
    axis = "" if not letters else "latitude" if letters[0] in "NS" else "longitude"
    return _Angle(-value if negative else value, axis, _UNIT_DEG[last] * 10.0**-decimals, half.strip())


def _utm_cell(match: re.Match[str], text: str) -> Cell:
    letter, northing = match["letter"].upper(), float(match["north"])
    if letter in ("NORTH", "SOUTH"):
        hemisphere = letter.lower()
    elif letter in "IOABYZ":
        _refuse(text, worded("want-utm-zone"))
    elif letter == "S" and BAND_S_NORTHINGS_M[0] <= northing <= BAND_S_NORTHINGS_M[1]:
        _refuse(text, worded("want-half-of-earth"), worded("mend-band-s"))
    else:
        hemisphere = "south" if letter == "S" or letter < "N" else "north"
    latitude, longitude = from_utm(int(match["zone"]), hemisphere, float(match["east"]), northing)
    decimals = min(len(match[k].partition(".")[2]) for k in ("east", "north"))
    return Cell(latitude, longitude, 10.0**-decimals, 10.0**-decimals)


def _checked(cell: Cell, text: str, known: KnownPlaces) -> Cell:
    """The cell, unless it cannot belong to the site; a usual slip that would bring it there is named."""
    lat, lon = cell.latitude_deg, cell.longitude_deg
    if lat == 0.0 and lon == 0.0:
        _refuse(text, worded("want-own-position"), worded("mend-no-fix"))
    if known.near is None or _apart(known.near, lat, lon) <= NEAR_SITE_M:
        return cell
    slips = (
        ("mend-far-swapped", lon, lat), ("mend-far-longitude", lat, -lon), ("mend-far-latitude", -lat, lon),
        ("mend-far-both", -lat, -lon),
    )
    away = _apart(known.near, lat, lon)
    for slip, other_lat, other_lon in slips:
        if _apart(known.near, other_lat, other_lon) <= NEAR_SITE_M:
            _refuse(text, worded("want-near-site"), worded(slip, away=away))
    _refuse(text, worded("want-near-site"), worded("mend-far", away=away))


def _tape_and_bearing(match: re.Match[str], known: KnownPlaces, compass_sigma_deg: float) -> Located:
    text = match.group()
    name = match["landmark"].strip()
    for part in ("length", "bearing"):
        if not re.fullmatch(r"\d+(\.\d+)?", match[part]):
            _refuse(match[part], worded("want-part-with-point", part=part), worded("mend-comma-no-point"))
    if name not in known.landmarks:
        listed = tuple(sorted(known.landmarks))
        _refuse(name, worded("want-placed-landmark" if listed else "want-placed-landmark-none", names=listed))
    if not match["north"]:
        _refuse(text, worded("want-which-north"), worded("mend-which-north"))
    bearing = float(match["bearing"])
    if bearing > 360.0:
        _refuse(show(bearing, "deg g"), worded("want-a-bearing"))
    length = float(match["length"]) * (FOOT_M if match["unit"].lower() == "ft" else 1.0)
    if length == 0.0:
        _refuse(match["length"], worded("want-length-above-0"))
    north = _NORTHS[match["north"].lower()]
    true = Sighting(bearing, north, compass_sigma_deg).true(known.declination, known.convergence_deg)
    if math.isnan(true):
        _refuse(text, worded("want-known-declination" if north == "magnetic" else "want-known-convergence"))
    sigma = compass_sigma_deg
    if north == "magnetic" and known.declination:
        sigma = math.hypot(sigma, known.declination.sigma_deg)
    origin = known.landmarks[name]
    return from_landmark(origin, length, true, tape_sigma(length), sigma, f"tape and {north} bearing from {name}")


def _with_rounding(cell: Cell, sigma_m: float | None, how: str) -> Located:
    known = Located.at(cell.latitude_deg, cell.longitude_deg, sigma_m, how)
    if known.covariance_m2 is None:
        return known
    east, _, north = known.covariance_m2
    return replace(known, covariance_m2=(east + cell.east_m**2 / 12.0, 0.0, north + cell.north_m**2 / 12.0))


def _apart(near: tuple[float, float], latitude: float, longitude: float) -> float:
    if abs(latitude) > 89.0:
        return math.inf
    return bearing_distance(*near, latitude, longitude).distance_m


def _refuse(read: str, wanted: str, mend: str = "") -> NoReturn:
    raise FaultyInput("position", [Fault(0, worded("the-position"), repr(read), wanted, mend)])
