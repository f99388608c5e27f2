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
from siteassess.mechanics.roots import SECTOR_NAMES, holding_share_lost
from siteassess.mechanics.stem import FORK_FACTOR, WHOLE_STEM_FACTOR
from siteassess.units import STANDARD_GRAVITY

FOUND_BY = {"species": "scientific name", "synonym": "older name", "common name": "common name", "genus": "genus",
            "leaf type": "leaf type alone"}  # fmt: skip


def tree_steps(tree: TreeInputs) -> tuple[str, ...]:
    """What was read or taken for the tree, and from where."""
    match, wood = tree.species, tree.species.wood
    lost = ", ".join(f"{name} {_share(share)}" for name, share in zip(SECTOR_NAMES, tree.sector_lost))
    stems = f", the thinnest of {tree.stems} stems" if tree.stems > 1 else ""
    steps = [
        f"trunk: {_m(tree.diameter, 2)} over bark at {_m(tree.read_at, 1)}, {tree.diameter_how}{stems} "
        f"(may be {tree.diameter_ln_sd:.0%} off)",
        f"height: {_m(tree.height, 1)}, {tree.height_how}"
        + (f" low; {_m(tree.height_high, 1)} for lean and wind" if tree.height_how == "filled" else "")
        + (f" (may be {tree.height_ln_sd:.0%} off)" if math.isfinite(tree.height_ln_sd) else ""),
        f"species: {match.accepted}, found by its {FOUND_BY[match.matched_by]}"
        + (f"; green bending strength {wood.mor_pa / 1e6:.1f} MPa from {match.wood_basis} ({wood.flag}: {wood.source})"
           if wood else f"; {match.wood_basis}"),
        f"bark: {tree.bark_thick * 1e3:.0f} mm taken off each side of the wood, "
        + ("read on the tree" if tree.bark_read else f"the thick end of {match.bark.basis} "
           f"({match.bark.flag}: {match.bark.source})"),
        "lean: upright" if tree.lean_deg == 0
        else f"lean: {_deg(tree.lean_deg)} toward {_bearing(tree.lean_toward_deg)}",
        f"ground: {tree.soil}, factor {SOIL_FACTORS[tree.soil].value:g} ({SOIL_FACTORS[tree.soil].flag})"
        + (f"; shallow soil, factor {SHALLOW_SOIL_FACTOR.value:g} ({SHALLOW_SOIL_FACTOR.flag})" if tree.shallow else "")
        + f"; slope {_deg(tree.slope_deg)}; bank or water {_near(tree.bank_m)}",
        f"roots lost by side: {lost}; kerbs and digging: {_edges(tree)}",
    ]  # fmt: skip
    if not math.isinf(tree.wall):
        steps.append(f"hollow at {_m(tree.hollow_height, 1)}: sound wall {_m(tree.wall, 3)}, opening "
                     f"{_deg(tree.opening_deg)}")  # fmt: skip
    return tuple(steps)


def line_steps(line: LineInputs, loads: tuple[Load, ...], bearing: float) -> tuple[str, ...]:
    """What was read or taken for the line, and every load case with what it rests on."""
    walker = f"{'not named, taken as ' * (line.load is None)}{line.walker / STANDARD_GRAVITY:.0f} kg"
    standing = f"{line.standing / 1e3:.2f} kN" if line.standing is not None else "none"
    steps = [
        f"line: {line.use}, span {_m(line.span, 1)}, B {line.rise:+.2f} m over A, standing tension {standing} "
        f"(may be {line.standing_ln_sd:.0%} off), webbing EA {_kn(line.secant)}, "
        f"{line.weight:.2f} N a metre, walker {walker}",
        f"pull toward {_bearing(bearing)}",
    ]  # fmt: skip
    steps += [f"load, {load.case}: tension {load.tension_n / 1e3:.2f} kN, level part {load.horizontal_n / 1e3:.2f} kN "
              f"(may be {load.ln_sd:.0%} off); {load.basis}" for load in loads]  # fmt: skip
    return tuple(steps)


def sum_steps(tree: TreeInputs, pulls: Pulls, stem: Limit, root: Limit) -> tuple[str, ...]:
    """The two limits with the factors they are made of."""
    return (_stem_factors(tree), _root_factors(tree, pulls, root), _closed(stem), _closed(root))


def _stem_factors(tree: TreeInputs) -> str:
    wood = tree.diameter_at(LOW_SECTION) - 2 * tree.bark_thick
    fork = f" x {FORK_FACTOR.value:g} for the fork" if tree.forked == 1 else ""
    return (f"stem = {WHOLE_STEM_FACTOR.value:g} x {tree.mor / 1e6:.1f} MPa x section modulus of {_m(wood, 3)} of wood"
            f"{' less its hollow' if not math.isinf(tree.wall) else ''}{fork}")  # fmt: skip


def _root_factors(tree: TreeInputs, pulls: Pulls, root: Limit) -> str:
    bearing = float(pulls.bearing[pulls.names.index(root.case_told or root.case)])
    lost = float(holding_share_lost(list(tree.sector_lost), bearing)) if math.isfinite(bearing) else math.nan
    ground = float(ground_factor(tree.slope_deg, tree.bank_m, tree.root_diameter))
    left = f"{1 - lost:.2f}" if math.isfinite(lost) else "the worst side's"
    stood = tree.stood is not None and not why_no_credit(tree, tree.stood)
    weighed = ", then weighed with the wind it has stood" if stood else ""
    weighed += ", then weighed with the trial load" if tree.trial is not None else ""
    kind = f"{tree.anchorage.moment_per_d2h:g} ({tree.anchorage.basis})"
    return (f"root plate = {kind} x diameter {tree.root_diameter:.3f} squared x height "
            f"{float(height_used(tree.root_diameter, tree.height)):.1f} x soil {tree.soil_factor:g} x "
            f"roots left {left} x ground {ground:.2f}{weighed}")  # fmt: skip


def _closed(limit: Limit) -> str:
    if limit.use is None:
        return f"{limit.name}: cannot say ({limit.reason})"
    share = limit.variance_shares.get(limit.matters_most, math.nan)
    return (f"{limit.name}: median {limit.capacity_median:,.0f} {limit.unit}; 5 % value {limit.capacity_p05:,.0f} "
            f"(scatter {limit.ln_sd_capacity:.2f}); over {limit.divisor:g} we allow {limit.allowable:,.0f}; "
            f"{limit.case} asks {limit.demand:,.0f}: use {limit.use:.3f}; "
            f"probability that it asks more than there is {limit.probability:.2g}, wind not in it; what matters most: "
            f"{limit.matters_most}, {share:.0%} of the variance")  # fmt: skip


def _m(value: float | None, decimals: int) -> str:
    return f"{value:.{decimals}f} m" if value is not None and math.isfinite(value) else "not known"


def _kn(value: float | None) -> str:
    return f"{value / 1e3:.0f} kN" if value is not None and math.isfinite(value) else "not known"


def _deg(value: float) -> str:
    return f"{value:g} degrees" if math.isfinite(value) else "not looked at"


def _bearing(value: float) -> str:
    if not math.isfinite(value):
        return "an unknown bearing, so taken at its worst"
    return f"{round(value) % 360:03d} degrees true"


def _near(value: float) -> str:
    return "none near" if math.isinf(value) else f"at {_m(value, 1)}" if math.isfinite(value) else "not looked for"


def _share(lost: float) -> str:
    return f"{lost:.0%}" if math.isfinite(lost) else "not looked at"


def _edges(tree: TreeInputs) -> str:
    near = [f"{name} at {away:.1f} m" for name, away in zip(SECTOR_NAMES, tree.digging) if math.isfinite(away)]
    if near:
        return ", ".join(near)
    return "not looked for" if any(math.isnan(distance) for distance in tree.digging) else "none near"
