"""Magnetic declination by date and place, and the turning of compass readings into true bearings.

Declination is positive where magnetic north lies east of true north: true = magnetic + declination.
"""

from __future__ import annotations

import calendar
import datetime
import functools
from dataclasses import dataclass
from typing import Protocol

from pygeomag import GeoMag

from siteassess.errors import Fault, FaultyInput, OutsideModel
from siteassess.places.geodesy import wrap360
from siteassess.reference.findings import Said, said
from siteassess.units import show

MAGNETIC_MODEL = "World Magnetic Model 2025"
VALID_FROM, VALID_UNTIL = 2025.0, 2030.0
VALID_DATES = "2025-01-01", "2030-01-01"
BLACKOUT_NT, CAUTION_NT = 2000.0, 6000.0  # horizontal strength below which a compass fails or is doubtful (read)
ALTITUDE_RANGE_M = (-1_000.0, 850_000.0)  # the model's own height range (read, vendor manual of a toolbox)


@dataclass(frozen=True)
class Declination:
    """Declination at one place and date, with what it is worth."""

    declination_deg: float
    sigma_deg: float
    horizontal_nt: float
    zone: str  # "usable", "caution" or "blackout"
    decimal_year: float
    model: str = MAGNETIC_MODEL

    def true_from_magnetic(self, magnetic_deg: float) -> float:
        """The bearing from true north of one read off the dial [deg].

        Examples
        --------
        The needle 9 degrees east of the map's north turns 190 into 199 (US Army, soldier's
        common task of converting azimuths, in a copy, read):

        >>> Declination(9.0, 0.4, 21e3, "usable", 2026.9).true_from_magnetic(190.0)
        199.0
        """
        return wrap360(magnetic_deg + self.declination_deg)

    def magnetic_from_true(self, true_deg: float) -> float:
        """What the dial shows for a bearing from true north [deg].

        Examples
        --------
        The same the other way: the US Army's task subtracts what it added above (derived from what was read):

        >>> Declination(9.0, 0.4, 21e3, "usable", 2026.9).magnetic_from_true(199.0)
        190.0
        """
        return wrap360(true_deg - self.declination_deg)

    @property
    def told(self) -> Said:
        """Which way and by how much, with what it is worth, as a code."""
        weak = (said("horizontal-field-weak"),) if self.zone == "caution" else ()
        code = "declination-east" if self.declination_deg >= 0 else "declination-west"
        return said(code, turn=abs(self.declination_deg), model=self.model, year=self.decimal_year,
                    sigma=self.sigma_deg, weak=weak)


class _Turn(Protocol):
    d: float  # declination [deg]


class _Field(_Turn, Protocol):
    """What pygeomag answers."""

    i: float  # inclination [deg]
    h: float  # horizontal strength [nT]

    def calculate_uncertainty(self) -> _Turn: ...


def decimal_year(on: str | datetime.date) -> float:
    """A date as a year with decimals [years].

    Parameters
    ----------
    on : ISO text or a date; the hour of the day is let go

    Raises
    ------
    FaultyInput : the text is no ISO date.

    Examples
    --------
    182 of 365 days and 183 of 366 gone, by hand:

    >>> round(decimal_year("2026-07-02"), 4), decimal_year("2028-07-02")
    (2026.4986, 2028.5)
    """
    if isinstance(on, datetime.datetime):
        on = on.date()
    if not isinstance(on, datetime.date):
        try:
            on = datetime.date.fromisoformat(str(on).strip())
        except ValueError:
            raise FaultyInput("date", [Fault(0, "date", repr(on), "a date such as 2026-05-01")]) from None
    days = 366 if calendar.isleap(on.year) else 365
    return on.year + (on.timetuple().tm_yday - 1) / days


def declination(
    latitude_deg: float, longitude_deg: float, on: str | datetime.date, altitude_m: float = 0.0
) -> Declination:
    """Declination by the World Magnetic Model 2025.

    Parameters
    ----------
    latitude_deg, longitude_deg : the place; rounded to 0.001 deg, which moves the answer by under 0.001 deg away
        from the magnetic poles [deg]
    on : the date the compass was read, ISO text or a date
    altitude_m : height above the ellipsoid; sea level unless told [m]

    Returns
    -------
    Declination, east positive, with its standard error.

    Raises
    ------
    OutsideModel : a date outside 2025-01-01 to 2030-01-01, a height outside -1 to 850 km, an unknown place, or a
        place in the blackout zone around a magnetic pole, where no compass can be trusted.
    FaultyInput : the date is no ISO date.

    Notes
    -----
    The standard error sqrt(0.26^2 + (5417/H)^2) deg, H the horizontal strength in nT, is the model's own error
    figure as carried by pygeomag (read in its source; taken as one standard error from memory). It covers what the
    model leaves out on average, not the iron fence beside the tree.

    References
    ----------
    1. NOAA NCEI and British Geological Survey, The US/UK World Magnetic Model for 2025-2030 (coefficients as
       shipped with pygeomag, checked against the 100 published test values).
    2. Handbook of a vendor's toolbox, example at Natick: -13.6891 deg and 20 727 nT (read).

    Examples
    --------
    Natick, 1000 m up, on 4 July 2028 [2]_:

    >>> at_natick = declination(42.283, -71.35, "2028-07-04", altitude_m=1000.0)
    >>> f"{at_natick.declination_deg:.4f} deg, {at_natick.horizontal_nt:.0f} nT"
    '-13.6891 deg, 20727 nT'
    """
    latitude, longitude = round(float(latitude_deg), 3), round(float(longitude_deg), 3)
    return at_decimal_year(latitude, longitude, decimal_year(on), float(altitude_m))


@functools.lru_cache(maxsize=4096)
def at_decimal_year(latitude_deg: float, longitude_deg: float, year: float, altitude_m: float = 0.0) -> Declination:
    """Declination at a decimal year.

    Parameters
    ----------
    latitude_deg, longitude_deg : the place [deg]
    year : with decimals, 2025 to 2030 [years]
    altitude_m : height above the ellipsoid [m]

    Raises
    ------
    OutsideModel : as in `declination`.

    References
    ----------
    1. NOAA NCEI and British Geological Survey, test values of the World Magnetic Model 2025 (read): rows 4 and 6.

    Examples
    --------
    0.50 deg and 24 300.764692 nT 65 km up, -15.75 deg and 14 918.115796 nT 39 km up [1]_:

    >>> for latitude, longitude, height in ((43.0, 93.0, 65e3), (-59.0, -8.0, 39e3)):
    ...     found = at_decimal_year(latitude, longitude, 2025.0, height)
    ...     print(f"{found.declination_deg:.2f} {found.horizontal_nt:.3f}")
    0.50 24300.765
    -15.75 14918.116
    """
    field = _field(latitude_deg, longitude_deg, year, altitude_m)
    zone = "blackout" if field.h < BLACKOUT_NT else "caution" if field.h < CAUTION_NT else "usable"
    if zone == "blackout":
        raise OutsideModel(
            f"no compass can be trusted at latitude {latitude_deg:g}, longitude {longitude_deg:g}: the horizontal "
            f"field is {field.h:.0f} nT, under the {BLACKOUT_NT:.0f} nT the model asks for. Use true bearings",
            "no-compass-can-be-trusted", latitude=latitude_deg, longitude=longitude_deg, field=field.h,
            least=BLACKOUT_NT,
        )
    # west of the date line pygeomag answers within (-180, 180], so the sign is east positive as it stands
    return Declination(float(field.d), float(field.calculate_uncertainty().d), float(field.h), zone, year)


def _field(latitude_deg: float, longitude_deg: float, year: float, altitude_m: float) -> _Field:
    """The model's full answer, blackout zone included; the published test values are checked against this."""
    if not (abs(latitude_deg) <= 90.0 and abs(longitude_deg) <= 360.0):
        raise OutsideModel(f"no declination without a position (latitude {latitude_deg}, longitude {longitude_deg})",
                           "no-declination-without-position", latitude=str(latitude_deg),
                           longitude=str(longitude_deg))
    if not VALID_FROM <= year <= VALID_UNTIL:
        raise OutsideModel(
            f"{MAGNETIC_MODEL} gives declination for {' to '.join(VALID_DATES)}; {year:.2f} lies outside. Give the "
            "declination printed on a current map, or bearings from true north",
            "outside-the-model-s-dates", model=MAGNETIC_MODEL, first=VALID_DATES[0], last=VALID_DATES[1], year=year,
        )
    low, high = ALTITUDE_RANGE_M
    if not low <= altitude_m <= high:
        raise OutsideModel(f"{MAGNETIC_MODEL} covers heights from {show(low, 'm 0')} to {show(high, 'm 0')}; "
                           f"got {altitude_m} m", "outside-the-model-s-heights", model=MAGNETIC_MODEL, low=low,
                           high=high, height=str(altitude_m))
    field: _Field = _model().calculate(glat=latitude_deg, glon=longitude_deg, alt=altitude_m / 1000.0, time=year)
    return field


@functools.lru_cache(maxsize=1)
def _model() -> GeoMag:
    return GeoMag(base_year=2025)
