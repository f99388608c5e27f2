"""Rated strengths of webbing, slings, links, rope and tensioning gear, each against the load of its own place.

Without rated strengths nothing is said but "gear: not checked".
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from siteassess.reference.constants import constant

BREAKING_FACTOR = constant("breaking factor")
NOT_CHECKED = "not checked"
TAILS = constant("webbing tails")


@dataclass(frozen=True)
class GearPart:
    """One piece of gear and the greatest load that its own place puts on it."""

    name: str
    rated: float | None
    """Breaking strength, or working load limit where `working_load` is set [N]; None or NaN where unknown."""
    load: float = np.nan  # greatest load of its place [N]; NaN where it is not known
    place: str = ""  # the place in words
    place_said: bool = True  # false where the place was taken for it
    working_load: bool = False  # true where the maker's figure already holds a factor (lifting slings, shackles)
    maker_factor: float = np.inf  # how large that factor is, where it is known to be a small one [-]
    left: float = 1.0  # share of the strength that knot, lock or bend leave [-]; NaN where no table knows them
    slips_from: float = np.inf  # load from which it begins to slip, however strong it is [N]
    told: Any = None  # what else the check hands on as it is: name and place for readers of other languages
    unsaid: tuple[tuple[str, float], ...] = ()
    """By a code of its own what nobody said, and how many times nearer to its limit the part may be by that [-]."""


@dataclass(frozen=True)
class PartCheck:
    """One part against the load of its place."""

    name: str
    place: str
    load: float  # [N]
    strength: float  # after knot and lock [N]; NaN where unknown
    factor: float  # strength over load [-]
    wanted: float  # [-]
    answer: str  # "enough", "not enough" or "not checked"
    slips_from: float = np.inf  # [N]
    place_said: bool = True
    told: Any = None
    hangs_on: tuple[str, ...] = ()
    """Codes of what nobody said, where at the worst of all of it the part would not be enough, or past its break.

    Whatever it is as taken, a part hangs on what may let it fail however strong it is."""

    @property
    def slips(self) -> bool:
        """Whether its load passes the one it begins to slip at."""
        return bool(self.load > self.slips_from)


def check_part(part: GearPart, factor: float = BREAKING_FACTOR) -> PartCheck:
    """One part against the load of its place.

    Parameters
    ----------
    part : with its rated strength and the load of its place [N]
    factor : asked of breaking strengths; a working load limit is asked for 1, since its maker's factor is in it, and
        for more where that factor is known to be smaller than ours [-]

    Examples
    --------
    20 kN against 5, asked for 5 times the load, by hand:

    >>> check = check_part(GearPart("sling", 20e3, 5e3), factor=5.0)
    >>> check.factor, check.answer
    (4.0, 'not enough')
    """
    wanted = max(1.0, factor / part.maker_factor) if part.working_load else factor
    rated = np.nan if part.rated is None else float(part.rated)
    strength = rated * part.left
    reached = strength / part.load if part.load > 0 else np.nan
    if not np.isfinite(reached):
        answer = "not checked"
    else:
        answer = "enough" if reached >= wanted else "not enough"
    worst = reached / math.prod(times for _, times in part.unsaid if times > 1)
    least = 1.0 if any(worst < limit <= reached for limit in (wanted, wanted / BREAKING_FACTOR)) else math.inf
    hangs_on = tuple(code for code, times in part.unsaid if times > 1 and times >= least)
    return PartCheck(part.name, part.place, part.load, strength, reached, wanted, answer, part.slips_from,
                     part.place_said, part.told, hangs_on)


def check_gear(parts: Sequence[GearPart], factor: float = BREAKING_FACTOR) -> tuple[PartCheck, ...]:
    """Every part against the load of its place, the weakest first and the unchecked last.

    Parameters
    ----------
    parts : each with its own place
    factor : as in `check_part` [-]
    """
    checks = [check_part(part, factor) for part in parts]
    return tuple(sorted(checks, key=lambda c: np.inf if np.isnan(c.factor) else c.factor / c.wanted))


def webbing_warning(tension: float, strength: float | None) -> str:
    """Code of the table `findings` where a tension passes the webbing's strength or its wanted share, else empty.

    Parameters
    ----------
    tension : greatest in the line [N]
    strength : breaking strength; None or NaN unknown [N]
    """
    if strength is None or not np.isfinite(strength) or tension * BREAKING_FACTOR <= strength:
        return ""
    return "tension-over-strength" if tension > strength else "tension-over-its-share"
