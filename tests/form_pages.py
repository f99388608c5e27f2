"""What the pages of a sequence show, held against the tree of what was typed; see `form_sequences.py`.

Import as `from form_pages import ...`; the tests folder is on the path (see pyproject.toml).
"""

from __future__ import annotations

import copy
import json
import time
from dataclasses import dataclass

from form_pipe import Tab
from form_stage import TIGHT, Lost, Node, Setting, Stage, Tally

RECORD = "JSON.stringify(siteassessForm.record())"


@dataclass(eq=False)
class Shown:
    """A tab and the node it shows."""

    tab: Tab
    node: Node


class Pages:
    """Tabs of one sequence, and the nodes they show."""

    def __init__(self, stage: Stage, setting: Setting):
        self.stage, self.setting = stage, setting
        self.root = Node({"site": {}, "survey": {}, "anchors": [], "lines": []})
        self.nodes = [self.root]
        self.tabs: list[Shown] = []
        self.now = 0
        self.base_full = self.journal_full = False
        self.tally = Tally()

    @property
    def shown(self) -> Shown:
        if not self.tabs:
            self.open_tab()
        return self.tabs[self.now % len(self.tabs)]

    def wipe(self) -> None:
        """Nothing kept from the sequence before."""
        browser = self.stage.start()
        tab = browser.new_tab()
        browser.close_all_but(tab)
        self._go(tab, "empty.html", "document.title === 'empty'")
        tab.js("""(async () => { localStorage.clear(); sessionStorage.clear();
            await new Promise((done) => { const asked = indexedDB.deleteDatabase("siteassess-form-works");
              asked.onsuccess = asked.onerror = done; }); })()""")
        self.quota(tab, TIGHT)
        tab.close()

    def _go(self, tab: Tab, name: str, ready: str) -> None:
        tab.browser.crashed.discard(tab.target)
        tab.ask("Page.navigate", url=self.stage.address(name, self.setting.served))
        tab.until(f"location.pathname.endsWith('{name}') && ({ready})")

    READY = "document.body?.dataset.ready"

    def open_tab(self) -> Shown:
        tab = self.stage.start().new_tab()
        if first := self.setting.first_script:
            tab.ask("Page.addScriptToEvaluateOnNewDocument", source=first)
        self._go(tab, "form.html", self.READY)
        shown = Shown(tab, self.root)
        self.tabs.append(shown)
        self.now = len(self.tabs) - 1
        self.recognise(shown)
        return shown

    def quota(self, tab: Tab, size: int | None) -> None:
        if self.setting.served:
            values = {} if size is None else {"quotaSize": size}
            origin = self.stage.address("", True).rstrip("/")
            tab.ask("Storage.overrideQuotaForOrigin", origin=origin, **values)

    def record(self, shown: Shown) -> dict:
        return json.loads(shown.tab.js(RECORD))

    def keeping(self, shown: Shown) -> dict:
        return shown.tab.js("siteassessForm.keeping()")

    def recognise(self, shown: Shown) -> None:
        """Which node a page shows now; one that nobody typed is a fault."""
        limit = time.monotonic() + 3
        while True:
            record = self.record(shown)
            if shown.node.is_like(record):
                self.settle(shown.node, record)
                return
            like = [node for node in reversed(self.nodes) if node.is_like(record)]
            if like:
                break
            # the last words of a page that has just ended may still be on their way: a page that is behind catches up
            if time.monotonic() > limit:
                due = [node.may[0] for node in self.nodes if node.may and node.record is None]
                typed = json.dumps([node.record for node in self.nodes])
                raise Lost(f"a page shows what nobody typed: {json.dumps(record)}\n  typed: {typed}, due: {due}")
            time.sleep(0.05)
            shown.tab.js("dispatchEvent(new Event('focus'))")
        shown.node = next((node for node in like if not node.children), like[0])
        self.settle(shown.node, record)

    def know(self, shown: Shown, record: dict, path: str, typed: list[str]) -> None:
        """Which node a page shows, where it shows this and one of these was just typed into a field."""
        part, name = path.split(".")
        now = record[part].get(name, "")
        for end in typed:
            if not now.endswith(end):
                continue
            under = copy.deepcopy(record)
            under[part].pop(name, None)
            under[part] |= {name: now.removesuffix(end)} if now != end else {}
            for node in (shown.node, *reversed(self.nodes)):
                if node.is_like(under):
                    shown.node = node
                    self.settle(node, under)
                    return
        raise Lost(f"a page showed what nobody typed: {json.dumps(record)}")

    def settle(self, node: Node, record: dict) -> None:
        """Of what a node may be, it is this at least: a page may still have been writing when the next opened."""
        if record in node.may:
            found = node.may.index(record)  # `may` begins with the fewest keys that must be there
            node.may = node.may[found:]
            node.least += found
            node.record = record

    def grow(self, shown: Shown, node: Node) -> None:
        shown.node.children += 1
        node.parent = shown.node
        shown.node = node
        self.nodes.append(node)
