"""A tape and the positions a factor of feet over metres apart: said even where loose positions could explain it.

Chance can bring two loose positions anywhere near, so no test of chance catches this slip on a short line; the factor
itself is what gives it away.
"""

from __future__ import annotations

from dataclasses import replace

from siteassess.advice.results import PairGeometry
from siteassess.reference.constants import constant
from siteassess.reference.findings import Said, said
from siteassess.units import si_factor

FEET_A_METRE = 1 / si_factor("length", "ft")
NEAR_THE_FACTOR = constant("mixed units")


def mixed_units(geometry: PairGeometry) -> Said | None:
    """The doubt; None where the ratio of tape and positions is not that of feet and metres."""
    taped, apart = geometry.taped_m, geometry.distance_m
    if not taped or not apart:
        return None
    for factor, slip in ((1 / FEET_A_METRE, "metres-written-as-feet"), (FEET_A_METRE, "feet-written-as-metres")):
        if (1 - NEAR_THE_FACTOR) * factor <= taped / apart <= (1 + NEAR_THE_FACTOR) * factor:
            return said(slip, taped=taped, apart=apart, ratio=taped / apart, meant=taped / factor)
    return None


def with_mixed_units(geometry: PairGeometry) -> PairGeometry:
    """The same geometry with the doubt among its notes, and a level that says there is one."""
    doubt = mixed_units(geometry)
    if doubt is None:
        return geometry
    level = "note" if geometry.level in ("agrees", "not checked") else geometry.level
    return replace(geometry, level=level, notes=(doubt, *geometry.notes))
