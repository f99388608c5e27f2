"""The advice for what a line crosses or comes near: one table.

Every distance and advice here is a judgement, but for the rule never to rig across a path or a worn track: land
managers' rules say so (read), and the one bystander's death on record came from a line met off the path (read).
"""

from __future__ import annotations

import math

from siteassess.reference.constants import constants
from siteassess.reference.tables import rows

# what to do where a thing is crossed, lies in the fall strip, or is near the strip, by its kind
ADVICE = {row.kind: row for row in rows("crossing_advice")}
RUN_INTO = ("path", "worn track", "road", "play area", "gate")

PAST_STRIP_M = constants("told past the strip")

# How far a rider or child runs on downhill, by the slope [deg, m].
RUN_OUT = tuple((float(below), reach) for below, reach in constants("run out below").items())


def run_out_m(slope_deg: float) -> float:
    """How far uphill to look for what runs into a line [m].

    Parameters
    ----------
    slope_deg : of the ground; NaN is unknown and taken as steep [deg]
    """
    if math.isnan(slope_deg):
        return RUN_OUT[-1][1]
    return next(reach for below, reach in RUN_OUT if slope_deg < below)


def advice_for(kind: str, relation: str) -> str:
    """The advice word: "do not rig", "shift", "watcher", "flag" or "note".

    Parameters
    ----------
    kind : a key of `ADVICE`
    relation : as in `crossings.Crossing`
    """
    _, crosses, in_strip, near, *_ = map(str, ADVICE[kind])
    if relation == "crosses":
        return crosses
    if relation == "in the fall strip":
        return in_strip
    if relation == "may reach the fall strip":
        return "note" if in_strip == "note" else "shift"
    if relation == "heads downhill at the line":
        return "shift"
    if relation == "uphill of the line":
        return "flag" if kind == "gate" else "watcher"
    return "note" if relation == "shares an anchor" else near
