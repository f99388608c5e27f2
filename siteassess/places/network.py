"""Adjustment of a network of anchors by weighted least squares: error ellipses, and the reading most likely wrong."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np
from scipy.sparse import coo_array
from scipy.sparse.csgraph import connected_components
from scipy.special import chdtrc

from siteassess.errors import OutsideModel
from siteassess.places.geodesy import Array, LocalFrame
from siteassess.places.network_model import NetworkReading, middle_frame
from siteassess.places.network_search import Search, search
from siteassess.places.network_solution import (
    UNCHECKED_BELOW,
    NetworkSolution,
    alarm,
    outlier,
    predicted,
    solve_network,
)
from siteassess.places.positions import RADIUS_IN_SIGMAS, Located
from siteassess.reference.constants import constant
from siteassess.reference.findings import Said, said

OUTCOMES = ("nothing to check", "consistent", "one named", "cannot tell which")  # the gravest of the parts counts
MOST_LISTED = 8
ALARM_LEVEL = constant("disagreement by chance: flag")  # share of networks without any error in which one is accepted


@dataclass(frozen=True)
class ErrorEllipse:
    """Standard error ellipse: half axes [m] and the bearing of the long one [deg]."""

    semi_major_m: float
    semi_minor_m: float
    major_bearing_deg: float

    def at_95_percent(self) -> ErrorEllipse:
        """The ellipse that holds the true place 95 times of 100.

        Examples
        --------
        Chi-square of two at 5 % is 5.991 (any table of it), the square of the factor:

        >>> round(ErrorEllipse(1.0, 1.0, 0.0).at_95_percent().semi_major_m ** 2, 3)
        5.991
        """
        scale = RADIUS_IN_SIGMAS["95 %"]
        return ErrorEllipse(self.semi_major_m * scale, self.semi_minor_m * scale, self.major_bearing_deg)

    def outline_m(self, points: int = 48) -> Array:
        """(east, north) of its outline from its middle, shape (points, 2) [m]."""
        turn, round_ = math.radians(self.major_bearing_deg), np.linspace(0.0, 2.0 * math.pi, points, endpoint=False)
        ahead, aside = np.array([math.sin(turn), math.cos(turn)]), np.array([math.cos(turn), -math.sin(turn)])
        major, minor = self.semi_major_m * np.cos(round_), self.semi_minor_m * np.sin(round_)
        return np.outer(major, ahead) + np.outer(minor, aside)


@dataclass(frozen=True)
class AdjustedAnchor:
    """An anchor where all readings together put it; degrees are NaN where no reading ties the network to the globe."""

    name: str
    east_m: float
    north_m: float
    position: Located
    ellipse: ErrorEllipse


@dataclass(frozen=True)
class ReadingCheck:
    """How one reading fits: what is left over [m or deg], in standard errors, and how well the others check it.

    `redundancy` is the share of the reading's own variance that the others check (0: the reading stands alone);
    `smallest_shown` is the error of this reading that would move its standardised residual by five.
    """

    reading: NetworkReading
    residual: float
    standardised: float
    redundancy: float
    smallest_shown: float = math.nan
    set_aside: bool = False


@dataclass(frozen=True)
class NetworkAdjustment:
    """The outcome: "consistent", "one named", "cannot tell which" or "nothing to check".

    `anchors` and `checks` are those after the named readings were set aside; the readings themselves are untouched.
    """

    outcome: str
    anchors: dict[str, AdjustedAnchor]
    checks: tuple[ReadingCheck, ...]
    frame: LocalFrame | None
    statistic: float
    dof: int
    named: tuple[NetworkReading, ...]
    slips: tuple[Said | None, ...]
    suspects: tuple[NetworkReading, ...]
    not_placed: tuple[str, ...]
    told: tuple[Said, ...]

    @property
    def probability(self) -> float:
        """Chance of so bad a fit where nothing is wrong; NaN where nothing is checked."""
        return float(chdtrc(self.dof, self.statistic)) if self.dof > 0 else math.nan


def adjust_network(
    readings: Sequence[NetworkReading], *, declination_sigma_deg: float = 0.0, level: float = ALARM_LEVEL
) -> NetworkAdjustment:
    """Adjust all readings of a site together and say which one does not belong.

    Parameters
    ----------
    readings : positions, tapes and bearings, from `position_of`, `taped`, `sighted`
    declination_sigma_deg : standard error of the declination that all magnetic bearings share [deg]
    level : probability of an alarm where nothing is wrong [-]

    Returns
    -------
    NetworkAdjustment with adjusted positions and their error ellipses, the standardised residual of every reading,
    the reading named as wrong (or the suspects that cannot be told apart) with the slip that would explain it.

    Raises
    ------
    OutsideModel : no reading at all, or readings that do not fix the anchors' places.

    Notes
    -----
    The alarm is the larger of two tests, each at half the level: the sum of squares of the whole network, and the
    largest standardised residual for that many readings. A reading is named if leaving it out makes the rest at least
    twenty times as likely as leaving out any other (a judgement), and set aside; then the rest is looked at again, at
    most three times and never down to half of the readings.

    References
    ----------
    1. W. Baarda, A testing procedure for use in geodetic networks (1968): standardised residuals (memory).

    Examples
    --------
    Two fixes 100 m apart along the equator and a tape that reads 103 m, each worth 1 m. By hand the 3 m are shared
    by three alike, so that the anchors lie 102 m apart, the sum of squares is 9/3 and each reading checked to 1/3:

    >>> from siteassess.places.network_model import position_of, sighted, taped
    >>> a, b = Located.at(0.0, 0.0, 1.0), Located.at(0.0, math.degrees(100 / 6378137), 1.0)
    >>> readings = [position_of("A", a), position_of("B", b), taped("A", "B", 103.0, 1.0)]
    >>> adjusted = adjust_network([*readings, sighted("A", "B", 90.0, 1.0)])
    >>> f"{adjusted.anchors['B'].east_m - adjusted.anchors['A'].east_m:.3f} m, {adjusted.statistic:.3f}"
    '102.000 m, 3.000'
    >>> [f"{check.reading.kind} {check.redundancy:.3f}" for check in adjusted.checks if check.reading.kind == "tape"]
    ['tape 0.333']

    A traverse of four legs adjusted by the compass rule, which is least squares where variances grow with lengths: the
    last leg comes to 815.901 (Mahun, Open Access Lessons: Surveying XIII, self-study on adjustment, problem 2, read).

    >>> legs = [(639.15, 226.906389), (523.69, 0.0), (409.54, 235.041389), (815.93, 79.583889)]
    >>> readings = []
    >>> for (start, end), (length, azimuth) in zip(("AB", "BC", "CD", "DA"), legs):
    ...     readings += [taped(start, end, length, length**0.5 / 1e3),
    ...                  sighted(start, end, azimuth, math.degrees(length**-0.5 / 1e3))]
    >>> a, d = (adjust_network(readings).anchors[name] for name in "AD")
    >>> f"{math.hypot(a.east_m - d.east_m, a.north_m - d.north_m):.3f}"
    '815.901'
    """
    if not readings:
        raise OutsideModel("no reading was given, so there is no network to adjust", "no-reading-to-adjust")
    frame = middle_frame(readings)
    tied = any(r.kind == "position" for r in readings)
    parts, not_placed = _parts(readings, tied)
    # each part is tested at the level that leaves the site as a whole at the one asked for
    part_level = -math.expm1(math.log1p(-level) / len(parts))
    found = []
    for part in parts:
        first, left = solve_network(part, frame, tied, declination_sigma_deg)
        not_placed.extend(left)
        found.append(search(part, first, frame, tied, declination_sigma_deg, part_level))
    outcomes = [_outcome(one, part_level) for one in found]
    checks = tuple(check for one in found for check in _all_checks(one))
    return NetworkAdjustment(
        outcome=max(outcomes, key=OUTCOMES.index),
        anchors={name: anchor for one in found for name, anchor in _anchors(one.solution, tied).items()}, checks=checks,
        frame=frame if tied else None, statistic=sum(one.solution.statistic for one in found),
        dof=sum(max(one.solution.dof, 0) for one in found),
        named=tuple(reading for one in found for reading in one.named),
        slips=tuple(slip for one in found for slip in one.slips),
        suspects=tuple(reading for one in found for reading in one.suspects), not_placed=tuple(not_placed),
        told=tuple(_told(outcomes, found, not_placed, checks)),
    )


def _parts(readings: Sequence[NetworkReading], tied: bool) -> tuple[list[list[NetworkReading]], list[str]]:
    """Readings that tapes and bearings join, part by part, and the anchors of parts that no fix ties to the ground.

    Parts share nothing but the declination, whose error is small enough to be let go separately.
    """
    names = sorted({name for r in readings for name in r.anchors})
    index = {name: k for k, name in enumerate(names)}
    joins = np.array([[index[name] for name in r.anchors] for r in readings if r.end]).reshape(-1, 2)
    graph = coo_array((np.ones(len(joins)), joins.T), shape=(len(names), len(names)))
    count, part_of = connected_components(graph, directed=False)
    parts = [[r for r in readings if part_of[index[r.start]] == k] for k in range(count)]
    placed = [part for part in parts if any(r.kind == "position" for r in part)] if tied else [max(parts, key=len)]
    reached = {name for part in placed for r in part for name in r.anchors}
    return placed, [name for name in names if name not in reached]


def _outcome(found: Search, level: float) -> str:
    if found.solution.dof <= 0 and not found.named:
        return "nothing to check"
    if found.solution.dof > 0 and alarm(found.solution) < level:
        return "cannot tell which"
    return "one named" if found.named else "consistent"


def _natural(reading: NetworkReading, whitened: Array) -> float:
    """A residual in the unit of its reading: metres, degrees, or metres of distance for a position."""
    if reading.position:
        root = np.linalg.cholesky(reading.position.covariance())
        return float(np.hypot(*(root @ whitened)))
    return float(whitened[0] * reading.sigma)


def _all_checks(found: Search) -> Iterator[ReadingCheck]:
    yield from _checks(found.solution)
    for reading in found.named:
        yield _check_aside(reading, found.solution)


def _checks(solution: NetworkSolution) -> Iterator[ReadingCheck]:
    for k, reading in enumerate(solution.readings):
        rows = solution.rows(k)
        shown = max(0.0, float(np.trace(solution.shown[np.ix_(rows, rows)])) / len(rows))
        statistic, dof = outlier(solution, k)
        sigma = reading.position.sigma_m if reading.position else reading.sigma
        yield ReadingCheck(
            reading, residual=_natural(reading, solution.residuals[rows]),
            standardised=math.sqrt(statistic) if dof else math.nan, redundancy=shown,
            smallest_shown=5.0 * sigma / math.sqrt(shown) if shown > UNCHECKED_BELOW else math.inf,
        )


def _check_aside(reading: NetworkReading, solution: NetworkSolution) -> ReadingCheck:
    miss, spread = predicted(reading, solution)
    statistic = float(miss @ np.linalg.solve(spread, miss))
    return ReadingCheck(reading, _natural(reading, miss), math.sqrt(statistic), redundancy=1.0, set_aside=True)


def _anchors(solution: NetworkSolution, tied: bool) -> dict[str, AdjustedAnchor]:
    points, _ = solution.equations.split(solution.x)
    found = {}
    for k, name in enumerate(solution.equations.names):
        covariance = solution.covariance[2 * k : 2 * k + 2, 2 * k : 2 * k + 2]
        latitude, longitude = solution.equations.frame.to_degrees(*points[k]) if tied else (math.nan, math.nan)
        packed = (float(covariance[0, 0]), float(covariance[0, 1]), float(covariance[1, 1]))
        position = Located(latitude, longitude, packed, "adjusted from all readings")
        east, north = map(float, points[k])
        found[name] = AdjustedAnchor(name, east, north, position, error_ellipse(covariance))
    return found


def error_ellipse(covariance: Array) -> ErrorEllipse:
    """The standard error ellipse of a covariance.

    Parameters
    ----------
    covariance : of (east, north), shape (2, 2) [m2]

    Examples
    --------
    Variances of 4 and 2 square metres along north-east and across it, by hand:

    >>> ellipse = error_ellipse(np.array([[3.0, 1.0], [1.0, 3.0]]))
    >>> f"{ellipse.semi_major_m:.3f} {ellipse.semi_minor_m:.3f} m, {ellipse.major_bearing_deg:.1f} deg"
    '2.000 1.414 m, 45.0 deg'
    """
    values, vectors = np.linalg.eigh(covariance)
    east, north = vectors[:, 1]
    bearing = math.degrees(math.atan2(east, north)) % 180.0
    return ErrorEllipse(math.sqrt(max(values[1], 0.0)), math.sqrt(max(values[0], 0.0)), bearing)


def _told(
    outcomes: Sequence[str], found: Sequence[Search], not_placed: Sequence[str], checks: Sequence[ReadingCheck]
) -> Iterator[Said]:
    checked = [outcome for outcome in outcomes if outcome != "nothing to check"]
    if not checked:
        yield said("site-checked-by-nothing")
    elif set(checked) == {"consistent"}:
        yield said("site-agrees")
    for outcome, one in zip(outcomes, found):
        yield from _told_of_part(outcome, one)
    if not_placed:
        yield said("not-placed", names=tuple(not_placed))
    alone = [c.reading.named for c in checks if c.redundancy <= UNCHECKED_BELOW and not c.set_aside]
    if alone and checked:
        over = len(alone) - MOST_LISTED
        more = (said("and-more", count=over),) if over > 0 else ()
        yield said("checked-by-no-other", readings=tuple(alone[:MOST_LISTED]), more=more)


def _told_of_part(outcome: str, found: Search) -> Iterator[Said]:
    for reading, slip in zip(found.named, found.slips):
        because = (said("would-fit-if", slip=slip),) if slip else ()
        yield said("reading-most-likely-wrong", reading=reading.named, because=because)
    if outcome != "cannot tell which":
        return
    if not found.suspects:
        yield said("readings-around-contradict", names=found.solution.equations.names)
        return
    readings = tuple(said("suspect-if", reading=reading.named, slip=slip) if slip else reading.named
                     for reading, slip in zip(found.suspects, found.suspect_slips))
    yield said("cannot-tell-which-reading", readings=readings)
