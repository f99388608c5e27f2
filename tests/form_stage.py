"""What the sequences of the field form play on: a form, a server, a browser that is killed, and what they are made of.

Import as `from form_stage import ...`; the tests folder is on the path (see pyproject.toml).
"""

from __future__ import annotations

import functools
import http.server
import random
import threading
from collections import Counter
from dataclasses import dataclass, field
from pathlib import Path

from form_pipe import Browser

# how often each step comes, by weight
STEPS = {
    "type": 30, "new tab": 8, "other tab": 10, "reload": 6, "reload while typing": 5, "away and back": 6,
    "close while typing": 5, "kill the renderer": 9, "kill the browser": 3, "fill the base": 4, "fill the journal": 4,
    "empty them": 6, "show the newest": 4, "open another record": 4, "start again": 3, "add a tree": 4,
}  # fmt: skip
WITHOUT_LOCKS = "Object.defineProperty(navigator, 'locks', { value: undefined });"
# nor have browsers a little older still a channel between tabs
WITHOUT_CHANNEL = WITHOUT_LOCKS + "Object.defineProperty(window, 'BroadcastChannel', { value: undefined });"
WITHOUT_BASE = "Object.defineProperty(window, 'indexedDB', { value: undefined });"
FILL = """(() => { let size = 1 << 22, text = "x".repeat(size);
  for (let n = 0; size; n += 1) {
    try { localStorage.setItem("filling" + n, text.slice(0, size)); } catch { size >>= 1; }
  }
  // names take room too: the last few letters go into one that is there
  for (let more = localStorage.getItem("filling0"); ; ) {
    try { localStorage.setItem("filling0", more += "x"); } catch { break; }
  } })()"""
# fills what the origin may hold with photos nobody names, as a phone full of them does
TIGHT = 2_000_000
FILL_BASE = """new Promise((done) => {
  const asked = indexedDB.open("siteassess-form-works", 1);
  asked.onsuccess = async () => {
  const bytes = crypto.getRandomValues(new Uint8Array(60000));
  for (let n = 0, size = bytes.length; size > 100; n += 1) {
    const full = await new Promise((end) => { const work = asked.result.transaction("photos", "readwrite");
      try { work.objectStore("photos").put(bytes.slice(0, size), "filling" + n); } catch { end(true); }
      work.oncomplete = () => end(false); work.onabort = () => end(true); });
    if (full) size >>= 1;
    if (n > 200) break;
  }
  asked.result.close(); done(true); }; })"""
EMPTY = """Object.keys(localStorage).filter((key) => key.startsWith("filling"))
  .forEach((key) => localStorage.removeItem(key))"""


class Stage:
    """A folder with the form and an empty page, a server for both, a profile, and a browser that may be killed."""

    def __init__(self, folder: Path, form: str):
        self.folder = folder
        (folder / "web").mkdir(parents=True, exist_ok=True)
        (folder / "web" / "form.html").write_text(form, encoding="utf-8")
        (folder / "web" / "empty.html").write_text("<!DOCTYPE html><title>empty</title>", encoding="utf-8")
        handler = functools.partial(_Quiet, directory=str(folder / "web"))
        self.server = http.server.ThreadingHTTPServer(("127.0.0.1", 0), handler)
        threading.Thread(target=self.server.serve_forever, daemon=True).start()
        self.browser: Browser | None = None
        self.profiles = 1

    def address(self, name: str, served: bool) -> str:
        if served:
            return f"http://localhost:{self.server.server_port}/{name}"
        return (self.folder / "web" / name).as_uri()

    def start(self) -> Browser:
        if self.browser is None:
            self.browser = Browser(self.folder / f"profile-{self.profiles}")
        return self.browser

    def start_afresh(self) -> None:
        """In a new profile: what was wiped from local storage comes back where the browser is killed soon after."""
        if self.browser:
            self.kill()
        self.profiles += 1

    def kill(self) -> None:
        self.browser.kill()
        self.browser = None

    def close(self) -> None:
        if self.browser:
            self.browser.close()
        self.server.shutdown()
        self.server.server_close()


class _Quiet(http.server.SimpleHTTPRequestHandler):
    def log_message(self, *_):
        pass


class Lost(AssertionError):
    """Something typed was not found again."""


@dataclass
class Setting:
    """What a sequence runs on."""

    seed: int
    served: bool  # from a server on this machine, else from a file
    base: bool  # with IndexedDB, else with local storage alone
    locks: bool = True  # with Web Locks, as in a page that came safely; older browsers have none

    @classmethod
    def of(cls, seed: int) -> Setting:
        chance = random.Random(f"setting {seed}")
        return cls(seed, chance.random() < 0.6, chance.random() < 0.85, chance.random() < 0.85)

    @property
    def first_script(self) -> str:
        """What takes away from a page what this setting has not."""
        return ("" if self.base else WITHOUT_BASE) + ("" if self.locks else WITHOUT_LOCKS)


def steps_of(seed: int) -> list[tuple[str, int]]:
    """The steps that follow from a seed, each with its own."""
    chance = random.Random(f"steps {seed}")
    kinds = chance.choices(list(STEPS), list(STEPS.values()), k=chance.randint(5, 12))
    return [(kind, chance.randrange(1 << 30)) for kind in ("type", *kinds, "type")]


@dataclass(eq=False)
class Node:
    """A record as it was shown; `may` lists what it may be where a kill came between."""

    record: dict | None
    parent: Node | None = None
    may: list[dict] = field(default_factory=list)
    fewer: list[dict] = field(default_factory=list)  # what else it may be once the whole browser is killed as well
    dealt: int = 0  # of the keys sent last, those the page had dealt with
    least: int = 0  # of these, those that must be there
    filed: bool = False  # saved as a file, as the page asked for
    children: int = 0

    def is_like(self, record: dict) -> bool:
        return record == self.record or record in self.may

    @property
    def least_record(self) -> dict:
        """What must be kept of it: of a burst the keys the page had dealt with."""
        return self.record or self.may[0]

    def is_within(self, record: dict) -> bool:
        """Whether a record holds every key that must be kept: keys are only ever added at an end."""
        least = self.least_record
        texts = [(part, name) for part in ("site", "survey") for name in least[part]]
        begins = all(record[part].get(name, "").startswith(least[part][name]) for part, name in texts)
        return begins and record["anchors"][: len(least["anchors"])] == least["anchors"]


@dataclass
class Tally:
    """What was done and found."""

    keys: int = 0
    killed_keys: int = 0  # keys sent at which a kill was aimed, and dealt with by the page
    young: int = 0  # of these, gone with the whole browser before the page had said they are kept
    done: Counter = field(default_factory=Counter)
    waits: list = field(default_factory=list)

    def add(self, other: Tally) -> None:
        self.keys += other.keys
        self.killed_keys += other.killed_keys
        self.young += other.young
        self.done.update(other.done)
        self.waits += other.waits
