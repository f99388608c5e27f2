"""How thick a trunk is, here: the one answer that the judgement and every paper share."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from siteassess.records.anchor import Stem, Tree, TrunkReading
from siteassess.records.line import Line
from siteassess.units import Quantity


@dataclass(frozen=True)
class TrunkHere:
    """A trunk's size for a tie at a height."""

    diameter: float  # over bark; of several stems that of the thinnest, taken to bear the whole pull [m]; NaN for none
    read_at: float  # height above ground of that reading [m]; NaN where none was read
    reading: TrunkReading | Stem | None  # as typed
    stems: tuple[float, ...]  # every stem's diameter, one for a single trunk [m]


def as_typed(reading: TrunkReading | Stem) -> tuple[str, Quantity]:
    """The size of a reading with its name, girth or diameter, as it was typed."""
    if isinstance(reading, TrunkReading) and reading.diameter is not None:
        return "diameter", reading.diameter
    assert reading.girth is not None  # a reading has one of the two
    return "girth", reading.girth


def diameter_m(reading: TrunkReading | Stem) -> float:
    """Diameter over bark of a reading; a girth is taken as that of a circle [m]."""
    name, size = as_typed(reading)
    return size.si / math.pi if name == "girth" else size.si


def nearest_reading(trunk: Sequence[TrunkReading], height: float | None) -> TrunkReading | None:
    """The reading nearest to a height [m]; the first where none is planned. Ties go to the thinner one."""
    if not trunk:
        return None
    if height is None:
        return trunk[0]
    return min(trunk, key=lambda reading: (abs(reading.read_at.si - height), diameter_m(reading)))


def trunk_at(tree: Tree, tie_height: float | None) -> TrunkHere:
    """The trunk as it is judged for a tie at a height [m], None where none is planned."""
    if tree.stems == "several" and len(tree.each_stem) > 1:
        thinnest = min(tree.each_stem, key=diameter_m)
        read_at = tie_height if tie_height is not None else 0.0
        return TrunkHere(diameter_m(thinnest), read_at, thinnest, tuple(map(diameter_m, tree.each_stem)))
    reading = nearest_reading(tree.trunk, tie_height)
    if reading is None:
        return TrunkHere(math.nan, math.nan, None, (math.nan,))
    return TrunkHere(diameter_m(reading), reading.read_at.si, reading, (diameter_m(reading),))


def trunk_of(tree: Tree, lines: Iterable[Line]) -> TrunkHere:
    """The trunk as these lines are judged by; where they are tied at several heights, the thinnest of these."""
    ties = [end.tie_height.si for line in lines for end in line.ends
            if end.anchor == tree.code and end.tie_height]
    return min((trunk_at(tree, tie) for tie in ties or (None,)), key=lambda here: here.diameter)
