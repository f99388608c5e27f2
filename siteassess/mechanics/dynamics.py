"""Sudden loads, drops, falls, bounces and swings: peaks from the balance of energy, frequencies from small motion.

The line is a weightless elastic string between level anchors, the walker a point mass, and nothing is lost to
friction, air or the body. Peaks are therefore upper bounds of this model. A direct integration in time agrees with
the energy balance to 1e-6 (tests/published/test_line_dynamics.py).
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike

from siteassess.mechanics.arrays import Array, as_array, broadcast
from siteassess.units import STANDARD_GRAVITY

HALVINGS = 30
SHIFTS, ROUNDS = 60, 30  # most steps of a foot along the line, and down; nearly always a few are enough
CLOSE = 1e-7  # of the span, or of the depth: a step that changes nothing that counts


@dataclass(frozen=True)
class Peak:
    """The lowest point of a fall or bounce on a line; arrays of the broadcast shape."""

    tension: Array
    """Line tension at the lowest point [N]."""
    horizontal: Array
    """Horizontal part of it [N]."""
    force: Array
    """Vertical force between walker (or leash) and line [N]."""
    depth: Array
    """Depth of the line under the straight line between the anchors [m]."""
    leash_stretch: Array
    """How far the leash is stretched [m]; 0 without one."""


def taut_length(span: ArrayLike, standing: ArrayLike, stiffness: ArrayLike) -> Array:
    """Unstretched length of a weightless line standing at a tension [m]."""
    span, standing, stiffness = map(as_array, (span, standing, stiffness))
    return as_array(span / (1 + standing / stiffness))


def line_energy(
    span: ArrayLike, unstretched: ArrayLike, stiffness: ArrayLike, depth: ArrayLike, at: ArrayLike = 0.5
) -> Array:
    """Elastic energy stored in the line at a depth below the straight line [J]."""
    span, unstretched, stiffness, depth, at = map(as_array, (span, unstretched, stiffness, depth, at))
    stretch = np.maximum(_length(span, depth, at) - unstretched, 0.0)
    return as_array(0.5 * stiffness * stretch**2 / unstretched)


def line_tension(
    span: ArrayLike, unstretched: ArrayLike, stiffness: ArrayLike, depth: ArrayLike, at: ArrayLike = 0.5
) -> Array:
    """Tension of the weightless line at a depth; 0 while it is slack [N]."""
    span, unstretched, stiffness, depth, at = map(as_array, (span, unstretched, stiffness, depth, at))
    return as_array(stiffness * np.maximum(_length(span, depth, at) / unstretched - 1, 0.0))


def line_force(
    span: ArrayLike, unstretched: ArrayLike, stiffness: ArrayLike, depth: ArrayLike, at: ArrayLike = 0.5
) -> Array:
    """Vertical force the line returns at a depth [N]."""
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
    span : array_like
        Distance between the anchors [m].
    unstretched : array_like
        Unstretched length of the line [m]; longer than the span for a slack backup line.
    stiffness : array_like
        EA of the line for quick loading [N].
    load : array_like
        Weight of the walker [N].
    free_fall : array_like
        Height fallen before the line begins to be pushed down from `start` [m].
    start : array_like
        Depth of the line at that moment under the straight line between the anchors [m].
    leash_stiffness : array_like
        Force per metre of leash stretch; `np.inf` without a leash [N/m].
    at : array_like
        Place along the line; the line may run freely through the ring there [-].

    Returns
    -------
    Peak
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
    """The line held down to a depth, whatever holds it there; parameters as in `catch`."""
    tension, force = (of(span, unstretched, stiffness, depth, at) for of in (line_tension, line_force))
    span, depth, at = map(as_array, (span, depth, at))
    near = np.minimum(at, 1 - at) * span
    return Peak(tension, as_array(tension * near / np.hypot(near, depth)), force, depth, np.zeros_like(depth))


def standing_depth(
    span: ArrayLike, unstretched: ArrayLike, stiffness: ArrayLike, load: ArrayLike, at: ArrayLike = 0.5
) -> Array:
    """Depth at which the weightless line carries a weight at rest [m]; parameters as in `catch`."""
    span, unstretched, stiffness, load, at = broadcast(span, unstretched, stiffness, load, at)
    from_line = np.zeros(span.shape)
    return _rising_root(lambda depth: line_force(span, unstretched, stiffness, depth, at) - load, from_line, span)


def landing(
    span: ArrayLike, unstretched: ArrayLike, stiffness: ArrayLike, load: ArrayLike, free_fall: ArrayLike = 0.0,
    start: ArrayLike = 0.0, at: ArrayLike = 0.5
) -> Peak:
    """`catch` on the feet: a sole holds its place on the webbing, so the nearer leg stretches more than the other.

    The foot gives way along the line until both legs pull alike along it. Where it stood on the line at `start`, the
    webbing had slid under it until both legs pulled alike.

    Returns
    -------
    Peak
        `tension` is that of the harder leg.

    Notes
    -----
    Held webbing is stiffer than webbing that slides, so `catch` gives a depth to come down from; the balance is
    convex, so Newton's steps from there cannot overshoot.
    """
    span, unstretched, stiffness, load, free_fall, start, at = broadcast(
        span, unstretched, stiffness, load, free_fall, start, at
    )
    near, far = np.hypot(at * span, start), np.hypot((1 - at) * span, start)
    before = unstretched * near / (near + far)
    legs = (span, before, unstretched - before, stiffness)
    stored = line_energy(span, unstretched, stiffness, start, at)
    depth, foot = catch(span, unstretched, stiffness, load, free_fall, start, at=at).depth, at * span
    for _ in range(ROUNDS):
        foot, pulls = _shifted(*legs, depth, foot)
        over = pulls.energy - stored - load * (free_fall + depth - start)
        step = np.maximum(over, 0.0) / np.maximum(pulls.force - load, 0.1 * load)
        depth = depth - step
        if not np.any(step > CLOSE * depth):
            break
    foot, pulls = _shifted(*legs, depth, foot)
    return Peak(pulls.tension, pulls.horizontal, pulls.force, as_array(depth), np.zeros_like(depth))


def held_fall(
    span: ArrayLike, unstretched: ArrayLike, stiffness: ArrayLike, load: ArrayLike, free_fall: ArrayLike,
    leash_stiffness: ArrayLike, at: ArrayLike
) -> Peak:
    """`catch` by a leash whose ring cannot slide: the nearer leg takes the most of it. From the unloaded line.

    A ring that slides asks less. Parameters and answer as in `landing`; the balance is sought by halving.
    """
    span, unstretched, stiffness, load, free_fall, leash_stiffness, at = broadcast(
        span, unstretched, stiffness, load, free_fall, leash_stiffness, at
    )
    legs, give = (span, at * unstretched, (1 - at) * unstretched, stiffness), 1 / leash_stiffness
    stored = line_energy(span, unstretched, stiffness, 0.0, at)
    low = np.zeros(span.shape)
    high, foot = catch(span, unstretched, stiffness, load, free_fall, 0.0, leash_stiffness, at).depth, at * span
    for _ in range(HALVINGS):
        depth = 0.5 * (low + high)
        foot, pulls = _shifted(*legs, depth, foot)
        lost = load * (free_fall + depth + pulls.force * give)
        short = (pulls.force < load) | (pulls.energy + 0.5 * pulls.force**2 * give < stored + lost)
        low, high = np.where(short, depth, low), np.where(short, high, depth)
    return Peak(pulls.tension, pulls.horizontal, pulls.force, as_array(depth), as_array(pulls.force * give))


def held_down(
    span: ArrayLike, unstretched: ArrayLike, stiffness: ArrayLike, depth: ArrayLike, at: ArrayLike
) -> tuple[Array, _Legs]:
    """Where a foot that keeps its webbing comes to along the line, held down to a depth [m], and what the legs do.

    Parameters as in `catch`.
    """
    span, unstretched, stiffness, depth, at = broadcast(span, unstretched, stiffness, depth, at)
    return _shifted(span, at * unstretched, (1 - at) * unstretched, stiffness, depth, at * span)


class _Legs(NamedTuple):
    """The harder leg's tension, the level pull and the vertical force [N], and the energy stored [J]."""

    tension: Array
    horizontal: Array
    force: Array
    energy: Array


def _shifted(
    span: Array, before: Array, after: Array, stiffness: Array, depth: Array, foot: Array
) -> tuple[Array, _Legs]:
    """Where a foot that holds its webbing comes to along the line at a depth, and what the legs do there.

    The level pull rises with the foot's place, so its root stays between two bounds: a step of Newton's that leaves
    them, as it does where a leg falls slack beside a trunk, is replaced by halving.
    """

    def legs(foot: Array) -> tuple[Array, Array, Array, Array]:
        near, far = np.hypot(foot, depth), np.hypot(span - foot, depth)
        first, second = (stiffness * np.maximum(x / y - 1, 0.0) for x, y in ((near, before), (far, after)))
        return near, far, first, second

    low, high = np.zeros_like(depth), span + np.zeros_like(depth)
    for _ in range(SHIFTS):
        near, far, first, second = legs(foot)
        slope = (stiffness / before * (first > 0) * (foot / near) ** 2 + first * depth**2 / near**3
                 + stiffness / after * (second > 0) * ((span - foot) / far) ** 2
                 + second * depth**2 / far**3)  # fmt: skip
        pull = first * foot / near - second * (span - foot) / far
        low, high = np.where(pull < 0, foot, low), np.where(pull > 0, foot, high)
        with np.errstate(divide="ignore", invalid="ignore"):
            there = foot - pull / slope
        there = np.where((there > low) & (there < high), there, np.where(pull == 0, foot, 0.5 * (low + high)))
        done = not np.any(np.abs(there - foot) > CLOSE * span)
        foot = there
        if done:
            break
    near, far, first, second = legs(foot)
    return as_array(foot), _Legs(
        as_array(np.maximum(first, second)),
        as_array(np.maximum(first * foot / near, second * (span - foot) / far)),
        as_array(first * depth / near + second * depth / far),
        as_array(0.5 / stiffness * (before * first**2 + after * second**2)),
    )


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


def sudden_load(
    span: ArrayLike, standing: ArrayLike, stiffness: ArrayLike, load: ArrayLike, height: ArrayLike = 0.0
) -> Peak:
    """Peak at mid-span when a weight is put on a taut line at once, or dropped on it from `height` [m]."""
    return catch(span, taut_length(span, standing, stiffness), stiffness, load, free_fall=height)


def leash_fall(
    span: ArrayLike, standing: ArrayLike, stiffness: ArrayLike, load: ArrayLike, fall: ArrayLike,
    leash_stiffness: ArrayLike
) -> Peak:
    """Peak of a fall into the leash at mid-span, the line having sprung back to its unloaded height.

    `fall` is the height fallen until the leash is tight [m], `leash_stiffness` its force per metre [N/m].
    """
    length = taut_length(span, standing, stiffness)
    return catch(span, length, stiffness, load, free_fall=fall, leash_stiffness=leash_stiffness)


def spring_drop(load: ArrayLike, stiffness: ArrayLike, height: ArrayLike) -> tuple[Array, Array]:
    """Greatest force and travel of a weight dropped on a linear spring.

    Parameters
    ----------
    load : array_like
        Weight [N].
    stiffness : array_like
        Force per metre [N/m].
    height : array_like
        Free fall before the spring is touched [m].

    Returns
    -------
    force, travel : arrays [N], [m]

    References
    ----------
    .. [1] Gere, J. M., Mechanics of Materials, 7th ed., problem 2.8-5: travel 9.21 in, factor 4.6 (read).
    """
    load, stiffness, height = map(as_array, (load, stiffness, height))
    at_rest = load / stiffness
    travel = at_rest + np.sqrt(at_rest**2 + 2 * at_rest * height)
    return as_array(stiffness * travel), as_array(travel)


def swing_peak(load: ArrayLike, angle_deg: ArrayLike) -> Array:
    """Pull at the lowest point of a swing let go at rest from an angle to the plumb line [N]."""
    return as_array(as_array(load) * (3 - 2 * np.cos(np.radians(angle_deg))))


def swing_period(length: ArrayLike) -> Array:
    """Period of a small swing under a fixed point [s]."""
    return as_array(2 * np.pi * np.sqrt(as_array(length) / STANDARD_GRAVITY))


def taut_string_frequency(
    span: ArrayLike, horizontal: ArrayLike, mass_per_metre: ArrayLike, mode: ArrayLike = 1
) -> Array:
    """Natural frequency of a taut line without a walker [Hz]."""
    span, horizontal, mass, mode = map(as_array, (span, horizontal, mass_per_metre, mode))
    return as_array(mode / (2 * span) * np.sqrt(horizontal / mass))


def bounce_frequency(span: ArrayLike, standing: ArrayLike, stiffness: ArrayLike, load: ArrayLike) -> Array:
    """Frequency of small bounces of a walker standing at mid-span of a weightless line [Hz]."""
    span, standing, stiffness, load = broadcast(span, standing, stiffness, load)
    length = taut_length(span, standing, stiffness)
    depth = standing_depth(span, length, stiffness, load)
    half = np.hypot(span / 2, depth)
    tension = line_tension(span, length, stiffness, depth)
    # d/dy of 2 T y / s, with s the stretched half length: the pull turning upright, and the stretch of the line.
    slope = 2 * tension * (span / 2) ** 2 / half**3 + 4 * stiffness * depth**2 / (length * half**2)
    return as_array(np.sqrt(slope * STANDARD_GRAVITY / load) / (2 * np.pi))
