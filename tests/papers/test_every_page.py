"""Every page the program writes, in a real browser: at every width, in the dark, with forced colours, for a finger."""

from __future__ import annotations

import pytest
from closed_browser import AXE, needs_browser
from every_page import write_pages

pytestmark = needs_browser

WIDTHS = (320, 390, 768, 1024, 1440)
KINDS = {"form", "map", "report", "report_appendix", "card-L1", "card-L2", "card-L3", "card-L4", "card-L5", "care",
         "care_appendix", "copy", "incident", "pack", "request", "request_appendix", "year"}  # fmt: skip
# what is drawn or asked for on a page, and how large; sizes as seen [px]
SEEN = """
const there = (n) => { const r = n.getBoundingClientRect(); return r.width > 0 && r.height > 0
  && getComputedStyle(n).visibility !== "hidden"; };
const all = (what) => [...document.querySelectorAll(what)].filter(there);
const scale = (n) => { const m = n.getScreenCTM(); return Math.hypot(m.a, m.b); };
const words = all("svg text").filter((n) => n.textContent.trim());
const own = (n) => [...n.childNodes].some((c) => c.nodeType === 3 && c.textContent.trim());
return {
  width: document.documentElement.scrollWidth,
  drawn: words.map((n) => [parseFloat(getComputedStyle(n).fontSize) * scale(n), n.textContent]),
  cut: words.filter((n) => { const t = n.getBoundingClientRect(), s = n.ownerSVGElement.getBoundingClientRect();
    return t.left < s.left - 1 || t.right > s.right + 1 || t.top < s.top - 2 || t.bottom > s.bottom + 2; })
    .map((n) => n.textContent),
  written: all("body *").filter((n) => !(n instanceof SVGElement) && own(n))
    .map((n) => [parseFloat(getComputedStyle(n).fontSize), n.textContent.slice(0, 40)]),
  targets: all("button, select, input, summary, a[href]").filter((n) => getComputedStyle(n).display !== "inline")
    .map((n) => [Math.max(n.getBoundingClientRect().height, n.closest("label")?.getBoundingClientRect().height ?? 0),
                 n.outerHTML.slice(0, 80)]),
  unlabelled: all("tbody td").filter((n) => !n.dataset.label).length,
  heads: document.querySelectorAll("h2").length,
  led: [...document.querySelectorAll("nav a")].filter((n) => document.querySelector(n.hash)).length,
  leads: document.querySelectorAll("nav a").length,
  paper: getComputedStyle(document.body).backgroundColor,
};
"""


@pytest.fixture(scope="module", params=["en", "de", "fr", "es"])
def written(request, tmp_path_factory):
    return request.param, write_pages(tmp_path_factory.mktemp("pages"), request.param)


def shown(offline, page, width, **media):
    offline.execute_cdp_cmd("Emulation.setEmulatedMedia", {
        "features": [{"name": name.replace("_", "-"), "value": value} for name, value in media.items()]})  # fmt: skip
    offline.execute_cdp_cmd("Emulation.setDeviceMetricsOverride",
                            {"width": width, "height": 800, "deviceScaleFactor": 1, "mobile": width < 600})  # fmt: skip
    offline.get(page.as_uri())
    offline.execute_async_script("const done = arguments[0]; setTimeout(() => requestAnimationFrame(done), 60);")
    return offline.execute_script(SEEN)


def test_every_page_can_be_read_at_every_width(offline, written):
    language, pages = written
    assert set(pages) == KINDS
    faults = []
    for name, page in pages.items():
        for width in WIDTHS if language == "en" else WIDTHS[:2]:
            seen = shown(offline, page, width)
            if seen["width"] > width:
                faults.append((name, width, "wider than the screen", seen["width"]))
            if seen["unlabelled"]:
                faults.append((name, width, "cells without a label", seen["unlabelled"]))
            if seen["heads"] >= 4 and name != "form" and seen["leads"] < 4 or seen["led"] != seen["leads"]:
                faults.append((name, width, "no contents, or leading nowhere", seen["leads"], seen["led"]))
            faults += [(name, width, "words cut by their picture", words) for words in seen["cut"]]
            if width < 600:
                faults += [(name, width, "drawn small", size, words) for size, words in seen["drawn"] if size < 10.99]
                faults += [(name, width, "written small", size, words) for size, words in seen["written"] if size < 11]
                faults += [(name, width, "small for a finger", size, what) for size, what in seen["targets"]
                           if size < 43.9]  # fmt: skip
    assert faults == []


@pytest.mark.parametrize("media", [{}, {"prefers_color_scheme": "dark"}, {"forced_colors": "active"}],
                         ids=["light", "dark", "forced colours"])  # fmt: skip
def test_axe_finds_nothing_on_any_page(offline, written, media):
    """axe-core 4, all its rules, contrast among them: no violation of any weight."""
    language, pages = written
    if language != "en":
        pytest.skip("the same templates and styles")
    faults = []
    for name, page in pages.items():
        for width in (390, 1440):
            seen = shown(offline, page, width, **media)
            offline.execute_script(AXE.read_text(encoding="utf-8"))
            result = offline.execute_async_script(
                "const done = arguments[0]; axe.run().then(done, (e) => done({error: String(e)}));")  # fmt: skip
            assert "error" not in result and len(result["passes"]) > 10, (name, result.get("error"))
            faults += [(name, width, one["id"], one["nodes"][0]["html"][:120]) for one in result["violations"]]
            if media.get("prefers_color_scheme") == "dark" and sum(map(int, _rgb(seen["paper"]))) > 300:
                faults.append((name, width, "light in the dark", seen["paper"]))
    assert faults == []


def _rgb(colour: str) -> list[str]:
    return colour[colour.index("(") + 1 : -1].split(",")[:3]
