"""Where the anchors stand once all readings are taken together: for drawing only, the record keeps what was read.

A site whose readings disagree and where none can be named as the wrong one is drawn as it was read.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from siteassess.advice.geometry import Places
from siteassess.advice.network import adjusted
from siteassess.advice.pair import measured_pairs
from siteassess.places.network import AdjustedAnchor, ErrorEllipse, error_ellipse
from siteassess.places.positions import Located
from siteassess.records.record import Record
from siteassess.reference.findings import Said


@dataclass(frozen=True)
class DrawnPlace:
    """Where one anchor is drawn, the ellipse that holds its true place 95 times of 100, and its place as read."""

    latitude_deg: float
    longitude_deg: float
    ellipse: ErrorEllipse | None
    as_read_deg: tuple[float, float]
    corrected: bool
    apart_m: float | None = None  # how far apart its own readings lie, where they contradict each other


def standings(record: Record) -> tuple[dict[str, DrawnPlace], tuple[Said, ...]]:
    """Every anchor that has a position, corrected where the readings agree, and how they fit.

    Returns
    -------
    Standings by anchor code, and what the adjustment told; nothing where there was nothing to adjust.
    """
    places = Places(record)
    read = {anchor.code: place for anchor in record.anchors if (place := places.at(anchor.code))}
    together = adjusted(places, measured_pairs(record))
    return {code: _drawn(place, together.better_places.get(code)) for code, place in read.items()}, together.told


def _as_read(place: Located) -> DrawnPlace:
    known = place.covariance_m2 is not None
    ellipse = error_ellipse(np.asarray(place.covariance())).at_95_percent() if known else None
    here = (place.latitude_deg, place.longitude_deg)
    return DrawnPlace(*here, ellipse, here, False, place.apart_m)


def _drawn(place: Located, anchor: AdjustedAnchor | None) -> DrawnPlace:
    if anchor is None or not np.isfinite(anchor.position.latitude_deg):
        return _as_read(place)
    here = (anchor.position.latitude_deg, anchor.position.longitude_deg)
    return DrawnPlace(*here, anchor.ellipse.at_95_percent(), (place.latitude_deg, place.longitude_deg), True,
                      place.apart_m)  # fmt: skip
