"""The numbers that the plan for skin and feet rests on, with their flags, for reports to print."""

from __future__ import annotations

from collections.abc import Iterable

from siteassess.advice.movement import PLACED_BY_EYE_M
from siteassess.advice.padding_plan import PAD_END_SPARE_M, PAD_LEAST_HEIGHT_M, PAD_OVER_SLING, PAD_THICKNESS_M
from siteassess.advice.rootzone_plan import PEOPLE_HALF_WIDTH_M
from siteassess.advice.sling_inputs import USUAL_LINK_RADII
from siteassess.advice.wrap_plan import ACROSS_THE_GRAIN, BETTER_ANGLE_DEG, SLIDES_OVER
from siteassess.mechanics.linkmove import FELT_SLIDE, NEAREST_WALK, SIDE_PUSH, STRENGTH_PER_WIDTH, STRETCH_AT_BREAK
from siteassess.reference.constants import Constant
from siteassess.reference.tables import rows

OF_A_TIE = (
    PAD_OVER_SLING, PAD_LEAST_HEIGHT_M, PAD_THICKNESS_M, PAD_END_SPARE_M, PLACED_BY_EYE_M, BETTER_ANGLE_DEG,
    SLIDES_OVER, ACROSS_THE_GRAIN, USUAL_LINK_RADII, PEOPLE_HALF_WIDTH_M, FELT_SLIDE, NEAREST_WALK,
    STRETCH_AT_BREAK, STRENGTH_PER_WIDTH,
)  # fmt: skip
OF_A_STRAP = ("strap on bark", "strap on carpet")  # pairs of the table `friction`


def care_assumptions(uses: Iterable[str]) -> list[Constant]:
    """What the plans of some ties rest on, by the uses of their lines."""
    pairs = [row for row in rows("friction") if row.pair in OF_A_STRAP]
    friction = [
        Constant(row.value, name=f"friction, {row.pair}", low=row.low, high=row.high, unit="", flag=row.flag,
                 note=row.note) for row in pairs
    ]
    return [*OF_A_TIE, *friction, *(SIDE_PUSH[use] for use in sorted(set(uses)))]
