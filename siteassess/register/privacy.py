"""Who may see what. A field says itself who sees it (`records`); one that says nothing never leaves the officers.

Three layers, each holding all of the one before: `public` (which parks, roughly where), `members` (anchors and lines),
`officer` (everything: nests, private owners, names and numbers of people, exact points of sensitive places).

A position is coarsened by rounding to the middle of a fixed grid's cell, never by a random shift: shifts of repeated
exports could be averaged away, the cell's middle stays the same.
"""

from __future__ import annotations

import math
import re
from collections.abc import Iterator, Mapping
from functools import cache
from typing import Any, get_args

from pydantic import BaseModel

from siteassess.records.anchor import ANCHOR_KINDS
from siteassess.records.fields import Layer
from siteassess.records.line import Line
from siteassess.records.schema import members
from siteassess.records.site import Site
from siteassess.reference.constants import constant

LAYERS: tuple[Layer, ...] = get_args(Layer)

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
PUBLIC_GRID_M = constant("public grid")

# of a hidden place members see what kind of thing it is, not what would lead to it: a tag number, a girth or a height
# finds a tree as surely as a position does. What else may be said of it, and when, is in `hidden`
_SENSITIVE = "anchor.kind line.use"
SENSITIVE_FIELDS = frozenset(_SENSITIVE.split())

# one number and its unit, or feet and inches; two numbers beside each other are no quantity but may be a phone's
_QUANTITY = re.compile(r"""[+-]?\d+(?:\.\d+)?\s?[A-Za-z°%/'"]+\d?(?:\s?\d{1,2}(?:\.\d+)?\s?(?:in|"))?""")
_DATE = re.compile(r"\b\d{4}-\d\d-\d\d\b")
# a phone number, a mail address or a position written into a text
_PERSONAL = re.compile(r"(?:\+?\d[\s()/.-]{0,2}){7,}|@|\b(?:https?|tel|mailto|geo):|\d[.]\d{3,}", re.IGNORECASE)


@cache
def field_layers() -> Mapping[str, Layer]:
    """The layer each field of a site, an anchor or a line needs, by its path without places in lists."""
    kinds = {"site": (Site,), "anchor": tuple(ANCHOR_KINDS.values()), "line": (Line,)}
    return {path: layer for kind, models in kinds.items() for model in models
            for path, layer in _below(model, kind, "public")}  # fmt: skip


def _below(model: type[BaseModel], path: str, above: Layer) -> Iterator[tuple[str, Layer]]:
    for asked in members(model):
        here, layer = f"{path}.{asked.name}", max(above, asked.seen_by, key=LAYERS.index)
        if not asked.models:
            yield here, layer
        for part in asked.models:
            yield from _below(part, here, layer)


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
    if not may_see(layer, field_layers().get(path, "officer")):
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
