"""The readings of a site's pairs as one network, each with the slips its note may hold."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import replace

from siteassess.places.geodesy import reverse_bearing, wrap360
from siteassess.places.network_model import NetworkReading, position_of, sighted, taped
from siteassess.places.positions import Located
from siteassess.places.readings import PairReadings, Sighting
from siteassess.places.slips import AXES, MENDED, position_mended
from siteassess.records.site import North
from siteassess.reference.findings import Said, said
from siteassess.units import FOOT_M


def network_of(positions: Mapping[str, Located], pairs: Mapping[tuple[str, str], PairReadings]) -> list[NetworkReading]:
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
            if sighting and math.isfinite(true):
                slips = _bearing_slips(sighting, true, pair)
                magnetic = sighting.north == "magnetic"
                readings.append(sighted(one, two, true, sighting.sigma_deg, magnetic=magnetic, slips=slips))
    return readings


def _tape_slips(length: float) -> list[tuple[Said, float]]:
    return [(said("slip-length-in-feet"), length * FOOT_M), (said("slip-length-in-metres"), length / FOOT_M)]


def _bearing_slips(sighting: Sighting, true: float, pair: PairReadings) -> list[tuple[Said, float]]:
    def under(bearing: float, north: North) -> float:
        return pair.true_bearing(replace(sighting, bearing_deg=bearing, north=north))

    dial, north = sighting.bearing_deg, sighting.north
    slips = [
        (said("slip-bearing-the-other-way"), reverse_bearing(true)),
        (said("slip-360-minus"), under(wrap360(-dial), north)),
    ]
    if north == "magnetic":
        slips.append((said("slip-already-true"), wrap360(dial)))
    if north == "true" and pair.declination is not None:
        twice = 2.0 * pair.declination.declination_deg
        slips.append((said("slip-is-magnetic"), under(dial, "magnetic")))
        slips.append((said("slip-declination-applied-wrong"), wrap360(dial + twice)))
    return [(slip, bearing) for slip, bearing in slips if math.isfinite(bearing)]


def _position_slips(position: Located) -> list[tuple[Said, Located]]:
    return [
        (said(code, where=(said("in-its-axes", axes=axes),)), moved)
        for code, mend in MENDED.items() for axes in AXES
        if (moved := position_mended(position, mend, axes)) is not None
    ]
