"""KML 2.2 of a copy, and back.

References
----------
1. OGC 07-147r2, KML 2.2 (memory): longitude, latitude; own values stand as `ExtendedData/Data`. Checked with GDAL.
"""

from __future__ import annotations

from collections.abc import Mapping
from xml.etree import ElementTree as ET

from siteassess.register.columns import flat, in_words
from siteassess.register.incoming import Incoming, foreign_point, from_flat, refuse_too_many, refused
from siteassess.register.share import Copy, Shared
from siteassess.register.xml_guard import local, parse

KML = "http://www.opengis.net/kml/2.2"


def write(copy: Copy) -> str:
    """The KML text."""
    ET.register_namespace("", KML)
    root = ET.Element(f"{{{KML}}}kml")
    document = _child(root, "Document")
    _child(document, "name", copy.title)
    _child(document, "description", copy.in_words())
    _data(document, copy.facts())
    for feature in copy.features:
        place = _child(document, "Placemark")
        _child(place, "name", feature.code)
        _child(place, "description", in_words(feature, copy))
        _data(place, flat(feature, copy))
        _shape(place, feature)
    ET.indent(root)
    return '<?xml version="1.0" encoding="UTF-8"?>\n' + ET.tostring(root, encoding="unicode") + "\n"


def _child(parent: ET.Element, tag: str, text: str | None = None, **attributes: str) -> ET.Element:
    child = ET.SubElement(parent, f"{{{KML}}}{tag}", attributes)
    child.text = text
    return child


def _data(parent: ET.Element, row: Mapping[str, object]) -> None:
    extended = _child(parent, "ExtendedData")
    for key, value in row.items():
        if value is not None:
            _child(_child(extended, "Data", name=key), "value", str(value))


def _shape(place: ET.Element, feature: Shared) -> None:
    if not feature.points:
        return
    shape = _child(place, "Point" if len(feature.points) == 1 else "LineString")
    _child(shape, "coordinates", " ".join(f"{lon:.7f},{lat:.7f}" for lon, lat in feature.points))


def read(data: bytes, source: str, kind: str = "other") -> Incoming:
    """Features of a KML file, ours or another's points.

    Raises
    ------
    FaultyInput : no KML, refused XML, hostile texts, coordinates off the earth.
    """
    root = parse(data, source)
    if local(root) != "kml":
        raise refused(source, "file", local(root), "a KML file")
    document = next((part for part in root if local(part) == "Document"), root)
    facts = _own_data(document)
    incoming = Incoming(source, facts=facts, foreign="copy_valid_until" not in facts)
    places = [element for element in root.iter() if local(element) == "Placemark"]
    refuse_too_many(len(places), source)
    for number, place in enumerate(places, start=1):
        points = _points(place, source, number)
        if not incoming.foreign:
            incoming.features.append(from_flat(_own_data(place), points, source))
        elif points and len(points) == 1:
            name = next((part.text for part in place if local(part) == "name"), None)
            incoming.features.append(foreign_point(name, points[0], source, number, kind))
    return incoming


def _own_data(element: ET.Element) -> dict[str, str]:
    found = {}
    for extended in element:
        if local(extended) == "ExtendedData":
            for data in extended:
                value = next((part.text for part in data if local(part) == "value"), None)
                found[data.attrib.get("name", "")] = value or ""
    return found


def _points(place: ET.Element, source: str, number: int) -> list[tuple[float, float]] | None:
    for shape in place:
        if local(shape) in ("Point", "LineString"):
            text = next((part.text for part in shape if local(part) == "coordinates"), None) or ""
            try:
                places = [item.split(",") for item in text.split()]
                return [(float(lon), float(lat)) for lon, lat, *_height in places] or None
            except ValueError:
                raise refused(source, f"place {number}", ascii(text[:60]), "longitude,latitude in degrees") from None
    return None
