"""What the record marks around an anchor or a line: for rules that name a distance, and for watchers' places."""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass

import shapely
from shapely.geometry.base import BaseGeometry

from siteassess.advice.finding import Finding, found
from siteassess.advice.geometry import Places
from siteassess.advice.tree_inputs import CUTS_ROOTS
from siteassess.mechanics.anchor_vector import angle_between
from siteassess.mechanics.roots import DIGGING_DIAMETERS
from siteassess.places.geodesy import LocalFrame
from siteassess.records.anchor import HardEdge, Tree
from siteassess.records.fields import SECTORS
from siteassess.records.line import Line
from siteassess.records.site import Feature
from siteassess.reference.constants import constant

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
            for thing in near if thing.distance_m < reach and thing.kind in EDGES
            and not any(_may_be(edge, thing) for edge in tree.hard_edges)][:1]  # fmt: skip


def _may_be(edge: HardEdge, thing: Near) -> bool:
    """Whether a listed edge is what is marked, as far as its kind, its side and its distance tell."""
    side = 45.0 * SECTORS.index(edge.side)
    turned = angle_between(side, thing.bearing_deg)
    off = max(LISTED_OFF_M, LISTED_OFF_SHARE * thing.distance_m)
    return edge.what in EDGES[thing.kind] and not turned > LISTED_OFF_DEG and abs(
        edge.distance.si - thing.distance_m) <= off  # fmt: skip


def _nearest(places: Places, codes: list[str]) -> tuple[Near, ...]:
    """Least distances from a point or a straight line; a recorded width counts, so a path is as near as its edge."""
    found = [place for code in codes if (place := places.at(code)) is not None]
    marked = [feature for feature in places.record.site.surroundings if feature.points]
    if not marked or len(found) < len(codes):
        return ()
    frame = LocalFrame.around([place.latitude_deg for place in found], [place.longitude_deg for place in found])
    here = _flat([(place.latitude_deg, place.longitude_deg) for place in found], frame)
    sigma = _worst(place.sigma_m for place in found)
    things = [Near(thing.kind, thing.name or "", here.distance(drawn), sigma, _bearing(here, drawn))
              for thing in marked for drawn in (_drawn(thing, frame),)]  # fmt: skip
    return tuple(sorted(things, key=lambda near: near.distance_m))


def _bearing(here: BaseGeometry, thing: BaseGeometry) -> float:
    """To the nearest point of a thing from a point [deg]; NaN from a line, or where they touch."""
    if here.geom_type != "Point" or here.intersects(thing):
        return math.nan
    (x, y), (east, north) = shapely.get_coordinates(shapely.shortest_line(here, thing))
    return math.degrees(math.atan2(east - x, north - y)) % 360.0


def _worst(sigmas: Iterable[float]) -> float:
    known = list(sigmas)
    return math.nan if any(math.isnan(sigma) for sigma in known) else max(known)


def _drawn(feature: Feature, frame: LocalFrame) -> BaseGeometry:
    """The feature on a plane in metres, as wide as it was recorded."""
    drawn = shape_of(feature, frame)
    return drawn.buffer(feature.width.si / 2) if feature.width else drawn


def shape_of(feature: Feature, frame: LocalFrame) -> BaseGeometry:
    """A point, line or area on a plane in metres, without its width."""
    drawn = _flat(feature.points, frame)
    return shapely.make_valid(shapely.Polygon(drawn.coords)) if feature.is_area else drawn


def _flat(points: Iterable[tuple[float, float]], frame: LocalFrame) -> BaseGeometry:
    flat = [frame.to_metres(latitude, longitude) for latitude, longitude in points]
    return shapely.Point(flat[0]) if len(flat) == 1 else shapely.LineString(flat)
