"""Every number of ours that the verdicts rest on, with its flag and source, for reports to print."""

from __future__ import annotations

from collections.abc import Iterable

from siteassess.advice.results import LineResult, StatedAssumption
from siteassess.mechanics import loadcases
from siteassess.mechanics.allometry import ALLOMETRY_ASSUMPTIONS
from siteassess.mechanics.assumptions import Assumption
from siteassess.mechanics.bark import BARK_ASSUMPTIONS
from siteassess.mechanics.boulder import BOULDER_ASSUMPTIONS
from siteassess.mechanics.ground import GROUND_ASSUMPTIONS
from siteassess.mechanics.ownweight import OWN_WEIGHT_ASSUMPTIONS
from siteassess.mechanics.rootplate import ROOT_ASSUMPTIONS, SOIL_FACTORS
from siteassess.mechanics.roots import DIGGING_DIAMETERS, DIRECTION_CONTRAST, ROOT_STATES
from siteassess.mechanics.scatter import DIVISOR_GROUND_LINE, DIVISOR_HIGH_LINE
from siteassess.mechanics.stem import STEM_ASSUMPTIONS
from siteassess.mechanics.taper import TAPER_PER_METRE
from siteassess.mechanics.wind import WIND_ASSUMPTIONS

MEASURED = "three measured lines of one walker, Volery, undated web article"

_LOADS = (
    Assumption("rigging peak over standing tension", loadcases.RIGGING_PEAK, 1.1, 1.4, "", "judgement", "lock-off slip"),
    Assumption("walked case over the exact statics", loadcases.WALKED, 1.1, 1.3, "", "derived", MEASURED),
    Assumption("bounced over walked", loadcases.BOUNCED, 1.42, 1.6, "", "derived", MEASURED),
    Assumption("leash fall over walked", loadcases.LEASH_FALL, 1.71, 2.0, "", "derived", MEASURED),
    Assumption("stiffness in a quick pull over the slow one", loadcases.QUICK_STIFFNESS, 1.0, 2.0, "", "derived", MEASURED),
    Assumption("an unnamed walker", 100.0, 80.0, 120.0, "kg", "judgement", "agreed model"),
    Assumption("scatter of a tension read off a load cell", loadcases.SCATTER_LOAD_CELL, 0.05, 0.15, "ln", "judgement",
               "agreed model"),
    Assumption("scatter of an estimated tension", loadcases.SCATTER_ESTIMATE, 0.15, 0.35, "ln", "judgement", "agreed model"),
)

def assumptions_of(lines: Iterable[LineResult]) -> tuple[StatedAssumption, ...]:
    """What the verdicts of some lines rest on; the groups that did not bear on any are left out."""
    lines = tuple(lines)
    kinds = {end.kind for line in lines for end in line.anchors}
    used: list[Assumption] = list(_LOADS) if any(end.loads for line in lines for end in line.anchors) else []
    used.append(DIVISOR_HIGH_LINE if any(line.use in ("high line", "aerial equipment") for line in lines)
                else DIVISOR_GROUND_LINE)  # fmt: skip
    if "tree" in kinds:
        used += [*ROOT_ASSUMPTIONS, *SOIL_FACTORS.values(), DIRECTION_CONTRAST, DIGGING_DIAMETERS, *ROOT_STATES.values(),
                 *GROUND_ASSUMPTIONS, *STEM_ASSUMPTIONS, TAPER_PER_METRE, *OWN_WEIGHT_ASSUMPTIONS, *WIND_ASSUMPTIONS,
                 *BARK_ASSUMPTIONS]  # fmt: skip
        if any("filled" in reason for line in lines for end in line.anchors for reason in end.reasons):
            used += ALLOMETRY_ASSUMPTIONS
    if "boulder" in kinds:
        used += BOULDER_ASSUMPTIONS
    return tuple(stated(assumption) for assumption in used)


def stated(assumption: Assumption) -> StatedAssumption:
    """An assumption as reports print it."""
    unit = f" {assumption.unit}" if assumption.unit else ""
    value = f"{assumption.value:g}{unit} (plausible {assumption.low:g} to {assumption.high:g})"
    return StatedAssumption(assumption.name, value, assumption.flag, assumption.source)
