"""Green wood strength of a tree by species, else genus, else leaf type: what is used, and why it is careful.

References
----------
[1] Wood Handbook (2010), tables 5-3a and 5-11a: green strength by species, and by density (rows of `wood_green`
    and `wood_density_relation`, each with its flag).
[2] Share of crushing in bending strength: 5 to 95 % of 124 rows of `wood_green` lie at 0.40 to 0.52 (derived).
"""

from __future__ import annotations

import math
import statistics
from collections.abc import Iterable
from dataclasses import dataclass, replace
from functools import cache

from siteassess.reference.tables import FLAGS, rows

CRUSHING_SHARE_HIGH = 0.52
"""95 % value of crushing over bending strength [2]: dividing by it gives a low bending strength (derived)."""
CRUSHING_LN_SD = 0.10
LOW_FRACTILE = 0.10
"""Fractile of the leaf type's rows that stands for a tree known by its leaf type only (judgement)."""


@dataclass(frozen=True)
class WoodRow:
    """Green wood of one tree.

    Attributes
    ----------
    mor_pa : float
        Bending strength of clear green wood [Pa].
    mor_low_pa : float
        Lowest value among the rows it rests on [Pa].
    moe_pa, crushing_pa, density_kg_m3 : float or None
        Stiffness [Pa], crushing along the grain [Pa], oven-dry mass over green volume [kg/m3]. The density of a
        leaf type is low on purpose: do not weigh a tree with it.
    ln_sd : float
        Scatter that the fallback adds to ln(mor).
    source, flag : str
        Source id and the weakest flag of what it rests on.
    rows : tuple of str
        Ids of the rows of `wood_green` it rests on.
    basis : str
        What was used, in a sentence.
    """

    mor_pa: float
    mor_low_pa: float
    moe_pa: float | None
    crushing_pa: float | None
    density_kg_m3: float | None
    ln_sd: float
    source: str
    flag: str
    rows: tuple[str, ...]
    basis: str


@cache
def species_wood(row_id: str) -> WoodRow:
    """Wood of a species that has its own row; from its crushing strength where no bending strength is listed."""
    row = _by_id()[row_id]
    if row.mor_mpa is not None:
        basis = f"its own row ({row.scientific_name}{', whole logs' if row.kind == 'whole log' else ''})"
        return _wood(row.mor_mpa, row.mor_low_mpa or row.mor_mpa, [row], 0.0, row.flag, basis)
    from_crushing = row.crushing_mpa / CRUSHING_SHARE_HIGH
    genus = genus_wood(row.scientific_name.split()[0])
    if genus.mor_pa < from_crushing * 1e6:
        return replace(genus, basis=f"{genus.basis}; its own crushing strength would give {from_crushing:.0f} MPa")
    basis = f"worked out from its crushing strength ({row.crushing_mpa:g} MPa over {CRUSHING_SHARE_HIGH})"
    flag = _weakest(["derived", row.flag])
    return _wood(from_crushing, from_crushing, [row], CRUSHING_LN_SD, flag, basis)


@cache
def genus_wood(genus: str) -> WoodRow | None:
    """Median over the species of a genus; None where no species of it has a row."""
    bending = _bending_by_species(genus)
    own = [row for row in rows("wood_green") if row.scientific_name.split()[0] == genus]
    if not bending:
        bending = {row.scientific_name: row.crushing_mpa / CRUSHING_SHARE_HIGH for row in own if row.crushing_mpa}
    if not bending:
        return None
    used = [row for row in own if row.scientific_name in bending]
    spread = _pooled_ln_sd()
    value, low = statistics.median(bending.values()), min(bending.values())
    one = f"the one species listed, {used[0].scientific_name}"
    many = f"median of {len(bending)} species" if len(bending) > 1 else one
    basis = f"genus {genus}: {many}, lowest {low:.0f} MPa"
    return _wood(value, low, used, spread, _weakest(["derived", *(row.flag for row in used)]), basis)


@cache
def leaf_type_wood(leaf_type: str) -> WoodRow | None:
    """A low fractile for a tree known by its leaf type only; for 'unknown' the lower of both; None for a palm."""
    if leaf_type == "palm":
        return None
    if leaf_type == "unknown":
        return min((leaf_type_wood("broadleaf"), leaf_type_wood("conifer")), key=lambda wood: wood.mor_pa)
    kind = [row for row in rows("wood_green") if row.leaf_type == leaf_type]
    density = _fractile(row.basic_density_kg_m3 for row in kind if row.basic_density_kg_m3)
    by_density = _from_density(leaf_type, "mor", density)
    among_rows = _fractile(row.mor_mpa for row in kind if row.mor_mpa)
    low = min(by_density, among_rows)
    basis = (
        f"any {leaf_type}: {LOW_FRACTILE:.0%} fractile, from the density relation at {density:.0f} kg/m3"
        f" ({by_density:.0f} MPa) and from the rows ({among_rows:.0f} MPa), the lower"
    )
    return WoodRow(
        low * 1e6,
        min(row.mor_mpa for row in kind if row.mor_mpa) * 1e6,
        _from_density(leaf_type, "moe", density) * 1e9,
        _from_density(leaf_type, "crushing", density) * 1e6,
        density,
        0.0,
        "wood-handbook-2010",
        "memory",
        (),
        basis,
    )


def _from_density(leaf_type: str, quantity: str, density: float) -> float:
    relation = next(
        row for row in rows("wood_density_relation") if row.leaf_type == leaf_type and row.quantity == quantity
    )
    return relation.coefficient_value * (density / 1000.0) ** relation.gravity_exponent


def _wood(mor: float, low: float, used: list, ln_sd: float, flag: str, basis: str) -> WoodRow:
    return WoodRow(
        mor * 1e6,
        low * 1e6,
        _median(row.moe_gpa for row in used if row.moe_gpa is not None and row.kind != "living wood list") or (
            _median(row.moe_gpa for row in used if row.moe_gpa is not None)
        ),
        _median((row.crushing_mpa for row in used if row.crushing_mpa is not None), 1e6),
        _median((row.basic_density_kg_m3 for row in used if row.basic_density_kg_m3 is not None), 1.0),
        ln_sd,
        used[0].source,
        flag,
        tuple(row.id for row in used),
        basis,
    )


def _median(values: Iterable[float], scale: float = 1e9) -> float | None:
    found = list(values)
    return statistics.median(found) * scale if found else None


def _fractile(values: Iterable[float]) -> float:
    """Low fractile by linear interpolation (the 10 % one: first of ten)."""
    return statistics.quantiles(values, n=round(1.0 / LOW_FRACTILE), method="inclusive")[0]


def _weakest(flags: list[str]) -> str:
    return max(flags, key=FLAGS.index)


@cache
def _by_id() -> dict:
    return {row.id: row for row in rows("wood_green")}


def _bending_by_species(genus: str) -> dict[str, float]:
    """Lowest listed bending strength of each species of a genus [MPa]; whole logs and grade groups left out."""
    bending: dict[str, float] = {}
    for row in rows("wood_green"):
        if row.scientific_name.split()[0] == genus and row.mor_mpa is not None and row.kind == "small clear":
            name = row.scientific_name
            bending[name] = min(row.mor_mpa, bending.get(name, math.inf))
    return bending


@cache
def _pooled_ln_sd() -> float:
    """Scatter of ln(bending strength) between species of one genus, pooled over genera with three or more."""
    genera = {row.scientific_name.split()[0] for row in rows("wood_green")}
    squares, freedom = 0.0, 0
    for genus in genera:
        logs = [math.log(value) for value in _bending_by_species(genus).values()]
        if len(logs) >= 3:
            squares += statistics.variance(logs) * (len(logs) - 1)
            freedom += len(logs) - 1
    return math.sqrt(squares / freedom)
