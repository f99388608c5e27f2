"""How hard a tree is to turn over, by kind: partial pooling of 267 winched trees, written to `data/anchorage.csv`.

Run from the repository's root to write the table anew: `python tests/winched_trees.py`.

Logarithms throughout. The trees of a genus scatter about their genus, the genera about all trees; a genus of few trees
leans on the others for both its middle and its scatter. The genus middles are weighed by the two variances (Paule and
Mandel 1982), the scatters by their moments (Smyth 2004), both recalled. What is written is the law of the next tree:
its scatter holds that of the middle too.
"""

from __future__ import annotations

import csv
import math
from collections.abc import Mapping
from pathlib import Path
from typing import NamedTuple

import numpy as np
from scipy.optimize import brentq
from scipy.special import digamma, polygamma

RAW = Path(__file__).parent / "published" / "data" / "winched_trees.csv"
TARGET = Path(__file__).parents[1] / "data" / "anchorage.csv"
READING = math.pi / 4
"""Whether the size divided by was d^2 h or basal area times h was not in any text we could read: the careful one."""

WINCHED = {
    "Acer": "Acer pseudoplatanus;Acer saccharinum", "Betula": "Betula pendula", "Fraxinus": "Fraxinus excelsior",
    "Fagus": "Fagus sylvatica", "Picea": "Picea abies", "Pinus": "Pinus sylvestris",
    "Platanus": "Platanus x hispanica", "Populus": "",
}  # fmt: skip
NOTES = {
    "Acer": "six sycamores and seven of a code that means silver or sugar maple",
    "Populus": "poplars of a code that names no species",
    "Platanus": "read from a code as London plane",
}
KIN_LN_SD = 0.13
"""Scatter of six pines among the turning coefficients of a published stand wind-risk model (read second hand): added
for a species of a winched genus that itself was not winched; nothing where the code stands for the whole genus."""
LEAF_TYPE = dict.fromkeys(WINCHED, "broadleaf") | {"Picea": "conifer", "Pinus": "conifer"}


class Law(NamedTuple):
    """Median [kN m/m^3 as read] and scatter [ln] of the next tree of a kind."""

    median: float
    ln_sd: float
    trees: int

    def five_percent(self) -> float:
        return self.median * math.exp(-1.6448536 * self.ln_sd)


def winched() -> dict[str, np.ndarray]:
    """Logarithms of the values read, by genus."""
    found: dict[str, list[float]] = {}
    with RAW.open(encoding="utf-8", newline="") as file:
        for row in csv.DictReader(file):
            found.setdefault(row["genus"], []).append(math.log(float(row["moment_over_size_knm_m3"])))
    return {genus: np.array(values) for genus, values in sorted(found.items())}


def pooled(trees: Mapping[str, np.ndarray]) -> dict[str, Law]:
    """The law of the next tree of each genus."""
    n = np.array([values.size for values in trees.values()], dtype=float)
    middle = np.array([values.mean() for values in trees.values()])
    variance = _leaning_variances(np.array([values.var(ddof=1) for values in trees.values()]), n - 1)
    of_middle = variance / n
    between = _between(middle, of_middle)
    weight = 1.0 / (of_middle + between)
    overall = np.sum(weight * middle) / weight.sum()
    lean = of_middle / (of_middle + between)
    centre = lean * overall + (1.0 - lean) * middle
    uncertain = (1.0 - lean) * of_middle + lean**2 / weight.sum()
    spread = np.sqrt(variance + uncertain)
    return {genus: Law(math.exp(c), float(s), int(k)) for genus, c, s, k in zip(trees, centre, spread, n)}


def together(trees: Mapping[str, np.ndarray]) -> Law:
    """All trees as if of one kind: the law of a tree of a kind that nobody winched."""
    every = np.concatenate(list(trees.values()))
    return Law(math.exp(every.mean()), float(every.std(ddof=1)), every.size)


def _leaning_variances(variance: np.ndarray, df: np.ndarray) -> np.ndarray:
    """Each variance leaning on the common one, by how far they differ more than chance lets them."""
    logs = np.log(variance) - digamma(df / 2) + np.log(df / 2)
    excess = logs.var(ddof=1) - polygamma(1, df / 2).mean()
    if excess <= 0:
        return np.full_like(variance, math.exp(logs.mean()))
    prior_df = 2 * brentq(lambda half: polygamma(1, half) - excess, 1e-3, 1e6)
    prior = math.exp(logs.mean() + digamma(prior_df / 2) - math.log(prior_df / 2))
    return (prior_df * prior + df * variance) / (prior_df + df)


def _between(middle: np.ndarray, of_middle: np.ndarray) -> float:
    """Variance of the genera about all trees."""

    def excess(between: float) -> float:
        weight = 1.0 / (of_middle + between)
        return float(np.sum(weight * (middle - np.sum(weight * middle) / weight.sum()) ** 2) - (middle.size - 1))

    return brentq(excess, 0.0, 10.0) if excess(0.0) > 0 else 0.0


def table() -> str:
    """The file, as text."""
    trees = winched()
    broadleaves = {genus: values for genus, values in trees.items() if LEAF_TYPE[genus] == "broadleaf"}
    kinds = [("any tree", "", "", "", together(trees), "for a kind that nobody winched"),
             ("any broadleaf", "", "", "broadleaf", together(broadleaves),
              "for a broadleaf that nobody winched")]  # fmt: skip
    kinds += [(genus, genus, WINCHED[genus], LEAF_TYPE[genus], law, NOTES.get(genus, ""))
              for genus, law in pooled(trees).items()]  # fmt: skip
    lines = ["name,genus,winched,leaf_type,median_knm_m3,ln_sd_value,kin_ln_sd_value,trees,source,page,flag,note"]
    for name, genus, species, leaf_type, law, note in kinds:
        kin = KIN_LN_SD if species else ""
        numbers = f"{READING * law.median:.2f},{law.ln_sd:.3f},{kin},{law.trees}"
        lines.append(f"{name},{genus},{species},{leaf_type},{numbers},hill-2024,"
                     f"terrestrial pull tests,derived,{note}")  # fmt: skip
    return "\n".join(lines) + "\n"


if __name__ == "__main__":
    TARGET.write_text(table(), encoding="utf-8")
