"""The story in one short function: a record becomes loads, limits, verdicts, protection and rules."""

from __future__ import annotations

import datetime
import math
from dataclasses import dataclass, replace

from siteassess.advice.assumptions import assumptions_of, line_taken, power_line_findings
from siteassess.advice.boulder_end import judge_boulder
from siteassess.advice.care import Care, care_findings, care_limit, care_mends, narrowest, pressing
from siteassess.advice.care_results import Protection
from siteassess.advice.changes import EndSetting, TreeEnd
from siteassess.advice.crossings import LineCrossings, crossings_of
from siteassess.advice.end_kinds import (
    boulder_setting,
    end_setting,
    tree_setting,
    unjudged_end,
    with_asked_tie,
    with_line_details,
)
from siteassess.advice.explain import last_steps, line_steps, tree_steps
from siteassess.advice.finding import Finding, found, met_by, whys
from siteassess.advice.gear_inputs import sling_inputs
from siteassess.advice.geometry import Places, pull_bearing
from siteassess.advice.ground import height_limits
from siteassess.advice.judge import EndCase, HoldJudgement, judge_hold, with_lower_gust
from siteassess.advice.line_inputs import line_inputs
from siteassess.advice.line_setting import LineSetting, settings_of
from siteassess.advice.look_first import looks_of, with_how_read
from siteassess.advice.other_trees import tree_alone, trial_load, would_hold
from siteassess.advice.packing import packing_list
from siteassess.advice.pair import pair_findings, pair_probability, weaker
from siteassess.advice.protection import Tied, bark_remedies, protect, protection_findings
from siteassess.advice.rated_gear import gear_checks, gear_findings, rated_gear
from siteassess.advice.remedies import MOST_TOLD, Whole, bark_borne, fewest_told, hold_remedies, mended, short_of_clear
from siteassess.advice.results import (
    NO_TAG,
    AnchorResult,
    Assessment,
    LineResult,
    Look,
    Remedy,
    TreeAlone,
)
from siteassess.advice.rootzone_plan import ground_findings
from siteassess.advice.rule_sizes import HeldAgainst
from siteassess.advice.rules import broken, check_end, limits_on_a_tree, pads_asked, rule_set_of, use_words
from siteassess.advice.season import country_findings, growing_on, rest_told, season_findings, told_once
from siteassess.advice.softer import softer_findings
from siteassess.advice.surroundings import edges_on_the_map, things_near, things_near_line
from siteassess.advice.survey_age import permission_findings, surely_last_day, survey_findings
from siteassess.advice.tree_inputs import tree_inputs
from siteassess.advice.trunk_inputs import copied_finding
from siteassess.advice.verdict import Verdict, worst
from siteassess.advice.whole_line import (
    both_lowered,
    bounced_findings,
    cleared_where_it_holds,
    held_back,
    of_the_whole_line,
)
from siteassess.advice.wind_check import told_wind
from siteassess.errors import OutsideModel, UnknownName
from siteassess.records.anchor import Boulder, Tree
from siteassess.records.doubtful import check_readings
from siteassess.records.line import ENDS, EndName, Line
from siteassess.records.record import Record
from siteassess.reference.findings import worded
from siteassess.reference.texts import cautions


def assess(record: Record, *, line_id: str | None = None, on: datetime.date | None = None,
           remedies: bool = True, looks: bool = True) -> Assessment:  # fmt: skip
    """Assess every planned line of a record, or one.

    Parameters
    ----------
    record : Record
        As read.
    line_id : str, optional
        Only this line.
    on : date, optional
        The day judged for; by default each line's planned day, else the day of the survey.
    remedies : bool
        Whether to seek what would mend a line; without, what could be mended is "leave it", and nothing is looked for.
    looks : bool
        Whether to seek what to look at first: most of the work, and no word, remedy or figure hangs on it. A paper
        that shows none goes without.

    Returns
    -------
    Assessment

    Raises
    ------
    UnknownName
        No line has that id.
    """
    places = Places(record)
    settings = settings_of(record, places, on)
    _refuse_unknown(line_id, record)
    chosen = [setting for setting in settings if line_id in (None, setting.line.id)]
    used = {end.anchor for line in record.lines for end in line.ends}
    alone = [anchor for anchor in record.anchors if isinstance(anchor, Tree)]
    days = {setting.on for setting in chosen}
    day = days.pop() if len(days) == 1 else on or record.survey.date
    trees = tuple(_alone(tree, record, places, day) for tree in alone if line_id is None or tree.code in used)
    around = crossings_of(record, places, {tree.code: tree.root_zone_radius_m for tree in trees}, on)
    lines = tuple(_told_line(setting, around[setting.line.id], remedies, looks) for setting in chosen)
    warnings = tuple(warning.whole for warning in check_readings(record))
    return Assessment(
        record=record, date=day, lines=lines, trees=trees,
        packing=packing_list(lines, record.lines, on), assumptions=assumptions_of(lines), cautions=cautions(),
        warnings=(*warnings, *places.notes),
    )  # fmt: skip


def _alone(tree: Tree, record: Record, places: Places, day: datetime.date) -> TreeAlone:
    """A tree by itself, with the diseases whose windows are open on the day."""
    latitude = places.latitude(tree.code)
    found = tree_alone(tree, latitude, record.site.root_zone_standard)
    told = season_findings(day, tree_inputs(tree, None, latitude, places.longitude(tree.code)), record.site)
    return replace(found, findings=(*found.findings, *told), evidence=with_how_read(found.evidence, tree))


def _refuse_unknown(line_id: str | None, record: Record) -> None:
    if line_id is not None and line_id not in {line.id for line in record.lines}:
        known = tuple(line.id for line in record.lines)
        raise UnknownName(worded("no-such-line" if known else "no-line-at-all", line=line_id, lines=known))


def _told_line(setting: LineSetting, around: LineCrossings, seek: bool, look: bool) -> LineResult:
    """The line judged; `seek` adds what would mend it, another tree among it, and with `look` what to look at first."""
    result = _line_result(setting, around, seek)
    if not seek:
        return result
    looks = _looks(setting, result, around) if look and result.verdict in ("suits if", "cannot say") else ()
    ends = tuple(_with_another_tree(setting, end, around) for end in result.anchors)
    return replace(result, looks=looks, anchors=ends)


def _line_result(setting: LineSetting, around: LineCrossings, seek: bool, proven: bool = False) -> LineResult:
    """The line judged; `seek` looks for what would mend it.

    `proven` lets the ground ask for no more than holds, as `seek` does.
    """
    ends = tuple(
        with_line_details(_end_result(setting, end, around, seek), recorded, setting.record.anchor(recorded.anchor))
        for end, recorded in zip(ENDS, setting.line.ends)
    )
    ends, yearly = told_once(ends)
    limits = height_limits(rule_set_of(setting.record), use_words(setting.line.use))
    clearance, line_told, hauling, sweeps = of_the_whole_line(setting.line, setting.inputs, limits, seek)
    if seek or proven:
        line_told = cleared_where_it_holds(setting.line, setting.inputs, clearance, line_told,
                                           lambda hung: _no_worse_hung(setting, hung, around))  # fmt: skip
    gear = gear_checks(setting.line, ends)
    told = [*pair_findings(setting.geometry), *line_told,
            *both_lowered(setting.line, setting.inputs, clearance, ends),
            *gear_findings(gear), *bounced_findings(setting.line, setting.inputs, ends), *around.findings,
            *survey_findings(setting.record.survey.date, setting.on, setting.last, setting.has_day),
            *permission_findings(setting.record.site, surely_last_day(setting.line, setting.on)),
            *setting.one_after_the_other(), *setting.entered_twice(), *setting.ground_told_otherwise(),
            *power_line_findings(setting, around), *line_taken(setting.record, setting.line), *yearly,
            *country_findings(setting.record.site, *setting.places.anywhere)]
    verdict = worst([*(end.verdict for end in ends), *(finding.effect for finding in told)])
    result = LineResult(
        id=setting.line.id, name=setting.line.name or setting.line.id, use=setting.line.use, verdict=verdict,
        weaker_anchor=weaker(ends), anchors=ends, geometry=setting.geometry, clearance=clearance,
        findings=tuple(told), probability=pair_probability(ends), day=setting.on, sweeps=sweeps, hauling=hauling,
        gear_told=rated_gear(setting.line, gear, any(end.loads for end in ends), setting.inputs.chord),
        stiffness_told=setting.inputs.stiffness_told, crossings=around.met, gear_checks=gear,
    )  # fmt: skip
    return replace(result, anchors=tuple(_with_rules(setting, end, result) for end in ends))


def _with_another_tree(setting: LineSetting, end: AnchorResult, around: LineCrossings) -> AnchorResult:
    """The end with what is told of its mends, another tree of the record among them if its hold has not enough."""
    hold = [remedy for remedy in end.remedies if remedy.for_limit != "bark"]
    if end.verdict == "suits" or end.kind != "tree" or len(hold) >= MOST_TOLD:
        return replace(end, remedies=fewest_told(end, ()))
    others = would_hold(
        setting, end.end, _hold_alone, lambda: _line_result(setting, around, seek=False),
        lambda there: _line_result(there, crossings_of(there.record, there.places, asked=there.asked)[there.line.id],
                                   seek=False),
    )  # fmt: skip
    return replace(end, remedies=fewest_told(end, others))


def _hold_alone(setting: LineSetting, end: EndName) -> Verdict:
    """The word of a tree's hold at one end, and of what was seen of it."""
    tree = setting.record.anchor(setting.line.at(end).anchor)
    if not isinstance(tree, Tree):
        return "cannot say"
    mine = tree_setting(setting, end, tree, pull_bearing(setting.line, setting.geometry, end))
    try:
        return worst((judge_hold(mine.case()).verdict, *(finding.effect for finding in softer_findings(tree))))
    except OutsideModel:
        return "cannot say"


def _no_worse_hung(setting: LineSetting, line: Line, around: LineCrossings) -> bool:
    """Whether no end is "leave it" with the line hung as told, nothing further mended, and no new thing refuses it."""
    hung = replace(setting, line=line, inputs=line_inputs(line, setting.geometry.span_m))
    after = _line_result(hung, around, seek=False)
    if any(end.verdict == "leave it" for end in after.anchors):
        return False
    return held_back(after) <= held_back(_line_result(setting, around, seek=False))


def _looks(setting: LineSetting, result: LineResult, around: LineCrossings) -> tuple[Look, ...]:
    """What was not looked at on a line, first what would most likely change its word."""
    mine = {end.code for end in result.anchors}
    beside = tuple(line for line in setting.record.lines if mine & {end.anchor for end in line.ends})

    def judge(changed: Record) -> LineResult:
        here = next(one for one in settings_of(changed, Places(changed), setting.asked) if one.line.id == result.id)
        told = _line_result(here, around, seek=False)
        if told.verdict != "leave it" or any(end.stop_signs for end in told.anchors):
            return told
        return _line_result(here, around, seek=True)  # what a remedy mends is no "leave it"

    return looks_of(setting.record.model_copy(update={"lines": beside}), result, judge)


def _with_rules(setting: LineSetting, end: AnchorResult, whole: LineResult) -> AnchorResult:
    """The end with the place's rules beside it; they never touch the verdict."""
    rules, anchor = rule_set_of(setting.record), setting.record.anchor(end.code)
    if rules is None:
        return end
    recorded = setting.line.at(end.end)
    at = setting.places.at(end.code)
    near = things_near_line(setting.places, setting.line)
    held = HeldAgainst(
        setting.record, setting.line, anchor, recorded, end, whole, setting.on,
        place=(at.latitude_deg, at.longitude_deg) if at else None, near=near,
        crossed=tuple(thing for thing in near if thing.distance_m == 0.0), asked=setting.asked,
    )  # fmt: skip
    return replace(end, rules=check_end(rules, held))


def _end_result(setting: LineSetting, end: EndName, around: LineCrossings, seek: bool) -> AnchorResult:
    recorded = setting.line.at(end)
    anchor = setting.record.anchor(recorded.anchor)
    bearing = pull_bearing(setting.line, setting.geometry, end)
    try:
        if isinstance(anchor, Tree):
            return _tree_end(setting, end, anchor, bearing, around, seek)
        if isinstance(anchor, Boulder):
            return _boulder_end(setting, end, anchor, bearing, around, seek)
    except OutsideModel as error:  # one end that no model reaches must not end the other lines' answers
        told = found("anchor-outside-model", "cannot say", looked_at=False, anchor=anchor.code, why=whys(error))
    else:
        told = found("anchor-of-no-model", "cannot say", looked_at=False, what=anchor.what)
    return unjudged_end(setting, end, anchor, bearing, told)


@dataclass(frozen=True)
class _TreeParts:
    """One end on a tree, judged: hold, bark and softer signs, before any remedy is sought."""

    judged: HoldJudgement
    softer: tuple[Finding, ...]
    care: Care | None = None
    care_remedies: tuple[Remedy, ...] = ()
    care_told: tuple[Finding, ...] = ()
    protection: Protection | None = None
    tied: Tied | None = None

    @property
    def verdict(self) -> Verdict:
        return worst(finding.effect for finding in (*self.judged.findings, *self.softer, *self.care_told))


def _tree_end(
    setting: LineSetting, end: EndName, tree: Tree, bearing: float, around: LineCrossings, seek: bool
) -> AnchorResult:
    """One end on a tree, with what would mend it where that is sought."""
    mine = tree_setting(setting, end, tree, bearing)
    if seek:
        mine = replace(mine, ropes=limits_on_a_tree(rule_set_of(setting.record), setting.line.use))
    case, parts = mine.case(), _tree_parts(setting, mine)
    judged, care = parts.judged, parts.care
    remedies = _hold_remedies(setting, mine, around) if seek else ()
    findings = [*mended(judged.findings, remedies), *parts.softer, *parts.care_told]
    verdict = worst(finding.effect for finding in findings)
    remedies += bark_borne(parts.care_remedies, findings)
    limits = (*judged.limits, *((care_limit(care),) if care else ()))
    plan = with_asked_tie(parts.tied, parts.protection) if parts.tied and parts.protection else None
    return AnchorResult(
        line_id=setting.line.id, end=end, code=tree.code, kind="tree", tag=tree.tag or NO_TAG,
        species=case.tree.species.accepted, verdict=verdict, loads=judged.loads,
        limits=limits, hold_use=judged.hold_use, care_use=_known(care.use) if care else None,
        evidence=with_how_read(judged.evidence, tree, setting.line, case.tie),
        stop_signs=judged.stop_signs, findings=tuple(findings),
        remedies=remedies, protection=plan, rules=None, tie_height_m=case.tie,
        pull_bearing_true_deg=_known(bearing), probability=judged.probability,
        trial=trial_load(case.tree, judged, case.tie), use_by_sector=judged.by_sector,
        take_down_wind_m_s=told_wind(judged.take_down_wind),
        every_step=(*line_steps(case.line, judged.loads, bearing), *tree_steps(case.tree),
                    *judged.steps, *last_steps(findings, verdict)),
    )  # fmt: skip


def _hold_remedies(setting: LineSetting, mine: EndSetting, around: LineCrossings) -> tuple[Remedy, ...]:
    """What would mend the hold of an end, its line's other end in mind."""
    end: EndName = "B" if mine.end == "A" else "A"
    there = setting.record.anchor(setting.line.at(end).anchor)
    bearing = pull_bearing(setting.line, setting.geometry, end)
    return hold_remedies(mine, lambda changed: _whole(setting, changed, around),
                         end_setting(setting, end, there, bearing))  # fmt: skip


def _tree_parts(setting: LineSetting, mine: TreeEnd) -> _TreeParts:
    """One end on a tree by what was read of it; a number copied thinner bears on the word of the whole."""
    case = mine.case()
    parts = _parts_of(setting, mine, case)
    if case.tree.copied is None:
        return parts
    told, tree = case.tree.copied
    by_copy = _parts_of(setting, mine, replace(case, tree=tree))
    parts = replace(parts, judged=with_lower_gust(parts.judged, by_copy.judged))
    held = copied_finding(told, [*parts.judged.findings, *parts.care_told],
                          [*by_copy.judged.findings, *by_copy.care_told])  # fmt: skip
    return replace(parts, judged=replace(parts.judged, findings=(*parts.judged.findings, held)))


def _parts_of(setting: LineSetting, mine: TreeEnd, case: EndCase) -> _TreeParts:
    inputs, tie, judged = case.tree, case.tie, judge_hold(case)
    near = things_near(setting.places, mine.anchor.code)
    softer = (*softer_findings(mine.anchor), *edges_on_the_map(mine.anchor, near, inputs.root_diameter))
    if tie is None or not math.isfinite(inputs.diameter_at(tie)):
        return _TreeParts(judged, softer)
    site = setting.record.site
    growing = growing_on(setting.on, inputs, site, setting.last)
    planned = sling_inputs(mine.line.at(mine.end))
    pads = pads_asked(rule_set_of(setting.record), setting.line.use)
    most = pads.most_sling_width_m
    used = planned if planned.planned else narrowest(inputs, judged.loads, planned, growing, tie, most)
    care = pressing(inputs, judged.loads, used, growing, tie)
    mends = care_mends(inputs, judged.loads, used, growing, tie, care, rest_told(inputs, site, pads.closed))
    watchers = tuple(thing.distance_m for thing in near if thing.kind == "watcher place")
    tied = Tied(inputs, mine.anchor, case.line, judged.loads, used, care, tie, mine.bearing, site, setting.on, watchers,
                pads, setting.last)  # fmt: skip
    plan = protect(tied)
    remedies = bark_remedies(tied, mends, plan)
    care_told = (*care_findings(care, remedies, planned.planned), *protection_findings(tied, plan),
                 *season_findings(setting.on, inputs, site, setting.last), *ground_findings(mine.anchor))  # fmt: skip
    return _TreeParts(judged, softer, care, remedies, care_told, plan, tied)


def _whole(setting: LineSetting, mine: EndSetting, around: LineCrossings) -> Whole:
    """A changed end with everything that bears on it, its line, its other end and the rules of the place."""
    lines = tuple(mine.line if one.id == mine.line.id else one for one in setting.record.lines)
    anchors = tuple(mine.anchor if one.code == mine.anchor.code else one for one in setting.record.anchors)
    record = setting.record.model_copy(update={"lines": lines, "anchors": anchors})
    hung = replace(setting, record=record, line=mine.line, inputs=mine.inputs)
    changed = _line_result(hung, around, seek=False, proven=True)
    here, other = changed.anchors if mine.end == "A" else changed.anchors[::-1]
    verdict, found = here.verdict, here.findings
    if isinstance(mine, TreeEnd):
        parts = _tree_parts(setting, mine)  # no record holds a guy, so the end is judged apart too
        verdict, found = parts.verdict, (*parts.judged.findings, *parts.softer, *parts.care_told)
    return Whole(
        verdict, met_by((*found, *changed.findings)), other.verdict, met_by(other.findings),
        worst(finding.effect for finding in changed.findings),
        sum(high - low for low, high in changed.clearance.touching_m) if changed.clearance else 0.0,
        changed.clearance is not None or mine.inputs.hung,
        short_of_clear(mine.inputs, changed.clearance.lowest_m) if changed.clearance else 0.0,
        broken(changed.anchors),
    )  # fmt: skip


def _boulder_end(
    setting: LineSetting, end: EndName, boulder: Boulder, bearing: float, around: LineCrossings, seek: bool
) -> AnchorResult:
    """One end on a boulder, with what would mend it where that is sought."""
    mine = boulder_setting(setting, end, boulder, bearing)
    result = judge_boulder(boulder, setting.inputs, end, bearing, mine.unsummed)
    remedies = _hold_remedies(setting, mine, around) if seek else ()
    findings = mended(result.findings, remedies)
    verdict = worst(finding.effect for finding in findings)
    steps = (*line_steps(setting.inputs, result.loads, bearing), *result.every_step, *last_steps(findings, verdict))
    return replace(result, findings=tuple(findings), verdict=verdict, remedies=remedies, every_step=steps,
                   evidence=with_how_read(result.evidence, boulder, setting.line))  # fmt: skip


def _known(value: float) -> float | None:
    return value if math.isfinite(value) else None
