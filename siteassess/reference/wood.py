"""Green wood strength of a tree by species, else genus, else leaf type: what is used, and why it is careful.

References
----------
[1] Small clear green wood: rows of `wood_green`, each with its source. A species tested in several countries goes by
    the lowest, since a park tree's origin is not known.
[2] Basic density by species and genus: rows of `wood_density`; strength of green wood by density: rows of
    `wood_density_relation`.
"""

from __future__ import annotations

import math
import statistics
from dataclasses import dataclass, replace
from functools import cache
from typing import Any

from siteassess.reference.constants import constant
from siteassess.reference.findings import Said, said
from siteassess.reference.tables import FLAGS, rows

WOOD_LOW_FRACTILE = constant("wood low fractile")


@dataclass(frozen=True)
class WoodRow:
    """Green wood of one tree."""

    mor_pa: float  # bending strength of clear green wood [Pa]; careful already where it was not tested
    ln_sd: float  # scatter still to be added to ln(mor); 0 where the value is a low fractile already
    source: str
    flag: str  # the weakest of what it rests on
    rows: tuple[str, ...]  # ids of the rows of `wood_green` it rests on
    basis: Said  # what was used


def wood_of(name: str) -> WoodRow | None:
    """Wood of one species: its own tests, else its own density, else the density of its genus; None without any."""
    return tested_wood(name) or density_wood(name) or density_wood(name.split()[0])


@cache
def tested_wood(name: str) -> WoodRow | None:
    """The lowest of a species' own tests [1]_; None without one."""
    own = [row for row in rows("wood_green") if row.scientific_name == name and row.mor_mpa is not None]
    if not own:
        return None
    row = min(own, key=lambda row: row.mor_low_mpa or row.mor_mpa)
    more = [said("wood-of-whole-logs")] if row.kind == "whole log" else []
    more += [said("wood-grown-in", where=row.grown)] if row.grown else []
    more += [said("wood-lowest-of", count=len(own))] if len(own) > 1 else []
    basis = said("wood-own-row", name=row.scientific_name, more=tuple(more))
    ids = tuple(one.id for one in own)
    return WoodRow((row.mor_low_mpa or row.mor_mpa) * 1e6, 0.0, row.source, row.flag, ids, basis)


@cache
def density_wood(name: str) -> WoodRow | None:
    """A low fractile of the strength of a species or genus by its density [2]_; None where that is not listed."""
    row = _density(name)
    if row is None:
        return None
    mor = _relation(leaf_types()[name.split()[0]], "mor")
    gravity = row.basic_density_kg_m3 / 1000.0
    spread = math.hypot(mor.ln_sd_value, mor.gravity_exponent * row.ln_sd_value)
    low = math.exp(statistics.NormalDist().inv_cdf(WOOD_LOW_FRACTILE) * spread)
    values = {"density": row.basic_density_kg_m3, "fractile": WOOD_LOW_FRACTILE}
    if row.rank == "species":
        basis = said("wood-by-its-density", **values)
    else:
        basis = said("wood-by-density-of-genus", genus=name, **values)
    strength = mor.coefficient_value * gravity**mor.gravity_exponent * low * 1e6
    return WoodRow(strength, 0.0, row.source, "derived", (), basis)


@cache
def genus_wood(genus: str) -> WoodRow | None:
    """The weakest a tree of a genus may be: of its named species and of the genus by its density; None without any."""
    woods = {name: wood for name in _named(genus) if (wood := wood_of(name))}
    if own := density_wood(genus):
        woods.setdefault(f"{genus} spp.", own)
    for row in rows("wood_green"):  # species that were tested but have no name of their own here
        own_tests = row.scientific_name.split()[0] == genus and row.kind == "small clear"
        if own_tests and (tested := tested_wood(row.scientific_name)):
            woods.setdefault(row.scientific_name, tested)
    if not woods:
        return None
    name, weakest = min(woods.items(), key=lambda one: one[1].mor_pa)
    basis = said("wood-weakest-of-genus", genus=genus, count=len(woods), name=name, basis=weakest.basis)
    return replace(weakest, flag=_weakest(["derived", weakest.flag]), basis=basis)


@cache
def leaf_type_wood(leaf_type: str) -> WoodRow | None:
    """The weakest a tree known by its leaf type only may be; for 'unknown' the weaker of both; None for a palm."""
    if leaf_type == "palm":
        return None
    if leaf_type == "unknown":
        both = (leaf_type_wood("broadleaf"), leaf_type_wood("conifer"))
        return min((wood for wood in both if wood), key=lambda wood: wood.mor_pa)
    woods = _of_leaf_type(leaf_type)
    woods |= {f"{genus} spp.": wood for genus in {name.split()[0] for name in woods} if (wood := genus_wood(genus))}
    name, weakest = min(woods.items(), key=lambda one: (one[1].mor_pa, one[0]))
    basis = said("wood-weakest-of-any", kind=f"any {leaf_type}", count=len(woods), name=name, strength=weakest.mor_pa)
    return replace(weakest, source="authors-derivation", flag="derived", rows=(), basis=basis)


@cache
def untested_wood(leaf_type: str) -> WoodRow | None:
    """A low fractile of its leaf type, for a kind of which neither a test nor a density is known; None for a palm."""
    if leaf_type == "palm":
        return None
    woods = sorted(_of_leaf_type(leaf_type).values(), key=lambda wood: wood.mor_pa)
    low = woods[math.floor(WOOD_LOW_FRACTILE * (len(woods) - 1))]
    basis = said("wood-low-of-any", kind=f"any {leaf_type}", fractile=WOOD_LOW_FRACTILE, count=len(woods),
                 strength=low.mor_pa)  # fmt: skip
    return replace(low, source="authors-derivation", flag="derived", rows=(), basis=basis)


def _of_leaf_type(leaf_type: str) -> dict[str, WoodRow]:
    names = [row.scientific_name for row in rows("species") if row.rank == "species" and row.leaf_type == leaf_type]
    return {name: wood for name in names if (wood := wood_of(name))}


def _relation(leaf_type: str, quantity: str) -> Any:
    return next(row for row in rows("wood_density_relation") if row.leaf_type == leaf_type and row.quantity == quantity)


@cache
def _densities() -> dict[str, Any]:
    return {row.scientific_name: row for row in rows("wood_density")}


def _density(name: str) -> Any:
    return _densities().get(name)


@cache
def leaf_types() -> dict[str, str]:
    """Whether a genus is broadleaf, conifer or palm.

    Returns
    -------
    Kinds of leaf by genus.
    """
    return {row.genus: row.leaf_type for row in rows("species")}


def _named(genus: str) -> list[str]:
    return [row.scientific_name for row in rows("species") if row.genus == genus and row.rank == "species"]


def _weakest(flags: list[str]) -> str:
    return max(flags, key=FLAGS.index)
