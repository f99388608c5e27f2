"""The shape of a solved line, for drawings and for the height over ground."""

from __future__ import annotations

import numpy as np

from siteassess.mechanics.cable import Solution, solve, solve_clamped
from siteassess.mechanics.cable_kernel import piece

EVERYWHERE = np.linspace(0.01, 0.99, 99)


def profile(state: Solution, stiffness, weight, load, points: int = 101) -> tuple[np.ndarray, np.ndarray]:
    """Points along a solved line, anchor A at the origin, z upwards.

    Parameters
    ----------
    state : Solution
        From `cable.solve` or `cable.solve_clamped`.
    stiffness, weight, load : array_like
        As they were given there [N, N/m, N].
    points : int
        Number of points, shared between the two sides of the load; the load stands on one of them.

    Returns
    -------
    x, z : arrays, shape (..., points)
        Horizontal distance from A and height over A [m].
    """
    before = (points + 1) // 2
    steps_a, steps_b = np.linspace(0, 1, before), np.linspace(0, 1, points - before + 1)[1:]
    single = [np.asarray(v, float)[..., None] for v in (stiffness, weight, load)]
    stiffness, weight, load = single
    upto, whole = state.unstretched_to_load[..., None], state.unstretched[..., None]
    pull, vertical = state.horizontal[..., None], state.vertical_a[..., None]
    with np.errstate(all="ignore"):
        a = piece(pull, vertical, upto * steps_a, weight, 1 / stiffness)
        start_b = vertical - weight * upto - load
        b = piece(pull, start_b, (whole - upto) * steps_b, weight, 1 / stiffness)
    x = np.concatenate((a.across, a.across[..., -1:] + b.across), axis=-1)
    z = -np.concatenate((a.down, a.down[..., -1:] + b.down), axis=-1)
    return x, z


def envelope(span, rise, standing, stiffness, weight, load, fractions=EVERYWHERE) -> tuple[np.ndarray, np.ndarray]:
    """Where the walker's feet are at every position: distance from A and height over A [m].

    Parameters as in `cable.solve`, with one value per line; `fractions` are the walker's positions [-].

    Returns
    -------
    x, z : arrays, shape (..., number of fractions)
    """
    single = [np.asarray(v, float)[..., None] for v in (span, rise, standing, stiffness, weight, load)]
    state = solve(*single, fractions)
    return single[0] * fractions, -state.drop


def envelope_clamped(span, rise, unstretched, stiffness, weight, load, fractions=EVERYWHERE):
    """`envelope` for a line of known unstretched length."""
    single = [np.asarray(v, float)[..., None] for v in (span, rise, unstretched, stiffness, weight, load)]
    state = solve_clamped(*single, fractions)
    return single[0] * fractions, -state.drop
