"""The trial load: how to do it, what to watch, when to stop. Never a proof test of a public tree."""

from __future__ import annotations

import math

from siteassess.advice.judge import SUITS_UP_TO, HoldJudgement
from siteassess.advice.tree_inputs import TreeInputs
from siteassess.mechanics.tilt import TILT_START_DEG, TILT_START_SHARE
from siteassess.reference.findings import Said, said


def trial_load(tree: TreeInputs, judged: HoldJudgement, tie: float | None) -> tuple[Said, ...]:
    """Steps of the trial load where one is asked for; empty where the use is low, unknown or too high."""
    use = judged.hold_use
    if use is None or tie is None or not SUITS_UP_TO < use <= 1:
        return ()
    root = next((limit for limit in judged.limits if limit.name == "root plate"), None)
    peak = max(load.tension_n for load in judged.loads)
    share = root.demand / root.capacity_median if root is not None and root.capacity_median else math.nan
    begins = TILT_START_SHARE.value
    expected = () if math.isnan(share) else (
        said("trial-tilt-begins-over" if share > begins else "trial-tilt-begins-under", begins=begins, share=share),)
    return (said("trial-nobody-near"), said("trial-in-steps", peak=peak), said("trial-look-at-the-base"), *expected,
            said("trial-let-off", tilt=TILT_START_DEG.value), said("trial-write-it-down"),
            said("trial-look-again"))  # fmt: skip
