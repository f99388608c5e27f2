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
LASER_RANGEFINDER = UsualError(0.5, 0.2, 1.0, "m", "memory", "consumer laser rangefinders on good targets")
TAPE_FLOOR = UsualError(0.05, 0.02, 0.1, "m", "memory", "50 m fibreglass tape, ends held by hand")
TAPE_SHARE = UsualError(0.001, 0.0005, 0.003, "of the length", "memory", "stretch and sag of a fibreglass tape")
CLINOMETER = UsualError(1.0, 0.5, 2.0, "deg", "judgement", "phone tilt or hand clinometer along a slope")


def tape_sigma(length_m: float) -> float:
    """Usual standard error of a taped length [m]."""
    return math.hypot(TAPE_FLOOR.value, TAPE_SHARE.value * length_m)


USUAL_BY_WAY = {
    "phone, open sky": PHONE_OPEN_SKY,
    "phone, under trees": PHONE_UNDER_TREES,
    "tree inventory": TREE_INVENTORY,
}
