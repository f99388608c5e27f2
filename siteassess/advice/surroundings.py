"""A record with what map files hold of its surroundings: the files it names, and those given beside it."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from pathlib import Path

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from siteassess.advice.geometry import Places
from siteassess.errors import Fault, FaultyInput, OutsideModel
from siteassess.places import features as map_features
from siteassess.places.geodesy import LocalFrame
from siteassess.places.surroundings import ImportedFeatures, read_surroundings
from siteassess.records.files import beside, storable
from siteassess.records.record import Record
from siteassess.records.site import Feature, SurroundingsFile
from siteassess.reference.constants import constant
from siteassess.reference.findings import Said, said, worded
from siteassess.reference.texts import text

REACH_M = constant("reach of surroundings")
MOST_TAKEN = 3000  # more would make a map nobody can read or carry
RECORDED_AS = {"park": "boundary", "tree": "other tree"}
MARKS = ("gate", "emergency point", "other tree")
TREE_SAYS = ("species", "taxon", "scientific_name", "ref", "tag", "circumference", "girth", "diameter_crown", "height")
LONGEST_NAME = 160


def with_surroundings(
    record: Record, folder: Path, given: Sequence[Path] = (), language: str = "en"
) -> tuple[Record, tuple[Said, ...]]:
    """The record with what its own map files and the given ones hold within reach of its anchors.

    Parameters
    ----------
    record : as read
    folder : where the record stands; the files it names lie in it or below
    given : map files named beside the record
    language : in which the record's credit says that nobody named an owner

    Returns
    -------
    The record, its `site.surroundings` and `site.credit` longer, and what is told of each file.

    Raises
    ------
    FaultyInput : a file that is not there or cannot be read, or that a record names outside its own folder.
    OutsideModel : map files, but no anchor with a position.
    """
    named = [(one, _beside(folder, one, index)) for index, one in enumerate(record.site.surroundings_files)]
    files = [*named, *((SurroundingsFile(file=storable(path.name)), path) for path in given)]
    if not files:
        return record, ()
    near = _Near(record)
    found, credits, says = list(record.site.surroundings), [record.site.credit] if record.site.credit else [], []
    for one, path in files:
        read = read_surroundings(path, kind=_map_kind(one.kind), credit=one.credit or "", licence=one.licence or "")
        taken = [feature for thing in read.features for feature in _recorded(thing, near, _whose(read))]
        found += taken[: max(0, MOST_TAKEN - len(found))]
        credits.append(_credit(read, language))
        dropped = () if len(found) < MOST_TAKEN else (said("map-no-more-taken", most=MOST_TAKEN),)
        says.append(said("map-taken", read=read.told, count=len(taken), dropped=dropped))
    credit = text("between", language).join(dict.fromkeys(credits))[:2000]
    site = record.site.model_copy(update={"surroundings": tuple(found), "credit": credit or None})
    return record.model_copy(update={"site": site}), tuple(says)


def _beside(folder: Path, one: SurroundingsFile, index: int) -> Path:
    """The file a record names; a record from elsewhere opens nothing outside its own folder, by a link neither."""
    foreign = re.match(r"[A-Za-z]:|[\\/]", one.file) or ".." in Path(one.file).parts
    file = None if foreign else beside(folder, one.file)
    if file is None:
        where = f"site.surroundings_files[{index}].file"
        raise FaultyInput("record", [Fault(0, where, one.file, worded("want-map-beside"))])
    return file


def _map_kind(kind: str | None) -> str:
    """The map's word for a kind of the record; a kind no map file has is put in afterwards."""
    back = {recorded: word for word, recorded in RECORDED_AS.items()}
    word = back.get(kind or "", kind or "")
    return word if word in map_features.FEATURE_KINDS else ""


class _Near:
    """The ground within reach of the anchors."""

    def __init__(self, record: Record):
        places = Places(record)
        known = [place for anchor in record.anchors if (place := places.at(anchor.code))]
        if not known:
            raise OutsideModel("map files hold what lies about the anchors, but no anchor has a position",
                           "map-files-without-positions")  # fmt: skip
        latitudes, longitudes = [p.latitude_deg for p in known], [p.longitude_deg for p in known]
        self.frame = LocalFrame.around(latitudes, longitudes)
        self.ground = shapely.MultiPoint(np.column_stack(self.frame.to_metres(latitudes, longitudes))).buffer(REACH_M)

    def part(self, thing: map_features.PlacedFeature) -> BaseGeometry:
        return thing.in_metres(self.frame).intersection(self.ground)


def _recorded(thing: map_features.PlacedFeature, near: _Near, source: str) -> Iterator[Feature]:
    """A map feature as the record writes it, one for each piece; an area's holes are closed, which errs on its side."""
    kind = RECORDED_AS.get(thing.kind, thing.kind)
    for piece in shapely.get_parts(near.part(thing)):
        closed = piece.geom_type == "Polygon"
        if kind in MARKS and piece.geom_type != "Point":
            piece, closed = piece.centroid, False
        line = piece.exterior if closed else piece
        if line.is_empty or line.geom_type not in ("Point", "LineString", "LinearRing"):
            continue
        flat = shapely.get_coordinates(line)[: -1 if closed else None]
        degrees = np.column_stack(near.frame.to_degrees(*flat.T))
        points = tuple((round(float(lat), 7), round(float(lon), 7)) for lat, lon in degrees)
        yield Feature.model_validate({"kind": kind, "name": _text(_name(thing)), "points": points, "closed": closed,
                                      "source": _text(source)})  # fmt: skip


def _name(thing: map_features.PlacedFeature) -> str:
    if thing.kind != "tree":
        return thing.name
    said = [f"{key.replace('_', ' ')} {thing.attributes[key]}" for key in TREE_SAYS if thing.attributes.get(key)]
    return ", ".join([*([thing.name] if thing.name else []), *said])


def _text(text: str) -> str | None:
    """A text from a map file as a record may hold it; files hold control marks and endless notes."""
    return "".join(c for c in text if c.isprintable()).strip()[:LONGEST_NAME] or None


def _whose(read: ImportedFeatures) -> str:
    return ", ".join(part for part in (read.source, read.credit, read.licence) if part)


def _credit(read: ImportedFeatures, language: str) -> str:
    whose = " ".join(part for part in (read.credit, read.licence) if part)
    whose = whose or said("map-credit-unknown").in_words(language)
    return _text(f"{read.source}{text('colon', language)} {whose}") or read.source
