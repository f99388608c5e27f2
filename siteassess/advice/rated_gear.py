"""Rated strengths of a line's gear, each piece against the load of its own place, and what that means for the line."""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import Any

from siteassess.advice.care_results import Protection
from siteassess.advice.finding import Finding, found
from siteassess.advice.gear_loads import PlaceLoads, gear_row, knot_named, left_by, place_loads, usual_place
from siteassess.advice.results import AnchorResult
from siteassess.advice.verdict import Verdict, worst
from siteassess.mechanics.gear import (
    BREAKING_FACTOR,
    TAILS,
    GearPart,
    PartCheck,
    check_gear,
    check_part,
)
from siteassess.mechanics.sling import (
    CHOKER_OF_VERTICAL,
    WIDEST_ANGLE,
    basket_factor,
    choke_factor,
    uneven_factor,
)
from siteassess.records.line import End, Gear, Line, Sling, Webbing
from siteassess.reference.constants import constant
from siteassess.reference.findings import Said, said
from siteassess.reference.names import is_nothing
from siteassess.reference.tables import rows
from siteassess.units import Quantity

UNSAID_ENDS = "most knots"  # leave less than any lock, so that nothing is earned by not saying what holds the ends
NATURAL_CHOKE_DEG = constant("natural choke")


def gear_checks(line: Line, ends: tuple[AnchorResult, ...]) -> tuple[PartCheck, ...]:
    """Every piece of a line against the load of its own place; none where no load is known.

    Parameters
    ----------
    line : Line
        As recorded.
    ends : tuple of AnchorResult
        With the load cases of both ends.
    """
    if not any(end.loads for end in ends):
        return ()
    loads = place_loads(line, ends)
    wound = any(piece.kind == "ratchet" and _winds_the_line(piece) for piece in line.gear)
    webbings, on_a_ratchet = ([_webbing_part(webbing, name, loads, turned) for name, webbing in _webbings(line)]
                              for turned in (wound, True))  # fmt: skip
    weakens = any(_word(one) != _word(other) for one, other in zip(webbings, on_a_ratchet))
    parts = [*(_piece_part(piece, loads, weakens and _winds_the_line(piece)) for piece in line.gear), *webbings]
    parts += [_sling_part(end, end.sling, result, loads) for end, result in zip(line.ends, ends) if end.sling]
    return check_gear(parts)


def rated_gear(line: Line, checks: tuple[PartCheck, ...], loads_known: bool, span: float | None) -> tuple[Said, ...]:
    """The gear line every result carries, each part that was checked, and whether listed webbing reaches.

    `span` is the straight distance between the ties [m].
    """
    if not loads_known:
        return (said("gear-load-unknown"),)
    told = [said("gear-checked", load=check.load, place=check.told[1], **_reached(check)) for check in checks
            if check.answer != "not checked"]  # fmt: skip
    if line.webbing and line.webbing.length and span is not None:
        listed, needed = line.webbing.length.si, span + TAILS
        reaches = "webbing-reaches" if listed >= needed else "webbing-too-short"
        told.append(said(reaches, listed=listed, needed=needed))
    return (_in_one_line(checks), *told)


def _in_one_line(checks: tuple[PartCheck, ...]) -> Said:
    """The weakest part that was checked, and which were not; parts come the weakest first."""
    known = [check for check in checks if check.answer != "not checked"]
    if not known:
        return said("gear-not-checked")
    unknown = tuple(check.told[0] for check in checks if check.answer == "not checked")
    rest = (said("gear-rest", pieces=unknown),) if unknown else ()
    return said("gear-weakest", **_reached(known[0]), rest=rest)


def _reached(check: PartCheck) -> dict[str, Any]:
    return {"piece": check.told[0], "factor": check.factor, "wanted": check.wanted, "answer": check.answer}


def gear_findings(checks: tuple[PartCheck, ...]) -> list[Finding]:
    """What gear that is not enough, or slips, means for the line; gear that was not checked means nothing.

    A working load limit holds its maker's factor, so passing it is not yet past the break; as many times past it as
    that factor is.
    """
    told = []
    for check in checks:
        at, (piece, place) = "" if check.place_said else "-place-unsaid", check.told
        told += [found(code, "suits if", looked_at=False, piece=piece, place=place)
                 for code in check.hangs_on if not (code == "gear-unsaid-place" and check.answer == "not enough")]
        if check.slips:
            told.append(found(f"gear-may-slip{at}", "suits if", piece=piece, slips=check.slips_from, pull=check.load))
        if check.answer != "not enough":
            continue
        values = {"piece": piece, "factor": check.factor, "place": place, "wanted": check.wanted}
        if check.factor * BREAKING_FACTOR < check.wanted:
            told.append(found("gear-too-weak", "leave it", **values))
        else:
            told.append(found(f"gear-short{at}", "suits if", **values))
    return told


def _word(part: GearPart) -> Verdict:
    return worst(one.effect for one in gear_findings((check_part(part),)))


def _winds_the_line(piece: Gear) -> bool:
    """Whether a ratchet in the place of a piece would wind the line's own webbing."""
    return piece.place not in ("backup", "leash")


def _piece_part(piece: Gear, loads: PlaceLoads, weakens: bool) -> GearPart:
    """A piece at the load of its place; `weakens` where a webbing would be told worse if the piece were a ratchet."""
    load, place = loads.of(piece)
    row = gear_row(piece.kind)
    slips = row.slips_low_kn if row else None
    factor = row.working_load_factor if row else None
    name = _name_of(piece)
    working_load = piece.rating_is == "working load limit"
    return _part(
        name, place, piece.rating, load, place_said=piece.place != "unknown", working_load=working_load,
        maker_factor=math.inf if factor is None else factor, left=_left_by_knot(piece),
        slips_from=math.inf if slips is None else 1e3 * slips, unsaid=_unsaid(piece, load, loads, weakens),
    )  # fmt: skip


def _name_of(piece: Gear) -> Said:
    """What it is called in a sentence: by its own name, else by its kind, which "other" alone does not tell."""
    if piece.what:
        return said("name-alone", name=piece.what)
    return said("piece-of-other-kind") if piece.kind == "other" else said("kind-alone", kind=piece.name)


def _unsaid(piece: Gear, load: float, loads: PlaceLoads, weakens: bool) -> tuple[tuple[str, float], ...]:
    """By codes what nobody said of a piece, and how many times nearer to its limit it may be by that [-]."""
    told = []
    if piece.place == "unknown" and load > 0 and usual_place(piece.kind) != "leash":  # which sits nowhere else
        told.append(("gear-unsaid-place", 2 * loads.hardest / load))  # two strands side by side, round a redirect
    if piece.kind == "unknown":
        kinds = rows("gear")
        least = min((row.working_load_factor for row in kinds if row.working_load_factor), default=math.inf)
        fails = weakens or any(row.slips_low_kn and load > 1e3 * row.slips_low_kn for row in kinds)
        rated = BREAKING_FACTOR / least if piece.rating_is == "working load limit" else 1.0
        told.append(("gear-unsaid-kind", math.inf if fails else rated))
    if piece.kind in ("rope", "leash", "other", "unknown") and _knot_of(piece) is None:
        least = min(row.strength_low_share for row in rows("knots"))
        told.append(("gear-unsaid-knot", _left_by_knot(piece) / least))
    return tuple(told)


def _part(name: Said, place: Said, rating: Quantity | None, load: float, **more: Any) -> GearPart:
    return GearPart(name.in_words(), rating.si if rating else None, load, place.in_words(), told=(name, place), **more)


def _knot_of(piece: Gear) -> str | None:
    """What was said of the knot in a piece, "none" where it has none; None where nothing was said."""
    knot = piece.knot and piece.knot.strip()
    if knot and knot.casefold() == "none":
        return "none"
    return None if knot is None or is_nothing(knot) else knot


def _left_by_knot(piece: Gear) -> float:
    """Share of its strength that a piece's knot leaves [-]; one nobody could name or no table holds is any knot."""
    knot = _knot_of(piece)
    if knot == "none" or piece.knot is None and piece.kind != "rope":  # a rope without one is seldom, and says so
        return 1.0
    known = math.nan if knot is None else left_by(knot)
    return left_by("most knots") if math.isnan(known) else known


def _webbings(line: Line) -> Iterator[tuple[Said, Webbing]]:
    """Every webbing of the line with its name."""
    if line.sections:
        yield from ((said("webbing-by-number", number=number), section)
                    for number, section in enumerate(line.sections, 1))  # fmt: skip
    if line.webbing:  # beside its sections too: what was rated weaker is not stronger for a second answer
        yield said("kind-alone", kind="webbing"), line.webbing


def _webbing_part(webbing: Webbing, name: Said, loads: PlaceLoads, wound: bool) -> GearPart:
    """A webbing at the strength its weaker end leaves; where nobody said what holds it, a knot is taken."""
    held_by = webbing.held_by if webbing.held_by and not is_nothing(webbing.held_by) else None
    left = left_by(held_by or UNSAID_ENDS)
    if webbing.strength:
        name = (said("held-by", webbing=name, lock=knot_named(held_by)) if held_by
                else said("held-by-unsaid", webbing=name, lock=UNSAID_ENDS))  # fmt: skip
    if math.isnan(left):
        left = left_by(UNSAID_ENDS)
    if wound and left > left_by("ratchet"):
        left = left_by("ratchet")
        name = said("wound-on-a-ratchet", webbing=name) if webbing.strength else name
    return _part(name, said("in-the-line"), webbing.strength, loads.in_line, left=left)


def _sling_part(end: End, sling: Sling, result: AnchorResult, loads: PlaceLoads) -> GearPart:
    """One strand of a sling at its share of the pull: legs that share it unevenly, a choker at its reduced strength."""
    plan, place = result.protection, said("at-anchor", end=result.end)
    share = 1.0
    if plan is not None and plan.strand_tension_n and result.loads:
        off = sling.off_middle.si if sling.off_middle else 0.0
        uneven = uneven_factor(plan.leg_angle_deg, off) if plan.leg_angle_deg else 1.0
        share = plan.strand_tension_n / _standing(result) * uneven
        place = said("on-one-strand", share=share, place=place)
    return _part(
        said("sling-at", anchor=end.anchor), place, sling.rating, share * loads.at_anchor[result.end],
        working_load=sling.rating_is == "working load limit", left=_choked(sling),
        unsaid=(("gear-unsaid-choke", _may_be_choked(sling)),
                ("gear-unsaid-middle", _may_be_uneven(plan, sling)),
                ("gear-unsaid-link", _may_be_nearer(plan, sling))),
    )  # fmt: skip


def _may_be_choked(sling: Sling) -> float:
    """How many times less a sling may bear by a choke nobody spoke of [-]."""
    if sling.choke_angle is not None or sling.wrap not in ("choker", "unknown"):
        return 1.0
    return _choked(sling) / (CHOKER_OF_VERTICAL * choke_factor(0.0))


def _may_be_uneven(plan: Protection | None, sling: Sling) -> float:
    """How many times more than an even leg the harder one may carry: all of the pull, where nobody said it is even."""
    if plan is None or not plan.leg_angle_deg or sling.off_middle is not None:
        return 1.0
    return float(basket_factor(plan.leg_angle_deg))


def _may_be_nearer(plan: Protection | None, sling: Sling) -> float:
    """How many times more the harder leg may carry by a link nobody placed, once it opens the legs to their widest [-].

    Beside legs nobody called even, whose harder one carries all of the pull already, by what it carries beyond that.
    """
    if plan is None or not plan.leg_angle_deg or sling.link_distance is not None:
        return 1.0
    if sling.off_middle is None:
        return 1 / math.sin(math.radians(WIDEST_ANGLE))
    off = sling.off_middle.si
    nearer, planned = (uneven_factor(legs, off) / float(basket_factor(legs))
                       for legs in (WIDEST_ANGLE, plan.leg_angle_deg))  # fmt: skip
    return nearer / planned


def _choked(sling: Sling) -> float:
    """Share of a sling's straight strength that its wrap leaves [-]."""
    if sling.wrap != "choker":
        return 1.0
    angle = sling.choke_angle.si if sling.choke_angle else NATURAL_CHOKE_DEG
    return CHOKER_OF_VERTICAL * choke_factor(angle)


def _standing(result: AnchorResult) -> float:
    return next(load.tension_n for load in result.loads if load.case in ("standing", "lying"))
