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
    why: str


ADVICE = {
    "path": Advice("do not rig", "shift", "watcher", "people, dogs and riders on it do not see a line"),
    "worn track": Advice("do not rig", "shift", "watcher", "a worn track is used as a path, by riders too"),
    "road": Advice("do not rig", "do not rig", "shift", "vehicles"),
    "railway": Advice("do not rig", "do not rig", "shift", "trains and live wires"),
    "power line": Advice("do not rig", "do not rig", "shift", "a slack or broken line can swing or fly into it"),
    "play area": Advice("do not rig", "do not rig", "watcher", "children run without looking up"),
    "building": Advice("do not rig", "shift", "note", "a faller or a parted line can strike it"),
    "water": Advice("shift", "shift", "note", "depth, bottom, cold and rescue were not looked at"),
    "gate": Advice("do not rig", "shift", "watcher", "the way in and out, for an ambulance too, has to stay free"),
    "emergency point": Advice("do not rig", "shift", "note", "rescuers have to reach it"),
    "closed area": Advice("do not rig", "do not rig", "note", "it is closed"),
    "protected area": Advice("shift", "shift", "note", "ask the land manager what is protected and when"),
    "hazard": Advice("do not rig", "shift", "note", "it was marked as a hazard"),
    "wall": Advice("shift", "shift", "note", "a faller can strike it"),
    "root zone": Advice("note", "note", "note", "people waiting there tread on the roots of a tree not used"),
    "other line": Advice("do not rig", "shift", "note", "one faller or parted line would strike the other line"),
}
RUN_INTO = ("path", "worn track", "road", "play area", "gate")

NEAR_M = constants("told past the strip")

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
