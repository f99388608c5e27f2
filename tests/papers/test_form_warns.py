"""What the field form says: wrong entries, what is missing, and nothing that a hostile text would have it do."""

from __future__ import annotations

import datetime
from pathlib import Path

import pytest
import yaml
from click.testing import CliRunner
from form_browser import choose, each_screen, js, needs_browser, note, press, screen, settle, type_in
from form_filling import fullest, one_tree, put_quantity, set_value
from form_fixtures import open_record, saved

from siteassess.advice.assess import assess
from siteassess.cli import group
from siteassess.papers.form_data import parts
from siteassess.papers.officer import write_officer
from siteassess.papers.sitemap import write_map
from siteassess.records.doubtful import check_readings
from siteassess.records.reading import read_text
from siteassess.records.schema import members

pytestmark = needs_browser
HOSTILE = (
    "<img src=x onerror=window.PWNED=1>${window.PWNED=2}`</script><script>window.PWNED=3</script>{{7*7}} &amp; \"'\\"
)


WRONG = {
    "a girth typed as a diameter": ("diameter", "196", "cm", "a girth typed as a diameter"),
    "inches typed as centimetres": ("diameter", "12", "cm", "in typed as cm"),
    "a comma of thousands": ("read_at", "1,300", "m", "Use a point for decimals"),
}




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
    for page in (write_map(judged, tmp_path / "map.html"), *write_officer(judged, tmp_path / "report.html")):
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
                is_choice = is_choice or key == "place" and "what" in node
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
