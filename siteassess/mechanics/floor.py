"""The ground ends every drop: where a walker would take the line lower, the line is pressed to the ground and no more.

At each place along the line the smaller of two answers holds: what the walker's energy asks there, and the exact static
line pressed down to the ground there, which no walker can exceed, however heavy. The worst place counts. Near the
anchors the energy is soon spent, farther in the ground comes first; the worst place lies where the two meet.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import ArrayLike

from siteassess.mechanics import dynamics
from siteassess.mechanics.arrays import Array, Flags, RowNumbers, as_array
from siteassess.mechanics.cable import Solution, solve_clamped
from siteassess.mechanics.cable_many import solve_loads
from siteassess.mechanics.held import held_down, landing
from siteassess.mechanics.line_load import FIGURES, LOADED_AT, QUICK_STIFFNESS, Basis, LoadCase, LoadedLine, basis
from siteassess.mechanics.stretch_table import StretchTable
from siteassess.reference.constants import constant

NEAREST = constant("nearest jump")
NEAREST_STUMBLE = constant("nearest stumble")
HALF = np.array([0.0, 0.05, 0.1, 0.15, 0.22, 0.3, 0.4, 0.5])
TO_THE_GROUND = 1e-5  # [m] how near the line is pressed to it
FLOOR_ROUNDS = 12
CROSSING_STEPS = 4  # leaves some 2e-6 of the tension
MAY_END = 1.25  # times what is asked, up to which the exact pressed line is worked out; room for the webbing's weight


@dataclass(frozen=True)
class Swept:
    """What a movement asks at places along the line, were there no ground: figures of a case [N]."""

    places: Array  # as fractions of the span from A, rising [-]
    figures: dict[str, Array]
    depth: Array  # of the line as tensioned below anchor A [m]
    held: bool = False  # whether a sole holds the webbing: then the nearer leg takes more, on the ground as well


def swept(line: LoadedLine, fall: float, leash_stiffness: float | None = None, *, from_loaded: bool = False) -> Swept:
    """Energy of a drop at every place: the harder of the line as tensioned and the line that lost its tension.

    Parameters
    ----------
    line : LoadedLine
    fall : as in `dynamics.catch` [m]
    leash_stiffness : of a fall into the leash, whose ring slides; without it a landing on the feet [N/m]
    from_loaded : the drop begins with the walker standing on the line, not from the unloaded line
    """
    nearest = min((NEAREST_STUMBLE if from_loaded else NEAREST) / line.span, 0.2)
    half = nearest + (0.5 - nearest) * HALF / 0.5
    stiffness = np.array([line.quick_stiffness, line.quick_stiffness, line.secant])[:, None]
    lengths = dynamics.taut_length(line.span, np.array([line.standing, 0.0, line.standing])[:, None], stiffness)
    start = dynamics.standing_depth(line.span, lengths, stiffness, line.load, half) if from_loaded else 0.0
    if leash_stiffness is None:
        peaks = landing(line.span, lengths, stiffness, line.load, fall, start, half)
    else:
        peaks = dynamics.catch(line.span, lengths, stiffness, line.load, fall, start, leash_stiffness, half)
    harder = np.where(peaks.tension[0] >= peaks.tension[1], 0, 1)
    column = np.arange(half.size)
    tension, pull, depth = (array[harder, column] for array in (peaks.tension, peaks.horizontal, peaks.depth))
    far = pull * depth / ((1 - half) * line.span)
    # straight down the one of less tension may pull harder
    moment = np.max((peaks.horizontal * peaks.depth)[:2], axis=0)
    near_down, far_down = moment / (half * line.span), moment / ((1 - half) * line.span)
    if leash_stiffness is None:  # of the line as tensioned the foot has given way towards the near trunk
        steep = np.sqrt(np.maximum(peaks.tension[0] ** 2 - peaks.horizontal[0] ** 2, 0.0))
        near_down, far_down = np.maximum(near_down, steep), np.maximum(far_down, peaks.force[0] - steep)
    places = places_on(line, nearest)
    place, from_a = np.minimum(places, 1 - places), places <= 0.5

    def along(values: Array) -> Array:
        return as_array(np.interp(place, half, values))

    own = 0.5 * line.weight * line.span
    near_tension, far_tension = map(along, (tension, np.hypot(pull, far)))
    near_down, far_down = map(along, (near_down, far_down))
    figures = {
        "tension_a": np.where(from_a, near_tension, far_tension), "horizontal": along(pull),
        "tension_b": np.where(from_a, far_tension, near_tension),
        "vertical_a": own + np.where(from_a, near_down, far_down) + _slanting(line, -line.rise, along(pull)),
        "vertical_b": own + np.where(from_a, far_down, near_down) + _slanting(line, line.rise, along(pull)),
    }
    depth = along(np.max(peaks.depth[[0, 2]], axis=0)) - line.rise * places
    return Swept(places, figures, depth, leash_stiffness is None)


def _slanting(line: LoadedLine, over: float, pull: Array) -> Array:
    """What a pull brings straight down at the end that lies `over` the other one; the lower keeps its own [N]."""
    return pull * max(over, 0.0) / line.span


def places_on(line: LoadedLine, nearest: float) -> Array:
    """Where a movement is tried, as fractions of the span from A: evenly, beside both trunks, at every taped place [-].

    On a long line the even places begin farther in than anybody jumps, and a ditch may lie between two of them.

    Parameters
    ----------
    line : with the ground under it, where it is known
    nearest : to an anchor, as a fraction of the span [-]
    """
    taped = () if line.floor is None else line.floor.ground.distance / line.span
    return np.unique(np.clip(np.concatenate((LOADED_AT, taped, (0.0, 1.0))), nearest, 1 - nearest))


def pressed(line: LoadedLine, positions: ArrayLike, depth: ArrayLike) -> dict[str, Array]:
    """Exact static figures of the line pressed down to a depth under anchor A at each place [N]; NaN where none is.

    The webbing has its quick stiffness; of a table the harder of its secant and of the table itself counts. Where the
    empty line already lies as low, nothing presses.

    Parameters
    ----------
    line : as tensioned
    positions : places as fractions of the span from A [-]
    depth : pressed down to at each, under anchor A [m]
    """
    worst = {name: np.zeros(np.shape(positions)) for name in FIGURES}
    for law in line.quick:
        state = _pressed(replace(line, stiffness=law), as_array(positions), as_array(depth))
        worst = {name: np.maximum(worst[name], getattr(state, name)) for name in FIGURES}
    return worst


def _pressed(line: LoadedLine, positions: Array, depth: Array) -> Solution:
    stiffness = line.stiffness
    length = float(line.at_tension(line.standing, 0.0, 0.5).unstretched)

    def under(load: Array) -> Solution:
        if not isinstance(stiffness, StretchTable):
            return solve_clamped(line.span, line.rise, length, stiffness, line.weight, load, positions)
        loads, places = load[:, None], positions[:, None]
        state = solve_loads(line.span, line.rise, length, stiffness, line.weight, loads, places)
        return replace(state, drop=state.drop[:, 0])

    def legs(drop: Array) -> Array:
        """Load that straight legs without weight carry at a drop, for the steps towards the true one."""
        near, far = np.hypot(positions * line.span, drop), np.hypot((1 - positions) * line.span, drop + line.rise)
        pull = line.secant * np.maximum((near + far) / length - 1, 1e-6)
        return pull * (drop / near + (drop + line.rise) / far)

    load = np.zeros(positions.shape)
    state = under(load)
    target = np.maximum(depth, state.drop)
    for _ in range(FLOOR_ROUNDS):
        miss = target - state.drop
        if not np.any(np.abs(miss) > TO_THE_GROUND):
            break
        load = np.maximum(load + legs(target) - legs(state.drop), 0.0)
        state = under(load)
    return state


def _straight(line: LoadedLine, places: Array, depth: Array) -> Array:
    """Tension of the line without weight, pressed down to a depth under anchor A by something that slides on it [N]."""
    length = dynamics.taut_length(line.span, line.standing, line.quick_stiffness)
    near = np.hypot(places * line.span, np.maximum(depth, 0.0))
    far = np.hypot((1 - places) * line.span, np.maximum(depth + line.rise, 0.0))
    return as_array(line.quick_stiffness * ((near + far) / length - 1))


def _held_down(line: LoadedLine, places: Array, depth: Array) -> dict[str, Array]:
    """Figures of two weightless legs of the line, each keeping its webbing, held down to a depth under anchor A [N]."""
    below = np.maximum(depth + line.rise * places, 0.0)
    length = dynamics.taut_length(line.span, line.standing, line.quick_stiffness)
    foot, legs = held_down(line.span, length, line.quick_stiffness, below, places)
    pull = legs.horizontal
    upright = pull * below / foot, pull * below / (line.span - foot)
    own = 0.5 * line.weight * line.span
    return {"tension_a": np.hypot(pull, upright[0]), "tension_b": np.hypot(pull, upright[1]), "horizontal": pull,
            "vertical_a": own + upright[0] + _slanting(line, -line.rise, pull),
            "vertical_b": own + upright[1] + _slanting(line, line.rise, pull)}


def _held_down_apart(line: LoadedLine, free: Swept, places: Array, depth: Array) -> dict[str, Array]:
    """Figures of the line held down at a place, by somebody else beside the far trunk, and lowest in between [N].

    Straight legs without weight that all have one pull, since everybody weighs straight down.
    """
    far = np.where(places <= 0.5, free.places[-1], free.places[0])
    of_far = line.pressed_to(line.span * far)
    points = np.array([np.minimum(places, far), np.maximum(places, far)]) * line.span
    downs = np.where(places <= far, (depth, of_far), (of_far, depth))
    length = dynamics.taut_length(np.hypot(line.span, line.rise), line.standing, line.quick_stiffness)
    worst = {name: np.zeros(np.shape(places)) for name in FIGURES}
    own = 0.5 * line.weight * line.span
    for at, down in zip(free.places * line.span, line.pressed_to(line.span * free.places)):
        inside = (at > points[0]) & (at < points[1])
        middle = np.where(inside, at, 0.5 * points.sum(axis=0)), np.where(inside, down, 0.5 * downs.sum(axis=0))
        along = np.diff([np.zeros(far.shape), points[0], middle[0], points[1], np.full(far.shape, line.span)], axis=0)
        fall = np.diff([np.zeros(far.shape), downs[0], middle[1], downs[1], np.full(far.shape, -line.rise)], axis=0)
        legs = np.hypot(along, fall)
        with np.errstate(invalid="ignore", divide="ignore"):
            steep = np.where(along > 0, legs / along, 1.0)
        stretch = np.maximum(legs.sum(axis=0) / length - 1, 0.0)
        pull = line.quick_stiffness * stretch * legs.sum(axis=0) / (legs * steep).sum(axis=0)
        figures = {
            "tension_a": pull * steep[0], "tension_b": pull * steep[-1], "horizontal": pull,
            "vertical_a": own + pull * np.maximum(fall[0], 0.0) / along[0],
            "vertical_b": own + pull * np.maximum(-fall[-1], 0.0) / along[-1],
        }
        worst = {name: np.maximum(worst[name], figures[name]) for name in FIGURES}
    return worst


def ended_by_ground(
    line: LoadedLine, case: LoadCase, free: Swept, energy: Basis, least: LoadCase | None = None, factor: float = 0.0
) -> LoadCase:
    """A case with the ground under its line.

    Parameters
    ----------
    line : with a floor
    case : as it would be without ground; no figure grows past it
    free : what the movement asks at each place without ground
    energy : what that rests on
    least : a milder case that no figure falls under
    factor : what the case is at least, times the walker standing still at the same place; 0 where there is no such
        rule [-]
    """
    distance = line.span * free.places
    room = line.room(distance)
    drop = float(np.minimum(free.depth, room).max())
    asked = _at_least(line, free, factor)
    limited, ended = _limited(line, free, asked)
    if not np.any(limited < asked):
        return replace(case, drop=drop)
    figures = {name: min(getattr(case, name), max(float(most), getattr(least, name, 0.0)))
               for name, most in zip(FIGURES, limited.max(axis=1))}
    hardest = np.maximum(*limited[:2])
    at = int(np.argmax(hardest))
    rests = case.basis
    if max(figures["tension_a"], figures["tension_b"]) < case.tension * (1 - 1e-9):
        worst = float(distance[at])
        if least is not None and hardest[at] <= least.tension:
            rests = basis("no-harder-than", case=least.name, why=basis("ground-ends-the-drop"))
        elif ended[at]:
            rests = basis("pressed-down-to-the-ground", at=worst, stiffer=QUICK_STIFFNESS)
        else:
            rests = basis("nearer-than-the-ground-ends-it", energy=energy, at=worst)
    return replace(case, **figures, drop=drop, basis=rests, ends_on_ground=bool((ended | (free.depth >= room)).any()))


def _at_least(line: LoadedLine, free: Swept, factor: float) -> Array:
    """Figures asked at every place: what the movement asks, and no less than the rule's factor on the still walker.

    Shape (figures, places). Several people may be anywhere at once: each place is asked what the hardest is.
    """
    asked = np.array([free.figures[name] for name in FIGURES])
    if factor:
        still = line.at_tension(line.standing, line.load, free.places)
        asked = np.maximum(asked, factor * np.array([getattr(still, name) for name in FIGURES]))
    return np.broadcast_to(asked.max(axis=1, keepdims=True), asked.shape) if line.several else asked


def _limited(line: LoadedLine, free: Swept, asked: Array) -> tuple[Array, Flags]:
    """At every place and of every figure the smaller of what is asked and the pressed line, and where that bounds it.

    Between two places, one with each, both are equal somewhere and the answer is greatest there: that peak counts as
    the second place's.
    """
    may = _straight(line, free.places, line.pressed_to(line.span * free.places)) < MAY_END * np.maximum(*asked[:2])
    near = may.copy()
    near[:-1] |= may[1:]
    near[1:] |= may[:-1]
    given = np.full(asked.shape, np.inf)
    given[:, near] = _given(line, free, free.places[near])
    ended = given < asked
    limited = np.minimum(given, asked)
    figure, left = np.nonzero(ended[:, 1:] != ended[:, :-1])
    both = np.isfinite(given[figure, left]) & np.isfinite(given[figure, left + 1])
    figure, left = figure[both], left[both]
    if figure.size:
        inner = np.where(ended[figure, left], left, left + 1)
        peak = _crossing(line, free, asked, given, figure, 2 * left + 1 - inner, inner)
        np.maximum.at(limited, (figure, inner), peak)
    return limited, np.asarray(ended[:2].any(axis=0))


@np.errstate(divide="ignore", invalid="ignore")  # of an end that is not pulled down the inverse is infinite
def _crossing(
    line: LoadedLine, free: Swept, asked: Array, given: Array, figure: RowNumbers, outer: RowNumbers, inner: RowNumbers
) -> Array:
    """What is asked where it meets the pressed line, between an outer place and an inner one [N].

    The inverse of the pressed line's figure runs nearly straight, so that secants soon find it.
    """
    over, under = (1 / asked[figure, at] - 1 / given[figure, at] for at in (outer, inner))
    outside = np.abs(over) > np.abs(under)
    before, was = np.where(outside, 0.0, 1.0), np.where(outside, over, under)
    share, left = np.where(outside, 1.0, 0.0), np.where(outside, under, over)
    for last in range(1 - CROSSING_STEPS, 1):
        step = np.nan_to_num(left * (share - before) / (left - was), posinf=0.0, neginf=0.0)
        before, was, share = share, left, np.clip(share - step, 0.0, 1.0)
        here = asked[figure, outer] + share * (asked[figure, inner] - asked[figure, outer])
        if last:
            places = free.places[outer] + share * (free.places[inner] - free.places[outer])
            left = 1 / here - 1 / _given(line, free, places)[figure, np.arange(figure.size)]
    return as_array(here)


def _given(line: LoadedLine, free: Swept, places: Array) -> Array:
    """Figures of the line pressed down to the ground at places along it [N]; infinite where no state was found."""
    down_to = line.pressed_to(line.span * places)
    found = pressed(line, places, down_to)
    if free.held:
        legs = _held_down(line, places, down_to)
        found = {name: np.fmax(found[name], legs[name]) for name in FIGURES}
    if line.several:
        apart = _held_down_apart(line, free, places, down_to)
        found = {name: np.fmax(found[name], apart[name]) for name in FIGURES}
    return np.array([np.nan_to_num(found[name], nan=np.inf) for name in FIGURES])
