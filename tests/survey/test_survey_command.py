"""The command: its answer by contract, its exit codes, and warnings beside the answer, never in it."""

import json
import re
from typing import get_args

import pytest
from click.testing import CliRunner

from siteassess.cli.survey import survey
from siteassess.errors import FaultyInput
from siteassess.records.line import Use
from siteassess.survey.screen import PULL_BY_USE_N, TIE_BY_USE_M


@pytest.fixture
def inventory(tmp_path):
    path = tmp_path / "invented.csv"
    rows = [
        f"t{i},{52 + (i % 10) * 2.7e-4:.6f},{9 + (i // 10) * 4.4e-4:.6f},{50 + i % 30},Quercus robur" for i in range(60)
    ]
    path.write_text("\n".join(["id,lat,lon,dbh_cm,species", *rows, "bad,row"]), encoding="utf-8")
    return path


def run(*args):
    return CliRunner().invoke(survey, [str(arg) for arg in args])


def test_answer_by_contract(inventory, tmp_path):
    result = run(
        inventory,
        "--span",
        "20 m",
        "100 m",
        "--json",
        "--out",
        tmp_path / "out",
        "--date",
        "2026-05-02",
        "--circuit",
        2,
    )
    assert result.exit_code == 0, result.output
    answer = json.loads(result.stdout)
    assert (answer["rows_read"], answer["rows_kept"], answer["rows_repaired"], answer["rows_set_aside"]) == (
        61,
        60,
        0,
        1,
    )
    assert answer["candidates_count"] == 60 and answer["pairs_count"] > len(answer["pairs"]) > 0
    for pair in answer["pairs"]:
        assert 20 <= pair["span_m"] <= 100 and 0 <= pair["bearing_true_deg"] < 360 and pair["verdict"] == "cannot say"
    assert "guessed" in result.stderr and "guessed" not in result.stdout.split('"remarks"')[0]
    assert all(
        (tmp_path / "out" / name).is_file()
        for name in ("sketch.html", "pairs.csv", "waypoints.gpx", "field_sheet_01.yaml")
    )
    again = run(
        inventory,
        "--span",
        "20 m",
        "100 m",
        "--json",
        "--out",
        tmp_path / "out",
        "--date",
        "2026-05-02",
        "--circuit",
        2,
    )
    assert json.loads(again.stdout) == answer


def test_top_limits_the_lists_not_the_counts(inventory):
    answers = [json.loads(run(inventory, "--span", "20 m", "60 m", "--json", "--top", top).stdout) for top in (3, 50)]
    assert [len(answer["pairs"]) for answer in answers][0] == 3
    assert answers[0]["pairs_count"] == answers[1]["pairs_count"]


def test_in_words(inventory):
    result = run(inventory, "--span", "20 m", "60 m")
    assert "61 rows read, 60 kept, 0 repaired, 1 set aside" in result.stdout
    assert "to be surveyed on site" in result.stdout and "not an inspection" in result.stdout


@pytest.mark.parametrize(
    "args",
    [
        [], ["--span", "20 m"], ["--span", "20", "100"], ["--span", "100 m", "20 m"], ["--span", "20 m", "1,5 km"],
        ["--span", "20 m", "100 m", "--avoid", "dragon", "x"], ["--span", "20 m", "100 m", "--use", "bungee"],
        ["--span", "20 m", "600 m"],
    ],
)  # fmt: skip
def test_wrong_usage_is_exit_2(inventory, args):
    assert run(inventory, *args).exit_code == 2


def test_faults_come_as_ours(tmp_path):
    result = run(tmp_path / "none.csv", "--span", "20 m", "100 m")
    assert result.exit_code == 1 and isinstance(result.exception, FaultyInput)


def test_uses_are_the_records_own():
    # a field sheet is a record: a use of another name is found out only once the sheets are written
    assert set(get_args(Use)) == set(PULL_BY_USE_N) == set(TIE_BY_USE_M)


def test_scores_are_told_with_their_parts_and_reasons_with_their_overlap(inventory, tmp_path):
    text = run(inventory, "--span", "20 m", "60 m").stdout
    row = next(line for line in text.splitlines() if line.startswith("  L001"))
    assert re.search(r"score 0\.\d{3} \(\d\.\d\d, \d\.\d\d, \d\.\d\d\)", row)
    assert "score for the order of the walk only" in text and "may cross a road" not in text
    assert "more, in --json and in the tables of --out" in text
    streets = tmp_path / "streets.csv"
    head = "tree_id,tree_dbh,status,spc_latin,spc_common,latitude,longitude,x_sp,y_sp"
    rows = [f"{i},30,Alive,Quercus rubra,oak,{40.7 + i * 3e-4:.6f},-73.9,," for i in range(20)]
    streets.write_text("\n".join([head, *rows]), encoding="utf-8")
    told = run(streets, "--span", "20 m", "60 m").stdout
    assert told.count("Pairs of street trees may cross a road: look on site.") == 1
    thin = tmp_path / "thin.csv"
    rows = [f"{i},{4 if i % 2 else 30},Alive,Quercus rubra,oak,{40.7 + i * 3e-4:.6f},-73.9,," for i in range(20)]
    thin.write_text("\n".join([head, *rows]), encoding="utf-8")
    assert "a row may have several of these, so they need not add up" in run(thin, "--span", "20 m", "90 m").stdout


def test_it_is_told_in_the_language_asked_for_and_json_stays_english(inventory, tmp_path):
    asked = (inventory, "--span", "20 m", "100 m", "--date", "2026-05-02", "--rules", "basel_ch")
    german = run(*asked, "--lang", "de", "--out", tmp_path / "de")
    assert "Zeilen gelesen" in german.stdout and "rows read" not in german.stdout
    assert "Skizze von" in (tmp_path / "de" / "sketch.html").read_text(encoding="utf-8")
    assert run(*asked, "--lang", "de", "--json").stdout == run(*asked, "--json").stdout
    assert "Hinweis: erraten: " in german.stderr and "guessed" not in german.stderr
    assert "vor Ort zu erheben" in (tmp_path / "de" / "candidates.csv").read_text(encoding="utf-8")
