"""Fixtures of the field form's browser tests: the written forms, a browser with the network closed, a fresh form.

The fixtures reach the tests through tests/papers/conftest.py; the tests folder is on the path (see pyproject.toml).
"""

from __future__ import annotations

import contextlib
import time
from pathlib import Path

import pytest
from form_browser import browsing, everything, open_form, press, screen, settle
from form_stage import Stage

from siteassess.papers.form import form_page, write_form

try:
    from selenium.common.exceptions import NoAlertPresentException, UnexpectedAlertPresentException
except ImportError:
    NoAlertPresentException = UnexpectedAlertPresentException = None


@pytest.fixture(scope="module")
def forms(tmp_path_factory):
    folder = tmp_path_factory.mktemp("forms")
    return {language: write_form(folder / f"form-{language}.html", language) for language in ("en", "de", "fr", "es")}


@pytest.fixture(scope="module")
def downloads(tmp_path_factory):
    return tmp_path_factory.mktemp("downloads")


@pytest.fixture(scope="module")
def browser(downloads):
    with browsing(downloads=downloads) as driver:
        yield driver


@pytest.fixture(scope="module")
def stage(tmp_path_factory):
    """Where tabs and the whole browser may be killed."""
    stage = Stage(tmp_path_factory.mktemp("stage"), form_page())
    yield stage
    stage.close()


@pytest.fixture
def form(browser, forms):
    """A fresh form with nothing in it."""
    open_form(browser, forms["en"])
    browser.execute_async_script("indexedDB.deleteDatabase('x'); setTimeout(arguments[0], 1)")
    clear(browser)
    browser.get_log("browser"), browser.get_log("performance")
    return browser


def clear(driver) -> None:
    screen(driver, "hand")
    press(driver, "#start-again")
    for _ in range(200):  # it asks once what is here is kept; where nothing was filled in, nothing is asked
        with contextlib.suppress(NoAlertPresentException):
            driver.switch_to.alert.accept()
        with contextlib.suppress(UnexpectedAlertPresentException):  # asked just now, and accepted by the driver
            if driver.find_elements("css selector", "nav [data-screen=site][aria-current]"):
                break
        time.sleep(0.02)
    everything(driver, False)
    settle(driver)


def open_record(driver, path: Path) -> None:
    screen(driver, "hand")
    driver.find_element("id", "earlier").send_keys(str(path))
    settle(driver)


def saved(driver, downloads: Path, button: str = "#save-file") -> Path:
    """The file the form saves."""
    before = set(downloads.iterdir())
    screen(driver, "hand")
    press(driver, button)
    for _ in range(100):
        new = [path for path in set(downloads.iterdir()) - before if path.suffix in (".yaml", ".zip")]
        if new:
            return new[0]
        time.sleep(0.05)
    raise AssertionError("nothing was saved")
