"""The commands: what they print, what they keep, how they end."""

from __future__ import annotations

import json
import re
import shutil
import sqlite3
from pathlib import Path

import pytest
import yaml
from click.testing import CliRunner

from siteassess.cli.register import register
from siteassess.errors import SiteassessError

WHO = ["--who", "Ada", "--why", "for the test"]
GIVEN = ["--given", "--name", "office", "--date", "2026-01-01", "--expires", "2099-12-31", "--far-end-is-right"]


@pytest.fixture
def run(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    monkeypatch.delenv("SITEASSESS_WHO", raising=False)

    def call(*args, fails=None, code=0):
        result = CliRunner().invoke(register, [str(arg) for arg in args])
        if fails is not None:
            assert isinstance(result.exception, SiteassessError) and fails in str(result.exception), result.exception
            return str(result.exception)
        assert result.exit_code == code, (result.output, result.exception)
        if "--json" in args:
            return json.loads(result.stdout)
        return result.output

    return call


@pytest.fixture
def listed(run, park, tmp_path):
    (tmp_path / "park.yaml").write_text(yaml.safe_dump(park, sort_keys=False))
    run("init", "g.gpkg", "--title", "Invented group", "--who", "Ada")
    run("add", "g.gpkg", "park.yaml", *WHO)
    return run


def _activate(run):
    for by in ("group", "owner"):
        run("mark", "g.gpkg", "Larchmere Green", "--by", by, *GIVEN, *WHO)
    moves = (("surveyed", "Ada"), ("second look", "Ben"), ("approved with conditions", "Ben"), ("active", "Ben"))
    for to, who in moves:
        run("approve", "g.gpkg", "L1", "--to", to, "--who", who, "--why", "looked")


def test_why_nobody_said_is_kept_in_the_language_asked_for(listed):
    listed("mark", "g.gpkg", "Larchmere Green", "--by", "group", *GIVEN, "--who", "Ada", "--lang", "fr")
    listed("mark", "g.gpkg", "Larchmere Green", "--by", "owner", *GIVEN, "--who", "Ada")
    marks = [one for one in listed("history", "g.gpkg", "--json")["events"] if one["kind"] == "mark"]
    assert [one["why"] for one in marks] == ["accord inscrit", "mark recorded"]


def test_from_nothing_to_an_active_line_and_back(listed):
    run = listed
    _activate(run)
    rows = {row["label"]: row for row in run("list", "g.gpkg", "--json")["rows"]}
    assert rows["L1"]["status"] == "active" and rows["L2"]["status"] == "draft"
    assert rows["T01"]["girth_m"] == 1.8
    run("log", "g.gpkg", "T01", "event", "--event", "storm", "--who", "Ada")
    shown = run("show", "g.gpkg", "Larchmere Green/L1", "--json")
    assert shown["status"] == "review due"
    assert shown["legal_moves"] == ["surveyed", "second look", "withdrawn", "archived"]
    assert "storm" in run("show", "g.gpkg", "L1")
    assert "review" in run("due", "g.gpkg")
    assert "looked at: storm of" in run(
        "approve", "g.gpkg", "L1", "--to", "second look", "--who", "Ben", "--why", "look"
    )


def test_an_illegal_move_ends_with_the_legal_ones(listed):
    text = listed("approve", "g.gpkg", "L1", "--to", "active", *WHO, fails="allowed from here")
    assert "surveyed" in text


@pytest.mark.parametrize(
    "args",
    [
        ("mark", "g.gpkg", "L1", "--by", "group", "--given", "--name", "x", "--expires", "2028-01-01", *WHO),
        ("approve", "g.gpkg", "L1", "--to", "surveyed", *WHO),
        ("log", "g.gpkg", "T01", "use", "--hours", "2 h", "--pull", "2 kN", "--who", "Ada"),
        ("join", "g.gpkg", "T01", "T02", *WHO),
        ("photo", "g.gpkg", "T01", "p.jpg", *WHO),
        ("add", "g.gpkg", "again.yaml", *WHO),
        ("import", "g.gpkg", "p.csv", *WHO),
        ("merge", "g.gpkg", "other.gpkg"),
        ("redraw", "g.gpkg"),
        ("init", "new.gpkg", "--title", "x", "--who", "Ada"),
        ("export", "g.gpkg", "out.csv", "--layer", "officer"),
        ("correct", "g.gpkg", "ENTRY", *WHO),
    ],
)
def test_a_dry_run_keeps_nothing_and_the_real_run_does(listed, park, picture, tmp_path, args):
    run = listed
    park["anchors"][0]["trunk"][0]["girth"] = "190 cm"
    (tmp_path / "again.yaml").write_text(yaml.safe_dump(park, sort_keys=False))
    (tmp_path / "p.jpg").write_bytes(picture())
    (tmp_path / "p.csv").write_text("name,lat,lon\noak,50,8\n")
    run("init", "other.gpkg", "--title", "Other", "--who", "Ben")
    entry = run("log", "g.gpkg", "T01", "event", "--event", "pruning", "--who", "Ada", "--json")["event"]
    args = [entry if arg == "ENTRY" else arg for arg in args]
    files = {path.name: path.read_bytes() for path in tmp_path.iterdir()}
    assert run(*args, "--dry-run", "--json")["dry_run"] is True
    assert {path.name: path.read_bytes() for path in tmp_path.iterdir()} == files
    assert run(*args, "--json")["dry_run"] is False
    if args[0] != "redraw":
        assert {path.name: path.read_bytes() for path in tmp_path.iterdir()} != files


def test_verify_ends_with_1_when_something_is_wrong(listed):
    head = listed("history", "g.gpkg", "--json")["heads"][0]
    assert listed("verify", "g.gpkg", "--head", head, "--json")["whole"] is True
    assert listed("verify", "g.gpkg", "--head", "0" * 16, "--json", code=1)["whole"] is False
    db = sqlite3.connect("g.gpkg")
    db.execute("UPDATE lines SET status_when_written = 'active'")
    db.commit()
    db.close()
    assert "redraw" in listed("verify", "g.gpkg", code=1)
    listed("redraw", "g.gpkg")
    listed("verify", "g.gpkg")


def test_history_says_who_when_why_and_what_was_replaced(listed, park, tmp_path):
    park["anchors"][0]["trunk"][0]["girth"] = "190 cm"
    (tmp_path / "again.yaml").write_text(yaml.safe_dump(park, sort_keys=False))
    listed("add", "g.gpkg", "again.yaml", "--who", "Ben", "--why", "second tape")
    events = listed("history", "g.gpkg", "T01", "--json")["events"]
    assert [(e["who"], e["why"]) for e in events] == [("Ada", "for the test"), ("Ben", "second tape")]
    assert events[1]["replaces"] == [events[0]["event"]]
    assert re.search(
        r"\d{4}-\d\d-\d\dT\d\d:\d\dZ .* anchor by Ben: second tape \(replaces", listed("history", "g.gpkg")
    )


def test_wrong_usage_ends_with_2(listed):
    listed("export", "g.gpkg", "x.gpx", code=2)
    listed("list", "g.gpkg", "--on", "1.5.2026", code=2)
    listed("approve", "g.gpkg", "L1", "--to", "surveyed", code=2)
    listed("rota", "g.gpkg", "Larchmere Green", "--wetness", "damp", code=2)
    listed("correct", "g.gpkg", "0" * 64, "--with", "{", *WHO, code=2)


@pytest.mark.parametrize("right", ["", "null", "[1]", "5"])
def test_what_is_no_right_entry_strikes_none_out(listed, right):
    entry = listed("log", "g.gpkg", "T01", "event", "--event", "storm", "--who", "Ada", "--json")["event"]
    listed("correct", "g.gpkg", entry, "--with", right, *WHO, code=2)
    log = listed("show", "g.gpkg", "T01", "--json")["log"]
    assert [(one["event"], one["entry"]) for one in log] == [("storm", entry)]


def test_names_that_are_none_or_several_are_explained(listed, park, tmp_path):
    listed("show", "g.gpkg", "T99", fails="nothing is listed")
    park["site"]["name"] = "Other Green"
    (tmp_path / "other.yaml").write_text(yaml.safe_dump(park, sort_keys=False))
    listed("add", "g.gpkg", "other.yaml", *WHO)
    text = listed("show", "g.gpkg", "T01", fails="may mean")
    assert "Other Green/T01" in text and "Larchmere Green/T01" in text
    name = re.search(r"\(([0-9a-f]{10})\)", text)[1]
    assert listed("show", "g.gpkg", name, "--json")["label"] == "T01"


def test_faulty_and_missing_files_are_faults_not_tracebacks(listed, tmp_path):
    listed("list", "nothing.gpkg", fails="no such file")
    listed("import", "g.gpkg", "nothing.zip", *WHO, fails="no such file")
    listed("photo", "g.gpkg", "T01", "nothing.jpg", *WHO, fails="no such file")
    listed("log", "g.gpkg", "T01", "use", "--pull", "200 kg", "--hours", "1 h", "--who", "Ada", fails="kgf")
    listed("log", "g.gpkg", "T01", "use", "--event", "storm", "--who", "Ada", fails="event")
    listed("log", "g.gpkg", "T01", "inspection", "--inspector", "D", "--standing", "qualified arborist",
           "--finding", "sound", "--who", "Ada", fails="qualification")  # fmt: skip


def test_copies_merge_and_calendar_from_the_command_line(listed, tmp_path):
    run = listed
    _activate(run)
    for ending in ("geojson", "gpx", "kml", "csv", "gpkg", "html", "zip"):
        answer = run("export", "g.gpkg", f"out.{ending}", "--layer", "officer", "--json")
        assert all((tmp_path / name).exists() for name in answer["files"]) and answer["features"] == 6
    run("init", "other.gpkg", "--title", "Other", "--who", "Ben")
    merged = run("merge", "other.gpkg", "out.zip", "--json")
    assert merged["changes_added"] > 10 and merged["conflicts"] == []
    assert run("merge", "other.gpkg", "g.gpkg", "--json")["changes_added"] == 0
    run("due", "g.gpkg", "--days", "3660", "--ics", "due.ics")
    assert (tmp_path / "due.ics").read_bytes().startswith(b"BEGIN:VCALENDAR\r\n")
    assert run("rota", "g.gpkg", "Larchmere Green", "--json")["turns"][0]["line"] == "L1"
    assert "0 pairs" in run("same", "g.gpkg")


def test_the_log_says_what_load_hours_are_not(listed):
    text = listed("log", "g.gpkg", "T01", "use", "--hours", "3 h", "--pull", "2.8 kN", "--who", "Ada")
    assert "8.4 kN h" in text and "no threshold of harm is known" in text
    assert "not known" in listed("log", "g.gpkg", "T01", "use", "--hours", "3 h", "--who", "Ada")


def test_photos_before_and_after_are_kept_with_their_entry(listed, picture, tmp_path):
    (tmp_path / "a.jpg").write_bytes(picture())
    (tmp_path / "b.png").write_bytes(picture("PNG"))
    pictures = ("--before", "a.jpg", "--after", "b.png")
    listed("log", "g.gpkg", "T01", "marks", "--bark-marks", "polish", *pictures, "--who", "Ada")
    shown = listed("show", "g.gpkg", "T01", "--json")
    assert len(shown["photos"]) == 2 and set(shown["log"][0]["photos"]) == {"before", "after"}


def test_every_number_in_json_names_its_unit(listed):
    """Keys of numbers end in a unit, or count things."""
    _activate(listed)
    listed("log", "g.gpkg", "T01", "use", "--hours", "3 h", "--pull", "2.8 kN", "--who", "Ada")
    units = ("_m", "_deg", "_n", "_h", "_kn_h", "_d", "_bytes", "_index")
    counts = {
        "conflicts",
        "uses",
        "uses_without_pull_or_time",
        "changes",
        "features",
        "changes_added",
        "changes_known",
        "photos_added",
        "share_of_load_hours",
        "stems",
    }

    def walk(value, key=""):
        if isinstance(value, dict):
            for name, part in value.items():
                if name not in ("record", "body", "log"):
                    walk(part, name)
        elif isinstance(value, list):
            for part in value:
                walk(part, key)
        elif isinstance(value, (int, float)) and not isinstance(value, bool):
            assert key.endswith(units) or key in counts, key

    for args in (
        ("list", "g.gpkg"),
        ("show", "g.gpkg", "T01"),
        ("rota", "g.gpkg", "Larchmere Green"),
        ("due", "g.gpkg"),
        ("verify", "g.gpkg"),
    ):
        walk(listed(*args, "--json"))


def test_an_answer_of_the_assess_command_is_kept_as_it_was_given(listed, tmp_path):
    line = {"id": "L1", "verdict": "suits if", "anchors": [{"hold_use": 0.48, "reasons": ["dry ground, h < 25 d"]}]}
    whole = {
        "site": {"name": "Larchmere Green"},
        "lines": [line],
        "assumptions": ["made up"],
        "cautions": ["look again"],
    }
    (tmp_path / "a.json").write_text(json.dumps(whole))
    (kept,) = listed("assessment", "g.gpkg", "a.json", *WHO, "--json")["assessments"]
    event = next(e for e in listed("history", "g.gpkg", "L1", "--json")["events"] if e["event"] == kept["event"])
    assert event["body"]["result"] == {**line, "assumptions": ["made up"], "cautions": ["look again"]}
    (tmp_path / "b.json").write_text("[1]")
    listed("assessment", "g.gpkg", "b.json", *WHO, fails="assess FILE --json")


def test_a_wrong_choice_is_told_in_our_own_words_with_the_choices(listed):
    text = listed("log", "g.gpkg", "T01", "event", "--event", "lightning", "--who", "Ada", fails="read lightning")
    assert "one of: storm, damage, root works" in text and "Input" not in text
    text = listed(
        "log", "g.gpkg", "T01", "use", "--wetness", "moost", "--bark-marks", "dents", "--hours", "2", "--who", "Ada",
        fails="3 faults",
    )  # fmt: skip
    assert "Did you mean moist?" in text and "Did you mean dent?" in text and "2" in text and "Input" not in text
    text = listed("log", "g.gpkg", "T01", "inspection", "--who", "Ada", fails="inspector: read nothing")
    assert "Input" not in text and "Field required" not in text


def test_show_speaks_in_words(listed):
    text = listed("show", "g.gpkg", "L1")
    assert "may rig now: no (as of" in text and "group's mark: missing" in text
    assert "conditions: none written down" in text
    listed(
        "mark", "g.gpkg", "L1", "--by", "group", "--given", "--name", "Cy", "--role", "chair", "--date", "2026-01-01",
        "--expires", "2099-12-31", "--far-end-is-right", "--conditions", "dry ground", *WHO,
    )  # fmt: skip
    listed("log", "g.gpkg", "T01", "event", "--event", "storm", "--date", "2026-02-03", "--who", "Ada")
    text = listed("show", "g.gpkg", "L1")
    assert "group's mark: in force until 2099-12-31; said by Cy, chair on 2026-01-01" in text
    assert "conditions: dry ground" in text and "news not looked at yet: storm of 2026-02-03 at T01" in text
    for raw in ("None", "True", "False", "{", "what "):
        assert raw not in text.split("record:")[0]


def test_list_says_of_every_line_whether_it_may_be_rigged(listed):
    assert listed("list", "g.gpkg").count("may rig now: no") == 2
    _activate(listed)
    text = listed("list", "g.gpkg")
    assert text.count("may rig now: yes with conditions") == 1 and text.count("may rig now: no") == 1


def test_the_same_record_again_is_nothing_new(listed, park, tmp_path):
    heads = listed("history", "g.gpkg", "--json")["heads"]
    assert "nothing new" in listed("add", "g.gpkg", "park.yaml", "--who", "Ben", "--why", "again")
    # a single fix written without its list is the same fix
    park["anchors"][0]["position"] = park["anchors"][0]["position"]["fixes"][0]
    (tmp_path / "park.yaml").write_text(yaml.safe_dump(park))
    assert "nothing new" in listed("add", "g.gpkg", "park.yaml", "--who", "Ben", "--why", "again")
    assert listed("history", "g.gpkg", "--json")["heads"] == heads
    park["anchors"][0]["trunk"][0]["girth"] = "190 cm"
    (tmp_path / "park.yaml").write_text(yaml.safe_dump(park))
    assert "1 change, kept" in listed("add", "g.gpkg", "park.yaml", "--who", "Ben", "--why", "again")


def test_approving_against_an_assessment_wants_a_reason_and_a_name(listed, tmp_path):
    answer = {
        "site": {"name": "Larchmere Green"},
        "lines": [{"id": "L1", "verdict": "leave it"}],
        "assumptions": [],
        "cautions": [],
    }
    (tmp_path / "answer.json").write_text(json.dumps(answer), encoding="utf-8")
    listed("assessment", "g.gpkg", str(tmp_path / "answer.json"), "--on", "2026-05-01", "--who", "Ada")
    listed("mark", "g.gpkg", "Larchmere Green", "--by", "group", *GIVEN, *WHO)
    for to, who in (("surveyed", "Ada"), ("second look", "Ben")):
        listed("approve", "g.gpkg", "L1", "--to", to, "--who", who, "--why", "looked")
    approve = ("approve", "g.gpkg", "L1", "--to", "approved with conditions", "--who", "Ben", "--why", "looked")
    assert "signed reason" in listed(*approve, fails="leave it")
    listed(*approve, "--against", "the arborist agrees", code=2)
    listed(*approve, "--against", "the arborist agrees", "--signed", "Cleo, coordinator")
    assert listed("history", "g.gpkg", "L1", "--json")["events"][-1]["body"]["against"]["signed"] == "Cleo, coordinator"
    shown = listed("list", "g.gpkg", "--on", "2026-05-01")
    assert "the arborist agrees" in shown and "Cleo, coordinator" in shown and "leave it" in shown


def test_a_file_whose_newest_entries_stand_beside_it_is_not_to_be_copied_alone(listed, tmp_path):
    said = "before you copy or send the file"
    assert said not in listed("list", "g.gpkg")
    other = sqlite3.connect(tmp_path / "g.gpkg", isolation_level=None)
    other.execute("PRAGMA journal_mode = WAL")
    other.execute("BEGIN")
    other.execute("SELECT count(*) FROM events").fetchone()
    assert said in listed("log", "g.gpkg", "T01", "event", "--event", "storm", *WHO)
    shutil.copy(tmp_path / "g.gpkg", tmp_path / "mailed.gpkg")
    kinds = [one["kind"] for one in listed("history", "mailed.gpkg", "T01", "--json")["events"]]
    assert kinds == ["anchor"]
    other.close()
    assert said not in listed("list", "g.gpkg")


@pytest.mark.parametrize("name", ["typed-wrong.gpkg", "folder.gpkg", "typed-wrong.zip"])
def test_a_merge_with_what_is_no_file_says_so(listed, tmp_path, name):
    (tmp_path / "folder.gpkg").mkdir()
    assert "no such file" in listed("merge", "g.gpkg", name, fails=name)


def test_each_listing_is_told_in_the_language_asked_for_and_json_stays_english(listed):
    run = listed
    _activate(run)
    run("log", "g.gpkg", "T01", "event", "--event", "storm", "--who", "Ada")
    wanted = {
        ("list", "g.gpkg"): "aufbauen jetzt: ", ("show", "g.gpkg", "L1"): "Stand: Überprüfung fällig",
        ("due", "g.gpkg", "--days", "3660"): "Leine L1: Überprüfung: Sturm vom",
        ("rota", "g.gpkg", "Larchmere Green"): "Laststunden sind ein Maß der Nutzung",
    }
    for asked, german in wanted.items():
        assert german in run(*asked, "--lang", "de") and german not in run(*asked)
        assert run(*asked, "--lang", "de", "--json") == run(*asked, "--json")
    run("due", "g.gpkg", "--days", "3660", "--ics", "de.ics", "--lang", "de")
    run("due", "g.gpkg", "--days", "3660", "--ics", "en.ics")
    german, english = (Path(name).read_text(encoding="utf-8") for name in ("de.ics", "en.ics"))
    assert "NAME:Fällig: g" in german and "Aufbauen jetzt" in german and "NAME:Due: g" in english
    # a calendar read again in another language moves its events and makes no new ones
    assert re.findall("UID:.*", german) == re.findall("UID:.*", english)


def test_a_copy_speaks_the_language_asked_for(listed):
    run = listed
    run("export", "g.gpkg", "de.html", "--layer", "members", "--lang", "de", *WHO[:2])
    assert "Diese Kopie gilt bis" in Path("de.html").read_text(encoding="utf-8")
    told = CliRunner().invoke(register, ["export", "g.gpkg", "x.kml", "--layer", "officer", "--lang", "de"])
    assert told.exit_code == 0 and "Aufbauen jetzt: " in Path("x.kml").read_text(encoding="utf-8")
