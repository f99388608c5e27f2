"""Hidden trees: which they are, and what may be said of the hidden trees of a park so that nobody can trace one."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping
from typing import Any

import numpy as np
from numpy.typing import NDArray

from siteassess.records.anchor import OUT_OF_THE_ORDINARY
from siteassess.register import privacy, reading_records
from siteassess.register.crowd import LEAST_CANDIDATES, Crowd, KnownTree, Saying, TreeTold, metres
from siteassess.register.fold import Subject
from siteassess.register.naming import HIDDEN
from siteassess.register.standing import Around
from siteassess.units import DEGREE_M

# two trees of a park, or the ends of a line, are looked for within the least of these that holds them (judgement)
_REACHES_M = (50.0, 100.0, 200.0, 400.0, 800.0)
# more hidden trees than this in one park are told by nothing, and a search longer than this is given up (judgement)
MOST_TOGETHER, MOST_STEPS = 40, 500


def reach_of(part: Subject, site: Subject) -> str:
    """The widest layer a part may reach: the narrowest of what every version in force of it and its site says.

    Parameters
    ----------
    part : an anchor, a line or the site itself
    site : it stands on
    """
    said = [privacy.reach(v.body["record"].get("land_status"), v.body.get("share")) for v in site.versions]
    if part is not site:
        said += [v.body["share"] for v in part.versions if "share" in v.body]
    # of what is damaged nobody knows any more how far it may go
    return max(said, key=privacy.LAYERS.index, default="officer")


def hidden_parts(parts: Iterable[Subject], site: Subject, around: Around, also: Iterable[str] = ()) -> set[str]:
    """Names of the anchors and lines of a site whose place stays with the officers.

    Parameters
    ----------
    parts : anchors and lines of the site
    site : they stand on
    around : what stands about them
    also : names of more to hide
    """
    parts = list(parts)
    if _on_sensitive_land(site):
        return {part.id for part in parts}
    joined = around.beside(parts)
    found = set(also) | {part.id for part in joined if _alone(part, around)}
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
        or record.get("status") in OUT_OF_THE_ORDINARY
        or (record.get("signs") or {}).get("nest_in_use") == "yes"
    )


def hidden_code(name: str) -> str:
    """The code a hidden thing goes by: the group's own may be the number on its tag. Officers find it by this one.

    Parameters
    ----------
    name : of the subject
    """
    return f"{HIDDEN}{name[:8]}"


def founding_survey(surveys: Iterable[Mapping[str, Any]]) -> Mapping[str, Any]:
    """The first record of a tree that has a place, the oldest first: it tells place and girth for good.

    A tree read again beside the border of a cell, or grown past the edge of a class, would stand on that border or
    edge for whoever lays two copies side by side.
    """
    return next((record for record in surveys if reading_records.position(record)), {})


def told_of(
    anchor: Subject, founding: Mapping[str, Any], crowd: Crowd | None, earlier: Iterable[Saying] = ()
) -> TreeTold:
    """What may be said of a hidden anchor beyond the officers; nothing where no inventory is held against it.

    Parameters
    ----------
    founding : its first survey, see `founding_survey`
    earlier : what earlier copies said of it, the oldest first: said again it tells nothing new
    """
    place = reading_records.position(founding)
    if crowd is None or place is None or anchor.record.get("kind") != "tree":
        return TreeTold()
    genus, size = reading_records.genus(founding), reading_records.girth(founding)
    before = next((saying.told for saying in earlier if saying.told.cell), None)
    told = before or crowd.told(place[0], place[1], genus, size[0] if size else None)
    return told if genus == reading_records.genus(anchor.record) else TreeTold(told.cell)


def stays_lost(sayings: Iterable[Saying], crowd: Crowd) -> bool:
    """Whether enough trees are left of which all of this may have been said."""
    return len(crowd.may_be(sayings)) >= LEAST_CANDIDATES


def told_of_all(
    hidden: Mapping[str, tuple[TreeTold, tuple[float, float] | None]],
    crowd: Crowd,
    places: Iterable[tuple[float, float]],
    earlier: Mapping[str, list[Saying]] = {},  # noqa: B006
) -> dict[str, Saying]:
    """What is said of the hidden trees of one park, which is known to its readers by name: all alike or less.

    Parameters
    ----------
    hidden : what might be said of each by itself, and where it stands, (longitude, latitude) [deg]
    places : what the park's readers know of where it lies: its trees that are shown, else all of its trees
    earlier : what earlier copies said of each

    Returns
    -------
    What was given where every tree stays lost near those places, beside each of the others and after all that was
    said before; else the cells alone; else what was said before, of those alone; else nothing.
    """
    places = tuple(places)
    again = {name for name in hidden if any(saying.told.cell for saying in earlier.get(name, ()))}
    for tried in ("all", "cells", "again"):
        said = {}
        for name, (told, _) in hidden.items():
            if tried == "cells":
                told = TreeTold(told.cell)
            elif tried == "again" and name not in again:
                told = TreeTold()
            # whoever knows the rule learns nothing of it from what is only said again
            said[name] = crowd.saying(told, places, by_rule=tried == "all" and name not in again)
        if stay_lost_together({name: ([*earlier.get(name, ()), said[name]], hidden[name][1]) for name in said}, crowd):
            return said
    return {name: Saying(beside=places) for name in hidden}


def stay_lost_together(hidden: Mapping[str, tuple[list[Saying], tuple[float, float] | None]], crowd: Crowd) -> bool:
    """Whether of each tree five candidates are left to whoever looks for all of the park's hidden trees at once.

    A candidate counts where every other hidden tree finds one of its own beside it, all of them different and each as
    near to each as the hidden ones are: in a chain of lines a middle tree has to have both its neighbours.

    Parameters
    ----------
    hidden : all that was said of each, and where it stands; of whom no cell was ever told nobody looks for
    """
    said = [(list(sayings), place) for sayings, place in hidden.values() if any(s.told.cell for s in sayings)]
    may_be = [crowd.may_be(sayings) for sayings, _ in said]
    if len(said) > MOST_TOGETHER or any(len(trees) < LEAST_CANDIDATES for trees in may_be):
        return False
    trees = list(dict.fromkeys(tree for some in may_be for tree in some))
    number = {tree: at for at, tree in enumerate(trees)}
    domains = np.zeros((len(said), len(trees)), dtype=bool)
    for row, some in enumerate(may_be):
        domains[row, [number[tree] for tree in some]] = True
    reaches = np.array([[_reach(place, other) for _, other in said] for _, place in said])
    search = _Search(domains, _apart(trees), reaches)
    return all(search.candidates(row) >= LEAST_CANDIDATES for row in range(len(said)))


class _Search:
    """Looks for ways to give every hidden tree a tree of the inventory, within reach of all the others' trees.

    Parameters
    ----------
    domains : (hidden, trees), which trees each hidden one may be
    apart : (trees, trees), distances [m]
    reaches : (hidden, hidden), how far apart two hidden ones are taken to be [m]
    """

    def __init__(self, domains: NDArray[np.bool_], apart: NDArray[np.float64], reaches: NDArray[np.float64]):
        self._domains, self._apart, self._reaches = domains, apart, reaches
        self._steps = 0

    def candidates(self, row: int) -> int:
        """How many trees a hidden one may be beside all the others; counted up to what is asked for."""
        found = 0
        for tree in np.flatnonzero(self._domains[row]).tolist():
            self._steps = 0
            found += self._extends(self._with(self._domains, row, tree), frozenset([row]))
            if found >= LEAST_CANDIDATES:
                break
        return found

    def _with(self, domains: NDArray[np.bool_], row: int, tree: int) -> NDArray[np.bool_]:
        """What is left to the others once one of them is that tree."""
        left: NDArray[np.bool_] = domains & (self._apart[tree] <= self._reaches[row][:, None])
        left[:, tree] = False
        return left

    def _extends(self, domains: NDArray[np.bool_], done: frozenset[int]) -> bool:
        rest = [row for row in range(len(domains)) if row not in done]
        if not rest:
            return True
        self._steps += 1
        counts = domains[rest].sum(axis=1)
        # what takes too long to find counts for nothing
        if self._steps > MOST_STEPS or not counts.all():
            return False
        row = rest[int(counts.argmin())]
        trees = np.flatnonzero(domains[row]).tolist()
        return any(self._extends(self._with(domains, row, tree), done | {row}) for tree in trees)


def _apart(trees: list[KnownTree]) -> NDArray[np.float64]:
    lat, lon = (np.array([getattr(tree, name) for tree in trees]) for name in ("latitude", "longitude"))
    east = (lon[:, None] - lon) * DEGREE_M * np.cos(np.radians(lat))
    apart: NDArray[np.float64] = np.hypot((lat[:, None] - lat) * DEGREE_M, east)
    return apart


def _reach(place: tuple[float, float] | None, other: tuple[float, float] | None) -> float:
    """How far apart two trees are taken to be [m]: in steps, so that it tells next to nothing of their distance."""
    if place is None or other is None:
        # the survey that told where it stands was lost
        return math.inf
    apart = metres(KnownTree(place[1], place[0], None, None), other)
    return next(step for step in (*_REACHES_M, math.inf) if apart <= step)
