"""What somebody can do about a "cannot say": each such finding carries one of these, or words of its own."""

from __future__ import annotations

from siteassess.mechanics.limit import Outside

ASK_ARBORIST = "have a qualified arborist look at it"
ANOTHER_TREE = "take another tree"
ANOTHER_ANCHOR = "take another anchor"
MEASURE_WALL = "have the sound wall measured"
MEASURE_LINE = "measure the line, or plan one that the model covers"
LOOK_AT_THESE = "look at what was not looked at"
SAG_AGAIN = "measure the sag again"

BY_REASON: dict[Outside, str] = {
    Outside.MISSING: "look at what is missing",
    Outside.IMPOSSIBLE: "measure again",
    Outside.THIN_WALL: ASK_ARBORIST,
    Outside.WIDE_OPENING: ASK_ARBORIST,
    Outside.SLENDER: ASK_ARBORIST,
    Outside.ROOTS_LOST_OVER_LIMIT: ASK_ARBORIST,
    Outside.ROOTS_LOST_OVER_HALF: ANOTHER_TREE,
    Outside.DIGGING_BEHIND: "look behind the pull; where something is dug or built there, take another tree",
    Outside.STEEP: ASK_ARBORIST,
    Outside.EDGE_NEAR: ANOTHER_ANCHOR,
    Outside.FOOTING_DOUBTFUL: ANOTHER_ANCHOR,
}
"""By why a limit cannot be judged; all refusals of `Outside` are here."""


def what_next(outside: int) -> str:
    """What to do about a limit that cannot be judged.

    Parameters
    ----------
    outside : int
        The limit's `outside`, flags of `Outside`.

    Returns
    -------
    str
        Each step once, in the order of the flags; to look at what is missing where no flag says more.
    """
    flags = Outside(outside)
    steps = dict.fromkeys(step for reason, step in BY_REASON.items() if reason in flags)
    return "; ".join(steps) or BY_REASON[Outside.MISSING]
