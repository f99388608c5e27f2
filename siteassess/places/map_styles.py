"""How the things of a map file look in another program: styles of a GeoPackage, and those of KML.

References
----------
1. The form QGIS 3 gives a layer's look and the table `layer_styles` it keeps it in (memory; checked by opening the
   files in QGIS 3.22).
2. OGC 07-147r2, KML 2.2, section 12 (memory): colours are written alpha, blue, green, red.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from xml.etree import ElementTree
from xml.etree.ElementTree import Element, SubElement

from siteassess.reference.look import NOT_JUDGED, VerdictLook, look

ROOT_ZONE = "root zone"
SYMBOL_SIZE_MM, LINE_MM, THIN_MM = 4.0, 0.8, 0.3
# by our shape: of each part painted the form, whether in the word's colour, its size over the mark's, how far turned
MARK_FORMS: dict[str, tuple[tuple[str, bool, float, int], ...]] = {
    "full_disc": (("circle", True, 1.0, 0),),
    "half_disc": (("circle", False, 1.0, 0), ("semi_circle", True, 1.0, 180)),
    "open_ring": (("circle", False, 1.0, 0), ("circle", False, 0.5, 0)),
    "barred_square": (("square", True, 1.0, 0), ("line", True, 1.0, 90)),
    "small_dot": (("circle", True, 0.5, 0),),
}
LABEL_PLACES = {"POINT": {"placement": "0"},  # round it
                "LINESTRING": {"placement": "2", "placementFlags": "2"}}  # along and above it
SCREEN_DOTS_PER_MM = 96 / 25.4


def qml(shape: str, field: str, label: str) -> str:
    """The look of a table's features in the form QGIS reads, points and lines with their labels.

    Parameters
    ----------
    shape : "POINT", "LINESTRING" or "POLYGON"
    field : that holds the word a feature is drawn by; one that holds no such words draws all alike
    label : field written beside each
    """
    root = Element("qgis", {"version": "3.22", "styleCategories": "Symbology|Labeling"})
    words = look().words_of(field)
    kind = "categorizedSymbol" if words else "singleSymbol"
    drawn = SubElement(root, "renderer-v2", {"type": kind, "attr": field, "symbollevels": "0"})
    if words:
        named = SubElement(drawn, "categories")
        for number, word in enumerate(words):
            # what no word was given to has none in the table: the value that takes all others
            value = "" if word == NOT_JUDGED else word
            told = {"value": value, "label": word or "other", "symbol": str(number), "render": "true"}
            SubElement(named, "category", told)
    symbols = SubElement(drawn, "symbols")
    for number, how in enumerate(words.values() or [None]):
        _symbol(symbols, str(number), shape, how)
    if shape in LABEL_PLACES:  # a root zone is known by its tree
        _label(root, shape, label)
    return ElementTree.tostring(root, encoding="unicode")


def _label(root: Element, shape: str, label: str) -> None:
    settings = SubElement(SubElement(root, "labeling", {"type": "simple"}), "settings")
    style = SubElement(settings, "text-style", {"fieldName": label, "fontSize": "9", "fontSizeUnit": "Point",
                                                "textColor": _rgb("ink"), "textOpacity": "1"})  # fmt: skip
    SubElement(style, "text-buffer", {"bufferDraw": "1", "bufferSize": "0.8", "bufferSizeUnits": "MM",
                                      "bufferColor": _rgb("paper"), "bufferOpacity": "1"})  # fmt: skip
    SubElement(settings, "placement", LABEL_PLACES[shape] | {"dist": "1.5", "distUnits": "MM"})
    SubElement(settings, "rendering", {"drawLabels": "1", "scaleVisibility": "0", "displayAll": "1", "obstacle": "0"})


def _symbol(symbols: Element, name: str, shape: str, how: VerdictLook | None) -> None:
    """One symbol; without a look of a word the outline of a root zone."""
    kind = {"POINT": "marker", "LINESTRING": "line", "POLYGON": "fill"}[shape]
    symbol = SubElement(symbols, "symbol", {"type": kind, "name": name, "alpha": "1", "clip_to_extent": "1"})
    colour = how.fill if how else look().colours["root_zone"]
    if shape == "POLYGON":
        _part(symbol, "SimpleFill", {"style": "no", "outline_color": _rgb(colour), "outline_style": "dash",
                                     "outline_width": str(2 * THIN_MM)})  # fmt: skip
    elif shape == "LINESTRING":
        under = {"line_color": _rgb("ink"), "line_width": str(LINE_MM + 2 * THIN_MM), "capstyle": "flat"}
        dashes = [f"{float(dash) / SCREEN_DOTS_PER_MM:.2f}" for dash in (how.dash if how else "").split()]
        dashed = {"use_custom_dash": "1", "customdash": ";".join(dashes)} if dashes else {}
        _part(symbol, "SimpleLine", under | dashed)
        _part(symbol, "SimpleLine", under | dashed | {"line_color": _rgb(colour), "line_width": str(LINE_MM)})
    else:
        for form, painted, size, turned in MARK_FORMS[how.shape if how else "small_dot"]:
            _part(symbol, "SimpleMarker", {"name": form, "color": _rgb(colour if painted else "paper"),
                                           "outline_color": _rgb("ink"), "size": str(size * SYMBOL_SIZE_MM),
                                           "outline_width": str(3 * THIN_MM if form == "line" else THIN_MM),
                                           "angle": str(turned)})  # fmt: skip


def _part(symbol: Element, of: str, said: Mapping[str, str]) -> None:
    layer = SubElement(symbol, "layer", {"class": of, "enabled": "1", "pass": "0", "locked": "0"})
    options = SubElement(layer, "Option", {"type": "Map"})
    for name, value in said.items():
        SubElement(options, "Option", {"name": name, "type": "QString", "value": value})


def _rgb(colour: str) -> str:
    """Red, green, blue and alpha of a named colour, or of one written as #rrggbb."""
    return ",".join(map(str, (*bytes.fromhex(look().colours.get(colour, colour)[1:]), 255)))


def kml_styles(fields: Iterable[str]) -> dict[str, dict[str, dict[str, str]]]:
    """Styles of the words that some fields hold.

    Parameters
    ----------
    fields : of the features

    Returns
    -------
    By word, and within by part of a style, what to write in it.
    """
    words = {word: how for field in fields for word, how in look().words_of(field).items()}
    zone = {"LineStyle": {"color": _kml_colour(look().colours["root_zone"]), "width": "2"}, "PolyStyle": {"fill": "0"}}
    return {ROOT_ZONE: zone} | {word: {"IconStyle": {"color": _kml_colour(how.fill), "scale": "1.1"},
                                       "LineStyle": {"color": _kml_colour(how.fill), "width": "4"}}
                                for word, how in words.items()}  # fmt: skip


def _kml_colour(colour: str) -> str:
    red, green, blue = colour[1:3], colour[3:5], colour[5:7]
    return f"ff{blue}{green}{red}".lower()


def style_id(word: str) -> str:
    """A word as the id of its style.

    Parameters
    ----------
    word : whose look a feature takes
    """
    return word.replace(" ", "-")


def gps_symbol(word: str | None) -> str | None:
    """Name of the symbol a satellite receiver shows for a word; None for a word without one.

    Parameters
    ----------
    word : whose look a feature takes
    """
    found = {**look().words_of("verdict"), **look().words_of("may_rig_now")}.get(word or "")
    return found.gps if found else None
