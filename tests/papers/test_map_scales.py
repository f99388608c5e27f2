"""The site map on a phone, on paper, and with a hundred anchors and sixty lines: in a real offline."""

from __future__ import annotations

import base64
import math
import re
import shutil
import subprocess

import pytest
from closed_browser import DESK, PHONE, needs_browser, open_page
from crowded_park import crowd

from siteassess.papers.sitemap import write_map

pytestmark = needs_browser
SMALL_PHONE = (320, 568)
# symbols and words in view: name, left, top, right, bottom [px]; a symbol's name starts with its anchor's code
SEEN = """
const boxes = (nodes, name) => nodes.map((n) => { const r = n.getBoundingClientRect();
  return [name(n), r.left, r.top, r.right, r.bottom]; });
const shown = [...document.querySelectorAll('.maplabel')].filter((n) => getComputedStyle(n).visibility === 'visible');
return {words: boxes(shown, (n) => n.textContent),
        symbols: boxes([...document.querySelectorAll('.spot svg')], (n) => n.parentElement.getAttribute('aria-label')),
        leaders: [...document.querySelectorAll('.leader')].map((n) => n.getTotalLength())};
"""


@pytest.fixture(scope="module")
def crowded(tmp_path_factory):
    return write_map(crowd(), tmp_path_factory.mktemp("crowd") / "map.html")


def gap(box, other):
    """Between two boxes [px]; 0 where they touch."""
    across = max(box[1] - other[3], other[1] - box[3], 0)
    along = max(box[2] - other[4], other[2] - box[4], 0)
    return math.hypot(across, along)


@pytest.mark.parametrize("size", [SMALL_PHONE, PHONE, (768, 1024), DESK], ids=lambda size: str(size[0]))
@pytest.mark.parametrize("name", ["map", "crowded"])
def test_words_lie_on_no_symbol_and_beside_their_own(offline, pages, crowded, name, size):
    open_page(offline, pages.get(name, crowded), size)
    for zoom in (0, 1, 2.5):
        offline.execute_script("sitemap.setZoom(sitemap.getZoom() + arguments[0], {animate: false})", zoom)
        seen = offline.execute_script(SEEN)
        assert seen["words"] and all(length <= 60 for length in seen["leaders"])  # two symbols' width: no line
        codes = {symbol[0].split(":")[0] for symbol in seen["symbols"]}
        for words in seen["words"]:
            assert not [one for one in seen["symbols"] if gap(words, one) == 0 and one[0].split(":")[0] in codes], words
            own = [one for one in seen["symbols"] if one[0].split(":")[0] == words[0].split()[0]]
            others = [one for one in seen["symbols"] if ":" in one[0] and one not in own and one[0][0] in "TB"]
            for one in own:  # words of an anchor, not of a line; symbols are round, boxes are not
                assert all(gap(words, one) <= gap(words, other) + 6 for other in others), words


def test_every_anchor_has_its_words_once_magnified(offline, crowded):
    open_page(offline, crowded, PHONE)
    for code in [f"T{i:03d}" for i in range(100)]:
        offline.execute_script(
            "const a = site.anchors.find((one) => one.code === arguments[0]);"
            "sitemap.setView(a.place, 22, {animate: false});", code)  # fmt: skip
        assert any(words[0].startswith(code) for words in offline.execute_script(SEEN)["words"]), code


def test_how_many_have_no_words_is_told(offline, pages, crowded):
    open_page(offline, crowded, PHONE)
    note = offline.find_element("id", "unworded")
    worded = sum(1 for words in offline.execute_script(SEEN)["words"] if re.match("[TL][0-9]", words[0]))
    assert note.text == f"anchors or lines without words here: {160 - worded}; see the list, or zoom in"
    open_page(offline, pages["map"], DESK)
    assert not offline.find_element("id", "unworded").is_displayed()


@pytest.mark.parametrize("size", [SMALL_PHONE, PHONE, DESK], ids=lambda size: str(size[0]))
@pytest.mark.parametrize("name", ["map", "map in German"])
def test_what_the_symbols_mean_stands_in_the_first_screen_with_the_map(offline, pages, name, size):
    open_page(offline, pages[name], size)
    signs = offline.find_elements("css selector", ".signs li")
    assert len(signs) == 5 and all(sign.is_displayed() and sign.text for sign in signs)
    lowest = max(sign.rect["y"] + sign.rect["height"] for sign in signs)
    map_top = offline.find_element("id", "sitemap").rect["y"]
    assert lowest < size[1] and map_top < 0.65 * size[1]
    assert offline.execute_script("return document.documentElement.scrollWidth") <= size[0]
    assert offline.execute_script("return document.querySelectorAll('h1').length") == 1


def test_the_first_key_leads_past_the_map(offline, pages):
    open_page(offline, pages["map"], DESK)
    offline.find_element("tag name", "body").send_keys("\ue004")
    link = offline.switch_to.active_element
    assert link.get_attribute("class") == "skip" and link.rect["x"] >= 0
    link.send_keys("\ue007")
    assert offline.execute_script("return document.activeElement.id") == "in-words"


@pytest.mark.skipif(not shutil.which("pdftotext"), reason="needs pdftotext")
@pytest.mark.parametrize("size", [PHONE, DESK], ids=["from a phone", "from a desk"])
@pytest.mark.parametrize("name, most", [("map", 3), ("crowded", 7)])
def test_the_printed_map_is_fitted_to_its_sheet(offline, pages, crowded, assessment, tmp_path, name, most, size):
    open_page(offline, pages.get(name, crowded), size)
    at_first = offline.execute_script("return [sitemap.getZoom(), sitemap.getCenter().lat]")
    printed = offline.execute_cdp_cmd("Page.printToPDF", {"printBackground": True, "preferCSSPageSize": True})
    (tmp_path / "map.pdf").write_bytes(base64.b64decode(printed["data"]))
    text = subprocess.run(["pdftotext", "-layout", tmp_path / "map.pdf", "-"], capture_output=True, text=True).stdout
    sheets = text.split("\f")[:-1]
    assert len(sheets) <= most
    assert "Alder Meadow" in sheets[0] and "leave it" in sheets[0]
    if name == "map":
        assert all(anchor.code in sheets[0] for anchor in assessment.record.anchors if anchor.position)
    assert "Measure on the map" not in text and "+" not in sheets[0].split()
    offline.execute_async_script("setTimeout(arguments[0], 50)")
    assert offline.execute_script("return [sitemap.getZoom(), sitemap.getCenter().lat]") == pytest.approx(at_first)
    offline.execute_script("window.dispatchEvent(new Event('beforeprint'))")
    sheet = offline.find_element("id", "sitemap").rect
    for symbol in offline.execute_script(SEEN)["symbols"]:
        assert sheet["x"] <= symbol[1] and symbol[3] <= sheet["x"] + sheet["width"], symbol
        assert sheet["y"] <= symbol[2] and symbol[4] <= sheet["y"] + sheet["height"], symbol
    offline.execute_script("window.dispatchEvent(new Event('afterprint'))")
