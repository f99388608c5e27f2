"""Anchors and lines as GeoJSON for other map programs."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from siteassess.advice.results import Assessment
from siteassess.papers.as_json import jsonable
from siteassess.papers.scene import LineStretch, Scene, Spot, build
from siteassess.places.exchange import Place, geojson, geojson_feature, geojson_text
from siteassess.records.files import write_whole
from siteassess.reference.texts import text


def write_geojson(assessment: Assessment, path: str | Path, language: str = "en") -> Path:
    """Write `to_geojson` to a file and return its path.

    Parameters
    ----------
    assessment : of one record
    path : of the file, replaced if it is there
    language : of what is told
    """
    return write_whole(geojson_text(to_geojson(assessment, language)), path)


def to_geojson(assessment: Assessment, language: str = "en") -> dict[str, Any]:
    """Anchors as points, lines and surroundings as lines and areas.

    Returns
    -------
    A FeatureCollection. Anchors without a position are features with a null geometry.

    Raises
    ------
    OutsideModel : positions at a pole, or spread over more than 100 km.
    """
    scene = build(assessment)
    features = [_anchor(spot) for spot in scene.spots]
    features += [_feature(None, {"kind": "anchor", "code": code}) for code in scene.unplaced]
    features += [_line(stretch) for stretch in scene.stretches]
    features += _surroundings(scene)
    return geojson(
        features, site=assessment.record.site.name, date=assessment.one_day.isoformat() if assessment.one_day else None,
        note=text("no-inspection", language), credit=assessment.record.site.credit,
    )


def _feature(places: list[Place] | None, properties: dict[str, Any], area: bool = False) -> dict[str, Any]:
    return geojson_feature(places, jsonable(properties), area=area)


def _anchor(spot: Spot) -> dict[str, Any]:
    return _feature(
        [(spot.longitude_deg, spot.latitude_deg)],
        {
            "kind": "anchor", "code": spot.code, "anchor_kind": spot.kind, "tag": spot.tag, "species": spot.species,
            "verdict": spot.verdict, "lines": spot.line_ids, "accuracy_m": spot.accuracy_m, "position_how": spot.how,
            "crown_radius_m": spot.crown_radius_m, "root_zone_radius_m": spot.root_zone_radius_m,
        },
    )


def _line(stretch: LineStretch) -> dict[str, Any]:
    result, geometry = stretch.result, stretch.result.geometry
    return _feature(
        [(spot.longitude_deg, spot.latitude_deg) for spot in (stretch.a, stretch.b)],
        {
            "kind": "line", "id": result.id, "name": result.name, "use": result.use, "verdict": result.verdict,
            "assessed_for": result.day, "weaker_anchor": result.weaker_anchor, "a": stretch.a.code, "b": stretch.b.code,
            "distance_m": geometry.distance_m, "taped_m": geometry.taped_m,
            "bearing_true_deg": geometry.bearing_true_deg, "back_bearing_true_deg": geometry.back_bearing_true_deg,
            "bearing_magnetic_deg": geometry.bearing_magnetic_deg, "declination_deg": geometry.declination_deg,
        },
    )


def _surroundings(scene: Scene) -> list[dict[str, Any]]:
    return [
        _feature(
            list(zip(shape.longitudes_deg.tolist(), shape.latitudes_deg.tolist())),
            {"kind": shape.kind, "name": shape.name, "width_m": shape.width_m},
            area=shape.closed,
        )
        for shape in scene.shapes
    ]
