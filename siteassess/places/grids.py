"""UTM and the military grid (MGRS) to degrees and back.

UTM runs through PROJ; MGRS is a short public algorithm written out here. It truncates: a reference names a square by
its south-west corner, so its digits are never rounded up. Decoding gives the square's middle.
"""

from __future__ import annotations

import functools
import re
from dataclasses import dataclass

from pyproj import Proj

from siteassess.errors import Fault, FaultyInput, OutsideModel
from siteassess.places.geodesy import bearing_distance, wrap180, wrap360
from siteassess.reference.findings import worded
from siteassess.units import show

BANDS = "CDEFGHJKLMNPQRSTUVWX"
UTM_SOUTH_DEG, UTM_NORTH_DEG = -80.0, 84.0
COLUMN_SETS = ("STUVWXYZ", "ABCDEFGH", "JKLMNPQR")  # by zone modulo 3
ROW_LETTERS = "ABCDEFGHJKLMNPQRSTUV"
ZONES_NOT_IN_USE = {(32, "X"), (34, "X"), (36, "X")}  # Svalbard's neighbours are widened over them
ROW_CYCLE_M = 2_000_000.0
SQUARE_M = 100_000.0
FALSE_NORTHING_M = 10_000_000.0


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
        """The half of the earth, "north" or "south"."""
        return "north" if self.band >= "N" else "south"

    def true_bearing(self, grid_bearing_deg: float) -> float:
        """The bearing from true north of one from grid north [deg]."""
        return wrap360(grid_bearing_deg + self.convergence_deg)

    def text(self) -> str:
        """Zone, half of the earth, easting and northing to the metre, as `position_text` reads them."""
        return f"{self.zone} {self.hemisphere} {round(self.easting_m)} {round(self.northing_m)}"


@dataclass(frozen=True)
class Cell:
    """The patch of ground a code stands for: its middle [deg] and its size [m]."""

    latitude_deg: float
    longitude_deg: float
    east_m: float
    north_m: float


def utm_zone(latitude_deg: float, longitude_deg: float) -> int:
    """The UTM zone of a place, 1 to 60, with the wider zones of south-west Norway and Svalbard [-].

    Parameters
    ----------
    latitude_deg, longitude_deg : the place [deg]

    References
    ----------
    1. The mgrs library's references of 60 N 5 E and 78 N 15 E: 32V and 33X.

    Examples
    --------
    The zone from 6 W to 0, by hand, south-west Norway and Svalbard [1]_:

    >>> utm_zone(51.5, -0.1), utm_zone(60.0, 5.0), utm_zone(78.0, 15.0)
    (30, 32, 33)
    """
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

    Parameters
    ----------
    latitude_deg : from -80 to 84 [deg]

    Raises
    ------
    OutsideModel : north of 84 or south of 80 degrees, where UTM does not reach.

    Examples
    --------
    32V at 60 N and 33X at 78 N [1]_; the lowest, the first of the northern half and the highest, counted by hand:

    >>> "".join(map(latitude_band, (60.0, 78.0, -80.0, 0.0, 84.0)))
    'VXCNX'
    """
    if not UTM_SOUTH_DEG <= latitude_deg <= UTM_NORTH_DEG:
        raise OutsideModel(
            f"latitude {show(latitude_deg, 'deg g')} lies outside UTM and MGRS as covered here (80 south to 84 north); "
            "give decimal degrees", "outside-the-grid", latitude=float(latitude_deg),
        )
    return BANDS[min(int((latitude_deg - UTM_SOUTH_DEG) // 8.0), len(BANDS) - 1)]


def to_utm(latitude_deg: float, longitude_deg: float) -> GridPosition:
    """A place on the UTM grid, with convergence and scale.

    Parameters
    ----------
    latitude_deg, longitude_deg : the place [deg]

    Raises
    ------
    OutsideModel : north of 84 or south of 80 degrees.

    References
    ----------
    1. GDA technical manual, Flinders Peak in zone 55 (read in the tests of other programs); it counts the convergence
       the other way, -1 35 03.65.

    Examples
    --------
    E 273 741.297, N 5 796 489.777, convergence of 1 35 03.65, scale 1.00023056 [1]_:

    >>> grid = to_utm(-37.95103341667, 144.42486788889)
    >>> f"{grid.zone} {grid.easting_m:.3f} {grid.northing_m:.3f} {grid.convergence_deg:.5f} {grid.scale:.8f}"
    '55 273741.297 5796489.777 1.58435 1.00023056'
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

    Parameters
    ----------
    zone : 1 to 60
    hemisphere : "north" or "south"
    easting_m, northing_m : on the grid [m]

    Raises
    ------
    FaultyInput : a zone, hemisphere, easting or northing that UTM does not have.

    References
    ----------
    1. GDA technical manual, Flinders Peak in zone 55 (read in the tests of other programs).

    Examples
    --------
    37 57 03.7203 S, 144 25 29.5244 E [1]_, to a hundred-millionth of a degree, which is a millimetre:

    >>> south, east = 37 + 57 / 60 + 3.7203 / 3600, 144 + 25 / 60 + 29.5244 / 3600
    >>> place = from_utm(55, "south", 273741.297, 5796489.777)
    >>> abs(place[0] + south) < 1e-8, abs(place[1] - east) < 1e-8
    (True, True)
    """
    faults = []
    if not 1 <= zone <= 60:
        faults.append(Fault(0, "UTM zone", str(zone), worded("want-zone-1-to-60")))
    if hemisphere not in ("north", "south"):
        faults.append(Fault(0, "UTM hemisphere", hemisphere, worded("want-this-or-that", one="north", other="south")))
    if not 100_000.0 <= easting_m < 1_000_000.0:
        wanted = worded("want-easting")
        faults.append(Fault(0, "UTM easting", show(easting_m, "m 0"), wanted, worded("mend-easting-first")))
    if not 0.0 <= northing_m <= FALSE_NORTHING_M:
        faults.append(Fault(0, "UTM northing", show(northing_m, "m 0"), worded("want-northing")))
    if faults:
        raise FaultyInput("UTM position", faults)
    longitude, latitude = _utm(zone, hemisphere == "south")(easting_m, northing_m, inverse=True)
    latitude_band(latitude)
    return latitude, longitude


def to_mgrs(latitude_deg: float, longitude_deg: float, digits: int = 5) -> str:
    """The MGRS reference of a place.

    Parameters
    ----------
    latitude_deg, longitude_deg : the place [deg]
    digits : 5 names a square of 1 m, 4 of 10 m, down to 0 of 100 km

    Raises
    ------
    OutsideModel : north of 84 or south of 80 degrees.

    References
    ----------
    1. The mgrs library, a port of the United States agency's own coder.

    Examples
    --------
    South-west Norway and Svalbard [1]_:

    >>> to_mgrs(60.0, 5.0), to_mgrs(78.0, 15.0)
    ('32VKM7697958157', '33XWG0000058369')
    """
    grid = to_utm(latitude_deg, longitude_deg)
    column = COLUMN_SETS[grid.zone % 3][int(grid.easting_m // SQUARE_M) - 1]
    row = ROW_LETTERS[(int(grid.northing_m // SQUARE_M) + _row_shift(grid.zone)) % len(ROW_LETTERS)]
    cut = 10 ** (5 - digits)
    east, north = (int(v % SQUARE_M) // cut for v in (grid.easting_m, grid.northing_m))
    tail = f"{east:0{digits}d}{north:0{digits}d}" if digits else ""
    return f"{grid.zone:02d}{grid.band}{column}{row}{tail}"


def from_mgrs(reference: str) -> Cell:
    """The square an MGRS reference names.

    Parameters
    ----------
    reference : with or without spaces, to any of six precisions

    Raises
    ------
    FaultyInput : text that is no reference, letters or zones not in use, an odd number of digits, or a square that
        does not occur in the band named.

    References
    ----------
    1. The mgrs library, a port of the United States agency's own coder.

    Examples
    --------
    60 N, 5 E and 78 N, 15 E to the metre that a reference tells [1]_:

    >>> cells = from_mgrs("32VKM7697958157"), from_mgrs("33XWG0000058369")
    >>> [(round(cell.latitude_deg, 4), round(cell.longitude_deg, 4)) for cell in cells]
    [(60.0, 5.0), (78.0, 15.0)]

    E is the fifth column of 100 km and A the first row, so the corner is 500 km east on the equator, by hand:

    >>> cell = from_mgrs("31N EA 00000 00000")
    >>> round(cell.latitude_deg, 5), round(cell.longitude_deg, 5), cell.east_m, cell.north_m
    (0.0, 3.0, 1.0, 1.0)
    """
    text = re.sub(r"\s+", "", reference).upper()
    match = re.fullmatch(r"(\d{1,2})([A-Z])([A-Z])([A-Z])(\d*)", text)
    if not match:
        raise _mgrs_fault(reference, worded("want-mgrs-parts"))
    zone, band, column, row, digits = int(match[1]), *match.groups()[1:]
    if not 1 <= zone <= 60 or band not in BANDS or (zone, band) in ZONES_NOT_IN_USE:
        raise _mgrs_fault(reference, worded("want-mgrs-zone"))
    if column not in COLUMN_SETS[zone % 3] or row not in ROW_LETTERS:
        columns = COLUMN_SETS[zone % 3]
        raise _mgrs_fault(reference, worded("want-mgrs-square", zone=zone, columns=columns))
    if len(digits) % 2 or len(digits) > 10:
        raise _mgrs_fault(reference, worded("want-mgrs-digits"))
    half = len(digits) // 2
    size = SQUARE_M / 10**half
    easting = (COLUMN_SETS[zone % 3].index(column) + 1) * SQUARE_M + (int(digits[:half] or 0) + 0.5) * size
    square = (ROW_LETTERS.index(row) - _row_shift(zone)) % len(ROW_LETTERS)
    within = square * SQUARE_M + (int(digits[half:] or 0) + 0.5) * size
    southern = band < "N"
    south = UTM_SOUTH_DEG + 8.0 * BANDS.index(band)
    north = UTM_NORTH_DEG if band == "X" else south + 8.0
    _, middle = _utm(zone, southern)(zone * 6.0 - 183.0, (south + north) / 2.0)
    northing = within + round((middle - within) / ROW_CYCLE_M) * ROW_CYCLE_M
    longitude, latitude = _utm(zone, southern)(easting, northing, inverse=True)
    if not south - 1.0 <= latitude <= north + 1.0:
        raise _mgrs_fault(reference, worded("want-mgrs-in-band", band=band, south=south, north=north))
    return Cell(latitude, longitude, size, size)


def degrees_in_metres(latitude_deg: float, width_deg: float, height_deg: float) -> tuple[float, float]:
    """(east, north) extent of a small patch given in degrees [m].

    Parameters
    ----------
    latitude_deg : of its middle; past 89 degrees that of 89 [deg]
    width_deg, height_deg : of the patch [deg]

    Examples
    --------
    A minute of the equator, 6 378 137 m x 2 pi / 21 600, by hand, and one of the meridian at 45 degrees, which is
    the nautical mile of old, 1852 m (read):

    >>> round(degrees_in_metres(0.0, 1 / 60, 1 / 60)[0], 2), round(degrees_in_metres(45.0, 1 / 60, 1 / 60)[1])
    (1855.32, 1852)
    """
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
    return FaultyInput("MGRS", [Fault(0, "MGRS reference", repr(read), wanted, worded("mend-mgrs"))])
