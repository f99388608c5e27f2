"""Sequences of typing, tabs, kills, full storage and reloads on the field form; the check that no keystroke is lost.

Import as `from form_sequences import ...`; the tests folder is on the path (see pyproject.toml). A sequence follows
from its seed alone: a setting and a list of steps, each with a seed of its own, so that a failing one is shrunk by
leaving steps out. `tests/bench/keep_sequences.py` runs a thousand.

The check knows nothing of how the form keeps. It holds a tree of what was typed: a node is a record as a page showed it
once its keys had been dealt with, a child is what was typed on top of it. Every leaf must be found, letter by letter,
among the records the form says it keeps. Of keys sent while something is killed, these must be there:

- where the page or its renderer is killed: every key whose event the page had dealt with;
- where the whole browser is killed, or where local storage is full so that there is no journal: every key the page had
  said is kept. Younger ones are counted as such, not as lost. So it is for a page that was closed a moment before the
  browser was killed, and that no other page has shown since: its journal is in local storage alone, which the browser
  writes to the disk seconds later.
"""

from __future__ import annotations

import contextlib
import copy
import json
import os
import random
import signal
import time

from form_pages import RECORD, Pages, Shown
from form_pipe import Gone, Refused
from form_stage import EMPTY, FILL, FILL_BASE, Lost, Node, Setting, Stage, Tally, steps_of

FIELDS = ("site.name", "site.manager")  # who surveyed is proposed by the form, and would not be what was typed
LETTERS = "abcdefghijklmnopqrstuvwxyz0123456789"


class Sequence(Pages):
    """One sequence as it runs."""

    def run(self, steps: list[tuple[str, int]]) -> Tally:
        if any(kind == "kill the browser" for kind, _ in steps):
            self.stage.start_afresh()
        self.wipe()
        for kind, seed in steps:
            self.tally.done[kind] += 1
            getattr(self, kind.replace(" ", "_"))(random.Random(seed))
        self.empty_them(random.Random(0))
        self.check_all()
        return self.tally

    def place(self, shown: Shown, chance: random.Random) -> tuple[str, str]:
        """Put the finger into a field, behind what stands there; its path and text."""
        if shown.tab.js("document.querySelector('[aria-current]').dataset.screen") != "site":
            shown.tab.js("document.querySelector('nav button[data-screen=site]').click()")
        path = chance.choice(FIELDS)
        text = shown.tab.js(f"""(() => {{ const field = document.getElementById("f-{path.replace(".", "-")}");
            field.focus(); field.setSelectionRange(field.value.length, field.value.length);
            return field.value; }})()""")
        return path, text

    def type(self, chance: random.Random) -> None:
        shown = self.shown
        self.recognise(shown)
        path, before = self.place(shown, chance)
        self.recognise(shown)  # a page that comes into focus may show what another one added
        typed = "".join(chance.choices(LETTERS, k=chance.randint(1, 12)))
        began = time.monotonic()
        for number in [shown.tab.key(letter) for letter in typed]:
            shown.tab.browser.wait(number, shown.tab.target)
        self.tally.keys += len(typed)
        part, name = path.split(".")
        record = self.record(shown)
        now = record[part].get(name, "")
        if not now.endswith(typed):
            raise Lost(f"typed {typed!r} behind {before!r}, the page holds {now!r}")
        self.know(shown, record, path, [typed])  # another page may have come in between the look and the first key
        self.grow(shown, Node(record))
        if self.setting.base and self.keeping(shown)["where"] != "base":
            self.tally.done["typed while the base was full"] += 1
        if chance.random() < 0.3:
            self.until_kept(shown)
            self.tally.waits.append(time.monotonic() - began)

    def until_kept(self, shown: Shown) -> None:
        if self.setting.base and not self.base_full:
            shown.tab.until("(({ count, kept, writes }) => count === kept && !writes)(siteassessForm.keeping())")

    def burst(self, chance: random.Random, end, whole_browser: bool = False) -> None:
        """Send keys without waiting and end something while they arrive."""
        shown = self.shown
        self.recognise(shown)
        self.file_if_asked()
        if self.journal_full:  # then a key is safe once the base has it, and the page says when that takes long
            for one in self.tabs:
                self.until_kept(one)
        path, _ = self.place(shown, chance)
        self.recognise(shown)
        kept = self.keeping(shown)["kept"]
        typed = "".join(chance.choices(LETTERS, k=chance.randint(3, 25)))
        browser, sent = shown.tab.browser, []
        until = time.monotonic() + chance.random() * 0.06
        under = shown.tab.send("Runtime.evaluate", expression=RECORD, returnByValue=True)
        for letter in typed:
            asked = shown.tab.send("Runtime.evaluate", expression="siteassessForm.keeping().kept", returnByValue=True)
            sent.append((shown.tab.key(letter), asked))
        while time.monotonic() < until:
            browser.read(0.001)
        dealt = sum(number in browser.answers for number, _ in sent)
        told = [browser.answers[asked]["result"]["result"].get("value") or 0 for _, asked in sent
                if "result" in browser.answers.get(asked, {})]  # fmt: skip
        said = max([kept, *told]) - kept
        end(shown)
        # what another page added may have come in since the look at it: the keys went on top of that
        if text := browser.answers.get(under, {}).get("result", {}).get("result", {}).get("value"):
            self.know(shown, json.loads(text), path, [typed[:count] for count in range(len(typed) + 1)])
        base = shown.node.record
        part, name = path.split(".")
        before = base[part].get(name, "")
        least = min(dealt, said) if whole_browser or self.journal_full else dealt
        may = []
        for count in range(min(dealt, said), len(typed) + 1):
            record = copy.deepcopy(base)
            if before + typed[:count]:
                record[part][name] = before + typed[:count]
            may.append(record)
        fewer, may = may[: least - min(dealt, said)], may[least - min(dealt, said) :]
        self.tally.keys += dealt
        self.tally.killed_keys += dealt
        self.grow(shown, Node(None, may=may, fewer=fewer, dealt=dealt, least=least))

    def file_if_asked(self) -> None:
        """A page that says only it holds the text asks for a file to be saved: done, as a person would."""
        for shown in self.tabs:
            if self.keeping(shown)["where"] == "none":
                self.tally.done["saved as a file, as asked"] += 1
                shown.node.filed = True

    def new_tab(self, chance: random.Random) -> None:
        if len(self.tabs) < 3:
            self.open_tab()

    def other_tab(self, chance: random.Random) -> None:
        self.now += 1
        with contextlib.suppress(Refused):
            self.shown.tab.ask("Page.bringToFront")

    def reload(self, chance: random.Random) -> None:
        shown = self.shown
        self.recognise(shown)
        self.file_if_asked()
        self._go_again(shown)

    def _go_again(self, shown: Shown) -> None:
        self._go(shown.tab, "form.html", self.READY)
        self.recognise(shown)

    def reload_while_typing(self, chance: random.Random) -> None:
        shown = self.shown
        shown.tab.js("window.before = true")
        self.burst(chance, lambda shown: shown.tab.send("Page.reload"))
        shown.tab.until(f"!window.before && {self.READY}")
        self.recognise(shown)

    def away_and_back(self, chance: random.Random) -> None:
        shown = self.shown
        self.recognise(shown)
        self.file_if_asked()
        self._go(shown.tab, "empty.html", "document.title === 'empty'")
        if chance.random() < 0.5 and len(self.tabs) > 1:  # something is typed elsewhere meanwhile
            self.now += 1
            if self.shown is not shown:
                self.type(chance)
            self.now -= 1
        history = shown.tab.ask("Page.getNavigationHistory")
        entry = history["entries"][history["currentIndex"] - 1]["id"]
        shown.tab.ask("Page.navigateToHistoryEntry", entryId=entry)
        shown.tab.until(f"location.pathname.endsWith('form.html') && {self.READY}")
        time.sleep(0.05)
        self.recognise(shown)

    def close_while_typing(self, chance: random.Random) -> None:
        self.burst(chance, lambda shown: shown.tab.close())
        self.tabs.remove(self.shown)

    def kill_the_renderer(self, chance: random.Random) -> None:
        shown = self.shown
        browser = shown.tab.browser
        pids = browser.renderers()

        def end(_) -> None:
            for pid in pids:
                with contextlib.suppress(ProcessLookupError):
                    os.kill(pid, signal.SIGKILL)

        self.burst(chance, end)
        limit = time.monotonic() + 20
        # every page loses its renderer, and the browser knows: it would give a new page one kept in store
        while not all(one.tab.dead for one in self.tabs) or set(pids) & set(browser.renderers()):
            if time.monotonic() > limit:
                raise Gone("a renderer outlived its kill")
            browser.read(0.02)
        for one in list(self.tabs):  # one is opened again in its place, the others are gone
            if one is shown and chance.random() < 0.6:
                self._go_again(one)
            else:
                self.tabs.remove(one)
                with contextlib.suppress(Refused, Gone):
                    browser.ask("Target.closeTarget", targetId=one.tab.target)

    def kill_the_browser(self, chance: random.Random) -> None:
        if not self.setting.base or self.base_full:
            return  # local storage reaches the disk seconds later: the page says to save the file
        for shown in self.tabs:
            self.until_kept(shown)
        for node in self.nodes:
            if node.record is None:  # closed while its keys arrived, and not shown since
                node.may, node.least, node.fewer = node.fewer + node.may, node.least - len(node.fewer), []
        self.burst(chance, lambda _: self.stage.kill(), whole_browser=True)
        self.tabs = []

    def fill_the_base(self, chance: random.Random) -> None:
        if self.setting.served and self.setting.base:
            self.shown.tab.js(FILL_BASE)
            self.base_full = True

    def fill_the_journal(self, chance: random.Random) -> None:
        if self.setting.base:
            self.shown.tab.js(FILL)
            self.journal_full = True

    def empty_them(self, chance: random.Random) -> None:
        shown = self.shown
        self.quota(shown.tab, None)
        shown.tab.js(EMPTY)
        self.base_full = self.journal_full = False
        for one in self.tabs:
            one.tab.js("dispatchEvent(new Event('focus'))")
            one.tab.js("siteassessForm.tryAgain()")
        for one in self.tabs:
            self.until_kept(one)
            self.recognise(one)

    def show_the_newest(self, chance: random.Random) -> None:
        shown = self.shown
        self.recognise(shown)
        shown.tab.js("dispatchEvent(new Event('focus'))")
        time.sleep(0.05)
        self.recognise(shown)

    def open_another_record(self, chance: random.Random) -> None:
        shown = self.shown
        self.recognise(shown)
        if self.keeping(shown)["where"] == "none":
            return
        shown.tab.js("document.querySelector('nav button[data-screen=hand]').click()")
        time.sleep(0.1)
        shown.tab.js("document.querySelector('[data-work] .stack button')?.click()")
        time.sleep(0.1)
        self.recognise(shown)

    def start_again(self, chance: random.Random) -> None:
        shown = self.shown
        self.recognise(shown)
        now = self.keeping(shown)
        if now["where"] == "none":
            return
        before = now["id"]
        shown.tab.js("document.querySelector('nav button[data-screen=hand]').click()")
        shown.tab.js("document.getElementById('start-again').click()")
        shown.tab.until(f"siteassessForm.keeping().id !== {json.dumps(before)}")
        shown.node = self.root

    def add_a_tree(self, chance: random.Random) -> None:
        shown = self.shown
        self.recognise(shown)
        shown.tab.js("document.querySelector('nav button[data-screen=anchors]').click()")
        self.recognise(shown)
        shown.tab.js("document.querySelector('[data-add=tree]').click()")
        self.grow(shown, Node(self.record(shown)))

    # ---- the check

    def check_all(self) -> None:
        """Every leaf is among what a page that is opened afresh says it keeps."""
        shown = self.open_tab()
        self.until_kept(shown)
        kept = [self.record(shown), *json.loads(shown.tab.js("siteassessForm.beside().then(JSON.stringify)"))]
        for node in self.nodes:
            nothing = self.root.record in (node.record, *node.may)  # no key of it had to be there
            twin = any(one.children and one.record == node.record for one in self.nodes)  # typed on, under another name
            if node.children or node.filed or nothing or twin:
                continue
            found = next((record for record in kept if node.is_like(record)), None)
            if found is not None:
                self.settle(node, found)
            elif not any(map(node.is_within, kept)):  # what was typed on top of it may stand there instead
                raise Lost(f"not kept: {json.dumps(node.least_record)}\n  kept: {json.dumps(kept)}")
        self.tally.young = sum(max(0, node.dealt - node.least) for node in self.nodes)


def run(stage: Stage, seed: int, steps: list[tuple[str, int]] | None = None) -> Tally:
    """Run the sequence of a seed; `Lost` where a keystroke is. Where the browser did not answer it is run once more."""
    try:
        return _run(stage, seed, steps)
    except (Gone, Refused):
        tally = _run(stage, seed, steps)
        tally.done["run twice, the browser did not answer"] += 1
        return tally


def _run(stage: Stage, seed: int, steps: list[tuple[str, int]] | None) -> Tally:
    sequence = Sequence(stage, Setting.of(seed))
    try:
        return sequence.run(steps_of(seed) if steps is None else steps)
    except Exception:
        if stage.browser:  # whatever state it is in, the next one gets a fresh browser
            stage.kill()
        raise
