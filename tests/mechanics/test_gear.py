"""Rated strengths, each against the load of its own place."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from siteassess.mechanics import gear
from siteassess.mechanics.hauling import Range, Stage, advantage, stage_loads

ORDER = ["not enough", "enough"]


def test_without_ratings_or_loads_the_gear_is_not_checked():
    assert gear.check_gear([]) == ()
    parts = [gear.GearPart("webbing", None, 8e3), gear.GearPart("sling", np.nan, 8e3), gear.GearPart("ring", 30e3),
             gear.GearPart("rope", 30e3, 8e3, left=np.nan)]  # fmt: skip
    checks = gear.check_gear(parts)
    assert {check.answer for check in checks} == {"not checked"}


def test_the_weakest_for_its_own_load_comes_first_and_the_unknown_is_named():
    parts = [gear.GearPart("webbing", 30e3, 8e3), gear.GearPart("rope", 30e3, 8e3, left=0.7),
             gear.GearPart("shackle", None, 8e3),
             gear.GearPart("leash ring", 10e3, 2e3)]  # fmt: skip
    checks = gear.check_gear(parts)
    assert [check.name for check in checks] == ["rope", "webbing", "leash ring", "shackle"]
    assert checks[0].strength == pytest.approx(21e3) and checks[0].answer == "not enough"
    assert checks[1].factor == pytest.approx(3.75) and checks[1].answer == "enough"


def test_a_working_load_limit_already_holds_its_factor():
    sling = gear.GearPart("round sling", 10e3, 8e3, working_load=True)
    assert gear.check_part(sling).answer == "enough"
    assert gear.check_part(gear.GearPart("round sling", 10e3, 8e3)).answer == "not enough"


def test_a_makers_small_factor_is_made_up_to_ours():
    # A lashing breaks at twice its lashing capacity (a steel maker's sheet by EN 12195-2; read): 3 over the break is
    # 1.5 over the label.
    ratchet = gear.GearPart("ratchet", 12e3, 8e3, working_load=True, maker_factor=2.0)
    just, short = (gear.check_part(gear.GearPart("ratchet", 12e3, load, working_load=True, maker_factor=2.0))
                   for load in (7.99e3, 8.01e3))  # fmt: skip
    assert gear.check_part(ratchet).wanted == pytest.approx(1.5)
    assert (just.answer, short.answer) == ("enough", "not enough")
    strong = gear.GearPart("shackle", 12e3, 8e3, working_load=True, maker_factor=5.0)
    assert gear.check_part(strong).wanted == 1.0


def test_slipping_is_told_whatever_the_strength():
    assert gear.check_part(gear.GearPart("grip", 50e3, 3.1e3, slips_from=3e3)).slips
    assert not gear.check_part(gear.GearPart("grip", 50e3, 2.9e3, slips_from=3e3)).slips
    assert not gear.check_part(gear.GearPart("grip", 50e3, np.nan, slips_from=3e3)).slips


def test_the_factor_asked_for_counts():
    assert gear.check_part(gear.GearPart("webbing", 30e3, 8e3), factor=5.0).answer == "not enough"


@settings(max_examples=100, deadline=None)
@given(st.floats(500.0, 500e3), st.floats(1.0, 5.0), st.floats(100.0, 60e3), st.booleans(), st.floats(1.0, 8.0))
def test_a_stronger_piece_is_never_worse(rated, times, load, working, maker):
    weak, strong = (gear.check_part(gear.GearPart("x", one, load, working_load=working, maker_factor=maker))
                    for one in (rated, times * rated))  # fmt: skip
    assert ORDER.index(strong.answer) >= ORDER.index(weak.answer) and strong.wanted == weak.wanted


# -- inside a pulley system


def test_without_friction_a_system_shares_evenly():
    """5:1 without friction, by counting strands: each carries a fifth, a sheave two fifths."""
    (load,) = stage_loads(5e3, [Stage(5, Range(1.0, 1.0, 1.0))])
    assert load == pytest.approx((5e3, 1e3, 2e3))


def test_three_on_three_by_hand():
    """3:1 on 3:1 at 0.8: 1 + 0.8 + 0.64 = 2.44. Of 6 kN the last rope carries 2.459 kN and its hardest sheave 4.426;
    the first works on that rope: 1.008 and 1.814 kN."""
    e = Range(0.8, 0.8, 0.8)
    hands, line = stage_loads(6e3, [Stage(3, e), Stage(3, e)])
    assert line == pytest.approx((6e3, 2459.0, 4426.2), rel=1e-4)
    assert hands == pytest.approx((2459.0, 1007.8, 1814.0), rel=1e-4)


def test_a_last_turn_of_the_rope_costs_and_is_loaded():
    """1:1 over one karabiner of 0.5: to pull 1 kN the hands pull 2, and 3 hang on it."""
    (load,) = stage_loads(1e3, [Stage(1, Range(0.5, 0.5, 0.5), redirect=True)])
    assert load == pytest.approx((1e3, 2e3, 3e3))


@settings(max_examples=60, deadline=None)
@given(st.integers(2, 9), st.floats(0.4, 1.0), st.floats(100.0, 20e3))
def test_strands_of_a_stage_add_up_to_what_it_pulls(strands, e, pull):
    (load,) = stage_loads(pull, [Stage(strands, Range(e, e, e))])
    each = load.rope * e ** np.arange(strands)
    assert each.sum() == pytest.approx(pull) and load.pulley == pytest.approx(each[0] + each[1])
    assert load.rope == pytest.approx(pull / float(advantage(strands, e)))


def test_tension_above_the_webbing_is_said_with_the_ratio():
    assert gear.webbing_warning(36e3, 30e3) == "tension-over-strength"
    assert gear.webbing_warning(12e3, 30e3) == "tension-over-its-share"
    assert gear.webbing_warning(8e3, 30e3) == "" == gear.webbing_warning(8e3, None)
