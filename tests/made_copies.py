"""Registers of an invented group made by chance, copied for members again and again while they change, and whoever
holds all of these copies beside the inventory, who looks for the hidden trees.

The search reads the written files with nothing of this program but the words of its girth classes.
"""

from __future__ import annotations

import datetime
import json
import math
from collections.abc import Callable
from random import Random

from tree_inventories import apart, metres

from siteassess.register import actions, map_files
from siteassess.register.copies import remember
from siteassess.register.crowd import TREE_NEAR_M, Crowd, KnownTree, girth_class
from siteassess.register.share import Copy, make_copy
from siteassess.register.store import Store

ON = datetime.date(2026, 11, 28)
BY = actions.By("Ada (invented)", "for the test")


class History:
    """A register that changes, and what its members were handed so far.

    Parameters
    ----------
    trees : the inventory; every tree of the register is one of it
    """

    def __init__(self, store: Store, trees: list[KnownTree], chance: Random, number: str = ""):
        self.store, self.trees, self.chance, self.number = store, trees, chance, number
        self.crowd = Crowd(trees)
        # what a record takes as a girth
        self.grown = [tree for tree in trees if 0.1 <= (tree.girth_m or 0.0) <= 15.0]
        # by park: code, tree, whether hidden; the pairs of codes with a line between them
        self.parks: list[dict[str, list]] = []
        self.lines: list[set[tuple[str, str]]] = []
        self.by_name: dict[str, tuple[str, KnownTree]] = {}
        self.copies: list[list[dict]] = []
        self.made: list[Copy] = []

    def near(self, tree: KnownTree) -> list[KnownTree]:
        """Trees not listed yet near one, those of its kind first: the worst neighbours to show."""
        listed = {one for _, one in self.by_name.values()}
        near = [t for t in self.grown if t not in listed and apart(t, tree) <= TREE_NEAR_M]
        return sorted(near, key=lambda t: (t.genus != tree.genus, girth_class(t.girth_m) != girth_class(tree.girth_m)))

    def survey(self, at: int) -> None:
        """Write a park down as it is now."""
        park = self.parks[at]
        anchors = [
            {
                "kind": "tree", "code": code, "species": {"name": tree.genus or "unknown", "certainty": "sure"},
                "position": {"fixes": [{"lat": tree.latitude, "lon": tree.longitude, "accuracy": "3 m"}]},
                "trunk": [{"girth": f"{tree.girth_m:.4f} m", "read_at": "1.37 m"}],
                "signs": {"nest_in_use": "yes" if hidden else "no"},
            }
            for code, (tree, hidden) in park.items()
        ]  # fmt: skip
        lines = [{"id": f"{a}-{b}", "use": "low line", "a": {"anchor": a}, "b": {"anchor": b}}
                 for a, b in sorted(self.lines[at])]  # fmt: skip
        record = {
            "siteassess_record": 1, "site": {"name": f"Invented park {self.number}{at}", "land_status": "mown amenity"},
            "survey": {"by": "Ada", "date": "2026-04-18"}, "anchors": anchors, "lines": lines,
        }  # fmt: skip
        with self.store.change() as writer:
            names = actions.add_record(writer, record, BY)
        self.by_name |= {names[f"anchor {code}"]: (f"{self.number}{at}", tree) for code, (tree, _) in park.items()}

    def found(self) -> None:
        """A new park: near one that is there, or anywhere."""
        first = self.chance.choice(self.grown)
        if self.by_name and self.chance.random() < 0.5:
            first = next(iter(self.near(self.chance.choice(list(self.by_name.values()))[1])), first)
        beside = [t for t in self.near(first) if t is not first]
        trees = [first, *self.chance.sample(beside, min(len(beside), self.chance.choice((0, 1, 2, 3))))]
        self.parks.append({f"T{n}": [tree, self.chance.random() < 0.5] for n, tree in enumerate(trees)})
        self.lines.append({("T0", "T1")} if len(trees) > 1 and self.chance.random() < 0.4 else set())
        self.survey(len(self.parks) - 1)

    def step(self) -> None:
        """Something happens to a park."""
        at = self.chance.randrange(len(self.parks))
        park, what = self.parks[at], self.chance.random()
        if what < 0.55:
            beside = self.near(self.chance.choice(list(park.values()))[0])
            for tree in beside[: self.chance.choice((1, 1, 2, 4))]:
                park[f"T{len(park)}"] = [tree, self.chance.random() < 0.15]
        elif what < 0.85:
            one = self.chance.choice(list(park.values()))
            one[1] = not one[1]
        else:
            return self.found()
        return self.survey(at)

    def copy(self, **said) -> Copy:
        """Hand a copy to the members."""
        said = {"crowd": self.crowd, **said}
        copied = make_copy(self.store, "members", ON, **said)
        # as `write_copy` does, without waiting for the disk
        remember(self.store, copied, "Ada")
        self.copies.append(json.loads(map_files.geojson(copied))["features"])
        self.made.append(copied)
        return copied

    def run(self, steps: int = 6) -> None:
        self.found()
        self.copy()
        for _ in range(steps):
            self.step()
            chance = self.chance.random()
            if chance < 0.1:
                self.copy(crowd=None)
            elif chance < 0.2:
                sites = self.store.db.execute("SELECT subject FROM sites ORDER BY name").fetchall()
                self.copy(sites=self.chance.choice(sites))
            elif chance < 0.8:
                self.copy()


def candidates(
    copies: list[list[dict]], history: History, struck: Callable[[list], Callable[[KnownTree], bool]] | None = None
) -> dict[str, list[KnownTree]]:
    """Of each tree that was hidden in every copy, and told of in one: which of the inventory it may be.

    `struck` says of the places of a park, (longitude, latitude) [deg], which trees whoever looks strikes out.
    """
    anchors = [[f for f in copied if f["properties"]["feature"] == "anchor"] for copied in copies]
    exact = [f for copied in anchors for f in copied if f["properties"]["exact"] == "yes" and f["geometry"]]
    known = {tuple(f["geometry"]["coordinates"]) for f in exact}
    shown = {f["id"] for f in exact}
    unknown = [t for t in history.trees if not any(math.hypot(*metres(t, lat, lon)) < 1 for lon, lat in known)]
    left: dict[str, list[KnownTree]] = {}
    told: set[str] = set()
    for copied in anchors:
        for about in copied:
            if about["id"] in shown:
                continue
            said = about["properties"]
            of_park = [f for f in copied if f["properties"]["site_id"] == said["site_id"]]
            beside = [f["geometry"]["coordinates"] for f in of_park if f["id"] in shown and f in exact]
            # where a park lies is known by its name
            trees = [history.by_name[f["id"]][1] for f in of_park]
            beside = beside or [(tree.longitude, tree.latitude) for tree in trees]
            some = left.get(about["id"], unknown)
            some = [t for t in some if any(math.hypot(*metres(t, lat, lon)) <= TREE_NEAR_M for lon, lat in beside)]
            if struck is not None:
                out = struck(beside)
                some = [t for t in some if not out(t)]
            if about["geometry"]:
                told.add(about["id"])
                lon, lat = about["geometry"]["coordinates"]
                # half a side and a hair, for cells narrow towards the pole
                half = said["accuracy_m"] / 2**0.5 * 1.005
                some = [t for t in some if all(abs(m) <= half for m in metres(t, lat, lon))]
            some = [t for t in some if said.get("species", "").lower() in ("", t.genus)]
            some = [t for t in some if said.get("girth_class") in (None, girth_class(t.girth_m))]
            left[about["id"]] = some
    return {name: _beside_the_others(name, left, told, history) for name in sorted(told)}


def _beside_the_others(name: str, left: dict, told: set[str], history: History) -> list[KnownTree]:
    """Those beside which each other tree told of in the park finds a place of its own, as far off as it stands."""
    at, tree = history.by_name[name]
    others = [(left[other], apart(tree, history.by_name[other][1])) for other in told - {name}
              if history.by_name[other][0] == at]  # fmt: skip
    steps = (50.0, 100.0, 200.0, 400.0, 800.0)
    reached = [(some, next(step for step in steps if far <= step)) for some, far in others]
    return [t for t in left[name] if all(any(o is not t and apart(o, t) <= far for o in some) for some, far in reached)]
