"""Pressure of a sling on bark: statics, what divides it and what does not, the reference it is held against."""

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from siteassess.errors import OutsideModel
from siteassess.mechanics import bark
from siteassess.mechanics.bark import press, reading, reference_pressure
from siteassess.reference.findings import in_words, said

PULL = st.floats(100.0, 20e3)
DIAMETER = st.floats(0.2, 1.5)
WIDTH = st.floats(0.01, 0.3)
LEG = st.floats(1.16, 8.0)  # distance of the link in trunk radii
calm = settings(max_examples=60, deadline=None)


def test_choker_presses_twice_as_hard_all_round():
    basket, choker = press(8e3, 0.4, 0.05), press(8e3, 0.4, 0.05, wrap="choker")
    assert choker.pressure_pa == pytest.approx(2.0 * basket.pressure_pa)
    assert choker.contact_rad == pytest.approx(2.0 * math.pi)


@pytest.mark.parametrize("turns", [1, 2, 3, 7])
def test_turns_do_not_divide_the_pressure(turns):
    rope = 0.012
    assert press(5e3, 0.5, rope, wrap="turns", turns=turns).pressure_pa == pytest.approx(5e3 / (0.5 * rope))
    assert press(5e3, 0.5, rope, wrap="friction", turns=turns).pressure_pa == pytest.approx(2 * 5e3 / (0.5 * rope))
    assert press(5e3, 0.5, rope, wrap="turns", turns=turns).contact_rad == pytest.approx(math.pi * (2 * turns - 1))


@pytest.mark.parametrize("strands", [1, 2, 3, 4])
def test_strands_that_run_to_the_link_divide_it(strands):
    assert press(6e3, 0.5, 0.05, strands=strands).pressure_pa == pytest.approx(6e3 / (0.5 * 0.05) / strands)


def test_strands_of_turns_are_refused():
    for wrap in ("turns", "friction"):
        with pytest.raises(OutsideModel, match="do not share"):
            press(5e3, 0.5, 0.012, wrap=wrap, strands=3)


def test_a_link_too_near_is_refused_and_the_distance_named():
    with pytest.raises(OutsideModel, match="0.231 m"):
        press(5e3, 0.4, 0.05, link_distance=0.2)
    widest = press(5e3, 0.4, 0.05, link_distance=1.155 * 0.2)
    assert 2.0 * math.degrees(widest.half_angle_rad) == pytest.approx(120.0, abs=0.1)
    assert widest.strand_n == pytest.approx(5e3, rel=1e-3)


@pytest.mark.parametrize("bad", [{"diameter": 0.0}, {"width": 0.0}, {"diameter": -0.4}, {"width": math.inf}])
def test_sizes_that_make_no_sense_are_refused(bad):
    with pytest.raises(OutsideModel):
        press(**{"pull": 5e3, "diameter": 0.4, "width": 0.05, **bad})
    with pytest.raises(OutsideModel):
        press(-1.0, 0.4, 0.05)
    with pytest.raises(OutsideModel, match="basket"):
        press(5e3, 0.4, 0.05, wrap="lasso")


def test_not_known_stays_not_known():
    contact = press([5e3, np.nan], [0.4, 0.4], 0.05)
    assert np.isfinite(contact.pressure_pa[0]) and np.isnan(contact.pressure_pa[1])
    assert reading(np.nan) == bark.BARK_UNREAD
    assert reading(0.1, np.nan) == bark.BARK_UNREAD


def test_broadcasts_over_cases():
    contact = press(np.array([3e3, 5e3, 8e3])[:, None], np.array([0.3, 0.6])[None, :], 0.05)
    assert contact.pressure_pa.shape == (3, 2)
    one = press(5e3, 0.6, 0.05)
    assert contact.pressure_pa[1, 1] == pytest.approx(one.pressure_pa)


@calm
@given(PULL, DIAMETER, WIDTH, LEG, st.floats(1.01, 4.0), st.sampled_from(["basket", "doubled", "choker", "turns"]))
def test_wider_thicker_or_doubled_never_presses_harder(pull, diameter, width, leg, more, wrap):
    def pressure(d=diameter, w=width, kind=wrap):
        return press(pull, d, w, leg * d / 2.0, kind).pressure_pa

    assert pressure(w=width * more) < pressure()
    assert pressure(d=diameter * more) < pressure()  # at the same leg angle
    if wrap == "basket":
        assert pressure(kind="doubled") < pressure()
        assert pressure(kind="choker") >= pressure() * (1.0 - 1e-3)


@calm
@given(PULL, DIAMETER, WIDTH, LEG, st.floats(1.01, 4.0))
def test_longer_legs_never_pull_harder_and_more_pull_always_does(pull, diameter, width, leg, more):
    link = leg * diameter / 2.0
    near = press(pull, diameter, width, link)
    assert press(pull, diameter, width, link * more).strand_n <= near.strand_n
    assert press(pull, diameter, width).strand_n <= near.strand_n
    assert press(pull * more, diameter, width, link).pressure_pa > near.pressure_pa


@pytest.mark.parametrize(
    "known, share",
    [
        ({"growing": False, "bark_thickness": 0.020, "smooth": False}, 1.0),
        ({"growing": False, "bark_thickness": 0.0175, "smooth": False}, 1.0),
        ({"growing": False, "bark_thickness": 0.00975, "smooth": False}, 0.5**0.5),  # halfway up the slope
        ({"growing": False, "bark_thickness": 0.002, "smooth": False}, 0.5),
        ({"growing": False, "bark_thickness": 0.0, "smooth": False}, 0.5),
        ({"growing": False, "bark_thickness": 0.020, "smooth": True}, 0.5),
        ({"growing": True, "bark_thickness": 0.020, "smooth": False}, 0.7),
        ({"growing": True, "bark_thickness": 0.00975, "smooth": False}, (0.5 * 0.5 * 0.7) ** 0.5),
        ({"growing": True, "bark_thickness": 0.004, "smooth": False}, 0.35),  # 0.5 x 0.5 held at the least
        ({"growing": False, "bark_thickness": 0.020, "smooth": False, "stressed": True, "weekly": True}, 0.5625),
        ({"growing": True, "bark_thickness": 0.020, "smooth": True, "stressed": True, "weekly": True}, 0.35),
        ({"growing": None, "bark_thickness": 0.020, "smooth": False}, 0.7),
        ({"growing": False, "bark_thickness": None, "smooth": False}, 0.5),
        ({"growing": False, "bark_thickness": 0.020, "smooth": None}, 0.5),
        ({}, 0.35),
    ],
)
def test_reference_pressure_by_the_agreed_factors(known, share):
    assert reference_pressure(**known) == pytest.approx(250e3 * share)


FLAG = st.sampled_from([True, False, None])


@calm
@given(FLAG, st.one_of(st.none(), st.floats(0.001, 0.05)), FLAG, st.booleans(), st.booleans())
def test_unkind_or_unknown_never_raises_the_reference(growing, thickness, smooth, stressed, weekly):
    given_ = reference_pressure(growing, thickness, smooth, stressed, weekly)
    assert reference_pressure(False, thickness, smooth, stressed, weekly) >= given_  # dormant is never lower
    assert reference_pressure(growing, thickness, False, stressed, weekly) >= given_
    assert reference_pressure(growing, (thickness or 0.001) + 0.01, smooth, stressed, weekly) >= given_
    assert reference_pressure(growing, thickness, smooth, False, False) >= given_
    assert reference_pressure(None, None, None, True, True) <= given_
    assert 0.35 * 250e3 <= given_ <= 250e3


def test_reference_is_vectorised_over_thickness():
    many = reference_pressure(False, np.array([0.002, 0.00975, 0.020, np.nan]), False)
    assert many == pytest.approx([125e3, 250e3 / 2**0.5, 250e3, 125e3])


@pytest.mark.parametrize("growing", [True, False])
def test_a_millimetre_of_bark_moves_a_reading_by_less_than_seven_percent(growing):
    """A tape and a pin read bark to about a millimetre (common practice, no source)."""
    at = reference_pressure(growing, np.arange(0.0, 0.04, 0.0001), False)
    assert (at[10:] >= at[:-10]).all() and (at[10:] / at[:-10]).max() < 1.07
    assert at[-1] / at[0] >= 2.0  # the slope is there


@pytest.mark.parametrize(
    "use, peak, code",
    [
        (0.0, 0.0, "bark-low"), (0.6, 0.0, "bark-low"), (0.601, 0.0, "bark-moderate"), (1.0, 0.0, "bark-moderate"),
        (1.01, 0.0, "bark-over"), (2.0, 0.0, "bark-over"), (2.01, 0.0, "bark-far-over"), (0.5, 1.0e6, "bark-low"),
        (0.5, 1.001e6, "bark-far-over"),
    ],
)  # fmt: skip
def test_readings(use, peak, code):
    assert reading(use, peak) == code


def test_no_reading_rejects_a_tree_or_calls_it_more_than_it_is():
    for told in in_words(map(said, bark.BARK_READINGS)):
        assert "leave it" not in told and "safe" not in told
    assert list(reading([0.5, 3.0])) == ["bark-low", "bark-far-over"]


def test_a_wrap_creeps_when_the_pull_along_the_stem_beats_friction():
    tension, contact = 2.5e3, math.pi
    held = 0.3 * tension * contact
    assert bark.slide_use(0.99 * held, tension, contact, 0.3) < 1.0 < bark.slide_use(1.01 * held, tension, contact, 0.3)
    assert bark.slide_use(100.0, 0.0, contact, 0.3) == math.inf
    assert bark.slide_use(0.5 * held, tension, contact, 0.3, taper=0.05) > bark.slide_use(
        0.5 * held, tension, contact, 0.3
    )


def test_rub_arcs_follow_the_swing():
    right, left = bark.rub_arcs_deg([355.0, 5.0])
    assert right == pytest.approx((85.0, 95.0)) and left == pytest.approx((265.0, 275.0))
    turned = bark.rub_arcs_deg([85.0, 95.0])
    assert turned[0] == pytest.approx((175.0, 185.0))
    still = bark.rub_arcs_deg([20.0, 20.0])
    assert still[0][0] == still[0][1]  # no movement: it only presses
    wider = bark.rub_arcs_deg([345.0, 15.0])
    assert (wider[0][1] - wider[0][0]) % 360.0 > (right[1] - right[0]) % 360.0
    with pytest.raises(OutsideModel, match="two lines"):
        bark.rub_arcs_deg([0.0, 90.0, 181.0])


def test_every_number_of_ours_is_flagged_as_a_judgement_in_its_range():
    for assumption in bark.BARK_ASSUMPTIONS:
        assert assumption.flag == "judgement"
        assert assumption.low <= assumption.value <= assumption.high
