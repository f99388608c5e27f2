"""A foot or a ring that keeps its place on the webbing, so that the nearer leg stretches more than the other.

The weightless line and the balance of energy are those of `dynamics.py`.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike

from siteassess.mechanics.arrays import Array, as_array, broadcast
from siteassess.mechanics.dynamics import Peak, catch, line_energy

HALVINGS = 30
FOOT_SHIFTS, PRESS_ROUNDS = 60, 30  # most steps of a foot along the line, and down; nearly always a few are enough
CLOSE = 1e-7  # of the span, or of the depth: a step that changes nothing that counts


def landing(
    span: ArrayLike, unstretched: ArrayLike, stiffness: ArrayLike, load: ArrayLike, free_fall: ArrayLike = 0.0,
    start: ArrayLike = 0.0, at: ArrayLike = 0.5
) -> Peak:
    """`dynamics.catch` on the feet: a sole holds its place on the webbing, so the nearer leg stretches more.

    The foot gives way along the line until both legs pull alike along it. Where it stood on the line at `start`, the
    webbing had slid under it until both legs pulled alike.

    Parameters
    ----------
    span, unstretched, stiffness, load, free_fall, start, at : as in `dynamics.catch` [m, m, N, N, m, m, -]

    Returns
    -------
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
    for _ in range(PRESS_ROUNDS):
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
    """`dynamics.catch` by a leash whose ring cannot slide: the nearer leg takes the most of it. From the unloaded line.

    Parameters
    ----------
    span, unstretched, stiffness, load, free_fall, leash_stiffness, at : as in `dynamics.catch` [m, m, N, N, m, N/m, -]

    Returns
    -------
    As in `landing`.

    Notes
    -----
    A ring that slides asks less. The balance is sought by halving.
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
) -> tuple[Array, Legs]:
    """Where a foot that keeps its webbing comes to along the line, held down to a depth [m], and what the legs do.

    Parameters
    ----------
    span, unstretched, stiffness, depth, at : as in `dynamics.line_energy` [m, m, N, m, -]
    """
    span, unstretched, stiffness, depth, at = broadcast(span, unstretched, stiffness, depth, at)
    return _shifted(span, at * unstretched, (1 - at) * unstretched, stiffness, depth, at * span)


class Legs(NamedTuple):
    """The harder leg's tension, the level pull and the vertical force [N], and the energy stored [J]."""

    tension: Array
    horizontal: Array
    force: Array
    energy: Array


def _shifted(
    span: Array, before: Array, after: Array, stiffness: Array, depth: Array, foot: Array
) -> tuple[Array, Legs]:
    """Where a foot that holds its webbing comes to along the line at a depth, and what the legs do there.

    The level pull rises with the foot's place, so its root stays between two bounds: a step of Newton's that leaves
    them, as it does where a leg falls slack beside a trunk, is replaced by halving.
    """

    def legs(foot: Array) -> tuple[Array, Array, Array, Array]:
        near, far = np.hypot(foot, depth), np.hypot(span - foot, depth)
        first, second = (stiffness * np.maximum(x / y - 1, 0.0) for x, y in ((near, before), (far, after)))
        return near, far, first, second

    low, high = np.zeros_like(depth), span + np.zeros_like(depth)
    for _ in range(FOOT_SHIFTS):
        near, far, first, second = legs(foot)
        slope = (stiffness / before * (first > 0) * (foot / near) ** 2 + first * depth**2 / near**3
                 + stiffness / after * (second > 0) * ((span - foot) / far) ** 2
                 + second * depth**2 / far**3)
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
    return as_array(foot), Legs(
        as_array(np.maximum(first, second)), as_array(np.maximum(first * foot / near, second * (span - foot) / far)),
        as_array(first * depth / near + second * depth / far),
        as_array(0.5 / stiffness * (before * first**2 + after * second**2)),
    )
