"""A command never writes over a file that it reads, and says what it wrote where the disk is full half way."""

from __future__ import annotations

import datetime
import errno
import os

import pytest
import yaml
from click.testing import CliRunner
from hostile import inventory, planted_record, surroundings

from siteassess.cli import group
from siteassess.errors import StoreError
from siteassess.records.files import write_whole
from siteassess.register.files import write_copy
from siteassess.register.share import make_copy
from siteassess.register.store import Store
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


def _full_at(name: str):
    """A disk that is full when that file's turn comes."""

    def write(content, path):
        if os.path.basename(path) == name:
            raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC), str(path))
        return write_whole(content, path)

    return write


def test_a_full_disk_leaves_no_table_without_what_its_columns_mean(tmp_path, monkeypatch):
    monkeypatch.setattr("siteassess.register.files.write_whole", _full_at("x.csv-metadata.json"))
    with Store.create(tmp_path / "list.gpkg", title="Invented", who="Ada") as store:
        copied = make_copy(store, "officer", datetime.date(2026, 5, 1))
        with pytest.raises(StoreError, match="x.csv-metadata.json could not be written: No space left"):
            write_copy(store, copied, tmp_path / "x.csv")
    assert [path.name for path in tmp_path.iterdir()] == ["list.gpkg"]


def test_a_survey_cut_off_by_a_full_disk_says_which_files_are_new(tmp_path, monkeypatch):
    (tmp_path / "trees.csv").write_text(inventory(lambda where: where), encoding="utf-8")
    monkeypatch.setattr("siteassess.survey.files.write_whole", _full_at("candidates.csv"))
    wanted = ["survey", str(tmp_path / "trees.csv"), "--span", "15 m", "60 m", "--out", str(tmp_path / "out")]
    told = CliRunner().invoke(group, wanted).exception
    assert told.filename == str(tmp_path / "out" / "candidates.csv")
    assert "No space left" in told.strerror and "new files of this survey: sketch.html, pairs.csv;" in told.strerror
