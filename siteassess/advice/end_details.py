"""What the line adds to one end once it is judged: the pull against the slope, uneven legs, the tie that was asked for.

A packing list of what was planned would bring gear that the verdict itself calls too narrow.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import replace

from siteassess.advice.care import SLING_WIDTHS, care_mends, pressing
from siteassess.advice.care_results import Protection
from siteassess.advice.gear_inputs import SlingInputs
from siteassess.advice.protection import WRAP_WORDS, Tied, protect
from siteassess.advice.results import AnchorResult
from siteassess.advice.season import growing_on
from siteassess.mechanics.anchor_vector import angle_between
from siteassess.mechanics.sling import TwoLegs, slack_angle, two_legs, unevenness
from siteassess.records.anchor import Anchor, Tree
from siteassess.records.line import End
from siteassess.reference.findings import Said, said


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
