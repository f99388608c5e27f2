"""The site map as a file: nothing within it points elsewhere, and its size stays small."""

from __future__ import annotations

import base64
import dataclasses
import hashlib
import json
import re

import pytest

from siteassess.advice.finding import found
from siteassess.errors import FaultyInput
from siteassess.papers.language import words_in
from siteassess.papers.map_data import _result_sentences
from siteassess.papers.sitemap import map_page, write_map
from siteassess.reference.locate import shipped


def data_of(page: str) -> dict:
    return json.loads(re.search(r'<script type="application/json" id="site-data">(.*?)</script>', page, re.DOTALL)[1])


def policy_of(page: str) -> str:
    return re.search(r'Content-Security-Policy" content="([^"]*)"', page)[1]


def test_vendored_leaflet_is_what_its_checksums_say():
    folder = shipped("maps") / "vendor" / "leaflet"
    lines = (folder / "SHA256SUMS").read_text().split("\n")
    sums = {name: digest for digest, name in (line.split() for line in lines if line)}
    assert set(sums) == {"leaflet.js", "leaflet.css", "LICENSE"}
    for name, digest in sums.items():
        assert hashlib.sha256((folder / name).read_bytes()).hexdigest() == digest


def test_page_links_nothing(assessment):
    page = map_page(assessment)
    assert not re.search(r"<link\b|<img\b|<iframe\b|\ssrc=|@import|url\((?!#)|sourceMappingURL", page)
    assert "default-src 'none'" in policy_of(page) and "img-src 'none'" in policy_of(page)
    # the one thing that looks like an address within the page is text of Leaflet's own credit and of SVG's name
    assert set(re.findall(r"https?://([\w.]+)", page)) <= {"leafletjs.com", "www.w3.org"}


def test_every_script_and_style_has_its_checksum_in_the_policy(assessment):
    page, policy = map_page(assessment), policy_of(map_page(assessment))
    blocks = re.findall(r"<(?:script|style)>(.*?)</(?:script|style)>", page, re.DOTALL)
    sums = [base64.b64encode(hashlib.sha256(block.encode()).digest()).decode() for block in blocks]
    assert len(sums) == 5 and re.findall(r"'sha256-([^']*)'", policy) == sums[2:] + sums[:2]
    assert "unsafe" not in policy


def test_policy_is_the_same_whatever_the_record_holds(assessment, hostile_assessment):
    """The checksums come from the shipped files: nothing found in a page can add one."""
    assert policy_of(map_page(hostile_assessment)) == policy_of(map_page(assessment))


def test_same_assessment_same_page(assessment):
    assert map_page(assessment) == map_page(assessment)


def test_one_hundred_trees_stay_under_a_megabyte(tmp_path, make_assessment):
    anchors = tuple(
        (f"T{i:03d}", "tree", 17 * (i % 10), 17 * (i // 10), "180 cm", "6 m", f"INV-{i}", "Quercus robur")
        for i in range(100)
    )
    lines = tuple((f"L{i}", f"T{i:03d}", f"T{i + 1:03d}", "suits if") for i in range(0, 98, 2))
    path = write_map(make_assessment(anchors=anchors, lines=lines), tmp_path / "map.html")
    assert path.stat().st_size < 1_000_000


def test_hostile_texts_cannot_leave_their_script_block(hostile_assessment):
    page = map_page(hostile_assessment)
    data = data_of(page)  # parses: no text closed the block early
    assert "<img src=x onerror=" in json.dumps(data)
    scripts = re.findall(r"<script>(.*?)</script>", page, re.DOTALL)
    assert len(scripts) == 3
    assert not any("PWNED" in script for script in scripts)
    assert not re.search(r"<img|<script>window", page)


def test_data_carries_positions_verdicts_and_bearings(assessment):
    data = data_of(map_page(assessment))
    anchors = {anchor["code"]: anchor for anchor in data["anchors"]}
    # drawn where all readings together put it: the spans are taped, the fixes good to metres
    assert anchors["T01"]["place"] == pytest.approx([52.0, 5.0], abs=2e-5)
    assert anchors["T01"]["crown_radius_m"] == 7.0 and anchors["T01"]["root_zone_radius_m"] == 7.4
    assert anchors["B01"]["verdict"] == "cannot say"
    assert data["lines"][0]["short_words"].startswith("42.2 m, 078° / 258° true")
    assert data["declination_deg"] == pytest.approx(2.7, abs=0.1)  # Utrecht's longitude and latitude in 2026


def test_corrected_positions_replace_the_raw_ones(assessment):
    page = map_page(assessment, positions={"T01": (52.0001, 5.0001)})
    anchors = {anchor["code"]: anchor for anchor in data_of(page)["anchors"]}
    assert anchors["T01"]["place"] == [52.0001, 5.0001]


def test_antimeridian_keeps_the_site_together(make_assessment):
    data = data_of(map_page(make_assessment(origin=(-16.5, 179.9999))))
    longitudes = [anchor["place"][1] for anchor in data["anchors"]]
    assert max(longitudes) - min(longitudes) < 0.01
    (south, west), (north, east) = data["bounds"]
    assert south < north and west < east < west + 0.02


def test_anchor_without_position_stays_in_the_list(make_assessment):
    known = make_assessment()
    anchors = (known.record.anchors[0].model_copy(update={"position": None}), *known.record.anchors[1:])
    page = map_page(dataclasses.replace(known, record=known.record.model_copy(update={"anchors": anchors})))
    assert "Not on the map, for want of a position:</b> T01" in page
    assert data_of(page)["anchors"][0]["place"] is None


def test_site_without_any_position_still_opens(make_assessment):
    known = make_assessment(lines=())
    anchors = tuple(a.model_copy(update={"position": None}) for a in known.record.anchors)
    page = map_page(dataclasses.replace(known, record=known.record.model_copy(update={"anchors": anchors})))
    assert len(data_of(page)["anchors"]) == 5


TILES = "https://tiles.invented.example/{z}/{x}/{y}.png"


def test_tiles_only_when_asked_and_only_from_there(assessment):
    page = map_page(assessment, tiles=TILES, tiles_credit="invented <b>credit</b>")
    assert data_of(page)["tiles"]["address"] == TILES
    assert "img-src https://tiles.invented.example;" in policy_of(page)
    assert "<b>credit</b>" not in page


def test_a_known_tile_server_brings_its_credit_as_text(assessment):
    page = map_page(assessment, tiles="OpenStreetMap")
    layer = data_of(page)["tiles"]
    assert layer["address"].startswith("https://tile.openstreetmap.org/")
    assert layer["options"]["attribution"] == "© OpenStreetMap contributors"
    assert "img-src https://tile.openstreetmap.org;" in policy_of(page)


@pytest.mark.parametrize(
    ("tiles", "credit"),
    [
        ("http://tiles.invented.example/{z}/{x}/{y}.png", "c"), ("https://tiles.invented.example/x.png", "c"),
        ("javascript:alert(1)//{z}{x}{y}", "c"), ("No such server", None),
        (TILES, None), ("https://a b';script-src *//{z}{x}{y}", "c"),
        ("https://x\"><script>1</script>/{z}{x}{y}", "c"),
    ],
)  # fmt: skip
def test_odd_tile_addresses_are_refused(assessment, tiles, credit):
    with pytest.raises(FaultyInput):
        map_page(assessment, tiles=tiles, tiles_credit=credit)


def test_a_stop_sign_is_told_once_whatever_its_sentence(assessment):
    sign = found("boulder-moves", "leave it")
    end = dataclasses.replace(assessment.lines[0].anchors[0], stop_signs=(sign.says,), findings=(sign,))
    assert [sign.says in sentence for sentence in _result_sentences(end, words_in())].count(True) == 1
