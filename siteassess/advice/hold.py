"""Hold: what stem and root plate are asked to bear, beside what we allow."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from siteassess.advice.line_inputs import LineInputs, line_loads
from siteassess.advice.results import Limit, Load
from siteassess.advice.tree_inputs import LOW_SECTION_M, TreeInputs
from siteassess.mechanics import limit as limits
from siteassess.mechanics.ground import ground_factor, ground_outside
from siteassess.mechanics.ownweight import CENTRE_HEIGHT_SHARE, lean_moment, own_lean_moment, tree_mass
from siteassess.mechanics.rootplate import combined_pull, root_limit
from siteassess.mechanics.roots import SECTOR_BEARINGS_DEG, SECTOR_NAMES, digging_behind, holding_share_lost
from siteassess.mechanics.scatter import DIVISOR_GROUND_LINE, DIVISOR_HIGH_LINE, variance_shares
from siteassess.mechanics.stem import stem_limit


@dataclass(frozen=True)
class Pulls:
    """Horizontal pulls on one tree, one entry a case: [N], [deg true] (NaN unknown), [m], and the cases' names."""

    names: tuple[str, ...]
    pull: np.ndarray
    bearing: np.ndarray
    tie: np.ndarray
    ln_sd: np.ndarray


def end_loads(line: LineInputs, end: str, bearing: float) -> tuple[tuple[Load, ...], str]:
    """Every load case at one end, and why there are none."""
    cases, why = line_loads(line)
    tie = line.tie_a if end == "A" else line.tie_b
    loads = []
    for case in cases:
        tension, vertical = (case.tension_a, case.vertical_a) if end == "A" else (case.tension_b, case.vertical_b)
        if not math.isfinite(tension):
            continue
        basis = case.basis + (f"; outside the measured lines: {'; '.join(case.outside)}" if case.outside else "")
        loads.append(Load(
            case.name, tension, case.horizontal, vertical, bearing,
            case.horizontal * tie if tie is not None else math.nan, case.drop, case.ln_sd,
            case.calibrated is not False, basis,
        ))  # fmt: skip
    return tuple(loads), why


def divisor_for(line: LineInputs | None) -> float:
    return (DIVISOR_HIGH_LINE if line is not None and line.high else DIVISOR_GROUND_LINE).value


def pulls_of(loads: tuple[Load, ...], tie: float, bearing: float) -> Pulls:
    """The pulls of a line's load cases at one end."""
    names = [load.case for load in loads]
    pull = [load.horizontal_n for load in loads]
    size = len(names)
    bearings, ties, sds = [bearing] * size, [tie] * size, [load.ln_sd for load in loads]
    return Pulls(tuple(names), np.array(pull), np.array(bearings), np.array(ties), np.array(sds))


def together(mine: Pulls, others: tuple[Pulls, ...], diameter: float) -> Pulls:
    """This line's hardest case and those of the other lines on the same tree, as one pull."""
    hardest = [(own.pull[i], own.bearing[i], own.tie[i], own.ln_sd[i])
               for own in (mine, *others) for i in [int(np.argmax(own.pull))]]  # fmt: skip
    pull, bearing, tie, sds = (np.array(column) for column in zip(*hardest))
    if np.isnan(bearing).any():
        one = float(np.sum(pull)), math.nan, float(np.max(tie))
    else:
        one = tuple(float(x) for x in combined_pull(pull, bearing, tie, diameter))
    return Pulls(("all lines on this tree together",), np.array([one[0]]), np.array([one[1]]), np.array([one[2]]),
                 np.array([float(np.max(sds))]))  # fmt: skip


def root_limits(tree: TreeInputs, pulls: Pulls, divisor: float, pessimistic: bool = False) -> limits.Limit:
    """Root plate under every pull; a pull of unknown bearing is taken in its worst direction."""
    bearings = np.where(np.isnan(pulls.bearing)[:, None], SECTOR_BEARINGS_DEG, pulls.bearing[:, None])
    pull, tie = pulls.pull[:, None], pulls.tie[:, None]
    found = root_limit(
        tree.diameter, tree.height, tie, pull,
        soil_factor=tree.soil_factor,
        share_lost=holding_share_lost(np.array(tree.sector_lost), bearings),
        ground_factor=ground_factor(tree.slope_deg, tree.bank_m, tree.diameter, pessimistic),
        digging_behind=digging_behind(np.array(tree.digging), bearings, tree.diameter),
        lean_moment=own_lean_moment(tree.diameter, tree.height, tree.lean_deg),
        lean_from_pull_deg=_lean_from_pull(tree, bearings),
        extra_outside=ground_outside(tree.slope_deg),
        divisor=divisor,
    )  # fmt: skip
    return _widened(found, math.hypot(2 * tree.diameter_ln_sd, tree.height_ln_sd))


def stem_limits(tree: TreeInputs, pulls: Pulls, divisor: float) -> limits.Limit:
    """Stem at every section that may be weakest, under every pull: shape (pulls, sections)."""
    heights = [LOW_SECTION_M]
    if math.isfinite(tree.hollow_height):
        heights.append(tree.hollow_height)
    section = np.minimum(np.array(heights)[None, :], pulls.tie[:, None])
    diameter = np.vectorize(tree.diameter_at)(section)
    mass = tree_mass(tree.diameter, tree.height)
    along = np.cos(np.deg2rad(np.nan_to_num(_lean_from_pull(tree, pulls.bearing[:, None]))))
    # without a known height the lean cannot be weighed; an upright tree has nothing to weigh
    lean = np.where(tree.lean_deg == 0, 0.0,
                    lean_moment(mass, CENTRE_HEIGHT_SHARE.value * tree.height, tree.lean_deg, section) * along)  # fmt: skip
    found = stem_limit(
        tree.mor, diameter, pulls.tie[:, None], pulls.pull[:, None], section_height=section,
        bark_thickness=tree.bark_thick, wall=tree.wall, opening_deg=tree.opening_deg, forked=tree.forked,
        other_moment=lean, divisor=divisor,
    )  # fmt: skip
    return _widened(found, math.hypot(3 * tree.diameter_ln_sd, tree.wood_ln_sd))


def _lean_from_pull(tree: TreeInputs, bearings: np.ndarray) -> np.ndarray:
    """Direction of the lean against each pull; an unknown one is taken along it [deg]."""
    toward = tree.lean_toward_deg
    return np.nan_to_num(toward - bearings, nan=0.0) if math.isfinite(toward) else np.zeros_like(bearings)


def _widened(found: limits.Limit, extra_ln_sd: float) -> limits.Limit:
    """The same limit with the scatter of guessed inputs added."""
    extra = extra_ln_sd if math.isfinite(extra_ln_sd) else 0.0
    return limits.make_limit(found.name, found.capacity_median, np.hypot(found.capacity_ln_sd, extra), found.demand,
                             found.divisor, found.outside, found.unit)  # fmt: skip


def governing(found: limits.Limit, pulls: Pulls, shares: dict[str, tuple[float, float]]) -> Limit:
    """The case and section (or direction) with the greatest use, as an answer; a refusal beats every number."""
    use = np.where(found.refused, np.inf, found.use)
    row, column = np.unravel_index(int(np.argmax(use)), use.shape)
    at = (row, column)
    if found.refused[at]:
        return Limit(found.name, found.unit, pulls.names[row], _number(found.demand[at]), None, None,
                     reason="; ".join(found.reasons(at)) or "not worked out")  # fmt: skip
    demand_sd = float(pulls.ln_sd[row])
    ranked = variance_shares({**shares, "pull": (1.0, demand_sd)})
    return Limit(
        found.name, found.unit, pulls.names[row], _number(found.demand[at]), _number(found.allowable[at]),
        _number(found.use[at]), probability=_number(found.probability(demand_sd)[at]),
        capacity_median=_number(found.capacity_median[at]), capacity_p05=_number(found.capacity_p05[at]),
        divisor=_number(found.divisor[at]), ln_sd_demand=demand_sd, ln_sd_capacity=_number(found.capacity_ln_sd[at]),
        reason="; ".join(found.reasons(at)), matters_most=next(iter(ranked)), variance_shares=ranked,
    )  # fmt: skip


def use_by_sector(tree: TreeInputs, pulls: Pulls, divisor: float) -> dict[str, float | None]:
    """Use of the root plate if the hardest pull went toward each of the eight sectors."""
    hardest = int(np.argmax(pulls.pull))
    size = len(SECTOR_NAMES)
    turned = Pulls(SECTOR_NAMES, np.full(size, pulls.pull[hardest]), SECTOR_BEARINGS_DEG,
                   np.full(size, pulls.tie[hardest]), np.full(size, pulls.ln_sd[hardest]))  # fmt: skip
    found = root_limits(tree, turned, divisor)
    return {name: None if found.refused[i, 0] else _number(found.use[i, 0]) for i, name in enumerate(SECTOR_NAMES)}


def _number(value) -> float | None:
    value = float(value)
    return value if math.isfinite(value) else None
