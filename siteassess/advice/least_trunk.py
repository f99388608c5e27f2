"""How thick a trunk is asked to be at the tie whatever the sums say, and how high a tie may sit."""

from __future__ import annotations

import numpy as np

from siteassess.advice.finding import Finding, found
from siteassess.advice.line_inputs import LineInputs
from siteassess.advice.tree_inputs import TreeInputs
from siteassess.mechanics.assumptions import Assumption
from siteassess.reference.findings import said

LEAST_TRUNK = Assumption(
    "trunk at the tie below which we say leave it", 0.20, 0.15, 0.30, "m", "judgement",
    "public rules start at 0.30 m; light pulls would otherwise pass thin trees",
)  # fmt: skip
USUAL_LEAST_TRUNK = Assumption(
    "trunk at the tie below which the manager or an arborist must agree", 0.30, 0.30, 0.46, "m", "read",
    "public rules of 0.30 to 0.46 m (rule sets shipped with this program)",
)  # fmt: skip
HIGH_LINE_TRUNK = Assumption(
    "trunk at the tie below which we cannot say for a high line", 0.40, 0.30, 0.46, "m", "judgement",
    "nobody steps off a high line, so a change found by sums alone does not do; no public rule read covers high lines",
)  # fmt: skip
HIGHEST_TIE = Assumption(
    "tie height over tree height above which we cannot say", 1 / 3, 0.2, 0.5, "", "judgement",
    "winched trees were pulled low; no source found",
)  # fmt: skip
LEAST_TRUNK_ASSUMPTIONS = (LEAST_TRUNK, USUAL_LEAST_TRUNK, HIGH_LINE_TRUNK, HIGHEST_TIE)
LEAST_DIAMETER, USUAL_LEAST_DIAMETER = LEAST_TRUNK.value, USUAL_LEAST_TRUNK.value


def size_findings(line: LineInputs, tree: TreeInputs, tie: float | None) -> list[Finding]:
    """What stands against the size of a trunk at its tie, whatever it is worked out to carry."""
    diameter = tree.diameter_at(tie) if tie is not None else tree.diameter
    if np.isnan(diameter):
        return []
    if diameter < LEAST_DIAMETER:
        return [found("trunk-under-least", "leave it", diameter=diameter, least=LEAST_DIAMETER)]
    if line.use == "high line" and diameter < HIGH_LINE_TRUNK.value:
        return [found("trunk-slim-for-a-high-line", "cannot say", diameter=diameter,
                      slim=said("slim-for-a-high-line", least=HIGH_LINE_TRUNK.value))]  # fmt: skip
    if diameter < USUAL_LEAST_DIAMETER and line.use != "hammock":
        return [found("trunk-under-public-rules", "suits if", diameter=diameter, low=USUAL_LEAST_TRUNK.low,
                      high=USUAL_LEAST_TRUNK.high)]  # fmt: skip
    return []


def tie_findings(tree: TreeInputs, tie: float) -> list[Finding]:
    """What stands against a tie at a height, whatever hangs from it."""
    diameter = tree.diameter_at(tie)
    thin = [found("trunk-under-least", "leave it", diameter=diameter, least=LEAST_DIAMETER)]
    return [*thin * (diameter < LEAST_DIAMETER), *high_tie(tree, tie)]


def crown_unread(tree: TreeInputs, tie: float | None) -> list[Finding]:
    """A lowest branch nobody read may be below the tie, where nothing was ever tested."""
    if tie is None or not np.isnan(tree.crown_base):
        return []
    return [found("lowest-branch-unread", "suits if", looked_at=False)]


def high_tie(tree: TreeInputs, tie: float | None) -> list[Finding]:
    """High in the tree neither the trunk nor the root plate was ever tested."""
    if tie is None:
        return []
    if tree.height_how != "filled" and tie >= tree.height:
        return [found("tie-over-the-top", "leave it", tie=tie, height=tree.height)]
    in_crown, over_third = tie > tree.crown_base, tie > HIGHEST_TIE.value * tree.height + 1e-9
    if in_crown and over_third:
        return [found("tie-in-the-crown-and-high", "cannot say", tie=tie, base=tree.crown_base, height=tree.height)]
    if in_crown:
        return [found("tie-in-the-crown", "cannot say", tie=tie, base=tree.crown_base)]
    return [found("tie-over-a-third", "cannot say", tie=tie, height=tree.height)] if over_third else []
