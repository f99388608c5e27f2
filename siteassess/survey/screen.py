"""Which trees of an inventory are worth the walk: limits of the place, size, kind, and a first guess at the hold.

The hold here only ranks. An inventory row says nothing of roots, decay, lean or nests, so no row, however good,
reaches another verdict than "cannot say: to be surveyed on site".
"""

from __future__ import annotations

from dataclasses import dataclass, field
from enum import IntFlag

import numpy as np
import pandas as pd

from siteassess.mechanics.rootplate import lever_arm, root_limit
from siteassess.mechanics.scatter import DIVISOR_GROUND_LINE, DIVISOR_HIGH_LINE, allowable
from siteassess.mechanics.stem import stem_limit
from siteassess.records.line import FROM_HEIGHT, Use
from siteassess.reference.constants import constant, constants
from siteassess.reference.findings import Said, said
from siteassess.survey.cells import Floats
from siteassess.survey.kinds import Kinds, kinds_of
from siteassess.survey.notes import Note
from siteassess.survey.rulelimits import RuleLimits

VERDICT = "cannot say"
TO_DO = Said("ds-to-do")

LEAVE_IT_UNDER_M = constant("least trunk")
WALKED_LINE_UNDER_M = constant("usual least trunk")

INVENTORY_SIZE_LN_SD = constant("inventory size ln sd")
INVENTORY_HEIGHT_LN_SD = constant("inventory height ln sd")
# Horizontal pull at the worse anchor that a line of each use may reach, rigging peak and bounce included.
PULL_BY_USE_N = constants("pull by use")
TIE_BY_USE_M = constants("tie by use")
UNKNOWN_TRUNK_RADIUS_M = constant("unknown trunk radius")


class Out(IntFlag):
    """Why a good row is no candidate."""

    NOTHING = 0
    THIN = 1 << 0
    RULE_SIZE = 1 << 1
    RULE_KIND = 1 << 2
    SIZE_UNKNOWN = 1 << 3
    OUTSIDE_PARKS = 1 << 4
    NO_HOLD = 1 << 5
    PALM = 1 << 6
    STREET = 1 << 7
    POOR = 1 << 8


OUT_TOLD = {
    Out.THIN: Said("ds-thin", (("least", float(LEAVE_IT_UNDER_M)),)), Out.RULE_SIZE: Said("ds-rule-size"),
    Out.RULE_KIND: Said("ds-rule-kind"), Out.SIZE_UNKNOWN: Said("ds-size-unknown"),
    Out.OUTSIDE_PARKS: Said("ds-outside-parks"), Out.NO_HOLD: Said("ds-no-hold"), Out.PALM: Said("ds-palm"),
    Out.POOR: Said("ds-poor-condition"), Out.STREET: Said("ds-street"),
}


@dataclass(frozen=True)
class Wish:
    """What the line asks for.

    Parameters
    ----------
    use : planned use, in the record's word
    pull_n, tie_m : horizontal pull at an anchor [N] and tie height [m]; the use's stand-ins if not given
    rules : limits of the place
    known_sizes_only, no_street_trees : bool
    least_hold : a tree stays a candidate down to this share of the pull [-]
    """

    use: Use = "low line"
    pull_n: float | None = None
    tie_m: float | None = None
    rules: RuleLimits = field(default_factory=RuleLimits)
    known_sizes_only: bool = False
    no_street_trees: bool = False
    least_hold: float = 1.0

    @property
    def pull(self) -> float:
        return PULL_BY_USE_N[self.use] if self.pull_n is None else self.pull_n

    @property
    def tie(self) -> float:
        return TIE_BY_USE_M[self.use] if self.tie_m is None else self.tie_m

    @property
    def divisor(self) -> float:
        return float(DIVISOR_HIGH_LINE if self.use in FROM_HEIGHT else DIVISOR_GROUND_LINE)

    def assumptions(self) -> tuple[Said, ...]:
        pull = "as asked" if self.pull_n is not None else "judgement, a stand-in for a line not yet known"
        scatter = (said("ds-scatter", name=one.name, value=float(one), low=one.low, high=one.high, flag=one.flag,
                        note=one.note) for one in (INVENTORY_SIZE_LN_SD, INVENTORY_HEIGHT_LN_SD))  # fmt: skip
        return (
            said("ds-pull", pull=self.pull, how=pull),
            said("ds-tie", tie=self.tie, how="as asked" if self.tie_m is not None else "judgement"),
            *scatter, said("ds-unseen"),
        )


def screen(good: pd.DataFrame, wish: Wish) -> pd.DataFrame:
    """Judge every good row as a candidate.

    Parameters
    ----------
    good : rows kept or repaired of an inventory
    wish : Wish

    Returns
    -------
    The rows with: genus, kind, leaf, height_used_m, height_how, hold_n (allowable horizontal pull at the tie height),
    hold_share (of the planned pull), care, evidence, out (flags of `Out`), candidate.
    """
    trees = good.reset_index(drop=True)
    kinds = kinds_of(trees)
    diameter = trees["diameter_m"].to_numpy(dtype=float)
    height, how = heights(trees, kinds)
    trees = trees.assign(
        genus=kinds.genus, kind=kinds.accepted, leaf=kinds.leaf_type, height_used_m=height, height_how=how,
        hold_n=hold(diameter, height, how, kinds, wish), care=care(diameter, kinds), evidence=evidence(trees),
    )
    trees["hold_share"] = trees["hold_n"] / wish.pull
    trees["out"] = _out(trees, kinds, wish)
    trees["candidate"] = trees["out"] == 0
    return trees


def heights(trees: pd.DataFrame, kinds: Kinds) -> tuple[np.ndarray, np.ndarray]:
    """Height of each tree [m], and how it was come by: copied, or filled (a low fractile); NaN where neither."""
    height = trees["height_m"].to_numpy(dtype=float, copy=True)
    how = np.where(np.isnan(height), "unknown", "copied").astype(object)
    missing = np.isnan(height)
    filled = kinds.low_height_m(trees["diameter_m"].to_numpy(dtype=float))
    height[missing] = filled[missing]
    how[missing & ~np.isnan(filled)] = "filled"
    return height, how


def hold(diameter: Floats, height: Floats, how: np.ndarray, kinds: Kinds, wish: Wish) -> Floats:
    """Allowable horizontal pull at the tie height with the scatter of an inventory [N]; NaN where nothing can be said.

    The lower of root plate and stem, both by the same models as a survey on site, at a tie height of `wish.tie`.
    """
    size_sd = float(INVENTORY_SIZE_LN_SD)
    height_sd = np.where(how == "copied", float(INVENTORY_HEIGHT_LN_SD), 0.0)
    moment_per_d2h, ln_sd = kinds.anchorage
    root = root_limit(
        diameter, height, wish.tie, wish.pull, divisor=wish.divisor, moment_per_d2h=moment_per_d2h, ln_sd=ln_sd
    )
    root_sd = np.sqrt(root.capacity_ln_sd**2 + (2.0 * size_sd) ** 2 + height_sd**2)
    root_pull = allowable(root.capacity_median, root_sd, wish.divisor) / lever_arm(wish.tie, diameter)
    stem = stem_limit(
        kinds.bending_strength_pa, diameter, wish.tie, wish.pull, bark_thickness=kinds.bark_high_m(diameter),
        divisor=wish.divisor,
    )
    stem_sd = np.sqrt(stem.capacity_ln_sd**2 + (3.0 * size_sd) ** 2 + kinds.strength_ln_sd**2)
    stem_pull = allowable(stem.capacity_median, stem_sd, wish.divisor) / wish.tie
    return np.minimum(root_pull, stem_pull)  # NaN in either stays NaN


def care(diameter: Floats, kinds: Kinds) -> Floats:
    """How kindly the bark takes a sling, 0 to 1, for ranking only; unknown bark or size counts 0.

    Thick bark spreads and a stout trunk presses less: the root of the product of bark thickness over 12 mm and
    diameter over 0.5 m, each capped at 1 (judgement).
    """
    bark = np.clip(kinds.bark_low_m(diameter) / 0.012, 0.0, 1.0)
    stout = np.clip(diameter / 0.5, 0.0, 1.0)
    return np.nan_to_num(np.sqrt(bark * stout), nan=0.0)


def evidence(trees: pd.DataFrame) -> Floats:
    """Share of position, species, size, height and crown that the inventory records [-]."""
    known = [
        np.ones(len(trees), bool),
        (trees["species"] != "").to_numpy() | (trees["common"] != "").to_numpy(),
        *(~np.isnan(trees[name].to_numpy(dtype=float)) for name in ("diameter_m", "height_m", "crown_m")),
    ]
    share: Floats = np.mean(known, axis=0)
    return share


def _out(trees: pd.DataFrame, kinds: Kinds, wish: Wish) -> np.ndarray:
    diameter = trees["diameter_m"].to_numpy(dtype=float)
    unknown = np.isnan(diameter)
    out = np.zeros(len(trees), dtype=np.int64)
    with np.errstate(invalid="ignore"):
        out[diameter < LEAVE_IT_UNDER_M] |= Out.THIN
        if wish.rules.least_diameter_m is not None:
            out[diameter < wish.rules.least_diameter_m] |= Out.RULE_SIZE
        out[trees["hold_share"].to_numpy() < wish.least_hold] |= Out.NO_HOLD
    out[wish.rules.bars(kinds)] |= Out.RULE_KIND
    out[kinds.leaf_type == "palm"] |= Out.PALM
    out[(trees["flags"].to_numpy() & Note.POOR_CONDITION) != 0] |= Out.POOR
    if wish.known_sizes_only:
        out[unknown] |= Out.SIZE_UNKNOWN
    if wish.no_street_trees:
        out[(trees["setting"] == "street").to_numpy()] |= Out.STREET
    return out


def out_told(flags: int) -> tuple[Said, ...]:
    """Why a row is no candidate."""
    return tuple(told for flag, told in OUT_TOLD.items() if int(flags) & int(flag))


def out_tally(out: np.ndarray) -> dict[Said, int]:
    """How many trees are out for each reason.

    Parameters
    ----------
    out : flags of `Out` by tree [-]

    Returns
    -------
    By reason as a code; none for what befell no tree.
    """
    counts = {told: int(np.count_nonzero(out & int(flag))) for flag, told in OUT_TOLD.items()}
    return {told: n for told, n in counts.items() if n}
