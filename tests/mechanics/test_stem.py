"""What a trunk may carry: the worked example, refusals, and what must never make it look stronger."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from siteassess.mechanics import stem
from siteassess.mechanics.limit import Outside

OAK = 57e6


def test_worked_example_of_the_agreed_model():
    """Pins the agreed model by an example worked with its own numbers."""
    limit = stem.stem_limit(OAK, 0.40, 1.0, 5_000.0)
    assert limit.capacity_median == pytest.approx(287e3, rel=2e-3)
    assert limit.capacity_p05 == pytest.approx(limit.capacity_median * np.exp(-1.6448536 * 0.40))
    assert limit.allowable == pytest.approx(limit.capacity_p05 / 1.5)
    assert limit.demand == 5_000.0
    assert limit.use == pytest.approx(5_000.0 / limit.allowable)
    assert not limit.refused and limit.outside == 0


def test_demand_counts_from_the_section_and_a_section_above_the_tie_feels_none():
    assert stem.bending_demand(5_000.0, 1.0, 0.3) == pytest.approx(3_500.0)
    assert stem.bending_demand(5_000.0, 1.0, 1.4) == 0.0
    assert stem.bending_demand(5_000.0, 1.0, 0.0, other_moment=-900.0) == 5_000.0
    assert stem.bending_demand(5_000.0, 1.0, 0.0, other_moment=900.0) == 5_900.0


@pytest.mark.parametrize("bad", [(np.nan, 1.0, 0.0), (-1.0, 1.0, 0.0), (1.0, -0.1, 0.0), (1.0, 1.0, np.nan)])
def test_demand_gives_no_number_for_bad_inputs(bad):
    assert np.isnan(stem.bending_demand(*bad))


def test_a_fork_costs_capacity_and_widens_the_scatter():
    """Pins the agreed 0.42 and 0.50; tests/published/test_anchor_stems.py holds them against other studies."""
    sound = stem.stem_limit(OAK, 0.40, 1.0, 5_000.0)
    forked = stem.stem_limit(OAK, 0.40, 1.0, 5_000.0, forked=1)
    assert forked.capacity_median == pytest.approx(0.42 * sound.capacity_median)
    assert forked.capacity_ln_sd == 0.50
    assert forked.use > 2.3 * sound.use


def test_refusals_name_their_reason():
    cases = {
        Outside.THIN_WALL: {"wall": 0.059},
        Outside.WIDE_OPENING: {"opening_deg": 121.0},
        Outside.MISSING: {"forked": np.nan},
        Outside.IMPOSSIBLE: {"bark_thickness": 0.25},
    }
    for reason, arguments in cases.items():
        limit = stem.stem_limit(OAK, 0.40, 1.0, 5_000.0, **arguments)
        assert limit.refused, reason
        assert Outside(int(limit.outside)) == reason
        assert np.isnan(limit.use) and np.isnan(limit.allowable) and np.isnan(limit.capacity_median)


def test_just_inside_the_published_bounds_is_judged():
    limit = stem.stem_limit(OAK, 0.40, 1.0, 5_000.0, wall=0.06, opening_deg=120.0)
    assert not limit.refused and limit.use > 0


def test_unknown_strength_cannot_say_and_does_not_spoil_its_neighbour():
    limit = stem.stem_limit([OAK, np.nan], 0.40, 1.0, 5_000.0)
    assert limit.refused.tolist() == [False, True]
    assert limit.outside[1] == Outside.MISSING


def test_no_pull_uses_nothing_but_an_unknown_trunk_still_cannot_say():
    limit = stem.stem_limit([OAK, np.nan], 0.40, 1.0, 0.0)
    assert limit.use[0] == 0.0 and np.isnan(limit.use[1])


def test_a_deep_cavity_governs_over_the_ground():
    both = stem.stem_limit(
        OAK, 0.5, 2.0, 5e3, section_height=[0.0, 0.4], wall=[np.inf, 0.08], opening_deg=[0.0, 110.0]
    )
    assert np.argmax(both.use) == 1


trees = {
    "d": st.floats(0.15, 1.2),
    "tie": st.floats(0.3, 3.0),
    "pull": st.floats(100.0, 20_000.0),
    "bark": st.floats(0.0, 0.03),
}


@settings(max_examples=60, deadline=None)
@given(**trees, more=st.floats(1.01, 2.0), wall=st.floats(0.31, 1.0))
def test_nothing_unkind_lowers_the_use(d, tie, pull, bark, more, wall):
    wood_wall = wall * (d / 2 - bark)

    def use(**changes):
        tree = {"diameter": d, "tie_height": tie, "pull": pull, "bark_thickness": bark, "wall": wood_wall}
        return float(stem.stem_limit(OAK, **(tree | changes)).use)

    base = use()
    assert base > 0
    slack = 1 + 1e-9
    assert use(pull=pull * more) * slack >= base
    assert use(tie_height=tie * more) * slack >= base
    assert use(diameter=d * more) <= base * slack or np.isnan(use(diameter=d * more))
    assert use(bark_thickness=bark + 0.005) * slack >= base or np.isnan(use(bark_thickness=bark + 0.005))
    assert use(forked=1) > base
    assert use(divisor=2.0) > base
    assert use(opening_deg=60.0) * slack >= base
