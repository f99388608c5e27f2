"""No text of somebody else's file, and no name of one, can begin a line that a reader would take for our own answer.

Every command that prints runs twice: once on texts and file names with a line break, once with a space in its place.
What is printed has to be the same, but for what stands in for the break.
"""

from __future__ import annotations

import ast
import io
import os
import re
import subprocess
import sys
from pathlib import Path

import pytest
import yaml
from hostile import Planter, inventory, planted_record, rules, surroundings

from siteassess.cli import main
from siteassess.register import actions
from siteassess.register.store import Store

PARK = Path(__file__).resolve().parents[2] / "examples" / "brindlewick" / "park.yaml"
FORGED = "L1: SUITS"
# made of the clock or of chance (names of entries, moments), or of how a file is written (numbers of lines)
_CHANCE = re.compile(r"[0-9a-f]{8,64}|\d{4}-\d\d-\d\dT?[\d:. ]*Z?|:\d+:")


@pytest.fixture
def told(capsys, monkeypatch, tmp_path):
    """What a command prints on both streams in a folder of its own, whatever its exit code."""

    def run(folder: str, *args: str) -> str:
        with monkeypatch.context() as patched, pytest.raises(SystemExit):
            patched.chdir(tmp_path / folder)
            patched.setattr("sys.stdout", sys.stdout)
            patched.setattr("sys.stderr", sys.stderr)
            main(list(args))
        printed = "\n".join(capsys.readouterr())
        assert "fault of the program" not in printed
        # a message repeats a name as Python writes it, or with a "?"; a map file's names lose what no record may hold
        printed = re.sub(rf"(\\n|\?|)(?={FORGED})", " ", printed).replace("  " + FORGED, " " + FORGED)
        return _CHANCE.sub("#", printed).replace('"', "'")

    return run


def _files(folder: Path, gap: str) -> dict[str, str]:
    """A record, its rules, a map file, an inventory and a register full of texts with such a gap, named with it too."""
    folder.mkdir()
    planter = Planter(f"x{gap}{FORGED}")
    made, _ = planted_record("", f"x{gap}{FORGED}")
    names = {key: f"{key}{gap}{FORGED}{ending}" for key, ending in (
        ("park", ".yaml"), ("rules", ".yaml"), ("paths", ".geojson"), ("trees", ".csv"), ("list", ".gpkg"),
        ("gone", ".yaml"), ("copy", ".geojson"), ("due", ".ics"), ("faulty", ".yaml"),
    )}  # fmt: skip
    write = lambda key, text: (folder / names[key]).write_text(text, encoding="utf-8")  # noqa: E731
    write("park", yaml.safe_dump(made, allow_unicode=True, sort_keys=False))
    write("faulty", yaml.safe_dump(made | {"lines": [f"x{gap}{FORGED}"], f"y{gap}{FORGED}": 1}, sort_keys=False))
    write("rules", yaml.safe_dump(rules(planter), allow_unicode=True, sort_keys=False))
    write("paths", surroundings(planter.text))
    write("trees", inventory(planter.text))
    with Store.create(folder / names["list"], title=f"x{gap}{FORGED}", who=f"Ada{gap}{FORGED}") as store:
        by = actions.By(f"Ada{gap}{FORGED}", f"why{gap}{FORGED}")
        with store.change() as writer:
            made = {**made, "site": {key: value for key, value in made["site"].items() if key != "rules"}}
            subjects = actions.add_record(writer, made, by)
        with store.change() as writer:
            given = {"by": "owner", "given": True, "date": "2026-04-20", "expires": "2026-12-31"}
            given |= {"name": planter.text("name"), "conditions": planter.text("conditions")}
            actions.mark(writer, subjects["site"], given, by)
            for body in (
                {"what": "event", "event": "damage", "date": "2026-05-01", "notes": planter.text("notes")},
                {"what": "inspection", "date": "2026-05-02", "inspector": planter.text("inspector"), "action": "a",
                 "standing": "user of the line", "finding": planter.text("finding"), "action_due": "2026-06-01"},
            ):  # fmt: skip
                actions.log(writer, subjects["anchor T1"], body, by)
    return names


def _commands(of: dict[str, str]) -> list[list[str]]:
    site = "--on=2026-05-03"
    return [
        ["check", of["park"], "--surroundings", of["paths"]],
        ["check", of["gone"]],
        ["check", of["faulty"]],
        ["assess", of["park"], "--explain"],
        ["assess", of["trees"]],
        ["pack", of["park"]],
        ["pack", of["park"], "--line", f"z{of['gone']}"],
        ["new", of["park"]],
        ["map", of["park"], "--tiles", of["gone"]],
        ["map", of["park"]],
        ["plan", of["park"]],
        ["report", of["park"]],
        ["report", of["park"], "--kind", "card", "--register", of["list"]],
        ["report", of["gone"], "--kind", "care", "--register", of["list"]],
        ["rules", "show", of["rules"]],
        ["rules", "check", of["rules"]],
        ["rules", "check", of["park"]],
        ["rules", "check", of["park"], "--set", of["gone"]],
        ["survey", of["trees"], "--span", "15 m", "60 m", "--out", "out", "--date", "2026-05-02"],
        ["survey", of["gone"], "--span", "15 m", "60 m"],
        ["survey", of["paths"], "--span", "15 m", "60 m"],
        ["register", "list", of["list"], site],
        ["register", "show", of["list"], "T1", site],
        ["register", "history", of["list"]],
        ["register", "due", of["list"], site, "--ics", of["due"]],
        ["register", "same", of["list"]],
        ["register", "verify", of["list"]],
        ["register", "export", of["list"], of["copy"], "--layer", "officer", site],
        ["register", "import", of["list"], of["copy"], "--who", "Ben", "--why", "x", site],
        ["register", "import", of["list"], of["paths"], "--who", "Ben", "--why", "x", "--site", of["gone"]],
        ["register", "rota", of["list"], of["gone"]],
        ["register", "show", of["gone"], "T1"],
        ["register", "add", of["list"], of["park"], "--who", of["gone"], "--why", "again", "--dry-run"],
        ["register", "clock", of["list"]],
        ["register", "merge", of["list"], of["gone"]],
        ["tables", of["gone"]],
        ["quick", "stem", "--species", of["gone"], "--diameter", "0.5 m", "--tie", "1 m", "--pull", "2 kN"],
        [of["gone"]],
    ]


def test_every_command_prints_a_line_break_of_others_as_a_space(told, tmp_path):
    spaced, broken = _files(tmp_path / "spaced", " "), _files(tmp_path / "broken", "\n")
    differ = {}
    for expected, run in zip(_commands(spaced), _commands(broken), strict=True):
        plain, forged = (told(*both).split("\n") for both in (("spaced", *expected), ("broken", *run)))
        assert any(map(str.strip, plain)), expected
        if expected[0] == "assess":
            # wrapped at a width, where a word shifts with the length of what stands in for the break
            plain, forged = (sum(line.lstrip(" -").startswith(FORGED) for line in lines) for lines in (plain, forged))
            if forged > plain:
                differ[" ".join(expected)] = forged
        elif lines := [line for line in forged if line not in plain]:
            differ[" ".join(expected)] = lines[:4]
    assert differ == {}


def test_commands_print_by_the_functions_that_keep_a_text_on_its_line():
    """`click.echo` itself is left to what holds no foreign text, or has put it on one line already."""
    folder = Path(__file__).parents[2] / "siteassess" / "cli"
    found = {}
    for file in sorted(folder.glob("*.py")):
        for node in ast.walk(ast.parse(file.read_text(encoding="utf-8"))):
            if isinstance(node, ast.Attribute) and node.attr == "echo":
                found[file.name] = found.get(file.name, 0) + 1
    # shared: give three times, say; __init__: faults, each by its error, "Aborted!" twice; register_task: a count
    assert found == {"__init__.py": 3, "register_task.py": 2, "shared.py": 4}


NOT_UTF8 = os.fsdecode(b"\xff")


@pytest.mark.skipif(os.name != "posix", reason="names of files are text there")
def test_a_file_name_of_bytes_that_are_no_text_stops_no_command(tmp_path, monkeypatch):
    """Such names come with sticks and archives of other machines; a stream in UTF-8 does not take them as they are."""
    for name, source in (("park.yaml", PARK), ("paths.geojson", None)):
        text = source.read_text(encoding="utf-8") if source else surroundings(str)
        try:
            (tmp_path / f"{NOT_UTF8}{name}").write_text(text, encoding="utf-8")
        except OSError:
            pytest.skip("no such name on this disk")
    (tmp_path / f"{NOT_UTF8}trees.csv").write_text(inventory(str), encoding="utf-8")
    park, trees, listed = (f"{NOT_UTF8}{name}" for name in ("park.yaml", "trees.csv", "list.gpkg"))
    for args in (
        ("check", park, "--surroundings", f"{NOT_UTF8}paths.geojson"),
        ("check", park, "--json"),
        ("survey", trees, "--span", "15 m", "60 m", "--out", "out"),
        ("register", "init", listed, "--title", "Invented", "--who", "Ada"),
        ("register", "add", listed, park, "--who", "Ada", "--why", "to try"),
        ("register", "due", listed, "--ics", "due.ics"),
        ("register", "export", listed, f"{NOT_UTF8}copy.csv", "--layer", "officer"),
        ("register", "import", listed, f"{NOT_UTF8}paths.geojson", "--who", "Ada", "--why", "to try"),
    ):
        # as a terminal set to UTF-8 has them
        streams = [io.TextIOWrapper(io.BytesIO(), "utf-8", errors=errors) for errors in ("strict", "backslashreplace")]
        with monkeypatch.context() as patched, pytest.raises(SystemExit) as ended:
            patched.chdir(tmp_path)
            patched.setattr("sys.stdout", streams[0])
            patched.setattr("sys.stderr", streams[1])
            main(list(args))
        assert ended.value.code == 0, (args, streams[1].buffer.getvalue()[-500:])


@pytest.mark.skipif(os.name != "posix", reason="a shell's way of closing a stream")
@pytest.mark.parametrize("closed", [">&-", "2>&-", ">&- 2>&-"])
def test_a_stream_closed_beforehand_is_passed_over(tmp_path, closed):
    done = subprocess.run(
        ["sh", "-c", f'"$0" -m siteassess check "$1" {closed}', sys.executable, str(PARK)],
        capture_output=True, timeout=60,
    )  # fmt: skip
    assert (done.returncode, b"Traceback" in done.stderr, b"fault" in done.stderr) == (0, False, False), done.stderr
