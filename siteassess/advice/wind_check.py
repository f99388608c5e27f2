"""The crown in the wind: the gust at which line and crown together exceed what the tree bears, and what that means."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from siteassess.advice.filled import crown_width_of
from siteassess.advice.finding import Finding, Limit, found
from siteassess.advice.tree_inputs import TreeInputs
from siteassess.mechanics.rootplate import SQUAT_PER_DIAMETER
from siteassess.mechanics.wind import crown_area, crown_centre, take_down_wind
from siteassess.reference.constants import constant
from siteassess.reference.findings import Said, said

CROWN_BASE_SHARE = constant("crown base share")


@dataclass(frozen=True)
class Crown:
    area: float  # frontal, in still air [m^2]
    centre: float  # above ground [m]
    leaf_type: str
    note: Said | None = None  # which size was taken, and from where; None where the width was read

    @property
    def guessed(self) -> bool:
        return self.note is not None


def crown_of(tree: TreeInputs) -> Crown | None:
    """The crown, careful where it was not read: wide, and of a high tree; None where nothing is known of it."""
    height = tree.height_high
    if not math.isfinite(height):
        return None
    width, note = tree.crown_width, None
    if not (math.isfinite(width) and width > 0):  # a crown of no width was not paced
        found = crown_width_of(tree.species, tree.root_diameter)
        if found is None:
            return None
        width, note = found[0], said("crown-width-taken", width=found[0], basis=found[1])
    base = min(tree.crown_base if math.isfinite(tree.crown_base) else CROWN_BASE_SHARE.value * height, height)
    leaf = tree.species.leaf_type
    return Crown(float(crown_area(width, height - base, leaf)), float(crown_centre(base, height, leaf)), leaf, note)


WIND_TO_MIND = constant("take-down gust to mind")
WIND_TO_LEAVE = constant("take-down gust to leave")
TOLD_AT_MOST = constant("take-down gust told at most")
WIND_CHECK_ASSUMPTIONS = (WIND_TO_MIND, WIND_TO_LEAVE, TOLD_AT_MOST)


def wind_finding(tree: TreeInputs, limits: tuple[Limit, ...], tie: float) -> tuple[float | None, list[Finding]]:
    """Take-down gust as a forecast tells it [m/s], None where it cannot be worked out, and what to say of it.

    The gust is that at which the first of all limits is exceeded one time in twenty, so one limit that is not known
    leaves it unknown; what the known ones say can still reject.
    """
    known = [limit for limit in limits if limit.use is not None]
    unknown = [limit.name for limit in limits if limit.use is None]
    crown = crown_of(tree)
    if not known or crown is None:
        return None, [_not_worked_out()]
    first, wind = _first_reached(known, crown)
    if not math.isfinite(wind):
        return None, [_not_worked_out()]
    if unknown:
        # an upper bound only: worth telling where it rejects by itself, never as a wind to go by
        taken = (said("by-one-limit", limit=first), *_taken(crown, tree))
        least = _verdict_of(wind, taken, crown.guessed, tree, first)
        return None, [_not_worked_out(unknown), *(one for one in least if one.effect == "leave it")]
    return wind, _verdict_of(wind, _taken(crown, tree), crown.guessed, tree, first)


def _first_reached(known: list[Limit], crown: Crown) -> tuple[str, float]:
    """The limit reached in the least wind, and that gust [m/s]: no divisor, as a gust is met attended."""
    sums = [(one.capacity_median, one.ln_sd_capacity, one.demand) for one in known]
    median, sd, demand = np.array(sums, dtype=float).T
    gusts = take_down_wind(median, sd, demand, crown.area, crown.centre, crown.leaf_type)
    first = int(np.argmin(np.where(np.isnan(gusts), -np.inf, gusts)))
    return known[first].name, float(gusts[first])


def told_wind(wind: float | None) -> float | None:
    """A take-down gust as every paper tells it: whole m/s, rounded down, so that a line comes down early [m/s].

    Parameters
    ----------
    wind : worked out [m/s]; None where it is not known

    Returns
    -------
    None where it is not known.
    """
    return None if wind is None else float(math.floor(min(wind, TOLD_AT_MOST.value)))


def _verdict_of(wind: float, taken: tuple[Said, ...], crown_taken: bool, tree: TreeInputs, first: str) -> list[Finding]:
    gust = told_wind(wind)
    told = "wind-nothing-left" if wind < 1 else "wind-take-down-low"
    if wind >= WIND_TO_MIND:
        return [found("wind-take-down", "suits", more=taken, gust=gust)]
    values: dict[str, Any] = {} if wind < 1 else {"gust": gust}
    # a size taken at its worst cannot reject a tree, nor can a sum that underrates it
    squat = first == "root plate" and tree.height < SQUAT_PER_DIAMETER.value * tree.root_diameter
    if wind < WIND_TO_LEAVE and (crown_taken or tree.height_how == "filled"):
        return [found(f"{told}-guessed", "cannot say", looked_at=False, more=taken, **values)]
    if wind < WIND_TO_LEAVE and squat:
        return [found(f"{told}-squat", "cannot say", looked_at=False,
                      more=(*taken, said("sum-underrates-squat")), **values)]  # fmt: skip
    if wind < WIND_TO_LEAVE:
        return [found(told, "leave it", more=taken, **values)]
    rests = [*["a crown width taken, not paced"] * crown_taken,
             *["a tree height not measured"] * (tree.height_how != "measured")]  # fmt: skip
    by = (said("figure-rests-on", things=tuple(rests)),) if rests else ()
    return [found("wind-take-down-if", "suits if", more=taken, gust=gust, rests=by)]


def _not_worked_out(unknown: Sequence[str] = ()) -> Finding:
    if not unknown:
        return found("wind-not-worked-out", "suits", looked_at=False)
    return found("wind-not-worked-out-without", "suits", looked_at=False, limits=tuple(unknown))


def _taken(crown: Crown, tree: TreeInputs) -> tuple[Said, ...]:
    """Notes where crown or height were not measured."""
    notes = [crown.note] if crown.note else []
    if tree.height_how != "measured":
        how = {"filled": "taken from a table, not read", "unknown": "read, nobody said how"}
        how_read = how.get(tree.height_how, tree.height_how)
        notes.append(said("height-not-measured", height=tree.height_high, how=how_read))
    return tuple(notes)
