"""The field form in tabs that may be killed, as a person uses it.

Import as `from form_page import ...`; the tests folder is on the path (see pyproject.toml). Its stage is a fixture of
tests/papers/conftest.py.
"""

from __future__ import annotations

import json

from form_pipe import Tab
from form_stage import Stage

FOCUS = "addEventListener('focus', (event) => window.stays && event.stopImmediatePropagation());"


class Page:
    """The form in a tab, as a person uses it."""

    def __init__(self, stage: Stage, tab: Tab, name: str = "form.html"):
        self.stage, self.tab, self.file = stage, tab, name

    def open(self, first: str = "") -> Page:
        self.tab.ask("Page.addScriptToEvaluateOnNewDocument", source=FOCUS + first)
        self.tab.browser.crashed.discard(self.tab.target)
        self.tab.ask("Page.navigate", url=self.stage.address(self.file, True))
        self.tab.until(f"location.pathname.endsWith('{self.file}') && document.body?.dataset.ready")
        return self

    def type(self, text: str, path: str = "site-name", screen: str = "site") -> None:
        self.tab.js(f"document.querySelector('nav button[data-screen={screen}]').click()")
        self.tab.js(f"""(() => {{ const field = document.getElementById("f-{path}"); field.focus();
            field.setSelectionRange(field.value.length, field.value.length); }})()""")
        for number in [self.tab.key(letter) for letter in text]:
            self.tab.browser.wait(number, self.tab.target)

    def press(self, selector: str) -> None:
        self.tab.until(f"document.querySelector({json.dumps(selector)}) !== null", 20)
        self.tab.js(f"document.querySelector({json.dumps(selector)}).click()")

    def press_words(self, words: str) -> None:
        found = f"[...document.querySelectorAll('button')].find((one) => one.textContent === {json.dumps(words)})"
        self.tab.until(found + " !== undefined", 20)
        self.tab.js(found + ".click()")

    def says(self, words: str) -> None:
        self.tab.until(f"document.getElementById('keeping').textContent.includes({json.dumps(words)})", 40)

    @property
    def said(self) -> str:
        return self.tab.js("document.getElementById('keeping').textContent")

    def kept(self) -> None:
        self.tab.until("(({ count, kept, writes }) => count === kept && !writes)(siteassessForm.keeping())", 20)

    @property
    def name(self) -> str | None:
        return self.tab.js("siteassessForm.record().site.name ?? null")

    def hold(self, record: dict, **more) -> Page:
        """Show a record as if a page that has ended had held it."""
        state = {"record": record, "mode": "full", "screen": "anchors", "open": {}, "handed": False} | more
        entry = {"id": "held", "seen": {"held": 1}, "at": "2026-01-01T00:00:00.000Z", "state": state}
        self.tab.js("sessionStorage.clear()")
        self.tab.js(f"localStorage.setItem('siteassess-form/held', {json.dumps(json.dumps(entry))})")
        return self.open()

    @property
    def record(self) -> dict:
        return json.loads(self.tab.js("JSON.stringify(siteassessForm.record())"))

    @property
    def beside(self) -> list:
        told = json.loads(self.tab.js("siteassessForm.beside().then(JSON.stringify)"))
        return [one["site"].get("name") for one in told]

    def stay_in_focus(self) -> Page:
        """As a window beside another one: it may be typed in at any moment."""
        self.tab.js("window.stays = true; document.hasFocus = () => true")
        return self

    def is_asked_on_leaving(self) -> bool:
        return self.tab.js("!dispatchEvent(new Event('beforeunload', { cancelable: true }))")


def wiped(stage: Stage, first: str = "") -> Page:
    """A page with nothing kept from before, in the only tab."""
    browser = stage.start()
    tab = browser.new_tab()
    browser.close_all_but(tab)
    tab.ask("Storage.overrideQuotaForOrigin", origin=stage.address("", True).rstrip("/"))
    tab.ask("Page.navigate", url=stage.address("empty.html", True))
    tab.until("document.title === 'empty'")
    tab.ask("Storage.clearDataForOrigin", origin=stage.address("", True).rstrip("/"), storageTypes="all")
    tab.js("localStorage.clear(); sessionStorage.clear()")
    return Page(stage, tab).open(first)


def another(stage: Stage, first: str = "", name: str = "form.html") -> Page:
    return Page(stage, stage.start().new_tab(), name).open(first)
