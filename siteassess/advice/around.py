"""What the record marks around a tree, and how far away: for rules that name a distance, and for watchers' places."""

from __future__ import annotations

from dataclasses import dataclass

import shapely

from siteassess.advice.geometry import Places
from siteassess.places.geodesy import LocalFrame
from siteassess.places.positions import Position
from siteassess.records.site import Feature


@dataclass(frozen=True)
class Near:
    """One thing and its least horizontal distance [m], with the standard error of the tree's position [m]."""

    kind: str
    name: str
    distance_m: float
    sigma_m: float


def things_near(places: Places, code: str) -> tuple[Near, ...]:
    """Everything the site marks, nearest first, as seen from one anchor; nothing where the anchor has no position.

    Notes
    -----
    A width that was recorded counts: a path is as near as its edge.
    """
    at = places.at(code)
    features = [feature for feature in places.record.site.surroundings if feature.points]
    if at is None or not features:
        return ()
    frame = LocalFrame.around([at.latitude_deg], [at.longitude_deg])
    here = shapely.Point(*frame.to_metres(at.latitude_deg, at.longitude_deg))
    found = [Near(f.kind, f.name or "", max(here.distance(_shape(f, frame)), 0.0), _sigma(at)) for f in features]
    return tuple(sorted(found, key=lambda near: near.distance_m))


def _sigma(at: Position) -> float:
    return float(at.sigma_m)


def _shape(feature: Feature, frame: LocalFrame):
    """The feature on a plane in metres, as wide as it was recorded."""
    points = [frame.to_metres(lat, lon) for lat, lon in feature.points]
    if len(points) == 1:
        return shapely.Point(points[0])
    if feature.closed and len(points) >= 3:
        return shapely.make_valid(shapely.Polygon(points))
    drawn = shapely.LineString(points)
    return drawn.buffer(feature.width.si / 2) if feature.width else drawn
