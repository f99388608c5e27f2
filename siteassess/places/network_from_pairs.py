"""The readings of a site's pairs as one network, each with the slips its note may hold."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import replace

from siteassess.places.geodesy import reverse_bearing, wrap360
from siteassess.places.network_model import NetworkReading, position_of, sighted, taped
from siteassess.places.positions import Position
from siteassess.places.readings import PairReadings, Sighting
from siteassess.places.slips import (
    FOOT_M,
    decimals_typed_as_minutes,
    minutes_typed_as_decimals,
    seconds_typed_as_decimals,
)


def network_of(
    positions: Mapping[str, Position], pairs: Mapping[tuple[str, str], PairReadings]
) -> list[NetworkReading]:
    """All usable readings of a site for `adjust_network`.

    Parameters
    ----------
    positions : by anchor; those without a known standard error are left out
    pairs : by (from, to); the positions inside are not used, so that none counts twice

    Returns
    -------
    Readings with the usual slips of each attached. A tape along a slope of unknown angle, a magnetic bearing without
    a declination and a grid bearing without a convergence are left out.
    """
    readings = [
        position_of(name, position, _position_slips(position))
        for name, position in positions.items()
        if position.covariance_m2 is not None
    ]
    for (start, end), pair in pairs.items():
        length, sigma = pair.tape.horizontal() if pair.tape else (math.nan, math.nan)
        if math.isfinite(length):
            readings.append(taped(start, end, length, sigma, _tape_slips(length)))
        for one, two, sighting in ((start, end, pair.out), (end, start, pair.back)):
            true = pair.true_bearing(sighting)
            if math.isfinite(true):
                slips = _bearing_slips(sighting, true, pair)
                magnetic = sighting.north == "magnetic"
                readings.append(sighted(one, two, true, sighting.sigma_deg, magnetic=magnetic, slips=slips))
    return readings


def _tape_slips(length: float) -> list[tuple[str, float]]:
    return [
        ("the length written in metres is in feet", length * FOOT_M),
        ("the length written in feet is in metres", length / FOOT_M),
    ]


def _bearing_slips(sighting: Sighting, true: float, pair: PairReadings) -> list[tuple[str, float]]:
    def under(bearing: float, north: str) -> float:
        return pair.true_bearing(replace(sighting, bearing_deg=bearing, north=north))

    dial, north = sighting.bearing_deg, sighting.north
    slips = [
        ("it is the bearing the other way", reverse_bearing(true)),
        ("360 minus the bearing was written", under(wrap360(-dial), north)),
    ]
    if north == "magnetic":
        slips.append(("it already counted from true north", wrap360(dial)))
    if north == "true" and pair.declination is not None:
        twice = 2.0 * pair.declination.declination_deg
        slips.append(("it is magnetic", under(dial, "magnetic")))
        slips.append(("the declination was applied the wrong way", wrap360(dial + twice)))
    return [(clause, bearing) for clause, bearing in slips if math.isfinite(bearing)]


def _position_slips(position: Position) -> list[tuple[str, Position]]:
    ways = (
        ("minutes were typed as decimals of a degree", minutes_typed_as_decimals),
        ("minutes and seconds were typed as decimals of a degree", seconds_typed_as_decimals),
        ("decimals of a degree were typed as minutes", decimals_typed_as_minutes),
    )
    found = []
    for clause, mend in ways:
        for axes in ("latitude and longitude", "latitude", "longitude"):
            latitude = mend(position.latitude_deg) if "latitude" in axes else position.latitude_deg
            longitude = mend(position.longitude_deg) if "longitude" in axes else position.longitude_deg
            if math.isfinite(latitude) and math.isfinite(longitude):
                moved = replace(position, latitude_deg=latitude, longitude_deg=longitude)
                found.append((f"{clause} in its {axes}", moved))
    return found
