"""The shape of a solved line, point by point, which its answers are held to."""

import numpy as np
from numpy.typing import ArrayLike

from siteassess.mechanics.arrays import Array, as_array
from siteassess.mechanics.cable import Solution
from siteassess.mechanics.cable_kernel import piece


def profile(
    state: Solution, stiffness: ArrayLike, weight: ArrayLike, load: ArrayLike, points: int = 101
) -> tuple[Array, Array]:
    """Points along a solved line, anchor A at the origin, z upwards.

    Parameters
    ----------
    state : from `cable.solve` or `cable.solve_clamped`
    stiffness, weight, load : as they were given there [N, N/m, N]
    points : number of points, shared between the two sides of the load; the load stands on one of them

    Returns
    -------
    x, z : arrays, shape (..., points)
        Horizontal distance from A and height over A [m].
    """
    before = (points + 1) // 2
    steps_a, steps_b = np.linspace(0, 1, before), np.linspace(0, 1, points - before + 1)[1:]
    stiffness, weight, load = (as_array(v)[..., None] for v in (stiffness, weight, load))
    upto, whole = state.unstretched_to_load[..., None], state.unstretched[..., None]
    pull, vertical = state.horizontal[..., None], state.vertical_a[..., None]
    with np.errstate(all="ignore"):
        a = piece(pull, vertical, upto * steps_a, weight, 1 / stiffness)
        start_b = vertical - weight * upto - load
        b = piece(pull, start_b, (whole - upto) * steps_b, weight, 1 / stiffness)
    x = np.concatenate((a.across, a.across[..., -1:] + b.across), axis=-1)
    z = -np.concatenate((a.down, a.down[..., -1:] + b.down), axis=-1)
    return x, z
