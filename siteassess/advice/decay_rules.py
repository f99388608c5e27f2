"""What published rules say of a recorded hollow, beside the section modulus that the limit uses."""

from __future__ import annotations

import math

from siteassess.advice.finding import Finding, found
from siteassess.advice.tree_inputs import TreeInputs
from siteassess.mechanics.decay import compare_decay_rules
from siteassess.reference.findings import said


def decay_findings(tree: TreeInputs) -> list[Finding]:
    """The rules by author and year, their disagreement, and what it means; empty where no sound wall was measured."""
    if not math.isfinite(tree.wall) or math.isnan(tree.diameter):
        return []
    thin = 0.0 if math.isnan(tree.bark_thin) else tree.bark_thin  # the more wood, the less of it is sound
    wood = tree.diameter_at(tree.hollow_height) - 2 * thin
    if not wood > 0:
        return []
    return [_finding(wood, tree.wall, tree.opening_deg)]


def losses_told(wood: float, wall: float, opening_deg: float) -> str:
    """The strength lost to a hollow by each rule, and which would not pass it.

    Parameters
    ----------
    wood, wall : float
        Diameter under the bark and thinnest sound wall [m].
    opening_deg : float
        Missing part of the round [deg].
    """
    return _finding(wood, wall, opening_deg).says


def _finding(wood: float, wall: float, opening_deg: float) -> Finding:
    rules = compare_decay_rules(wood, wall, 0.0, opening_deg)
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
