"""What published rules say of a recorded hollow, beside the section modulus that the limit uses."""

from __future__ import annotations

import math

from siteassess.advice.results import Finding, as_told
from siteassess.advice.tree_inputs import TreeInputs
from siteassess.mechanics.decay import DecayRules, compare_decay_rules

LOOKED_INTO = "a qualified arborist has looked into the hollow"


def decay_findings(tree: TreeInputs) -> list[Finding]:
    """The rules by author and year, their disagreement, and what it means; empty where no sound wall was measured."""
    if not math.isfinite(tree.wall) or math.isnan(tree.diameter):
        return []
    thin = 0.0 if math.isnan(tree.bark_thin) else tree.bark_thin  # the more wood, the less of it is sound
    wood = tree.diameter_at(tree.hollow_height) - 2 * thin
    if not wood > 0:
        return []
    rules = compare_decay_rules(wood, tree.wall, 0.0, tree.opening_deg)
    if all(rules.passes.values()):
        return [as_told("hollow", "suits", _told(rules))]
    return [as_told("hollow", "suits if", _told(rules), LOOKED_INTO)]


def losses_told(wood: float, wall: float, opening_deg: float) -> str:
    """The strength lost to a hollow by each rule, and which would not pass it.

    Parameters
    ----------
    wood, wall : float
        Diameter under the bark and thinnest sound wall [m].
    opening_deg : float
        Missing part of the round [deg].
    """
    return _told(compare_decay_rules(wood, wall, 0.0, opening_deg))


def _told(rules: DecayRules) -> str:
    told = (f"strength lost to the hollow: {float(rules.wagener_1963_loss):.0%} by Wagener 1963, "
            f"{float(rules.coder_1989_loss):.0%} by Coder 1989, "
            f"{float(rules.smiley_fraedrich_1992_loss):.0%} by Smiley and Fraedrich 1992, "
            f"{float(rules.section_modulus_loss):.0%} by the section modulus, which counts here; "
            f"the sound wall is {float(rules.sound_wall_ratio):.2f} of the radius")  # fmt: skip
    against = [name for name, passes in rules.passes.items() if not passes]
    if not against:
        return f"{told}; all four rules pass it"
    others = ", the others would: the rules disagree" if bool(rules.disagree) else ""
    return f"{told}; {', '.join(against)} would not pass it{others}"
