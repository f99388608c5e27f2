"""The search for pairs by tiles: one function per tile, mapped over cores or a cluster.

A tile owns every pair whose first tree (the smaller number) stands in it, and sees all trees within its halo, the
longest span plus the corridor; so every pair is found once, with every trunk that could stand in its way. A finished
tile is a file named after the hash of all that went into it: a run that was stopped goes on where it stopped, and a
file from other data or other wishes is never taken for its own.
"""

from __future__ import annotations

import hashlib
import io
from collections import deque
from collections.abc import Callable, Iterable, Iterator, Sequence
from concurrent.futures import Future, ProcessPoolExecutor
from dataclasses import dataclass, field, fields
from functools import partial
from pathlib import Path
from typing import Any

import numpy as np
import shapely
from numpy.typing import NDArray

from siteassess.records.files import write_whole
from siteassess.reference.faults import missing_extra
from siteassess.survey.layers import Layers, clear_of, inside_park
from siteassess.survey.pairs import PairWindow, blockers, pairs_in_window

TREES_PER_TILE = 40_000
TILE_FORM = 1  # raised when a tile's answer would change, so that old files are not taken


@dataclass(frozen=True)
class Trees:
    """What the search needs of a whole survey; one entry a candidate, and one a standing trunk.

    Parameters
    ----------
    xy : candidates, shape (n, 2) [m]
    park : number of the park, or -1; pairs must share it where `same_park` is set, shape (n,)
    trunks_xy, trunks_reach_m : all standing trunks and the reach of each: half width plus radius [m]
    own_trunk : trunk of each candidate, shape (n,)
    """

    xy: NDArray[np.float64]
    park: NDArray[np.int64]
    trunks_xy: NDArray[np.float64]
    trunks_reach_m: NDArray[np.float64]
    own_trunk: NDArray[np.int64]
    same_park: bool = False


@dataclass(frozen=True)
class Tile:
    """One tile's share: indices count inside the tile; `number` gives each candidate's number in the survey."""

    name: str
    window: PairWindow
    trees: Trees
    number: NDArray[np.int64]
    owned: NDArray[np.bool_]
    layers: Layers = field(default_factory=Layers)
    every_pair: bool = False

    def fingerprint(self) -> str:
        """Hash of all that the answer depends on."""
        digest = hashlib.blake2b(
            f"{TILE_FORM} {self.window} {self.trees.same_park} {self.every_pair}".encode(), digest_size=12
        )
        for one in fields(Trees):
            if one.name != "same_park":
                digest.update(np.ascontiguousarray(getattr(self.trees, one.name)).tobytes())
        digest.update(self.number.tobytes() + self.owned.tobytes())
        parks = self.layers.parks if self.trees.same_park else np.empty(0, dtype=object)
        for kind, shapes in (("park", parks), *sorted(self.layers.avoid.items())):
            digest.update(kind.encode())
            for wkb in shapely.to_wkb(shapes):
                digest.update(wkb)
        return digest.hexdigest()


@dataclass(frozen=True)
class Found:
    """Pairs of candidates by their numbers in the survey, smaller first; what was dropped, by reason."""

    pairs: NDArray[np.int64]
    span_m: NDArray[np.float64]
    in_window: int
    blocked: int
    outside_park: int
    not_clear: int


def search_tile(tile: Tile) -> Found:
    """All pairs a tile owns: in the window, in one park, free of trunks and of things to avoid."""
    trees = tile.trees
    local, span = pairs_in_window(trees.xy, tile.window)
    local = _first_is_smaller(local, tile.number)
    mine = tile.owned[local[:, 0]]
    if trees.same_park:
        park = trees.park
        mine &= (park[local[:, 0]] == park[local[:, 1]]) & (park[local[:, 0]] >= 0)
    if not mine.all():
        local, span = local[mine], span[mine]
    in_window = len(local)
    drops = [0, 0, 0]
    for way, test in enumerate((_free_of_trunks, _in_park, _clear)):
        good = test(tile, local)
        drops[way] = int(np.count_nonzero(~good))
        if drops[way]:
            local, span = local[good], span[good]
    return Found(tile.number[local], span, in_window, *drops)


def _first_is_smaller(local: NDArray[np.int64], number: NDArray[np.int64]) -> NDArray[np.int64]:
    # a tile's candidates stand in the survey's order, and the search gives the smaller index first: nothing to turn
    assert np.all(np.diff(number) > 0)
    return local


def _free_of_trunks(tile: Tile, local: NDArray[np.int64]) -> NDArray[np.bool_]:
    if tile.every_pair:
        return np.ones(len(local), bool)
    trees = tile.trees
    return ~blockers(trees.xy, local, trees.trunks_xy, trees.trunks_reach_m, trees.own_trunk).astype(bool)


def _lines(tile: Tile, local: NDArray[np.int64]) -> np.ndarray:
    lines: np.ndarray = shapely.linestrings(tile.trees.xy[local])
    return lines


def _in_park(tile: Tile, local: NDArray[np.int64]) -> NDArray[np.bool_]:
    if not (tile.trees.same_park and tile.layers.have_parks) or len(local) == 0:
        return np.ones(len(local), bool)
    return inside_park(tile.layers.parks, tile.trees.park[local[:, 0]], _lines(tile, local))


def _clear(tile: Tile, local: NDArray[np.int64]) -> NDArray[np.bool_]:
    if not tile.layers.avoid or len(local) == 0:
        return np.ones(len(local), bool)
    return clear_of(tile.layers.avoid, _lines(tile, local), tile.window.half_width_m)


def cut(
    trees: Trees, window: PairWindow, layers: Layers | None = None, trees_per_tile: int = TREES_PER_TILE,
    every_pair: bool = False,
) -> list[Callable[[], Tile]]:
    """Cut a survey into makers of tiles, each called to get its `Tile`, so that only few are held at a time."""
    layers = layers or Layers()
    if len(trees.xy) == 0:
        return []
    reach = float(trees.trunks_reach_m.max(initial=0.0))
    low, high = trees.xy.min(axis=0), trees.xy.max(axis=0)
    many = max(1.0, len(trees.xy) / trees_per_tile)
    # no narrower than the halo: smaller tiles would see more of their neighbours than of themselves
    side = max(float(np.sqrt(np.prod(np.maximum(high - low, 1.0)) / many)), window.longest_m + reach)
    cell = np.floor((trees.xy - low) / side).astype(np.int64)
    across = int(cell[:, 1].max()) + 1
    codes, which = np.unique(cell[:, 0] * across + cell[:, 1], return_inverse=True)
    names = np.column_stack(np.divmod(codes, across))

    def tile(n: int) -> Tile:
        start, halo = low + names[n] * side, window.longest_m + reach
        box = (*(start - halo), *(start + side + halo))
        owned = which == n
        mine = np.flatnonzero(owned | _inside(trees.xy, box))
        seen = np.flatnonzero(_inside(trees.trunks_xy, box))
        place = np.full(len(trees.trunks_xy), -1, dtype=np.int64)
        place[seen] = np.arange(len(seen))
        own = place[trees.own_trunk[mine]]
        part = Trees(
            trees.xy[mine], trees.park[mine], trees.trunks_xy[seen], trees.trunks_reach_m[seen], own, trees.same_park
        )
        name = f"tile_{names[n][0]}_{names[n][1]}"
        return Tile(name, window, part, mine, owned[mine], layers.near(box), every_pair)

    return [partial(tile, n) for n in range(len(names))]


def _inside(xy: NDArray[np.float64], box: Sequence[float]) -> NDArray[np.bool_]:
    return (xy[:, 0] >= box[0]) & (xy[:, 1] >= box[1]) & (xy[:, 0] <= box[2]) & (xy[:, 1] <= box[3])


# --- running them ---------------------------------------------------------------------------------------------


def run_tile(tile: Tile, folder: str | None) -> Found:
    """Answer of a tile: from its file if it is there, else searched and, with a folder, written."""
    if folder is None:
        return search_tile(tile)
    path = Path(folder) / f"{tile.name}_{tile.fingerprint()}.npz"
    if (done := _finished(path)) is not None:
        return done
    found = search_tile(tile)
    stream = io.BytesIO()
    np.savez(stream, **{one.name: getattr(found, one.name) for one in fields(Found)})
    write_whole(stream.getvalue(), path)
    return found


def _finished(path: Path) -> Found | None:
    try:
        with np.load(path, allow_pickle=False) as kept:
            counts = {name: int(kept[name]) for name in ("in_window", "blocked", "outside_park", "not_clear")}
            return Found(kept["pairs"], kept["span_m"], **counts)
    except Exception:  # not there, or cut short: the tile is searched again
        return None


def search_tiles(
    makers: list[Callable[[], Tile]], *, folder: str | Path | None = None, workers: int = 1, engine: str = "processes",
    progress: Callable[[int, int], None] | None = None,
) -> Found:
    """All tiles' answers as one, tile after tile, the same whatever the engine and the number of workers.

    Parameters
    ----------
    makers : of `cut`
    folder : where finished tiles are kept, so that a run resumes
    workers : processes [-]; 1 searches in this process
    engine : {"processes", "dask"}
        Dask needs the extra `scale`; a running distributed client is used if there is one.
    progress : called with tiles done and tiles in all
    """
    if folder is not None:
        Path(folder).mkdir(parents=True, exist_ok=True)
        folder = str(folder)
    if workers <= 1 or len(makers) <= 1:
        answers: Iterable[Found] = (run_tile(make(), folder) for make in makers)
    elif engine == "dask":
        answers = _by_dask(makers, folder, workers)
    else:
        answers = _by_processes(makers, folder, workers)
    found = []
    for number, answer in enumerate(answers, 1):
        found.append(answer)
        if progress:
            progress(number, len(makers))
    return _merge(found)


def _by_processes(makers: list[Callable[[], Tile]], folder: str | None, workers: int) -> Iterator[Found]:
    waiting: deque[Future[Found]] = deque()
    with ProcessPoolExecutor(workers) as pool:
        for make in makers:
            waiting.append(pool.submit(run_tile, make(), folder))
            # only so many tiles at a time, so that memory does not grow with their number
            if len(waiting) > 2 * workers:
                yield waiting.popleft().result()
        while waiting:
            yield waiting.popleft().result()


def _by_dask(makers: list[Callable[[], Tile]], folder: str | None, workers: int) -> Iterator[Found]:
    try:
        import dask
    except ImportError:
        raise missing_extra("searching with Dask", "scale") from None
    step = 2 * workers
    for start in range(0, len(makers), step):
        lazy = [dask.delayed(run_tile)(make(), folder) for make in makers[start : start + step]]
        yield from dask.compute(*lazy, **_scheduler(workers))


def _scheduler(workers: int) -> dict[str, Any]:
    try:
        from distributed import get_client

        get_client()
        return {}  # the caller's own cluster
    except (ImportError, ValueError):
        return {"scheduler": "processes", "num_workers": workers}


def _merge(found: list[Found]) -> Found:
    pairs = np.concatenate([one.pairs for one in found]) if found else np.empty((0, 2), dtype=np.int64)
    span = np.concatenate([one.span_m for one in found]) if found else np.empty(0)
    counts = [
        sum(getattr(one, name) for one in found) for name in ("in_window", "blocked", "outside_park", "not_clear")
    ]
    return Found(pairs, span, *counts)
