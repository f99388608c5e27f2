"""Positions of the record turned into places, and how the two anchors of a line lie to one another."""

from __future__ import annotations

import datetime
import math

from siteassess.advice.results import PairGeometry
from siteassess.errors import FaultyInput, OutsideModel
from siteassess.places.agreement import check_pair
from siteassess.places.geodesy import bearing_distance, wrap180
from siteassess.places.instruments import HAND_COMPASS, tape_sigma
from siteassess.places.magnetics import Declination, declination
from siteassess.places.position_text import read_position
from siteassess.places.positions import Position, axis_sigma, from_landmark, mean_of_fixes
from siteassess.places.readings import Sighting, Tape
from siteassess.records.line import Line
from siteassess.records.record import Record
from siteassess.records.site import Fix
from siteassess.records.site import Position as RecordedPosition

COPIED_SIGMA = {"inventory": 3.0, "map": 3.0, "phone": 5.0, "unknown": 5.0}  # per axis [m] where nothing was stated (judgement)
SAME_PLACE_M = 0.5
LEVEL = {"agree": "agrees", "note": "note", "flag": "flag", "reject": "reject", "cannot say": "not checked"}


class Places:
    """Where every anchor and landmark of a record stands, worked out once.

    A position given as tape and bearing is followed back to its landmark; a ring of ties gives no position.
    """

    def __init__(self, record: Record):
        self.record = record
        self._recorded = {landmark.code: landmark.position for landmark in record.site.landmarks}
        self._recorded.update({anchor.code: anchor.position for anchor in record.anchors})
        self._found: dict[str, Position | None] = {}
        self._open: set[str] = set()
        self.notes: list[str] = []

    def at(self, code: str) -> Position | None:
        """Position of an anchor or landmark; None where none is known."""
        if code not in self._found:
            if code in self._open:
                return None
            self._open.add(code)
            self._found[code] = self._read(self._recorded.get(code), code)
            self._open.discard(code)
        return self._found[code]

    def latitude(self, code: str) -> float:
        place = self.at(code)
        return place.latitude_deg if place else math.nan

    def declination(self, code: str) -> Declination | None:
        """Declination at a place on the day of the survey; None outside the model's dates or without a place."""
        place = self.at(code)
        if place is None:
            return None
        try:
            return declination(place.latitude_deg, place.longitude_deg, self.record.survey.date)
        except OutsideModel as error:
            self.notes.append(str(error))
            return None

    def _read(self, recorded: RecordedPosition | None, code: str) -> Position | None:
        if recorded is None:
            return None
        found = [place for fix in recorded.fixes if (place := self._fix(fix, code)) is not None]
        if len(found) > 1:
            return mean_of_fixes(found)
        return found[0] if found else self._tied(recorded)

    def _fix(self, fix: Fix, code: str) -> Position | None:
        sigma = COPIED_SIGMA.get(fix.how, 5.0)
        if fix.accuracy is not None:
            meaning = {"50 %": "median", "unknown": "median"}.get(fix.accuracy_means, fix.accuracy_means)
            sigma = axis_sigma(fix.accuracy.si, meaning)
        if fix.at is None:
            return Position.at(fix.lat, fix.lon, sigma, fix.how)
        try:
            # a coarse code or few decimals widen the error of the fix itself
            return read_position(fix.at, sigma_m=sigma, how=fix.how)
        except FaultyInput as error:
            self.notes.append(f"{code}: {error}")
            return None

    def _tied(self, recorded: RecordedPosition) -> Position | None:
        for tie in recorded.ties:
            base = self.at(tie.landmark)
            if base is None or tie.bearing is None:
                continue
            true = tie.bearing.si
            if tie.north == "magnetic":
                turned = self.declination(tie.landmark)
                if turned is None:
                    continue
                true = turned.true_from_magnetic(true)
            length = tie.distance.si
            return from_landmark(base, length, true, tape_sigma(length), HAND_COMPASS.value, "tape and compass")
        return None


def pair_geometry(line: Line, places: Places, date: datetime.date) -> PairGeometry:
    """Distance, bearings and the agreement of positions, tape and compass of one line."""
    a, b = places.at(line.a.anchor), places.at(line.b.anchor)
    turned = places.declination(line.a.anchor) or places.declination(line.b.anchor)
    tape, taped = _tape(line)
    if a is None or b is None:
        return _without_positions(line, taped, turned)
    course = bearing_distance(a.latitude_deg, a.longitude_deg, b.latitude_deg, b.longitude_deg)
    distance = float(course.distance_m)
    if distance < SAME_PLACE_M:
        return PairGeometry(distance, taped, None, None, _declination(turned), None,
                            "the two anchors stand at one point: one position is wrong", "reject", None)  # fmt: skip
    out, back = (_sighting(line, which) for which in ("out", "back"))
    found = check_pair(a, b, tape=tape, out=out, back=back, declination=turned, names=(line.a.anchor, line.b.anchor))
    bearing = float(course.bearing_true_deg)
    compared = tape is not None or out is not None or back is not None
    return PairGeometry(
        distance_m=distance, taped_m=taped, bearing_true_deg=bearing,
        back_bearing_true_deg=float(course.back_bearing_true_deg), declination_deg=_declination(turned),
        bearing_magnetic_deg=turned.magnetic_from_true(bearing) % 360 if turned else None,
        agreement=found.messages[0], level=LEVEL[found.level] if compared else "not checked",
        rise_m=None, notes=(*found.messages[1:], *(explanation.sentence for explanation in found.explanations)),
    )  # fmt: skip


def pull_bearing(line: Line, geometry: PairGeometry, end: str) -> float:
    """Bearing of the pull at one end, toward the other [deg true]; the compass where positions are short of it.

    A compass reads a bearing to a degree or two, two loose fixes over a short span to many: where a compass was
    read, it is what counts.
    """
    toward_b = _compass_true(line, geometry)
    if toward_b is None:
        toward_b = geometry.bearing_true_deg
    if toward_b is None:
        return math.nan
    return toward_b % 360 if end == "A" else (toward_b + 180) % 360


def _compass_true(line: Line, geometry: PairGeometry) -> float | None:
    compass = line.compass
    if compass is None or compass.north == "grid":
        return None
    if compass.north == "magnetic" and geometry.declination_deg is None:
        return None
    turn = geometry.declination_deg if compass.north == "magnetic" else 0.0
    if compass.out is not None and compass.back is not None:
        # half the difference, so that readings either side of north average rightly
        return compass.out.si + turn + wrap180(compass.back.si - 180 - compass.out.si) / 2
    read = compass.out.si if compass.out else (compass.back.si + 180 if compass.back else None)
    return None if read is None else read + turn


def _tape(line: Line) -> tuple[Tape | None, float | None]:
    """The tape and its horizontal length [m]."""
    if line.span is None:
        return None, None
    slope = line.span.slope.si if line.span.slope else None
    along = line.span.along == "slope" and slope is not None
    tape = Tape(line.span.taped.si, along_slope=along, slope_deg=slope if along else None)
    return tape, float(tape.horizontal()[0])


def _sighting(line: Line, which: str) -> Sighting | None:
    read = getattr(line.compass, which) if line.compass else None
    return Sighting(read.si, line.compass.north) if read else None


def _declination(turned: Declination | None) -> float | None:
    return turned.declination_deg if turned else None


def _without_positions(line: Line, taped: float | None, turned: Declination | None) -> PairGeometry:
    bare = PairGeometry(None, taped, None, None, _declination(turned), None,
                        "no position on both anchors: bearing and distance could not be compared", "not checked", None)  # fmt: skip
    toward = _compass_true(line, bare)
    if toward is None:
        return bare
    return PairGeometry(None, taped, toward % 360, (toward + 180) % 360, bare.declination_deg,
                        line.compass.out.si if line.compass.out and line.compass.north == "magnetic" else None,
                        bare.agreement, "not checked", None)  # fmt: skip
