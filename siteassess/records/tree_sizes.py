"""Readings of one trunk that cannot belong together. All limits here are judgement; slips of unit are in `sizes.py`."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import combinations

from siteassess.records.anchor import Tree, TrunkReading
from siteassess.records.finding import Doubt
from siteassess.records.trunk import as_typed, diameter_m
from siteassess.records.yaml_lines import Steps
from siteassess.reference.constants import constant
from siteassess.units import show

SAME_HEIGHT_M = constant("same place height")
SAME_PLACE_RATIO = constant("same place ratio")
UPWARD_RATIO = constant("upward ratio")
STEEPEST_TAPER = constant("steepest taper")
FLARE_TOP_M = constant("flare top")


@dataclass(frozen=True)
class _Size:
    """A trunk reading as a diameter."""

    path: Steps
    typed: str
    diameter: float
    at: float


def trunk_findings(tree: Tree, path: Steps) -> Iterator[Doubt]:
    """Readings of one trunk that cannot belong to it."""
    sizes = [_size(reading, (*path, "trunk", index)) for index, reading in enumerate(tree.trunk)]
    for one, other in combinations(sizes, 2):
        if finding := _unlike(one, other):
            yield finding


def _size(reading: TrunkReading, path: Steps) -> _Size:
    name, size = as_typed(reading)
    return _Size((*path, name), f"{name} {size.text}", diameter_m(reading), reading.read_at.si)


def _cm(si: float) -> str:
    return show(si, "cm", 2)


def _unlike(one: _Size, other: _Size) -> Doubt | None:
    low, high = sorted((one, other), key=lambda size: size.at)
    apart = high.at - low.at
    ratio = max(low.diameter, high.diameter) / min(low.diameter, high.diameter)
    if apart < SAME_HEIGHT_M:
        if ratio <= SAME_PLACE_RATIO:
            return None
        says = f"{high.typed} and {low.typed} at about one height differ by {100 * (ratio - 1):.0f} %"
        return Doubt(high.path, says, "one of them misread", "", "tape again, level and not slack")
    if high.diameter > UPWARD_RATIO * low.diameter:
        thick = f"{_cm(low.diameter)} thick at {low.at:g} m, {_cm(high.diameter)} at {high.at:g} m"
        likelier = "the two heights swapped, or a swelling or fork taped along"
        return Doubt(high.path, f"the stem seems to grow upward: {thick}", likelier)
    allowed = STEEPEST_TAPER * apart + (SAME_PLACE_RATIO - 1) * high.diameter
    if low.at >= FLARE_TOP_M and low.diameter - high.diameter > allowed:
        says = (
            f"the stem loses {_cm(low.diameter - high.diameter)} of thickness in {apart:.2g} m; a stem above its root "
            f"flare seldom loses over {_cm(STEEPEST_TAPER)} a metre"
        )
        return Doubt(high.path, says, "one of the two misread, or a branch or fork between them")
    return None

