"""What is taken away in the field form: a record for good while another tab shows it, and an entry that is put back."""

from __future__ import annotations

import copy

import pytest
from form_browser import needs_browser
from form_page import Page, another, wiped
from form_stage import WITHOUT_BASE, WITHOUT_LOCKS

pytestmark = needs_browser
BLIND = "navigator.locks.query = async () => ({ held: [] });"  # sees no other tab


def beside_another(stage, first: str, more: str = "") -> tuple[Page, Page]:
    """Two tabs: one shows "Otter", the other one a new record and "Otter" in its list."""
    one = wiped(stage, first)
    one.type("Otter")
    if WITHOUT_BASE not in first:
        one.kept()
    two = another(stage, first + more)
    assert two.name == "Otter"
    two.press("nav button[data-screen=hand]")
    two.press("#start-again")
    two.tab.until("!siteassessForm.record().site.name")
    two.press("nav button[data-screen=hand]")
    two.tab.until("document.querySelector('[data-work]') !== null", 20)
    return one, two


# ---- a record for good


def test_a_record_is_taken_off_the_device_only_when_that_is_confirmed(stage):
    page = wiped(stage)
    page.type("Otter")
    page.press("nav button[data-screen=hand]")
    page.press("#start-again")
    page.tab.until("!siteassessForm.record().site.name")
    page.press("nav button[data-screen=hand]")
    page.tab.until("document.querySelector('[data-work]') !== null", 20)
    page.tab.js("window.confirm = (text) => { window.asked = text; return false; }")
    page.press_words("Remove")
    assert "for ever" in page.tab.js("window.asked") and page.beside == ["Otter"]
    page.tab.js("window.confirm = () => true")
    page.press_words("Remove")
    page.tab.until("!document.querySelector('[data-work]')")
    page.open()
    assert page.beside == [] and not page.name


@pytest.mark.parametrize("first", ["", WITHOUT_LOCKS, WITHOUT_BASE, WITHOUT_BASE + WITHOUT_LOCKS],
                         ids=["base", "no locks", "local storage", "local storage, no locks"])  # fmt: skip
def test_a_record_that_another_tab_shows_is_not_removed(stage, first):
    one, two = beside_another(stage, first)
    two.press_words("Remove")
    two.tab.until("document.querySelector('[data-work]').textContent.includes('open in another tab')")
    one.type(" Mead")
    if not first:
        one.kept()
    one.tab.close()
    said = "document.querySelector('[data-work]').textContent"
    while "open in another tab" in two.tab.js(said):  # a tab that was just closed may still be ending
        two.tab.js("document.querySelector('[data-work] [role=status]').textContent = ''")
        two.press_words("Remove")  # the list is older than what was typed
        two.tab.until("document.querySelector('[data-work] [role=status]').textContent")
    assert "changed since this list" in two.tab.js(said)
    assert two.beside == ["Otter Mead"]
    two.press("nav button[data-screen=site]")
    two.press("nav button[data-screen=hand]")
    two.tab.until("document.querySelector('[data-work]')?.textContent.includes('Otter Mead')")
    two.press_words("Remove")
    two.tab.until("!document.querySelector('[data-work]')")
    two.open()
    assert two.beside == []


@pytest.mark.parametrize("way", ["types on", "keeps it again"])
def test_a_tab_whose_record_was_removed_all_the_same_says_so_and_keeps_what_is_typed(stage, way):
    one, two = beside_another(stage, "", BLIND)
    two.press_words("Remove")
    two.tab.until("!document.querySelector('[data-work]')")
    one.says("removed from this device in another tab")
    assert "Every keystroke is kept" not in one.said
    if way == "types on":
        one.type("s")
    else:
        one.press_words("Keep it again")
    one.says("Every keystroke is kept")
    assert "removed from this device" not in one.said
    one.kept()
    one.open()
    assert one.name == ("Otters" if way == "types on" else "Otter")


# ---- an entry that is put back


@pytest.mark.parametrize("way", ["start again", "open the one beside"])
def test_what_was_taken_from_one_record_is_not_put_back_into_another(stage, way):
    page = wiped(stage)
    if way != "start again":
        page.type("Beside")
        page.press("nav button[data-screen=hand]")
        page.press("#start-again")
        page.tab.until("!siteassessForm.record().site.name")
    page.type("Otter")
    page.press("nav button[data-screen=anchors]")
    page.press("[data-add=tree]")
    page.tab.until("document.querySelector('button.remove') !== null")
    page.tab.js("[...document.querySelectorAll('button.remove')].at(-1).click()")  # the tree's own is the last
    page.tab.until("document.querySelector('#undo button') !== null")
    page.press("nav button[data-screen=hand]")
    if way == "start again":
        page.press("#start-again")
    else:
        page.press_words("Open")
    page.tab.until("siteassessForm.record().site.name !== 'Otter'")
    assert page.tab.js("document.querySelector('#undo button') === null")


def edge(distance: str) -> dict:
    return {"what": "kerb", "side": "N", "distance": distance}


def tree(code: str, *edges: str) -> dict:
    return {"kind": "tree", "code": code} | ({"hard_edges": [edge(one) for one in edges]} if edges else {})


def held(stage, *trees: dict) -> Page:
    record = {"site": {"name": "Otter"}, "survey": {}, "anchors": list(trees), "lines": []}
    opened = {f"anchors.{index}": True for index in range(len(trees))}
    return wiped(stage).hold(record, open=opened)


def edges_of(page: Page) -> dict:
    return {one["code"]: [edge.get("distance") for edge in one.get("hard_edges", [])] for one in page.record["anchors"]}


def take_away(page: Page, where: str, number: int = 0) -> None:
    box = f"fieldset[data-path='{where}'] > .item"
    page.tab.until(f'document.querySelectorAll("{box}").length > {number}')
    page.tab.js(f'document.querySelectorAll("{box}")[{number}].querySelector(":scope > button.remove").click()')


def take_away_tree(page: Page, number: int) -> None:
    page.press(f"details[data-path='anchors.{number}'] > .body > button.remove")


def test_an_entry_is_put_back_where_it_was_after_another_one_was_added(stage):
    page = held(stage, tree("T1", "1 m", "2 m"), tree("T2", "3 m"))
    take_away(page, "anchors.0.hard_edges")
    page.press("fieldset[data-path='anchors.0.hard_edges'] > button.add")
    page.type("4", "anchors-0-hard_edges-1-distance", "anchors")
    page.press("#undo button")
    assert edges_of(page) == {"T1": ["1 m", "2 m", "4 m"], "T2": ["3 m"]}


def test_what_is_typed_after_putting_back_goes_into_the_entry_it_stands_beside(stage):
    """The screen was drawn anew between taking away and putting back."""
    page = held(stage, tree("T1", "1 m", "2 m"))
    take_away(page, "anchors.0.hard_edges")
    page.press("nav button[data-screen=site]")
    page.press("nav button[data-screen=anchors]")
    page.press("#undo button")
    assert page.tab.js("document.getElementById('f-anchors-0-hard_edges-0-distance').value") == "1"
    page.type("5", "anchors-0-hard_edges-0-distance", "anchors")
    assert edges_of(page) == {"T1": ["15 m", "2 m"]}


def in_two_tabs(page: Page, stage) -> Page:
    """Another tab with the same record; the first one lies behind it and shows what is changed there."""
    page.tab.js("document.hasFocus = () => false")
    return another(stage)


def test_an_entry_finds_its_tree_again_although_another_tab_took_one_away_before_it(stage):
    page = held(stage, tree("T1", "1 m"), tree("T2", "2 m"), tree("T3", "3 m"))
    take_away(page, "anchors.1.hard_edges")
    page.kept()
    two = in_two_tabs(page, stage)
    take_away_tree(two, 0)
    page.tab.until("siteassessForm.record().anchors.length === 2", 20)
    page.press("#undo button")
    assert edges_of(page) == {"T2": ["2 m"], "T3": ["3 m"]}


def test_an_entry_whose_tree_is_gone_is_put_nowhere_and_that_is_said(stage):
    page = held(stage, tree("T1", "1 m"), tree("T2", "2 m"))
    take_away(page, "anchors.0.hard_edges")
    page.kept()
    two = in_two_tabs(page, stage)
    take_away_tree(two, 0)
    page.tab.until("siteassessForm.record().anchors.length === 1", 20)
    page.press("#undo button")
    assert "what it belonged to is gone" in page.tab.js("document.getElementById('undo').textContent")
    assert edges_of(page) == {"T2": ["2 m"]}


def test_the_code_of_a_tree_stays_free_as_long_as_it_may_be_put_back(stage):
    page = held(stage, tree("T1", "1 m"), tree("T2"))
    whole = copy.deepcopy(page.record["anchors"])
    take_away_tree(page, 0)
    page.press("[data-add=tree]")
    page.press("#undo button")
    assert page.record["anchors"] == [*whole, {"kind": "tree", "code": "T3"}]
