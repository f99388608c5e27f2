"""Eight directions of pull on one root plate."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from siteassess.mechanics import ownweight, rootplate
from siteassess.mechanics.roots import SECTOR_BEARINGS_DEG, digging_behind, holding_share_lost

NONE = np.full(8, np.inf)
TREE = {"diameter": 0.4, "height": 18.0, "tie_height": 1.0, "pull": 5e3}


def bars(lost=(0.0,) * 8, digging=NONE, lean_bearing_deg=0.0, **others):
    return rootplate.root_limit(
        **TREE,
        share_lost=holding_share_lost(lost, SECTOR_BEARINGS_DEG),
        digging_behind=digging_behind(digging, SECTOR_BEARINGS_DEG, TREE["diameter"]),
        lean_from_pull_deg=lean_bearing_deg - np.asarray(SECTOR_BEARINGS_DEG),
        **others,
    )


def test_a_whole_upright_tree_is_alike_all_round_and_matches_the_plain_sum():
    limit = bars(soil_factor=1.0)
    assert limit.use.shape == (8,)
    np.testing.assert_allclose(limit.use, float(rootplate.root_limit(**TREE, soil_factor=1.0).use))


def test_the_bar_towards_the_lean_is_longest_and_the_one_away_shortest():
    own = ownweight.own_lean_moment(0.4, 18.0, 4.0)
    limit = bars(lean_moment=own, lean_bearing_deg=135.0)
    assert np.argmax(limit.use) == 3 and limit.use[7] == limit.use.min()


def test_a_trench_in_the_south_stops_pulls_to_the_northern_half_and_square_to_it():
    digging = NONE.copy()
    digging[4] = 0.8
    assert bars(digging=digging).refused.tolist() == [True, True, True, False, False, False, True, True]


@settings(max_examples=50, deadline=None)
@given(
    lost=st.lists(st.floats(0.0, 0.5), min_size=8, max_size=8),
    lean=st.floats(0.0, 6.0),
    towards=st.floats(0.0, 360.0),
    steps=st.integers(0, 7),
    near=st.integers(0, 8),
)
def test_turning_everything_together_only_turns_the_picture(lost, lean, towards, steps, near):
    digging = np.where(np.arange(8) == near, 0.5, np.inf)
    own = ownweight.own_lean_moment(0.4, 18.0, lean)
    plain = bars(lost, digging, lean_moment=own, lean_bearing_deg=towards).use
    turned = bars(
        np.roll(lost, steps), np.roll(digging, steps), lean_moment=own, lean_bearing_deg=towards + 45.0 * steps
    ).use
    np.testing.assert_allclose(np.roll(plain, steps), turned, rtol=1e-9)


def test_stems_on_one_plate_count_by_their_area():
    assert rootplate.joint_diameter([0.3, 0.4]) == pytest.approx(0.5)
    assert np.isnan(rootplate.joint_diameter([0.3, np.nan]))
