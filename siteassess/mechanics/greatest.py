"""The greatest pull a tree alone allows, by tie height: trunk and root plate turned round."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from siteassess.mechanics.arrays import Array, as_array, broadcast
from siteassess.mechanics.rootplate import greatest_pull_on_roots
from siteassess.mechanics.stem import greatest_pull_on_stem


@dataclass(frozen=True)
class GreatestPull:
    """Per tie height: the pull, each limit's own pull, and whether the trunk governs."""

    tie_height: Array
    pull: Array
    by_roots: Array
    by_stem: Array
    stem_governs: NDArray[np.bool_]


def greatest_pull(
    tie_heights: ArrayLike,
    root_allowable: ArrayLike,
    stem_allowable: ArrayLike,
    diameter: ArrayLike,
    *,
    section_height: ArrayLike = 0.0,
    lean_moment: ArrayLike = 0.0,
    lean_from_pull_deg: ArrayLike = 0.0,
    stem_other_moment: ArrayLike = 0.0,
    share: float = 1.0,
) -> GreatestPull:
    """Greatest horizontal pull by tie height [N].

    Parameters
    ----------
    tie_heights : array_like
        Heights to answer for, on the last axis [m].
    root_allowable, stem_allowable : array_like
        Allowable moments of the root plate and of the trunk's section [N m]; NaN where one cannot say.
    diameter : array_like
        Of the trunk, for the extra lever arm of a low pull [m].
    section_height : array_like
        Of the trunk's section [m].
    lean_moment, lean_from_pull_deg : array_like
        Of the root plate, as in `rootplate.turning_demand` [N m], [deg].
    stem_other_moment : array_like
        Lean about the trunk's section [N m].
    share : float
        Part of the allowable to use: 1, or 0.6 for the band that needs no trial load [-].

    Returns
    -------
    GreatestPull
        NaN where either limit cannot say, so that the one known is never taken for both.
    """
    ties = as_array(tie_heights)
    roots_room, stem_room = (share * as_array(x) for x in (root_allowable, stem_allowable))
    by_roots = greatest_pull_on_roots(roots_room, ties, diameter, lean_moment, lean_from_pull_deg)
    by_stem = greatest_pull_on_stem(stem_room, ties, section_height, stem_other_moment)
    by_roots, by_stem = broadcast(by_roots, by_stem)
    pull = np.minimum(by_roots, by_stem)
    with np.errstate(invalid="ignore"):
        return GreatestPull(ties, as_array(pull), by_roots, by_stem, np.asarray(by_stem < by_roots))
