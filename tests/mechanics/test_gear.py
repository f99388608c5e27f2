"""Rated strengths against the governing case."""

import numpy as np
import pytest

from siteassess.mechanics import gear
from siteassess.reference.tables import rows


def test_without_ratings_the_gear_is_not_checked():
    assert gear.gear_line(gear.check_gear([], 8e3)) == "gear: not checked"
    parts = [gear.Part("webbing", None), gear.Part("sling", np.nan)]
    checks = gear.check_gear(parts, 8e3)
    assert {check.answer for check in checks} == {"not checked"}
    assert gear.gear_line(checks) == "gear: not checked"
    assert gear.check_part(gear.Part("webbing", 30e3), np.nan).answer == "not checked"


def test_the_weakest_comes_first_and_the_unknown_is_named():
    parts = [gear.Part("webbing", 30e3), gear.Part("rope", 30e3, end="bowline"), gear.Part("shackle", None)]
    checks = gear.check_gear(parts, 8e3)
    assert [check.name for check in checks] == ["rope", "webbing", "shackle"]
    assert checks[0].strength == pytest.approx(21e3) and checks[0].answer == "not enough"
    assert checks[1].factor == pytest.approx(3.75) and checks[1].answer == "enough"
    line = gear.gear_line(checks)
    assert "rope" in line and "2.6 times" in line and "not checked: shackle" in line


def test_a_working_load_limit_already_holds_its_factor():
    assert gear.check_part(gear.Part("round sling", 10e3, working_load=True), 8e3).answer == "enough"
    assert gear.check_part(gear.Part("round sling", 10e3), 8e3).answer == "not enough"


def test_share_wet_and_factor_count():
    leg = gear.check_part(gear.Part("sling leg", 20e3, share=0.53), 10e3)
    assert leg.load == pytest.approx(5.3e3) and leg.answer == "enough"
    wet = gear.check_part(gear.Part("webbing", 30e3, wet_nylon=True), 8e3)
    assert wet.strength == pytest.approx(22.5e3) and wet.answer == "not enough"
    assert gear.check_part(gear.Part("webbing", 30e3), 8e3, factor=5.0).answer == "not enough"


def test_every_knot_takes_something_and_its_range_is_ordered():
    for name, (low, high) in gear.LEFT_BY.items():
        assert 0 < low <= high <= 1, name


def test_knots_say_what_the_shipped_table_says_and_an_unknown_one_is_not_guessed():
    shipped = {row.knot: (row.strength_low_share, row.strength_high_share) for row in rows("knots")}
    assert shipped == {name: gear.LEFT_BY[name] for name in shipped}
    assert gear.left_by("Figure-Eight") == 0.75 and gear.left_by(0.5) == 0.5
    strange = gear.check_part(gear.Part("rope", 30e3, end="my own knot"), 8e3)
    assert strange.answer == "not checked" and np.isnan(strange.strength)


def test_lengths():
    assert "reaches" in gear.length_line("webbing", 80.0, 71.4) and "75.4 m" in gear.length_line("webbing", 80.0, 71.4)
    assert "too short" in gear.length_line("webbing", 75.0, 71.4)
    assert "not given" in gear.length_line("webbing", None, 71.4)


def test_tension_above_the_webbing_is_said_with_the_ratio():
    assert "1.20 times" in gear.webbing_warning(36e3, 30e3)
    assert "more than 1/3" in gear.webbing_warning(12e3, 30e3)
    assert gear.webbing_warning(8e3, 30e3) == "" == gear.webbing_warning(8e3, None)
