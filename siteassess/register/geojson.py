"""GeoJSON of a copy, and back.

References
----------
1. RFC 7946, The GeoJSON Format (memory): longitude before latitude on WGS84, no `crs`, lines cut at the antimeridian,
   seven decimals are plenty; other members beside the standard ones are allowed.
"""

from __future__ import annotations

import json
from typing import Any

from siteassess.register.columns import flat, in_words
from siteassess.register.guard import refuse_hostile
from siteassess.register.incoming import Incoming, foreign_point, from_flat, refuse_too_many, refused
from siteassess.register.share import Copy, Shared

FACTS_KEY = "siteassess_copy"


def write(copy: Copy) -> str:
    """A FeatureCollection with the facts of the copy beside it."""
    features = [_feature(feature, copy) for feature in copy.features]
    return json.dumps(
        {"type": "FeatureCollection", FACTS_KEY: copy.facts(), "features": features}, ensure_ascii=False, indent=1
    )


def _feature(feature: Shared, copy: Copy) -> dict[str, Any]:
    properties = {key: value for key, value in flat(feature, copy).items() if value is not None}
    properties["record"] = json.loads(properties["record"])
    properties["description"] = in_words(feature, copy)
    return {"type": "Feature", "id": feature.id, "geometry": geometry(feature.points), "properties": properties}


def geometry(points: list[tuple[float, float]] | None) -> dict[str, Any] | None:
    """A Point, a LineString, or a MultiLineString where a line crosses the antimeridian."""
    if not points:
        return None
    if len(points) == 1:
        return {"type": "Point", "coordinates": _place(points[0])}
    (lon_a, lat_a), (lon_b, lat_b) = points
    if abs(lon_a - lon_b) <= 180:
        return {"type": "LineString", "coordinates": [_place(p) for p in points]}
    edge = 180.0 if lon_a > 0 else -180.0
    beyond = lon_b + 2 * edge
    share = (edge - lon_a) / (beyond - lon_a) if beyond != lon_a else 0.0
    lat = lat_a + share * (lat_b - lat_a)
    parts = [[points[0], (edge, lat)], [(-edge, lat), points[1]]]
    return {"type": "MultiLineString", "coordinates": [[_place(p) for p in part] for part in parts]}


def _place(point: tuple[float, float]) -> list[float]:
    return [round(point[0], 7), round(point[1], 7)]


def read(text: str, source: str, kind: str = "other") -> Incoming:
    """Features of a GeoJSON text, ours or another's.

    Parameters
    ----------
    kind : what a point of another program is taken for, "tree" or "other"

    Raises
    ------
    FaultyInput : no GeoJSON, hostile texts, coordinates off the earth.
    """
    try:
        whole = json.loads(text, parse_constant=lambda word: None)
    except (ValueError, RecursionError):
        raise refused(source, "file", ascii(text[:40]), "GeoJSON") from None
    if not isinstance(whole, dict) or whole.get("type") not in ("FeatureCollection", "Feature"):
        raise refused(source, "type", ascii(str(whole)[:40]), "a FeatureCollection or a Feature")
    if "crs" in whole:
        raise refused(source, "crs", ascii(str(whole["crs"]))[:80], "WGS84 without a crs member (RFC 7946)")
    features = whole.get("features") if whole["type"] == "FeatureCollection" else [whole]
    if not isinstance(features, list) or not all(isinstance(f, dict) for f in features):
        raise refused(source, "features", ascii(str(features)[:40]), "a list of features")
    refuse_too_many(len(features), source)
    facts = whole.get(FACTS_KEY)
    incoming = Incoming(source, foreign=not isinstance(facts, dict))
    if isinstance(facts, dict):
        refuse_hostile(facts, source)
        incoming.facts = {str(key): str(value) for key, value in facts.items()}
    for number, feature in enumerate(features, start=1):
        points = _points(feature.get("geometry"), source, number)
        properties = feature.get("properties") or {}
        if not isinstance(properties, dict):
            raise refused(source, f"feature {number} properties", ascii(str(properties)[:40]), "a mapping")
        if not incoming.foreign:
            incoming.features.append(from_flat(properties, points, source))
        elif points is not None and len(points) == 1:
            name = _text(properties, "name", "title", "ref")
            incoming.features.append(
                foreign_point(name, points[0], source, number, kind, _text(properties, "species", "genus"))
            )
    return incoming


def _text(properties: dict[str, Any], *keys: str) -> str | None:
    return next((properties[key] for key in keys if isinstance(properties.get(key), str) and properties[key]), None)


def _points(shape: Any, source: str, number: int) -> list[tuple[float, float]] | None:
    if shape is None:
        return None
    where = f"feature {number} geometry"
    if not isinstance(shape, dict):
        raise refused(source, where, ascii(str(shape)[:40]), "a geometry")
    kind: str | None = shape.get("type")
    raw: Any = shape.get("coordinates")
    try:
        if kind == "Point":
            return [_pair(raw)]
        if kind == "LineString":
            return [_pair(item) for item in raw]
        if kind == "MultiLineString":
            return [_pair(raw[0][0]), _pair(raw[-1][-1])]
    except (TypeError, ValueError, OverflowError, IndexError, KeyError):
        raise refused(source, where, ascii(str(raw)[:60]), "longitude and latitude as numbers") from None
    return None


def _pair(raw: Any) -> tuple[float, float]:
    lon, lat = raw[0], raw[1]
    if isinstance(lon, bool) or isinstance(lat, bool) or not isinstance(lon, (int, float)):
        raise TypeError
    return float(lon), float(lat) + 0.0
