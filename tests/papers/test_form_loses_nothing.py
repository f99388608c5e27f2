"""The field form loses nothing: two tabs, kills, full storage, private windows, downloads that never arrive.

Pages are driven in a real Chromium over its debugging pipe, so that renderers and the browser can be killed for good.
`tests/bench/keep_sequences.py` runs a thousand of the sequences of which a few run here.
"""

from __future__ import annotations

import json
import time

import pytest
from form_browser import needs_browser
from form_page import Page, another, wiped
from form_pipe import Browser
from form_sequences import run
from form_stage import EMPTY, FILL, FILL_BASE, TIGHT, WITHOUT_BASE, WITHOUT_CHANNEL, WITHOUT_LOCKS

pytestmark = needs_browser
FEW = 25


@pytest.mark.parametrize("seed", range(FEW))
def test_a_sequence_of_typing_kills_tabs_and_full_storage_loses_no_keystroke(stage, seed):
    assert run(stage, seed).keys > 0


# ---- two tabs


BROWSERS = {
    "base": "", "local storage": WITHOUT_BASE, "no locks": WITHOUT_LOCKS, "no channel": WITHOUT_CHANNEL,
    "local storage, no channel": WITHOUT_BASE + WITHOUT_CHANNEL,
}  # fmt: skip


@pytest.mark.parametrize("first", BROWSERS.values(), ids=BROWSERS)
def test_two_tabs_are_told_of_and_neither_writes_over_the_other(stage, first):
    one = wiped(stage, first)
    one.type("Otter")
    two = another(stage, first)
    assert two.name == "Otter"
    two.says("open in another tab")
    one.says("open in another tab")
    one.stay_in_focus()
    two.stay_in_focus()
    two.type(" Mead")
    one.says("Show the newest before you type on")
    one.type("y")  # all the same
    one.says("changed in two tabs. Nothing is lost")
    assert one.name == "Ottery" and one.beside == ["Otter Mead"]
    assert two.name == "Otter Mead"
    one.press_words("See both")
    one.press_words("Compare with the one shown")
    one.tab.until("document.getElementById('kept-beside').textContent.includes('here “Ottery”, there “Otter Mead”')")
    one.press_words("Open")
    one.tab.until("siteassessForm.record().site.name === 'Otter Mead'")
    assert one.beside == ["Ottery"]


def test_a_tab_nobody_types_in_shows_what_the_other_one_added(stage):
    one = wiped(stage)
    one.type("Otter")
    one.kept()
    one.tab.js("document.hasFocus = () => false")
    two = another(stage)
    two.type(" Mead")
    one.tab.until("siteassessForm.record().site.name === 'Otter Mead'", 20)
    one.type("ow")
    one.kept()
    assert one.name == "Otter Meadow" and one.beside == []


@pytest.mark.parametrize("first", BROWSERS.values(), ids=BROWSERS)
def test_the_warning_goes_when_the_other_tab_does(stage, first):
    one = wiped(stage, first)
    one.type("Otter")
    two = another(stage, first)
    one.says("open in another tab")
    two.tab.close()
    one.tab.until("!document.getElementById('keeping').textContent.includes('open in another tab')", 20)


@pytest.mark.parametrize("first", ["", WITHOUT_LOCKS, WITHOUT_CHANNEL], ids=["locks", "no locks", "no channel"])
def test_what_a_closed_tab_had_only_in_its_journal_is_shown_in_the_one_that_stays(stage, first):
    one = wiped(stage, first)
    one.type("Otter")
    one.kept()
    two = another(stage, first)
    one.says("open in another tab")
    one.tab.js("document.hasFocus = () => false")
    two.tab.js("IDBDatabase.prototype.transaction = () => { throw new Error('stuck'); }")  # the base never answers
    two.type(" Mead")
    two.tab.close()
    one.tab.until("siteassessForm.record().site.name === 'Otter Mead'", 20)
    one.open()
    assert one.name == "Otter Mead" and one.beside == []


# ---- kills, and what the journal is for


def test_what_a_killed_page_had_only_in_its_journal_is_taken_in_once(stage):
    page = wiped(stage)
    page.type("Otter")
    page.kept()
    entry = {"id": "state", "seen": {"gone": 3}, "at": "2026-01-01T00:00:00.000Z"}
    state = {"record": {"site": {"name": "Typed apart"}, "survey": {}, "anchors": [], "lines": []}}
    page.tab.js(f"localStorage.setItem('siteassess-form/gone', {json.dumps(json.dumps(entry | {'state': state}))})")
    page.open()
    assert page.name == "Otter" and page.beside == ["Typed apart"]
    assert page.tab.js("localStorage.getItem('siteassess-form/gone')") is None
    # one that ended while this page was open is in the base before the page shows it and says that it is kept
    ended = {"id": "other", "seen": {"ended": 2}, "at": "2026-01-02T00:00:00.000Z",
             "state": {"record": {"site": {"name": "Ended"}, "survey": {}, "anchors": [], "lines": []}}}  # fmt: skip
    page.tab.js(f"localStorage.setItem('siteassess-form/ended', {json.dumps(json.dumps(ended))})")
    page.tab.js("document.querySelector('nav button[data-screen=hand]').click()")
    page.tab.until("document.querySelector('[data-work=other] .stack button')?.click() ?? "
                   "siteassessForm.record().site.name === 'Ended'")  # fmt: skip
    page.tab.js("localStorage.clear()")
    page.open()
    assert page.name == "Ended" and sorted(page.beside) == ["Otter", "Typed apart"]
    # an entry that comes up again, as local storage may after a power cut, is known
    page.tab.js(f"localStorage.setItem('siteassess-form/gone', {json.dumps(json.dumps(entry | {'state': state}))})")
    page.open()
    assert sorted(page.beside) == ["Otter", "Typed apart"]


def test_storage_that_is_cleared_under_the_page_is_written_anew(stage):
    page = wiped(stage)
    page.type("Otter Mead")
    page.kept()
    page.tab.ask("Storage.clearDataForOrigin", origin=stage.address("", True).rstrip("/"), storageTypes="indexeddb")
    page.type("!")
    page.kept()
    page.open()
    assert page.name == "Otter Mead!"


def test_a_base_that_another_page_deletes_is_written_anew(stage):
    page = wiped(stage)
    page.type("Otter Mead")
    page.kept()
    other = stage.start().new_tab()
    other.ask("Page.navigate", url=stage.address("empty.html", True))
    other.until("document.title === 'empty'")
    other.js("""new Promise((done) => {
        indexedDB.deleteDatabase("siteassess-form-works").onsuccess = () => done(true); })""")
    page.says("Every keystroke is kept")
    page.kept()  # without another key
    page.open()
    assert page.name == "Otter Mead"


def test_storage_that_is_cleared_in_the_middle_of_a_write_is_written_anew(stage):
    page = wiped(stage)
    page.type("Otter")
    page.kept()
    sent = [page.tab.key(letter) for letter in " Me"]
    origin = stage.address("", True).rstrip("/")
    page.tab.ask("Storage.clearDataForOrigin", origin=origin, storageTypes="all")
    sent += [page.tab.key(letter) for letter in "ad"]
    for number in sent:
        page.tab.browser.wait(number, page.tab.target)
    page.kept()  # without another key, and although the step that was cut short never ends
    page.tab.js("localStorage.clear(); sessionStorage.clear()")
    page.open()
    assert page.name == "Otter Mead"


# ---- full storage


def test_full_storage_is_told_tried_again_and_recovered_from(stage):
    page = wiped(stage)
    origin = stage.address("", True).rstrip("/")
    page.tab.ask("Storage.overrideQuotaForOrigin", origin=origin, quotaSize=TIGHT)
    page.type("Otter")
    page.kept()
    page.tab.js(FILL_BASE)
    page.type(" Mead")
    page.says("held in its small store")
    assert "Save the record as a file" in page.said
    page.tab.js(FILL)
    page.type("ow")
    page.says("Only this open page holds what you typed last")
    assert "Every keystroke is kept" not in page.said
    # room again: by itself, without another key
    page.tab.ask("Storage.overrideQuotaForOrigin", origin=origin)
    page.tab.js(EMPTY)
    page.says("Every keystroke is kept on this device")
    assert "Warning" not in page.said
    page.open()
    assert page.name == "Otter Meadow" and page.beside == []


def test_a_look_at_the_records_kept_beside_takes_back_no_warning(stage):
    page = wiped(stage)
    page.tab.ask("Storage.overrideQuotaForOrigin", origin=stage.address("", True).rstrip("/"), quotaSize=TIGHT)
    page.type("Otter")
    page.kept()
    page.tab.js(FILL_BASE)
    page.tab.js(FILL)
    page.type(" Mead")
    page.says("Only this open page holds what you typed last")
    page.press("nav button[data-screen=hand]")
    assert page.beside == []
    page.tab.js("document.dispatchEvent(new Event('visibilitychange'))")
    time.sleep(0.2)
    assert "Only this open page holds what you typed last" in page.said


def test_what_only_the_small_store_holds_is_there_after_a_kill(stage):
    page = wiped(stage)
    page.tab.ask("Storage.overrideQuotaForOrigin", origin=stage.address("", True).rstrip("/"), quotaSize=1)
    page.type("Otter Mead")
    page.says("held in its small store")
    page.open()
    assert page.name == "Otter Mead"


# ---- what the browser promises


def test_a_promise_of_the_browser_is_asked_for_and_its_answer_told(stage):
    grants = "navigator.storage.persist = async () => { window.asked = (window.asked ?? 0) + 1; return true; };"
    page = wiped(stage, grants)
    page.press("nav button[data-screen=anchors]")
    assert page.tab.js("window.asked ?? 0") == 0  # nothing typed, nothing to keep
    page.type("Otter")
    page.says("does not promise more: a private window forgets everything")
    page.press("nav button[data-screen=anchors]")
    page.says("has promised not to clear it")
    page.press("nav button[data-screen=lines]")
    assert page.tab.js("window.asked") == 1


def test_a_private_window_is_promised_nothing(stage, tmp_path):
    browser = Browser(tmp_path / "profile", ("--incognito",))
    try:
        page = Page(stage, browser.new_tab()).open()
        page.type("Otter")
        page.press("nav button[data-screen=anchors]")
        time.sleep(0.3)
        assert "a private window forgets everything on closing" in page.said and "has promised" not in page.said
    finally:
        browser.close()


# ---- handing over


def test_a_denied_download_is_never_called_saved(stage, tmp_path):
    page = wiped(stage)
    page.tab.browser.ask("Browser.setDownloadBehavior", behavior="deny")
    page.type("Otter")
    for button in ("#save-file", "#save-all"):
        page.press("nav button[data-screen=hand]")
        page.press(button)
        page.tab.until("document.getElementById('handed').textContent.includes('Handed to the browser as otter.')")
        assert "aved" not in page.tab.js("document.getElementById('handed').textContent")
        assert page.is_asked_on_leaving()
    page.press("#it-arrived")
    assert not page.is_asked_on_leaving()
    page.press("#start-again")
    page.tab.until("!siteassessForm.record().site.name")
    assert "stays on this device" in page.tab.browser.dialogs[-1]
    assert page.beside == ["Otter"]


@pytest.mark.parametrize(
    "answer, words, asked",
    [("Promise.reject(new DOMException('', 'NotAllowedError'))", "nothing has left this page", True),
     ("Promise.resolve()", "cannot see whether it arrived", True)],
)  # fmt: skip
def test_a_share_counts_once_the_person_has_seen_it_arrive(stage, answer, words, asked):
    page = wiped(stage, f"navigator.share = () => {answer};")
    page.type("Otter")
    page.press("nav button[data-screen=hand]")
    page.press_words("Share")
    page.tab.until(f"document.getElementById('handed').textContent.includes({json.dumps(words)})")
    assert page.is_asked_on_leaving() is asked


# ---- what it says of keeping while a write is under way

LATE = """const begin = IDBDatabase.prototype.transaction;
IDBDatabase.prototype.transaction = function (names, mode, ...more) {
  const work = begin.call(this, names, mode, ...more), store = work.objectStore([names].flat()[0]);
  const hold = () => { if (window.late && mode === "readwrite") store.get("nothing").onsuccess = hold; };
  hold();
  return work;
};"""


def test_kept_is_said_only_once_the_base_has_confirmed_it(stage):
    page = wiped(stage, LATE)
    page.type("Otter")
    page.kept()
    page.says("Every keystroke is kept on this device")
    page.tab.js("window.late = true")
    page.type("s")
    page.says("is being written to this device")
    assert "kept" not in page.said
    page.tab.js("window.late = false")
    page.says("Every keystroke is kept on this device")
    page.kept()
    assert "being written" not in page.said
