"""From numbers to a verdict for one end of a line on one tree.

Every finding says the best verdict it still allows; the worst of them is the verdict. The same case always gives the
same verdict, and `steps` tells each sum on the way. What published rules say of a hollow stands beside the limit.
"""

from __future__ import annotations

import datetime
import math
from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from typing import Any

import numpy as np

from siteassess.advice.end_loads import (
    LEAST_TIE,
    crown_unread,
    high_tie,
    kindest_lines,
    kindest_tree,
    load_findings,
    size_findings,
    without_what_refuses,
)
from siteassess.advice.explain import sum_steps
from siteassess.advice.finding import Finding, Limit, found, greatest_use, least_used, steps_for, why_outside
from siteassess.advice.hold import (
    Pulls,
    divisor_for,
    end_loads,
    every_together,
    governing,
    pulls_of,
    root_limits,
    stem_limits,
    told_by_way,
    use_by_sector,
)
from siteassess.advice.line_inputs import LineInputs
from siteassess.advice.results import Evidence, Load
from siteassess.advice.stood_reading import stood_findings, trial_findings, why_not_counted
from siteassess.advice.tree_inputs import TreeInputs
from siteassess.advice.verdict import DECIDING, STOP_SIGNS, WORST_CASE_TAKEN, Verdict, worst
from siteassess.advice.wind_check import wind_finding
from siteassess.mechanics.decay import compare_decay_rules
from siteassess.mechanics.ground import ground_decides
from siteassess.mechanics.limit import Outside
from siteassess.mechanics.rootplate import SHALLOW_SOIL_FACTOR, SLENDER_PER_DIAMETER, SQUAT_PER_DIAMETER, turning_demand
from siteassess.mechanics.scatter import any_exceeds_shared_demand
from siteassess.records.line import EndName
from siteassess.reference.constants import constant
from siteassess.reference.findings import Said, said

SUITS_UP_TO = constant("no trial up to")
TAKEN_DOWN = ("wind-take-down", "wind-take-down-if")  # a gust to take the line down in, at which it may stand


@dataclass(frozen=True)
class EndCase:
    """Everything one end's hold rests on."""

    line: LineInputs
    end: EndName
    tree: TreeInputs
    bearing: float  # of the pull, from this tree to the other anchor [deg true]; NaN unknown
    others: tuple[Pulls, ...] = ()  # pulls of other lines on the same tree at the same time
    unsummed: tuple[str, ...] = ()  # other lines on the same tree whose pulls are not known
    guyed: float = 1.0  # share of the pull left on this tree, 0.5 with a guy to a second tree
    on: datetime.date | None = None  # the day judged for
    least: tuple[Pulls, ...] = ()  # the least that the lines of `unsummed` may pull

    @property
    def tie(self) -> float | None:
        return self.line.tie(self.end)


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
    steps: tuple[Said, ...] = ()


def judge_hold(case: EndCase) -> HoldJudgement:
    """Judge stem, root plate, signs and evidence of one end; the bark is judged apart (`care`)."""
    tree, line = case.tree, case.line
    evidence = evidence_of(line, tree)
    signs, findings = _signs(tree)
    findings += [*line.told, *tree.told, *missing_findings(evidence), *decay_findings(tree)]
    if case.unsummed:
        findings.append(found("other-lines-unknown", "cannot say", looked_at=False, lines=case.unsummed))
    loads, why = end_loads(line, case.end, case.bearing)
    limits: tuple[Limit, ...] = ()
    steps: tuple[Said, ...] = ()
    by_sector: dict[str, float | None] = {}
    wind = None
    pulls = Pulls.single(("any pull",), 1.0, case.bearing, LEAST_TIE.value, 0.0)  # where none is known
    if why:
        findings.append(found("load-unknown", "cannot say", looked_at=False, why=why))
    elif case.tie is not None:
        pulls = _pulls(case, loads, case.tie)
        divisor = divisor_for(line)
        limits, told, steps = _limits(case, pulls, divisor)
        findings += told
        by_sector = use_by_sector(tree, pulls, divisor, case.on)
        wind, wind_told = wind_finding(tree, limits, case.tie)
        findings += wind_told
    findings += load_findings(line, loads)  # a webbing too weak is too weak wherever it is tied
    findings += _whatever_it_pulls(case, pulls)
    findings += [*size_findings(line, tree, case.tie), *high_tie(tree, case.tie),
                 *crown_unread(tree, case.tie)]  # fmt: skip
    worked_out = {limit.name for limit in limits if limit.use is not None}
    anyway = exceeded_anyway(case, [name for name in ("stem", "root plate") if name not in worked_out])
    findings += [one for one in anyway if (one.about, one.effect) not in {(f.about, f.effect) for f in findings}]
    if case.least and tree.diameter_how != "copied":  # no remedy of this line mends what the others ask at the least
        together = replace(case, others=(*case.others, *case.least))
        findings += [found("other-lines-at-least", "leave it", lines=case.unsummed, why=one)
                     for one in exceeded_anyway(together, ("stem", "root plate"))
                     if one.code != "webbing-over-strength"]  # fmt: skip  # it is this line's own
    if tree.diameter_how == "copied":
        findings = [_softened(finding) for finding in findings]
    verdict = worst(f.effect for f in findings)
    if line.walk_only and _worse_with(case, replace(line, walk_only=False), verdict):
        findings.append(found("bounced-would-not-do", "suits if"))
    if line.wider and (wide := line.at_its_widest) and _worse_with(case, wide, verdict):
        findings.append(found("wider-would-not-do", "suits if", looked_at=False, width=line.wider.width))
    return HoldJudgement(
        verdict=worst(f.effect for f in findings), findings=tuple(findings), loads=loads, limits=limits,
        hold_use=greatest_use(limits), probability=_either(limits), stop_signs=signs, evidence=evidence,
        by_sector=by_sector, take_down_wind=wind, steps=steps,
    )  # fmt: skip


def with_lower_gust(by_read: HoldJudgement, by_copy: HoldJudgement) -> HoldJudgement:
    """What was judged by what was read, its line coming down in the gust of the copied trunk where that is the lower.

    Parameters
    ----------
    by_read, by_copy : HoldJudgement
    """
    here, there = ([one for one in judged.findings if one.code in TAKEN_DOWN] for judged in (by_read, by_copy))
    gust, lower = by_read.take_down_wind, by_copy.take_down_wind
    if not (here and there) or gust is None or lower is None or lower >= gust:
        return by_read
    findings = tuple(there[0] if one in here else one for one in by_read.findings)
    return replace(by_read, findings=findings, take_down_wind=lower, verdict=worst(f.effect for f in findings))


def _worse_with(case: EndCase, line: LineInputs, verdict: Verdict) -> bool:
    """Whether the word hangs on what the line is not: bounced on, or of a wider webbing, the same end gets a worse one.

    What is left anyway is not asked.
    """
    return verdict != "leave it" and worst((verdict, judge_hold(replace(case, line=line)).verdict)) != verdict


def evidence_of(line: LineInputs, tree: TreeInputs) -> Evidence:
    """Which of the deciding things of this use were looked at."""
    deciding = DECIDING[line.use]
    missing = {*line.missing, *tree.missing}
    return Evidence(deciding, tuple(thing for thing in deciding if thing in missing))


def _signs(tree: TreeInputs) -> tuple[tuple[str, ...], list[Finding]]:
    seen = tuple(STOP_SIGNS[name] for name, answer in tree.signs if answer == "yes")
    return seen, [found("stop-sign-seen", "leave it", sign=name) for name in seen]


def missing_findings(evidence: Evidence) -> list[Finding]:
    """One finding for the deciding things not looked at, one more for those taken at their worst."""
    told = []
    unknown = [thing for thing in evidence.missing if thing not in (*WORST_CASE_TAKEN, "soil wetness", "span")]
    if unknown:
        told.append(found("not-looked-at", "cannot say", looked_at=False, things=tuple(unknown)))
    for thing in evidence.missing:
        if thing in WORST_CASE_TAKEN:
            told.append(found("worst-taken", "suits", looked_at=False, thing=thing, taken=WORST_CASE_TAKEN[thing]))
    if "soil wetness" in evidence.missing:
        told.append(found("soil-wetness-unseen", "suits if", looked_at=False))
    return told


def _pulls(case: EndCase, loads: tuple[Load, ...], tie: float) -> Pulls:
    mine = pulls_of(loads, tie, case.bearing).scaled(case.guyed)
    return mine.then(every_together(mine, case.others, case.tree.root_diameter)) if case.others else mine


def _limits(case: EndCase, pulls: Pulls, divisor: float) -> tuple[tuple[Limit, ...], list[Finding], tuple[Said, ...]]:
    tree = case.tree
    stem_found, stem_scatter = stem_limits(tree, pulls, divisor)
    root_found, root_scatter = root_limits(tree, pulls, divisor, on=case.on)
    stem = governing(stem_found, pulls, stem_scatter, "stem strength")
    root = governing(told_by_way(root_found, pulls), pulls, root_scatter, "root plate itself")
    told = [_with_what_it_rests_on(finding, tree)
            for finding in (limit_finding(stem), _root_finding(case, root, pulls, divisor))]  # fmt: skip
    told += [*_ground_decides(case, root, pulls, divisor), *_depth_decides(tree, root)]
    return (stem, root), told, sum_steps(tree, pulls, stem, root)


def _whatever_it_pulls(case: EndCase, pulls: Pulls) -> list[Finding]:
    """What was seen of roots, wind and a trial load: it is told whether or not the line's loads are known."""
    tree, told = case.tree, []
    seen = replace(tree, sector_lost=kindest_tree(tree).sector_lost)  # lost is lost, whatever the other sectors are
    root, _ = root_limits(seen, pulls, divisor_for(case.line), on=case.on)
    lost = (root.outside & int(Outside.ROOTS_LOST_OVER_HALF)) != 0
    if lost.all(axis=1).any():  # of a pull of unknown bearing: toward every side
        told.append(found("roots-half-lost", "leave it"))
    told += stood_findings(tree)
    if tree.trial is not None:
        told += trial_findings(tree.trial, why_not_counted(tree.trial, case.bearing, tree.soil, case.on))
    return told


def _ground_decides(case: EndCase, root: Limit, pulls: Pulls, divisor: float) -> list[Finding]:
    """Whether the verdict hangs on what slope or bank cost; a pull that is too much anyway stays as unsettled."""
    if root.use is None:
        return []
    unkind = governing(root_limits(case.tree, pulls, divisor, pessimistic=True, on=case.on)[0], pulls, {})
    use = unkind.use if unkind.use is not None else np.inf
    # over the limit the ground still bears on whatever remedy is found
    if bool(ground_decides(root.use, use)) or (root.use > 1 and use > root.use * (1 + 1e-9)):
        return [found("slope-decides", "cannot say", looked_at=False)]
    if bool(ground_decides(root.use, use, SUITS_UP_TO)):
        return [found("slope-decides-watched", "suits if", looked_at=False, use=use)]
    return []


def _depth_decides(tree: TreeInputs, root: Limit) -> list[Finding]:
    """Where nobody looked whether rock lies shallow and the word hangs on it, that it does not is a condition."""
    if not tree.depth_unseen or root.use is None:
        return []
    use = root.use / SHALLOW_SOIL_FACTOR.value
    if not any(bool(ground_decides(root.use, use, threshold)) for threshold in (SUITS_UP_TO, 1.0)):
        return []
    return [found("soil-depth-unseen", "suits if", looked_at=False, use=use)]


def exceeded_anyway(case: EndCase, names: Sequence[str]) -> list[Finding]:
    """Limits that could not be worked out and are exceeded whatever was not looked at: see `kindest`.

    A limit that even then is kept from being worked out by what was seen is tried without that.
    """
    if not names:
        return []
    divisor, kind = divisor_for(case.line), kindest_tree(case.tree)
    squat = case.tree.height_how != "filled" and kind.height < SQUAT_PER_DIAMETER.value * kind.root_diameter
    slender = kind.height > SLENDER_PER_DIAMETER.value * kind.root_diameter
    if squat:  # the sum underrates it
        names = [name for name in names if name != "root plate"]
    winds: list[list[Finding]] = []
    weak: list[list[Finding]] = []
    judged: list[Limit] = []
    for line in kindest_lines(case.line):
        loads, why = end_loads(line, case.end, case.bearing)
        tie = line.tie(case.end)
        if why or tie is None:
            continue
        weak.append([one for one in load_findings(line, loads) if one.effect == "leave it"])
        pulls = _pulls(replace(case, line=line, tree=kind), loads, tie)
        both = {name: _one_limit(kind, name, pulls, divisor, case.on) for name in ("stem", "root plate")}
        if not slender:  # beyond the winched trees, what a gust leaves is no answer; of a squat one the stem's is
            by = (both["stem"],) if squat else tuple(both.values())
            winds.append([one for one in wind_finding(kind, by, tie)[1] if one.effect == "leave it"])
        judged += [both[name] for name in names]
    told = [one for tried in (winds, weak) if tried and all(tried) for one in tried[0]]  # at every one of them
    told += [limit_finding(limit) for limit in least_used(judged).values()]
    return [_with_what_it_rests_on(finding.adding("even-at-its-kindest"), kind)
            for finding in told if finding.effect == "leave it"]  # fmt: skip


def _one_limit(tree: TreeInputs, name: str, pulls: Pulls, divisor: float, on: datetime.date | None) -> Limit:
    """One limit at the kindest; what is refused there too is tried without what refuses it."""
    for tried in (tree, without_what_refuses(tree)):
        each, _ = (stem_limits(tried, pulls, divisor) if name == "stem"
                   else root_limits(tried, pulls, divisor, on=on))  # fmt: skip
        limit = governing(each, pulls, {})
        if limit.use is not None:
            break
    return limit


def _root_finding(case: EndCase, root: Limit, pulls: Pulls, divisor: float) -> Finding:
    """As any limit's, but a height that was filled in or a squat tree cannot make it "leave it"."""
    tree = case.tree
    told = limit_finding(root, _still_watched(case, root))
    if root.use is None or root.use <= 1:
        return told
    if tree.height_how == "filled":
        tall = min(tree.height_high, SLENDER_PER_DIAMETER.value * tree.root_diameter)
        kind = governing(root_limits(replace(tree, height=tall), pulls, divisor, on=case.on)[0], pulls, {})
        if kind.use is None or kind.use <= 1:
            return replace(told.adding("true-height-might-hold"), code="root-plate-over-filled", effect="cannot say",
                           looked_at=False)  # fmt: skip
        return told  # too much for any height it may have, and a height not read is not known to be squat
    if tree.height < SQUAT_PER_DIAMETER.value * tree.root_diameter:
        return replace(told.adding("sum-underrates-squat"), code="root-plate-over-squat", effect="cannot say",
                       looked_at=False)  # fmt: skip
    return told


def _with_what_it_rests_on(finding: Finding, tree: TreeInputs) -> Finding:
    """The finding with the sizes that nobody measured, where it asks for something or rejects."""
    if finding.effect not in ("suits if", "leave it"):
        return finding
    rests = [] if tree.diameter_how in ("taped", "calipers") else ["a trunk size not taped"]
    if dict(finding.values).get("limit") == "root plate" and tree.height_how != "measured":
        rests.append("a tree height not measured")
    return finding.adding("rests-on", things=tuple(rests)) if rests else finding


def _still_watched(case: EndCase, root: Limit) -> bool:
    """Whether a trial that reached the demand with no movement has been done: then the base is only watched."""
    trial = case.tree.trial
    if trial is None or trial.moved != "no" or why_not_counted(trial, case.bearing, case.tree.soil, case.on):
        return False
    reached = float(turning_demand(trial.pull, trial.tie, case.tree.root_diameter))
    return root.demand is not None and reached >= root.demand


def limit_finding(limit: Limit, still_watched: bool = False) -> Finding:
    """What a limit means by itself."""
    why = why_outside(limit.outside)
    if limit.use is None:
        return found("limit-unknown", "cannot say", looked_at=False, limit=limit.name,
                     why=why or (said("not-worked-out"),), next=steps_for(limit.outside))  # fmt: skip
    values: dict[str, Any] = {"limit": limit.name, "case": limit.case_told or limit.case, "use": limit.use}
    more = (said("limit-notes", why=why),) if why else ()
    if limit.use <= SUITS_UP_TO:
        return found("limit-within", "suits", more=more, **values)
    if limit.use <= 1:
        return found("limit-still-watched" if still_watched else "limit-watched", "suits if", more=more, **values)
    return found("limit-exceeded", "leave it", more=more, **values)


COPIED = {"trunk-under-least": "trunk-under-least-copied", "limit-exceeded": "limit-over-copied",
          "wind-nothing-left": "wind-over-copied", "wind-take-down-low": "wind-take-down-copied"}  # fmt: skip
"""What a size that was copied makes of a finding that rejects by it."""


def _softened(finding: Finding) -> Finding:
    """A trunk copied from an inventory may have grown or be another tree: no limit on it can reject."""
    if finding.effect != "leave it" or finding.code not in COPIED:
        return finding
    return replace(finding.adding("size-was-copied"), code=COPIED[finding.code], effect="cannot say", looked_at=False)


def _either(limits: tuple[Limit, ...]) -> float | None:
    """Probability that stem or root plate is exceeded, both under the same uncertain pull."""
    known = [(one.demand, one.ln_sd_demand, one.capacity_median, one.ln_sd_capacity) for one in limits
             if one.use is not None and one.demand is not None and one.ln_sd_demand is not None
             and one.capacity_median is not None and one.ln_sd_capacity is not None]  # fmt: skip
    if not known or len(known) < len(limits):
        return None
    demand, demand_sd, median, median_sd = zip(*known)
    return float(any_exceeds_shared_demand(demand, max(demand_sd), median, median_sd))


def decay_findings(tree: TreeInputs) -> list[Finding]:
    """The rules by author and year, their disagreement, and what it means; empty where no sound wall was measured."""
    if not math.isfinite(tree.wall) or math.isnan(tree.diameter):
        return []
    thin = 0.0 if math.isnan(tree.bark_thin) else tree.bark_thin  # the more wood, the less of it is sound
    wood = tree.diameter_at(tree.hollow_height) - 2 * thin
    if not wood > 0:
        return []
    return [losses_told(wood, tree.wall, tree.opening_deg)]


def losses_told(wood: float, wall: float, opening_deg: float) -> Finding:
    """The strength lost to a hollow by each rule, and which would not pass it.

    Parameters
    ----------
    wood, wall : float
        Diameter under the bark and thinnest sound wall [m].
    opening_deg : float
        Missing part of the round [deg].
    """
    rules = compare_decay_rules(wood, wall, opening_deg)
    losses = said(
        "hollow-losses", wagener=float(rules.wagener_1963_loss), coder=float(rules.coder_1989_loss),
        smiley=float(rules.smiley_fraedrich_1992_loss), modulus=float(rules.section_modulus_loss),
        wall=float(rules.sound_wall_ratio),
    )  # fmt: skip
    against = tuple(name for name, passes in rules.passes.items() if not passes)
    if not against:
        return found("hollow-passes", "suits", losses=losses)
    others = (said("decay-rules-disagree"),) if bool(rules.disagree) else ()
    return found("hollow-fails", "suits if", more=others, losses=losses, against=against)
