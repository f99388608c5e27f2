"""The wind a tree has stood: when it counts as a test passed, and how hard a test it was.

Nothing is earned by leaving a question open: only a sound, upright tree alike on all sides, its crown and height read,
earns credit, and only where somebody said that it stands in the open and that nothing changed. A larger crown raises
what the tree has shown as it raises what the wind asks of it; so a crown that was filled in earns nothing.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

from siteassess.advice.finding import Finding, found
from siteassess.mechanics.ground import LEVEL_UP_TO_DEG
from siteassess.mechanics.limit import LimitSums, make_limit
from siteassess.mechanics.roots import DIGGING_DIAMETERS
from siteassess.mechanics.stood import LOW_YEARLY_GUST, SHARE_AT_TREE, capacity_after_test
from siteassess.mechanics.wind import DRAG_LN_SD, LEAFLESS_SHARE, wind_moment
from siteassess.records.anchor import SofterSigns, Tree
from siteassess.reference.constants import constant
from siteassess.reference.findings import Said, said

if TYPE_CHECKING:
    from siteassess.advice.crown import Crown
    from siteassess.advice.tree_inputs import TreeInputs

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
                   tuple(_against(tree)))  # fmt: skip


def _against(tree: Tree):
    if tree.stood.gust and tree.stood.gust.si > MOST_GUST.value:
        yield said("gust-misread", gust=tree.stood.gust.text, most=MOST_GUST.value)
    if tree.stood.exposed != "yes":
        yield said("not-known-in-the-open")
    if tree.stood.changed != "no":
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


def why_no_credit(tree: TreeInputs) -> Said | None:
    """Why the wind it has stood earns nothing; None where it does. One reason is enough."""
    met = tree.stood
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


def moment_stood(tree: TreeInputs, crown: Crown) -> float:
    """Middling moment about the ground in the gust the tree has stood [N m]."""
    gust = SHARE_AT_TREE.value * tree.stood.gust
    # bare in it, or not known: the lowest share measured, since here less is the careful end
    share = 1.0 if tree.stood.in_leaf else LEAFLESS_SHARE.low
    return share * float(wind_moment(gust, crown.area, crown.centre, crown.leaf_type))


def after_wind(plate: LimitSums, tree: TreeInputs, crown: Crown | None) -> LimitSums:
    """The root plate's limit once the wind it has stood is weighed in; unchanged where that earns no credit.

    The ground is taken to have been firm then: wetter ground now lowers what was shown as it lowers what is held.
    """
    if tree.stood is None or crown is None or crown.guessed or why_no_credit(tree):
        return plate
    shown = moment_stood(tree, crown) * tree.soil_factor
    median, ln_sd = capacity_after_test(plate.capacity_median, plate.capacity_ln_sd, shown, DRAG_LN_SD.value)
    return make_limit(plate.name, median, ln_sd, plate.demand, plate.divisor, plate.outside, plate.unit)


def stood_findings(tree: TreeInputs) -> list[Finding]:
    """What the wind a tree has stood is worth here."""
    met = tree.stood
    if met is None:
        return []
    if why := why_no_credit(tree):
        return [found("wind-stood-earns-nothing", "suits", why=why)]
    return [found("wind-stood-counts" if met.looked_up else "wind-stood-counts-low-year", "suits", gust=met.gust)]
