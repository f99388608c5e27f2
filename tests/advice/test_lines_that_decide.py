"""Deciding lines that could be changed without another test noticing: each test here dies of one such change."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
from parks import data, record

from siteassess.advice.assess import assess
from siteassess.advice.care import Care, _slats_that_help, care_findings
from siteassess.advice.end_loads import pulls_at
from siteassess.advice.gear_inputs import pad_row, sling_inputs
from siteassess.advice.hold import Pulls, root_limits, together
from siteassess.advice.judge import EndCase, judge_hold
from siteassess.advice.line_inputs import line_inputs
from siteassess.advice.tree_inputs import tree_inputs
from siteassess.mechanics.bark import PEAK_PRESSURE, press, reading, slide_use
from siteassess.mechanics.padding import slats
from siteassess.mechanics.rootplate import SHALLOW_SOIL_FACTOR
from siteassess.records.record import Record

UNMEASURED = {"T1.height": None, "T1.crown_base": None, "T1.species": {"name": "unknown", "leaf_type": "broadleaf"}}


def end_a(edits: dict):
    return assess(record(edits), remedies=False).lines[0].anchors[0]


def effects(edits: dict) -> dict[str, str]:
    return {one.code: one.effect for one in end_a(edits).findings}


def test_a_filled_height_taller_than_any_winched_tree_is_tried_at_the_tallest_that_was():
    """A broadleaf of 32 cm may be 29 m high: past 80 diameters no sum is made, and up to there it does not hold."""
    told = effects(UNMEASURED | {"T1.trunk.0.girth": "100 cm", "L1.standing.tension": "14 kN"})
    assert told["limit-exceeded"] == "leave it" and "root-plate-over-filled" not in told


def test_a_pad_spreads_no_further_than_such_a_pad_is_thick():
    thick = f"{pad_row('carpet')['thickness_high_mm']:g} mm"
    uses = [end_a({"L1.a.padding.thickness": text}).care_use for text in ("3 mm", thick, "10 cm")]
    assert uses[0] > uses[1] == pytest.approx(uses[2])


@pytest.mark.parametrize("tension", [f"{kilos} kN" for kilos in range(1, 9)])
def test_a_sling_of_our_own_choice_is_placed_by_us(tension):
    assert "link-unplaced" not in effects({"L1.a.sling": None, "L1.standing.tension": tension})


@pytest.mark.parametrize("use, peak, code", [
    (1.8, 0.9e6, "bark-pressed-too-hard"), (1.8, 1.1e6, "bark-pressed-beyond-slings"),
    (2.1, 0.9e6, "bark-pressed-beyond-slings"),
])  # fmt: skip
def test_what_no_sling_mends_is_left_open_by_its_use_or_by_its_peak(use, peak, code):
    sling = sling_inputs(record().lines[0].a)
    care = Care(sling, None, use * 2e5, peak, 2e5, use, str(reading(use, peak)), 1.0)
    assert [one.code for one in care_findings(care, (), True)] == [code]


def test_slats_that_help_are_not_asked_to_be_taken_out():
    slats = {"slats": 6, "slat_width": "70 mm", "slat_length": "300 mm", "slat_thickness": "30 mm"}
    edits = {"T1.species.name": "Fagus sylvatica", "T1.bark.form": "smooth", "T1.trunk.0.girth": "150 cm",
             "L1.standing.tension": "5 kN",
             "L1.a.sling": {"wrap": "basket", "width": "50 mm", "link_distance": "0.8 m"},
             "L1.a.padding": {"material": "carpet", "thickness": "10 mm", **slats}}  # fmt: skip
    bare = end_a(edits | {"L1.a.padding.slats": 0}).care_use
    end = assess(record(edits)).lines[0].anchors[0]
    mends = [one.what for one in end.remedies if one.for_limit == "bark"]
    assert 1 < end.care_use < bare and mends
    assert not any(dict(what.values).get("laid") or what.code == "slats-taken-out" for what in mends)


def test_a_hammock_whose_tie_nobody_measured_hangs_off_the_ground_all_the_same():
    made = {"L1.use": "hammock", "L1.standing": None, "L1.webbing": None, "L1.ground": None, "L1.compass": None,
            "L1.span.taped": "4.5 m", "T2.position.lon": 2.5 + 4.5 / 64_790, "L1.a.tie_height": None,
            "L1.b.tie_height": "1.6 m", "T1.trunk.0.girth": "70 cm", "T1.height": "9 m",
            "T1.ground.wetness": "standing water", "L1.walkers": {"mass": "150 kg", "at_once": 3}}  # fmt: skip
    assert effects(made)["limit-exceeded"] == "leave it"


def test_a_slope_too_steep_to_judge_hides_no_root_plate_that_fails_on_less():
    made = {"T1.ground.slope": "45 deg", "T1.trunk.0.girth": "113 cm", "T1.height": "12 m",
            "L1.standing.tension": "9 kN", "L1.a.tie_height": "2 m", "L1.b.tie_height": "2 m"}  # fmt: skip
    told = effects(made)
    assert told["limit-unknown"] == "cannot say" and told["limit-exceeded"] == "leave it"


@pytest.mark.parametrize("stems", ["single", "fork above tie"])
@pytest.mark.parametrize("fork, forked", [("1.69 m", True), ("1.7 m", True), ("1.71 m", False)])
def test_a_fork_half_a_metre_over_the_tie_counts_as_at_it_however_it_is_told(stems, fork, forked):
    uses = [next(one.use for one in end_a(edits).limits if one.name == "stem")
            for edits in ({}, {"T1.stems": stems, "T1.fork_height": fork})]  # fmt: skip
    assert (uses[1] > 2 * uses[0]) is forked


def pulls(bearing: float, tie: float, ln_sd: float) -> Pulls:
    return Pulls.single(("walked",), 2e3, bearing, tie, ln_sd)


def test_lines_together_are_as_uncertain_as_the_least_known_and_of_no_known_way_as_high_as_the_highest():
    both = together(pulls(90.0, 1.0, 0.1), (pulls(90.0, 2.0, 0.2),), 0.5)
    assert both.ln_sd.tolist() == [0.2]
    both = together(pulls(90.0, 2.0, 0.2), (pulls(90.0, 1.0, 0.1),), 0.5)
    assert both.ln_sd.tolist() == [0.2]
    unknown = together(pulls(math.nan, 1.0, 0.1), (pulls(90.0, 2.0, 0.1),), 0.5)
    assert unknown.tie.tolist() == [2.0] and unknown.pull.tolist() == [4e3] and np.isnan(unknown.bearing).all()


def test_slats_bring_down_the_peak_and_not_only_what_lasts():
    """At six times the standing tension a pressure within the reference is over 1,000 kPa."""
    sling = replace(sling_inputs(record().lines[0].a), wrap="basket", width=0.025, strands=None)
    contact = press(4e3, 0.4, sling.width, 0.8, "basket")
    care = Care(sling, contact, float(contact.pressure_pa), 6 * float(contact.pressure_pa), 4e5, 1.0, "", 0.8)
    chosen = _slats_that_help(sling, care, 0.4)
    size = chosen.slat_width, chosen.slat_length, chosen.slat_thickness
    laid = slats(float(contact.strand_n), float(contact.contact_rad), 0.4, chosen.slats, *size, sling.width)
    assert 6 * float(laid.pressure_pa) <= PEAK_PRESSURE.value < 6 * care.reference


def test_a_trunk_that_thins_the_way_it_creeps_counts_its_own_squeeze_as_creep():
    normal, taper = 1e3 * 3.0, 0.05
    creeps = (200.0 + normal * math.sin(taper)) / (0.4 * normal * math.cos(taper))
    assert slide_use(200.0, 1e3, 3.0, 0.4, taper) == pytest.approx(creeps)


def test_another_line_of_no_known_way_is_not_said_to_pull_at_least_anything():
    line = line_inputs(record({"L1.standing": None}).lines[0])
    assert pulls_at(line, "A", math.nan) == (None, None)
    known, least = pulls_at(line, "A", 90.0)
    assert known is None and least is not None


def test_a_lean_is_weighed_with_the_highest_that_an_unmeasured_tree_may_be():
    tree = tree_inputs(record(UNMEASURED | {"T1.lean": "8 deg", "T1.lean_toward": "90 deg"}).anchors[0], 1.2)
    assert tree.height_high > 2 * tree.height
    low, high = (root_limits(replace(tree, height_high=top), pulls(90.0, 1.2, 0.1), 1.5)[0].demand.item()
                 for top in (tree.height, tree.height_high))  # fmt: skip
    assert high > 1.1 * low


def test_a_hollow_near_the_ground_is_bent_where_it_is():
    uses = [next(one.use for one in end_a({"T1.hollow": {"height": height, "sound_wall": "12 cm"}}).limits
                 if one.name == "stem") for height in ("0.1 m", "0.3 m")]  # fmt: skip
    assert uses[0] == pytest.approx(uses[1] * 1.1 / 0.9, rel=0.01)  # the tie at 1.2 m


@pytest.mark.parametrize("tension", ["3.5 kN", "6 kN", "7 kN", "8 kN"])
def test_rock_that_nobody_looked_for_is_asked_after_at_either_edge(tension):
    """Shallow soil leaves a share of the root plate: told where it takes the use over 60 % or over 100 %."""
    edits = {"T1.trunk.0.girth": "110 cm", "L1.standing.tension": tension, "T1.ground.shallow": "not looked"}
    end = end_a(edits)
    (use,) = (one.use for one in end.limits if one.name == "root plate")
    shallow = use / SHALLOW_SOIL_FACTOR.value
    crosses = any(use <= edge < shallow for edge in (0.6, 1.0))
    assert any(one.code == "soil-depth-unseen" for one in end.findings) is crosses


def test_the_least_that_another_line_pulls_rejects_no_trunk_that_was_only_copied():
    for how, rejects in (("taped", True), ("copied", False)):
        made = data({"T1.trunk.0": {"girth": "80 cm", "read_at": "1.3 m", "how": how}, "L1.standing.tension": "9 kN"})
        line = made["lines"][0]
        made["lines"] = [line, {**line, "id": "L2", "standing": None}]
        end = assess(Record.model_validate(made), line_id="L1", remedies=False).lines[0].anchors[0]
        assert any(one.code == "other-lines-at-least" for one in end.findings) is rejects
        assert end.verdict == ("leave it" if rejects else "cannot say")


def test_a_webbing_too_weak_for_its_own_line_is_told_once_beside_others_of_unknown_pull():
    made = data({"L1.webbing.strength": "5 kN", "L1.standing.tension": "9 kN"})
    made["lines"].append({**made["lines"][0], "id": "L2", "standing": None})
    end = assess(Record.model_validate(made), line_id="L1", remedies=False).lines[0].anchors[0]
    assert sum("webbing-over-strength" in str(one) for one in end.findings) == 1


def test_roots_gone_on_one_side_leave_a_pull_of_no_known_way_open():
    gone = {f"T1.roots.{sector}": "cut" for sector in ("SW", "W", "NW")}
    assert effects(gone)["roots-half-lost"] == "leave it"  # behind a pull to the east
    assert "roots-half-lost" not in effects(gone | {"T1.position": None, "L1.compass": None})


@pytest.mark.parametrize("moved, watched", [("no", True), ("not looked", False), ("yes", False)])
def test_a_trial_at_which_nobody_looked_whether_it_moved_leaves_the_trial_to_be_done(moved, watched):
    trial = {"date": "2026-04-18", "pull": "9 kN", "tie_height": "1.2 m", "toward": "90 deg", "moved": moved,
             "wetness": "moist"}  # fmt: skip
    told = effects({"T1.trunk.0.girth": "110 cm", "L1.standing.tension": "5 kN", "T1.trial": trial})
    assert ("limit-still-watched" in told) is watched


def test_what_is_known_of_other_lines_counts_beside_the_least_of_those_that_are_not():
    """Alone, with either of two others, and with both: only all three together are too much."""
    read = record()
    mine = EndCase(line_inputs(read.lines[0]), "A", tree_inputs(read.anchors[0], 1.2, 54.5), 90.0)
    alone = judge_hold(mine)
    hardest = max(load.horizontal_n for load in alone.loads)
    more = Pulls.single(("other",), hardest * (1.05 / alone.hold_use - 1) / 2, 90.0, 1.2, 0.1)

    def left(**lines) -> bool:
        told = judge_hold(replace(mine, unsummed=("L3",), **lines)).findings
        return "other-lines-at-least" in {one.code for one in told}

    assert left(others=(more,), least=(more,)) and not left(least=(more,))
