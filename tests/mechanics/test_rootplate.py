"""Root plate: the worked example, soil, lean, pulls at an angle, refusals, and what must never look kinder."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from siteassess.mechanics import ownweight, rootplate
from siteassess.mechanics.limit import Outside

FIRM, WET, SOAKED = (rootplate.SOIL_FACTORS[name].value for name in ("firm", "wet", "saturated"))


def test_worked_example_of_the_agreed_model():
    # 30 kN m/m^3 with a scatter of 0.48: 30 x 0.16 x 18 = 86.4 kN m, of which 0.454 stay at the 5 % value
    limit = rootplate.root_limit(0.40, 18.0, 1.0, 5_000.0, soil_factor=FIRM, moment_per_d2h=30e3, ln_sd=0.48)
    assert limit.capacity_median == pytest.approx(86_400.0)
    assert limit.capacity_p05 == pytest.approx(0.454 * 86_400.0, rel=1e-3)
    assert limit.demand == pytest.approx(9_000.0)
    assert limit.use == pytest.approx(9_000.0 * 1.5 / (0.454 * 86_400.0), rel=1e-3)
    assert not limit.refused and limit.outside == 0


def test_soaked_ground_halves_it_and_unknown_ground_counts_as_wet():
    firm, soaked, unstated = (
        rootplate.root_limit(0.40, 18.0, 1.0, 5_000.0, **soil)
        for soil in ({"soil_factor": FIRM}, {"soil_factor": SOAKED}, {})
    )
    assert soaked.capacity_median == pytest.approx(0.5 * firm.capacity_median)
    assert unstated.capacity_median == pytest.approx(0.75 * firm.capacity_median)
    assert rootplate.SOIL_FACTORS["frozen"].value <= WET


def test_extra_lever_arm_is_two_diameters_but_no_more_than_a_metre():
    """Pins the agreed model; the published tests hold it against the statics of a stiff post."""
    np.testing.assert_allclose(rootplate.lever_arm(1.0, [0.2, 0.4, 0.5, 0.9]), [1.4, 1.8, 2.0, 2.0])
    assert np.isnan(rootplate.lever_arm(-0.1, 0.4)) and np.isnan(rootplate.lever_arm(1.0, np.nan))


def test_height_above_fifty_diameters_earns_nothing_and_above_eighty_cannot_say():
    at_cap, above, slender = rootplate.root_limit(0.30, [15.0, 20.0, 24.01], 1.0, 3_000.0).capacity_median
    assert at_cap == above
    assert np.isnan(slender)
    limit = rootplate.root_limit(0.30, [15.0, 20.0, 24.01, 7.0], 1.0, 3_000.0)
    assert [Outside(int(o)) for o in limit.outside] == [
        Outside.NOTHING,
        Outside.HEIGHT_CAPPED,
        Outside.SLENDER | Outside.HEIGHT_CAPPED,
        Outside.SQUAT,
    ]
    assert not limit.refused[3]


@pytest.mark.parametrize(
    ("arguments", "reason"),
    [
        ({"height": np.nan}, Outside.MISSING),
        ({"share_lost": np.nan}, Outside.MISSING),
        ({"lean_moment": np.nan}, Outside.MISSING),
        ({"soil_factor": np.nan}, Outside.MISSING),
        ({"pull": np.nan}, Outside.MISSING),
        ({"digging_behind": np.nan}, Outside.DIGGING_BEHIND),
        ({"digging_behind": 1}, Outside.DIGGING_BEHIND),
        ({"share_lost": 0.31}, Outside.ROOTS_LOST_OVER_LIMIT),
        ({"share_lost": 0.51}, Outside.ROOTS_LOST_OVER_LIMIT | Outside.ROOTS_LOST_OVER_HALF),
        ({"height": -18.0}, Outside.IMPOSSIBLE),
    ],
)
def test_refusals_name_their_reason_and_give_no_number(arguments, reason):
    tree = {"diameter": 0.40, "height": 18.0, "tie_height": 1.0, "pull": 5_000.0} | arguments
    limit = rootplate.root_limit(**tree)
    assert limit.refused and np.isnan(limit.use) and np.isnan(limit.capacity_p05)
    assert reason in Outside(int(limit.outside))


def test_three_tenths_of_the_roots_lost_is_still_judged():
    limit = rootplate.root_limit(0.40, 18.0, 1.0, 5_000.0, share_lost=0.1 + 0.2)
    assert not limit.refused
    sound = rootplate.root_limit(0.40, 18.0, 1.0, 5_000.0, soil_factor=FIRM)
    assert limit.capacity_median == pytest.approx(0.75 * 0.7 * sound.capacity_median)


def test_lean_along_adds_lean_away_earns_nothing_and_lean_across_adds_as_a_vector():
    own = ownweight.own_lean_moment(0.40, 18.0, 5.0)
    plain = rootplate.turning_demand(5_000.0, 1.0, 0.40)
    assert rootplate.turning_demand(5_000.0, 1.0, 0.40, own, 0.0) == pytest.approx(plain + own)
    assert rootplate.turning_demand(5_000.0, 1.0, 0.40, -own) == pytest.approx(plain)
    assert rootplate.turning_demand(5_000.0, 1.0, 0.40, own, 180.0) == pytest.approx(plain)
    assert rootplate.turning_demand(5_000.0, 1.0, 0.40, own, 90.0) == pytest.approx(np.hypot(plain, own))
    away = rootplate.root_limit(0.40, 18.0, 1.0, 5_000.0, lean_moment=own, lean_from_pull_deg=180.0)
    assert Outside.LEANS_AWAY in Outside(int(away.outside))


def test_two_equal_pulls_at_a_right_angle():
    pull, bearing, tie = rootplate.combined_pull([3_000.0, 3_000.0], [0.0, 90.0], [1.0, 1.0], 0.4)
    assert pull == pytest.approx(3_000.0 * np.sqrt(2)) and bearing == pytest.approx(45.0) and tie == pytest.approx(1.0)


def test_two_pulls_at_different_heights_keep_their_moment():
    pull, bearing, tie = rootplate.combined_pull([3_000.0, 2_000.0], [350.0, 30.0], [1.0, 2.0], 0.4)
    east = 3_000 * 1.8 * np.sin(np.deg2rad(350)) + 2_000 * 2.8 * np.sin(np.deg2rad(30))
    north = 3_000 * 1.8 * np.cos(np.deg2rad(350)) + 2_000 * 2.8 * np.cos(np.deg2rad(30))
    assert rootplate.turning_demand(pull, tie, 0.4) == pytest.approx(np.hypot(east, north))
    assert bearing == pytest.approx(np.rad2deg(np.arctan2(east, north)))
    assert 1.0 < tie < 2.0


def test_opposed_pulls_cancel_and_one_pull_is_itself():
    assert rootplate.combined_pull([3e3, 3e3], [10.0, 190.0], [1.0, 1.0], 0.4)[0] == pytest.approx(0.0, abs=1e-8)
    one = rootplate.combined_pull([3e3], [250.0], [1.3], 0.4)
    np.testing.assert_allclose(one, (3e3, 250.0, 1.3))
    assert np.isnan(rootplate.combined_pull([3e3, np.nan], [0.0, 0.0], [1.0, 1.0], 0.4)[0])


@settings(max_examples=80, deadline=None)
@given(
    d=st.floats(0.15, 1.2),
    slim=st.floats(10.0, 79.0),
    tie=st.floats(0.2, 3.0),
    pull=st.floats(100.0, 20_000.0),
    lost=st.floats(0.0, 0.25),
    lean=st.floats(0.0, 10.0),
    turn=st.floats(0.0, 180.0),
    more=st.floats(1.01, 1.5),
)
def test_nothing_unkind_lowers_the_use(d, slim, tie, pull, lost, lean, turn, more):
    height = slim * d

    def use(diameter=d, lean_deg=lean, **changes):
        own = ownweight.own_lean_moment(d, height, lean_deg)
        arguments = {"share_lost": lost, "lean_moment": own, "lean_from_pull_deg": turn, "soil_factor": FIRM}
        numbers = {"tie_height": tie, "pull": pull} | arguments | changes
        return float(rootplate.root_limit(diameter, height, **numbers).use)

    base, slack = use(), 1 + 1e-9
    assert base > 0
    assert use(diameter=d * more) <= base * slack
    assert use(pull=pull * more) * slack >= base
    assert use(tie_height=tie * more) * slack >= base
    assert use(share_lost=lost + 0.04) > base
    assert use(lean_deg=lean * more) * slack >= base
    assert use(soil_factor=WET) > base
    assert use(soil_factor=SOAKED) > use(soil_factor=WET)
    assert use(divisor=2.0) > base
    assert use(ground_factor=0.8) > base


def test_a_factor_above_one_is_refused_not_believed():
    assert np.isnan(rootplate.root_capacity(0.4, 18.0, soil_factor=1.2))
    assert np.isnan(rootplate.root_capacity(0.4, 18.0, root_factor=-0.1))
