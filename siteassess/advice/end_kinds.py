"""What differs by the kind of an anchor: its setting for a remedy, what is missing of it, its name, what it rests on.

A further kind has its branch in each of these, and its end in `assess.py`.
"""

from __future__ import annotations

import math

from siteassess.advice.boulder_end import BOULDER_END_ASSUMPTIONS, judge_boulder
from siteassess.advice.changes import BoulderEnd, EndSetting, TreeEnd
from siteassess.advice.finding import Finding
from siteassess.advice.hold import end_loads
from siteassess.advice.judge import evidence_of
from siteassess.advice.line_inputs import LineInputs
from siteassess.advice.line_setting import LineSetting
from siteassess.advice.results import NO_TAG, AnchorResult, Evidence
from siteassess.advice.survey_age import hardest_day
from siteassess.advice.tree_inputs import tree_inputs
from siteassess.mechanics.boulder import BOULDER_ASSUMPTIONS
from siteassess.records.anchor import Anchor, Boulder, Tree
from siteassess.records.line import EndName
from siteassess.reference.constants import Constant

KIND_ASSUMPTIONS: dict[str, tuple[Constant, ...]] = {"boulder": (*BOULDER_ASSUMPTIONS, *BOULDER_END_ASSUMPTIONS)}


def end_setting(setting: LineSetting, end: EndName, anchor: Anchor, bearing: float) -> EndSetting | None:
    """One end of the line on an anchor, its own or another; None on one of a kind that no model reaches.

    Parameters
    ----------
    setting : of the line
    end, anchor : which of its ends, and what stands there
    bearing : of the pull, true [deg]
    """
    if isinstance(anchor, Tree):
        return tree_setting(setting, end, anchor, bearing)
    return boulder_setting(setting, end, anchor, bearing) if isinstance(anchor, Boulder) else None


def tree_setting(setting: LineSetting, end: EndName, tree: Tree, bearing: float) -> TreeEnd:
    """One end of the line on a tree, its own or another, with the other lines that hang there."""
    beside = setting.beside(tree.code)
    return TreeEnd(setting.line, end, tree, setting.geometry.span_m, bearing,
                   setting.places.latitude(tree.code), hardest_day(tree, setting.on, setting.last),
                   tuple(pulls for _, pulls, _ in beside if pulls),
                   tuple(name for name, pulls, _ in beside if not pulls),
                   tuple(least for *_, least in beside if least),
                   longitude=setting.places.longitude(tree.code), taped=setting.taped_at(tree.code))  # fmt: skip


def boulder_setting(setting: LineSetting, end: EndName, boulder: Boulder, bearing: float) -> BoulderEnd:
    """The same on a boulder."""
    return BoulderEnd(setting.line, end, boulder, setting.geometry.span_m, bearing,
                      setting.places.latitude(boulder.code), setting.on,
                      unsummed=tuple(name for name, *_ in setting.beside(boulder.code)))  # fmt: skip


def missing_at(anchor: Anchor, inputs: LineInputs, end: EndName, latitude: float) -> tuple[str, ...]:
    """The deciding things that nobody looked at; none of a kind that is not judged.

    Parameters
    ----------
    anchor : at that end
    inputs, end : of the line
    latitude : of the anchor [deg]
    """
    if isinstance(anchor, Tree):
        return evidence_of(inputs, tree_inputs(anchor, inputs.tie(end), latitude)).missing
    return judge_boulder(anchor, inputs, end, math.nan).evidence.missing if isinstance(anchor, Boulder) else ()


def unjudged_end(setting: LineSetting, end: EndName, anchor: Anchor, bearing: float, told: Finding) -> AnchorResult:
    """An end that no model reaches."""
    loads, _ = end_loads(setting.inputs, end, bearing)
    tag = anchor.tag if isinstance(anchor, Tree) else None
    return AnchorResult(
        setting.line.id, end, anchor.code, anchor.kind, tag or NO_TAG, _what(anchor), "cannot say", loads,
        (), None, None, Evidence((), ()), (), (told,), (), None, None,
        setting.inputs.tie(end), bearing if math.isfinite(bearing) else None, None, (),
    )  # fmt: skip


def _what(anchor: Anchor) -> str:
    """What stands there, as an answer names it."""
    if isinstance(anchor, Tree):
        return tree_inputs(anchor, None).species.accepted
    return f"boulder, {anchor.rock}" if isinstance(anchor, Boulder) else anchor.what
