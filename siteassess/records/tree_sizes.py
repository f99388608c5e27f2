"""Readings of one trunk that cannot belong together. All limits here are judgement; slips of unit are in `sizes.py`."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import combinations

from siteassess.records.anchor import Tree, TrunkReading
from siteassess.records.finding import Doubt
from siteassess.records.trunk import SAME_PLACE_RATIO, STEEPEST_TAPER, as_typed, diameter_m, one_place, too_steep
from siteassess.records.yaml_lines import Steps
from siteassess.reference.constants import constant
from siteassess.reference.findings import Said, said

UPWARD_RATIO = constant("upward ratio")


@dataclass(frozen=True)
class _Size:
    """A trunk reading as a diameter."""

    path: Steps
    typed: Said
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
    return _Size((*path, name), said("size-typed", name=name, typed=size.text), diameter_m(reading), reading.read_at.si)


def _unlike(one: _Size, other: _Size) -> Doubt | None:
    low, high = sorted((one, other), key=lambda size: size.at)
    ratio = max(low.diameter, high.diameter) / min(low.diameter, high.diameter)
    if one_place(low.at, high.at):
        if ratio <= SAME_PLACE_RATIO:
            return None
        told = said("differ", one=high.typed, other=low.typed, share=100 * (ratio - 1))
        return Doubt(high.path, told, said("slip-one-of-them"), then=said("tape-again"))
    if high.diameter > UPWARD_RATIO * low.diameter:
        told = said("grows-upward", low=low.diameter, at=low.at, high=high.diameter, above=high.at)
        return Doubt(high.path, told, said("slip-heights-swapped"))
    if too_steep(low.diameter, low.at, high.diameter, high.at):
        apart = float(f"{high.at - low.at:.2g}")
        told = said("tapers", loss=low.diameter - high.diameter, apart=apart, most=float(STEEPEST_TAPER))
        return Doubt(high.path, told, said("slip-one-misread"))
    return None

