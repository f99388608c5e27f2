"""The tie the verdict and the place's rules ask for, where it is not the one that was planned.

A packing list of what was planned would bring gear that the verdict itself calls too narrow.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from siteassess.advice.care import SLING_WIDTHS, care_mends, pressing
from siteassess.advice.care_results import Protection
from siteassess.advice.protection import WRAP_WORDS, Tied, protect
from siteassess.advice.season import growing_on
from siteassess.advice.sling_inputs import SlingInputs
from siteassess.reference.findings import Said, said


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
