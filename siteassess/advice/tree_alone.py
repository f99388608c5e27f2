"""A tree by itself, with no line planned: the greatest pull we would allow by tie height, and what is missing."""

from __future__ import annotations

import math

import numpy as np

from siteassess.advice.deciding import DECIDING, STOP_SIGNS
from siteassess.advice.hold import Pulls, governing, root_limits, stem_limits
from siteassess.advice.judge import LEAST_DIAMETER
from siteassess.advice.protection import root_zone_radius
from siteassess.advice.results import Evidence, Finding, PullRow, TreeAlone, worst
from siteassess.advice.softer import softer_findings
from siteassess.advice.tree_inputs import TreeInputs, tree_inputs
from siteassess.mechanics.scatter import DIVISOR_GROUND_LINE
from siteassess.records.anchor import Tree

TIE_HEIGHTS_M = (0.5, 1.0, 1.5, 2.0, 2.5)
WITHOUT_A_LINE = ("tie height", "span", "webbing", "standing tension", "walker")
TRIED_PULL_N = np.geomspace(100.0, 60e3, 140)


def tree_alone(tree: Tree, latitude: float, root_zone_standard: str) -> TreeAlone:
    """What a tree may carry in its worst direction, by tie height."""
    inputs = tree_inputs(tree, None, latitude)
    missing = {name.split(" (")[0] for name in inputs.missing}
    deciding = tuple(thing for thing in DECIDING["low line"] if thing not in WITHOUT_A_LINE)
    evidence = Evidence(deciding, tuple(thing for thing in deciding if thing in missing))
    findings = [*inputs.told, *softer_findings(tree)]
    findings += [Finding("stop sign", "leave it", f"stop sign: {STOP_SIGNS[name]}")
                 for name, answer in inputs.signs if answer == "yes"]  # fmt: skip
    if evidence.missing:
        findings.append(Finding("not looked at", "cannot say", f"not looked at: {', '.join(evidence.missing)}",
                                looked_at=False))  # fmt: skip
    if inputs.diameter < LEAST_DIAMETER:
        findings.append(Finding("size floor", "leave it", "the trunk is under 20 cm"))
    findings.append(Finding("line", "cannot say", "no line was planned on it: the table tells what it may carry",
                            looked_at=False))  # fmt: skip
    return TreeAlone(
        code=tree.code, tag=tree.tag or "none seen", species=inputs.species.accepted,
        verdict=worst(finding.effect for finding in findings), findings=tuple(findings), evidence=evidence,
        pulls=tuple(_row(inputs, height) for height in TIE_HEIGHTS_M),
        root_zone_radius_m=root_zone_radius(inputs, root_zone_standard),
    )  # fmt: skip


def _row(inputs: TreeInputs, height: float) -> PullRow:
    """Greatest horizontal pull at one tie height, in the worst direction [N]; estimated pulls' scatter not in it."""
    size = TRIED_PULL_N.size
    pulls = Pulls(("",) * size, TRIED_PULL_N, np.full(size, math.nan), np.full(size, height), np.full(size, 0.2))
    divisor = DIVISOR_GROUND_LINE.value
    stem, root = stem_limits(inputs, pulls, divisor), root_limits(inputs, pulls, divisor)
    for found in (stem, root):
        if found.refused.any():
            return PullRow(height, None, f"{found.name}: {governing(found, pulls, {}).reason}")
    use = np.stack([stem.use.max(axis=1), root.use.max(axis=1)])
    name = ("stem", "root plate")[int(np.argmax(use[:, -1]))]
    greatest = use.max(axis=0)
    if greatest[0] > 1:
        return PullRow(height, 0.0, name)
    # use grows steadily with the pull, so the crossing is read off between the tried pulls
    return PullRow(height, float(np.interp(1.0, greatest, TRIED_PULL_N)), name)
