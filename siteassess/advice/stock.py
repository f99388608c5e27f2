"""A packing list held against what a group owns: has, lacks, and what nobody can tell.

A piece is what its whole name says, by the table `owned_names`: what bears another name is told, not counted.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from functools import cache

import numpy as np
from scipy.sparse import csr_array
from scipy.sparse.csgraph import maximum_bipartite_matching

from siteassess.advice.packing import PackItem
from siteassess.records.owned import Owned, OwnedItem
from siteassess.reference.findings import English, Said, said
from siteassess.reference.names import folded
from siteassess.reference.tables import rows

HAIR = 1e-6
RATED = ("sling", "rope", "link", "rigging")
BY_SIZE = ("sling", "rope", "link", "pad", "slat", "tie")


@dataclass(frozen=True)
class Stock:
    """One row of the packing list beside what is owned."""

    item: PackItem
    has: int
    lacks: int
    from_owned: tuple[str, ...]
    noted: tuple[Said, ...] = ()
    notes = English("noted")

    def told(self) -> Said:
        """The row with what is there of it."""
        notes = (said("in-brackets", told=self.noted),) if self.noted else ()
        values = {"row": self.item.told(), "has": self.has, "notes": notes}
        return said("stock-lacks", lacks=self.lacks, **values) if self.lacks else said("stock-has", **values)


def held_against(items: Iterable[PackItem], owned: Owned) -> tuple[Stock, ...]:
    """How many of each row are there, every piece used once and so that as many rows as can be are filled.

    Parameters
    ----------
    items : iterable of PackItem
        The packing list.
    owned : Owned
        The group's gear.

    Notes
    -----
    A piece fills a row if it is of the kind and at least as long, wide and thick; a piece whose size was not written
    down fills none. The pieces are dealt out by a greatest matching, so that a long sling is not spent on a short
    tie that another would fill.
    """
    wants = tuple(items)
    wanted = [index for index, item in enumerate(wants) for _ in range(item.count)]
    pieces = [index for index, own in enumerate(owned.owned) for _ in range(own.count)]
    dealt = _dealt(wants, wanted, owned.owned, pieces)
    return tuple(_stock(index, item, dealt, owned.owned) for index, item in enumerate(wants))


def _dealt(
    wants: tuple[PackItem, ...], wanted: list[int], owned: tuple[OwnedItem, ...], pieces: list[int]
) -> list[tuple[int, int]]:
    """Pairs of (row, owned entry) of a greatest matching; the scarcest pieces are offered last."""
    if not wanted or not pieces:
        return []
    fits = np.array([[_fits(wants[row], owned[piece]) for piece in pieces] for row in wanted], dtype=np.int8)
    match = maximum_bipartite_matching(csr_array(fits), perm_type="column")
    return [(row, pieces[found]) for row, found in zip(wanted, match) if found >= 0]


def _fits(item: PackItem, own: OwnedItem) -> bool:
    if item.kind != own.kind or _unknown(item, own):
        return False
    sizes = ((item.length_m, own.length), (item.width_m, own.width), (item.thickness_m, own.thickness))
    if any(need is not None and have is not None and have.si < need - HAIR for need, have in sizes):
        return False
    return _named_alike(item, own)


def _unknown(item: PackItem, own: OwnedItem) -> tuple[str, ...]:
    """Sizes that matter for a row and were not written down."""
    sizes = (("length", item.length_m, own.length), ("width", item.width_m, own.width),
             ("thickness", item.thickness_m, own.thickness))  # fmt: skip
    return tuple(name for name, need, have in sizes if need is not None and have is None)


def _named_alike(item: PackItem, own: OwnedItem) -> bool:
    """Whether a piece bears a whole name of what is wanted, or the very name the plan gives its own piece.

    Where the size alone tells a piece, one without a name is as good as its kind.
    """
    if own.what is None:
        return item.kind in BY_SIZE
    meant = _means().get((own.kind, folded(own.what)), frozenset())
    return own.kind in meant or not meant.isdisjoint(_wanted(item)) or folded(own.what) in map(folded, _typed(item))


@cache
def _means() -> dict[tuple[str, str], frozenset[str]]:
    """What a name means, by the kind of gear it is listed as."""
    found: dict[tuple[str, str], frozenset[str]] = {}
    for row in rows("owned_names"):
        for name in row["names"]:
            at = row["kind"], folded(name)
            found[at] = found.get(at, frozenset()) | frozenset(row["means"])
    return found


def _wanted(item: PackItem) -> set[str]:
    """The kinds of things that a row asks for: its code, its own kind of gear, the material of a pad."""
    of = _piece(item)
    return {item.thing.code, *(str(value) for name, value in of.values if name in ("kind", "material"))}


def _typed(item: PackItem) -> list[str]:
    """The name somebody gave a piece of the plan."""
    return [str(value) for name, value in _piece(item).values if name == "name"]


def _piece(item: PackItem) -> Said:
    piece = dict(item.thing.values).get("piece")
    return piece if isinstance(piece, Said) else item.thing


def not_counted(owned: Owned) -> tuple[Said, ...]:
    """What is owned under a name of no known kind, which no row of any list counts.

    Parameters
    ----------
    owned : the group's gear

    Returns
    -------
    Codes, each with the name as it was written.
    """
    names = dict.fromkeys(own.what for own in owned.owned
                          if own.what is not None and (own.kind, folded(own.what)) not in _means())  # fmt: skip
    return tuple(said("owned-of-no-kind", name=name) for name in names)


def _stock(index: int, item: PackItem, dealt: list[tuple[int, int]], owned: tuple[OwnedItem, ...]) -> Stock:
    used = [piece for row, piece in dealt if row == index]
    has = len(used)
    notes = []
    if item.kind in RATED and any(owned[piece].rating is None for piece in used):
        notes.append(said("strength-not-written-down"))
    if has < item.count:
        vague = {name for own in owned if own.kind == item.kind for name in _unknown(item, own)}
        if vague:
            notes.append(said("owned-without-a-size", sizes=tuple(sorted(vague))))
    named = tuple(dict.fromkeys(_named(owned[piece]) for piece in used))
    return Stock(item, has, item.count - has, named, tuple(notes))


def _named(own: OwnedItem) -> str:
    sizes = " x ".join(size.text for size in (own.length, own.width, own.thickness) if size is not None)
    return " ".join(part for part in (own.what or own.kind, sizes) if part)
