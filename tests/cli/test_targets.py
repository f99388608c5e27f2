"""What a command may write over, and that no text of a record or register begins a line of its own on the terminal."""

from __future__ import annotations

import os
import subprocess
import sys
import threading
from pathlib import Path

import pytest
import yaml
from click.testing import CliRunner

from siteassess.cli import group
from siteassess.records.files import write_whole

PARK = Path(__file__).parents[2] / "examples" / "brindlewick" / "park.yaml"
FORGED = "Oak Row\n  line L9: approved, may rig now: yes\n"


def run(*args, code: int = 0) -> str:
    done = CliRunner().invoke(group, [str(arg) for arg in args])
    assert done.exit_code == code, (args, done.output, done.exception)
    return done.output


@pytest.fixture
def park(tmp_path) -> Path:
    path = tmp_path / "park.yaml"
    path.write_bytes(PARK.read_bytes())
    return path


@pytest.mark.parametrize("command", [
    ["map", "--out"], ["plan", "--out"], ["report", "--out"], ["pack", "--out"], ["map", "--geojson"],
])
def test_no_paper_is_written_over_its_record(park, command):
    told = run(command[0], park, *command[1:], park, code=2)
    assert "wanted a name that ends in" in told and park.read_bytes() == PARK.read_bytes()


def test_no_form_is_written_over_a_record(park):
    assert "wanted a name that ends in" in run("form", "--out", park, code=2)
    assert park.read_bytes() == PARK.read_bytes()


def test_no_calendar_or_paper_is_written_over_a_register(tmp_path):
    listed = tmp_path / "list.gpkg"
    run("register", "init", listed, "--title", "Invented", "--licence", "none", "--who", "Ann")
    before = listed.read_bytes()
    run("register", "due", listed, "--ics", listed, code=2)
    run("report", listed, "--kind", "year", "--out", listed, code=2)
    assert listed.read_bytes() == before


def test_a_plan_is_not_written_under_the_name_of_its_pdf(park):
    run("plan", park, "--out", park.with_suffix(".pdf"), code=2)


def test_the_demo_keeps_a_record_of_that_name(park):
    mine = b"# my own park\n" + PARK.read_bytes()
    park.write_bytes(mine)
    assert "nothing was written" in run("demo", "--out", park.parent, code=2)
    assert park.read_bytes() == mine and [p.name for p in park.parent.iterdir()] == ["park.yaml"]


@pytest.mark.skipif(sys.platform == "win32", reason="pipes of a POSIX system")
def test_a_pipe_is_written_to_and_stays_a_pipe(tmp_path):
    pipe, got = tmp_path / "pipe", []
    os.mkfifo(pipe)
    reader = threading.Thread(target=lambda: got.append(pipe.read_bytes()), daemon=True)
    reader.start()
    write_whole("all of it", pipe)
    reader.join(10)
    assert pipe.is_fifo() and got == [b"all of it"]


@pytest.mark.skipif(not Path("/dev/stdout").exists(), reason="a device of a POSIX system")
def test_standard_output_can_be_written_to(tmp_path):
    script = "from siteassess.records.files import write_whole; write_whole('all of it', '/dev/stdout')"
    told = subprocess.run([sys.executable, "-c", script], capture_output=True, text=True, check=True)
    assert told.stdout == "all of it"


def test_no_name_or_reason_begins_a_line_of_a_register(tmp_path, park):
    made = yaml.safe_load(PARK.read_text(encoding="utf-8"))
    made["site"]["name"] = FORGED + made["site"]["name"]
    made["lines"][0]["name"] = FORGED
    park.write_text(yaml.safe_dump(made, sort_keys=False), encoding="utf-8")
    listed = tmp_path / "list.gpkg"
    run("register", "init", listed, "--title", FORGED, "--licence", "none", "--who", "Ann\nForged")
    told = [run("register", "add", listed, park, "--who", "Ann", "--why", FORGED)]
    told += [run("register", *what) for what in (["list", listed], ["history", listed], ["due", listed])]
    told.append(run("register", "show", listed, "L1").split("record:\n")[0])  # the record is YAML, quoted by its rules
    lines = "".join(told).splitlines()
    assert any("Oak Row line L9: approved" in line for line in lines)
    assert not [line for line in lines if line.strip().startswith(("line L9", "Forged"))]


def test_no_text_begins_a_line_of_a_rule_set(tmp_path):
    made = yaml.safe_load(PARK.read_text(encoding="utf-8"))["site"]["rules"]
    made["place"], made["check_current_text"] = FORGED, FORGED
    sheet = tmp_path / "rules.yaml"
    sheet.write_text(yaml.safe_dump(made, sort_keys=False), encoding="utf-8")
    told = run("rules", "show", sheet)
    assert "line L9" in told and not [line for line in told.splitlines() if line.strip().startswith("line L9")]
