"""`assess`, `check`, `new`, `pack`, the drawings and the demo, as a script or a newcomer calls them."""

import json
import subprocess
import sys
from pathlib import Path

import pytest
from click.testing import CliRunner

from siteassess.cli import group

EXAMPLES = Path(__file__).resolve().parents[2] / "examples"
PARK = str(EXAMPLES / "brindlewick" / "park.yaml")


def run(*args):
    return CliRunner().invoke(group, list(args), catch_exceptions=False)


def shell(*args, cwd=None):
    """The real program, with its own exit code and streams."""
    return subprocess.run([sys.executable, "-m", "siteassess", *args], capture_output=True, text=True, cwd=cwd)


@pytest.fixture(scope="module")
def answer():
    done = run("assess", PARK, "--json")
    assert done.exit_code == 0
    return json.loads(done.stdout)


def test_json_has_the_agreed_shape(answer):
    assert {"site", "lines", "assumptions", "cautions"} <= set(answer)
    for line in answer["lines"]:
        assert {"verdict", "weaker_anchor", "anchors"} <= set(line)
        for anchor in line["anchors"]:
            assert {"loads", "limits", "hold_use", "care_use", "evidence", "stop_signs", "reasons", "remedies",
                    "protection", "rules"} <= set(anchor)  # fmt: skip
            limits = anchor["limits"].values() if isinstance(anchor["limits"], dict) else anchor["limits"]
            for limit in limits:
                assert {"demand", "allowable", "use", "probability"} <= set(limit)


def test_an_unfavourable_verdict_is_a_result():
    assert run("assess", PARK, "--line", "L2").exit_code == 0


@pytest.mark.parametrize("line, wanted, code", [
    ("L1", "suits", 0), ("L5", "suits", 3), ("L5", "suits if", 0), ("L4", "suits if", 3), ("L4", "cannot say", 0),
    ("L3", "cannot say", 3),
])
def test_fail_unless_turns_a_verdict_into_an_exit_code(line, wanted, code):
    assert run("assess", PARK, "--line", line, "--fail-unless", wanted).exit_code == code


def test_the_program_ends_with_that_code():
    assert shell("assess", PARK, "--line", "L3", "--fail-unless", "cannot say").returncode == 3


def test_an_unknown_line_is_named_with_the_known_ones():
    done = shell("assess", PARK, "--line", "L9")
    assert done.returncode == 1 and "L9" in done.stderr and "L1" in done.stderr and "Traceback" not in done.stderr


def test_a_faulty_record_lists_all_its_faults_and_no_traceback(tmp_path):
    record = tmp_path / "broken.yaml"
    record.write_text(
        "siteassess_record: 1\nsite: {name: X}\nsurvey: {by: a, date: 2026-02-31}\nanchors:\n"
        "  - {kind: tree, code: T1, trunk: [{girth: 142, read_at: 1.3 m}], height: '1,800 m', colour: green}\n"
        "lines:\n  - {id: L1, use: slackline, a: {anchor: T1}, b: {anchor: T2}}\n"
    )
    done = shell("assess", str(record))
    assert done.returncode == 1 and "Traceback" not in done.stderr
    for word in ("date", "girth", "height", "colour", "use", "T2"):
        assert word in done.stderr, word
    assert done.stdout == ""
    told = json.loads(shell("check", str(record), "--json").stdout)
    assert len(told["faults"]) >= 6 and all(fault["wanted"] for fault in told["faults"])


@pytest.mark.parametrize("args", [("assess",), ("check",), ("map",), ("pack",)])
def test_a_missing_file_is_one_line(args):
    done = shell(*args, "nowhere.yaml")
    assert done.returncode == 1 and "nowhere.yaml" in done.stderr and "Traceback" not in done.stderr


def test_wrong_usage_exits_with_2():
    assert shell("assess").returncode == 2
    assert shell("asses", PARK).returncode == 2
    assert "Did you mean 'assess'" in shell("asses", PARK).stderr


def test_judging_for_another_day_changes_the_season(tmp_path):
    spring = json.loads(run("assess", PARK, "--line", "L5", "--json").stdout)
    winter = json.loads(run("assess", PARK, "--line", "L5", "--on", "2026-01-20", "--json").stdout)
    assert winter["lines"][0]["anchors"][0]["care_use"] < spring["lines"][0]["anchors"][0]["care_use"]


def test_explain_lists_the_steps():
    assert "At best:" in run("assess", PARK, "--line", "L1", "--explain").stdout


def test_text_says_the_verdict_and_its_tail():
    for out in (run("assess", PARK).stdout, run("assess", PARK, "--explain").stdout):
        assert "for this line, on this date, from what was looked at" in out
        assert "not an inspection" in out
    assert "gear:" in out


def test_check_tells_of_agreement():
    out = run("check", PARK).stdout
    assert "no fault" in out and "agrees" in out
    told = json.loads(run("check", PARK, "--json").stdout)
    assert [pair["line"] for pair in told["pairs"]] == ["L1", "L2", "L3", "L4", "L5", None, None]
    assert all("bearing_true_deg" in pair for pair in told["pairs"])


def test_pack_leaves_out_what_we_say_to_leave():
    told = json.loads(run("pack", PARK, "--json").stdout)
    assert "L2" in told["left_out_lines"] and "L3" in told["left_out_lines"]
    assert not [item for item in told["items"] if set(item["lines"]) & {"L2", "L3"}]
    assert any(item["kind"] == "sling" for item in told["items"])


def test_new_writes_a_record_that_says_what_is_left_to_fill(tmp_path):
    target = tmp_path / "mine.yaml"
    assert run("new", str(target)).exit_code == 0
    assert run("new", str(target)).exit_code == 2  # never over an existing file
    done = shell("check", str(target))
    assert "Traceback" not in done.stderr


def test_drawings_write_what_they_say(tmp_path):
    for command, name in (("map", "a.html"), ("report", "b.html"), ("plan", "c.svg")):
        done = run(command, PARK, "--out", str(tmp_path / name), "--json")
        written = json.loads(done.stdout)["written"]
        assert str(tmp_path / name) in written and all(Path(path).stat().st_size > 1000 for path in written)


def test_the_demo_writes_every_paper(tmp_path):
    done = shell("demo", "--out", "papers", cwd=tmp_path)
    assert done.returncode == 0, done.stderr
    for name in ("report.html", "map.html", "plan.svg", "plan.pdf"):
        assert name in done.stdout and (tmp_path / "papers" / name).is_file()


def test_json_numbers_are_finite_and_keys_end_in_units(answer):
    def numbers(value, path=""):
        if isinstance(value, dict):
            for key, item in value.items():
                yield from numbers(item, f"{path}.{key}")
        elif isinstance(value, list):
            for item in value:
                yield from numbers(item, path)
        elif isinstance(value, float):
            yield path, value

    assert all(value == value and abs(value) != float("inf") for _, value in numbers(answer))


@pytest.mark.parametrize("command", ["assess", "check", "map", "plan", "report"])
def test_a_refused_record_is_told_in_the_language_asked_for(command, tmp_path):
    (tmp_path / "park.yaml").write_text(Path(PARK).read_text("utf-8").replace("how: taped", "how: tapped", 1), "utf-8")
    done = shell(command, "park.yaml", "--lang", "de", cwd=tmp_path)
    assert done.returncode == 1 and done.stdout == "" and done.stderr.startswith("siteassess: park.yaml: 1 Fehler\n")
    assert "gelesen tapped; verlangt eines von: taped" in done.stderr and "Ist taped gemeint?" in done.stderr


def test_every_paper_of_a_folder_is_in_the_language_asked_for(tmp_path):
    done = shell("assess", PARK, "--lang", "fr", "--out", str(tmp_path))
    assert done.returncode == 0 and "dessin du rapport" in done.stderr
    for name in ("report.html", "map.html", "form.html"):
        assert '<html lang="fr"' in (tmp_path / name).read_text("utf-8"), name
    assert "à ne pas utiliser" in (tmp_path / "summary.txt").read_text("utf-8")
    plan = (tmp_path / "plan.svg").read_text("utf-8")
    assert "Plan du site" in plan and "Site plan" not in plan


def test_what_is_wrong_with_an_option_is_told_in_the_language_asked_for_wherever_it_stands():
    for args in (("--on", "2026", "--lang", "fr"), ("--lang", "fr", "--on", "2026")):
        done = shell("assess", PARK, *args)
        assert done.returncode == 2 and "attendu une date en année-mois-jour" in done.stderr
    done = shell("assess", PARK, "--line", "L9", "--lang", "es")
    assert done.returncode == 1 and done.stderr.startswith("siteassess: no hay ninguna línea «L9»")
    assert shell("assess", PARK, "--line", "L9").stderr.startswith("siteassess: no line 'L9' in the record; its ")
