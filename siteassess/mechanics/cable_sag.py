"""Tension worked out from a sag, since few riggers own a load cell."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
from numpy.typing import ArrayLike

from siteassess.mechanics.arrays import Array, Flags, as_array, broadcast
from siteassess.mechanics.cable import Codes, Solution, WhyNot, solve_clamped
from siteassess.mechanics.cable_kernel import STEP_TOLERANCE, piece
from siteassess.mechanics.cable_many import Law, solve_loads
from siteassess.mechanics.stretch_table import StretchTable

SAG_ROUNDS = 60


def solve_from_sag(
    span: ArrayLike, rise: ArrayLike, sag: ArrayLike, stiffness: ArrayLike, weight: ArrayLike, load: ArrayLike,
    at: ArrayLike
) -> Solution:
    """The loaded state of a line whose depth under a known load was measured.

    All parameters broadcast.

    Parameters
    ----------
    span, rise, stiffness, weight, load, at : array_like
        As in `cable.solve` [m, m, N, N/m, N, -]. Without load the sag is that of the line's own weight.
    sag : measured depth of the loaded point below anchor A [m]

    Returns
    -------
    Its `unstretched` length is what fixes every other state of this line. A sag that does not lie below the straight
    line between the anchors is `CANNOT_GIVE`.

    Notes
    -----
    Horizontal pull, vertical at A and both unstretched lengths are found at once from where the load and anchor B
    are. The tension goes about as one over the depth below the straight line, so a tape error of 5 % there is an
    error of about 5 % in the tension, and of more in the standing tension.

    Examples
    --------
    A high wire of 36 m sags by 2.1 m under a walker of 60 kg: 2500 N to two figures (Giancoli, Physics, 7th
    ed., chapter 9, problem 75, read):

    >>> f"{solve_from_sag(36.0, 0.0, 2.1, np.inf, 0.0, 60 * 9.8, 0.5).tension_a:.1e}"
    '2.5e+03'

    8 m pressed down by 3 m under 600 N: two legs of 5 m at 500 N, by hand.

    >>> state = solve_from_sag(8.0, 0.0, 3.0, np.inf, 0.0, 600.0, 0.5)
    >>> round(float(state.unstretched), 6), round(float(state.tension_a), 3)
    (10.0, 500.0)
    """
    values = broadcast(span, rise, sag, stiffness, weight, load, at)
    shape = values[0].shape
    span, rise, sag, stiffness, weight, load, at = (np.ravel(value) for value in values)
    reason = _faults(span, rise, sag, stiffness, weight, load, at)
    sound = reason == WhyNot.SOLVED
    length = np.full(span.shape, np.nan)
    with np.errstate(all="ignore"):
        rows = (span, rise, sag, 1 / stiffness, weight, load, at)
        length[sound], met = _length(*(row[sound] for row in rows))
    reason[np.flatnonzero(sound)[~met]] = WhyNot.NOT_CONVERGED
    answer = solve_clamped(span, rise, length, stiffness, weight, load, at)
    reason = np.where(reason == WhyNot.SOLVED, answer.reason, reason)
    shaped = {name: column.reshape(shape) for name, column in vars(replace(answer, reason=reason)).items()}
    return Solution(**shaped)


def standing_from_sag(
    span: ArrayLike, rise: ArrayLike, sag: ArrayLike, stiffness: Law, weight: ArrayLike, load: ArrayLike, at: ArrayLike
) -> Array:
    """Tension at A under own weight alone, from the sag measured under a known load [N].

    Parameters
    ----------
    span, rise, sag, weight, load, at : as in `solve_from_sag` [m, m, m, N/m, N, -]
    stiffness : EA [N], or a table of tension and strain

    Returns
    -------
    NaN where the measured state has no answer; 0 where a weightless line hangs slack once the load is gone [N].
    """
    if isinstance(stiffness, StretchTable):
        return _standing_from_table(span, rise, sag, stiffness, weight, load, at)
    loaded = solve_from_sag(span, rise, sag, stiffness, weight, load, at)
    empty = solve_clamped(span, rise, loaded.unstretched, stiffness, weight, 0.0, 0.5)
    slack = loaded.converged & (as_array(weight) == 0) & (loaded.unstretched >= np.hypot(span, rise))
    return np.where(slack, 0.0, empty.tension_a)


def _standing_from_table(
    span: ArrayLike, rise: ArrayLike, sag: ArrayLike, table: StretchTable, weight: ArrayLike, load: ArrayLike,
    at: ArrayLike
) -> Array:
    """The table's tangent at the loaded tension stands for it; the place of the load gives that tension at once.

    A tangent that meets no tension at a strain s is a plain line whose unstretched metre is 1 + s metres long.
    """
    weight, tension = as_array(weight), as_array(table.tension[-1] / 2)
    for _ in range(4):
        give = table.compliance(tension)
        longer = 1 + table.strain(tension) - tension * give
        loaded = solve_from_sag(span, rise, sag, longer / give, weight / longer, load, at)
        tension = 0.5 * (loaded.tension_a + loaded.tension_b)
    return solve_loads(span, rise, loaded.unstretched / longer, table, weight, [0.0], [0.5]).tension_a


def _faults(span: Array, rise: Array, sag: Array, stiffness: Array, weight: Array, load: Array, at: Array) -> Codes:
    reason = np.zeros(span.shape, dtype=np.int8)
    finite = np.isfinite(span + rise + sag + weight + load + at) & ~np.isnan(stiffness)
    below_chord = sag + rise * at
    for where, code in (
        (~finite, WhyNot.MISSING),
        (span <= 0, WhyNot.NO_SPAN),
        (np.abs(rise) > span, WhyNot.TOO_STEEP),
        ((at <= 0) | (at >= 1), WhyNot.OFF_THE_LINE),
        ((stiffness <= 0) | (weight < 0) | (load < 0), WhyNot.NEGATIVE),
        ((below_chord <= 0) | (weight + load == 0), WhyNot.CANNOT_GIVE),
    ):
        reason[where & (reason == WhyNot.SOLVED)] = code
    return reason


def _length(
    span: Array, rise: Array, sag: Array, flexibility: Array, weight: Array, load: Array, at: Array
) -> tuple[Array, Flags]:
    """Unstretched length, by Newton on pull, vertical at A and the lengths before and after the load."""
    before, after = at * span, (1 - at) * span
    total = weight * np.hypot(span, rise)
    pull = (load + 0.5 * total) / (sag / before + (sag + rise) / after)
    strain = pull * flexibility
    first, second = np.hypot(before, sag) / (1 + strain), np.hypot(after, sag + rise) / (1 + strain)
    unknowns = np.column_stack((pull, pull * sag / before + 0.5 * weight * first, first, second))
    met: Flags = np.zeros(span.shape, dtype=bool)
    zero = np.zeros(span.shape)
    for _ in range(SAG_ROUNDS):
        pull, vertical, first, second = unknowns.T
        a = piece(pull, vertical, first, weight, flexibility)
        b = piece(pull, a.vertical_end - load, second, weight, flexibility)
        give_a, give_b = flexibility + 1 / a.tension_end, flexibility + 1 / b.tension_end
        misses = np.stack((a.across - before, a.down - sag, b.across - after, b.down + sag + rise), axis=-1)
        columns = (
            (a.across_by_pull, a.cross, b.across_by_pull, b.cross),
            (a.cross, a.down_by_vertical, b.cross, b.down_by_vertical),
            (pull * give_a, a.vertical_end * give_a, -weight * b.cross, -weight * b.down_by_vertical),
            (zero, zero, pull * give_b, b.vertical_end * give_b),
        )
        jacobian = np.stack([np.stack(column, axis=-1) for column in columns], axis=-1)
        jacobian[~np.isfinite(jacobian).all(axis=(1, 2))] = np.eye(4)
        step = -np.linalg.solve(jacobian, misses[..., None])[..., 0]
        scale = np.column_stack((pull, a.tension_start, first, second))
        met = np.asarray((np.abs(step) < STEP_TOLERANCE * scale).all(axis=1))
        ahead = unknowns + step
        ahead[:, [0, 2, 3]] = np.maximum(ahead[:, [0, 2, 3]], 0.3 * unknowns[:, [0, 2, 3]])
        unknowns = ahead
        if met.all():
            break
    return unknowns[:, 2] + unknowns[:, 3], met
