"""The ground under a line, from trunk to trunk.

Heights count from the ground at the foot of anchor A, distances horizontally from A. The ground runs straight between
the places where it was taped: a bump or a dip between two of them is not seen. The feet of both trunks are places of
it, whether anybody wrote them down or not.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from siteassess.errors import OutsideModel
from siteassess.mechanics.arrays import Array, as_array


@dataclass(frozen=True)
class Profile:
    """Ground along the line: distances from A in rising order [m] and heights over the foot of A [m].

    Before the first and past the last place the ground is taken as level with it; `taped_profile` puts the feet of
    both trunks in. An unknown height is refused, since nobody can be told that a line clears it.
    """

    distance: Array
    height: Array

    def __post_init__(self) -> None:
        known = np.isfinite(self.distance).all() and np.isfinite(self.height).all()
        if not known or np.size(self.distance) < 1 or not np.all(np.diff(self.distance) > 0):
            raise OutsideModel("the ground needs rising distances from A and a known height at each",
                               "ground-not-rising")

    def at(self, distance: ArrayLike) -> Array:
        """Height of the ground at a distance from A [m]."""
        return as_array(np.interp(as_array(distance), self.distance, self.height))


def plain_slope(span: float, rise_to_b: float = 0.0) -> Profile:
    """Ground that runs straight from foot to foot; `rise_to_b` is the height of B's foot over A's [m].

    Parameters
    ----------
    span : horizontal distance of the trunks [m]
    rise_to_b : height of B's foot over A's [m]
    """
    return Profile(np.array([0.0, span]), np.array([0.0, rise_to_b]))


def taped_profile(span: float, rise_to_b: float, distances: ArrayLike, heights: ArrayLike) -> Profile:
    """Ground taped at some places, with the feet of both trunks as two more.

    Parameters
    ----------
    span, rise_to_b : horizontal distance, and height of B's foot over A's [m]
    distances, heights : places from A in rising order, and the ground's height there over A's foot [m]. A row at 0 m is
        no more than A's foot said again, one at the span or past it stands for B's.
    """
    distances, heights = as_array(distances), as_array(heights)
    first = () if distances.size and distances[0] <= 0 else (0.0,)
    last = () if distances.size and distances[-1] >= span * (1 - 1e-9) else (span,)
    return Profile(np.concatenate((first, distances, last)),
                  np.concatenate(([0.0] * len(first), heights, [rise_to_b] * len(last))))


def taped_offsets(span: float, rise: float, tie_a: float, distances: ArrayLike, offsets: ArrayLike) -> Profile:
    """Ground from offsets taped straight down from a string or sight line between the two ties.

    Parameters
    ----------
    span, rise : horizontal distance, and height of tie B over tie A [m]
    tie_a : height of tie A over the ground at A [m]
    distances, offsets : horizontal distances from A and what was taped down to the ground there [m]; the last must be
        at B, so that its offset is the height of tie B over the ground

    Raises
    ------
    OutsideModel : where the distances do not rise from above 0 to the span

    Examples
    --------
    A string level at 1.5 m, 2 m over the ground half way: it lies half a metre lower there, by hand.

    >>> float(taped_offsets(20.0, 0.0, 1.5, [10.0, 20.0], [2.0, 1.5]).at(10.0))
    -0.5
    """
    distances, offsets = as_array(distances), as_array(offsets)
    rising = distances.size and distances[0] > 0 and np.all(np.diff(distances) > 0)
    if not rising or not np.isclose(distances[-1], span, rtol=0.01) or distances.shape != offsets.shape:
        raise OutsideModel("ground offsets need rising distances from A, one offset each, the last one at anchor B",
                           "ground-offsets-not-rising")
    if np.isnan(offsets).any():
        raise OutsideModel("a ground offset is unknown; leave that place out", "ground-offset-unknown")
    string = tie_a + rise * distances / span
    return Profile(np.concatenate(([0.0], distances)), np.concatenate(([0.0], string - offsets)))
