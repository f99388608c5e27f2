"""A sling as rated gear: what one strand carries by how it lies, and what is asked where its rating hangs on that."""

from __future__ import annotations

import math

import pytest
from parks import record

from siteassess.advice.assess import assess
from siteassess.mechanics.gear import PartCheck
from siteassess.mechanics.sling import uneven_factor


def tied(**sling):
    """The line with one end's sling so."""
    return assess(record({"L1.a.sling": {"width": "75 mm", "link_distance": "1 m", **sling}})).lines[0]


def part(**sling) -> PartCheck:
    line = tied(rating="30 kN", **sling)
    return next(one for one in line.gear_checks if one.name == "sling at T1")


def broken_at(kilonewtons: int, lies: dict) -> tuple[str, set[str]]:
    """The line's word, and the codes of what is found of its gear."""
    line = tied(**{"rating": f"{kilonewtons} kN", "rating_is": "breaking strength", **lies})
    return line.verdict, {one.code for one in line.findings if one.code.startswith("gear")}


def whole_pull() -> float:
    return max(load.tension_n for load in assess(record({})).lines[0].anchors[0].loads)


def test_a_slings_leg_carries_its_share_by_the_angle_of_the_legs():
    """Legs from the link tangent to a trunk of 0.30 m radius (girth 188.5 cm; the pad gives way): half the angle is
    asin(0.30 / link), and a leg carries 1 / (2 cos) of the pull (parallelogram)."""
    whole = whole_pull()
    wide, narrow = (part(wrap="basket", link_distance=link).load for link in ("0.45 m", "2 m"))
    assert narrow == pytest.approx(whole / (2 * (1 - 0.15**2) ** 0.5), rel=2e-3)
    assert wide == pytest.approx(whole / (2 * (1 - (0.30 / 0.45) ** 2) ** 0.5), rel=2e-3)


def test_a_link_off_the_middle_loads_the_harder_leg():
    """Each degree off tilts the link toward one leg; the even legs carry half and a little more."""
    even, off = (part(wrap="basket", **more).load for more in ({}, {"off_middle": "10 deg"}))
    assert off > 1.2 * even


def test_the_harder_leg_is_told_by_how_much_and_a_slack_one_leaves_it_all():
    assert uneven_factor(32.0, 10.0) > 1.4 and uneven_factor(32.0, 0.0) == pytest.approx(1.0)
    assert uneven_factor(32.0, 20.0) == uneven_factor(32.0, -20.0) == pytest.approx(2 * math.cos(math.radians(16)))
    at_most = 2 * math.cos(math.radians(50)) / math.sin(math.radians(100))  # by hand, 40 of 50 degrees off
    less, most, beyond = (uneven_factor(100.0, off) for off in (39.0, 40.0, 60.0))
    assert less < most == beyond == pytest.approx(at_most)


def test_a_choker_carries_all_at_what_its_eye_leaves():
    """Sling sheets: a choker holds 0.75 of the straight rating (read), a round sling with 45 degrees at its eye 0.50 of
    that (second hand; a web sling 0.62)."""
    plain, tight = part(wrap="choker"), part(wrap="choker", choke_angle="45 deg")
    assert plain.load == pytest.approx(whole_pull())
    assert (plain.strength, tight.strength) == pytest.approx((0.75 * 30e3, 0.75 * 0.50 * 30e3))


@pytest.mark.parametrize(("said", "unsaid", "code"), [
    ({"wrap": "choker", "choke_angle": "140 deg"}, {"wrap": "choker"}, "gear-unsaid-choke"),
    ({"wrap": "choker", "choke_angle": "140 deg"}, {"choke_angle": None}, "gear-unsaid-choke"),
    ({"wrap": "basket", "off_middle": "0 deg"}, {"wrap": "basket"}, "gear-unsaid-middle"),
    ({"wrap": "basket", "off_middle": "0 deg", "link_distance": "0.7 m"},
     {"wrap": "basket", "off_middle": "0 deg", "link_distance": None}, "gear-unsaid-link"),
])  # fmt: skip
def test_how_a_sling_lies_is_a_condition_where_its_rating_hangs_on_it(said, unsaid, code):
    enough = next(rated for rated in range(4, 60) if broken_at(rated, said)[1] == set())
    word, told = broken_at(enough, unsaid)
    assert word == "suits if" and code in told
    assert not any(one.startswith("gear-unsaid") for one in broken_at(200, unsaid)[1])


def test_turns_that_hold_by_friction_have_no_legs_to_ask_after():
    turns = {"wrap": "friction turns", "link_distance": None}
    for rated in range(4, 60):
        assert not broken_at(rated, turns)[1] & {"gear-unsaid-middle", "gear-unsaid-link"}
    plan = tied(**turns).anchors[0].protection
    assert plan.leg_angle_deg is None and not any(one.code.startswith("legs") for one in plan.told)
