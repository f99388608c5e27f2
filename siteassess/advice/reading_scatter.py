"""How far each reading of a tree may be off, and what that does to its limits.

A limit is close to a product of powers of what was read, so a reading's scatter counts by its power. The powers stand
here in closed form; tests hold them against the slope of the sums themselves.
"""

from __future__ import annotations

import math

import numpy as np

from siteassess.advice.tree_inputs import TreeInputs
from siteassess.mechanics.limit import LimitSums
from siteassess.mechanics.rootplate import HEIGHT_CAP_PER_DIAMETER, lever_arm
from siteassess.mechanics.scatter import READING_LN_SD, combined_ln_sd

TIE_LN_SD = READING_LN_SD["tie height", "taped"].value
LEAN_LN_SD = READING_LN_SD["lean", "estimated"].value  # how it was read is not asked, so the wider one
WALL_LN_SD = READING_LN_SD["wall", "estimated"].value
BARK_LN_SD = READING_LN_SD["bark thickness", "measured"].value  # one not measured is taken thick instead


def total(scatter: dict[str, np.ndarray]) -> np.ndarray:
    """Scatter of all readings together [ln]."""
    return combined_ln_sd(*scatter.values())


def root_scatter(tree: TreeInputs, tie: np.ndarray, lean: float, found: LimitSums) -> dict[str, np.ndarray]:
    """By reading: its power times its scatter, for the use of the root plate [ln].

    Parameters
    ----------
    tree : TreeInputs
        The tree.
    tie : ndarray
        Height of the tie in each case [m].
    lean : float
        Moment of the tree's own weight [N m].
    found : Limit
        The root plate's limit; its demand says how much of it is lean.
    """
    share = _share(lean, found)
    capped = tree.height >= HEIGHT_CAP_PER_DIAMETER.value * tree.root_diameter  # at the edge the steeper side counts
    return {
        "trunk diameter": (3.0 if capped else 2.0) * np.asarray(_known(tree.diameter_ln_sd)),
        # counted beyond the cap too, since the true height may lie below it; there the lean alone grows, by its square
        "tree height": (np.maximum(1.0, 2.0 * share) if capped else 1.0) * np.asarray(_known(tree.height_ln_sd)),
        "tie height": _line_share(lean, found) * tie / lever_arm(tie, tree.root_diameter) * TIE_LN_SD,
        "lean": share * LEAN_LN_SD,
    }


def stem_scatter(
    tree: TreeInputs, diameter: np.ndarray, tie: np.ndarray, section: np.ndarray, lean: np.ndarray, found: LimitSums
) -> dict[str, np.ndarray]:
    """By reading: its power times its scatter, for the use of the stem at each section [ln].

    Parameters
    ----------
    tree : TreeInputs
        The tree.
    diameter, section : ndarray
        Over bark at each section, and the sections' heights [m].
    tie : ndarray
        Height of the tie in each case [m].
    lean : ndarray
        Moment of the tree's own weight about each section [N m].
    found : Limit
        The stem's limit.
    """
    with np.errstate(invalid="ignore", divide="ignore"):
        # a bark that leaves a fifth of the trunk is no reading; the powers end there
        wood = np.maximum(diameter - 2 * tree.bark_thick, 0.2 * diameter)
        bark = 6 * tree.bark_thick / wood if tree.bark_read else 0.0
        hole = np.maximum(wood - 2 * tree.wall, 0.0)
        wall = 8 * hole**3 * (tree.wall if math.isfinite(tree.wall) else 0.0) / (wood**4 - hole**4)
        arm = np.where(tie > section, tie / np.maximum(tie - section, 0.1), 0.0)
    return {
        "trunk diameter": np.nan_to_num(3 * diameter / wood) * _known(tree.diameter_ln_sd),
        "species": np.asarray(_known(tree.wood_ln_sd)),
        "bark thickness": np.nan_to_num(np.asarray(bark)) * BARK_LN_SD,
        "sound wall": np.nan_to_num(np.asarray(wall)) * WALL_LN_SD,
        "tie height": _line_share(lean, found) * arm * TIE_LN_SD,
        "lean": _share(lean, found) * LEAN_LN_SD,
    }


def _share(lean: float | np.ndarray, found: LimitSums) -> np.ndarray:
    """Share of the demand that is the tree's own lean, at most all of it."""
    with np.errstate(invalid="ignore", divide="ignore"):
        return np.nan_to_num(np.minimum(np.abs(lean) / found.demand, 1.0))


def _line_share(lean: float | np.ndarray, found: LimitSums) -> np.ndarray:
    """Share of the demand that is the line's, at most: as if the lean stood across the pull."""
    return 1.0 - _share(lean, found) ** 2


def _known(value: float) -> float:
    return value if math.isfinite(value) else 0.0
