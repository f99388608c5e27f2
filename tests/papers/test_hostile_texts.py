"""Every free text, times every family of attack, through every paper and every chain of files, in a real browser.

Nothing runs, nothing is asked for, each text stands there to be read as it was written, and no page is pushed wide.
The two families with characters that no record may hold are refused by name, or lose them on the way in.
"""

from __future__ import annotations

import json
import re
import sys
from pathlib import Path

import pytest
import yaml
from form_browser import browsing, each_screen, everything, js, needs_browser, open_form
from form_fixtures import open_record
from hostile import PAYLOADS, REFUSED, SHOWN, Planter, inventory, planted_record, surroundings
from PIL import Image

from siteassess.cli import main
from siteassess.errors import FaultyInput
from siteassess.records.reading import read_text
from siteassess.reference.pages import plain
from siteassess.register import actions
from siteassess.register.store import Store

PHONE = (390, 844)


@pytest.fixture
def run(capsys, monkeypatch):
    """Runs a command as the shell does; what it printed, on both streams, which no text in it may steer."""

    def told(*args, ok: bool = True) -> str:
        with monkeypatch.context() as patched, pytest.raises(SystemExit) as ended:
            # main puts its own streams in place of these; they are put back after each command
            patched.setattr("sys.stdout", sys.stdout)
            patched.setattr("sys.stderr", sys.stderr)
            main([str(arg) for arg in args])
        printed = "".join(capsys.readouterr())
        assert not ok or ended.value.code == 0, (args, printed[-2000:])
        assert not re.search("[\x00-\x08\x0b-\x1f\x7f-\x9f\u202a-\u202e\u2066-\u2069]", printed), args
        assert "Traceback" not in printed and "fault of the program" not in printed, printed[-2000:]
        return printed

    return told


@pytest.fixture(scope="module")
def driver():
    with browsing() as started:
        yield started


CONTROLS = "return [...document.querySelectorAll('main input, main textarea')].map((node) => node.value)"


class Looker:
    """Opens pages and keeps what they showed."""

    def __init__(self, driver):
        self.driver, self.seen = driver, []

    def look(self, path: Path) -> str:
        self.driver.get_log("performance")
        self.driver.execute_cdp_cmd(
            "Emulation.setDeviceMetricsOverride",
            {"width": PHONE[0], "height": PHONE[1], "deviceScaleFactor": 1, "mobile": True},
        )
        self.driver.get(path.as_uri())
        self.driver.execute_async_script("setTimeout(arguments[0], 120)")
        messages = (json.loads(entry["message"])["message"] for entry in self.driver.get_log("performance"))
        asked = [m["params"]["request"]["url"] for m in messages if m["method"] == "Network.requestWillBeSent"]
        assert [url for url in asked if not url.startswith(("data:", "blob:", path.as_uri()))] == [], path.name
        assert self.driver.execute_script("return window.PWNED ?? null") is None, path.name
        assert self.driver.execute_script("return getComputedStyle(document.documentElement).display") != "none"
        if path.suffix == ".html":
            width = self.driver.execute_script("return document.documentElement.scrollWidth")
            assert width <= PHONE[0], (path.name, width)
        for button in self.driver.find_elements("css selector", "ul.list button"):  # of the map
            self.driver.execute_script("arguments[0].click()", button)
            self.seen.append(self.driver.find_element("id", "details").get_property("textContent"))
        self.seen.append(self.driver.execute_script("return document.documentElement.textContent"))
        assert self.driver.execute_script("return window.PWNED ?? null") is None, path.name
        assert self.driver.execute_script(LABELS) == [], path.name
        return self.seen[-1]

    def shows(self, text: str) -> bool:
        return any(_read(text) in _read(seen) for seen in self.seen)


def _read(text: str) -> str:
    """As a reader has it, to whom a space that holds a number to its unit is a space."""
    return " ".join(plain(text).split())


# what a register takes in: no markup, no link that runs
KEPT_BY_A_REGISTER = ["template value", "template block", "long word"]

# a cell whose label is not its column's heading would tell a phone something else than a desk
LABELS = """return [...document.querySelectorAll("table")].flatMap((table) => {
  const heads = [...table.querySelectorAll("thead th")].map((head) => head.textContent.trim());
  return [...table.querySelectorAll("tbody tr")].flatMap((row) => [...row.children].map((cell, i) => [cell, heads[i]]))
    .filter(([cell, head]) => cell.dataset.label !== undefined && cell.dataset.label.trim() !== head)
    .map(([cell, head]) => [cell.dataset.label, head]);
});"""


@needs_browser
@pytest.mark.parametrize("family", SHOWN)
def test_every_text_of_a_record_through_every_paper(driver, run, tmp_path, family):
    made, planted = planted_record(family)
    park = tmp_path / "park.yaml"
    park.write_text(yaml.safe_dump(made, allow_unicode=True, sort_keys=False), encoding="utf-8")
    # a photo that is there is drawn with what it shows beneath it
    (tmp_path / "photos").mkdir()
    Image.new("RGB", (1200, 300), "green").save(tmp_path / made["anchors"][0]["photos"][0]["path"], "JPEG")
    run("check", park)
    run("rules", "check", park)
    run("assess", park, "--explain", "--out", tmp_path / "all")
    run("pack", park, "--out", tmp_path / "pack.html")
    for kind, language in (("request", "fr"), ("card", "de"), ("incident", "es")):
        run("report", park, "--kind", kind, "--lang", language, "--out", tmp_path / f"{kind}.html")
    assert "data:image/jpeg" in (tmp_path / "all" / "report_appendix.html").read_text(encoding="utf-8")
    looker = Looker(driver)
    pages = sorted([*tmp_path.glob("*.html"), *(tmp_path / "all").glob("*.html"), *(tmp_path / "all").glob("*.svg")])
    sheets = [page for page in pages if page.name.startswith("plan")]  # of short texts one
    assert sheets and len(pages) - len(sheets) == 9  # two of them appendices
    for page in pages:
        looker.look(page)
    assert looker.shows(planted["record.site.name"]) and looker.shows(planted["record.survey.by"])
    # papers show what their reader needs; the form shows every text, as it was written, and writes it again unchanged
    open_form(driver, tmp_path / "all" / "form.html")
    open_record(driver, park)
    everything(driver)
    for _ in each_screen(driver):
        looker.seen += driver.execute_script(CONTROLS)
    assert driver.execute_script("return window.PWNED ?? null") is None
    hidden = {where for where, text in planted.items() if not where.startswith("rules.") and not looker.shows(text)}
    assert hidden == set()
    again = js(driver, "f.writeRecord(f.readRecord(arguments[0]))", park.read_text(encoding="utf-8"))
    assert read_text(again) == read_text(park.read_text(encoding="utf-8"))
    told = json.loads((tmp_path / "all" / "assessment.json").read_text(encoding="utf-8"))
    assert told["site"]["name"] == planted["record.site.name"]  # what a program reads is not changed at all


@needs_browser
@pytest.mark.parametrize("family", PAYLOADS)
def test_every_text_of_a_map_file_on_map_and_report(driver, run, tmp_path, family):
    made, _ = planted_record("template note")
    made["site"].pop("surroundings")
    park, planter = tmp_path / "park.yaml", Planter(PAYLOADS[family])
    (tmp_path / "paths.geojson").write_text(surroundings(planter.text), encoding="utf-8")
    made["site"]["surroundings_files"] = [{"file": "paths.geojson"}]
    park.write_text(yaml.safe_dump(made, allow_unicode=True, sort_keys=False), encoding="utf-8")
    run("assess", park, "--out", tmp_path / "all")
    looker = Looker(driver)
    for name in ("map.html", "report.html", "report_appendix.html"):
        looker.look(tmp_path / "all" / name)
    if family in SHOWN:
        assert looker.shows(planter.planted["path name"][:100])
        assert looker.shows(planter.planted["credit"][:100])


@needs_browser
@pytest.mark.parametrize("family", PAYLOADS)
def test_every_cell_of_an_inventory_through_sheets_to_the_map(driver, run, tmp_path, family):
    planter = Planter(PAYLOADS[family])
    (tmp_path / "trees.csv").write_text(inventory(planter.text), encoding="utf-8")
    run("survey", tmp_path / "trees.csv", "--span", "15 m", "60 m", "--out", tmp_path / "out", "--date", "2026-05-02")
    looker = Looker(driver)
    looker.look(tmp_path / "out" / "sketch.html")
    sheets = sorted((tmp_path / "out").glob("field_sheet_*.yaml"))
    assert sheets
    for sheet in sheets[:2]:
        run("assess", sheet, "--out", tmp_path / sheet.stem)
        for name in ("map.html", "report.html", "report_appendix.html"):
            looker.look(tmp_path / sheet.stem / name)
    if family in SHOWN and family != "long word":  # the words of a species cell, else of a park
        assert any(looker.shows(text[:60]) for text in planter.planted.values())


@pytest.mark.parametrize("family", [f for f in PAYLOADS if f not in KEPT_BY_A_REGISTER])
def test_a_register_refuses_markup_and_says_where(tmp_path, family):
    """A register's file is opened by map programs and spreadsheets too, so its texts hold no markup at all."""
    text = Planter(PAYLOADS[family]).text
    with pytest.raises(FaultyInput) as told:
        Store.create(tmp_path / "list.gpkg", title=text("title"), who="Ada", licence=text("licence"))
    assert {fault.field.removeprefix("body.") for fault in told.value.faults} == {"title", "licence"}
    with Store.create(tmp_path / "list.gpkg", title="Invented", who="Ada", licence="none") as store:
        before = store.heads()
        with pytest.raises(FaultyInput), store.change() as writer:
            actions.add_record(writer, planted_record(family)[0], actions.By("Ada", "why"))
        assert store.heads() == before


@needs_browser
@pytest.mark.parametrize("family", KEPT_BY_A_REGISTER)
def test_every_text_of_a_register_through_its_copies_and_papers(driver, run, tmp_path, family):
    made = planted_record(family)[0]
    planter, path = Planter(PAYLOADS[family]), tmp_path / "list.gpkg"
    text = planter.text
    with Store.create(path, title=text("title"), who=text("who")[:100], licence=text("licence")) as store:
        by = actions.By(text("who")[:100], text("why"))
        with store.change() as writer:
            names = actions.add_record(writer, made, by)
        with store.change() as writer:
            mark = {"by": "group", "given": True, "name": text("mark name"), "date": "2026-04-20",
                    "expires": "2026-12-31", "conditions": text("mark conditions")}  # fmt: skip
            actions.mark(writer, names["line L1"], mark, by)
            for body in (
                {"what": "event", "event": "damage", "date": "2026-05-01", "notes": text("event notes")},
                {"what": "inspection", "date": "2026-05-02", "inspector": text("inspector"),
                 "standing": "user of the line", "finding": text("finding"), "action": text("action")},
            ):  # fmt: skip
                actions.log(writer, names["anchor T1"], body, by)
    looker = Looker(driver)
    run("register", "list", path)
    for layer in ("officer", "public"):
        for ending in ("html", "geojson", "csv", "kml", "gpx", "gpkg", "zip"):
            run("register", "export", path, tmp_path / f"{layer}.{ending}", "--layer", layer, "--on", "2026-05-03")
        looker.look(tmp_path / f"{layer}.html")
    for kind in ("care", "year"):
        run("report", path, "--kind", kind, "--year", "2026", "--out", tmp_path / f"{kind}.html")
        looker.look(tmp_path / f"{kind}.html")
    for where in ("title", "licence", "mark conditions", "event notes", "finding", "action"):
        assert looker.shows(planter.planted[where]), where
    # what was written comes back in by each format, and the copy made of that says the same
    for ending in ("geojson", "kml", "gpx", "gpkg", "csv", "zip"):
        other = tmp_path / f"other-{ending}.gpkg"
        run("register", "init", other, "--title", "Invented", "--licence", "none", "--who", "Ben")
        run("register", "import", other, tmp_path / f"officer.{ending}", "--who", "Ben", "--why", "to try")
        run("register", "export", other, tmp_path / f"again-{ending}.html", "--layer", "officer")
        looker.look(tmp_path / f"again-{ending}.html")


@pytest.mark.parametrize("family", REFUSED)
def test_characters_no_record_may_hold_are_refused_by_name(run, tmp_path, family):
    made, planted = planted_record(family)
    park = tmp_path / "park.yaml"
    park.write_text(yaml.safe_dump(made, allow_unicode=True, sort_keys=False), encoding="utf-8")
    faults = json.loads(run("check", park, "--json", ok=False))["faults"]
    lines = park.read_text(encoding="utf-8").split("\n")
    assert [fault["line"] for fault in faults] == [n for n, line in enumerate(lines, 1) if re.search(r"q\d{3}q", line)]
    assert len(faults) >= len(planted) and all("character U+" in fault["read"] for fault in faults)
    run("check", park, ok=False)


@pytest.mark.parametrize("family", REFUSED)
def test_rules_hold_no_such_character_either(run, tmp_path, family):
    made = planted_record(family)[0]["site"]["rules"]
    sheet = tmp_path / "rules.yaml"
    sheet.write_text(yaml.safe_dump(made, allow_unicode=True, sort_keys=False), encoding="utf-8")
    for what in (("show", sheet), ("check", sheet)):
        assert "character U+" in run("rules", *what, ok=False)


@pytest.mark.parametrize("text", [
    "باغ می\u200cروم", "نمی\u200cخواهم", "क्\u200dष", "ශ්\u200dරී", "👨\u200d👩\u200d👧", "🏃🏽\u200d♀️", "❤️\u200d🔥",
    "🏴\U000e0067\U000e0062\U000e0073\U000e0063\U000e0074\U000e007f",
])  # fmt: skip
def test_names_spelled_with_joiners_stand_on_paper_as_they_were_written(text):
    assert plain(text) == text and plain(f"  {text}\n{text} ") == f"{text} {text}"


@pytest.mark.parametrize(("text", "shown"), [
    ("a\u200d b", "a b"), ("\u200dab\u200c", "ab"), ("a\u200c\u200db", "ab"), ("1\u200d2", "12"),
    ("a\u200bb\u200fc", "abc"),
    ("fo\u202eelba\u2066", "foelba"), ("oak\U000e0041\U000e0042\U000e007f", "oak"),
    ("🏴\U000e0067", "🏴"), ("a\u061cb", "ab"), ("5\u00a0kN\u202f: b\u00a0", "5\u00a0kN\u202f: b"),
    ("a\u00a0\u00a0b \u202f c", "a b c"),
])  # fmt: skip
def test_marks_that_nobody_sees_do_not_pass(text, shown):
    assert plain(text) == shown
