"""A tree by itself, and another recorded one for one end of a line.

By itself: the greatest pull we would allow by tie height, what is missing, and how to do a trial load; never a proof
test of a public tree. For a line: the line is carried there and judged as a whole, and told so.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Sequence
from dataclasses import replace

import numpy as np

from siteassess.advice.changes import carried
from siteassess.advice.end_loads import LEAST_TRUNK, tie_findings
from siteassess.advice.finding import Finding, found, met_by
from siteassess.advice.gear_loads import RIGGING
from siteassess.advice.geometry import pair_geometry
from siteassess.advice.hold import Pulls, governing, root_limits, stem_limits
from siteassess.advice.judge import SUITS_UP_TO, HoldJudgement, decay_findings, limit_finding, missing_findings
from siteassess.advice.line_inputs import line_inputs
from siteassess.advice.line_setting import LineSetting
from siteassess.advice.results import NO_TAG, Evidence, LineResult, Load, PullRow, Remedy, TreeAlone
from siteassess.advice.rootzone_plan import root_zone_radius, stems_of
from siteassess.advice.rules import broken, no_further_broken
from siteassess.advice.softer import softer_findings
from siteassess.advice.tree_inputs import TreeInputs, tree_inputs
from siteassess.advice.verdict import DECIDING, STOP_SIGNS, VERDICTS, Verdict, worst
from siteassess.advice.whole_line import CLEARED_BY
from siteassess.mechanics.scatter import DIVISOR_GROUND_LINE
from siteassess.mechanics.tilt import TILT_START_DEG, TILT_START_SHARE
from siteassess.places.geodesy import bearing_distance
from siteassess.records.anchor import Tree
from siteassess.records.line import EndName, GroundPoint, Line
from siteassess.reference.constants import constants
from siteassess.reference.findings import Said, said
from siteassess.units import quantity

TIE_HEIGHTS_M = (0.5, 1.0, 1.5, 2.0, 2.5)
WITHOUT_A_LINE = ("tie height", "span", "webbing", "standing tension", "walker")
TRIED_PULL_N = np.geomspace(100.0, 60e3, 100)


def tree_alone(tree: Tree, latitude: float, root_zone_standard: str) -> TreeAlone:
    """What a tree may carry in its worst direction, by tie height."""
    inputs = tree_inputs(tree, None, latitude)
    deciding = tuple(thing for thing in DECIDING["low line"] if thing not in WITHOUT_A_LINE)
    evidence = Evidence(deciding, tuple(thing for thing in deciding if thing in inputs.missing))
    findings = [*inputs.told, *softer_findings(tree), *decay_findings(inputs)]
    findings += [found("stop-sign-of-the-tree", "leave it", sign=STOP_SIGNS[name])
                 for name, answer in inputs.signs if answer == "yes"]  # fmt: skip
    findings += missing_findings(evidence)
    if inputs.diameter < LEAST_TRUNK:
        findings.append(found("trunk-alone-under-least", "leave it", least=LEAST_TRUNK))
    why_none = tuple(said("with-verdict", verdict=f.effect, what=_of(f)) for f in findings
                     if f.effect in ("leave it", "cannot say"))  # fmt: skip
    pulls, against = _rows(inputs, why_none)
    if not why_none and all(row.pull_n is None for row in pulls):
        why = tuple(Said(finding.code, finding.values) for finding in against)
        findings.append(found("no-pull-worked-out", "cannot say", why=why))
    findings.append(found("no-line-judged", "cannot say", looked_at=False))
    return TreeAlone(
        code=tree.code, tag=tree.tag or NO_TAG, species=inputs.species.accepted,
        verdict=worst(finding.effect for finding in findings), findings=tuple(findings), evidence=evidence,
        pulls=pulls,
        root_zone_radius_m=root_zone_radius(inputs, root_zone_standard, stems_of(tree)),
    )  # fmt: skip


def _rows(inputs: TreeInputs, why_none: tuple[Said, ...]) -> tuple[tuple[PullRow, ...], tuple[Finding, ...]]:
    """Greatest horizontal pull by tie height, in the worst direction [N], and what stands against the lowest tie.

    The scatter of an estimate is not in it. No pull at all where anything of the tree itself stands against it,
    whatever the sums say.
    """
    if why_none:
        return tuple(PullRow(height, None, why_none) for height in TIE_HEIGHTS_M), ()
    heights, pulls = (grid.ravel() for grid in np.meshgrid(TIE_HEIGHTS_M, TRIED_PULL_N, indexing="ij"))
    tried = Pulls.single(("",) * pulls.size, pulls, math.nan, heights, 0.2)
    divisor = DIVISOR_GROUND_LINE.value
    limits = {"stem": stem_limits(inputs, tried, divisor)[0], "root plate": root_limits(inputs, tried, divisor)[0]}
    refused = tuple(limit_finding(governing(one, tried, {})) for one in limits.values() if one.refused.any())
    if refused:
        return tuple(PullRow(height, None, tuple(map(_of, refused))) for height in TIE_HEIGHTS_M), refused
    shape = (len(TIE_HEIGHTS_M), TRIED_PULL_N.size)
    uses = {name: one.use.max(axis=1).reshape(shape) for name, one in limits.items()}
    against = [tuple(tie_findings(inputs, height)) for height in TIE_HEIGHTS_M]
    rows = tuple(
        PullRow(height, None, tuple(map(_of, told))) if told
        else _row(height, {name: use[i] for name, use in uses.items()})
        for i, (height, told) in enumerate(zip(TIE_HEIGHTS_M, against))
    )  # fmt: skip
    return rows, against[0]


def _of(finding: Finding) -> Said:
    return said("any-of", first=Said(finding.code, finding.values), others=finding.more)


def _row(height: float, uses: dict[str, np.ndarray]) -> PullRow:
    """One tie height: use grows steadily with the pull, so the crossing is read off between the tried pulls."""
    greatest = np.max(list(uses.values()), axis=0)
    full, without_trial = (
        float(np.interp(share, greatest, TRIED_PULL_N)) if greatest[0] <= share else 0.0 for share in (1.0, SUITS_UP_TO)
    )
    at = min(int(np.searchsorted(TRIED_PULL_N, full)), TRIED_PULL_N.size - 1)
    return PullRow(height, full, (said("kind-alone", kind=max(uses, key=lambda name: uses[name][at])),), without_trial)


def trial_load(tree: TreeInputs, judged: HoldJudgement, tie: float | None) -> tuple[Said, ...]:
    """Steps of the trial load where one is asked for; empty where the use is low, unknown or too high."""
    use = judged.hold_use
    if use is None or tie is None or not SUITS_UP_TO < use <= 1:
        return ()
    root = next((limit for limit in judged.limits if limit.name == "root plate"), None)
    if root is None or root.demand is None or not root.capacity_median:
        share = math.nan
    else:
        share = root.demand / root.capacity_median
    begins = TILT_START_SHARE.value
    expected = () if math.isnan(share) else (
        said("trial-tilt-begins-over" if share > begins else "trial-tilt-begins-under", begins=begins, share=share),)
    return trial_steps(judged.loads, expected)


def trial_steps(loads: Sequence[Load], expected: tuple[Said, ...] = ()) -> tuple[Said, ...]:
    """Steps of a trial load of a tree: of a line it is tightened for it, of what is not tightened it is loaded.

    Parameters
    ----------
    loads : cases at that end
    expected : what is to be seen by it
    """
    peak = max(load.tension_n for load in loads)
    rigged = any(load.case == RIGGING for load in loads)
    steps = said("trial-in-steps", peak=peak) if rigged else said("trial-by-weight", peak=peak)
    return (said("trial-nobody-near"), steps, said("trial-look-at-the-base"), *expected,
            said("trial-let-off", tilt=TILT_START_DEG.value), said("trial-write-it-down"),
            said("trial-look-again"))  # fmt: skip


ALIKE_SPAN = constants("alike span")  # another tree's distance over this span, within which its pull counts as alike


def carried_to_others(setting: LineSetting, end: EndName) -> Iterator[LineSetting]:
    """The line with one end on each other tree of the record that stands about as far from its other anchor."""
    entries, ends = setting.entries, [recorded.anchor for recorded in setting.line.ends]
    same = {one for code in ends for one in (code, *entries.others(code), *entries.may_be(code))}
    other = setting.places.at((setting.line.b if end == "A" else setting.line.a).anchor)
    span = setting.inputs.span
    for tree in setting.record.anchors:
        if not isinstance(tree, Tree) or tree.code in same or entries.others(tree.code) or entries.may_be(tree.code):
            continue
        place = setting.places.at(tree.code)
        if other is None or place is None or span is None:
            continue
        course = bearing_distance(place.latitude_deg, place.longitude_deg, other.latitude_deg, other.longitude_deg)
        if ALIKE_SPAN["least"] * span <= float(course.distance_m) <= ALIKE_SPAN["most"] * span:
            yield _carried(setting, end, tree.code)


def _carried(setting: LineSetting, end: EndName, code: str) -> LineSetting:
    line = carried(setting.line, end, code, setting.inputs.standing)
    trees = [one.anchor for one in line.ends]
    for beside in setting.record.lines:  # what was seen of the ground there under another line, whichever way it runs
        ends = [one.anchor for one in beside.ends]
        if beside.id != line.id and trees in (ends, ends[::-1]):
            ground = beside.ground if ends == trees else _turned(beside, setting)
            line = line.model_copy(update={"ground": ground, "ground_between": beside.ground_between})
    lines = tuple(line if one.id == line.id else one for one in setting.record.lines)
    geometry = pair_geometry(line, setting.places)
    record = setting.record.model_copy(update={"lines": lines})
    return replace(setting, record=record, line=line, inputs=line_inputs(line, geometry.span_m), geometry=geometry)


def _turned(line: Line, setting: LineSetting) -> tuple[GroundPoint, ...]:
    """The rows taped under a line as if from its other end; none where nobody knows how long it is."""
    read = line_inputs(line, pair_geometry(line, setting.places).span_m)
    return tuple(GroundPoint(at=quantity(read.span - row.at.si, "m", "length", 6),
                             height=quantity(row.height.si - read.ground_rise, "m", "length", 6))
                 for row in reversed(line.ground) if read.span and row.at.si <= read.span)  # fmt: skip


def would_hold(
    setting: LineSetting, end: EndName, hold: Callable[[LineSetting, EndName], Verdict],
    as_planned: Callable[[], LineResult], judge: Callable[[LineSetting], LineResult],
) -> tuple[Remedy, ...]:  # fmt: skip
    """Other recorded trees on which the line would do better, as one remedy with the word of the whole line there.

    Parameters
    ----------
    setting, end
        The line as planned, and the end that is carried.
    hold : callable
        The word of an end's hold alone: a tree that is no better by it is not judged.
    as_planned, judge : callable
        The line as planned and as carried, judged with everything that bears on it.
    """
    most = min(VERDICTS.index(hold(setting, end)), VERDICTS.index("cannot say"))
    reached: dict[tuple[Verdict, tuple[Said, ...]], list[str]] = {}
    before: LineResult | None = None
    for there in carried_to_others(setting, end):
        if VERDICTS.index(hold(there, end)) >= most:
            continue
        before = before or as_planned()
        told = _reached(before, judge(there), end)
        if told is not None and VERDICTS.index(told[0]) < most:
            reached.setdefault(told, []).append(there.line.at(end).anchor)
    if not reached:
        return ()
    best, still = min(reached, key=lambda told: (VERDICTS.index(told[0]), len(told[1])))
    first, *more = reached[best, still]
    what = said("another-tree-holds", tree=first, others=tuple(said("or-tree", tree=code) for code in more))
    return (Remedy(what, "another tree", None, "", best, "anchor", still=still),)


def _reached(before: LineResult, after: LineResult, end: EndName) -> tuple[Verdict, tuple[Said, ...]] | None:
    """The word of the whole line carried there, and its new conditions.

    None where a rule is broken that was not, or taped ground touched that was not.

    What its other end is told as planned too is that end's own trouble, and is told there.
    """
    if not no_further_broken(broken(after.anchors), broken(before.anchors)) or _touches(after) and not _touches(before):
        return None
    (_, other), (mine, then) = (one.anchors if end == "A" else one.anchors[::-1] for one in (before, after))
    theirs = [one for one in then.findings if not any(_as_planned(one, known) for known in other.findings)]
    asked = met_by([*other.findings, *before.findings])
    new = [one for one in met_by([*theirs, *after.findings]) if one not in asked]
    word = worst(finding.effect for finding in (*mine.findings, *theirs, *after.findings))
    return word, tuple(dict.fromkeys((*met_by(mine.findings), *new)))


def _touches(line: LineResult) -> bool:
    return any(finding.code in ("touches", *CLEARED_BY) for finding in line.findings)


def _as_planned(now: Finding, planned: Finding) -> bool:
    """Whether a thing is found of an end as it was: its figures may differ as much as those of pulls that are alike."""
    here, there = dict(now.values), dict(planned.values)
    if (now.code, now.effect, here.get("limit")) != (planned.code, planned.effect, there.get("limit")):
        return False
    use, was = here.get("use"), there.get("use")
    return use is None or was is None or use <= was * ALIKE_SPAN["most"]
