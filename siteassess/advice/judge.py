"""From numbers to a verdict for one end of a line on one tree.

Every finding says the best verdict it still allows; the worst of them is the verdict. The same case always gives the
same verdict, and `steps` tells each sum on the way.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field, replace

import numpy as np

from siteassess.advice.deciding import DECIDING, STOP_SIGNS, WORST_CASE_TAKEN
from siteassess.advice.hold import (
    Pulls,
    divisor_for,
    end_loads,
    governing,
    pulls_of,
    root_limits,
    stem_limits,
    together,
    use_by_sector,
)
from siteassess.advice.line_inputs import LineInputs
from siteassess.advice.results import Evidence, Finding, Limit, Load, Verdict, worst
from siteassess.advice.tree_inputs import TreeInputs
from siteassess.advice.wind_check import wind_finding
from siteassess.mechanics.ground import ground_decides
from siteassess.mechanics.limit import Outside
from siteassess.mechanics.scatter import any_exceeds_shared_demand

SUITS_UP_TO = 0.60  # share of the allowable up to which no trial load is asked for (agreed model, judgement)
LEAST_DIAMETER = 0.20  # [m] below it no line at all (agreed model; public rules start at 0.30)
USUAL_LEAST_DIAMETER = 0.30  # [m] below it the manager or an arborist must agree (read: public rules 0.30 to 0.46)
WATCHED = "the base shows no movement at a trial load and is watched"


@dataclass(frozen=True)
class EndCase:
    """Everything one end's hold rests on. Remedies change one field and judge again."""

    line: LineInputs
    end: str  # "A" or "B"
    tree: TreeInputs
    bearing: float  # of the pull, from this tree to the other anchor [deg true]; NaN unknown
    others: tuple[Pulls, ...] = ()  # pulls of other lines on the same tree at the same time
    guyed: float = 1.0  # share of the pull left on this tree, 0.5 with a guy to a second tree

    @property
    def tie(self) -> float | None:
        return self.line.tie_a if self.end == "A" else self.line.tie_b


@dataclass(frozen=True)
class HoldJudgement:
    verdict: Verdict
    findings: tuple[Finding, ...]
    loads: tuple[Load, ...]
    limits: tuple[Limit, ...]
    hold_use: float | None
    probability: float | None
    stop_signs: tuple[str, ...]
    evidence: Evidence
    by_sector: dict[str, float | None] = field(default_factory=dict)
    take_down_wind: float | None = None
    exceeded: bool = False  # a stem or root limit is exceeded: a remedy may still mend it
    steps: tuple[str, ...] = ()


def judge_hold(case: EndCase) -> HoldJudgement:
    """Judge stem, root plate, signs and evidence of one end; the bark is judged apart (`care`)."""
    tree, line = case.tree, case.line
    evidence = evidence_of(line, tree)
    signs, findings = _signs(tree)
    findings += [*line.told, *tree.told, *_missing(evidence)]
    loads, why = end_loads(line, case.end, case.bearing)
    limits, by_sector, steps, wind = (), {}, (), None
    if why:
        findings.append(Finding("load", "cannot say", why, looked_at=False))
    elif case.tie is not None:
        pulls = _pulls(case, loads)
        divisor = divisor_for(line)
        limits, told, steps = _limits(case, pulls, divisor)
        findings += told + _load_findings(line, loads)
        by_sector = use_by_sector(tree, pulls, divisor)
        wind, wind_told = wind_finding(tree, limits, case.tie)
        findings += wind_told
    findings += _size(line, tree, case.tie)
    uses = [limit.use for limit in limits]
    hold_use = max(uses) if uses and None not in uses else None
    return HoldJudgement(
        verdict=worst(f.effect for f in findings), findings=tuple(findings), loads=loads, limits=limits,
        hold_use=hold_use, probability=_either(limits), stop_signs=signs, evidence=evidence, by_sector=by_sector,
        take_down_wind=wind, exceeded=any(use is not None and use > 1 for use in uses), steps=steps,
    )  # fmt: skip


def evidence_of(line: LineInputs, tree: TreeInputs) -> Evidence:
    """Which of the deciding things of this use were looked at."""
    deciding = DECIDING[line.use]
    named = {name.split(" (")[0] for name in (*line.missing, *tree.missing)}
    return Evidence(deciding, tuple(thing for thing in deciding if thing in named))


def _signs(tree: TreeInputs) -> tuple[tuple[str, ...], list[Finding]]:
    seen = tuple(STOP_SIGNS[name] for name, answer in tree.signs if answer == "yes")
    return seen, [Finding("stop sign", "leave it", f"stop sign: {name}") for name in seen]


def _missing(evidence: Evidence) -> list[Finding]:
    """One finding for the deciding things not looked at, one more for those taken at their worst."""
    found = []
    unknown = [thing for thing in evidence.missing if thing not in (*WORST_CASE_TAKEN, "soil wetness", "span")]
    if unknown:
        found.append(Finding("not looked at", "cannot say", f"not looked at: {', '.join(unknown)}", looked_at=False))
    for thing in evidence.missing:
        if thing in WORST_CASE_TAKEN:
            found.append(Finding(thing, "suits", f"{thing} not given: {WORST_CASE_TAKEN[thing]}", looked_at=False))
    if "soil wetness" in evidence.missing:
        found.append(Finding("soil wetness", "suits if", "soil wetness not looked at: taken as wet",
                             "the ground is not saturated on the day", looked_at=False))  # fmt: skip
    return found


def _pulls(case: EndCase, loads: tuple[Load, ...]) -> Pulls:
    mine = pulls_of(loads, case.tie, case.bearing)
    mine = replace(mine, pull=mine.pull * case.guyed)
    if not case.others:
        return mine
    joint = together(mine, case.others, case.tree.diameter)
    return Pulls(mine.names + joint.names, *(np.concatenate([getattr(mine, name), getattr(joint, name)])
                                             for name in ("pull", "bearing", "tie", "ln_sd")))  # fmt: skip


def _limits(case: EndCase, pulls: Pulls, divisor: float) -> tuple[tuple[Limit, ...], list[Finding], tuple[str, ...]]:
    tree = case.tree
    stem_found, root_found = stem_limits(tree, pulls, divisor), root_limits(tree, pulls, divisor)
    stem = governing(stem_found, pulls, {"stem strength": (1, 0.40), "trunk diameter": (3, tree.diameter_ln_sd),
                                         "species": (1, tree.wood_ln_sd)})  # fmt: skip
    root = governing(root_found, pulls, {"root plate itself": (1, 0.48), "trunk diameter": (2, tree.diameter_ln_sd),
                                         "tree height": (1, _zero_if_nan(tree.height_ln_sd))})  # fmt: skip
    told = [*_limit_findings(stem), *_limit_findings(root, squat=_squat(tree))]
    if root.use is not None:
        unkind = governing(root_limits(tree, pulls, divisor, pessimistic=True), pulls, {})
        if bool(np.any(ground_decides(root.use, unkind.use if unkind.use is not None else np.inf))):
            told.append(Finding("slope", "cannot say", "slope or bank decides here, and no measured number exists for it",
                                looked_at=False))  # fmt: skip
    if int(np.bitwise_or.reduce(root_found.outside.ravel())) & int(Outside.ROOTS_LOST_OVER_HALF):
        told.append(Finding("root plate", "leave it", "more than half of the roots that hold this pull are lost"))
    steps = tuple(_step(limit) for limit in (stem, root))
    return (stem, root), told, steps


def _zero_if_nan(value: float) -> float:
    return value if math.isfinite(value) else 0.0


def _squat(tree: TreeInputs) -> bool:
    return tree.height < 25 * tree.diameter


def _limit_findings(limit: Limit, squat: bool = False) -> list[Finding]:
    if limit.use is None:
        return [Finding(limit.name, "cannot say", f"{limit.name}: {limit.reason}", looked_at=False)]
    told = f"{limit.name}: {limit.case} asks for {limit.use:.0%} of what we allow"
    notes = f" ({limit.reason})" if limit.reason else ""
    if limit.use <= SUITS_UP_TO:
        return [Finding(limit.name, "suits", told + notes)]
    if limit.use <= 1:
        return [Finding(limit.name, "suits if", told + notes, WATCHED)]
    if squat:
        return [Finding(limit.name, "cannot say", f"{told}{notes}", looked_at=False)]
    return [Finding(f"{limit.name} exceeded", "leave it", told + notes)]


def _step(limit: Limit) -> str:
    if limit.use is None:
        return f"{limit.name}: cannot say ({limit.reason})"
    return (f"{limit.name}: median {limit.capacity_median:,.0f} {limit.unit}, 5 % value {limit.capacity_p05:,.0f}, "
            f"over {limit.divisor:g} allows {limit.allowable:,.0f}; {limit.case} asks {limit.demand:,.0f}; "
            f"use {limit.use:.3f}; probability {limit.probability:.2g}; {limit.matters_most} matters most")  # fmt: skip


def _load_findings(line: LineInputs, loads: tuple[Load, ...]) -> list[Finding]:
    found = []
    fall = next((load for load in loads if load.case == "leash fall"), None)
    if fall is not None and not fall.calibrated:
        found.append(Finding("leash fall", "suits if",
                             "the leash fall lies outside the lines it was ever measured on",
                             "a rigger trained for high lines confirms the load of a fall, measured on this line"))  # fmt: skip
    if line.use == "high line":
        found.append(Finding("redundancy", "suits if", "a fall from a high line can kill",
                             "trained people rig it with an independent second sling and backup at each end"))  # fmt: skip
    rough = [load.case for load in loads if not load.calibrated and load.case != "leash fall"]
    if rough:
        found.append(Finding("load", "suits", f"outside the three measured lines, so its scatter is only indicative: "
                                              f"{', '.join(rough)}"))  # fmt: skip
    if line.strength and loads and max(load.tension_n for load in loads) > line.strength:
        ratio = max(load.tension_n for load in loads) / line.strength
        found.append(Finding("webbing", "leave it", f"the line's tension reaches {ratio:.0%} of the webbing's strength"))
    return found


def _size(line: LineInputs, tree: TreeInputs, tie: float | None) -> list[Finding]:
    diameter = tree.diameter_at(tie) if tie is not None else tree.diameter
    if math.isnan(diameter):
        return []
    if diameter < LEAST_DIAMETER:
        return [Finding("size floor", "leave it", f"the trunk is {diameter * 100:.0f} cm at the tie, under 20 cm")]
    if diameter < USUAL_LEAST_DIAMETER and line.use != "hammock":
        return [Finding("size floor", "suits if",
                        f"the trunk is {diameter * 100:.0f} cm at the tie; public rules ask for 30 to 46 cm",
                        "the land manager or an arborist agrees")]  # fmt: skip
    return []


def _either(limits: tuple[Limit, ...]) -> float | None:
    """Probability that stem or root plate is exceeded, both under the same uncertain pull."""
    known = [limit for limit in limits if limit.use is not None]
    if not known or len(known) < len(limits):
        return None
    return float(any_exceeds_shared_demand(
        [limit.demand for limit in known], max(limit.ln_sd_demand for limit in known),
        [limit.capacity_median for limit in known], [limit.ln_sd_capacity for limit in known],
    ))  # fmt: skip
