"""The field form filled in as in the park: no network, a page that is killed midway, every field there is."""

from __future__ import annotations

import contextlib
import json
from pathlib import Path

import pytest
import yaml
from click.testing import CliRunner
from form_browser import add, browsing, everything, js, needs_browser, open_form, press, screen, settle, type_in
from form_filling import answered, as_list_of_fixes, fill, fill_at_once, fullest
from form_fixtures import open_record, saved

from siteassess.cli import group
from siteassess.papers.form_data import parts
from siteassess.records.reading import read_text
from siteassess.records.schema import members
from siteassess.reference.locate import shipped

exceptions = pytest.importorskip("selenium.common.exceptions", reason="selenium is a test extra")
WebDriverException = exceptions.WebDriverException
pytestmark = needs_browser
PARK = shipped("examples") / "brindlewick" / "park.yaml"


def verdicts(path: Path) -> dict:
    result = CliRunner().invoke(group, ["assess", str(path), "--json"])
    assert result.exit_code == 0, result.output
    told = json.loads(result.stdout)
    return {line["id"]: (line["verdict"], [(a["code"], a["hold_use"], a["evidence"]) for a in line["anchors"]])
            for line in told["lines"]}  # fmt: skip


def test_a_line_typed_key_by_key_and_killed_midway_gives_the_demos_verdict(tmp_path, forms):
    """The demo's line L1 with its two oaks is typed in; the browser is killed between them; the verdict is the demo's.

    Key by key: site, survey, both trees and the whole line. The other lines come in the next test by opening the file.
    """
    demo = yaml.safe_load(PARK.read_text(encoding="utf-8"))
    keep = {"name", "invented", "country", "region", "root_zone_standard", "rules"}
    site = {key: value for key, value in demo["site"].items() if key in keep}
    downloads = tmp_path / "out"
    downloads.mkdir()
    with browsing(tmp_path / "profile", downloads) as driver:
        open_form(driver, forms["en"])
        everything(driver)
        fill(driver, "Site", "site", site)
        fill(driver, "Survey", "survey", demo["survey"])
        screen(driver, "anchors")
        add(driver, "tree")
        fill(driver, "Tree", "anchors.0", as_list_of_fixes(demo["anchors"][0]))
        add(driver, "tree")
        settle(driver)
        type_in(driver, "anchors.1.tag", "BW-01")
        settle(driver)
        with contextlib.suppress(WebDriverException):
            driver.execute_cdp_cmd("Browser.crash", {})  # the browser goes down as it stands, with no leave taken
    with browsing(tmp_path / "profile", downloads) as driver:
        open_form(driver, forms["en"])
        assert js(driver, "f.record().anchors[1].tag") == "BW-01"
        assert "still here" in driver.find_element("id", "kept").text
        fill(driver, "Tree", "anchors.1", as_list_of_fixes(demo["anchors"][1]))
        screen(driver, "lines")
        add(driver, "line")
        fill(driver, "Line", "lines.0", demo["lines"][0])
        exported = saved(driver, downloads)
    mine, wanted = read_text(exported.read_text(encoding="utf-8")), read_text(PARK.read_text(encoding="utf-8"))
    assert mine.anchors == wanted.anchors[:2] and mine.lines == wanted.lines[:1]
    assert mine.survey == wanted.survey and mine.site.rules == wanted.site.rules
    assert verdicts(exported)["L1"] == verdicts(PARK)["L1"]


def test_the_demos_whole_record_opened_and_saved_again_gives_the_demos_verdicts(form, downloads):
    open_record(form, PARK)
    assert "anchors 11, lines 5" in form.find_element("id", "handed").text
    exported = saved(form, downloads)
    assert verdicts(exported) == verdicts(PARK)
    assert form.get_log("browser") == []


def differences(one, other, path: str = "") -> list:
    """Where two plain records differ."""
    if isinstance(one, dict) and isinstance(other, dict):
        return [d for key in one | other for d in differences(one.get(key), other.get(key), f"{path}.{key}")]
    if isinstance(one, (list, tuple)) and isinstance(other, (list, tuple)) and len(one) == len(other):
        return [d for index, pair in enumerate(zip(one, other)) for d in differences(*pair, f"{path}[{index}]")]
    return [] if one == other else [(path, one, other)]


def test_every_field_of_the_full_record_can_be_entered_and_comes_back_unchanged(form, downloads):
    record = fullest()
    assert answered(record, parts()) == {(name, one.name) for name, model in parts().items() for one in members(model)}
    everything(form)
    type_in(form, "note", record["note"])
    fill_at_once(form, "Site", "site", record["site"])
    fill_at_once(form, "Survey", "survey", record["survey"])
    screen(form, "anchors")
    for index, anchor in enumerate(record["anchors"]):
        add(form, anchor["kind"])
        fill_at_once(form, anchor["kind"].capitalize(), f"anchors.{index}", anchor)
    screen(form, "lines")
    for index, line in enumerate(record["lines"]):
        add(form, "line")
        fill_at_once(form, "Line", f"lines.{index}", line)
    press(form, "fieldset[data-path=measured_pairs] > button.add")
    fill_at_once(form, "MeasuredPair", "measured_pairs.0", record["measured_pairs"][0])
    text = saved(form, downloads).read_text(encoding="utf-8")
    wanted = read_text(yaml.safe_dump(record, sort_keys=False, allow_unicode=True))
    assert differences(read_text(text).model_dump(), wanted.model_dump()) == []
    messages = (json.loads(entry["message"])["message"] for entry in form.get_log("performance"))
    asked = [m["params"]["request"]["url"] for m in messages if m["method"] == "Network.requestWillBeSent"]
    assert [url for url in asked if not url.startswith(("blob:", "file:", "data:"))] == []
    assert form.get_log("browser") == []


def test_every_field_of_the_short_form_is_shown_and_no_other(form):
    """What the short form asks is what the schema marks for it, on each screen."""
    for screen_name, part, path, added in (
        ("anchors", "Tree", "anchors.0", "tree"), ("anchors", "Boulder", "anchors.1", "boulder"),
        ("lines", "Line", "lines.0", "line"),
    ):  # fmt: skip
        screen(form, screen_name)
        add(form, added)
        nodes = form.find_elements("css selector", f"[data-path^='{path}.']")
        shown = {node.get_attribute("data-path") for node in nodes}
        top = {one.split(".")[2] for one in shown} - {"photos"}  # photos can be taken on either form
        assert top == {one.name for one in members(parts()[part]) if one.quick and one.name != "kind"}
