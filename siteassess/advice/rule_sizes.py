"""Clauses of a size, a distance or a count: what was measured where, beside what is wanted.

A clause that does not say where to measure is held against every value it may mean; a size read at another height
than the clause names counts only where the readings above and below agree.
"""

from __future__ import annotations

import math

import numpy as np

from siteassess.advice.rule_answer import NOT_MEASURED, Answer, Held, among, meets, si
from siteassess.places.instruments import PHONE_UNDER_TREES
from siteassess.records.anchor import Tree, TrunkReading
from siteassess.records.trunk import diameter_m
from siteassess.reference.rules import METRES, CountClause, SizeClause

NEAR_READING_M = 0.15  # a size read this close to the rule's own height is held against it (judgement)
ESTIMATE_SHARE = 0.25  # an estimated trunk within this share of the limit tells nothing (judgement: two of its errors)
# how the rules' words for a thing to keep away from are marked on a site
MARKED_AS = {
    "road": ("road",), "street": ("road",), "trail": ("path", "worn track"), "path": ("path", "worn track"),
    "sidewalk": ("path",), "walk": ("path",), "building": ("building",), "play": ("play area",), "water": ("water",),
    "spectator": ("watcher place",), "power": ("power line",), "wall": ("wall",),
}  # fmt: skip
HEIGHTS = ("attach height", "line height")


def size_clause(clause: SizeClause, held: Held) -> Answer:
    """(answer, wanted, measured) of a size with a limit."""
    wanted = f"{clause.operator} {clause.value:g} {clause.unit}{where_words(clause)}"
    limit = clause.value_m
    if limit is None:  # counts in sling widths: of all the strands, since the pad lies under them all
        width = si(held.end.sling and held.end.sling.width)
        strands = held.end.sling.strands if held.end.sling else 1
        limit = None if width is None else clause.value * width * strands
    if clause.kind == "distance":
        return _distance(clause, limit, wanted, held)
    values, told = _measured(clause, limit, held)
    if limit is None:
        return "cannot tell", wanted, "the sling's width was not given"
    if not values:
        return "cannot tell", wanted, told or NOT_MEASURED
    shown = " to ".join(dict.fromkeys(shown_length(value, clause.unit) for value in (min(values), max(values))))
    return among(values, clause.operator, limit), wanted, shown + (f" ({told})" if told else "")


def where_words(clause: SizeClause) -> str:
    """Where the size is read, or what to keep away from, in words."""
    at = clause.measured_at
    if at is None:
        return f" to {clause.distance_to}" if clause.distance_to else ""
    loaded = ", with somebody on the line" if at.loaded else ""
    place = {"attachment": "at the attachment", "mid-span": "at mid-span", "ground up": "above ground"}[at.place]
    return f" {at.height.value:g} {at.height.unit} above ground" if at.height else f" {place}{loaded}"


def shown_length(metres: float, unit: str) -> str:
    """A length in the clause's own unit."""
    factor = METRES.get(unit)
    return f"{metres:.3g} m" if factor is None else f"{metres / factor:.3g} {unit}"


def _measured(clause: SizeClause, limit: float | None, held: Held) -> tuple[list[float], str]:
    """Every value the clause may mean [m], and a word on them."""
    if clause.kind in ("trunk diameter", "trunk girth"):
        if held.tree is None:
            return [], "the anchor is no tree"
        scale = math.pi if clause.kind == "trunk girth" else 1.0
        sizes, told = _trunk(held.tree, clause, held.result)
        if _only_estimated(held.tree, [size * scale for size in sizes], limit):
            return [], "only estimated, and near the limit: lay a tape"
        return [size * scale for size in sizes], told
    if clause.kind in HEIGHTS:
        return _heights(clause, held)
    if clause.kind == "clear stem":
        return _clear_stem(held.tree, limit)
    pad, sling, geometry = held.end.padding, held.end.sling, held.whole.geometry
    value = {
        "span": geometry.taped_m or geometry.distance_m, "line length": geometry.taped_m or geometry.distance_m,
        "strap width": si(sling and sling.width), "pad thickness": si(pad and pad.thickness),
        "pad width": si(pad and pad.width), "crown base": si(held.tree and held.tree.crown_base),
        "tree height": si(held.tree and held.tree.height),
    }[clause.kind]  # fmt: skip
    return ([] if value is None else [value]), ""


def _trunk(tree: Tree, clause: SizeClause, result) -> tuple[list[float], str]:
    """Diameters the clause may mean [m]."""
    at = clause.measured_at
    if at is None:
        return [diameter_m(reading) for reading in tree.trunk], "at every height read" if len(tree.trunk) > 1 else ""
    height = result.tie_height_m if at.place == "attachment" else clause.measured_at_m
    if height is None:
        return [], "the height of the tie was not given"
    near = [reading for reading in tree.trunk if abs(reading.read_at.si - height) <= NEAR_READING_M]
    if near:
        nearest = min(near, key=lambda reading: abs(reading.read_at.si - height))
        return [diameter_m(nearest)], ""
    around = _around(tree.trunk, height)
    if around:
        return around, "read above and below that height"
    return [], f"no size was read near {height:.2f} m"


def _around(trunk: tuple[TrunkReading, ...], height: float) -> list[float]:
    """Diameters read next below and next above a height; none where it lies outside all readings."""
    below = [reading for reading in trunk if reading.read_at.si <= height]
    above = [reading for reading in trunk if reading.read_at.si >= height]
    if not (below and above):
        return []
    pair = max(below, key=lambda r: r.read_at.si), min(above, key=lambda r: r.read_at.si)
    return [diameter_m(reading) for reading in pair]


def _only_estimated(tree: Tree, sizes: list[float], limit: float | None) -> bool:
    if limit is None or not sizes or any(reading.how != "estimated" for reading in tree.trunk):
        return False
    return any(abs(size / limit - 1) < ESTIMATE_SHARE for size in sizes)


def _heights(clause: SizeClause, held: Held) -> tuple[list[float], str]:
    """Heights the clause may mean over the ground: at this tie, at mid-span, or both where it does not say [m]."""
    at = clause.measured_at
    tie = held.result.tie_height_m
    if clause.kind == "attach height" or (at and at.place == "attachment"):
        return ([] if tie is None else [tie]), ""
    loaded, bare = _mid_heights(held)
    if at is None:
        known = [value for value in (tie, bare) if value is not None]
        return (known, "at the tie and at mid-span") if len(known) == 2 else ([], "mid-span height not known")
    if at.loaded:
        return ([] if loaded is None else [loaded]), ""
    known = [value for value in (loaded, bare) if value is not None]
    return known, "with and without somebody on it, since the text does not say" if len(known) == 2 else ""


def _mid_heights(held: Held) -> tuple[float | None, float | None]:
    """Height over the ground at mid-span with and without the walker [m]."""
    clear, recorded = held.whole.clearance, si(held.line.mid_height)
    if clear is None:
        return recorded, None
    loaded = recorded if recorded is not None else clear.mid_height_loaded_m
    if not clear.x_m:
        return loaded, None
    middle = (clear.x_m[0] + clear.x_m[-1]) / 2
    bare = float(np.interp(middle, clear.x_m, np.subtract(clear.unloaded_m, clear.ground_m)))
    return loaded, bare if math.isfinite(bare) else None


def _clear_stem(tree: Tree | None, limit: float | None) -> tuple[list[float], str]:
    """Lowest fork or branch; one of them unread tells nothing unless the other is too low already [m]."""
    if tree is None:
        return [], "the anchor is no tree"
    branch, fork = si(tree.crown_base), si(tree.fork_height)
    known = [value for value in (branch, fork) if value is not None]
    complete = branch is not None and (fork is not None or tree.stems == "single")
    if known and (complete or (limit is not None and min(known) < limit)):
        return [min(known)], ""
    return [], "lowest branch or fork not read"


def _distance(clause: SizeClause, limit: float | None, wanted: str, held: Held) -> Answer:
    """Least distance from the line to a kind of thing, with the error of the positions held against it."""
    said = (clause.distance_to or "").casefold()
    kinds = {kind for word, marked in MARKED_AS.items() if word in said for kind in marked}
    things = [near for near in held.near if near.kind in kinds]
    if limit is None or not things:
        why = f"no {clause.distance_to} is marked; that does not say there is none"
        why = "no position" if held.place is None else why
        return "cannot tell", wanted, why
    nearest = things[0]
    sigma = nearest.sigma_m if math.isfinite(nearest.sigma_m) else PHONE_UNDER_TREES.high
    shown = (f"{shown_length(nearest.distance_m, clause.unit)} to {nearest.kind} {nearest.name}".rstrip()
             + f", good to {shown_length(2 * sigma, clause.unit)}; of what is marked")  # fmt: skip
    answers = [max(nearest.distance_m + turn * 2 * sigma, 0.0) for turn in (-1, 1)]
    return among(answers, clause.operator, limit), wanted, shown


def count_clause(clause: CountClause, held: Held) -> Answer:
    """(answer, wanted, measured) of a number of people or lines."""
    wanted = f"{clause.operator} {clause.value}"
    if clause.kind == "people on the line":
        if held.line.walkers is None:
            return "cannot tell", wanted, "nobody was named"
        count, told = held.line.walkers.at_once, ""
    else:
        lines = [other for other in held.record.lines if held.anchor.code in (other.a.anchor, other.b.anchor)]
        count, told = sum(_may_meet(held.line, other) for other in lines), " in this record"
    return ("met" if meets(count, clause.operator, clause.value) else "not met"), wanted, f"{count}{told}"


def _may_meet(one, other) -> bool:
    """Whether two lines may hang at once; without days on both nobody can rule it out."""
    if not (one.planned and other.planned and one.planned.date and other.planned.date):
        return True
    starts = [line.planned.date for line in (one, other)]
    ends = [line.planned.until or line.planned.date for line in (one, other)]
    return max(starts) <= min(ends)
