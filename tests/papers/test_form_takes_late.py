"""A position or photo that comes late goes to the anchor it was taken for, wherever that stands by then, or nowhere."""

from __future__ import annotations

import pytest
from form_browser import needs_browser
from form_page import Page, another, wiped

pytestmark = needs_browser
FIX = {"lat": "54.5000000", "lon": "2.5000000", "accuracy": "6 m", "accuracy_means": "95 %", "how": "phone"}
WATCH = """navigator.geolocation.watchPosition = (take) => {
  const coords = { latitude: 54.5, longitude: 2.5, accuracy: 6 };
  window.comes = () => { for (let i = 0; i < 10; i += 1) take({ coords }); };
  return 1; };"""
# the picture is read only when it is told to come
CHOOSE = """(async () => { const read = createImageBitmap, canvas = document.createElement("canvas");
  canvas.width = canvas.height = 4;
  canvas.getContext("2d");
  window.createImageBitmap = async (file) => { await new Promise((go) => (window.comes = go)); return read(file); };
  const blob = await new Promise((done) => canvas.toBlob(done)), files = new DataTransfer();
  files.items.add(new File([blob], "a.png", { type: "image/png" }));
  const picker = document.querySelector("fieldset[data-path='anchors.NUMBER.photos'] input[type=file]");
  picker.files = files.files;
  picker.dispatchEvent(new Event("change")); })()"""
WAYS = pytest.mark.parametrize("what", ["position", "photo"])


def taking(stage, what: str, *codes: str, number: int = 0) -> Page:
    """Taken for one of some trees, and not here yet."""
    trees = [{"kind": "tree", "code": code} for code in codes]
    record = {"site": {"name": "Otter"}, "survey": {}, "anchors": trees, "lines": []}
    page = wiped(stage).hold(record, open={f"anchors.{index}": True for index in range(len(codes))})
    page.kept()
    if what == "photo":
        page.tab.js(CHOOSE.replace("NUMBER", str(number)))
    else:
        page.tab.js(WATCH)
        page.press(f"fieldset[data-path='anchors.{number}.position'] > button")
    page.tab.until("window.comes !== undefined")
    page.tab.js("window.alert = (text) => { window.told = text; }")
    return page


def got(page: Page) -> dict:
    """The trees that have a position or a photo by now."""
    return {one["code"]: one["position"]["fixes"] if "position" in one else [photo["path"] for photo in one["photos"]]
            for one in page.record["anchors"] if {"position", "photos"} & set(one)}  # fmt: skip


def take_away(page: Page, number: int) -> None:
    page.press(f"details[data-path='anchors.{number}'] > .body > button.remove")


@WAYS
def test_what_was_taken_for_a_tree_that_is_gone_is_given_to_no_other(stage, what):
    page = taking(stage, what, "T1", "T2")
    take_away(page, 0)
    page.tab.js("window.comes()")
    page.tab.until("window.told")
    assert "Not entered" in page.tab.js("window.told") and got(page) == {}


@WAYS
def test_what_was_taken_for_one_record_does_not_go_into_another(stage, what):
    page = taking(stage, what, "T1")
    page.press("nav button[data-screen=hand]")
    page.press("#start-again")
    page.tab.until("!siteassessForm.record().site.name")
    page.press("nav button[data-screen=anchors]")
    page.press("[data-add=tree]")
    assert [one["code"] for one in page.record["anchors"]] == ["T1"]
    page.tab.js("window.comes()")
    page.tab.until("window.told")
    assert got(page) == {}


@WAYS
def test_it_finds_its_tree_although_another_tab_took_one_away_before_it(stage, what):
    page = taking(stage, what, "T1", "T2", number=1)
    page.tab.js("document.hasFocus = () => false")
    take_away(another(stage), 0)
    page.tab.until("siteassessForm.record().anchors.length === 1", 20)
    page.tab.js("window.comes()")
    page.tab.until("siteassessForm.record().anchors[0].position || siteassessForm.record().anchors[0].photos")
    assert got(page) == {"T2": [FIX] if what == "position" else ["photos/T2-1.jpg"]}


@WAYS
def test_it_is_shown_although_the_screen_was_drawn_anew_meanwhile(stage, what):
    page = taking(stage, what, "T1")
    page.press("nav button[data-screen=site]")
    page.press("nav button[data-screen=anchors]")
    page.tab.js("window.comes()")
    name = "position-fixes-0-lat" if what == "position" else "photos-0-path"
    page.tab.until(f"document.getElementById('f-anchors-0-{name}')?.value", 20)
    assert got(page) == {"T1": [FIX] if what == "position" else ["photos/T1-1.jpg"]}
