"""Sizes nobody read, filled by published allometry at a careful fractile; always told, and lowering the evidence.

Tables of forest-grown trees overstate a park tree's height. So one low height stands for what the root plate holds,
and one high height for what leans and catches wind; the crown is taken wide.
"""

from __future__ import annotations

import math
import statistics
from dataclasses import dataclass

from siteassess.mechanics.allometry import (
    CROWN_FRACTILE,
    FOOT,
    HEIGHT_LN_SD,
    INCH,
    PARK_HEIGHT_SHARE,
    crown_width,
    curtis_arney_height,
    filled_crown_width,
    filled_height,
    london_plane_crown,
    london_plane_height,
)
from siteassess.mechanics.assumptions import Assumption
from siteassess.reference.species import SpeciesMatch
from siteassess.reference.tables import rows

LONDON_PLANE = "Platanus x hispanica"
HIGH_FRACTILE = CROWN_FRACTILE.value  # of a height that leans or catches wind, as of a crown
FOREST_GROWN = "01"  # crown form of forest-grown trees, which reads low for a park tree
CROWN_PER_HEIGHT = Assumption(
    "crown width over tree height where no table gives it", 0.7, 0.4, 1.0, "", "judgement", "no source; taken wide",
)  # fmt: skip


@dataclass(frozen=True)
class FilledHeight:
    """A height that was filled in: low for the root plate, high for lean and wind [m]."""

    height: float
    high: float
    ln_sd: float
    basis: str

    def sentence(self) -> str:
        return (f"tree height not read: {self.height:.0f} m is taken for the root plate and {self.high:.0f} m for lean "
                f"and wind ({self.basis})")  # fmt: skip


def filled_height_of(match: SpeciesMatch, diameter: float) -> FilledHeight | None:
    """A careful low and high height for a species and diameter [m]; None where no diameter is known."""
    if not math.isfinite(diameter):
        return None
    if match.accepted == LONDON_PLANE:
        middle = float(london_plane_height(diameter))
        low, high = filled_height(middle, 1.0), filled_height(middle, 1.0, HIGH_FRACTILE)
        basis = "street trees of London plane, McPherson et al. 2016"
    else:
        used, named = _rows_for(match)
        basis = f"forest trees of {named}"
        forest = _forest_heights(used, diameter)
        low, high = filled_height(min(forest)), filled_height(max(forest), 1.0, HIGH_FRACTILE)
    low, high = float(low), float(high)
    if not (math.isfinite(low) and math.isfinite(high)):
        return None
    return FilledHeight(low, high, HEIGHT_LN_SD.value, basis)


def crown_width_of(match: SpeciesMatch, diameter: float, height: float = math.nan) -> tuple[float, str] | None:
    """A wide crown for a tree whose crown was not paced [m], and what it rests on; None where nothing is known.

    Parameters
    ----------
    match : SpeciesMatch
        The species, as far as it was named.
    diameter : float
        Of the trunk [m].
    height : float
        Of the tree where it was read; else that of a middling park tree is taken [m].
    """
    if not math.isfinite(diameter):
        return None
    if match.accepted == LONDON_PLANE:
        width = float(filled_crown_width(london_plane_crown(diameter)))
        return (width, "street trees of London plane, McPherson et al. 2016") if math.isfinite(width) else None
    used, basis = _rows_for(match)
    if not math.isfinite(height):
        height = PARK_HEIGHT_SHARE.value * max(_forest_heights(used, diameter))
    by_height = CROWN_PER_HEIGHT.value * height
    open_grown = [] if match.genus == "" else [row for row in used if row.crown_equation and not _forest_form(row)]
    listed = [float(filled_crown_width(_crown(row, diameter))) for row in open_grown]
    known = [width for width in listed if math.isfinite(width)]
    if known:
        return statistics.median(known), f"open-grown trees of {basis}"
    forest_grown = [float(filled_crown_width(_crown(row, diameter))) for row in used if row.crown_equation]
    widest = max([by_height, *(width for width in forest_grown if math.isfinite(width))])
    return (widest, f"{CROWN_PER_HEIGHT.value:g} of the height, or more") if math.isfinite(widest) else None


def _crown(row, diameter: float) -> float:
    return float(crown_width(
        diameter, row.crown_equation[-2:], row.crown_a1, row.crown_a2, row.crown_a3 or 0.0,
        FOOT * row.crown_widest_ft if row.crown_widest_ft else math.inf,
        INCH * row.crown_diameter_limit_in if row.crown_diameter_limit_in else math.inf,
    ))  # fmt: skip


def _forest_form(row) -> bool:
    return row.crown_equation[-2:] == FOREST_GROWN


def _forest_heights(used, diameter: float) -> list[float]:
    return [float(curtis_arney_height(diameter, row.height_p2, row.height_p3, row.height_p4)) for row in used]


def _rows_for(match: SpeciesMatch):
    """Rows of the table that stand for a species, and what they are; all rows where not even its genus is in."""
    table = rows("allometry")
    own = [row for row in table if row.scientific_name == match.accepted]
    genus = [row for row in table if match.genus and row.scientific_name.split(" ")[0] == match.genus]
    if own:
        return own, "its own row, Keyser 2008"
    if genus:
        return genus, f"the genus {match.genus}, Keyser 2008"
    return table, "every kind in Keyser 2008"
