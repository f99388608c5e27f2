"""What a network of anchors is measured by, as one set of weighted equations.

Each reading gives one row (a taped length, a bearing) or two (a position), divided by its standard error, so that the
sum of squares of the rows is the chi-square statistic of the network.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from siteassess.errors import Fault, FaultyInput
from siteassess.places.geodesy import Array, LocalFrame, median_place
from siteassess.places.positions import Located
from siteassess.reference.findings import Said, said, worded

READING_CODES = {"position": "reading-of-a-position", "tape": "reading-of-a-tape", "bearing": "reading-of-a-bearing"}


@dataclass(frozen=True)
class NetworkReading:
    """One reading of a network; build it with `position_of`, `taped` or `sighted`.

    `kind` is "position", "tape" or "bearing". `value` is metres for a tape and degrees from true north for a bearing,
    `sigma` its standard error; a position carries both in `position`. `slips` lists other values the note may have
    meant, each with the slip.
    """

    kind: str
    start: str
    end: str = ""
    value: float = math.nan
    sigma: float = math.nan
    position: Located | None = None
    magnetic: bool = False
    slips: tuple[tuple[Said, float | Located], ...] = ()

    @property
    def anchors(self) -> tuple[str, ...]:
        """The one or two it is about."""
        return (self.start, self.end) if self.end else (self.start,)

    @property
    def named(self) -> Said:
        """What it is a reading of."""
        ends = {"a": self.start, "b": self.end} if self.end else {"a": self.start}
        return said(READING_CODES[self.kind], **ends)


def position_of(anchor: str, position: Located, slips: Sequence[tuple[Said, Located]] = ()) -> NetworkReading:
    """A position fix.

    Parameters
    ----------
    anchor : its name
    position : with a known standard error
    slips : other positions the note may have meant, each with the slip

    Raises
    ------
    FaultyInput : a position of unknown accuracy.
    """
    if position.covariance_m2 is None:
        where, read = worded("standard-error-of", what="position"), worded("read-position-without-one", anchor=anchor)
        fault = Fault(0, where, read, worded("want-above-0"), worded("mend-leave-the-fix-out"))
        raise FaultyInput("network", [fault])
    return NetworkReading("position", anchor, position=position, slips=tuple(slips))


def taped(
    start: str, end: str, horizontal_m: float, sigma_m: float, slips: Sequence[tuple[Said, float]] = ()
) -> NetworkReading:
    """A horizontal length between two anchors.

    Parameters
    ----------
    start, end : their names
    horizontal_m, sigma_m : the length and its standard error [m]
    slips : other lengths the note may have meant, each with the slip [m]

    Raises
    ------
    FaultyInput : a length or standard error that is not above zero, or one anchor twice.
    """
    _refuse_odd("length", horizontal_m > 0, start, end, horizontal_m, sigma_m)
    return NetworkReading("tape", start, end, horizontal_m, sigma_m, slips=tuple(slips))


def sighted(
    start: str, end: str, bearing_true_deg: float, sigma_deg: float, *, magnetic: bool = False,
    slips: Sequence[tuple[Said, float]] = (),
) -> NetworkReading:
    """A bearing from true north at one anchor towards another.

    Parameters
    ----------
    start, end : their names
    bearing_true_deg, sigma_deg : the bearing and its standard error [deg]
    magnetic : whether a declination was added to get it
    slips : other bearings the note may have meant, each with the slip [deg]

    Raises
    ------
    FaultyInput : no bearing, a standard error that is not above zero, or one anchor twice.
    """
    _refuse_odd("bearing", math.isfinite(bearing_true_deg), start, end, bearing_true_deg, sigma_deg)
    return NetworkReading("bearing", start, end, bearing_true_deg, sigma_deg, magnetic=magnetic, slips=tuple(slips))


def _refuse_odd(what: str, good: bool, start: str, end: str, value: float, sigma: float) -> None:
    faults = []
    if not (good and math.isfinite(value)):
        faults.append(Fault(0, what, str(value), f"a {what} between two anchors"))
    if not sigma > 0:
        faults.append(Fault(0, "standard error", str(sigma), "a value above 0"))
    if start == end:
        faults.append(Fault(0, "anchors", f"{start} to {end}", "two different anchors"))
    if faults:
        raise FaultyInput("network", faults)


class Equations:
    """The readings of some anchors as weighted residuals and their derivatives by the anchors' plane coordinates.

    Where magnetic bearings share one declination, its error is one more unknown held to zero by its own standard
    error, since it does not average out.
    """

    def __init__(
        self, names: Sequence[str], readings: Sequence[NetworkReading], frame: LocalFrame, declination_sigma_deg: float
    ):
        self.names, self.readings, self.frame = tuple(names), tuple(readings), frame
        index = {name: k for k, name in enumerate(self.names)}
        self.shares_declination = declination_sigma_deg > 0 and any(r.magnetic for r in self.readings)
        self.unknowns = 2 * len(self.names) + self.shares_declination
        self.declination_sigma = math.radians(declination_sigma_deg)
        tapes = [(k, r) for k, r in enumerate(self.readings) if r.kind == "tape"]
        bearings = [(k, r) for k, r in enumerate(self.readings) if r.kind == "bearing"]
        fixes = [(k, r.start, r.position) for k, r in enumerate(self.readings) if r.position]
        self._tape = _Ends(tapes, index)
        self._bearing = _Ends(bearings, index)
        self._fix_at = np.array([index[anchor] for _, anchor, _ in fixes], dtype=int)
        self._fix = np.array([frame.to_metres(p.latitude_deg, p.longitude_deg) for *_, p in fixes]).reshape(-1, 2)
        self._whiten = np.array([_inverse_root(p.covariance()) for *_, p in fixes]).reshape(-1, 2, 2)
        self._magnetic = np.array([float(r.magnetic) for _, r in bearings]) * self.shares_declination
        rows = [k for k, _ in tapes] + [k for k, _ in bearings] + [k for k, *_ in fixes for _ in range(2)]
        self.row_reading = np.array(rows + [-1] * self.shares_declination, dtype=int)
        self.convergence = np.zeros(len(bearings))

    def turn_bearings(self, points: Array) -> None:
        """Bring true bearings to the plane's north, once rough coordinates are known."""
        starts = points[self._bearing.start]
        if len(starts):
            places = self.frame.to_degrees(starts[:, 0], starts[:, 1])
            self.convergence = np.radians(self.frame.convergence_deg(*places))

    def residuals(self, x: Array) -> Array:
        """Computed less observed, in standard errors, shape (rows,)."""
        points, offset = self.split(x)
        tape, bearing = self._tape.vectors(points), self._bearing.vectors(points)
        length = (np.hypot(*tape.T) - self._tape.value) / self._tape.sigma
        seen = np.arctan2(bearing[:, 0], bearing[:, 1]) + self.convergence - offset * self._magnetic
        turned = (seen - np.radians(self._bearing.value) + math.pi) % (2.0 * math.pi) - math.pi
        fix = np.einsum("nij,nj->ni", self._whiten, points[self._fix_at] - self._fix).ravel()
        declination = [offset / self.declination_sigma] if self.shares_declination else []
        return np.concatenate([length, turned / np.radians(self._bearing.sigma), fix, declination])

    def derivatives(self, x: Array) -> Array:
        """Derivatives of the residuals, shape (rows, unknowns)."""
        points, _ = self.split(x)
        tapes, bearings, fixes = len(self._tape.value), len(self._bearing.value), len(self._fix)
        out = np.zeros((len(self.row_reading), self.unknowns))
        self._tape.fill(out, 0, _unit(self._tape.vectors(points)) / self._tape.sigma[:, None])
        vector = self._bearing.vectors(points)
        across = np.column_stack([vector[:, 1], -vector[:, 0]]) / np.maximum(np.sum(vector**2, axis=1), 1e-12)[:, None]
        sigma = np.radians(self._bearing.sigma)
        self._bearing.fill(out, tapes, across / sigma[:, None])
        first = tapes + bearings
        for k in range(fixes):
            rows, columns = first + 2 * k, 2 * self._fix_at[k]
            out[rows : rows + 2, columns : columns + 2] = self._whiten[k]
        if self.shares_declination:
            out[tapes : tapes + bearings, -1] = -self._magnetic / sigma
            out[-1, -1] = 1.0 / self.declination_sigma
        return out

    def split(self, x: Array) -> tuple[Array, float]:
        """(plane coordinates, shape (anchors, 2) [m]; declination error [rad])."""
        points = x[: 2 * len(self.names)].reshape(-1, 2)
        return points, float(x[-1]) if self.shares_declination else 0.0


class _Ends:
    """Readings between two anchors as arrays."""

    def __init__(self, numbered: Sequence[tuple[int, NetworkReading]], index: Mapping[str, int]):
        self.start = np.array([index[r.start] for _, r in numbered], dtype=int)
        self.end = np.array([index[r.end] for _, r in numbered], dtype=int)
        self.value = np.array([r.value for _, r in numbered])
        self.sigma = np.array([r.sigma for _, r in numbered])

    def vectors(self, points: Array) -> Array:
        vectors: Array = points[self.end] - points[self.start]
        return vectors.reshape(-1, 2)

    def fill(self, out: Array, first: int, by_end: Array) -> None:
        rows = first + np.arange(len(self.value))
        for axis in (0, 1):
            out[rows, 2 * self.end + axis] = by_end[:, axis]
            out[rows, 2 * self.start + axis] = -by_end[:, axis]


def rough_places(readings: Sequence[NetworkReading], frame: LocalFrame) -> dict[str, Array]:
    """Starting (east, north) of every anchor that can be reached from a fix by a tape and a bearing together [m].

    Of several fixes of one anchor the last counts; which it is does not matter, for it is a start only.

    Parameters
    ----------
    readings : of the network; with no fix among them the first anchor is the origin
    frame : the plane

    Examples
    --------
    50 m at atan(3/4) from north are 30 m east and 40 m north, by hand:

    >>> legs = [taped("A", "B", 50.0, 0.1), sighted("A", "B", math.degrees(math.atan2(3, 4)), 1.0)]
    >>> rough_places(legs, LocalFrame(0.0, 0.0))["B"].round(6).tolist()
    [30.0, 40.0]
    """
    placed = {
        r.start: np.array(frame.to_metres(r.position.latitude_deg, r.position.longitude_deg))
        for r in readings
        if r.position
    }
    if not placed and readings:
        placed[readings[0].start] = np.zeros(2)
    steps = _steps(readings)
    while fresh := {b: placed[a] + v for (a, b), v in steps.items() if a in placed and b not in placed}:
        placed.update(fresh)
    return placed


def _steps(readings: Sequence[NetworkReading]) -> dict[tuple[str, str], Array]:
    """Vectors between anchors that have both a tape and a bearing [m]."""
    lengths = {frozenset(r.anchors): r.value for r in readings if r.kind == "tape"}
    steps = {}
    for r in readings:
        if r.kind == "bearing" and frozenset(r.anchors) in lengths:
            turn, length = math.radians(r.value), lengths[frozenset(r.anchors)]
            vector = length * np.array([math.sin(turn), math.cos(turn)])
            steps[r.start, r.end], steps[r.end, r.start] = vector, -vector
    return steps


def middle_frame(readings: Sequence[NetworkReading]) -> LocalFrame:
    """A plane at the median of the fixes, so that one mistyped position does not drag it away.

    Parameters
    ----------
    readings : of the network; with no fix among them the plane touches the earth at 0, 0
    """
    fixes = [r.position for r in readings if r.position]
    if not fixes:
        return LocalFrame(0.0, 0.0)
    return LocalFrame(*median_place([f.latitude_deg for f in fixes], [f.longitude_deg for f in fixes]))


def _unit(vectors: Array) -> Array:
    lengths: Array = np.maximum(np.hypot(*vectors.T), 1e-9)
    return vectors / lengths[:, None]


def _inverse_root(covariance: Array) -> Array:
    return np.asarray(np.linalg.inv(np.linalg.cholesky(covariance)), dtype=float)
