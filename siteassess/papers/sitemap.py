"""The site map: one HTML file that opens with no network.

branca, on which folium stands, puts the page together; folium's own map would link ten remote files and let raw markup
through its popups, and brings pandas along. So folium is asked only for a layer of background tiles. Leaflet is written
into the page, no popup or tooltip is used, texts are set as text by one script of ours, and a content policy with the
checksum of every script and style lets nothing else run or load.
"""

from __future__ import annotations

import functools
import html
import os
import re
from pathlib import Path
from typing import Any
from urllib.parse import urlsplit

from branca.element import Element, Figure, MacroElement
from jinja2 import Template
from markupsafe import Markup

from siteassess.advice.results import VERDICT_TAIL, Assessment
from siteassess.errors import Fault, FaultyInput
from siteassess.papers.look import SURVEY_NOT_INSPECTION, look, plain, symbol_svg
from siteassess.papers.map_data import LAYERS, NOWHERE, page_texts, site_data
from siteassess.papers.pages import as_script_data, page_templates, seal
from siteassess.papers.scene import Scene, build
from siteassess.places.crossings import FALL_STRIP_HALF_WIDTH_M
from siteassess.reference.locate import shipped

MAP_NAME = "sitemap"


def write_map(
    assessment: Assessment,
    path: str | os.PathLike,
    tiles: str | None = None,
    tiles_credit: str | None = None,
    positions: dict[str, tuple[float, float]] | None = None,
) -> Path:
    """Write the site map as one self-contained HTML file.

    Parameters
    ----------
    assessment : the answers with their record
    path : file to write
    tiles : address of a tile layer with {z}, {x} and {y}; without it the map makes no request at all
    tiles_credit : who made the tiles and under what licence, shown on the map; wanted with `tiles`
    positions : corrected latitude and longitude by anchor code [deg]

    Returns
    -------
    The path written.

    Raises
    ------
    FaultyInput : `tiles` is no https address with {z}, {x}, {y}, or comes without a credit.
    OutsideModel : positions at a pole, or spread over more than 100 km.
    """
    path = Path(path)
    path.write_text(map_page(assessment, tiles, tiles_credit, positions), encoding="utf-8")
    return path


def map_page(
    assessment: Assessment,
    tiles: str | None = None,
    tiles_credit: str | None = None,
    positions: dict[str, tuple[float, float]] | None = None,
) -> str:
    """The site map as text; see `write_map`."""
    origin = _tile_origin(tiles, tiles_credit) if tiles else None
    scene = build(assessment, positions)
    site_map = SiteMap(scene, plain(assessment.record.site.name), origin)
    if tiles:
        import folium  # with pandas behind it; most maps have no tiles

        folium.TileLayer(tiles=tiles, attr=html.escape(plain(tiles_credit)), max_zoom=22).add_to(site_map)
    site_map.add_child(DrawnSite(assessment, scene))
    return site_map.get_root().render()


class SealedPage(Figure):
    """A page that names the checksum of each of its scripts and styles, so that a browser runs no other."""

    _template = Template(
        '<!DOCTYPE html>\n<html lang="en">\n<head>\n<meta charset="utf-8">\n'
        '<meta name="viewport" content="width=device-width, initial-scale=1">\n'
        "<title>{{ this.title }}</title>\n{{ this.header.render(**kwargs) }}\n</head>\n<body>\n"
        "{{ this.html.render(**kwargs) }}\n<script>{{ this.script.render(**kwargs) }}</script>\n</body>\n</html>\n"
    )

    def __init__(self, title: str, image_origin: str | None):
        super().__init__(title=html.escape(title))
        self.header._children.clear()
        self.image_origin = image_origin

    def render(self, **kwargs) -> str:
        return seal(super().render(**kwargs), self.image_origin)


class SiteMap(MacroElement):
    """A map that links nothing: Leaflet stands in the page."""

    _template = Template(
        """{% macro header(this, kwargs) %}<style>{{ this.styles }}</style>{% endmacro %}
        {% macro script(this, kwargs) %}
        const {{ this.get_name() }} = L.map("{{ this.get_name() }}", {{ this.leaflet_options|tojson }});
        {% endmacro %}"""
    )

    def __init__(self, scene: Scene, title: str, image_origin: str | None):
        centre = [scene.frame.lat0, scene.frame.lon0] if scene.frame else NOWHERE
        super().__init__()
        self._name, self._id = MAP_NAME, ""
        self.styles = _leaflet("leaflet.css") + (shipped("maps") / "pages" / "sitemap.css").read_text(encoding="utf-8")
        self.leaflet_options = {
            "center": centre,
            "zoom": 18,
            "maxZoom": 22,
            "minZoom": 3,
            "zoomSnap": 0.25,
            "attributionControl": image_origin is not None,
            "zoomAnimation": False,
            "fadeAnimation": False,
        }
        SealedPage(title, image_origin).add_child(self)
        licence = (shipped("maps") / "vendor" / "leaflet" / "LICENSE").read_text(encoding="utf-8")
        script = f"<script>/*\n{licence}*/\n{_leaflet('leaflet.js')}</script>"
        self.get_root().header.add_child(_Verbatim(script), name="leaflet")

    def get_name(self) -> str:
        return MAP_NAME  # one map to a page; a fixed name gives the same file for the same record


class _Verbatim(Element):
    """Text that is put into the page as it stands."""

    _template = Template("{{ this.text }}")

    def __init__(self, text: str):
        super().__init__()
        self.text = text


class DrawnSite(MacroElement):
    """The page around the map, the site as data, and the script that draws it."""

    _template = Template(
        """{% macro html(this, kwargs) %}{{ this.page }}
        <script type="application/json" id="site-data">{{ this.data }}</script>{% endmacro %}
        {% macro script(this, kwargs) %}{{ this.drawing }}
        drawSite({{ this._parent.get_name() }}, JSON.parse(document.getElementById("site-data").textContent));
        {% endmacro %}"""
    )

    def __init__(self, assessment: Assessment, scene: Scene):
        super().__init__()
        self._name = "DrawnSite"
        data = site_data(assessment, scene)
        self.data = as_script_data(data)
        self.page = _page(assessment, scene, data)
        self.drawing = (shipped("maps") / "pages" / "sitemap.js").read_text(encoding="utf-8")


@functools.cache
def _leaflet(name: str) -> str:
    text = (shipped("maps") / "vendor" / "leaflet" / name).read_text(encoding="utf-8")
    # these lines name files that are not shipped; a browser would ask for them
    text = re.sub(r"\n//# sourceMappingURL=.*", "", text)
    if name.endswith(".css"):
        text = re.sub(r"/\*.*?\*/", "", text, flags=re.DOTALL)
    return re.sub(r"[\w-]+:\s*url\([^)]*\);", "", text)


def _page(assessment: Assessment, scene: Scene, data: dict[str, Any]) -> str:
    turn = scene.declination_deg
    side = "" if turn is None else "east" if turn >= 0 else "west"
    return (
        page_templates()
        .get_template("sitemap.html.j2")
        .render(
            map_name=MAP_NAME,
            anchors=data["anchors"],
            lines=data["lines"],
            layers=LAYERS,
            verdicts=look().verdicts.values(),
            verdict_tail=VERDICT_TAIL,
            not_an_inspection=SURVEY_NOT_INSPECTION,
            unplaced=scene.unplaced,
            declination_deg=turn,
            declination_says=scene.declination_says,
            fit_says=[plain(says) for says in scene.fit_says],
            declination_words="" if turn is None else f"{abs(turn):.1f}° {side}",
            north_words="True north is up"
            + ("" if turn is None else f"; magnetic north {abs(turn):.1f} degrees {side}"),
            key=_key(scene),
            **page_texts(assessment),
        )
    )


def _key(scene: Scene) -> list[dict[str, Any]]:
    """What the legend explains: only what this map shows."""
    drawn = {stretch.result.verdict for stretch in scene.stretches}
    entries = [
        (
            f'<path d="M0 12 L34 12" stroke="{look().colours["ink"]}" stroke-width="4" stroke-dasharray="{how.dash}"/>',
            f"line: {how.word}",
        )
        for how in look().verdicts.values()
        if how.word in drawn
    ]
    if any(spot.crown_radius_m for spot in scene.spots):
        crown = '<circle cx="17" cy="12" r="10" fill="#009E73" fill-opacity=".13" stroke="#1b1f24"/>'
        entries.append((crown, "crown, to scale"))
    if any(spot.root_zone_radius_m for spot in scene.spots):
        zone = '<circle cx="17" cy="12" r="10" fill="none" stroke="#8a6d3b" stroke-width="2" stroke-dasharray="3 4"/>'
        entries.append((zone, "root protection zone, to scale"))
    if scene.stretches:
        strip = (
            '<rect x="2" y="4" width="30" height="16" rx="8" fill="#D55E00" fill-opacity=".09" stroke="#D55E00" '
            'stroke-dasharray="1 4"/>'
        )
        entries.append((strip, f"fall strip, {FALL_STRIP_HALF_WIDTH_M:g} m to each side of a line, to keep free"))
    for kind in dict.fromkeys(shape.kind for shape in scene.shapes):
        how = look().features[kind]
        if "symbol" in how:
            entries.append((symbol_svg(how["symbol"], "#F0E442", 24), kind))
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
        entries.append((inside, kind))
    frame = '<svg aria-hidden="true" width="34" height="24" viewBox="0 0 34 24">{}</svg>'
    return [
        {"picture": Markup(picture if picture.startswith("<svg") else frame.format(picture)), "words": words}
        for picture, words in entries
    ]


def _tile_origin(tiles: str, credit: str | None) -> str:
    """Where tiles come from, for the content policy; subdomains of a {s} pattern are allowed as a whole."""
    faults = []
    parts = urlsplit(tiles)
    wanted = "an https address with {z}, {x} and {y}"
    host = parts.netloc.replace("{s}", "*")
    if (
        parts.scheme != "https"
        or not re.fullmatch(r"(\*\.)?[A-Za-z0-9.-]+(:\d+)?", host)
        or not all(mark in tiles for mark in ("{z}", "{x}", "{y}"))
    ):
        faults.append(Fault(0, "tiles", tiles, wanted))
    if not credit:
        faults.append(Fault(0, "tiles credit", "nothing", "who made the tiles and under what licence"))
    if faults:
        raise FaultyInput("map", faults)
    return f"https://{host}"


__all__ = ["DrawnSite", "SealedPage", "SiteMap", "map_page", "page_templates", "seal", "write_map"]
