"""Several records at once, the standard input and output, and what a shell completes."""

import io
import json

import click
import pytest
from click.shell_completion import ShellComplete
from click.testing import CliRunner
from parks import data

from siteassess.cli import group
from siteassess.errors import FaultyFiles, FaultyInput
from siteassess.records.record import Record
from siteassess.records.writing import write_text
from siteassess.reference.locate import shipped

EXAMPLE = shipped("examples") / "brindlewick" / "park.yaml"


@pytest.fixture
def files(tmp_path):
    """A good record, a faulty one, and a name of none."""
    (tmp_path / "good.yaml").write_text(write_text(Record.model_validate(data())), encoding="utf-8")
    (tmp_path / "faulty.yaml").write_text("siteassess_record: 1\nsight: {}\n", encoding="utf-8")
    return [str(tmp_path / name) for name in ("good.yaml", "faulty.yaml", "none.yaml")]


def run(*words, code=0, text=None):
    done = CliRunner().invoke(group, list(words), input=text, obj={})
    if code == "raises":
        assert isinstance(done.exception, FaultyInput), done.output
        return done.exception
    assert done.exit_code == code, done.output
    return done


def test_each_of_several_records_is_checked_and_all_faults_come(files):
    error = run("check", *files, code="raises")
    assert isinstance(error, FaultyFiles) and [one.source for one in error.errors] == files[1:]
    assert str(error).count("faulty.yaml") > 1 and "none.yaml" in str(error)
    told = json.loads(run("check", *files, "--json", code=1).stdout)["files"]
    assert [one["file"] for one in told] == files and [bool(one["faults"]) for one in told] == [False, True, True]


def test_the_good_among_several_are_answered(files):
    good = files[0]
    done = CliRunner().invoke(group, ["assess", good, files[1], good, "--quiet"], obj={})
    assert done.stdout.count("Line L1") == 2 and isinstance(done.exception, FaultyInput)
    told = json.loads(run("assess", good, good, "--json").stdout)["files"]
    assert [one["file"] for one in told] == [good, good] and told[0]["lines"] == told[1]["lines"]
    assert json.loads(run("assess", good, "--json").stdout)["lines"] == told[0]["lines"]  # one is told as ever


def test_papers_of_several_lie_in_folders_of_their_own(files, tmp_path):
    run("assess", files[0], str(EXAMPLE), "--out", str(tmp_path / "out"), "--quiet")
    assert {one.name for one in (tmp_path / "out").iterdir()} == {"good", "park"}
    assert (tmp_path / "out" / "good" / "report.html").exists()


def test_two_records_of_one_name_keep_their_papers_apart(files, tmp_path):
    """One folder for both would lose those of the first without a word."""
    (tmp_path / "other").mkdir()
    (tmp_path / "other" / "good.yaml").write_bytes(EXAMPLE.read_bytes())
    run("assess", files[0], str(tmp_path / "other" / "good.yaml"), "--out", str(tmp_path / "out"), "--quiet")
    kept = {one.name: json.loads((one / "assessment.json").read_text("utf-8")) for one in (tmp_path / "out").iterdir()}
    names = {name: told["site"]["name"].split()[0] for name, told in kept.items()}
    assert names == {"good": "Testing", "good~2": "Brindlewick"}


def test_a_word_that_falls_short_in_any_of_them_is_told(files):
    run("assess", files[0], str(EXAMPLE), "--quiet", "--fail-unless", "suits", code=3)
    run("assess", files[0], "--quiet", "--fail-unless", "suits if")


@pytest.mark.parametrize("command", [["check", "-"], ["assess", "-"], ["pack", "-"], ["map", "-", "--out", "-"],
                                     ["assess", "-", "--json"]])  # fmt: skip
def test_a_record_is_read_from_the_standard_input(command):
    done = run(*command, text=EXAMPLE.read_text(encoding="utf-8"))
    assert "L1" in done.stdout or "sling" in done.stdout
    if command[0] == "map":
        assert done.stdout.startswith("<!DOCTYPE html>")


def test_a_fault_of_the_standard_input_has_its_line():
    error = run("check", "-", code="raises", text="siteassess_record: 1\nsight: {}\n")
    assert str(error).splitlines()[1].lstrip().startswith("-:")


def test_a_new_record_goes_to_the_standard_output_alone(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    assert "siteassess_record: 1" in run("new", "-").stdout
    assert list(tmp_path.iterdir()) == []


def test_the_form_of_a_record_stands_beside_a_new_one(tmp_path):
    run("new", str(tmp_path / "park.yaml"))
    run("new", str(tmp_path / "sheet.csv"))
    (first,) = [line for line in (tmp_path / "park.yaml").read_text("utf-8").splitlines() if "$schema" in line]
    named = first.rpartition("=")[2]
    assert json.loads((tmp_path / named).read_text("utf-8"))["$id"] == "urn:siteassess:record:1"
    assert {one.name for one in tmp_path.iterdir()} == {"park.yaml", "sheet.csv", named}
    (tmp_path / named).write_text("mine")
    run("new", str(tmp_path / "other.yaml"))
    assert (tmp_path / named).read_text() == "mine"  # what stands there is kept


def completed(*typed: str) -> list[str]:
    """What is offered for the last word."""
    shell = ShellComplete(group, {}, "siteassess", "_SITEASSESS_COMPLETE")
    return [one.value for one in shell.get_completions(list(typed[:-1]), typed[-1])]


@pytest.mark.parametrize("typed, wanted", [
    (("assess", str(EXAMPLE), "--line", ""), ["L1", "L2", "L3", "L4", "L5"]),
    (("pack", str(EXAMPLE), "--line", "L3"), ["L3"]),
    (("report", str(EXAMPLE), "--line", "L"), ["L1", "L2", "L3", "L4", "L5"]),
    (("quick", "load", "--webbing-class", "ny"), ["nylon"]),
    (("quick", "haul", "--webbing-class", "ny"), ["nylon"]),
    (("rules", "show", "fort"), ["fort_collins_co_us"]),
    (("rules", "check", str(EXAMPLE), "--set", "fort"), ["fort_collins_co_us"]),
    (("tables", "own"), ["owned_names"]),
    (("assess", "no such file", "--line", ""), []),
])  # fmt: skip
def test_a_shell_completes_ids_and_names(typed, wanted):
    found = completed(*typed)
    assert found == wanted or set(wanted) <= set(found) and len(found) < 6


def test_each_offered_word_of_an_option_is_completed():
    assert "fr" in completed("assess", str(EXAMPLE), "--lang", "") and "check" in completed("ch")


def test_bytes_are_read_of_a_stream(monkeypatch):
    from siteassess.records.files import read_at_most

    class Stream:
        buffer = io.BytesIO(b"12345")

    monkeypatch.setattr("sys.stdin", Stream)
    assert read_at_most("-", 3) == b"123"
    assert isinstance(click.Path(allow_dash=True), click.Path)
