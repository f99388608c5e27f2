"""Where the anchors stand once all readings are taken together: for drawing only, the record keeps what was read.

A site whose readings disagree and where none can be named as the wrong one is drawn as it was read.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from siteassess.advice.geometry import Places
from siteassess.errors import FaultyInput, OutsideModel
from siteassess.places.network import ErrorEllipse, NetworkAdjustment, adjust_network, error_ellipse
from siteassess.places.network_from_pairs import network_of
from siteassess.places.positions import Position
from siteassess.places.readings import PairReadings, Sighting, Tape


@dataclass(frozen=True)
class Standing:
    """Where one anchor is drawn, the ellipse that holds its true place 95 times of 100, and its place as read."""

    latitude_deg: float
    longitude_deg: float
    ellipse: ErrorEllipse | None
    as_read_deg: tuple[float, float]
    corrected: bool


def standings(record) -> tuple[dict[str, Standing], tuple[str, ...]]:
    """Every anchor that has a position, corrected where the readings agree, and sentences on how they fit.

    Parameters
    ----------
    record : a `Record`

    Returns
    -------
    Standings by anchor code, and the words of the adjustment; no words where there was nothing to adjust.
    """
    places = Places(record)
    read = {anchor.code: place for anchor in record.anchors if (place := places.at(anchor.code))}
    as_read = {code: _as_read(place) for code, place in read.items()}
    pairs = _pairs(record, read, places)
    if not pairs:
        return as_read, ()
    try:
        found = adjust_network(network_of(read, pairs))
    except (OutsideModel, FaultyInput) as error:
        return as_read, (f"The readings were not adjusted together: {error}",)
    if found.outcome not in ("consistent", "one named"):
        return as_read, found.messages
    return {code: _corrected(code, place, found) for code, place in read.items()}, found.messages


def _as_read(place: Position) -> Standing:
    known = place.covariance_m2 is not None
    ellipse = error_ellipse(np.asarray(place.covariance())).at_95_percent() if known else None
    here = (place.latitude_deg, place.longitude_deg)
    return Standing(*here, ellipse, here, False)


def _corrected(code: str, place: Position, found: NetworkAdjustment) -> Standing:
    anchor = found.anchors.get(code)
    if anchor is None or not np.isfinite(anchor.position.latitude_deg):
        return _as_read(place)
    here = (anchor.position.latitude_deg, anchor.position.longitude_deg)
    return Standing(*here, anchor.ellipse.at_95_percent(), (place.latitude_deg, place.longitude_deg), True)


def _pairs(record, read: dict[str, Position], places: Places) -> dict[tuple[str, str], PairReadings]:
    """Tape and compass of each planned line whose two anchors have positions."""
    pairs = {}
    for line in record.lines:
        ends = (line.a.anchor, line.b.anchor)
        if ends[0] == ends[1] or not all(end in read for end in ends) or not (line.span or line.compass):
            continue
        compass = line.compass
        out, back = (
            Sighting(reading.si, compass.north) if compass and (reading := getattr(compass, way)) else None
            for way in ("out", "back")
        )
        pairs[ends] = PairReadings(
            read[ends[0]], read[ends[1]], _tape(line), out, back, places.declination(ends[0])
        )  # fmt: skip
    return pairs


def _tape(line) -> Tape | None:
    if line.span is None:
        return None
    slope = line.span.slope.si if line.span.slope else None
    return Tape(line.span.taped.si, along_slope=line.span.along == "slope", slope_deg=slope)
