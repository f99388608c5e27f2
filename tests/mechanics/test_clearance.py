"""Height over the ground."""

import numpy as np
import pytest

from siteassess.errors import OutsideModel
from siteassess.mechanics import clearance as cl
from siteassess.mechanics import profile
from siteassess.mechanics.cable import solve
from siteassess.mechanics.line_load import LoadedLine

LINE = LoadedLine(40.0, 0.0, 3000.0, 60e3, 0.7, 800.0)
FLAT = profile.plain_slope(40.0)


def test_mid_span_height_is_tie_less_drop():
    drop = float(solve(40.0, 0.0, 3000.0, 60e3, 0.7, 800.0, 0.5).drop)
    seen = cl.walked_height(LINE, 3.0, FLAT)
    assert seen.at_mid_span == pytest.approx(3.0 - drop, abs=1e-9)
    assert seen.lowest == pytest.approx(3.0 - drop, abs=1e-9) and seen.lowest_at == pytest.approx(20.0)
    assert (seen.tie_a, seen.tie_b) == (3.0, 3.0)
    assert cl.empty_height(LINE, 3.0, FLAT).lowest > 2.9


def test_where_the_feet_touch():
    assert cl.walked_height(LINE, 3.0, FLAT).touches() == ()
    ((begin, end),) = cl.walked_height(LINE, 2.0, FLAT).touches()
    assert begin == pytest.approx(40.0 - end) and 0 < begin < 20.0
    bump = profile.Profile(np.array([0.0, 9.0, 10.0, 11.0, 40.0]), np.array([0.0, 0.0, 2.0, 0.0, 0.0]))
    touches = cl.walked_height(LINE, 2.6, bump).touches()
    assert len(touches) == 1 and 9.0 < touches[0][0] <= 10.0 <= touches[0][1] < 11.0


def test_a_slope_moves_ground_and_line_alike():
    slope = profile.plain_slope(40.0, 6.0)
    tilted = LoadedLine(40.0, 6.0, 3000.0, 60e3, 0.0, 800.0)
    level = LoadedLine(40.0, 0.0, 3000.0, 60e3, 0.0, 800.0)
    up = cl.walked_height(tilted, 3.0, slope)
    assert up.tie_b == pytest.approx(3.0)
    # The depth under the straight line is nearly that of the level line, a little less where the pull is larger.
    assert up.lowest == pytest.approx(cl.walked_height(level, 3.0, FLAT).lowest, abs=0.06)


def test_taped_offsets_are_counted_from_the_straight_line_between_the_ties():
    ground = profile.taped_offsets(40.0, 2.0, 3.0, [10.0, 20.0, 40.0], [3.0, 4.5, 3.5])
    assert ground.at([0.0, 10.0, 20.0, 40.0]) == pytest.approx([0.0, 0.5, -0.5, 1.5])
    line = LoadedLine(40.0, 2.0, 3000.0, 60e3, 0.7, 800.0)
    assert cl.walked_height(line, 3.0, ground).tie_b == pytest.approx(3.5)
    for distances, offsets in (
        ([10.0, 5.0, 40.0], [1, 1, 1]),
        ([10.0, 20.0], [1, 1]),
        ([], []),
        ([10.0, 40.0], [1.0, np.nan]),
    ):
        with pytest.raises(OutsideModel):
            profile.taped_offsets(40.0, 2.0, 3.0, distances, offsets)


def test_unknown_ground_is_refused():
    for distance, height in (([0.0, 10.0], [0.0, np.nan]), ([0.0, 10.0, 5.0], [0.0, 0.0, 0.0]), ([], [])):
        with pytest.raises(OutsideModel, match="ground"):
            profile.Profile(np.array(distance), np.array(height))


def test_least_standing_clears_by_just_the_margin():
    least = cl.least_standing(LINE, 2.6, FLAT, 0.2)
    just = LoadedLine(40.0, 0.0, least, 60e3, 0.7, 800.0)
    assert cl.walked_height(just, 2.6, FLAT).lowest == pytest.approx(0.2, abs=1e-4)
    assert cl.least_standing(LINE, 2.8, FLAT, 0.2) < least
    assert cl.least_standing(LINE, 2.6, FLAT, 0.4) > least
    assert np.isnan(cl.least_standing(LINE, 0.4, FLAT, 0.3, most=10e3))


def test_ties_that_just_clear_and_just_stay_under_the_limit():
    low = cl.lowest_tie(LINE, 2.0, FLAT, 0.3)
    assert cl.walked_height(LINE, low, FLAT).lowest == pytest.approx(0.3)
    hollow = profile.Profile(np.array([0.0, 20.0, 40.0]), np.array([0.0, -1.5, 0.0]))
    high = cl.highest_tie(LINE, 2.0, hollow, 3.0)
    assert cl.empty_height(LINE, high, hollow).height.max() == pytest.approx(3.0)
    assert cl.highest_tie(LINE, 2.0, FLAT, 1.2) == pytest.approx(1.2)
