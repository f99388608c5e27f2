"""The short form in few taps: two plain trees and a low line, filled in as a person in the park would."""

from __future__ import annotations

import json
import re
from datetime import date

import pytest
from click.testing import CliRunner
from form_browser import (
    PICK,
    add,
    choose,
    field,
    js,
    needs_browser,
    open_form,
    press,
    screen,
    settle,
    touch,
    type_in,
)
from form_fixtures import clear, saved

from siteassess.cli import group
from siteassess.errors import UnknownName
from siteassess.papers.form import form_page
from siteassess.reference.findings import word
from siteassess.reference.languages import SIDE_BY_SIDE as LANGUAGES
from siteassess.reference.names import LEAF_TYPE_WORDS
from siteassess.reference.species import find_species
from siteassess.reference.tables import rows

keys = pytest.importorskip("selenium.webdriver.common.keys", reason="selenium is a test extra")
pytestmark = needs_browser
MOST_TAPS, MOST_LETTERS = 25, 40
PLACES = """let taken = 0;
navigator.geolocation.watchPosition = (take) => {
  const coords = { latitude: 54.5, longitude: 2.5 + 0.0003 * taken++, accuracy: 4 };
  setTimeout(() => { for (let i = 0; i < 10; i += 1) take({ coords }); }, 20);
  return 1; };"""


class Hand:
    """Counts what a thumb does: taps, and letters typed. "Next" on the keyboard counts none, and is truly pressed."""

    def __init__(self, driver):
        self.driver, self.taps, self.letters = driver, 0, 0

    def tap(self, selector: str) -> None:
        self.taps += 1
        press(self.driver, selector)
        settle(self.driver)

    def tap_label(self, path: str, value: str) -> None:
        """One of the buttons of a choice, touched where it stands."""
        self.taps += 1
        box = field(self.driver, path).find_element("css selector", f"input[value='{value}']")
        touch(self.driver, box.find_element("xpath", ".."))
        assert box.is_selected()

    def pick(self, selector: str, value: str) -> None:
        """A list opened and an answer chosen, which a phone draws itself."""
        self.taps += 1
        answers = self.driver.find_element("css selector", f"select{selector}")
        self.driver.execute_script(PICK, answers, value)
        settle(self.driver)

    def type(self, path: str, text: str) -> None:
        """Type into a field, reached from the one before by the keyboard, else by a tap."""
        wanted = field(self.driver, path)
        for _ in range(5):
            now = self.driver.switch_to.active_element
            if now == wanted or now.tag_name != "input" or now.get_property("type") == "radio":
                break
            now.send_keys(keys.Keys.ENTER)
        if self.driver.switch_to.active_element != wanted:
            self.taps += 1
            touch(self.driver, wanted)
        self.driver.switch_to.active_element.send_keys(text)
        self.letters += len(text)


def a_plain_tree(hand: Hand, index: int, kind: str, girth: str, lean: str, slope: str) -> None:
    tree = f"anchors.{index}"
    hand.type(f"{tree}.species.name", kind)
    if len(kind) < 4:
        hand.tap(".suggestions button")
    hand.type(f"{tree}.trunk.0.girth", girth)
    if index == 0:
        hand.type(f"{tree}.trunk.0.read_at", "1.3")
    hand.type(f"{tree}.lean", lean)
    hand.type(f"{tree}.ground.slope", slope)
    if index == 0:
        hand.pick("#f-anchors-0-trunk-0-how", "taped")
    hand.pick(f"#f-anchors-{index}-ground-wetness", "moist")
    hand.tap_label(f"{tree}.height.class", "17 m")
    hand.pick(f"#f-anchors-{index}-stems", "single")
    hand.tap_label(f"{tree}.bark.form", "deep ridged")
    hand.tap_label(f"{tree}.roots.state", "covered")
    hand.tap("button.none")


def test_two_trees_and_a_walked_line_in_25_taps_and_40_letters(form, downloads):
    form.execute_script(PLACES)
    screen(form, "site")
    hand = Hand(form)
    hand.type("site.name", "Otter")
    hand.type("survey.by", "NB")
    hand.tap("main > button.big")
    a_plain_tree(hand, 0, "oak", "142", "2", "0")
    hand.tap("[data-add=tree-here]")
    a_plain_tree(hand, 1, "lime", "118", "0", "1")
    hand.pick("#line-between", "low line")
    line = "lines.0"
    for path, text in (("a.tie_height", "1"), ("a.sling.width", "50"), ("b.tie_height", "1"), ("span.taped", "20"),
                       ("standing.tension", "3"), ("walkers.mass", "80")):  # fmt: skip
        hand.type(f"{line}.{path}", text)
    hand.pick("#f-lines-0-a-sling-wrap", "basket")
    hand.pick("#f-lines-0-a-padding-material", "carpet")
    hand.tap("fieldset[data-path='lines.0.b'] > button.big")
    hand.pick("#f-lines-0-webbing-kind", "polyester")
    hand.tap_label(f"{line}.walkers.movement", "walk only, no bouncing")
    hand.tap_label(f"{line}.ground_between", "level or rising, no dip")
    hand.tap_label(f"{line}.power_line", "no")
    print(f"taps {hand.taps}, letters {hand.letters}")
    assert hand.taps <= MOST_TAPS and hand.letters <= MOST_LETTERS

    record = js(form, "f.record()")
    trees, planned = record["anchors"], record["lines"][0]
    assert [tree["code"] for tree in trees] == ["T1", "T2"] and planned["id"] == "L1"
    assert set(record["survey"]) == {"by", "date"}
    for tree in trees:
        assert set(tree["signs"].values()) == {"no"} and len(tree["signs"]) == 10 and tree["hard_edge_near"] == "no"
        assert set(tree["roots"].values()) == {"covered"} and len(tree["roots"]) == 8
        assert (tree["height"], tree["height_how"]) == ("17 m", "estimated")
        assert len(tree["trunk"]) == 1 and (tree["trunk"][0]["read_at"], tree["trunk"][0]["how"]) == ("1.3 m", "taped")
    asked = {"use", "span", "webbing", "standing", "walkers", "ground_between", "power_line"}
    assert asked <= set(planned), "what a walked line is asked, but for its day and how deep a high line is open below"
    assert planned["b"] == {**planned["a"], "anchor": "T2"}
    told = [js(form, "f.decidingOf(arguments[0], arguments[1], arguments[2])", tree, planned, end)
            for tree, end in zip(trees, "ab", strict=True)]  # fmt: skip
    assert [one["missing"] for one in told] == [[], []]
    assert form.get_log("browser") == []
    result = CliRunner().invoke(group, ["assess", str(saved(form, downloads)), "--json"])
    assert result.exit_code == 0, result.output
    assert json.loads(result.stdout)["lines"][0]["verdict"] != "cannot say"


@pytest.fixture(scope="module")
def tongues(browser, forms):
    """Opens the form in a language, empty, with one tree to be filled in."""

    def tree_in(language: str):
        open_form(browser, forms[language])
        clear(browser)
        screen(browser, "anchors")
        add(browser, "tree")
        return browser

    yield tree_in
    open_form(browser, forms["en"])
    clear(browser)


@pytest.mark.parametrize("language", LANGUAGES)
def test_a_tree_is_found_by_its_name_in_any_language_and_without_accents(tongues, language):
    driver = tongues(language)
    for typed, meant in (("linden", "Tilia"), ("Linde", "Tilia"), ("tilleul", "Tilia"), ("tilo", "Tilia"),
                         ("hetre", "Fagus"), ("chene", "Quercus"), ("Eiche", "Quercus")):  # fmt: skip
        type_in(driver, "anchors.0.species.name", typed)
        assert "species or leaf type" not in js(driver, "f.decidingOf(f.record().anchors[0]).missing"), typed
        offered = driver.find_elements("css selector", ".suggestions button")
        assert offered[0].text.split(" · ")[0] == meant, (typed, [one.text for one in offered])


def test_the_form_knows_a_common_name_where_the_program_does(form):
    """In all four languages; not one that trees of several genera share, nor part of one."""
    genera = {row.genus for row in rows("species") if row.rank == "species" or row.bark}  # others stay off the page
    on_the_page = [row for row in rows("species") if row.genus in genera]
    names = {name for row in on_the_page for column in (row.english, row.german, row.french, row.spanish)
             for name in column.split(";") if name}  # fmt: skip
    names |= {"unknown broadleaf", *LEAF_TYPE_WORDS["broadleaf"], *LEAF_TYPE_WORDS["conifer"]}
    asked = sorted(names | {"silver", "red"})
    lacking = js(form, """arguments[0].filter((name) =>
        f.decidingOf({ kind: "tree", species: { name } }).missing.includes("species or leaf type"))""", asked)
    assert set(lacking) == {name for name in asked if not _is_placed(name)} > {"silver", "red"}


def _is_placed(name: str) -> bool:
    try:
        return find_species(name) is not None
    except UnknownName:
        return False


def test_a_height_by_class_is_estimated_until_a_figure_is_typed(form):
    screen(form, "anchors")
    add(form, "tree")
    height = "((tree) => [tree.height ?? null, tree.height_how ?? null])(f.record().anchors[0])"
    choose(form, "anchors.0.height.class", "22 m")
    assert js(form, height) == ["22 m", "estimated"] and field(form, "anchors.0.height").get_property("value") == "22"
    type_in(form, "anchors.0.height", "23")
    assert js(form, height) == ["23 m", None]
    assert not form.find_elements("css selector", "#f-anchors-0-height-class input:checked")


def test_the_one_tap_for_many_leaves_what_was_seen_and_says_how_many_it_answers(form):
    screen(form, "anchors")
    add(form, "tree")
    assert js(form, "f.record().anchors[0].signs ?? null") is None  # nothing is answered by itself
    choose(form, "anchors.0.signs.bracket_fungus", "yes")
    choose(form, "anchors.0.hard_edge_near", "yes")
    settle(form)
    assert "9" in form.find_element("css selector", "button.none").text
    press(form, "button.none")
    settle(form)
    signs = js(form, "f.record().anchors[0].signs")
    assert signs.pop("bracket_fungus") == "yes" and list(signs.values()) == ["no"] * 9
    assert js(form, "f.record().anchors[0].hard_edge_near") == "yes"
    assert form.find_element("css selector", "button.none").text == "Take that back. Not looked: 9."
    choose(form, "anchors.0.signs.nest_in_use", "yes")
    press(form, "button.none")  # a tap too many
    settle(form)
    assert js(form, "f.record().anchors[0].signs") == {"bracket_fungus": "yes", "nest_in_use": "yes"}
    shown = [one.get_attribute("value") for one in form.find_elements("css selector", ".signs input:checked")]
    assert sorted(shown) == ["not looked"] * 8 + ["yes"] * 2


@pytest.mark.parametrize("language", LANGUAGES)
def test_gear_is_chosen_by_words_and_nothing_asks_for_a_command(tongues, language):
    assert not re.search(r"siteassess (tables|rules|assess|new|check)\b", form_page(language))
    driver = tongues(language)
    screen(driver, "lines")
    add(driver, "line")
    for path, name in (("webbing.kind", "nylon"), ("a.padding.material", "carpet")):
        listed = field(driver, f"lines.0.{path}")
        words = [one.text for one in listed.find_elements("css selector", "option")]
        assert word(name, language) in words
        choose(driver, f"lines.0.{path}", name)
    assert js(driver, "f.record().lines[0].webbing.kind") == "nylon"
    assert js(driver, "f.record().lines[0].a.padding.material") == "carpet"
    choose(driver, "lines.0.webbing.kind", "own words")
    assert js(driver, "f.record().lines[0].webbing ?? null") is None
    type_in(driver, "lines.0.webbing.kind-own", "PES")
    assert js(driver, "f.record().lines[0].webbing.kind") == "PES"


def test_who_surveyed_and_the_day_are_proposed_for_the_next_record_and_may_be_overtyped(form):
    type_in(form, "survey.by", "N. Body")
    clear(form)
    assert field(form, "survey.by").get_property("value") == "N. Body"
    assert js(form, "f.record().survey") == {}  # of the record only once an anchor is looked at
    screen(form, "anchors")
    add(form, "tree")
    assert js(form, "f.record().survey") == {"date": date.today().isoformat(), "by": "N. Body"}
    screen(form, "site")
    type_in(form, "survey.by", "M. Other")
    assert js(form, "f.record().survey.by") == "M. Other"


def test_a_direction_is_asked_once_something_has_one(form):
    screen(form, "anchors")
    add(form, "tree")
    toward = field(form, "anchors.0.lean_toward")
    for typed, asked in (("0", False), ("3", True)):
        type_in(form, "anchors.0.lean", typed)
        settle(form)
        assert toward.is_displayed() is asked, typed
    type_in(form, "anchors.0.lean_toward", "90")
    type_in(form, "anchors.0.lean", "0")
    settle(form)
    assert toward.is_displayed()  # what was answered is never hidden


def test_an_answer_in_common_is_given_only_for_what_is_named(form):
    """All round, then one sector by itself; the next tree begins with no answer but where the tape was held."""
    screen(form, "anchors")
    add(form, "tree")
    choose(form, "anchors.0.roots.state", "covered")
    choose(form, "anchors.0.roots.sector", "NW")
    choose(form, "anchors.0.roots.state", "cut")
    roots = js(form, "f.record().anchors[0].roots")
    assert roots.pop("NW") == "cut" and list(roots.values()) == ["covered"] * 7
    type_in(form, "anchors.0.trunk.0.girth", "150")
    type_in(form, "anchors.0.trunk.0.read_at", "1.2")
    add(form, "tree")
    assert js(form, "f.record().anchors[1]") == {"kind": "tree", "code": "T2", "trunk": [{"read_at": "1.2 m"}]}
