"""Outlines of parks, as anybody finds them on a map: in which of them a hidden tree is looked for.

Of a hidden tree members know the park, by its name. Who holds the park's outline beside the inventory strikes out every
tree that stands elsewhere, so these are no candidates.
"""

from __future__ import annotations

from collections.abc import Iterable
from functools import lru_cache
from pathlib import Path

import numpy as np
import shapely

from siteassess.errors import refused
from siteassess.places.exchange import Place
from siteassess.places.features import PlacedFeature
from siteassess.places.geodesy import LocalFrame
from siteassess.places.surroundings import read_surroundings
from siteassess.reference.constants import constant
from siteassess.reference.findings import worded
from siteassess.register.crowd import SHOWN_M, KnownTree

# a tree of the inventory counts where it stands this far inside at least (judgement): maps draw one park's edge some
# metres apart, so that a tree nearer to it stands outside by another map
EDGE_M = constant("park edge")
# the register rounds where a copy showed a tree to 1e-5 deg, which moves it by less than this (derived: 0.8 m)
ROUNDED_M = 1.0


class Outlines:
    """Outlines of parks, to which the trees of a site belong by where they stand.

    Parameters
    ----------
    parks : one polygon or several for each park, in (longitude, latitude) on WGS84
    """

    def __init__(self, parks: Iterable[PlacedFeature]):
        parks = list(parks)
        self._drawn, self._wider, self._narrower = (
            shapely.STRtree([_wider_by(park, by_m) for park in parks]) for by_m in (ROUNDED_M, SHOWN_M, -EDGE_M)
        )
        self._of = lru_cache(maxsize=10_000)(self._parks_of)

    def hold(self, places: tuple[Place, ...]) -> bool:
        """Whether some outline holds any of the places, (longitude, latitude) [deg]."""
        return bool(self._of(places))

    def within(self, places: tuple[Place, ...], trees: list[KnownTree]) -> list[KnownTree]:
        """Trees that stand well inside the park which these places of it show; all of them where no outline does.

        Parameters
        ----------
        places : what readers know of where the park lies, (longitude, latitude) [deg]
        """
        parks = self._of(places)
        if not parks or not trees:
            return trees
        inside = _held(self._narrower, [(tree.longitude, tree.latitude) for tree in trees])
        return [tree for at, tree in enumerate(trees) if any(same <= inside[at] for same in parks)]

    def _parks_of(self, places: tuple[Place, ...]) -> list[frozenset[int]]:
        """The outlines that hold the places, as few as hold most; of those that hold the same places all together.

        A park within a park holds what readers may take for the whole of it, so a tree has to stand in both. One that
        strayed over the edge of its park, no farther than a phone misses by, opens no other.
        """
        drawn, wider = _held(self._drawn, places), _held(self._wider, places)
        left = set(range(len(places)))
        found: list[frozenset[int]] = []
        while True:
            held: dict[int, tuple[set[int], set[int]]] = {}
            for at in left:
                for park in wider[at] | drawn[at]:
                    about, truly = held.setdefault(park, (set(), set()))
                    about.add(at)
                    truly |= {at} if park in drawn[at] else set()
            if not held:
                return found
            about, truly = max((held[park] for park in sorted(held)), key=lambda one: (len(one[0]), len(one[1])))
            found.append(frozenset(park for park, one in held.items() if one[0] >= about and one[1] >= truly))
            left -= about


def _held(outlines: shapely.STRtree, places: Iterable[Place]) -> list[set[int]]:
    """For each place the outlines it stands in."""
    places = list(places)
    found: list[set[int]] = [set() for _ in places]
    for at, park in outlines.query(shapely.points(np.reshape(places, (-1, 2))), predicate="intersects").T:
        found[at].add(int(park))
    return found


def _wider_by(park: PlacedFeature, by_m: float) -> shapely.Geometry:
    """An outline grown or shrunk on all sides, in (longitude, latitude) [deg]."""
    west, south, east, north = park.geometry.bounds
    frame = LocalFrame((south + north) / 2, (west + east) / 2)
    grown = park.in_metres(frame).buffer(by_m)
    return shapely.transform(grown, lambda xy: np.column_stack(frame.to_degrees(xy[:, 0], xy[:, 1])[::-1]))


def read_outlines(path: str | Path) -> Outlines:
    """Outlines of parks from a map file: what its tags call a park, else every outline that is nothing else known.

    Parameters
    ----------
    path : of a map file

    Raises
    ------
    FaultyInput : a file that `read_surroundings` refuses, or without an outline of a park
    """
    for kind in ("", "park"):
        parks = [
            feature
            for feature in read_surroundings(path, kind=kind).features
            if feature.kind == "park" and feature.geometry.geom_type in ("Polygon", "MultiPolygon")
        ]
        if parks:
            return Outlines(parks)
    raise refused(Path(path).name, worded("the-park"), worded("read-no-outline"), worded("want-outlines"))
