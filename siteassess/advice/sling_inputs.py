"""The planned sling and padding as numbers; what was not planned is marked, so that a plan can be proposed."""

from __future__ import annotations

import math
from dataclasses import dataclass

from siteassess.records.line import End
from siteassess.reference.constants import constant

# how the record's words for a wrap are called in mechanics
WRAP = {
    "basket": "basket", "doubled basket": "doubled", "choker": "choker", "turns": "turns",
    "friction turns": "friction", "unknown": "basket",
}
NO_PAD = ("", "?", "unknown", "none", "none seen", "no", "nothing")  # typed where there is no pad
USUAL_LINK_RADII = constant("usual link")


@dataclass(frozen=True)
class SlingInputs:
    wrap: str  # a wrap of mechanics.bark
    wrap_known: bool
    width: float | None  # bearing width of one strand [m]
    strands: int | None
    link_distance: float | None  # from the trunk's centre [m]
    pad_material: str | None
    pad_thickness: float | None  # [m]
    pad_width: float | None  # along the trunk [m]
    pad_all_round: bool | None
    slats: int
    slat_width: float | None  # [m]
    slat_thickness: float | None  # [m]
    slat_length: float | None  # [m]
    rating: float | None = None  # of one strand [N]; a working load limit is taken as it stands, which is careful
    kind: str = "unknown"
    length: float | None = None  # the sling at hand, end to end [m]
    proposed: bool = False  # by us, since none was planned

    @property
    def planned(self) -> bool:
        return self.wrap_known and self.width is not None


def sling_inputs(end: End) -> SlingInputs:
    """Numbers of the sling and padding planned at one end of a line."""
    sling, pad = end.sling, end.padding
    wrap = sling.wrap if sling else "unknown"
    strands = sling.strands if sling and sling.strands > 1 else None
    if wrap in ("turns", "friction turns"):
        strands = None  # turns do not share the pull, whatever was written
    return SlingInputs(
        wrap=WRAP[wrap], wrap_known=wrap != "unknown",
        width=_si(sling and sling.width), strands=strands, link_distance=_si(sling and sling.link_distance),
        pad_material=_material(pad.material) if pad else None, pad_thickness=_si(pad and pad.thickness),
        pad_width=_si(pad and pad.width),
        pad_all_round=None if not pad or pad.goes_round == "unknown" else pad.goes_round == "whole trunk",
        slats=pad.slats if pad else 0, slat_width=_si(pad and pad.slat_width),
        slat_thickness=_si(pad and pad.slat_thickness), slat_length=_si(pad and pad.slat_length),
        rating=_si(sling and sling.rating), kind=sling.kind if sling else "unknown", length=_si(sling and sling.length),
    )  # fmt: skip


def usual_link_distance(diameter: float) -> float:
    """Distance of the link from the trunk's centre where none was planned [m]."""
    return max(USUAL_LINK_RADII * diameter / 2, 0.4) if math.isfinite(diameter) else 0.8


def _material(named: str | None) -> str | None:
    return None if named is None or named.strip().casefold() in NO_PAD else named


def _si(quantity) -> float | None:
    return None if quantity is None else quantity.si
