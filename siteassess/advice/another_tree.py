"""Another recorded tree for one end of a line: the line is carried there and judged as a whole, and told so."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import replace

from siteassess.advice.changes import carried
from siteassess.advice.finding import Finding, met_by
from siteassess.advice.geometry import pair_geometry
from siteassess.advice.line_inputs import line_inputs
from siteassess.advice.line_setting import LineSetting
from siteassess.advice.results import LineResult, Remedy
from siteassess.advice.rules import broken, no_further_broken
from siteassess.advice.verdict import VERDICTS, Verdict, worst
from siteassess.advice.whole_line import CLEARED_BY
from siteassess.places.geodesy import bearing_distance
from siteassess.records.anchor import Tree
from siteassess.records.line import EndName, GroundPoint, Line
from siteassess.reference.constants import constants
from siteassess.reference.findings import Said, said
from siteassess.units import quantity

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
