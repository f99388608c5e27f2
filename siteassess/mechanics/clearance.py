"""Height of a line over the ground, with the walker at every position.

Heights count from the ground at the foot of anchor A, distances horizontally from A.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import ArrayLike

from siteassess.errors import OutsideModel
from siteassess.mechanics.arrays import Array, as_array
from siteassess.mechanics.line_load import LoadedLine, moved_along
from siteassess.mechanics.profile import Profile
from siteassess.reference.constants import constant

HEIGHTS_AT = np.linspace(0.02, 0.98, 97)
MOST_TRIED = constant("most standing tried")
NEARLY = 1.1  # ratio of the bracket from which straight steps take over from halving


@dataclass(frozen=True)
class WalkHeight:
    """Height of the walker's feet over the ground at every position."""

    distance: Array  # walker's distance from A [m]
    height: Array  # height of the feet over the ground; negative where they would be in it [m]
    tie_a: float  # height of the line at trunk A over the ground there [m]
    tie_b: float  # height of the line at trunk B over the ground there [m]

    @property
    def lowest(self) -> float:
        """[m]"""
        return float(np.min(self.height))

    @property
    def lowest_at(self) -> float:
        """Distance from A of the lowest height [m]."""
        return float(self.distance[np.argmin(self.height)])

    @property
    def at_mid_span(self) -> float:
        """Loaded height with the walker at mid-span [m]."""
        middle = 0.5 * (self.distance[0] + self.distance[-1])
        return float(np.interp(middle, self.distance, self.height))

    def touches(self, margin: float = 0.0) -> tuple[tuple[float, float], ...]:
        """Stretches, as distances from A [m], where the feet come closer to the ground than a margin [m]."""
        low = np.concatenate(([False], self.height < margin, [False])).astype(int)
        begins, ends = np.flatnonzero(np.diff(low) == 1), np.flatnonzero(np.diff(low) == -1) - 1
        return tuple((float(self.distance[b]), float(self.distance[e])) for b, e in zip(begins, ends))


def walked_height(line: LoadedLine, tie_a: float, ground: Profile, positions: ArrayLike = HEIGHTS_AT) -> WalkHeight:
    """Height of the feet over the ground with the walker at every position, standing still.

    Parameters
    ----------
    line : the standing line and its walker
    tie_a : height of tie A over the ground at A [m]; that of tie B follows from the line's rise and the ground
    ground : Profile
    positions : walker's positions as fractions of the span [-]

    Raises
    ------
    OutsideModel : where the line has no steady state
    """
    state = moved_along(line, positions)
    distance = line.span * as_array(positions)
    height = tie_a - state.drop - ground.at(distance)
    return WalkHeight(distance, height, tie_a, tie_a + line.rise - float(ground.at(line.span)))


def empty_height(line: LoadedLine, tie_a: float, ground: Profile) -> WalkHeight:
    """Height of the line itself over the ground with nobody on it.

    Parameters
    ----------
    line, tie_a, ground : as in `walked_height` [m]; the walker of the line is left out
    """
    return walked_height(replace(line, load=0.0), tie_a, ground)


def least_standing(line: LoadedLine, tie_a: float, ground: Profile, margin: float, most: float = MOST_TRIED) -> float:
    """Least standing tension with which the walker clears the ground by a margin everywhere [N].

    Parameters
    ----------
    line, tie_a, ground : as in `walked_height` [m]; the standing tension of the line itself is not used
    margin : least height of the feet over the ground [m]
    most : greatest tension tried [N]

    Returns
    -------
    NaN where even `most` does not do it [N].
    """

    def spare(standing: float) -> float:
        try:
            return walked_height(replace(line, standing=standing), tie_a, ground).lowest - margin
        except OutsideModel:  # too slack to hold its own weight
            return -np.inf

    below, above = spare(1.0), spare(most)
    if not above >= 0:
        return np.nan
    if below >= 0:
        return 1.0
    low, high = 1.0, most
    while high / low > 1 + 1e-6:
        straight = high / low < NEARLY and np.isfinite(below)
        middle = (low * above - high * below) / (above - below) if straight else np.sqrt(low * high)
        middle = min(max(middle, low * (1 + 4e-7)), high / (1 + 4e-7))  # so that both ends close in
        found = spare(middle)
        if found >= 0:
            high, above = middle, found
        else:
            low, below = middle, found
    return float(high)


def lowest_tie(line: LoadedLine, tie_a: float, ground: Profile, margin: float) -> float:
    """Least height of tie A that clears by a margin, both ties moved up or down alike [m].

    Parameters
    ----------
    line, tie_a, ground : as in `walked_height` [m]
    margin : least height of the feet over the ground [m]
    """
    return tie_a + margin - walked_height(line, tie_a, ground).lowest


def highest_tie(line: LoadedLine, tie_a: float, ground: Profile, limit: float) -> float:
    """Greatest height of tie A that keeps the empty line under a height limit everywhere, ties moved alike [m].

    Parameters
    ----------
    line, tie_a, ground : as in `walked_height` [m]
    limit : greatest height of the empty line over the ground [m]
    """
    empty = empty_height(line, tie_a, ground)
    return tie_a + limit - max(float(np.max(empty.height)), empty.tie_a, empty.tie_b)
