"""The parts of a judgement: scatter of readings, several lines, hollows, size floors, wind, what is told and listed."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st
from parks import record

from siteassess.advice.assess import assess
from siteassess.advice.assumptions import OF_A_TREE, assumptions_of
from siteassess.advice.changes import TreeEnd
from siteassess.advice.end_loads import LEAST_TRUNK, USUAL_LEAST_TRUNK
from siteassess.advice.hold import Pulls, root_limits, stem_limits
from siteassess.advice.judge import judge_hold
from siteassess.advice.other_trees import tree_alone
from siteassess.advice.verdict import VERDICTS, worst
from siteassess.advice.wind_check import wind_finding


def setting(edits: dict) -> TreeEnd:
    made = record(edits)
    return TreeEnd(made.lines[0], "A", made.anchor("T1"), 20.0, 90.0, 54.5, made.lines[0].planned.date)


def tree(edits: dict | None = None):
    return setting(edits or {}).case().tree


def end_a(edits: dict | None = None):
    return assess(record(edits or {})).lines[0].anchors[0]


PULL = Pulls.single(("pull",), 5000.0, 90.0, 1.2, 0.2)


@settings(max_examples=40, deadline=None)
@example(0.2, 10.0, 0.0, 0.5, 1.0)  # just 50 diameters high, where the height begins not to count
@given(st.floats(0.2, 1.2), st.floats(8.0, 25.0), st.floats(0.0, 8.0), st.floats(0.35, 0.8), st.floats(0.8, 2.5))
def test_the_powers_of_the_readings_are_at_least_the_slopes_of_the_sums(diameter, height, lean, wall, tie):
    wood = diameter - 2 * 0.02
    base = replace(tree(), diameter=diameter, root_diameter=diameter, height=height, height_high=height,
                   bark_thick=0.02, bark_read=True, lean_deg=lean, lean_toward_deg=90.0, wall=wall * wood / 2,
                   hollow_height=0.3)  # fmt: skip
    if height > 79 * diameter:
        return

    def use(limits, values):
        # the median over the demand: the 5 % value would bring the scatter's own change in
        other = replace(base, diameter=values["d"], root_diameter=values["d"], height=values["h"],
                        height_high=values["h"], wall=values["wall"], bark_thick=values["bark"])  # fmt: skip
        found, _ = limits(other, Pulls.single(("pull",), 5000.0, 90.0, values["tie"], 0.2), 1.5)
        return float(found.demand[0, 0] / found.capacity_median[0, 0])

    at = {"d": diameter, "h": height, "wall": base.wall, "bark": 0.02, "tie": tie}
    one = Pulls.single(("pull",), 5000.0, 90.0, tie, 0.2)
    for limits, names in ((root_limits, {"d": "trunk diameter", "h": "tree height", "tie": "tie height"}),
                          (stem_limits, {"d": "trunk diameter", "wall": "sound wall", "bark": "bark thickness",
                                         "tie": "tie height"})):  # fmt: skip
        _, scatter = limits(base, one, 1.5)
        sd = {"d": base.diameter_ln_sd, "h": base.height_ln_sd, "wall": 0.30, "bark": 0.10, "tie": 0.03}
        for key, name in names.items():
            power = float(scatter[name].ravel()[0]) / sd[key]
            up, down = (use(limits, {**at, key: at[key] * math.exp(step)}) for step in (1e-4, -1e-4))
            assert power >= abs(math.log(up / down)) / 2e-4 - 0.02, (limits.__name__, name)


def test_a_guessed_reading_widens_the_scatter_and_raises_the_use():
    for worse in ({"T1.trunk.0.how": "estimated"}, {"T1.height_how": "estimated"}, {"T1.species.certainty": "guess"}):
        sure, guessed = judge_hold(setting({}).case()), judge_hold(setting(worse).case())
        assert max(b.use / a.use for a, b in zip(sure.limits, guessed.limits)) > 1.01


def test_what_matters_most_is_the_largest_share_and_the_shares_are_whole():
    for limit in judge_hold(setting({"T1.trunk.0.how": "estimated"}).case()).limits:
        assert sum(limit.variance_shares.values()) == pytest.approx(1)
        assert limit.matters_most == max(limit.variance_shares, key=limit.variance_shares.get)
        assert limit.use_p05 < limit.use < limit.use_p95


def two_lines(days: tuple[str | None, str | None]):
    made = record()
    third = made.anchor("T2").model_copy(update={"code": "T3"})
    second = made.lines[0].model_copy(update={"id": "L2", "b": made.lines[0].b.model_copy(update={"anchor": "T3"})})
    lines = [line.model_copy(update={"planned": line.planned.model_copy(update={"date": day})})
             for line, day in zip((made.lines[0], second), days)]  # fmt: skip
    return assess(made.model_copy(update={"anchors": (*made.anchors, third), "lines": tuple(lines)}))


def test_only_lines_that_hang_at_the_same_time_are_added():
    day = record().lines[0].planned.date
    alone = end_a().hold_use
    assert two_lines((day, day)).lines[0].anchors[0].hold_use == pytest.approx(2 * alone, rel=0.01)
    assert two_lines((day, None)).lines[0].anchors[0].hold_use > 1.9 * alone  # nobody can rule it out
    assert two_lines((day, day.replace(day=28))).lines[0].anchors[0].hold_use == pytest.approx(alone)


def test_another_line_of_unknown_pull_on_the_same_tree_ends_in_cannot_say():
    made = record()
    third = made.anchor("T2").model_copy(update={"code": "T3"})
    second = made.lines[0].model_copy(update={"id": "L2", "standing": None,
                                              "b": made.lines[0].b.model_copy(update={"anchor": "T3"})})  # fmt: skip
    both = made.model_copy(update={"anchors": (*made.anchors, third), "lines": (made.lines[0], second)})
    end = assess(both).lines[0].anchors[0]
    assert end.verdict == "cannot say" and any("L2 may hang on this tree" in says for says in end.reasons)


def test_a_hollow_is_told_by_author_and_year_beside_the_section_modulus():
    end = end_a({"T1.hollow": {"height": "1 m", "sound_wall": "9 cm"}})
    said = next(says for says in end.reasons if "Wagener" in says)
    for name in ("Wagener 1963", "Coder 1989", "Smiley and Fraedrich 1992", "section modulus", "sound wall"):
        assert name in said


def test_an_open_hollow_is_weaker_than_a_closed_one():
    closed, opened = (end_a({"T1.hollow": {"height": "1 m", "sound_wall": "12 cm", "opening": opening}}).limits[0].use
                      for opening in ("0 deg", "90 deg"))  # fmt: skip
    assert opened > closed
    assert end_a({"T1.hollow": {"height": "1 m", "sound_wall": "12 cm", "opening": "150 deg"}}).verdict == "cannot say"


@pytest.mark.parametrize(("diameter", "use", "effect"), [
    (LEAST_TRUNK - 0.005, "hammock", "leave it"), (LEAST_TRUNK + 0.005, "hammock", None),
    (USUAL_LEAST_TRUNK - 0.005, "low line", "suits if"), (USUAL_LEAST_TRUNK + 0.005, "low line", None),
])  # fmt: skip
def test_the_size_floors(diameter, use, effect):
    # read at the tie, so that no taper comes in
    edits = {"T1.trunk": [{"diameter": f"{diameter * 100:.2f} cm", "read_at": "1.2 m", "how": "taped"}], "L1.use": use}
    told = [f.effect for f in judge_hold(setting(edits).case()).findings if f.about == "size floor"]
    assert told == ([effect] if effect else [])


def test_the_take_down_wind_falls_with_the_pull_and_with_the_crown():
    def wind(edits):
        return judge_hold(setting(edits).case()).take_down_wind

    winds = [wind({"L1.standing.tension": pull}) for pull in ("1 kN", "4 kN", "7 kN")]
    assert winds == sorted(winds, reverse=True)
    crowns = [wind({"T1.crown_spread": width}) for width in ("4 m", "8 m", "16 m")]
    assert crowns == sorted(crowns, reverse=True)


def test_a_wind_under_5_m_s_is_left_where_the_crown_was_paced_and_open_where_it_was_not():
    # a 32 cm trunk under a crown as wide as the tree is high, and a line that leaves it little: no known ground ends it
    tight = {"T1.trunk.0.girth": "100 cm", "T1.height": "14 m", "L1.a.tie_height": "1.6 m", "L1.ground": []}
    paced = judge_hold(setting(tight | {"T1.crown_spread": "14 m"}).case())
    assert paced.take_down_wind < 5 and paced.verdict == "leave it"
    assert paced.hold_use < 1  # by the wind alone
    for filled in ({"T1.crown_spread": None}, {"T1.crown_spread": "14 m", "T1.height": None}):
        case = setting(tight | filled).case()
        # the figures of the tree as measured: a height filled in leaves the root plate open by itself
        limits = [replace(one, demand=0.97 * one.capacity_p05) for one in paced.limits]
        wind, told = wind_finding(case.tree, tuple(limits), case.tie)
        assert wind < 5 and [finding.effect for finding in told] == ["cannot say"]
        assert told[0].do_next == "pace the crown and measure the height"


@pytest.mark.parametrize("height", ["7 m", "9 m"])
def test_more_load_never_softens_the_word_of_a_squat_tree(height):
    edits = {"T1.trunk.0.girth": "150 cm", "T1.height": height, "T1.crown_spread": "14 m", "T1.crown_base": "2 m"}
    words = [judge_hold(setting(edits | {"L1.standing.tension": f"{pull / 2} kN"}).case()).verdict
             for pull in range(2, 20)]  # fmt: skip
    ranks = [VERDICTS.index(word) for word in words]
    assert ranks == sorted(ranks) and "cannot say" in words and "leave it" not in words


def test_a_squat_tree_by_its_filled_height_alone_gains_nothing_by_not_measuring():
    # too much for any height it may have: measured it would be left, and so it is left unmeasured
    edits = {"T1.trunk.0.girth": "110 cm", "L1.a.tie_height": "2.5 m", "L1.standing.tension": "8 kN"}
    measured = judge_hold(setting(edits | {"T1.height": "20 m"}).case())
    unread = judge_hold(setting(edits | {"T1.height": None}).case())
    assert measured.verdict == "leave it"
    assert VERDICTS.index(unread.verdict) >= VERDICTS.index("leave it")


def test_one_limit_not_known_leaves_the_wind_unknown():
    end = end_a({"T1.roots.W": "cut", "T1.roots.SW": "cut", "T1.roots.NW": "cut"})
    uses = {limit.name: limit.use for limit in end.limits}
    assert uses["root plate"] is None and uses["stem"] is not None
    assert end.take_down_wind_m_s is None
    (told,) = [finding for finding in end.findings if finding.about == "wind"]
    assert "cannot be worked out, since the root plate cannot be told" in told.says and "m/s" not in told.says


def test_a_stem_that_alone_is_too_much_in_light_wind_still_rejects_though_the_roots_are_not_known():
    case = setting({}).case()
    stem, root = judge_hold(case).limits
    stem = replace(stem, demand=0.99 * stem.capacity_p05, use=0.99 * stem.divisor)
    wind, told = wind_finding(case.tree, (stem, replace(root, use=None, allowable=None)), case.tie)
    assert wind is None and worst(finding.effect for finding in told) == "leave it"
    assert [f.says for f in told if f.about == "wind exceeded" and "by the stem alone" in f.says]


@pytest.mark.parametrize("crown", ["8 m", "11 m", "14 m", "17 m", "20 m", "23 m"])
def test_every_place_tells_one_gust_rounded_down_as_a_forecast_would(crown):
    edits = {"T1.crown_spread": crown, "T1.trunk.0.girth": "150 cm", "L1.standing.tension": "4 kN"}
    raw = judge_hold(setting(edits).case()).take_down_wind
    end = end_a(edits)
    whole = math.floor(min(raw, 17.0))
    assert end.take_down_wind_m_s == whole
    told = [f for f in judge_hold(setting(edits).case()).findings if f.about.startswith("wind")]
    for says in [text for finding in told for text in (finding.says, finding.condition) if text]:
        assert f"gusts of {math.floor(3.6 * whole + 1e-9)} km/h" in says.replace("no gust of", "gusts of")
        assert f"{math.floor(whole / 0.44704)} mph, {whole} m/s" in says


def test_a_gust_condition_says_when_its_crown_or_height_was_not_measured():
    thin = {"T1.trunk.0.girth": "100 cm", "T1.height": "14 m"}
    conditions, paced = {}, {"T1.crown_spread": "12 m"}
    for name, edits in {"read": paced, "height": paced | {"T1.height_how": None},
                        "crown": {"T1.crown_spread": None}}.items():  # fmt: skip
        found = [f for f in judge_hold(setting(thin | edits).case()).findings if f.about == "wind"]
        conditions[name] = "; ".join(f.condition for f in found)
    assert "no gust of" in conditions["read"] and "rests on" not in conditions["read"]
    assert "a tree height not measured" in conditions["height"]
    assert "a crown width taken, not paced" in conditions["crown"]


def test_a_limit_that_asks_for_something_says_which_size_nobody_measured():
    tight = {"T1.trunk.0.girth": "126 cm", "T1.height": "14 m", "L1.standing.tension": "3 kN"}

    def said(edits):
        return {f.about.removesuffix(" exceeded"): f.says for f in judge_hold(setting(tight | edits).case()).findings}

    assert "rests on" not in said({})["root plate"] + said({})["stem"]
    guessed = said({"T1.height_how": None, "T1.trunk.0.how": "estimated"})
    assert "it rests on a trunk size not taped and a tree height not measured" in guessed["root plate"]
    assert "rests on" not in guessed["stem"]  # it suits with margin and asks for nothing


def test_the_explanation_holds_every_input_every_case_and_every_finding():
    end = end_a({"T1.species.certainty": "think so", "T1.lean": "3 deg"})
    steps = "\n".join(end.steps)
    for word in ("line: low line", "pull toward 090", "trunk: 0.60 m", "height: 18.0 m, measured", "Quercus robur",
                 "MPa from", "bark:", "lean: 3 degrees", "ground: firm", "roots lost by side", "stem = 0.8",
                 "root plate = 28810 (160 winched trees (any broadleaf))"):  # fmt: skip
        assert word in steps, word
    for load in end.loads:
        assert f"load, {load.case}:" in steps
    for says in end.reasons:
        assert says in steps
    assert end.steps[-1] == f"the worst of these: {end.verdict}"


def test_the_root_plates_sum_in_the_explanation_can_be_done_by_hand():
    step = next(step for step in end_a({"T1.ground.wetness": "wet"}).steps if step.startswith("root plate = "))
    numbers = [float(word.rstrip(",")) for word in step.split() if word.replace(".", "").rstrip(",").isdigit()]
    k, diameter, height, soil, roots, ground = numbers
    wanted = next(limit for limit in end_a({"T1.ground.wetness": "wet"}).limits if limit.name == "root plate")
    assert k * diameter**2 * height * soil * roots * ground == pytest.approx(wanted.capacity_median, rel=2e-3)


def test_every_assumption_is_listed_once_with_its_flag_and_source():
    listed = assess(record({"T1.height": None, "T1.hollow": {"height": "1 m", "sound_wall": "9 cm"}})).assumptions
    names = [one.name for one in listed]
    assert len(names) == len(set(names)) > 80
    assert {one.flag for one in listed} <= {"read", "derived", "judgement", "memory"}
    assert all(one.source for one in listed)
    assert {one.name for one in OF_A_TREE} <= set(names)
    for part in ("take-down gust", "no trial load", "at the tie below which", "Wagener 1963", "filled", "divisor"):
        assert any(part in name for name in names), part


def test_what_did_not_bear_is_not_listed():
    names = " ".join(one.name for one in assumptions_of(assess(record()).lines))
    assert "leash" not in names and "rock" not in names and "Wagener" not in names and "hammock" not in names


def test_a_tree_alone_tells_the_pull_that_is_used_up_wholly_and_without_a_trial():
    alone = tree_alone(record().anchor("T1"), 54.5, "BS 5837")
    pulls = [row.pull_n for row in alone.pulls]
    assert pulls == sorted(pulls, reverse=True) and alone.verdict == "cannot say"
    for row in alone.pulls:
        assert row.pull_without_trial_n == pytest.approx(0.6 * row.pull_n, rel=0.02)
        found, _ = root_limits(tree(), Pulls.single(("",), row.pull_n, math.nan, row.tie_height_m, 0.2), 1.5)
        assert found.use.max() == pytest.approx(1, abs=0.01)


def test_a_tree_alone_with_a_stop_sign_or_a_thin_trunk_is_left():
    for edits in ({"T1.signs.stem_crack": "yes"}, {"T1.trunk.0.girth": "50 cm"}):
        assert tree_alone(record(edits).anchor("T1"), 54.5, "BS 5837").verdict == "leave it"


def test_unwatched_things_only_ever_worsen_a_verdict():
    base = VERDICTS.index(end_a().verdict)
    for edits in ({"T1.hard_edge_near": "yes"}, {"T1.stems": "several"}, {"T1.stems": "unknown"},
                  {"T1.trunk": []}, {"L1.a.tie_height": None}, {"L1.webbing": None}):  # fmt: skip
        assert VERDICTS.index(end_a(edits).verdict) > base


def test_the_root_plate_goes_by_breast_height_and_a_reading_in_the_flare_is_told():
    taken = (("240 cm", "0.4 m"), ("180 cm", "1.4 m"))
    readings = [{"girth": girth, "read_at": at, "how": "taped"} for girth, at in taken]
    both = tree({"T1.trunk": readings, "L1.a.tie_height": "0.5 m"})
    assert both.diameter == both.root_diameter == pytest.approx(1.80 / math.pi)  # a flare makes no stem thicker
    flare = end_a({"T1.trunk": readings[:1]})
    assert flare.verdict == "suits if" and any("breast height" in condition for condition in flare.conditions)
    assert tree({"T1.trunk": readings[:1]}).root_diameter == pytest.approx(2.40 / math.pi - 0.015 * 0.9)


def test_a_webbing_too_weak_is_told_at_a_tie_nobody_measured_too():
    edits = {"L1.webbing.strength": "2 kN", "L1.webbing.held_by": "sewn eye"}
    for tie in ("1.2 m", None):
        (told,) = [one for one in end_a(edits | {"L1.a.tie_height": tie}).findings if one.about == "webbing"]
        assert told.effect == "leave it"


def test_a_webbing_too_weak_for_any_pull_is_left_whatever_was_not_measured():
    weak = {"L1.webbing.strength": "1 kN", "L1.webbing.held_by": "sewn eye"}
    for missing in ({"L1.standing": None}, {"L1.webbing.stiffness": None}, {"L1.span": None, "T2.position": None}):
        told = [one for one in end_a(weak | missing).findings if one.about == "webbing" and one.effect == "leave it"]
        assert len(told) == 1
    strong = {"L1.webbing.strength": "30 kN", "L1.standing": None}
    assert not [one for one in end_a(strong).findings if one.effect == "leave it"]
