"""What lies around a line, as plain features with a kind, and the table that gives tagged map data its kind."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from siteassess.places.geodesy import LocalFrame
from siteassess.reference.tables import rows

FEATURE_KINDS = (
    "path", "worn track", "road", "railway", "water", "play area", "building", "power line", "gate", "emergency point",
    "closed area", "protected area", "park", "tree",
)


@dataclass(frozen=True)
class PlacedFeature:
    """One thing on the map: its kind (of `FEATURE_KINDS`, or "" where no tag told), geometry in (longitude, latitude).

    `width_m` is that of a path, road or stream drawn as its middle line; 0 where none is known. Where it is only the
    usual one, `nearer_m` is by how much its edge may lie nearer.
    """

    kind: str
    geometry: BaseGeometry
    name: str = ""
    attributes: Mapping[str, str] = field(default_factory=dict)
    source: str = ""
    width_m: float = 0.0
    nearer_m: float = 0.0

    def in_metres(self, frame: LocalFrame) -> BaseGeometry:
        """The geometry on a local plane, repaired where its outline crosses itself."""
        flat = shapely.force_2d(self.geometry)
        plane = shapely.transform(flat, lambda xy: np.column_stack(frame.to_metres(xy[:, 1], xy[:, 0])))
        return plane if plane.is_valid else shapely.make_valid(plane)


@dataclass(frozen=True)
class TagRule:
    """A feature whose `key` holds one of `values` ("*" is any but no) is of that kind, if `also` holds too."""

    key: str
    values: tuple[str, ...]
    kind: str
    also: tuple[str, str] | None = None

    def fits(self, tags: Mapping[str, str]) -> bool:
        """Whether a feature with these tags is of the rule's kind."""
        value = tags.get(self.key, "").strip().lower()
        if not value or value == "no":
            return False
        if self.also and tags.get(self.also[0], "").strip().lower() != self.also[1]:
            return False
        return self.values == ("*",) or value in self.values


# The first row that fits decides. Keys and values are OpenStreetMap's.
TAG_RULES = tuple(
    TagRule(row.key, tuple(row.values.split()), row.kind, (row.also_key, row.also) if row.also_key else None)
    for row in rows("map_tags")
)


def kind_by_tags(tags: Mapping[str, str]) -> str:
    """The kind of a feature by its own `kind` (in GPX, `type`) or by `TAG_RULES`; "" where neither tells.

    Something that lies under the ground (location=underground, tunnel=yes) is no obstacle and has no kind.

    Parameters
    ----------
    tags : keys and values of the map's own data
    """
    for key in ("kind", "type"):
        if (own := tags.get(key, "").strip().lower()) in FEATURE_KINDS:
            return own
    if tags.get("location", "") in ("underground", "underwater") or tags.get("tunnel", "") in ("yes", "culvert"):
        return ""
    return next((rule.kind for rule in TAG_RULES if rule.fits(tags)), "")
