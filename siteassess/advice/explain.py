"""The steps behind a verdict in sentences: every input with where it came from, then every sum with its factors."""

from __future__ import annotations

import math

from siteassess.advice.finding import Limit
from siteassess.advice.hold import Pulls
from siteassess.advice.line_inputs import LineInputs
from siteassess.advice.results import Load
from siteassess.advice.stood_reading import why_no_credit
from siteassess.advice.tree_inputs import LOW_SECTION, TreeInputs
from siteassess.mechanics.ground import ground_factor
from siteassess.mechanics.rootplate import SHALLOW_SOIL_FACTOR, SOIL_FACTORS, height_used
from siteassess.mechanics.roots import holding_share_lost
from siteassess.mechanics.stem import FORK_FACTOR, WHOLE_STEM_FACTOR
from siteassess.records.fields import SECTORS
from siteassess.reference.measures import Measures
from siteassess.reference.texts import share
from siteassess.units import STANDARD_GRAVITY, show, show_bearing

FOUND_BY = {"species": "scientific name", "synonym": "older name", "common name": "common name", "genus": "genus",
            "leaf type": "leaf type alone"}  # fmt: skip


def tree_steps(tree: TreeInputs) -> tuple[str, ...]:
    """What was read or taken for the tree, and from where."""
    match, wood, basis = tree.species, tree.species.wood, tree.species.wood_basis.in_words()
    lost = ", ".join(f"{name} {_share(share)}" for name, share in zip(SECTORS, tree.sector_lost))
    stems = f", the thinnest of {tree.stems} stems" if tree.stems > 1 else ""
    steps = [
        f"trunk: {show(tree.diameter, 'm 2')} over bark at {show(tree.read_at, 'm 1')}, {tree.diameter_how}{stems} "
        f"(may be {share(tree.diameter_ln_sd, 0)} off)",
        f"height: {show(tree.height, 'm 1')}, {tree.height_how}"
        + (f" low; {show(tree.height_high, 'm 1')} for lean and wind" if tree.height_how == "filled" else "")
        + (f" (may be {share(tree.height_ln_sd, 0)} off)" if math.isfinite(tree.height_ln_sd) else ""),
        f"species: {match.accepted}, found by its {FOUND_BY[match.matched_by]}"
        + (f"; green bending strength {show(wood.mor_pa, 'MPa 1')} from {basis} ({wood.flag}: {wood.source})"
           if wood else f"; {basis}"),
        f"bark: {show(tree.bark_thick, 'mm 0')} taken off each side of the wood, "
        + ("read on the tree" if tree.bark_read else f"the thick end of {match.bark.basis.in_words()} "
           f"({match.bark.flag}: {match.bark.source})"),
        "lean: upright" if tree.lean_deg == 0
        else f"lean: {_deg(tree.lean_deg)} toward {_bearing(tree.lean_toward_deg)}",
        f"ground: {tree.soil}, factor {SOIL_FACTORS[tree.soil].value:g} ({SOIL_FACTORS[tree.soil].flag})"
        + (f"; shallow soil, factor {SHALLOW_SOIL_FACTOR.value:g} ({SHALLOW_SOIL_FACTOR.flag})" if tree.shallow else "")
        + f"; slope {_deg(tree.slope_deg)}; bank or water {_near(tree.bank_m)}",
        f"roots lost by side: {lost}; kerbs and digging: {_edges(tree)}",
    ]  # fmt: skip
    if not math.isinf(tree.wall):
        steps.append(f"hollow at {show(tree.hollow_height, 'm 1')}: sound wall {show(tree.wall, 'm 3')}, opening "
                     f"{_deg(tree.opening_deg)}")  # fmt: skip
    return tuple(steps)


def line_steps(line: LineInputs, loads: tuple[Load, ...], bearing: float) -> tuple[str, ...]:
    """What was read or taken for the line, and every load case with what it rests on."""
    walker = f"{'not named, taken as ' * (line.load is None)}{show(line.walker / STANDARD_GRAVITY, 'kg 0')}"
    standing = show(line.standing, "kN 2") if line.standing is not None else "none"
    rise = "+" * (line.rise >= 0) + show(line.rise, "m 2")
    steps = [
        f"line: {line.use}, span {show(line.span, 'm 1')}, B {rise} over A, standing tension {standing} "
        f"(may be {share(line.standing_ln_sd, 0)} off), webbing EA {show(line.secant, 'kN 0')}, "
        f"{show(line.weight, 'N 2')} a metre, walker {walker}",
        f"pull toward {_bearing(bearing)}",
    ]  # fmt: skip
    steps += [
        f"load, {load.case}: tension {show(load.tension_n, 'kN 2')}, level part {show(load.horizontal_n, 'kN 2')} "
        f"(may be {share(load.ln_sd, 0)} off); {load.basis}" for load in loads
    ]  # fmt: skip
    return tuple(steps)


def sum_steps(tree: TreeInputs, pulls: Pulls, stem: Limit, root: Limit) -> tuple[str, ...]:
    """The two limits with the factors they are made of."""
    return (_stem_factors(tree), _root_factors(tree, pulls, root), closed(stem), closed(root))


def _stem_factors(tree: TreeInputs) -> str:
    wood = tree.diameter_at(LOW_SECTION) - 2 * tree.bark_thick
    fork = f" x {FORK_FACTOR.value:g} for the fork" if tree.forked == 1 else ""
    return (f"stem = {WHOLE_STEM_FACTOR.value:g} x {show(tree.mor, 'MPa 1')} x section modulus of "
            f"{show(wood, 'm 3')} of wood{' less its hollow' if not math.isinf(tree.wall) else ''}{fork}")  # fmt: skip


def _root_factors(tree: TreeInputs, pulls: Pulls, root: Limit) -> str:
    bearing = float(pulls.bearing[pulls.names.index(root.case_told or root.case)])
    lost = float(holding_share_lost(list(tree.sector_lost), bearing)) if math.isfinite(bearing) else math.nan
    ground = float(ground_factor(tree.slope_deg, tree.bank_m, tree.root_diameter))
    left = f"{1 - lost:.2f}" if math.isfinite(lost) else "the worst side's"
    stood = tree.stood is not None and not why_no_credit(tree, tree.stood)
    weighed = ", then weighed with the wind it has stood" if stood else ""
    weighed += ", then weighed with the trial load" if tree.trial is not None else ""
    kind = f"{tree.anchorage.moment_per_d2h:g} ({tree.anchorage.basis.in_words()})"
    return (f"root plate = {kind} x diameter {tree.root_diameter:.3f} squared x height "
            f"{float(height_used(tree.root_diameter, tree.height)):.1f} x soil {tree.soil_factor:g} x "
            f"roots left {left} x ground {ground:.2f}{weighed}")  # fmt: skip


def closed(limit: Limit) -> str:
    """What a limit is made of, with what it comes to."""
    if limit.use is None:
        return f"{limit.name}: cannot say ({limit.reason})"
    median, low, allowed, asked = (Measures().sum_of(value, limit.unit) for value in (
        limit.capacity_median, limit.capacity_p05, limit.allowable, limit.demand))  # fmt: skip
    told = (f"{limit.name}: median {median}; 5 % value {low} (scatter {limit.ln_sd_capacity:.2f}); over "
            f"{limit.divisor:g} we allow {allowed}; {limit.case} asks {asked}: use {limit.use:.3f}")  # fmt: skip
    if not limit.matters_most:
        return told
    of_it = share(limit.variance_shares.get(limit.matters_most, math.nan), 0)
    return (f"{told}; probability that it asks more than there is {limit.probability:.2g}, wind not in it; what "
            f"matters most: {limit.matters_most}, {of_it} of the variance")  # fmt: skip


def _deg(value: float) -> str:
    return show(value, "degrees g") if math.isfinite(value) else "not looked at"


def _bearing(value: float) -> str:
    if not math.isfinite(value):
        return "an unknown bearing, so taken at its worst"
    return f"{show_bearing(value)} degrees true"


def _near(value: float) -> str:
    if math.isinf(value):
        return "none near"
    return f"at {show(value, 'm 1')}" if math.isfinite(value) else "not looked for"


def _share(lost: float) -> str:
    return share(lost, 0) if math.isfinite(lost) else "not looked at"


def _edges(tree: TreeInputs) -> str:
    near = [f"{name} at {show(away, 'm 1')}" for name, away in zip(SECTORS, tree.digging) if math.isfinite(away)]
    if near:
        return ", ".join(near)
    return "not looked for" if any(math.isnan(distance) for distance in tree.digging) else "none near"
