"""Adjustment of a network of anchors by weighted least squares, and the reading most likely wrong.

Every reading is left out in turn. The one whose leaving makes the rest agree best is named, but only where no other
comes near it: otherwise the answer is that it cannot be told which.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from scipy.optimize import least_squares
from scipy.stats import chi2

from siteassess.errors import OutsideModel
from siteassess.places.geodesy import LocalFrame
from siteassess.places.network_model import Equations, NetworkReading, middle_frame, rough_places
from siteassess.places.positions import RADIUS_IN_SIGMAS, Position

ALARM_LEVEL = 0.01  # share of networks without any error in which an alarm is accepted (the "flag" level)
# Named only if this many times as likely as any other reading (judgement).
NAMED_IF_TIMES_AS_LIKELY = 20.0
# Below this share of its error a reading hides nearly all of it in the network (judgement).
UNCHECKED_BELOW = 0.02


@dataclass(frozen=True)
class ErrorEllipse:
    """Standard error ellipse: half axes [m] and the bearing of the long one [deg]."""

    semi_major_m: float
    semi_minor_m: float
    major_bearing_deg: float

    def at_95_percent(self) -> ErrorEllipse:
        """The ellipse that holds the true place 95 times of 100."""
        scale = RADIUS_IN_SIGMAS["95 %"]
        return ErrorEllipse(self.semi_major_m * scale, self.semi_minor_m * scale, self.major_bearing_deg)


@dataclass(frozen=True)
class AdjustedAnchor:
    """An anchor where all readings together put it; degrees are NaN where no reading ties the network to the globe."""

    name: str
    east_m: float
    north_m: float
    position: Position
    ellipse: ErrorEllipse


@dataclass(frozen=True)
class ReadingCheck:
    """How one reading fits: what is left over [m or deg], in standard errors, and how well the others check it.

    `redundancy` is the share of the reading's own error that would show (0: none of it, the reading stands alone).
    """

    reading: NetworkReading
    residual: float
    standardised: float
    redundancy: float
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
    slips: tuple[str, ...]
    suspects: tuple[NetworkReading, ...]
    not_placed: tuple[str, ...]
    messages: tuple[str, ...]

    @property
    def probability(self) -> float:
        return float(chi2.sf(self.statistic, self.dof)) if self.dof > 0 else math.nan


@dataclass(frozen=True)
class Solution:
    """One least-squares solution of one set of readings."""

    equations: Equations
    x: np.ndarray
    residuals: np.ndarray
    covariance: np.ndarray
    hidden: np.ndarray  # rows x rows: the share of the errors that the residuals show

    @property
    def statistic(self) -> float:
        return float(self.residuals @ self.residuals)

    @property
    def dof(self) -> int:
        return len(self.residuals) - self.equations.unknowns

    def rows(self, reading: int) -> np.ndarray:
        return np.flatnonzero(self.equations.row_reading == reading)


def adjust_network(
    readings: Sequence[NetworkReading], *, declination_sigma_deg: float = 0.0, level: float = ALARM_LEVEL
) -> NetworkAdjustment:
    """Adjust all readings of a site together and say which one does not belong.

    Parameters
    ----------
    readings : positions, tapes and bearings, from `position_of`, `taped`, `sighted`
    declination_sigma_deg : standard error of the declination that all magnetic bearings share [deg]
    level : probability of an alarm where nothing is wrong

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
    """
    if not readings:
        raise OutsideModel("no reading was given, so there is no network to adjust")
    frame = middle_frame(readings)
    tied = any(r.kind == "position" for r in readings)
    kept, named, slips, suspects = list(readings), [], [], ()
    solution, not_placed = _solve(kept, frame, tied, declination_sigma_deg)
    while solution.dof > 0 and _alarm(solution) < level:
        suspects, reduced = _suspects(kept, solution, frame, tied, declination_sigma_deg)
        if len(suspects) != 1 or len(named) >= 3 or len(kept) - 1 <= len(readings) / 2:
            break
        wrong, suspects = suspects[0], ()
        slips.append(_slip(wrong, reduced))
        named.append(wrong)
        kept.remove(wrong)
        solution, not_placed = reduced, _missing(kept, reduced)
    outcome = _outcome(solution, named, suspects, level)
    anchors = _anchors(solution, tied)
    checks = tuple(_checks(solution)) + tuple(_check_aside(r, solution) for r in named)
    messages = _messages(outcome, named, slips, suspects, not_placed, checks)
    return NetworkAdjustment(
        outcome, anchors, checks, frame if tied else None, solution.statistic, solution.dof,
        tuple(named), tuple(slips), tuple(suspects), tuple(not_placed), tuple(messages),
    )  # fmt: skip


def _solve(
    readings: Sequence[NetworkReading], frame: LocalFrame, tied: bool, declination_sigma_deg: float
) -> tuple[Solution, list[str]]:
    """Least squares of the readings whose anchors can be placed, and the anchors that cannot."""
    start = rough_places(readings, frame)
    usable = [r for r in readings if all(name in start for name in r.anchors)]
    names = sorted({name for r in usable for name in r.anchors})
    left = sorted({name for r in readings for name in r.anchors} - set(names))
    equations = Equations(names, usable, frame, declination_sigma_deg)
    x0 = np.concatenate([*(start[name] for name in names), np.zeros(int(equations.shares_declination))])
    held = slice(0, 0) if tied else slice(0, 2)  # with no fix at all the first anchor is the origin
    free = np.setdiff1d(np.arange(equations.unknowns), np.arange(equations.unknowns)[held])
    if tied:
        equations.turn_bearings(x0[: 2 * len(names)].reshape(-1, 2))

    def filled(part: np.ndarray) -> np.ndarray:
        x = x0.copy()
        x[free] = part
        return x

    if len(equations.row_reading) < len(free):
        raise OutsideModel("there are fewer readings than unknown places; tape or sight more pairs")
    found = least_squares(
        lambda p: equations.residuals(filled(p)),
        x0[free],
        jac=lambda p: equations.derivatives(filled(p))[:, free],
        method="lm",
        max_nfev=200,
    )
    x = filled(found.x)
    slopes = equations.derivatives(x)[:, free]
    if np.linalg.matrix_rank(slopes, tol=1e-8 * max(1.0, float(np.abs(slopes).max()))) < len(free):
        raise OutsideModel("the readings leave some anchor free to move; tape or sight it from another anchor")
    within = np.linalg.inv(slopes.T @ slopes)
    covariance = np.zeros((equations.unknowns, equations.unknowns))
    covariance[np.ix_(free, free)] = within
    hidden = np.eye(len(slopes)) - slopes @ within @ slopes.T
    solution = Solution(equations, x, equations.residuals(x), covariance, hidden)
    return (solution, left) if tied else (_with_held_dof(solution), left)


class _HeldSolution(Solution):
    """A solution with the first anchor held: two unknowns fewer."""

    @property
    def dof(self) -> int:
        return len(self.residuals) - self.equations.unknowns + 2


def _with_held_dof(solution: Solution) -> Solution:
    return _HeldSolution(solution.equations, solution.x, solution.residuals, solution.covariance, solution.hidden)


def _alarm(solution: Solution) -> float:
    """Probability of so bad a fit where nothing is wrong."""
    whole = float(chi2.sf(solution.statistic, solution.dof))
    single = [_outlier(solution, k) for k in range(len(solution.equations.readings))]
    tested = [chi2.sf(statistic, dof) for statistic, dof in single if dof]
    worst = -math.expm1(len(tested) * math.log1p(-min(min(tested), 1 - 1e-16))) if tested else 1.0
    return min(1.0, 2.0 * min(whole, worst))


def _outlier(solution: Solution, reading: int) -> tuple[float, int]:
    """Chi-square of one reading's residuals with its degrees of freedom; (0, 0) where nothing checks it."""
    rows = solution.rows(reading)
    shown, residual = solution.hidden[np.ix_(rows, rows)], solution.residuals[rows]
    values, vectors = np.linalg.eigh(shown)
    good = values > UNCHECKED_BELOW
    return float(np.sum((vectors.T @ residual)[good] ** 2 / values[good])), int(good.sum())


def _suspects(
    kept: Sequence[NetworkReading], solution: Solution, frame: LocalFrame, tied: bool, declination_sigma_deg: float
) -> tuple[tuple[NetworkReading, ...], Solution | None]:
    """The readings whose leaving explains the misfit about equally well, and the solution without the best of them.

    Compared by what the sum of squares loses, less twice the degrees of freedom it loses with it.
    """
    gains = []
    for reading in solution.equations.readings:
        rest = [r for r in kept if r is not reading]
        try:
            without, _ = _solve(rest, frame, tied, declination_sigma_deg)
        except OutsideModel:
            continue
        lost_dof = solution.dof - without.dof
        if lost_dof > 0 and without.equations.names == solution.equations.names:
            gains.append((solution.statistic - without.statistic - 2.0 * lost_dof, reading, without))
    gains.sort(key=lambda g: -g[0])
    if not gains or gains[0][0] <= 0:
        return (), None
    near = 2.0 * math.log(NAMED_IF_TIMES_AS_LIKELY)
    return tuple(reading for gain, reading, _ in gains if gains[0][0] - gain < near), gains[0][2]


def _missing(readings: Sequence[NetworkReading], solution: Solution) -> list[str]:
    return sorted({name for r in readings for name in r.anchors} - set(solution.equations.names))


def _outcome(solution: Solution, named: Sequence, suspects: Sequence, level: float) -> str:
    if solution.dof <= 0 and not named:
        return "nothing to check"
    if solution.dof > 0 and _alarm(solution) < level:
        return "cannot tell which"
    return "one named" if named else "consistent"


def predicted(reading: NetworkReading, solution: Solution) -> tuple[np.ndarray, np.ndarray]:
    """What the other readings say this one should have read, less what it read, with the covariance of that.

    In standard errors of the reading: shape (1,) for tapes and bearings, (2,) for positions.
    """
    eq = solution.equations
    alone = Equations(eq.names, [reading], eq.frame, math.degrees(eq.declination_sigma))
    if not eq.shares_declination:
        alone = Equations(eq.names, [reading], eq.frame, 0.0)
    x = solution.x if alone.unknowns == eq.unknowns else solution.x[: alone.unknowns]
    points, _ = alone.split(x)
    alone.turn_bearings(points)
    rows = np.flatnonzero(alone.row_reading == 0)
    slopes = alone.derivatives(x)[rows]
    spread = slopes @ solution.covariance[: len(x), : len(x)] @ slopes.T + np.eye(len(rows))
    return alone.residuals(x)[rows], spread


def _slip(wrong: NetworkReading, without: Solution) -> str:
    """The slip under which the wrong reading agrees with the others after all, or nothing."""
    fitting = []
    for sentence, value in wrong.slips:
        meant = (
            NetworkReading("position", wrong.start, position=value)
            if isinstance(value, Position)
            else NetworkReading(wrong.kind, wrong.start, wrong.end, value, wrong.sigma, magnetic=wrong.magnetic)
        )
        miss, spread = predicted(meant, without)
        if chi2.sf(float(miss @ np.linalg.solve(spread, miss)), len(miss)) > 0.05:
            fitting.append(sentence)
    return "; or ".join(fitting)


def _natural(reading: NetworkReading, whitened: np.ndarray) -> float:
    """A residual in the unit of its reading: metres, degrees, or metres of distance for a position."""
    if reading.kind == "position":
        root = np.linalg.cholesky(reading.position.covariance())
        return float(np.hypot(*(root @ whitened)))
    return float(whitened[0] * reading.sigma)


def _checks(solution: Solution):
    for k, reading in enumerate(solution.equations.readings):
        rows = solution.rows(k)
        shown = float(np.trace(solution.hidden[np.ix_(rows, rows)])) / len(rows)
        statistic, dof = _outlier(solution, k)
        standardised = math.sqrt(statistic) if dof else math.nan
        yield ReadingCheck(reading, _natural(reading, solution.residuals[rows]), standardised, max(0.0, shown))


def _check_aside(reading: NetworkReading, solution: Solution) -> ReadingCheck:
    miss, spread = predicted(reading, solution)
    statistic = float(miss @ np.linalg.solve(spread, miss))
    return ReadingCheck(reading, _natural(reading, miss), math.sqrt(statistic), 1.0, set_aside=True)


def _anchors(solution: Solution, tied: bool) -> dict[str, AdjustedAnchor]:
    points, _ = solution.equations.split(solution.x)
    found = {}
    for k, name in enumerate(solution.equations.names):
        covariance = solution.covariance[2 * k : 2 * k + 2, 2 * k : 2 * k + 2]
        latitude, longitude = solution.equations.frame.to_degrees(*points[k]) if tied else (math.nan, math.nan)
        packed = (float(covariance[0, 0]), float(covariance[0, 1]), float(covariance[1, 1]))
        position = Position(latitude, longitude, packed, "adjusted from all readings")
        found[name] = AdjustedAnchor(name, *map(float, points[k]), position, error_ellipse(covariance))
    return found


def error_ellipse(covariance: np.ndarray) -> ErrorEllipse:
    """The standard error ellipse of a covariance of (east, north), shape (2, 2) [m2]."""
    values, vectors = np.linalg.eigh(covariance)
    east, north = vectors[:, 1]
    bearing = math.degrees(math.atan2(east, north)) % 180.0
    return ErrorEllipse(math.sqrt(max(values[1], 0.0)), math.sqrt(max(values[0], 0.0)), bearing)


def _messages(outcome, named, slips, suspects, not_placed, checks):
    if outcome == "consistent":
        yield "All readings of the site agree with each other."
    if outcome == "nothing to check":
        yield "There are just enough readings to draw the site and none to check it; tape or sight another pair."
    for reading, slip in zip(named, slips):
        because = f" It would fit if {slip}." if slip else ""
        yield f"Most likely wrong: {reading.label}; it is set aside, read it again.{because}"
    if outcome == "cannot tell which":
        which = ", ".join(r.label for r in suspects)
        yield f"Something is wrong, but it cannot be told which reading: {which}. Read these again." if which else (
            "The readings contradict each other in more than one place; read the site again."
        )
    if not_placed:
        yield f"Not placed for want of a position, or of a tape and a bearing together: {', '.join(not_placed)}."
    alone = [c.reading.label for c in checks if c.redundancy < UNCHECKED_BELOW and not c.set_aside]
    if alone and outcome != "nothing to check":
        yield f"Checked by no other reading: {', '.join(alone)}."
