"""A line between two anchors with one load on it: the exact elastic catenary, many cases at a time.

The unstretched length is fixed by the standing state and then stays as it is while loads come and go. Anchors may
stand at different heights. `cable_many.py` takes several loads, joined lines and webbing given as a table.

Every case answers for itself: a case that has no answer carries its reason and NaN, and costs the others nothing.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, fields
from enum import IntEnum

import numpy as np
from numpy.typing import ArrayLike, NDArray

from siteassess.errors import OutsideModel
from siteassess.mechanics.arrays import Array, Flags, RowNumbers, as_array, broadcast
from siteassess.mechanics.cable_kernel import loaded_state, piece, standing_state

CHUNK = 4096  # cases that fit the processor's cache together
FIRST_ROUNDS = 8  # enough for all but odd cases, which then get their own, longer run
MORE_ROUNDS = 60

Codes = NDArray[np.int8]
Run = Callable[[list[Array], int], tuple[dict[str, Array], Codes]]


class WhyNot(IntEnum):
    """Why a case has no answer; `SOLVED` where it has one."""

    SOLVED = 0
    MISSING = 1
    NO_SPAN = 2
    TOO_STEEP = 3
    OFF_THE_LINE = 4
    NEGATIVE = 5
    TOO_SLACK = 6
    CANNOT_GIVE = 7
    NOT_CONVERGED = 8

    @property
    def code(self) -> str:
        """Of the table `findings`."""
        return REASON_CODE[self]


REASON_CODE = {
    WhyNot.MISSING: "line-value-unknown", WhyNot.NO_SPAN: "line-without-span",
    WhyNot.TOO_STEEP: "line-too-steep", WhyNot.OFF_THE_LINE: "load-off-the-line",
    WhyNot.NEGATIVE: "line-value-not-positive", WhyNot.TOO_SLACK: "line-too-slack",
    WhyNot.CANNOT_GIVE: "line-cannot-give", WhyNot.NOT_CONVERGED: "line-sum-unsteady",
}


@dataclass(frozen=True)
class Solution:
    """One static state per case; arrays of the broadcast shape (0-d for plain numbers)."""

    tension_a: Array  # tension at anchor A [N]
    tension_b: Array  # tension at anchor B [N]
    horizontal: Array  # horizontal pull, the same all along the line [N]
    vertical_a: Array  # vertical pull on anchor A, positive where it pulls the anchor down [N]
    vertical_b: Array  # vertical pull on anchor B, positive where it pulls the anchor down [N]
    drop: Array  # how far the loaded point lies below anchor A [m]
    unstretched: Array  # unstretched length between the anchors [m]
    unstretched_to_load: Array  # unstretched length from A to the load [m]
    converged: Flags  # true where the case has an answer
    reason: Codes  # `Reason` code of every case

    @property
    def tension(self) -> Array:
        """The larger of the two anchor tensions [N]; no tension along the line is larger."""
        return as_array(np.maximum(self.tension_a, self.tension_b))

    @property
    def reasons(self) -> tuple[WhyNot, ...]:
        """Why cases are without an answer, each once."""
        return tuple(map(WhyNot, sorted(set(np.unique(self.reason).tolist()) - {WhyNot.SOLVED})))

    def require(self) -> Solution:
        """This solution.

        Raises
        ------
        OutsideModel : some case has no answer; the codes say why.
        """
        if not np.all(self.converged):
            codes = [reason.code for reason in self.reasons]
            raise OutsideModel("; ".join(codes), *codes)
        return self

    def __getitem__(self, index: int | slice | tuple[int | slice, ...]) -> Solution:
        return Solution(**{f.name: np.asarray(getattr(self, f.name)[index]) for f in fields(self)})


def solve(
    span: ArrayLike, rise: ArrayLike, standing: ArrayLike, stiffness: ArrayLike, weight: ArrayLike, load: ArrayLike,
    at: ArrayLike
) -> Solution:
    """Anchor loads of a line tensioned to `standing`, then loaded at one point.

    All parameters broadcast against each other.

    Parameters
    ----------
    span : horizontal distance between the anchors [m]
    rise : height of anchor B above anchor A, negative where B is lower [m]
    standing : tension at A under the line's own weight alone [N]
    stiffness : EA, the tension per unit of strain; `np.inf` for a line that does not stretch [N]
    weight : weight per unstretched metre, 0 allowed [N/m]
    load : vertical load [N]
    at : horizontal place of the load as a fraction of the span from A, above 0 and below 1 [-]

    Returns
    -------
    `converged` and `reason` answer case by case; nothing is raised for a case outside the model. Call `.require()`
    where one failed case must stop the work.

    Notes
    -----
    Statics only: no step, bounce or fall is in it (see `loadcases.py`). Where a small standing tension is shared
    by two curves (a line that hangs deep), the taut one is taken; with less than about 0.75 of the line's weight
    there is none. Hooke's law holds at any strain here; whether the webbing does is for the caller to ask.

    References
    ----------
    1. Irvine, H. M., Cable Structures, 1981, section 1.3 (memory; derived again).
    2. Volery, Forces in highlining, web article, table of measured lines (read).

    Examples
    --------
    39 and 41 m with a walker of 57 kg on them read 2.1 and 3.1 kN [2]_. Ours lies within a tenth under that, where one
    load cell and a stiffness known as the stretch at 10 kN alone leave no more to ask:

    >>> lines = solve([39.0, 41.0], 0.0, [1.4e3, 1.7e3], [10e3 / 0.18, 10e3 / 0.04], 0.0, 57 * 9.80665, 0.5)
    >>> (lines.tension / [2.1e3, 3.1e3]).round(2).tolist()
    [0.94, 0.93]
    """
    shape, columns = _columns(span, rise, standing, stiffness, weight, load, at)
    reason = _faults(*columns)
    _, _, _, stiffness, weight, load, _ = columns
    _mark(reason, np.isinf(stiffness) & (weight == 0) & (load > 0), WhyNot.CANNOT_GIVE)
    return _answer(shape, columns, reason, _from_standing)


def solve_clamped(
    span: ArrayLike, rise: ArrayLike, unstretched: ArrayLike, stiffness: ArrayLike, weight: ArrayLike,
    load: ArrayLike, at: ArrayLike
) -> Solution:
    """Anchor loads where the unstretched length between the anchors is already known.

    Parameters
    ----------
    span, rise, stiffness, weight, load, at : as in `solve` [m, m, N, N/m, N, -]
    unstretched : unstretched length between the anchors; one longer than the straight distance is allowed as long as
        weight or load keep it in place [m]

    Examples
    --------
    Karnovsky and Lebed 2010, Advanced Methods of Structural Analysis, section 5.3 example 1 (read): length over span
    1.2, load at 0.4, no stretch, H = 0.7339 P.

    >>> f"{solve_clamped(1.0, 0.0, 1.2, np.inf, 0.0, 1.0, 0.4).horizontal:.4f}"
    '0.7339'

    Row 4 of the tests of MoorPy, a mooring library (read): 43694.58 N, to a part in a million.

    >>> f"{solve_clamped(400.0, 200.0, 500.0, 7.51e12, 200.0, 0.0, 0.5).horizontal / 1e3:.3f}"
    '43.695'
    """
    shape, columns = _columns(span, rise, unstretched, stiffness, weight, load, at)
    reason = _faults(*columns)
    span, rise, unstretched, stiffness, weight, load, _ = columns
    chord = np.hypot(span, rise)
    _mark(reason, (weight + load == 0) & (unstretched >= chord), WhyNot.CANNOT_GIVE)
    _mark(reason, np.isinf(stiffness) & (unstretched <= chord), WhyNot.CANNOT_GIVE)
    return _answer(shape, columns, reason, _from_length)


def _columns(*values: ArrayLike) -> tuple[tuple[int, ...], list[Array]]:
    arrays = broadcast(*values)
    return arrays[0].shape, [np.ravel(array) for array in arrays]


def _mark(reason: Codes, where: Flags, code: WhyNot) -> None:
    reason[where & (reason == WhyNot.SOLVED)] = code


def _faults(
    span: Array, rise: Array, standing_or_length: Array, stiffness: Array, weight: Array, load: Array, at: Array
) -> Codes:
    """Reason code of every case that can be refused before any sum."""
    reason = np.zeros(span.shape, dtype=np.int8)
    finite = np.isfinite(span + rise + standing_or_length + weight + load + at) & ~np.isnan(stiffness)
    _mark(reason, ~finite, WhyNot.MISSING)
    _mark(reason, span <= 0, WhyNot.NO_SPAN)
    _mark(reason, np.abs(rise) > span, WhyNot.TOO_STEEP)
    _mark(reason, (at <= 0) | (at >= 1), WhyNot.OFF_THE_LINE)
    _mark(reason, (standing_or_length <= 0) | (stiffness <= 0) | (weight < 0) | (load < 0), WhyNot.NEGATIVE)
    return reason


def _answer(shape: tuple[int, ...], columns: list[Array], reason: Codes, run: Run) -> Solution:
    """Run the sound cases chunk by chunk, the stubborn ones again with more rounds, and put all in their places."""
    rows = {f.name: np.full(reason.shape, np.nan) for f in fields(Solution)[:-2]}
    sound = np.flatnonzero(reason == WhyNot.SOLVED)
    with np.errstate(all="ignore"):
        stubborn = [_run_chunk(sound[i : i + CHUNK], columns, reason, rows, run, FIRST_ROUNDS)
                    for i in range(0, sound.size, CHUNK)]
        left = np.concatenate(stubborn) if stubborn else sound
        for i in range(0, left.size, CHUNK):
            _run_chunk(left[i : i + CHUNK], columns, reason, rows, run, MORE_ROUNDS)
    solved = {name: row.reshape(shape) for name, row in rows.items()}
    return Solution(**solved, converged=(reason == WhyNot.SOLVED).reshape(shape), reason=reason.reshape(shape))


def _run_chunk(
    chosen: RowNumbers, columns: list[Array], reason: Codes, rows: dict[str, Array], run: Run, rounds: int
) -> RowNumbers:
    values, codes = run([column[chosen] for column in columns], rounds)
    solved = codes == WhyNot.SOLVED
    reason[chosen] = codes
    for name, value in values.items():
        rows[name][chosen] = value if solved.all() else np.where(solved, value, np.nan)
    left: RowNumbers = chosen[~solved]
    return left


def _from_standing(columns: list[Array], rounds: int) -> tuple[dict[str, Array], Codes]:
    span, rise, standing, stiffness, weight, load, at = columns
    length, _, taut = standing_state(span, rise, standing, 1 / stiffness, weight, rounds)
    values, codes = _from_length([span, rise, length, stiffness, weight, load, at], rounds)
    may_hang = standing < 2 * weight * np.hypot(span, rise)
    codes[~taut] = np.where(may_hang, WhyNot.TOO_SLACK, WhyNot.NOT_CONVERGED)[~taut]
    return values, codes


def _from_length(columns: list[Array], rounds: int) -> tuple[dict[str, Array], Codes]:
    span, rise, length, stiffness, weight, load, at = columns
    flexibility = 1 / stiffness
    pull, vertical, upto, met = loaded_state(span, rise, length, flexibility, weight, load, at, rounds)
    vertical_b = weight * length + load - vertical
    values = {
        "tension_a": np.hypot(pull, vertical), "tension_b": np.hypot(pull, vertical_b), "horizontal": pull,
        "vertical_a": vertical, "vertical_b": vertical_b, "drop": piece(pull, vertical, upto, weight, flexibility).down,
        "unstretched": length, "unstretched_to_load": upto,
    }
    codes = np.where(met & (pull > 0), WhyNot.SOLVED, WhyNot.NOT_CONVERGED).astype(np.int8)
    return values, codes
