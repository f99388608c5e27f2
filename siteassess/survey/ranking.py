"""Ranking of pairs for the walk, spread over the trees and the ground, and circuits for a meeting of several lines.

The score orders a list of places to look at; it is no measure of how good an anchor is.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray
from scipy.spatial import cKDTree

from siteassess.advice.judge import SUITS_UP_TO
from siteassess.survey.cells import Floats

# Weights and scales are judgement; every part is shown beside the score.
WEIGHTS = {"hold": 0.5, "care": 0.25, "evidence": 0.25}
ENOUGH_HOLD = 1.0 / SUITS_UP_TO  # what "suits" asks for; more earns nothing
SPREAD_CELL_M = 50.0


@dataclass(frozen=True)
class Scores:
    """Parts of the score of each pair, 0 to 1: the worse tree of the two counts."""

    hold: Floats
    care: Floats
    evidence: Floats

    @property
    def total(self) -> Floats:
        return WEIGHTS["hold"] * self.hold + WEIGHTS["care"] * self.care + WEIGHTS["evidence"] * self.evidence


def score(pairs: NDArray[np.int64], hold_share: Floats, care: Floats, evidence: Floats) -> Scores:
    """Score pairs of trees.

    Parameters
    ----------
    pairs : ndarray of int, shape (m, 2)
    hold_share : allowable pull of each tree over the planned pull; unknown (NaN) counts 0, shape (n,) [-]
    care, evidence : 0 to 1, shape (n,) [-]
    """
    held = np.nan_to_num(np.clip(hold_share / ENOUGH_HOLD, 0.0, 1.0), nan=0.0)
    worse = [np.minimum(values[pairs[:, 0]], values[pairs[:, 1]]) for values in (held, care, evidence)]
    return Scores(*worse)


def in_order(total: np.ndarray, pairs: np.ndarray) -> np.ndarray:
    """Indices from the best score down; equal scores by the trees' numbers, so that a run repeats itself."""
    # rounded: the last bits of a sum must not decide
    return np.lexsort((pairs[:, 1], pairs[:, 0], -np.round(total, 9)))


def spread(
    pairs: np.ndarray, xy: np.ndarray, order: np.ndarray, *, most: int, per_tree: int = 2, per_cell: int = 3
) -> np.ndarray:
    """The best pairs, with at most so many on one tree and so many midpoints in one square of ground.

    Parameters
    ----------
    order : pairs from the best down
    most, per_tree, per_cell : pairs in all, on one tree, in one square of `SPREAD_CELL_M` [-]

    Returns
    -------
    ndarray of int
        Chosen pairs, best first.
    """
    middle = np.floor((xy[pairs[:, 0]] + xy[pairs[:, 1]]) / 2 / SPREAD_CELL_M).astype(np.int64)
    on_tree: dict[int, int] = {}
    in_cell: dict[tuple[int, int], int] = {}
    chosen: list[int] = []
    for index in order:
        if len(chosen) >= most:
            break
        a, b = int(pairs[index, 0]), int(pairs[index, 1])
        cell = (int(middle[index, 0]), int(middle[index, 1]))
        if max(on_tree.get(a, 0), on_tree.get(b, 0)) >= per_tree or in_cell.get(cell, 0) >= per_cell:
            continue
        chosen.append(int(index))
        on_tree[a], on_tree[b] = on_tree.get(a, 0) + 1, on_tree.get(b, 0) + 1
        in_cell[cell] = in_cell.get(cell, 0) + 1
    return np.array(chosen, dtype=np.int64)


@dataclass(frozen=True)
class Circuit:
    """Several lines near each other, in walking order: no tree twice, no line across another."""

    pairs: tuple[int, ...]
    walk_m: float
    score: float


def circuits(
    pairs: np.ndarray, xy: np.ndarray, total: np.ndarray, candidates: np.ndarray, *, lines: int, reach_m: float = 150.0,
    apart_m: float = 3.0, most: int = 5,
) -> list[Circuit]:
    """Circuits for a meeting of several lines, the best first; no pair stands in two of them.

    Parameters
    ----------
    candidates : pairs to draw from, best first
    lines : lines in each circuit, two or more [-]
    reach_m : farthest middle of a line from the middle of the first [m]
    apart_m : least distance between two lines [m]
    """
    if lines < 2 or len(candidates) < lines:
        return []
    middle = (xy[pairs[candidates, 0]] + xy[pairs[candidates, 1]]) / 2
    shapes = shapely.linestrings(xy[pairs[candidates]])
    tree = cKDTree(middle)
    taken: set[int] = set()
    found: list[Circuit] = []
    for seed in range(len(candidates)):
        if len(found) >= most:
            break
        if seed in taken:
            continue
        near = [n for n in sorted(tree.query_ball_point(middle[seed], reach_m)) if n not in taken and n != seed]
        group = _grow(seed, near, lines, pairs[candidates], shapes, apart_m)
        if len(group) < lines:
            continue
        taken.update(group)
        walk, way = _walk(group, middle)
        chosen = tuple(int(candidates[n]) for n in way)
        found.append(Circuit(chosen, walk, float(np.mean(total[list(chosen)]))))
    return sorted(found, key=lambda circuit: (-round(circuit.score, 9), circuit.walk_m))


def _grow(
    seed: int, near: list[int], lines: int, ends: NDArray[np.int64], shapes: np.ndarray, apart_m: float
) -> list[int]:
    group, trees = [seed], set(ends[seed].tolist())
    for other in near:
        if len(group) == lines:
            break
        if trees & set(ends[other].tolist()):
            continue
        if shapely.distance(shapes[other], shapes[group]).min() < apart_m:
            continue
        group.append(other)
        trees |= set(ends[other].tolist())
    return group


def _walk(group: list[int], middle: np.ndarray) -> tuple[float, list[int]]:
    """A short way from middle to middle: always on to the nearest, from the best start."""
    best: tuple[float, list[int]] = (np.inf, group)
    for start in group:
        way, left, length = [start], set(group) - {start}, 0.0
        while left:
            step = {n: float(np.hypot(*(middle[n] - middle[way[-1]]))) for n in left}
            on = min(step, key=lambda n: (step[n], n))
            length += step[on]
            way.append(on)
            left.remove(on)
        if length < best[0]:
            best = (length, way)
    return best
