"""What pads, slats and rough bark do to the pressure."""

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from siteassess.errors import OutsideModel
from siteassess.mechanics import padding
from siteassess.reference.tables import document, rows

calm = settings(max_examples=60, deadline=None)


def test_soft_foam_that_bottoms_out_gives_no_spread():
    foam = next(row for row in rows("pads") if row["id"] == "foam mat")
    assert padding.padded_width(0.05, 0.5, foam["thickness_mm"] / 1e3, foam["spread_deg"]) == 0.05


def test_a_stiff_pad_spreads_by_its_thickness_and_never_past_its_own_width():
    assert padding.padded_width(0.05, 0.5, 0.0064, 45.0) == pytest.approx(0.0628)
    assert padding.padded_width(0.05, 0.055, 0.0064, 45.0) == 0.055
    assert padding.padded_width(0.05, 0.03, 0.0064, 45.0) == 0.05  # a pad narrower than the sling takes nothing away


def test_a_slat_bears_only_near_the_sling():
    assert padding.slat_bearing_length(0.4, 0.05, 0.02) == pytest.approx(0.13)
    assert padding.slat_bearing_length(0.1, 0.05, 0.02) == pytest.approx(0.1)


def test_five_round_sticks_against_five_flat_slats_on_a_400_mm_trunk():
    """8 kN basket, 50 mm sling. Over their whole length (the table's own sum) they give 824 and 155 kPa; with the
    rule that a slat bears only near the sling both press harder, and the slats still less than the sticks."""
    sticks = padding.slats(4e3, math.pi, 0.4, 5, 0.015, 0.2, 0.015, 0.05)
    flat = padding.slats(4e3, math.pi, 0.4, 5, 0.04, 0.4, 0.02, 0.05)
    assert sticks.force_n == pytest.approx(2472.1, abs=0.1)
    assert sticks.pressure_pa == pytest.approx(2472.1 / (0.015 * 0.110), rel=1e-4)
    assert flat.pressure_pa == pytest.approx(2472.1 / (0.04 * 0.130), rel=1e-4)
    assert sticks.pressure_pa > 3.0 * flat.pressure_pa
    bare = 4e3 / (0.2 * 0.05)
    assert flat.pressure_pa > bare  # honest: thin slats spare the ring between and press harder where they stand
    assert flat.covered_share == pytest.approx(0.318, abs=1e-3)


def test_slats_that_overlap_are_refused():
    with pytest.raises(OutsideModel, match="overlap"):
        padding.slats(4e3, math.pi, 0.4, 20, 0.04, 0.4, 0.02, 0.05)


def test_too_few_thin_slats_let_the_sling_touch_the_bark():
    assert not padding.slats(4e3, math.pi, 0.4, 2, 0.04, 0.4, 0.02, 0.05).sling_clear
    assert padding.slats(4e3, math.pi, 0.4, 6, 0.04, 0.4, 0.02, 0.05).sling_clear


def test_slats_solved_for_meet_the_target_with_the_fewest():
    wanted = {
        "tension": 4e3, "contact": math.pi, "diameter": 0.6, "slat_width": 0.07, "slat_length": 0.4,
        "slat_thickness": 0.03, "sling_width": 0.10,
    }  # fmt: skip
    count = padding.slats_for(target=125e3, **wanted)
    order = ("tension", "contact", "diameter")
    sizes = ("slat_width", "slat_length", "slat_thickness", "sling_width")

    def pressed(n):
        return padding.slats(*(wanted[k] for k in order), n, *(wanted[k] for k in sizes))

    assert pressed(count).pressure_pa <= 125e3 and pressed(count).sling_clear
    assert pressed(count - 1).pressure_pa > 125e3 or not pressed(count - 1).sling_clear
    assert padding.slats_for(target=1e3, **wanted) is None


@calm
@given(st.integers(2, 9), st.floats(0.3, 1.0), st.floats(0.01, 0.05), st.floats(1.01, 2.0))
def test_more_wider_or_thicker_slats_never_press_harder(count, diameter, thickness, more):
    def pressure(n=count, width=0.02, thick=thickness, tension=3e3):
        return padding.slats(tension, math.pi, diameter, n, width, 0.6, thick, 0.05).pressure_pa

    assert pressure(n=count + 1) <= pressure()
    assert pressure(width=0.02 * more) < pressure()
    assert pressure(thick=thickness * more) <= pressure()
    assert pressure(tension=3e3 * more) > pressure()


def test_ridges_carry_it_all():
    assert padding.ridge_pressure(100e3, 0.5) == 200e3
    assert np.isnan(padding.ridge_pressure(np.nan, 0.5))
    with pytest.raises(OutsideModel):
        padding.ridge_pressure(100e3, 0.0)


def test_every_bark_form_has_advice_for_its_padding():
    advised = {row["form"] for row in document("pads")["by_bark_form"]}
    named = {row.form for row in rows("bark_forms")} - {"unknown", "not_applicable_monocot"}
    assert named <= advised
