"""The packing list held against what a group owns: has, lacks, and what nobody can tell for want of a size."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np
from scipy.sparse import csr_array
from scipy.sparse.csgraph import maximum_bipartite_matching

from siteassess.advice.packing import PackItem
from siteassess.records.owned import Owned, OwnedItem
from siteassess.reference.findings import English, Said, said
from siteassess.reference.languages import languages

HAIR = 1e-6
RATED = ("sling", "rope", "link", "rigging")


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
    rows = tuple(items)
    wanted = [index for index, item in enumerate(rows) for _ in range(item.count)]
    pieces = [index for index, own in enumerate(owned.owned) for _ in range(own.count)]
    dealt = _dealt(rows, wanted, owned.owned, pieces)
    return tuple(_stock(index, item, dealt, owned.owned) for index, item in enumerate(rows))


def _dealt(rows, wanted: list[int], owned: tuple[OwnedItem, ...], pieces: list[int]) -> list[tuple[int, int]]:
    """Pairs of (row, owned entry) of a greatest matching; the scarcest pieces are offered last."""
    if not wanted or not pieces:
        return []
    fits = np.array([[_fits(rows[row], owned[piece]) for piece in pieces] for row in wanted], dtype=np.int8)
    match = maximum_bipartite_matching(csr_array(fits), perm_type="column")
    return [(row, pieces[found]) for row, found in zip(wanted, match) if found >= 0]


def _fits(item: PackItem, own: OwnedItem) -> bool:
    if item.kind != own.kind or _unknown(item, own):
        return False
    sizes = ((item.length_m, own.length), (item.width_m, own.width), (item.thickness_m, own.thickness))
    if any(need is not None and have.si < need - HAIR for need, have in sizes):
        return False
    return item.kind in ("sling", "rope", "link", "pad", "slat", "tie") or _same_thing(item.thing, own.what)


def _unknown(item: PackItem, own: OwnedItem) -> tuple[str, ...]:
    """Sizes that matter for a row and were not written down."""
    sizes = (("length", item.length_m, own.length), ("width", item.width_m, own.width),
             ("thickness", item.thickness_m, own.thickness))  # fmt: skip
    return tuple(name for name, need, have in sizes if need is not None and have is None)


def _same_thing(wanted: Said, named: str | None) -> bool:
    """Whether a thing somebody named is meant: its name holds the first telling word of ours, in any language."""
    told = [wanted.in_words(language).casefold().replace(",", "") for language in languages()]
    telling = [next((word for word in words.split() if len(word) > 2), "") for words in told]
    return bool(named) and any(word in named.casefold() for word in telling if word)


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
