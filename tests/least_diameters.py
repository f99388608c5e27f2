"""Least trunk diameters that pass, by pull, tie height, tree height and soil, as a table in Markdown.

Run from the repository's root to write it anew: `python tests/least_diameters.py`. The tree is a broadleaf of unknown
species, sound, upright, taped and measured, on level ground with all its roots; the line hangs near the ground. Pulls
are the level part of the hardest case. Wind, bark and rules of the place are not in it.
"""

from __future__ import annotations

import math
import sys
from dataclasses import replace
from pathlib import Path

import numpy as np

sys.path.insert(0, str(Path(__file__).parent))

from parks import record  # noqa: E402

from siteassess.advice.end_loads import LEAST_TRUNK  # noqa: E402
from siteassess.advice.hold import Pulls, root_limits, stem_limits  # noqa: E402
from siteassess.advice.judge import SUITS_UP_TO  # noqa: E402
from siteassess.advice.tree_inputs import TreeInputs, tree_inputs  # noqa: E402

TARGET = Path(__file__).parent / "published" / "least_diameters.md"
DIAMETERS = np.round(np.arange(0.20, 0.801, 0.01), 2)
HEIGHTS, TIES = (6.0, 10.0, 15.0, 20.0, 25.0), (0.5, 1.0, 1.5, 2.0, 2.5)
PULLS_KN = (1.5, 3.0, 4.5, 6.0, 9.0, 12.0)
SOILS = {"firm": "firm and moist", "wet": "wet, or not looked at", "saturated": "saturated"}
DIVISOR = 1.5

HEAD = """# Least trunk diameters that pass

Written by `tests/least_diameters.py`; a test writes it again and compares.

Each cell: the least diameter in cm for which stem and root plate use no more than 60 % of what we allow (no trial
load asked for), and, after the stroke, the least that uses no more than all of it (trial load and a watched base). A
dash: none up to 80 cm. A broadleaf of unknown species, sound, upright, taped and measured, on level ground with all its
roots; a line near the ground. Pulls are the level part of the hardest case at one anchor. Wind, bark and the rules of
the place are not in it. No cell is under 20 cm, where we say leave it; under 30 cm the land manager or an arborist must
agree too.

Where a row stands still at 25 cm (20 m) or 32 cm (25 m), the tree is too slender for the model below that. A tree lower
than 25 diameters that fails by its roots alone ends in "cannot say", since the model underrates squat trees.

Public rules ask for 30 to 46 cm whatever the pull, the tie and the tree's height. Where a cell asks for more than
46 cm, those rules would let pass what we do not; where it asks for less than 30 cm, they are the stricter.
"""


def tree_of(diameter: float, height: float, soil: str) -> TreeInputs:
    """A plain tree of one size."""
    made = record({"T1.species": {"name": "unknown", "certainty": "guess", "leaf_type": "broadleaf"}})
    plain = tree_inputs(made.anchor("T1"), 1.0)
    return replace(plain, diameter=diameter, root_diameter=diameter, height=height, height_high=height, soil=soil,
                   bark_thick=0.05 * diameter)  # fmt: skip


def passing(height: float, soil: str) -> dict[float, np.ndarray]:
    """For 60 and 100 % of what we allow: least diameter by pull and tie [m], NaN where none passes."""
    pull, tie = (grid.ravel() for grid in np.meshgrid(np.array(PULLS_KN) * 1e3, TIES, indexing="ij"))
    pulls = Pulls.single(("",) * pull.size, pull, 90.0, tie, 0.2)
    plain, used = tree_of(0.4, height, soil), []
    for diameter in DIAMETERS:
        tree = replace(plain, diameter=diameter, root_diameter=diameter, bark_thick=0.05 * diameter)
        found = (stem_limits(tree, pulls, DIVISOR)[0], root_limits(tree, pulls, DIVISOR)[0])
        used.append(np.max([np.where(one.refused, np.inf, one.use).max(axis=1) for one in found], axis=0))
    by_diameter = np.array(used)
    return {share: _least(by_diameter <= share) for share in (SUITS_UP_TO, 1.0)}


def _least(passes: np.ndarray) -> np.ndarray:
    least = np.where(passes.any(axis=0), DIAMETERS[passes.argmax(axis=0)], math.nan)
    return least.reshape(len(PULLS_KN), len(TIES))


def table() -> str:
    """The whole page."""
    parts = [HEAD]
    for soil, words in SOILS.items():
        found = {height: passing(height, soil) for height in HEIGHTS}
        parts += [f"## Soil {words}\n", "| pull | tie | " + " | ".join(f"tree {h:g} m" for h in HEIGHTS) + " |",
                  "|---:|---:|" + "---:|" * len(HEIGHTS)]  # fmt: skip
        for i, pull in enumerate(PULLS_KN):
            for j, tie in enumerate(TIES):
                cells = [" / ".join(_cm(found[h][share][i, j]) for share in (SUITS_UP_TO, 1.0)) for h in HEIGHTS]
                parts.append(f"| {pull:g} kN | {tie:g} m | " + " | ".join(cells) + " |")
        parts.append("")
    return "\n".join(parts)


def _cm(diameter: float) -> str:
    return "-" if math.isnan(diameter) else f"{max(diameter, LEAST_TRUNK) * 100:.0f}"


if __name__ == "__main__":
    TARGET.write_text(table(), encoding="utf-8")
