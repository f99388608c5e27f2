"""How thick a trunk is, here: the one answer that the judgement and every paper share."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from siteassess.records.anchor import Stem, Tree, TrunkReading
from siteassess.reference.constants import constant
from siteassess.units import Quantity, show

BREAST_HEIGHT = constant("breast height")
FLARE_UP_TO = constant("flare up to")
FLARE_TOP_M = constant("flare top")
SAME_HEIGHT_M = constant("same place height")
SAME_PLACE_RATIO = constant("same place ratio")
STEEPEST_TAPER = constant("steepest taper")
USUAL_TAPER = constant("taper per metre")
MEASURED = ("taped", "calipers")


@dataclass(frozen=True)
class TrunkHere:
    """A trunk's size for a tie at a height."""

    diameter: float  # over bark; of several stems that of the thinnest, taken to bear the whole pull [m]; NaN for none
    read_at: float  # height above ground of that reading [m]; NaN where none was read
    reading: TrunkReading | Stem | None  # as typed
    stems: tuple[float, ...]  # every stem's diameter, one for a single trunk [m]


def as_typed(reading: TrunkReading | Stem) -> tuple[str, Quantity]:
    """The size of a reading with its name, girth or diameter, as it was typed [m].

    Parameters
    ----------
    reading : of a trunk, or one of several stems
    """
    if isinstance(reading, TrunkReading) and reading.diameter is not None:
        return "diameter", reading.diameter
    assert reading.girth is not None  # a reading has one of the two
    return "girth", reading.girth


def diameter_m(reading: TrunkReading | Stem) -> float:
    """Diameter over bark of a reading; a girth is taken as that of a circle [m].

    Parameters
    ----------
    reading : of a trunk, or one of several stems
    """
    name, size = as_typed(reading)
    return size.si / math.pi if name == "girth" else size.si


def nearest_reading(
    trunk: Sequence[TrunkReading], height: float | None, parts: float = math.inf
) -> TrunkReading | None:
    """The reading a trunk is judged by at a height [m], None for breast height, where an inventory reads.

    It is the nearest above the flare, or the thinnest under that height where one is thinner still: at a waist or a
    wound a pull bends the trunk more than at the tie. Of readings of one place the thinner counts, and a reading counts
    as no thicker than the steepest taper leaves it under whatever was read higher up. A guess never makes the trunk
    thicker than a tape does, and a copied number counts only where there is nothing else; where no tape went round,
    the thinnest of what there is counts, wherever it was read.

    Parameters
    ----------
    trunk : all readings
    height : above the ground [m]
    parts : see `parts_at` [m]

    Returns
    -------
    As typed, or with the diameter that it counts as; None where nothing was read.
    """
    own, at = without_copies(trunk), BREAST_HEIGHT.value if height is None else height
    stem, taped = above_flare(trunk), _taped(above_flare(trunk))
    # a tree is known by what is nearest to breast height however it was read
    near = (*_nearest(stem, height), *_nearest(taped, height)) if taped or height is None else tuple(stem)
    again = (other for one in near for other in own if one_place(*sorted((one.read_at.si, other.read_at.si))))
    top = max((one.read_at.si for one in near), default=0.0)
    under = [one for one in own if one.read_at.si < max(at, FLARE_UP_TO.value, top)]
    if height is None and taped:  # a waist thins no roots, and nobody knows a tree by it
        under = []
    counted = [_no_thicker(one, own, parts) for one in (*near, *again, *under)]
    return min(counted, key=lambda one: diameter_m(one) - USUAL_TAPER * max(at - one.read_at.si, 0.0), default=None)


def above_flare(trunk: Sequence[TrunkReading]) -> Sequence[TrunkReading]:
    """What was read of a trunk above its flare, or all where nothing was; copied numbers where there is nothing else.

    Parameters
    ----------
    trunk : all readings
    """
    own = without_copies(trunk)
    return [one for one in own if one.read_at.si >= FLARE_UP_TO.value] or own


def _no_thicker(reading: TrunkReading, trunk: Sequence[TrunkReading], parts: float) -> TrunkReading:
    """A reading, or the same with the most that a trunk so thin above it has there."""
    most = min((most_under(other, reading.read_at.si) for other in trunk if steeper(reading, other, parts)),
               default=math.inf)  # fmt: skip
    if most >= diameter_m(reading):
        return reading
    return reading.model_copy(update={"girth": None, "diameter": Quantity(most, show(most, "cm 1"), "length")})


def parts_at(tree: Tree) -> float:
    """Height of the lowest fork or branch [m]; infinite where none was told, NaN where a fork's height was not.

    Parameters
    ----------
    tree : with its fork and crown
    """
    if tree.fork_height is None and tree.stems not in ("single", "unknown"):
        return math.nan
    return min((one.si for one in (tree.fork_height, tree.crown_base) if one is not None), default=math.inf)


def steeper(one: TrunkReading, other: TrunkReading, parts: float) -> bool:
    """Whether a reading higher up is thinner than any taper leaves a trunk that stays one.

    Parameters
    ----------
    one, other : of one trunk, the lower first
    parts : see `parts_at` [m]
    """
    if other.read_at.si <= one.read_at.si or one.read_at.si < parts < other.read_at.si:
        return False
    return too_steep(diameter_m(one), one.read_at.si, diameter_m(other), other.read_at.si)


def most_under(thin: TrunkReading, at: float) -> float:
    """The most that a trunk has at a height, which has so little above it [m].

    Parameters
    ----------
    thin : read higher up
    at : the lower height [m]
    """
    return float(SAME_PLACE_RATIO) * diameter_m(thin) + float(STEEPEST_TAPER) * (thin.read_at.si - at)


def one_place(low: float, high: float) -> bool:
    """Whether readings at two heights are of one place of a trunk.

    Parameters
    ----------
    low, high : heights above the ground [m]
    """
    return round(high - low, 3) < SAME_HEIGHT_M


def too_steep(low: float, low_at: float, high: float, high_at: float) -> bool:
    """Whether a trunk loses more from one diameter to the other, above its flare, than any taper and what two readings
    of one place may differ by; all in [m]."""
    allowed = STEEPEST_TAPER * (high_at - low_at) + SAME_PLACE_RATIO * high
    return low_at >= FLARE_TOP_M and low > allowed


def without_copies(trunk: Sequence[TrunkReading]) -> tuple[TrunkReading, ...]:
    """What was read of a trunk, or the copied numbers where there is nothing else.

    Parameters
    ----------
    trunk : all readings
    """
    return tuple(one for one in trunk if one.how != "copied") or tuple(trunk)


def nearer_copies(trunk: Sequence[TrunkReading], height: float) -> list[TrunkReading]:
    """Numbers copied for as near to a height [m] as a tape went round, or lower; all of them where none did.

    Parameters
    ----------
    trunk : all readings
    height : above the ground [m]
    """
    taped = min((abs(one.read_at.si - height) for one in _taped(trunk)), default=math.inf)
    return [one for one in trunk if one.how == "copied"
            and (round(abs(one.read_at.si - height) - taped, 3) <= 0 or one.read_at.si < height)]  # fmt: skip


def _thin(reading: TrunkReading) -> tuple[float, float]:
    """What the thinnest has least of: of two as thick that which was read lower is the thinner at any one height."""
    return diameter_m(reading), reading.read_at.si


def _taped(readings: Sequence[TrunkReading]) -> list[TrunkReading]:
    return [one for one in readings if one.how in MEASURED]


def _nearest(readings: Sequence[TrunkReading], height: float | None) -> list[TrunkReading]:
    """All that are as near as the nearest."""
    apart = [nearness(one.read_at.si, 0.0, height) for one in readings]
    return [one for one, off in zip(readings, apart) if off == min(apart)]


def nearness(read_at: float, size: float, height: float | None) -> tuple[float, float]:
    """What the reading nearest to a height has least of [m]; of two as near the thinner counts.

    Parameters
    ----------
    read_at, size : height of the reading and what it read [m]
    height : that is asked for [m]; None for breast height
    """
    return round(abs(read_at - (BREAST_HEIGHT.value if height is None else height)), 3), size


def on_a_limb(tree: Tree, tie_height: float | None) -> bool:
    """Whether a tie lies above a fork, by what was said of the stems or by the height of the fork.

    Parameters
    ----------
    tree : with its stems and its fork
    tie_height : [m]; None lies on no limb
    """
    if tie_height is None or tree.stems == "several":
        return False
    return tree.stems == "fork below tie" or (tree.fork_height is not None and tree.fork_height.si < tie_height)


def limb_readings(tree: Tree, tie_height: float | None) -> tuple[TrunkReading, ...]:
    """Readings of the stem that bears a tie above a fork: those above the fork, or where its height is not known, those
    at the tie or above; every reading where no fork lies below the tie.

    Parameters
    ----------
    tree : with its readings and its fork
    tie_height : [m]; None where it is not known
    """
    if tie_height is None or not on_a_limb(tree, tie_height):
        return tree.trunk
    fork = tree.fork_height.si if tree.fork_height else math.inf  # a girth taken at the fork goes round both
    return tuple(one for one in without_copies(tree.trunk) if one.read_at.si >= tie_height or one.read_at.si > fork)


def trunk_at(tree: Tree, tie_height: float | None) -> TrunkHere:
    """The trunk as it is judged for a tie at a height [m]; None for the trunk a tree is known by, at breast height.

    Of several stems, on one foot or above a fork that lies below the tie, the thinnest counts, since nobody says which;
    a limb counts as no thicker than what was read of it, or of the trunk under its fork. One stem listed beside one
    trunk is that trunk at the tie, read once more.

    Parameters
    ----------
    tree : with its readings and stems
    tie_height : [m]
    """
    limbs = limb_readings(tree, tie_height)
    below = [one for one in without_copies(tree.trunk) if one not in limbs]
    each = (nearest_reading(part, tie_height, parts_at(tree)) for part in (limbs, below))
    read = [one for one in each if one is not None]
    reading = min(read, key=_thin, default=None)
    sizes = tuple(map(diameter_m, tree.each_stem))
    thinnest = min(tree.each_stem, key=diameter_m, default=None)
    if on_a_limb(tree, tie_height) or (tree.stems == "several" and len(tree.each_stem) > 1):
        if thinnest is not None and reading is not None and reading.how == "copied":
            reading = None  # the stems themselves were taped
        if thinnest is not None and (reading is None or diameter_m(thinnest) <= diameter_m(reading)):
            return TrunkHere(diameter_m(thinnest), tie_height if tie_height is not None else 0.0, thinnest, sizes)
    else:
        sizes = ()
        again = thinnest if len(tree.each_stem) == 1 and tree.stems != "several" else None
        if again and reading and tie_height is not None and diameter_m(again) < diameter_m(reading):
            return TrunkHere(diameter_m(again), tie_height, again, (diameter_m(again),))
    if reading is None:
        return TrunkHere(math.nan, math.nan, None, (math.nan,))
    return TrunkHere(diameter_m(reading), reading.read_at.si, reading, sizes or (diameter_m(reading),))


def at_ties(tree: Tree, heights: Iterable[float | None]) -> dict[float, TrunkHere]:
    """The trunk at each tie that is judged by another reading than the one the tree is known by.

    Parameters
    ----------
    tree : with its readings and stems
    heights : of the ties [m]; None where none is planned

    Returns
    -------
    By height of the tie [m].
    """
    known = trunk_at(tree, None).reading
    told = {height: trunk_at(tree, height) for height in heights if height is not None}
    return {height: here for height, here in told.items() if here.reading not in (known, None)}
