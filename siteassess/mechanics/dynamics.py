"""Sudden loads, drops, falls and bounces: peaks from the balance of energy, a frequency from small motion.

The line is a weightless elastic string between level anchors, the walker a point mass, and nothing is lost to
friction, air or the body. Peaks are therefore upper bounds of this model. A direct integration in time agrees with
the energy balance to 1e-6 (tests/published/test_line_dynamics.py).
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import ArrayLike

from siteassess.mechanics.arrays import Array, as_array, broadcast


@dataclass(frozen=True)
class Peak:
    """The lowest point of a fall or bounce on a line; arrays of the broadcast shape."""

    tension: Array  # line tension at the lowest point [N]
    horizontal: Array  # horizontal part of it [N]
    force: Array  # vertical force between walker (or leash) and line [N]
    depth: Array  # depth of the line under the straight line between the anchors [m]
    leash_stretch: Array  # how far the leash is stretched [m]; 0 without one


def taut_length(span: ArrayLike, standing: ArrayLike, stiffness: ArrayLike) -> Array:
    """Unstretched length of a weightless line standing at a tension [m].

    Parameters
    ----------
    span : distance between the anchors [m]
    standing : tension [N]
    stiffness : EA [N]

    Examples
    --------
    3 kN stretch a line of 60 kN by 5 %, by hand 20 m to 21 m:

    >>> round(float(taut_length(21.0, 3e3, 60e3)), 9)
    20.0
    """
    span, standing, stiffness = map(as_array, (span, standing, stiffness))
    return as_array(span / (1 + standing / stiffness))


def line_energy(
    span: ArrayLike, unstretched: ArrayLike, stiffness: ArrayLike, depth: ArrayLike, at: ArrayLike = 0.5
) -> Array:
    """Elastic energy stored in the line at a depth below the straight line [J].

    Parameters
    ----------
    span, unstretched, stiffness, at : as in `catch` [m, m, N, -]
    depth : under the straight line between the anchors [m]

    Examples
    --------
    8 m pressed down by 3 m are two legs of 5 m: EA x^2 / 2 L, by hand 1 kN x 4 m^2 / 16 m.

    >>> float(line_energy(8.0, 8.0, 1e3, 3.0))
    250.0
    """
    span, unstretched, stiffness, depth, at = map(as_array, (span, unstretched, stiffness, depth, at))
    stretch = np.maximum(_length(span, depth, at) - unstretched, 0.0)
    return as_array(0.5 * stiffness * stretch**2 / unstretched)


def line_tension(
    span: ArrayLike, unstretched: ArrayLike, stiffness: ArrayLike, depth: ArrayLike, at: ArrayLike = 0.5
) -> Array:
    """Tension of the weightless line at a depth; 0 while it is slack [N].

    Parameters
    ----------
    span, unstretched, stiffness, depth, at : as in `line_energy` [m, m, N, m, -]
    """
    span, unstretched, stiffness, depth, at = map(as_array, (span, unstretched, stiffness, depth, at))
    return as_array(stiffness * np.maximum(_length(span, depth, at) / unstretched - 1, 0.0))


def line_force(
    span: ArrayLike, unstretched: ArrayLike, stiffness: ArrayLike, depth: ArrayLike, at: ArrayLike = 0.5
) -> Array:
    """Vertical force the line returns at a depth [N].

    Parameters
    ----------
    span, unstretched, stiffness, depth, at : as in `line_energy` [m, m, N, m, -]

    Examples
    --------
    8 m pressed down by 3 m are two legs of 5 m at 250 N, by hand 2 x 250 N x 3 / 5:

    >>> float(line_force(8.0, 8.0, 1e3, 3.0))
    300.0
    """
    tension = line_tension(span, unstretched, stiffness, depth, at)
    span, depth, at = map(as_array, (span, depth, at))
    return as_array(tension * (depth / np.hypot(at * span, depth) + depth / np.hypot((1 - at) * span, depth)))


def _length(span: Array, depth: Array, at: Array) -> Array:
    return np.hypot(at * span, depth) + np.hypot((1 - at) * span, depth)


def catch(
    span: ArrayLike, unstretched: ArrayLike, stiffness: ArrayLike, load: ArrayLike, free_fall: ArrayLike = 0.0,
    start: ArrayLike = 0.0, leash_stiffness: ArrayLike = np.inf, at: ArrayLike = 0.5
) -> Peak:
    """Peak when a weight falls on a line, with or without a leash between.

    All parameters broadcast.

    Parameters
    ----------
    span : distance between the anchors [m]
    unstretched : unstretched length of the line [m]; longer than the span for a slack backup line
    stiffness : EA of the line for quick loading [N]
    load : weight of the walker [N]
    free_fall : height fallen before the line begins to be pushed down from `start` [m]
    start : depth of the line at that moment under the straight line between the anchors [m]
    leash_stiffness : force per metre of leash stretch; `np.inf` without a leash [N/m]
    at : place along the line; the line may run freely through the ring there [-]

    Returns
    -------
    NaN where an input is NaN or the line has no finite stiffness. `horizontal` is the pull on the nearer anchor.

    Notes
    -----
    Balance: line energy at the lowest point - line energy at the start + leash energy = weight x height lost.
    Past the depth where the line just carries the weight the balance only rises, so its root is unique and is
    bracketed there. 0 free fall is a load put on suddenly.
    """
    span, unstretched, stiffness, load, free_fall, start, leash_stiffness, at = broadcast(
        span, unstretched, stiffness, load, free_fall, start, leash_stiffness, at
    )
    line = (span, unstretched, stiffness)
    give = 1 / leash_stiffness
    stored = line_energy(*line, start, at)

    def unspent(depth: Array) -> Array:
        force = line_force(*line, depth, at)
        lost = load * (free_fall + depth - start + force * give)
        return line_energy(*line, depth, at) - stored + 0.5 * force**2 * give - lost

    balance = standing_depth(*line, load, at)
    depth = _rising_root(unspent, np.maximum(balance, start), span)
    depth = np.where(np.isfinite(stiffness) & (load > 0), depth, np.nan)
    peak = held_at(*line, depth, at)
    return replace(peak, leash_stretch=as_array(peak.force * give))


def held_at(
    span: ArrayLike, unstretched: ArrayLike, stiffness: ArrayLike, depth: ArrayLike, at: ArrayLike = 0.5
) -> Peak:
    """The line held down to a depth, whatever holds it there; parameters as in `catch`.

    Parameters
    ----------
    span, unstretched, stiffness, depth, at : as in `line_energy` [m, m, N, m, -]
    """
    tension, force = (of(span, unstretched, stiffness, depth, at) for of in (line_tension, line_force))
    span, depth, at = map(as_array, (span, depth, at))
    near = np.minimum(at, 1 - at) * span
    return Peak(tension, as_array(tension * near / np.hypot(near, depth)), force, depth, np.zeros_like(depth))


def standing_depth(
    span: ArrayLike, unstretched: ArrayLike, stiffness: ArrayLike, load: ArrayLike, at: ArrayLike = 0.5
) -> Array:
    """Depth at which the weightless line carries a weight at rest [m]; parameters as in `catch`.

    Parameters
    ----------
    span, unstretched, stiffness, load, at : as in `catch` [m, m, N, N, -]

    Examples
    --------
    100 g amid a metre of steel wire of 0.5 mm2, 200 GPa, not tightened: 1.07 cm (1.074 in NCERT, Physics
    XI, exercise on mechanical properties of solids, read), where g and the cube root are rounded by 0.4 %:

    >>> f"{standing_depth(1.0, 1.0, 200e9 * 0.5e-6, 0.1 * 9.8) * 100:.2f} cm"
    '1.07 cm'
    """
    span, unstretched, stiffness, load, at = broadcast(span, unstretched, stiffness, load, at)
    from_line = np.zeros(span.shape)
    return _rising_root(lambda depth: line_force(span, unstretched, stiffness, depth, at) - load, from_line, span)


def _rising_root(function: Callable[[Array], Array], low: ArrayLike, scale: ArrayLike, rounds: int = 100) -> Array:
    """Root of a function that is not above zero at `low` and rises from there, for every element at once.

    False position with the standing end's value halved (Illinois), and a plain halving now and then.
    """
    low = np.array(low, dtype=float)
    reach = np.array(scale, dtype=float)
    with np.errstate(all="ignore"):
        for _ in range(60):
            short = function(low + reach) < 0
            if not short.any():
                break
            reach = np.where(short, 2 * reach, reach)
        high = low + reach
        at_low, at_high = function(low), function(high)
        middle, was_below = high, np.zeros(low.shape, dtype=bool)
        for turn in range(rounds):
            before = middle
            middle = (low * at_high - high * at_low) / (at_high - at_low)
            if turn % 6 == 5:
                middle = 0.5 * (low + high)
            value = function(middle)
            below = value < 0
            at_high = np.where(below, np.where(was_below, 0.5 * at_high, at_high), value)
            at_low = np.where(below, value, np.where(was_below | (turn == 0), at_low, 0.5 * at_low))
            low, high = np.where(below, middle, low), np.where(below, high, middle)
            was_below = below
            if not np.any((np.abs(middle - before) > 1e-14 * np.abs(middle)) & (value != 0)):
                break
    return as_array(middle)


def spring_drop(load: ArrayLike, stiffness: ArrayLike, height: ArrayLike) -> tuple[Array, Array]:
    """Greatest force and travel of a weight dropped on a linear spring.

    Parameters
    ----------
    load : weight [N]
    stiffness : force per metre [N/m]
    height : free fall before the spring is touched [m]

    Returns
    -------
    force, travel : arrays [N], [m]

    References
    ----------
    1. Gere, J. M., Mechanics of Materials, 7th ed., problem 2.8-5: travel 9.21 in, factor 4.6 (read).

    Examples
    --------
    1 lb from 12 in on 0.5 lb/in [1]_: 9.21 in, 4.6 times the weight.

    >>> [round(float(figure), 2) for figure in spring_drop(1.0, 0.5, 12.0)]
    [4.61, 9.21]
    """
    load, stiffness, height = map(as_array, (load, stiffness, height))
    at_rest = load / stiffness
    travel = at_rest + np.sqrt(at_rest**2 + 2 * at_rest * height)
    return as_array(stiffness * travel), as_array(travel)
