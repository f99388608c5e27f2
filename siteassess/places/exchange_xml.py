"""GPX and KML: plain features written and read, the dangerous half of XML shut off.

A document type can define entities that swell to fill a machine or fetch files from it. No GPX or KML needs one, so
any document type is refused, in whatever character set it might hide: only UTF-8 is read.

References
----------
1. GPX 1.1 schema (memory): order of the children of `wpt` and `rte`; own fields stand in `extensions` under their own
   namespace. Checked by reading with an independent parser and with GDAL.
2. OGC 07-147r2, KML 2.2 (memory): longitude, latitude; own values stand as `ExtendedData/Data`. Checked with GDAL.
"""

from __future__ import annotations

import io
import re
from collections.abc import Iterable, Iterator, Mapping
from xml.etree import ElementTree
from xml.etree.ElementTree import Element

from siteassess.errors import refused
from siteassess.places.exchange import DIGITS, Exchanged, MapFile, Place, closed_ring
from siteassess.places.map_styles import gps_symbol, kml_styles, style_id
from siteassess.reference.findings import worded

GPX = "http://www.topografix.com/GPX/1/1"
KML = "http://www.opengis.net/kml/2.2"
OWN = "urn:siteassess:register:1"
MAX_ELEMENTS = 2_000_000
MAX_XML_DEPTH = 64
_ENCODING = re.compile(r"""^\s*<\?xml[^>]*?encoding\s*=\s*["']([^"']+)["']""")


def gpx_text(
    about: Exchanged, points: Iterable[Exchanged], routes: Iterable[tuple[Exchanged, Iterable[Exchanged]]],
    day: str | None = None,
) -> str:
    """A GPX file of waypoints and of routes with their points, each feature with its first place.

    Parameters
    ----------
    about : name, what is said and fields of the whole file
    day : the day it was made
    points : waypoints
    routes : each with its stops
    """
    ElementTree.register_namespace("", GPX)
    ElementTree.register_namespace("sa", OWN)
    root = Element(f"{{{GPX}}}gpx", {"version": "1.1", "creator": "siteassess"})
    head = _child(root, "metadata")
    _texts(head, {"name": about.name, "desc": about.says, "time": day and f"{day}T00:00:00Z"})
    _own_fields(head, about.fields)
    for point in points:
        _waypoint(root, "wpt", point)
    for route, stops in routes:
        line = _child(root, "rte")
        _said(line, route)
        for stop in stops:
            _waypoint(line, "rtept", stop)
    return _whole(root)


def _waypoint(parent: Element, tag: str, one: Exchanged) -> None:
    for lon, lat in (one.places or ())[:1]:
        _said(_child(parent, tag, lat=f"{lat:.{DIGITS}f}", lon=f"{lon:.{DIGITS}f}"), one)


def _said(element: Element, one: Exchanged) -> None:
    # the schema fixes this order; a route has neither a time nor a symbol
    point = not element.tag.endswith("rte")
    _texts(element, {"time": point and one.day and f"{one.day}T00:00:00Z" or None})
    symbol = gps_symbol(one.word) if point else None
    _texts(element, {"name": one.name, "desc": one.says, "sym": symbol, "type": one.kind})
    _own_fields(element, one.fields)


def _own_fields(parent: Element, fields: Mapping[str, object]) -> None:
    if fields:
        extensions = _child(parent, "extensions")
        for key, value in _known(fields):
            ElementTree.SubElement(extensions, f"{{{OWN}}}{key}").text = value


def kml_text(about: Exchanged, folders: Mapping[str, Iterable[Exchanged]], drawn_by: Iterable[str]) -> str:
    """A KML file; `about` has name, what is said and fields of the whole.

    Parameters
    ----------
    about : name, what is said and fields of the whole
    folders : the places by the folder they lie in; one without a name is none
    drawn_by : fields whose words have a look
    """
    ElementTree.register_namespace("", KML)
    root = Element(f"{{{KML}}}kml")
    document = _child(root, "Document")
    _texts(document, {"name": about.name, "description": about.says})
    for word, parts in kml_styles(drawn_by).items():
        style = _child(document, "Style", id=style_id(word))
        for part, said in parts.items():
            _texts(_child(style, part), said)
    _extended(document, about)
    for name, features in folders.items():
        folder = _child(document, "Folder") if name else document
        _texts(folder, {"name": name or None})
        for one in features:
            _placemark(folder, one)
    return _whole(root)


def _placemark(folder: Element, one: Exchanged) -> None:
    place = _child(folder, "Placemark")
    _texts(place, {"name": one.name, "description": one.says})
    if one.day:
        _texts(_child(place, "TimeStamp"), {"when": one.day})
    _texts(place, {"styleUrl": one.word and f"#{style_id(one.word)}"})
    _extended(place, one)
    if not one.places:
        return
    if one.area:
        shape = _child(_child(_child(place, "Polygon"), "outerBoundaryIs"), "LinearRing")
    else:
        shape = _child(place, "Point" if len(one.places) == 1 else "LineString")
    ring = closed_ring(one.places) if one.area else one.places
    _texts(shape, {"coordinates": " ".join(f"{lon:.{DIGITS}f},{lat:.{DIGITS}f}" for lon, lat in ring)})


def _extended(element: Element, one: Exchanged) -> None:
    extended = _child(element, "ExtendedData")
    for key, value in _known(one.fields):
        _texts(_child(extended, "Data", name=key), {"value": value})


def _child(parent: Element, tag: str, **attributes: str) -> Element:
    """A new element in the namespace of its parent."""
    namespace, brace, _ = parent.tag.partition("}")
    return ElementTree.SubElement(parent, namespace + brace + tag, attributes)


def _texts(parent: Element, texts: Mapping[str, str | None]) -> None:
    for tag, text in texts.items():
        if text is not None:
            _child(parent, tag).text = text


def _known(fields: Mapping[str, object]) -> Iterator[tuple[str, str]]:
    return ((key, str(value)) for key, value in fields.items() if value is not None)


def _whole(root: Element) -> str:
    ElementTree.indent(root)
    return '<?xml version="1.0" encoding="UTF-8"?>\n' + ElementTree.tostring(root, encoding="unicode") + "\n"


def read_xml(data: bytes, source: str, form: str, ours_by: str) -> MapFile:
    """Places of a KML file, waypoints and routes of a GPX file; one that holds the fact `ours_by` is ours.

    Parameters
    ----------
    data : of the file
    source : its name, for what is told of faults
    form : "GPX" or "KML"
    ours_by : fact by which a file is known as ours

    Raises
    ------
    FaultyInput : another form, refused XML, coordinates that are no numbers.
    """
    root = xml_root(data, source)
    if local_name(root) != form.lower():
        raise refused(source, worded("the-file"), local_name(root), worded("want-a-form", form=form))
    facts, features = (_of_gpx if form == "GPX" else _of_kml)(root, source)
    return MapFile(source, features, facts if ours_by in facts else None)


def _of_gpx(root: Element, source: str) -> tuple[dict[str, str], list[Exchanged]]:
    facts: dict[str, str] = {}
    features: list[Exchanged] = []
    for element in root:
        if local_name(element) == "metadata":
            facts = _extensions(element)
        elif local_name(element) in ("wpt", "rte"):
            places = _gpx_places(element, source, len(features) + 1)
            features.append(Exchanged(_text(element, "name"), places=places, fields=_extensions(element)))
    return facts, features


def _gpx_places(element: Element, source: str, number: int) -> list[Place]:
    holders = [element] if local_name(element) == "wpt" else [part for part in element if local_name(part) == "rtept"]
    try:
        return [(float(h.attrib["lon"]), float(h.attrib["lat"])) for h in holders]
    except (KeyError, ValueError):
        where = worded("the-point", number=number)
        raise refused(source, where, ascii(element.attrib), worded("want-lat-and-lon")) from None


def _extensions(element: Element) -> dict[str, str]:
    for part in element:
        if local_name(part) == "extensions":
            own = (one for one in part if isinstance(one.tag, str) and one.tag.startswith(f"{{{OWN}}}"))
            return {local_name(one): one.text or "" for one in own}
    return {}


def _of_kml(root: Element, source: str) -> tuple[dict[str, str], list[Exchanged]]:
    document = next((part for part in root if local_name(part) == "Document"), root)
    marks = (element for element in root.iter() if local_name(element) == "Placemark")
    features = [
        Exchanged(_text(mark, "name"), places=_kml_places(mark, source, number), fields=_extended_data(mark))
        for number, mark in enumerate(marks, start=1)
    ]
    return _extended_data(document), features


def _kml_places(mark: Element, source: str, number: int) -> list[Place] | None:
    for shape in mark:
        if local_name(shape) in ("Point", "LineString"):
            text = _text(shape, "coordinates") or ""
            try:
                places = [item.split(",") for item in text.split()]
                return [(float(lon), float(lat)) for lon, lat, *_height in places] or None
            except ValueError:
                where = worded("the-place", number=number)
                raise refused(source, where, ascii(text[:60]), worded("want-lon-comma-lat")) from None
    return None


def _extended_data(element: Element) -> dict[str, str]:
    extended = (part for part in element if local_name(part) == "ExtendedData")
    return {data.attrib.get("name", ""): _text(data, "value") or "" for part in extended for data in part}


def xml_root(data: bytes, source: str) -> Element:
    """The root of an XML file.

    Parameters
    ----------
    data : of the file
    source : its name, for what is told of faults

    Raises
    ------
    FaultyInput : not UTF-8, a document type or an entity declared, not well formed, too deep or too long.
    """
    try:
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError:
        raise refused(source, worded("the-text"), worded("read-no-utf-8"), worded("want-xml-in-utf-8")) from None
    declared = _ENCODING.match(text)
    if declared and declared[1].lower() not in ("utf-8", "us-ascii", "ascii"):
        raise refused(source, worded("the-encoding"), ascii(declared[1]), "UTF-8")
    if re.search(r"<!\s*(?:DOCTYPE|ENTITY|ELEMENT|ATTLIST|NOTATION)", text, re.IGNORECASE) or "\x00" in text:
        raise refused(source, worded("the-document-type"), worded("read-document-type"), worded("want-plain-xml"))
    depth = count = 0
    root: Element | None = None
    try:
        for event, element in ElementTree.iterparse(io.StringIO(text), events=("start", "end")):
            depth += 1 if event == "start" else -1
            count += 1
            root = element if root is None else root
            if depth > MAX_XML_DEPTH or count > 2 * MAX_ELEMENTS:
                raise refused(source, worded("the-file"), worded("read-too-deep"), worded("want-plain-track"))
    except ElementTree.ParseError as error:
        raise refused(source, "XML", str(error), worded("want-whole-xml")) from None
    if root is None:
        raise refused(source, "XML", worded("read-nothing"), worded("want-whole-xml"))
    return root


def local_name(element: Element) -> str:
    """An element's name without its namespace; empty for a note.

    Parameters
    ----------
    element : of any form
    """
    return element.tag.rsplit("}", 1)[-1] if isinstance(element.tag, str) else ""


def _text(element: Element, tag: str) -> str | None:
    """The text of the first part of that name."""
    return next((part.text for part in element if local_name(part) == tag), None)
