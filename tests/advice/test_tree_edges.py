"""What was seen of a tree, at the edge of each rule that makes numbers of it; and what its judgement makes of them."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
from parks import record

from siteassess.advice import end_loads, judge
from siteassess.advice.finding import Limit
from siteassess.advice.hold import Pulls, root_limits, told_by_way
from siteassess.advice.line_inputs import line_inputs
from siteassess.advice.tree_inputs import TreeInputs, _far_edges, _roots, tree_inputs
from siteassess.mechanics.limit import Outside
from siteassess.records.fields import SECTORS
from siteassess.reference.findings import said

FORK = {"stems": "fork below tie", "fork_height": "1.4 m"}


def inputs(tie: float | None = 1.2, trunk: list[tuple[str, str, str]] | None = None, **seen) -> TreeInputs:
    """The numbers of the plain oak with what else was seen of it."""
    edits = {f"T1.{name.replace('__', '.')}": value for name, value in seen.items()}
    if trunk is not None:
        edits["T1.trunk"] = [{"diameter": size, "read_at": at, "how": how} for size, at, how in trunk]
    return tree_inputs(record(edits).anchor("T1"), tie)


def told(tree: TreeInputs) -> dict:
    return {one.code: one for one in tree.told}


@pytest.mark.parametrize("species, guessed", [
    (None, True), ({"name": "Quercus robur", "certainty": "guess"}, True),
    ({"name": "Quercus robur", "certainty": "think so"}, False),
    ({"name": "Quercus robur", "certainty": "sure"}, False),
])  # fmt: skip
def test_a_kind_is_guessed_where_nobody_named_it_or_was_sure_of_it(species, guessed):
    assert inputs(species=species).kind_guessed is guessed


# ---- what is told of it


def test_a_hollow_whose_opening_nobody_measured_is_a_thing_to_look_at():
    """Open to a third of its round, no hollow meets every published rule."""
    unread = told(inputs(hollow={"height": "1 m", "sound_wall": "20 cm"}))
    assert (unread["hollow-opening-unsaid"].effect, unread["hollow-opening-unsaid"].looked_at) == ("suits if", False)
    for hollow in ({"height": "1 m", "sound_wall": "20 cm", "opening": "30 deg"}, {"height": "1 m"}, None):
        assert "hollow-opening-unsaid" not in told(inputs(hollow=hollow))


def test_a_limb_nobody_read_is_a_thing_to_look_at():
    unread = told(inputs(1.7, **FORK))
    assert unread["limb-unread"].looked_at is False and "limb-as-read" not in unread
    for more in ({"each_stem": [{"girth": "180 cm"}]}, {"trunk": [("60 cm", "1.7 m", "taped")]}):
        assert "limb-as-read" in told(inputs(1.7, **FORK, **more))


def test_stems_measured_beside_the_word_single_are_a_thing_to_look_at():
    def said(stems: str, count: int) -> bool:
        seen = told(inputs(stems=stems, each_stem=[{"girth": "180 cm"}] * count))
        return "single-yet-several" in seen and seen["single-yet-several"].looked_at is False

    assert said("single", 2) and not said("single", 1) and not said("several", 2)


def test_one_foot_with_several_stems_is_told_where_they_were_measured():
    for stems, count, several in (("several", 2, True), ("several", 1, False), ("single", 2, False)):
        assert ("stems-on-one-foot" in told(inputs(stems=stems, each_stem=[{"girth": "180 cm"}] * count))) is several


def test_of_numbers_copied_under_what_was_read_the_furthest_is_told():
    """A copied number may be old: it asks for a tape where it is thinner than both readings may miss by."""
    taped = ("60 cm", "0.9 m", "taped")
    for copies in (("30 cm", "40 cm"), ("40 cm", "30 cm")):
        thin, tree = inputs(trunk=[taped, *((size, "1.3 m", "copied") for size in copies)]).copied
        assert thin.code == "copied-under-what-was-read" and tree.diameter == pytest.approx(0.3)
        assert dict(thin.values)["copied"] == pytest.approx(0.3) and thin.looked_at is False
    assert inputs(None, [taped, ("30 cm", "1.3 m", "copied")]).copied is None
    all_copied = [("60 cm", "0.9 m", "copied"), ("30 cm", "1.3 m", "copied")]
    assert inputs(trunk=all_copied).copied is None


def test_bark_that_slips_is_bark_somebody_tried():
    assert inputs(bark__firmness="slips easily").bark_slips is True
    assert inputs().bark_slips is inputs(bark=None).bark_slips is False


# ---- what its roots go by


def test_roots_go_by_breast_height_and_not_by_a_thinner_stem_at_a_high_tie():
    """1.3 m, where winched trees are read (Hill 2024)."""
    high = inputs(3.0, [("60 cm", "1.3 m", "taped"), ("50 cm", "3 m", "taped")])
    assert (high.diameter, high.root_diameter) == (pytest.approx(0.5), pytest.approx(0.6))
    doubted = inputs(3.0, [("60 cm", "1.3 m", "taped"), ("40 cm", "3 m", "taped")])  # no trunk loses 12 cm a metre
    assert (doubted.diameter, doubted.root_diameter) == (pytest.approx(0.4), pytest.approx(0.4 * 1.15 + 0.08 * 1.7))
    assert inputs(trunk=[("60 cm", "0.9 m", "taped")]).root_diameter < 0.6  # carried up to breast height
    assert inputs(trunk=[("60 cm", "2 m", "taped")]).root_diameter == pytest.approx(0.6)


def test_roots_of_several_stems_go_by_their_wood_together_and_of_a_fork_by_the_less():
    """By hand: the sections of two stems of 30 cm are that of one of 42.4 cm."""
    two = [{"girth": f"{math.pi * 0.3} m"}] * 2
    both = math.hypot(0.3, 0.3)
    for trunk in ([], [("60 cm", "1.3 m", "taped")], [("35 cm", "1.3 m", "taped")]):  # read round what nobody knows
        assert inputs(trunk=trunk, stems="several", each_stem=two).root_diameter == pytest.approx(both)
    assert inputs(stems="several", each_stem=two[:1]).root_diameter == pytest.approx(0.6, rel=1e-3)  # as it was read
    assert inputs(1.7, [("60 cm", "1.3 m", "taped")], **FORK, each_stem=two).root_diameter == pytest.approx(both)
    assert inputs(1.7, [("35 cm", "1.3 m", "taped")], **FORK, each_stem=two).root_diameter == pytest.approx(0.35)


def test_a_limb_alone_leaves_the_trunk_under_it_unmeasured():
    limb = inputs(1.7, [], **FORK, each_stem=[{"girth": "180 cm"}])
    assert not math.isnan(limb.diameter) and limb.missing.count("trunk size") == 1
    assert inputs(trunk=[]).missing.count("trunk size") == 1 and "trunk size" not in inputs().missing


@pytest.mark.parametrize("at, low", [("0.79 m", True), ("0.8 m", False), ("1.3 m", False)])
def test_a_trunk_read_where_the_flare_ends_was_not_read_in_it(at, low):
    """80 cm (data/constants.csv, judgement)."""
    assert ("read-in-the-flare" in told(inputs(trunk=[("60 cm", at, "taped")]))) is low


# ---- its roots and edges; three diameters of a trunk of 50 cm are 1.5 m


def edged(*edges: tuple[str, str, str], near: str = "yes", **ground):
    listed = [{"what": what, "side": side, "distance": away} for what, side, away in edges]
    more = {f"T1.ground.{name}": value for name, value in ground.items()}
    return record({"T1.hard_edge_near": near, "T1.hard_edges": listed} | more).anchor("T1")


def by_side(values) -> dict:
    return dict(zip(SECTORS, values))


def test_digging_nearer_than_three_diameters_has_cut_the_roots_on_its_side():
    for what, away, lost in (("trench", "1.4 m", True), ("digging", "1.4 m", True), ("trench", "1.5 m", False),
                             ("kerb", "1.4 m", False)):  # fmt: skip
        share = by_side(_roots(edged((what, "W", away)), 0.5, [])[0])
        assert (share["W"] > share["E"] == 0.0) is lost


@pytest.mark.parametrize("side, away, near", [
    ("W", "1.4 m", {"W"}), ("W", "9 m", {"W"}), (None, "1.4 m", set(SECTORS)), (None, "1.5 m", set()),
])  # fmt: skip
def test_a_bank_on_no_side_may_lie_on_any_where_it_is_near(side, away, near):
    bank = edged(near="no", bank_distance=away, bank_side=side)
    listed = by_side(_roots(bank, 0.5, [])[1])
    assert {sector for sector, value in listed.items() if math.isfinite(value)} == near
    both = edged(("wall", "W", "1 m"), bank_distance="1.2 m", bank_side="W")
    assert by_side(_roots(both, 0.5, [])[1])["W"] == 1.0  # the nearer of the two


def test_edges_nobody_looked_for_are_missing_but_for_those_that_are_listed():
    unlooked: list[str] = []
    assert all(math.isnan(value) for value in _roots(edged(near="not looked"), 0.5, unlooked)[1])
    assert unlooked == ["kerbs and digging near"]
    for tree in (edged(near="no"), edged(("kerb", "W", "1 m"))):
        missing: list[str] = []
        assert not any(map(math.isnan, _roots(tree, 0.5, missing)[1])) and missing == []
    seen: list[str] = []
    assert math.isnan(_roots(edged(near="yes"), 0.5, seen)[1][0]) and seen  # seen, and none is listed


def test_the_nearest_edge_that_is_listed_tells_whether_it_is_the_near_one():
    """Half as far again as three diameters: 2.25 m (data/constants.csv, judgement: widths are told by eye)."""
    far, near = ("kerb", "N", "9 m"), ("kerb", "W", "2.2 m")
    (asked,) = _far_edges(edged(far, ("kerb", "E", "2.3 m")), 0.5)
    assert asked.looked_at is False and dict(asked.values)["nearest"] == pytest.approx(2.3)
    for tree in (edged(far, near), edged(("kerb", "W", "2.25 m")), edged(far, near="no"), edged()):
        assert _far_edges(tree, 0.5) == []


# ---- what its judgement makes of them


def test_the_wood_round_a_hollow_is_what_lies_under_the_thinner_bark():
    """By hand: 60 cm less twice 2 cm; where the bark is not known all of it counts as wood, and less of it is sound."""
    hollow = replace(inputs(), wall=0.1, hollow_height=1.3, diameter=0.6, read_at=1.3, bark_thin=0.02)

    def losses(tree: TreeInputs) -> dict:
        (finding,) = judge.decay_findings(tree)
        return dict(dict(finding.values)["losses"].values)

    assert losses(hollow)["wall"] == pytest.approx(0.1 / 0.28)
    assert losses(replace(hollow, bark_thin=math.nan))["wall"] == pytest.approx(0.1 / 0.30)
    for none in ({"wall": math.inf}, {"wall": math.nan}, {"diameter": math.nan}, {"bark_thin": 0.3}):
        assert judge.decay_findings(replace(hollow, **none)) == []


def test_a_wall_that_rules_disagree_on_is_told_with_those_it_fails():
    """Of 60 cm of wood two centimetres of wall pass no rule, and 20 cm pass all."""
    sound, thin = judge.losses_told(0.6, 0.2, 0.0), judge.losses_told(0.6, 0.02, 0.0)
    assert (sound.code, sound.effect) == ("hollow-passes", "suits")
    assert (thin.code, thin.effect) == ("hollow-fails", "suits if") and dict(thin.values)["against"]
    told_apart = {bool(judge.losses_told(0.6, wall / 1000, 60.0).more) for wall in range(10, 200, 10)}
    assert told_apart == {True, False} and thin.more == ()  # every rule refuses two centimetres


def test_a_limit_names_its_case_as_it_was_told():
    plain = Limit("stem", "N m", "walked", 1e3, 2e3, 0.5)
    for limit, case in ((plain, "walked"), (replace(plain, case_told=said("half")), said("half"))):
        assert dict(judge.limit_finding(limit).values)["case"] == case


def test_no_chance_is_told_of_a_limit_that_was_not_worked_out_whole():
    whole = Limit("stem", "N m", "walked", 1e3, 2e3, 0.5, ln_sd_demand=0.2, ln_sd_capacity=0.3, capacity_median=4e3)
    assert 0 < judge._either((whole,)) < judge._either((whole, replace(whole, ln_sd_demand=0.4))) < 1
    for part in ("use", "demand", "ln_sd_demand", "capacity_median", "ln_sd_capacity"):
        assert judge._either((whole, replace(whole, **{part: None}))) is None
    assert judge._either(()) is None


def test_a_root_plate_refused_toward_some_sides_only_is_decided_by_the_way_of_the_pull():
    """With the roots to the west cut a pull to the east is refused; one of unknown way may be."""
    cut = inputs(roots__W="cut", roots__NW="cut", roots__SW="cut")

    def decides(tree: TreeInputs, bearing: float) -> bool:
        pulls = Pulls.single(("walked",), 1e3, bearing, 1.2, 0.2)
        return bool(np.any(told_by_way(root_limits(tree, pulls, 1.5)[0], pulls).outside & int(Outside.WAY_UNKNOWN)))

    assert decides(cut, math.nan) and not decides(cut, 90.0) and not decides(inputs(), math.nan)
    every = inputs(**{f"roots__{sector}": "cut" for sector in SECTORS})
    assert not decides(every, math.nan)


def test_the_least_a_line_may_pull_is_not_known_where_its_way_or_its_length_is_not():
    def least(edits: dict, bearing: float = 90.0):
        line = record({"L1.standing": None} | edits).lines[0]
        return end_loads.pulls_at(line_inputs(line, None), "A", bearing)

    known, kind = least({})
    assert known is None and kind.pull.min() > 0
    assert least({}, math.nan) == least({"L1.span": None}) == (None, None)
