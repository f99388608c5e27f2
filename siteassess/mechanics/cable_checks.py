"""Small-sag formulas that know nothing of the exact solver, kept to check it.

They hold for level anchors and a sag under about 1/8 of the span.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from siteassess.mechanics.arrays import Array, as_array, broadcast


def irvine_pull(
    span: ArrayLike, standing: ArrayLike, stiffness: ArrayLike, weight: ArrayLike, load: ArrayLike, at: ArrayLike = 0.5
) -> Array:
    """Horizontal pull of a level line under one load by the small-sag theory of a hanging cable [N].

    Parameters
    ----------
    span, stiffness, weight, load, at : array_like
        As in `cable.solve` [m, N, N/m, N, -]; scalar or of one shape.
    standing : array_like
        Horizontal pull under own weight alone [N].

    References
    ----------
    .. [1] Irvine, H. M. and Sinclair, G. B., 1976, Int. J. Solids Struct. 12:309 (form from memory, derived again).
    .. [2] Irvine, H. M., thesis report DYNL-108, Caltech, 1974: limit of sag over span about 1/8 (read).
    """
    span, standing, stiffness, weight, load, at = broadcast(span, standing, stiffness, weight, load, at)
    total = weight * span
    share = total / standing
    square = share**2 * stiffness / standing / (1 + share**2 / 8)
    loads = load * (total + load) / standing**2 * stiffness / standing / (1 + share**2 / 8)
    last = -0.5 * at * (1 - at) * loads
    coefficients = np.stack((np.ones(span.shape), 2 + square / 24, 1 + square / 12, last), axis=-1)
    gain = np.array([_positive_root(row) for row in coefficients.reshape(-1, 4)]).reshape(span.shape)
    return as_array(standing * (1 + gain))


def weightless_pull(standing: ArrayLike, stiffness: ArrayLike, load: ArrayLike, at: ArrayLike = 0.5) -> Array:
    """Horizontal pull of a weightless level line under one load; the span drops out [N].

    Root of H^2 (H - H0) = EA P^2 x (1 - x) / 2.

    Parameters
    ----------
    standing : array_like
        Tension without load [N].
    stiffness, load, at : array_like
        As in `cable.solve` [N, N, -].

    Examples
    --------
    H^3 = EA P^2 / 8 where nothing stood in it, by hand:

    >>> round(float(weightless_pull(0.0, 8.0, 1.0)), 9)
    1.0
    """
    standing, stiffness, load, at = broadcast(standing, stiffness, load, at)
    push = 0.5 * stiffness * load**2 * at * (1 - at)
    rows = np.stack((np.ones(push.shape), -standing, np.zeros(push.shape), -push), axis=-1)
    return np.array([_positive_root(row) for row in rows.reshape(-1, 4)]).reshape(push.shape)


def sag_of_own_weight(span: ArrayLike, horizontal: ArrayLike, weight: ArrayLike) -> Array:
    """Mid-span sag of a level line under its own weight, taken as a parabola [m].

    Parameters
    ----------
    span : array_like
        Between the anchors [m].
    horizontal : array_like
        Pull along it [N].
    weight : array_like
        For each metre [N/m].

    Examples
    --------
    w L^2 / 8 H, by hand 1 N/m x 400 m^2 / 400 N:

    >>> float(sag_of_own_weight(20.0, 50.0, 1.0))
    1.0
    """
    return as_array(as_array(weight) * as_array(span) ** 2 / (8 * as_array(horizontal)))


def tension_from_triangle(span: ArrayLike, depth: ArrayLike, load: ArrayLike) -> Array:
    """Tension of a weightless level line from its depth under a load at mid-span [N].

    Parameters
    ----------
    span : array_like
        Between the anchors [m].
    depth : array_like
        Of the loaded point under the straight line [m].
    load : array_like
        Weight there [N].

    Examples
    --------
    Legs of 5 m over 4 m and down 3 m, by hand:

    >>> round(float(tension_from_triangle(8.0, 3.0, 600.0)), 6)
    500.0
    """
    return as_array(as_array(load) / (2 * np.sin(np.arctan(2 * as_array(depth) / as_array(span)))))


def _positive_root(coefficients: Array) -> float:
    roots = np.roots(coefficients)
    real = roots[np.abs(roots.imag) < 1e-9 * np.abs(roots).max()].real
    return float(real.max())
