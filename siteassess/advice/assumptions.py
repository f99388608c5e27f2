"""Every number of ours that the verdicts rest on, with its flag and source, for reports to print."""

from __future__ import annotations

from collections.abc import Iterable

from siteassess.advice.boulder_end import BOULDER_END_ASSUMPTIONS
from siteassess.advice.care_assumptions import care_assumptions
from siteassess.advice.crossings import crossing_assumptions
from siteassess.advice.crown import CROWN_BASE_SHARE
from siteassess.advice.judge import SUITS_UP_TO
from siteassess.advice.least_trunk import LEAST_TRUNK_ASSUMPTIONS
from siteassess.advice.line_assumptions import line_assumptions
from siteassess.advice.load_assumptions import OF_A_DROP, OF_A_HAMMOCK, OF_A_HIGH_LINE, OF_ANY_LINE
from siteassess.advice.remedies import REMEDY_ASSUMPTIONS
from siteassess.advice.results import AnchorResult, LineResult, StatedAssumption
from siteassess.advice.stood_reading import STOOD_READING_ASSUMPTIONS
from siteassess.advice.survey_age import SURVEY_AGE_ASSUMPTIONS
from siteassess.advice.tree_inputs import SPECIES_LN_SD, TREE_INPUT_ASSUMPTIONS
from siteassess.advice.trial_reading import TRIAL_ASSUMPTIONS
from siteassess.advice.wind_check import WIND_CHECK_ASSUMPTIONS
from siteassess.mechanics.allometry import ALLOMETRY_ASSUMPTIONS
from siteassess.mechanics.bark import BARK_ASSUMPTIONS
from siteassess.mechanics.boulder import BOULDER_ASSUMPTIONS
from siteassess.mechanics.decay import (
    CODER_HAZARD,
    SMILEY_FRAEDRICH_LIMIT,
    WAGENER_LIMIT,
)
from siteassess.mechanics.ground import GROUND_ASSUMPTIONS
from siteassess.mechanics.ownweight import OWN_WEIGHT_ASSUMPTIONS
from siteassess.mechanics.rootplate import ROOT_ASSUMPTIONS, SHALLOW_SOIL_FACTOR, SOIL_FACTORS
from siteassess.mechanics.roots import DIGGING_DIAMETERS, DIRECTION_CONTRAST, ROOT_STATES
from siteassess.mechanics.scatter import DIVISOR_GROUND_LINE, DIVISOR_HIGH_LINE, READING_LN_SD
from siteassess.mechanics.stem import STEM_ASSUMPTIONS
from siteassess.mechanics.stood import STOOD_ASSUMPTIONS
from siteassess.mechanics.taper import TAPER_PER_METRE, TAPER_POWER
from siteassess.mechanics.tilt import TILT_ASSUMPTIONS
from siteassess.mechanics.wind import LEAFLESS_SHARE, WIND_ASSUMPTIONS
from siteassess.reference.constants import Constant

OF_A_TREE = (
    *ROOT_ASSUMPTIONS, *SOIL_FACTORS.values(), SHALLOW_SOIL_FACTOR, DIRECTION_CONTRAST, DIGGING_DIAMETERS,
    *ROOT_STATES.values(), *GROUND_ASSUMPTIONS, *STEM_ASSUMPTIONS, TAPER_PER_METRE, TAPER_POWER,
    *OWN_WEIGHT_ASSUMPTIONS, *WIND_ASSUMPTIONS, *BARK_ASSUMPTIONS, *READING_LN_SD.values(), *SPECIES_LN_SD.values(),
    *TREE_INPUT_ASSUMPTIONS, SUITS_UP_TO, *LEAST_TRUNK_ASSUMPTIONS, *WIND_CHECK_ASSUMPTIONS, CROWN_BASE_SHARE,
)  # fmt: skip
OF_A_HOLLOW = (WAGENER_LIMIT, CODER_HAZARD, SMILEY_FRAEDRICH_LIMIT)  # the sound wall's limit is the stem's own
FILLED_IN = ("height-filled", "crown-width-taken")  # codes of sizes taken from city trees
FALLS_FROM_HEIGHT = ("high line", "aerial equipment")


def assumptions_of(lines: Iterable[LineResult]) -> tuple[StatedAssumption, ...]:
    """What the verdicts of some lines rest on; the groups that did not bear on any are left out."""
    lines = tuple(lines)
    ends = [end for line in lines for end in line.anchors]
    used = [*_of_loads(lines), *_of_trees([end for end in ends if end.kind == "tree"])]
    used += [*_of_ties(lines), *line_assumptions(lines), *(SURVEY_AGE_ASSUMPTIONS if lines else ())]
    used += crossing_assumptions([met for line in lines for met in line.extra.get("crossings", ())])
    if any(end.kind == "boulder" for end in ends):
        used += [*BOULDER_ASSUMPTIONS, *BOULDER_END_ASSUMPTIONS]
    if any(remedy.field in ("tie height", "standing tension", "walker", "span", "guy")
           for end in ends for remedy in end.remedies):  # fmt: skip
        used += REMEDY_ASSUMPTIONS
    return tuple({one.name: stated(one) for one in used}.values())


def _of_ties(lines: tuple[LineResult, ...]) -> list[Constant]:
    tied = [line.use for line in lines if any(end.protection for end in line.anchors)]
    return care_assumptions(tied) if tied else []


def _of_loads(lines: tuple[LineResult, ...]) -> list[Constant]:
    if not any(end.loads for line in lines for end in line.anchors):
        return []
    uses = {line.use for line in lines}
    used = list(OF_ANY_LINE)
    if "high line" in uses:
        used += OF_A_HIGH_LINE
    if "hammock" in uses:
        used += OF_A_HAMMOCK
    if uses & {"trick line", "aerial equipment"}:
        used += OF_A_DROP
    if uses & set(FALLS_FROM_HEIGHT):
        used.append(DIVISOR_HIGH_LINE)
    if uses - set(FALLS_FROM_HEIGHT):
        used.append(DIVISOR_GROUND_LINE)
    return used


def _of_trees(ends: list[AnchorResult]) -> list[Constant]:
    if not ends:
        return []
    told = [finding for end in ends for finding in end.findings]
    used = list(OF_A_TREE)
    if any(one.code in FILLED_IN for finding in told for one in (finding, *finding.more)):
        used += ALLOMETRY_ASSUMPTIONS
    if any(finding.about == "hollow" for finding in told):
        used += OF_A_HOLLOW
    if any(finding.about == "wind stood" for finding in told):
        used += [*STOOD_ASSUMPTIONS, *STOOD_READING_ASSUMPTIONS, LEAFLESS_SHARE]
    if any(end.trial_load for end in ends) or any(finding.about == "trial load" for finding in told):
        used += [*TILT_ASSUMPTIONS, *TRIAL_ASSUMPTIONS]
    return used


def stated(one: Constant) -> StatedAssumption:
    """A constant as reports print it."""
    return StatedAssumption(one.name, one.told(), one.flag, one.note)
