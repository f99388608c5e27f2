"""All pairs of candidate trees in a span window, and which of them have a corridor free of other trunks.

Plane metres throughout. The searches are exact: the same pairs as comparing every tree with every other, the same
corridors as measuring every segment against every trunk.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.spatial import cKDTree

# queries of one block of anchors at a time, so that memory grows with the block and the answer
BLOCK_EDGES = 4_000_000
TURN = 2.0 * np.pi


@dataclass(frozen=True)
class PairWindow:
    """The span window and the width of the corridor between two trees.

    Parameters
    ----------
    shortest_m, longest_m : span between trunk centres, both ends included [m]
    half_width_m : free width wanted to each side of the line [m]
    """

    shortest_m: float
    longest_m: float
    half_width_m: float = 1.5

    def __post_init__(self) -> None:
        if not 0 < self.shortest_m <= self.longest_m:
            raise ValueError("the shortest span must be above 0 and no longer than the longest")
        if self.half_width_m < 0:
            raise ValueError("the half width cannot be negative")


def pairs_in_window(xy: NDArray[np.float64], window: PairWindow) -> tuple[NDArray[np.int64], NDArray[np.float64]]:
    """Every pair of points whose distance lies in the window.

    Parameters
    ----------
    xy : points, shape (n, 2) [m]
    window : Window

    Returns
    -------
    pairs : ndarray of int, shape (m, 2)
        Indices, the smaller first.
    span : ndarray, shape (m,)
        Distances [m].
    """
    if len(xy) < 2:
        return np.empty((0, 2), dtype=np.int64), np.empty(0)
    # sliding midpoint splits build faster and search as fast on trees along streets
    tree = cKDTree(xy, balanced_tree=False, compact_nodes=False)
    # the tree compares squares; a hair more, then the exact test below, keeps both ends of the window in
    pairs = tree.query_pairs(window.longest_m * (1 + 1e-12), output_type="ndarray")
    span = spans(xy, pairs)
    inside = (span >= window.shortest_m) & (span <= window.longest_m)
    return pairs[inside], span[inside]


def spans(xy: NDArray[np.float64], pairs: NDArray[np.int64]) -> NDArray[np.float64]:
    """Distances of pairs of points [m]."""
    x, y = np.ascontiguousarray(xy[:, 0]), np.ascontiguousarray(xy[:, 1])
    first, second = pairs[:, 0], pairs[:, 1]
    return np.hypot(x[first] - x[second], y[first] - y[second])


def blockers(
    xy: NDArray[np.float64], pairs: NDArray[np.int64], trunks_xy: NDArray[np.float64],
    trunks_reach_m: NDArray[np.float64], own_trunk: NDArray[np.int64],
) -> NDArray[np.int64]:
    """Number of other trunks in the corridor of each pair.

    A trunk stands in the corridor if its centre lies within its reach of the segment between the two anchors'
    centres, ends included: a trunk close behind an anchor is in the way of tying.

    Parameters
    ----------
    xy : anchors, shape (n, 2) [m]
    pairs : pairs of anchors, shape (m, 2)
    trunks_xy : all standing trunks, the anchors' own among them, shape (k, 2) [m]
    trunks_reach_m : ndarray, shape (k,)
        Half width of the corridor plus radius of each trunk, or of its crown where the crown blocks [m].
    own_trunk : index among the trunks of each anchor itself, shape (n,)

    Returns
    -------
    ndarray of int, shape (m,)

    Notes
    -----
    From one anchor A a trunk at distance d hides the targets whose bearing lies within arcsin(reach / d) of its own
    and that stand beyond it. With the targets of each anchor in order of bearing these are short runs, found by
    bisection; only the members of the runs are measured exactly.
    """
    count = np.zeros(len(pairs), dtype=np.int64)
    if len(pairs) == 0 or len(trunks_xy) == 0:
        return count
    # a pair's anchor A is its first member; targets are grouped by A, in order of bearing
    a, b = pairs[:, 0], pairs[:, 1]
    away = xy[b] - xy[a]
    bearing = np.arctan2(away[:, 1], away[:, 0]) % TURN
    order = np.lexsort((bearing, a))
    key = a[order] * (2 * TURN) + bearing[order]
    corridors = _Corridors(xy, pairs, trunks_xy, trunks_reach_m, own_trunk, order, key)
    anchors = np.unique(a)
    longest = np.zeros(len(xy))
    np.maximum.at(longest, a, np.hypot(away[:, 0], away[:, 1]))
    reach_max = float(trunks_reach_m.max())
    tree = cKDTree(trunks_xy)
    for block in _blocks(anchors, tree, xy, float(longest.max()) + reach_max):
        near = cKDTree(xy[block]).sparse_distance_matrix(
            tree, float(longest[block].max()) + reach_max, output_type="ndarray"
        )
        anchor, trunk = block[near["i"]], near["j"]
        useful = trunk != own_trunk[anchor]
        corridors.count(anchor[useful], trunk[useful], count)
    return count


def _blocks(
    anchors: NDArray[np.int64], tree: cKDTree, xy: NDArray[np.float64], radius: float
) -> Iterator[NDArray[np.int64]]:
    """Anchors in blocks of about BLOCK_EDGES neighbours each, estimated from a sample."""
    sample = anchors[:: max(1, len(anchors) // 200)]
    mean = max(1.0, float(np.mean(tree.query_ball_point(xy[sample], radius, return_length=True))))
    size = max(1, int(BLOCK_EDGES / mean))
    for start in range(0, len(anchors), size):
        yield anchors[start : start + size]


@dataclass(frozen=True)
class _Corridors:
    """What `blockers` was asked, with the `order` of its pairs by first tree and bearing, and the `key` of that."""

    xy: NDArray[np.float64]
    pairs: NDArray[np.int64]
    trunks_xy: NDArray[np.float64]
    reach: NDArray[np.float64]
    own_trunk: NDArray[np.int64]
    order: NDArray[np.int64]
    key: NDArray[np.float64]

    def count(self, anchor: NDArray[np.int64], trunk: NDArray[np.int64], count: NDArray[np.int64]) -> None:
        """Add to the count of every pair from an anchor that a trunk near that anchor stands in the way of."""
        toward = self.trunks_xy[trunk] - self.xy[anchor]
        distance, reach = np.hypot(toward[:, 0], toward[:, 1]), self.reach[trunk]
        near = distance <= reach
        with np.errstate(divide="ignore", invalid="ignore"):
            half = np.where(near, np.pi, np.arcsin(np.minimum(1.0, reach / distance)) + 1e-7)
        centre = np.arctan2(toward[:, 1], toward[:, 0]) % TURN
        low, high = np.where(near, 0.0, centre - half), np.where(near, TURN, centre + half)
        # a run over north or south of zero is two runs
        for shift in (0.0, TURN, -TURN):
            start, end = np.clip(low + shift, 0.0, TURN), np.clip(high + shift, 0.0, TURN)
            part = np.flatnonzero(end > start) if shift else np.arange(len(anchor))
            base = anchor[part] * (2 * TURN)
            first = np.searchsorted(self.key, base + start[part], side="left")
            last = np.searchsorted(self.key, base + end[part], side="right")
            np.add.at(count, self._hit(first, last - first, trunk[part]), 1)

    def _hit(self, first: NDArray[np.int64], length: NDArray[np.int64], trunk: NDArray[np.int64]) -> NDArray[np.int64]:
        """The pairs among runs of the order that the run's trunk truly stands in the way of, as often as it does."""
        kept = np.flatnonzero(length > 0)
        first, length, trunk = first[kept], length[kept], trunk[kept]
        within = np.arange(int(length.sum())) - np.repeat(np.cumsum(length) - length, length)
        pair: NDArray[np.int64] = self.order[np.repeat(first, length) + within]
        trunk = np.repeat(trunk, length)
        a, b = self.pairs[pair, 0], self.pairs[pair, 1]
        inside = distance_to_segment(self.trunks_xy[trunk], self.xy[a], self.xy[b]) <= self.reach[trunk]
        inside &= trunk != self.own_trunk[b]
        return pair[inside]


def distance_to_segment(
    points: NDArray[np.float64], start: NDArray[np.float64], end: NDArray[np.float64]
) -> NDArray[np.float64]:
    """Distance of each point from its own segment, ends included [m]; all of shape (m, 2)."""
    along = end - start
    toward = points - start
    square = np.einsum("ij,ij->i", along, along)
    with np.errstate(divide="ignore", invalid="ignore"):
        share = np.clip(np.where(square > 0, np.einsum("ij,ij->i", toward, along) / square, 0.0), 0.0, 1.0)
    miss = toward - share[:, None] * along
    apart: NDArray[np.float64] = np.hypot(miss[:, 0], miss[:, 1])
    return apart
