"""What a register's commands and errors say, in each language: no sentence is built in code, and none stays English."""

from __future__ import annotations

import ast
import datetime
import re
import shutil
import sqlite3
from pathlib import Path

import pytest
from kept_register import TODAY, kept, record_values

import siteassess
from siteassess.cli import main
from siteassess.reference.findings import codes, unfilled
from siteassess.reference.languages import SIDE_BY_SIDE
from siteassess.reference.tables import rows
from siteassess.register import actions
from siteassess.register.merge import merge_store
from siteassess.register.store import Store

ROOT = Path(siteassess.__file__).parent
FILES = [*ROOT.glob("register/*.py"), *ROOT.glob("cli/register*.py"), ROOT / "records/owned.py"]
TELLERS = {"StoreError", "UnknownName", "AmbiguousName", "Fault", "refused", "fault", "damaged", "UsageError",
           "BadParameter", "note", "Flaw", "_refused", "_no_event", "answer"}  # fmt: skip
KEYS_AND_NAMES = {"void ", "WGS84, EPSG 4326"}
# French has the English word, or it is marks and names alone
ALIKE = {"rg-a-photo", "rg-the-photo", "rg-the-table", "rg-the-tables", "rg-read-points", "li-photo-kept",
         "li-conditions"}  # fmt: skip


def test_no_error_or_note_of_a_register_is_a_sentence_built_in_code():
    nodes = [node for file in FILES for node in ast.walk(ast.parse(file.read_text("utf-8")))]
    calls = [node for node in nodes if isinstance(node, ast.Call)]
    told = [call for call in calls if getattr(call.func, "id", getattr(call.func, "attr", "")) in TELLERS]
    texts = {text for call in told for text in map(_text, call.args) if re.search("[A-Za-z]{2}", text) and " " in text}
    assert len(told) > 150 and texts == KEYS_AND_NAMES


def test_no_sentence_of_the_program_is_kept_but_in_the_language_asked_for():
    nodes = [node for file in FILES for node in ast.walk(ast.parse(file.read_text("utf-8")))]
    calls = [node for node in nodes if isinstance(node, ast.Call)
             and getattr(node.func, "id", getattr(node.func, "attr", "")) in ("add", "By", "why_option")]  # fmt: skip
    texts = {text for call in calls for node in ast.walk(call) if " " in (text := _text(node)) and text.strip(" ()")}
    assert len(calls) > 40 and texts == {"group only", "Why they are set right."}  # a word of the tables, and help


def _text(node: ast.expr) -> str:
    """A text without what is filled in."""
    parts = node.values if isinstance(node, ast.JoinedStr) else [node]
    return "".join(part.value for part in parts if isinstance(part, ast.Constant) and isinstance(part.value, str))


def test_no_text_of_a_register_is_english_in_another_language():
    told = {code: {one: unfilled(code, language=one) for one in SIDE_BY_SIDE} for code in codes() if code[:3] == "rg-"}
    told |= {row["key"]: row for row in rows("paper_texts") if row["group"] == "listing"}
    assert len(told) > 350
    bare = {code: re.sub(r"\{[^}]*\}|\.\w+|--[\w-]+", "", text["en"]) for code, text in told.items()}
    alike = {code for code, text in told.items() for one in SIDE_BY_SIDE[1:]
             if text[one] == text["en"] and re.search("[a-z]{3}", bare[code])}  # fmt: skip
    assert alike == ALIKE


@pytest.fixture(scope="module")
def registers(tmp_path_factory):
    """A register in use, another group's with the same park, and both of them damaged."""
    folder = tmp_path_factory.mktemp("told")
    names = kept(folder / "ours.gpkg")
    kept(folder / "theirs.gpkg")
    for name, statement in {
        "altered": "UPDATE events SET content = replace(content, 'true', 'false') WHERE kind = 'mark'",
        "columns": "UPDATE events SET who = 'X' WHERE kind = 'move'",
        "heads": "UPDATE heads SET name = hex(zeroblob(32))",
        "lacking": "DELETE FROM events WHERE kind = 'mark'", "picture": "UPDATE photos SET bytes = x'ffd8ffe0'",
        "no picture": "DELETE FROM photos", "drawn": "DELETE FROM care_log", "undrawn": "DELETE FROM lines",
        "newer": "UPDATE about SET value = '99' WHERE key = 'store_version'", "kind": "DELETE FROM about",
    }.items():  # fmt: skip
        path = shutil.copy(folder / "ours.gpkg", folder / f"{name}.gpkg")
        db = sqlite3.connect(path)
        db.executescript("DROP TRIGGER events_are_never_changed; DROP TRIGGER events_are_never_deleted")
        db.execute(statement)
        db.commit()
        db.close()
    with _copy(folder, "both") as both, Store.open(folder / "theirs.gpkg") as other:
        merge_store(both, other)
    for name, to in (("kin", "resting"), ("fork", "withdrawn")):
        with _copy(folder, name) as store, store.change() as writer:
            actions.move(writer, names["line L1"], to, actions.By("Cleo", "a test"), on=TODAY)
    later = datetime.datetime.now(datetime.UTC) + datetime.timedelta(days=90)
    with Store.open(shutil.copy(folder / "ours.gpkg", folder / "ahead.gpkg"), now=lambda: later) as store:
        store.clock_is_right = True
        with store.change() as writer:
            marks = {"what": "marks", "date": "2026-05-08"}
            actions.log(writer, names["anchor T1"], marks, actions.By("Ada", "a test"))
    with Store.create(folder / "hidden.gpkg", title="Invented", who="Ada") as store, store.change() as writer:
        actions.add_record(writer, record_values(), actions.By("Ada", "a test"), share="members", sensitive=["T1"])
    (folder / "text.gpkg").write_text("no register")
    (folder / "empty.gpkg").touch()
    return folder


def _copy(folder: Path, name: str) -> Store:
    return Store.open(shutil.copy(folder / "ours.gpkg", folder / f"{name}.gpkg"))


BY = ["--who", "Ada", "--why", "a test", "--clock-is-right", "--dry-run"]
GIVEN = ["--given", "--name", "x", "--date", "2026-05-01"]
COMMANDS = (
    ["history", "ours.gpkg"], ["verify", "ours.gpkg"], ["verify", "ours.gpkg", "--head", "0" * 16],
    ["verify", "ours.gpkg", "--head", "x"], *(["verify", f"{name}.gpkg"] for name in (
        "altered", "columns", "heads", "lacking", "picture", "no picture", "drawn", "undrawn", "newer", "kind", "text",
        "empty", "none")),
    ["redraw", "ours.gpkg", "--dry-run"], ["redraw", "heads.gpkg", "--dry-run"], ["same", "ours.gpkg"],
    ["merge", "ours.gpkg", "theirs.gpkg", "--clock-is-right", "--dry-run"],
    ["merge", "ours.gpkg", "altered.gpkg", *BY[4:]],
    ["merge", "ours.gpkg", "ours.gpkg", *BY[4:]], ["merge", "ours.gpkg", "lacking.gpkg", *BY[4:]],
    ["merge", "ours.gpkg", "none.gpkg", *BY[4:]], ["merge", "ours.gpkg", "theirs.gpkg", "--set-right"],
    ["salvage", "ours.gpkg", "new.gpkg", *BY], ["salvage", "lacking.gpkg", "new.gpkg", *BY],
    ["salvage", "no picture.gpkg", "new.gpkg", *BY], ["salvage", "text.gpkg", "new.gpkg", *BY],
    ["salvage", "ours.gpkg", "theirs.gpkg", *BY], ["clock", "ours.gpkg"],
    ["clock", "ours.gpkg", "--set-right", *BY[:4]], ["add", "ours.gpkg", "none.yaml", *BY],
    ["approve", "ours.gpkg", "L1", "--to", "resting", *BY], ["approve", "ours.gpkg", "L1", "--to", "draft", *BY],
    ["approve", "ours.gpkg", "L1", "--to", "gone", *BY], ["approve", "ours.gpkg", "L9", "--to", "draft", *BY],
    ["approve", "ours.gpkg", "L1", "--to", "resting", "--until", "2020-01-01", *BY],
    ["approve", "ours.gpkg", "T1", "--to", "surveyed", *BY],
    ["approve", "ours.gpkg", "L1", "--to", "resting", "--signed", "A", *BY],
    ["approve", "ours.gpkg", "L1", "--to", "resting", "--signed", "A", "--against", "x", *BY],
    ["mark", "ours.gpkg", "L1", "--by", "owner", *GIVEN, "--expires", "2026-12-31", *BY],
    ["mark", "ours.gpkg", "L1", "--by", "owner", *GIVEN, "--expires", "2046-12-31", *BY],
    ["mark", "ours.gpkg", "L1", "--by", "owner", *GIVEN, "--expires", "2020-12-31", *BY],
    ["log", "ours.gpkg", "T1", "use", "--hours", "2 h", "--pull", "2 kN", *BY],
    ["log", "ours.gpkg", "T1", "use", *BY], ["log", "ours.gpkg", "T1", "use", "--start", "10:00", *BY],
    ["log", "ours.gpkg", "T1", "marks", "--bark-marks", "deep", *BY], ["photo", "ours.gpkg", "T1", "text.gpkg", *BY],
    ["correct", "ours.gpkg", "abc", *BY], ["correct", "ours.gpkg", "abc", "--with", "1", *BY],
    ["export", "ours.gpkg", "x.html", "--layer", "officer", "--dry-run"],
    ["export", "ours.gpkg", "x.y", "--layer", "public"],
    ["import", "ours.gpkg", "text.gpkg", *BY], ["import", "ours.gpkg", "theirs.gpkg", *BY],
    ["import", "ours.gpkg", "none.txt", *BY], ["join", "ours.gpkg", "T1", "T2", *BY],
    ["join", "ours.gpkg", "T1", "T2", "--not-the-same", *BY], ["join", "ours.gpkg", "T1", "L1", *BY],
    ["list", "ahead.gpkg"], ["clock", "ahead.gpkg"], ["clock", "ahead.gpkg", "--set-right", *BY[:4], "--dry-run"],
    ["merge", "ours.gpkg", "ahead.gpkg", *BY[4:]], ["merge", "ours.gpkg", "ahead.gpkg", "--set-right", *BY],
    ["merge", "kin.gpkg", "fork.gpkg", *BY[4:]], ["show", "both.gpkg", "T1"], ["due", "both.gpkg", "--site", "x"],
    ["export", "hidden.gpkg", "x.html", "--layer", "members", "--dry-run"],
    ["approve", "hidden.gpkg", "L1", "--to", "second look", *BY],
    ["rota", "ours.gpkg", "x", "--wetness", "damp"],
)  # fmt: skip


@pytest.fixture
def told(registers, monkeypatch, capsys):
    """What a command prints in a language, names and figures taken out, since some are new each time."""
    monkeypatch.chdir(registers)

    def run(command: list[str], language: str) -> list[str]:
        with pytest.raises(SystemExit):
            main(["register", *command, "--lang", language])
        printed = "\n".join(capsys.readouterr())
        return [line for line in re.sub(r"[0-9a-f]{7,64}|\d+", "N", printed).splitlines() if line.strip()]

    return run


@pytest.mark.parametrize("command", COMMANDS, ids=" ".join)
def test_every_line_of_a_command_is_told_in_the_language_asked_for(told, command):
    english = told(command, "en")
    assert english and "a fault of the program" not in "".join(english)
    for language in SIDE_BY_SIDE[1:]:
        other = told(command, language)
        assert len(other) == len(english)
        same = [one for one in english if one in other and re.search("[a-z]{3}", one)]
        assert [one for one in same if not one.startswith(("Usage:", "Try "))] == [], language
