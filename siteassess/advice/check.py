"""What `siteassess check` finds in a readable record: doubtful readings, places that do not agree, what is missing.

Positions and frames are held against one another and against the country the record names; what each line and anchor
still lacks before its word can be "suits" is listed last. A name that no table holds counts for nothing until it is one
the program knows, and a walked line that stands at a few newtons is a slip of the unit.
"""

from __future__ import annotations

import difflib
import math
from collections.abc import Callable, Iterable, Iterator
from dataclasses import asdict, dataclass, fields
from typing import Any

from siteassess.advice.crossings import LineCrossings, Met, crossings_of
from siteassess.advice.end_kinds import missing_at
from siteassess.advice.finding import whys
from siteassess.advice.gear_inputs import pad_row
from siteassess.advice.gear_loads import knots_like, left_by, sheave_range
from siteassess.advice.geometry import Places, geometry_of, pair_geometry
from siteassess.advice.line_inputs import line_inputs
from siteassess.advice.network import Adjusted, Traverse, Triangle, adjusted, traverses, triangles
from siteassess.advice.pair import PairRead, measured_pairs
from siteassess.advice.regions import country_of, in_country
from siteassess.advice.results import PairGeometry
from siteassess.advice.verdict import SIGN_OF_THING, STOP_SIGNS, WORST_CASE_TAKEN
from siteassess.errors import UnknownName
from siteassess.places.network import AdjustedAnchor, NetworkAdjustment, ReadingCheck
from siteassess.records.anchor import Tree
from siteassess.records.doubtful import check_readings, warnings_of
from siteassess.records.finding import Doubt, ReadingWarning, number_and_unit
from siteassess.records.line import ENDS, ON_FOOT, End, Line, Webbing
from siteassess.records.reading import ReadRecord
from siteassess.records.record import Record
from siteassess.records.site import Position
from siteassess.records.yaml_lines import Steps
from siteassess.reference.constants import constant
from siteassess.reference.findings import Said, said
from siteassess.reference.names import is_nothing
from siteassess.reference.species import find_species, species_names
from siteassess.reference.tables import rows
from siteassess.reference.webbing import webbing_class
from siteassess.units import parse, show

NEAR_SPECIES = 0.9  # judgement: likeness of letters above which another species was likely meant
SMALLEST_WALKED_N = constant("smallest walked tension")


def unknown_names(record: Record) -> Iterator[Doubt]:
    """Every name of a species, webbing, pad, knot or sheave that is in no table, with the near ones."""
    for index, anchor in enumerate(record.anchors):
        if isinstance(anchor, Tree) and anchor.species is not None:
            path = ("anchors", index, "species", "name")
            yield from _looked_up(find_species, anchor.species.name, path)
            yield from _taken_as_genus(anchor.species.name, path)
    for index, line in enumerate(record.lines):
        yield from _names_of_line(line, ("lines", index))


def _taken_as_genus(name: str, path: Steps) -> Iterator[Doubt]:
    """A species no row has, taken as its genus though a name like it is known."""
    try:
        match = find_species(name)
    except UnknownName:
        return
    near = difflib.get_close_matches(name.strip(), species_names(), n=1, cutoff=NEAR_SPECIES) if match.note else []
    if match.matched_by == "genus" and near:
        told = said("taken-as-genus", name=name, genus=match.genus)
        yield Doubt(path, told, said("slip-letter"), said("as-typed", typed=near[0]))


def _names_of_line(line: Line, path: Steps) -> Iterator[Doubt]:
    if line.webbing is not None:
        yield from _webbing(line.webbing, (*path, "webbing"))
    for index, section in enumerate(line.sections):
        yield from _webbing(section, (*path, "sections", index))
    if line.backup_line is not None and line.backup_line.kind:
        yield from _looked_up(webbing_class, line.backup_line.kind, (*path, "backup_line", "kind"))
    for name, end in (("a", line.a), ("b", line.b)):
        yield from _pad(end, (*path, name))
    for index, piece in enumerate(line.gear):
        yield from _held(piece.knot, (*path, "gear", index, "knot"))
    for index, stage in enumerate(line.crew.stages if line.crew is not None else ()):
        if stage.sheave:
            yield from _looked_up(sheave_range, stage.sheave, (*path, "crew", "stages", index, "sheave"))


def _webbing(webbing: Webbing, path: Steps) -> Iterator[Doubt]:
    if webbing.kind:
        yield from _looked_up(webbing_class, webbing.kind, (*path, "kind"))
    yield from _held(webbing.held_by, (*path, "held_by"))


def _pad(end: End, path: Steps) -> Iterator[Doubt]:
    material = end.padding.material if end.padding is not None else None
    if material and not is_nothing(material) and pad_row(material) is None:
        known = [row["id"] for row in rows("pads")]
        told, like = _counts_for_nothing(said("no-such-pad", name=material)), _near(material, known)
        yield Doubt((*path, "padding", "material"), told, others=(said("word-of-the-table", names=like),))


def _held(name: str | None, path: Steps) -> Iterator[Doubt]:
    if name and not is_nothing(name) and not math.isfinite(left_by(name)):
        told = _counts_for_nothing(said("no-such-knot", name=name))
        yield Doubt(path, told, others=(said("word-of-the-table", names=knots_like(name)),))


def _looked_up(find: Callable[[str], object], name: str, path: Steps) -> Iterator[Doubt]:
    if is_nothing(name):
        return
    try:
        find(name)
    except UnknownName as error:
        yield Doubt(path, _counts_for_nothing(*whys(error)))  # what the table says names the near ones


def _counts_for_nothing(*why: Said) -> Said:
    return said("counts-for-nothing", why=why)


def _near(name: str, known: list[str]) -> tuple[str, ...]:
    return tuple(difflib.get_close_matches(name.strip().casefold(), known, n=3, cutoff=0.5) or known)


def small_pulls(record: Record) -> Iterator[Doubt]:
    """Walked lines said to stand at less than anybody can walk on."""
    for index, line in enumerate(record.lines):
        tension = line.standing.tension if line.standing is not None else None
        if line.use not in ON_FOOT or tension is None or tension.si >= SMALLEST_WALKED_N:
            continue
        number, unit = number_and_unit(tension.text)
        told = said("under-any-walked", typed=tension.text)
        path = ("lines", index, "standing", "tension")
        if unit == "N":
            meant = parse(f"{number} kN", "force")
            typed = f"{meant.text} ({show(meant.si, 'lbf ~2')})"
            yield Doubt(path, told, said("slip-newtons"), said("as-meant", typed=typed))
        else:
            yield Doubt(path, told, said("slip-unit-or-digit"))


@dataclass(frozen=True)
class PairCheck:
    """One planned or measured pair and how its readings agree; `line` is None where no line is planned."""

    line: str | None
    a: str
    b: str
    geometry: PairGeometry
    read: PairRead


@dataclass(frozen=True)
class Checked:
    """What `check` found: doubtful readings, how pairs and the whole site agree, what lines cross, what is missing."""

    warnings: tuple[ReadingWarning, ...]
    pairs: tuple[PairCheck, ...]
    notes: tuple[Said, ...]
    together: Adjusted
    triangles: tuple[Triangle, ...]
    traverses: tuple[Traverse, ...]
    around: dict[str, LineCrossings]
    places: Places
    still_missing: tuple[StillMissing, ...] = ()

    def as_dict(self) -> dict[str, Any]:
        """The answer of `check --json`; keys end in their unit. Codes stay codes until it is written."""
        found = self.together.found
        return {
            "warnings": [warning.as_dict() for warning in self.warnings],
            "pairs": [_pair(pair) for pair in self.pairs],
            "network": {"messages": _english(self.together.told), "messages_codes": self.together.told,
                        **(_network(found, self.places) if found else {})},
            "triangles": [_triangle(one) for one in self.triangles],
            "traverses": [_traverse(one) for one in self.traverses],
            "crossings": [{"line": line, **_met(met)} for line, one in self.around.items() for met in one.met],
            "notes": _english(self.notes), "notes_codes": self.notes,
            "still_missing": [asdict(one) for one in self.still_missing],
        }


def check_record(record: Record, read: ReadRecord | None = None) -> Checked:
    """Check the readings of a record, every pair planned or measured, and all of them together.

    Parameters
    ----------
    record : Record
    read : ReadRecord, optional
        What the record was read with, so that findings can name lines of the file.
    """
    places, pairs = Places(record), measured_pairs(record)
    checks = tuple(PairCheck(p.line, p.a, p.b, geometry_of(p, places), p) for p in pairs)
    together, around = adjusted(places, pairs), crossings_of(record, places)
    more = [*unused_positions(record, places), *outside_the_country(record), *unknown_names(record),
            *small_pulls(record)]  # fmt: skip
    return Checked(
        _in_order([*check_readings(record, read), *warnings_of(more, record, read)], read), checks, places.notes_on(""),
        together, triangles(pairs), traverses(pairs), around, places, tuple(still_missing(record, places)),
    )  # fmt: skip


def _in_order(warnings: list[ReadingWarning], read: ReadRecord | None) -> tuple[ReadingWarning, ...]:
    return tuple(sorted(warnings, key=lambda warning: warning.line or 0) if read else warnings)


def _english(told: Iterable[Said]) -> list[str]:
    return [one.in_words() for one in told]


def _pair(pair: PairCheck) -> dict[str, Any]:
    told = {one.name: getattr(pair.geometry, one.name) for one in fields(pair.geometry)
            if one.name not in ("told", "rise_m")}  # fmt: skip
    tape, read = pair.read.tape, pair.read
    return {
        "line": pair.line, "a": pair.a, "b": pair.b, "source": pair.read.source.in_words(),
        "source_codes": pair.read.source, **told,
        "agreement": pair.geometry.agreement, "agreement_codes": pair.geometry.told,
        "notes": _english(pair.geometry.notes), "notes_codes": pair.geometry.notes,
        "tape_read_m": tape.length_m if tape else None,
        "tape_along_slope": tape.along_slope if tape else None,
        "slope_deg": tape.slope_deg if tape else None,
        "compass_out_read_deg": read.out.bearing_deg if read.out else None,
        "compass_back_read_deg": read.back.bearing_deg if read.back else None,
        "compass_north": next((sighting.north for _, _, sighting in read.sightings), None),
    }  # fmt: skip


def _network(found: NetworkAdjustment, places: Places) -> dict[str, Any]:
    return {
        "outcome": found.outcome, "chi_square": found.statistic, "degrees_of_freedom": found.dof,
        "probability": found.probability,
        "most_likely_wrong": [{"reading": r.named.in_words(), "reading_codes": r.named,
                               "would_fit_if": slip.in_words() if slip else "", "would_fit_if_codes": slip}
                              for r, slip in zip(found.named, found.slips)],
        "suspects": _english(reading.named for reading in found.suspects),
        "suspects_codes": [reading.named for reading in found.suspects], "not_placed": list(found.not_placed),
        "readings": [_reading(one) for one in found.checks],
        "anchors": [_anchor(found.anchors[code], places) for code in places.codes if code in found.anchors],
    }  # fmt: skip


def _reading(check: ReadingCheck) -> dict[str, Any]:
    reading = check.reading
    unit = "deg" if reading.kind == "bearing" else "m"
    value = {} if reading.kind == "position" else {f"value_{'true_' if unit == 'deg' else ''}{unit}": reading.value}
    return {
        "reading": reading.named.in_words(), "reading_codes": reading.named, "kind": reading.kind,
        "from": reading.start, "to": reading.end or None, **value,
        f"residual_{unit}": check.residual, "residual_standardised": check.standardised,
        "redundancy": check.redundancy, f"smallest_error_shown_{unit}": check.smallest_shown,
        "set_aside": check.set_aside,
    }  # fmt: skip


def _anchor(anchor: AdjustedAnchor, places: Places) -> dict[str, Any]:
    read, ellipse = places.at(anchor.name), anchor.ellipse.at_95_percent()
    return {
        "code": anchor.name,
        "latitude_deg": anchor.position.latitude_deg, "longitude_deg": anchor.position.longitude_deg,
        "as_read_latitude_deg": read.latitude_deg if read else None,
        "as_read_longitude_deg": read.longitude_deg if read else None,
        "ellipse_95_semi_major_m": ellipse.semi_major_m, "ellipse_95_semi_minor_m": ellipse.semi_minor_m,
        "ellipse_95_major_bearing_deg": ellipse.major_bearing_deg,
    }  # fmt: skip


def _met(met: Met) -> dict[str, Any]:
    told = {one.name: getattr(met, one.name) for one in fields(met) if one.name != "told"}
    return told | {"says": met.says, "says_codes": met.told}


def _triangle(one: Triangle) -> dict[str, Any]:
    closure = one.closure
    return {
        "corners": list(one.corners), "angles_deg": list(closure.angles_deg), "misclosure_deg": closure.misclosure_deg,
        "misclosure_standardised": closure.z, "level": closure.level,
        "angles_from_sides_deg": list(closure.angles_from_sides_deg) if closure.angles_from_sides_deg else None,
        "sides_level": closure.sides_level, "says": one.told.in_words(), "says_codes": one.told,
    }  # fmt: skip


def _traverse(one: Traverse) -> dict[str, Any]:
    closure = one.closure
    return {
        "places": list(one.places), "length_m": closure.length_m, "misclosure_m": closure.linear_misclosure_m,
        "misclosure_east_m": closure.misclosure_east_m, "misclosure_north_m": closure.misclosure_north_m,
        "level": closure.level, "says": one.told.in_words(), "says_codes": one.told,
    }  # fmt: skip


def unused_positions(record: Record, places: Places) -> Iterator[Doubt]:
    """What `places` could not use.

    A position that is left out drops the anchor out of every comparison, so it must not wait for a last line.
    """
    for code, path, _ in _typed(record):
        places.at(code)
        for why in places.notes_on(code):
            yield Doubt(path, why)


def outside_the_country(record: Record) -> Iterator[Doubt]:
    """Fixes outside the country of the record that would lie in it with latitude and longitude swapped.

    Notes
    -----
    Silent where the table `countries` does not hold the country, and where swapping explains nothing: lands overseas
    and a wrong country are not for this check.
    """
    box = country_of(record.site)
    if box is None:
        return
    for _, path, position in _typed(record):
        for fix in position.fixes:
            if fix.lat is None or fix.lon is None:
                continue
            if in_country(box, fix.lat, fix.lon) or not in_country(box, fix.lon, fix.lat):
                continue
            lat, lon = f"{fix.lat:g}", f"{fix.lon:g}"
            told = said("outside-country", lat=lat, lon=lon, country=box.name)
            yield Doubt(path, told, said("slip-swapped"), said("lat-lon", lat=lon, lon=lat))
            break


def _typed(record: Record) -> Iterator[tuple[str, tuple[str | int, ...], Position]]:
    """Code, path and position of every anchor and landmark whose position was typed."""
    for index, landmark in enumerate(record.site.landmarks):
        if landmark.position is not None:
            yield landmark.code, ("site", "landmarks", index, "position"), landmark.position
    for index, anchor in enumerate(record.anchors):
        if anchor.position is not None:
            yield anchor.code, ("anchors", index, "position"), anchor.position


# taken at a value that is told, so they never end in "cannot say" alone
TOLD_INSTEAD = (*WORST_CASE_TAKEN, "soil wetness", "span")


@dataclass(frozen=True)
class StillMissing:
    """What one end of a line lacks, the things of the whole line named at both ends."""

    line: str
    end: str
    anchor: str
    missing: tuple[str, ...]

    @property
    def told(self) -> Said:
        signs = tuple(STOP_SIGNS[SIGN_OF_THING[thing]] for thing in self.missing if thing in SIGN_OF_THING)
        things = tuple(thing for thing in self.missing if thing not in SIGN_OF_THING)
        told = (*((said("these-things", things=things),) if things else ()),
                *((said("signs-not-looked-for", signs=signs),) if signs else ()))  # fmt: skip
        return said("still-missing", line=self.line, anchor=self.anchor, things=told)


def still_missing(record: Record, places: Places) -> Iterator[StillMissing]:
    """Per end of every line, the deciding things whose lack ends in "cannot say"; ends that lack none are left out."""
    for line in record.lines:
        inputs = line_inputs(line, pair_geometry(line, places).distance_m)
        for end, recorded in zip(ENDS, line.ends):
            anchor = record.anchor(recorded.anchor)
            missing = missing_at(anchor, inputs, end, places.latitude(anchor.code))
            decides = tuple(thing for thing in missing if thing not in TOLD_INSTEAD)
            if decides:
                yield StillMissing(line.id, end, anchor.code, decides)
