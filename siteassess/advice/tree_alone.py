"""A tree by itself: the greatest pull we would allow by tie height, what is missing, and how to do a trial load.

Never a proof test of a public tree.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np

from siteassess.advice.deciding import DECIDING, STOP_SIGNS
from siteassess.advice.finding import Finding, found
from siteassess.advice.gear_loads import RIGGING
from siteassess.advice.hold import Pulls, governing, root_limits, stem_limits
from siteassess.advice.judge import SUITS_UP_TO, HoldJudgement, decay_findings, limit_finding, missing_findings
from siteassess.advice.least_trunk import LEAST_TRUNK, tie_findings
from siteassess.advice.results import NO_TAG, Evidence, Load, PullRow, TreeAlone
from siteassess.advice.rootzone_plan import root_zone_radius, stems_of
from siteassess.advice.softer import softer_findings
from siteassess.advice.tree_inputs import TreeInputs, tree_inputs
from siteassess.advice.verdict import worst
from siteassess.mechanics.scatter import DIVISOR_GROUND_LINE
from siteassess.mechanics.tilt import TILT_START_DEG, TILT_START_SHARE
from siteassess.records.anchor import Tree
from siteassess.reference.findings import Said, said

TIE_HEIGHTS_M = (0.5, 1.0, 1.5, 2.0, 2.5)
WITHOUT_A_LINE = ("tie height", "span", "webbing", "standing tension", "walker")
TRIED_PULL_N = np.geomspace(100.0, 60e3, 100)


def tree_alone(tree: Tree, latitude: float, root_zone_standard: str) -> TreeAlone:
    """What a tree may carry in its worst direction, by tie height."""
    inputs = tree_inputs(tree, None, latitude)
    deciding = tuple(thing for thing in DECIDING["low line"] if thing not in WITHOUT_A_LINE)
    evidence = Evidence(deciding, tuple(thing for thing in deciding if thing in inputs.missing))
    findings = [*inputs.told, *softer_findings(tree), *decay_findings(inputs)]
    findings += [found("stop-sign-of-the-tree", "leave it", sign=STOP_SIGNS[name])
                 for name, answer in inputs.signs if answer == "yes"]  # fmt: skip
    findings += missing_findings(evidence)
    if inputs.diameter < LEAST_TRUNK:
        findings.append(found("trunk-alone-under-least", "leave it", least=LEAST_TRUNK))
    why_none = tuple(said("with-verdict", verdict=f.effect, what=_of(f)) for f in findings
                     if f.effect in ("leave it", "cannot say"))  # fmt: skip
    pulls, against = _rows(inputs, why_none)
    if not why_none and all(row.pull_n is None for row in pulls):
        why = tuple(Said(finding.code, finding.values) for finding in against)
        findings.append(found("no-pull-worked-out", "cannot say", why=why))
    findings.append(found("no-line-judged", "cannot say", looked_at=False))
    return TreeAlone(
        code=tree.code, tag=tree.tag or NO_TAG, species=inputs.species.accepted,
        verdict=worst(finding.effect for finding in findings), findings=tuple(findings), evidence=evidence,
        pulls=pulls,
        root_zone_radius_m=root_zone_radius(inputs, root_zone_standard, stems_of(tree)),
    )  # fmt: skip


def _rows(inputs: TreeInputs, why_none: tuple[Said, ...]) -> tuple[tuple[PullRow, ...], tuple[Finding, ...]]:
    """Greatest horizontal pull by tie height, in the worst direction [N], and what stands against the lowest tie.

    The scatter of an estimate is not in it. No pull at all where anything of the tree itself stands against it,
    whatever the sums say.
    """
    if why_none:
        return tuple(PullRow(height, None, why_none) for height in TIE_HEIGHTS_M), ()
    heights, pulls = (grid.ravel() for grid in np.meshgrid(TIE_HEIGHTS_M, TRIED_PULL_N, indexing="ij"))
    tried = Pulls.single(("",) * pulls.size, pulls, math.nan, heights, 0.2)
    divisor = DIVISOR_GROUND_LINE.value
    limits = {"stem": stem_limits(inputs, tried, divisor)[0], "root plate": root_limits(inputs, tried, divisor)[0]}
    refused = tuple(limit_finding(governing(one, tried, {})) for one in limits.values() if one.refused.any())
    if refused:
        return tuple(PullRow(height, None, tuple(map(_of, refused))) for height in TIE_HEIGHTS_M), refused
    shape = (len(TIE_HEIGHTS_M), TRIED_PULL_N.size)
    uses = {name: one.use.max(axis=1).reshape(shape) for name, one in limits.items()}
    against = [tuple(tie_findings(inputs, height)) for height in TIE_HEIGHTS_M]
    rows = tuple(
        PullRow(height, None, tuple(map(_of, told))) if told
        else _row(height, {name: use[i] for name, use in uses.items()})
        for i, (height, told) in enumerate(zip(TIE_HEIGHTS_M, against))
    )  # fmt: skip
    return rows, against[0]


def _of(finding: Finding) -> Said:
    return said("any-of", first=Said(finding.code, finding.values), others=finding.more)


def _row(height: float, uses: dict[str, np.ndarray]) -> PullRow:
    """One tie height: use grows steadily with the pull, so the crossing is read off between the tried pulls."""
    greatest = np.max(list(uses.values()), axis=0)
    full, without_trial = (
        float(np.interp(share, greatest, TRIED_PULL_N)) if greatest[0] <= share else 0.0 for share in (1.0, SUITS_UP_TO)
    )
    at = min(int(np.searchsorted(TRIED_PULL_N, full)), TRIED_PULL_N.size - 1)
    return PullRow(height, full, (said("kind-alone", kind=max(uses, key=lambda name: uses[name][at])),), without_trial)


def trial_load(tree: TreeInputs, judged: HoldJudgement, tie: float | None) -> tuple[Said, ...]:
    """Steps of the trial load where one is asked for; empty where the use is low, unknown or too high."""
    use = judged.hold_use
    if use is None or tie is None or not SUITS_UP_TO < use <= 1:
        return ()
    root = next((limit for limit in judged.limits if limit.name == "root plate"), None)
    if root is None or root.demand is None or not root.capacity_median:
        share = math.nan
    else:
        share = root.demand / root.capacity_median
    begins = TILT_START_SHARE.value
    expected = () if math.isnan(share) else (
        said("trial-tilt-begins-over" if share > begins else "trial-tilt-begins-under", begins=begins, share=share),)
    return trial_steps(judged.loads, expected)


def trial_steps(loads: Sequence[Load], expected: tuple[Said, ...] = ()) -> tuple[Said, ...]:
    """Steps of a trial load of a tree: of a line it is tightened for it, of what is not tightened it is loaded.

    Parameters
    ----------
    loads : cases at that end
    expected : what is to be seen by it
    """
    peak = max(load.tension_n for load in loads)
    rigged = any(load.case == RIGGING for load in loads)
    steps = said("trial-in-steps", peak=peak) if rigged else said("trial-by-weight", peak=peak)
    return (said("trial-nobody-near"), steps, said("trial-look-at-the-base"), *expected,
            said("trial-let-off", tilt=TILT_START_DEG.value), said("trial-write-it-down"),
            said("trial-look-again"))  # fmt: skip
