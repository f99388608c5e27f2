"""The short form in few taps: two plain trees and a low line, filled in as a person in the park would."""

from __future__ import annotations

import json

import pytest
from click.testing import CliRunner
from form_browser import PICK, field, js, needs_browser, press, screen, settle, touch
from form_fixtures import saved

from siteassess.cli import group

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
        self.driver.execute_script(PICK, self.driver.find_element("css selector", selector), value)
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
    hand.tap_label(f"{tree}.height.class", "15 m")
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
    hand.pick("#f-lines-0-ground_between", "level or rising, no dip")
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
        assert (tree["height"], tree["height_how"]) == ("15 m", "estimated")
        assert len(tree["trunk"]) == 1 and (tree["trunk"][0]["read_at"], tree["trunk"][0]["how"]) == ("1.3 m", "taped")
    assert planned["b"] == {**planned["a"], "anchor": "T2"}
    told = [js(form, "f.decidingOf(arguments[0], arguments[1], arguments[2])", tree, planned, end)
            for tree, end in zip(trees, "ab", strict=True)]  # fmt: skip
    assert [one["missing"] for one in told] == [[], []]
    result = CliRunner().invoke(group, ["assess", str(saved(form, downloads)), "--json"])
    assert result.exit_code == 0, result.output
    assert json.loads(result.stdout)["lines"][0]["verdict"] != "cannot say"
