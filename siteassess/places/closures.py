"""Closing checks that need no positions: three angles of a triangle, and a walk round by tape and compass."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from scipy.special import chdtrc

from siteassess.errors import OutsideModel
from siteassess.places.agreement import level_of
from siteassess.places.geodesy import Array, wrap180, wrap360
from siteassess.places.instruments import HAND_COMPASS, tape_sigma
from siteassess.reference.findings import Said, said

Three = tuple[float, float, float]


@dataclass(frozen=True)
class Leg:
    """One leg of a traverse: horizontal length [m] and bearing [deg] with their standard errors."""

    length_m: float
    bearing_deg: float
    length_sigma_m: float | None = None
    bearing_sigma_deg: float = HAND_COMPASS.value

    def vector(self) -> Array:
        """(departure, latitude) of the leg: its way east and its way north [m].

        References
        ----------
        1. J. Mahun, Open Access Lessons: Surveying, XIII Traverse computations, answers to problem 2 (read).

        Examples
        --------
        Its first leg, 639.15 at 226 54 23, departs -466.732 and -436.662 [1]_:

        >>> [round(float(way), 3) for way in Leg(639.15, 226 + 54 / 60 + 23 / 3600).vector()]
        [-466.732, -436.662]
        """
        turn = math.radians(self.bearing_deg)
        return self.length_m * np.array([math.sin(turn), math.cos(turn)])

    def covariance(self) -> Array:
        """Of (departure, latitude), shape (2, 2) [m2]."""
        turn = math.radians(self.bearing_deg)
        ahead, aside = np.array([math.sin(turn), math.cos(turn)]), np.array([math.cos(turn), -math.sin(turn)])
        along = tape_sigma(self.length_m) if self.length_sigma_m is None else self.length_sigma_m
        across = self.length_m * math.radians(self.bearing_sigma_deg)
        return along**2 * np.outer(ahead, ahead) + across**2 * np.outer(aside, aside)


@dataclass(frozen=True)
class TraverseClosure:
    """By how much a traverse misses its start."""

    misclosure_east_m: float
    misclosure_north_m: float
    linear_misclosure_m: float
    length_m: float
    statistic: float
    level: str

    @property
    def told(self) -> Said:
        """By how much the way round misses and whether that is good, as a code."""
        good = {"agree": "as-tape-and-compass-allow", "note": "rather-more-than-they-allow"}
        return said("way-round-misses", miss=self.linear_misclosure_m, length=self.length_m,
                    good=said(good.get(self.level, "more-than-they-allow")))


def traverse_closure(legs: Sequence[Leg]) -> TraverseClosure:
    """Closure of a traverse that comes back to its start.

    Parameters
    ----------
    legs : at least two, in walking order

    Returns
    -------
    TraverseClosure. `statistic` is chi-square with two degrees of freedom of the miss against the standard errors of
    all legs.

    Raises
    ------
    OutsideModel : fewer than two legs.

    Notes
    -----
    It finds no error: for that see `network.adjust_network`.

    References
    ----------
    1. J. Mahun, Open Access Lessons: Surveying, XIII Traverse computations, answers to problem 2 (read).

    Examples
    --------
    2388.31 walked, 0.16 missed [1]_:

    >>> legs = [Leg(639.15, 226.90639), Leg(523.69, 0.0), Leg(409.54, 235.04139), Leg(815.93, 79.58389)]
    >>> closure = traverse_closure(legs)
    >>> f"{closure.length_m:.2f} {closure.linear_misclosure_m:.2f}"
    '2388.31 0.16'
    """
    if len(legs) < 2:
        raise OutsideModel("a traverse needs two legs or more before it can close", "traverse-too-short")
    miss = np.sum([leg.vector() for leg in legs], axis=0)
    covariance = sum(leg.covariance() for leg in legs)
    statistic = float(miss @ np.linalg.solve(covariance, miss))
    return TraverseClosure(
        misclosure_east_m=float(miss[0]), misclosure_north_m=float(miss[1]), linear_misclosure_m=float(np.hypot(*miss)),
        length_m=sum(leg.length_m for leg in legs), statistic=statistic, level=level_of(float(chdtrc(2, statistic))),
    )


@dataclass(frozen=True)
class TriangleClosure:
    """The three angles read in a triangle, by how much they miss 180 degrees, and what the tapes say instead."""

    angles_deg: Three
    misclosure_deg: float
    z: float
    level: str
    angles_from_sides_deg: Three | None
    sides_level: str


def triangle_closure(
    at_a: tuple[float, float], at_b: tuple[float, float], at_c: tuple[float, float], *,
    sigma_deg: float = HAND_COMPASS.value, sides_m: Three | None = None,
) -> TriangleClosure:
    """Closure of a triangle sighted from all three corners, and against its three taped sides.

    Parameters
    ----------
    at_a : bearings read at A towards B and C; iron near A shifts both alike, so the angle does not feel it [deg]
    at_b : bearings read at B towards C and A [deg]
    at_c : bearings read at C towards A and B [deg]
    sigma_deg : standard error of one bearing [deg]
    sides_m : taped horizontal lengths AB, BC, CA [m]

    Returns
    -------
    TriangleClosure: `misclosure_deg` is the sum of the angles less 180, `z` that over sigma x sqrt 6. Where sides are
    given their angles are set against those read; `sides_level` is "reject" for sides that make no triangle.

    Notes
    -----
    The three bearings of one walk round always close by themselves and check nothing; the bearings back are needed.

    Examples
    --------
    B 4 m east and C 3 m north of A, sighted 1 degree too wide at A, by hand atan(3/4) at B, 1 / (2 sqrt 6) as z:

    >>> read = triangle_closure((91.0, 0.0), (306.86990, 270.0), (180.0, 126.86990), sigma_deg=2.0, sides_m=(4, 5, 3))
    >>> f"{read.misclosure_deg:.3f} {read.z:.4f}", [round(angle, 2) for angle in read.angles_from_sides_deg]
    ('1.000 0.2041', [90.0, 36.87, 53.13])
    """
    # each corner's pair is (next, previous), so going round once turns the same way at every corner
    turns = [wrap180(second - first) for first, second in (at_a, at_b, at_c)]
    way = math.copysign(1.0, sum(turns))
    a, b, c = (wrap360(way * turn) for turn in turns)
    angles = a, b, c
    misclosure = sum(angles) - 180.0
    z = misclosure / (sigma_deg * math.sqrt(6.0))
    level = level_of(float(chdtrc(1, z * z)))
    if sides_m is None:
        return TriangleClosure(angles, misclosure, z, level, None, "cannot say")
    by_sides, sides_level = _against_sides(angles, sides_m, sigma_deg)
    return TriangleClosure(angles, misclosure, z, level, by_sides, sides_level)


def _against_sides(angles: Three, sides_m: Three, sigma_deg: float) -> tuple[Three | None, str]:
    ab, bc, ca = sides_m
    sigmas = [tape_sigma(s) for s in sides_m]
    longest = max(sides_m)
    excess = longest - (sum(sides_m) - longest)
    if excess >= 0:
        z = excess / math.sqrt(sum(s * s for s in sigmas))
        return None, "reject" if z > 3.3 else "cannot say"
    by_sides = _angles_of(ab, bc, ca)
    slopes = np.array(
        [(np.array(_angles_of(*(np.array(sides_m) + step))) - by_sides) / 1e-4 for step in 1e-4 * np.eye(3)]
    )
    spread = 2.0 * sigma_deg**2 * np.eye(3) + slopes.T @ np.diag(np.square(sigmas)) @ slopes
    miss = np.array(angles) - by_sides
    a, b, c = map(float, by_sides)
    return (a, b, c), level_of(float(chdtrc(3, float(miss @ np.linalg.solve(spread, miss)))))


def _angles_of(ab: float, bc: float, ca: float) -> Array:
    """Angles at A, B, C by the law of cosines [deg]."""
    cosines = (
        (ab * ab + ca * ca - bc * bc) / (2.0 * ab * ca),
        (ab * ab + bc * bc - ca * ca) / (2.0 * ab * bc),
        (bc * bc + ca * ca - ab * ab) / (2.0 * bc * ca),
    )
    return np.asarray(np.degrees(np.arccos(np.clip(cosines, -1.0, 1.0))), dtype=float)
