"""`rules` and `pack` from the command line: what they print, what they write, how they refuse."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from click.testing import CliRunner

from siteassess.cli import group, main
from siteassess.errors import FaultyInput, UnknownName

PARK = str(Path(__file__).parents[2] / "examples" / "brindlewick" / "park.yaml")


def run(*args: str, code: int = 0) -> str:
    done = CliRunner().invoke(group, list(args), catch_exceptions=True)
    if done.exception is not None and not isinstance(done.exception, SystemExit):
        raise done.exception
    assert done.exit_code == code, done.output
    return done.stdout


def told(*args: str) -> dict:
    return json.loads(run(*args, "--json"))


def test_list_and_show():
    assert len(told("rules", "list")["rule_sets"]) == 39
    assert {one["status"] for one in told("rules", "list", "--status", "prohibited")["rule_sets"]} == {"prohibited"}
    shown = run("rules", "show", "basel_ch")
    assert "trunk girth >= 120 cm" in shown and "heck the land manager's current text" in shown
    assert told("rules", "show", "basel_ch")["format"] == "land-managers-rules/1"
    with pytest.raises(UnknownName):
        run("rules", "show", "nowhere")


def test_rules_are_told_in_the_language_asked_for_and_json_stays_english():
    for asked, german in (
        (("list",), "mit Auflagen erlaubt"), (("show", "basel_ch"), "Stammumfang mindestens 120 cm"),
        (("check", PARK, "--line", "L2"), "nicht erfüllt"),
    ):
        assert german in run("rules", *asked, "--lang", "de") and german not in run("rules", *asked)
        assert told("rules", *asked, "--lang", "de") == told("rules", *asked)


def test_check_answers_clause_by_clause_and_takes_another_set():
    own = told("rules", "check", PARK, "--line", "L2")
    assert own["rule_set"]["id"] == "brindlewick-line-card"
    answers = {clause["clause"]: clause["answer"] for clause in own["ends"][0]["clauses"]}
    assert answers["trunk diameter"] == "not met" and answers["padding"] == "met"
    other = told("rules", "check", PARK, "--line", "L1", "--set", "wisconsin_state_parks_us")
    assert {clause["answer"] for clause in other["ends"][0]["clauses"] if clause["clause"] == "genera"} == {"not met"}
    assert "cannot tell" in run("rules", "check", PARK, "--line", "L1", "--set", "madison_wi_us")


FILLED = {
    "place": "Otter Mead", "country": "GB", "status": "allowed with conditions", "title": "An invented card, 2026",
    "flag": "memory", "check_current_text": "Hangs at the gate", "operator": '">="', "value": "30", "unit": "cm",
    "asks": "required", "names": "[Platanus]", "months": "[3, 4]", "start": "{event: sunrise}",
    "end": "{event: sunset}", "distance_to": "road", "wording": "Is the grass long?",
}  # fmt: skip
ASKS = {"genera": "barred", "months": "closed"}


def filled(text: str) -> str:
    """The form with every blank filled in, as a person would."""
    lines, kind = [], ""
    for line in text.splitlines():
        name = line.split(":")[0].strip().removeprefix("- ")
        kind = line.split(":")[1].split("#")[0].strip() if name == "kind" else kind
        blank = not line.strip().startswith("#") and line.split("#")[0].rstrip().endswith(":") and name in FILLED
        word = ASKS.get(kind, FILLED["asks"]) if name == "asks" else FILLED.get(name)
        lines.append(f"{line.split(':')[0]}: {word}" if blank else line)
    return "\n".join(lines) + "\n"


def test_a_new_set_names_everything_still_blank_and_is_whole_once_filled(tmp_path):
    mine = tmp_path / "mine.yaml"
    run("rules", "new", str(mine))
    text = mine.read_text(encoding="utf-8")
    with pytest.raises(FaultyInput) as caught:
        run("rules", "check", str(mine))
    named = {text.splitlines()[fault.line - 1].split(":")[0].strip() for fault in caught.value.faults}
    assert set(FILLED) - {"distance_to"} <= named
    assert all(fault.read == "nothing" and "Fill it in" in fault.mend for fault in caught.value.faults)
    assert not any("input" in fault.wanted for fault in caught.value.faults)
    mine.write_text(filled(text).replace("distance_to: road", "distance_to:"), encoding="utf-8")
    with pytest.raises(FaultyInput, match="what to keep away from"):
        run("rules", "check", str(mine))
    mine.write_text(filled(text), encoding="utf-8")
    assert told("rules", "check", str(mine))["faults"] == []
    assert told("rules", "check", PARK, "--line", "L1", "--set", str(mine))["ends"]
    run("rules", "new", str(mine), code=2)  # nothing is written over
    run("rules", "check", str(mine), "--line", "L1", code=2)
    run("rules", "new", str(tmp_path / "mine.txt"), code=2)


def test_a_faulty_set_names_its_lines(tmp_path):
    mine = tmp_path / "mine.yaml"
    run("rules", "new", str(mine))
    text = filled(mine.read_text(encoding="utf-8")).replace("value: 30", "value: thirty", 1)
    text = text.replace("country: GB", "country: x")
    mine.write_text(text, encoding="utf-8")
    with pytest.raises(FaultyInput) as caught:
        run("rules", "check", str(mine))
    lines = text.splitlines()
    assert [lines[fault.line - 1].split(":")[0].strip() for fault in caught.value.faults] == ["country", "value"]
    assert [fault.wanted for fault in caught.value.faults] == ["two capital letters, such as DE", "a number"]


def test_a_records_own_faulty_rules_or_unknown_set_name_the_line(tmp_path):
    text = Path(PARK).read_text(encoding="utf-8")
    broken = tmp_path / "park.yaml"
    broken.write_text(text.replace("kind: attach height,", "kind: attach hight,"), encoding="utf-8")
    with pytest.raises(FaultyInput) as caught:
        run("assess", str(broken))
    (fault,) = caught.value.faults
    assert "attach hight" in text.replace("kind: attach height,", "kind: attach hight,").splitlines()[fault.line - 1]
    head, rest = text.split("  rules:\n")
    named = head + "  rule_set: baesel_ch\n  root_zone_standard" + rest.split("  root_zone_standard")[1]
    broken.write_text(named, encoding="utf-8")
    with pytest.raises(FaultyInput, match="basel_ch"):
        run("check", str(broken))


def test_pack_prints_writes_and_checks_what_is_owned(tmp_path):
    whole = told("pack", PARK)
    assert whole["left_out_lines"] == ["L2", "L3"] and whole["totals"]["sling_pieces"] == 6
    one = told("pack", PARK, "--line", "L1")
    assert one["totals"]["sling_pieces"] == 2
    mine = tmp_path / "mine.yaml"
    mine.write_text("siteassess_owned: 1\nowned:\n  - {kind: link, count: 1, rating: 40 kN}\n", encoding="utf-8")
    held = told("pack", PARK, "--line", "L1", "--owned", str(mine))["owned"]
    assert [(row["has"], row["lacks"]) for row in held if row["kind"] == "link"] == [(1, 1)]
    page, text = tmp_path / "list.html", tmp_path / "list.txt"
    run("pack", PARK, "--line", "L1", "--owned", str(mine), "--out", str(page))
    run("pack", PARK, "--line", "L1", "--out", str(text))
    assert "lacks 1" in page.read_text(encoding="utf-8") and "://" not in page.read_text(encoding="utf-8")
    assert "[ ] 2 x sling" in text.read_text(encoding="utf-8")
    assert "Maßband" in run("pack", PARK, "--lang", "de")
    run("pack", PARK, "--out", str(tmp_path / "list.pdf"), code=2)


def test_pack_for_a_day():
    assert told("pack", PARK, "--line", "L1", "--day", "2026-04-25")["items"]
    assert told("pack", PARK, "--line", "L1", "--day", "2026-04-26")["items"] == []
    run("pack", PARK, "--day", "soon", code=2)


def test_tables_lists_all_and_prints_one_field_a_line():
    named = run("tables").split()
    assert {"sources", "webbing", "countries"} <= set(named) and told("tables")["tables"] == named
    for name in named:
        shown = run("tables", name)
        assert shown.strip() and "MappingProxy" not in shown and "namedtuple" not in shown, name
    rows = run("tables", "webbing", "--find", "nylon").split("\n\n")[0].splitlines()
    starts = {len(row) - len(row.split(None, 1)[1]) for row in rows}
    assert "name" in rows[0] and len(starts) == 1 and any(row.startswith("flag ") for row in rows)
    assert "no row of webbing holds 'spider silk'" in run("tables", "webbing", "--find", "spider silk")


def test_new_says_what_its_form_leaves_out(tmp_path):
    run("new", str(tmp_path / "a.yaml"))
    text = (tmp_path / "a.yaml").read_text(encoding="utf-8")
    assert "quick form" in text.split("siteassess_record")[0] and "--full" in text.split("siteassess_record")[0]
    (line,) = [line for line in text.splitlines() if "- id: L1" in line]
    assert "(such as L1)" in line and "T1" not in line
    run("new", str(tmp_path / "b.yaml"), "--full")
    assert "--full" not in (tmp_path / "b.yaml").read_text(encoding="utf-8")
    done = CliRunner().invoke(group, ["new", str(tmp_path / "c.csv")])
    assert "need the YAML form" in done.stderr


@pytest.mark.parametrize("command, refused", [
    (("new", "there.yaml"), "gibt es schon"),
    (("rules", "new", "there.yaml"), "gibt es schon"),
    (("rules", "new", "mine.txt"), "endet auf .yaml"),
    (("demo", "--out", "."), "nicht der Bogen der Vorführung"),
])
def test_a_command_that_writes_refuses_in_the_language_asked_for(command, refused, tmp_path, monkeypatch, capsys):
    monkeypatch.chdir(tmp_path)
    for name in ("there.yaml", "park.yaml"):
        (tmp_path / name).write_text("mine", encoding="utf-8")
    with pytest.raises(SystemExit) as ended:
        main([*command, "--lang", "de"])
    assert ended.value.code == 2 and refused in capsys.readouterr().err
    assert {path.read_text("utf-8") for path in tmp_path.iterdir()} == {"mine"}
