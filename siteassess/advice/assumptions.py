"""What nobody said of a line is taken and told; and every number of ours that answers rest on, for reports to print."""

from __future__ import annotations

import math
from collections.abc import Iterable
from typing import Literal

import shapely

from siteassess.advice.crossings import LineCrossings, crossing_assumptions
from siteassess.advice.end_kinds import KIND_ASSUMPTIONS
from siteassess.advice.end_loads import LEAST_TRUNK_ASSUMPTIONS
from siteassess.advice.finding import Finding, found
from siteassess.advice.gear_inputs import DEFAULT_MASS_PER_LENGTH, USUAL_LINK_RADII
from siteassess.advice.gear_loads import FOOTING_NOT_SEEN, left_by
from siteassess.advice.geometry import Places, pair_geometry, pull_bearing
from siteassess.advice.ground import HIGH_EQUIPMENT_M, HIGH_HAMMOCK_M, HIGH_M, MARGIN_M
from siteassess.advice.judge import SUITS_UP_TO
from siteassess.advice.line_inputs import HAMMOCK_OVER_GROUND, HAMMOCK_SPAN, HAMMOCK_STIFFNESS, SCATTER_GUESS
from siteassess.advice.line_setting import LineSetting
from siteassess.advice.protection import PAD_END_SPARE_M, PAD_LEAST_HEIGHT_M, PAD_OVER_SLING, PAD_THICKNESS_M
from siteassess.advice.rated_gear import NATURAL_CHOKE_DEG, UNSAID_ENDS
from siteassess.advice.remedies import REMEDY_ASSUMPTIONS
from siteassess.advice.results import AnchorResult, LineResult, StatedAssumption
from siteassess.advice.rootzone_plan import PEOPLE_HALF_WIDTH_M
from siteassess.advice.stood_reading import STOOD_READING_ASSUMPTIONS, TRIAL_ASSUMPTIONS
from siteassess.advice.survey_age import SURVEY_AGE_ASSUMPTIONS
from siteassess.advice.tree_inputs import SPECIES_LN_SD, TREE_INPUT_ASSUMPTIONS
from siteassess.advice.under_line import UNDER_LINE_ASSUMPTIONS
from siteassess.advice.wind_check import CROWN_BASE_SHARE, WIND_CHECK_ASSUMPTIONS
from siteassess.advice.wrap_plan import ACROSS_THE_GRAIN, BETTER_ANGLE_DEG, PLACED_BY_EYE_M, SLIDES_OVER
from siteassess.mechanics import floor, gear, hauling, line_load, loadcases, tightening
from siteassess.mechanics.allometry import ALLOMETRY_ASSUMPTIONS
from siteassess.mechanics.anchor_vector import angle_between
from siteassess.mechanics.bark import BARK_ASSUMPTIONS
from siteassess.mechanics.calibration import MASS_BAND
from siteassess.mechanics.decay import CODER_HAZARD, SMILEY_FRAEDRICH_LIMIT, WAGENER_LIMIT
from siteassess.mechanics.ground import GROUND_ASSUMPTIONS
from siteassess.mechanics.line_load import BACKUP_FLAG, MOST_STRETCH
from siteassess.mechanics.linkmove import FELT_SLIDE, NEAREST_WALK, SIDE_PUSH, STRENGTH_PER_WIDTH, STRETCH_AT_BREAK
from siteassess.mechanics.ownweight import OWN_WEIGHT_ASSUMPTIONS
from siteassess.mechanics.rootplate import ROOT_ASSUMPTIONS, SHALLOW_SOIL_FACTOR, SOIL_FACTORS
from siteassess.mechanics.roots import DIGGING_DIAMETERS, DIRECTION_CONTRAST, ROOT_STATES
from siteassess.mechanics.scatter import DIVISOR_GROUND_LINE, DIVISOR_HIGH_LINE, READING_LN_SD
from siteassess.mechanics.stem import STEM_ASSUMPTIONS
from siteassess.mechanics.stood import STOOD_ASSUMPTIONS
from siteassess.mechanics.taper import TAPER_PER_METRE, TAPER_POWER
from siteassess.mechanics.tilt import TILT_ASSUMPTIONS
from siteassess.mechanics.wind import LEAFLESS_SHARE, WIND_ASSUMPTIONS
from siteassess.places.crossings import ADVICE, PAST_STRIP_M
from siteassess.places.geodesy import LocalFrame
from siteassess.records.line import ENDS, FROM_HEIGHT, Line
from siteassess.records.record import Record
from siteassess.reference.constants import Constant, constant, constants
from siteassess.reference.findings import Said, said
from siteassess.reference.measures import SHOWN_IN
from siteassess.reference.tables import rows
from siteassess.units import factor

SAME_AIR_DEG = constant("same air")


def line_taken(record: Record, line: Line) -> list[Finding]:
    """How many are on it, and that nothing lies across, where nobody marked anything that lies about."""
    site = record.site
    marked = site.surroundings_files or any(feature.kind in ADVICE for feature in site.surroundings)
    unsaid = []
    if line.walkers is None or line.walkers.at_once is None:
        unsaid.append("one person at a time")
    if not marked:
        unsaid.append("no road, railway, water or path over, under or beside it")
    return [found("not-told-and-taken", "suits", looked_at=False, things=tuple(unsaid))] if unsaid else []


def power_line_findings(setting: LineSetting, around: LineCrossings) -> list[Finding]:
    """What a power line asks for that nobody looked for, or that was seen and is not drawn where it runs.

    One that is drawn near it is judged by where it runs; whether another runs nearer, only a look tells. A map file
    shows the large ones alone, so it is no look. One that was seen under another line hangs over this one too where
    that goes the same way from the same tree, and may where it lies near.
    """
    line = setting.line
    reach = PAST_STRIP_M["power line"]
    unseen = found("power-line-unseen", "suits if", looked_at=False, reach=reach)
    unlooked = [unseen] if line.power_line == "not looked" else []
    # one that is drawn near the line it was seen from is settled, and says nothing of another, nearer by
    seen = [other for other in setting.record.lines if other.power_line == "yes" and other.id not in around.wires_of]
    airs = {other.id: "same" if other.id == line.id else _air(setting, other) for other in seen}
    if "same" in airs.values():
        return [found("power-line-not-marked", "cannot say", reach=reach)]
    if unknown := tuple(name for name, air in airs.items() if air == "unknown"):
        return [found("power-line-way-unknown", "cannot say", looked_at=False, lines=unknown)]
    if near := tuple(other.id for other in seen if _lies_near(setting, other)):
        return [found("power-line-at-another", "suits if", looked_at=False, lines=near, reach=reach)]
    return unlooked


def _air(setting: LineSetting, other: Line) -> Literal["same", "unknown", "other"]:
    """Whether another line runs between the same two trees, or about the same way from one, as far as is known."""
    line, trees = setting.line, setting.entries
    if {trees.of(end.anchor) for end in line.ends} == {trees.of(end.anchor) for end in other.ends}:
        return "same"
    there = pair_geometry(other, setting.places)
    apart = [angle_between(pull_bearing(line, setting.geometry, mine), pull_bearing(other, there, its))
             for mine in ENDS for its in ENDS
             if trees.of(line.at(mine).anchor) == trees.of(other.at(its).anchor)]  # fmt: skip
    if any(angle <= SAME_AIR_DEG for angle in apart):
        return "same"
    return "unknown" if any(math.isnan(angle) for angle in apart) else "other"


def _lies_near(setting: LineSetting, other: Line) -> bool:
    """Whether another line shares a tree, or may, or lies no farther off than a power line counts for all one knows."""
    theirs = {setting.entries.of(end.anchor) for end in other.ends}
    for end in setting.line.ends:
        if theirs & {setting.entries.of(code) for code in (end.anchor, *setting.entries.may_be(end.anchor))}:
            return True
    apart = _apart_m(setting.places, setting.line, other)
    return apart is None or apart <= PAST_STRIP_M["power line"]


def _apart_m(places: Places, one: Line, other: Line) -> float | None:
    """Between two straight lines, nearest to nearest [m]; None where the place of an end is not known."""
    ends = [places.at(end.anchor) for line in (one, other) for end in line.ends]
    known = [(end.latitude_deg, end.longitude_deg) for end in ends if end is not None]
    if len(known) < len(ends):
        return None
    frame = LocalFrame.around(*zip(*known))
    flat = [frame.to_metres(*end) for end in known]
    return float(shapely.LineString(flat[:2]).distance(shapely.LineString(flat[2:])))


OF_ANY_LINE = (
    line_load.RIGGING_PEAK, line_load.WALKED, line_load.BOUNCED, line_load.QUICK_STIFFNESS, constant("unnamed walker"),
    MASS_BAND, line_load.SCATTER_LOAD_CELL, line_load.SCATTER_ESTIMATE, SCATTER_GUESS, DEFAULT_MASS_PER_LENGTH,
    line_load.JUMP, floor.NEAREST, floor.NEAREST_STUMBLE, line_load.STUMBLE, *UNDER_LINE_ASSUMPTIONS, MARGIN_M,
)  # fmt: skip
OF_A_HIGH_LINE = (
    line_load.LEASH_FALL, line_load.BODY_ABOVE_LINE, line_load.LONG_LEASH, line_load.NEAREST_FALL,
    line_load.BODY_UNDER_LEASH,
    *(Constant(row.ea_kn, name=f"EA of a leash, {row.name}", low=row.ea_low_kn, high=row.ea_high_kn, unit="kN",
               flag=row.flag, note=row.page) for row in rows("leashes")),
)  # fmt: skip
OF_A_HAMMOCK = (line_load.HAMMOCK_ANGLE, line_load.FLAT_HAMMOCK_ANGLE, HAMMOCK_STIFFNESS)
OF_A_DROP = (loadcases.DROP,)


PULLS = constants("pull of one person")
OF_HAULING = (
    *PULLS.values(), constant("two people pull"), constant("lock loss"), constant("settling: nylon"),
    constant("settling: unknown"), hauling.SETTLING_FALLS, constant("friction grip"),
    Constant(PULLS[FOOTING_NOT_SEEN], name=f"footing not said is taken as {FOOTING_NOT_SEEN}, N",
             low=PULLS["slippery ground"], high=PULLS["feet braced"], unit="N", flag="judgement",
             note="between the other two"),
    tightening.HIGHER, tightening.STIFFER,
)  # fmt: skip
OF_GEAR = (
    gear.BREAKING_FACTOR,
    Constant(left_by(UNSAID_ENDS), name=f"strength left by {UNSAID_ENDS}, taken where nobody said what holds a webbing",
             low=0.60, high=1.0, unit="", flag="read", note="second hand; a sewn eye leaves all of it"),
    Constant(left_by("ratchet"), name="strength left of webbing wound on a ratchet", low=0.67, high=0.80, unit="",
             flag="memory", note="EN 12195-2: bare webbing three times, whole strap twice the lashing capacity"),
    NATURAL_CHOKE_DEG, gear.TAILS, MOST_STRETCH,
)  # fmt: skip
OF_A_HAMMOCKS_PLACE = (HIGH_HAMMOCK_M, HAMMOCK_SPAN, HAMMOCK_OVER_GROUND)


def line_assumptions(lines: tuple[LineResult, ...]) -> list[Constant]:
    """Those that bear on some of the lines."""
    used: list[Constant] = []
    if any(not loadcases.USES[line.use].hung and line.use not in FROM_HEIGHT for line in lines):
        used.append(HIGH_M)
    if any(line.use == "aerial equipment" for line in lines):
        used.append(HIGH_EQUIPMENT_M)
    if any(loadcases.USES[line.use].hung for line in lines):
        used += OF_A_HAMMOCKS_PLACE
    if any(line.hauling for line in lines):
        used += OF_HAULING
    if any(len(line.gear) > 1 for line in lines):
        used += OF_GEAR
    if any(line.use == "high line" for line in lines):
        used.append(BACKUP_FLAG)
    return used


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


OF_A_TREE = (
    *ROOT_ASSUMPTIONS, *SOIL_FACTORS.values(), SHALLOW_SOIL_FACTOR, DIRECTION_CONTRAST, DIGGING_DIAMETERS,
    *ROOT_STATES.values(), *GROUND_ASSUMPTIONS, *STEM_ASSUMPTIONS, TAPER_PER_METRE, TAPER_POWER,
    *OWN_WEIGHT_ASSUMPTIONS, *WIND_ASSUMPTIONS, *BARK_ASSUMPTIONS, *READING_LN_SD.values(), *SPECIES_LN_SD.values(),
    *TREE_INPUT_ASSUMPTIONS, SUITS_UP_TO, *LEAST_TRUNK_ASSUMPTIONS, *WIND_CHECK_ASSUMPTIONS, CROWN_BASE_SHARE,
)  # fmt: skip
OF_A_HOLLOW = (WAGENER_LIMIT, CODER_HAZARD, SMILEY_FRAEDRICH_LIMIT)  # the sound wall's limit is the stem's own
FILLED_IN = {"height-filled", "crown-width-taken"}  # codes of sizes taken from city trees


def assumptions_of(lines: Iterable[LineResult]) -> tuple[StatedAssumption, ...]:
    """What the verdicts of some lines rest on; the groups that did not bear on any are left out."""
    lines = tuple(lines)
    ends = [end for line in lines for end in line.anchors]
    used = [*_of_loads(lines), *_of_trees([end for end in ends if end.kind == "tree"])]
    used += [*_of_ties(lines), *line_assumptions(lines), *(SURVEY_AGE_ASSUMPTIONS if lines else ())]
    used += crossing_assumptions([met for line in lines for met in line.crossings])
    used += [one for kind, assumed in KIND_ASSUMPTIONS.items() if any(end.kind == kind for end in ends)
             for one in assumed]  # fmt: skip
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
    if any(loadcases.USES[use].hung for use in uses):
        used += OF_A_HAMMOCK
    if uses & {"trick line", "aerial equipment"}:
        used += OF_A_DROP
    if uses & set(FROM_HEIGHT):
        used.append(DIVISOR_HIGH_LINE)
    if uses - set(FROM_HEIGHT):
        used.append(DIVISOR_GROUND_LINE)
    return used


def _of_trees(ends: list[AnchorResult]) -> list[Constant]:
    if not ends:
        return []
    told = [finding for end in ends for finding in end.findings]
    used = list(OF_A_TREE)
    if FILLED_IN & {code for finding in told for code in (finding.code, *(one.code for one in finding.more))}:
        used += ALLOMETRY_ASSUMPTIONS
    if any(finding.about == "hollow" for finding in told):
        used += OF_A_HOLLOW
    if any(finding.about == "wind stood" for finding in told):
        used += [*STOOD_ASSUMPTIONS, *STOOD_READING_ASSUMPTIONS, LEAFLESS_SHARE]
    if any(end.trial_load for end in ends) or any(finding.about == "trial load" for finding in told):
        used += [*TILT_ASSUMPTIONS, *TRIAL_ASSUMPTIONS]
    return used


def stated(one: Constant, kind: Said | None = None) -> StatedAssumption:
    """A constant as reports print it, of a kind of tree where it is that kind's."""
    named = said("number-named", what=one.name) if kind is None else said("number-of-kind", what=one.name, kind=kind)
    unit = SHOWN_IN.get(one.unit, one.unit)
    size = 1.0 if unit == one.unit else factor(unit)
    value, *ends = (None if end is None else end / size for end in (one.value, one.low, one.high))
    number = said("number-with-unit", number=value, unit=unit) if unit else said("number", number=value)
    one_alone = one.low is None or one.low == one.high  # a range of one number is none
    ranged = number if one_alone else said("number-plausible", number=number, low=ends[0], high=ends[1])
    return StatedAssumption(named, ranged, one.flag, one.note)
