"""Words, symbols and what a finger hits on the site map: nothing hides what stands on the ground, no number is cut."""

from __future__ import annotations

import base64
import re
import shutil
import subprocess

import pytest
from closed_browser import DESK, PHONE, needs_browser, open_page
from crowded_park import crowd

from siteassess.papers.sitemap import write_map

pytestmark = needs_browser
SMALL_PHONE = (320, 568)
CUT = """return [...document.querySelectorAll('.maplabel')].filter((n) => getComputedStyle(n).visibility === 'visible')
    .filter((n) => n.scrollWidth > n.clientWidth).map((n) => n.textContent);"""
WORDS = """return [...document.querySelectorAll('.maplabel')]
    .filter((n) => getComputedStyle(n).visibility === 'visible')
    .map((n) => n.textContent).filter((words) => /^[TL]\\d/.test(words));"""
# of each small area, how much of the box about it lies under words that name something else [-]
COVERED = """
const box = (n) => { const r = n.getBoundingClientRect(); return [r.left, r.top, r.right, r.bottom]; };
const shared = (a, b) => Math.max(0, Math.min(a[2], b[2]) - Math.max(a[0], b[0]))
    * Math.max(0, Math.min(a[3], b[3]) - Math.max(a[1], b[1]));
const bad = /leave it|cannot say|nicht verwenden|keine Aussage/; // keeps its words where nothing else has room
const words = [...document.querySelectorAll('.maplabel')].filter((n) => getComputedStyle(n).visibility === 'visible');
const frame = document.getElementById('sitemap').getBoundingClientRect();
return site.surroundings.filter((one) => one.closed).map((one) => {
    const at = one.points.map((point) => sitemap.latLngToContainerPoint(point));
    const [xs, ys] = [at.map((p) => p.x + frame.left), at.map((p) => p.y + frame.top)];
    const area = [Math.min(...xs), Math.min(...ys), Math.max(...xs), Math.max(...ys)];
    const name = one.name || one.kind_words;
    const hidden = words.filter((n) => n.textContent !== name && !bad.test(n.textContent))
        .reduce((sum, n) => sum + shared(box(n), area), 0);
    return [name, area[2] - area[0], hidden / ((area[2] - area[0]) * (area[3] - area[1]))];
});"""


@pytest.fixture(scope="module")
def crowded(tmp_path_factory):
    return write_map(crowd(), tmp_path_factory.mktemp("crowd") / "map.html")


@pytest.mark.parametrize("size", [SMALL_PHONE, PHONE, DESK], ids=lambda size: str(size[0]))
@pytest.mark.parametrize("name", ["map", "crowded", "map in German"])
def test_no_number_is_cut_and_no_small_area_vanishes_under_words(offline, pages, crowded, name, size):
    open_page(offline, pages.get(name, crowded), size)
    for printed in (False, True):
        if printed:
            offline.execute_script("window.dispatchEvent(new Event('beforeprint'))")
        assert offline.execute_script(CUT) == [], printed
        for thing, wide, hidden in offline.execute_script(COVERED):
            assert wide >= 150 or hidden <= 0.31, (thing, wide, hidden, printed)
    offline.execute_script("window.dispatchEvent(new Event('afterprint'))")


@pytest.mark.parametrize("size", [SMALL_PHONE, PHONE], ids=lambda size: str(size[0]))
def test_how_many_have_no_words_hides_no_symbol(offline, crowded, size):
    """The note stands under the map, in full width; only the bar itself is left on it."""
    open_page(offline, crowded, size)
    note, sitemap, bar = (offline.find_element("id", name).rect for name in ("unworded", "sitemap", "scalebar"))
    assert note["y"] >= sitemap["y"] + sitemap["height"] and bar["height"] < 60
    offline.execute_script("window.dispatchEvent(new Event('beforeprint'))")
    assert "zoom" not in offline.find_element("id", "unworded").get_property("textContent")
    offline.execute_script("window.dispatchEvent(new Event('afterprint'))")
    assert "zoom" in offline.find_element("id", "unworded").text


@pytest.mark.skipif(not shutil.which("pdftotext"), reason="needs pdftotext")
def test_what_has_no_words_on_the_printed_map_is_named_under_it(offline, crowded, tmp_path):
    """A sheet is not magnified: each anchor and line has its words on it, or its name below."""
    open_page(offline, crowded, DESK)
    offline.execute_script("window.dispatchEvent(new Event('beforeprint'))")
    worded = {words.split()[0] for words in offline.execute_script(WORDS)}
    note = offline.find_element("id", "unworded").get_property("textContent")
    offline.execute_script("window.dispatchEvent(new Event('afterprint'))")
    known = [f"T{i:03d}" for i in range(100)] + [f"L{n}" for n in range(1, 61)]
    named = re.findall(r"\b[TL]\d+\b", note)
    assert named == [one for one in known if one not in worded]
    assert note.startswith(f"anchors or lines without words here: {len(named)}; see the list for T")
    printed = offline.execute_cdp_cmd("Page.printToPDF", {"preferCSSPageSize": True})
    (tmp_path / "map.pdf").write_bytes(base64.b64decode(printed["data"]))
    told = subprocess.run(["pdftotext", "-raw", tmp_path / "map.pdf", "-"], capture_output=True, text=True).stdout
    assert " ".join(note.split()) in " ".join(told.split())
    assert offline.find_element("id", "unworded").text.endswith("see the list, or zoom in")


@pytest.mark.parametrize("name", ["map", "crowded"])
def test_an_anchor_is_hit_by_a_finger_and_the_nearer_of_two_is_meant(offline, pages, crowded, name):
    open_page(offline, pages.get(name, crowded), PHONE)
    small = """return [...document.querySelectorAll('.spot[tabindex]')].map((n) => n.getBoundingClientRect())
        .filter((r) => r.width < 44 || r.height < 44).length"""
    assert offline.execute_script(small) == 0
    # where each stands, as a finger put there finds it
    tapped = """const frame = document.getElementById('sitemap').getBoundingClientRect();
    const placed = site.anchors.filter((one) => one.place);
    return placed.filter((one, i) => i % Math.ceil(placed.length / 12) === 0).flatMap((one) => {
        const at = sitemap.latLngToContainerPoint(one.place), x = at.x + frame.left, y = at.y + frame.top;
        const alone = site.anchors.every((other) => other === one || !other.place
            || sitemap.latLngToContainerPoint(other.place).distanceTo(at) > 3);
        const hit = document.elementFromPoint(x, y)?.closest('.spot[tabindex]');
        if (!alone || !hit) { return []; }
        hit.dispatchEvent(new MouseEvent('click', { bubbles: true, clientX: x, clientY: y }));
        return [[one.code, document.querySelector('#details h3').textContent.split(',')[0]]];
    });"""
    met = offline.execute_script(tapped)
    assert len(met) > 3 and all(meant == told for meant, told in met), met


@pytest.mark.skipif(not shutil.which("pdftotext"), reason="needs pdftotext")
@pytest.mark.parametrize("paper", [(11.69, 16.54), (8.5, 11.0)], ids=["A3", "Letter"])
def test_the_printed_map_fills_whatever_sheet_was_chosen(offline, pages, tmp_path, paper):
    open_page(offline, pages["map"], DESK)
    spread = []
    for wide, tall in ((8.27, 11.69), paper):
        asked = {"printBackground": True, "preferCSSPageSize": True, "paperWidth": wide, "paperHeight": tall}
        printed = offline.execute_cdp_cmd("Page.printToPDF", asked)
        (tmp_path / "map.pdf").write_bytes(base64.b64decode(printed["data"]))
        boxes = ["pdftotext", "-bbox", "-l", "1", tmp_path / "map.pdf", "-"]
        told = subprocess.run(boxes, capture_output=True, text=True)
        sheet = re.search(r'<page width="([\d.]+)" height="([\d.]+)"', told.stdout)
        assert sorted(map(float, sheet.groups())) == pytest.approx(sorted((72 * wide, 72 * tall)), abs=2)
        words = re.findall(r'xMin="([\d.]+)" yMin="([\d.]+)"[^>]*>T\d+<', told.stdout)
        across = [float(x) for x, _ in words]
        spread.append((max(across) - min(across)) / float(sheet[1]))
        assert len(words) >= 4 and all(float(y) < float(sheet[2]) for _, y in words)
    assert spread[1] == pytest.approx(spread[0], rel=0.15)
