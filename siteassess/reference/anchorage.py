"""How hard a kind of tree is to turn over: which winched trees stand for it.

[1] Detter, Rust and Krisans 2023, Forests 14(3):533: 267 trees winched over, the greatest moment over the tree's size,
read off their figure by Hill, Bennion and Lovelock 2024, Ecol. Eng. 203:107259 (derived; table `anchorage`).
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import lru_cache
from typing import Any

from siteassess.reference.findings import Said, said
from siteassess.reference.species import SpeciesMatch
from siteassess.reference.tables import rows

FIVE_PERCENT = 1.6448536  # standard normal deviate that 5 % lie below


@dataclass(frozen=True)
class Anchorage:
    """Turning moment over diameter squared times height, for the next tree of a kind."""

    moment_per_d2h: float  # median [N m/m^3]
    ln_sd: float  # scatter [ln]
    trees: int  # how many winched trees it rests on
    basis: Said  # which they are
    may_be: tuple[Anchorage, ...] = ()  # the kinds it may be, where nobody is sure of one

    @property
    def five_percent(self) -> float:
        """Value that 95 of 100 exceed [N m/m^3]."""
        return self.moment_per_d2h * math.exp(-FIVE_PERCENT * self.ln_sd)


@lru_cache(maxsize=4096)
def anchorage_of(match: SpeciesMatch, guessed: bool = False) -> Anchorage:
    """The winched trees that stand for a tree.

    Parameters
    ----------
    match : what its name was taken to mean
    guessed : whether the name was a guess; it then earns no more than a kind that nobody winched

    Notes
    -----
    A winched genus takes its own row; any other named kind takes the row of all broadleaves or of all trees. A tree
    that nobody named gets the lowest median and the lowest 5 % value of every kind it may be, so that leaving out the
    name never helps.
    """
    if not match.genus:
        return _lowest(_may_be(match.leaf_type))
    own = _own(match)
    return _lowest((own, _pool(match.leaf_type))) if guessed else own


def anchorage_of_any() -> Anchorage:
    """All winched trees as one kind: for a sum that asks of no kind at all."""
    return _pool("")


def _own(match: SpeciesMatch) -> Anchorage:
    for row in rows("anchorage"):
        if row.genus and row.genus == match.genus:
            species = row.winched.split(";") if row.winched else []
            return _of(row, kin=match.accepted not in species)
    return _pool(match.leaf_type)


def _pool(leaf_type: str) -> Anchorage:
    """All broadleaves for a broadleaf; else all trees, since two genera of conifers say nothing of a third."""
    pools = {row.leaf_type: row for row in rows("anchorage") if not row.genus}
    return _of(pools.get(leaf_type, pools[""]))


def _may_be(leaf_type: str) -> tuple[Anchorage, ...]:
    """Every kind a tree may be of which only the leaf type is known, if that."""
    kinds = [row for row in rows("anchorage") if row.genus and leaf_type in (row.leaf_type, "unknown", "palm")]
    return (_pool(leaf_type), *(_of(row, kin=True) for row in kinds))


def _lowest(kinds: tuple[Anchorage, ...]) -> Anchorage:
    """The lowest median with the lowest 5 % value; the scatter follows from the two."""
    median, least = min(k.moment_per_d2h for k in kinds), min(kinds, key=lambda k: k.five_percent)
    ln_sd = math.log(median / least.five_percent) / FIVE_PERCENT
    basis = least.basis if len(set(kinds)) == 1 else said("anchorage-weakest", basis=least.basis)
    return Anchorage(median, ln_sd, least.trees, basis, kinds)


def _of(row: Any, kin: bool = False) -> Anchorage:
    """A row's law; of a species that only is kin of the winched one it scatters more."""
    extra = (row.kin_ln_sd_value or 0.0) if kin else 0.0
    what = (row.name,) if extra or not row.winched else tuple(row.winched.split(";"))
    basis = said("winched-trees", count=row.trees, kinds=what)
    return Anchorage(1e3 * row.median_knm_m3, math.hypot(row.ln_sd_value, extra), int(row.trees), basis)
