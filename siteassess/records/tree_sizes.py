"""Slips in a tree's sizes: girth for diameter, inches for centimetres, readings that cannot belong to one trunk.

A girth typed as a diameter makes a stem look about 31 times as strong (pi cubed), so this slip matters most. The tree's
own shape gives it away: height over diameter of free-standing park trees runs from about 16 to 80, and a factor of pi
or 2.54 throws most readings out of that range. All limits here are judgement.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from itertools import combinations

from siteassess.records.anchor import Tree, TrunkReading
from siteassess.records.finding import Finding, number_and_unit
from siteassess.units import Quantity, quantity, show

SQUAT_H_OVER_D = 16.0  # judgement: below it a size is more likely a slip, whether girth or diameter was typed
SQUAT_LARGE_H_OVER_D = 25.0  # judgement: the same for a very thick trunk, where a usual slip would make it thinner
SLENDER_H_OVER_D = 80.0  # judgement: above it a park tree is rare, and the root model says "cannot say"
USUAL_H_OVER_D = 35.0  # judgement: the middle of park trees, to choose between slips that both fit
LARGE_DIAMETER_M = 1.2  # judgement: a very thick trunk; with no height to compare, a typed diameter above is doubted
LARGE_GIRTH_IN_INCHES_M = 4.0  # judgement: with no height, a girth typed in inches above this (158 in) is doubted
SLIP_TOLERANCE = 0.07  # judgement: how near two readings' ratio must come to pi or 2.54
SAME_HEIGHT_M = 0.10  # judgement: readings this near in height belong to one place
SAME_PLACE_RATIO = 1.15  # judgement: readings of one place may differ by this much (grooves, slack tape)
UPWARD_RATIO = 1.05  # judgement: a stem may seem to grow upward by this much from reading alone
STEEPEST_TAPER = 0.08  # judgement: loss of diameter a metre above the root flare, m/m, beside the reading's own error
FLARE_TOP_M = 0.5  # judgement: below it the root flare widens the stem without a rule
INCHES = ("in", "inch", "inches")


@dataclass(frozen=True)
class _Size:
    """A trunk reading as a diameter."""

    path: tuple
    typed: Quantity
    is_girth: bool
    diameter: float
    at: float

    def as_typed(self) -> str:
        return f"{'girth' if self.is_girth else 'diameter'} {self.typed.text}"


@dataclass(frozen=True)
class _Slip:
    likelier: str
    diameter: float
    would_be: str


def diameter_m(reading: TrunkReading) -> float:
    """Diameter over bark of a reading, taking the stem as round [m]."""
    return reading.diameter.si if reading.diameter is not None else reading.girth.si / math.pi


def size_findings(tree: Tree, path: tuple) -> Iterator[Finding]:
    """Doubtful sizes of one tree."""
    sizes = [_size(reading, (*path, "trunk", index)) for index, reading in enumerate(tree.trunk)]
    pairs = list(combinations(sizes, 2))
    told = [finding for one, other in pairs if (finding := _factor_between(one, other))]
    yield from told
    if not told:
        yield from (finding for one, other in pairs if (finding := _unlike(one, other)))
    for size in sizes:
        if not any(finding.path == size.path for finding in told):
            yield from _shape(size, tree, path)


def _size(reading: TrunkReading, path: tuple) -> _Size:
    is_girth = reading.girth is not None
    typed = reading.girth if is_girth else reading.diameter
    name = "girth" if is_girth else "diameter"
    return _Size((*path, name), typed, is_girth, diameter_m(reading), reading.read_at.si)


def _slips(size: _Size) -> list[_Slip]:
    """What else the typed number may have meant."""
    number, unit = number_and_unit(size.typed.text)
    found = []
    if size.is_girth:
        diameter = size.typed.si
        found.append(_Slip("a diameter typed as a girth", diameter, f"diameter {size.typed.text}"))
    else:
        diameter = size.typed.si / math.pi
        found.append(_Slip("a girth typed as a diameter", diameter, f"girth {size.typed.text}, {_cm(diameter)} thick"))
    name = "girth" if size.is_girth else "diameter"
    if unit in INCHES:
        found.append(_Slip("centimetres typed as inches", size.diameter / 2.54, f"{name} {number} cm"))
    if unit == "cm":
        found.append(_Slip("inches typed as centimetres", size.diameter * 2.54, f"{name} {number} in"))
    return found


def _cm(si: float) -> str:
    return show(si, "cm", 2)


def _factor_between(one: _Size, other: _Size) -> Finding | None:
    """Two readings of a trunk a factor of pi or 2.54 apart: the one that slipped, as far as what was typed tells."""
    big, small = (one, other) if one.diameter >= other.diameter else (other, one)
    ratio = big.diameter / small.diameter
    for size, wanted in ((big, small.diameter), (small, big.diameter)):
        for slip in _slips(size):
            factor = max(slip.diameter / size.diameter, size.diameter / slip.diameter)
            mends = abs(math.log(slip.diameter / wanted)) < SLIP_TOLERANCE
            if mends and abs(math.log(ratio / factor)) < SLIP_TOLERANCE:
                says = f"{size.as_typed()} is {ratio:.2g} times out of step with the other reading of this trunk"
                return Finding(size.path, says, slip.likelier, slip.would_be)
    return None


def _unlike(one: _Size, other: _Size) -> Finding | None:
    low, high = sorted((one, other), key=lambda size: size.at)
    apart = high.at - low.at
    ratio = max(low.diameter, high.diameter) / min(low.diameter, high.diameter)
    if apart < SAME_HEIGHT_M:
        if ratio <= SAME_PLACE_RATIO:
            return None
        says = f"{high.as_typed()} and {low.as_typed()} at about one height differ by {100 * (ratio - 1):.0f} %"
        return Finding(high.path, says, "one of them misread", "", "tape again, level and not slack")
    if high.diameter > UPWARD_RATIO * low.diameter:
        thick = f"{_cm(low.diameter)} thick at {low.at:g} m, {_cm(high.diameter)} at {high.at:g} m"
        likelier = "the two heights swapped, or a swelling or fork taped along"
        return Finding(high.path, f"the stem seems to grow upward: {thick}", likelier)
    allowed = STEEPEST_TAPER * apart + (SAME_PLACE_RATIO - 1) * high.diameter
    if low.at >= FLARE_TOP_M and low.diameter - high.diameter > allowed:
        says = (
            f"the stem loses {_cm(low.diameter - high.diameter)} of thickness in {apart:.2g} m; a stem above its root "
            f"flare seldom loses over {_cm(STEEPEST_TAPER)} a metre"
        )
        return Finding(high.path, says, "one of the two misread, or a branch or fork between them")
    return None


def _shape(size: _Size, tree: Tree, path: tuple) -> Iterator[Finding]:
    if tree.height is None:
        yield from _large_without_height(size)
        return
    slenderness = tree.height.si / size.diameter
    if slenderness > SLENDER_H_OVER_D:
        says = f"a height of {tree.height.text} is {slenderness:.0f} times the diameter of {_cm(size.diameter)}"
        yield _doubt(size, says + f"; park trees seldom pass {SLENDER_H_OVER_D:g}", tree, path)
    elif slenderness < _least_slenderness(size):
        says = f"a height of {tree.height.text} is only {slenderness:.0f} times the diameter of {_cm(size.diameter)}"
        yield _doubt(size, says, tree, path)


def _least_slenderness(size: _Size) -> float:
    # a girth taken for a diameter, or centimetres for inches, make a trunk too thick, and so flatter it
    flatters = not size.is_girth or number_and_unit(size.typed.text)[1] in INCHES
    return SQUAT_LARGE_H_OVER_D if flatters and size.diameter > LARGE_DIAMETER_M else SQUAT_H_OVER_D


def _large_without_height(size: _Size) -> Iterator[Finding]:
    if not size.is_girth and size.diameter > LARGE_DIAMETER_M:
        slip, *others = _slips(size)
        or_else = "; ".join(f"{other.likelier}, {other.would_be}" for other in others if other.diameter < size.diameter)
        yield Finding(size.path, f"{size.as_typed()} is a very thick tree", slip.likelier, slip.would_be, or_else)
    if size.is_girth and number_and_unit(size.typed.text)[1] in INCHES and size.typed.si > LARGE_GIRTH_IN_INCHES_M:
        slip = _slips(size)[1]
        yield Finding(size.path, f"{size.as_typed()} is a very thick tree", slip.likelier, slip.would_be)


def _doubt(size: _Size, says: str, tree: Tree, path: tuple) -> Finding:
    """The slips that would give the tree a usual shape, the most usual first."""
    height = tree.height.si
    fits = [slip for slip in _slips(size) if SQUAT_H_OVER_D <= height / slip.diameter <= SLENDER_H_OVER_D]
    fits.sort(key=lambda slip: abs(math.log(height / slip.diameter / USUAL_H_OVER_D)))
    others = [f"{slip.likelier}, {slip.would_be}" for slip in fits[1:]]
    if feet := _height_in_feet(tree, size.diameter):
        others.append(f"the height was read in feet, {feet}")
    if fits:
        return Finding(size.path, says, fits[0].likelier, fits[0].would_be, "; ".join(others))
    if feet:
        return Finding((*path, "height"), says, "feet typed as metres", feet)
    return Finding(size.path, says, "", "", "check the height and the trunk reading")


def _height_in_feet(tree: Tree, diameter: float) -> str:
    """The height as feet, if it was typed in metres and feet would fit the trunk."""
    number, unit = number_and_unit(tree.height.text)
    if unit != "m":
        return ""
    height = quantity(0.3048 * tree.height.si, "m", "length", 3)
    if not SQUAT_H_OVER_D <= height.si / diameter <= SLENDER_H_OVER_D:
        return ""
    return f"{number} ft ({height.text})"
