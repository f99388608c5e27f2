"""A group over an empty register, with a browser for each of its people.

Import as `from served_group import ...`; the tests folder is on the path (see pyproject.toml).
"""

from __future__ import annotations

import re
from datetime import date
from pathlib import Path

from argon2 import PasswordHasher
from fastapi.testclient import TestClient

from siteassess.group.accounts import Accounts
from siteassess.group.app import group_app
from siteassess.register.store import Store

WORDS, DAY = "kletterwald am see", date(2026, 5, 2)
PARK = Path(__file__).parents[1] / "examples" / "brindlewick" / "park.yaml"  # an invented park of five lines


class Group:
    """A group over an empty register, and one browser for each of its people."""

    def __init__(self, folder):
        self.register = folder / "group.gpkg"
        Store.create(self.register, title="An invented group", who="Ada").close()
        self.accounts = Accounts(folder / "people.sqlite")
        self.accounts._hasher = PasswordHasher(time_cost=1, memory_cost=8, parallelism=1)  # six people a test
        self.app = group_app(self.register, self.accounts, today=lambda: DAY)
        self.accounts.come_in(self.accounts.first_address(), "Ada", WORDS)
        self.ada = self.accounts.person("Ada")
        roles = {"Mem": "member", "Mim": "member", "Rev": "reviewer", "Off": "officer", "Rea": "reader"}
        self.browsers = {name: self.browser(self.accounts.invite(role, self.ada), name) for name, role in roles.items()}

    def browser(self, word, name):
        browser = TestClient(self.app, base_url="http://group.test")
        sent = {"name": name, "password": WORDS, "proof": hidden(browser.get(f"/come-in/{word}"), "proof")}
        assert browser.post(f"/come-in/{word}", data=sent).status_code == 200
        return browser

    def send(self, who, page, address, **said):
        """A form of a page, filled in and sent."""
        browser = self.browsers[who]
        shown = browser.get(page)
        files = {name: said.pop(name) for name in ("record", "picture") if name in said}
        marks = {name: found for name in ("proof", "once") if (found := hidden(shown, name))}
        return browser.post(address, data={**marks, **said}, files=files or None)

    def hand_in(self, who="Mem", text=None):
        file = ("park.yaml", text or PARK.read_bytes(), "text/yaml")
        return self.send(who, "/surveys", "/surveys", record=file)

    def taken_in(self):
        address = self.hand_in().url.path
        done = self.send("Rev", address, f"{address}/decide", word="take in", text="Dry days", until="2027-05-01")
        assert done.status_code == 200 and not alert(done)
        return self.links("Mem")

    def links(self, who):
        found = re.findall(r'href="(/place/[0-9a-f]{64})">(?:<b>)?([^<]+)<', self.browsers[who].get("/").text)
        return {called: address for address, called in found}

    def events(self, kind):
        with Store.open(self.register) as store:
            return [event for event in store.events() if event.kind == kind]


def hidden(page, name):
    found = re.search(rf'name="{name}" value="([^"]+)"', page.text)
    return found and found[1]


def seen(page):
    """The text of a page as it is read: without styles, and without proofs, which by chance hold any two letters."""
    kept_out = r'<style>.*?</style>|name="(?:proof|once)" value="[^"]*"|sha256-[^\']*'
    return re.sub(kept_out, "", page.text, flags=re.DOTALL)


def alert(page):
    return re.findall(r'role="alert">(.*?)<', page.text)
