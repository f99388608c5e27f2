"""The advice for what a line crosses or comes near: one table.

Every distance and advice here is a judgement, but for the rule never to rig across a path or a worn track: land
managers' rules say so (read), and the one bystander's death on record came from a line met off the path (read).
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from siteassess.reference.constants import constants


@dataclass(frozen=True)
class Advice:
    """What to do where a thing is crossed, lies in the fall strip, or is near the strip."""

    crosses: str
    in_strip: str
    near: str


ADVICE = {
    "path": Advice("do not rig", "shift", "watcher"),
    "worn track": Advice("do not rig", "shift", "watcher"),
    "road": Advice("do not rig", "do not rig", "shift"),
    "railway": Advice("do not rig", "do not rig", "shift"),
    "power line": Advice("do not rig", "do not rig", "shift"),
    "play area": Advice("do not rig", "do not rig", "watcher"),
    "building": Advice("do not rig", "shift", "note"),
    "water": Advice("shift", "shift", "note"),
    "gate": Advice("do not rig", "shift", "watcher"),
    "emergency point": Advice("do not rig", "shift", "note"),
    "closed area": Advice("do not rig", "do not rig", "note"),
    "protected area": Advice("shift", "shift", "note"),
    "hazard": Advice("do not rig", "shift", "note"),
    "wall": Advice("shift", "shift", "note"),
    "root zone": Advice("note", "note", "note"),
    "other line": Advice("do not rig", "shift", "note"),
}
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
    row = ADVICE[kind]
    if relation == "crosses":
        return row.crosses
    if relation == "in the fall strip":
        return row.in_strip
    if relation == "may reach the fall strip":
        return "note" if row.in_strip == "note" else "shift"
    if relation == "heads downhill at the line":
        return "shift"
    if relation == "uphill of the line":
        return "flag" if kind == "gate" else "watcher"
    return "note" if relation == "shares an anchor" else row.near
