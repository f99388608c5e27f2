"""What a rule's clause is held against, and the clauses of a size, a distance or a count.

A clause that does not say where to measure is held against every value it may mean; a size read at another height
than the clause names counts only where the readings above and below agree.
"""

from __future__ import annotations

import datetime
import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import get_args

import numpy as np

from siteassess.advice.gear_inputs import pad_planned
from siteassess.advice.results import AnchorResult, Answered, LineResult
from siteassess.advice.surroundings import Near
from siteassess.advice.survey_age import same_time
from siteassess.places.crossings import FIX_AT_ITS_WORST_M
from siteassess.records.anchor import Anchor, Tree, TrunkReading
from siteassess.records.line import End, Line
from siteassess.records.record import Record
from siteassess.records.trunk import diameter_m, nearest_reading, on_a_limb, parts_at, trunk_at
from siteassess.reference.constants import constant
from siteassess.reference.findings import Said, said
from siteassess.reference.rules import CountClause, LengthUnit, SizeClause, ThingClause
from siteassess.units import Quantity, si_factor

ClauseAnswer = tuple[Answered, Said, Said]  # answer, what is wanted, what was measured
NO_TREE, NO_POSITION, A_TREE = Said("rule-no-tree"), Said("no-position"), Said("rule-a-tree")


def written(text: str) -> Said:
    """What somebody wrote."""
    return said("name-alone", name=text)


def chosen(word: str) -> Said:
    """A word of the record or the rules."""
    return said("kind-alone", kind=word)


def anchor_words(anchor: Anchor) -> Said:
    """What an anchor is that is no tree: as somebody named it, else its kind."""
    what = getattr(anchor, "what", None)
    return written(what) if what else chosen(anchor.kind)


@dataclass(frozen=True)
class HeldAgainst:
    """One end of one line, with what was worked out for it: what every clause is held against.

    `place` is the latitude and longitude of the anchor [deg], None where it has no position; `near` what the site
    marks, by distance from the line; `crossed` the kinds of marked things the line crosses; `asked` the day every line
    is judged for instead of its own.
    """

    record: Record
    line: Line
    anchor: Anchor
    end: End
    result: AnchorResult
    whole: LineResult
    on: datetime.date
    place: tuple[float, float] | None = None
    near: tuple[Near, ...] = ()
    crossed: tuple[Near, ...] = ()
    asked: datetime.date | None = None

    @property
    def tree(self) -> Tree | None:
        return self.anchor if isinstance(self.anchor, Tree) else None


def meets(value: float, operator: str, limit: float) -> bool:
    """Whether a value meets a limit; a hair is let pass, so that 30 cm meets 30 cm in every unit."""
    hair = 1e-9
    return {">=": value >= limit - hair, ">": value > limit + hair, "<=": value <= limit + hair,
            "<": value < limit - hair}[operator]  # fmt: skip


def among(values: Sequence[float], operator: str, limit: float) -> Answered:
    """One answer from every value the clause may mean: where they disagree, or there is none, nobody can tell."""
    answers = {meets(value, operator, limit) for value in values}
    if len(answers) != 1:
        return "cannot tell"
    return "met" if answers.pop() else "not met"


def answer_whether(there: bool | None, asks: str) -> Answered:
    """Answer for a thing that is there or not, or of which the record does not say."""
    if there is None:
        return "cannot tell"
    return "met" if there == (asks == "required") else "not met"


def si_of(quantity: Quantity | None) -> float | None:
    return quantity.si if quantity else None


NEAR_READING_M = constant("rule height near")
GUESSED = ("estimated", "unknown")  # nobody said how is taken as estimated
ESTIMATE_SHARE = constant("rule estimate share")
# how the rules' words for a thing to keep away from are marked on a site, where they are not the marks' own
MARKED_AS = {
    "street": ("road",), "trail": ("path", "worn track"), "path": ("path", "worn track"), "sidewalk": ("path",),
    "walkway": ("path",), "playground": ("play area",), "spectators": ("watcher place",),
}  # fmt: skip
AT = {"attachment": "rule-at-the-attachment", "mid-span": "rule-at-mid-span", "ground up": "rule-above-ground"}
HEIGHTS = ("attach height", "line height")


def size_clause(clause: SizeClause, held: HeldAgainst) -> ClauseAnswer:
    """(answer, wanted, measured) of a size with a limit."""
    wanted, limit = size_asked(clause), clause.value_m
    if limit is None:  # counts in sling widths: of all the strands, since the pad lies under them all
        sling = held.end.sling
        width, strands = (si_of(sling.width), sling.strands) if sling else (None, 1)
        limit = None if width is None else clause.value * width * strands
    if clause.kind == "distance":
        return _distance(clause, limit, wanted, held)
    values, told = _measured(clause, limit, held)
    if limit is None:
        return "cannot tell", wanted, said("rule-sling-width-not-given")
    if not values:
        return "cannot tell", wanted, told or said("rule-not-measured")
    shown = tuple(dict.fromkeys(in_unit(value, clause.unit) for value in (min(values), max(values))))
    how = (said("limit-notes", why=(told,)),) if told else ()
    code = "rule-read" if len(shown) == 1 else "rule-read-between"
    return among(values, clause.operator, limit), wanted, said(code, low=shown[0], high=shown[-1], how=how)


def missed_by(clause: SizeClause, held: HeldAgainst) -> float:
    """By how much the worst of what a clause may mean misses its limit [m]; 0 where none is known to."""
    limit = clause.value_m
    if limit is None:
        return 0.0
    near = clause.kind == "distance"
    values = [one.distance_m for one in _things(clause, held)] if near else _measured(clause, limit, held)[0]
    return max((abs(value - limit) for value in values if not meets(value, clause.operator, limit)), default=0.0)


def size_asked(clause: SizeClause) -> Said:
    """The limit of a clause, with where the size is read or what to keep away from.

    Parameters
    ----------
    clause : of a rule set
    """
    where = (*_where(clause), *only_when(clause))
    return said("rule-size", operator=clause.operator, value=clause.value, unit=clause.unit, where=where)


def only_when(clause: SizeClause | ThingClause) -> tuple[Said, ...]:
    """The condition a clause holds under, in the words of the rules."""
    return (said("rule-when", when=clause.when),) if clause.when else ()


def _where(clause: SizeClause) -> tuple[Said, ...]:
    at = clause.measured_at
    if at is None:
        return (said("rule-away-from", thing=clause.distance_to),) if clause.distance_to else ()
    if at.height:
        return (said("rule-at-height", height=at.height.value, unit=at.height.unit),)
    return (said(AT[at.place]), *((said("rule-somebody-on"),) if at.loaded else ()))


def in_unit(metres: float, unit: str) -> Said:
    """A length in the clause's own unit, to three figures."""
    told = unit if unit in get_args(LengthUnit) else "m"
    length = metres / si_factor("length", told)
    return said("rule-length", length=float(f"{length:.3g}"), unit=told)


def _measured(clause: SizeClause, limit: float | None, held: HeldAgainst) -> tuple[list[float], Said | None]:
    """Every value the clause may mean [m], and a word on them."""
    if clause.kind in ("trunk diameter", "trunk girth"):
        if held.tree is None:
            return [], NO_TREE
        scale = math.pi if clause.kind == "trunk girth" else 1.0
        sizes, told = _trunk(held.tree, clause, held.result)
        if _only_estimated(held.tree, [size * scale for size in sizes], limit):
            return [], said("rule-only-estimated")
        return [size * scale for size in sizes], told
    if clause.kind in HEIGHTS:
        return _heights(clause, held)
    if clause.kind == "clear stem":
        return _clear_stem(held.tree, limit)
    if clause.kind == "strap width":
        return _strap_widths(held.end)
    pad, tree, geometry = pad_planned(held.end), held.tree, held.whole.geometry
    value = {
        "span": geometry.taped_m or geometry.distance_m, "line length": geometry.taped_m or geometry.distance_m,
        "pad thickness": si_of(pad.thickness) if pad else None,
        "pad width": si_of(pad.width) if pad else None, "crown base": si_of(tree.crown_base) if tree else None,
        "tree height": si_of(tree.height) if tree else None,
    }[clause.kind]  # fmt: skip
    return ([] if value is None else [value]), None


def _trunk(tree: Tree, clause: SizeClause, result: AnchorResult) -> tuple[list[float], Said | None]:
    """Diameters the clause may mean [m]."""
    at = clause.measured_at
    if tree.stems == "several":  # a girth round all of them is of no trunk
        return ([trunk_at(tree, None).diameter], None) if len(tree.each_stem) > 1 else ([], said("girths-not-given"))
    if at is None:
        several = said("rule-every-height") if len(tree.trunk) > 1 else None
        return [diameter_m(reading) for reading in tree.trunk], several
    height = result.tie_height_m if at.place == "attachment" else clause.measured_at_m
    if height is None:
        return [], said("rule-tie-height-not-given")
    here = trunk_at(tree, height)
    if at.place == "attachment" and (len(here.stems) > 1 or on_a_limb(tree, height)):
        return ([], said("limb-unread")) if math.isnan(here.diameter) else ([here.diameter], None)
    near = [one for one in tree.trunk if abs(one.read_at.si - height) <= NEAR_READING_M]
    nearest = nearest_reading(near, height, parts_at(tree))
    if nearest is not None:
        return [diameter_m(nearest)], None
    around = _around(tree.trunk, height)
    if around:
        return around, said("rule-above-and-below")
    return [], said("rule-no-size-near", height=height)


def _around(trunk: tuple[TrunkReading, ...], height: float) -> list[float]:
    """Diameters read next below and next above a height; none where it lies outside all readings."""
    below = [reading for reading in trunk if reading.read_at.si <= height]
    above = [reading for reading in trunk if reading.read_at.si >= height]
    if not (below and above):
        return []
    pair = max(below, key=lambda r: r.read_at.si), min(above, key=lambda r: r.read_at.si)
    return [diameter_m(reading) for reading in pair]


def _only_estimated(tree: Tree, sizes: list[float], limit: float | None) -> bool:
    if limit is None or not sizes or any(reading.how not in GUESSED for reading in tree.trunk):
        return False
    return any(abs(size / limit - 1) < ESTIMATE_SHARE for size in sizes)


def _heights(clause: SizeClause, held: HeldAgainst) -> tuple[list[float], Said | None]:
    """Heights the clause may mean over the ground: at this tie, at mid-span, or both where it does not say [m]."""
    at = clause.measured_at
    tie = held.result.tie_height_m
    if clause.kind == "attach height" or (at and at.place == "attachment"):
        return ([] if tie is None else [tie]), None
    loaded, bare = _mid_heights(held)
    if at is None:
        known = [value for value in (tie, bare) if value is not None]
        return (known, said("rule-tie-and-middle")) if len(known) == 2 else ([], said("rule-mid-height-unknown"))
    if at.loaded:
        return ([] if loaded is None else [loaded]), None
    known = [value for value in (loaded, bare) if value is not None]
    return known, said("rule-with-and-without") if len(known) == 2 else None


def _mid_heights(held: HeldAgainst) -> tuple[float | None, float | None]:
    """Height over the ground at mid-span with and without the walker [m]."""
    clear, recorded = held.whole.clearance, si_of(held.line.mid_height)
    if clear is None:
        return recorded, None
    loaded = recorded if recorded is not None else clear.mid_height_loaded_m
    if not clear.x_m:
        return loaded, None
    middle = (clear.x_m[0] + clear.x_m[-1]) / 2
    bare = float(np.interp(middle, clear.x_m, np.subtract(clear.unloaded_m, clear.ground_m)))
    return loaded, bare if math.isfinite(bare) else None


def _strap_widths(end: End) -> tuple[list[float], Said | None]:
    """Of a strand, and of all side by side: a rule seldom says which it means of a sling laid double [m]."""
    width = si_of(end.sling.width) if end.sling else None
    if end.sling is None or width is None:
        return [], None
    if end.sling.strands == 1:
        return [width], None
    return [width, width * end.sling.strands], said("rule-strands-together", strands=end.sling.strands)


def _clear_stem(tree: Tree | None, limit: float | None) -> tuple[list[float], Said | None]:
    """Lowest fork or branch; one of them unread tells nothing unless the other is too low already [m]."""
    if tree is None:
        return [], NO_TREE
    branch, fork = si_of(tree.crown_base), si_of(tree.fork_height)
    known = [value for value in (branch, fork) if value is not None]
    complete = branch is not None and (fork is not None or tree.stems == "single")
    if known and (complete or (limit is not None and min(known) < limit)):
        return [min(known)], None
    return [], said("rule-branch-or-fork-unread")


def _distance(clause: SizeClause, limit: float | None, wanted: Said, held: HeldAgainst) -> ClauseAnswer:
    """Least distance from the line to a kind of thing, with the error of the positions held against it."""
    things = _things(clause, held)
    if limit is None or not things:
        unmarked = said("rule-none-marked", thing=clause.distance_to)
        return "cannot tell", wanted, NO_POSITION if held.place is None else unmarked
    nearest = things[0]
    sigma = nearest.sigma_m if math.isfinite(nearest.sigma_m) else FIX_AT_ITS_WORST_M
    shown = said("rule-distance-named" if nearest.name else "rule-distance", kind=nearest.kind, name=nearest.name,
                 length=in_unit(nearest.distance_m, clause.unit), error=in_unit(2 * sigma, clause.unit))  # fmt: skip
    answers = [max(nearest.distance_m + turn * 2 * sigma, 0.0) for turn in (-1, 1)]
    return among(answers, clause.operator, limit), wanted, shown


def _things(clause: SizeClause, held: HeldAgainst) -> list[Near]:
    """What a clause asks to keep away from, the nearest first."""
    away = (clause.distance_to or "").casefold()
    kinds = MARKED_AS.get(away, (away,))
    return [near for near in held.near if near.kind in kinds]


def count_clause(clause: CountClause, held: HeldAgainst) -> ClauseAnswer:
    """(answer, wanted, measured) of a number of people or lines."""
    wanted = count_asked(clause)
    if clause.kind == "people on the line":
        walkers = held.line.walkers
        if walkers is None or walkers.at_once is None:
            return "cannot tell", wanted, said("rule-people-unsaid")
        count, code = walkers.at_once, "rule-counted"
    else:
        lines = [other for other in held.record.lines if held.anchor.code in (other.a.anchor, other.b.anchor)]
        count, code = sum(same_time(held.line, other, held.asked) for other in lines), "rule-counted-here"
    return ("met" if meets(count, clause.operator, clause.value) else "not met"), wanted, said(code, count=count)


def count_asked(clause: CountClause) -> Said:
    """The limit of a clause.

    Parameters
    ----------
    clause : of a rule set
    """
    return said("rule-count", operator=clause.operator, value=clause.value)
