"""A tree of the record and the tables turned into the numbers its limits are worked out from.

Nothing is filled in silently: what is missing is named, what is assumed or fallen back on is told, and a guessed
input widens the scatter.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from siteassess.advice.filled import height_of
from siteassess.advice.finding import Finding, found, whys
from siteassess.advice.stood_reading import GustMet, TrialReading, gust_met, trial_reading
from siteassess.advice.trunk_inputs import (
    NEAR_TIE,
    forked,
    how_read,
    judged_ln_sd,
    root_diameter,
    thicker_tapes,
    thinner_copied,
)
from siteassess.advice.under_line import NOTHING_TAPED, Drop, TapedBeside
from siteassess.advice.verdict import STOP_SIGNS, THING_OF_SIGN
from siteassess.errors import UnknownName
from siteassess.mechanics.ground import BANK_REACH_DIAMETERS, LEVEL_UP_TO_DEG
from siteassess.mechanics.rootplate import SHALLOW_SOIL_FACTOR, SOIL_FACTORS
from siteassess.mechanics.roots import DIGGING_DIAMETERS, ROOT_STATES
from siteassess.mechanics.taper import least_diameter_at
from siteassess.records.anchor import Species, Tree
from siteassess.records.fields import SECTORS
from siteassess.records.trunk import BREAST_HEIGHT, FLARE_UP_TO, trunk_at
from siteassess.reference.anchorage import Anchorage, anchorage_of
from siteassess.reference.constants import constant, constants
from siteassess.reference.findings import said
from siteassess.reference.names import is_nothing
from siteassess.reference.species import SpeciesMatch, find_species
from siteassess.reference.tables import rows

LOW_SECTION = constant("low section")
MOST_CROWN_BASE = constant("most crown base")
MOST_LEAN = constant("most lean")
UNKNOWN_BARK_SHARE = constant("unknown bark share")
EDGE_MEANT = constant("edge meant")
READ_BARK_SPREAD = constant("read bark spread")
SLOPE_OFF = constant("clinometer")
TREE_INPUT_ASSUMPTIONS = (LOW_SECTION, BREAST_HEIGHT, FLARE_UP_TO, NEAR_TIE, MOST_LEAN, MOST_CROWN_BASE,
                          UNKNOWN_BARK_SHARE, READ_BARK_SPREAD)  # fmt: skip
SPECIES_LN_SD = constants("species ln sd")

SOIL_STATE = {
    "dry": "firm", "moist": "firm", "wet": "wet", "standing water": "saturated", "frozen": "frozen",
    "unknown": "unknown",
}
UNTRIED_SOILS = ("peat", "made ground")
# share of a sector's roots lost, by what was seen there; a hard surface is treated as digging, not as loss
SECTOR_LOSS = {
    "covered": ROOT_STATES["sound"].value, "tips": ROOT_STATES["sound"].value,
    "ridges up to 5 cm": ROOT_STATES["sound"].value, "ridges over 5 cm": ROOT_STATES["exposed"].value,
    "undercut": ROOT_STATES["undercut"].value, "cut": ROOT_STATES["cut"].value,
    "hard surface": ROOT_STATES["sound"].value, "not looked": math.nan,
}
DUG = ("trench", "digging")
CUTS_ROOTS = ("kerb", "wall", "trench", "digging")
BARK_FORM = {
    "smooth": "smooth", "papery": "papery_peeling", "flaking": "flaky_exfoliating", "plated": "plated_scaly",
    "fine fissured": "fissured_ridged", "deep ridged": "fissured_ridged", "fibrous": "fibrous_shreddy",
    "warty": "warty",
}


@dataclass(frozen=True)
class TreeInputs:
    """Numbers of one tree. NaN where nothing is known; `missing` names those that decide."""

    code: str
    species: SpeciesMatch
    diameter: float  # over bark at the reading; of several stems the thinnest [m]
    root_diameter: float  # of one trunk with the wood of all stems, else the same [m]
    read_at: float  # height of that reading [m]
    diameter_how: str
    diameter_ln_sd: float
    stems: int
    bark_thick: float  # high value, for the wood left under it [m]
    bark_thin: float  # low value, for what the bark bears [m]
    bark_read: bool  # thickness read on the tree, else from a table
    bark_form: str  # a form of the table bark_forms
    bark_smooth: bool | None
    bark_slips: bool
    mor: float  # [Pa]
    wood_ln_sd: float
    anchorage: Anchorage
    height: float  # low where it was filled in [m]
    height_high: float  # for lean and wind; the same where it was read [m]
    height_how: str
    height_ln_sd: float
    forked: float  # 1 below or near the tie, 0 not, NaN not looked
    fork_height: float  # [m], NaN where no fork or unknown
    lean_deg: float
    lean_toward_deg: float  # NaN: unknown, taken along the pull
    soil: str
    shallow: bool
    sector_lost: tuple[float, ...]
    digging: tuple[float, ...]  # nearest hard edge by sector [m], infinite where looked for and none, 0 at cut roots
    cut_off: tuple[float, ...]  # nearest kerb, wall, trench or digging by sector, alike
    slope_deg: float
    downhill_deg: float
    bank_m: float
    wall: float  # thinnest sound wall [m], infinite where sound to the heart
    opening_deg: float
    hollow_height: float  # [m]
    crown_width: float
    crown_base: float
    stressed: bool
    weekly: bool
    signs: tuple[tuple[str, str], ...]
    latitude: float
    depth_unseen: bool  # nobody looked whether rock lies shallow under it
    trial: TrialReading | None = None
    stood: GustMet | None = None
    longitude: float = math.nan
    kind_guessed: bool = False
    missing: tuple[str, ...] = ()
    told: tuple[Finding, ...] = ()
    copied: tuple[Finding, TreeInputs] | None = None  # a number copied thinner than what was read, and the tree by it

    @property
    def soil_factor(self) -> float:
        return SOIL_FACTORS[self.soil].value * (SHALLOW_SOIL_FACTOR.value if self.shallow else 1.0)

    def diameter_at(self, height: float) -> float:
        """Diameter over bark at a height, by the stated taper; a lower section earns no more than was read [m]."""
        return float(self.diameters_at(np.array(height)))

    def diameters_at(self, heights: np.ndarray) -> np.ndarray:
        """The same at several heights [m]; a height that was filled in does not shape the trunk."""
        top = math.nan if self.height_how == "filled" else self.height
        return least_diameter_at(self.diameter, self.read_at, heights, top)


def tree_inputs(
    tree: Tree, tie_height: float | None, latitude: float = math.nan, longitude: float = math.nan,
    taped: TapedBeside = NOTHING_TAPED,
) -> TreeInputs:  # fmt: skip
    """Numbers of a tree for a tie at a height.

    Parameters
    ----------
    tree : Tree
        The tree as recorded.
    tie_height : float or None
        Height of the tie above ground [m]; None where none is planned.
    latitude, longitude : float
        For the season [deg]; NaN where no position is known.
    taped : TapedBeside, optional
        Of the ground beside it, under a line: a bank or a slope, whatever was said of either.
    """
    told: list[Finding] = []
    missing: list[str] = []
    here = trunk_at(tree, tie_height)
    diameter, read_at, stems = here.diameter, here.read_at, np.array(here.stems)
    if tree.stems == "several" and stems.size > 1:
        told.append(found("stems-on-one-foot", "suits if", stems=stems.size, thinnest=diameter))
    match = _species(tree, told, missing)
    guessed = tree.species is None or tree.species.certainty == "guess"
    height, height_sd, filled = height_of(tree, match, diameter, told, missing)
    how = how_read(tree, here)
    told += thicker_tapes(tree, here, how)
    thin = thinner_copied(tree, here, how, tie_height) if tie_height is not None else None
    bark_thin, bark_thick, form, smooth = _bark(tree, match, diameter, missing)
    ground, hollow = tree.ground, tree.hollow
    if math.isnan(diameter):
        missing.append("trunk size")
    if tie_height is None:
        missing.append("tie height")
    if tree.position is None or not (tree.position.fixes or tree.position.ties):
        missing.append("position")
    if tree.lean is None:
        missing.append("lean")
    elif abs(tree.lean.si) > MOST_LEAN.value:
        told.append(found("lean-over-most", "cannot say", lean=abs(tree.lean.si), most=MOST_LEAN.value))
    if ground is None or ground.slope is None:
        missing.append("slope")
    if ground is None or ground.wetness == "unknown":
        missing.append("soil wetness")
    if hollow is not None and hollow.sound_wall is None:
        told.append(found("hollow-wall-unmeasured", "cannot say", looked_at=False))
    elif hollow is not None and hollow.opening is None:  # open to a third of its round, no hollow meets every rule
        told.append(found("hollow-opening-unsaid", "suits if", looked_at=False))
    if ground is not None and ground.texture in UNTRIED_SOILS:
        told.append(found("soil-untried", "suits if", soil=ground.texture))
    unsaid = [what for what, answer in (("stressed", tree.condition), ("used weekly", tree.use_so_far))
              if answer == "unknown"]  # fmt: skip
    if unsaid:
        told.append(found("condition-unsaid", "suits", looked_at=False, things=tuple(unsaid)))
    forks = forked(tree, tie_height, told, missing)
    signs = tuple((name, getattr(tree.signs, name)) for name in STOP_SIGNS)
    missing += [THING_OF_SIGN[name] for name, answer in signs if answer == "not looked"]
    roots = root_diameter(tree, stems, told)
    if math.isnan(roots) and not math.isnan(diameter):  # a limb was read, and nothing of the trunk under it
        missing.append("trunk size")
    told += _far_edges(tree, roots)
    lost, digging, cut_off, bank = _roots(tree, roots, missing, taped.drop)
    slope = abs(ground.slope.si) if ground and ground.slope else math.nan
    told += _taped(taped, slope, ground.bank_distance.si if ground and ground.bank_distance else math.inf, roots)
    return TreeInputs(
        code=tree.code, species=match, diameter=diameter,
        root_diameter=roots, read_at=read_at,
        diameter_how=how, diameter_ln_sd=judged_ln_sd(tree, here, how), stems=stems.size,
        bark_thick=bark_thick, bark_thin=bark_thin, bark_read=bool(tree.bark and tree.bark.thickness),
        bark_form=form, bark_smooth=smooth,
        bark_slips=bool(tree.bark and tree.bark.firmness == "slips easily"),
        mor=match.wood.mor_pa if match.wood else math.nan,
        wood_ln_sd=math.hypot(match.wood.ln_sd if match.wood else 0.0,
                              SPECIES_LN_SD[tree.species.certainty if tree.species else "guess"].value),
        anchorage=anchorage_of(match, guessed=guessed), kind_guessed=guessed,
        height=height, height_high=filled.high if filled else height,
        height_how="filled" if filled else tree.height_how, height_ln_sd=height_sd,
        forked=forks, fork_height=tree.fork_height.si if tree.fork_height else math.nan,
        lean_deg=tree.lean.si if tree.lean else math.nan,
        lean_toward_deg=tree.lean_toward.si if tree.lean_toward else math.nan,
        soil=SOIL_STATE[ground.wetness] if ground else "unknown",
        shallow=bool(ground and (ground.shallow == "yes" or ground.texture == "rock")),
        sector_lost=lost, digging=digging, cut_off=cut_off,
        slope_deg=float(np.fmax(slope, taped.slope_deg)) if taped.slope_deg > LEVEL_UP_TO_DEG.value else slope,
        downhill_deg=ground.downhill.si if ground and ground.downhill else math.nan,
        bank_m=bank,
        wall=hollow.sound_wall.si if hollow and hollow.sound_wall else (math.nan if hollow else math.inf),
        opening_deg=hollow.opening.si if hollow and hollow.opening else 0.0,
        hollow_height=hollow.height.si if hollow else math.nan,
        crown_width=tree.crown_spread.si if tree.crown_spread else math.nan,
        crown_base=_crown_base(tree, height, told),
        stressed=tree.condition != "sound", weekly=tree.use_so_far in ("weekly", "unknown"),
        signs=signs, latitude=latitude, longitude=longitude, trial=trial_reading(tree, SOIL_STATE),
        stood=gust_met(tree),
        missing=tuple(missing), told=tuple(told),
        copied=(thin[0], tree_inputs(thin[1], tie_height, latitude, longitude, taped)) if thin else None,
        depth_unseen=ground is None or (ground.shallow == "not looked" and ground.texture != "rock"),
    )  # fmt: skip


def _species(tree: Tree, told: list[Finding], missing: list[str]) -> SpeciesMatch:
    named = tree.species
    match = _named(named, told) if named else None
    if match is None or match.leaf_type == "unknown":
        leaf = named.leaf_type if named else "unknown"
        if leaf == "unknown":
            missing.append("species or leaf type")
        match = find_species(f"unknown {leaf}" if leaf != "unknown" else "unknown")
    if match.leaf_type == "palm":
        told.append(found("palm-named", "cannot say", looked_at=False))
    if match.matched_by in ("genus", "leaf type"):
        noted = (said("noted", note=match.note),) if match.note else ()
        told.append(found("wood-taken-from", "suits", more=noted, basis=match.wood_basis))
    return match


def _named(named: Species, told: list[Finding]) -> SpeciesMatch | None:
    """What a name means; None where it says that nobody knows, or no table holds it."""
    if is_nothing(named.name):
        return None
    try:
        return find_species(named.name)
    except UnknownName as error:
        told.append(found("name-in-no-table", "suits", name=named.name, why=whys(error)))
        return None


def _crown_base(tree: Tree, height: float, told: list[Finding]) -> float:
    """Height of the lowest branch [m]; NaN where not read, or where it leaves the tree no crown."""
    base = tree.crown_base.si if tree.crown_base is not None else math.nan
    if base >= height:
        return math.nan
    most = MOST_CROWN_BASE.value * height
    if base > most:  # a crown that is hardly there would take the wind off the tree
        told.append(found("lowest-branch-too-high", "suits", base=base, height=height, most=most))
    return min(base, most)


def _bark(
    tree: Tree, match: SpeciesMatch, diameter: float, missing: list[str]
) -> tuple[float, float, str, bool | None]:
    """Thin and thick bark [m], form, whether it counts as smooth."""
    low, _, high = (float(thickness) for thickness in match.bark.thickness_m(diameter))
    if tree.bark and tree.bark.thickness:
        low, high = (tree.bark.thickness.si * (1.0 + way * READ_BARK_SPREAD.value) for way in (-1.0, 1.0))
    if not math.isfinite(high):
        high = UNKNOWN_BARK_SHARE.value * diameter
    seen = BARK_FORM.get(tree.bark.form) if tree.bark else None
    if seen is None:
        missing.append("bark form")
        return low, high, match.bark.form, None  # a kind's usual bark clears no trunk of being smooth
    row = next(row for row in rows("bark_forms") if row.form == seen)
    return low, high, seen, row.thin_or_smooth == "yes"


def _taped(taped: TapedBeside, slope: float, bank: float, root_diameter: float) -> list[Finding]:
    """Told of a bank or a slope that the profile of a line shows and the tree's own record does not."""
    if (drop := taped.drop) is not None and drop.near < min(bank, BANK_REACH_DIAMETERS.value * root_diameter):
        return [found("bank-by-the-tape", "suits", near=drop.near, far=drop.far, fall=drop.fall)]
    if taped.slope_deg > max(LEVEL_UP_TO_DEG.value, slope + SLOPE_OFF.value):
        return [found("slope-by-the-tape", "suits", slope=taped.slope_deg)]
    return []


def _far_edges(tree: Tree, root_diameter: float) -> list[Finding]:
    """Told where an edge was seen near, and those that are listed lie too far off to be it."""
    nearest = min((edge.distance.si for edge in tree.hard_edges), default=math.nan)
    if tree.hard_edge_near != "yes" or not nearest > EDGE_MEANT.value * DIGGING_DIAMETERS.value * root_diameter:
        return []
    return [found("near-edge-not-listed", "cannot say", looked_at=False, nearest=nearest)]


def _roots(
    tree: Tree, root_diameter: float, missing: list[str], drop: Drop | None = None
) -> tuple[tuple[float, ...], tuple[float, ...], tuple[float, ...], float]:
    """Share lost, nearest hard edge and nearest of those that cut roots by sector, and distance to a bank [-, m, m, m].

    Roots seen cut are treated as the digging that cut them, and digging near as roots cut: either answer is the same.
    """
    states = {sector: getattr(tree.roots, sector) if tree.roots else "not looked" for sector in SECTORS}
    if "not looked" in states.values():
        missing.append("roots by sector")
    near = DIGGING_DIAMETERS.value * root_diameter
    dug = {edge.side for edge in tree.hard_edges if edge.what in DUG and edge.distance.si < near}
    lost = tuple(float(np.fmax(SECTOR_LOSS[states[sector]], SECTOR_LOSS["cut"] if sector in dug else math.nan))
                 for sector in SECTORS)  # fmt: skip
    listed, cutting = dict.fromkeys(SECTORS, math.inf), dict.fromkeys(SECTORS, math.inf)
    for edge in tree.hard_edges:
        listed[edge.side] = min(listed[edge.side], edge.distance.si)
        if edge.what in CUTS_ROOTS:
            cutting[edge.side] = min(cutting[edge.side], edge.distance.si)
    ground = tree.ground
    told = [(ground.bank_distance.si, ground.bank_side)] if ground and ground.bank_distance else []
    told += [(drop.near, drop.side)] if drop else []
    for far, side in told:
        for sector in (side,) if side else SECTORS * (far < near):  # a near one nobody placed may be anywhere
            listed[sector] = min(listed[sector], far)
    for sector, state in states.items():
        if state in ("hard surface", "cut", "undercut"):
            listed[sector] = 0.0
    known = tree.hard_edge_near == "no" or (tree.hard_edge_near == "yes" and tree.hard_edges)
    if not known:
        missing.append("kerbs and digging near")
    digging, cut_off = (
        tuple(value if known or math.isfinite(value) else math.nan for value in nearest.values())
        for nearest in (listed, cutting)
    )
    banks = [edge.distance.si for edge in tree.hard_edges if edge.what in ("bank", "water")]
    banks += [far for far, _ in told]
    return lost, digging, cut_off, min(banks) if banks else (math.inf if known else math.nan)
