"""The field form in a real browser, as in the park: no network, a phone's screen, a page that is killed midway."""

from __future__ import annotations

import contextlib
import copy
import datetime
import json
import time
import zipfile
from pathlib import Path

import pytest
import yaml
from click.testing import CliRunner
from form_browser import (
    FRAMES,
    NARROW,
    PHONE,
    add,
    browsing,
    choose,
    everything,
    field,
    js,
    needs_browser,
    note,
    open_form,
    press,
    screen,
    settle,
    type_in,
)

from siteassess.advice.assess import assess
from siteassess.cli import group
from siteassess.errors import FaultyInput
from siteassess.papers.form import write_form
from siteassess.papers.form_data import parts
from siteassess.papers.report import write_report
from siteassess.papers.sitemap import write_map
from siteassess.records.fields import SECTORS
from siteassess.records.reading import read_text
from siteassess.records.readings import check_readings
from siteassess.records.schema import members
from siteassess.reference.locate import shipped

exceptions = pytest.importorskip("selenium.common.exceptions", reason="selenium is a test extra")
WebDriverException = exceptions.WebDriverException
pytestmark = needs_browser
HOSTILE = (
    "<img src=x onerror=window.PWNED=1>${window.PWNED=2}`</script><script>window.PWNED=3</script>{{7*7}} &amp; \"'\\"
)
PARK = shipped("examples") / "brindlewick" / "park.yaml"
AXE = Path(__file__).parent / "vendor" / "axe-core" / "axe.min.js"


@pytest.fixture(scope="module")
def forms(tmp_path_factory):
    folder = tmp_path_factory.mktemp("forms")
    return {language: write_form(folder / f"form-{language}.html", language) for language in ("en", "de", "fr", "es")}


@pytest.fixture(scope="module")
def downloads(tmp_path_factory):
    return tmp_path_factory.mktemp("downloads")


@pytest.fixture(scope="module")
def browser(downloads):
    with browsing(downloads=downloads) as driver:
        yield driver


@pytest.fixture
def form(browser, forms):
    """A fresh form with nothing in it."""
    open_form(browser, forms["en"])
    browser.execute_async_script("indexedDB.deleteDatabase('x'); setTimeout(arguments[0], 1)")
    clear(browser)
    browser.get_log("browser"), browser.get_log("performance")
    return browser


def clear(driver) -> None:
    screen(driver, "hand")
    press(driver, "#start-again")
    with contextlib.suppress(exceptions.NoAlertPresentException):  # nothing was filled in, so nothing was asked
        driver.switch_to.alert.accept()
    everything(driver, False)
    settle(driver)


def open_record(driver, path: Path) -> None:
    screen(driver, "hand")
    driver.find_element("id", "earlier").send_keys(str(path))
    settle(driver)


def saved(driver, downloads: Path, button: str = "#save-file") -> Path:
    """The file the form saves."""
    before = set(downloads.iterdir())
    screen(driver, "hand")
    press(driver, button)
    for _ in range(100):
        new = [path for path in set(downloads.iterdir()) - before if path.suffix in (".yaml", ".zip")]
        if new:
            return new[0]
        time.sleep(0.05)
    raise AssertionError("nothing was saved")


def verdicts(path: Path) -> dict:
    result = CliRunner().invoke(group, ["assess", str(path), "--json"])
    assert result.exit_code == 0, result.output
    told = json.loads(result.stdout)
    return {line["id"]: (line["verdict"], [(a["code"], a["hold_use"], a["evidence"]) for a in line["anchors"]])
            for line in told["lines"]}  # fmt: skip


# ---- typed key by key, killed midway, finished, handed over


def put_quantity(driver, path: str, text: str) -> None:
    number, unit = text.split(" ", 1)
    type_in(driver, path, number, unit)


def fill(driver, part: str, path: str, values: dict) -> None:
    """Fill in a part by its controls, in the order of the form."""
    for asked in members(parts()[part]):
        if asked.name not in values or (asked.name == "kind" and part in ("Tree", "Boulder", "Other")):
            continue
        value, where = values[asked.name], f"{path}.{asked.name}"
        if asked.kind == "part":
            unfold(driver, where)
            fill(driver, asked.models[0].__name__, where, value)
        elif asked.kind == "parts":
            for index, item in enumerate(value):
                unfold(driver, where)
                if not driver.find_elements("css selector", f"[data-path^='{where}.{index}.']"):
                    press(driver, f"fieldset[data-path='{where}'] > button.add:last-of-type")
                fill(driver, asked.models[0].__name__, f"{where}.{index}", item)
        else:
            answer(driver, asked, where, value)


def answer(driver, asked, where: str, value) -> None:
    if where.endswith(tuple(f"roots.{sector}" for sector in ("N", "NE", "E", "SE", "S", "SW", "W", "NW"))):
        roots, sector = where.rsplit(".", 1)
        choose(driver, f"{roots}.sector", sector)
        choose(driver, f"{roots}.state", value)
    elif asked.kind == "quantity":
        put_quantity(driver, where, value)
    elif asked.kind == "choice":
        choose(driver, where, value)
    elif asked.kind == "yes or no":
        choose(driver, where, "true" if value else "false")
    elif asked.name in ("anchor", "landmark") or where.startswith("measured_pairs") and asked.kind == "code":
        choose(driver, where, value)
    elif asked.kind in ("date", "time"):
        set_value(driver, where, value)  # a picker takes keys in the order of the phone's own language
    elif asked.kind == "points":
        type_in(driver, where, "\n".join(f"{lat}, {lon}" for lat, lon in value))
    elif asked.kind == "table":
        type_in(driver, where, yaml.safe_dump(value, default_flow_style=True, width=9999).strip())
    else:
        type_in(driver, where, str(value))


STEPS = """const [steps, done] = arguments;
const wait = () => new Promise((go) => requestAnimationFrame(() => requestAnimationFrame(go)));
const id = (path) => "f-" + path.replaceAll(".", "-").replaceAll(" ", "_");
(async () => {
  for (const [what, path, value, unit] of steps) {
    const node = document.getElementById(id(path));
    if (what === "unfold") {
      const box = document.querySelector(`details[data-path="${path}"]:not([open])`);
      if (box) box.open = true;
      while (box && !box.querySelector(".body").hasChildNodes()) await wait();
    } else if (what === "item") {
      if (!document.querySelector(`[data-path^="${path}."]`)) {
        const list = document.querySelector(`fieldset[data-path="${path.replace(/\\.\\d+$/, "")}"]`);
        list.querySelector(":scope > button.add:last-of-type").click();
      }
    } else if (!node) {
      return done(`no field ${path}`);
    } else if (what === "choose" && node.tagName !== "SELECT") {
      const box = [...node.querySelectorAll("input")].find((one) => one.value === value);
      if (!box) return done(`no answer ${value} at ${path}`);
      box.click();
    } else {
      node.value = value;
      node.dispatchEvent(new Event(node.tagName === "SELECT" ? "change" : "input"));
      if (unit) {
        const list = document.getElementById(id(path) + "-unit");
        list.value = unit;
        list.dispatchEvent(new Event("change"));
      }
    }
  }
  done("");
})();"""


def steps_of(part: str, path: str, values: dict) -> list:
    """What a hand would do to fill in a part, step by step in the order of the form."""
    steps = []
    for asked in members(parts()[part]):
        if asked.name not in values or (asked.name == "kind" and part in ("Tree", "Boulder", "Other")):
            continue
        value, where = values[asked.name], f"{path}.{asked.name}"
        if asked.kind in ("part", "parts"):
            steps.append(["unfold", where])
        if asked.kind == "part":
            steps += steps_of(asked.models[0].__name__, where, value)
        elif asked.kind == "parts":
            for index, item in enumerate(value):
                steps += [["item", f"{where}.{index}"], *steps_of(asked.models[0].__name__, f"{where}.{index}", item)]
        elif part == "Roots" and asked.name in SECTORS:
            steps += [["choose", f"{path}.sector", asked.name], ["choose", f"{path}.state", value]]
        elif asked.kind == "quantity":
            steps.append(["type", where, *value.split(" ", 1)])
        elif asked.kind in ("choice", "yes or no"):
            steps.append(["choose", where, {True: "true", False: "false"}.get(value, value)])
        elif asked.kind == "points":
            steps.append(["type", where, "\n".join(f"{lat}, {lon}" for lat, lon in value)])
        elif asked.kind == "table":
            steps.append(["type", where, yaml.safe_dump(value, default_flow_style=True, width=9999).strip()])
        else:
            steps.append(["type", where, str(value)])
    return steps


def fill_at_once(driver, part: str, path: str, values: dict) -> None:
    """Fill in a part by its controls in one go, inside the page."""
    told = driver.execute_async_script(STEPS, steps_of(part, path, values))
    assert told == "", told


def set_value(driver, path: str, value: str) -> None:
    driver.execute_script(
        "arguments[0].value = arguments[1]; arguments[0].dispatchEvent(new Event('input', {bubbles: true}))",
        field(driver, path), value,
    )  # fmt: skip


def unfold(driver, path: str) -> None:
    for box in driver.find_elements("css selector", f"details[data-path='{path}']:not([open]) > summary"):
        driver.execute_script("arguments[0].click()", box)
        driver.execute_async_script(FRAMES)


def as_list_of_fixes(anchor: dict) -> dict:
    anchor = copy.deepcopy(anchor)
    if "fixes" not in anchor.get("position", {"fixes": []}):
        anchor["position"] = {"fixes": [anchor["position"]]}
    return anchor


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
    assert "11 anchors, 5 lines" in form.find_element("id", "handed").text
    exported = saved(form, downloads)
    assert verdicts(exported) == verdicts(PARK)
    assert form.get_log("browser") == []


# ---- every field there is


def example_of(part: str, asked, turn: int):
    """Something to put into a field; `turn` tells items of a list apart."""
    if asked.kind == "part":
        return example_part(asked.models[0], turn)
    if asked.kind == "parts":
        return [example_part(asked.models[0], turn), example_part(asked.models[0], turn + 1)]
    if asked.kind == "quantity":
        return asked.example
    if asked.kind == "choice":
        others = [choice for choice in asked.choices if choice != asked.default]  # what counts anyhow need not be typed
        return others[turn % len(others)]
    if asked.name in ("country", "time_zone", "path"):
        return {"country": "NL", "time_zone": "Europe/Oslo", "path": f"photos/{turn}.jpg"}[asked.name]
    if asked.kind in ("number", "whole number"):
        return {"lat": 52.123456, "lon": -4.5}.get(asked.name, int(asked.low) + 1)
    simple = {
        "text": f"{part} {asked.name} {turn}", "code": f"X{turn}", "date": f"2026-01-0{turn + 1}", "time": "09:30",
        "yes or no": turn % 2 == 0, "points": [[52.1234, -4.5001], [52.1236, -4.4998]],
        "table": {"id": "x", "clauses": [1, "no"]},
    }  # fmt: skip
    return simple[asked.kind]


def example_part(model, turn: int) -> dict:
    name = model.__name__
    made = {asked.name: example_of(name, asked, turn) for asked in members(model)}
    # what cannot stand together stands in turns
    gone = {"TrunkReading": (("girth",), ("diameter",)), "Fix": (("at",), ("lat", "lon")),
            "Standing": (("sag", "sag_under"), ("tension",))}.get(name, ((), ()))[turn % 2]  # fmt: skip
    made = {key: value for key, value in made.items() if key not in gone}
    if name == "Tie":
        made["landmark"] = "M0"
    return made


def fullest() -> dict:
    """A record in which every field of the schema is answered somewhere."""
    models = parts()
    made = {"siteassess_record": 1, "note": "all of it"}
    made["site"] = example_part(models["Site"], 0)
    made["site"]["landmarks"] = [{"code": "M0", "what": "a bench", "position": example_part(models["Position"], 0)}]
    made["site"]["landmarks"][0]["position"].pop("ties")
    made["survey"] = example_part(models["Survey"], 0)
    kinds = (("tree", "Tree"), ("boulder", "Boulder"), ("other", "Other"))
    made["anchors"] = [
        example_part(models[name], 0) | {"kind": kind, "code": f"A{index}"} for index, (kind, name) in enumerate(kinds)
    ]
    made["lines"] = [example_part(models["Line"], turn) | {"id": f"L{turn}"} for turn in (0, 1)]
    for line in made["lines"]:
        line["a"]["anchor"], line["b"]["anchor"] = "A0", "A1"
        line["planned"] |= {"date": "2026-02-01", "until": "2026-02-02"}
    made["measured_pairs"] = [example_part(models["MeasuredPair"], 0) | {"a": "A0", "b": "M0"}]
    return made


def answered(record: dict, models: dict) -> set:
    """Every field by its part that a plain record answers."""
    seen: set = set()

    def walk(model, values: dict) -> None:
        for asked in members(model):
            if values.get(asked.name) in (None, [], {}):
                continue
            seen.add((model.__name__, asked.name))
            inside = values[asked.name] if asked.kind == "parts" else [values[asked.name]]
            for item in inside if asked.models else ():
                by_kind = {one.__name__.lower(): one for one in asked.models}
                walk(by_kind[item["kind"]] if len(asked.models) > 1 else asked.models[0], item)

    walk(models["Record"], record)
    return seen


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


# ---- wrong entries


WRONG = {
    "a girth typed as a diameter": ("diameter", "196", "cm", "a girth typed as a diameter"),
    "inches typed as centimetres": ("diameter", "10", "cm", "inches typed as centimetres"),
    "a decimal comma": ("read_at", "1,3", "m", "Use a point for decimals"),
}


def one_tree(form) -> None:
    type_in(form, "site.name", "Otter Mead (invented)")
    type_in(form, "survey.by", "N. Body (invented)")
    set_value(form, "survey.date", datetime.date.today().isoformat())
    screen(form, "anchors")
    everything(form)
    add(form, "tree")
    press(form, "fieldset[data-path='anchors.0.trunk'] > button.add")
    put_quantity(form, "anchors.0.height", "17 m")
    put_quantity(form, "anchors.0.trunk.0.read_at", "1.3 m")


def told_by_the_program(path: Path) -> str:
    """Everything `check` says of a file: faults, or doubtful readings."""
    result = CliRunner().invoke(group, ["check", str(path), "--json"])
    return result.stdout


@pytest.mark.parametrize("name", WRONG)
def test_a_wrong_size_is_named_by_form_and_program(form, downloads, name):
    which, number, unit, words = WRONG[name]
    one_tree(form)
    if which == "read_at":
        put_quantity(form, "anchors.0.trunk.0.girth", "150 cm")
    type_in(form, f"anchors.0.trunk.0.{which}", number, unit)
    said = note(form, f"anchors.0.trunk.0.{which}")
    assert words in said
    assert words in told_by_the_program(saved(form, downloads))


def test_a_bearing_of_370_is_named_by_form_and_program(form, downloads):
    one_tree(form)
    put_quantity(form, "anchors.0.trunk.0.girth", "150 cm")
    put_quantity(form, "anchors.0.lean_toward", "370 deg")
    assert "between 0 deg and 360 deg" in note(form, "anchors.0.lean_toward")
    assert "between 0 deg and 360 deg" in told_by_the_program(saved(form, downloads))


def test_a_future_date_is_named_by_form_and_program(form, downloads):
    one_tree(form)
    put_quantity(form, "anchors.0.trunk.0.girth", "150 cm")
    screen(form, "site")
    set_value(form, "survey.date", (datetime.date.today() + datetime.timedelta(days=400)).isoformat())
    assert "has not come yet" in note(form, "survey.date")
    assert "a day that has come" in told_by_the_program(saved(form, downloads))


def test_a_warning_never_blocks_and_never_changes_what_was_typed(form, downloads):
    one_tree(form)
    type_in(form, "anchors.0.trunk.0.diameter", "196", "cm")
    assert note(form, "anchors.0.trunk.0.diameter")
    record = read_text(saved(form, downloads).read_text(encoding="utf-8"))
    assert record.anchors[0].trunk[0].diameter.text == "196 cm"
    assert any("typed as a diameter" in warning.likelier for warning in check_readings(record))


def test_what_is_missing_is_counted_down_and_no_verdict_is_given(form):
    one_tree(form)
    told = "[data-missing='anchors.0']"
    settle(form)
    before = form.find_element("css selector", told).text
    choose(form, "anchors.0.signs.dead_tree", "no")
    settle(form)
    after = form.find_element("css selector", told).text
    assert int(after.split()[0]) == int(before.split()[0]) - 1
    screen(form, "hand")
    settle(form)
    page = form.find_element("id", "screen").text
    assert "gives no verdict" in page and "still missing" in page


# ---- hostile texts


def test_hostile_texts_in_every_field_run_nothing_anywhere(form, downloads, tmp_path):
    record = fullest()
    for model, values in walk_texts(record):
        values[model] = HOSTILE
    record["anchors"][0]["position"].pop("ties", None)
    record["site"].pop("rule_set"), record["site"].pop("rules"), record["site"].pop("surroundings_files")
    record["site"]["time_zone"], record["site"]["country"] = "Europe/Oslo", "NL"
    hostile = tmp_path / "hostile.yaml"
    hostile.write_text(yaml.safe_dump(record, sort_keys=False, allow_unicode=True), encoding="utf-8")
    open_record(form, hostile)
    for _ in each_screen(form):
        assert js(form, "window.PWNED ?? null") is None
        planted = "return document.querySelectorAll('main :is(script, iframe, [onerror])').length"
        assert form.execute_script(planted) == 0
    press(form, "#copy-text")
    settle(form)
    assert form.get_log("browser") == []
    exported = saved(form, downloads)
    again = read_text(exported.read_text(encoding="utf-8"))
    assert again.site.name == again.anchors[0].name == again.lines[0].notes == HOSTILE
    judged = assess(again)
    for page in (write_map(judged, tmp_path / "map.html"), write_report(judged, tmp_path / "report.html")):
        form.get(page.as_uri())
        settle(form)
        assert form.execute_script("return window.PWNED ?? null") is None
        assert form.get_log("browser") == []


def walk_texts(values):
    """Every free text of a plain record: its key, and the part it stands in."""
    free = {(name, one.name) for name, model in parts().items() for one in members(model) if one.kind == "text"}
    names = {name for _, name in free} - {"path", "file", "country", "time_zone", "rule_set", "what_else"}
    found = []

    def walk(node) -> None:
        if isinstance(node, dict):
            for key, value in node.items():
                if key == "rules":
                    continue
                # some keys are a text in one part and a choice in another
                is_choice = key in ("kind", "at") or key == "what" and "side" in node
                if key in names and isinstance(value, str) and not is_choice:
                    found.append((key, node))
                walk(value)
        elif isinstance(node, list):
            for item in node:
                walk(item)

    walk(values)
    return found


def test_an_unprintable_character_never_reaches_the_record(form, downloads):
    type_in(form, "survey.by", "N. Body")
    set_value(form, "site.name", "Otter\u202eMead\u0000")
    set_value(form, "survey.date", "2026-04-18")
    assert read_text(saved(form, downloads).read_text(encoding="utf-8")).site.name == "OtterMead"


# ---- positions, pairs, photos


def test_bearing_and_distance_of_a_pair_stand_beside_the_tape(form):
    open_record(form, PARK)
    screen(form, "lines")
    unfold(form, "lines.0")
    settle(form)
    said = form.find_element("css selector", "details[data-path='lines.0'] .panel").text
    # by the program's own geodesic the pair lies 43.4 m apart at 061 degrees
    assert "43.4 m" in said and "061° from A to B, 241° back" in said
    assert "The tape reads 0.5 m" in said and "compass (magnetic north) points 3° left" in said


def test_the_phones_position_is_taken_where_it_is_given_and_its_refusal_is_said(form):
    screen(form, "anchors")
    add(form, "tree")
    form.execute_script("""navigator.geolocation.watchPosition = (take) => { setTimeout(() => {
        for (let i = 0; i < 10; i += 1) take({ coords: { latitude: 54.5 + i * 1e-6, longitude: 2.5, accuracy: 6 } });
        }, 20); return 1; };""")
    press(form, "fieldset[data-path='anchors.0.position'] > button")
    settle(form)
    assert js(form, "f.record().anchors[0].position.fixes") == [
        {"lat": "54.5000045", "lon": "2.5000000", "accuracy": "6 m", "accuracy_means": "95 %", "how": "phone"}
    ]
    form.execute_script("""navigator.geolocation.watchPosition = (take, fail) => {
        setTimeout(() => fail({ code: 1 }), 20); return 1; };""")
    press(form, "fieldset[data-path='anchors.0.position'] > button")
    settle(form)
    said = form.find_element("css selector", "fieldset[data-path='anchors.0.position'] > [role=status]").text
    assert "refused" in said


def photo_with_a_position(path: Path) -> Path:
    """A picture whose data name the place it was taken at."""
    image = pytest.importorskip("PIL.Image", reason="comes with matplotlib")
    picture = image.new("RGB", (2400, 1200), (40, 90, 40))
    data = picture.getexif()
    data[0x010E] = "SECRETPLACE"
    data[0x8825] = {1: "N", 2: (54.0, 30.0, 0.0), 3: "E", 4: (2.0, 30.0, 0.0)}
    picture.save(path, exif=data)
    assert b"SECRETPLACE" in path.read_bytes()
    return path


def test_a_photo_loses_its_position_and_lies_beside_the_record(form, downloads, tmp_path):
    import io

    from PIL import Image

    one_tree(form)
    put_quantity(form, "anchors.0.trunk.0.girth", "150 cm")
    picker = form.find_elements("css selector", "fieldset[data-path='anchors.0.photos'] input[type=file]")
    assert [one.get_attribute("capture") for one in picker] == ["environment", None]
    picker[1].send_keys(str(photo_with_a_position(tmp_path / "IMG_1.jpg")))
    for _ in range(40):
        settle(form)
        if js(form, "f.record().anchors[0].photos ?? null"):
            break
    assert js(form, "f.record().anchors[0].photos") == [{"path": "photos/T1-1.jpg"}]
    with zipfile.ZipFile(saved(form, downloads, "#save-all")) as archive:
        assert archive.namelist() == ["record.yaml", "photos/T1-1.jpg"]
        assert read_text(archive.read("record.yaml").decode()).anchors[0].photos[0].path == "photos/T1-1.jpg"
        picture = archive.read("photos/T1-1.jpg")
    assert b"SECRETPLACE" not in picture and b"Exif" not in picture
    opened = Image.open(io.BytesIO(picture))
    assert opened.size == (2000, 1000) and not dict(opened.getexif())


# ---- keeping


def test_every_keystroke_is_kept(form, forms):
    type_in(form, "site.name", "Otter Me")
    settle(form)
    form.execute_script("window.onbeforeunload = null")
    open_form(form, forms["de"])  # the same record, in another language
    assert field(form, "site.name").get_attribute("value") == "Otter Me"


def test_without_a_base_it_keeps_in_local_storage_and_without_that_it_warns(browser, forms):
    gone = {
        "local": "Object.defineProperty(window, 'indexedDB', { value: undefined });",
        "none": "Object.defineProperty(window, 'indexedDB', { value: undefined });"
                "Object.defineProperty(window, 'localStorage', { get() { throw new Error('no'); } });",
    }  # fmt: skip
    for how, source in gone.items():
        told = browser.execute_cdp_cmd("Page.addScriptToEvaluateOnNewDocument", {"source": source})
        try:
            open_form(browser, forms["en"])
            kept = browser.find_element("id", "kept")
            if how == "none":
                assert "keeps nothing" in kept.text and "warns" in kept.get_attribute("class")
                continue
            type_in(browser, "site.name", "Local Mead")
            settle(browser)
            open_form(browser, forms["en"])
            assert field(browser, "site.name").get_attribute("value") == "Local Mead"
            browser.execute_script("localStorage.clear()")
        finally:
            browser.execute_cdp_cmd("Page.removeScriptToEvaluateOnNewDocument", told)


def test_closing_with_unsaved_work_asks_first(form, downloads):
    leaves = "const e = new Event('beforeunload', { cancelable: true }); dispatchEvent(e); return !e.defaultPrevented;"
    assert form.execute_script(leaves)
    type_in(form, "site.name", "Otter Mead")
    assert not form.execute_script(leaves)
    saved(form, downloads)
    settle(form)
    assert form.execute_script(leaves)


def test_what_was_taken_away_can_be_put_back(form):
    one_tree(form)
    press(form, "details[data-path='anchors.0'] > .body > button.remove")
    assert js(form, "f.record().anchors.length") == 0
    press(form, "#undo button")
    assert js(form, "f.record().anchors[0].height") == "17 m"


def test_a_file_that_is_no_record_is_refused_and_nothing_is_lost(form, tmp_path):
    type_in(form, "site.name", "Otter Mead")
    bad = tmp_path / "bad.yaml"
    bad.write_text("siteassess_record: 1\nsite: {name: x, nmae: y}\n", encoding="utf-8")
    open_record(form, bad)
    assert 'Line 2: the form has no field "nmae"' in form.find_element("id", "handed").text
    assert js(form, "f.record().site.name") == "Otter Mead"
    with pytest.raises(FaultyInput):
        read_text(bad.read_text(encoding="utf-8"))


# ---- a hand in a glove, a screen reader, the sun


def fullest_screens(form, tmp_path) -> None:
    """Every field once, and no list longer than one item: a second is drawn as the first."""
    record, full = tmp_path / "all.yaml", fullest()
    full["anchors"][1:2], full["lines"] = [], full["lines"][:1]
    full["lines"][0]["b"]["anchor"] = full["measured_pairs"][0]["b"] = "A2"
    full["anchors"][0].pop("hard_edges"), full["site"].pop("surroundings")
    record.write_text(yaml.safe_dump(full, sort_keys=False, allow_unicode=True), encoding="utf-8")
    open_record(form, record)


def each_screen(form):
    for name in ("site", "anchors", "lines", "hand"):
        screen(form, name)
        for _ in range(3):  # parts within parts
            form.execute_script("document.querySelectorAll('main details').forEach((box) => (box.open = true))")
            form.execute_async_script(FRAMES)
        settle(form)
        yield name


AXE_RUN = """const done = arguments[0];
axe.run({ resultTypes: ['violations'] }).then(({ violations }) => done(violations
    .filter(({ impact }) => ['serious', 'critical'].includes(impact))
    .map(({ id, nodes }) => [id, nodes.slice(0, 3).map((node) => node.html.slice(0, 160))])));"""


def test_axe_finds_no_serious_fault_on_any_screen(form, tmp_path):
    fullest_screens(form, tmp_path)
    form.execute_cdp_cmd("Page.setBypassCSP", {"enabled": True})
    try:
        for name in each_screen(form):
            form.execute_script(AXE.read_text(encoding="utf-8"))
            assert form.execute_async_script(AXE_RUN) == [], name
    finally:
        form.execute_cdp_cmd("Page.setBypassCSP", {"enabled": False})


TARGETS = """return [...document.querySelectorAll('button, select, textarea, input, summary')]
    .map((node) => [node, node.closest('label') ?? node])
    .filter(([, box]) => box.checkVisibility() && !box.matches('.hidden'))
    .map(([node, box]) => [box.getBoundingClientRect(), node]).filter(([r]) => r.width < 45.3 || r.height < 45.3)
    .map(([r, node]) => `${node.tagName} ${node.id} ${r.width} x ${r.height}`);"""


@pytest.mark.parametrize("language", ["en", "de", "fr", "es"])
def test_every_target_is_twelve_millimetres_and_every_language_fits_at_320(browser, forms, tmp_path, language):
    """12 mm are 45.4 px at 96 px an inch; nothing is wider than the screen."""
    open_form(browser, forms[language], NARROW)
    fullest_screens(browser, tmp_path)
    for name in each_screen(browser):
        assert browser.execute_script(TARGETS) == [], name
        assert browser.execute_script("return document.documentElement.scrollWidth") <= 320, name
        cut = """return [...document.querySelectorAll('main button, main label, main summary, nav button')]
            .filter((n) => n.checkVisibility() && n.scrollWidth > n.clientWidth + 2).map((n) => n.textContent);"""
        assert browser.execute_script(cut) == [], name
    open_form(browser, forms["en"], PHONE)
    clear(browser)


def test_numbers_bring_up_the_number_pad(form):
    one_tree(form)
    assert field(form, "anchors.0.height").get_attribute("inputmode") == "decimal"
    # a pad has no minus on some phones: a button turns the sign
    press(form, "[data-path='anchors.0.ground'] [data-path='anchors.0.ground.slope'] button")
    field(form, "anchors.0.ground.slope").send_keys("4")
    assert js(form, "f.record().anchors[0].ground.slope") == "-4 deg"


def test_roots_are_marked_by_tapping_or_from_the_keyboard(form):
    from selenium.webdriver.common.keys import Keys

    screen(form, "anchors")
    add(form, "tree")
    tap = "document.querySelector('[data-sector=SE]').dispatchEvent(new MouseEvent('click', {bubbles: true}))"
    form.execute_script(tap)
    choose(form, "anchors.0.roots.state", "undercut")
    assert js(form, "f.record().anchors[0].roots") == {"SE": "undercut"}
    north = form.find_element("css selector", "[id='f-anchors-0-roots-sector'] input[value=SE]")
    north.send_keys(Keys.ARROW_RIGHT)  # on to the next sector
    state = form.find_element("css selector", "[id='f-anchors-0-roots-state'] input:checked")
    state.send_keys(Keys.ARROW_LEFT)
    roots = js(form, "f.record().anchors[0].roots")
    assert set(roots) == {"SE", "S"} and roots["S"] != "undercut"


def test_a_tree_is_suggested_in_the_persons_own_language(browser, forms):
    open_form(browser, forms["de"])
    clear(browser)
    screen(browser, "anchors")
    add(browser, "tree")
    type_in(browser, "anchors.0.species.name", "stieleic")
    press(browser, ".suggestions button")
    assert js(browser, "f.record().anchors[0].species.name") == "Quercus robur"
    open_form(browser, forms["en"])
    clear(browser)


@pytest.mark.parametrize("size", [(8.27, 11.69), (8.5, 11)], ids=["A4", "Letter"])
def test_the_paper_form_prints_in_black_on_white(form, size):
    printed = form.execute_cdp_cmd("Page.printToPDF", {"paperWidth": size[0], "paperHeight": size[1]})
    import base64

    data = base64.b64decode(printed["data"])
    pages = data.count(b"/Type /Page\n") + data.count(b"/Type /Page ") + data.count(b"/Type /Page/")
    assert 3 <= pages <= 6, pages
    form.execute_cdp_cmd("Emulation.setEmulatedMedia", {"media": "print"})
    try:
        colours = form.execute_script("""return [...new Set([...document.querySelectorAll('.paper, .paper *')]
            .filter((n) => n.checkVisibility()).flatMap((n) => { const s = getComputedStyle(n);
                return [s.color, s.backgroundColor]; }))]""")
        assert set(colours) <= {"rgb(0, 0, 0)", "rgb(255, 255, 255)", "rgba(0, 0, 0, 0)"}
        assert not form.find_element("css selector", ".app").is_displayed()
    finally:
        form.execute_cdp_cmd("Emulation.setEmulatedMedia", {"media": ""})
