"""The trial load: how to do it, what to watch, when to stop. Never a proof test of a public tree."""

from __future__ import annotations

import math

from siteassess.advice.judge import SUITS_UP_TO, HoldJudgement
from siteassess.advice.tree_inputs import TreeInputs
from siteassess.mechanics.tilt import TILT_START_DEG, TILT_START_SHARE


def trial_load(tree: TreeInputs, judged: HoldJudgement, tie: float | None) -> tuple[str, ...]:
    """Steps of the trial load where one is asked for; empty where the use is low, unknown or too high."""
    use = judged.hold_use
    if use is None or tie is None or not SUITS_UP_TO < use <= 1:
        return ()
    root = next((limit for limit in judged.limits if limit.name == "root plate"), None)
    peak = max(load.tension_n for load in judged.loads)
    steps = [
        "Nobody stands within reach of the tree or in line with the webbing.",
        f"Tighten in steps, never past the rigging peak; the line's hardest case is {peak / 1e3:.1f} kN.",
        "After each step wait a minute and look at the base from both sides: soil lifting or cracking, roots moving, "
        "the trunk's foot tilting.",
        f"Hold a phone or plumb line against the foot of the trunk: at {TILT_START_DEG.value:g} degrees of tilt let "
        "off and leave the tree.",
        "Write pull, tie height, direction, tilt and wetness of the soil into the record under `trial`; assess again.",
        "Look again after hard bouncing, after rain, and before anybody else walks.",
    ]
    if root is not None and root.capacity_median:
        share = root.demand / root.capacity_median
        if math.isfinite(share):
            begins = TILT_START_SHARE.value
            reached = "passes" if share > begins else "stays under"
            says = (f"A tilt usually begins to show at about {begins:.0%} of the moment that turns a tree over; the "
                    f"hardest case asks {share:.0%} by our middle estimate and so {reached} it.")  # fmt: skip
            steps.insert(3, says)
    return tuple(steps)
