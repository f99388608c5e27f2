"""Sizes nobody read, filled from city trees at a careful fractile; always told, and lowering the evidence.

One low height stands for what the root plate holds, and one high height for what leans and catches wind; the crown is
taken wide. A tree known by its genus alone, or not at all, is taken as the least kind it may be.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cache, lru_cache
from typing import Any

import numpy as np
from numpy.typing import ArrayLike

from siteassess.advice.finding import Finding, found
from siteassess.mechanics.allometry import HIGH_FRACTILE, LOW_FRACTILE, filled_size
from siteassess.mechanics.scatter import READING_LN_SD
from siteassess.records.anchor import Tree
from siteassess.reference.findings import Said, said
from siteassess.reference.species import SpeciesMatch
from siteassess.reference.tables import rows
from siteassess.reference.wood import leaf_types

HEIGHT_HOW = {"measured": "measured", "copied": "copied", "estimated": "estimated", "unknown": "estimated"}


@dataclass(frozen=True)
class FilledHeight:
    """A height that was filled in: low for the root plate, high for lean and wind [m]."""

    height: float
    high: float
    basis: Said


def filled_height_of(match: SpeciesMatch, diameter: float) -> FilledHeight | None:
    """A careful low and high height for a species and diameter [m]; None where no usable diameter is known."""
    low, high, basis = _filled(match, "height", diameter)
    if not (math.isfinite(low) and math.isfinite(high)):
        return None
    return FilledHeight(low, high, basis)


def low_heights_of(match: SpeciesMatch, diameters: np.ndarray) -> np.ndarray:
    """The low heights of `filled_height_of` for many trees of one kind at once [m].

    Parameters
    ----------
    match : the kind, as `find_species` found it
    diameters : at breast height, shape (n,) [m]
    """
    return _edges("height", _fits_for(match, "height")[0], diameters)[0]


def crown_width_of(match: SpeciesMatch, diameter: float) -> tuple[float, Said] | None:
    """A wide crown for a tree whose crown was not paced [m], and what it rests on; None where nothing is known."""
    _, width, basis = _filled(match, "crown", diameter)
    return (width, basis) if math.isfinite(width) else None


# what to look at first, and what mends a line, ask for the same few trunks some hundred times
@lru_cache(maxsize=4096)
def _filled(match: SpeciesMatch, quantity: str, diameter: float) -> tuple[float, float, Said]:
    """The lowest low and the highest high of a tree [m], and what they rest on."""
    used, basis = _fits_for(match, quantity)
    low, high = _edges(quantity, used, diameter)
    return float(low), float(high), basis


def _edges(quantity: str, used: tuple[Any, ...], diameters: ArrayLike) -> tuple[np.ndarray, np.ndarray]:
    """The lowest low and the highest high of some fits [m]."""
    low, high = (
        [filled_size(quantity, diameters, row.coefficient_value, row.exponent, row.ln_sd_value, fractile.value)
         for row in used]
        for fractile in (LOW_FRACTILE, HIGH_FRACTILE)
    )  # fmt: skip
    return np.min(low, axis=0), np.max(high, axis=0)


@cache
def _fits_for(match: SpeciesMatch, quantity: str) -> tuple[tuple[Any, ...], Said]:
    """Rows of the table that stand for a tree, and what they are.

    A named species goes by its own fit, else by its genus, else by its leaf type; a genus or a leaf type alone by all
    the fits of what it may be, so that naming a tree less never fills it more kindly.
    """
    table = [row for row in rows("allometry") if row.quantity == quantity]
    of_genus = [row for row in table if match.genus and row.name.split(" ")[0] == match.genus]
    own = [row for row in of_genus if row.rank == "species" and row.name == match.accepted]
    genus = [row for row in of_genus if row.rank == "genus"]
    leaf_type = match.leaf_type if match.leaf_type in ("broadleaf", "conifer") else "unknown"
    if own:
        return tuple(own), said("filled-by-own-kind")
    if of_genus:
        used = (genus or of_genus) if match.matched_by != "genus" else of_genus
        return tuple(used), said("filled-by-genus", genus=match.genus)
    known = leaf_type != "unknown"
    if match.genus:
        any_of = said("filled-by-leaf-type", leaf=leaf_type) if known else said("filled-by-any-kind")
        return tuple(row for row in table if row.name == leaf_type), any_of
    every = said("filled-by-every-of-leaf-type", leaf=leaf_type) if known else said("filled-by-every-kind")
    return tuple(row for row in table if not known or _leaf_type(row) == leaf_type), every


def _leaf_type(row: Any) -> str:
    return row.name if row.rank == "leaf type" else leaf_types().get(row.name.split(" ")[0], "unknown")


def height_of(
    tree: Tree, match: SpeciesMatch, diameter: float, told: list[Finding], missing: list[str]
) -> tuple[float, float, FilledHeight | None]:
    """Height of a tree, read or the low one filled in [m], its scatter [ln], and what was filled in."""
    if tree.height is not None:
        return tree.height.si, READING_LN_SD["height", HEIGHT_HOW[tree.height_how]].value, None
    missing.append("tree height")
    filled = filled_height_of(match, diameter)
    if filled is None:
        return math.nan, math.nan, None
    told.append(found("height-filled", "suits", looked_at=False, low=filled.height, high=filled.high,
                      basis=filled.basis))  # fmt: skip
    return filled.height, READING_LN_SD["height", "filled"].value, filled
