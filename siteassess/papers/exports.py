"""Anchors and lines as GeoJSON for other map programs."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

from siteassess.advice.results import Assessment
from siteassess.papers.as_json import jsonable
from siteassess.papers.look import SURVEY_NOT_INSPECTION
from siteassess.papers.scene import Scene, Spot, Stretch, build
from siteassess.records.files import write_whole

COORDINATE_DIGITS = 7  # about 1 cm; more would claim what no tape can give


def write_geojson(assessment: Assessment, path: str | Path) -> Path:
    """Write `to_geojson` to a file and return its path."""
    return write_whole(json.dumps(to_geojson(assessment), ensure_ascii=False, allow_nan=False, indent=1), path)


def to_geojson(assessment: Assessment) -> dict[str, Any]:
    """Anchors as points, lines and surroundings as lines and areas.

    Returns
    -------
    A FeatureCollection after RFC 7946: WGS84 longitude, latitude with seven decimals, no `crs` member, outer rings
    counter-clockwise, lines cut at the antimeridian. Anchors without a position are features with a null geometry.

    Raises
    ------
    OutsideModel : positions at a pole, or spread over more than 100 km.

    References
    ----------
    1. H. Butler and others, The GeoJSON Format, RFC 7946 (2016), sections 3.1.6, 3.1.9, 4 (memory).
    """
    scene = build(assessment)
    features = [_anchor(spot) for spot in scene.spots]
    features += [_feature(None, {"kind": "anchor", "code": code}) for code in scene.unplaced]
    features += [_line(stretch) for stretch in scene.stretches]
    features += _surroundings(scene)
    return {
        "type": "FeatureCollection",
        "site": assessment.record.site.name,
        "date": assessment.one_day.isoformat() if assessment.one_day else None,
        "note": SURVEY_NOT_INSPECTION,
        "credit": assessment.record.site.credit,
        "features": features,
    }


def _feature(geometry: dict[str, Any] | None, properties: dict[str, Any]) -> dict[str, Any]:
    return {"type": "Feature", "geometry": geometry, "properties": jsonable(properties)}


def _anchor(spot: Spot) -> dict[str, Any]:
    return _feature(
        {"type": "Point", "coordinates": _place(spot.latitude_deg, spot.longitude_deg)},
        {
            "kind": "anchor",
            "code": spot.code,
            "anchor_kind": spot.kind,
            "tag": spot.tag,
            "species": spot.species,
            "verdict": spot.verdict,
            "lines": spot.line_ids,
            "accuracy_m": spot.accuracy_m,
            "position_how": spot.how,
            "crown_radius_m": spot.crown_radius_m,
            "root_zone_radius_m": spot.root_zone_radius_m,
        },
    )


def _line(stretch: Stretch) -> dict[str, Any]:
    result, geometry = stretch.result, stretch.result.geometry
    ends = [(spot.latitude_deg, spot.longitude_deg) for spot in (stretch.a, stretch.b)]
    return _feature(
        _cut_line(ends),
        {
            "kind": "line",
            "id": result.id,
            "name": result.name,
            "use": result.use,
            "verdict": result.verdict,
            "assessed_for": result.day,
            "weaker_anchor": result.weaker_anchor,
            "a": stretch.a.code,
            "b": stretch.b.code,
            "distance_m": geometry.distance_m,
            "taped_m": geometry.taped_m,
            "bearing_true_deg": geometry.bearing_true_deg,
            "back_bearing_true_deg": geometry.back_bearing_true_deg,
            "bearing_magnetic_deg": geometry.bearing_magnetic_deg,
            "declination_deg": geometry.declination_deg,
        },
    )


def _surroundings(scene: Scene) -> list[dict[str, Any]]:
    features = []
    for shape in scene.shapes:
        places = list(zip(shape.latitudes_deg.tolist(), shape.longitudes_deg.tolist()))
        if len(places) == 1:
            geometry = {"type": "Point", "coordinates": _place(*places[0])}
        elif shape.closed and len(places) >= 3:
            geometry = {"type": "Polygon", "coordinates": [_ring(places)]}
        else:
            geometry = _cut_line(places)
        features.append(_feature(geometry, {"kind": shape.kind, "name": shape.name, "width_m": shape.width_m}))
    return features


def _place(latitude: float, longitude: float) -> list[float]:
    return [round(longitude, COORDINATE_DIGITS), round(latitude, COORDINATE_DIGITS)]


def _ring(places: list[tuple[float, float]]) -> list[list[float]]:
    """A closed ring, counter-clockwise."""
    ring = [_place(*place) for place in places]
    if ring[0] == ring[-1]:
        ring.pop()
    area = sum(x1 * y2 - x2 * y1 for (x1, y1), (x2, y2) in zip(ring, ring[1:] + ring[:1]))
    if area < 0:
        ring.reverse()
    return [*ring, ring[0]]


def _cut_line(places: list[tuple[float, float]]) -> dict[str, Any]:
    """A line, cut in parts where it crosses the antimeridian."""
    parts = [[_place(*places[0])]]
    for (lat1, lon1), (lat2, lon2) in zip(places, places[1:]):
        if abs(lon2 - lon1) > 180.0:
            side = 180.0 if lon1 > 0 else -180.0
            there = lon2 + 2 * side  # lon2 seen from the first side
            crossing = lat1 + (lat2 - lat1) * (side - lon1) / (there - lon1)
            parts[-1].append(_place(crossing, side))
            parts.append([_place(crossing, -side)])
        parts[-1].append(_place(lat2, lon2))
    if len(parts) == 1:
        return {"type": "LineString", "coordinates": parts[0]}
    return {"type": "MultiLineString", "coordinates": parts}
