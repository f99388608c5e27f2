"""The steps behind a verdict: every input with where it came from, then every sum with its factors; each a code."""

from __future__ import annotations

import math
from collections.abc import Iterable

from siteassess.advice.finding import Finding, Limit
from siteassess.advice.hold import Pulls
from siteassess.advice.line_inputs import LineInputs
from siteassess.advice.results import Load
from siteassess.advice.stood_reading import why_no_credit
from siteassess.advice.tree_inputs import LOW_SECTION, TreeInputs
from siteassess.advice.verdict import Verdict
from siteassess.mechanics.ground import ground_factor
from siteassess.mechanics.rootplate import SHALLOW_SOIL_FACTOR, SOIL_FACTORS, height_used
from siteassess.mechanics.roots import holding_share_lost
from siteassess.mechanics.stem import FORK_FACTOR, WHOLE_STEM_FACTOR
from siteassess.records.fields import SECTORS
from siteassess.reference.findings import Said, said, said_by
from siteassess.reference.measures import known
from siteassess.units import STANDARD_GRAVITY

FOUND_BY = {"species": "by-scientific-name", "synonym": "by-older-name", "common name": "by-common-name",
            "genus": "by-genus", "leaf type": "by-leaf-type-alone"}  # fmt: skip
SUM_IN = {"N": "sum-in-newtons", "N m": "sum-in-newton-metres"}


def tree_steps(tree: TreeInputs) -> tuple[Said, ...]:
    """What was read or taken for the tree, and from where."""
    match, wood = tree.species, tree.species.wood
    soil = SOIL_FACTORS[tree.soil]
    shallow = [said("step-shallow-soil", factor=SHALLOW_SOIL_FACTOR.value, flag=SHALLOW_SOIL_FACTOR.flag)]
    steps = [
        said("step-trunk", size=tree.diameter, at=tree.read_at, how=tree.diameter_how, off=tree.diameter_ln_sd,
             stems=(said("step-thinnest-stem", stems=tree.stems),) if tree.stems > 1 else ())
        if known(tree.diameter) else said("step-trunk-unread"),
        _height(tree),
        said("step-species", name=match.accepted, by=said(FOUND_BY[match.matched_by]),
             strength=said("step-green-strength", strength=wood.mor_pa, basis=match.wood_basis, flag=wood.flag,
                           source=wood.source) if wood else match.wood_basis),
        *_bark(tree),
        said("step-upright") if tree.lean_deg == 0
        else said("step-lean", lean=_degrees(tree.lean_deg), way=_bearing(tree.lean_toward_deg)),
        said("step-ground", soil=tree.soil, factor=soil.value, flag=soil.flag, slope=_degrees(tree.slope_deg),
             bank=_near(tree.bank_m), shallow=tuple(shallow) if tree.shallow else ()),
        said("step-roots", lost=tuple(map(_lost, SECTORS, tree.sector_lost)), edges=_edges(tree)),
    ]  # fmt: skip
    if not math.isinf(tree.wall):
        wall = _told("step-wall", wall=tree.wall)
        steps.append(said("step-hollow", at=tree.hollow_height, wall=wall, opening=_degrees(tree.opening_deg)))
    return tuple(steps)


def _bark(tree: TreeInputs) -> tuple[Said, ...]:
    """What is taken off for bark; of a table it goes by the trunk's size, so nothing where nobody read that."""
    if tree.bark_read:
        return (said("step-bark-read", thick=tree.bark_thick),)
    if not known(tree.bark_thick):
        return ()
    bark = tree.species.bark
    if not bark.source:
        return (said("step-bark-at-worst", thick=tree.bark_thick),)
    return (said("step-bark-of-table", thick=tree.bark_thick, basis=bark.basis, flag=bark.flag, source=bark.source),)


def _height(tree: TreeInputs) -> Said:
    off = (said("step-may-be-off", off=tree.height_ln_sd),) if math.isfinite(tree.height_ln_sd) else ()
    if tree.height_how == "filled":
        return said("step-height-filled", height=tree.height, high=tree.height_high, off=off)
    if tree.height_how == "unknown":
        return said("step-height-read-somehow", height=tree.height, off=off)
    return said("step-height-read", height=tree.height, how=tree.height_how, off=off)


def line_steps(line: LineInputs, loads: tuple[Load, ...], bearing: float) -> tuple[Said, ...]:
    """What was read or taken for the line, and every load case with what it rests on."""
    standing = said("none") if line.standing is None else said("step-tension", tension=line.standing)
    mass, ea = line.walker / STANDARD_GRAVITY, line.secant
    stiffness = said("stiffness", ea=ea) if known(ea) else said("stiffness-not-known")
    return (
        said("step-line", use=line.use, span=_told("step-length", length=line.span), standing=standing,
             off=line.standing_ln_sd, ea=stiffness, weight=line.weight,
             rise=said("step-not-lower" if line.rise >= 0 else "step-lower", rise=line.rise),
             walker=said("step-walker-taken" if line.load is None else "step-walker", mass=mass)),
        said("step-pull", way=_bearing(bearing)),
        *(said("step-load", case=load.case, tension=load.tension_n, level=load.horizontal_n, off=load.ln_sd,
               rests=load.rests) for load in loads),
    )  # fmt: skip


def sum_steps(tree: TreeInputs, pulls: Pulls, stem: Limit, root: Limit) -> tuple[Said, ...]:
    """The two limits with the factors they are made of; of a trunk nobody measured there are none."""
    factors = (_stem_factors(tree), _root_factors(tree, pulls, root)) if known(tree.diameter) else ()
    return (*factors, closed(stem), closed(root))


def _stem_factors(tree: TreeInputs) -> Said:
    less = () if math.isinf(tree.wall) else (said("step-less-hollow"),)
    fork = (said("step-fork", factor=FORK_FACTOR.value),) if tree.forked == 1 else ()
    return said("step-stem", factor=WHOLE_STEM_FACTOR.value, strength=tree.mor, more=(*less, *fork),
                wood=tree.diameter_at(LOW_SECTION) - 2 * tree.bark_thick)  # fmt: skip


def _root_factors(tree: TreeInputs, pulls: Pulls, root: Limit) -> Said:
    bearing = float(pulls.bearing[pulls.names.index(root.case_told or root.case)])
    lost = float(holding_share_lost(list(tree.sector_lost), bearing)) if math.isfinite(bearing) else math.nan
    ground = float(ground_factor(tree.slope_deg, tree.bank_m, tree.root_diameter))
    stood = tree.stood is not None and not why_no_credit(tree, tree.stood)
    weighed = [said("step-weighed-with-wind")] if stood else []
    weighed += [said("step-weighed-with-trial")] if tree.trial is not None else []
    return said(
        "step-root-plate", moment=tree.anchorage.moment_per_d2h, basis=tree.anchorage.basis, size=tree.root_diameter,
        height=float(height_used(tree.root_diameter, tree.height)), soil=tree.soil_factor,
        left=said("step-roots-left", left=1 - lost) if math.isfinite(lost) else said("step-worst-side"),
        ground=said("step-factor", factor=ground) if math.isfinite(ground) else said("step-not-looked-at"),
        weighed=tuple(weighed),
    )  # fmt: skip


def closed(limit: Limit) -> Said:
    """What a limit is made of, with what it comes to."""
    if limit.use is None:
        return said("step-limit-unknown", limit=limit.name, why=limit.told)
    median, low, allowed, asked = (said(SUM_IN[limit.unit], sum=value) for value in (
        limit.capacity_median, limit.capacity_p05, limit.allowable, limit.demand))  # fmt: skip
    chance = said("step-chance", chance=limit.probability, what=limit.matters_most,
                  share=limit.variance_shares.get(limit.matters_most, math.nan))  # fmt: skip
    return said("step-limit", limit=limit.name, median=median, low=low, scatter=limit.ln_sd_capacity,
                divisor=limit.divisor, allowed=allowed, case=limit.case_told or limit.case, asked=asked, use=limit.use,
                more=(chance,) if limit.matters_most else ())  # fmt: skip


def last_steps(findings: Iterable[Finding], verdict: Verdict) -> tuple[Said, ...]:
    """Every finding with the best verdict it still allows, and the worst of these."""
    return (*map(_found, findings), said("step-worst", verdict=verdict))


def _found(finding: Finding) -> Said:
    told = (Said(finding.code, finding.values), *finding.more)
    action = said_by(finding.code, "action", finding.values)
    more = (said("step-next", action=action),) if action else ()
    if finding.effect == "suits if" and finding.met_by:
        return said("step-found-if", told=told, met=finding.met_by, more=more)
    return said("step-found", told=told, verdict=finding.effect, more=more)


def _degrees(value: float) -> Said:
    return said("step-degrees", angle=value) if math.isfinite(value) else said("step-not-looked-at")


def _bearing(value: float) -> Said:
    return said("step-bearing", way=value) if math.isfinite(value) else said("step-bearing-unknown")


def _told(code: str, **values: float | None) -> Said:
    """A code of one length, or that it is not known."""
    return said(code, **values) if all(map(known, values.values())) else said("step-not-known")


def _near(value: float) -> Said:
    if math.isinf(value):
        return said("step-none-near")
    return said("step-near", away=value) if math.isfinite(value) else said("step-not-looked-for")


def _lost(side: str, lost: float) -> Said:
    return said("step-side-lost", side=side, lost=lost) if math.isfinite(lost) else said("step-side-unseen", side=side)


def _edges(tree: TreeInputs) -> tuple[Said, ...]:
    near = tuple(said("step-side-near", side=side, away=away)
                 for side, away in zip(SECTORS, tree.digging) if math.isfinite(away))  # fmt: skip
    unseen = any(math.isnan(distance) for distance in tree.digging)
    return near or (said("step-not-looked-for" if unseen else "step-none-near"),)
