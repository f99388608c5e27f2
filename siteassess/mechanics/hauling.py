"""What tension a crew can pull into a line by hand, and what is left of it after lock-off and settling.

Everything is a range of low, likely and high: hands, friction and webbing scatter too much for one figure.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import log2
from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike

from siteassess.mechanics.arrays import Array, as_array
from siteassess.reference.constants import Constant, constant, constants


class Range(NamedTuple):
    """Low end, likely value and high end of one quantity."""

    low: float
    likely: float
    high: float


def _range(one: Constant) -> Range:
    low, high = one.ends
    return Range(low, one.value, high)


# Pull of one person, hand over hand on a rope [N]: 100 N on a slick floor, 200 on a rough one, 300 with high grip, 500
# with feet and 750 with the back braced (memory); 147 N with one hand (read).
PULL_RANGES = {footing: _range(pull) for footing, pull in constants("pull of one person").items()}
ONE_FIGURE = _range(constant("one figure of a pull"))
TEAM_EXPONENT = log2(constant("two people pull"))
FRICTION_GRIP = _range(constant("friction grip"))  # [N] slips at 7 to 9 kN (memory)
LOCK_LOSS = _range(constant("lock loss"))  # when the brake is set and the haul let go [-]
ROPE_STIFFNESS = constant("rope stiffness")
# Share of the tension lost when a fresh line is first walked [-].
SETTLING = {fibre: _range(lost) for fibre, lost in constants("settling").items()}
SETTLING_FALLS = constant("settling falls")


class Stage(NamedTuple):
    """One n:1 system in a chain."""

    ideal: int  # strands that pull on the load
    efficiency: Range | float  # of each sheave [-]
    redirect: bool = False  # true where the rope is pulled through one more sheave that only turns it


@dataclass(frozen=True)
class Haul:
    """Tensions a crew reaches [N]."""

    advantage: float  # pull gained with friction, at the likely efficiency [-]
    ideal_advantage: float  # without friction [-]
    reached: Range  # while the crew pulls
    locked: Range  # after lock-off
    grip_slips: bool  # true where a friction grip gives way before the crew does, at the likely figures


def advantage(ideal: ArrayLike, efficiency: ArrayLike, redirect: bool = False) -> Array:
    """Pull gained by one n:1 system whose sheaves all pass on the same share of the pull [-].

    Parameters
    ----------
    ideal : number n of strands on the load [-]
    efficiency : of each sheave, above 0 and at most 1 [-]
    redirect : pulled through one more sheave that only turns the rope

    Notes
    -----
    1 + e + ... + e^(n-1). A carabiner at 0.5 never passes 2, however many strands.

    Examples
    --------
    3:1 at 0.9, by hand 1 + 0.9 + 0.81; and 0.5 that never passes 2:

    >>> round(float(advantage(3, 0.9)), 9), f"{advantage(9, 0.5):.3f}"
    (2.71, '1.996')
    """
    ideal, e = as_array(ideal), as_array(efficiency)
    with np.errstate(invalid="ignore", divide="ignore"):
        gain = np.where(e == 1, ideal, (1 - e**ideal) / (1 - e))
    return as_array(gain * np.where(redirect, e, 1.0))


def compound_advantage(stages: Sequence[Stage], which: str = "likely") -> float:
    """Pull gained by stages in series, each pulling on the rope of the next [-].

    Parameters
    ----------
    stages : in series, from the hands to the line
    which : end of the efficiencies: low, likely or high
    """
    gains = [advantage(s.ideal, getattr(efficiency_range(s.efficiency), which), s.redirect) for s in stages]
    return float(np.prod(gains))


class StageLoad(NamedTuple):
    """Greatest loads inside one stage of a chain while it pulls or holds [N]."""

    whole: float  # what the stage pulls with: on its ends and on whatever grips the line for it
    rope: float  # in the hardest strand of its rope
    pulley: float  # on its hardest sheave, which two strands pull on


def stage_loads(pull: float, stages: Sequence[Stage]) -> tuple[StageLoad, ...]:
    """Loads inside a chain that pulls with a force on the line, from the hands to the line.

    Parameters
    ----------
    pull : on the line [N]
    stages : in series, from the hands to the line

    Notes
    -----
    Strands of an n:1 stage carry f, fe, ... with the hardest at the hands' side while pulling and at the dead end while
    holding; either way the hardest is the whole over 1 + e + ... + e^(n-1). The worse end of each range of e counts.

    Examples
    --------
    3 kN by a 3:1 without friction, by hand:

    >>> tuple(stage_loads(3e3, [Stage(3, Range(1.0, 1.0, 1.0))])[0])
    (3000.0, 1000.0, 2000.0)
    """
    found = []
    for stage in reversed(stages):
        loads = [_stage_load(pull, stage, e) for e in efficiency_range(stage.efficiency)]
        found.append(StageLoad(pull, *(max(values) for values in zip(*loads))))
        pull = found[-1].rope
    return tuple(reversed(found))


def _stage_load(whole: float, stage: Stage, e: float) -> tuple[float, float]:
    """Hardest strand and hardest sheave of one stage at one efficiency [N]."""
    strand = whole / float(advantage(stage.ideal, e))
    sheave = strand * (1 + e) if stage.ideal > 1 else 0.0
    if not stage.redirect:
        return strand, sheave
    return strand / e, max(sheave, strand / e * (1 + e))


def efficiency_range(efficiency: Range | float) -> Range:
    """A range round one given efficiency: a stiff or dirty rope takes up to 15 %, little is ever gained [-].

    Parameters
    ----------
    efficiency : of each sheave, one figure or a range [-]
    """
    if isinstance(efficiency, Range):
        return efficiency
    return Range(efficiency * (1 - ROPE_STIFFNESS), efficiency, min(1.0, efficiency * 1.03))


def crew_pull(people: int, pull_each: Range | float | None = None, footing: str = "feet braced") -> Range:
    """Pull of a crew on one rope [N].

    Parameters
    ----------
    people : int
    pull_each : of one person [N]; one figure is taken as likely, a band about it. From `footing` if not given.
    footing : a key of `PULL_RANGES`

    Raises
    ------
    ValueError : without anybody
    """
    if people < 1:
        raise ValueError("a crew has at least one person")
    if pull_each is None:
        pull_each = PULL_RANGES[footing]
    elif not isinstance(pull_each, Range):
        pull_each = Range(*(share * pull_each for share in ONE_FIGURE))
    together = people**TEAM_EXPONENT
    return Range(*(together * pull for pull in pull_each))


def haul(
    people: int, stages: Sequence[Stage], pull_each: Range | float | None = None, footing: str = "feet braced",
    friction_grip: Range | None = None, lock_loss: Range = LOCK_LOSS,
) -> Haul:
    """Tension a crew pulls into a line and what is left when it is locked off.

    Parameters
    ----------
    people, pull_each, footing : as in `crew_pull`
    stages : in series, from the hands to the line, at least one
    friction_grip : tension at which a friction grip on the line gives way, usually `FRICTION_GRIP` [N]
    lock_loss : share lost at lock-off [-]

    Raises
    ------
    ValueError : without a stage of 1:1 or more, or with an efficiency outside 0 to 1
    """
    if not stages or any(stage.ideal < 1 for stage in stages):
        raise ValueError("hauling needs at least one stage of 1:1 or more")
    if not all(0 < share <= 1 for stage in stages for share in efficiency_range(stage.efficiency)):
        raise ValueError("the efficiency of a sheave lies above 0 and is at most 1")
    pull = crew_pull(people, pull_each, footing)
    free = Range(*(getattr(pull, which) * compound_advantage(stages, which) for which in Range._fields))
    reached = Range(*map(min, free, friction_grip)) if friction_grip else free
    return Haul(
        advantage=compound_advantage(stages), ideal_advantage=float(np.prod([stage.ideal for stage in stages])),
        reached=reached, locked=left_after(reached, lock_loss),
        grip_slips=friction_grip is not None and free.likely > friction_grip.likely,
    )


def left_after(tension: Range, loss: Range) -> Range:
    """What a share of loss leaves: the low tension meets the high loss [N].

    Parameters
    ----------
    tension : before [N]
    loss : share lost [-]

    Examples
    --------
    By hand:

    >>> tuple(round(x, 6) for x in left_after(Range(100.0, 200.0, 300.0), Range(0.1, 0.2, 0.3)))
    (70.0, 160.0, 270.0)
    """
    return Range(tension.low * (1 - loss.high), tension.likely * (1 - loss.likely), tension.high * (1 - loss.low))


def settled(locked: Range, settles: Range, re_tensioned: int = 0) -> Range:
    """Tension left after the walk that follows, the line having been pulled up again a number of times [N].

    Parameters
    ----------
    locked : tension after each lock-off [N]
    settles : share lost at the first walk, such as those of `SETTLING` [-]
    re_tensioned : times it was pulled up to the same tension again
    """
    shares = (share * SETTLING_FALLS**re_tensioned for share in settles)
    return left_after(locked, Range(*shares))


def rounds_to_keep(wanted: float, locked: Range, settles: Range, most: int = 5) -> int | None:
    """How many times to pull the line up again until the likely tension stays above the wanted one [N].

    Parameters
    ----------
    wanted : tension [N]
    locked, settles : as in `settled` [N, -]
    most : rounds tried

    Returns
    -------
    int or None
        None where `most` rounds do not do it.
    """
    for rounds in range(most + 1):
        if settled(locked, settles, rounds).likely >= wanted:
            return rounds
    return None


def reaches(wanted: float, tension: Range) -> str:
    """Whether a crew reaches a tension: "yes", "perhaps" or "no"; "cannot say" where either is unknown.

    Parameters
    ----------
    wanted : tension [N]
    tension : what the crew pulls [N]
    """
    if not np.isfinite([wanted, *tension]).all():
        return "cannot say"
    if tension.low >= wanted:
        return "yes"
    return "perhaps" if tension.high >= wanted else "no"
