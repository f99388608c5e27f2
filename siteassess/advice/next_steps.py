"""Why a limit cannot be judged, and what somebody can do about a "cannot say", as codes."""

from __future__ import annotations

from siteassess.mechanics.limit import Outside
from siteassess.reference.findings import Said, said

BY_REASON: dict[Outside, str] = {
    Outside.MISSING: "look-at-what-is-missing",
    Outside.IMPOSSIBLE: "measure-again",
    Outside.THIN_WALL: "ask-an-arborist",
    Outside.WIDE_OPENING: "ask-an-arborist",
    Outside.SLENDER: "ask-an-arborist",
    Outside.ROOTS_LOST_OVER_LIMIT: "ask-an-arborist",
    Outside.ROOTS_LOST_OVER_HALF: "take-another-tree",
    Outside.DIGGING_BEHIND: "look-behind-the-pull",
    Outside.STEEP: "ask-an-arborist",
    Outside.EDGE_NEAR: "take-another-anchor",
    Outside.FOOTING_DOUBTFUL: "take-another-anchor",
}
"""By why a limit cannot be judged; all refusals of `Outside` are here."""


def steps_for(outside: int) -> tuple[Said, ...]:
    """What to do about a limit that cannot be judged: each step once, in the order of the flags.

    Parameters
    ----------
    outside : int
        The limit's `outside`, flags of `Outside`; to look at what is missing where no flag says more.
    """
    flags = Outside(outside)
    steps = dict.fromkeys(step for reason, step in BY_REASON.items() if reason in flags)
    return tuple(said(step) for step in steps or (BY_REASON[Outside.MISSING],))


def why_outside(outside: int) -> tuple[Said, ...]:
    """Why a limit cannot be judged, and what a reader of its number must know: each flag of `Outside` as a code."""
    flags = Outside(int(outside))
    return tuple(said(f"outside-{str(flag.name).lower().replace('_', '-')}") for flag in Outside if flag in flags)
