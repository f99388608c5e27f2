"""What each planned line crosses or comes near, and what that means for its verdict."""

from __future__ import annotations

import datetime
import math
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
import shapely

from siteassess.advice.finding import Finding, found
from siteassess.advice.geometry import Places, pair_geometry, pull_bearing
from siteassess.advice.surroundings import USUAL_WIDTH_M, nearer_by, shape_of, things_near_line, width_of
from siteassess.advice.survey_age import same_time
from siteassess.advice.verdict import Verdict
from siteassess.mechanics.anchor_vector import angle_between
from siteassess.places.crossings import (
    ADVICE,
    FALL_STRIP_HALF_WIDTH_M,
    HEADING_AT_THE_LINE_DEG,
    PAST_STRIP_M,
    RUN_INTO,
    RUN_OUT,
    Crossing,
    GroundSlope,
    PlannedLine,
    RootZone,
    check_crossings,
    obstacle_to_aircraft,
    run_out_m,
)
from siteassess.places.features import PlacedFeature as MapFeature
from siteassess.places.geodesy import LocalFrame
from siteassess.places.instruments import UNKNOWN_WAY
from siteassess.records.line import ENDS, End, Line
from siteassess.records.record import Record
from siteassess.records.site import Feature
from siteassess.reference.constants import Constant, constant
from siteassess.reference.findings import English, Said, names_of, said
from siteassess.reference.names import is_nothing
from siteassess.units import Quantity

SHUTTABLE = ("path", "worn track", "road", "gate")
LEAST_GAP_M = constant("least gap")
PART_FROM_DEG = constant("lines part from")
POSTED_WITHIN_M = constant("posted within")
MEETS = {
    "crosses": "line-crosses", "in the fall strip": "in-fall-strip", "may reach the fall strip": "may-reach-fall-strip",
    "near": "lies-near", "uphill of the line": "lies-uphill", "heads downhill at the line": "heads-downhill",
    "shares an anchor": "shares-an-anchor",
}  # fmt: skip
CROSSING_TO_DO = {"do not rig": "do-not-rig-here", "shift": "shift-the-line", "watcher": "watch-and-flag",
         "flag": "flag-the-line", "note": "bear-in-mind"}  # fmt: skip


@dataclass(frozen=True)
class Met:
    """One thing a line meets, with the place where a watcher or a flag would stand."""

    kind: str
    name: str
    relation: str
    distance_m: float
    along_m: float
    latitude_deg: float
    longitude_deg: float
    advice: str
    told: Said
    says = English("told")


@dataclass(frozen=True)
class LineCrossings:
    """What one line meets, and the findings of it."""

    met: tuple[Met, ...] = ()
    findings: tuple[Finding, ...] = ()
    wires_of: frozenset[str] = frozenset()  # lines with a power line drawn near, at least as long as they are


def crossings_of(
    record: Record, places: Places, root_zones: dict[str, float | None] | None = None,
    asked: datetime.date | None = None,
) -> dict[str, LineCrossings]:  # fmt: skip
    """What every planned line with two positions meets, by the line's id.

    Parameters
    ----------
    record, places : the record and where its anchors stand
    root_zones : protection radius of trees by code [m]; those of trees that carry a line are left out
    asked : the day all lines are judged for instead of their own
    """
    planned = [drawn for line in record.lines if (drawn := _planned(line, places)) is not None]
    marked = {f"{index}": feature for index, feature in enumerate(record.site.surroundings) if feature.points}
    unplaced = _unplaced(record, places, {line.name for line in planned}, marked.values(), asked)
    if not planned:
        return {line.id: LineCrossings((), (*_reminders(line), *unplaced[line.id])) for line in record.lines}
    frame = LocalFrame.around(*np.transpose([end for line in planned for end in (line.start, line.end)]))
    things = [_on_the_map(number, feature, frame) for number, feature in marked.items() if feature.kind in ADVICE]
    used = {end.anchor for line in record.lines for end in line.ends}
    zones = [RootZone(code, place.latitude_deg, place.longitude_deg, radius)
             for code, radius in (root_zones or {}).items()
             if radius and code not in used and (place := places.at(code))]  # fmt: skip
    slopes = {line.id: fall for line in record.lines if (fall := _fall(record, line)) is not None}
    by_line: dict[str, list[Crossing]] = {line.name: [] for line in planned}
    for crossing in check_crossings(planned, things, root_zones=zones, slope=slopes):
        by_line[crossing.line].append(crossing)
    by_id = {line.id: line for line in record.lines}
    beside = {line.id: [met for met in by_line.get(line.id, [])
                        if met.kind != "other line" or same_time(line, by_id[met.name], asked)]
              for line in record.lines}  # fmt: skip
    met = {line.id: _of_line(line, beside[line.id], marked) for line in record.lines}
    wires = frozenset(line.name for line in planned if _wire_marked(line, by_line[line.name], marked, frame))
    met = {code: replace(one, wires_of=wires) for code, one in met.items()}
    from_above = {line.id: _from_above(record, places, line) for line in record.lines if line.id not in slopes}
    return {code: replace(one, findings=(*one.findings, *from_above.get(code, ()), *unplaced[code]))
            for code, one in met.items()}  # fmt: skip


def _unplaced(
    record: Record, places: Places, drawn: set[str], marked: Iterable[Feature], asked: datetime.date | None
) -> dict[str, tuple[Finding, ...]]:
    """What each line may meet and nobody can tell, since it or the other line has an anchor without a position."""
    kinds = dict.fromkeys(feature.kind for feature in marked if feature.kind in ADVICE)
    told: dict[str, tuple[Finding, ...]] = {}
    for line in record.lines:
        mine = [] if line.id in drawn else kinds
        others = [other.id for other in record.lines if other is not line and not {line.id, other.id} <= drawn
                  and same_time(line, other, asked) and not _part_from_an_anchor(line, other, places)]  # fmt: skip
        things = (*(said(f"a-{_code(kind)}") for kind in mine),
                  *(said("by-name", thing=said("the-other-line"), name=name) for name in others))  # fmt: skip
        # a second strip beside a line's own, or as near as a thing asks for something
        near = [FALL_STRIP_HALF_WIDTH_M] * bool(others) + [
            0.0 if ADVICE[kind].near == "note" else PAST_STRIP_M[kind] for kind in mine]  # fmt: skip
        told[line.id] = (found("meetings-not-checked", "suits if", looked_at=False, things=things,
                               clear=FALL_STRIP_HALF_WIDTH_M + max(near)),) if things else ()  # fmt: skip
    return told


def _from_above(record: Record, places: Places, line: Line) -> tuple[Finding, ...]:
    """Where nobody read which way the ground falls: whether anything near enough might come down at the line."""
    read = [slope for end in line.ends if (slope := _ground_of(record, end)[1]) is not None]
    reach = FALL_STRIP_HALF_WIDTH_M + run_out_m(max((abs(slope.si) for slope in read), default=math.nan))
    nearest = (near.distance_m - near.nearer_m for near in things_near_line(places, line) if near.kind in RUN_INTO)
    if any(distance <= reach for distance in nearest):
        return (found("downhill-not-checked", "suits if", looked_at=False),)
    return ()


def _part_from_an_anchor(one: Line, other: Line, places: Places) -> bool:
    """Whether two straight lines start from one anchor and are known to go other ways, and so cross nowhere else."""
    here, there = pair_geometry(one, places), pair_geometry(other, places)
    return any(
        angle_between(pull_bearing(one, here, mine), pull_bearing(other, there, its)) > PART_FROM_DEG
        for mine in ENDS for its in ENDS if one.at(mine).anchor == other.at(its).anchor
    )


def _of_line(
    line: Line, crossings: Sequence[Crossing], marked: dict[str, Feature]
) -> LineCrossings:
    posts = [feature for feature in marked.values() if feature.kind in ("watcher place", "flag place")]
    met, told = [], []
    for crossing in crossings:
        thing = marked.get(crossing.name)
        name = thing.name or "" if thing else crossing.name
        what = _meeting(crossing, name)
        latitude, longitude = map(float, crossing.place)
        met.append(Met(crossing.kind, name, crossing.relation, crossing.distance_m, crossing.along_m,
                       latitude, longitude, crossing.advice, what))  # fmt: skip
        told.append(_finding(crossing, name, what, thing, posts))
    asked = {one.met_by for one in told}
    reached = [_finding(near, thing.name or "", _meeting(near, thing.name or ""), thing, posts)
               for near, thing in _once_paced_out(crossings, marked)]  # fmt: skip
    told += [one for one in reached if one.met_by not in asked]
    return LineCrossings(tuple(met), (*_reminders(line), *told))


def _once_paced_out(crossings: Sequence[Crossing], marked: dict[str, Feature]) -> Iterator[tuple[Crossing, Feature]]:
    """What may reach the strip for all its position tells, as near it: found outside, it is near still."""
    for crossing in crossings:
        near = ADVICE[crossing.kind].near
        beside = crossing.distance_m <= FALL_STRIP_HALF_WIDTH_M + PAST_STRIP_M.get(crossing.kind, 0.0)
        if crossing.relation == "may reach the fall strip" and (near == "shift" or near != "note" and beside):
            yield replace(crossing, relation="near", advice=near), marked[crossing.name]


def _wire_marked(
    line: PlannedLine, crossings: Sequence[Crossing], marked: dict[str, Feature], frame: LocalFrame
) -> bool:
    """Whether a power line is drawn so long that it shows where the wire near the line runs, not one pole of it."""
    span = math.dist(frame.to_metres(*line.start), frame.to_metres(*line.end))
    near = [shape_of(marked[met.name], frame) for met in crossings
            if met.kind == "power line" and met.distance_m <= PAST_STRIP_M["power line"]]  # fmt: skip
    return any(shape.geom_type == "LineString" and 2 * shapely.minimum_bounding_radius(shape) >= span for shape in near)


def _planned(line: Line, places: Places) -> PlannedLine | None:
    a, b = (places.at(end.anchor) for end in line.ends)
    if a is None or b is None:
        return None
    heights = [end.tie_height.si for end in line.ends if end.tie_height]
    sigma = math.nan if math.isnan(a.sigma_m) or math.isnan(b.sigma_m) else max(a.sigma_m, b.sigma_m)
    return PlannedLine(
        line.id, (a.latitude_deg, a.longitude_deg), (b.latitude_deg, b.longitude_deg), high=line.use == "high line",
        height_m=max(heights, default=math.nan), sigma_m=sigma,
    )  # fmt: skip


def _on_the_map(number: str, feature: Feature, frame: LocalFrame) -> MapFeature:
    """The feature with its width, named by its number so that it can be found again."""
    shape = shape_of(feature, frame)
    degrees = shapely.transform(shape, lambda xy: np.column_stack(frame.to_degrees(*xy.T)[::-1]))
    return MapFeature(feature.kind, degrees, number, width_m=width_of(feature, shape),
                      nearer_m=nearer_by(feature, shape))  # fmt: skip


def _fall(record: Record, line: Line) -> GroundSlope | None:
    """The fall of the ground at a line: the mean of what was read at its anchors.

    None where nobody read any, or which way an end falls that is known to be steep: a level end says nothing of it.
    """
    pulls, unknown = [], []
    for end in line.ends:
        downhill, slope = _ground_of(record, end)
        if downhill is not None and slope is not None:
            turn = math.radians(downhill.si)
            pulls.append(math.tan(math.radians(abs(slope.si))) * np.array([math.sin(turn), math.cos(turn)]))
        elif downhill is not None:
            unknown.append(downhill.si)
        elif slope is not None and slope.si == 0:
            pulls.append(np.zeros(2))
        elif slope is not None:
            return None
    if pulls:
        east, north = np.mean(pulls, axis=0)
        steep = math.degrees(math.atan(math.hypot(east, north)))
        return GroundSlope(math.degrees(math.atan2(east, north)) % 360, steep)
    return GroundSlope(unknown[0]) if unknown else None


def _ground_of(record: Record, end: End) -> tuple[Quantity | None, Quantity | None]:
    """Which way the ground falls at an end, and how steeply; None where it was not read."""
    anchor = record.anchor(end.anchor)
    ground = getattr(anchor, "ground", None) or anchor
    return getattr(ground, "downhill", None), getattr(ground, "slope", None)


def _meeting(crossing: Crossing, name: str) -> Said:
    """What is met, how far away, and what to do."""
    thing = _the(crossing, name) if name else said(f"a-{_code(crossing.kind)}")
    far = crossing.distance_m >= LEAST_GAP_M
    gap = said("gap", distance=crossing.distance_m) if far else said("gap-under", most=LEAST_GAP_M.value)
    todo = CROSSING_TO_DO[crossing.advice]
    if crossing.relation == "may reach the fall strip" and crossing.advice == "shift":
        todo = "pace-out-or-shift"
    elif crossing.kind in ("path", "worn track") and crossing.advice == "do not rig":
        todo = "never-across-a-path"
    code, values = MEETS[crossing.relation], {"line": crossing.line, "thing": thing, "other": name, "gap": gap,
                                              "why": said(f"why-{_code(crossing.kind)}"),
                                              "todo": said(todo)}  # fmt: skip
    return said(code, **{one: value for one, value in values.items() if one in names_of(code)})


def _the(crossing: Crossing, name: str) -> Said:
    thing = said(f"the-{_code(crossing.kind)}")
    return said("by-name", thing=thing, name=name) if name else thing


def _code(kind: str) -> str:
    return kind.replace(" ", "-")


def _finding(crossing: Crossing, name: str, what: Said, thing: Feature | None, posts: Sequence[Feature]) -> Finding:
    code, effect = _effect(crossing)
    shut_by = thing.shut_by if thing and crossing.kind in SHUTTABLE and not is_nothing(thing.shut_by or "") else None
    if effect in ("leave it", "suits if") and shut_by:
        shut = said("name-alone", name=name) if name else said("kind-alone", kind=crossing.kind)
        return found("meets-what-is-shut", "suits if", what=what, shut=shut, by=shut_by)
    if crossing.advice in ("watcher", "flag") and (post := _posted(crossing, thing, posts)):
        if post.name:
            return found("meets-what-is-watched", "suits", what=what, post=post.kind, name=post.name)
        return found("meets-what-is-watched-unnamed", "suits", what=what, post=post.kind)
    values: dict[str, Any] = {"what": what, "thing": _the(crossing, name), "other": name,
                              "strip": FALL_STRIP_HALF_WIDTH_M}  # fmt: skip
    return found(code, effect, **{one: value for one, value in values.items() if one in names_of(code)})


def _effect(crossing: Crossing) -> tuple[str, Verdict]:
    """The code of a crossing, by the condition that goes with it, and the best verdict it leaves."""
    if crossing.advice == "note":
        return "meets", "suits"
    if crossing.kind == "other line":
        return "meets-another-line", "suits if"
    if crossing.advice == "do not rig":
        return "meets", "leave it"
    if crossing.relation == "may reach the fall strip":
        return "meets-to-be-paced-out", "suits if"
    if crossing.relation == "heads downhill at the line":
        return "meets-from-uphill", "suits if"
    if crossing.kind == "water":
        return "meets-water", "suits if"
    if crossing.advice == "shift":
        return "meets-near-enough-to-reach" if crossing.relation == "near" else "meets-in-the-strip", "suits if"
    return "meets-to-be-flagged" if crossing.advice == "flag" else "meets-to-be-watched", "suits if"


def _posted(crossing: Crossing, thing: Feature | None, posts: Sequence[Feature]) -> Feature | None:
    """A watcher, or where a flag is enough a flag, marked between line and thing or close to where they meet."""
    frame = LocalFrame(*crossing.place)
    kinds = ("watcher place",) if crossing.advice == "watcher" else ("watcher place", "flag place")
    for post in posts:
        if post.kind not in kinds or (post.name and is_nothing(post.name)):
            continue
        here = shape_of(post, frame).centroid
        between = thing is not None and here.distance(shape_of(thing, frame)) <= crossing.distance_m
        near = POSTED_WITHIN_M + (crossing.distance_m if between else 0.0)
        if math.hypot(here.x, here.y) <= near:
            return post
    return None


def _reminders(line: Line) -> tuple[Finding, ...]:
    """What a high line asks for whatever the map says; what every line asks for stands under the cautions."""
    heights = [end.tie_height.si for end in line.ends if end.tie_height]
    drawn = PlannedLine(line.id, (0.0, 0.0), (0.0, 0.0), line.use == "high line", max(heights, default=math.nan))
    return (found("obstacle-to-aircraft", "suits"),) if obstacle_to_aircraft(drawn) else ()


CROSSING_ASSUMPTIONS = (FALL_STRIP_HALF_WIDTH_M, UNKNOWN_WAY, POSTED_WITHIN_M, *USUAL_WIDTH_M.values())
DOWNHILL_ASSUMPTIONS = (HEADING_AT_THE_LINE_DEG, *(reach for _, reach in RUN_OUT))


def crossing_assumptions(met: Sequence[Met]) -> list[Constant]:
    """What the findings on the surroundings of some lines rest on."""
    if not met:
        return []
    kinds = dict.fromkeys(one.kind for one in met)
    near = [PAST_STRIP_M[kind] for kind in kinds if kind in PAST_STRIP_M]
    uphill = any(one.relation in ("uphill of the line", "heads downhill at the line") for one in met)
    return [*CROSSING_ASSUMPTIONS, *(DOWNHILL_ASSUMPTIONS if uphill else ()), *near]
