"""A tape and the positions a factor of feet over metres apart: said even where loose positions could explain it.

Chance can bring two loose positions anywhere near, so no test of chance catches this slip on a short line; the factor
itself is what gives it away.
"""

from __future__ import annotations

from dataclasses import replace

from siteassess.advice.results import PairGeometry
from siteassess.units import show, si_factor

FEET_A_METRE = 1 / si_factor("length", "ft")
NEAR_THE_FACTOR = 0.10  # how near the ratio of tape to positions must come to it (judgement)


def mixed_units(geometry: PairGeometry) -> str:
    """The doubt in a sentence; empty where the ratio of tape and positions is not that of feet and metres."""
    taped, apart = geometry.taped_m, geometry.distance_m
    if not taped or not apart:
        return ""
    for factor, slip in ((1 / FEET_A_METRE, "metres written as feet"), (FEET_A_METRE, "feet written as metres")):
        if (1 - NEAR_THE_FACTOR) * factor <= taped / apart <= (1 + NEAR_THE_FACTOR) * factor:
            meant = show(taped / factor, "m", 3)
            return (f"the tape is {show(taped, 'm', 3)} and the positions lie {show(apart, 'm', 3)} apart: a "
                    f"ratio of {taped / apart:.2f}, about that of feet and metres. Feet for metres ({slip})? Then the "
                    f"span is {meant}; tape it again")  # fmt: skip
    return ""


def with_mixed_units(geometry: PairGeometry) -> PairGeometry:
    """The same geometry with the doubt among its notes, and a level that says there is one."""
    doubt = mixed_units(geometry)
    if not doubt:
        return geometry
    level = "note" if geometry.level in ("agrees", "not checked") else geometry.level
    return replace(geometry, level=level, notes=(doubt, *geometry.notes))
