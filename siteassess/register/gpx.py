"""GPX 1.1 of a copy, and back: anchors and sites as waypoints, lines as routes of two points.

References
----------
1. GPX 1.1 schema (memory): order of children of `wpt` and `rte`; own fields stand in `extensions` under their own
   namespace. Checked by reading with an independent parser and with GDAL.
"""

from __future__ import annotations

from collections.abc import Mapping
from xml.etree import ElementTree as ET

from siteassess.register.columns import flat, in_words
from siteassess.register.incoming import Incoming, foreign_point, from_flat, refuse_too_many, refused
from siteassess.register.share import Copy, Shared
from siteassess.register.xml_guard import local, parse

GPX = "http://www.topografix.com/GPX/1/1"
OWN = "urn:siteassess:register:1"


def write(copy: Copy) -> str:
    """The GPX text; things without a position cannot stand in GPX and are left out."""
    ET.register_namespace("", GPX)
    ET.register_namespace("sa", OWN)
    root = ET.Element(f"{{{GPX}}}gpx", {"version": "1.1", "creator": "siteassess"})
    head = _child(root, "metadata")
    _child(head, "name", copy.title)
    _child(head, "desc", copy.in_words())
    _child(head, "time", f"{copy.made_on}T00:00:00Z")
    _fields(_child(head, "extensions"), copy.facts())
    for feature in copy.features:
        if feature.kind != "line" and feature.points:
            point = _child(root, "wpt", **_place(feature.points[0]))
            _said(point, feature, copy)
    for feature in copy.features:
        if feature.kind == "line" and feature.points:
            route = _child(root, "rte")
            _said(route, feature, copy)
            for place in feature.points:
                _child(route, "rtept", **_place(place))
    ET.indent(root)
    return '<?xml version="1.0" encoding="UTF-8"?>\n' + ET.tostring(root, encoding="unicode") + "\n"


def _child(parent: ET.Element, name: str, text: str | None = None, **attributes: str) -> ET.Element:
    child = ET.SubElement(parent, f"{{{GPX}}}{name}", attributes)
    child.text = text
    return child


def _place(point: tuple[float, float]) -> dict[str, str]:
    return {"lat": f"{point[1]:.7f}", "lon": f"{point[0]:.7f}"}


def _said(element: ET.Element, feature: Shared, copy: Copy) -> None:
    # the schema fixes this order
    _child(element, "name", feature.code)
    _child(element, "desc", in_words(feature, copy))
    _child(element, "type", feature.kind)
    _fields(_child(element, "extensions"), flat(feature, copy))


def _fields(parent: ET.Element, row: Mapping[str, object]) -> None:
    for key, value in row.items():
        if value is not None:
            ET.SubElement(parent, f"{{{OWN}}}{key}").text = str(value)


def read(data: bytes, source: str, kind: str = "other") -> Incoming:
    """Features of a GPX file, ours or another's waypoints.

    Raises
    ------
    FaultyInput : no GPX, refused XML, hostile texts, coordinates off the earth.
    """
    root = parse(data, source)
    if local(root) != "gpx":
        raise refused(source, "file", local(root), "a GPX file")
    facts = {}
    for element in root:
        if local(element) == "metadata":
            facts = _own_fields(element)
    incoming = Incoming(source, facts=facts, foreign="copy_valid_until" not in facts)
    places = [element for element in root if local(element) in ("wpt", "rte")]
    refuse_too_many(len(places), source)
    for number, element in enumerate(places, start=1):
        points = _points(element, source, number)
        if not incoming.foreign:
            incoming.features.append(from_flat(_own_fields(element), points, source))
        elif local(element) == "wpt":
            name = next((part.text for part in element if local(part) == "name"), None)
            incoming.features.append(foreign_point(name, points[0], source, number, kind))
    return incoming


def _points(element: ET.Element, source: str, number: int) -> list[tuple[float, float]]:
    holders = [element] if local(element) == "wpt" else [part for part in element if local(part) == "rtept"]
    try:
        return [(float(h.attrib["lon"]), float(h.attrib["lat"])) for h in holders]
    except (KeyError, ValueError):
        raise refused(source, f"point {number}", ascii(element.attrib), "lat and lon in degrees") from None


def _own_fields(element: ET.Element) -> dict[str, str]:
    for part in element:
        if local(part) == "extensions":
            return {local(f): f.text or "" for f in part if isinstance(f.tag, str) and f.tag.startswith(f"{{{OWN}}}")}
    return {}
