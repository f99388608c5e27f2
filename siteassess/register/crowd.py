"""The trees of an open inventory, and how little must be said of a hidden one so that it stays lost among them.

Whoever has the city's open tree inventory needs little to find a tree: a kind, a girth, a cell of a map. So nothing
of that is told by itself. Where whoever makes a copy holds such an inventory against it, a hidden tree is told by a
cell of the map, a genus and a girth class, each only as far as at least five trees of that inventory share all of it.

References
----------
1. Sweeney, k-anonymity, Int. J. on Uncertainty, Fuzziness and Knowledge-based Systems 10, 2002 (memory).
2. Wong et al., Minimality attack in privacy preserving data publishing, VLDB 2007 (memory): whoever knows the rule
   rules out those of whom more would have been told. So a cell is cut, and a genus cut into classes, for all of its
   trees or for none.
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from siteassess.reference.constants import constant
from siteassess.units import DEGREE_M

if TYPE_CHECKING:
    from siteassess.register.outlines import Outlines

# how many trees of an inventory must share all that is told of a hidden one (from the project's own demand)
LEAST_CANDIDATES = int(constant("least candidates"))
# sides of the cells: the largest, the widest whose half diagonal a record takes as an accuracy, is halved until a cut
# would leave too few trees in a part (judgement)
LARGEST_CELL_M, SMALLEST_CELL_M = constant("largest cell"), constant("smallest cell")
# trees of a park stand this near to each other (judgement): whoever sees one looks for the hidden one within it
TREE_NEAR_M = constant("park neighbours")
# a tree of the inventory this near to one that is shown may be the same (judgement: what a phone misses by)
SHOWN_M = constant("shown tree")
# girth classes: edges [m] (judgement; a trunk under 0.6 m round is under 0.2 m thick, the least this program allows)
GIRTH_EDGES_M = (0.6, 1.2, 1.8)


@dataclass(frozen=True)
class KnownTree:
    """A tree of an open inventory: where [deg], its genus in small letters and its girth [m], None where not known."""

    latitude: float
    longitude: float
    genus: str | None
    girth_m: float | None


@dataclass(frozen=True)
class CrowdCell:
    """A cell of the map with the inventory's trees in it; its middle [deg] and its side [m]."""

    latitude: float
    longitude: float
    side_m: float
    trees: tuple[KnownTree, ...] = field(compare=False, default=())

    @property
    def key(self) -> tuple[int, int, int, int]:
        return _key(self.latitude, self.longitude, round(math.log2(LARGEST_CELL_M / self.side_m)))

    def holds(self, tree: KnownTree) -> bool:
        return _key(tree.latitude, tree.longitude, self.key[0]) == self.key


@dataclass(frozen=True)
class TreeTold:
    """What is said of a hidden tree; each None where it would leave too few candidates."""

    cell: CrowdCell | None = None
    genus: str | None = None
    girth_class: str | None = None


@dataclass(frozen=True)
class Saying:
    """What one copy says of a hidden tree: `unlike` are kinds that would have been told, so that it is none of them.

    `beside` is where its park is known to lie: trees shown there, else its own, as (longitude, latitude) [deg].
    """

    told: TreeTold = TreeTold()
    beside: tuple[tuple[float, float], ...] = ()
    unlike: frozenset[str] = frozenset()

    def fits(self, tree: KnownTree) -> bool:
        """Whether it may be said of a tree of the inventory."""
        told = self.told
        return (
            (told.cell is None or told.cell.holds(tree))
            and (told.genus or tree.genus) == tree.genus
            and tree.genus not in self.unlike
            and (told.girth_class is None or told.girth_class == girth_class(tree.girth_m))
            and any(metres(tree, place) <= TREE_NEAR_M for place in self.beside)
        )


class Crowd:
    """The trees of an open inventory, among which hidden ones must stay lost.

    Parameters
    ----------
    trees : every tree of the inventory that lies on the earth
    outlines : of the parks, outside which no tree is a candidate; None where none are held against a copy
    """

    def __init__(self, trees: Iterable[KnownTree], outlines: Outlines | None = None):
        self.outlines = outlines
        self._cells: dict[tuple[int, int, int, int], list[KnownTree]] = {}
        self._whole: dict[tuple[int, int, int, int], bool] = {}
        for tree in trees:
            for level in range(_LEVELS + 1):
                self._cells.setdefault(_key(tree.latitude, tree.longitude, level), []).append(tree)

    def without(self, shown: Iterable[tuple[float, float]]) -> Crowd:
        """The crowd but for what may be one of the trees that are shown where they stand, which hide nobody.

        Parameters
        ----------
        shown : (longitude, latitude) [deg]
        """
        gone = {tree for place in shown for tree in self.near(place)}
        left = Crowd((), self.outlines)
        left._cells = dict(self._cells)
        for key in {_key(t.latitude, t.longitude, level) for t in gone for level in range(_LEVELS + 1)}:
            left._cells[key] = [tree for tree in self._cells[key] if tree not in gone]
            if not left._cells[key]:
                del left._cells[key]
        return left

    def without_outlines(self) -> Crowd:
        """The same trees for whoever holds no outlines of the parks."""
        left = Crowd(())
        left._cells = self._cells
        return left

    def near(self, place: tuple[float, float]) -> list[KnownTree]:
        """Trees of which one may be the tree that is shown at a place, (longitude, latitude) [deg]."""
        lon, lat = place
        step = SHOWN_M / DEGREE_M
        along = step / max(math.cos(math.radians(lat)), 1e-3)
        keys = {_key(lat + up * step, lon + on * along, _LEVELS) for up in (-1, 0, 1) for on in (-1, 0, 1)}
        return [t for key in keys for t in self._cells.get(key, ()) if metres(t, place) <= SHOWN_M]

    def told(self, lat_deg: float, lon_deg: float, genus: str | None, girth_m: float | None) -> TreeTold:
        """What may be said of a hidden tree at a place."""
        cell = self._cell(lat_deg, lon_deg)
        if cell is None:
            return TreeTold()
        if genus not in self.kinds(cell):
            return TreeTold(cell)
        classes = Counter(girth_class(tree.girth_m) for tree in cell.trees if tree.genus == genus)
        own = girth_class(girth_m)
        cut = own is not None and own in classes and min(classes.values()) >= LEAST_CANDIDATES
        return TreeTold(cell, genus, own if cut else None)

    def kinds(self, cell: CrowdCell) -> frozenset[str]:
        """Genera that are told of the trees of a cell."""
        genera = Counter(tree.genus for tree in self._cells.get(cell.key, ()))
        common = {name for name, count in genera.items() if name and count >= LEAST_CANDIDATES}
        rest = sum(count for name, count in genera.items() if name not in common)
        # the few of rare kinds stay lost only if nobody's kind is told
        return frozenset() if 0 < rest < LEAST_CANDIDATES else frozenset(common)

    def saying(self, told: TreeTold, beside: Iterable[tuple[float, float]], by_rule: bool = True) -> Saying:
        """What a copy says by telling this and no more; `by_rule` where readers may know why no more is told."""
        rare_in = told.cell if told.genus is None and by_rule else None
        return Saying(told, tuple(beside), self.kinds(rare_in) if rare_in else frozenset())

    def may_be(self, sayings: Iterable[Saying]) -> list[KnownTree]:
        """Trees of which all of this may have been said, in one copy or in several laid side by side."""
        sayings = list(sayings)
        cells = [saying.told.cell for saying in sayings if saying.told.cell]
        if not cells:
            return []
        smallest = min(cells, key=lambda cell: cell.side_m)
        return self.fitting(sayings, self._cells.get(smallest.key, ()))

    def knows_park(self, places: Iterable[tuple[float, float]]) -> bool:
        """Whether an outline is known of the park that some places show, (longitude, latitude) [deg]."""
        return self.outlines is not None and self.outlines.hold(tuple(places))

    def fitting(self, sayings: Iterable[Saying], trees: Iterable[KnownTree]) -> list[KnownTree]:
        """Those of some trees of which all of this may have been said, each in the park it was said of."""
        sayings = list(sayings)
        left = [tree for tree in trees if all(saying.fits(tree) for saying in sayings)]
        if self.outlines is not None:
            for places in {saying.beside for saying in sayings}:
                left = self.outlines.within(places, left)
        return left

    def _cell(self, lat: float, lon: float) -> CrowdCell | None:
        key = _key(lat, lon, 0)
        if len(self._cells.get(key, ())) < LEAST_CANDIDATES:
            return None
        for level in range(1, _LEVELS + 1):
            child = _key(lat, lon, level)
            if child not in self._cells or not self._may_be_cut(key):
                break
            key = child
        return CrowdCell(*_middle(key), LARGEST_CELL_M / 2 ** key[0], tuple(self._cells[key]))

    def _may_be_cut(self, key: tuple[int, int, int, int]) -> bool:
        if key not in self._whole:
            level, band, row, column = key
            parts = [
                len(self._cells.get((level + 1, band, 2 * row + up, 2 * column + along), ()))
                for up in (0, 1)
                for along in (0, 1)
            ]
            self._whole[key] = all(count == 0 or count >= LEAST_CANDIDATES for count in parts)
        return self._whole[key]


_LEVELS = round(math.log2(LARGEST_CELL_M / SMALLEST_CELL_M))


def _key(lat: float, lon: float, level: int) -> tuple[int, int, int, int]:
    """Level, band of latitude, row and column of the cell a point lies in; cells of one level fill those above."""
    band = math.floor(lat * DEGREE_M / LARGEST_CELL_M)
    side = LARGEST_CELL_M / 2**level
    return level, band, math.floor(lat * DEGREE_M / side), math.floor(lon * _along(band) / side)


def _along(band: int) -> float:
    """Metres a degree of longitude in the middle of a band."""
    middle = (band + 0.5) * LARGEST_CELL_M / DEGREE_M
    return DEGREE_M * max(math.cos(math.radians(middle)), 1e-3)


def _middle(key: tuple[int, int, int, int]) -> tuple[float, float]:
    level, band, row, column = key
    side = LARGEST_CELL_M / 2**level
    return round((row + 0.5) * side / DEGREE_M, 5), round((column + 0.5) * side / _along(band), 5)


def girth_class(girth_m: float | None) -> str | None:
    """The class of a girth, in words; None where it is not known."""
    if girth_m is None or not math.isfinite(girth_m):
        return None
    low = max((edge for edge in GIRTH_EDGES_M if edge <= girth_m), default=None)
    return _class_named(low, min((edge for edge in GIRTH_EDGES_M if edge > girth_m), default=None))


def edges_of(name: str) -> tuple[float | None, float | None] | None:
    """From where to where a class goes [m], None where it is open; of no class of today's nothing.

    Parameters
    ----------
    name : of a class of girth
    """
    classes = zip((None, *GIRTH_EDGES_M), (*GIRTH_EDGES_M, None), strict=True)
    return next((edges for edges in classes if _class_named(*edges) == name), None)


def _class_named(low: float | None, high: float | None) -> str:
    if low is None:
        return f"under {high} m"
    return f"{low} m and more" if high is None else f"{low} m to under {high} m"


def metres(tree: KnownTree, place: tuple[float, float]) -> float:
    """From a tree to a place, (longitude, latitude) [deg], in metres."""
    north = (tree.latitude - place[1]) * DEGREE_M
    east = (tree.longitude - place[0]) * DEGREE_M * math.cos(math.radians(place[1]))
    return math.hypot(north, east)
