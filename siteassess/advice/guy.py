"""A guy to a second tree: what it must carry to take a share of the pull, and what the second tree then bears."""

from __future__ import annotations

import math

from siteassess.advice.hold import end_loads
from siteassess.advice.line_inputs import LineInputs
from siteassess.mechanics.anchor_vector import Guy, Pull, guy_for_share
from siteassess.reference.constants import constant
from siteassess.reference.findings import Said, said

STEEP_DEG = constant("steep guy")


def guy_of(line: LineInputs, end: str, bearing: float, share: float = 0.5, slope_deg: float = 0.0) -> Guy | None:
    """A guy straight behind the hardest pull, tied at its height; None where the pull is not known.

    Parameters
    ----------
    line : LineInputs
    end : str
        "A" or "B".
    bearing : float
        Of the pull [deg true]; a guy straight behind it is the same whatever the bearing.
    share : float
        Of the tipping moment that the guy is to take [-].
    slope_deg : float
        How steeply the guy runs down to the second tree [deg].
    """
    loads, _ = end_loads(line, end, bearing)
    tie = line.tie_a if end == "A" else line.tie_b
    if not loads or not tie:
        return None
    toward = bearing if math.isfinite(bearing) else 0.0
    hardest = max(loads, key=lambda load: load.horizontal_n)
    pull = Pull(toward, hardest.horizontal_n, hardest.vertical_n, tie)
    return guy_for_share(pull, share, (toward + 180) % 360, tie, slope_deg)


def guy_said(line: LineInputs, end: str, bearing: float, share: float = 0.5) -> Said:
    """The guy as advice: which way, how hard, and what it does to both trees."""
    level = guy_of(line, end, bearing, share)
    part = said("half") if share == 0.5 else said("a-share", share=share)
    if level is None:
        return said("guyed-unmeasured", part=part)
    steep = guy_of(line, end, bearing, share, STEEP_DEG)
    way = (said("toward-true", bearing=(bearing + 180) % 360),) if math.isfinite(bearing) else ()
    return said("guyed", way=way, part=part, level=level.tension, steep=steep.tension, slope=STEEP_DEG)
