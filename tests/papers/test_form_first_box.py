"""The box of the form's first word: what it says first, what it asks for, and that no field is left under it."""

from __future__ import annotations

import copy

import pytest
import yaml
from first_word_pairs import first_words, pair
from form_browser import field, js, needs_browser, open_form, screen, settle
from form_fixtures import clear, open_record

pytestmark = needs_browser
TALL, KEYBOARD, LEAST = (390, 844), (360, 380), (320, 300)  # a phone, with its keyboard up, and the smallest there is
HEADINGS = {"en": "First word, no verdict", "de": "Erstes Wort, kein Urteil", "fr": "Premier mot, pas un verdict",
            "es": "Primera palabra, no un veredicto"}  # fmt: skip


def _made() -> dict:
    """Two stout trees and a long line of which the second tree shows a stop sign."""
    made = copy.deepcopy(pair(0))
    for tree in made["anchors"]:
        tree |= {"height": "17 m", "stems": "single", "lean": "0 deg", "hard_edge_near": "no"}
        tree["trunk"] = [{"girth": "142 cm", "read_at": "1.3 m", "how": "taped"}]
        tree["signs"] = dict.fromkeys(tree["signs"], "no")
        tree["roots"] = dict.fromkeys(tree["roots"], "covered")
        tree["ground"] = tree["ground"] | {"slope": "0 deg", "wetness": "moist"}
        tree["species"] = {"name": "Tilia cordata", "certainty": "sure"}
    for name in ("hard_edges", "fork_height", "trial", "hollow"):
        made["anchors"][0].pop(name, None), made["anchors"][1].pop(name, None)
    line = made["lines"][0]
    line |= {"use": "low line", "webbing": {"kind": "polyester"}, "standing": {"tension": "3 kN"}, "ground": []}
    line |= {"span": {"taped": "20 m"}, "walkers": {"mass": "80 kg", "movement": "walk only, no bouncing"}}
    for end in "ab":
        line[end]["tie_height"] = "1 m"
    made["anchors"][1]["signs"]["stem_crack"] = "yes"
    return made


def _opened(form, tmp_path, made, size=TALL, of="lines"):
    """The record in the form, its first item open on a screen of a size."""
    path = tmp_path / "made.yaml"
    path.write_text(yaml.safe_dump(made, sort_keys=False), encoding="utf-8")
    open_record(form, path)
    form.execute_cdp_cmd("Emulation.setDeviceMetricsOverride",
                         {"width": size[0], "height": size[1], "deviceScaleFactor": 1, "mobile": True})  # fmt: skip
    screen(form, of)
    form.execute_script("document.querySelectorAll(`[data-path='${arguments[0]}.0']`)[0].open = true", of)
    settle(form)
    return form


def _box(form, of="lines"):
    settle(form)
    return form.find_element("css selector", f".first[data-first='{of}.0']")


COVERED = """const at = document.activeElement.getBoundingClientRect();
const box = document.querySelector(".first").getBoundingClientRect();
return box.bottom > 0 && at.top < box.bottom - 1 && at.bottom > box.top || at.bottom > innerHeight;"""


@pytest.mark.parametrize("size", [TALL, KEYBOARD, LEAST], ids=str)
def test_no_field_that_is_reached_by_the_keyboard_lies_under_the_first_word(form, tmp_path, size):
    from selenium.webdriver.common.keys import Keys

    _opened(form, tmp_path, _made(), size)
    form.execute_script("arguments[0].focus()", field(form, "lines.0.walkers.mass"))
    settle(form)
    under = [form.execute_script(COVERED)]
    for _ in range(12):
        form.switch_to.active_element.send_keys(Keys.SHIFT + Keys.TAB)
        settle(form)
        under.append(form.execute_script(COVERED))
    assert not any(under), under


@pytest.mark.parametrize("language", HEADINGS)
def test_the_worse_end_stands_first_and_over_a_keyboard_all_of_it_is_in_sight(browser, forms, tmp_path, language):
    open_form(browser, forms[language])
    clear(browser)
    for size, whole in ((TALL, False), (KEYBOARD, True)):
        box = _box(_opened(browser, tmp_path, _made(), size))
        rows = box.text.split("\n")
        assert rows[0] == HEADINGS[language]
        assert rows[1].startswith("T2") and rows[2].startswith("T1")
        if whole:
            assert box.get_property("scrollHeight") <= box.get_property("clientHeight") + 1
    open_form(browser, forms["en"])
    clear(browser)


def test_a_tree_of_no_kind_is_asked_for_it_and_a_strange_name_is_told(form, tmp_path):
    made = _made()
    made["anchors"][0].pop("species")
    _opened(form, tmp_path, made, of="anchors")
    assert "species or leaf type" in _box(form, "anchors").text.split("Look at next:")[1]
    made["anchors"][0]["species"] = {"name": "asdf"}
    _opened(form, tmp_path, made, of="anchors")
    assert "“asdf” is no kind of tree known here" in _box(form, "anchors").text
    made["anchors"][0]["species"] = {"name": "Linde"}
    _opened(form, tmp_path, made, of="anchors")
    assert "no kind of tree" not in _box(form, "anchors").text and "leaf type" not in _box(form, "anchors").text


@pytest.mark.parametrize("tension, told", [("0 kN", True), ("0.3 kN", True), ("3 kN", False)])
def test_a_line_slacker_than_the_table_is_told_what_it_is_weighed_as(form, tmp_path, tension, told):
    made = _made()
    made["lines"][0]["standing"]["tension"] = tension
    _opened(form, tmp_path, made)
    assert ("So slack a line is weighed here as one that stands at" in _box(form).text) is told


def test_a_pull_of_all_that_is_carried_is_not_told_as_part_of_it(form, tmp_path):
    made = _made()
    made["anchors"][1]["signs"]["stem_crack"] = "no"
    tensions = [f"{tenths / 10} kN" for tenths in range(5, 200)]
    words = first_words(form, [_with(made, tension) for tension in tensions])
    nearly = next(tension for tension, word in zip(tensions, words) if 0.9 < word["ends"][0].get("use", 0) <= 1)
    rows = _box(_opened(form, tmp_path, _with(made, nearly))).text.split("\n")
    told = next(row for row in rows if row.startswith("T1"))
    assert "That is all of it, or nearly" in told and "over 60" not in told


def _with(made: dict, tension: str) -> dict:
    """The record with another standing tension."""
    return made | {"lines": [made["lines"][0] | {"standing": {"tension": tension}}]}


@pytest.mark.parametrize("typed, metres", [('56"', 56 * 0.0254), ("56”", 56 * 0.0254), ("4’8”", 56 * 0.0254),
                                           ("5'", 5 * 0.3048), ('56.5"', 56.5 * 0.0254)])  # fmt: skip
def test_inches_and_feet_are_read_by_their_marks(form, typed, metres):
    assert js(form, "f.readQuantity(arguments[0], 'length').si", typed) == pytest.approx(metres, rel=1e-12)
