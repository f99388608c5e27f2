"""What tapes, compasses and receivers are usually worth when nobody stated it.

Each row carries where its number comes from. They are starting values: a stated accuracy always goes before them.
"""

from __future__ import annotations

import math
from dataclasses import dataclass


@dataclass(frozen=True)
class UsualError:
    """A standard error with its plausible range, in the unit named."""

    value: float
    low: float
    high: float
    unit: str
    flag: str
    source: str


HAND_COMPASS = UsualError(2.0, 1.0, 3.0, "deg", "memory", "hand sighting compass in the field; no trial found")
PHONE_COMPASS = UsualError(
    6.0, 3.0, 12.0, "deg", "judgement",
    "mean deviations of 1.9, 5.5 and 6.9 deg with outliers of 13 to 25 deg in a trial of 11 phones (abstract read)",
)
PHONE_OPEN_SKY = UsualError(
    2.5, 1.2, 3.2, "m", "derived",
    "RMSE 1.72 to 4.51 m in the open, Tomastik et al. (abstracts read), divided by sqrt 2",
)
PHONE_UNDER_TREES = UsualError(
    6.0, 2.9, 8.9, "m", "derived",
    "RMSE 4.10 to 12.55 m under trees, Tomastik et al. (abstracts read), divided by sqrt 2",
)
TREE_INVENTORY = UsualError(3.0, 0.5, 5.0, "m", "judgement", "accuracy of city tree inventories is seldom declared")
MAP_COPY = UsualError(3.0, 1.0, 10.0, "m", "judgement", "a tree picked off an aerial picture or an online map")
UNKNOWN_WAY = UsualError(
    8.9, 2.9, 15.0, "m", "judgement",
    "a position nobody said how it was got is taken as a phone's under trees at its worst",
)
LASER_RANGEFINDER = UsualError(0.5, 0.2, 1.0, "m", "memory", "consumer laser rangefinders on good targets")
TAPE_FLOOR = UsualError(0.05, 0.02, 0.1, "m", "memory", "50 m fibreglass tape, ends held by hand")
TAPE_SHARE = UsualError(0.001, 0.0005, 0.003, "of the length", "memory", "stretch and sag of a fibreglass tape")
PACED_SHARE = UsualError(0.05, 0.02, 0.1, "of the length", "memory", "a person who knows the length of their own pace")
ESTIMATED_SHARE = UsualError(0.2, 0.1, 0.4, "of the length", "judgement", "a length estimated by eye")
CLINOMETER = UsualError(1.0, 0.5, 2.0, "deg", "judgement", "phone tilt or hand clinometer along a slope")


def tape_sigma(length_m: float) -> float:
    """Usual standard error of a taped length [m]."""
    return math.hypot(TAPE_FLOOR.value, TAPE_SHARE.value * length_m)


def length_sigma(length_m: float, how: str) -> float:
    """Usual standard error of a length by how a record says it was measured [m]."""
    if how == "laser":
        return LASER_RANGEFINDER.value
    share = {"paced": PACED_SHARE, "estimated": ESTIMATED_SHARE}.get(how)
    return tape_sigma(length_m) if share is None else share.value * length_m


def compass_sigma(device: str) -> float:
    """Usual standard error of a bearing by what it was read with; an unnamed compass may be a phone's [deg]."""
    return HAND_COMPASS.value if device in ("sighting compass", "map") else PHONE_COMPASS.value


# anchors are mostly trees, so a receiver or a phone is taken to have stood under one
USUAL_BY_RECORDED_WAY = {
    "phone": PHONE_UNDER_TREES,
    "receiver": PHONE_UNDER_TREES,
    "inventory": TREE_INVENTORY,
    "survey": TREE_INVENTORY,
    "map": MAP_COPY,
    "unknown": UNKNOWN_WAY,
}
USUAL_BY_WAY = {
    "phone, open sky": PHONE_OPEN_SKY,
    "phone, under trees": PHONE_UNDER_TREES,
    "tree inventory": TREE_INVENTORY,
}
