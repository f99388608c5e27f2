"""The form a group serves, in a real browser: kept with no network, sent when there is one, each survey once."""

from __future__ import annotations

import contextlib
import socket
import threading
import time
from datetime import date
from pathlib import Path

import pytest

pytest.importorskip("fastapi", reason="the extra `group` is not installed")
pytest.importorskip("argon2", reason="the extra `group` is not installed")
uvicorn = pytest.importorskip("uvicorn", reason="the extra `group` is not installed")

from form_browser import CHROMIUM, DRIVER, FLAGS, needs_browser, webdriver  # noqa: E402

from siteassess.group.accounts import Accounts  # noqa: E402
from siteassess.group.app import group_app  # noqa: E402
from siteassess.group.queue import Queue  # noqa: E402
from siteassess.register.store import Store  # noqa: E402

WORDS = "kletterwald am see"
PARK = (Path(__file__).parents[2] / "examples" / "brindlewick" / "park.yaml").read_text(encoding="utf-8")


@contextlib.contextmanager
def served(folder: Path, port: int):
    """The group's page of a folder on a port, until the block ends: then there is no network."""
    accounts = Accounts(folder / "people.sqlite")
    app = group_app(folder / "group.gpkg", accounts, today=lambda: date(2026, 5, 2))
    server = uvicorn.Server(uvicorn.Config(app, port=port, log_level="error", timeout_graceful_shutdown=1))
    thread = threading.Thread(target=server.run)
    thread.start()
    waited(lambda: server.started)
    try:
        yield accounts
    finally:
        server.should_exit = True
        thread.join()
        accounts.close()


def waited(is_so, what="the server"):
    end = time.monotonic() + 60
    while not is_so():
        assert time.monotonic() < end, what
        time.sleep(0.05)


@contextlib.contextmanager
def browsing_there():
    """A browser that reaches this machine alone."""
    options = webdriver.ChromeOptions()
    options.binary_location = CHROMIUM
    for flag in FLAGS:
        options.add_argument("--proxy-bypass-list=127.0.0.1" if "bypass" in flag else flag)
    driver = webdriver.Chrome(options=options, service=webdriver.chrome.service.Service(DRIVER))
    try:
        yield driver
    finally:
        with contextlib.suppress(Exception):
            driver.quit()


def told(browser) -> str:
    return browser.execute_script("return document.getElementById('handing-in')?.textContent ?? ''")


def waits_until_told(browser, what):
    waited(lambda: what in told(browser), what)


@needs_browser
def test_a_survey_waits_on_the_phone_and_is_sent_once(tmp_path):
    Store.create(tmp_path / "group.gpkg", title="An invented group", who="Ada").close()
    with socket.socket() as free:
        free.bind(("127.0.0.1", 0))
        port = free.getsockname()[1]
    here = f"http://127.0.0.1:{port}"
    with browsing_there() as browser:
        with served(tmp_path, port) as accounts:
            browser.get(f"{here}/come-in/{accounts.first_address()}")
            browser.execute_script(
                "for (const [name, text] of Object.entries(arguments[0]))"
                " document.getElementsByName(name)[0].value = text;"
                "document.querySelector('main form').submit()", {"name": "Ada", "password": WORDS})
            waited(lambda: browser.current_url == f"{here}/", "signed in")
            browser.get(f"{here}/form")
            browser.execute_async_script("navigator.serviceWorker.ready.then(arguments[0])")
            kept = "return caches.match('/form').then((page) => Boolean(page))"
            waited(lambda: browser.execute_script(kept), "the form kept")
        # no network from here on
        browser.get(f"{here}/form")
        waited(lambda: browser.execute_script("return typeof globalThis.handIn") == "function", "the form")
        for name in ("one", "two"):
            text = PARK.replace("Brindlewick Common", f"Brindlewick {name}")
            browser.execute_script("handIn(arguments[0], arguments[1]); handIn(arguments[0], arguments[1])", name, text)
        waits_until_told(browser, "two is kept here")
        browser.get(f"{here}/form")  # closed and opened again
        waits_until_told(browser, "one is kept here")
        assert "arrived" not in told(browser)
        with served(tmp_path, port) as accounts:
            browser.execute_script("handIn('three', 'site: {}'); dispatchEvent(new Event('online'))")
            waits_until_told(browser, "three was not taken")
            assert "site.name" in told(browser) and "two has arrived" in told(browser)
            browser.execute_script("dispatchEvent(new Event('online'))")
            browser.get(f"{here}/form")
            waits_until_told(browser, "three was not taken")
            sites = sorted(one.site for one in Queue(accounts).all())
    assert sites == ["Brindlewick one (invented)", "Brindlewick two (invented)"]
