"""The desk survey as one story: screen the trees, find the pairs, drop the steep ones, rank and spread them."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field, replace
from pathlib import Path

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from siteassess.errors import refused
from siteassess.places.geodesy import LocalFrame, bearing_distance, median_place
from siteassess.reference.findings import Said, said, worded
from siteassess.survey.cleaning import Inventory
from siteassess.survey.kinds import names_taken
from siteassess.survey.layers import LAYER_KINDS, Layers, Terrain, read_layers
from siteassess.survey.notes import Note, is_set_aside
from siteassess.survey.pairs import PairWindow
from siteassess.survey.ranking import Circuit, Scores, circuits, in_order, score, spread
from siteassess.survey.screen import UNKNOWN_TRUNK_RADIUS_M, Out, Wish, screen
from siteassess.survey.tiles import TREES_PER_TILE, Found, Trees, cut, search_tiles

# Set aside as anchors, yet most likely standing where the row says: they still stand in the way of a line.
STILL_STANDING = Note.DEAD | Note.SIZE_BEYOND | Note.SIZE_AGAINST_HEIGHT
# Set aside because nothing of them stands in the way, or because another row stands for them.
GONE = Note.STUMP | Note.NOT_A_TREE | Note.NOT_A_POINT | Note.DUPLICATE
PROFILE_POINTS = 9
FEW_NAMES = 5  # that a remark names of many


@dataclass(frozen=True)
class Options:
    """How to search.

    Parameters
    ----------
    steepest : rise over span a pair may have, where a terrain grid is given [-]
    top, per_tree, per_cell : pairs proposed in all, on one tree and in one square of ground [-]
    lines, meetings : lines in a circuit, 0 for none, and circuits proposed [-]
    same_named_park : without outlines of parks: both trees must bear the same name of a park in the inventory
    crowns_block : crowns, not trunks, must stay out of the corridor, where a crown width is recorded
    """

    steepest: float = 0.15
    top: int = 100
    per_tree: int = 2
    per_cell: int = 3
    lines: int = 0
    meetings: int = 5
    same_named_park: bool = False
    crowns_block: bool = False
    workers: int = 1
    engine: str = "processes"
    trees_per_tile: int = TREES_PER_TILE


@dataclass
class DeskSurvey:
    """What a desk survey proposes; every candidate is to be surveyed on site.

    `trees` is the screened table with east_m, north_m, park_number; `pairs` holds the places of its rows, two a
    pair, for every pair found; `chosen` are the proposed ones among them, best first.
    """

    inventory: Inventory
    wish: Wish
    window: PairWindow
    frame: LocalFrame
    layers: Layers
    trees: pd.DataFrame
    pairs: NDArray[np.int64]
    span_m: NDArray[np.float64]
    rise_m: NDArray[np.float64]
    hump_m: NDArray[np.float64]
    scores: Scores
    chosen: NDArray[np.int64]
    circuits: list[Circuit]
    dropped: dict[str, int]
    remarks: list[Said] = field(default_factory=list)

    @property
    def candidates(self) -> pd.DataFrame:
        return self.trees[self.trees["candidate"]]

    def bearings(self, which: np.ndarray) -> np.ndarray:
        """True bearing from the first to the second tree of pairs [deg]."""
        lat, lon = self.trees["lat_deg"].to_numpy(), self.trees["lon_deg"].to_numpy()
        a, b = self.pairs[which, 0], self.pairs[which, 1]
        return (
            np.atleast_1d(bearing_distance(lat[a], lon[a], lat[b], lon[b]).bearing_true_deg)
            if len(which)
            else np.empty(0)
        )


def desk_survey(
    inventory: Inventory, wish: Wish, window: PairWindow, options: Options | None = None, *,
    parks: str | Path | None = None, avoid: dict[str, list[str | Path]] | None = None, terrain: Terrain | None = None,
    tiles_folder: str | Path | None = None, progress: Callable[[int, int], None] | None = None,
) -> DeskSurvey:
    """Propose candidate trees and pairs from a cleaned inventory.

    Parameters
    ----------
    inventory : Inventory
    wish : use, planned pull, rules
    window : span window and corridor; shortened to the longest span of the rules
    parks : outlines of parks; then both trees and the line must lie in one of them
    avoid : paths, buildings, water, power lines, roads to keep clear of
    terrain : Terrain, optional
    tiles_folder : where finished tiles are kept, so that a run resumes
    progress : called with tiles done and tiles in all
    options : how to search; None takes the usual

    Raises
    ------
    FaultyInput : a layer that cannot be read, or rules whose longest span lies under the window
    """
    options = options or Options()
    window = _within_rules(window, wish)
    frame = _frame(inventory)
    layers = read_layers(frame, parks, avoid)
    trees = _placed(screen(inventory.good, wish), frame, layers, options)
    task, rows = _task(inventory, trees, frame, window, layers, options)
    found = search_tiles(
        cut(task, window, layers, options.trees_per_tile), folder=tiles_folder, workers=options.workers,
        engine=options.engine, progress=progress,
    )
    rise, hump = _ground(task.xy, found, frame, terrain)
    with np.errstate(invalid="ignore"):
        level = ~(np.abs(rise) > options.steepest * found.span_m)
    pairs, span, rise, hump = rows[found.pairs[level]], found.span_m[level], rise[level], hump[level]
    scores = score(pairs, *(trees[name].to_numpy(dtype=float) for name in ("hold_share", "care", "evidence")))
    xy = trees[["east_m", "north_m"]].to_numpy()
    order = in_order(scores.total, pairs)
    chosen = spread(pairs, xy, order, most=options.top, per_tree=options.per_tree, per_cell=options.per_cell)
    # a meeting wants lines close together: the spread over the ground would thin out just what it looks for
    pool = (
        spread(pairs, xy, order, most=50 * max(options.lines, 1), per_tree=1, per_cell=1000)
        if options.lines > 1
        else chosen
    )
    meetings = circuits(pairs, xy, scores.total, pool, lines=options.lines, most=options.meetings)
    # what a meeting uses is proposed too, with its own field sheet
    chosen = np.array(
        list(dict.fromkeys([*chosen.tolist(), *(n for one in meetings for n in one.pairs)])), dtype=np.int64
    )
    dropped = {
        "pairs in the span window": found.in_window,
        "a trunk in the corridor": found.blocked,
        "the line leaves its park": found.outside_park,
        "too near a thing to avoid": found.not_clear,
        "too steep": int(np.count_nonzero(~level)),
    }
    remarks = [
        *inventory.remarks, *wish.rules.remarks, *layers.remarks, *_not_looked(inventory, trees, layers, terrain),
        *wish.assumptions(),
    ]
    return DeskSurvey(
        inventory, wish, window, frame, layers, trees, pairs, span, rise, hump, scores, chosen, meetings, dropped,
        remarks,
    )


def _not_looked(inventory: Inventory, trees: pd.DataFrame, layers: Layers, terrain: Terrain | None) -> list[Said]:
    """What this survey could not see, told so that its silence is not taken for a no."""
    remarks: list[Said] = []
    if missing := [kind for kind in LAYER_KINDS if kind not in layers.avoid and kind != "other"]:
        remarks.append(said("ds-no-layer", kinds=tuple(missing)))
    if terrain is None:
        remarks.append(said("ds-no-terrain"))
    flags = inventory.flags
    lost = int(np.count_nonzero(is_set_aside(flags) & ((flags & int(STILL_STANDING | GONE)) == 0)))
    if lost:
        remarks.append(said("ds-rows-lost", count=lost))
    if taken := names_taken(trees):
        remarks.append(said("ds-names-taken", count=sum(taken.values()), taken=tuple(taken)[:FEW_NAMES]))
    name = trees["species"].astype(str).where(trees["species"] != "", trees["common"].astype(str))
    strange = name[(trees["genus"] == "") & (trees["leaf"] != "palm") & (name != "")]
    if len(strange):
        common = tuple(repr(text[:60]) for text in strange.value_counts().index[:3])
        remarks.append(said("ds-strange-names", count=len(strange), names=common))
    if street := int(np.count_nonzero(trees["candidate"] & (trees["setting"] == "street"))):
        remarks.append(said("ds-street-trees", count=street))
    return remarks


def _within_rules(window: PairWindow, wish: Wish) -> PairWindow:
    longest = wish.rules.longest_span_m
    if longest is None or window.longest_m <= longest:
        return window
    if longest < window.shortest_m:
        read = worded("read-spans", shortest=window.shortest_m, longest=window.longest_m)
        raise refused("span", "span", read, worded("want-span-by-rules", longest=longest, place=wish.rules.place))
    return replace(window, longest_m=longest)


def _frame(inventory: Inventory) -> LocalFrame:
    good = inventory.good
    if good.empty:
        read, mend = worded("read-no-kept-row"), worded("mend-see-reasons")
        raise refused(inventory.name, worded("the-rows"), read, worded("want-one-tree"), mend)
    return LocalFrame(*median_place(good["lat_deg"].to_numpy(), good["lon_deg"].to_numpy()))


def _placed(trees: pd.DataFrame, frame: LocalFrame, layers: Layers, options: Options) -> pd.DataFrame:
    east, north = frame.to_metres(trees["lat_deg"].to_numpy(), trees["lon_deg"].to_numpy())
    trees = trees.assign(east_m=east, north_m=north)
    if layers.have_parks:
        number = layers.park_of(np.column_stack([east, north]))
        trees["park"] = [layers.park_names[n] if n >= 0 else "" for n in number]
        trees["out"] = trees["out"].mask(number < 0, trees["out"] | int(Out.OUTSIDE_PARKS))
        trees["candidate"] = trees["out"] == 0
    elif options.same_named_park:
        # a blank name is no park: such trees pair with nothing
        number = pd.factorize(trees["park"].astype(object).where(trees["park"] != ""))[0].astype(np.int64)
    else:
        number = np.full(len(trees), -1, dtype=np.int64)
    return trees.assign(park_number=number)


def _task(
    inventory: Inventory, trees: pd.DataFrame, frame: LocalFrame, window: PairWindow, layers: Layers, options: Options
) -> tuple[Trees, NDArray[np.int64]]:
    """Arrays for the search, and the row of `trees` of each candidate in them."""
    rows = np.flatnonzero(trees["candidate"].to_numpy())
    xy = trees[["east_m", "north_m"]].to_numpy()
    flags = inventory.flags
    standing = (
        is_set_aside(flags) & ((flags & int(~STILL_STANDING & 0xFFFF)) == 0) & ((flags & int(STILL_STANDING)) != 0)
    )
    others = inventory.trees[standing & inventory.trees["lat_deg"].notna().to_numpy()]
    others_xy = np.column_stack(
        frame.to_metres(others["lat_deg"].to_numpy(dtype=float), others["lon_deg"].to_numpy(dtype=float))
    )
    radius = _radius(trees["diameter_m"].to_numpy(dtype=float), trees["crown_m"].to_numpy(dtype=float), options)
    others_radius = np.full(len(others), UNKNOWN_TRUNK_RADIUS_M)
    task = Trees(
        xy=xy[rows], park=trees["park_number"].to_numpy()[rows], trunks_xy=np.vstack([xy, others_xy.reshape(-1, 2)]),
        trunks_reach_m=window.half_width_m + np.concatenate([radius, others_radius]), own_trunk=rows,
        same_park=layers.have_parks or options.same_named_park,
    )
    return task, rows


def _radius(diameter: np.ndarray, crown: np.ndarray, options: Options) -> np.ndarray:
    radius = np.where(np.isnan(diameter), UNKNOWN_TRUNK_RADIUS_M, diameter / 2)
    return np.fmax(radius, crown / 2) if options.crowns_block else radius


def _ground(xy: np.ndarray, found: Found, frame: LocalFrame, terrain: Terrain | None) -> tuple[np.ndarray, np.ndarray]:
    """Rise from the first to the second tree, and the highest ground above the chord between [m]; NaN if not known."""
    unknown = np.full(len(found.pairs), np.nan)
    if terrain is None or len(found.pairs) == 0:
        return unknown, unknown.copy()
    height = terrain.at(frame, xy)
    a, b = found.pairs[:, 0], found.pairs[:, 1]
    rise = height[b] - height[a]
    hump = np.zeros(len(a))
    for share in np.linspace(0, 1, PROFILE_POINTS + 2)[1:-1]:
        here = terrain.at(frame, xy[a] + share * (xy[b] - xy[a]))
        hump = np.maximum(hump, here - height[a] - share * rise)
    return rise, hump
