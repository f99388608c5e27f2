"""What a line and the strip people may fall into cross or come near, and what runs downhill into it.

Distances are horizontal. Nothing found here is a leave to rig: worn tracks and temporary things are on no map.

What each thing met is a reason for stands in the table `crossing_advice`. Every distance and advice is a judgement, but
for the rule never to rig across a path or a worn track: land managers' rules say so (read), and the one bystander's
death on record came from a line met off the path (read).
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np
import shapely
from shapely import LineString, Point
from shapely.affinity import translate
from shapely.geometry.base import BaseGeometry

from siteassess.places.features import PlacedFeature
from siteassess.places.geodesy import Array, LocalFrame
from siteassess.places.instruments import PHONE_UNDER_TREES
from siteassess.reference.constants import constant, constants
from siteassess.reference.tables import rows

# what to do where a thing is crossed, lies in the fall strip, or is near the strip, by its kind
ADVICE = {row.kind: row for row in rows("crossing_advice")}
RUN_INTO = ("path", "worn track", "road", "play area", "gate")

PAST_STRIP_M = constants("told past the strip")

# How far a rider or child runs on downhill, by the slope [deg, m].
RUN_OUT = tuple((float(below), reach) for below, reach in constants("run out below").items())


def run_out_m(slope_deg: float) -> float:
    """How far uphill to look for what runs into a line [m].

    Parameters
    ----------
    slope_deg : of the ground; NaN is unknown and taken as steep [deg]
    """
    if math.isnan(slope_deg):
        return RUN_OUT[-1][1]
    return next(reach for below, reach in RUN_OUT if slope_deg < below)


def advice_for(kind: str, relation: str) -> str:
    """The advice word: "do not rig", "shift", "watcher", "flag" or "note".

    Parameters
    ----------
    kind : a key of `ADVICE`
    relation : as in `crossings.Crossing`
    """
    _, crosses, in_strip, near, *_ = map(str, ADVICE[kind])
    if relation == "crosses":
        return crosses
    if relation == "in the fall strip":
        return in_strip
    if relation == "may reach the fall strip":
        return "note" if in_strip == "note" else "shift"
    if relation == "heads downhill at the line":
        return "shift"
    if relation == "uphill of the line":
        return "flag" if kind == "gate" else "watcher"
    return "note" if relation == "shares an anchor" else near


FALL_STRIP_HALF_WIDTH_M = constant("fall strip half width")
SHARED_ANCHOR_M = constant("shared anchor")
HEADING_AT_THE_LINE_DEG = constant("heading at the line")
LEAST_OBSTACLE_M = constant("least obstacle")
FIX_AT_ITS_WORST_M = PHONE_UNDER_TREES.high or PHONE_UNDER_TREES.value
SEVERITY = ("note", "flag", "watcher", "shift", "do not rig")


@dataclass(frozen=True)
class PlannedLine:
    """A line between two places, (latitude, longitude) [deg].

    `sigma_m` is the standard error of the places against the map; NaN where it is not known, which widens the check.
    """

    name: str
    start: tuple[float, float]
    end: tuple[float, float]
    high: bool = False
    height_m: float = math.nan
    sigma_m: float = math.nan


@dataclass(frozen=True)
class GroundSlope:
    """The fall of the ground at a line: the bearing it falls towards [deg from true north] and how steeply [deg]."""

    downhill_bearing_deg: float
    slope_deg: float = math.nan


@dataclass(frozen=True)
class RootZone:
    """The protection zone of a tree that carries no line."""

    name: str
    latitude_deg: float
    longitude_deg: float
    radius_m: float


@dataclass(frozen=True)
class Crossing:
    """One thing a line meets.

    `relation` is "crosses", "in the fall strip", "may reach the fall strip", "near", "uphill of the line", "heads
    downhill at the line" or "shares an anchor". `distance_m` is from the line itself, `along_m` how far from its
    start; `place` is (latitude, longitude) of the nearest point of the thing, where a watcher or a flag would stand.
    """

    line: str
    kind: str
    name: str
    relation: str
    distance_m: float
    along_m: float
    place: tuple[float, float]
    advice: str


def check_crossings(
    lines: Sequence[PlannedLine], features: Sequence[PlacedFeature], *, root_zones: Sequence[RootZone] = (),
    slope: GroundSlope | Mapping[str, GroundSlope] | None = None, half_width_m: float = FALL_STRIP_HALF_WIDTH_M,
) -> list[Crossing]:
    """Everything that lines and their fall strips cross or come near, gravest first.

    Parameters
    ----------
    lines : the lines of the site, each also checked against the others
    features : what lies around; kinds without advice (park outlines, trees) are passed over
    root_zones : of trees that carry no line
    slope : the fall of the ground, one for all or by the lines' names, to find what runs downhill into a line; lines
        without one are not asked
    half_width_m : half the width of the fall strip [m]

    Returns
    -------
    Crossings. With positions of unknown accuracy, or less accurate than the gap is wide, a thing beside the strip is
    reported as "may reach the fall strip", to be paced out or kept away from.

    Raises
    ------
    OutsideModel : no line with a known position, or lines more than 100 km apart.

    Notes
    -----
    A path within 35 degrees of straight downhill on the uphill side is advised on as leading into the line. The
    distances of the table in `crossing_advice` are judgements.
    """
    if not lines:
        return []
    known = [line for line in lines if np.isfinite([*line.start, *line.end]).all()]
    ends = np.array([end for line in lines for end in (line.start, line.end)], dtype=float)
    frame = LocalFrame.around(ends[:, 0], ends[:, 1])
    advised = [f for f in features if f.kind in ADVICE and not f.geometry.is_empty]
    things = [_Thing(f.kind, f.name, f.in_metres(frame), f.width_m / 2.0, f.nearer_m) for f in advised]
    for zone in root_zones:
        centre = Point(*frame.to_metres(zone.latitude_deg, zone.longitude_deg))
        things.append(_Thing("root zone", zone.name, centre.buffer(zone.radius_m, quad_segs=32)))
    drawn = [_DrawnLine(line, _flat(line, frame), frame, half_width_m) for line in known]
    found = []
    nearby, beside = shapely.STRtree([thing.geometry for thing in things]), shapely.STRtree([d.at for d in drawn])
    widest = max((thing.half_width_m + thing.nearer_m for thing in things), default=0.0)
    for line in drawn:
        falls = slope.get(line.line.name) if isinstance(slope, Mapping) else slope
        reach = line.farthest_m + widest
        within = [things[k] for k in sorted(nearby.query(line.at, predicate="dwithin", distance=reach))]
        above = line.downhill_of(within, falls) if falls is not None else {}
        for index, thing in enumerate(within):
            crossing = line.met(thing)
            # what comes down at the line is worse than what lies beside it, and one sentence is enough
            if crossing and not (crossing.relation == "near" and index in above):
                found.append(crossing)
        found.extend(above.values())
        others = [drawn[k] for k in sorted(beside.query(line.at, predicate="dwithin", distance=line.farthest_m))]
        found.extend(crossing for other in others if other is not line and (crossing := line.beside(other)))
    return sorted(found, key=lambda c: (-SEVERITY.index(c.advice), c.line, c.distance_m, c.name))


def obstacle_to_aircraft(line: PlannedLine) -> bool:
    """Whether the aviation authority has to be asked about a line, whatever the map says.

    Parameters
    ----------
    line : with its height above the ground [m], or said to be high
    """
    return line.high or line.height_m >= LEAST_OBSTACLE_M


@dataclass(frozen=True)
class _Thing:
    kind: str
    name: str
    geometry: BaseGeometry  # on the plane
    half_width_m: float = 0.0
    nearer_m: float = 0.0  # by how much it may be wider on the line's side than was taken


@dataclass(frozen=True)
class _DrawnLine:
    """A line on the plane, with what it meets there."""

    line: PlannedLine
    at: LineString
    frame: LocalFrame
    half_width_m: float

    @property
    def loose_m(self) -> float:
        """Two standard errors; a position of unknown accuracy is taken as a phone's under trees at its worst [m]."""
        return 2.0 * (self.line.sigma_m if math.isfinite(self.line.sigma_m) else FIX_AT_ITS_WORST_M)

    @property
    def farthest_m(self) -> float:
        """How far from the line anything can matter [m]."""
        beside = max(self.loose_m, max(PAST_STRIP_M.values()))
        # what comes down at the line reaches its strip from up the slope, or sideways past its ends
        return 2.0 * self.half_width_m + max(beside, RUN_OUT[-1][1])

    def met(self, thing: _Thing) -> Crossing | None:
        """What the line, its strip or its neighbourhood meets of one thing."""
        distance = max(0.0, self.at.distance(thing.geometry) - thing.half_width_m)
        if distance == 0.0:
            return self._crossing(thing, "crosses", distance)
        if distance <= self.half_width_m:
            return self._crossing(thing, "in the fall strip", distance)
        if distance <= self.half_width_m + self.loose_m + thing.nearer_m:
            return self._crossing(thing, "may reach the fall strip", distance)
        if distance <= self.half_width_m + thing.nearer_m + PAST_STRIP_M.get(thing.kind, 0.0):
            return self._crossing(thing, "near", distance)
        return None

    def downhill_of(self, things: Sequence[_Thing], slope: GroundSlope) -> dict[int, Crossing]:
        """Paths, play areas and roads within the way a rider or child runs on downhill, by their place in the list."""
        found: dict[int, Crossing] = {}
        reach = run_out_m(slope.slope_deg)
        if reach == 0.0:
            return found
        turn = math.radians(slope.downhill_bearing_deg)
        down = np.array([math.sin(turn), math.cos(turn)])
        strip = self.at.buffer(self.half_width_m)
        above = shapely.union(strip, translate(strip, *(-reach * down))).convex_hull
        for index, thing in enumerate(things):
            if thing.kind not in RUN_INTO or not above.intersects(thing.geometry) or self.at.intersects(thing.geometry):
                continue
            part = replace(thing, geometry=above.intersection(thing.geometry))
            relation = "heads downhill at the line" if _heads_down(part.geometry, down) else "uphill of the line"
            found[index] = self._crossing(part, relation, self.at.distance(part.geometry))
        return found

    def beside(self, other: _DrawnLine) -> Crossing | None:
        """What the strip of another line does to this one."""
        thing = _Thing("other line", other.line.name, other.at)
        own = self.at.coords
        shared = [end for end in other.at.coords if min(math.dist(end, mine) for mine in own) <= SHARED_ANCHOR_M]
        if not shared:
            distance = self.at.distance(other.at)
            if distance > 2.0 * self.half_width_m:
                return None
            return self._crossing(thing, "crosses" if distance == 0.0 else "in the fall strip", distance)
        # both strips always overlap around the tree they share; past it they must not
        rest = other.at.difference(Point(shared[0]).buffer(4.0 * self.half_width_m))
        apart = self.at.distance(rest) if not rest.is_empty else math.inf
        if len(shared) == 1 and apart > self.half_width_m:
            return self._crossing(replace(thing, geometry=Point(shared[0])), "shares an anchor", 0.0)
        return self._crossing(thing, "in the fall strip", 0.0 if math.isinf(apart) else apart)

    def _crossing(self, thing: _Thing, relation: str, distance: float) -> Crossing:
        meeting = self.at.intersection(thing.geometry)
        if meeting.is_empty:
            here = shapely.get_point(shapely.shortest_line(self.at, thing.geometry), 1)
        else:
            here = meeting.representative_point()
        return Crossing(
            line=self.line.name, kind=thing.kind, name=thing.name, relation=relation, distance_m=float(distance),
            along_m=float(self.at.project(here)), place=self.frame.to_degrees(here.x, here.y),
            advice=advice_for(thing.kind, relation),
        )


def _flat(line: PlannedLine, frame: LocalFrame) -> LineString:
    return LineString([frame.to_metres(*line.start), frame.to_metres(*line.end)])


def _heads_down(part: BaseGeometry, down: Array) -> bool:
    """Whether any stretch of a path runs nearly straight down the slope."""
    for piece in shapely.get_parts(part):
        if piece.geom_type != "LineString":
            continue
        steps = np.diff(shapely.get_coordinates(piece), axis=0)
        lengths = np.hypot(*steps.T)
        along = np.abs(steps @ down) / np.maximum(lengths, 1e-12)
        if np.any((lengths > 0.5) & (along >= math.cos(math.radians(HEADING_AT_THE_LINE_DEG)))):
            return True
    return False
