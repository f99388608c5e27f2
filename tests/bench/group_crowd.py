"""Fifty members at once: how much longer the slowest twentieth waits than for the framework's own empty page.

`python tests/bench/group_crowd.py [MEMBERS] [PAGES EACH]` prints ratios, never seconds: the same machine, server and
client ask both pages, one after the other.
"""

from __future__ import annotations

import re
import socket
import statistics
import sys
import tempfile
import threading
import time
from concurrent.futures import ThreadPoolExecutor
from datetime import date
from pathlib import Path

import httpx
import uvicorn
from fastapi import FastAPI
from fastapi.responses import HTMLResponse

sys.path.insert(0, str(Path(__file__).parents[1]))

from siteassess.group.accounts import Accounts
from siteassess.group.app import group_app
from siteassess.records.reading import read_record
from siteassess.register.actions import By, add_record
from siteassess.register.store import Store

PARK = Path(__file__).parents[2] / "examples" / "brindlewick" / "park.yaml"
WORDS = "kletterwald am see"


def serving(app: FastAPI) -> tuple[str, uvicorn.Server]:
    """A server of an application on a free port."""
    with socket.socket() as free:
        free.bind(("127.0.0.1", 0))
        port = free.getsockname()[1]
    server = uvicorn.Server(uvicorn.Config(app, port=port, log_level="error"))
    threading.Thread(target=server.run, daemon=True).start()
    while not server.started:
        time.sleep(0.05)
    return f"http://127.0.0.1:{port}", server


def slowest_twentieth_s(address: str, members: int, each: int, cookies: dict[str, str]) -> float:
    """The 95th percentile of what members wait who all ask at once [s]."""

    def asks(_: int) -> list[float]:
        with httpx.Client(base_url=address, cookies=cookies, timeout=120) as browser:
            waits = []
            for _ in range(each):
                began = time.perf_counter()
                browser.get("/").raise_for_status()
                waits.append(time.perf_counter() - began)
            return waits

    with ThreadPoolExecutor(members) as crowd:
        waits = [one for found in crowd.map(asks, range(members)) for one in found]
    return statistics.quantiles(waits, n=20)[-1]


def main(members: int, each: int) -> None:
    """Ask both, thrice."""
    bare = FastAPI()
    bare.add_api_route("/", lambda: HTMLResponse(""))
    with tempfile.TemporaryDirectory() as folder:
        register = Path(folder) / "group.gpkg"
        record = read_record(PARK).model_dump(mode="json", exclude_unset=True)
        with Store.create(register, title="Invented", who="Ada") as store, store.change() as writer:
            add_record(writer, record, By("Ada", "surveyed"))
        accounts = Accounts(Path(folder) / "people.sqlite")
        accounts.come_in(accounts.first_address(), "Ada", WORDS)
        page, _ = serving(group_app(register, accounts, today=lambda: date(2026, 5, 2)))
        empty, _ = serving(bare)
        with httpx.Client(base_url=page) as browser:
            proof = re.search(r'name="proof" value="([^"]+)"', browser.get("/sign-in").text)[1]
            browser.post("/sign-in", data={"name": "Ada", "password": WORDS, "proof": proof})
            cookies = dict(browser.cookies)
        for _ in range(3):
            ours, theirs = (slowest_twentieth_s(one, members, each, cookies) for one in (page, empty))
            print(f"{members} members at once, list of places: {ours / theirs:.1f} times the empty page")


if __name__ == "__main__":
    main(*(int(one) for one in (sys.argv[1:] or ("50", "4"))))
