"""All positions, tapes and bearings of a record adjusted together, and the closures that need no positions."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from itertools import combinations

import numpy as np

from siteassess.advice.finding import whys
from siteassess.advice.geometry import Places, places_in_doubt
from siteassess.advice.pair import PairRead
from siteassess.errors import FaultyInput, OutsideModel
from siteassess.places.closures import (
    Leg,
    TraverseClosure,
    TriangleClosure,
    traverse_closure,
    triangle_closure,
)
from siteassess.places.geodesy import mean_bearing, reverse_bearing
from siteassess.places.network import AdjustedAnchor, NetworkAdjustment, adjust_network
from siteassess.places.network_from_pairs import network_of
from siteassess.places.network_model import NetworkReading
from siteassess.places.positions import Located
from siteassess.places.readings import PairReadings, Sighting
from siteassess.reference.findings import Said, said

MOST_CLOSURES = 60  # of each kind that are listed
NOT_ASKED = Located(math.nan, math.nan)  # what was measured enters without the places inside it


@dataclass(frozen=True)
class Adjusted:
    """The outcome of the adjustment, or the reason why there was none."""

    found: NetworkAdjustment | None
    told: tuple[Said, ...]

    @property
    def better_places(self) -> Mapping[str, AdjustedAnchor]:
        """By code what to draw instead of what was read; empty where the readings contradict each other."""
        return self.found.anchors if self.found and self.found.outcome in ("consistent", "one named") else {}


@dataclass(frozen=True)
class Triangle:
    corners: tuple[str, str, str]
    closure: TriangleClosure

    @property
    def told(self) -> Said:
        closure = self.closure
        sides: tuple[Said, ...] = ()
        if closure.angles_from_sides_deg is None and closure.sides_level == "reject":
            sides = (said("sides-make-no-triangle"),)
        elif closure.sides_level != "cannot say":
            sides = (said("against-its-sides", level=said(CLOSES[closure.sides_level])),)
        return said("triangle-misses", names=self.corners, miss=abs(closure.misclosure_deg), errors=abs(closure.z),
                    level=said(CLOSES[closure.level]), sides=sides)  # fmt: skip


@dataclass(frozen=True)
class Traverse:
    places: tuple[str, ...]
    closure: TraverseClosure

    @property
    def told(self) -> Said:
        return said("way-round", names=self.places, what=self.closure.told)


CLOSES = {"agree": "closes", "note": "readings-worth-a-look", "flag": "closes-doubtfully", "reject": "closes-not",
          "cannot say": "closing-unknown"}  # fmt: skip


def adjusted(places: Places, pairs: Iterable[PairRead]) -> Adjusted:
    """Adjust every usable reading of a record together.

    Parameters
    ----------
    places : positions of the record; those that rest on a tie alone enter by that tie, not as positions
    pairs : what was measured

    Returns
    -------
    Adjusted. Without any tape or bearing there is nothing to adjust and nothing is said.
    """
    measured = [pair for pair in pairs if pair.was_measured]
    if not measured:
        return Adjusted(None, ())
    try:
        readings = network_readings(places, measured)
        sigma = max((turned.sigma_deg for pair in measured if (turned := places.declination(pair.a))), default=0.0)
        found = adjust_network(readings, declination_sigma_deg=sigma)
    except (OutsideModel, FaultyInput) as error:
        return Adjusted(None, (said("not-adjusted-together", why=whys(error)),))
    doubts = places_in_doubt(places, places.codes)
    return Adjusted(found, (*(one for one in found.told if not doubts or one.code != "site-agrees"), *doubts))


def network_readings(places: Places, pairs: Iterable[PairRead]) -> list[NetworkReading]:
    """The readings of a record as `adjust_network` takes them; one pair may be measured more than once."""
    fixed = {code: place for code in places.codes if (place := places.at(code)) and not places.by_ties_alone(code)}
    readings = network_of(fixed, {})
    for pair in pairs:
        if pair.a == pair.b:
            continue
        turned = places.declination(pair.a) or places.declination(pair.b)
        read = PairReadings(NOT_ASKED, NOT_ASKED, pair.tape, pair.out, pair.back, turned,
                            places.convergence_deg(pair.a))  # fmt: skip
        readings += network_of({}, {(pair.a, pair.b): read})
    return readings


def triangles(pairs: Iterable[PairRead]) -> tuple[Triangle, ...]:
    """Closure of every triangle that was sighted from all its corners, with its taped sides where all were taped."""
    pairs = tuple(pairs)
    seen, sides = _sightings(pairs), _lengths(pairs)
    towards: dict[str, set[str]] = {}
    for start, end in seen:
        towards.setdefault(start, set()).add(end)
    found = []
    for a in sorted(towards):
        for b, c in combinations(sorted(code for code in towards[a] if code > a), 2):
            corners = [(one, two) for p, q, r in ((a, b, c), (b, c, a), (c, a, b))
                       if (one := seen.get((p, q))) and (two := seen.get((p, r)))
                       and one.north == two.north]  # fmt: skip
            if len(corners) < 3:
                continue
            sigma = float(np.sqrt(np.mean([s.sigma_deg**2 for corner in corners for s in corner])))
            a_b, b_c, c_a = (sides.get(frozenset(side)) for side in ((a, b), (b, c), (c, a)))
            taped = None if a_b is None or b_c is None or c_a is None else (a_b, b_c, c_a)
            angles = [(one.bearing_deg, two.bearing_deg) for one, two in corners]
            found.append(Triangle((a, b, c), triangle_closure(*angles, sigma_deg=sigma, sides_m=taped)))
    return tuple(found[:MOST_CLOSURES])


def traverses(pairs: Iterable[PairRead]) -> tuple[Traverse, ...]:
    """Closure of ways round by tape and compass: the shortest round through each reading no other way leads along."""
    legs = _legs(tuple(pairs))
    found = []
    for names in _rounds(legs):
        way = [_leg(legs, start, end) for start, end in zip(names, (*names[1:], names[0]))]
        found.append(Traverse(names, traverse_closure(way)))
    return tuple(found[:MOST_CLOSURES])


def _sightings(pairs: tuple[PairRead, ...]) -> dict[tuple[str, str], Sighting]:
    return {(start, end): sighting for pair in pairs for start, end, sighting in pair.sightings}


def _lengths(pairs: tuple[PairRead, ...]) -> dict[frozenset[str], float]:
    lengths = {frozenset((pair.a, pair.b)): pair.tape.horizontal()[0] for pair in pairs if pair.tape}
    return {ends: length for ends, length in lengths.items() if np.isfinite(length)}


def _legs(pairs: tuple[PairRead, ...]) -> dict[tuple[str, str], Leg]:
    """Every pair with tape and bearing, walked as written; only those sighted against the commonest north."""
    norths = [sighting.north for pair in pairs for _, _, sighting in pair.sightings]
    legs: dict[tuple[str, str], Leg] = {}
    for pair in pairs:
        length, length_sigma = pair.tape.horizontal() if pair.tape else (np.nan, np.nan)
        read = [(sighting.bearing_deg if start == pair.a else reverse_bearing(sighting.bearing_deg), sighting.sigma_deg)
                for start, _, sighting in pair.sightings
                if sighting.north == max(norths, key=norths.count)]  # fmt: skip
        if not np.isfinite(length) or not read or (pair.b, pair.a) in legs:
            continue
        bearings, sigmas = zip(*read)
        bearing = mean_bearing(bearings, sigmas)
        if np.isfinite(bearing):
            sigma = float(np.sum(np.asarray(sigmas) ** -2.0) ** -0.5)
            legs[pair.a, pair.b] = Leg(float(length), bearing, float(length_sigma), sigma)
    return legs


def _leg(legs: dict[tuple[str, str], Leg], start: str, end: str) -> Leg:
    if (start, end) in legs:
        return legs[start, end]
    leg = legs[end, start]
    return Leg(leg.length_m, float(reverse_bearing(leg.bearing_deg)), leg.length_sigma_m, leg.bearing_sigma_deg)


def _rounds(legs: dict[tuple[str, str], Leg]) -> Iterator[tuple[str, ...]]:
    """One round for every leg beyond those that just reach each place."""
    beside: dict[str, list[str]] = {}
    for a, b in legs:
        beside.setdefault(a, []).append(b)
        beside.setdefault(b, []).append(a)
    above: dict[str, str | None] = {}
    for root in beside:
        if root in above:
            continue
        above[root], queue = None, [root]
        for code in queue:
            for other in beside[code]:
                if other not in above:
                    above[other] = code
                    queue.append(other)
    for a, b in legs:
        if above[a] != b and above[b] != a:
            yield _round(above, a, b)


def _round(above: dict[str, str | None], a: str, b: str) -> tuple[str, ...]:
    up_a, up_b = ([*_upward(above, code)] for code in (a, b))
    meet = next(code for code in up_a if code in up_b)
    return (*up_a[: up_a.index(meet) + 1], *reversed(up_b[: up_b.index(meet)]))


def _upward(above: dict[str, str | None], code: str | None) -> Iterator[str]:
    while code is not None:
        yield code
        code = above[code]
