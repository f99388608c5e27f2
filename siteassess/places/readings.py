"""What was read about a pair of anchors: taped length, sighted bearings, and all of it together."""

from __future__ import annotations

import math
from dataclasses import dataclass

from siteassess.errors import Fault, FaultyInput
from siteassess.places.geodesy import wrap360
from siteassess.places.instruments import CLINOMETER, HAND_COMPASS, tape_sigma
from siteassess.places.magnetics import Declination
from siteassess.places.positions import Located, refuse_sigma
from siteassess.records.site import North
from siteassess.reference.findings import worded


@dataclass(frozen=True)
class Tape:
    """A taped length between two anchors [m].

    `slope_deg` is the angle of the tape from the horizontal, needed only where it was laid along the slope.
    """

    length_m: float
    sigma_m: float | None = None
    along_slope: bool = False
    slope_deg: float | None = None
    slope_sigma_deg: float = CLINOMETER.value

    def __post_init__(self) -> None:
        if not 0 < self.length_m < math.inf:
            raise FaultyInput("tape", [Fault(0, "span", f"{self.length_m} m", "a length above 0 m")])
        refuse_sigma("tape", self.sigma_m)

    def horizontal(self) -> tuple[float, float]:
        """(horizontal length, its standard error), NaN where the slope is wanted and was not read [m].

        Examples
        --------
        25 m of ground at 9 degrees are 24.7 m, 82 ft are 81 (a maker of clinometers, its manual, figure 11, read):

        >>> round(Tape(25.0, along_slope=True, slope_deg=9.0).horizontal()[0], 1)
        24.7
        >>> round(Tape(82.0, along_slope=True, slope_deg=9.0).horizontal()[0])
        81
        """
        sigma = tape_sigma(self.length_m) if self.sigma_m is None else self.sigma_m
        if not self.along_slope:
            return self.length_m, sigma
        if self.slope_deg is None:
            return math.nan, math.nan
        slope, slope_sigma = math.radians(self.slope_deg), math.radians(self.slope_sigma_deg)
        return (
            self.length_m * math.cos(slope),
            math.hypot(math.cos(slope) * sigma, self.length_m * math.sin(slope) * slope_sigma),
        )


@dataclass(frozen=True)
class Sighting:
    """A bearing as read off the dial [deg], and the north it counts from."""

    bearing_deg: float
    north: North = "magnetic"
    sigma_deg: float = HAND_COMPASS.value

    def __post_init__(self) -> None:
        if not math.isfinite(self.bearing_deg):
            raise FaultyInput("compass", [Fault(0, "bearing", f"{self.bearing_deg}", worded("want-a-bearing"))])
        refuse_sigma("compass", self.sigma_deg)

    def true(self, declination: Declination | None = None, convergence_deg: float | None = None) -> float:
        """The bearing from true north, NaN where the declination or convergence it needs is not known [deg]."""
        if self.north == "true":
            return wrap360(self.bearing_deg)
        if self.north == "grid":
            return math.nan if convergence_deg is None else wrap360(self.bearing_deg + convergence_deg)
        return math.nan if declination is None else declination.true_from_magnetic(self.bearing_deg)


@dataclass(frozen=True)
class PairReadings:
    """Everything read about one pair of anchors.

    The errors of the two positions count as independent. Fixes by one receiver minutes apart share part of theirs,
    which makes the positions look looser than they are and the check milder, never falsely strict.
    """

    a: Located
    b: Located
    tape: Tape | None = None
    out: Sighting | None = None
    back: Sighting | None = None
    declination: Declination | None = None
    convergence_deg: float | None = None

    def true_bearing(self, sighting: Sighting | None) -> float:
        """The bearing from true north of a sighting of this pair; NaN for none, or where it cannot be turned [deg]."""
        return math.nan if sighting is None else sighting.true(self.declination, self.convergence_deg)
