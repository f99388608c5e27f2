"""The crown as the wind sees it: its area and the height the wind acts at, and which of its sizes nobody read."""

from __future__ import annotations

import math
from dataclasses import dataclass

from siteassess.advice.filled import crown_width_of
from siteassess.advice.tree_inputs import TreeInputs
from siteassess.mechanics.wind import crown_area, crown_centre
from siteassess.reference.constants import constant
from siteassess.reference.findings import Said, said

CROWN_BASE_SHARE = constant("crown base share")


@dataclass(frozen=True)
class Crown:
    area: float  # frontal, in still air [m^2]
    centre: float  # above ground [m]
    leaf_type: str
    note: Said | None = None  # which size was taken, and from where; None where the width was read

    @property
    def guessed(self) -> bool:
        return self.note is not None


def crown_of(tree: TreeInputs) -> Crown | None:
    """The crown, careful where it was not read: wide, and of a high tree; None where nothing is known of it."""
    height = tree.height_high
    if not math.isfinite(height):
        return None
    width, note = tree.crown_width, None
    if not (math.isfinite(width) and width > 0):  # a crown of no width was not paced
        found = crown_width_of(tree.species, tree.root_diameter)
        if found is None:
            return None
        width, note = found[0], said("crown-width-taken", width=found[0], basis=found[1])
    base = min(tree.crown_base if math.isfinite(tree.crown_base) else CROWN_BASE_SHARE.value * height, height)
    leaf = tree.species.leaf_type
    return Crown(float(crown_area(width, height - base, leaf)), float(crown_centre(base, height, leaf)), leaf, note)
