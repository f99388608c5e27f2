"""The usual slips of the pen in field notes, and the other ways to read the notes of one pair, one slip each."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator
from dataclasses import replace

from siteassess.places.geodesy import POLE_LATITUDE_DEG, reverse_bearing, wrap360
from siteassess.places.positions import Located
from siteassess.places.readings import PairReadings, Sighting
from siteassess.reference.findings import Said, said
from siteassess.units import FOOT_M


def minutes_typed_as_decimals(degrees: float) -> float:
    """The angle meant where 40 deg 47.123 min was typed as 40.47123; NaN where no such reading exists [deg].

    Parameters
    ----------
    degrees : as typed [deg]

    Examples
    --------
    30 minutes are half a degree, and there are no 75, by hand:

    >>> round(minutes_typed_as_decimals(-40.30), 9), minutes_typed_as_decimals(40.75)
    (-40.5, nan)
    """
    whole, minutes = _split(degrees, 100.0)
    return math.nan if minutes >= 60.0 else math.copysign(whole + minutes / 60.0, degrees)


def seconds_typed_as_decimals(degrees: float) -> float:
    """The angle meant where 40 deg 47 min 12.3 s was typed as 40.47123; NaN where no such reading exists [deg].

    Parameters
    ----------
    degrees : as typed [deg]

    Examples
    --------
    30 minutes and 36 seconds are 0.51 degrees, by hand:

    >>> round(seconds_typed_as_decimals(40.3036), 9)
    40.51
    """
    whole, minutes = _split(degrees, 100.0)
    minutes_whole = math.floor(minutes + 1e-9)
    seconds = max(0.0, (minutes - minutes_whole) * 100.0)
    if minutes_whole >= 60 or seconds >= 60.0:
        return math.nan
    return math.copysign(whole + minutes_whole / 60.0 + seconds / 3600.0, degrees)


def decimals_typed_as_minutes(degrees: float) -> float:
    """The angle meant where 40.47123 deg was typed as 40 deg 47.123 min [deg].

    Parameters
    ----------
    degrees : as read from the minutes [deg]

    Examples
    --------
    40 deg 30 min, read as 40.5, was 40.30, by hand:

    >>> round(decimals_typed_as_minutes(40.5), 9)
    40.3
    """
    whole, minutes = _split(degrees, 60.0)
    return math.copysign(whole + minutes / 100.0, degrees)


def _split(degrees: float, parts: float) -> tuple[float, float]:
    whole = math.floor(abs(degrees))
    return whole, (abs(degrees) - whole) * parts


Candidate = tuple[Said, PairReadings]
AXES = (("latitude", "longitude"), ("latitude",), ("longitude",))
MENDED = {
    "slip-minutes-as-decimals": minutes_typed_as_decimals, "slip-seconds-as-decimals": seconds_typed_as_decimals,
    "slip-decimals-as-minutes": decimals_typed_as_minutes,
}


def alternatives(readings: PairReadings, names: tuple[str, str]) -> Iterator[Candidate]:
    """(the slip, the readings as they would then have been) for every slip that applies.

    Parameters
    ----------
    readings : of one pair
    names : of its two anchors
    """
    yield from _anchor_slips(readings, names)
    yield from _direction_slips(readings, names)
    yield from _north_slips(readings)
    yield from _tape_slips(readings)
    yield from _coordinate_slips(readings, names)


def _anchor_slips(readings: PairReadings, names: tuple[str, str]) -> Iterator[Candidate]:
    if readings.out or readings.back:
        swapped = said("slip-positions-swapped", a=names[0], b=names[1])
        yield swapped, replace(readings, a=readings.b, b=readings.a)


def _direction_slips(readings: PairReadings, names: tuple[str, str]) -> Iterator[Candidate]:
    if readings.out:
        turned = replace(readings.out, bearing_deg=reverse_bearing(readings.out.bearing_deg))
        yield said("slip-out-is-back", a=names[0]), replace(readings, out=turned)
    if readings.back:
        turned = replace(readings.back, bearing_deg=reverse_bearing(readings.back.bearing_deg))
        yield said("slip-back-is-out", b=names[1]), replace(readings, back=turned)
    if readings.out or readings.back:
        yield said("slip-dial-reversed"), _both(readings, lambda s: replace(s, bearing_deg=wrap360(-s.bearing_deg)))


def _north_slips(readings: PairReadings) -> Iterator[Candidate]:
    norths = {s.north for s in (readings.out, readings.back) if s}
    if readings.declination is None:
        return
    declination = readings.declination.declination_deg
    if "magnetic" in norths:
        yield said("slip-magnetic-was-true"), _both(
            readings, lambda s: replace(s, north="true") if s.north == "magnetic" else s)
    if "true" in norths:
        yield said("slip-true-was-magnetic"), _both(
            readings, lambda s: replace(s, north="magnetic") if s.north == "true" else s)
        yield said("slip-declination-wrong-way"), _both(
            readings, lambda s: _turned(s, 2.0 * declination) if s.north == "true" else s)


def _tape_slips(readings: PairReadings) -> Iterator[Candidate]:
    tape = readings.tape
    if tape is None:
        return
    for code, factor in (("slip-metres-are-feet", FOOT_M), ("slip-feet-are-metres", 1.0 / FOOT_M)):
        sigma = None if tape.sigma_m is None else tape.sigma_m * factor
        yield said(code), replace(readings, tape=replace(tape, length_m=tape.length_m * factor, sigma_m=sigma))
    if tape.slope_deg:
        relaid = replace(tape, along_slope=not tape.along_slope)
        yield said("slip-tape-along-the-slope" if relaid.along_slope else "slip-tape-level"), replace(
            readings, tape=relaid)


def _coordinate_slips(readings: PairReadings, names: tuple[str, str]) -> Iterator[Candidate]:
    whose = {"a": (names[0],), "b": (names[1],), "ab": names}
    for code, mend in MENDED.items():
        for letters, called in whose.items():
            # the same slip in one axis of both anchors only happens by chance, and chance fits too easily
            for axes in AXES[: 1 if letters == "ab" else 3]:
                one = position_mended(readings.a, mend, axes) if "a" in letters else readings.a
                other = position_mended(readings.b, mend, axes) if "b" in letters else readings.b
                if one and other:
                    places = tuple(said("name-alone", name=name) for name in called)
                    where = said("in-the-axes-of", axes=axes, places=places)
                    yield said(code, where=(where,)), replace(readings, a=one, b=other)
    a, b = readings.a, readings.b
    if abs(a.longitude_deg) < POLE_LATITUDE_DEG:
        yield said("slip-axes-swapped", a=names[0]), replace(readings, a=_axes_swapped(a))
    if abs(b.longitude_deg) < POLE_LATITUDE_DEG:
        yield said("slip-axes-swapped", a=names[1]), replace(readings, b=_axes_swapped(b))


def position_mended(position: Located, mend: Callable[[float], float], axes: tuple[str, ...]) -> Located | None:
    """The position as a slip in these axes would have it; None where no such reading exists.

    Parameters
    ----------
    position : as noted
    mend : what the note of an angle meant, one of `MENDED` [deg]
    axes : "latitude", "longitude" or both
    """
    latitude, longitude = position.latitude_deg, position.longitude_deg
    if "latitude" in axes:
        latitude = mend(latitude)
    if "longitude" in axes:
        longitude = mend(longitude)
    if not (math.isfinite(latitude) and math.isfinite(longitude)):
        return None
    return replace(position, latitude_deg=latitude, longitude_deg=longitude)


def _axes_swapped(position: Located) -> Located:
    return replace(position, latitude_deg=position.longitude_deg, longitude_deg=position.latitude_deg)


def _turned(sighting: Sighting, by_deg: float) -> Sighting:
    return replace(sighting, bearing_deg=wrap360(sighting.bearing_deg + by_deg))


def _both(readings: PairReadings, change: Callable[[Sighting], Sighting]) -> PairReadings:
    def changed(sighting: Sighting | None) -> Sighting | None:
        return None if sighting is None else change(sighting)

    return replace(readings, out=changed(readings.out), back=changed(readings.back))
