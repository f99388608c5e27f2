"""What lies around a park: what map files hold of it, and what the record marks around an anchor or a line.

The files a record names, and those given beside it; what is marked, for rules that name a distance and for places of
watchers.
"""

from __future__ import annotations

import math
import re
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from siteassess.advice.finding import Finding, found
from siteassess.advice.geometry import Places
from siteassess.advice.tree_inputs import CUTS_ROOTS
from siteassess.errors import Fault, FaultyInput, OutsideModel
from siteassess.mechanics.anchor_vector import angle_between
from siteassess.mechanics.roots import DIGGING_DIAMETERS
from siteassess.places import features as map_features
from siteassess.places.geodesy import LocalFrame
from siteassess.places.surroundings import ImportedFeatures, read_surroundings
from siteassess.records.anchor import HardEdge, Tree
from siteassess.records.fields import SECTORS
from siteassess.records.files import beside, storable
from siteassess.records.line import Line
from siteassess.records.record import Record
from siteassess.records.site import Feature, SurroundingsFile
from siteassess.reference.constants import constant, constants
from siteassess.reference.findings import Said, said, worded
from siteassess.reference.texts import text

REACH_M = constant("reach of surroundings")
USUAL_WIDTH_M = constants("usual width")  # where none was recorded
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


# what is marked, by the edges it may be listed as: each bears on the roots as it does
EDGES: dict[str, tuple[str, ...]] = {"water": ("water", "bank"), **dict.fromkeys(("wall", "building"), CUTS_ROOTS)}
LISTED_OFF_DEG, LISTED_OFF_M = constant("listed edge: side"), constant("listed edge: distance")
LISTED_OFF_SHARE = constant("listed edge: share")


@dataclass(frozen=True)
class Near:
    """One thing and its least horizontal distance [m], with the standard error of the anchors' positions [m].

    NaN stands for an error that is not known.
    """

    kind: str
    name: str
    distance_m: float
    sigma_m: float
    bearing_deg: float  # of its nearest point from an anchor; NaN where it lies on it, or as seen from a line
    nearer_m: float = 0.0  # by how much its edge may lie nearer, where nobody said its width [m]


def things_near(places: Places, code: str) -> tuple[Near, ...]:
    """Everything the site marks, nearest first, as seen from one anchor; nothing where it has no position."""
    return _nearest(places, [code])


def things_near_line(places: Places, line: Line) -> tuple[Near, ...]:
    """The same as seen from a line, from whichever of its points is nearest; nothing without both positions.

    Parameters
    ----------
    places : of all anchors, with all that is known around them
    line : of the record
    """
    return _nearest(places, [line.a.anchor, line.b.anchor])


def edges_on_the_map(tree: Tree, near: Iterable[Near], root_diameter: float) -> list[Finding]:
    """Told of the nearest marked thing that cuts or drowns roots, where no such edge is listed."""
    if tree.hard_edge_near == "not looked":
        return []
    reach = DIGGING_DIAMETERS.value * root_diameter
    return [found("edge-on-the-map", "suits if", looked_at=False, what=thing.kind, apart=thing.distance_m, reach=reach)
            for thing in near if thing.distance_m - thing.nearer_m < reach and thing.kind in EDGES
            and not any(_may_be(edge, thing) for edge in tree.hard_edges)][:1]  # fmt: skip


def _may_be(edge: HardEdge, thing: Near) -> bool:
    """Whether a listed edge is what is marked, as far as its kind, its side and its distance tell."""
    side = 45.0 * SECTORS.index(edge.side)
    turned = angle_between(side, thing.bearing_deg)
    off = max(LISTED_OFF_M, LISTED_OFF_SHARE * thing.distance_m)
    return edge.what in EDGES[thing.kind] and not turned > LISTED_OFF_DEG and abs(
        edge.distance.si - thing.distance_m) <= off  # fmt: skip


def _nearest(places: Places, codes: list[str]) -> tuple[Near, ...]:
    """Least distances from a point or a straight line, to the edge of a thing.

    Of one whose width is only usual the edge may lie off by half of it, which is told with the positions' error.
    """
    found = [place for code in codes if (place := places.at(code)) is not None]
    marked = [feature for feature in places.record.site.surroundings if feature.points]
    if not marked or len(found) < len(codes):
        return ()
    frame = LocalFrame.around([place.latitude_deg for place in found], [place.longitude_deg for place in found])
    here = _flat([(place.latitude_deg, place.longitude_deg) for place in found], frame)
    sigma = _worst(place.sigma_m for place in found)
    things = (_near(thing, here, frame, sigma) for thing in marked)
    return tuple(sorted(things, key=lambda near: near.distance_m))


def _near(thing: Feature, here: BaseGeometry, frame: LocalFrame, sigma: float) -> Near:
    drawn = shape_of(thing, frame)
    width = width_of(thing, drawn)
    there = drawn.buffer(width / 2) if width else drawn
    nearer = nearer_by(thing, drawn)
    unsure = 0.0 if thing.width else max(width / 4, nearer / 2)  # two of them are half the width, or what it may be
    return Near(thing.kind, thing.name or "", here.distance(there), sigma + unsure, _bearing(here, there), nearer)


def _bearing(here: BaseGeometry, thing: BaseGeometry) -> float:
    """To the nearest point of a thing from a point [deg]; NaN from a line, or where they touch."""
    if here.geom_type != "Point" or here.intersects(thing):
        return math.nan
    (x, y), (east, north) = shapely.get_coordinates(shapely.shortest_line(here, thing))
    return math.degrees(math.atan2(east - x, north - y)) % 360.0


def _worst(sigmas: Iterable[float]) -> float:
    known = list(sigmas)
    return math.nan if any(math.isnan(sigma) for sigma in known) else max(known)


def width_of(feature: Feature, drawn: BaseGeometry) -> float:
    """Width of a thing marked [m]: as recorded, else what is usual of a line of its kind."""
    if feature.width:
        return feature.width.si
    return float(USUAL_WIDTH_M.get(feature.kind, 0.0)) if drawn.geom_type == "LineString" else 0.0


def nearer_by(feature: Feature, drawn: BaseGeometry) -> float:
    """By how much the edge of a thing may lie nearer than by its usual width, where nobody said it [m]."""
    usual = None if feature.width or drawn.geom_type != "LineString" else USUAL_WIDTH_M.get(feature.kind)
    return 0.0 if usual is None else (usual.ends[1] - usual.value) / 2


def shape_of(feature: Feature, frame: LocalFrame) -> BaseGeometry:
    """A point, line or area on a plane in metres, without its width."""
    drawn = _flat(feature.points, frame)
    return shapely.make_valid(shapely.Polygon(drawn.coords)) if feature.is_area else drawn


def _flat(points: Iterable[tuple[float, float]], frame: LocalFrame) -> BaseGeometry:
    flat = [frame.to_metres(latitude, longitude) for latitude, longitude in points]
    return shapely.Point(flat[0]) if len(flat) == 1 else shapely.LineString(flat)
