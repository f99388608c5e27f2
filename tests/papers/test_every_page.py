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
const lines = (text, from, to) => {
  const part = document.createRange();
  part.setStart(text, from), part.setEnd(text, to);
  return new Set([...part.getClientRects()].map((r) => Math.round(r.top))).size; };
const texts = (n) => [...n.childNodes].flatMap((c) => (c.nodeType === 3 ? [c] : texts(c)));
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
  wide: all(".scroll").filter((n) => n.scrollWidth > n.clientWidth + 1).map((n) => [n.scrollWidth, n.clientWidth]),
  broken: all("h1, nav button, .mode .choice").flatMap(texts).flatMap((text) => [...text.data
    .matchAll(/[\\p{L}\\p{N}]+/gu)]
    .filter((word) => lines(text, word.index, word.index + word[0].length) > 1).map((word) => word[0])),
  shrunk: all(".verdict svg").filter((n) => n.getBoundingClientRect().width < 19).length,
  empty: all("td:empty").length,
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
        for width in WIDTHS if language == "en" else (320, 768, 1440):
            seen = shown(offline, page, width)
            if width > 640:
                faults += [(name, width, "a table wider than its column", *sizes) for sizes in seen["wide"]]
            if name in ("copy", "pack") and seen["leads"] < 3:
                faults.append((name, width, "long, and no list of what is in it"))
            if seen["width"] > width:
                faults.append((name, width, "wider than the screen", seen["width"]))
            if seen["unlabelled"]:
                faults.append((name, width, "cells without a label", seen["unlabelled"]))
            if seen["heads"] >= 4 and name != "form" and seen["leads"] < 4 or seen["led"] != seen["leads"]:
                faults.append((name, width, "no contents, or leading nowhere", seen["leads"], seen["led"]))
            faults += [(name, width, "words cut by their picture", words) for words in seen["cut"]]
            faults += [(name, width, "a word broken without a hyphen", word) for word in seen["broken"]]
            if width < 600:
                faults += [(name, width, what, seen[what]) for what in ("shrunk", "empty") if seen[what]]
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
        if name in ("card-L2", "card-L4", "card-L5"):
            continue  # the same page as the other two
        for width in (390, 1440) if not media else (390,):
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


PRINTED = """
const words = [...document.querySelectorAll('.line svg text')].filter((n) => n.textContent.trim());
return words.map((n) => { const m = n.getScreenCTM(), t = n.getBoundingClientRect(),
    s = n.ownerSVGElement.getBoundingClientRect();
  return [parseFloat(getComputedStyle(n).fontSize) * Math.hypot(m.a, m.b) * 0.75,
          t.left < s.left - 1 || t.right > s.right + 1, n.textContent]; });"""


def test_words_of_the_officers_pictures_are_printed_to_be_read(offline, written):
    """No smaller than 6.4 points on the 180 mm between the sheet's margins, and none cut."""
    _, pages = written
    offline.execute_cdp_cmd("Emulation.setEmulatedMedia", {"media": "print", "features": []})
    offline.execute_cdp_cmd("Emulation.setDeviceMetricsOverride",
                            {"width": 680, "height": 1000, "deviceScaleFactor": 1, "mobile": False})  # fmt: skip
    offline.get(pages["report"].as_uri())
    told = offline.execute_script(PRINTED)
    offline.execute_cdp_cmd("Emulation.setEmulatedMedia", {"media": ""})
    assert len(told) > 100
    assert [one for one in told if one[0] < 6.4 or one[1]] == []


def test_what_a_row_of_pictures_is_about_is_read_without_moving_it(offline, written):
    """The first words of each picture in a strip that a phone moves sideways: its heading ends on the screen."""
    _, pages = written
    shown(offline, pages["report"], 390)
    ends = offline.execute_script("""return [...document.querySelectorAll('.pictures')].map((n) => {
        const bold = n.querySelector("svg text[font-weight='700']");
        return [bold.textContent, bold.getBoundingClientRect().right]; });""")
    assert ends and all(right <= 390 for _, right in ends), ends
