"""Positions of the record turned into places, and how two measured places lie to one another."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import replace
from functools import cached_property

import numpy as np

from siteassess.advice.finding import whys
from siteassess.advice.pair import PairRead, of_line, of_tie, with_mixed_units
from siteassess.advice.results import Agrees, PairGeometry
from siteassess.errors import FaultyInput, OutsideModel
from siteassess.places.agreement import check_pair
from siteassess.places.geodesy import bearing_distance, mean_bearing, refuse_poles, reverse_bearing
from siteassess.places.grids import to_utm
from siteassess.places.instruments import USUAL_BY_RECORDED_WAY
from siteassess.places.magnetics import Declination, declination
from siteassess.places.position_text import NEAR_SITE_M, KnownPlaces, read_position
from siteassess.places.positions import Located, axis_sigma, from_landmark, mean_of_fixes
from siteassess.records.line import EndName, Line
from siteassess.records.record import Record
from siteassess.records.site import Fix
from siteassess.records.site import Position as RecordedPosition
from siteassess.reference.constants import constant
from siteassess.reference.faults import told
from siteassess.reference.findings import Said, said

SAME_PLACE_M = constant("same position")
FARTHEST_DEG = 89.0  # positions nearer to a pole are not asked where the site is
MOST_COMPARED = 25  # positions looked at to find where the site is
LEVEL: dict[str, Agrees] = {
    "agree": "agrees", "note": "note", "flag": "flag", "reject": "reject", "cannot say": "not checked",
}  # fmt: skip


class Places:
    """Where every anchor and landmark of a record stands, worked out once.

    A position given as tape and bearing is followed back to its landmark; a ring of ties gives no position. Grid
    bearings are taken to count from the north of the UTM grid.
    """

    def __init__(self, record: Record):
        self.record = record
        self._recorded = {landmark.code: landmark.position for landmark in record.site.landmarks}
        self._recorded.update({anchor.code: anchor.position for anchor in record.anchors})
        self._found: dict[str, Located | None] = {}
        self._open: set[str] = set()
        self._by_ties: set[str] = set()
        self._notes: dict[tuple[str, Said], None] = {}
        self._near = _whereabouts(record)

    def at(self, code: str) -> Located | None:
        """Position of an anchor or landmark; None where none is known."""
        if code not in self._found:
            if code in self._open:
                return None
            self._open.add(code)
            self._found[code] = self._read(self._recorded.get(code), code)
            self._open.discard(code)
        return self._found[code]

    @property
    def notes(self) -> tuple[Said, ...]:
        """What came up on the way, each once, those of one place with its code."""
        return tuple(said("noted-of", place=code, what=says) if code else says for code, says in self._notes)

    def notes_on(self, code: str) -> tuple[Said, ...]:
        """Why a position typed for an anchor or landmark is not used or in doubt; with no code, what concerns all."""
        return tuple(says for about, says in self._notes if about == code)

    def _note(self, *says: Said, code: str = "") -> None:
        self._notes |= {(code, one): None for one in says}

    @property
    def codes(self) -> tuple[str, ...]:
        """Every anchor and landmark of the record."""
        return tuple(self._recorded)

    def by_ties_alone(self, code: str) -> bool:
        """Whether a place is known by tape and compass from another only."""
        return self.at(code) is not None and code in self._by_ties

    def latitude(self, code: str) -> float:
        """Of an anchor, or of the park where it has no position itself [deg]; NaN where nothing has."""
        place = self.at(code) or self._anywhere
        return place.latitude_deg if place else math.nan

    def longitude(self, code: str) -> float:
        """The same to the east [deg]."""
        place = self.at(code) or self._anywhere
        return place.longitude_deg if place else math.nan

    @property
    def anywhere(self) -> tuple[float, float]:
        """Latitude and longitude of the first place that is known [deg]; NaN where none is."""
        place = self._anywhere
        return (place.latitude_deg, place.longitude_deg) if place else (math.nan, math.nan)

    @cached_property
    def _anywhere(self) -> Located | None:
        return next((place for code in self.codes if (place := self.at(code)) is not None), None)

    def declination(self, code: str) -> Declination | None:
        """Declination at a place on the day of the survey; None outside the model's dates or without a place."""
        place = self.at(code)
        return self._declination(place.latitude_deg, place.longitude_deg) if place else None

    def convergence_deg(self, code: str) -> float | None:
        """Grid north less true north of the UTM grid at a place; None outside the grid or without a place."""
        place = self.at(code)
        return self._convergence(place.latitude_deg, place.longitude_deg) if place else None

    def _declination(self, latitude: float, longitude: float) -> Declination | None:
        try:
            return declination(latitude, longitude, self.record.survey.date)
        except OutsideModel as error:
            self._note(*whys(error))
            return None

    def _convergence(self, latitude: float, longitude: float) -> float | None:
        try:
            return float(to_utm(latitude, longitude).convergence_deg)
        except OutsideModel as error:
            self._note(*whys(error))
            return None

    def readings(self, code: str) -> tuple[Located, ...]:
        """Every reading of a position that was typed for an anchor or landmark, and can be used."""
        recorded = self._recorded.get(code)
        fixes = recorded.fixes if recorded is not None else ()
        return tuple(place for fix in fixes if (place := self._fix(fix, code)) is not None)

    def _read(self, recorded: RecordedPosition | None, code: str) -> Located | None:
        if recorded is None:
            return None
        found = self.readings(code)
        try:
            place = mean_of_fixes(found) if found else self._tied(recorded, code)
            self._note(*lie_apart(place), code=code)
            return place
        except OutsideModel as error:
            self._note(said("position-not-used", why=whys(error)), code=code)
            return None

    def _fix(self, fix: Fix, code: str) -> Located | None:
        sigma = USUAL_BY_RECORDED_WAY[fix.how].value
        if fix.accuracy is not None:
            meaning = {"50 %": "median", "unknown": "median"}.get(fix.accuracy_means, fix.accuracy_means)
            sigma = axis_sigma(fix.accuracy.si, meaning)
        try:
            if fix.lat is not None and fix.lon is not None:
                place = Located.at(fix.lat, fix.lon, sigma, fix.how)
            else:
                # a coarse code or few decimals widen the error of the fix itself
                place = read_position(fix.at or "", sigma_m=sigma, how=fix.how, known=self._known())
            refuse_poles(place.latitude_deg)
            self._refuse_far(place)
        except FaultyInput as error:
            for fault in error.faults:
                self._note(said("fault-noted", fault=told(fault)), code=code)
            return None
        except OutsideModel as error:
            self._note(said("position-not-used", why=whys(error)), code=code)
            return None
        return place

    def _refuse_far(self, place: Located) -> None:
        """Raise, with the usual slip that explains it, on a place far from where most of the site stands."""
        here = (place.latitude_deg, place.longitude_deg)
        if self._near and bearing_distance(*self._near, *here).distance_m > NEAR_SITE_M:
            read_position(f"{here[0]:.7f}, {here[1]:.7f}", known=KnownPlaces(near=self._near))

    def _known(self) -> KnownPlaces:
        """What a typed position may refer to."""
        if self._near is None:
            return KnownPlaces(_Others(self))
        return KnownPlaces(_Others(self), self._declination(*self._near), self._convergence(*self._near), self._near)

    def _tied(self, recorded: RecordedPosition, code: str) -> Located | None:
        """The place that all usable ties together give; ties from different landmarks share no error."""
        found = [place for tie in recorded.ties if (place := self._by_tie(of_tie(tie, code), tie.landmark)) is not None]
        if not found:
            return None
        self._by_ties.add(code)
        return mean_of_fixes(found, correlation=0.0)

    def _by_tie(self, tie: PairRead, landmark: str) -> Located | None:
        base = self.at(landmark)
        if base is None or tie.out is None or tie.tape is None:
            return None
        turned = self.declination(landmark) if tie.out.north == "magnetic" else None
        convergence = self.convergence_deg(landmark) if tie.out.north == "grid" else None
        true = tie.out.true(turned, convergence)
        if math.isnan(true):
            return None
        sigma = math.hypot(tie.out.sigma_deg, turned.sigma_deg if turned else 0.0)
        length, length_sigma = tie.tape.horizontal()
        return from_landmark(base, length, true, length_sigma, sigma, "tape and compass")


class _Others(Mapping[str, Located]):
    """The places of a record by code, each worked out when it is asked for."""

    def __init__(self, places: Places):
        self._places = places

    def __getitem__(self, code: str) -> Located:
        place = self._places.at(code)
        if place is None:
            raise KeyError(code)
        return place

    def __iter__(self) -> Iterator[str]:
        return iter(code for code in self._places.codes if self._places.at(code) is not None)

    def __len__(self) -> int:
        return sum(1 for _ in self)


def _whereabouts(record: Record) -> tuple[float, float] | None:
    """(latitude, longitude) with most of the record's plain positions about it; None where they have no majority."""
    fixes = [(fix.lat, fix.lon) for thing in (*record.site.landmarks, *record.anchors) if thing.position
             for fix in thing.position.fixes
             if fix.lat is not None and fix.lon is not None and abs(fix.lat) <= FARTHEST_DEG]  # fmt: skip
    fixes = [fix for fix in dict.fromkeys(fixes) if fix != (0.0, 0.0)][:MOST_COMPARED]
    if not fixes:
        return None
    latitude, longitude = np.array(fixes).T
    apart = bearing_distance(latitude[:, None], longitude[:, None], latitude, longitude).distance_m
    around = np.sum(np.asarray(apart) <= NEAR_SITE_M, axis=1)
    most = int(np.argmax(around))
    return fixes[most] if 2 * around[most] > len(fixes) else None


def pair_geometry(line: Line, places: Places) -> PairGeometry:
    """Distance, bearings and the agreement of positions, tape and compass of one line."""
    return geometry_of(of_line(line), places)


def geometry_of(pair: PairRead, places: Places) -> PairGeometry:
    """Distance, bearings and the agreement of positions, tape and compass of one measured pair.

    Parameters
    ----------
    pair : what was read between two places
    places : where the record's places stand
    """
    return _in_doubt(with_mixed_units(_compared(pair, places)), pair, places)


def lie_apart(place: Located | None) -> tuple[Said, ...]:
    """The doubt about a place whose own readings contradict each other."""
    return (said("readings-lie-apart", apart=place.apart_m),) if place is not None and place.apart_m else ()


def places_in_doubt(places: Places, codes: Iterable[str]) -> tuple[Said, ...]:
    """The doubt about each of some places whose own readings contradict each other, with its code."""
    return tuple(said("noted-of", place=code, what=doubt)
                 for code in dict.fromkeys(codes) for doubt in lie_apart(places.at(code)))  # fmt: skip


def _in_doubt(geometry: PairGeometry, pair: PairRead, places: Places) -> PairGeometry:
    """The same, not relied on where the readings of an end contradict each other: no tape tells which is right."""
    doubts = places_in_doubt(places, (pair.a, pair.b))
    if not doubts:
        return geometry
    if geometry.level == "reject":
        return replace(geometry, notes=(*geometry.notes, *doubts))
    return replace(geometry, told=said("places-in-doubt", doubts=doubts), level="flag",
                   notes=(geometry.told, *geometry.notes))  # fmt: skip


def _compared(pair: PairRead, places: Places) -> PairGeometry:
    a, b = places.at(pair.a), places.at(pair.b)
    turned = places.declination(pair.a) or places.declination(pair.b)
    convergence = places.convergence_deg(pair.a) if _reads_grid(pair) else None
    taped = _known(pair.tape.horizontal()[0]) if pair.tape else None
    if a is None or b is None:
        return _without_positions(pair, taped, turned)
    course = bearing_distance(a.latitude_deg, a.longitude_deg, b.latitude_deg, b.longitude_deg)
    distance = float(course.distance_m)
    if distance < SAME_PLACE_M:
        return PairGeometry(distance, taped, None, None, _declination(turned), None,
                            said("pair-at-one-point"), "reject", None)  # fmt: skip
    bearing = float(course.bearing_true_deg)
    found = check_pair(a, b, tape=pair.tape, out=pair.out, back=pair.back, declination=turned,
                       convergence_deg=convergence, names=(pair.a, pair.b))  # fmt: skip
    says = found.told
    level: Agrees = LEVEL[found.level] if pair.was_measured else "not checked"
    if pair.tie_of and places.by_ties_alone(pair.tie_of):
        alone = said("stands-by-ties-alone", place=pair.tie_of)
        says, level = (said("of-the-pair", a=pair.a, b=pair.b, what=alone),), "not checked"
    explained = () if level == "not checked" else tuple(one.slip for one in found.explanations)
    return PairGeometry(
        distance_m=distance, taped_m=taped, bearing_true_deg=bearing,
        back_bearing_true_deg=float(course.back_bearing_true_deg), declination_deg=_declination(turned),
        bearing_magnetic_deg=turned.magnetic_from_true(bearing) % 360 if turned else None,
        told=says[0], level=level, rise_m=None, notes=(*says[1:], *explained), grid_convergence_deg=convergence,
        off_m=math.hypot(a.sigma_m, b.sigma_m),
    )  # fmt: skip


def pull_bearing(line: Line, geometry: PairGeometry, end: EndName) -> float:
    """Bearing of the pull at one end, toward the other [deg true]; the compass where positions are short of it.

    A compass reads a bearing to a degree or two, two loose fixes over a short span to many: where a compass was
    read, it is what counts.
    """
    toward_b = _compass_true(of_line(line), geometry)
    if toward_b is None and not geometry.loose:
        toward_b = geometry.bearing_true_deg
    if toward_b is None:
        return math.nan
    return toward_b % 360 if end == "A" else (toward_b + 180) % 360


def _compass_true(pair: PairRead, geometry: PairGeometry) -> float | None:
    """The bearing out, or the mean of out and back, from true north; None where it cannot be turned to true."""
    read = []
    for way, sighting in (("out", pair.out), ("back", pair.back)):
        turn = {"true": 0.0, "magnetic": geometry.declination_deg, "grid": geometry.grid_convergence_deg}
        if sighting is not None and (turned := turn[sighting.north]) is not None:
            true = sighting.bearing_deg + turned
            read.append(true if way == "out" else float(reverse_bearing(true)))
    return float(mean_bearing(read, [1.0] * len(read))) if read else None


def _reads_grid(pair: PairRead) -> bool:
    return any(sighting.north == "grid" for _, _, sighting in pair.sightings)


def _known(value: float) -> float | None:
    return float(value) if math.isfinite(value) else None


def _declination(turned: Declination | None) -> float | None:
    return turned.declination_deg if turned else None


def _without_positions(pair: PairRead, taped: float | None, turned: Declination | None) -> PairGeometry:
    sloped = pair.tape and taped is None
    says = said("no-position-on-both", tape=(said("tape-without-slope"),) if sloped else ())
    bare = PairGeometry(None, taped, None, None, _declination(turned), None, says, "not checked", None)
    toward = _compass_true(pair, bare)
    if toward is None:
        return bare
    magnetic = pair.out.bearing_deg if pair.out and pair.out.north == "magnetic" else None
    return PairGeometry(None, taped, toward % 360, (toward + 180) % 360, bare.declination_deg, magnetic, says,
                        "not checked", None)  # fmt: skip
