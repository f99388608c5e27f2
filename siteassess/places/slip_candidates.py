"""Other ways to understand the readings of one pair, one slip each."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import replace

from siteassess.places.geodesy import POLE_LATITUDE_DEG, reverse_bearing, wrap360
from siteassess.places.positions import Position
from siteassess.places.readings import PairReadings, Sighting
from siteassess.places.slips import (
    FOOT_M,
    decimals_typed_as_minutes,
    minutes_typed_as_decimals,
    seconds_typed_as_decimals,
)

Candidate = tuple[str, str, PairReadings]


def alternatives(readings: PairReadings, names: tuple[str, str]) -> Iterator[Candidate]:
    """(kind, the slip as a clause, the readings as they would then have been) for every slip that applies."""
    yield from _anchor_slips(readings, names)
    yield from _direction_slips(readings, names)
    yield from _north_slips(readings)
    yield from _tape_slips(readings)
    yield from _coordinate_slips(readings, names)


def _anchor_slips(readings: PairReadings, names: tuple[str, str]) -> Iterator[Candidate]:
    if readings.out or readings.back:
        yield (
            "swapped anchors",
            f"the positions of {names[0]} and {names[1]} were swapped",
            replace(readings, a=readings.b, b=readings.a),
        )


def _direction_slips(readings: PairReadings, names: tuple[str, str]) -> Iterator[Candidate]:
    if readings.out:
        turned = replace(readings.out, bearing_deg=reverse_bearing(readings.out.bearing_deg))
        yield (
            "back bearing for forward",
            f"the bearing out from {names[0]} is really the one back towards it",
            replace(readings, out=turned),
        )
    if readings.back:
        turned = replace(readings.back, bearing_deg=reverse_bearing(readings.back.bearing_deg))
        yield (
            "forward bearing for back",
            f"the bearing back from {names[1]} is really the one out towards it",
            replace(readings, back=turned),
        )
    if readings.out or readings.back:
        yield (
            "reversed dial",
            "the compass dial runs the other way round and 360 minus the bearing was written",
            _both(readings, lambda s: replace(s, bearing_deg=wrap360(-s.bearing_deg))),
        )


def _north_slips(readings: PairReadings) -> Iterator[Candidate]:
    norths = {s.north for s in (readings.out, readings.back) if s}
    if readings.declination is None:
        return
    declination = readings.declination.declination_deg
    if "magnetic" in norths:
        yield (
            "true for magnetic",
            "the bearings called magnetic already counted from true north",
            _both(readings, lambda s: replace(s, north="true") if s.north == "magnetic" else s),
        )
    if "true" in norths:
        yield (
            "magnetic for true",
            "the bearings called true are magnetic",
            _both(readings, lambda s: replace(s, north="magnetic") if s.north == "true" else s),
        )
        yield (
            "declination the wrong way",
            "the declination was subtracted where it is to be added, or the other way round",
            _both(readings, lambda s: _turned(s, 2.0 * declination) if s.north == "true" else s),
        )


def _tape_slips(readings: PairReadings) -> Iterator[Candidate]:
    tape = readings.tape
    if tape is None:
        return
    scaled = {
        "feet for metres": (FOOT_M, "the span written in metres is in feet"),
        "metres for feet": (1.0 / FOOT_M, "the span written in feet is in metres"),
    }
    for kind, (factor, sentence) in scaled.items():
        sigma = None if tape.sigma_m is None else tape.sigma_m * factor
        yield kind, sentence, replace(readings, tape=replace(tape, length_m=tape.length_m * factor, sigma_m=sigma))
    if tape.slope_deg:
        other = "along the slope" if not tape.along_slope else "level"
        relaid = replace(tape, along_slope=not tape.along_slope)
        yield "slope", f"the tape was laid {other}", replace(readings, tape=relaid)


def _coordinate_slips(readings: PairReadings, names: tuple[str, str]) -> Iterator[Candidate]:
    ways = {
        "minutes as decimals": (minutes_typed_as_decimals, "minutes were typed as decimals of a degree"),
        "seconds as decimals": (seconds_typed_as_decimals, "minutes and seconds were typed as decimals of a degree"),
        "decimals as minutes": (decimals_typed_as_minutes, "decimals of a degree were typed as minutes"),
    }
    whose = {"a": (names[0],), "b": (names[1],), "ab": names}
    for kind, (mend, sentence) in ways.items():
        for letters, called in whose.items():
            # the same slip in one axis of both anchors only happens by chance, and chance fits too easily
            for axes in ("latitude and longitude", "latitude", "longitude")[: 1 if letters == "ab" else 3]:
                moved = {letter: _mended(getattr(readings, letter), mend, axes) for letter in letters}
                if all(moved.values()):
                    yield kind, f"{sentence} in the {axes} of {' and '.join(called)}", replace(readings, **moved)
    for letter, called in (("a", names[0]), ("b", names[1])):
        position = getattr(readings, letter)
        if abs(position.longitude_deg) < POLE_LATITUDE_DEG:
            swapped = replace(position, latitude_deg=position.longitude_deg, longitude_deg=position.latitude_deg)
            yield (
                "latitude and longitude swapped",
                f"latitude and longitude of {called} were swapped",
                replace(readings, **{letter: swapped}),
            )


def _mended(position: Position, mend, axes: str) -> Position | None:
    latitude, longitude = position.latitude_deg, position.longitude_deg
    if "latitude" in axes:
        latitude = mend(latitude)
    if "longitude" in axes:
        longitude = mend(longitude)
    if not (math.isfinite(latitude) and math.isfinite(longitude)):
        return None
    return replace(position, latitude_deg=latitude, longitude_deg=longitude)


def _turned(sighting: Sighting, by_deg: float) -> Sighting:
    return replace(sighting, bearing_deg=wrap360(sighting.bearing_deg + by_deg))


def _both(readings: PairReadings, change) -> PairReadings:
    def changed(sighting: Sighting | None) -> Sighting | None:
        return None if sighting is None else change(sighting)

    return replace(readings, out=changed(readings.out), back=changed(readings.back))
