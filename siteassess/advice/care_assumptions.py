"""The numbers that the plan for skin and feet rests on, with their flags, for reports to print."""

from __future__ import annotations

from collections.abc import Iterable

from siteassess.advice.movement import PLACED_BY_EYE_M
from siteassess.advice.padding_plan import PAD_END_SPARE_M, PAD_LEAST_HEIGHT_M, PAD_OVER_SLING, PAD_THICKNESS_M
from siteassess.advice.rootzone_plan import PEOPLE_HALF_WIDTH_M
from siteassess.advice.sling_inputs import USUAL_LINK_RADII
from siteassess.advice.wrap_plan import ACROSS_THE_GRAIN, BETTER_ANGLE_DEG, SLIDES_OVER
from siteassess.mechanics.assumptions import Assumption
from siteassess.mechanics.linkmove import FELT_SLIDE, NEAREST_WALK, SIDE_PUSH, STRENGTH_PER_WIDTH, STRETCH_AT_BREAK
from siteassess.reference.tables import rows

OF_A_TIE = (
    Assumption("height of a pad over the width of the strands", PAD_OVER_SLING, 1.0, 3.0, "", "read",
               "Cologne association, tree page"),
    Assumption("least height of a pad", PAD_LEAST_HEIGHT_M, 0.20, 0.30, "m", "read", "City of Madison, ten inches"),
    Assumption("least thickness of a pad", PAD_THICKNESS_M, 0.005, 0.010, "m", "read",
               "Madison and Boulder, a quarter of an inch"),
    Assumption("pad beyond the contact at each end", PAD_END_SPARE_M, 0.05, 0.20, "m", "judgement", "ours"),
    Assumption("how far off a pad placed by eye sits", PLACED_BY_EYE_M, 0.01, 0.05, "m", "judgement", "ours"),
    Assumption("angle of the legs to aim for", BETTER_ANGLE_DEG, 45.0, 90.0, "deg", "derived",
               "each leg then carries 0.58 of the pull; 120 is the limit of sling tables (read)"),
    Assumption("share of friction that creep may use unheld", SLIDES_OVER, 0.3, 0.7, "", "judgement", "ours"),
    Assumption("bond of bark along the stem over that across", ACROSS_THE_GRAIN, 1.2, 2.0, "", "read",
               "oak, Vilkovsky and others 2022, abstract"),
    Assumption("distance of a link not planned, in trunk radii", USUAL_LINK_RADII, 2.0, 4.0, "", "judgement", "ours"),
    Assumption("half the width people take up under a line", PEOPLE_HALF_WIDTH_M, 1.0, 3.0, "m", "judgement", "ours"),
    FELT_SLIDE, NEAREST_WALK, STRETCH_AT_BREAK, STRENGTH_PER_WIDTH,
)  # fmt: skip

OF_A_STRAP = ("strap on bark", "strap on carpet")  # pairs of the table `friction`


def care_assumptions(uses: Iterable[str]) -> list[Assumption]:
    """What the plans of some ties rest on, by the uses of their lines."""
    pairs = [row for row in rows("friction") if row.pair in OF_A_STRAP]
    friction = [
        Assumption(f"friction, {row.pair}", row.value, row.low, row.high, "", row.flag, row.note) for row in pairs
    ]
    return [*OF_A_TIE, *friction, *(SIDE_PUSH[use] for use in sorted(set(uses)))]
