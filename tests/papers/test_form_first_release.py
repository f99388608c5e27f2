"""A form of the first release and the one of today on one device: each keeps its own, nothing is taken over twice."""

from __future__ import annotations

import json

import pytest
from form_browser import needs_browser
from form_first import FIRST_RELEASE
from form_page import Page, another, wiped
from form_stage import WITHOUT_BASE

pytestmark = needs_browser
WAYS = pytest.mark.parametrize("without", ["", WITHOUT_BASE], ids=["base", "local storage"])
PHOTOS = """new Promise((done) => { const asked = indexedDB.open("siteassess-form-works", 1);
  asked.onsuccess = () => { const work = asked.result.transaction("photos"), found = {};
    work.objectStore("photos").openCursor().onsuccess = async ({ target: { result } }) => {
      if (!result) { asked.result.close(); done(found); return; }
      found[result.key] = result.value.size;
      result.continue();
    }; }; })"""


@pytest.fixture(scope="module", autouse=True)
def first_release(stage):
    (stage.folder / "web" / "first.html").write_text(FIRST_RELEASE, encoding="utf-8")


def of_first_release(stage, without: str = "", typed: str = "") -> Page:
    page = another(stage, without, "first.html")
    page.type(typed)
    page.tab.until("siteassessForm.isKept()")
    return page


@WAYS
def test_neither_form_writes_over_what_the_other_keeps(stage, without):
    wiped(stage, without).tab.close()
    of_first_release(stage, without, "Old Mead").tab.close()
    page = another(stage, without)
    assert (page.name, page.beside) == ("Old Mead", [])
    page.type("ow")
    first = of_first_release(stage, without)
    assert first.name == "Old Mead"
    first.type(" End")
    first.tab.until("siteassessForm.isKept()")
    page.type("s")  # both are open
    if not without:
        page.kept()
    for _ in range(2):
        page.open()
        assert (page.name, page.beside) == ("Old Meadows", ["Old Mead End"])
    first.open()
    assert first.name == "Old Mead End"


@WAYS
def test_a_form_begun_anew_finds_its_own_and_the_older_one_beside_it(stage, without):
    page = wiped(stage, without)
    page.type("Otter")
    first = of_first_release(stage, without)
    assert first.name is None
    first.type("Old Mead")
    first.tab.until("siteassessForm.isKept()")
    page.open()
    assert (page.name, page.beside) == ("Otter", ["Old Mead"])
    page.tab.close()
    page = another(stage, without)  # which knows nothing of the tab before it
    assert (page.name, page.beside) == ("Otter", ["Old Mead"])
    first.open()
    assert first.name == "Old Mead"


@WAYS
def test_as_long_as_nobody_typed_on_here_the_work_follows_the_older_form(stage, without):
    wiped(stage, without).tab.close()
    first = of_first_release(stage, without, "Old")
    another(stage, without).tab.close()
    first.type(" Mead")
    first.tab.until("siteassessForm.isKept()")
    page = another(stage, without)
    assert (page.name, page.beside) == ("Old Mead", [])


def test_two_tabs_that_start_at_once_take_it_over_once(stage):
    wiped(stage).tab.close()
    of_first_release(stage, "", "Old Mead").tab.close()
    tabs = [stage.start().new_tab() for _ in range(2)]
    for tab in tabs:
        tab.send("Page.navigate", url=stage.address("form.html", True))
    for tab in tabs:
        tab.until("location.pathname.endsWith('form.html') && document.body?.dataset.ready")
        assert (Page(stage, tab).name, Page(stage, tab).beside) == ("Old Mead", [])


def test_photos_come_along_and_outlast_the_older_form_beginning_anew(stage):
    wiped(stage).tab.close()
    first = of_first_release(stage, "", "Old Mead")
    first.tab.js("siteassessForm.takePhoto()")
    page = another(stage)
    (photo,) = json.loads(page.tab.js("JSON.stringify(siteassessForm.record().anchors[0].photos)"))
    first.tab.js("siteassessForm.startAgain()")
    page.open()
    assert page.name == "Old Mead" and page.tab.js(PHOTOS) == {photo["path"]: len("a picture")}
    first.open()
    assert first.name is None


def test_what_was_removed_for_good_is_not_taken_over_again(stage):
    wiped(stage).tab.close()
    first = of_first_release(stage, "", "Old Mead")
    page = another(stage)
    page.press("nav button[data-screen=hand]")
    page.press("#start-again")
    page.tab.until("!siteassessForm.record().site.name")
    page.press("nav button[data-screen=hand]")
    page.press_words("Remove")
    page.tab.until("!document.querySelector('[data-work]')")
    page.open()
    assert (page.name, page.beside) == (None, [])
    first.open()
    assert first.name == "Old Mead"


def test_what_it_kept_where_a_browser_refuses_a_base_outright_goes_on_here(stage):
    """That refusal is why it kept in local storage."""
    refuses = """Object.defineProperty(window, 'indexedDB', { value: {
        open() { throw new DOMException("no", "SecurityError"); } } });"""
    wiped(stage, refuses).tab.close()
    of_first_release(stage, refuses, "Old Mead").tab.close()
    assert another(stage, refuses).name == "Old Mead"


def test_a_photo_stays_as_long_as_any_work_or_journal_names_it(stage):
    """A killed page had typed on in the work that follows the older form."""
    wiped(stage).tab.close()
    first = of_first_release(stage, "", "Old Mead")
    first.tab.js("siteassessForm.takePhoto()")
    page = another(stage)
    held = page.record
    work = {"id": page.tab.js("siteassessForm.keeping().id"), "seen": {"first-state": 1, "killed": 1},
            "at": "2026-01-01T00:00:00.000Z", "state": {"record": held | {"site": {"name": "Typed on"}}}}  # fmt: skip
    page.tab.js(f"localStorage.setItem('siteassess-form/killed', {json.dumps(json.dumps(work))})")
    page.tab.close()
    first.type("ow")
    first.tab.until("siteassessForm.isKept()")
    page = another(stage)
    assert (page.name, page.beside) == ("Typed on", ["Old Meadow"])
    assert held["anchors"][0]["photos"][0]["path"] in page.tab.js(PHOTOS)
