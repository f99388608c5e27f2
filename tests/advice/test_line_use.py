"""A line of a record, end to end: webbing, loads, ground, crew, gear and pulls, beside the mechanics' own sums."""

import math
from pathlib import Path

import numpy as np
import pytest

from siteassess.advice.assess import assess
from siteassess.advice.changes import guy_of, guy_said
from siteassess.advice.end_loads import load_findings
from siteassess.advice.ground import HeightLimit, clearance_of
from siteassess.advice.hold import pulls_of, together
from siteassess.advice.line_inputs import line_inputs, line_loads
from siteassess.advice.results import Load
from siteassess.advice.whole_line import of_the_whole_line
from siteassess.mechanics.cable import solve
from siteassess.mechanics.stretch_table import StretchTable
from siteassess.records.line import End, Line
from siteassess.records.reading import read_record

PARK = Path(__file__).resolve().parents[2] / "examples" / "brindlewick" / "park.yaml"
PLAIN = {
    "id": "X", "use": "long line", "a": {"anchor": "T1", "tie_height": "1.4 m"},
    "b": {"anchor": "T2", "tie_height": "1.4 m"}, "span": {"taped": "40 m"}, "webbing": {"kind": "polyester"},
    "standing": {"tension": "4 kN", "how": "load cell"}, "walkers": {"mass": "80 kg"},
}  # fmt: skip


@pytest.fixture(scope="module")
def park():
    return read_record(PARK)


def line(**changes) -> Line:
    return Line.model_validate({**PLAIN, **changes})


def inputs(**changes):
    return line_inputs(line(**changes))


def says(findings) -> str:
    return " | ".join(finding.says for finding in findings)


def load_at(case, found, end="a"):
    return Load(case.name, getattr(case, f"tension_{end}"), case.horizontal, getattr(case, f"vertical_{end}"), 90.0,
                case.horizontal * 1.4, case.drop, case.ln_sd, case.calibrated is not False, case.basis)  # fmt: skip


def told(**changes):
    """What the load cases of a line say at end A."""
    found = inputs(**changes)
    cases, why = line_loads(found)
    assert not why
    return load_findings(found, [load_at(case, found) for case in cases if case.tension > 0])


# -- webbing


def test_a_class_gives_its_stiffness_and_mass():
    found = inputs()
    assert found.stiffness == 250e3 and found.weight == pytest.approx(0.070 * 9.80665)
    assert not found.missing


def test_a_webbing_in_no_table_is_missing_and_named():
    found = inputs(webbing={"kind": "spider silk"})
    assert "webbing" in found.missing and "spider silk" in says(found.told)
    assert line_loads(found)[1].in_words().startswith("the load cannot be worked out without: webbing")


def test_an_own_stretch_table_counts_before_class_and_stiffness():
    rows = [{"tension": "2 kN", "stretch": "5 %"}, {"tension": "8 kN", "stretch": "0.12 m/m"}]
    found = inputs(webbing={"kind": "polyester", "stiffness": "60 kN", "stretch": rows})
    assert isinstance(found.stiffness, StretchTable) and found.stiffness.strain(8e3) == pytest.approx(0.12)
    assert found.secant == pytest.approx(8e3 / 0.12)


def test_a_straight_table_gives_what_one_stiffness_gives():
    rows = [{"tension": f"{t} kN", "stretch": f"{0.4 * t} %"} for t in (2, 6, 12)]  # EA 250 kN
    by_table, by_stiffness = (line_loads(inputs(webbing={"mass": "70 g/m", **webbing}))[0]
                              for webbing in ({"stretch": rows}, {"stiffness": "250 kN"}))  # fmt: skip
    for one, other in zip(by_table, by_stiffness):
        assert one.tension_a == pytest.approx(other.tension_a, rel=1e-6)


def test_a_table_that_does_not_rise_is_refused_in_words():
    rows = [{"tension": "5 kN", "stretch": "5 %"}, {"tension": "2 kN", "stretch": "8 %"}]
    found = inputs(webbing={"stretch": rows})
    assert found.stiffness is None and "webbing" in found.missing
    assert any(finding.effect == "cannot say" and "rise" in finding.says for finding in found.told)


def test_joined_webbings_lie_between_their_parts():
    soft, stiff = inputs(webbing={"kind": "nylon"}), inputs()
    joined = inputs(webbing=None, sections=[{"kind": "nylon", "length": "15 m"}, {"kind": "polyester"}])
    tension = {name: max(case.tension for case in line_loads(one)[0]) for name, one in
               (("soft", soft), ("joined", joined), ("stiff", stiff))}  # fmt: skip
    assert tension["soft"] < tension["joined"] < tension["stiff"]
    assert soft.weight < joined.weight < stiff.weight


def test_a_joined_webbing_with_one_part_unknown_is_missing():
    found = inputs(webbing=None, sections=[{"kind": "nylon", "length": "15 m"}, {"width": "25 mm"}])
    assert "webbing" in found.missing


def test_tension_past_the_rated_strength_is_left_with_its_ratio():
    (finding,) = [f for f in told(webbing={"kind": "polyester", "strength": "5 kN"}) if f.about == "webbing"]
    hardest = max(case.tension_a for case in line_loads(inputs())[0])
    assert finding.effect == "leave it" and f"{hardest / 5e3:.0%}" in finding.says


def test_stretch_past_30_percent_ends_in_cannot_say():
    (finding,) = [f for f in told(webbing={"stiffness": "15 kN"}) if f.about == "webbing"]
    assert finding.effect == "cannot say" and "30%" in finding.says


def test_tension_past_the_last_row_of_a_table_never_suits():
    rows = [{"tension": "1 kN", "stretch": "0.5 %"}, {"tension": "4.5 kN", "stretch": "2 %"}]
    (finding,) = [f for f in told(webbing={"stretch": rows}) if f.about == "webbing"]
    assert finding.effect == "suits if" and "4.5 kN" in finding.says


def test_no_rating_and_more_than_the_class_may_bear_asks_for_the_rating():
    findings = told(webbing={"kind": "nylon"}, standing={"tension": "15 kN"}, walkers={"mass": "120 kg"})
    assert any(f.effect == "suits if" and "recalled" in f.says for f in findings)


# -- load cases

HIGH = {"use": "high line", "walkers": {"mass": "80 kg", "leash": "1.5 m"}, "backup": "other tree"}


@pytest.mark.parametrize("use, names", [
    ("low line", {"rigging peak", "standing", "walked", "bounced"}),
    ("trick line", {"rigging peak", "standing", "walked", "bounced"}),
    ("long line", {"rigging peak", "standing", "walked", "bounced"}),
    ("high line", {"rigging peak", "standing", "walked", "bounced", "leash fall", "fall at an anchor",
                   "backup catch"}),
    ("aerial equipment", {"rigging peak", "standing", "walked", "bounced"}),
    ("hammock", {"lying", "dropping in"}),
])  # fmt: skip
def test_each_use_has_its_cases_each_with_its_basis(use, names):
    cases, _ = line_loads(inputs(use=use, span={"taped": "4 m"} if use == "hammock" else {"taped": "40 m"}))
    assert {case.name for case in cases} == names
    assert all(case.basis and case.ln_sd > 0 for case in cases)


def test_two_walkers_pull_harder_than_one():
    cases = {case.name: case for case in line_loads(inputs(walkers={"mass": "80 kg", "at_once": 2}))[0]}
    assert cases["two walkers"].tension > cases["walked"].tension and cases["two walkers"].calibrated is False


def test_a_leash_fall_outside_the_measured_lines_never_suits():
    findings = told(**HIGH)
    assert any(f.about == "leash fall" and f.effect == "suits if" for f in findings)


def test_inside_the_measured_lines_the_fall_is_calibrated_and_the_high_line_still_asks_for_redundancy():
    findings = told(**{**HIGH, "walkers": {"mass": "57 kg", "leash": "1.2 m"}})
    assert not any(f.about == "leash fall" and f.effect == "suits if" for f in findings)
    assert any(f.about == "redundancy" and f.effect == "suits if" for f in findings)


def test_a_backup_catch_above_20_kn_is_flagged_and_an_unknown_one_asked_for():
    assert any("not worked out" in f.says and "20 kN" in f.says and f.effect == "suits if" for f in told(**HIGH))
    stiff = told(**HIGH, backup_line={"extra_length": "0.2 m", "stiffness": "9000 kN"})
    assert any(f.about == "backup" and f.effect == "suits if" and "20 kN" in f.says for f in stiff)
    soft = told(**HIGH, backup_line={"extra_length": "2 m", "kind": "nylon"})
    assert any(f.about == "backup" and f.effect == "suits" for f in soft)


def test_the_scatter_of_the_measured_lines_goes_into_the_demand():
    cases = {case.name: case for case in line_loads(inputs())[0]}
    assert cases["bounced"].ln_sd > cases["standing"].ln_sd == pytest.approx(0.10)


# -- ground


def test_standing_tension_from_a_sag_is_the_one_it_came_from():
    state = solve(40.0, 0.0, 4000.0, 250e3, 0.07 * 9.80665, 80 * 9.80665, 0.5)
    found = inputs(standing={"sag": f"{float(state.drop):.5f} m", "sag_under": "80 kg"})
    assert found.standing == pytest.approx(4000, rel=1e-3) and "worked out from the sag" in says(found.told)


def test_feet_that_touch_are_told_with_where_and_what_would_clear():
    low = line(standing={"tension": "1.5 kN"}, webbing={"kind": "nylon"},
               ground=[{"at": "0 m", "height": "0 m"}, {"at": "40 m", "height": "0 m"}])  # fmt: skip
    found, findings = clearance_of(low, line_inputs(low))
    assert found.touches and found.touching_m[0][0] < 20 < found.touching_m[0][1]
    assert findings[0].effect == "suits if" and "it stands at" in findings[0].condition
    cleared = line_inputs(low.model_copy(update={"standing": line(standing={
        "tension": f"{found.standing_to_clear_n:.1f} N"}).standing}))  # fmt: skip
    again, _ = clearance_of(low, cleared)
    assert again.lowest_m == pytest.approx(0.30, abs=1e-3)
    tie = {"tie_height": f"{1.4 + found.lift_to_clear_m:.4f} m"}
    lifted = low.model_copy(update={"a": End(anchor="T1", **tie), "b": End(anchor="T2", **tie)})
    higher, _ = clearance_of(lifted, line_inputs(lifted))
    assert higher.lowest_m == pytest.approx(0.30, abs=1e-3)


def test_ground_taped_down_from_a_string_is_the_same_ground():
    by_height = line(ground=[{"at": f"{at} m", "height": f"{height} m"} for at, height in ((0, 0), (15, -1), (40, 0))])
    by_string = line(ground_below=[{"at": "15 m", "down": "2.4 m"}, {"at": "40 m", "down": "1.4 m"}])
    one, other = (clearance_of(plan, line_inputs(plan))[0] for plan in (by_height, by_string))
    assert other.walker_m == pytest.approx(one.walker_m) and other.ground_m == pytest.approx(one.ground_m)
    short = line(ground_below=[{"at": "15 m", "down": "2.4 m"}])
    found, findings = clearance_of(short, line_inputs(short))
    assert found is None and "not worked out" in says(findings)


def test_the_wished_margin_counts():
    wished = line(keep_clear="80 cm")
    found, _ = clearance_of(wished, line_inputs(wished))
    assert found.margin_m == 0.8 and "0.8 m" in says_of(found)


def says_of(found) -> str:
    return " | ".join(found.says)


def test_a_height_limit_tells_how_far_the_ties_may_rise():
    plain = line()
    found, _ = clearance_of(plain, line_inputs(plain), limits=(HeightLimit("attach height", 1.5),))
    assert found.ties_may_rise_m == pytest.approx(0.1)
    found, _ = clearance_of(plain, line_inputs(plain), limits=(HeightLimit("line height", 1.2),))
    assert found.ties_may_rise_m == pytest.approx(-0.2) and "lower" in says_of(found)


def test_the_picture_runs_from_trunk_to_trunk():
    plain = line()
    found, _ = clearance_of(plain, line_inputs(plain))
    assert found.x_m[0] == 0 and found.x_m[-1] == 40
    assert found.walker_m[0] == found.unloaded_m[0] == pytest.approx(1.4)


def test_a_measured_mid_height_is_held_against_the_one_worked_out():
    tight = {"standing": {"tension": "8 kN"}}
    worked_out = clearance_of(line(**tight), inputs(**tight))[0].mid_height_loaded_m
    for off, words in ((-0.3, "likely less"), (0.3, "likely more"), (0.0, "agrees")):
        read = line(**tight, mid_height=f"{worked_out + off:.3f} m")
        clear, findings = clearance_of(read, line_inputs(read))
        assert words in says_of(clear) + says(findings)


# -- crew


CREW = {"people": 2, "stages": [{"ratio": 3, "sheave": "good pulley"}, {"ratio": 3, "sheave": "carabiner"}],
        "footing": "feet braced"}  # fmt: skip


def hauling(crew, **changes):
    plan = line(crew=crew, **changes)
    return of_the_whole_line(plan, line_inputs(plan))


def test_a_strong_crew_reaches_and_a_weak_one_does_not():
    _, findings, reached, _ = hauling({**CREW, "people": 8, "stages": [{"ratio": 5, "sheave": "good pulley"}] * 2})
    assert reached.answer == "yes" and not any(f.effect != "suits" for f in findings if f.about == "hauling")
    _, findings, reached, _ = hauling({"people": 1, "stages": [{"ratio": 1}], "footing": "standing"})
    assert reached.answer == "no" and reached.helps
    assert any(f.about == "hauling" and f.effect == "suits if" for f in findings)


@pytest.mark.parametrize("worst, unsaid", [
    ({"stages": [{"ratio": 9, "sheave": "steel karabiner"}]}, {"stages": [{"ratio": 9}]}),
    ({"stages": [{"ratio": 9, "sheave": "steel karabiner"}]}, {"stages": [{"ratio": 9, "sheave": "magic wheel"}]}),
    ({"stages": [{"ratio": 1}]}, {"stages": []}),
    ({"people": 6, "footing": "slippery ground"}, {"people": 6, "footing": "unknown"}),
])  # fmt: skip
def test_what_nobody_said_of_a_crew_is_no_kinder_than_its_weakest(worst, unsaid):
    base = {"people": 3, "footing": "feet braced", "stages": [{"ratio": 9, "sheave": "good pulley"}]}
    asks = [[one.code for one in hauling({**base, **crew})[1] if one.effect == "suits if" and one.about == "hauling"]
            for crew in ({}, worst, unsaid)]  # fmt: skip
    assert asks == [[], ["crew-cannot-clear"], ["crew-might-not-clear"]]


def test_what_helps_comes_most_helpful_first_and_helps():
    found = hauling(CREW, standing={"tension": "3 kN"})[2]
    ratios = [one.stays.likely / one.needed for one in found.helps]
    assert ratios == sorted(ratios, reverse=True) and ratios[0] > found.stays_n.likely / found.needed_n


def test_a_crew_that_can_pull_past_what_was_judged_is_told_to_stop():
    strong = {**CREW, "people": 8}
    assert "stop at the planned tension" in says(hauling(strong)[1])
    assert "stop at" not in says(hauling(CREW, standing={"tension": "20 kN"})[1])


def test_less_is_left_at_every_step():
    found = hauling(CREW)[2]
    for reached, locked, stays in zip(found.reached_n, found.locked_n, found.stays_n):
        assert reached > locked > stays


def test_what_hauling_and_gear_rest_on_is_stated(park):
    names = {assumption.name for assumption in assess(park, line_id="L1").assumptions}
    assert {"share lost when the line is locked off", "wanted over the load of its place, breaking strengths"} <= names


def test_an_unknown_sheave_is_named_and_a_missing_one_is_anything():
    _, findings, reached, _ = hauling({**CREW, "stages": [{"ratio": 3, "sheave": "magic wheel"}]})
    assert reached is None and "magic wheel" in says(findings)
    named, blank = (hauling({**CREW, "stages": [stage]})[2].reached_n
                    for stage in ({"ratio": 3, "sheave": "good pulley"}, {"ratio": 3}))  # fmt: skip
    assert blank.low < named.low and blank.high >= named.high


# -- pulls on one tree


def test_two_lines_on_one_tree_are_the_vector_sum():
    def pull(horizontal, bearing, tie):
        return pulls_of((Load("walked", horizontal, horizontal, 0.0, bearing, 0.0, 0.0, 0.1, True, ""),), tie, bearing)

    arm = 0.8  # min(2 d, 1 m) for a trunk of 0.4 m
    both = together(pull(10e3, 0.0, 1.2), (pull(6e3, 70.0, 1.5),), 0.4)
    one, other = 10e3 * (1.2 + arm), 6e3 * (1.5 + arm)
    east, north = other * math.sin(math.radians(70.0)), one + other * math.cos(math.radians(70.0))
    assert float(both.pull[0] * (both.tie[0] + arm)) == pytest.approx(math.hypot(east, north), rel=1e-9)
    assert float(both.bearing[0]) == pytest.approx(math.degrees(math.atan2(east, north)), abs=1e-6)


def test_a_guy_halves_the_tipping_moment():
    found = inputs()
    hardest = max(line_loads(found)[0], key=lambda case: case.horizontal)
    assert guy_of(found, "A", 60.0) == pytest.approx(hardest.horizontal / 2)
    steep = guy_of(found, "A", math.nan, slope_deg=30.0)
    assert steep == pytest.approx(hardest.horizontal / 2 / math.cos(math.radians(30.0)))
    assert "240 degrees true" in guy_said(found, "A", 60.0).in_words()
    assert "judged too" in guy_said(inputs(webbing=None), "A", math.nan).in_words()


def test_a_pull_is_told_against_straight_downhill():
    result = assess(read_record(PARK), line_id="L1")
    a, b = result.lines[0].anchors
    assert a.downhill_angle_deg + b.downhill_angle_deg == pytest.approx(180, abs=1e-6)
    assert len(result.lines[0].sweeps) == 2


# -- sweeps


def test_sweeps_are_the_cable_and_mark_the_planned_tension():
    plan = line()
    along, against = of_the_whole_line(plan, line_inputs(plan))[3]
    middle = int(np.argmin(np.abs(np.array(along.x) - 20)))
    state = solve(40.0, 0.0, 4000.0, 250e3, 0.07 * 9.80665, 80 * 9.80665, 0.5)
    assert along.tension_n[middle] == pytest.approx(float(state.tension_a), rel=1e-9)
    assert float(state.drop) > 1.4 and along.height_m[middle] == 0  # the walker stands on the ground there
    near = solve(40.0, 0.0, 4000.0, 250e3, 0.07 * 9.80665, 80 * 9.80665, 0.1)
    height = np.interp(4.0, along.x, along.height_m)
    assert height == pytest.approx(1.4 - float(near.drop), abs=1e-9)
    assert against.planned == 4.0
    assert np.all(np.diff(against.tension_n) > 0) and np.all(np.diff(against.height_m) >= 0)


def test_nothing_is_swept_where_something_is_missing():
    plan = line(standing=None)
    assert of_the_whole_line(plan, line_inputs(plan))[3] == ()


# -- gear and legs


def gear_of(park, **changes):
    lines = tuple(one.model_copy(update=changes) if one.id == "L1" else one for one in park.lines)
    return assess(park.model_copy(update={"lines": lines}), line_id="L1").lines[0].gear


def test_every_result_without_ratings_says_gear_not_checked(park):
    bare = [end.model_copy(update={"sling": None}) for end in park.lines[0].ends]
    told = gear_of(park, gear=(), a=bare[0], b=bare[1], webbing=line().webbing)
    assert told == ("not checked",)


def test_webbing_counts_with_what_holds_its_ends(park):
    def factor(**webbing):
        rated = line(webbing={"kind": "polyester", "strength": "42 kN", **webbing}).webbing
        told = " ".join(gear_of(park, webbing=rated))
        return float(told.split("factor ")[1].split(",")[0]), told

    sewn, _ = factor(held_by="sewn eye")
    single, told = factor()
    assert single == pytest.approx(0.6 * sewn, abs=0.11) and "not said" in told
    assert single == factor(held_by="most knots")[0]  # not saying what holds them earns nothing
    assert factor(held_by="figure eight")[0] == pytest.approx(0.75 * sewn, abs=0.11)


def test_webbing_that_is_too_short_is_told(park):
    short = line(webbing={"kind": "polyester", "length": "40 m"}).webbing
    assert any("too short" in says for says in gear_of(park, webbing=short))
