"""What differs by the kind of an anchor, and what the line adds to one end once it is judged.

By kind: its setting for a remedy, what is missing of it, its name, what it rests on; a further kind has its branch in
each of these, and its end in `assess.py`. Of the line: the pull against the slope, uneven legs, the tie that was asked
for. A packing list of what was planned would bring gear that the verdict itself calls too narrow.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import replace

from siteassess.advice.boulder_end import BOULDER_END_ASSUMPTIONS, judge_boulder
from siteassess.advice.care import SLING_WIDTHS, care_mends, pressing
from siteassess.advice.care_results import Protection
from siteassess.advice.changes import BoulderEnd, EndSetting, TreeEnd
from siteassess.advice.finding import Finding
from siteassess.advice.gear_inputs import SlingInputs
from siteassess.advice.hold import end_loads
from siteassess.advice.judge import evidence_of
from siteassess.advice.line_inputs import LineInputs
from siteassess.advice.line_setting import LineSetting
from siteassess.advice.protection import WRAP_WORDS, Tied, protect
from siteassess.advice.results import NO_TAG, AnchorResult, Evidence
from siteassess.advice.season import growing_on
from siteassess.advice.survey_age import hardest_day
from siteassess.advice.tree_inputs import tree_inputs
from siteassess.mechanics.anchor_vector import angle_between
from siteassess.mechanics.boulder import BOULDER_ASSUMPTIONS
from siteassess.mechanics.sling import TwoLegs, slack_angle, two_legs, unevenness
from siteassess.records.anchor import Anchor, Boulder, Tree
from siteassess.records.line import End, EndName
from siteassess.reference.constants import Constant
from siteassess.reference.findings import Said, said

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


def with_line_details(result: AnchorResult, recorded: End, anchor: Anchor) -> AnchorResult:
    """The end with the angle of its pull to straight downhill and the advice on uneven legs."""
    plan = result.protection
    if plan is not None:
        plan = replace(plan, told=(*plan.told, *uneven_advice(plan, recorded)))
    return replace(result, downhill_angle_deg=downhill_angle(result.pull_bearing_true_deg, anchor), protection=plan)


def downhill_angle(bearing: float | None, anchor: Anchor) -> float | None:
    """Angle between a pull and straight downhill [deg]; None where either is unknown or the ground is level."""
    ground = anchor.ground if isinstance(anchor, Tree) else None
    downhill = ground.downhill if ground else getattr(anchor, "downhill", None)
    slope = ground.slope if ground else getattr(anchor, "slope", None)
    if bearing is None or downhill is None or not math.isfinite(bearing) or (slope is not None and slope.si == 0):
        return None
    return float(angle_between(bearing, downhill.si))


def legs_of(plan: Protection, recorded: End) -> TwoLegs | None:
    """How the two legs share a pull of 1 N that runs off their middle; None where it runs in it or is not known to."""
    off = recorded.sling.off_middle if recorded.sling else None
    if off is None or off.si == 0 or not plan.leg_angle_deg:
        return None
    return two_legs(1.0, plan.leg_angle_deg, off.si)


def uneven_advice(plan: Protection, recorded: End) -> tuple[Said, ...]:
    """What is told of legs that share the pull unevenly, where the link lies off their middle."""
    legs, off = legs_of(plan, recorded), recorded.sling.off_middle if recorded.sling else None
    if legs is None or off is None or plan.leg_angle_deg is None:
        return ()
    more, less = sorted((float(legs.leg_1), float(legs.leg_2)), reverse=True)
    return (said("legs-off-the-middle", off=off.text, more=more, less=less,
                 slack=float(slack_angle(plan.leg_angle_deg)), legs=said(unevenness(legs))),)  # fmt: skip


def pull_parts(result: AnchorResult) -> Said | None:
    """The hardest pull at an end in all its parts; None where it is not known.

    Parameters
    ----------
    result : of one end
    """
    if not result.loads:
        return None
    load = max(result.loads, key=lambda one: one.tension_n)
    more = (said("about-the-ground", moment=load.moment_nm),) if math.isfinite(load.moment_nm) else ()
    if result.downhill_angle_deg is not None:
        more = (*more, said("off-straight-downhill", off=result.downhill_angle_deg))
    code = "pulls-level-and-down" if load.vertical_n >= 0 else "pulls-level-and-up"
    return said(code, level=load.horizontal_n, upright=abs(load.vertical_n), more=more)


def with_asked_tie(end: Tied, plan: Protection) -> Protection:
    """The plan with the tie that is asked for beside it; unchanged where the planned tie is the one asked for.

    Parameters
    ----------
    end : Tied
        As planned, or as proposed where nothing was.
    plan : Protection
        Of that tie.
    """
    asked, by = _asked(end)
    if asked == end.sling:
        return plan
    growing = growing_on(end.on, end.tree, end.site, end.last)
    changed = replace(end, sling=asked, care=pressing(end.tree, end.loads, asked, growing, end.tie))
    parts = () if end.sling.proposed else tuple(_changed(end.sling, asked))
    return replace(plan, instead=replace(protect(changed), replaced=said("listed", parts=parts) if parts else None,
                                         asker=said("asked-by", by=tuple(by))))  # fmt: skip


def _asked(end: Tied) -> tuple[SlingInputs, list[Said]]:
    """The sling asked for, and by whom."""
    growing, sling, by = growing_on(end.on, end.tree, end.site, end.last), end.sling, []
    care = end.care
    if sling.wrap == "choker":
        sling = replace(sling, wrap="basket")
        care, by = pressing(end.tree, end.loads, sling, growing, end.tie), [said("our-bark-limit-asks")]
    mends = care_mends(end.tree, end.loads, sling, growing, end.tie, care)
    if changes := [mend.sling for mend in mends if mend.sling is not None]:
        sling, by = changes[0], [said("our-bark-limit-asks")]
    least = end.pads_asked.sling_width_m
    if sling.width is not None and sling.width < least - 1e-9:
        sling = replace(sling, width=next((width for width in SLING_WIDTHS if width >= least - 1e-9), least))
        by = [*by, said("the-places-rules-ask", place=end.pads_asked.place)]
    if sling.kind == "rope" and sling.width != end.sling.width:
        sling = replace(sling, kind="flat sling")  # no rope is as wide
    return sling, by


def _changed(planned: SlingInputs, asked: SlingInputs) -> Iterator[Said]:
    """What of the planned tie is replaced."""
    if planned.width != asked.width and planned.width is not None:
        yield said("width-alone", width=planned.width)
    if planned.wrap != asked.wrap:
        yield said("wrap-alone", wrap=WRAP_WORDS.get(planned.wrap, planned.wrap))
    if planned.slats != asked.slats:
        yield said("so-many-slats", slats=planned.slats) if planned.slats else said("sling-without-slats")
