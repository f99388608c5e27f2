"""The site map: one HTML file that opens with no network.

Leaflet is written into the page, no popup or tooltip is used, and texts are set as text by one script of ours. folium
is asked for one thing, background tiles: it knows the well-known tile servers with their credit by name. Its own map
is not used: it would link ten remote files, let raw markup through its popups, and read finished text as a template.
"""

from __future__ import annotations

import functools
import re
from pathlib import Path
from typing import Any
from urllib.parse import urlsplit

from markupsafe import Markup

from siteassess.advice.results import Assessment
from siteassess.errors import Fault, FaultyInput
from siteassess.papers.look import symbol_svg
from siteassess.papers.map_data import MAP_LAYERS, frame_of, page_texts, site_data
from siteassess.papers.pages import HELPERS
from siteassess.papers.plan_furniture import magnetic_words
from siteassess.papers.scene import Scene, build
from siteassess.places.crossings import FALL_STRIP_HALF_WIDTH_M
from siteassess.records.files import write_whole
from siteassess.reference.findings import worded
from siteassess.reference.locate import shipped
from siteassess.reference.look import look
from siteassess.reference.pages import part, plain, render, script_data

MAP_NAME = "sitemap"


def write_map(
    assessment: Assessment,
    path: str | Path,
    tiles: str | None = None,
    tiles_credit: str | None = None,
    positions: dict[str, tuple[float, float]] | None = None,
    language: str = "en",
) -> Path:
    """Write the site map as one self-contained HTML file.

    Parameters
    ----------
    assessment : the answers with their record
    path : file to write
    tiles : https address of a tile layer with {z}, {x} and {y}, or the name of a well-known server; without it the
        map makes no request at all
    tiles_credit : who made the tiles and under what licence, shown on the map; wanted with an address
    positions : corrected latitude and longitude by anchor code [deg]
    language : what the page is told in

    Returns
    -------
    The path written.

    Raises
    ------
    FaultyInput : `tiles` is no https address with {z}, {x}, {y}, or comes without a credit.
    OutsideModel : positions at a pole, or spread over more than 100 km.
    """
    return write_whole(map_page(assessment, tiles, tiles_credit, positions, language), path)


def map_page(
    assessment: Assessment,
    tiles: str | None = None,
    tiles_credit: str | None = None,
    positions: dict[str, tuple[float, float]] | None = None,
    language: str = "en",
) -> str:
    """The site map as text.

    Parameters
    ----------
    assessment, tiles, tiles_credit, positions, language : as in `write_map`, which names the errors
    """
    layer = _tile_layer(tiles, tiles_credit) if tiles else None
    scene = build(assessment, positions, language)
    data = site_data(assessment, scene)
    frame = frame_of(scene)
    data["map"] = {**MAP_OPTIONS, "center": [frame.lat0, frame.lon0], "attributionControl": layer is not None}
    data["tiles"] = layer
    return render(
        "sitemap",
        styles=[_leaflet("leaflet.css"), part("sitemap.css")],
        scripts=[_leaflet("leaflet.js"), part("course.js"), part("sitemap.js")],
        images=_origin(layer["address"] if layer else "") or "'none'",
        helpers=HELPERS,
        **_shown(assessment, scene, data),
    )


MAP_OPTIONS = {
    "zoom": 18, "maxZoom": 22, "minZoom": 3, "zoomSnap": 0.25, "zoomAnimation": False, "fadeAnimation": False,
}  # fmt: skip


@functools.cache
def _leaflet(name: str) -> str:
    folder = shipped("maps") / "vendor" / "leaflet"
    text = (folder / name).read_text(encoding="utf-8")
    # these lines name files that are not shipped; a browser would ask for them
    text = re.sub(r"\n//# sourceMappingURL=.*", "", text)
    if name.endswith(".css"):
        text = re.sub(r"/\*.*?\*/", "", text, flags=re.DOTALL)
    else:
        text = f"/*\n{(folder / 'LICENSE').read_text(encoding='utf-8')}*/\n{text}"
    return re.sub(r"[\w-]+:\s*url\([^)]*\);", "", text)


def _shown(assessment: Assessment, scene: Scene, data: dict[str, Any]) -> dict[str, Any]:
    """What the page around the map shows, and the site as data for its script."""
    turn, t = scene.declination_deg, scene.words
    return {
        "t": t,
        "language": t.language,
        "title": assessment.record.site.name,
        "map_name": MAP_NAME,
        "data": script_data(data),
        "anchors": data["anchors"],
        "lines": data["lines"],
        "layers": MAP_LAYERS,
        "verdicts": look().verdicts.values(),
        "unplaced": scene.unplaced,
        "declination_deg": turn,
        "declination_says": scene.declination_told.in_words(t.language),
        "fit_says": [plain(one.in_words(t.language)) for one in scene.fit_told],
        "magnetic_words": magnetic_words(scene),
        "key": _key(scene),
        **page_texts(assessment, t),
    }


def _key(scene: Scene) -> list[dict[str, Any]]:
    """What the legend explains: only what this map shows."""
    t = scene.words
    drawn = {stretch.result.verdict for stretch in scene.stretches}
    entries = [
        (
            f'<path d="M0 12 L34 12" stroke="{look().colours["ink"]}" stroke-width="4" stroke-dasharray="{how.dash}"/>',
            t("map-key-line", verdict=t.of(how.word)),
        )
        for how in look().verdicts.values()
        if how.word in drawn
    ]
    if any(spot.crown_radius_m for spot in scene.spots):
        crown = '<circle cx="17" cy="12" r="10" fill="#009E73" fill-opacity=".13" stroke="#1b1f24"/>'
        entries.append((crown, t("map-key-crown")))
    if any(spot.root_zone_radius_m for spot in scene.spots):
        zone = '<circle cx="17" cy="12" r="10" fill="none" stroke="#8a6d3b" stroke-width="2" stroke-dasharray="3 4"/>'
        entries.append((zone, t("map-key-zone")))
    if scene.stretches:
        strip = (
            '<rect x="2" y="4" width="30" height="16" rx="8" fill="#D55E00" fill-opacity=".09" stroke="#D55E00" '
            'stroke-dasharray="1 4"/>'
        )
        entries.append((strip, t("map-key-strip", width=scene.measures.told(FALL_STRIP_HALF_WIDTH_M, "m g"))))
    for kind in dict.fromkeys(shape.kind for shape in scene.shapes):
        how = look().features[kind]
        if "symbol" in how:
            entries.append((symbol_svg(how["symbol"], "#F0E442", 24), t.of(kind)))
            continue
        if how["fill"] == "hatch":
            inside = f'<path d="M3 19 L15 3 M11 21 L27 3 M21 21 L31 7" stroke="{how["stroke"]}" stroke-width="3"/>'
        elif how["fill"] == "none":
            inside = (
                f'<path d="M2 12 L32 12" stroke="{how["stroke"]}" stroke-width="3" stroke-dasharray="{how["dash"]}"/>'
            )
        else:
            inside = (
                f'<rect x="2" y="4" width="30" height="16" fill="{how["fill"]}" stroke="{how["stroke"]}" '
                f'stroke-width="2" stroke-dasharray="{how["dash"]}"/>'
            )
        entries.append((inside, t.of(kind)))
    frame = '<svg aria-hidden="true" width="34" height="24" viewBox="0 0 34 24">{}</svg>'
    return [
        {"picture": Markup(picture if picture.startswith("<svg") else frame.format(picture)), "words": words}
        for picture, words in entries
    ]


def _tile_layer(tiles: str, credit: str | None) -> dict[str, Any]:
    """Address and options of the background tiles, as the page's script hands them to Leaflet.

    Leaflet writes the credit as markup, so it is escaped here, whoever wrote it.
    """
    import folium  # with pandas behind it; most maps have no tiles

    address, known_credit = tiles, None
    if "{" not in tiles and ":" not in tiles:
        try:
            named = folium.TileLayer(tiles)
            address, known_credit = named.tiles, Markup(named.options["attribution"]).striptags()
        except ValueError:
            pass  # no such server: told below as an address that is none
    credit, faults = credit or known_credit, []
    if _origin(address) is None or not all(mark in address for mark in ("{z}", "{x}", "{y}")):
        faults.append(Fault(0, "tiles", tiles, worded("want-tiles", marks=("{z}", "{x}", "{y}"))))
    if not credit:
        faults.append(Fault(0, "tiles credit", worded("read-nothing"), worded("want-tiles-credit")))
    if faults:
        raise FaultyInput("map", faults)
    options = {"attribution": str(Markup.escape(plain(credit))), "maxZoom": MAP_OPTIONS["maxZoom"]}
    return {"address": address, "options": options}


def _origin(tiles: str) -> str | None:
    """Where tiles come from, for the content policy; subdomains of a {s} pattern are allowed as a whole."""
    parts = urlsplit(tiles)
    host = parts.netloc.replace("{s}", "*")
    if parts.scheme != "https" or not re.fullmatch(r"(\*\.)?[A-Za-z0-9.-]+(:\d+)?", host):
        return None
    return f"https://{host}"


__all__ = ["map_page", "write_map"]
