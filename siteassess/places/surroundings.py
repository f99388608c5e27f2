"""Reading what lies around a site from GeoJSON, GeoPackage, GPX, KML or an OpenStreetMap extract.

The file's own bytes decide which reader opens it, never its name alone: a file that is something else under a
harmless name is refused, since some map formats can point at other files.
"""

from __future__ import annotations

import math
import re
import warnings
from collections import Counter
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import geopandas
import numpy as np
import pyogrio
import pyproj
import shapely
import shapely.geometry
from pyogrio.errors import DataLayerError, DataSourceError
from shapely.geometry.base import BaseGeometry

from siteassess.errors import FaultyInput, refused
from siteassess.places.exchange import geojson_rows
from siteassess.places.features import FEATURE_KINDS, PlacedFeature, kind_by_tags
from siteassess.reference.findings import Said, Worded, said, worded

LARGEST_FILE_BYTES = 200_000_000
MOST_FEATURES = 500_000
FORMATS = {
    ".geojson": "GeoJSON", ".json": "GeoJSON", ".gpkg": "GeoPackage", ".gpx": "GPX", ".kml": "KML",
    ".osm": "OpenStreetMap", ".pbf": "OpenStreetMap",
}
FILE_LAYERS = {
    "GPX": ("waypoints", "routes", "tracks"),
    "OpenStreetMap": ("points", "lines", "multilinestrings", "multipolygons"),
}
OSM_CREDIT, OSM_LICENCE = "© OpenStreetMap contributors", "ODbL 1.0"


@dataclass(frozen=True)
class SetAside:
    """A reason why features were not taken, and how many."""

    reason: Worded
    count: int


@dataclass(frozen=True)
class ImportedFeatures:
    """What a file held: features with a kind, how many had none, what was set aside, and whose data it is."""

    features: tuple[PlacedFeature, ...]
    source: str
    credit: str
    licence: str
    read: int
    without_kind: int
    set_aside: tuple[SetAside, ...]

    @property
    def told(self) -> Said:
        """How many of what kind were found, what was not taken, and whose data it is."""
        kinds = sorted(Counter(f.kind for f in self.features).items())
        found = tuple(said("map-of-kind", count=count, kind=kind) for kind, count in kinds)
        aside = tuple(said("map-set-aside", count=one.count, reason=one.reason) for one in self.set_aside)
        whose = " ".join(part for part in (self.credit, self.licence) if part) or worded("map-owner-not-stated")
        return said("map-read", source=self.source, read=self.read, found=found or (said("map-nothing"),),
                    unknown=self.without_kind, aside=aside, whose=whose)  # fmt: skip


def read_surroundings(
    path: str | Path, *, kind: str = "", credit: str = "", licence: str = "", layer: str | None = None
) -> ImportedFeatures:
    """Paths, water, buildings, play areas, power lines, trees and the like from a map file.

    Parameters
    ----------
    path : a .geojson, .json, .gpkg, .gpx, .kml, .osm or .osm.pbf file
    kind : what features without a telling tag are, for a file that holds one thing only (say, worn tracks walked
        with a receiver); one of `features.FEATURE_KINDS`
    credit, licence : whose data it is; a GeoJSON's own `attribution` and `license` are taken otherwise
    layer : one layer of a GeoPackage; all of them unless told

    Returns
    -------
    ImportedFeatures in longitude and latitude on WGS84, each with its published attributes as text. Published sizes are
    kept as they stand: units stray in map data and nothing is converted here.

    Raises
    ------
    FaultyInput : no such file, too large, another format than its name says, broken, or without a coordinate system
        where its numbers are no degrees.
    """
    path = Path(path)
    if kind and kind not in FEATURE_KINDS:
        raise refused(path.name, "kind", repr(kind), worded("want-one-of", choices=FEATURE_KINDS))
    form = _checked_format(path)
    if form == "GeoJSON":
        frame, *stated = _read_geojson(path)
        credit, licence, frames = credit or stated[0], licence or stated[1], [frame]
    else:
        if form == "OpenStreetMap":
            credit, licence = credit or OSM_CREDIT, licence or OSM_LICENCE
        frames = [_read_layer(path, name) for name in _layers(path, form, layer)]
    aside: Counter[Worded] = Counter()
    features, count, unknown = [], 0, 0
    for frame in frames:
        count += len(frame)
        if count > MOST_FEATURES:
            read, wanted = worded("want-more-than", limit=str(MOST_FEATURES)), worded("want-cut-out")
            raise refused(path.name, worded("the-features"), read, wanted)
        degrees = _in_degrees(frame, path)
        for geometry, tags in zip(degrees.geometry, _tags(degrees)):
            if reason := _unusable(geometry):
                aside[reason] += 1
                continue
            found = kind_by_tags(tags) or kind
            if not found:
                unknown += 1
                continue
            name = tags.get("name") or tags.get("Name") or tags.get("ref") or ""
            features.append(PlacedFeature(found, shapely.force_2d(geometry), name, tags, path.name))
    set_aside = tuple(SetAside(reason, many) for reason, many in sorted(aside.items()))
    return ImportedFeatures(tuple(features), path.name, credit, licence, count, unknown, set_aside)


def _no_map(path: Path, read: str, wanted: str, mend: str = "") -> FaultyInput:
    return refused(path.name, worded("the-file"), read, wanted, mend)


def _checked_format(path: Path) -> str:
    """The format by name, borne out by the first bytes."""
    form = FORMATS.get(path.suffix.lower())
    if form is None:
        raise _no_map(path, path.suffix or worded("read-no-ending"), worded("want-one-of", choices=tuple(FORMATS)))
    if not path.is_file():
        raise _no_map(path, worded("read-no-file"), worded("want-readable-file"))
    size = path.stat().st_size
    if not 0 < size <= LARGEST_FILE_BYTES:
        wanted = worded("want-bytes-up-to", most=LARGEST_FILE_BYTES)
        raise _no_map(path, worded("read-bytes", count=size), wanted, worded("mend-cut-out"))
    with open(path, "rb") as file:
        head = file.read(4096)
    text = head.removeprefix(b"\xef\xbb\xbf").lstrip()
    root = re.match(rb"(\s*<\?.*?\?>|\s*<!--.*?-->)*\s*<(?:\w+:)?(\w+)", text, re.S)
    borne_out = {
        "GeoJSON": text.startswith(b"{"),
        "GeoPackage": head.startswith(b"SQLite format 3\x00") and head[68:72] in (b"GPKG", b"GP10", b"GP11"),
        "GPX": root is not None and root[2] == b"gpx",
        "KML": root is not None and root[2] == b"kml",
        "OpenStreetMap": (root is not None and root[2] == b"osm") or b"OSMHeader" in head[:64],
    }[form]
    if not borne_out:
        raise _no_map(path, worded("read-other-under-name", ending=path.suffix), worded("want-a-form", form=form))
    if root is not None:
        _refuse_pointers(path)
    return form


def _refuse_pointers(path: Path) -> None:
    """Refuse XML with entities, which can swell without end, and what would make the reader open other files."""
    with open(path, "rb") as file:
        tail = b""
        for block in iter(lambda: file.read(1 << 20), b""):
            if re.search(rb"<!\s*(DOCTYPE|ENTITY)|OGRVRT|OGRWF", tail + block, re.I):
                raise _no_map(path, worded("read-pointers"), worded("want-plain-map"))
            tail = block[-32:]


def _read_geojson(path: Path) -> tuple[geopandas.GeoDataFrame, str, str]:
    """(features, credit, licence) of a GeoJSON file; a feature with a broken geometry keeps its row without one."""
    try:
        text = path.read_text(encoding="utf-8-sig")
    except UnicodeDecodeError:
        raise _no_map(path, worded("read-no-utf-8"), worded("want-geojson-in-utf-8")) from None
    whole, rows = geojson_rows(text, path.name)
    rows = [row if isinstance(row, dict) else {} for row in rows]
    tags = [row["properties"] if isinstance(row.get("properties"), dict) else {} for row in rows]
    tags = [{"id": row["id"], **tag} if "id" in row else tag for row, tag in zip(rows, tags)]
    frame = geopandas.GeoDataFrame({"tags": tags}, geometry=[_shape(row.get("geometry")) for row in rows])
    frame = _with_stated_crs(frame, whole.get("crs"), path)
    licence = whole.get("license", whole.get("licence", ""))
    return frame, str(whole.get("attribution", ""))[:200], str(licence)[:200]


def _shape(geometry: object) -> BaseGeometry | None:
    """A shapely geometry, or None where the text holds none."""
    try:
        return shapely.geometry.shape(geometry)
    except (AttributeError, KeyError, IndexError, TypeError, ValueError, OverflowError, shapely.errors.ShapelyError):
        return None


def _with_stated_crs(frame: geopandas.GeoDataFrame, crs: Any, path: Path) -> geopandas.GeoDataFrame:
    """Older files may name a coordinate system; without one the standard says degrees, which is checked later."""
    if crs is None:
        return frame
    try:
        return frame.set_crs(crs["properties"]["name"])
    except (KeyError, TypeError, pyproj.exceptions.CRSError):
        raise refused(path.name, "crs", str(crs)[:80], worded("want-named-crs")) from None


def _layers(path: Path, form: str, wanted: str | None) -> list[str]:
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            present = [str(name) for name, geometry in pyogrio.list_layers(path) if geometry is not None]
    except (DataSourceError, DataLayerError) as broken:
        read, whole = worded("read-file-unopened"), worded("want-a-form", form=form)
        raise _no_map(path, read, whole, _plain(broken)) from None
    if wanted is not None:
        if wanted not in present:
            choices = worded("want-one-of", choices=tuple(present)) if present else worded("want-layers")
            raise refused(path.name, worded("the-layer"), repr(wanted), choices)
        return [wanted]
    return [name for name in present if name in FILE_LAYERS.get(form, present)]


def _read_layer(path: Path, layer: str) -> geopandas.GeoDataFrame:
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")  # remarks on single attributes, which stay text for us
            frame = pyogrio.read_dataframe(
                path, layer=layer, max_features=MOST_FEATURES + 1, on_invalid="ignore", datetime_as_string=True
            )
    except (DataSourceError, DataLayerError, ValueError, RuntimeError) as broken:
        raise _no_map(path, worded("read-file-unread"), worded("want-whole-map"), _plain(broken)) from None
    if not isinstance(frame, geopandas.GeoDataFrame):
        return geopandas.GeoDataFrame(geometry=[], crs=4326)
    return frame


def _in_degrees(frame: geopandas.GeoDataFrame, path: Path) -> geopandas.GeoDataFrame:
    if not len(frame):
        return frame
    if frame.crs is not None:
        try:
            return frame.to_crs(4326)
        except pyproj.exceptions.ProjError:
            wanted, mend = worded("want-crs-of-earth"), worded("mend-save-in-degrees")
            raise refused(path.name, "crs", str(frame.crs.name)[:80], wanted, mend) from None
    # what has no numbers is set aside one by one
    bounds = frame.bounds.to_numpy()
    bounds = bounds[np.isfinite(bounds).all(axis=1)]
    if not len(bounds):
        return frame.set_crs(4326)
    (west, south), (east, north) = bounds[:, :2].min(axis=0), bounds[:, 2:].max(axis=0)
    if not (-180 <= west <= east <= 180 and -90 <= south <= north <= 90):
        read, wanted = worded("read-no-crs", most=max(abs(east), abs(north))), worded("want-file-with-crs")
        raise refused(path.name, worded("the-coordinates"), read, wanted)
    return frame.set_crs(4326)


def _unusable(geometry: BaseGeometry | None) -> Worded | None:
    """Why a geometry cannot be used, or None."""
    if geometry is None or geometry.is_empty:
        return worded("map-no-geometry")
    bounds = np.array(geometry.bounds)
    if not np.isfinite(bounds).all():
        return worded("map-no-numbers")
    west, south, east, north = bounds
    if not (west >= -180.0 and east <= 180.0 and south >= -89.5 and north <= 89.5):
        return worded("map-no-degrees")
    return None


def _tags(frame: geopandas.GeoDataFrame) -> list[dict[str, str]]:
    """The attributes of every feature as text, the blank ones left out, packed OpenStreetMap tags unpacked."""
    if list(frame.columns) == ["tags", frame.geometry.name] and all(isinstance(tags, dict) for tags in frame["tags"]):
        rows = list(frame["tags"])
    else:
        rows = frame.drop(columns=frame.geometry.name).to_dict("records")
    return [_unpacked({str(key): text for key, value in row.items() if (text := _text(value))}) for row in rows]


def _text(value: object) -> str:
    if value is None or isinstance(value, (dict, list)) or (isinstance(value, float) and not math.isfinite(value)):
        return ""
    if isinstance(value, float) and value.is_integer():
        return str(int(value))
    text = str(value).strip()
    return "" if text in ("nan", "NaN", "NaT", "None") else text


def _unpacked(tags: dict[str, str]) -> dict[str, str]:
    packed = tags.pop("other_tags", "")
    for key, value in re.findall(r'"((?:[^"\\]|\\.)*)"=>"((?:[^"\\]|\\.)*)"', packed):
        tags.setdefault(key, value)
    return tags


def _plain(broken: Exception) -> str:
    return str(broken).splitlines()[0][:160].replace(str(Path.cwd()), "").strip() if str(broken) else ""
