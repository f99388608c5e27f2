"""`check`, `map`, `plan` from the command line: pairs, surroundings, odd places, and two hundred anchors."""

from __future__ import annotations

import copy
import json
import subprocess
import sys
from pathlib import Path

import pytest
import yaml
from click.testing import CliRunner
from parks import data

from siteassess.advice.check import check_record
from siteassess.cli import group
from siteassess.papers.check_text import check_text
from siteassess.places.geodesy import LocalFrame
from siteassess.records.record import Record
from siteassess.reference.languages import SIDE_BY_SIDE
from siteassess.reference.pages import plain

PARK = Path(__file__).resolve().parents[2] / "examples" / "brindlewick" / "park.yaml"


def run(*arguments):
    done = CliRunner().invoke(group, [str(one) for one in arguments])
    assert done.exception is None or isinstance(done.exception, SystemExit), done.exception
    return done


def written(tmp_path, made):
    file = tmp_path / "park.yaml"
    plain = json.loads(json.dumps(made))  # no part shared, so that no alias is written
    file.write_text(yaml.safe_dump(plain, sort_keys=False), encoding="utf-8")
    return file


def test_the_table_names_every_pair_with_its_agreement():
    text = run("check", PARK).stdout
    for pair in ("T1 to T2", "T3 to T4", "T5 to T6", "T7 to T8", "T9 to T10"):
        assert any(line.startswith(pair) and line.endswith("agrees") for line in text.splitlines()), pair
    assert "All readings of the site that others check agree with each other" in text


def test_json_carries_pairs_network_and_crossings():
    answer = json.loads(run("check", PARK, "--json").stdout)
    assert answer["faults"] == [] and len(answer["pairs"]) >= 5
    assert answer["network"]["outcome"] == "consistent"
    assert {one["line"] for one in answer["crossings"]} <= {"L1", "L2", "L3", "L4", "L5"}
    assert all(one["distance_m"] >= 0 for one in answer["crossings"])


def test_a_swapped_pair_is_told_in_words(tmp_path):
    made = data()
    fixes = [tree["position"] for tree in made["anchors"]]
    fixes[0]["lon"], fixes[1]["lon"] = fixes[1]["lon"], fixes[0]["lon"]
    text = run("check", written(tmp_path, made)).stdout
    assert "reject" in text and "swapped" in text


def test_surroundings_reach_check_assess_map_and_plan(tmp_path):
    frame = LocalFrame(54.5, 2.5)
    path = [[float(v) for v in frame.to_degrees(10.0, north)][::-1] for north in (-30.0, 30.0)]
    way = {"type": "Feature", "properties": {"highway": "footway", "name": "Mere way"},
           "geometry": {"type": "LineString", "coordinates": path}}  # fmt: skip
    extra = tmp_path / "paths.geojson"
    whose = {"attribution": "Testing Survey (invented)", "license": "CC0"}
    extra.write_text(json.dumps({"type": "FeatureCollection", "features": [way], **whose}), encoding="utf-8")
    file = written(tmp_path, data())
    assert "never across a path" in run("check", file, "--surroundings", extra).stdout
    answer = json.loads(run("assess", file, "--json", "--surroundings", extra).stdout)
    assert answer["lines"][0]["verdict"] == "leave it"
    assert answer["lines"][0]["crossings"][0]["name"] == "Mere way"
    page = tmp_path / "map.html"
    assert run("map", file, "--surroundings", extra, "--out", page).exit_code == 0
    assert "Mere way" in page.read_text("utf-8") and "Testing Survey (invented)" in page.read_text("utf-8")
    drawn = run("plan", file, "--surroundings", extra, "--out", tmp_path / "plan.svg", "--json")
    assert drawn.exit_code == 0 and (tmp_path / "plan.pdf").stat().st_size > 5000


def test_a_map_file_that_is_none_is_refused_without_a_traceback(tmp_path):
    file, wrong = written(tmp_path, data()), tmp_path / "paths.geojson"
    wrong.write_text("not a map", encoding="utf-8")
    command = [sys.executable, "-m", "siteassess", "assess", str(file), "--surroundings", str(wrong)]
    done = subprocess.run(command, capture_output=True, text=True)
    assert done.returncode == 1 and "GeoJSON" in done.stderr and "Traceback" not in done.stderr


@pytest.mark.parametrize(
    ("edits", "says"),
    [
        ({"T1.position.lat": 89.9, "T2.position.lat": 89.9}, "too near a pole"),
        ({"T1.position.lat": -43.5, "T2.position.lat": -43.5}, "agrees"),
        ({"T2.position.lon": 2.5}, "one point"),
        ({"lines": []}, "readable, no fault found"),
    ],
)
def test_odd_places_give_a_map_a_plan_and_words(tmp_path, edits, says):
    made = data(edits)
    if "lines" in edits:
        made["anchors"] = made["anchors"][:1]
    if says == "agrees":  # a degree of longitude is longer there
        east = LocalFrame(-43.5, 2.5).to_degrees(20.0, 0.0)
        made["anchors"][1]["position"] |= {"lat": float(east[0]), "lon": float(east[1])}
    file = written(tmp_path, made)
    assert says in run("check", file).stdout
    for command, name in (("map", "map.html"), ("plan", "plan.svg")):
        done = run(command, file, "--out", tmp_path / name)
        assert done.exit_code == 0, done.output
        assert (tmp_path / name).stat().st_size > 10_000


def test_the_antimeridian_runs_through_a_line(tmp_path):
    frame, made = LocalFrame(-17.0, 180.0), data()
    for tree, east in zip(made["anchors"], (-10.0, 10.0)):
        latitude, longitude = map(float, frame.to_degrees(east, 0.0))
        tree["position"] |= {"lat": latitude, "lon": (longitude + 180) % 360 - 180}
    file = written(tmp_path, made)
    answer = json.loads(run("check", file, "--json").stdout)
    assert answer["pairs"][0]["distance_m"] == pytest.approx(20.0, abs=0.01)
    assert answer["pairs"][0]["level"] == "agrees" and answer["network"]["outcome"] == "consistent"
    assert run("map", file, "--out", tmp_path / "map.html").exit_code == 0
    assert run("plan", file, "--out", tmp_path / "plan.svg").exit_code == 0


def test_two_hundred_anchors_through_check_map_and_plan(tmp_path):
    frame, made = LocalFrame(54.5, 2.5), data()
    tree, line = made["anchors"][0], made["lines"][0]
    made["anchors"], made["lines"] = [], []
    for number in range(200):
        latitude, longitude = frame.to_degrees(20.0 * (number % 20), 25.0 * (number // 20))
        fix = {"lat": float(latitude), "lon": float(longitude), "accuracy": "3 m", "how": "phone"}
        made["anchors"].append(tree | {"code": f"T{number + 1}", "position": fix})
    for number in range(0, 200, 40):
        made["lines"].append(copy.deepcopy(line) | {"id": f"L{number}"})
        made["lines"][-1]["a"]["anchor"], made["lines"][-1]["b"]["anchor"] = f"T{number + 1}", f"T{number + 2}"
    file = written(tmp_path, made)
    answer = json.loads(run("check", file, "--json").stdout)
    assert len(answer["network"]["anchors"]) == 200 and {p["level"] for p in answer["pairs"]} == {"agrees"}
    assert run("map", file, "--out", tmp_path / "map.html").exit_code == 0
    assert (tmp_path / "map.html").stat().st_size < 2_000_000
    drawn = run("plan", file, "--out", tmp_path / "plan.svg", "--scale", "1:2000", "--json")
    assert drawn.exit_code == 0 and len(json.loads(drawn.stdout)["written"]) > 2


@pytest.mark.parametrize("language", SIDE_BY_SIDE)
def test_what_holds_of_several_lines_is_told_once_and_names_them(language):
    made = data()
    for tree in made["anchors"]:
        del tree["position"]
    path = {"kind": "path", "points": [[54.499, 2.5001], [54.501, 2.5001]]}
    made["site"]["surroundings"] = [path]
    made["lines"] = [{**made["lines"][0], "id": name, "planned": {"date": f"2026-05-0{number}"}}
                     for number, name in enumerate(("L1", "L2"), 1)]  # fmt: skip
    found = check_record(Record.model_validate(made))
    text = check_text("park.yaml", found, language)
    alike = [{finding.in_words(language) for finding in around.findings} for around in found.around.values()]
    assert len(alike) == 2 and alike[0] & alike[1]
    for says in alike[0] & alike[1]:
        (row,) = [row for row in text.splitlines() if row.endswith(plain(says))]
        assert "L1" in row and "L2" in row
    for pair in found.pairs:
        told = plain(pair.geometry.told.in_words(language))
        assert sum(row.endswith(told) and pair.a in row and pair.b in row for row in text.splitlines()) == 1
