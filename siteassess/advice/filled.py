"""Sizes nobody read, filled by published allometry at a careful fractile; always told, and lowering the evidence.

Tables of forest-grown trees overstate a park tree's height, so the height is scaled down and taken low; the crown,
which catches wind, is taken wide.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from siteassess.mechanics.allometry import (
    HEIGHT_LN_SD,
    curtis_arney_height,
    filled_height,
    london_plane_height,
)
from siteassess.reference.species import SpeciesMatch
from siteassess.reference.tables import rows

LONDON_PLANE = "Platanus x hispanica"
CROWN_PER_HEIGHT = 0.7  # width of a crown over the tree's height where nothing better is known (judgement, wide)


@dataclass(frozen=True)
class FilledHeight:
    height: float  # [m]
    ln_sd: float
    basis: str

    def sentence(self) -> str:
        return f"tree height not read; a low {self.height:.0f} m is filled in for the figures ({self.basis})"


def filled_height_of(match: SpeciesMatch, diameter: float) -> FilledHeight | None:
    """A careful height for a species and diameter [m]; None where no diameter is known."""
    if not math.isfinite(diameter):
        return None
    if match.accepted == LONDON_PLANE:
        height = float(filled_height(london_plane_height(diameter), 1.0))
        basis = "street trees of London plane, McPherson et al. 2016"
    else:
        rows_used, basis = _rows_for(match)
        forest = [float(curtis_arney_height(diameter, float(row.height_p2), float(row.height_p3), float(row.height_p4)))
                  for row in rows_used]  # fmt: skip
        height = float(filled_height(min(forest))) if forest else math.nan
    if not math.isfinite(height):
        return None
    return FilledHeight(height, HEIGHT_LN_SD.value, basis)


def crown_width_of(match: SpeciesMatch, diameter: float) -> float | None:
    """A wide crown for a tree whose crown was not paced [m]; from the filled height's table."""
    filled = filled_height_of(match, diameter)
    if filled is None:
        return None
    # the filled height is low by design: turn back to the middle before making it wide
    return CROWN_PER_HEIGHT * filled.height * math.exp(1.28 * filled.ln_sd)


def _rows_for(match: SpeciesMatch):
    table = rows("allometry")
    for named, basis in ((match.accepted, "its own row"), (match.genus, f"genus {match.genus}, the lowest")):
        own = [row for row in table if row.scientific_name == named] if named else []
        if not own and named == match.genus and named:
            own = [row for row in table if row.scientific_name.split(" ")[0] == named]
        if own:
            return own, f"forest trees, {basis} of the Southern variant overview, Keyser 2008"
    return table, "the lowest of all rows of the Southern variant overview, Keyser 2008"
