"""A headless browser for the tests of the field form, and how to talk to the page in it.

Import as `from form_browser import ...`; the tests folder is on the path (see pyproject.toml).
"""

from __future__ import annotations

import contextlib
import shutil
from pathlib import Path

import pytest

CHROMIUM = shutil.which("chromium") or shutil.which("chromium-browser") or shutil.which("google-chrome")
DRIVER = shutil.which("chromedriver")
try:
    from selenium import webdriver
except ImportError:
    webdriver = None
needs_browser = pytest.mark.skipif(
    not (CHROMIUM and DRIVER and webdriver), reason="needs Chromium, chromedriver and selenium (a test extra)"
)
PHONE, NARROW = (360, 740), (320, 640)
CLOSED_PORT = "127.0.0.1:9"  # the discard port: nothing listens there, so that any request would fail and be logged
FLAGS = (
    "--headless=new", "--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run", "--disable-sync",
    "--disable-background-networking", "--disable-component-update", f"--proxy-server={CLOSED_PORT}",
    "--proxy-bypass-list=<-loopback>", "--lang=en-GB",
)  # fmt: skip


def start(profile: Path | None = None, downloads: Path | None = None):
    """A browser with the network closed; a profile folder lets a later one find what an earlier one kept."""
    options = webdriver.ChromeOptions()
    options.binary_location = CHROMIUM
    for flag in FLAGS:
        options.add_argument(flag)
    if profile:
        options.add_argument(f"--user-data-dir={profile}")
    if downloads:
        options.add_experimental_option("prefs", {"download.default_directory": str(downloads)})
    options.set_capability("goog:loggingPrefs", {"browser": "ALL", "performance": "ALL"})
    options.set_capability("unhandledPromptBehavior", "accept")
    driver = webdriver.Chrome(options=options, service=webdriver.chrome.service.Service(DRIVER))
    driver.set_script_timeout(60)
    return driver


@contextlib.contextmanager
def browsing(profile: Path | None = None, downloads: Path | None = None):
    driver = start(profile, downloads)
    try:
        yield driver
    finally:
        with contextlib.suppress(Exception):
            driver.quit()


READY = """const done = arguments[0];
(function look() { document.body?.dataset.ready ? done(true) : setTimeout(look, 20); })();"""


def open_form(driver, path: Path, size=PHONE) -> None:
    driver.execute_cdp_cmd(
        "Emulation.setDeviceMetricsOverride",
        {"width": size[0], "height": size[1], "deviceScaleFactor": 1, "mobile": True},
    )
    driver.get(path.as_uri())
    driver.execute_async_script(READY)


def settle(driver) -> None:
    """Let what the page put off until later happen."""
    driver.execute_async_script("setTimeout(arguments[0], 150)")


def js(driver, body: str, *values):
    """The value of an expression of the page; its own functions stand in `siteassessForm`."""
    return driver.execute_script(f"const f = siteassessForm; return {body};", *values)


def field(driver, path: str):
    """The control of a field by its path."""
    return driver.find_element("id", "f-" + path.replace(".", "-").replace(" ", "_"))


PICK = "arguments[0].value = arguments[1]; arguments[0].dispatchEvent(new Event('change'))"


def type_in(driver, path: str, text: str, unit: str = "") -> None:
    """Type a text key by key, as a finger does; a unit is chosen beside it."""
    control = field(driver, path)
    if control.get_property("value"):
        control.clear()
    control.send_keys(text)
    if unit:
        driver.execute_script(PICK, driver.find_element("id", control.get_property("id") + "-unit"), unit)


def choose(driver, path: str, value: str) -> None:
    """Answer a field of choices, be it buttons or a list."""
    control = field(driver, path)
    if control.tag_name == "select":
        driver.execute_script(PICK, control, value)
        return
    box = control.find_element("css selector", f"input[value='{value}']")
    driver.execute_script("arguments[0].click()", box)


INTO_VIEW = """const [target, done] = arguments;
siteassessForm.refresh();
target.scrollIntoView({ block: "center" });
requestAnimationFrame(() => requestAnimationFrame(done));"""


def touch(driver, target) -> None:
    """Tap a thing where it stands, once all that the page would still move has been drawn."""
    driver.execute_async_script(INTO_VIEW, target)
    target.click()


def screen(driver, name: str) -> None:
    driver.find_element("css selector", f"nav button[data-screen={name}]").click()


def add(driver, what: str) -> None:
    """The button that adds a tree, a boulder, something else or a line."""
    press(driver, f"[data-add={what}]")


def press(driver, selector: str) -> None:
    button = driver.find_element("css selector", selector)
    touch(driver, button)


FRAMES = "requestAnimationFrame(() => requestAnimationFrame(arguments[0]))"


def everything(driver, on: bool = True) -> None:
    """The long form, or the short one."""
    box = driver.find_element("css selector", f"input[name=mode][value={'full' if on else 'quick'}]")
    driver.execute_script("arguments[0].click()", box)


def note(driver, path: str) -> str:
    """What the form says beside a field."""
    settle(driver)
    return driver.find_element("id", "f-" + path.replace(".", "-") + "-note").text


def each_screen(driver):
    for name in ("site", "anchors", "lines", "hand"):
        screen(driver, name)
        for _ in range(3):  # parts within parts
            driver.execute_script("document.querySelectorAll('main details').forEach((box) => (box.open = true))")
            driver.execute_async_script(FRAMES)
        settle(driver)
        yield name
