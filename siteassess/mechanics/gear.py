"""Rated strengths of webbing, slings, links, rope and knots against the load case that governs.

Without rated strengths nothing is said but "gear: not checked".
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

BREAKING_FACTOR = 3.0  # read: one group's practice, every part at least 3 times the governing load
NOT_CHECKED = "gear: not checked"

# Share of the rated strength left (low, high) [-]; the low one is used.
LEFT_BY = {
    "none": (1.0, 1.0),
    "figure eight": (0.75, 0.80),  # read: outdoor article 2015
    "bowline": (0.70, 0.90),  # read: same 0.70 to 0.75; another source 0.80 to 0.90
    "double fisherman": (0.65, 0.70),  # read: same
    "clove hitch": (0.60, 0.65),  # read: same
    "most knots": (0.60, 0.80),  # read: most knots 60 to 80 %
    "knot in high-modulus polyethylene": (0.30, 0.50),  # memory
    "friction grip": (0.30, 0.50),  # memory: usable to 3 to 5 kN
    "webbing lock, single wrap": (0.70, 0.70),  # read: break tests 18.9 and 20.0 kN of about 27.9 kN
    "webbing lock, double wrap": (0.80, 0.80),  # read: break tests 22.2 and 22.4 kN
    "sewn eye": (1.0, 1.0),  # the maker's rating includes it
}
TAILS = 4.0  # [m] judgement: wraps in the lock and tails at both ends of a webbing
WET_NYLON_LOSS = (0.05, 0.25)  # read: three sources between 5 and 25 %


@dataclass(frozen=True)
class Part:
    """One piece of gear in the line of force."""

    name: str
    rated: float | None
    """Breaking strength, or working load limit where `working_load` is set [N]; None or NaN where unknown."""
    working_load: bool = False
    """True where the maker's figure already holds the factor (lifting slings, shackles)."""
    end: str | float = "none"
    """Knot or lock that holds it, a key of `LEFT_BY`, or the share of the strength it leaves [-]; a knot that is in
    no table leaves the part unchecked."""
    share: float = 1.0
    """Part of the line's tension that comes on it, such as 0.53 for one leg of a basket [-]."""
    wet_nylon: bool = False


@dataclass(frozen=True)
class PartCheck:
    """One part against the governing load."""

    name: str
    load: float
    """[N]"""
    strength: float
    """After knot, lock and wet [N]; NaN where unknown."""
    factor: float
    """Strength over load [-]."""
    wanted: float
    """[-]"""
    answer: str
    """"enough", "not enough" or "not checked"."""


def left_by(end: str | float) -> float:
    """Share of the strength a knot or lock leaves, at the low end [-]; NaN where it is in no table."""
    if isinstance(end, (int, float)):
        return float(end)
    known = {_plain(name): low for name, (low, _) in LEFT_BY.items()}
    return known.get(_plain(end), np.nan)


def _plain(name: str) -> str:
    return "".join(letter for letter in name.casefold() if letter.isalnum())


def check_part(part: Part, governing: float, factor: float = BREAKING_FACTOR) -> PartCheck:
    """One part against the governing tension [N].

    `factor` is asked of breaking strengths; a working load limit is asked for 1, since its factor is in it.
    """
    load = part.share * governing
    wanted = 1.0 if part.working_load else factor
    rated = np.nan if part.rated is None else float(part.rated)
    wet = 1 - WET_NYLON_LOSS[1] if part.wet_nylon else 1.0
    strength = rated * left_by(part.end) * wet
    reached = strength / load if load > 0 else np.nan
    if not np.isfinite(reached):
        answer = "not checked"
    else:
        answer = "enough" if reached >= wanted else "not enough"
    return PartCheck(part.name, load, strength, reached, wanted, answer)


def check_gear(parts: Sequence[Part], governing: float, factor: float = BREAKING_FACTOR) -> tuple[PartCheck, ...]:
    """Every part against the governing tension [N], the weakest first and the unchecked last."""
    checks = [check_part(part, governing, factor) for part in parts]
    return tuple(sorted(checks, key=lambda c: np.inf if np.isnan(c.factor) else c.factor / c.wanted))


def gear_line(checks: Sequence[PartCheck]) -> str:
    """The one line every result carries about gear."""
    known = [check for check in checks if check.answer != "not checked"]
    unknown = [check.name for check in checks if check.answer == "not checked"]
    if not known:
        return NOT_CHECKED
    weakest = known[0]
    text = (
        f"gear: {weakest.name} has {weakest.factor:.1f} times the governing load, "
        f"wanted {weakest.wanted:.1f}: {weakest.answer}"
    )
    return f"{text}; not checked: {', '.join(unknown)}" if unknown else text


def length_line(name: str, listed: float | None, needed: float, tails: float = TAILS) -> str:
    """Words on whether a listed length reaches, `tails` being what both ends take up together [m]."""
    if listed is None or not np.isfinite(listed):
        return f"{name}: length not given, about {needed + tails:.1f} m needed with tails"
    word = "reaches" if listed >= needed + tails else "is too short"
    return f"{name}: {listed:.1f} m {word}, about {needed + tails:.1f} m needed with tails"


def webbing_warning(tension: float, strength: float | None) -> str:
    """Words where a tension passes the webbing's strength or its wanted share; empty where it does not."""
    if strength is None or not np.isfinite(strength) or tension * BREAKING_FACTOR <= strength:
        return ""
    ratio = tension / strength
    what = "is above" if ratio > 1 else f"is more than 1/{BREAKING_FACTOR:.0f} of"
    return f"the tension {what} the webbing's strength ({ratio:.2f} times it)"
