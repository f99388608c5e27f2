"""Who may see what: one table, field by field. What is not in the table never leaves the officers.

Three layers, each holding all of the one before: `public` (which parks, roughly where), `members` (anchors and lines),
`officer` (everything: nests, private owners, names and numbers of people, exact points of sensitive places).

A position is coarsened by rounding to the middle of a fixed grid's cell, never by a random shift: shifts of repeated
exports could be averaged away, the cell's middle stays the same.
"""

from __future__ import annotations

import math
import re
from collections.abc import Mapping
from typing import Any

LAYERS = ("public", "members", "officer")

# widest layer a place may reach when nobody says otherwise; private ground is never shared unasked (judgement)
USUAL_REACH = {
    "mown amenity": "public",
    "woodland": "public",
    "school ground": "members",
    "conservation": "members",
    "heritage place": "members",
    "private": "officer",
    "unknown": "members",
}
SENSITIVE_LAND = frozenset(("conservation", "heritage place", "private"))
SENSITIVE_STANDING = frozenset(("heritage", "veteran", "memorial", "preservation order"))
# size of a grid cell: a park for the public (judgement)
PUBLIC_GRID_M = 1000.0

_PUBLIC = """
site.name site.invented site.land_status site.country site.region site.rule_set site.credit
"""
_MEMBERS = """
site.root_zone_standard site.emergency.number site.emergency.place site.emergency.gate site.emergency.access
site.emergency.signal site.emergency.defibrillator site.permission.basis site.permission.expires anchor.kind
anchor.code anchor.tag anchor.name anchor.what anchor.status anchor.designated anchor.position.fixes.lat
anchor.position.fixes.lon anchor.position.fixes.accuracy anchor.position.fixes.accuracy_means
anchor.position.fixes.how anchor.species.name anchor.species.certainty anchor.species.leaf_type
anchor.trunk.girth anchor.trunk.diameter anchor.trunk.read_at anchor.trunk.how anchor.each_stem.girth
anchor.trial.date anchor.trial.finest anchor.trial.moved anchor.trial.pull anchor.trial.tie_height
anchor.trial.tilt anchor.trial.toward anchor.trial.wetness anchor.stood.exposed anchor.stood.changed
anchor.stood.in_leaf anchor.stood.gust anchor.stood.station anchor.stems anchor.fork_height anchor.height
anchor.height_how anchor.crown_base anchor.crown_spread anchor.life_stage anchor.condition anchor.use_so_far
anchor.bark.form anchor.bark.thickness anchor.bark.firmness anchor.bark.resin anchor.lean anchor.lean_toward
anchor.hollow.height anchor.hollow.sound_wall anchor.hollow.opening anchor.roots.N anchor.roots.NE
anchor.roots.E anchor.roots.SE anchor.roots.S anchor.roots.SW anchor.roots.W anchor.roots.NW anchor.roots.flare
anchor.hard_edges.what anchor.hard_edges.side anchor.hard_edges.distance anchor.hard_edge_near
anchor.ground.slope anchor.ground.downhill anchor.ground.texture anchor.ground.shallow anchor.ground.wetness
anchor.ground.bare anchor.ground.bank_distance anchor.ground.bank_side anchor.signs.dead_tree
anchor.signs.soil_heave anchor.signs.fresh_lean anchor.signs.bracket_fungus anchor.signs.stem_crack
anchor.signs.undercut_roots anchor.signs.wide_opening anchor.signs.hanging_limb anchor.signs.posted_no
anchor.softer_signs.hollow_sound anchor.softer_signs.loose_bark anchor.softer_signs.old_damage
anchor.softer_signs.toadstools anchor.softer_signs.thin_crown anchor.softer_signs.corrected_lean
anchor.along_pull anchor.across_pull anchor.upright anchor.rock anchor.bed anchor.slope anchor.downhill
anchor.embedded anchor.edge_distance anchor.edge_bearing anchor.rocks_when_pushed anchor.cracked
anchor.posted_no line.id line.name line.use line.a.anchor line.a.tie_height line.b.anchor line.b.tie_height
line.a.sling.kind line.a.sling.wrap line.a.sling.width line.a.sling.strands line.a.sling.link_distance
line.a.sling.length line.a.sling.rating line.a.sling.rating_is line.b.sling.rating line.b.sling.rating_is
line.b.sling.kind line.b.sling.wrap line.b.sling.width line.b.sling.strands line.b.sling.link_distance
line.b.sling.length line.a.padding.material line.a.padding.thickness line.a.padding.width
line.a.padding.goes_round line.a.padding.slats line.a.padding.slat_width line.a.padding.slat_thickness
line.a.padding.slat_length line.b.padding.material line.b.padding.thickness line.b.padding.width
line.b.padding.goes_round line.b.padding.slats line.b.padding.slat_width line.b.padding.slat_thickness
line.b.padding.slat_length line.span.taped line.span.along line.span.slope line.span.how line.compass.out
line.compass.back line.compass.north line.compass.device line.webbing.kind line.webbing.width line.webbing.mass
line.webbing.stiffness line.webbing.strength line.standing.tension line.standing.how line.walkers.at_once
line.walkers.movement line.walkers.leash line.walkers.leash_kind line.ground_between line.open_below
line.ground.at line.ground.height line.mid_height line.backup
"""
FIELD_LAYER: dict[str, str] = dict.fromkeys(_MEMBERS.split(), "members") | dict.fromkeys(_PUBLIC.split(), "public")

# of a hidden place members see what kind of thing it is, not what would lead to it: a tag number, a girth or a height
# finds a tree as surely as a position does. What else may be said of it, and when, is in `hidden`
_SENSITIVE = "anchor.kind line.use"
SENSITIVE_FIELDS = frozenset(_SENSITIVE.split())

# one number and its unit, or feet and inches; two numbers beside each other are no quantity but may be a phone's
_QUANTITY = re.compile(r"""[+-]?\d+(?:\.\d+)?\s?[A-Za-z°%/'"]+\d?(?:\s?\d{1,2}(?:\.\d+)?\s?(?:in|"))?""")
_DATE = re.compile(r"\b\d{4}-\d\d-\d\d\b")
# a phone number, a mail address or a position written into a text
_PERSONAL = re.compile(r"(?:\+?\d[\s()/.-]{0,2}){7,}|@|\b(?:https?|tel|mailto|geo):|\d[.]\d{3,}", re.IGNORECASE)


def may_see(layer: str, needed: str) -> bool:
    """Whether readers of a layer may see what needs a layer."""
    return LAYERS.index(layer) >= LAYERS.index(needed)


def looks_personal(text: str) -> bool:
    """Whether a text seems to hold a phone number, an address or a position."""
    return _PERSONAL.search(_DATE.sub("", text)) is not None


def visible(record: Any, layer: str, kind: str, sensitive: bool = False) -> Any:
    """The part of a record a layer may see.

    Parameters
    ----------
    record : a site, anchor or line record as plain JSON values
    layer : one of `LAYERS`
    kind : "site", "anchor" or "line"
    sensitive : whether it is a sensitive place: then little is left below the officers

    Returns
    -------
    A new record; None when nothing may be seen.
    """
    if layer == "officer":
        return record
    return _visible(record, layer, kind, sensitive)


def _visible(value: Any, layer: str, path: str, sensitive: bool) -> Any:
    if isinstance(value, Mapping):
        parts = {key: _visible(part, layer, f"{path}.{key}", sensitive) for key, part in value.items()}
        return {key: part for key, part in parts.items() if part is not None} or None
    if isinstance(value, (list, tuple)):
        seen = [part for item in value if (part := _visible(item, layer, path, sensitive)) is not None]
        return seen or None
    if not may_see(layer, FIELD_LAYER.get(path, "officer")):
        return None
    if sensitive and path not in SENSITIVE_FIELDS:
        return None
    if isinstance(value, str) and looks_personal(value) and not _is_quantity(value):
        return None
    return value


def _is_quantity(text: str) -> bool:
    return len(text) <= 24 and _QUANTITY.fullmatch(text) is not None


def rounded(lat_deg: float, lon_deg: float, grid_m: float) -> tuple[float, float]:
    """The middle of the grid cell a point lies in [deg].

    Parameters
    ----------
    grid_m : side of a cell [m]

    Notes
    -----
    Cells are bands of equal latitude, cut into a whole number of cells round the earth, so that every point of a cell
    gives the same middle.
    """
    step = grid_m / 111_195.0
    row = math.floor(lat_deg / step)
    middle = max(-90.0, min(90.0, (row + 0.5) * step))
    columns = max(1, math.floor(360.0 / step * math.cos(math.radians(middle))))
    column = math.floor((lon_deg % 360.0) / 360.0 * columns) % columns
    lon = (column + 0.5) * 360.0 / columns
    return round(middle, 5), round(lon - 360.0 if lon > 180.0 else lon, 5)


def reach(land_status: str | None, said: str | None) -> str:
    """The widest layer a place may reach: what its list says, else what is usual for its kind of land."""
    return said or USUAL_REACH.get(land_status or "unknown", "officer")
