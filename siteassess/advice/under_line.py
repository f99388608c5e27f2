"""The ground under a line as recorded: taped, answered in one word, or not known; and what of it ends a drop."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import combinations, pairwise

import numpy as np

from siteassess.errors import OutsideModel
from siteassess.mechanics.ground import STEEPEST_DEG
from siteassess.mechanics.profile import Profile, plain_slope, taped_offsets, taped_profile
from siteassess.records.fields import Sector
from siteassess.records.line import EndName, Line
from siteassess.reference.constants import constant

UNSEEN_DIP = constant("unseen dip")
UNSEEN_SHARE = constant("unseen share")
REACHES_B = constant("profile reaches b")
WIDEST_GAP = constant("widest gap")
BANK_FALL = constant("bank fall")
SLOPE_FROM = constant("taped slope from")
AT_B = 0.99  # of the span: what a tape tells from its end
UNDER_LINE_ASSUMPTIONS = (UNSEEN_DIP, UNSEEN_SHARE, REACHES_B, WIDEST_GAP, BANK_FALL, SLOPE_FROM)
Points = tuple[tuple[float, float], ...]  # distance from A, height over the foot of A [m]


@dataclass(frozen=True)
class UnderLine:
    """Ground that ends every drop; `points` is None where none is known to."""

    how: str  # "taped", "answered", "open below" or "unknown"
    points: Points | None = None
    unseen: float = 0.0  # how much lower it may lie somewhere [m]


@dataclass(frozen=True, order=True)
class Drop:
    """Ground taped to fall like a bank, seen from a trunk: somewhere between two rows, so it counts from the nearer."""

    near: float  # of the rows from the trunk [m]
    far: float
    fall: float  # [m]
    side: Sector | None = None  # of the trunk, a sector; None where the bearing of the line is not known


@dataclass(frozen=True)
class TapedBeside:
    """What a profile tells of the ground at one trunk."""

    drop: Drop | None = None
    slope_deg: float = 0.0


NOTHING_TAPED = TapedBeside()


@dataclass(frozen=True)
class Told:
    """Ground told of between two trunks, from the one it is seen from: rows of a tape, or a depth found somewhere."""

    points: Points
    somewhere: bool = False
    unseen: float = 0.0  # how much less deep it may lie there [m]


def foot_of_b(line: Line) -> float | None:
    """Height of B's foot over A's by the profile [m]; None where no row is near B, or at B where a slope was read."""
    rows = _rows(line)
    if not rows or line.span is None:
        return None
    span, reaches = line.span.taped.si, REACHES_B.value if line.span.slope is None else AT_B
    past = [at for at, _ in rows if at >= span]
    near = [row for row in rows if reaches * span <= row[0] <= max(min(past, default=0.0), span)]
    if past and not any(at < span for at, _ in near):  # between the last row before B and the first past it
        return float(np.interp(span, *np.array([(0.0, 0.0), *rows]).T))
    return min(near, key=lambda row: abs(row[0] - span))[1] if near else None


def profile_of(line: Line, span: float, rise: float, ground_rise: float, tie_a: float) -> tuple[Profile, bool]:
    """The ground to clear, and whether it was taped.

    Where it was not: at the least depth that the answer for a line over open ground may mean, else a plain slope from
    foot to foot.

    Parameters
    ----------
    line : Line
    span, rise, ground_rise, tie_a : float
        Horizontal distance, height of tie B over tie A, of foot B over foot A, and of tie A over foot A [m].
    """
    if line.ground_below:
        points = sorted((point.at.si, point.down.si) for point in line.ground_below)
        return taped_offsets(span, rise, tie_a, *zip(*points)), True
    rows = _rows(line)
    if rows:
        return taped_profile(span, ground_rise, *zip(*rows)), len(rows) >= 2
    if line.open_below is not None:
        deep = max(0.0, line.open_below.si - _unseen(line.open_below.si))
        (_, by_a), (_, by_b) = _at_depth(deep, span, rise, tie_a)
        edge = 0.01 * span  # beyond the feet of the trunks
        return ground_at(((0.0, 0.0), (edge, by_a), (span - edge, by_b), (span, ground_rise))), False
    return plain_slope(span, ground_rise), False


def under_line(
    line: Line, span: float | None, rise: float, ground_rise: float, tie_a: float | None, tie_b: float | None
) -> UnderLine:
    """What is known to end a drop.

    A profile counts with rows all along and one near B, or B's slope read; else one answer stands for it.
    """
    if not span or tie_a is None or tie_b is None:
        return UnderLine("unknown")
    ends_known = line.ground_below or foot_of_b(line) is not None or (line.span and line.span.slope is not None)
    if _taped_between(line, span) and ends_known:
        try:
            ground, _ = profile_of(line, span, rise, ground_rise, tie_a)
        except OutsideModel:  # told where the height over the ground is worked out
            return UnderLine("unknown")
        return UnderLine("taped", tuple(zip(ground.distance.tolist(), ground.height.tolist())))
    if line.open_below is not None:
        deep = line.open_below.si
        return UnderLine("open below", _at_depth(deep, span, rise, tie_a), _unseen(deep))
    if line.ground_between == "level or rising, no dip" and not dips_by_the_tape(line, span, rise, ground_rise, tie_a):
        return UnderLine("answered", ((0.0, 0.0), (span, ground_rise)), UNSEEN_DIP.value)
    return UnderLine("unknown")


def dips_by_the_tape(line: Line, span: float, rise: float, ground_rise: float, tie_a: float) -> bool:
    """Whether any row lies deeper under the straight way from foot to foot than an eye misses.

    Parameters
    ----------
    line, span, rise, ground_rise, tie_a : as in `profile_of`
    """
    rows = [row for tape in _seen_from(line, "A", span, rise, ground_rise, tie_a) for row in tape]
    return any(ground_rise * at / span - height > UNSEEN_DIP.value for at, height in rows if 0 < at < span)


def feet_apart(line: Line, span: float | None) -> float:
    """Most that a tape at the foot of a trunk lies off that foot itself [m]: rows count from A's, a string from a tie.

    Parameters
    ----------
    line, span : as in `profile_of`; None where it is not known
    """
    apart = [abs(height) for at, height in _rows(line) if at == 0]
    for end, foot in zip(line.ends, (0.0, math.nan if span is None else span)):
        apart += [abs(point.down.si - end.tie_height.si) for point in line.ground_below
                  if end.tie_height and abs(point.at.si - foot) <= 0.01 * foot]  # fmt: skip
    return max(apart, default=0.0)


def deepest(line: Line, span: float | None, rise: float, tie_a: float | None) -> float:
    """Greatest depth the ground was taped or told to lie at under the straight line from tie to tie [m]; 0 for neither.

    One row is enough: what was taped deep lies deep, whatever of the ground beside it is known; and a row at the foot
    of B takes no word back of what lies between.
    """
    told = [line.open_below.si] if line.open_below is not None else []
    down = [point.down.si for point in line.ground_below]
    rows = [] if not span or tie_a is None else [tie_a + rise * at / span - height
                                                 for at, height in _rows(line) if 0 <= at <= span]  # fmt: skip
    return max([*down, *rows, *told, 0.0])


def taped_beside(
    line: Line, end: EndName, span: float | None, rise: float, ground_rise: float, tie_a: float | None
) -> TapedBeside:
    """The nearest bank and the slope that were taped at the trunk of one end.

    Parameters
    ----------
    line, end : as recorded; "A" or "B"
    span, rise, ground_rise, tie_a : as in `profile_of`
    """
    if not span and end == "B":
        return TapedBeside(_drop_anywhere(line, tie_a))
    steep = math.tan(math.radians(STEEPEST_DEG.value))
    falls: dict[tuple[int, float], Drop] = {}  # to a row, from the last one that it lies so deep and steeply under
    slopes = [0.0]
    for tape, ground in enumerate(_seen_from(line, end, span, rise, ground_rise, tie_a)):
        foot = ground[0][1]
        for (near, high), (far, low) in combinations(ground, 2):
            fall = min(high, foot) - low  # the far side of a mound is none
            if fall >= BANK_FALL.value and fall > steep * (far - near):
                falls[tape, far] = Drop(near, far, fall)
        # the first row far enough off, however far: fewer rows tell no gentler slope; the foot of a bank is none
        rows = [row for row in ground[1:] if row[0] >= SLOPE_FROM.value]
        slopes += [math.degrees(math.atan2(abs(height - foot), at)) for at, height in rows[:-1] or rows
                   if height - foot <= steep * at][:1]  # fmt: skip
    drop = min(falls.values(), default=None)
    beyond = drop is not None and (drop.near > 0 or drop.far < SLOPE_FROM.value)  # past a bank no row tells a slope
    return TapedBeside(drop, 0.0 if beyond else round(max(slopes), 1))


def not_placed(line: Line, end: EndName, span: float | None, tie_a: float | None, tie_b: float | None) -> bool:
    """Whether ground was taped of which nobody knows how it lies to the trunk of an end.

    A string hangs from tie to tie; and what was taped from A lies nowhere as seen from B while its length is unknown,
    which matters where the rows are not level.

    Parameters
    ----------
    line, end : as recorded; "A" or "B"
    span, tie_a, tie_b : as in `under_line`
    """
    string = bool(line.ground_below) and (not span or tie_a is None or tie_b is None)
    uneven = any(abs(height) > UNSEEN_DIP.value for _, height in _rows(line))
    return string or uneven and end == "B" and not span


def _seen_from(
    line: Line, end: EndName, span: float | None, rise: float, ground_rise: float, tie_a: float | None
) -> Iterator[Points]:
    """What was taped either way, as distances from the trunk at an end, the feet of both trunks among them."""
    for tape in _tapes(line, span, rise, tie_a):
        if tape and span:
            at_b = next((height for at, height in tape if at >= AT_B * span), ground_rise)
            ground = ((0.0, 0.0), *(row for row in tape if 0 < row[0] < AT_B * span), (span, at_b))
            yield ground if end == "A" else tuple((span - at, height) for at, height in reversed(ground))
        elif tape and end == "A":
            yield ((0.0, 0.0), *(row for row in tape if row[0] > 0))


def _tapes(line: Line, span: float | None, rise: float, tie_a: float | None) -> Iterator[Points]:
    """What was taped from A, over A's foot; from a string of unknown length as if it hung level."""
    yield _rows(line)
    if tie_a is not None:
        steep = rise / span if span else 0.0
        yield tuple(sorted((point.at.si, tie_a + steep * point.at.si - point.down.si) for point in line.ground_below))


def _drop_anywhere(line: Line, tie_a: float | None) -> Drop | None:
    """The greatest bank taped under a line of unknown length: whoever ties its far end may stand right above it."""
    steep = math.tan(math.radians(STEEPEST_DEG.value))
    falls = [Drop(0.0, tape[-1][0], abs(high - low)) for tape in _tapes(line, None, 0.0, tie_a)
             for (near, high), (far, low) in combinations(((0.0, 0.0), *tape), 2)
             if abs(high - low) >= BANK_FALL.value and abs(high - low) > steep * (far - near)]  # fmt: skip
    return max(falls, default=None, key=lambda drop: drop.fall)


def told_apart(
    line: Line, span: float, rise: float, ground_rise: float, tie_a: float, told: Sequence[Told]
) -> float:
    """Most that ground told of elsewhere between the same trunks lies over or under what is taken under a line [m].

    Parameters
    ----------
    line, span, rise, ground_rise, tie_a : as in `profile_of`
    told : see `told_between`

    Raises
    ------
    OutsideModel : where the line's own ground is no profile
    """
    taken, taped = profile_of(line, span, rise, ground_rise, tie_a)
    at, height = taken.distance, taken.height
    apart = [0.0]
    for one in told:
        if one.somewhere:  # so deep at one place, nobody said at which: the place where it lies nearest is meant
            apart.append(float((height - ground_at(one.points).at(at)).min()) - one.unseen)
            continue
        for here, there in one.points:
            if 0 < here < AT_B * span:  # the feet are known otherwise
                # between two rows ground may lie anywhere from one to the other; untaped, straight or in an unseen dip
                rows = [height[at <= here][-1], height[at >= here][0]] if taped else [taken.at(here)]
                missed = 0.0 if taped else UNSEEN_DIP.value
                apart += [float(min(rows)) - missed - there, there - float(max(rows))]
    return max(apart)


def told_between(
    line: Line, end: EndName, span: float | None, rise: float, ground_rise: float, tie_a: float | None
) -> list[Told]:
    """What was told of the ground between the trunks of a line, seen from one end.

    Parameters
    ----------
    line, end : as recorded; "A" or "B"
    span, rise, ground_rise, tie_a : as in `profile_of`
    """
    told = [Told(_from_the_foot(tape)) for tape in _seen_from(line, end, span, rise, ground_rise, tie_a)]
    if line.open_below is not None and span and tie_a is not None:
        deep = _at_depth(line.open_below.si, span, rise, tie_a)
        if end == "B":
            deep = tuple((span - at, height - ground_rise) for at, height in reversed(deep))
        told.append(Told(deep, True, _unseen(line.open_below.si)))
    return told


def _from_the_foot(tape: Points) -> Points:
    return tuple((at, height - tape[0][1]) for at, height in tape)


def tapes_apart(line: Line, span: float | None, rise: float, tie_a: float | None) -> float:
    """Most that ground taped from the string lies over or under the rows beside it taped from A's foot [m].

    0 where only one was. Between two rows ground may lie anywhere from the one to the other.
    """
    rows = _rows(line)
    if not (rows and line.ground_below) or not span or tie_a is None:
        return 0.0
    at, height = np.array(rows).T
    apart = [0.0]
    for point in line.ground_below:
        here = tie_a + rise * point.at.si / span - point.down.si
        beside = [*height[at <= point.at.si][-1:], *height[at >= point.at.si][:1]]
        apart += [float(min(beside)) - here, here - float(max(beside))]
    return max(apart)


def ground_at(points: Points) -> Profile:
    """The same ground for sums."""
    return Profile(*np.array(points, dtype=float).T)


def _at_depth(deep: float, span: float, rise: float, tie_a: float) -> Points:
    """Ground a depth under the straight line from tie to tie."""
    return (0.0, tie_a - deep), (span, tie_a + rise - deep)


def _unseen(deep: float) -> float:
    return max(UNSEEN_DIP.value, UNSEEN_SHARE.value * deep)


def _rows(line: Line) -> Points:
    return tuple(sorted((point.at.si, point.height.si) for point in line.ground))


def _taped_between(line: Line, span: float) -> bool:
    """Whether no part of the ground between the feet is so long that a row beside it tells nothing of its middle."""
    places = sorted({0.0, *(point.at.si for point in (line.ground_below or line.ground) if point.at.si < span), span})
    widest = max((after - before for before, after in pairwise(places)), default=math.inf)
    return widest <= WIDEST_GAP.value * span
