"""The advice for what a line crosses or comes near: one table.

Every distance and advice here is a judgement, but for the rule never to rig across a path or a worn track: land
managers' rules say so (read), and the one bystander's death on record came from a line met off the path (read).
"""

from __future__ import annotations

import math
from dataclasses import dataclass


@dataclass(frozen=True)
class Advice:
    """What to do where a thing is crossed, lies in the fall strip, or is nearer than `near_m` to the strip [m]."""

    crosses: str
    in_strip: str
    near: str
    near_m: float
    why: str


ADVICE = {
    "path": Advice("do not rig", "shift", "watcher", 10.0, "people, dogs and riders on it do not see a line"),
    "worn track": Advice("do not rig", "shift", "watcher", 10.0, "a worn track is used as a path, by riders too"),
    "road": Advice("do not rig", "do not rig", "shift", 10.0, "vehicles"),
    "railway": Advice("do not rig", "do not rig", "shift", 30.0, "trains and live wires"),
    "power line": Advice("do not rig", "do not rig", "shift", 30.0, "a slack or broken line can swing or fly into it"),
    "play area": Advice("do not rig", "do not rig", "watcher", 15.0, "children run without looking up"),
    "building": Advice("do not rig", "shift", "note", 3.0, "a faller or a parted line can strike it"),
    "water": Advice("shift", "shift", "note", 5.0, "depth, bottom, cold and rescue were not looked at"),
    "gate": Advice("do not rig", "shift", "watcher", 5.0, "the way in and out, for an ambulance too, has to stay free"),
    "emergency point": Advice("do not rig", "shift", "note", 5.0, "rescuers have to reach it"),
    "closed area": Advice("do not rig", "do not rig", "note", 3.0, "it is closed"),
    "protected area": Advice("shift", "shift", "note", 5.0, "ask the land manager what is protected and when"),
    "hazard": Advice("do not rig", "shift", "note", 5.0, "it was marked as a hazard"),
    "wall": Advice("shift", "shift", "note", 3.0, "a faller can strike it"),
    "root zone": Advice("note", "note", "note", 0.0, "people waiting there tread on the roots of a tree not used"),
    "other line": Advice("do not rig", "shift", "note", 0.0, "one faller or parted line would strike the other line"),
}
RUN_INTO = ("path", "worn track", "road", "play area", "gate")

# How far a rider or child runs on downhill, by the slope [deg, m]; judgement.
RUN_OUT = ((2.0, 0.0), (5.0, 20.0), (10.0, 40.0), (math.inf, 60.0))


def run_out_m(slope_deg: float) -> float:
    """How far uphill to look for what runs into a line; an unknown slope is taken as steep [m]."""
    if math.isnan(slope_deg):
        return RUN_OUT[-1][1]
    return next(reach for below, reach in RUN_OUT if slope_deg < below)


def advice_for(kind: str, relation: str) -> str:
    """The advice word: "do not rig", "shift", "watcher", "flag" or "note"."""
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
