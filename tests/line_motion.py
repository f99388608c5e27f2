"""A line with a walker, integrated in time: what the load cases are held against. Not product code.

The line is a plane chain of lumped masses joined by springs that only pull, with its own weight and a little damping
in the webbing. The walker is a point mass: standing on one node through a leg that only pushes, or hanging on it by a
leash that only pulls. The node carries foot or ring; it does not slide once the motion has begun, but where the walker
stood on the line before a fall, the webbing had slid until both sides pulled alike. Nothing here is taken from the
product.

Every argument of `peaks` may be an array; the cases run side by side, each with its own time step (velocity Verlet).
`tests/published/test_line_motion.py` holds that against one of scipy's integrators.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np

GRAVITY = 9.80665
PIECES = 20
LEG = 30e3  # [N/m] of a hopping leg: order of magnitude in the literature (memory)
RING = 0.3  # [kg] foot or leash ring
DAMPING = 0.3  # of critical, in the chain's fastest mode: rings out the waves, takes next to nothing from the walker
LINK_DAMPING = 0.3  # of critical, of ring or foot on leash or leg (judgement: or it rattles for ever)
GROUND = 2e5  # [N/m] of a heel on turf (judgement)
COURANT = 0.4  # of the time a wave takes through one piece


@dataclass(frozen=True)
class Motion:
    """Peaks over the motion, one value a case."""

    tension: np.ndarray  # the larger of the two anchors' [N]
    force: np.ndarray  # in leg or leash [N]
    drop: np.ndarray  # of foot or ring under the straight line between the anchors [m]


@dataclass(frozen=True)
class Chain:
    """The line and its walker, one row a case; `leash` is its length, NaN where the walker stands on a leg."""

    span: np.ndarray
    standing: np.ndarray
    stiffness: np.ndarray
    linear_mass: np.ndarray
    mass: np.ndarray
    node: np.ndarray
    link: np.ndarray  # stiffness of leg or leash [N/m]
    leash: np.ndarray
    near: np.ndarray  # unstretched share of the webbing before the node [-]
    floor: np.ndarray  # depth of the ground under the straight line; infinite where there is none [m]

    @cached_property
    def piece(self) -> np.ndarray:
        """Unstretched length of every piece [m]."""
        whole = (self.span / (1 + self.standing / self.stiffness))[:, None]
        before = np.arange(PIECES) < self.node[:, None]
        near, node = self.near[:, None], self.node[:, None]
        return whole * np.where(before, near / node, (1 - near) / (PIECES - node))

    @cached_property
    def lag(self) -> np.ndarray:
        """Time that turns a rate of strain into the strain it adds as damping [s]."""
        return DAMPING * self.piece.min(axis=1) / np.sqrt(self.stiffness / self.linear_mass)

    def node_masses(self) -> np.ndarray:
        masses = self.linear_mass[:, None] * 0.5 * (self.piece[:, 1:] + self.piece[:, :-1])
        masses[np.arange(len(masses)), self.node - 1] += RING
        return masses

    def pulls(self, x, y, u, v):
        """Tension of every piece and its direction; x, y with the anchors."""
        along, up = np.diff(x), np.diff(y)
        long = np.hypot(along, up)
        along, up = along / long, up / long
        rate = np.diff(u) * along + np.diff(v) * up
        strain = long / self.piece - 1
        tension = self.stiffness[:, None] * (strain + self.lag[:, None] * rate / self.piece)
        return np.maximum(tension, 0.0) * (strain > 0), along, up

    def link_force(self, y, v, body, speed):
        """Upward on the body: a leg that is pressed, or a leash that is stretched."""
        rows = np.arange(len(y))
        foot, rate = y[rows, self.node], v[rows, self.node] - speed
        stretch = np.where(np.isnan(self.leash), foot - body, foot - body - self.leash)
        damped = self.link * stretch + 2 * LINK_DAMPING * np.sqrt(self.link * RING) * rate
        return np.maximum(damped, 0.0) * (stretch > 0)

    def ground_force(self, y, v):
        """Upward on foot or ring where it is pressed into the ground, which gives nothing back."""
        rows = np.arange(len(y))
        into = -self.floor - y[rows, self.node]
        return GROUND * np.maximum(into, 0.0) * np.where(v[rows, self.node] < 0, 2.0, 0.2)


def _acceleration(chain: Chain, masses, x, y, u, v, body, speed):
    tension, along, up = chain.pulls(x, y, u, v)
    force = chain.link_force(y, v, body, speed)
    across, upward = np.diff(tension * along), np.diff(tension * up)
    rows = np.arange(len(y))
    upward[rows, chain.node - 1] += chain.ground_force(y, v) - force
    return across / masses, upward / masses - GRAVITY, force / chain.mass - GRAVITY, tension, force


def static_depth(span, standing, stiffness, load, at):
    """Depth of two straight weightless legs that pull alike, under a load, by halving [m]."""
    low, high = np.zeros(np.shape(span)), 2.0 * np.asarray(span, float)
    length = span / (1 + standing / stiffness)
    for _ in range(80):
        depth = 0.5 * (low + high)
        near, far = np.hypot(at * span, depth), np.hypot((1 - at) * span, depth)
        pull = stiffness * np.maximum((near + far) / length - 1, 0.0)
        short = pull * (depth / near + depth / far) < load
        low, high = np.where(short, depth, low), np.where(short, high, depth)
    return 0.5 * (low + high)


def peaks(span, standing, stiffness, mass, *, at=0.5, height=0.0, leash=np.nan, link=LEG, linear_mass=0.07,
          over_line=1.0, from_loaded=False, floor=np.inf) -> Motion:
    """Peaks of one landing or fall.

    Parameters
    ----------
    span, standing, stiffness, mass, linear_mass : array_like
        Of the line and walker [m, N, N, kg, kg/m]; `stiffness` is the true one of the quick pull.
    at : array_like
        Place along the line, a multiple of 1 / `PIECES` [-].
    height : array_like
        Height of the soles over the unloaded line they are let go from [m].
    leash : array_like
        Length of the leash of a fall [m]; NaN for a landing on the feet.
    link : array_like
        Stiffness of the leg, or of the leash [N/m].
    over_line : array_like
        Height of the tied-in body over the line where the fall begins [m].
    from_loaded : bool
        Let go with the line held down by the walker's weight, as it is in fact; else from the unloaded line.
    floor : array_like
        Depth of the ground under the straight line between the anchors at the walker's place [m].
    """
    columns = np.broadcast_arrays(*(np.asarray(value, float) for value in (
        span, standing, stiffness, mass, at, height, leash, link, linear_mass, over_line, floor)))  # fmt: skip
    span, standing, stiffness, mass, at, height, leash, link, linear_mass, over_line, floor = map(np.ravel, columns)
    node = np.rint(at * PIECES).astype(int)
    depth = static_depth(span, standing, stiffness, mass * GRAVITY, at) if from_loaded else np.zeros_like(span)
    near, far = np.hypot(at * span, depth), np.hypot((1 - at) * span, depth)
    chain = Chain(span, standing, stiffness, linear_mass, mass, node, link, leash, near / (near + far), floor)
    fall = np.where(np.isnan(leash), height, over_line + np.nan_to_num(leash))
    lasts = np.sqrt(2 * (fall + 0.5) / GRAVITY) + 3.5 * np.sqrt(mass * span / (4 * standing)) + np.sqrt(mass / link)
    step = COURANT * chain.piece.min(axis=1) / np.sqrt(stiffness / linear_mass)
    step = np.minimum(step, 0.2 / np.sqrt(np.where(np.isfinite(floor), np.maximum(link, 2 * GROUND), link) / RING))
    x = np.linspace(0, 1, PIECES + 1) * span[:, None]
    y = -linear_mass[:, None] * GRAVITY * x * (span[:, None] - x) / (2 * standing[:, None])
    if from_loaded:
        place = (at * span)[:, None]
        y = y - depth[:, None] * np.where(x <= place, x / place, (span[:, None] - x) / (span[:, None] - place))
    rows = np.arange(len(span))
    foot = y[rows, node]
    body = np.where(np.isnan(leash), foot, foot + over_line)
    speed = np.where(np.isnan(leash), -np.sqrt(2 * GRAVITY * height), 0.0)
    return _run(chain, x, y, body, speed, step, lasts)


def _run(chain: Chain, x, y, body, speed, step, lasts) -> Motion:
    rows, masses = np.arange(len(body)), chain.node_masses()
    u, v = np.zeros_like(x), np.zeros_like(y)
    inner = slice(1, -1)
    dt = step[:, None]
    highest = {name: np.zeros(len(body)) for name in ("tension", "force", "drop")}
    ax, ay, ab, tension, force = _acceleration(chain, masses, x, y, u, v, body, speed)
    for turn in range(int(np.ceil((lasts / step).max()))):
        u[:, inner] += 0.5 * dt * ax
        v[:, inner] += 0.5 * dt * ay
        speed = speed + 0.5 * step * ab
        x[:, inner] += dt * u[:, inner]
        y[:, inner] += dt * v[:, inner]
        body = body + step * speed
        ax, ay, ab, tension, force = _acceleration(chain, masses, x, y, u, v, body, speed)
        u[:, inner] += 0.5 * dt * ax
        v[:, inner] += 0.5 * dt * ay
        speed = speed + 0.5 * step * ab
        going = turn * step < lasts
        now = {"tension": np.maximum(tension[:, 0], tension[:, -1]), "force": force, "drop": -y[rows, chain.node]}
        for name, value in now.items():
            highest[name] = np.where(going, np.maximum(highest[name], value), highest[name])
    return Motion(**highest)
