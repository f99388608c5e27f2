"""What a tree has shown it bears: the wind it has stood, and a trial load that was done; when each counts.

Nothing is earned by leaving a question open: only a sound, upright tree alike on all sides, its crown and height read,
earns credit, and only where somebody said that it stands in the open and that nothing changed. A larger crown raises
what the tree has shown as it raises what the wind asks of it; so a crown that was filled in earns nothing.

A trial only counts for the direction it was pulled in, for ground no drier than on that day, and for a year. A foot
that moved, or tilted as far as an eye can see, ends in "leave it" in any direction; a tilt nobody read is asked for.
"""

from __future__ import annotations

import datetime
import math
from collections.abc import Iterator
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from siteassess.advice.finding import Finding, found
from siteassess.mechanics.anchor_vector import angle_between
from siteassess.mechanics.ground import LEVEL_UP_TO_DEG
from siteassess.mechanics.limit import LimitSums, make_limit
from siteassess.mechanics.rootplate import SOIL_FACTORS, turning_demand
from siteassess.mechanics.roots import DIGGING_DIAMETERS
from siteassess.mechanics.stood import LOW_YEARLY_GUST, SHARE_AT_TREE, capacity_after_test
from siteassess.mechanics.tilt import TILT_START_DEG, TRIAL_LN_SD, capacity_from_trial
from siteassess.mechanics.wind import DRAG_LN_SD, LEAFLESS_SHARE, wind_moment
from siteassess.records.anchor import SofterSigns, Stood, Tree
from siteassess.reference.anchorage import FIVE_PERCENT, Anchorage
from siteassess.reference.constants import constant
from siteassess.reference.findings import Said, said
from siteassess.units import Quantity

if TYPE_CHECKING:
    from siteassess.advice.tree_inputs import TreeInputs
    from siteassess.advice.wind_check import Crown

UPRIGHT_TO = constant("upright to")
MOST_GUST = constant("most gust")
# the weakest of the kinds it may be is not the weakest of them after a test
NOT_NAMED = "tree-not-named"
STOOD_READING_ASSUMPTIONS = (UPRIGHT_TO, MOST_GUST)


@dataclass(frozen=True)
class GustMet:
    """A gust at the nearest station that the tree has stood, and why it may not count."""

    gust: float  # 10 m over open ground; that of a low year where none was looked up [m/s]
    looked_up: bool
    in_leaf: bool
    why_not: tuple[Said, ...]  # what the record itself lacks or tells against it


def gust_met(tree: Tree) -> GustMet | None:
    """The wind of a record; None where it says nothing of it."""
    stood = tree.stood
    if stood is None:
        return None
    read = stood.gust.si if stood.gust else 0.0
    # a gust looked up never earns less than the one taken without looking
    return GustMet(max(read, LOW_YEARLY_GUST.value), read > LOW_YEARLY_GUST.value, stood.in_leaf == "yes",
                   tuple(_against(tree, stood)))  # fmt: skip


def _against(tree: Tree, stood: Stood) -> Iterator[Said]:
    if stood.gust and stood.gust.si > MOST_GUST.value:
        yield said("gust-misread", gust=stood.gust.text, most=MOST_GUST.value)
    if stood.exposed != "yes":
        yield said("not-known-in-the-open")
    if stood.changed != "no":
        yield said("not-known-unchanged")
    if tree.condition != "sound":
        yield said("not-known-sound")
    if tree.hollow is not None or tree.signs.wide_opening != "no":
        yield said("hollow-or-nobody-looked")
    signs = {name: getattr(tree.softer_signs, name) for name in SofterSigns.model_fields if name != "corrected_lean"}
    if set(signs.values()) != {"no"}:
        yield said("softer-sign-or-unseen")
    if tree.species is None or tree.species.certainty == "guess":
        yield said(NOT_NAMED)


def why_no_credit(tree: TreeInputs, met: GustMet) -> Said | None:
    """Why the wind it has stood earns nothing; None where it does. One reason is enough."""
    if met.why_not:
        return met.why_not[0]
    if not tree.species.genus:
        return said(NOT_NAMED)
    # a crown of no width, or that begins over the tree's top, was not read
    if tree.height_how == "filled" or not (tree.crown_width > 0 and math.isfinite(tree.crown_base)):
        return said("sizes-not-all-read")
    reach = DIGGING_DIAMETERS.value * tree.root_diameter
    if any(answer != "no" for _, answer in tree.signs):
        return said("stop-sign-or-unseen")
    if not tree.lean_deg <= UPRIGHT_TO.value:
        return said("leans-or-unread")
    # a gust from the weather side says nothing of a plate that differs from side to side
    if any(lost != 0.0 for lost in tree.sector_lost) or not all(away >= reach for away in tree.digging):
        return said("roots-not-known-whole")
    if not (tree.slope_deg <= LEVEL_UP_TO_DEG.value and tree.bank_m >= reach):
        return said("ground-not-known-level")
    return None


def moment_stood(met: GustMet, crown: Crown) -> float:
    """Middling moment about the ground in the gust the tree has stood [N m]."""
    gust = SHARE_AT_TREE.value * met.gust
    # bare in it, or not known: the lowest share measured, since here less is the careful end
    share = 1.0 if met.in_leaf else LEAFLESS_SHARE.ends[0]
    return share * float(wind_moment(gust, crown.area, crown.centre, crown.leaf_type))


def after_wind(plate: LimitSums, tree: TreeInputs, crown: Crown | None) -> LimitSums:
    """The root plate's limit once the wind it has stood is weighed in; unchanged where that earns no credit.

    The ground is taken to have been firm then: wetter ground now lowers what was shown as it lowers what is held.
    """
    if tree.stood is None or crown is None or crown.guessed or why_no_credit(tree, tree.stood):
        return plate
    shown = moment_stood(tree.stood, crown) * tree.soil_factor
    median, ln_sd = capacity_after_test(plate.capacity_median, plate.capacity_ln_sd, shown, DRAG_LN_SD.value)
    return make_limit(plate.name, median, ln_sd, plate.demand, plate.divisor, plate.outside, plate.unit)


def stood_findings(tree: TreeInputs) -> list[Finding]:
    """What the wind a tree has stood is worth here."""
    met = tree.stood
    if met is None:
        return []
    if why := why_no_credit(tree, met):
        return [found("wind-stood-earns-nothing", "suits", why=why)]
    return [found("wind-stood-counts" if met.looked_up else "wind-stood-counts-low-year", "suits", gust=met.gust)]


SAME_WAY_DEG = constant("trial same way")
COUNTS_DAYS = constant("trial counts for")
FINEST_TILT = constant("finest tilt")
MOST_CREDIT = constant("most trial credit")
TRIAL_ASSUMPTIONS = (SAME_WAY_DEG, COUNTS_DAYS, FINEST_TILT, MOST_CREDIT)


@dataclass(frozen=True)
class TrialReading:
    """Numbers of a trial load. NaN where not read."""

    date: datetime.date
    pull: float  # [N]
    tie: float  # [m]
    toward_deg: float
    tilt_deg: float  # as read
    finest_deg: float  # least the reading could have shown
    moved: str  # yes, no, not looked
    soil: str

    @property
    def gave_way(self) -> bool:
        return self.moved == "yes" or self.tilt_deg >= TILT_START_DEG.value

    @property
    def told(self) -> Said:
        """What was done and what was read."""
        values = {"day": self.date.isoformat(), "pull": self.pull, "tie": self.tie, "moved": self.moved}
        if math.isfinite(self.tilt_deg):
            return said("trial-read", tilt=self.tilt_deg, **values)
        return said("trial-without-tilt", **values)

    def tilt_used(self) -> float:
        """The tilt to reckon with: as read, never finer than the reading could show [deg]."""
        known = [tilt for tilt in (self.tilt_deg, self.finest_deg) if math.isfinite(tilt)]
        return max(known) if math.isfinite(self.tilt_deg) and known else math.nan


def trial_reading(tree: Tree, soil_state: dict[str, str]) -> TrialReading | None:
    """The trial load of a record, as numbers."""
    trial = tree.trial
    if trial is None:
        return None

    def si(quantity: Quantity | None) -> float:
        return quantity.si if quantity else math.nan

    return TrialReading(trial.date, trial.pull.si, trial.tie_height.si, si(trial.toward), si(trial.tilt),
                        si(trial.finest), trial.moved, soil_state[trial.wetness])  # fmt: skip


def why_not_counted(trial: TrialReading, bearing: float, soil: str, on: datetime.date | None) -> Said | None:
    """Why a trial's good news does not count for a pull; None where it does."""
    if on is not None and not 0 <= (on - trial.date).days <= COUNTS_DAYS.value:
        return said("trial-too-old", days=COUNTS_DAYS.value)
    if trial.pull <= 0:
        return said("trial-without-pull")
    if trial.moved != "no":
        return said("trial-base-unseen")
    if not (math.isfinite(trial.toward_deg) and math.isfinite(bearing)):
        return said("trial-way-unknown")
    turn = float(angle_between(trial.toward_deg, bearing))
    if turn > SAME_WAY_DEG.value:
        return said("trial-another-way", turn=turn)
    if trial.soil == "unknown":
        return said("trial-wetness-unnoted")
    if trial.soil == "frozen" != soil:
        return said("trial-ground-frozen")
    if SOIL_FACTORS[trial.soil].value > SOIL_FACTORS[soil].value:
        return said("trial-ground-drier")
    return None


def trial_capacity(trial: TrialReading, diameter: float) -> float:
    """Root plate capacity the trial points to [N m]; NaN where no tilt was read. Lean is not in it."""
    moment = turning_demand(trial.pull, trial.tie, diameter)
    return float(capacity_from_trial(moment, trial.tilt_used()))


def credited_capacity(trial: TrialReading, diameter: float) -> float:
    """The same as far as a trial may raise a capacity: no tilt finer than can be trusted, and no far reach [N m]."""
    moment = float(turning_demand(trial.pull, trial.tie, diameter))
    tilt = max(trial.tilt_used(), FINEST_TILT.value) if math.isfinite(trial.tilt_used()) else math.nan
    return min(float(capacity_from_trial(moment, tilt)), MOST_CREDIT.value * moment)


def with_trial(
    plate: LimitSums, trial: TrialReading | None, diameter: float, counts: np.ndarray, kind: Anchorage
) -> LimitSums:
    """The root plate's limit once a measured tilt is weighed in.

    Parameters
    ----------
    plate : Limit
        From the size of the tree alone.
    trial : TrialReading or None
        As recorded.
    diameter : float
        Of the trunk [m].
    counts : ndarray of bool
        Which of the pulls the trial counts for; shaped as the limit.
    kind : Anchorage
        What the sums took for the tree. Of several that it may be the least after the trial counts: the weakest of
        them before it is not the weakest after.

    Returns
    -------
    Limit
        Medians weighed by the inverse of their variance; where the trial raises the median the scatter is that of a
        trial read by phone, since both may err alike. A trial that points lower than the size does is always weighed
        in, and earns no narrower scatter.
    """
    if trial is None:
        return plate
    read = trial_capacity(trial, diameter)
    if not math.isfinite(read):
        return plate
    credited = credited_capacity(trial, diameter)
    median, sd = _weighed(plate.capacity_median, plate.capacity_ln_sd, read, credited, counts)
    for one in kind.may_be:
        other_median = plate.capacity_median * one.moment_per_d2h / kind.moment_per_d2h
        other_sd = np.sqrt(plate.capacity_ln_sd**2 - kind.ln_sd**2 + one.ln_sd**2)
        tried, tried_sd = _weighed(other_median, other_sd, read, credited, counts)
        less = np.log(tried) - FIVE_PERCENT * tried_sd < np.log(median) - FIVE_PERCENT * sd
        median, sd = np.where(less, tried, median), np.where(less, tried_sd, sd)
    return make_limit(plate.name, median, sd, plate.demand, plate.divisor, plate.outside, plate.unit)


def _weighed(
    own_median: np.ndarray, own_sd: np.ndarray, read: float, credited: float, counts: np.ndarray
) -> tuple[np.ndarray, np.ndarray]:
    """Median and scatter of a capacity once what a trial read, or as far as it is credited, is weighed in."""
    own, other = own_sd**-2.0, TRIAL_LN_SD.value**-2
    lower, raises = read < own_median, counts & (credited > own_median)
    points_to = np.where(lower, read, credited)
    median = np.exp((own * np.log(own_median) + other * np.log(points_to)) / (own + other))
    take = np.isfinite(median) & (raises | lower)
    sd = np.where(raises & ~lower, np.minimum(own_sd, TRIAL_LN_SD.value), own_sd)
    return np.where(take, median, own_median), np.where(take, sd, own_sd)


def trial_findings(trial: TrialReading | None, why_not: Said | None) -> list[Finding]:
    """What a trial means for the verdict, beside the capacity it points to."""
    if trial is None:
        return []
    if trial.gave_way:
        return [found("trial-gave-way", "leave it", trial=trial.told)]
    if trial.pull <= 0 < trial.tilt_deg:  # the less a foot bears for its tilt the less is left, and of none nothing is
        return [found("trial-of-no-pull", "leave it", trial=trial.told)]
    unread = not math.isfinite(trial.tilt_deg)
    told = [found("trial-tilt-unread", "suits if", looked_at=False, trial=trial.told)] if unread else []
    if trial.moved == "not looked":  # seen to move it would end it, so nobody having looked asks for a look
        why = why_not or said("trial-base-unseen")
        return [*told, found("trial-foot-unseen", "suits if", looked_at=False, trial=trial.told, why=why)]
    if why_not:
        return [*told, found("trial-earns-nothing", "suits", trial=trial.told, why=why_not)]
    return [*told, found("trial-counts", "suits", trial=trial.told)]
