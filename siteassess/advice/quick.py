"""The quick sums of an anchor as answers: the same limits as the main job's, on a handful of numbers."""

from __future__ import annotations

import math
from functools import partial
from typing import Any

from siteassess.advice.assumptions import stated
from siteassess.advice.boulder_end import BOULDER_END_ASSUMPTIONS, DENSITY, FRICTION
from siteassess.advice.end_loads import HIGH_LINE_TRUNK, LEAST_TRUNK, USUAL_LEAST_TRUNK
from siteassess.advice.finding import Finding, why_outside, whys
from siteassess.advice.judge import SUITS_UP_TO, losses_told
from siteassess.advice.results import StatedAssumption
from siteassess.advice.tree_inputs import UNKNOWN_BARK_SHARE
from siteassess.errors import OutsideModel
from siteassess.mechanics.arrays import Array
from siteassess.mechanics.bark import BARK_ASSUMPTIONS, BARK_UNREAD, press, reading, reference_pressure
from siteassess.mechanics.boulder import BOULDER_ASSUMPTIONS, ROCK_DENSITY, ROCK_FRICTION, boulder_limits
from siteassess.mechanics.limit import LimitSums, Outside
from siteassess.mechanics.ownweight import OWN_WEIGHT_ASSUMPTIONS, own_lean_moment
from siteassess.mechanics.rootplate import (
    MOMENT_PER_D2H,
    ROOT_ASSUMPTIONS,
    ROOT_LN_SD,
    SLENDER_PER_DIAMETER,
    SOIL_FACTORS,
    height_used,
    root_limit,
)
from siteassess.mechanics.scatter import DIVISOR_GROUND_LINE, DIVISOR_HIGH_LINE
from siteassess.mechanics.stem import STEM_ASSUMPTIONS, stem_limit
from siteassess.reference.anchorage import Anchorage, anchorage_of, anchorage_of_any
from siteassess.reference.constants import Constant
from siteassess.reference.findings import Said, said
from siteassess.reference.seasons import is_growing
from siteassess.reference.species import SpeciesMatch, find_species


def root_answer(
    diameter: float, height: float, tie: float, pull: float, soil: str, lean: float, root_loss: float, purpose: str,
    species: str | None = None,
) -> dict[str, Any]:
    """Root plate under one horizontal pull.

    Parameters
    ----------
    diameter, height, tie : trunk at breast height, tree, and height of the tie [m]
    pull : horizontal [N]
    soil : a key of `rootplate.SOIL_FACTORS`
    lean : along the pull [deg]
    root_loss : share of the holding roots lost [-]
    purpose : for the divisor, as in `boulder_answer`
    species : by any name; None is any tree

    Returns
    -------
    As `quick root --json`; keys end in their unit, codes stay codes.
    """
    divisor, match = _divisor(purpose), find_species(species) if species else None
    kind = anchorage_of(match) if match else anchorage_of_any()
    plate = partial(
        root_limit, diameter, tie_height=tie, pull=pull, soil_factor=SOIL_FACTORS[soil].value,
        lean_moment=own_lean_moment(diameter, height, lean), divisor=divisor.value,
        moment_per_d2h=kind.moment_per_d2h, ln_sd=kind.ln_sd,
    )  # fmt: skip
    found = plate(height, share_lost=root_loss)
    kindest = plate(min(height, SLENDER_PER_DIAMETER.value * diameter), share_lost=0.0)
    lost_half = bool(int(found.outside) & int(Outside.ROOTS_LOST_OVER_HALF))
    squat = bool(int(found.outside) & int(Outside.SQUAT))
    verdict, told = _verdict(found, diameter, purpose, lost_half=lost_half, squat=squat, kindest=kindest)
    if root_loss > 0 and not bool(found.refused):
        told.append(said("quick-roots-as-worn"))
    return {
        **_limit(found), "height_used_m": _number(height_used(diameter, height)), "soil": soil,
        "species": match.accepted if match else None, "anchorage_basis": kind.basis, "verdict": verdict,
        "reasons": told,
        "assumptions": [*_of_kind(kind), *_assumptions(
            *(one for one in ROOT_ASSUMPTIONS if one is not MOMENT_PER_D2H and one is not ROOT_LN_SD),
            SOIL_FACTORS[soil], *OWN_WEIGHT_ASSUMPTIONS, divisor, *_floors(purpose),
        )],
    }  # fmt: skip


def _of_kind(kind: Anchorage) -> tuple[StatedAssumption, ...]:
    """The two numbers of the kind of tree, in place of those of a tree of any kind."""
    return tuple(
        stated(Constant(value, **{**vars(one), "name": name}), kind.basis)
        for one, name, value in (
            (MOMENT_PER_D2H, "turning moment over diameter squared times height", kind.moment_per_d2h),
            (ROOT_LN_SD, "scatter of the root plate's capacity", kind.ln_sd),
        )
    )


def stem_answer(
    species: str, diameter: float, tie: float, pull: float, section: float, wall: float | None, opening: float,
    fork: bool, bark_thickness: float | None, purpose: str,
) -> dict[str, Any]:
    """Stem at one section under one horizontal pull.

    Parameters
    ----------
    species : by any name
    diameter, tie, section : over bark, height of the tie, and of the section [m]
    pull : horizontal [N]
    wall, opening : thinnest sound wood [m], None for a sound trunk; missing sector [deg]
    fork : whether one lies under the tie
    bark_thickness : [m]; None takes the thickest of the kind
    purpose : for the divisor, as in `boulder_answer`

    Returns
    -------
    As `quick stem --json`; keys end in their unit, codes stay codes.
    """
    match, divisor = find_species(species), _divisor(purpose)
    bark = bark_thickness if bark_thickness is not None else thick_bark(match, diameter)
    trunk = partial(
        stem_limit, match.wood.mor_pa if match.wood else math.nan, diameter, tie, pull, section_height=section,
        bark_thickness=bark, forked=1.0 if fork else 0.0, divisor=divisor.value,
    )  # fmt: skip
    found = trunk(wall=math.inf if wall is None else wall, opening_deg=opening)
    verdict, told = _verdict(found, diameter, purpose, kindest=trunk(wall=math.inf, opening_deg=0.0))
    if wall is not None and not bool(found.refused):
        told.append(losses_told(diameter - 2 * bark, wall, opening))
    if not bool(found.refused):
        told.append(said("quick-trunk-upright"))
    return {
        **_limit(found), "species": match.accepted, "matched_by": match.matched_by, "wood_basis": match.wood_basis,
        "bending_strength_pa": match.wood.mor_pa if match.wood else None, "bark_thickness_m": bark,
        "section_m": section,
        "verdict": verdict, "reasons": told, "assumptions": _assumptions(*STEM_ASSUMPTIONS, divisor, *_floors(purpose)),
    }  # fmt: skip


def thick_bark(match: SpeciesMatch, diameter: float) -> float:
    """A thick bark for a species, so that the wood under it is not overrated [m]."""
    high = float(match.bark.thickness_m(diameter)[2])
    return high if math.isfinite(high) else UNKNOWN_BARK_SHARE.value * diameter


def bark_answer(
    pull: float, diameter: float, width: float, link: float | None, wrap: str, strands: int | None,
    species: str | None, month: int | None, hemisphere: str | None, condition: str, repeat: str,
) -> dict[str, Any]:
    """Pressure of one wrap beside the reference; a missing month or species is taken at its worst.

    Parameters
    ----------
    pull : along the line [N]
    diameter, width, link : trunk, sling, and the link's distance from the trunk's centre [m]; None for parallel legs
    wrap, strands : as in `bark.press`
    species : by any name; None is taken at its worst
    month, hemisphere : 1 to 12, and "north", "south" or "tropics"; None is taken as growing
    condition : of the tree, "sound" or "stressed"
    repeat : "occasional" or "weekly"

    Returns
    -------
    As `quick bark --json`; keys end in their unit, codes stay codes.
    """
    match = find_species(species) if species else None
    growing = is_growing(month, match.genus or None if match else None, hemisphere)
    thin = float(match.bark.thickness_m(diameter)[0]) if match else math.nan
    reference = float(reference_pressure(
        growing, thin if math.isfinite(thin) else None, match.bark.smooth if match else None,
        condition == "stressed", repeat == "weekly",
    ))  # fmt: skip
    values: dict[str, Any] = {
        "strand_n": None, "contact_deg": None, "pressure_pa": None, "reference_pa": reference, "use": None,
        "reading": said(BARK_UNREAD),
    }  # fmt: skip
    try:
        found = press(pull, diameter, width, link, wrap, strands)
        use = float(found.pressure_pa) / reference
        values.update(
            strand_n=float(found.strand_n), contact_deg=math.degrees(float(found.contact_rad)),
            pressure_pa=float(found.pressure_pa), use=use, reading=said(str(reading(use))),
        )  # fmt: skip
    except OutsideModel as error:
        values["reason"] = said("in-a-row", told=whys(error))
    taken = [] if match else [said("quick-species-not-given")]
    if month is None:
        taken.append(said("quick-month-not-given"))
    return {
        **values, "growing": growing, "species": match.accepted if match else None, "taken_at_worst": taken,
        "note": said("quick-reference-judged"),
        "assumptions": _assumptions(*BARK_ASSUMPTIONS),
    }  # fmt: skip


def boulder_answer(
    sizes: tuple[float, float, float], tie: float, pull: float, slope: float, turn: float, edge: float | None,
    rock: str, bed: str, embedded: bool, purpose: str,
) -> dict[str, Any]:
    """Sliding and tipping of a boulder under one horizontal pull.

    Parameters
    ----------
    sizes : along the pull, across it, and height [m]
    tie, pull : height of the tie [m], horizontal pull [N]
    slope, turn : of the ground, and the pull against straight downhill [deg]
    edge : distance to an edge it could slide over [m]; None for none
    rock, bed : answers of the record
    embedded : whether it sits in the ground
    purpose : "high" for the divisor of a high line

    Returns
    -------
    As `quick boulder --json`; keys end in their unit, codes stay codes.
    """
    divisor = _divisor(purpose)
    by_kind = (ROCK_DENSITY.code, ROCK_FRICTION.code)
    used = (*(one for one in BOULDER_ASSUMPTIONS if one.code not in by_kind), *BOULDER_END_ASSUMPTIONS)
    slide, tip = boulder_limits(
        *sizes, tie, pull, slope_deg=slope, pull_from_downhill_deg=turn,
        edge_distance=math.inf if edge is None else edge,
        embedded=1.0 if embedded else 0.0, density=DENSITY[rock], friction=FRICTION[bed], divisor=divisor.value,
    )  # fmt: skip
    worse = tip if bool(tip.refused) or (not bool(slide.refused) and tip.use > slide.use) else slide
    verdict, told = _verdict(worse, None, purpose)
    density, friction = DENSITY[rock], FRICTION[bed]
    kind, under = (said("step-not-known") if one == "unknown" else one for one in (rock, bed))
    told.append(said("quick-rock-and-bed", rock=kind, density=density.value, of=density.flag, bed=under,
                     friction=friction.value, flag=friction.flag))  # fmt: skip
    if edge is None:
        told.append(said("quick-no-edge"))
    return {
        "density_kg_m3": DENSITY[rock], "friction": FRICTION[bed], "edge_distance_m": edge,
        "use": _number(worse.use), "limited_by": worse.name, "sliding": _limit(slide), "tipping": _limit(tip),
        "verdict": verdict, "reasons": told, "assumptions": _assumptions(*used, divisor),
    }  # fmt: skip


def _divisor(purpose: str) -> Constant:
    return DIVISOR_HIGH_LINE if purpose == "high" else DIVISOR_GROUND_LINE


def _floors(purpose: str) -> tuple[Constant, ...]:
    """The least trunks and the share of a limit that decide the word, whatever the limit."""
    return (SUITS_UP_TO, LEAST_TRUNK, USUAL_LEAST_TRUNK, *((HIGH_LINE_TRUNK,) if purpose == "high" else ()))


def _limit(found: LimitSums) -> dict[str, float | Said | None]:
    end = "nm" if found.unit == "N m" else "n"
    values: dict[str, float | Said | None] = {
        f"capacity_median_{end}": _number(found.capacity_median), f"capacity_p05_{end}": _number(found.capacity_p05),
        "divisor": _number(found.divisor), f"allowable_{end}": _number(found.allowable),
        f"demand_{end}": _number(found.demand), "use": _number(found.use),
    }  # fmt: skip
    if why := why_outside(int(found.outside)):
        values["reason"] = said("in-a-row", told=why)
    return values


def _verdict(
    found: LimitSums, diameter: float | None, purpose: str, *, lost_half: bool = False, squat: bool = False,
    kindest: LimitSums | None = None,
) -> tuple[str, list[Said | Finding]]:
    """Verdict of this one limit and the size floor; the whole tree asks for more.

    `kindest` is the limit without what keeps it from being worked out: too much even so is "leave it", as in the main
    job.
    """
    told: list[Said | Finding] = list(why_outside(int(found.outside)))
    if lost_half:
        return "leave it", told
    if diameter is not None and diameter < LEAST_TRUNK:
        return "leave it", [*told, said("trunk-alone-under-least", least=LEAST_TRUNK.value)]
    if bool(found.refused):
        if kindest is None or bool(kindest.refused) or kindest.use <= 1 or squat:
            return "cannot say", told
        return "leave it", [*told, said("quick-uses-even-so", use=float(kindest.use))]
    use = float(found.use)
    if use > 1:
        return ("cannot say", [*told, said("quick-squat")]) if squat else (
            "leave it", [*told, said("quick-uses", use=use)])  # fmt: skip
    told.append(said("quick-uses", use=use))
    if purpose == "high" and diameter is not None and diameter < HIGH_LINE_TRUNK.value:
        slim = said("slim-for-a-high-line", least=HIGH_LINE_TRUNK.value)
        return "cannot say", [*told, said("quick-trunk-slim", slim=slim)]
    small = diameter is not None and diameter < USUAL_LEAST_TRUNK
    if small:
        told.append(said("quick-small-trunk", least=USUAL_LEAST_TRUNK.value))
    if use > SUITS_UP_TO:
        told.append(said("quick-watched"))
    told.append(said("quick-one-limit"))
    return ("suits if" if small or use > SUITS_UP_TO else "suits"), told


def _assumptions(*used: Constant) -> list[StatedAssumption]:
    return [stated(assumption) for assumption in used]


def _number(value: Array) -> float | None:
    number = float(value)
    return number if math.isfinite(number) else None
