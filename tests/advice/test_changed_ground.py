"""Ground taped and told of, at its edges: by hand, over a span of 20 m from a trunk at each end."""

from __future__ import annotations

import math

import pytest
from parks import record

from siteassess.advice.under_line import (
    Told,
    deepest,
    dips_by_the_tape,
    feet_apart,
    foot_of_b,
    profile_of,
    taped_beside,
    tapes_apart,
    told_apart,
    told_between,
    under_line,
)

SPAN = 20.0


def line(rows=(), string=(), **edits):
    """Rows from A's foot, and depths under a string from tie to tie, both by their distance from A [m]."""
    return record({
        "L1.ground": [{"at": f"{at} m", "height": f"{height} m"} for at, height in rows],
        "L1.ground_below": [{"at": f"{at} m", "down": f"{down} m"} for at, down in string],
        **{f"L1.{key}": value for key, value in edits.items()}}).lines[0]  # fmt: skip


# ---- the foot of B


@pytest.mark.parametrize("rows, foot", [
    (((19.5, -0.2), (20, 0.4)), 0.4), (((19.5, -0.2), (20, 0.4), (25, 3)), 0.4),  # the row at B, not one before it
    (((18, 0.3),), 0.3), (((17.9, 0.3),), None), (((18, 0.3), (19, 0.1)), 0.1),  # from nine tenths of the span on
    (((19, 0.3), (20.5, 0.7)), 0.7), (((19, 0.3), (22, 0.7)), 0.3),  # whichever lies nearer
    (((10, 1), (30, 3)), 2.0), (((40, 3),), 1.5),  # half way from the row before, or from A's foot
])  # fmt: skip
def test_the_foot_of_b_is_its_own_row_or_the_nearest(rows, foot):
    assert foot_of_b(line(rows)) == (foot if foot is None else pytest.approx(foot))


@pytest.mark.parametrize("at, foot", [(19.8, 0.3), (19.7, None)])
def test_beside_a_slope_that_was_read_only_a_row_at_b_counts(at, foot):
    """Within a hundredth of the span, what a tape tells from its end."""
    assert foot_of_b(line(((at, 0.3),), **{"span.slope": "1 deg"})) == foot


# ---- whether what was said to be level dips


@pytest.mark.parametrize("rows, dips", [
    (((10, -0.1),), False), (((10, -0.11),), True), (((10, 0.1),), False), (((0.5, -0.2),), True),
    (((19.5, -0.2),), True),
])  # fmt: skip
def test_a_row_dips_where_it_lies_deeper_than_an_eye_misses(rows, dips):
    """10 cm (data/constants.csv, judgement), under the straight way from foot to foot."""
    assert dips_by_the_tape(line(rows), SPAN, 0.0, 0.0, 1.2) is dips


@pytest.mark.parametrize("height, dips", [(0.95, False), (0.85, True), (1.2, False)])
def test_on_ground_that_rises_a_row_dips_under_the_slope(height, dips):
    """By hand: it rises by 2 m, so half way lies 1 m up."""
    assert dips_by_the_tape(line(((10, height), (20, 2))), SPAN, 2.0, 2.0, 1.2) is dips


def test_a_row_at_a_foot_or_past_it_is_no_dip_between_and_a_string_tells_one_too():
    assert not dips_by_the_tape(line(((0, -1), (20, -1), (25, -5))), SPAN, 0.0, 0.0, 1.2)
    assert dips_by_the_tape(line(string=((10, 1.35),)), SPAN, 0.0, 0.0, 1.2)
    assert not dips_by_the_tape(line(string=((10, 1.25),)), SPAN, 0.0, 0.0, 1.2)


def test_what_is_said_to_be_level_is_taken_for_it_unless_a_row_dips():
    level = {"ground_between": "level or rising, no dip"}
    for row, how in (((), "answered"), (((10, 0.2),), "answered"), (((10, -0.5),), "unknown")):
        told = under_line(line(row, **level), SPAN, 0.0, 0.5, 1.2, 1.2)
        assert told.how == how
        assert how == "unknown" or (told.points, told.unseen) == (((0.0, 0.0), (20.0, 0.5)), pytest.approx(0.1))


# ---- the feet of the trunks


@pytest.mark.parametrize("rows, string, span, off", [
    (((0, 0.2), (10, 5)), (), 20.0, 0.2), (((0, -0.3),), (), 20.0, 0.3), (((0.1, 0.3),), (), 20.0, 0.0),
    (((20, 3),), (), 20.0, 0.0),
    ((), ((0, 1.5),), 20.0, 0.3), ((), ((0, 0.7),), 20.0, 0.5), ((), ((0.1, 1.5),), 20.0, 0.0),
    ((), ((20, 1.1), (10, 9)), 20.0, 0.4), ((), ((19.8, 1.1),), 20.0, 0.4), ((), ((20.2, 1.1),), 20.0, 0.4),
    ((), ((19.79, 1.1),), 20.0, 0.0), ((), ((20.21, 1.1),), 20.0, 0.0), ((), ((20, 1.1),), None, 0.0),
    (((0, 0.2),), ((0, 1.3), (20, 1.6)), 20.0, 0.2), (((0, 0.1),), ((0, 1.3), (20, 1.9)), 20.0, 0.4),
    (((10, 5),), (), 20.0, 0.0), ((), ((0, 1.3),), None, 0.1),
])  # fmt: skip
def test_a_tape_at_a_foot_tells_how_far_it_lies_off_it(rows, string, span, off):
    """A is tied at 1.2 m, B at 1.5 m; a row at A's foot is nought high, a string hangs as high as it is tied. At B a
    tape counts within a hundredth of the span."""
    told = line(rows, string, **{"b.tie_height": "1.5 m"})
    assert feet_apart(told, span) == pytest.approx(off)


def test_where_a_tie_is_not_known_a_string_tells_nothing_of_its_foot():
    assert feet_apart(line(string=((0, 3), (20, 3)), **{"a.tie_height": None, "b.tie_height": None}), SPAN) == 0.0


# ---- the slope at a trunk


def beside(rows, end="A", span: float | None = SPAN, rise: float = 0.0):
    return taped_beside(line(rows), end, span, 0.0, rise, 1.2)


@pytest.mark.parametrize("rows, slope", [
    (((10, -1),), 5.7), (((1, 0.1), (10, 3)), 5.7), (((0.9, 0.3), (10, 1)), 5.7),  # the first from one metre on
    (((0.9, 0.3),), 0.0), (((15, 1.5), (20, 1.5)), 5.7), (((20, 2),), 5.7), ((), 0.0),  # B's own row if no other
    (((10, 0), (20, 9)), 0.0),  # beside others it is none
    (((2, 1.8), (10, 2)), 11.3),  # 42 degrees up to it: the foot of a bank
])  # fmt: skip
def test_the_slope_at_a_trunk_is_that_of_the_first_row_far_enough_off(rows, slope):
    """By hand: 1 in 10 is 5.7 degrees, 1 in 5 is 11.3; nearer than a metre lies the mound of the roots (judgement)."""
    assert beside(rows).slope_deg == pytest.approx(slope, abs=0.06)


def test_the_slope_at_b_is_seen_from_b():
    assert beside(((10, -1), (19, 0.5), (20, 1))).slope_deg == pytest.approx(5.7, abs=0.06)
    assert beside(((10, -1), (19, 0.5), (20, 1)), "B").slope_deg == pytest.approx(26.6, abs=0.06)


def test_between_feet_alone_the_slope_is_theirs_from_either_end():
    """What lies nearer than a metre is as good as nothing between, and tells no gentler ground."""
    for end in "AB":
        assert beside(((0, 0), (0.9, 0.1), (19.1, 1.9), (20, 2)), end).slope_deg == pytest.approx(5.7, abs=0.06)
        assert beside(((0, 0), (20, 2)), end).slope_deg == pytest.approx(math.degrees(math.atan(0.1)), abs=0.06)
    for rows in (((0, 0), (10, 1)), ((0.5, 0.2), (10, 1)), ((10, 1), (15, 9))):
        assert beside(rows, span=None).slope_deg == pytest.approx(5.7, abs=0.06)


# ---- ground told of elsewhere between the same trunks


def apart(mine, *told: Told, rise: float = 0.0) -> float:
    return told_apart(mine, SPAN, rise, rise, 1.2, told)


LEVEL = ((0, 0), (5, 0), (10, 0), (15, 0), (20, 0))


@pytest.mark.parametrize("there, off", [
    ((10, 0.5), 0.5), ((10, -0.5), 0.5), ((12, 0.5), 0.5), ((0.1, 0.5), 0.5), ((19.7, 0.5), 0.5),
    ((0, 0.5), 0.0), ((19.8, 0.5), 0.0), ((20, -5), 0.0), ((25, -5), 0.0),  # the feet are known otherwise
])  # fmt: skip
def test_a_row_taped_elsewhere_lies_off_level_ground_by_its_height(there, off):
    assert apart(line(LEVEL), Told((there,))) == pytest.approx(off)


@pytest.mark.parametrize("there, off", [
    ((12, 0.5), 0.0), ((12, 1.2), 0.2), ((12, -0.2), 0.2), ((10, 0.5), 0.5), ((15, 0.5), 0.5), ((15, 1.2), 0.2),
    ((10, 0.0), 0.0), ((15, 1.0), 0.0),
])  # fmt: skip
def test_between_two_rows_ground_may_lie_anywhere_from_the_one_to_the_other(there, off):
    """Level for 10 m, then up by a metre at 15 m."""
    steps = line(((0, 0), (5, 0), (10, 0), (15, 1), (20, 1)))
    assert apart(steps, Told((there,)), rise=1.0) == pytest.approx(off)


@pytest.mark.parametrize("there, off", [((10, 1.5), 0.5), ((10, 0.95), 0.0), ((10, 0.5), 0.4), ((5, 0.0), 0.4)])
def test_untaped_ground_is_straight_but_for_a_dip_that_an_eye_misses(there, off):
    """It rises by 2 m from foot to foot: 1 m half way, and 10 cm lower unseen (judgement)."""
    assert apart(line(), Told((there,)), rise=2.0) == pytest.approx(off)


def test_of_all_that_was_told_what_lies_farthest_off_counts():
    told = [Told(((5, 0.1), (10, -0.7))), Told(((15, 0.4),))]
    assert apart(line(LEVEL), *told) == apart(line(LEVEL), *told[::-1]) == pytest.approx(0.7)
    assert apart(line(LEVEL)) == 0.0
    deep = Told(((0.0, -3.0), (20.0, -3.0)), True)
    assert apart(line(LEVEL), deep, told[1]) == pytest.approx(3.0)
    assert apart(line(LEVEL), Told(deep.points, True, 0.6)) == pytest.approx(2.4)


def test_a_depth_found_somewhere_is_meant_where_the_ground_lies_nearest_to_it():
    """By hand: a pit of 2 m half way lies 1 m over a depth of 3 m; over level ground it would be 3 m off."""
    pit = line(((0, 0), (5, 0), (10, -2), (15, 0), (20, 0)))
    assert apart(pit, Told(((0.0, -3.0), (20.0, -3.0)), True)) == pytest.approx(1.0)
    assert apart(pit, Told(((0.0, -1.0), (20.0, -1.0)), True)) == 0.0


@pytest.mark.parametrize("end, points", [
    ("A", [((0, 0), (5, -1), (20, 2))]), ("B", [((0, 0), (15, -3), (20, -2))]),
])  # fmt: skip
def test_rows_are_seen_from_either_trunk_over_its_own_foot(end, points):
    told = told_between(line(((0, 0), (5, -1), (20, 2))), end, SPAN, 2.0, 2.0, 1.2)
    assert [(one.points, one.somewhere, one.unseen) for one in told] == [(points[0], False, 0.0)]


@pytest.mark.parametrize("end, feet", [("A", (-1.8, 0.7)), ("B", (-1.3, -3.8))])
def test_a_depth_is_seen_from_either_trunk_over_its_own_foot(end, feet):
    """By hand: A tied at 1.2 m, B 2.5 m higher on ground 2 m up; 3 m under the straight way from tie to tie."""
    (told,) = told_between(line(open_below="3 m"), end, SPAN, 2.5, 2.0, 1.2)
    assert [at for at, _ in told.points] == [0.0, SPAN]
    assert [height for _, height in told.points] == pytest.approx(feet)
    assert told.somewhere and told.unseen == pytest.approx(0.6)  # a fifth of it may be missed (judgement)


@pytest.mark.parametrize("span, tie, many", [(SPAN, 1.2, 1), (None, 1.2, 0), (SPAN, None, 0)])
def test_a_depth_under_a_line_whose_ends_are_not_known_tells_nothing_of_this_ground(span, tie, many):
    assert len(told_between(line(open_below="3 m"), "A", span, 0.0, 0.0, tie)) == many


# ---- what the rest rests on


def test_the_ground_that_is_told_is_the_one_that_was_taped():
    assert profile_of(line(LEVEL), SPAN, 0.0, 0.0, 1.2)[1] and not profile_of(line(), SPAN, 0.0, 0.0, 1.2)[1]
    assert tapes_apart(line(LEVEL, ((10, 1.5),)), SPAN, 0.0, 1.2) == pytest.approx(0.3)
    assert deepest(line(((10, -2),)), SPAN, 0.0, 1.2) == pytest.approx(3.2)
