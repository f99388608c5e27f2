"""Hidden trees: which they are, and what may be said of one beyond the officers so that nobody can trace it.

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
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from typing import Any

import numpy as np

from siteassess.register import privacy, reading_records
from siteassess.register.fold import Subject
from siteassess.register.naming import HIDDEN
from siteassess.register.standing import Around

# how many trees of an inventory must share all that is told of a hidden one (from the project's own demand)
LEAST_CANDIDATES = 5
# sides of the cells: the largest, the widest whose half diagonal a record takes as an accuracy, is halved until a cut
# would leave too few trees in a part (judgement)
LARGEST_CELL_M, SMALLEST_CELL_M = 4_000.0, 250.0
# trees of a park stand this near to each other (judgement): whoever sees one looks for the hidden one within it
NEAR_M = 150.0
# a tree of the inventory this near to one that is shown may be the same (judgement: what a phone misses by)
SHOWN_M = 15.0
# two trees of a park, or the ends of a line, are looked for within the least of these that holds them (judgement)
_REACHES_M = (50.0, 100.0, 200.0, 400.0, 800.0)
# more hidden trees than this in one park are told by nothing, and a search longer than this is given up (judgement)
MOST_TOGETHER, MOST_STEPS = 40, 500
# girth classes: edges [m] (judgement; a trunk under 0.6 m round is under 0.2 m thick, the least this program allows)
GIRTH_EDGES_M = (0.6, 1.2, 1.8)
_METRES_A_DEGREE = 111_195.0


def reach_of(part: Subject, site: Subject) -> str:
    """The widest layer a part may reach: the narrowest of what every version in force of it and its site says."""
    said = [privacy.reach(v.body["record"].get("land_status"), v.body.get("share")) for v in site.versions]
    if part is not site:
        said += [v.body["share"] for v in part.versions if "share" in v.body]
    # of what is damaged nobody knows any more how far it may go
    return max(said, key=privacy.LAYERS.index, default="officer")


def hidden_parts(parts: Iterable[Subject], site: Subject, around: Around) -> set[str]:
    """Names of the anchors and lines of a site whose place stays with the officers."""
    parts = list(parts)
    if _on_sensitive_land(site):
        return {part.id for part in parts}
    joined = around.beside(parts)
    found = {part.id for part in joined if _alone(part, around)}
    while True:
        more = set(found)
        for part in joined:
            ends = {name for version in part.versions for name in version.body.get("anchors", ())}
            # span and compass from a line's other end would lead to the place: hide both ends, and what hangs on them
            if part.kind == "line" and (part.id in found or ends & found):
                more |= {part.id, *ends}
            # the same trunk or line under another name would lead to it, whatever park that stands in
            if part.id in found:
                more.update(mate.id for mate in around.same_as(part))
        if more == found:
            return found
        found = more


def _alone(part: Subject, around: Around) -> bool:
    on_land = any(_on_sensitive_land(site) for site in around.sites(part))
    return on_land or any(_is_sensitive(version.body) for version in part.versions)


def _on_sensitive_land(site: Subject) -> bool:
    return any(v.body["record"].get("land_status") in privacy.SENSITIVE_LAND for v in site.versions)


def _is_sensitive(body: Mapping[str, Any]) -> bool:
    record = body["record"]
    return (
        bool(body.get("sensitive"))
        or body.get("share") == "officer"
        or record.get("status") in privacy.SENSITIVE_STANDING
        or (record.get("signs") or {}).get("nest_in_use") == "yes"
    )


def hidden_code(name: str) -> str:
    """The code a hidden thing goes by: the group's own may be the number on its tag. Officers find it by this one."""
    return f"{HIDDEN}{name[:8]}"


@dataclass(frozen=True)
class KnownTree:
    """A tree of an open inventory: where [deg], its genus in small letters and its girth [m], None where not known."""

    latitude: float
    longitude: float
    genus: str | None
    girth_m: float | None


@dataclass(frozen=True)
class Cell:
    """A cell of the map with the inventory's trees in it; its middle [deg] and its side [m]."""

    latitude: float
    longitude: float
    side_m: float
    trees: tuple[KnownTree, ...] = field(compare=False)


@dataclass(frozen=True)
class Told:
    """What is said of a hidden tree; each None where it would leave too few candidates."""

    cell: Cell | None = None
    genus: str | None = None
    girth_class: str | None = None


class Crowd:
    """The trees of an open inventory, among which hidden ones must stay lost.

    Parameters
    ----------
    trees : every tree of the inventory that lies on the earth
    """

    def __init__(self, trees: Iterable[KnownTree]):
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
        gone: set[KnownTree] = set()
        step = SHOWN_M / _METRES_A_DEGREE
        for place in shown:
            lon, lat = place
            along = step / max(math.cos(math.radians(lat)), 1e-3)
            keys = {_key(lat + up * step, lon + on * along, _LEVELS) for up in (-1, 0, 1) for on in (-1, 0, 1)}
            gone.update(t for key in keys for t in self._cells.get(key, ()) if _metres(t, place) <= SHOWN_M)
        left = Crowd(())
        left._cells = dict(self._cells)
        for key in {_key(t.latitude, t.longitude, level) for t in gone for level in range(_LEVELS + 1)}:
            left._cells[key] = [tree for tree in self._cells[key] if tree not in gone]
            if not left._cells[key]:
                del left._cells[key]
        return left

    def told(self, lat_deg: float, lon_deg: float, genus: str | None, girth_m: float | None) -> Told:
        """What may be said of a hidden tree at a place."""
        cell = self._cell(lat_deg, lon_deg)
        if cell is None:
            return Told()
        genera = Counter(tree.genus for tree in cell.trees)
        common = {name for name, count in genera.items() if name and count >= LEAST_CANDIDATES}
        rest = sum(count for name, count in genera.items() if name not in common)
        if genus not in common or 0 < rest < LEAST_CANDIDATES:
            # the few of rare kinds stay lost only if nobody's kind is told
            return Told(cell)
        classes = Counter(girth_class(tree.girth_m) for tree in cell.trees if tree.genus == genus)
        own = girth_class(girth_m)
        cut = own is not None and own in classes and min(classes.values()) >= LEAST_CANDIDATES
        return Told(cell, genus, own if cut else None)

    def candidates(self, told: Told) -> list[KnownTree]:
        """Trees of the inventory of which, were they hidden, the very same would be told."""
        if told.cell is None:
            # nothing is told of those alone whose largest cell holds too few
            cells = [trees for key, trees in self._cells.items() if key[0] == 0 and len(trees) < LEAST_CANDIDATES]
            return [tree for trees in cells for tree in trees]
        trees = told.cell.trees
        return [t for t in trees if self.told(t.latitude, t.longitude, t.genus, t.girth_m) == told]

    def _cell(self, lat: float, lon: float) -> Cell | None:
        key = _key(lat, lon, 0)
        if len(self._cells.get(key, ())) < LEAST_CANDIDATES:
            return None
        for level in range(1, _LEVELS + 1):
            child = _key(lat, lon, level)
            if child not in self._cells or not self._may_be_cut(key):
                break
            key = child
        return Cell(*_middle(key), LARGEST_CELL_M / 2 ** key[0], tuple(self._cells[key]))

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
    band = math.floor(lat * _METRES_A_DEGREE / LARGEST_CELL_M)
    side = LARGEST_CELL_M / 2**level
    return level, band, math.floor(lat * _METRES_A_DEGREE / side), math.floor(lon * _along(band) / side)


def _along(band: int) -> float:
    """Metres a degree of longitude in the middle of a band."""
    middle = (band + 0.5) * LARGEST_CELL_M / _METRES_A_DEGREE
    return _METRES_A_DEGREE * max(math.cos(math.radians(middle)), 1e-3)


def _middle(key: tuple[int, int, int, int]) -> tuple[float, float]:
    level, band, row, column = key
    side = LARGEST_CELL_M / 2**level
    return round((row + 0.5) * side / _METRES_A_DEGREE, 5), round((column + 0.5) * side / _along(band), 5)


def girth_class(girth_m: float | None) -> str | None:
    """The class of a girth, in words; None where it is not known."""
    if girth_m is None or not math.isfinite(girth_m):
        return None
    low = max((edge for edge in GIRTH_EDGES_M if edge <= girth_m), default=None)
    high = min((edge for edge in GIRTH_EDGES_M if edge > girth_m), default=None)
    if low is None:
        return f"under {high} m"
    return f"{low} m and more" if high is None else f"{low} m to under {high} m"


def told_of(anchor: Subject, surveys: Iterable[Mapping[str, Any]], crowd: Crowd | None) -> Told:
    """What may be said of a hidden anchor beyond the officers; nothing where no inventory is held against it.

    Parameters
    ----------
    surveys : every record of it, the oldest first
        The first that has a place tells place and girth for good: a tree read again beside the border of a cell, or
        grown past the edge of a class, would stand on that border or edge for whoever lays two copies side by side.
    """
    founding = next((record for record in surveys if reading_records.position(record)), {})
    place = reading_records.position(founding)
    if crowd is None or place is None or anchor.record.get("kind") != "tree":
        return Told()
    genus, size = reading_records.genus(founding), reading_records.girth(founding)
    told = crowd.told(place[0], place[1], genus, size[0] if size else None)
    return told if genus == reading_records.genus(anchor.record) else Told(told.cell)


def stays_lost(told: Told, crowd: Crowd, seen: Iterable[tuple[float, float]]) -> bool:
    """Whether enough candidates stand near what else of the park is shown.

    Parameters
    ----------
    seen : (longitude, latitude) of the park's trees that are shown where they stand [deg]
    """
    near = [t for t in crowd.candidates(told) if any(_metres(t, place) <= NEAR_M for place in seen)]
    return len(near) >= LEAST_CANDIDATES


def told_of_all(
    hidden: Mapping[str, tuple[Told, tuple[float, float] | None]], crowd: Crowd, places: Iterable[tuple[float, float]]
) -> dict[str, Told]:
    """What may be said of the hidden trees of one park, which is known to its readers by name: all alike or less.

    Parameters
    ----------
    hidden : what might be said of each by itself, and where it stands, (longitude, latitude) [deg]
    places : what the park's readers know of where it lies: its trees that are shown, else all of its trees

    Returns
    -------
    What was given where every tree stays lost near those places and beside each of the others; else the cells alone;
    else nothing.
    """
    places = list(places)
    cells = {name: (Told(told.cell), place) for name, (told, place) in hidden.items()}
    for tried in (hidden, cells):
        if _stay_lost_together([one for one in tried.values() if one[0].cell], crowd, places):
            return {name: told for name, (told, _) in tried.items()}
    return {name: Told() for name in hidden}


def _stay_lost_together(told: list[tuple[Told, tuple[float, float]]], crowd: Crowd, places: list) -> bool:
    """Whether of each tree five candidates are left to whoever looks for all of the park's hidden trees at once.

    A candidate counts where every other hidden tree finds one of its own beside it, all of them different and each as
    near to each as the hidden ones are: in a chain of lines a middle tree has to have both its neighbours.
    """
    may_be = {one: [t for t in _alike(one, crowd) if any(_metres(t, p) <= NEAR_M for p in places)] for one, _ in told}
    if len(told) > MOST_TOGETHER or any(len(trees) < LEAST_CANDIDATES for trees in may_be.values()):
        return False
    trees = list(dict.fromkeys(tree for some in may_be.values() for tree in some))
    number = {tree: at for at, tree in enumerate(trees)}
    domains = np.zeros((len(told), len(trees)), dtype=bool)
    for row, (one, _) in enumerate(told):
        domains[row, [number[tree] for tree in may_be[one]]] = True
    apart = _apart(trees)
    reaches = np.array([[_reach(place, other) for _, other in told] for _, place in told])
    search = _Search(domains, apart, reaches)
    return all(search.candidates(row) >= LEAST_CANDIDATES for row in range(len(told)))


class _Search:
    """Looks for ways to give every hidden tree a tree of the inventory, within reach of all the others' trees.

    Parameters
    ----------
    domains : (hidden, trees), which trees each hidden one may be
    apart : (trees, trees), distances [m]
    reaches : (hidden, hidden), how far apart two hidden ones are taken to be [m]
    """

    def __init__(self, domains: np.ndarray, apart: np.ndarray, reaches: np.ndarray):
        self._domains, self._apart, self._reaches = domains, apart, reaches
        self._steps = 0

    def candidates(self, row: int) -> int:
        """How many trees a hidden one may be beside all the others; counted up to what is asked for."""
        found = 0
        for tree in np.flatnonzero(self._domains[row]):
            self._steps = 0
            found += self._extends(self._with(self._domains, row, tree), frozenset([row]))
            if found >= LEAST_CANDIDATES:
                break
        return found

    def _with(self, domains: np.ndarray, row: int, tree: int) -> np.ndarray:
        """What is left to the others once one of them is that tree."""
        left = domains & (self._apart[tree] <= self._reaches[row][:, None])
        left[:, tree] = False
        return left

    def _extends(self, domains: np.ndarray, done: frozenset[int]) -> bool:
        rest = [row for row in range(len(domains)) if row not in done]
        if not rest:
            return True
        self._steps += 1
        counts = domains[rest].sum(axis=1)
        # what takes too long to find counts for nothing
        if self._steps > MOST_STEPS or not counts.all():
            return False
        row = rest[int(counts.argmin())]
        return any(self._extends(self._with(domains, row, t), done | {row}) for t in np.flatnonzero(domains[row]))


def _apart(trees: list[KnownTree]) -> np.ndarray:
    lat, lon = (np.array([getattr(tree, name) for tree in trees]) for name in ("latitude", "longitude"))
    east = (lon[:, None] - lon) * _METRES_A_DEGREE * np.cos(np.radians(lat))
    return np.hypot((lat[:, None] - lat) * _METRES_A_DEGREE, east)


def _alike(told: Told, crowd: Crowd) -> list[KnownTree]:
    # of any tree of a cell no more may be told than the cell, for want of neighbours
    return crowd.candidates(told) if told.genus else list(told.cell.trees)


def _reach(place: tuple[float, float], other: tuple[float, float]) -> float:
    """How far apart two trees are taken to be [m]: in steps, so that it tells next to nothing of their distance."""
    apart = _metres(KnownTree(place[1], place[0], None, None), other)
    return next(step for step in (*_REACHES_M, math.inf) if apart <= step)


def _metres(tree: KnownTree, place: tuple[float, float]) -> float:
    north = (tree.latitude - place[1]) * _METRES_A_DEGREE
    east = (tree.longitude - place[0]) * _METRES_A_DEGREE * math.cos(math.radians(place[1]))
    return math.hypot(north, east)
