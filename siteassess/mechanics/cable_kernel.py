"""The two Newton iterations under `cable.py`, on flat arrays of cases that are already known to be sound.

One piece of line of unstretched length l, weight w per unstretched metre and flexibility c = 1/EA, with the
horizontal pull H and the vertical V at its start (positive: the line leaves downwards), runs

    horizontally by  H l (c + phi(q) / t)      with t = (Ta + Tb) / 2,  q = w l / (Ta + Tb)
    downwards by     v l (c + 1 / t)           with v = (Va + Vb) / 2,  phi(q) = artanh(q) / q

These are the usual differences of asinh and square roots [1]_ multiplied out, so that nothing cancels: the same
lines serve a weightless line (q = 0), an inextensible one (c = 0) and everything between.

References
----------
.. [1] Irvine, H. M., Cable Structures, 1981, section 1.3 (from memory; derived again here).
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from siteassess.mechanics.arrays import Array, Flags

STEP_TOLERANCE = 1e-9  # of the last Newton step; the error left behind is about its square


class Piece(NamedTuple):
    """What one piece of line spans, and how that changes with the pull at its start."""

    across: Array
    down: Array
    across_by_pull: Array  # d across / d H
    cross: Array  # d across / d V = d down / d H, since both come from one energy
    down_by_vertical: Array  # d down / d V
    vertical_end: Array
    tension_start: Array
    tension_end: Array


def artanh_over(q: Array) -> Array:
    """artanh(q) / q, which is 1 at 0; a series where the quotient would lose digits [-].

    Parameters
    ----------
    q : from 0 to under 1 [-]

    Examples
    --------
    artanh 0.5 = 0.5493 (any table of hyperbolic functions):

    >>> f"{0.5 * artanh_over(np.array(0.5)):.4f}"
    '0.5493'
    """
    square = q * q
    value = 1 + square * (1 / 3 + square * (1 / 5 + square * (1 / 7 + square / 9)))
    large = q > 0.02
    if np.any(large):
        value = np.where(large, np.arctanh(np.where(large, q, 0.5)) / np.where(large, q, 0.5), value)
    return value


def piece(pull: Array, vertical: Array, length: Array, weight: Array, flexibility: Array) -> Piece:
    """Span, drop and their derivatives of one piece of line hanging freely.

    Parameters
    ----------
    pull, vertical : at its start [N]
    length : unstretched [m]
    weight : for each unstretched metre [N/m]
    flexibility : one over EA [1/N]
    """
    vertical_end = vertical - weight * length
    start = np.sqrt(pull * pull + vertical * vertical)
    end = np.sqrt(pull * pull + vertical_end * vertical_end)
    mean = 0.5 * (start + end)
    q = 0.5 * weight * length / mean
    curve = artanh_over(q)
    v = 0.5 * (vertical + vertical_end)
    per_product = length / (mean * start * end)
    bend = pull * pull * per_product / (1 - q * q)
    stretch = length * flexibility
    hang = length / mean
    return Piece(
        across=pull * (stretch + hang * curve), down=v * (stretch + hang), across_by_pull=stretch + hang * curve - bend,
        cross=-pull * v * per_product, down_by_vertical=stretch + bend, vertical_end=vertical_end, tension_start=start,
        tension_end=end,
    )


def standing_state(
    span: Array, rise: Array, standing: Array, flexibility: Array, weight: Array, rounds: int = 30
) -> tuple[Array, Array, Flags]:
    """Unstretched length of a line whose tension at A under its own weight is `standing`.

    Unknowns are the angle below the horizontal at A and the length. Two curves can share one tension; the taut
    one is the one that ends lower when it is aimed lower (negative determinant below).

    Parameters
    ----------
    span, rise : between the anchors [m]
    standing : tension at A [N]
    flexibility, weight : as in `piece` [1/N, N/m]
    rounds : most steps of Newton's rule

    Returns
    -------
    length, angle, taut : arrays; `taut` is False where no taut curve was found.
    """
    slope = rise / span
    chord = np.hypot(span, rise)
    sag = np.minimum(0.5 * weight * chord / (1 + standing * flexibility) / standing, 0.7)
    angle = np.arctan((-slope + sag * np.sqrt(1 - sag**2 + slope**2)) / (1 - sag**2))
    length = chord * (1 + sag**2 / 6) / (1 + standing * flexibility)
    taut = np.zeros(span.shape, dtype=bool)
    for _ in range(rounds):
        pull, vertical = standing * np.cos(angle), standing * np.sin(angle)
        p = piece(pull, vertical, length, weight, flexibility)
        give = flexibility + 1 / p.tension_end
        miss_across, miss_down = p.across - span, p.down + rise
        across_by_angle = pull * p.cross - vertical * p.across_by_pull
        down_by_angle = pull * p.down_by_vertical - vertical * p.cross
        across_by_length, down_by_length = pull * give, p.vertical_end * give
        determinant = across_by_angle * down_by_length - across_by_length * down_by_angle
        turn = -(miss_across * down_by_length - across_by_length * miss_down) / determinant
        longer = -(across_by_angle * miss_down - down_by_angle * miss_across) / determinant
        taut = (np.abs(turn) < STEP_TOLERANCE) & (np.abs(longer) < STEP_TOLERANCE * length) & (determinant < 0)
        angle = angle + np.clip(turn, -0.2, 0.2)
        length = length + np.clip(longer, -0.3 * length, 0.5 * length)
        if taut.all():
            break
    return length, angle, taut


def small_sag_pull(bending: Array, span: Array, rise: Array, length: Array, flexibility: Array) -> Array:
    """Horizontal pull of the small-sag theory, from the unstretched length: the start of the exact iteration [N].

    Parameters
    ----------
    bending : half the integral over the span of the squared shear force of the loads on a level beam, times the span
        over the chord, cubed [N^2 m]
    span, rise, length : between the anchors, and unstretched [m]
    flexibility : one over EA [1/N]

    Notes
    -----
    Root of stretch H^3 + slack H^2 = bending, approached from above, where it cannot overshoot.
    """
    chord = np.hypot(span, rise)
    stretch = np.maximum(length * flexibility * chord / span, 1e-300)
    slack = length - chord
    cube = np.cbrt(bending / stretch)
    hanging = np.sqrt(bending / np.maximum(slack, 1e-300))
    pull = np.where(slack > 0, np.minimum(cube, hanging), cube - slack / stretch)
    for _ in range(8):
        error = pull * pull * (stretch * pull + slack) - bending
        pull = pull - error / (pull * (3 * stretch * pull + 2 * slack))
    return pull


def loaded_state(
    span: Array, rise: Array, length: Array, flexibility: Array, weight: Array, load: Array, at: Array, rounds: int = 40
) -> tuple[Array, Array, Array, Flags]:
    """Horizontal pull, vertical at A and unstretched length up to the load, for a fixed unstretched length.

    Parameters
    ----------
    span, rise, length : between the anchors, and unstretched [m]
    flexibility, weight : as in `piece` [1/N, N/m]
    load : vertical [N]
    at : its place as a fraction of the span from A [-]
    rounds : most steps of Newton's rule

    Returns
    -------
    pull, vertical, upto, met : arrays; `met` is False where the iteration found no state.
    """
    total = weight * length
    level = span / np.hypot(span, rise)
    bending = 0.5 * span * level**3 * (total**2 / 12 + (total + load) * load * at * (1 - at))
    pull = small_sag_pull(bending, span, rise, length, flexibility)
    before, after = at * span, (1 - at) * span
    vertical = 0.5 * total + load * (1 - at) - pull * rise / span
    # Legs as straight pieces: close enough to tell how much of the webbing lies before the load.
    drop = before * (vertical - 0.5 * total * at) / pull
    first, second = np.hypot(before, drop), np.hypot(after, drop + rise)
    upto = length * first / (first + second)
    met = np.zeros(span.shape, dtype=bool)
    for _ in range(rounds):
        a = piece(pull, vertical, upto, weight, flexibility)
        b = piece(pull, a.vertical_end - load, length - upto, weight, flexibility)
        give_a, give_b = flexibility + 1 / a.tension_end, flexibility + 1 / b.tension_start
        # Rows: across to the load, across from the load, down in all. The length up to the load is eliminated.
        miss_a, miss_b, miss_down = a.across - before, b.across - after, a.down + b.down + rise
        share = give_b / give_a
        row_pull = b.across_by_pull + share * a.across_by_pull
        row_vertical = b.cross + share * a.cross
        row_miss = miss_b + share * miss_a
        fall = (a.vertical_end * give_a - (a.vertical_end - load) * give_b) / (pull * give_a)
        down_pull = a.cross + b.cross - fall * a.across_by_pull
        down_vertical = a.down_by_vertical + b.down_by_vertical - fall * a.cross
        down_miss = miss_down - fall * miss_a
        determinant = row_pull * down_vertical - row_vertical * down_pull
        d_pull = (row_vertical * down_miss - down_vertical * row_miss) / determinant
        d_vertical = (down_pull * row_miss - row_pull * down_miss) / determinant
        d_upto = -(miss_a + a.across_by_pull * d_pull + a.cross * d_vertical) / (pull * give_a)
        tension = a.tension_start
        met = (
            (np.abs(d_pull) < STEP_TOLERANCE * pull)
            & (np.abs(d_vertical) < STEP_TOLERANCE * tension)
            & (np.abs(d_upto) < STEP_TOLERANCE * length)
        )
        pull = pull * np.clip(1 + d_pull / pull, 0.3, 4.0)
        vertical = vertical + d_vertical
        upto = np.clip(upto + d_upto, 0.1 * upto, upto + 0.9 * (length - upto))
        if met.all():
            break
    return pull, vertical, upto, met
