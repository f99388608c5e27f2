"""One least-squares solution of a network, and how badly its readings fit."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.linalg import LinAlgError, cho_factor, cho_solve
from scipy.special import chdtrc

from siteassess.errors import OutsideModel
from siteassess.places.geodesy import Array, LocalFrame
from siteassess.places.network_model import Equations, NetworkReading, rough_places

ByNumber = NDArray[np.intp]  # rows or columns by their number

# Below this share of its error a reading is checked by no other; the arithmetic is good to about 1e-9.
UNCHECKED_BELOW = 1e-7
MOST_ITERATIONS = 40
SMALL_STEP_M = 1e-6
LOOSEST_M = 1e5  # an anchor known no better than this is not placed at all
FREE_TO_MOVE = ("the readings leave some anchor free to move; tape or sight it from another anchor",
                "anchor-free-to-move")


@dataclass(frozen=True)
class NetworkSolution:
    """One least-squares solution of one set of readings."""

    equations: Equations
    x: Array
    residuals: Array
    covariance: Array
    shown: Array  # rows x rows: the share of the rows' errors that the residuals show
    free: int

    @property
    def statistic(self) -> float:
        """Chi-square: the sum of squares of the residuals, in standard errors."""
        return float(self.residuals @ self.residuals)

    @property
    def dof(self) -> int:
        """Rows of readings beyond those that place the anchors."""
        return len(self.residuals) - self.free

    @property
    def readings(self) -> tuple[NetworkReading, ...]:
        """What was solved, in the order of the numbers that `rows` and `outlier` take."""
        return self.equations.readings

    def rows(self, reading: int) -> ByNumber:
        """Numbers of the rows of one reading: one, or two of a position."""
        return np.flatnonzero(self.equations.row_reading == reading)


def solve_network(
    readings: Sequence[NetworkReading], frame: LocalFrame, tied: bool, declination_sigma_deg: float
) -> tuple[NetworkSolution, list[str]]:
    """Least squares of the readings whose anchors can be placed, and the names of the anchors that cannot.

    Parameters
    ----------
    readings : of the network
    frame : the plane
    tied : whether a fix ties the network to the ground; else the first anchor stays where it is
    declination_sigma_deg : standard error of the declination that all magnetic bearings share [deg]

    Returns
    -------
    The solution; names of anchors without a place.

    Raises
    ------
    OutsideModel : readings that place no anchor, are fewer than the unknowns, or leave an anchor free to move.
    """
    start = rough_places(readings, frame)
    usable = [r for r in readings if all(name in start for name in r.anchors)]
    names = sorted({name for r in usable for name in r.anchors})
    if not usable:
        raise OutsideModel("no anchor can be placed: give a position, or a tape and a bearing between one pair",
                           "no-anchor-can-be-placed")
    left = sorted({name for r in readings for name in r.anchors} - set(names))
    equations = Equations(names, usable, frame, declination_sigma_deg)
    x0 = np.concatenate([*(start[name] for name in names), np.zeros(int(equations.shares_declination))])
    held = slice(0, 0) if tied else slice(0, 2)  # with no fix at all the first anchor is the origin
    free = np.setdiff1d(np.arange(equations.unknowns), np.arange(equations.unknowns)[held])
    if tied:
        equations.turn_bearings(x0[: 2 * len(names)].reshape(-1, 2))

    if len(equations.row_reading) < len(free):
        raise OutsideModel("there are fewer readings than unknown places; tape or sight more pairs",
                           "fewer-readings-than-places")
    x = _least_squares(equations, x0, free)
    slopes = equations.derivatives(x)[:, free]
    try:
        within = cho_solve(cho_factor(slopes.T @ slopes), np.eye(len(free)))
    except LinAlgError:
        raise OutsideModel(*FREE_TO_MOVE) from None
    if np.max(np.diag(within)) > LOOSEST_M**2:
        raise OutsideModel(*FREE_TO_MOVE)
    covariance = np.zeros((equations.unknowns, equations.unknowns))
    covariance[np.ix_(free, free)] = within
    shown = np.eye(len(slopes)) - slopes @ within @ slopes.T
    return NetworkSolution(equations, x, equations.residuals(x), covariance, shown, len(free)), left


def _least_squares(equations: Equations, x0: Array, free: ByNumber) -> Array:
    """The unknowns of least squares by Gauss-Newton steps, halved while they make things worse."""
    x, residuals = x0.copy(), equations.residuals(x0)
    for _ in range(MOST_ITERATIONS):
        slopes = equations.derivatives(x)[:, free]
        try:
            step = cho_solve(cho_factor(slopes.T @ slopes), -slopes.T @ residuals)
        except LinAlgError:
            raise OutsideModel(*FREE_TO_MOVE) from None
        for _ in range(12):
            further = x.copy()
            further[free] += step
            then = equations.residuals(further)
            if then @ then <= residuals @ residuals:
                break
            step = step / 2.0
        else:
            return x
        x, residuals = further, then
        if np.max(np.abs(step)) < SMALL_STEP_M:
            return x
    return _by_minpack(equations, x, free)


def _by_minpack(equations: Equations, x0: Array, free: ByNumber) -> Array:
    """The same by Levenberg and Marquardt, for the rare network where plain steps wander."""
    from scipy.optimize import least_squares  # half a second to load, and hardly ever needed

    def filled(part: Array) -> Array:
        x = x0.copy()
        x[free] = part
        return x

    found = least_squares(
        lambda p: equations.residuals(filled(p)), x0[free], jac=lambda p: equations.derivatives(filled(p))[:, free],
        method="lm", max_nfev=200,
    )
    return filled(found.x)


def alarm(solution: NetworkSolution) -> float:
    """Probability of so bad a fit where nothing is wrong, 0 to 1 [-].

    Parameters
    ----------
    solution : whose sum of squares and worst reading are both tested, each at half the level
    """
    whole = chdtrc(solution.dof, solution.statistic)
    single = (outlier(solution, k) for k in range(len(solution.readings)))
    tested = [(dof, statistic) for statistic, dof in single if dof]
    if not tested:
        return float(whole)
    # the chance that the worst of so many readings is this bad; expm1 keeps the tiny ones from rounding to nothing
    least = min(float(np.min(chdtrc(*np.transpose(tested)))), 1.0 - 1e-16)
    worst = -math.expm1(len(tested) * math.log1p(-least))
    return min(1.0, 2.0 * min(float(whole), worst))


def outlier(solution: NetworkSolution, reading: int) -> tuple[float, int]:
    """Chi-square of one reading's residuals with its degrees of freedom; (0, 0) where nothing checks it.

    Parameters
    ----------
    solution : the reading is part of
    reading : its number among `solution.readings`

    Returns
    -------
    Chi-square; degrees of freedom.
    """
    rows = solution.rows(reading)
    shown, residual = solution.shown[np.ix_(rows, rows)], solution.residuals[rows]
    values, vectors = np.linalg.eigh(shown)
    good = values > UNCHECKED_BELOW
    return float(np.sum((vectors.T @ residual)[good] ** 2 / values[good])), int(good.sum())


def predicted(reading: NetworkReading, solution: NetworkSolution) -> tuple[Array, Array]:
    """What the other readings say this one should have read, less what it read, with the covariance of that.

    Parameters
    ----------
    reading : of anchors the solution has placed
    solution : without that reading

    Returns
    -------
    The miss, shape (1,) for tapes and bearings, (2,) for positions, in standard errors of the reading; its covariance.
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
