"""The site as map and plan draw it: every anchor, line and surrounding thing in degrees and in local metres.

An anchor is drawn where it stands once all readings are taken together, for drawing only: the record keeps what was
read. A site whose readings disagree and where none can be named as the wrong one is drawn as it was read.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

import numpy as np
import shapely

from siteassess.advice.finding import whys
from siteassess.advice.geometry import Places
from siteassess.advice.network import adjusted
from siteassess.advice.pair import measured_pairs
from siteassess.advice.results import Assessment, LineResult
from siteassess.advice.verdict import Verdict, worst
from siteassess.errors import OutsideModel
from siteassess.papers.language import Words, words_in
from siteassess.places.crossings import FALL_STRIP_HALF_WIDTH_M
from siteassess.places.geodesy import Array, LocalFrame
from siteassess.places.magnetics import declination
from siteassess.places.network import AdjustedAnchor, ErrorEllipse, error_ellipse
from siteassess.places.positions import Located
from siteassess.records.anchor import Anchor, Tree
from siteassess.records.record import Record
from siteassess.records.site import Feature
from siteassess.records.trunk import TrunkHere, at_ties, trunk_at
from siteassess.reference.findings import Said, said
from siteassess.reference.measures import Measures
from siteassess.reference.pages import plain


@dataclass(frozen=True)
class DrawnPlace:
    """Where one anchor is drawn, the ellipse that holds its true place 95 times of 100, and its place as read."""

    latitude_deg: float
    longitude_deg: float
    ellipse: ErrorEllipse | None
    as_read_deg: tuple[float, float]
    corrected: bool
    apart_m: float | None = None  # how far apart its own readings lie, where they contradict each other


def standings(record: Record) -> tuple[dict[str, DrawnPlace], tuple[Said, ...]]:
    """Every anchor that has a position, corrected where the readings agree, and how they fit.

    Returns
    -------
    Standings by anchor code, and what the adjustment told; nothing where there was nothing to adjust.
    """
    places = Places(record)
    read = {anchor.code: place for anchor in record.anchors if (place := places.at(anchor.code))}
    together = adjusted(places, measured_pairs(record))
    return {code: _drawn(place, together.better_places.get(code)) for code, place in read.items()}, together.told


def _as_read(place: Located) -> DrawnPlace:
    known = place.covariance_m2 is not None
    ellipse = error_ellipse(np.asarray(place.covariance())).at_95_percent() if known else None
    here = (place.latitude_deg, place.longitude_deg)
    return DrawnPlace(*here, ellipse, here, False, place.apart_m)


def _drawn(place: Located, anchor: AdjustedAnchor | None) -> DrawnPlace:
    if anchor is None or not np.isfinite(anchor.position.latitude_deg):
        return _as_read(place)
    here = (anchor.position.latitude_deg, anchor.position.longitude_deg)
    return DrawnPlace(*here, anchor.ellipse.at_95_percent(), (place.latitude_deg, place.longitude_deg), True,
                      place.apart_m)  # fmt: skip


# Gates, watchers and flags this near to the anchors belong on the same view (judgement).
NEAR_MARK_M = 40.0


@dataclass(frozen=True)
class Spot:
    """One anchor on the drawing. `accuracy_m` is the best radius stated and `how` the way of that reading; None where
    nobody stated one. `apart_m` is how far apart its readings lie, where they contradict each other.
    """

    code: str
    kind: str
    latitude_deg: float
    longitude_deg: float
    east_m: float
    north_m: float
    accuracy_m: float | None
    how: str
    trunk: TrunkHere | None  # None where none was read
    crown_radius_m: float | None
    root_zone_radius_m: float | None
    verdict: str | None
    tag: str
    species: str
    line_ids: tuple[str, ...]
    ellipse: ErrorEllipse | None = None  # holds the true place 95 times of 100
    as_read_deg: tuple[float, float] | None = None  # latitude and longitude as read, where the spot was corrected
    apart_m: float | None = None
    at_ties: Mapping[float, TrunkHere] = field(default_factory=dict)  # where a tie is judged by another reading

    @property
    def trunk_radius_m(self) -> float | None:
        return self.trunk.diameter / 2 if self.trunk else None


@dataclass(frozen=True)
class LineStretch:
    """One line on the drawing, between two spots."""

    result: LineResult
    a: Spot
    b: Spot

    def strip_m(self) -> Array:
        """(east, north) of the outline of the strip people may fall into, shape (n, 2) [m]."""
        ends = [(spot.east_m, spot.north_m) for spot in (self.a, self.b)]
        outline = shapely.LineString(ends).buffer(FALL_STRIP_HALF_WIDTH_M, quad_segs=4)
        return np.asarray(shapely.get_coordinates(outline), dtype=float)


@dataclass(frozen=True)
class Shape:
    """One surrounding thing."""

    kind: str
    name: str
    closed: bool
    width_m: float | None
    latitudes_deg: Array
    longitudes_deg: Array
    east_m: Array
    north_m: Array


@dataclass(frozen=True)
class Scene:
    """Everything with a place. `unplaced` are codes of anchors whose position is not known."""

    frame: LocalFrame | None
    spots: tuple[Spot, ...]
    stretches: tuple[LineStretch, ...]
    shapes: tuple[Shape, ...]
    unplaced: tuple[str, ...]
    declination_deg: float | None
    declination_told: Said
    fit_told: tuple[Said, ...] = ()  # how the readings fit together
    words: Words = field(default_factory=words_in)  # what map and plan are told in

    @property
    def measures(self) -> Measures:
        return Measures(self.words.language)

    def spot(self, code: str) -> Spot | None:
        return next((spot for spot in self.spots if spot.code == code), None)

    def root_zone_deg(self, spot: Spot) -> tuple[Array, Array]:
        """Latitudes and longitudes of the outline of a spot's root zone, closed; on past 180 where it crosses [deg]."""
        assert self.frame is not None and spot.root_zone_radius_m  # or there were no spots, or no zone
        outline = shapely.get_coordinates(shapely.Point(spot.east_m, spot.north_m).buffer(spot.root_zone_radius_m))
        latitudes, longitudes = self.frame.to_degrees(outline[:, 0], outline[:, 1])
        off = np.asarray(longitudes) - spot.longitude_deg
        across = np.where(np.abs(off) > 180, -360 * np.sign(off), 0.0)  # or it would run round the globe
        return np.asarray(latitudes), np.asarray(longitudes) + across

    def anchor_bounds_m(self, margin_m: float = 6.0) -> tuple[float, float, float, float]:
        """West, south, east, north of the anchors with their crowns [m]."""
        reach = [s.crown_radius_m or s.root_zone_radius_m or 2.0 for s in self.spots]
        return (
            min(s.east_m - r for s, r in zip(self.spots, reach)) - margin_m,
            min(s.north_m - r for s, r in zip(self.spots, reach)) - margin_m,
            max(s.east_m + r for s, r in zip(self.spots, reach)) + margin_m,
            max(s.north_m + r for s, r in zip(self.spots, reach)) + margin_m,
        )

    def bounds_m(self, margin_m: float = 6.0) -> tuple[float, float, float, float]:
        """West, south, east, north of the anchors and of what is wholly near them, such as a gate or a brook [m]."""
        west, south, east, north = self.anchor_bounds_m(margin_m)
        beside = [list(zip(map(float, shape.east_m), map(float, shape.north_m))) for shape in self.shapes]
        near = [
            place for places in beside for place in places
            if all(west - NEAR_MARK_M < x < east + NEAR_MARK_M and south - NEAR_MARK_M < y < north + NEAR_MARK_M
                   for x, y in places)
        ]  # fmt: skip
        xs, ys = [x for x, _ in near], [y for _, y in near]
        return (
            min([west, *(x - margin_m for x in xs)]),
            min([south, *(y - margin_m for y in ys)]),
            max([east, *(x + margin_m for x in xs)]),
            max([north, *(y + margin_m for y in ys)]),
        )


def build(
    assessment: Assessment, positions: dict[str, tuple[float, float]] | None = None, language: str = "en",
    lines_only: bool = False,
) -> Scene:  # fmt: skip
    """Lay out the scene of an assessment.

    Parameters
    ----------
    assessment : the answers with their record
    positions : latitude and longitude by anchor code, drawn instead of those the record's own readings lead to [deg]
    language : what map and plan are told in
    lines_only : leave out anchors that no line of the answer uses

    Raises
    ------
    OutsideModel : positions at a pole, or spread over more than 100 km.
    """
    record = assessment.record
    standing, says_fit = standings(record)
    places = {code: (where.latitude_deg, where.longitude_deg) for code, where in standing.items()} | (positions or {})
    judged = _judged_by_anchor(assessment)
    anchors = [one for one in record.anchors if not lines_only or one.code in judged and judged[one.code].lines]
    placed = [anchor for anchor in anchors if anchor.code in places]
    unplaced = tuple(anchor.code for anchor in anchors if anchor.code not in places)
    frame = LocalFrame.around(*zip(*(places[a.code] for a in placed))) if placed else None
    taken = {code: where for code, where in standing.items() if code not in (positions or {})}
    spots = tuple(
        _spot(anchor, places[anchor.code], frame, judged.get(anchor.code, _Judged()), taken.get(anchor.code))
        for anchor in placed
    ) if frame else ()  # fmt: skip
    by_code = {spot.code: spot for spot in spots}
    stretches = tuple(
        LineStretch(result, by_code[line.a.anchor], by_code[line.b.anchor])
        for line in record.lines
        for result in assessment.lines
        if result.id == line.id and line.a.anchor in by_code and line.b.anchor in by_code
    )
    shapes = tuple(_shape(feature, frame) for feature in record.site.surroundings) if frame else ()
    turn, says = _declination(frame, assessment)
    return Scene(frame, spots, stretches, shapes, unplaced, turn, says, says_fit, words_in(language))


@dataclass
class _Judged:
    """What was judged of one anchor, by all its lines."""

    species: str = ""
    root_zone_m: float | None = None
    verdict: Verdict | None = None
    lines: tuple[str, ...] = ()
    ties: tuple[float | None, ...] = ()  # heights [m]


def _judged_by_anchor(assessment: Assessment) -> dict[str, _Judged]:
    found = {tree.code: _Judged(tree.species, tree.root_zone_radius_m, tree.verdict) for tree in assessment.trees}
    for line in assessment.lines:
        for end in line.anchors:
            of = found.setdefault(end.code, _Judged(end.species))
            # a planned line says more than the tree alone
            of.verdict = worst([of.verdict, end.verdict]) if of.verdict and of.lines else end.verdict
            of.lines = (*of.lines, line.id)
            of.ties = (*of.ties, end.tie_height_m)
            if end.protection and end.protection.root_zone_radius_m:
                of.root_zone_m = end.protection.root_zone_radius_m
    return found


def _spot(
    anchor: Anchor, place: tuple[float, float], frame: LocalFrame, judged: _Judged, standing: DrawnPlace | None
) -> Spot:  # fmt: skip
    east, north = frame.to_metres(*place)
    fixes = anchor.position.fixes if anchor.position else ()
    best = min(fixes, key=lambda fix: fix.accuracy.si if fix.accuracy else np.inf, default=None)
    stated = best.accuracy.si if best and best.accuracy else None
    apart = standing.apart_m if standing else None
    species = getattr(anchor, "species", None)
    spread = getattr(anchor, "crown_spread", None)
    trunk = trunk_at(anchor, None) if isinstance(anchor, Tree) else None
    return Spot(
        code=anchor.code,
        kind=anchor.kind,
        latitude_deg=place[0],
        longitude_deg=place[1],
        east_m=east,
        north_m=north,
        accuracy_m=max(stated or 0.0, apart) if apart else stated,
        how=best.how if best else "tape and compass",
        trunk=trunk if trunk and trunk.reading else None,
        crown_radius_m=spread.si / 2 if spread else None,
        root_zone_radius_m=judged.root_zone_m,
        verdict=judged.verdict,
        tag=plain(getattr(anchor, "tag", None) or ""),
        species=plain(judged.species or (species.name if species else "")),
        line_ids=judged.lines,
        ellipse=standing.ellipse if standing else None,
        as_read_deg=standing.as_read_deg if standing and standing.corrected else None,
        apart_m=apart,
        at_ties=at_ties(anchor, judged.ties) if isinstance(anchor, Tree) else {},
    )


def _shape(feature: Feature, frame: LocalFrame) -> Shape:
    latitudes, longitudes = (np.array(column, dtype=float) for column in zip(*feature.points))
    east, north = frame.to_metres(latitudes, longitudes)
    return Shape(
        feature.kind,
        plain(feature.name or ""),
        feature.is_area,
        feature.width.si if feature.width else None,
        latitudes,
        longitudes,
        np.atleast_1d(east),
        np.atleast_1d(north),
    )


def _declination(frame: LocalFrame | None, assessment: Assessment) -> tuple[float | None, Said]:
    if frame is None:
        return None, said("magnetic-north-not-shown", why=(said("no-position-known"),))
    try:
        turn = declination(frame.lat0, frame.lon0, assessment.date)
    except OutsideModel as error:
        return None, said("magnetic-north-not-shown", why=whys(error))
    return turn.declination_deg, turn.told
