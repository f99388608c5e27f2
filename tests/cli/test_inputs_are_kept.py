"""A command never writes over a file that it reads, under whichever name."""

from __future__ import annotations

import pytest
import yaml
from click.testing import CliRunner
from hostile import inventory, planted_record, surroundings

from siteassess.cli import group
from siteassess.survey.files import REPLACED


@pytest.fixture
def park(tmp_path):
    tmp_path = tmp_path / "park"
    tmp_path.mkdir()
    made, _ = planted_record("template note")
    made["site"].pop("surroundings")
    made["site"]["surroundings_files"] = [{"file": "anchors.geojson"}]
    (tmp_path / "anchors.geojson").write_text(surroundings(lambda where: where), encoding="utf-8")
    (tmp_path / "given.geojson").write_text(surroundings(lambda where: where), encoding="utf-8")
    (tmp_path / "park.yaml").write_text(yaml.safe_dump(made), encoding="utf-8")
    return tmp_path


@pytest.mark.parametrize("command", [
    ["map", "park.yaml", "--geojson", "anchors.geojson"],
    ["map", "park.yaml", "--geojson", "link.geojson"],
    ["map", "park.yaml", "--surroundings", "given.geojson", "--geojson", "given.geojson"],
    ["map", "park.yaml", "--surroundings", "given.geojson", "--geojson", "../park/given.geojson"],
    ["assess", "park.yaml", "--out", "."],
])  # fmt: skip
def test_a_map_file_that_is_read_is_not_replaced(park, monkeypatch, command):
    folder = park
    monkeypatch.chdir(folder)
    (folder / "link.geojson").symlink_to("anchors.geojson")
    before = {path.name: path.read_bytes() for path in folder.iterdir()}
    done = CliRunner().invoke(group, command)
    assert done.exit_code == 2 and "is read by this command and would be replaced" in done.output
    assert {path.name: path.read_bytes() for path in folder.iterdir()} == before


@pytest.mark.parametrize("name", ["pairs.csv", "candidates.csv", "rows_repaired.csv"])
def test_a_survey_does_not_replace_its_inventory(tmp_path, monkeypatch, name):
    (tmp_path / name).write_text(inventory(lambda where: where), encoding="utf-8")
    before = (tmp_path / name).read_bytes()
    wanted = ["survey", str(tmp_path / name), "--span", "15 m", "60 m", "--out"]
    done = CliRunner().invoke(group, [*wanted, str(tmp_path)])
    assert done.exit_code == 2 and name in done.output and (tmp_path / name).read_bytes() == before
    # elsewhere all of them are written, and no others that a survey could have read
    assert CliRunner().invoke(group, [*wanted, str(tmp_path / "out")]).exit_code == 0
    written = {path.name for path in (tmp_path / "out").iterdir() if path.suffix in (".csv", ".geojson", ".gpx")}
    assert written == set(REPLACED)
