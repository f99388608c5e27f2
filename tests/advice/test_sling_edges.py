"""What a sling presses and what mends it, at the edge of each rule; on a trunk 40 cm thick at rest."""

from __future__ import annotations

import math
from dataclasses import replace
from types import SimpleNamespace

import pytest

from siteassess.advice import care
from siteassess.advice.care import Care, care_findings, care_mends, link_fault, pressing
from siteassess.advice.gear_inputs import SlingInputs, usual_link_distance
from siteassess.reference.findings import Said, said

BARE = SlingInputs("basket", True, 0.05, None, 0.4, None, None, None, 0, None, None, None)
TRUNK = SimpleNamespace(diameter_at=lambda tie: 0.4, bark_thin=math.nan, bark_smooth=None, stressed=False, weekly=False)


def pressed(sling: SlingInputs, tension: float | None = 1e3, case: str = "standing") -> Care:
    return pressing(TRUNK, (SimpleNamespace(case=case, tension_n=tension),), sling, False, 1.2)


def pressed_to(use: float, sling: SlingInputs) -> tuple[tuple, Care]:
    loads = (SimpleNamespace(case="standing", tension_n=1e3 * use / pressed(sling).use),)
    return loads, pressing(TRUNK, loads, sling, False, 1.2)


def codes(findings) -> list[str]:
    return [one.code for one in findings]


def mends(use: float, sling: SlingInputs, growing: bool = False, dormant: tuple[Said, ...] = ()) -> dict:
    loads, _ = pressed_to(use, sling)
    hard = pressing(TRUNK, loads, sling, growing, 1.2)
    return {one.remedy.what.code: one for one in care_mends(TRUNK, loads, sling, growing, 1.2, hard, dormant)}


def test_a_basket_presses_with_one_leg_over_radius_and_width():
    """By hand: the link two radii off, so that a leg stands at 30 degrees and carries 1 kN / (2 cos 30)."""
    leg = 1e3 / (2 * math.cos(math.radians(30)))
    bare = pressed(BARE)
    assert [bare.pressure, bare.bare_pressure] == pytest.approx([leg / (0.2 * 0.05)] * 2) and not bare.on_slats
    # a pad of carpet spreads by 27 degrees through its centimetre (data/pads.yaml)
    padded = pressed(replace(BARE, pad_material="carpet", pad_thickness=0.01))
    assert padded.bare_pressure == bare.bare_pressure
    assert padded.pressure == pytest.approx(bare.pressure * 0.05 / (0.05 + 0.02 * math.tan(math.radians(27))))


def test_a_link_off_the_middle_presses_as_hard_as_the_leg_that_carries_more():
    """By hand: legs at 60 degrees, the pull along one of them: it carries all, even legs 1 / (2 cos 30) of it."""
    off = replace(BARE, off_middle=30.0)
    assert pressed(off).bare_pressure == pytest.approx(2 * math.cos(math.radians(30)) * pressed(BARE).pressure)
    for wrap in ("choker", "friction"):  # one strand has no legs to carry unevenly
        assert care._uneven(replace(off, wrap=wrap), SimpleNamespace(half_angle_rad=0.0)) == 1.0
    assert care._uneven(replace(BARE, off_middle=0.0), SimpleNamespace(half_angle_rad=0.5)) == 1.0
    assert care._uneven(BARE, SimpleNamespace(half_angle_rad=0.5)) == 1.0


def test_a_pull_that_lasts_for_hours_is_that_of_a_line_standing_or_of_somebody_lying():
    assert pressed(BARE, case="lying").when().code == "pressed-with-somebody-in-it"
    assert pressed(BARE).when().code == "pressed-standing"
    for unknown in (pressed(BARE, case="walked"), pressed(BARE, None)):
        assert unknown.reason.code == "pull-unknown" and math.isnan(unknown.use)
    assert pressed(replace(BARE, width=None)).reason.code == "sling-width-unknown"


def test_a_link_nobody_placed_lies_where_links_commonly_do_and_may_lie_as_near_as_legs_open():
    """By hand: at 120 degrees between the legs each carries the whole pull."""
    unplaced = replace(BARE, link_distance=None)
    usual = usual_link_distance(0.4)
    leg = 1 / (2 * math.cos(math.asin(0.2 / usual)))
    assert pressed(unplaced).link_distance == usual
    assert pressed(unplaced).harder_nearer == pytest.approx(1 / leg, rel=1e-3)
    for placed in (BARE, replace(unplaced, proposed=True), replace(unplaced, wrap="choker")):
        assert pressed(placed).harder_nearer == 1.0


def test_a_choker_has_no_legs_to_open():
    """By hand: legs open past 120 degrees where the link lies nearer than 1.155 radii."""
    for wrap in ("choker", "friction"):
        assert link_fault(0.21, 0.2, wrap) is None
        inside = dict(link_fault(0.19, 0.2, wrap).values)
        assert codes(inside["inside"]) == ["inside-the-trunk"] and inside["opens"] == ()
    near = dict(link_fault(0.21, 0.2, "basket").values)
    assert near["inside"] == () and codes(near["opens"]) == ["or-the-legs-open"]
    assert link_fault(0.24, 0.2, "basket") is None


def test_slats_that_lie_there_bear_instead_of_the_sling():
    """2 kN in one strand under half a turn, over two slats of 4 x 40 x 2 cm: by hand as for a doubled sling."""
    slatted = replace(BARE, slats=2, slat_width=0.04, slat_length=0.4, slat_thickness=0.02)
    on, off = pressed(slatted), pressed(BARE)
    assert on.on_slats and on.bare_pressure == off.bare_pressure != pytest.approx(on.pressure)
    uneven = pressed(replace(slatted, off_middle=30.0))
    assert uneven.pressure == pytest.approx(2 * math.cos(math.radians(30)) * on.pressure)
    unmeasured = pressed(replace(BARE, slats=2))
    assert not unmeasured.on_slats and "slats-unmeasured" in codes(care_findings(unmeasured, (), True))
    assert "slats-unmeasured" not in codes(care_findings(on, (), True))


@pytest.mark.parametrize("use, code", [(0.5, "bark-pressed"), (0.95, "bark-pressed"), (1.2, "bark-pressed-too-hard"),
                                       (3.0, "bark-pressed-beyond-slings")])
def test_what_presses_over_the_reference_asks_for_something(use, code):
    """Up to it nothing is asked for; what no sling mends is not known to be borne."""
    _, hard = pressed_to(use, BARE)
    assert codes(care_findings(hard, (), True)) == [code]


def test_a_link_that_could_lie_nearer_is_asked_for_where_it_would_press_over_the_reference():
    for harder, asked in ((1.0, False), (1.05, False), (1.2, True), (5.0, True)):
        _, even = pressed_to(0.9, BARE)
        found = care_findings(replace(even, harder_nearer=harder), (), True)
        assert ("link-unplaced" in codes(found)) is asked
        assert all(one.looked_at is False for one in found if one.code == "link-unplaced")


def test_the_fewest_slats_that_bear_the_whole_pull_are_told():
    """One fewer presses over the reference, of a doubled sling and of one whose link sits off the middle too."""
    for sling in (BARE, replace(BARE, wrap="doubled"), replace(BARE, off_middle=20.0)):
        _, hard = pressed_to(2.0, sling)
        slatted = care._slats_that_help(sling, hard, 0.4)
        tension = hard.contact_tension
        assert pressed(slatted, tension).use <= 1.0
        assert slatted.slats == 2 or pressed(replace(slatted, slats=slatted.slats - 1), tension).use > 1.0
    assert care._slats_that_help(replace(BARE, wrap="choker"), hard, 0.4) is None
    assert care._slats_that_help(replace(BARE, width=None), hard, 0.4) is None


def test_a_mend_changes_one_thing_and_brings_what_its_sling_asks_for():
    told = mends(1.1, BARE)
    assert told["sling-doubled"].sling == replace(BARE, wrap="doubled")
    assert told["sling-wider"].sling.width == 0.075 and told["sling-wider"].remedy.value == 0.075
    assert all(one.remedy.reaches == "suits" and one.remedy.still == () for one in told.values())
    assert "sling-as-a-doubled-basket" not in told and "link-to-the-middle" not in told
    unplaced = mends(1.1, replace(BARE, link_distance=None))
    assert unplaced["sling-wider"].remedy.reaches == "suits if"  # its link may lie nearer, and press too hard again
    assert unplaced["sling-wider"].remedy.still
    choker = mends(1.1, replace(BARE, wrap="choker"))
    assert choker["sling-as-a-doubled-basket"].sling.width == 0.05 and "sling-doubled" not in choker


def test_the_link_in_the_middle_mends_what_only_its_place_made_too_hard():
    off = mends(1.2, replace(BARE, off_middle=30.0))
    assert off["link-to-the-middle"].sling == replace(BARE, off_middle=0.0)
    assert off["link-to-the-middle"].remedy.value == 0
    assert "link-to-the-middle" not in mends(4.0, replace(BARE, off_middle=30.0))


TO_MARCH = (said("from-month-to-month", first="November", last="March"),)


@pytest.mark.parametrize("growing, dormant, offered", [
    (True, TO_MARCH, True), (False, TO_MARCH, False), (True, (), False),
])  # fmt: skip
def test_waiting_is_for_a_tree_in_growth_that_rests_at_known_months(growing, dormant, offered):
    use = 0.9 if growing else 1.1
    loads, _ = pressed_to(use, BARE)
    told = mends(use, BARE, growing, dormant)
    assert ("wait-for-the-dormant-season" in told) is offered
    if offered:
        wait = told["wait-for-the-dormant-season"]
        assert wait.sling is None and [dict(one.values) for one in dict(wait.remedy.what.values)["when"]] == [
            {"first": "November", "last": "March"}]  # fmt: skip


def test_a_mend_asks_for_what_its_own_season_asks_for():
    """By hand: at 120 degrees the link presses 1.8 times as hard; a sling half as wide again in growth, and the planned
    one at rest, ask where it lies."""
    told = mends(0.75, replace(BARE, link_distance=None), True, TO_MARCH)
    for change in ("sling-wider", "wait-for-the-dormant-season"):
        assert codes(told[change].remedy.still) == ["link-unplaced"]
