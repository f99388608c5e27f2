"""UTM, the military grid (MGRS) and Open Location Codes to degrees and back.

UTM runs through PROJ; the two codes are short public algorithms written out here. MGRS truncates: a reference names
a square by its south-west corner, so its digits are never rounded up. Decoding gives the square's middle.
"""

from __future__ import annotations

import functools
import math
import re
from dataclasses import dataclass

from pyproj import Proj

from siteassess.errors import Fault, FaultyInput, OutsideModel
from siteassess.places.geodesy import bearing_distance, wrap180, wrap360

BANDS = "CDEFGHJKLMNPQRSTUVWX"
UTM_SOUTH_DEG, UTM_NORTH_DEG = -80.0, 84.0
COLUMN_SETS = ("STUVWXYZ", "ABCDEFGH", "JKLMNPQR")  # by zone modulo 3
ROWS = "ABCDEFGHJKLMNPQRSTUV"
ZONES_NOT_IN_USE = {(32, "X"), (34, "X"), (36, "X")}  # Svalbard's neighbours are widened over them
ROW_CYCLE_M = 2_000_000.0
SQUARE_M = 100_000.0
FALSE_NORTHING_M = 10_000_000.0

OLC_DIGITS = "23456789CFGHJMPQRVWX"
OLC_LAT_STEPS, OLC_LON_STEPS = 25_000_000, 8_192_000  # finest steps in a degree: 8000 x 5^5 and 8000 x 4^5
OLC_PAIR_DIGITS, OLC_MAX_DIGITS, OLC_SEPARATOR_AT = 10, 15, 8


@dataclass(frozen=True)
class GridPosition:
    """A point on the UTM grid; the convergence is grid north minus true north, east positive."""

    zone: int
    band: str
    easting_m: float
    northing_m: float
    convergence_deg: float
    scale: float

    @property
    def hemisphere(self) -> str:
        return "north" if self.band >= "N" else "south"

    def grid_bearing(self, bearing_true_deg: float) -> float:
        return wrap360(bearing_true_deg - self.convergence_deg)

    def true_bearing(self, grid_bearing_deg: float) -> float:
        return wrap360(grid_bearing_deg + self.convergence_deg)

    def text(self) -> str:
        return f"{self.zone} {self.hemisphere} {round(self.easting_m)} {round(self.northing_m)}"


@dataclass(frozen=True)
class Cell:
    """The patch of ground a code stands for: its middle [deg] and its size [m]."""

    latitude_deg: float
    longitude_deg: float
    east_m: float
    north_m: float


def utm_zone(latitude_deg: float, longitude_deg: float) -> int:
    """The UTM zone of a place, with the wider zones of south-west Norway and Svalbard."""
    longitude = wrap180(longitude_deg)
    if longitude == 180.0:
        longitude = -180.0
    if 56.0 <= latitude_deg < 64.0 and 3.0 <= longitude < 12.0:
        return 32
    if 72.0 <= latitude_deg <= UTM_NORTH_DEG and 0.0 <= longitude < 42.0:
        return 31 + 2 * int((longitude + 3.0) // 12.0)
    return int((longitude + 180.0) // 6.0) + 1


def latitude_band(latitude_deg: float) -> str:
    """The MGRS band letter of a latitude; the northernmost band X is 12 degrees high.

    Raises
    ------
    OutsideModel : north of 84 or south of 80 degrees, where UTM does not reach.
    """
    if not UTM_SOUTH_DEG <= latitude_deg <= UTM_NORTH_DEG:
        raise OutsideModel(
            f"latitude {latitude_deg:g} deg lies outside UTM and MGRS as covered here (80 south to 84 north); "
            "give decimal degrees", "outside-the-grid", latitude=float(latitude_deg),
        )  # fmt: skip
    return BANDS[min(int((latitude_deg - UTM_SOUTH_DEG) // 8.0), len(BANDS) - 1)]


def to_utm(latitude_deg: float, longitude_deg: float) -> GridPosition:
    """A place on the UTM grid, with convergence and scale.

    Raises
    ------
    OutsideModel : north of 84 or south of 80 degrees.
    """
    if abs(latitude_deg) < 1e-9:
        latitude_deg = 0.0  # a hair south of the equator would get a northing below 0 of the northern half
    band = latitude_band(latitude_deg)
    zone = utm_zone(latitude_deg, longitude_deg)
    projection = _utm(zone, band < "N")
    easting, northing = projection(longitude_deg, latitude_deg)
    factors = projection.get_factors(longitude_deg, latitude_deg)
    return GridPosition(zone, band, easting, northing, factors.meridian_convergence, factors.meridional_scale)


def from_utm(zone: int, hemisphere: str, easting_m: float, northing_m: float) -> tuple[float, float]:
    """(latitude, longitude) of a UTM position [deg].

    Raises
    ------
    FaultyInput : a zone, hemisphere, easting or northing that UTM does not have.
    """
    faults = []
    if not 1 <= zone <= 60:
        faults.append(Fault(0, "UTM zone", str(zone), "a zone from 1 to 60"))
    if hemisphere not in ("north", "south"):
        faults.append(Fault(0, "UTM hemisphere", hemisphere, "north or south"))
    if not 100_000.0 <= easting_m < 1_000_000.0:
        faults.append(Fault(0, "UTM easting", f"{easting_m:.0f} m", "100000 to 999999 m", "The easting goes first."))
    if not 0.0 <= northing_m <= FALSE_NORTHING_M:
        faults.append(Fault(0, "UTM northing", f"{northing_m:.0f} m", "0 to 10000000 m"))
    if faults:
        raise FaultyInput("UTM position", faults)
    longitude, latitude = _utm(zone, hemisphere == "south")(easting_m, northing_m, inverse=True)
    latitude_band(latitude)
    return latitude, longitude


def to_mgrs(latitude_deg: float, longitude_deg: float, digits: int = 5) -> str:
    """The MGRS reference of a place: digits 5 names a square of 1 m, 4 of 10 m, down to 0 of 100 km."""
    grid = to_utm(latitude_deg, longitude_deg)
    column = COLUMN_SETS[grid.zone % 3][int(grid.easting_m // SQUARE_M) - 1]
    row = ROWS[(int(grid.northing_m // SQUARE_M) + _row_shift(grid.zone)) % len(ROWS)]
    cut = 10 ** (5 - digits)
    east, north = (int(v % SQUARE_M) // cut for v in (grid.easting_m, grid.northing_m))
    tail = f"{east:0{digits}d}{north:0{digits}d}" if digits else ""
    return f"{grid.zone:02d}{grid.band}{column}{row}{tail}"


def from_mgrs(reference: str) -> Cell:
    """The square an MGRS reference names.

    Raises
    ------
    FaultyInput : text that is no reference, letters or zones not in use, an odd number of digits, or a square that
        does not occur in the band named.
    """
    text = re.sub(r"\s+", "", reference).upper()
    match = re.fullmatch(r"(\d{1,2})([A-Z])([A-Z])([A-Z])(\d*)", text)
    if not match:
        raise _mgrs_fault(reference, "zone, band letter, two square letters, digits")
    zone, band, column, row, digits = int(match[1]), *match.groups()[1:]
    if not 1 <= zone <= 60 or band not in BANDS or (zone, band) in ZONES_NOT_IN_USE:
        raise _mgrs_fault(reference, "a zone from 1 to 60 with a band from C to X (no I or O; no 32X, 34X, 36X)")
    if column not in COLUMN_SETS[zone % 3] or row not in ROWS:
        columns = COLUMN_SETS[zone % 3]
        raise _mgrs_fault(reference, f"a square of zone {zone}: first letter one of {columns}, second A to V")
    if len(digits) % 2 or len(digits) > 10:
        raise _mgrs_fault(reference, "as many digits east as north, up to five each")
    half = len(digits) // 2
    size = SQUARE_M / 10**half
    easting = (COLUMN_SETS[zone % 3].index(column) + 1) * SQUARE_M + (int(digits[:half] or 0) + 0.5) * size
    within = ((ROWS.index(row) - _row_shift(zone)) % len(ROWS)) * SQUARE_M + (int(digits[half:] or 0) + 0.5) * size
    southern = band < "N"
    south = UTM_SOUTH_DEG + 8.0 * BANDS.index(band)
    north = UTM_NORTH_DEG if band == "X" else south + 8.0
    _, middle = _utm(zone, southern)(zone * 6.0 - 183.0, (south + north) / 2.0)
    northing = within + round((middle - within) / ROW_CYCLE_M) * ROW_CYCLE_M
    longitude, latitude = _utm(zone, southern)(easting, northing, inverse=True)
    if not south - 1.0 <= latitude <= north + 1.0:
        raise _mgrs_fault(reference, f"a square that touches band {band} ({south:g} to {north:g} deg)")
    return Cell(latitude, longitude, size, size)


def to_open_location_code(latitude_deg: float, longitude_deg: float, digits: int = 10) -> str:
    """The Open Location Code of a place: 10 digits name a patch of about 14 m, 11 one of about 3 m.

    References
    ----------
    1. Open Location Code specification and its 302 encoding test rows (read).
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

    Raises
    ------
    FaultyInput : a short code, which means nothing without a place beside it, or letters the code does not use.
    """
    text = code.strip().upper()
    before, plus, after = text.partition("+")
    digits = before.rstrip("0") + after
    if not plus or len(before) != OLC_SEPARATOR_AT:
        raise _code_fault(code, "a full code with eight digits before the plus sign", "A short code needs its town.")
    padded = "0" in before
    odd_letters = bool(set(digits) - set(OLC_DIGITS))
    if odd_letters or len(digits) < 2 or (padded and (after or len(digits) % 2)) or len(after) == 1:
        raise _code_fault(code, f"digits from {OLC_DIGITS}: eight before the plus sign, none or two and more after")
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
        raise _code_fault(code, "a code within 90 deg of latitude and 180 deg of longitude")
    height, width = lat_step / OLC_LAT_STEPS, lon_step / OLC_LON_STEPS
    middle = south + height / 2.0
    return Cell(middle, west + width / 2.0, *degrees_in_metres(middle, width, height))


def degrees_in_metres(latitude_deg: float, width_deg: float, height_deg: float) -> tuple[float, float]:
    """(east, north) extent of a small patch given in degrees [m]."""
    at = min(max(latitude_deg, -89.0), 89.0)
    # one arc minute is short enough to be straight and long enough for the arithmetic
    east = bearing_distance(at, 0.0, at, 1.0 / 60.0).distance_m * 60.0 * width_deg
    north = bearing_distance(at - 1.0 / 120.0, 0.0, at + 1.0 / 120.0, 0.0).distance_m * 60.0 * height_deg
    return east, north


@functools.lru_cache(maxsize=32)
def _utm(zone: int, southern: bool) -> Proj:
    return Proj(proj="utm", zone=zone, south=southern, ellps="WGS84")


def _row_shift(zone: int) -> int:
    """Row letters of even zones start five letters on, so that neighbours differ."""
    return 5 if zone % 2 == 0 else 0


def _mgrs_fault(read: str, wanted: str) -> FaultyInput:
    return FaultyInput("MGRS", [Fault(0, "MGRS reference", repr(read), wanted, "For example 18TWL 87297 15172.")])


def _code_fault(read: str, wanted: str, mend: str = "") -> FaultyInput:
    return FaultyInput("Open Location Code", [Fault(0, "Open Location Code", repr(read), wanted, mend)])
