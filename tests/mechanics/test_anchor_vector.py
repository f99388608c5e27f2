"""Pulls on one tree as vectors."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from siteassess.mechanics import anchor_vector as av

BEARING = st.floats(0, 360)


@settings(max_examples=100, deadline=None)
@given(BEARING, st.floats(10, 1e4), st.floats(-1e3, 1e3), st.floats(0.1, 6))
def test_one_pull_is_itself(bearing, horizontal, vertical, height):
    one = av.together([av.Pull(bearing, horizontal, vertical, height)])
    assert one.horizontal == pytest.approx(horizontal)
    assert av.angle_between(one.bearing_deg, bearing) == pytest.approx(0, abs=1e-6)
    assert one.moment == pytest.approx(horizontal * height) and one.height == pytest.approx(height)
    assert one.vertical == pytest.approx(vertical)


@settings(max_examples=100, deadline=None)
@given(st.lists(st.tuples(BEARING, st.floats(10, 1e4), st.floats(0.1, 6)), min_size=2, max_size=4), BEARING)
def test_turning_the_map_turns_the_answer(pulls, turn):
    def sum_turned(by):
        return av.together([av.Pull(b + by, f, 0.0, z) for b, f, z in pulls])

    before, after = sum_turned(0.0), sum_turned(turn)
    assert before.horizontal <= sum(f for _, f, _ in pulls) * (1 + 1e-12)
    assert after.horizontal == pytest.approx(before.horizontal, abs=1e-6)
    assert after.moment == pytest.approx(before.moment, abs=1e-6)


def test_opposite_pulls_at_different_heights_still_tip():
    sum_ = av.together([av.Pull(10.0, 4e3, 0.0, 3.0), av.Pull(190.0, 4e3, 0.0, 1.0)])
    assert sum_.horizontal == pytest.approx(0, abs=1e-6) and np.isnan(sum_.bearing_deg)
    assert sum_.moment == pytest.approx(8e3) and sum_.tips_towards_deg == pytest.approx(10.0)


def test_the_extra_arm_adds_to_every_height():
    pulls = [av.Pull(0.0, 3e3, 0.0, 1.0), av.Pull(90.0, 4e3, 0.0, 2.0)]
    assert av.together(pulls, 1.0).moment == pytest.approx(np.hypot(6e3, 12e3))
    with pytest.raises(ValueError, match="no pulls"):
        av.together([])


def test_angles_wrap_round_north():
    assert av.angle_between(350.0, 10.0) == pytest.approx(20.0)
    assert av.angle_between(10.0, 190.0) == pytest.approx(180.0)


def test_a_guy_straight_behind_halves_the_moment():
    pull = av.Pull(40.0, 6e3, 500.0, 2.0)
    guy = av.guy_for_share(pull, 0.5, 220.0, 3.0)
    assert guy.tension == pytest.approx(2e3) and guy.moment_left == pytest.approx(6e3)
    assert av.angle_between(guy.tips_towards_deg, 40.0) == pytest.approx(0, abs=1e-6)
    steep = av.guy_for_share(pull, 0.5, 220.0, 3.0, 30.0)
    assert steep.horizontal_on_second == pytest.approx(2e3)
    assert steep.tension == pytest.approx(2e3 / np.cos(np.radians(30))) and steep.added_down > 0


def test_a_guy_off_the_line_leaves_a_sideways_moment_and_in_front_is_refused():
    pull = av.Pull(0.0, 6e3, 0.0, 2.0)
    off = av.guy_for_share(pull, 0.5, 150.0, 2.0)
    assert off.moment_left > 6e3 and off.tension > 3e3
    for bearing, height in ((0.0, 2.0), (90.0, 2.0), (180.0, 0.0)):
        with pytest.raises(ValueError, match="guy"):
            av.guy_for_share(pull, 0.5, bearing, height)
