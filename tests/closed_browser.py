"""Pages in a real browser with the network closed: each request goes to a proxy port on which nobody listens."""

from __future__ import annotations

import json
import shutil
from pathlib import Path

import pytest

from siteassess.papers.officer import write_officer
from siteassess.papers.sitemap import write_map

webdriver = pytest.importorskip("selenium.webdriver", reason="selenium is a test extra")
CHROMIUM = shutil.which("chromium") or shutil.which("chromium-browser") or shutil.which("google-chrome")
DRIVER = shutil.which("chromedriver")
needs_browser = pytest.mark.skipif(not (CHROMIUM and DRIVER), reason="needs Chromium and chromedriver")

PHONE, DESK = (360, 740), (1400, 900)
CLOSED_PORT = "127.0.0.1:9"  # the discard port: nothing listens there
AXE = Path(__file__).parent / "papers" / "vendor" / "axe-core" / "axe.min.js"
FLAGS = (
    "--headless=new",
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-sync",
    "--disable-background-networking",
    "--disable-component-update",
    f"--proxy-server={CLOSED_PORT}",
    "--proxy-bypass-list=<-loopback>",
)


@pytest.fixture(scope="module")
def offline():
    options = webdriver.ChromeOptions()
    options.binary_location = CHROMIUM
    for flag in FLAGS:
        options.add_argument(flag)
    options.set_capability("goog:loggingPrefs", {"browser": "ALL", "performance": "ALL"})
    driver = webdriver.Chrome(options=options, service=webdriver.chrome.service.Service(DRIVER))
    driver.set_script_timeout(60)
    yield driver
    driver.quit()


@pytest.fixture(scope="module")
def pages(tmp_path_factory, assessment, hostile_assessment):
    folder = tmp_path_factory.mktemp("pages")
    paper, report = write_officer(assessment, folder / "report.html")
    hostile_paper, hostile_report = write_officer(hostile_assessment, folder / "hostile-report.html")
    return {
        "map": write_map(assessment, folder / "map.html"),
        "map in German": write_map(assessment, folder / "map-de.html", language="de"),
        "officer's paper": paper, "report": report,
        "hostile map": write_map(hostile_assessment, folder / "hostile-map.html"),
        "hostile officer's paper": hostile_paper, "hostile report": hostile_report,
    }  # fmt: skip


def open_page(browser, path: Path, size) -> tuple[list[str], list[str]]:
    """Open a page; returns what it asked for beyond itself, and what the console complained of."""
    browser.get_log("performance"), browser.get_log("browser")  # forget the page before
    browser.execute_cdp_cmd(
        "Emulation.setDeviceMetricsOverride",
        {"width": size[0], "height": size[1], "deviceScaleFactor": 1, "mobile": size[0] < 500},
    )
    browser.get(path.as_uri())
    browser.execute_async_script("const done = arguments[0]; setTimeout(() => requestAnimationFrame(done), 150);")
    messages = (json.loads(entry["message"])["message"] for entry in browser.get_log("performance"))
    asked = [m["params"]["request"]["url"] for m in messages if m["method"] == "Network.requestWillBeSent"]
    outside = [url for url in asked if not url.startswith(("data:", path.as_uri()))]
    return outside, [entry["message"] for entry in browser.get_log("browser")]
