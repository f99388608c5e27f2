"""What tapes, compasses and receivers are usually worth when nobody stated it.

Each row carries where its number comes from. They are starting values: a stated accuracy always goes before them.
"""

from __future__ import annotations

import math

from siteassess.reference.constants import constant

HAND_COMPASS = constant("hand compass")
PHONE_COMPASS = constant("phone compass")
PHONE_OPEN_SKY = constant("phone open sky")
PHONE_UNDER_TREES = constant("phone under trees")
TREE_INVENTORY = constant("tree inventory")
MAP_COPY = constant("map copy")
UNKNOWN_WAY = constant("unknown way")
LASER_RANGEFINDER = constant("laser rangefinder")
TAPE_FLOOR = constant("tape floor")
TAPE_SHARE = constant("tape share")
PACED_SHARE = constant("paced share")
ESTIMATED_SHARE = constant("estimated share")
CLINOMETER = constant("clinometer")


def tape_sigma(length_m: float) -> float:
    """Usual standard error of a taped length [m].

    Parameters
    ----------
    length_m : as taped [m]
    """
    return math.hypot(TAPE_FLOOR.value, TAPE_SHARE.value * length_m)


def length_sigma(length_m: float, how: str) -> float:
    """Usual standard error of a length by how a record says it was measured [m].

    Parameters
    ----------
    length_m : as measured [m]
    how : "laser", "paced", "estimated"; any other word is a tape
    """
    if how == "laser":
        return LASER_RANGEFINDER.value
    share = {"paced": PACED_SHARE, "estimated": ESTIMATED_SHARE}.get(how)
    return tape_sigma(length_m) if share is None else share.value * length_m


def compass_sigma(device: str) -> float:
    """Usual standard error of a bearing by what it was read with; an unnamed compass may be a phone's [deg].

    Parameters
    ----------
    device : "sighting compass", "map" or any other word
    """
    return HAND_COMPASS.value if device in ("sighting compass", "map") else PHONE_COMPASS.value


# anchors are mostly trees, so a receiver or a phone is taken to have stood under one
USUAL_BY_RECORDED_WAY = {
    "phone": PHONE_UNDER_TREES, "receiver": PHONE_UNDER_TREES, "inventory": TREE_INVENTORY, "survey": TREE_INVENTORY,
    "map": MAP_COPY, "unknown": UNKNOWN_WAY,
}
USUAL_BY_WAY = {
    "phone, open sky": PHONE_OPEN_SKY,
    "phone, under trees": PHONE_UNDER_TREES,
    "tree inventory": TREE_INVENTORY,
}
