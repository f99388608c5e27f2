"""How thick a trunk is asked to be at the tie whatever the sums say, and how high a tie may sit."""

from __future__ import annotations

import numpy as np

from siteassess.advice.line_inputs import LineInputs
from siteassess.advice.next_steps import ASK_ARBORIST
from siteassess.advice.results import Finding
from siteassess.advice.tree_inputs import TreeInputs
from siteassess.mechanics.assumptions import Assumption

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
        return [Finding("size floor", "leave it", too_thin(diameter))]
    if line.use == "high line" and diameter < HIGH_LINE_TRUNK.value:
        return [Finding("size floor", "cannot say",
                        f"the trunk is {diameter * 100:.0f} cm at the tie, {slim_for_a_high_line()}",
                        do_next=f"{ASK_ARBORIST}, or take a thicker one")]  # fmt: skip
    if diameter < USUAL_LEAST_DIAMETER and line.use != "hammock":
        return [Finding("size floor", "suits if",
                        f"the trunk is {diameter * 100:.0f} cm at the tie; public rules ask for "
                        f"{USUAL_LEAST_TRUNK.low * 100:.0f} to {USUAL_LEAST_TRUNK.high * 100:.0f} cm",
                        "the land manager or an arborist agrees")]  # fmt: skip
    return []


def too_thin(diameter: float) -> str:
    """Words for a trunk under the size floor."""
    return f"the trunk is {diameter * 100:.0f} cm at the tie, under {LEAST_DIAMETER * 100:.0f} cm"


def slim_for_a_high_line() -> str:
    """Why no sum passes such a trunk for a high line, in words."""
    return (f"under {HIGH_LINE_TRUNK.value * 100:.0f} cm: sums alone do not pass it for a high line, which nobody "
            "steps off")  # fmt: skip


def tie_findings(tree: TreeInputs, tie: float) -> list[Finding]:
    """What stands against a tie at a height, whatever hangs from it."""
    diameter = tree.diameter_at(tie)
    thin = [Finding("size floor", "leave it", too_thin(diameter))] if diameter < LEAST_DIAMETER else []
    return [*thin, *high_tie(tree, tie)]


def crown_unread(tree: TreeInputs, tie: float | None) -> list[Finding]:
    """A lowest branch nobody read may be below the tie, where nothing was ever tested."""
    if tie is None or not np.isnan(tree.crown_base):
        return []
    return [Finding("tie height", "suits if", "the height of the lowest branch was not read",
                    "the lowest branch is above the tie", looked_at=False)]  # fmt: skip


def high_tie(tree: TreeInputs, tie: float | None) -> list[Finding]:
    """High in the tree neither the trunk nor the root plate was ever tested."""
    if tie is None:
        return []
    if tree.height_how != "filled" and tie >= tree.height:
        return [Finding("tie height", "leave it", f"the tie at {tie:.1f} m is not below the tree's own top at "
                        f"{tree.height:.1f} m: one of the two was misread, or nothing is there to tie to")]  # fmt: skip
    over = []
    if tie > tree.crown_base:
        over.append(f"above the crown's base at {tree.crown_base:.1f} m")
    if tie > HIGHEST_TIE.value * tree.height + 1e-9:
        over.append(f"above a third of the tree's height of {tree.height:.1f} m")
    says = f"the tie at {tie:.1f} m is {' and '.join(over)}, outside what was ever tested"
    return [Finding("tie height", "cannot say", says, do_next="tie lower")] if over else []
