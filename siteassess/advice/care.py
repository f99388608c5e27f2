"""Care: what the sling presses on the bark, beside the reference pressure; and the change that brings it down.

The reference is a judgement, so no reading here rejects a tree by itself: it ends in "suits if" or "cannot say".
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import Any

from siteassess.advice.finding import Finding, Limit, found, met_by, whys
from siteassess.advice.gear_inputs import UNPLANNED_WIDTH, SlingInputs, pad_row, usual_link_distance
from siteassess.advice.results import Load, Remedy
from siteassess.advice.tree_inputs import TreeInputs
from siteassess.errors import OutsideModel
from siteassess.mechanics.bark import (
    BARK_BANDS,
    BARK_READINGS,
    BARK_UNREAD,
    NEAREST_LINK,
    ONE_STRAND,
    PEAK_PRESSURE,
    Contact,
    press,
    reading,
    reference_pressure,
)
from siteassess.mechanics.padding import padded_width, slats, slats_for
from siteassess.mechanics.sling import WIDEST_ANGLE, uneven_factor
from siteassess.reference.constants import constant
from siteassess.reference.findings import Said, said
from siteassess.reference.tables import document

SUSTAINED = ("standing", "lying")
SLING_WIDTHS = (0.025, 0.035, 0.05, 0.075, 0.10, 0.15, 0.20)  # widths that are sold [m] (common practice, no source)
SOUGHT_USE = constant("sought bark use")


@dataclass(frozen=True)
class Care:
    """Pressure of one sling on one trunk."""

    sling: SlingInputs
    contact: Contact | None
    pressure: float  # in the case that lasts for hours, over the bearing width [Pa]
    peak: float  # in the hardest case [Pa]
    reference: float  # [Pa]
    use: float
    reading: str  # a code, see `mechanics.bark.reading`
    link_distance: float | None
    reason: Said | None = None  # why the pressure cannot be worked out
    on_slats: bool = False
    bare_pressure: float | None = None  # of the strands alone, without pad or slats [Pa]
    contact_tension: float = math.nan  # the line's tension that `contact` was worked out for [N]
    case: str = "standing"  # the load case that presses for hours
    do_next: Said | None = None  # where the pressure cannot be worked out
    harder_nearer: float = 1.0  # how many times harder it presses with the link as near as it may be

    def when(self) -> Said:
        """When the sling presses that hard."""
        return said("pressed-with-somebody-in-it" if self.case == "lying" else "pressed-standing")


def pressing(tree: TreeInputs, loads: tuple[Load, ...], sling: SlingInputs, growing: bool | None, tie: float) -> Care:
    """Pressure under the planned sling, pad and slats.

    Parameters
    ----------
    growing : bool or None
        Whether the cambium is at work on the day; None counts as growing.
    tie : float
        Height of the tie [m].
    """
    diameter = tree.diameter_at(tie)
    reference = float(reference_pressure(
        growing, None if math.isnan(tree.bark_thin) else tree.bark_thin, tree.bark_smooth, tree.stressed, tree.weekly,
    ))  # fmt: skip
    nothing = Care(sling, None, math.nan, math.nan, reference, math.nan, BARK_UNREAD, sling.link_distance)
    still = next((load for load in loads if load.case in SUSTAINED), None)
    standing = still.tension_n if still else None
    if not math.isfinite(diameter):
        return replace(nothing, reason=said("trunk-size-unknown"), do_next=said("tape-the-trunk-at-the-tie"))
    if still is None or standing is None:
        return replace(nothing, reason=said("pull-unknown"), do_next=said("measure-the-line"))
    width, slat = sling.width, sling.slat_sizes
    if width is None:
        return replace(nothing, reason=said("sling-width-unknown"), do_next=said("measure-the-slings-width"))
    link = usual_link_distance(diameter) if sling.link_distance is None else sling.link_distance
    if fault := link_fault(link, diameter / 2, sling.wrap):
        return replace(nothing, reason=fault, link_distance=link, do_next=said("set-the-link-further-off"))
    try:
        contact = press(standing, diameter, width, link, sling.wrap, sling.strands)
        uneven = _uneven(sling, contact)
        bare = uneven * float(contact.pressure_pa)
        pressure = (uneven * _on_slats(contact, diameter, sling, width, slat) if slat
                    else bare * width / _bearing(sling, width))  # fmt: skip
    except OutsideModel as error:
        return replace(nothing, reason=said("sling-cannot-lie-so", why=whys(error)), link_distance=link,
                       do_next=said("look-again-at-the-sling"))  # fmt: skip
    peak = pressure * max(load.tension_n for load in loads) / standing
    use = pressure / reference
    return Care(sling, contact, pressure, peak, reference, use, str(reading(use, peak)), link,
                on_slats=slat is not None,
                bare_pressure=bare, contact_tension=standing, case=still.case,
                harder_nearer=_harder_nearer(standing, diameter, sling, width, bare))  # fmt: skip


def _harder_nearer(standing: float, diameter: float, sling: SlingInputs, width: float, bare: float) -> float:
    """How many times harder a planned sling presses with a link nobody placed as near as its legs allow [-]."""
    if sling.link_distance is not None or sling.proposed or sling.wrap in ONE_STRAND:
        return 1.0
    nearest = press(standing, diameter, width, diameter / 2 * NEAREST_LINK, sling.wrap, sling.strands)
    return _uneven(sling, nearest) * float(nearest.pressure_pa) / bare


def _uneven(sling: SlingInputs, contact: Contact) -> float:
    """How many times harder the sling presses where its link sits off the middle of its legs [-]."""
    legs = 2 * math.degrees(float(contact.half_angle_rad))
    return uneven_factor(legs, sling.off_middle) if sling.off_middle and legs > 0 else 1.0


def strands_of(sling: SlingInputs) -> int:
    """Strands that share the pull."""
    return sling.strands or (2 if sling.wrap == "doubled" else 1)


def _bearing(sling: SlingInputs, width: float) -> float:
    """Bearing width of one strand once the pad has spread it [m]; strands side by side share one spread."""
    pad = pad_row(sling.pad_material) if sling.pad_material else None
    if pad is None or sling.pad_thickness is None:
        return width
    together = width * strands_of(sling)
    # no thicker than such a pad is: a slip of the unit must not spread the load
    thickness = min(sling.pad_thickness, pad["thickness_high_mm"] / 1e3)
    along_stem = math.inf if sling.pad_width is None else sling.pad_width
    spread = padded_width(together, along_stem, thickness, pad["spread_deg"])
    return float(spread) / strands_of(sling)


def link_fault(link: float, radius: float, wrap: str) -> Said | None:
    """Why a link cannot sit at a distance from the trunk's centre [m]; None where it can.

    `radius` is that of the trunk with what lies round it [m]. A wrap with one strand to the line has no legs to open.
    """
    one_strand = wrap in ONE_STRAND
    nearest = radius if one_strand else radius * NEAREST_LINK
    if link >= nearest * (1.0 - 1e-3):
        return None
    inside = (said("inside-the-trunk"),) if link < radius else ()
    opens = () if one_strand else (said("or-the-legs-open", widest=WIDEST_ANGLE),)
    return said("link-too-near", link=link, nearest=nearest, inside=inside, opens=opens)


def _on_slats(
    contact: Contact, diameter: float, sling: SlingInputs, width: float, slat: tuple[float, float, float]
) -> float:
    count, turned = strands_of(sling), float(contact.contact_rad)
    if sling.slats == 1:  # the sling turns over it half a turn at most (judgement), and lies on the bark beside it
        turned = min(turned, math.pi)
    found = slats(float(contact.strand_n) * count, turned, diameter, sling.slats, *slat, width * count)  # fmt: skip
    return float(found.pressure_pa)


def narrowest(
    tree: TreeInputs, loads: tuple[Load, ...], sling: SlingInputs, growing: bool | None, tie: float,
    most_width: float = math.inf,
) -> SlingInputs:  # fmt: skip
    """The narrowest sold sling, single before doubled, that stays within the reference; the widest doubled if none.

    None is wider than the place lets lie there [m].
    """
    base = replace(sling, wrap="basket", wrap_known=True, strands=None, slats=0, proposed=True)
    sold = [width for width in SLING_WIDTHS if UNPLANNED_WIDTH <= width <= most_width + 1e-9] or [UNPLANNED_WIDTH]
    for wrap in ("basket", "doubled"):
        for width in sold:
            tried = replace(base, wrap=wrap, width=width)
            found = pressing(tree, loads, tried, growing, tie)
            if math.isnan(found.use):
                return replace(base, width=UNPLANNED_WIDTH)
            if found.use <= SOUGHT_USE and found.peak <= PEAK_PRESSURE.value:
                return tried
    return replace(base, wrap="doubled", width=sold[-1])


def care_limit(care: Care) -> Limit:
    """The bark's line in the table of limits."""
    known = math.isfinite(care.use)
    why = care.reason or said(care.reading)
    return Limit("bark", "Pa", care.case, care.pressure if known else None, care.reference if known else None,
                 care.use if known else None, why=why)  # fmt: skip


def care_findings(care: Care, remedies: tuple[Remedy, ...], planned: bool) -> list[Finding]:
    """What the pressure means for the verdict."""
    if math.isnan(care.use):
        return [found("bark-not-worked-out", "cannot say", looked_at=False, why=care.reason, next=care.do_next)]
    values: dict[str, Any] = {"pressure": care.pressure, "peak": care.peak, "use": care.use, "when": care.when(),
                              "reference": care.reference, "reading": said(care.reading)}  # fmt: skip
    more = [found("choker-grips-the-ring", "suits if")] if care.sling.wrap == "choker" else []
    if care.sling.slats and not care.on_slats:  # they may press harder than the sling by itself
        more.append(found("slats-unmeasured", "suits if", looked_at=False))
    if care.reading in BARK_READINGS[:2]:
        if str(reading(care.use * care.harder_nearer, care.peak * care.harder_nearer)) not in BARK_READINGS[:2]:
            more.append(found("link-unplaced", "suits if", looked_at=False, link=care.link_distance))
        if not planned:
            strands = "two strands" if care.sling.wrap == "doubled" else "one strand"
            proposed = found("bark-pressed-by-ours", "suits if", strands=strands, width=care.sling.width, **values)
            return [*more, proposed]
        return [*more, found("bark-pressed", "suits", **values)]
    if remedies:
        first, *others = (remedy.in_full for remedy in remedies)
        mends: dict[str, Any] = {"first": first, "others": tuple(said("or-this", change=what) for what in others)}
        return [*more, found("bark-pressed-mended", "suits if", **mends, **values)]
    if care.use <= BARK_BANDS[-1].value and care.peak <= PEAK_PRESSURE.value:
        return [*more, found("bark-pressed-too-hard", "suits if", **values)]
    return [*more, found("bark-pressed-beyond-slings", "cannot say", **values)]


def _wide_and_doubled(sling: SlingInputs, reaches: Callable[[SlingInputs], bool]) -> SlingInputs | None:
    """The narrowest sling that, doubled, brings the pressure within the reference."""
    if sling.wrap not in ("basket", "doubled"):
        return None
    tried = (replace(sling, wrap="doubled", strands=None, width=width) for width in SLING_WIDTHS)
    return next((one for one in tried if reaches(one)), None)


def _slats_that_help(sling: SlingInputs, care: Care, diameter: float) -> SlingInputs | None:
    """The fewest slats of the table's flat kinds that bring standing and peak pressure within bounds."""
    if care.contact is None or sling.width is None or sling.wrap == "choker":
        return None
    strands = strands_of(sling)
    force = _uneven(sling, care.contact) * float(care.contact.strand_n) * strands
    target = min(care.reference, PEAK_PRESSURE.value * care.pressure / care.peak)
    found = []
    for row in (row for row in document("pads")["slats"] if row["id"] in ("flat slat", "wide slat")):
        size = row["width_mm"] / 1e3, row["length_mm"] / 1e3, row["thickness_mm"] / 1e3
        count = slats_for(force, float(care.contact.contact_rad), diameter, target, *size, sling.width * strands)
        if count is not None:
            found.append((count, size))
    if not found:
        return None
    count, (wide, long, thick) = min(found)
    return replace(sling, slats=count, slat_width=wide, slat_length=long, slat_thickness=thick)


@dataclass(frozen=True)
class Mend:
    """One remedy for the bark with the sling it means; None where it changes the day and not the sling."""

    remedy: Remedy
    sling: SlingInputs | None


def care_mends(
    tree: TreeInputs, loads: tuple[Load, ...], sling: SlingInputs, growing: bool | None, tie: float, care: Care,
    dormant: tuple[Said, ...] = (),
) -> tuple[Mend, ...]:  # fmt: skip
    """Smallest single changes of sling, or of season, that bring the pressure within the reference.

    Each with the sling it asks for; the one that changes least stands first. `dormant` tells the months to wait for.
    """
    if not math.isfinite(care.use) or (care.use <= SOUGHT_USE and care.peak <= PEAK_PRESSURE.value):
        return ()
    found: list[Mend] = []
    asked = met_by(care_findings(care, (), planned=True))  # already, whatever the sling

    def reaches(tried: SlingInputs, in_growth: bool | None = growing) -> bool:
        new = pressing(tree, loads, tried, in_growth, tie)
        return new.use <= SOUGHT_USE and new.peak <= PEAK_PRESSURE.value

    def add(what: Said, field: str, value: float | None, unit: str, changed: SlingInputs | None) -> None:
        then = pressing(tree, loads, changed or sling, growing if changed else False, tie)
        still = tuple(one for one in met_by(care_findings(then, (), planned=True)) if one not in asked)
        remedy = Remedy(what, field, value, unit, "suits if" if still else "suits", "bark", still=still)
        found.append(Mend(remedy, changed))

    # slats that press harder than the sling itself are taken out before anything else is tried
    harmful = care.on_slats and care.bare_pressure is not None and care.pressure > care.bare_pressure
    laid, bare = ((said("laid-without-slats"),), replace(sling, slats=0)) if harmful else ((), sling)
    if harmful and reaches(bare):
        add(said("slats-taken-out"), "slats", 0, "", bare)
    if sling.off_middle and reaches(middle := replace(bare, off_middle=0.0)):
        add(said("link-to-the-middle", laid=laid), "off middle", 0, "deg", middle)
    widths = [width for width in SLING_WIDTHS if width > (sling.width or 0) + 1e-9]
    doubled = replace(bare, wrap="doubled", strands=None)
    if sling.wrap == "choker":
        baskets = (replace(doubled, width=width) for width in (sling.width, *widths))
        if basket := next((one for one in baskets if reaches(one)), None):
            add(said("sling-as-a-doubled-basket", width=basket.width, laid=laid), "wrap", None, "", basket)
    wider = (replace(bare, width=width) for width in widths)
    if wide := next((one for one in wider if reaches(one)), None):
        add(said("sling-wider", width=wide.width, laid=laid), "sling width", wide.width, "m", wide)
    if sling.wrap == "basket" and reaches(doubled):
        add(said("sling-doubled", laid=laid), "wrap", None, "", doubled)
    if slatted := _slats_that_help(sling, care, tree.diameter_at(tie)):
        what = said("sling-on-slats", slats=slatted.slats, width=slatted.slat_width, length=slatted.slat_length,
                    thickness=slatted.slat_thickness)  # fmt: skip
        add(what, "slats", slatted.slats, "", slatted)
    if not found and (both := _wide_and_doubled(bare, reaches)):
        add(said("sling-wider-and-doubled", width=both.width, laid=laid), "sling width", both.width, "m", both)
    if growing is not False and dormant and reaches(sling, False):  # the tropics and an unknown place have none
        add(said("wait-for-the-dormant-season", when=dormant), "season", None, "", None)
    return tuple(found)
