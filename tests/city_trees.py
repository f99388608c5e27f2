"""Fits height and crown width of city trees on trunk diameter, and how often they miss trees of a region left out.

`python -m tests.city_trees` writes data/allometry.csv anew.

Raw trees (published/data/city_trees_ts3.csv.gz): McPherson, van Doorn and Peper 2016, Urban tree database,
RDS-2016-0005, table TS3 (public domain; read in a public copy, TedwardErker/allo at 37123fd): every tree but palms from
5 cm with a height, 17 climate regions of the US. `by_lot` marks 1,200 of 0.20 m and more, drawn by lot from the fifth
that `data/size_rules.csv` was not derived from.

A tree weighs less where its region measured many of its kind, so that no region or genus speaks for the rest. The
scatter of a fit is that of trees about it, and that of regions about each other, for a region that was not measured.
"""

from __future__ import annotations

import csv
import sys
from functools import cache
from pathlib import Path

import numpy as np
import pandas as pd

from siteassess.errors import UnknownName
from siteassess.mechanics.allometry import HIGH_FRACTILE, LOW_FRACTILE, filled_size
from siteassess.reference.locate import data_folder
from siteassess.reference.species import find_species

RAW = Path(__file__).parent / "published" / "data" / "city_trees_ts3.csv.gz"
QUANTITIES = {"height": "height_m", "crown": "crown_m"}
LEAST_TREES = 20  # of a kind, for a fit of its own
MANY_TREES = 8  # from here on more trees of a cell weigh no more
SIZES_M = (0.05, 0.15, 0.30, 0.45, 0.60, 4.0)


@cache
def raw() -> pd.DataFrame:
    """The raw trees with the names the program goes by."""
    trees = pd.read_csv(RAW)
    known = {name: _accepted(name) for name in trees.species.unique()}
    trees["kind"] = trees.species.map(known)
    trees["genus"] = trees.species.str.split().str[0]
    trees["d"] = trees.diameter_cm / 100.0
    trees["by_lot"] = trees.by_lot == "yes"
    return trees


def _accepted(name: str) -> str:
    try:
        match = find_species(name)
    except UnknownName:
        return ""
    return match.accepted if match.matched_by in ("species", "synonym") else ""


def _line(x, y, weight):
    design = np.column_stack([np.ones_like(x), x]) * np.sqrt(weight)[:, None]
    return np.linalg.lstsq(design, y * np.sqrt(weight), rcond=None)[0]


def _cells(cells: np.ndarray):
    _, which, count = np.unique(cells, return_inverse=True, return_counts=True)
    return which, count


def _fit(x, y, cells):
    """Coefficients, residuals, weights, cells and the variance within a cell."""
    which, count = _cells(cells)
    weight = 1.0 / np.maximum(count, MANY_TREES)[which]
    line = _line(x, y, weight)
    rest = y - line[0] - line[1] * x
    mean = np.bincount(which, rest) / count
    within = ((rest - mean[which]) ** 2).sum() / max(len(x) - len(count) - 1, 1)
    return line, rest, weight, which, count, mean, within


def between_regions(trees: pd.DataFrame, column: str) -> float:
    """Variance of ln between regions for one species, by moments over species measured in several."""
    total, freedom = 0.0, 0
    for _, own in trees[trees.kind != ""].groupby("kind"):
        own = own[own.groupby("region").d.transform("size") >= MANY_TREES]
        if own.region.nunique() < 2:
            continue
        _, rest, _, which, count, mean, _ = _fit(np.log(own.d.values), np.log(own[column].values), own.region.values)
        within = np.bincount(which, (rest - mean[which]) ** 2) / (count - 1)
        total += ((mean - mean.mean()) ** 2).sum() - (within / count).mean() * (len(count) - 1)
        freedom += len(count) - 1
    return total / freedom


def fits(trees: pd.DataFrame, column: str) -> dict[tuple[str, str], tuple]:
    """(rank, name) to coefficient, exponent, scatter, trees, regions, least and greatest diameter."""
    trees = trees[trees[column] > 0]
    regional = between_regions(trees, column)
    found = {}
    for rank, by in (("species", "kind"), ("genus", "genus")):
        for name, own in trees[trees[by] != ""].groupby(by):
            if len(own) < LEAST_TREES:
                continue
            cells = own.region if rank == "species" else own.region + own.species
            line, rest, weight, _, count, _, within = _fit(np.log(own.d.values), np.log(own[column].values),
                                                           cells.values.astype(str))  # fmt: skip
            several = 1.0 + 1.0 / len(count)
            spread = within + regional * several
            if rank == "genus":
                spread = max(spread, (weight * rest**2).sum() / weight.sum() * several)
            found[rank, name] = _row(line, spread, own)
    for name, own in [*trees.groupby("leaf_type"), ("unknown", trees)]:
        x, y = np.log(own.d.values), np.log(own[column].values)
        which, count = _cells((own.region + own.genus).values.astype(str))
        weight = 1.0 / np.maximum(count, MANY_TREES)[which] / own.groupby("genus").region.transform("nunique").values
        line = _line(x, y, weight)
        found["leaf type", name] = _row(line, (weight * (y - line[0] - line[1] * x) ** 2).sum() / weight.sum(), own)
    return found


def _row(line, variance, own):
    return (float(np.exp(line[0])), float(line[1]), float(np.sqrt(variance)), len(own), own.region.nunique(),
            own.d.min(), own.d.max())  # fmt: skip


def misses(column: str, quantity: str) -> pd.DataFrame:
    """Each raw tree beside the fill made from all regions but its own: whether it misses low or high."""
    trees = raw()[raw()[column] > 0]
    parts = []
    for region in trees.region.unique():
        table = fits(trees[trees.region != region], column)
        own = trees[trees.region == region].copy()
        used = [_used(table, row) for row in own[["kind", "genus", "leaf_type"]].itertuples(index=False)]
        own["rank"] = [rank for rank, _ in used]
        a, b, s = np.array([row[:3] for _, row in used]).T
        own["z"] = (np.log(own[column]) - np.log(a) - b * np.log(own.d)) / s
        low, high = (filled_size(quantity, own.d.values, a, b, s, fractile.value)
                     for fractile in (LOW_FRACTILE, HIGH_FRACTILE))  # fmt: skip
        own["low"], own["high"] = own[column] < low, own[column] > high
        parts.append(own)
    found = pd.concat(parts)
    found["size"] = pd.cut(found.d, SIZES_M, right=False)
    return found


def _used(table, row):
    for key in (("species", row.kind), ("genus", row.genus), ("leaf type", row.leaf_type)):
        if key in table:
            return key[0], table[key]
    raise AssertionError(row)


def write() -> None:
    header = ["name", "rank", "quantity", "coefficient_value", "exponent", "ln_sd_value", "trees", "regions",
              "diameter_low_m", "diameter_high_m", "source", "page", "flag", "note"]  # fmt: skip
    lines = []
    for quantity, column in QUANTITIES.items():
        for (rank, name), (a, b, s, trees, regions, least, most) in fits(raw(), column).items():
            lines.append([name, rank, quantity, f"{a:.3f}", f"{b:.4f}", f"{s:.4f}", trees, regions, f"{least:.2f}",
                          f"{most:.2f}", "mcpherson-2016", "table TS3, raw trees", "derived", ""])  # fmt: skip
    with (data_folder() / "allometry.csv").open("w", encoding="utf-8", newline="") as file:
        csv.writer(file, lineterminator="\n").writerows([header, *sorted(lines)])


if __name__ == "__main__":
    sys.exit(write())
