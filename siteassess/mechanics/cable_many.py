"""Any number of loads, lines joined from several webbings in series, webbing given as a stretch table.

The same physics as `cable.py`, written a second way: all unknowns in one dense system per case, slower and more
general, so that each checks the other.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from siteassess.mechanics.arrays import Array, Flags, RowNumbers, as_array, broadcast
from siteassess.mechanics.cable import Codes, Solution, WhyNot
from siteassess.mechanics.cable_kernel import STEP_TOLERANCE, piece, small_sag_pull
from siteassess.mechanics.stretch_table import StretchTable

GAUSS_PLACES, GAUSS_WEIGHTS = np.polynomial.legendre.leggauss(8)
NEWTON_ROUNDS = 80
Law = StretchTable | ArrayLike  # EA [N], or a table of tension and strain


@dataclass(frozen=True)
class Section:
    """One webbing in a line joined end to end."""

    share: float  # its share of the whole unstretched length [-]
    stiffness: float | StretchTable  # EA [N] or a table
    weight: float  # per unstretched metre [N/m]


def solve_loads(
    span: ArrayLike, rise: ArrayLike, unstretched: ArrayLike, stiffness: Law, weight: ArrayLike, loads: ArrayLike,
    fractions: ArrayLike
) -> Solution:
    """Anchor loads of a line of known unstretched length under any number of point loads.

    Parameters
    ----------
    span, rise, unstretched, weight : array_like
        As in `cable.solve_clamped`; broadcast against the leading axes of `loads` [m, m, m, N/m].
    stiffness : EA [N] or a table of tension and strain
    loads, fractions : array_like, shape (..., k)
        Vertical loads [N] and their horizontal places as fractions of the span from A, in any order [-].

    Returns
    -------
    `drop` and `unstretched_to_load` carry a last axis over the loads, in the order given.

    Examples
    --------
    12 m that do not stretch over 10 m, 300 N at 4 and 6 m: legs of 5 m over 4 m and down 3 m, by hand 500 N.

    >>> state = solve_loads(10.0, 0.0, 12.0, np.inf, 0.0, [300.0, 300.0], [0.4, 0.6])
    >>> round(float(state.tension_a), 3), state.drop.round(6).tolist()
    (500.0, [3.0, 3.0])
    """
    batch = _Batch(span, rise, [unstretched], [stiffness], [weight], loads, fractions)
    return batch.clamped()


def solve_joined(
    span: ArrayLike, rise: ArrayLike, standing: ArrayLike, sections: Sequence[Section], loads: ArrayLike,
    fractions: ArrayLike
) -> Solution:
    """Anchor loads of a line of one or more webbings in series, tensioned to `standing` at A, then loaded.

    Parameters
    ----------
    span, rise, standing : as in `cable.solve` [m, m, N]
    sections : from A to B; their shares sum to 1
    loads, fractions : as in `solve_loads`, shape (..., k)

    Raises
    ------
    ValueError : where the shares are not above zero or do not sum to 1
    """
    shares = [section.share for section in sections]
    if not np.isclose(sum(shares), 1.0) or min(shares) <= 0:
        raise ValueError("the shares of the sections must be above zero and sum to 1")
    laws, weights = [section.stiffness for section in sections], [section.weight for section in sections]
    # the length hangs on no load: found once for a line, however many loads and places are asked
    once = broadcast(span, rise, standing)
    unloaded = _Batch(once[0], once[1], shares, laws, weights, [0.0], [0.5])
    length, standing_reason = unloaded.length_for(once[2])
    loaded = _Batch(span, rise, [share * length for share in shares], laws, weights, loads, fractions)
    return loaded.clamped(np.broadcast_to(standing_reason.reshape(unloaded.shape), loaded.shape).reshape(-1))


def solve_table(
    span: ArrayLike, rise: ArrayLike, standing: ArrayLike, table: StretchTable, weight: float, load: ArrayLike,
    at: ArrayLike
) -> Solution:
    """`cable.solve` for one load on webbing given as a stretch table; parameters as there.

    Parameters
    ----------
    span, rise, standing, weight, load, at : as in `cable.solve` [m, m, N, N/m, N, -]
    table : of the webbing
    """
    load, at = broadcast(load, at)
    many = solve_joined(span, rise, standing, [Section(1.0, table, weight)], load[..., None], at[..., None])
    columns = vars(many) | {name: getattr(many, name)[..., 0] for name in ("drop", "unstretched_to_load")}
    return Solution(**columns)


def _sum(parts: Iterable[Array]) -> Array:
    return as_array(sum(parts, start=as_array(0.0)))


class _Batch:
    """Flat arrays of cases that share their number of loads and of sections."""

    def __init__(
        self, span: ArrayLike, rise: ArrayLike, lengths: Sequence[ArrayLike], laws: Sequence[Law],
        weights: Sequence[ArrayLike], loads: ArrayLike, fractions: ArrayLike
    ) -> None:
        loads, fractions = broadcast(loads, fractions)
        plain = (law for law in laws if not isinstance(law, StretchTable))
        singles = [as_array(value) for value in (span, rise, *lengths, *weights, *plain)]
        self.shape = np.broadcast_shapes(loads.shape[:-1], *(value.shape for value in singles))
        self.loads_shape = (*self.shape, loads.shape[-1])
        rows = [np.broadcast_to(value, self.loads_shape).reshape(-1, loads.shape[-1]) for value in (loads, fractions)]
        self.order = np.argsort(rows[1], axis=1, kind="stable")
        self.loads, self.fractions = (np.take_along_axis(row, self.order, axis=1) for row in rows)
        self.span, self.rise = self._flat(span), self._flat(rise)
        self.lengths, self.weights = list(map(self._flat, lengths)), list(map(self._flat, weights))
        self.laws = [law if isinstance(law, StretchTable) else 1 / self._flat(law) for law in laws]

    def _flat(self, value: ArrayLike) -> Array:
        return np.broadcast_to(as_array(value), self.shape).reshape(-1)

    @property
    def length(self) -> Array:
        return _sum(self.lengths)

    # -- entries ----------------------------------------------------------------------------------------------

    def clamped(self, standing_reason: Codes | None = None) -> Solution:
        reason = self._faults()
        if standing_reason is not None:
            reason = np.where(standing_reason != WhyNot.SOLVED, standing_reason, reason)
        with np.errstate(all="ignore"):
            unknowns, met = self._newton(self._start(), reason == WhyNot.SOLVED)
            reason = np.where((reason == WhyNot.SOLVED) & ~met, WhyNot.NOT_CONVERGED, reason).astype(np.int8)
            return self._solution(unknowns, reason)

    def length_for(self, standing: ArrayLike) -> tuple[Array, Codes]:
        """Unstretched length that gives the standing tension at A, with the sections in their shares."""
        standing = self._flat(standing)
        reason = self._faults()
        reason = np.where((reason == WhyNot.SOLVED) & ~(standing > 0), WhyNot.NEGATIVE, reason)
        shares = self.lengths
        with np.errstate(all="ignore"):
            strain = _sum(s * self._strain(law, standing) for s, law in zip(shares, self.laws))
            weight = _sum(s * w for s, w in zip(shares, self.weights))
            chord = np.hypot(self.span, self.rise)
            sag = np.minimum(0.5 * weight * chord / (1 + strain) / standing, 0.65)
            length = chord * (1 + sag**2 / 6) / (1 + strain)
            for _ in range(NEWTON_ROUNDS):
                self.lengths = [share * length for share in shares]
                unknowns, met = self._newton(self._start(), reason == WhyNot.SOLVED)
                step, slope = self._length_step(unknowns, standing, length, shares)
                done = met & (np.abs(step) < STEP_TOLERANCE * 1e-3 * length)
                length = length + np.clip(step, -0.1 * length, 0.1 * length)
                if np.all(done | (reason != WhyNot.SOLVED)):
                    break
        # Past the fold a longer line pulls harder: that is the slack curve, or none.
        slack = (reason == WhyNot.SOLVED) & (~done | (slope >= 0))
        self.lengths = shares
        return length.reshape(self.shape), np.where(slack, WhyNot.TOO_SLACK, reason)

    # -- the system -------------------------------------------------------------------------------------------

    def _faults(self) -> Codes:
        reason = np.zeros(self.span.shape, dtype=np.int8)

        def mark(where: Flags, code: WhyNot) -> None:
            reason[where & (reason == WhyNot.SOLVED)] = code

        total, weight = self.length, _sum(self.weights)
        numbers = self.span + self.rise + total + weight + self.loads.sum(axis=1) + self.fractions.sum(axis=1)
        mark(~np.isfinite(numbers), WhyNot.MISSING)
        mark(self.span <= 0, WhyNot.NO_SPAN)
        mark(np.abs(self.rise) > self.span, WhyNot.TOO_STEEP)
        mark(np.asarray(((self.fractions <= 0) | (self.fractions >= 1)).any(axis=1)), WhyNot.OFF_THE_LINE)
        mark(np.asarray((self.loads < 0).any(axis=1) | (total <= 0) | (weight < 0)), WhyNot.NEGATIVE)
        for law in self.laws:
            if not isinstance(law, StretchTable):
                mark(~(law >= 0), WhyNot.NEGATIVE)
        return reason

    @staticmethod
    def _strain(law: StretchTable | Array, tension: Array) -> Array:
        return law.strain(tension) if isinstance(law, StretchTable) else law * tension

    def _start(self) -> Array:
        """First guess: small-sag pull, beam shear, and legs as straight pieces."""
        total = _sum(w * length for w, length in zip(self.weights, self.lengths))
        length = self.length
        chord = np.hypot(self.span, self.rise)
        x = np.linspace(0, 1, 201)
        shear = -total[:, None] * x - (self.loads[:, :, None] * (x > self.fractions[:, :, None])).sum(axis=1)
        bending = 0.5 * self.span * (self.span / chord) ** 3 * shear.var(axis=1)
        middle = [as_array(law.tension[-1] / 2 if isinstance(law, StretchTable) else 1.0) for law in self.laws]
        give = _sum(self._strain(law, t) / t * part for law, t, part in zip(self.laws, middle, self.lengths)) / length
        pull = small_sag_pull(bending, self.span, self.rise, length, give)
        vertical = -shear.mean(axis=1) - pull * self.rise / self.span
        upto = length[:, None] * self.fractions
        return np.column_stack((pull, vertical, upto))

    def _newton(self, unknowns: Array, wanted: Flags) -> tuple[Array, Flags]:
        met = np.zeros(len(unknowns), dtype=bool)
        count = self.loads.shape[1]
        length = self.length
        for _ in range(NEWTON_ROUNDS):
            active = np.flatnonzero(wanted & ~met)
            if not active.size:
                break
            misses, jacobian = self._misses(unknowns, active)
            jacobian[~np.isfinite(jacobian).all(axis=(1, 2))] = np.eye(count + 2)
            try:
                step = -np.linalg.solve(jacobian, misses[..., None])[..., 0]
            except np.linalg.LinAlgError:
                step = -np.stack([np.linalg.lstsq(j, m, rcond=None)[0] for j, m in zip(jacobian, misses)])
            now = unknowns[active]
            whole = length[active]
            tension = np.hypot(now[:, 0], now[:, 1])
            small = np.abs(step[:, 0]) < STEP_TOLERANCE * now[:, 0]
            small &= np.abs(step[:, 1]) < STEP_TOLERANCE * tension
            small &= (np.abs(step[:, 2:]) < STEP_TOLERANCE * whole[:, None]).all(axis=1)
            edges = np.column_stack((np.zeros(active.size), now[:, 2:], whole))
            moves = np.column_stack((np.zeros(active.size), step[:, 2:], np.zeros(active.size)))
            gap, closing = np.diff(edges, axis=1), -np.diff(moves, axis=1)
            room = 0.9 * gap + 1e-9 * whole[:, None]  # the last term lets two loads share one place
            fit = np.where(closing > room, room / np.where(closing > 0, closing, 1), 1.0).min(axis=1)
            fit = np.minimum(fit, np.where(step[:, 0] < -0.7 * now[:, 0], -0.7 * now[:, 0] / step[:, 0], 1.0))
            fit = np.minimum(fit, np.where(step[:, 0] > 3 * now[:, 0], 3 * now[:, 0] / step[:, 0], 1.0))
            unknowns[active] = now + fit[:, None] * step
            met[active] = small
        return unknowns, met & np.isfinite(unknowns).all(axis=1)

    def _misses(self, unknowns: Array, active: RowNumbers) -> tuple[Array, Array]:
        """Residuals and their Jacobian: across to each load and to B, and down to B."""
        count = self.loads.shape[1]
        pull, vertical, upto = unknowns[active, 0], unknowns[active, 1], unknowns[active, 2:]
        edges = [np.zeros(active.size), *upto.T, self.length[active]]
        places = np.column_stack((np.zeros(active.size), self.fractions[active], np.ones(active.size)))
        misses = np.zeros((active.size, count + 2))
        jacobian = np.zeros((active.size, count + 2, count + 2))
        for i in range(count + 1):
            across = -np.diff(places, axis=1)[:, i] * self.span[active]
            for begin, length, k in self._parts(edges[i], edges[i + 1], active):
                p = self._piece(pull, self._vertical(vertical, begin, i, active), length, k, active)
                across = across + p[0]
                misses[:, -1] += p[1]
                jacobian[:, i, 0] += p[2]
                jacobian[:, i, 1] += p[3]
                jacobian[:, -1, 0] += p[3]
                jacobian[:, -1, 1] += p[4]
            misses[:, i] = across
            for edge, sign in ((i, -1), (i + 1, +1)):
                if 0 < edge <= count:
                    v = self._vertical(vertical, edges[edge], i, active)
                    give = self._give(np.hypot(pull, v), edges[edge], active)
                    jacobian[:, i, 1 + edge] += sign * pull * give
                    jacobian[:, -1, 1 + edge] += sign * v * give
        misses[:, -1] += self.rise[active]
        return misses, jacobian

    def _parts(self, low: Array, high: Array, active: RowNumbers) -> Iterator[tuple[Array, Array, int]]:
        """The pieces of each section between two points of the line."""
        begin = np.zeros(active.size)
        for k, whole in enumerate(self.lengths):
            end = begin + whole[active]
            first = np.maximum(low, begin)
            yield first, np.maximum(np.minimum(high, end) - first, 0.0), k
            begin = end

    def _vertical(self, vertical: Array, place: Array, loads_passed: int, active: RowNumbers) -> Array:
        """Vertical part of the pull at a place along the unstretched line."""
        for (_, length, k) in self._parts(np.zeros(active.size), place, active):
            vertical = vertical - self.weights[k][active] * length
        return as_array(vertical - self.loads[active, :loads_passed].sum(axis=1))

    def _give(self, tension: Array, place: Array, active: RowNumbers) -> Array:
        """Stretched metres per unstretched metre and newton of tension at a place of the line."""
        stretch, begin = np.zeros(active.size), np.zeros(active.size)
        for k, whole in enumerate(self.lengths):
            last = k == len(self.lengths) - 1
            here = (place >= begin) & (last | (place < begin + whole[active]))
            law = self.laws[k]
            strain = self._strain(law if isinstance(law, StretchTable) else law[active], tension)
            stretch = np.where(here, strain, stretch)
            begin = begin + whole[active]
        return as_array((1 + stretch) / tension)

    def _piece(self, pull: Array, vertical: Array, length: Array, k: int, active: RowNumbers) -> Sequence[Array]:
        weight, law = self.weights[k][active], self.laws[k]
        if not isinstance(law, StretchTable):
            return piece(pull, vertical, length, weight, law[active])[:5]
        hang = piece(pull, vertical, length, weight, np.zeros_like(length))
        sums = list(hang[:5])
        for place, share in zip(GAUSS_PLACES, GAUSS_WEIGHTS):
            v = vertical - weight * length * 0.5 * (1 + place)
            tension = np.hypot(pull, v)
            part = 0.5 * share * length
            ratio = law.strain(tension) / tension
            turn = (law.compliance(tension) - ratio) / tension**2
            sums[0] = sums[0] + part * pull * ratio
            sums[1] = sums[1] + part * v * ratio
            sums[2] = sums[2] + part * (ratio + pull**2 * turn)
            sums[3] = sums[3] + part * pull * v * turn
            sums[4] = sums[4] + part * (ratio + v**2 * turn)
        return sums

    # -- answers ----------------------------------------------------------------------------------------------

    def _length_step(self, unknowns: Array, standing: Array, length: Array, shares: list[Array]) -> tuple[Array, Array]:
        """Newton step on the whole length towards the standing tension; the slope by a small difference."""
        tension = np.hypot(unknowns[:, 0], unknowns[:, 1])
        nudge = 1e-6
        self.lengths = [share * length * (1 + nudge) for share in shares]
        other, _ = self._newton(unknowns.copy(), np.isfinite(tension))
        slope = (np.hypot(other[:, 0], other[:, 1]) - tension) / (nudge * length)
        return (standing - tension) / slope, slope

    def _solution(self, unknowns: Array, reason: Codes) -> Solution:
        everything = np.arange(len(unknowns))
        pull, vertical, upto = unknowns[:, 0], unknowns[:, 1], unknowns[:, 2:]
        weight = _sum(w * length for w, length in zip(self.weights, self.lengths))
        vertical_b = weight + self.loads.sum(axis=1) - vertical
        drops = np.zeros_like(upto)
        edges = [np.zeros(len(unknowns)), *upto.T]
        down = np.zeros(len(unknowns))
        for i in range(upto.shape[1]):
            for begin, length, k in self._parts(edges[i], edges[i + 1], everything):
                start = self._vertical(vertical, begin, i, everything)
                down = down + self._piece(pull, start, length, k, everything)[1]
            drops[:, i] = down
        unsolved = reason != WhyNot.SOLVED
        back = np.argsort(self.order, axis=1)

        def single(value: Array) -> Array:
            return np.where(unsolved, np.nan, value).reshape(self.shape)

        def per_load(value: Array) -> Array:
            value = np.where(unsolved[:, None], np.nan, np.take_along_axis(value, back, axis=1))
            return value.reshape(self.loads_shape)

        return Solution(
            tension_a=single(np.hypot(pull, vertical)), tension_b=single(np.hypot(pull, vertical_b)),
            horizontal=single(pull), vertical_a=single(vertical), vertical_b=single(vertical_b), drop=per_load(drops),
            unstretched=single(self.length), unstretched_to_load=per_load(upto),
            converged=(~unsolved).reshape(self.shape), reason=reason.reshape(self.shape),
        )
