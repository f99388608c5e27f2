"""Hold: what stem and root plate are asked to bear, beside what we allow."""

from __future__ import annotations

import datetime
import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import combinations

import numpy as np
from numpy.typing import ArrayLike

from siteassess.advice.finding import Limit
from siteassess.advice.line_inputs import LineInputs, line_loads
from siteassess.advice.reading_scatter import root_scatter, stem_scatter, total
from siteassess.advice.results import Load
from siteassess.advice.stood_reading import after_wind, why_not_counted, with_trial
from siteassess.advice.tree_inputs import LOW_SECTION, TreeInputs
from siteassess.advice.wind_check import crown_of
from siteassess.mechanics import limit as limits
from siteassess.mechanics.ground import ground_factor, ground_outside
from siteassess.mechanics.line_load import Basis, LoadCase
from siteassess.mechanics.ownweight import CENTRE_HEIGHT_SHARE, lean_moment, own_lean_moment, tree_mass
from siteassess.mechanics.rootplate import combined_pull, root_limit
from siteassess.mechanics.roots import (
    SECTOR_BEARINGS_DEG,
    digging_behind,
    holding_share_lost,
    share_cut_off,
)
from siteassess.mechanics.scatter import DIVISOR_GROUND_LINE, DIVISOR_HIGH_LINE, percentile, variance_shares
from siteassess.mechanics.stem import bending_demand, stem_limit
from siteassess.records.fields import SECTORS
from siteassess.records.line import EndName
from siteassess.reference.findings import Said, said

SECTION_SHARES = (0.25, 0.5, 0.75, 0.9)  # of the way up to a tie, the last just under it
ALL_TOGETHER_UP_TO = 6  # other lines on one tree of which every choice is tried
TRIED_WAYS_DEG = np.arange(0.0, 360.0, 22.5)

Scatter = dict[str, np.ndarray]  # by input: its power times its reading's ln sd, shaped as the limit


@dataclass(frozen=True)
class Pulls:
    """Horizontal pulls on one tree, one entry a case: [N], [deg true] (NaN unknown), [m], and the cases' names.

    `parts` holds what each is made of, (cases, lines, 3): pull, bearing and tie of every line, none of them 0 N. The
    trunk needs them apart, since lines tied at two heights may cancel at the ground and still bend it between them.
    """

    names: tuple[str | Said, ...]
    pull: np.ndarray
    bearing: np.ndarray
    tie: np.ndarray
    ln_sd: np.ndarray
    parts: np.ndarray

    @classmethod
    def single(
        cls, names: Sequence[str | Said], pull: ArrayLike, bearing: ArrayLike, tie: ArrayLike, ln_sd: ArrayLike
    ) -> Pulls:
        """Cases of one line each; everything but the names broadcasts."""
        given = (np.asarray(x, dtype=float) for x in (pull, bearing, tie, ln_sd))
        pulls, bearings, ties, scatter = (np.array(np.broadcast_to(x, len(names))) for x in given)
        return cls(tuple(names), pulls, bearings, ties, scatter, np.stack((pulls, bearings, ties), axis=-1)[:, None, :])

    def scaled(self, factor: float) -> Pulls:
        return replace(self, pull=self.pull * factor, parts=self.parts * np.array([factor, 1.0, 1.0]))

    def then(self, other: Pulls) -> Pulls:
        """Both lists of cases as one."""
        lines = max(self.parts.shape[1], other.parts.shape[1])
        filled = [np.pad(one.parts, ((0, 0), (0, lines - one.parts.shape[1]), (0, 0))) for one in (self, other)]
        pull, bearing, tie, ln_sd = (
            np.concatenate([getattr(self, name), getattr(other, name)]) for name in ("pull", "bearing", "tie", "ln_sd")
        )
        return Pulls(self.names + other.names, pull, bearing, tie, ln_sd, np.concatenate(filled))

    def hardest(self) -> int:
        return int(np.argmax(self.pull))


def end_loads(line: LineInputs, end: EndName, bearing: float) -> tuple[tuple[Load, ...], Said | None]:
    """Every load case at one end, and why there are none."""
    cases, why = line_loads(line)
    tie = line.tie(end)
    loads = []
    for case in cases:
        tension, vertical = (case.tension_a, case.vertical_a) if end == "A" else (case.tension_b, case.vertical_b)
        if not math.isfinite(tension):
            continue
        loads.append(Load(
            case.name, tension, case.horizontal, vertical, bearing,
            case.horizontal * tie if tie is not None else math.nan, case.drop, case.ln_sd,
            case.calibrated is not False, _rests(case),
        ))  # fmt: skip
    return tuple(loads), why


def _rests(case: LoadCase) -> Said:
    """What a case rests on, and all about it that was never measured."""
    if not case.outside:
        return _as_said(case.basis)
    return said("outside-the-measured-lines", basis=_as_said(case.basis), things=tuple(map(_as_said, case.outside)))


def _as_said(basis: Basis) -> Said:
    return said(basis.code, **{name: _as_said(value) if isinstance(value, Basis) else value
                               for name, value in basis.values})  # fmt: skip


def divisor_for(line: LineInputs | None) -> float:
    return (DIVISOR_HIGH_LINE if line is not None and line.high else DIVISOR_GROUND_LINE).value


def pulls_of(loads: tuple[Load, ...], tie: float, bearing: float) -> Pulls:
    """The pulls of a line's load cases at one end."""
    return Pulls.single([load.case for load in loads], [load.horizontal_n for load in loads], bearing, tie,
                        [load.ln_sd for load in loads])  # fmt: skip


def every_together(mine: Pulls, others: tuple[Pulls, ...], diameter: float) -> Pulls:
    """This line with every choice of the other lines on the same tree, each choice as one pull.

    Opposed lines hide what the rest adds up to, and they need not hang on the same days. Of many lines only the
    choices that pull one way are tried, for sixteen ways: the hardest choice for a way is among them.
    """
    chosen = _choices(others)
    found = together(mine, others, diameter)
    for which in chosen:
        if len(which) == len(others):
            continue
        name = _with_lines(tuple(float(others[i].bearing[others[i].hardest()]) for i in which))
        while name in found.names:
            name = said("again", case=name)
        found = found.then(replace(together(mine, tuple(others[i] for i in which), diameter), names=(name,)))
    return found


def _with_lines(bearings: tuple[float, ...]) -> Said:
    """The case of a line together with others, by where those pull."""
    first, *rest = (said("so-many-degrees", way=one) if math.isfinite(one) else said("no-known-way")
                    for one in bearings)  # fmt: skip
    if not rest:
        return said("together-with-a-line", first=first)
    return said("together-with-lines", first=first, others=tuple(said("and-another", other=one) for one in rest))


def _choices(others: tuple[Pulls, ...]) -> list[tuple[int, ...]]:
    """Which of the other lines hang, for each choice that may be the hardest."""
    numbers = range(len(others))
    if len(others) <= ALL_TOGETHER_UP_TO:
        return [which for size in range(1, len(others) + 1) for which in combinations(numbers, size)]
    ways = [float(own.bearing[own.hardest()]) for own in others]
    found = [
        tuple(i for i in numbers if math.isnan(ways[i]) or math.cos(math.radians(ways[i] - way)) > 0)
        for way in TRIED_WAYS_DEG
    ]
    return [which for which in dict.fromkeys(found) if which]


def together(mine: Pulls, others: tuple[Pulls, ...], diameter: float) -> Pulls:
    """This line's hardest case and those of the other lines on the same tree, as one pull."""
    each = [(own, own.hardest()) for own in (mine, *others)]
    parts = np.array([(own.pull[i], own.bearing[i], own.tie[i]) for own, i in each])
    pull, bearing, tie = parts.T
    if np.isnan(bearing).any():
        pull, bearing, tie = np.sum(pull), np.array(math.nan), np.max(tie)
    else:
        pull, bearing, tie = combined_pull(pull, bearing, tie, diameter)
    scatter = np.array([max(own.ln_sd[i] for own, i in each)])
    return Pulls(("all lines on this tree together",), np.atleast_1d(pull), np.atleast_1d(bearing), np.atleast_1d(tie),
                 scatter, parts[None])  # fmt: skip


def root_limits(
    tree: TreeInputs, pulls: Pulls, divisor: float, *, pessimistic: bool = False, on: datetime.date | None = None
) -> tuple[limits.LimitSums, Scatter]:
    """Root plate under every pull and what scatters it: shape (pulls, directions tried).

    A pull of unknown bearing is tried toward every sector and the way the tree leans.
    """
    unknown = np.isnan(pulls.bearing)
    bearings = pulls.bearing[:, None]
    if unknown.any():
        tried = np.append(SECTOR_BEARINGS_DEG, np.nan_to_num(tree.lean_toward_deg))
        bearings = np.where(unknown[:, None], tried, bearings)
    pull, tie, size = pulls.pull[:, None], pulls.tie[:, None], tree.root_diameter
    lean = float(own_lean_moment(size, tree.height_high, tree.lean_deg))
    found = root_limit(
        size, tree.height, tie, pull,
        soil_factor=tree.soil_factor,
        share_lost=holding_share_lost(np.array(tree.sector_lost), bearings),
        ground_factor=ground_factor(tree.slope_deg, tree.bank_m, size, pessimistic),
        digging_behind=digging_behind(np.array(tree.digging), bearings, size),
        share_cut_off=share_cut_off(np.array(tree.sector_lost), np.array(tree.cut_off), bearings, size),
        lean_moment=lean,
        lean_from_pull_deg=_lean_from_pull(tree, bearings),
        extra_outside=ground_outside(tree.slope_deg),
        divisor=divisor,
        moment_per_d2h=tree.anchorage.moment_per_d2h,
        ln_sd=tree.anchorage.ln_sd,
    )  # fmt: skip
    scatter = root_scatter(tree, tie, lean, found)
    counted = _counted(tree, bearings, on)
    return with_trial(_held(found, scatter, tree), tree.trial, size, counted, tree.anchorage), scatter


def told_by_way(found: limits.LimitSums, pulls: Pulls) -> limits.LimitSums:
    """The root plate's limit, and where it is refused toward some sides only, that the way of the pull decides it."""
    decides = np.isnan(pulls.bearing)[:, None] & found.refused & ~found.refused.all(axis=1, keepdims=True)
    return replace(found, outside=np.where(decides, found.outside | int(limits.Outside.WAY_UNKNOWN), found.outside))


def _held(found: limits.LimitSums, scatter: Scatter, tree: TreeInputs) -> limits.LimitSums:
    """The limit with the scatter of its readings, and with the wind the tree has stood."""
    # counted after it: a size less well read would else leave more for the wind to have shown, and earn by it
    return _widened(found if tree.stood is None else after_wind(found, tree, crown_of(tree)), scatter)


def _counted(tree: TreeInputs, bearings: np.ndarray, on: datetime.date | None) -> np.ndarray:
    """Whether a trial load counts for each pull."""
    trial = tree.trial
    if trial is None:
        return np.zeros(bearings.shape, dtype=bool)
    counts = [not why_not_counted(trial, float(way), tree.soil, on) for way in bearings.ravel()]
    return np.array(counts, dtype=bool).reshape(bearings.shape)


def stem_limits(tree: TreeInputs, pulls: Pulls, divisor: float) -> tuple[limits.LimitSums, Scatter]:
    """Stem at every section that may be weakest, under every pull, and what scatters it: shape (pulls, sections)."""
    heights = [LOW_SECTION, *(tree.hollow_height,) * math.isfinite(tree.hollow_height)]
    if pulls.parts.shape[1] > 1:
        heights += sorted({float(tie) for tie in pulls.parts[..., 2].ravel() if tie > LOW_SECTION})
    section = np.array(heights + _up_the_stem(pulls))
    diameter = tree.diameters_at(section)
    demand, lean = _bending(tree, pulls, section)
    found = stem_limit(
        tree.mor, diameter, pulls.tie[:, None], 0.0, section_height=section, bark_thickness=tree.bark_thick,
        wall=tree.wall, opening_deg=tree.opening_deg, forked=tree.forked, other_moment=demand, divisor=divisor,
    )  # fmt: skip
    scatter = stem_scatter(tree, diameter, pulls.tie[:, None], section, lean, found)
    return _widened(found, scatter), scatter


def _up_the_stem(pulls: Pulls) -> list[float]:
    """Heights between the low section and every tie, since a trunk that thins may be weakest up there [m]."""
    ties = {float(tie) for tie in pulls.parts[..., 2].ravel() if tie > LOW_SECTION}
    return [LOW_SECTION + share * (tie - LOW_SECTION) for tie in sorted(ties) for share in SECTION_SHARES]


def _bending(tree: TreeInputs, pulls: Pulls, section: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Moment of all lines of each case and the tree's lean about every section, as vectors; and the lean's [N m]."""
    pull, bearing, tie = (pulls.parts[:, None, :, i] for i in range(3))
    # lines of unknown bearing are taken to pull the same way
    unknown = np.isnan(bearing).any(axis=-1, keepdims=True)
    turn = np.deg2rad(np.where(unknown, 0.0, bearing))
    each = bending_demand(pull, tie, section[:, None])
    east, north = np.sum(each * np.sin(turn), axis=-1), np.sum(each * np.cos(turn), axis=-1)
    line = np.hypot(east, north)
    # an upright tree has nothing to weigh, whatever its height
    lean = np.zeros_like(section) if tree.lean_deg == 0 else lean_moment(
        tree_mass(tree.diameter, tree.height_high), CENTRE_HEIGHT_SHARE.value * tree.height_high, tree.lean_deg, section
    )  # fmt: skip
    # a section above every tie feels no line, and its lean is judged the way the tree as a whole is pulled
    direction = np.where(line > 0, np.rad2deg(np.arctan2(east, north)), pulls.bearing[:, None])
    direction = np.where(unknown[..., 0], math.nan, direction)
    off = np.deg2rad(_lean_from_pull(tree, direction))
    with_line = np.hypot(line + lean * np.maximum(np.cos(off), 0.0), lean * np.sin(off))
    return np.maximum(with_line, lean), lean  # a slack line leaves the lean alone


def _lean_from_pull(tree: TreeInputs, bearings: np.ndarray) -> np.ndarray:
    """Direction of the lean against each pull; an unknown one is taken along it [deg]."""
    return np.nan_to_num(tree.lean_toward_deg - bearings, nan=0.0)


def _widened(found: limits.LimitSums, scatter: Scatter) -> limits.LimitSums:
    """The same limit with the scatter of its readings added."""
    sd = np.hypot(found.capacity_ln_sd, total(scatter))
    return limits.make_limit(
        found.name, found.capacity_median, sd, found.demand, found.divisor, found.outside, found.unit
    )  # fmt: skip


def governing(found: limits.LimitSums, pulls: Pulls, scatter: Scatter, itself: str = "") -> Limit:
    """The case and section (or direction) with the greatest use, as an answer; a refusal beats every number.

    Parameters
    ----------
    scatter : dict
        By input, as from `root_limits` and `stem_limits`.
    itself : str
        What the scatter beyond the readings is called.
    """
    use = np.where(found.refused, np.inf, found.use)
    at = np.unravel_index(int(np.argmax(use)), use.shape)
    named = pulls.names[at[0]]
    case, told = (named.in_words(), named) if isinstance(named, Said) else (named, None)
    if found.refused[at]:
        return Limit(found.name, found.unit, case, _number(found.demand[at]), None, None, case_told=told,
                     outside=int(found.outside[at]))  # fmt: skip
    demand_sd, capacity_sd = float(pulls.ln_sd[at[0]]), float(found.capacity_ln_sd[at])
    inputs = {name: (1.0, float(np.broadcast_to(value, use.shape)[at])) for name, value in scatter.items()}
    own = math.sqrt(max(capacity_sd**2 - sum(sd**2 for _, sd in inputs.values()), 0.0))
    ranked = variance_shares({itself or found.name: (1.0, own), **inputs, "pull": (1.0, demand_sd)})
    return Limit(
        found.name, found.unit, case, _number(found.demand[at]), _number(found.allowable[at]),
        _number(found.use[at]), probability=_number(found.probability(demand_sd)[at]),
        capacity_median=_number(found.capacity_median[at]), capacity_p05=_number(found.capacity_p05[at]),
        divisor=_number(found.divisor[at]), ln_sd_demand=demand_sd, ln_sd_capacity=capacity_sd,
        matters_most=next(iter(ranked)), variance_shares=ranked,
        use_p05=_number(percentile(found.use[at], math.hypot(demand_sd, capacity_sd), 0.05)),
        use_p95=_number(percentile(found.use[at], math.hypot(demand_sd, capacity_sd), 0.95)),
        outside=int(found.outside[at]), case_told=told,
    )  # fmt: skip


def use_by_sector(
    tree: TreeInputs, pulls: Pulls, divisor: float, on: datetime.date | None = None
) -> dict[str, float | None]:
    """Use of the root plate if the hardest pull went toward each of the eight sectors."""
    i = pulls.hardest()
    turned = Pulls.single(SECTORS, pulls.pull[i], SECTOR_BEARINGS_DEG, pulls.tie[i], pulls.ln_sd[i])
    found, _ = root_limits(tree, turned, divisor, on=on)
    return {name: None if found.refused[k, 0] else _number(found.use[k, 0]) for k, name in enumerate(SECTORS)}


def _number(value: ArrayLike) -> float | None:
    one = float(np.asarray(value))
    return one if math.isfinite(one) else None
