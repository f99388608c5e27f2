"""A hand in a glove, a screen reader, the sun, paper: the field form fits and is reached by each."""

from __future__ import annotations

import base64
from pathlib import Path

import pytest
import yaml
from form_browser import (
    NARROW,
    PHONE,
    add,
    choose,
    each_screen,
    everything,
    field,
    js,
    needs_browser,
    open_form,
    press,
    screen,
    type_in,
)
from form_filling import fullest, one_tree
from form_fixtures import clear, open_record

pytestmark = needs_browser
AXE = Path(__file__).parent / "vendor" / "axe-core" / "axe.min.js"


def fullest_screens(form, tmp_path) -> None:
    """Every field once, and no list longer than one item: a second is drawn as the first."""
    record, full = tmp_path / "all.yaml", fullest()
    full["anchors"][1:2], full["lines"] = [], full["lines"][:1]
    full["lines"][0]["b"]["anchor"] = full["measured_pairs"][0]["b"] = "A2"
    full["anchors"][0].pop("hard_edges"), full["site"].pop("surroundings")
    record.write_text(yaml.safe_dump(full, sort_keys=False, allow_unicode=True), encoding="utf-8")
    open_record(form, record)


AXE_RUN = """const done = arguments[0];
axe.run({ resultTypes: ['violations'] }).then(({ violations }) => done(violations
    .filter(({ impact }) => ['serious', 'critical'].includes(impact))
    .map(({ id, nodes }) => [id, nodes.slice(0, 3).map((node) => node.html.slice(0, 160))])));"""


def test_axe_finds_no_serious_fault_on_any_screen(form, tmp_path):
    fullest_screens(form, tmp_path)
    form.execute_cdp_cmd("Page.setBypassCSP", {"enabled": True})
    try:
        for full in (True, False):
            everything(form, full)
            for name in each_screen(form):
                form.execute_script(AXE.read_text(encoding="utf-8"))
                assert form.execute_async_script(AXE_RUN) == [], (name, full)
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
    for full in (True, False):
        everything(browser, full)
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
