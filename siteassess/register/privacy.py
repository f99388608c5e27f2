"""Who may see what. A field says itself who sees it (`records`); one that says nothing never leaves the officers.

Three layers, each holding all of the one before: `public` (which parks, roughly where), `members` (anchors and lines),
`officer` (everything: nests, private owners, names and numbers of people, exact points of sensitive places).

A position is coarsened by rounding to the middle of a fixed grid's cell, never by a random shift: shifts of repeated
exports could be averaged away, the cell's middle stays the same.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from functools import cache
from typing import Any, get_args

from pydantic import BaseModel

from siteassess.records.anchor import ANCHOR_KINDS
from siteassess.records.fields import Layer
from siteassess.records.line import Line
from siteassess.records.schema import Asked, members
from siteassess.records.site import Site
from siteassess.reference.constants import constant
from siteassess.register.free_texts import GEAR_TABLES, KEPT_BACK, NOTHING_UNSAID, Unsaid, is_word_of
from siteassess.units import DEGREE_M

LAYERS: tuple[Layer, ...] = get_args(Layer)

# widest layer a place may reach when nobody says otherwise; private ground is never shared unasked (judgement)
USUAL_REACH = {
    "mown amenity": "public", "woodland": "public", "school ground": "members", "conservation": "members",
    "heritage place": "members", "private": "officer", "unknown": "members",
}
SENSITIVE_LAND = frozenset(("conservation", "heritage place", "private"))
# size of a grid cell: a park for the public (judgement)
PUBLIC_GRID_M = constant("public grid")

# of a hidden place members see what kind of thing it is, not what would lead to it: a tag number, a girth or a height
# finds a tree as surely as a position does. What else may be said of it, and when, is in `hidden`
_SENSITIVE = "anchor.kind line.use"
SENSITIVE_FIELDS = frozenset(_SENSITIVE.split())

# what a park and a thing in it are called by, which every copy says
_IDENTITY = frozenset(("site.name",))
# what a record says where nobody knows, for texts it cannot do without; others say that they are kept back
_UNKNOWN = {"anchor.species.name": "unknown"}


@cache
def _fields() -> Mapping[str, tuple[Layer, Asked]]:
    kinds = {"site": (Site,), "anchor": tuple(ANCHOR_KINDS.values()), "line": (Line,)}
    return {path: (layer, asked) for kind, models in kinds.items() for model in models
            for path, layer, asked in _below(model, kind, "public")}


@cache
def field_layers() -> Mapping[str, Layer]:
    """The layer each field of a site, an anchor or a line needs, by its path without places in lists."""
    return {path: layer for path, (layer, _) in _fields().items()}


def _below(model: type[BaseModel], path: str, above: Layer) -> Iterator[tuple[str, Layer, Asked]]:
    for asked in members(model):
        here, layer = f"{path}.{asked.name}", max(above, asked.seen_by, key=LAYERS.index)
        if not asked.models:
            yield here, layer, asked
        for part in asked.models:
            yield from _below(part, here, layer)


def may_see(layer: str, needed: str) -> bool:
    """Whether readers of a layer may see what needs a layer."""
    return LAYERS.index(layer) >= LAYERS.index(needed)


def visible(record: Any, layer: str, kind: str, sensitive: bool = False, unsaid: Unsaid = NOTHING_UNSAID) -> Any:
    """The part of a record a layer may see, which reads as a record again.

    Parameters
    ----------
    record : a site, anchor or line record as plain JSON values, as its model takes it
    layer : one of `LAYERS`
    kind : "site", "anchor" or "line"
    sensitive : whether it is a sensitive place: then little is left below the officers
    unsaid : names that no text may hold below the officers

    Returns
    -------
    A new record; None when nothing may be seen.
    """
    if layer == "officer":
        return record
    return _visible(record, layer, kind, sensitive, unsaid)


def _visible(value: Any, layer: str, path: str, sensitive: bool, unsaid: Unsaid) -> Any:
    if isinstance(value, Mapping):
        parts = {key: _visible(part, layer, f"{path}.{key}", sensitive, unsaid) for key, part in value.items()}
        return {key: part for key, part in parts.items() if part is not None} or None
    if isinstance(value, (list, tuple)):
        seen = [part for item in value if (part := _visible(item, layer, path, sensitive, unsaid)) is not None]
        return seen or None
    needed, asked = _fields().get(path, ("officer", None))
    if asked is None or not may_see(layer, needed) or (sensitive and path not in SENSITIVE_FIELDS):
        return None
    # only a text can hold what it should not: a quantity, a choice or a code was read as one
    return _text(value, path, asked, unsaid) if asked.kind == "text" and path not in _IDENTITY else value


def _text(text: str, path: str, asked: Asked, unsaid: Unsaid) -> str | None:
    if asked.table in GEAR_TABLES:
        return text if is_word_of(asked.table, text) else KEPT_BACK
    if not unsaid.kept_back(text):
        return text
    return _UNKNOWN.get(path, KEPT_BACK) if asked.required else None


def middle_of_cell(lat_deg: float, lon_deg: float, grid_m: float) -> tuple[float, float]:
    """The middle of the grid cell a point lies in [deg].

    Parameters
    ----------
    grid_m : side of a cell [m]

    Notes
    -----
    Cells are bands of equal latitude, cut into a whole number of cells round the earth, so that every point of a cell
    gives the same middle.
    """
    step = grid_m / DEGREE_M
    row = math.floor(lat_deg / step)
    middle = max(-90.0, min(90.0, (row + 0.5) * step))
    columns = max(1, math.floor(360.0 / step * math.cos(math.radians(middle))))
    column = math.floor((lon_deg % 360.0) / 360.0 * columns) % columns
    lon = (column + 0.5) * 360.0 / columns
    return round(middle, 5), round(lon - 360.0 if lon > 180.0 else lon, 5)


def reach(land_status: str | None, said: str | None) -> str:
    """The widest layer a place may reach: what its list says, else what is usual for its kind of land."""
    return said or USUAL_REACH.get(land_status or "unknown", "officer")
