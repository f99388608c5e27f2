"""What goes out to other map programs and comes in from them: plain features, and GeoJSON.

Places are (longitude, latitude) on WGS84 [deg], in the order of the formats. `exchange_xml` has GPX and KML,
`exchange_csv` the cells of tables, `geopackage` the frame of a GeoPackage.

References
----------
1. H. Butler and others, The GeoJSON Format, RFC 7946 (2016), sections 3.1.6, 3.1.9, 4 (memory): longitude before
   latitude on WGS84, no `crs`, outer rings counter-clockwise, lines cut at the antimeridian; other members beside the
   standard ones are allowed.
"""

from __future__ import annotations

import json
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

from siteassess.errors import refused
from siteassess.reference.findings import worded

Place = tuple[float, float]
DIGITS = 7  # decimals of a degree, about 1 cm; more would claim what no tape can give


@dataclass(frozen=True)
class Exchanged:
    """One thing of a map file: what it is called, what is said of it, where it lies, and its own fields.

    `places` is one place, or those of a line or of the outline of an area; None where it has none. `line` is that of a
    text file, else 0. `word` is the one whose look it takes, `day` the day it was looked at.
    """

    name: str | None = None
    says: str | None = None
    kind: str | None = None
    places: Sequence[Place] | None = None
    fields: Mapping[str, Any] = field(default_factory=dict)
    line: int = 0
    area: bool = False
    word: str | None = None
    day: str | None = None


@dataclass(frozen=True)
class MapFile:
    """What a map file holds, and what one of ours says of itself; None where another program wrote it."""

    source: str
    features: list[Exchanged]
    facts: dict[str, str] | None


def one_text(value: Any) -> Any:
    """Several words as one text, as a cell or a field holds them; anything else as it is.

    Parameters
    ----------
    value : of a field

    Returns
    -------
    A text, or the value.
    """
    return "; ".join(map(str, value)) if isinstance(value, (list, tuple)) else value


def rounded_place(place: Place) -> list[float]:
    """[longitude, latitude] with no more decimals than a position has.

    Parameters
    ----------
    place : longitude and latitude [deg]
    """
    return [round(place[0], DIGITS), round(place[1], DIGITS)]


def geojson(features: Iterable[Mapping[str, Any]], **members: Any) -> dict[str, Any]:
    """A collection of features, with members of its own before them.

    Parameters
    ----------
    features : each a feature, as `geojson_feature` makes it
    members : of the collection's own, by name

    Returns
    -------
    As RFC 7946 has it.
    """
    return {"type": "FeatureCollection", **members, "features": list(features)}


def geojson_text(collection: Mapping[str, Any]) -> str:
    """The text of a GeoJSON file.

    Parameters
    ----------
    collection : as `geojson` makes it
    """
    return json.dumps(collection, ensure_ascii=False, allow_nan=False, indent=1)


def geojson_feature(
    places: Sequence[Place] | None, properties: Mapping[str, Any], name: str | None = None, area: bool = False
) -> dict[str, Any]:
    """A feature.

    Parameters
    ----------
    places : longitude and latitude [deg]; None has no geometry
    properties : facts by name
    name : its id
    area : whether the places are an outline, which takes three of them

    Returns
    -------
    As RFC 7946 has it.
    """
    named = {} if name is None else {"id": name}
    return {"type": "Feature", **named, "geometry": geojson_geometry(places, area), "properties": properties}


def geojson_geometry(places: Sequence[Place] | None, area: bool = False) -> dict[str, Any] | None:
    """A Point, a Polygon, a LineString, or a MultiLineString where a line crosses the antimeridian.

    Parameters
    ----------
    places : longitude and latitude [deg]
    area : whether they are an outline

    Returns
    -------
    As RFC 7946 has it; None without a place.

    Examples
    --------
    From 45 N, 170 E to 45 N, 170 W (RFC 7946, section 3.1.9, read):

    >>> geojson_geometry([(170.0, 45.0), (-170.0, 45.0)])["coordinates"]
    [[[170.0, 45.0], [180.0, 45.0]], [[-180.0, 45.0], [-170.0, 45.0]]]
    """
    if not places:
        return None
    if len(places) == 1:
        return {"type": "Point", "coordinates": rounded_place(places[0])}
    if area and len(places) >= 3:
        return {"type": "Polygon", "coordinates": [closed_ring(places)]}
    parts = [[rounded_place(places[0])]]
    for (lon1, lat1), (lon2, lat2) in zip(places, places[1:]):
        if abs(lon2 - lon1) > 180.0:
            edge = 180.0 if lon1 > 0 else -180.0
            there = lon2 + 2 * edge  # lon2 seen from the first side
            crossing = lat1 + (lat2 - lat1) * (edge - lon1) / (there - lon1) if there != lon1 else lat1
            parts[-1].append(rounded_place((edge, crossing)))
            parts.append([rounded_place((-edge, crossing))])
        parts[-1].append(rounded_place((lon2, lat2)))
    if len(parts) == 1:
        return {"type": "LineString", "coordinates": parts[0]}
    return {"type": "MultiLineString", "coordinates": parts}


def closed_ring(places: Sequence[Place]) -> list[list[float]]:
    """An outline as a closed ring, counter-clockwise, each place as [longitude, latitude].

    Parameters
    ----------
    places : longitude and latitude [deg]
    """
    ring = [rounded_place(place) for place in places]
    if ring[0] == ring[-1]:
        ring.pop()
    area = sum(x1 * y2 - x2 * y1 for (x1, y1), (x2, y2) in zip(ring, ring[1:] + ring[:1]))
    if area < 0:
        ring.reverse()
    return [*ring, ring[0]]


def geojson_rows(text: str, source: str) -> tuple[dict[str, Any], list[Any]]:
    """The whole of a GeoJSON text and its features, whatever these are; what is no number reads as null.

    Parameters
    ----------
    text : of the file
    source : its name, for what is told of faults

    Returns
    -------
    The whole; its features.

    Raises
    ------
    FaultyInput : no JSON, or neither a collection nor a feature.
    """
    try:
        whole = json.loads(text, parse_constant=lambda word: None)
    except json.JSONDecodeError as broken:
        read = worded("read-broken-json", why=broken.msg)
        raise refused(source, worded("the-file"), read, _wanted(), line=broken.lineno) from None
    except RecursionError:
        raise refused(source, worded("the-file"), worded("read-endless-json"), _wanted()) from None
    except ValueError:
        raise refused(source, worded("the-file"), worded("read-long-number"), _wanted()) from None
    kind = whole.get("type") if isinstance(whole, dict) else type(whole).__name__
    rows = [whole] if kind == "Feature" else whole.get("features") if isinstance(whole, dict) else None
    if kind not in ("FeatureCollection", "Feature") or not isinstance(rows, list):
        raise refused(source, "type", ascii(kind)[:40], worded("want-collection"))
    return whole, rows


def _wanted() -> str:
    return worded("want-a-form", form="GeoJSON")


def read_geojson(text: str, source: str, ours_by: str) -> MapFile:
    """Points and lines of a GeoJSON text; one of ours has its facts in the member `ours_by`.

    Parameters
    ----------
    text : of the file
    source : its name, for what is told of faults
    ours_by : member that holds the facts of one of ours

    Raises
    ------
    FaultyInput : no GeoJSON, a system of coordinates of its own, features or coordinates that are none.
    """
    whole, rows = geojson_rows(text, source)
    if "crs" in whole:
        raise refused(source, "crs", ascii(str(whole["crs"]))[:80], worded("want-no-crs"))
    facts = whole.get(ours_by)
    features = [_feature_of(row, source, number) for number, row in enumerate(rows, start=1)]
    return MapFile(source, features, {k: str(v) for k, v in facts.items()} if isinstance(facts, dict) else None)


def _feature_of(row: Any, source: str, number: int) -> Exchanged:
    if not isinstance(row, dict):
        raise refused(source, worded("the-features"), ascii(str(row)[:40]), worded("want-list-of-features"))
    fields = row.get("properties") or {}
    if not isinstance(fields, dict):
        raise refused(source, _part(number, "properties"), ascii(str(fields)[:40]), worded("want-a-mapping"))
    names = (fields[key] for key in ("name", "title", "ref") if isinstance(fields.get(key), str) and fields[key])
    return Exchanged(next(names, None), places=_places_of(row.get("geometry"), source, number), fields=fields)


def _places_of(shape: Any, source: str, number: int) -> list[Place] | None:
    """Places of a point or a line, of one cut in parts its ends; None for other shapes."""
    if shape is None:
        return None
    if not isinstance(shape, dict):
        raise refused(source, _part(number, "geometry"), ascii(str(shape)[:40]), worded("want-a-geometry"))
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
        wanted = worded("want-place-as-numbers")
        raise refused(source, _part(number, "geometry"), ascii(str(raw)[:60]), wanted) from None
    return None


def _part(number: int, key: str) -> str:
    return worded("the-part-of-feature", number=number, key=key)


def _pair(raw: Any) -> Place:
    lon, lat = raw[0], raw[1]
    if isinstance(lon, bool) or isinstance(lat, bool) or not isinstance(lon, (int, float)):
        raise TypeError
    return float(lon), float(lat) + 0.0

