"""The quick sums answer in the agreed keys, and with figures that stand outside this program."""

import json
import math

import click
import pytest
from click.testing import CliRunner
from quick_sums import BARK, BOULDER

from siteassess.advice.boulder_end import DENSITY
from siteassess.cli import group, main
from siteassess.cli.quick import quick
from siteassess.reference.findings import in_language
from siteassess.reference.tables import document


def ask(*args, code=0):
    result = CliRunner().invoke(group, ["quick", *args, "--json"], catch_exceptions=False)
    assert result.exit_code == code, result.output
    return json.loads(result.stdout)


def refuse(*args):
    result = CliRunner().invoke(group, ["quick", *args])
    assert result.exit_code == 2, result.output
    return result.output


LOAD = ("load", "--span", "75 m", "--standing", "3 kN", "--stiffness", "60 kN", "--mass", "70 g/m", "--load", "800 N")


def test_load_gives_the_state_that_two_outside_solvers_agree_on():
    # reference case 10 of the stored cases: mooring library and frame program agree to 0.01 N (derived)
    found = ask(*LOAD)
    for end in ("anchor_a", "anchor_b"):
        assert set(found[end]) == {"tension_n", "horizontal_n", "vertical_n"}
        assert found[end]["tension_n"] == pytest.approx(3454.66, rel=1e-5)
    assert found["drop_m"] == pytest.approx(4.5092, rel=1e-5)
    assert found["unstretched_m"] == pytest.approx(71.4294, rel=1e-5)


def test_load_with_the_far_anchor_higher():
    found = ask(*LOAD, "--rise", "2 m")  # stored case 12: B 2 m above A (derived)
    assert found["anchor_a"]["tension_n"] == pytest.approx(3443.67, rel=1e-5)
    assert found["anchor_b"]["tension_n"] == pytest.approx(3466.14, rel=1e-5)
    assert found["anchor_a"]["vertical_n"] == pytest.approx(333.09, rel=1e-4)


def test_load_from_a_sag_gives_back_the_tension_it_came_from():
    drop = ask(*LOAD)["drop_m"]
    back = ask(
        "load",
        "--span",
        "75 m",
        "--sag",
        f"{drop:.9f} m",
        "--stiffness",
        "60 kN",
        "--mass",
        "70 g/m",
        "--load",
        "800 N",
    )
    assert back["anchor_a"]["tension_n"] == pytest.approx(ask(*LOAD)["anchor_a"]["tension_n"], rel=1e-6)


def test_load_takes_a_class_of_webbing():
    found = ask("load", "--span", "40 m", "--standing", "630 lbf", "--webbing-class", "nylon", "--load", "180 lbf")
    assert found["anchor_a"]["tension_n"] > 630 * 4.4482216152605


@pytest.mark.parametrize(
    "change, word",
    [
        (("--span", "0 m"), "more than 0 m"),
        (("--at", "1.5"), "1.5"),
        (("--rise", "80 m"), "steep"),
        (("--span", "75"), "bare number"),
        (("--span", "75,500 m"), "point"),
        (("--standing", "80 kg"), "mass"),
        (("--standing", "3 kn"), "kN"),
    ],
)
def test_load_refuses_in_words(change, word):
    assert word in refuse(*LOAD, *change)


def test_load_wants_tension_or_sag():
    assert "either" in refuse(*LOAD, "--sag", "2 m")


def test_load_warns_when_the_tension_passes_the_strength():
    assert "above" in ask(*LOAD, "--strength", "3 kN")["warning"]


def test_a_line_too_slack_is_an_answer_with_a_reason():
    found = ask(
        "load", "--span", "300 m", "--standing", "20 N", "--stiffness", "1000 kN", "--mass", "100 g/m", "--load", "0 N"
    )
    assert found["anchor_a"]["tension_n"] is None and found["drop_m"] is None
    assert "slack" in found["reason"] or "small" in found["reason"]


def test_bearing_of_flinders_peak_to_buninyong():
    # Geoscience Australia: 54 972.271 m, 306 deg 52' 05.37", back 127 deg 10' 25.07"; 1e-5 deg of input is 1 m
    a = (-(37 + 57 / 60 + 3.72030 / 3600), 144 + 25 / 60 + 29.52440 / 3600)
    b = (-(37 + 39 / 60 + 10.15610 / 3600), 143 + 55 / 60 + 35.38390 / 3600)
    found = ask("bearing", *(f"{x:.12f}" for x in (*a, *b)), "--date", "2026-05-01")
    assert found["distance_m"] == pytest.approx(54972.271, abs=1e-3)
    assert found["bearing_true_deg"] == pytest.approx(306 + 52 / 60 + 5.37 / 3600, abs=2e-6)
    assert found["back_bearing_true_deg"] == pytest.approx(127 + 10 / 60 + 25.07 / 3600, abs=2e-6)
    turned = (found["bearing_magnetic_deg"] + found["declination_deg"] - found["bearing_true_deg"]) % 360
    assert min(turned, 360 - turned) < 1e-9


def test_bearing_outside_the_magnetic_model_keeps_the_rest():
    found = ask("bearing", "51.5", "0", "51.6", "0", "--date", "2035-01-01")
    assert found["declination_deg"] is None and found["bearing_magnetic_deg"] is None and found["reason"]
    assert found["bearing_true_deg"] == pytest.approx(0, abs=1e-9)


def test_bearing_refuses_swapped_coordinates():
    assert "LAT1" in refuse("bearing", "144.4", "-37.9", "143.9", "-37.6")


ROOT = ("root", "--diameter", "40 cm", "--height", "18 m", "--tie", "1 m", "--pull", "5 kN")


def test_root_gives_the_worked_example():
    # all 267 winched trees: 25.7 x 0.16 x 18 = 74 kN m in the middle; pull x arm 5 x (1 + 0.8) = 9.0
    found = ask(*ROOT, "--soil", "firm")
    assert found["capacity_median_nm"] == pytest.approx(25.7e3 * 0.16 * 18)
    assert found["capacity_p05_nm"] == pytest.approx(25.7e3 * 0.16 * 18 * math.exp(-1.6448536 * 0.435), rel=1e-6)
    assert found["demand_nm"] == pytest.approx(9_000)
    assert found["divisor"] == 1.5 and found["height_used_m"] == 18
    assert found["use"] == pytest.approx(found["demand_nm"] / found["allowable_nm"])
    assert found["verdict"] == "suits"
    assert all(a["flag"] in ("read", "derived", "judgement", "memory") for a in found["assumptions"])


def test_root_goes_by_the_kind_of_tree_and_names_it():
    beech, spruce, oak = (ask(*ROOT, "--species", kind) for kind in ("Fagus sylvatica", "Picea abies", "Quercus robur"))
    any_tree = ask(*ROOT)
    assert beech["allowable_nm"] > 1.5 * oak["allowable_nm"] > oak["allowable_nm"] > spruce["allowable_nm"]
    assert beech["species"] == "Fagus sylvatica" and "18 winched trees" in beech["anchorage_basis"]
    assert any_tree["species"] is None and "267 winched trees" in any_tree["anchorage_basis"]
    assert {"allowable_nm", "demand_nm", "use", "height_used_m", "verdict", "assumptions"} <= set(beech)


def test_root_of_an_unknown_name_says_so():
    result = CliRunner().invoke(group, ["quick", *ROOT, "--species", "Qercus"])
    assert result.exit_code != 0 and "Traceback" not in result.output


def test_root_soil_not_given_counts_as_wet():
    assert ask(*ROOT)["use"] == ask(*ROOT, "--soil", "wet")["use"] > ask(*ROOT, "--soil", "firm")["use"]


def test_root_outside_the_model_is_null_with_a_reason():
    slender = ask("root", "--diameter", "20 cm", "--height", "25 m", "--tie", "1 m", "--pull", "1 kN")
    assert slender["use"] is None and "80" in slender["reason"] and slender["verdict"] == "cannot say"
    lost = ask(*ROOT, "--root-loss", "40%")
    assert lost["use"] is None and lost["verdict"] == "cannot say"
    assert ask(*ROOT, "--root-loss", "0.6")["verdict"] == "leave it"


def test_root_for_high_lines_divides_by_two():
    assert ask(*ROOT, "--for", "high")["divisor"] == 2.0


def test_root_under_20_cm_is_left():
    thin = ask("root", "--diameter", "19 cm", "--height", "10 m", "--tie", "0.5 m", "--pull", "100 N", "--soil", "firm")
    assert thin["verdict"] == "leave it"


def test_stem_names_the_fallback_and_takes_pull_times_arm():
    found = ask("stem", "--species", "Quercus", "--diameter", "40 cm", "--tie", "1.3 m", "--pull", "5 kN")
    assert found["demand_nm"] == pytest.approx(5_000)
    assert found["matched_by"] == "genus" and "Quercus" in found["wood_basis"]


def test_stem_without_bark_gives_the_worked_section():
    # Z = 6.283e-3 m3 for 0.40 m (derived); 0.8 MOR Z
    found = ask(
        "stem",
        "--species",
        "white oak",
        "--diameter",
        "40 cm",
        "--tie",
        "1 m",
        "--pull",
        "5 kN",
        "--bark-thickness",
        "0 mm",
    )
    assert found["capacity_median_nm"] == pytest.approx(0.8 * found["bending_strength_pa"] * 6.2832e-3, rel=1e-4)


def test_stem_refuses_a_thin_wall():
    found = ask("stem", "--species", "beech", "--diameter", "60 cm", "--tie", "1 m", "--pull", "3 kN", "--wall", "5 cm")
    assert found["use"] is None and "wall" in found["reason"] and found["verdict"] == "cannot say"


def test_stem_fork_costs_more_than_half():
    stem = ("stem", "--species", "beech", "--diameter", "60 cm", "--tie", "1 m", "--pull", "3 kN")
    assert ask(*stem, "--fork")["capacity_median_nm"] == pytest.approx(0.42 * ask(*stem)["capacity_median_nm"])


def test_bark_of_the_published_rule():
    # Basel's least trunk and strap at 8 kN: 200 kPa, 100 doubled (derived from the published rule)
    bark = ("bark", "--pull", "8 kN", "--diameter", "40 cm", "--width", "10 cm")
    assert ask(*bark)["pressure_pa"] == pytest.approx(200e3)
    assert ask(*bark, "--wrap", "doubled")["pressure_pa"] == pytest.approx(100e3)
    assert ask(*bark)["contact_deg"] == pytest.approx(180)


def test_bark_with_spread_legs():
    found = ask("bark", "--pull", "8 kN", "--diameter", "40 cm", "--width", "5 cm", "--link", "0.8 m")
    assert found["strand_n"] == pytest.approx(4131.2, abs=0.1)  # worked example of the sources (derived)
    assert found["contact_deg"] == pytest.approx(208.955, abs=0.001)
    assert found["pressure_pa"] == pytest.approx(413.1e3, rel=1e-4)


def test_bark_takes_what_is_missing_at_its_worst():
    bark = ("bark", "--pull", "5 kN", "--diameter", "50 cm", "--width", "5 cm")
    worst = ask(*bark)
    assert worst["reference_pa"] == pytest.approx(0.35 * 250e3)
    # white oak: 0.040 of 50 cm less a fifth is 16 mm, 14/15.5 up the slope; of 60 cm 19 mm, which counts in full
    winter = ("--species", "white oak", "--month", "1", "--hemisphere", "north")
    assert ask(*bark, *winter)["reference_pa"] == pytest.approx(250e3 * 0.5 ** (1.5 / 15.5))
    assert ask(*bark, *winter, "--diameter", "60 cm")["reference_pa"] == 250e3
    assert len(worst["taken_at_worst"]) == 2


def test_bark_link_too_near_is_an_answer():
    found = ask("bark", "--pull", "5 kN", "--diameter", "50 cm", "--width", "5 cm", "--link", "0.26 m")
    assert found["use"] is None and "120" in found["reason"]


def test_bark_turns_do_not_share():
    turns = ask("bark", "--pull", "2 kN", "--diameter", "40 cm", "--width", "12 mm", "--wrap", "turns")
    assert turns["pressure_pa"] == pytest.approx(2000 / (0.4 * 0.012))
    friction = ask("bark", "--pull", "2 kN", "--diameter", "40 cm", "--width", "12 mm", "--wrap", "friction")
    assert friction["pressure_pa"] == pytest.approx(2 * turns["pressure_pa"])


def test_haul_keys_and_the_table_value():
    found = ask("haul", "--people", "2", "--stages", "3,3", "--efficiency", "0.9")
    assert found["advantage"] == pytest.approx((1 + 0.9 + 0.81) ** 2)  # 7.34, table of pulley sums (derived)
    assert found["ideal_advantage"] == 9
    assert found["tension_low_n"] < found["tension_n"] < found["tension_high_n"]
    assert found["tension_locked_n"] < found["tension_n"]


def test_haul_refuses_a_bad_stage():
    assert "3,3" in refuse("haul", "--people", "2", "--stages", "3;3", "--efficiency", "0.9")


def test_sling_geometry():
    found = ask("sling", "--pull", "10 kN", "--diameter", "0.5 m", "--link", "0.75 m")  # case 20 (derived)
    assert found["included_deg"] == pytest.approx(38.94, abs=0.01)
    assert found["leg_n"] == pytest.approx(5303, abs=1)
    assert found["length_m"] == pytest.approx(2.370, abs=0.001)


def test_boulder_answers_and_refuses():
    boulder = (
        "boulder",
        "--along",
        "1.4 m",
        "--across",
        "1.6 m",
        "--upright",
        "0.9 m",
        "--tie",
        "0.4 m",
        "--pull",
        "1 kN",
    )
    assert 0 < ask(*boulder)["use"] < 1
    near = ask(*boulder, "--edge", "0.5 m")
    assert near["use"] is None and near["verdict"] == "cannot say"


def test_every_answer_carries_the_cautions():
    for args in (LOAD, ROOT, ("haul", "--people", "1", "--stages", "3", "--efficiency", "0.8")):
        assert any("inspection" in caution for caution in ask(*args)["cautions"])


@pytest.mark.parametrize("args", [
    ("load", "--span", "20 m", "--load", "800 N", "--webbing-class", "nylon"),
    ("load", "--span", "20 m", "--load", "800 N", "--standing", "3 kN"),
    ("load", "--span", "20 m", "--load", "800 N", "--standing", "3 kN", "--rise", "30 m"),
    ("bearing", "95", "2", "3", "4"),
    ("haul", "--people", "2", "--stages", "3,3"),
    ("haul", "--people", "2", "--stages", "3,a", "--efficiency", "0.9"),
    ("haul", "--people", "2", "--stages", "3,3,3", "--sheave", "good pulley,good pulley"),
    (*ROOT, "--root-loss", "30"),
])  # fmt: skip
def test_what_a_sum_refuses_it_refuses_in_the_language_asked_for(args):
    done = CliRunner().invoke(group, ["quick", *args], standalone_mode=False)
    assert isinstance(done.exception, click.UsageError)
    told = {in_language(done.exception.message, language) for language in ("en", "de", "fr", "es")}
    assert len(told) == 4, told


def test_a_sum_is_told_in_the_language_asked_for_and_json_stays_english():
    said = CliRunner().invoke(group, ["quick", *ROOT, "--lang", "de"]).output
    assert "Urteil:                      geeignet\n" in said and "nutzt 50 % dessen, was wir zulassen" in said
    assert "\nAuslastung:                  50 %\n" in said
    plain = [CliRunner().invoke(group, ["quick", *ROOT, "--json", *more]).output for more in ((), ("--lang", "de"))]
    assert plain[0] == plain[1]


def test_text_answers_without_json():
    result = CliRunner().invoke(group, ["quick", *ROOT])
    assert result.exit_code == 0 and "cautions" in result.output and "kN m" in result.output


@pytest.mark.parametrize("language, rock", [
    ("en", "rock (not known) taken as 2000 kg/m3 (memory), friction on its bed (not known)"),
    ("de", "Gestein (nicht bekannt)"), ("fr", "roche (inconnue)"), ("es", "roca (sin conocer)"),
])  # fmt: skip
def test_rock_nobody_knew_has_the_gender_of_its_word_and_its_flag_is_that_of_the_table(language, rock):
    said = CliRunner().invoke(group, ["quick", *BOULDER, "--lang", language]).output
    assert rock in said
    told = ask(*BOULDER, "--rock", "granite", "--bed", "grass")["reasons_codes"]
    assert next(one for one in told if one["code"] == "quick-rock-and-bed")["of"] == DENSITY["granite"].flag


@pytest.mark.parametrize("name, args", [("edge distance", BOULDER), ("species", ROOT), ("species", BARK)])
def test_what_was_not_asked_of_a_sum_is_no_cannot_say(name, args):
    """An "edge distance: cannot say" beside "no edge was given" reads as a sum that failed."""
    said = CliRunner().invoke(group, ["quick", *args]).output.splitlines()
    assert not [line for line in said if line.startswith(f"{name}:")]


def test_a_walkers_weight_without_a_unit_is_asked_for_as_their_mass():
    """Not as the force a bare number of kilograms would be: eighty kilonewtons."""
    run = CliRunner().invoke(group, ["quick", "load", "--span", "20 m", "--load", "80"])
    assert run.exit_code == 2 and "80 kg" in run.output and "80 kN" not in run.output


@pytest.mark.parametrize(("args", "told"), [
    (("load", "--span", "x", "--load", "y", "--at", "3"), ["--span: read 'x'; wanted", "--load: read 'y'", "--at: 3.0",
     "--standing or --sag", "--stiffness and --mass, or"]),
    (("load", "--span", "40 m", "--load", "800 N"), ["--standing or --sag", "--stiffness and --mass, or"]),
    (("root", "--height", "0", "--pull", "z", "--soil", "mud"), ["--height: read '0'", "--pull: read 'z'",
     "--tie: read nothing; wanted: Height of the tie", "--soil: 'mud'", "--diameter or --girth"]),
    (("bearing", "91", "200", "x", "4"), ["LAT1: read '91'", "LON1: read '200'", "LAT2: read 'x'"]),
    (("haul", "--people", "30", "--stages", "3,x"), ["--people: 30", "--stages: read '3,x'", "--efficiency"]),
])  # fmt: skip
def test_every_fault_of_the_options_is_told_at_once(args, told):
    said = refuse(*args)
    assert f"{len(told)} faults" in said and all(one in said for one in told)


def test_the_faults_are_told_in_the_language_asked_for_each_on_its_line(capsys):
    with pytest.raises(SystemExit) as ended:
        main(["quick", "sling", "--lang", "de", "--pull", "x", "--link", "0\nm"])
    lines = capsys.readouterr().err.splitlines()
    assert ended.value.code == 2 and "3 Fehler" in lines[-4] and "--pull: gelesen 'x'" in lines[-3]
    assert all(line.startswith("  ") for line in lines[-3:])


def test_what_a_required_option_asks_has_its_word_in_each_language():
    """Its help stood in English in a German sentence."""
    asked = {str(one.help).rstrip(".") for sum_ in quick.commands.values() for one in sum_.params
             if one.required and one.param_type_name == "option"}  # fmt: skip
    held = {row["en"] for row in document("findings")["words"]}
    assert len(asked) > 10 and asked <= held


def test_a_language_that_is_not_there_is_told_with_the_other_faults():
    said = refuse("load", "--lang", "xx")
    assert "5 faults" in said and "--lang: 'xx' is not one of" in said
