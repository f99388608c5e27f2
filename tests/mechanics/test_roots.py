"""Roots by direction: weights, symmetry, unknown sectors and digging behind the pull."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from siteassess.mechanics import rootplate, roots
from siteassess.records.fields import SECTORS

shares = st.lists(st.floats(0.0, 1.0), min_size=8, max_size=8)


def one_lost(*sectors):
    lost = np.zeros(8)
    lost[list(sectors)] = 1.0
    return lost


@pytest.mark.parametrize("bearing", [0.0, 13.0, 22.5, 90.0, 271.3])
def test_weights_add_to_one_whatever_the_bearing(bearing):
    weights = roots.sector_weights(bearing)
    assert weights.sum() == pytest.approx(1.0) and (weights > 0).all()


def test_roots_right_behind_a_northward_pull_lie_south_and_count_most():
    weights = roots.sector_weights(0.0)
    assert np.argmax(weights) == SECTORS.index("S")
    assert np.argmin(weights) == SECTORS.index("N")
    assert weights[4] == pytest.approx(1.5 / 8) and weights[0] == pytest.approx(0.5 / 8)


def test_eight_directions_at_once_for_eight_bars():
    lost = one_lost(4)
    by_direction = roots.holding_share_lost(lost, roots.SECTOR_BEARINGS_DEG)
    assert by_direction.shape == (8,)
    assert np.argmax(by_direction) == 0 and np.argmin(by_direction) == 4
    use = rootplate.root_limit(0.4, 18.0, 1.0, 5e3, share_lost=by_direction).use
    assert use.shape == (8,) and np.argmax(use) == 0


def test_a_sector_not_looked_at_makes_the_share_unknown():
    lost = np.zeros(8)
    lost[2] = np.nan
    assert np.isnan(roots.holding_share_lost(lost, 0.0))
    assert np.isnan(roots.holding_share_lost(np.full(8, 1.2), 0.0))
    assert np.isnan(roots.holding_share_lost(np.zeros(8), np.nan))


def test_more_than_half_of_all_roots_lost_is_no_kinder_in_any_direction():
    lost = one_lost(0, 1, 2, 6, 7)
    assert (roots.holding_share_lost(lost, roots.SECTOR_BEARINGS_DEG) > 0.5).all()


@settings(max_examples=80, deadline=None)
@given(shares, st.integers(0, 7), st.floats(0.0, 360.0))
def test_turning_pull_and_sectors_together_changes_nothing(lost, steps, bearing):
    plain = roots.holding_share_lost(lost, bearing)
    turned = roots.holding_share_lost(np.roll(lost, steps), bearing + 45.0 * steps)
    assert turned == pytest.approx(float(plain), abs=1e-12)


@settings(max_examples=80, deadline=None)
@given(shares, st.integers(0, 7), st.floats(0.0, 360.0))
def test_losing_more_roots_is_never_kinder(lost, sector, bearing):
    worse = np.array(lost)
    worse[sector] = 1.0
    assert roots.holding_share_lost(worse, bearing) >= roots.holding_share_lost(lost, bearing) - 1e-12
    assert 0.0 <= roots.holding_share_lost(lost, bearing) <= 1.0 + 1e-12


def test_digging_counts_only_behind_and_only_within_three_diameters():
    """What lies beside the pull runs on behind it; the next sector ahead does not."""
    none = np.full(8, np.inf)
    behind, beside, ahead, far = none.copy(), none.copy(), none.copy(), none.copy()
    behind[4], beside[2], ahead[1], far[4] = 1.19, 0.5, 0.5, 1.21
    found = roots.digging_behind([behind, beside, ahead, far], 0.0, 0.4)
    assert found.tolist() == [1.0, 1.0, 0.0, 0.0]
    assert roots.digging_behind(beside, 45.0, 0.4) == 0.0


@pytest.mark.parametrize("pull", [22.5 + 45.0 * turn for turn in range(8)])
def test_a_sector_whose_edge_lies_square_to_the_pull_is_not_behind_it_and_one_that_reaches_past_is(pull):
    """By hand: the sector's middle lies 67.5 degrees from the pull, its nearest edge to what is behind 90 degrees."""
    beside = [np.where((pull + turned) % 360.0 == roots.SECTOR_BEARINGS_DEG, 0.6, np.inf) for turned in (67.5, -67.5)]
    assert roots.digging_behind(beside, pull, 0.6).tolist() == [0.0, 0.0]
    assert roots.digging_behind(beside, [pull - 0.1, pull + 0.1], 0.6).tolist() == [1.0, 1.0]
    assert roots.share_cut_off(np.zeros(8), beside[0], pull, 0.6) == 0.0 < roots.share_cut_off(
        np.zeros(8), beside[0], pull - 0.1, 0.6)  # fmt: skip


def test_digging_not_looked_for_is_unknown_unless_some_is_known_near():
    distances = np.full(8, np.inf)
    distances[3] = np.nan
    assert np.isnan(roots.digging_behind(distances, 0.0, 0.4))
    assert roots.digging_behind(distances, 180.0, 0.4) == 0.0
    distances[4] = 0.5
    assert roots.digging_behind(distances, 0.0, 0.4) == 1.0
    assert np.isnan(roots.digging_behind(np.full(8, np.inf), np.nan, 0.4))
    assert np.isnan(roots.digging_behind(np.full(8, np.inf), 0.0, np.nan))


def test_named_root_states_run_from_sound_to_lost():
    values = [roots.ROOT_STATES[name].value for name in ("sound", "exposed", "undercut", "cut")]
    assert values == sorted(values) and values[0] == 0.0 and values[-1] == 1.0
