"""How thick a trunk is asked to be at the tie whatever the sums say, and how high a tie may sit."""

from __future__ import annotations

import numpy as np

from siteassess.advice.finding import Finding, found
from siteassess.advice.line_inputs import LineInputs
from siteassess.advice.tree_inputs import TreeInputs
from siteassess.reference.constants import constant
from siteassess.reference.findings import said

LEAST_TRUNK = constant("least trunk")
USUAL_LEAST_TRUNK = constant("usual least trunk")
HIGH_LINE_TRUNK = constant("high line trunk")
HIGHEST_TIE = constant("highest tie")
LEAST_TRUNK_ASSUMPTIONS = (LEAST_TRUNK, USUAL_LEAST_TRUNK, HIGH_LINE_TRUNK, HIGHEST_TIE)


def size_findings(line: LineInputs, tree: TreeInputs, tie: float | None) -> list[Finding]:
    """What stands against the size of a trunk at its tie, whatever it is worked out to carry."""
    diameter = tree.diameter_at(tie) if tie is not None else tree.diameter
    if np.isnan(diameter):
        return []
    if diameter < LEAST_TRUNK:
        return [found("trunk-under-least", "leave it", diameter=diameter, least=LEAST_TRUNK)]
    if line.use == "high line" and diameter < HIGH_LINE_TRUNK.value:
        return [found("trunk-slim-for-a-high-line", "cannot say", diameter=diameter,
                      slim=said("slim-for-a-high-line", least=HIGH_LINE_TRUNK.value))]  # fmt: skip
    if diameter < USUAL_LEAST_TRUNK and not line.hung:
        return [found("trunk-under-public-rules", "suits if", diameter=diameter, low=USUAL_LEAST_TRUNK.low,
                      high=USUAL_LEAST_TRUNK.high)]  # fmt: skip
    return []


def tie_findings(tree: TreeInputs, tie: float) -> list[Finding]:
    """What stands against a tie at a height, whatever hangs from it."""
    diameter = tree.diameter_at(tie)
    thin = [found("trunk-under-least", "leave it", diameter=diameter, least=LEAST_TRUNK)]
    return [*thin * (diameter < LEAST_TRUNK), *high_tie(tree, tie)]


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
