"""Waypoints of GPX and KML, and trees of an OpenStreetMap extract, as rows that are read like any inventory's.

Only plain XML is read: a document type or an entity is refused (`places/exchange_xml.py`). Tracks, routes and outlines
are no trees; how many there are is told.
"""

from __future__ import annotations

import re
import zipfile
from collections.abc import Iterator
from html import unescape
from pathlib import Path
from xml.etree.ElementTree import Element

from siteassess.errors import refused
from siteassess.places.exchange_xml import local_name, xml_root
from siteassess.reference.findings import said, worded
from siteassess.survey.file_guard import refuse_hostile_file
from siteassess.survey.reading import ListedRows

LARGEST_XML_BYTES = 100_000_000  # of a file of waypoints or an extract of a park (judgement)
PLACE = ("latitude", "longitude")
_TAGS = re.compile(r"<[/!]?[A-Za-z-][^<>]{0,500}>")  # "girth < 2 m, height > 9 m" holds none
_KML_SHAPES = ("Point", "LineString", "LinearRing", "Polygon", "Model", "Track", "MultiTrack")
_SPACES = re.compile(r"\s+")


def listed_xml(path: Path) -> ListedRows:
    """The waypoints of a GPX or KML file, or the trees of an OpenStreetMap extract, as rows.

    Parameters
    ----------
    path : of the file

    Raises
    ------
    FaultyInput : no such form, refused XML, a file too large, or nothing in it that could be a tree.
    """
    if path.stat().st_size > LARGEST_XML_BYTES:
        most = worded("want-bytes-most", most=LARGEST_XML_BYTES / 1e6)
        raise refused(path.name, worded("the-file"), path.stat().st_size, most)
    root = xml_root(_packed_kml(path) if path.suffix.lower() == ".kmz" else path.read_bytes(), path.name)
    form = local_name(root)
    if form not in ("gpx", "kml", "osm"):
        raise refused(path.name, worded("the-file"), form[:40], worded("want-a-form", form="GPX, KML, OSM XML"))
    rows, other = {"gpx": _of_gpx, "kml": _of_kml, "osm": _of_osm}[form](root)
    remarks = [said("fi-read-as-map", form={"osm": "OpenStreetMap XML"}.get(form, form.upper()), count=len(rows))]
    left_out = [said(code, count=count) for code, count in other.items() if count]
    remarks += left_out
    if not rows:
        read = worded("read-no-points-but", others=tuple(left_out)) if left_out else worded("read-no-points")
        raise refused(path.name, worded("the-features"), read, worded("want-one-tree"))
    header = list(dict.fromkeys([*PLACE, *(key for row in rows for key in row)]))
    return ListedRows(path, header, remarks=remarks, rows=rows, lines=list(range(1, len(rows) + 1)))


def _packed_kml(path: Path) -> bytes:
    """The KML within an archive of one, which is small and may swell."""
    refuse_hostile_file(path)
    with zipfile.ZipFile(path) as archive:
        inner = next((part for part in archive.infolist() if part.filename.lower().endswith(".kml")), None)
        if inner is None or inner.file_size > LARGEST_XML_BYTES:
            wanted = worded("want-a-form", form="KML")
            raise refused(path.name, worded("the-file"), worded("read-swollen" if inner else "read-no-points"), wanted)
        return archive.read(inner)


def _of_gpx(root: Element) -> tuple[list[dict[str, str]], dict[str, int]]:
    rows = []
    for point in (element for element in root if local_name(element) == "wpt"):
        row = {"latitude": point.attrib.get("lat", ""), "longitude": point.attrib.get("lon", "")}
        for part in point:
            if local_name(part) == "extensions":
                row |= {_key(one, row): _plain(one.text) for one in part.iter() if one.text and one.text.strip()}
            elif _plain(part.text):
                row[{"time": "seen"}.get(local_name(part), _key(part, row))] = _plain(part.text)
        rows.append(row)
    lines = {"fi-tracks": sum(local_name(one) == "trk" for one in root),
             "fi-routes": sum(local_name(one) == "rte" for one in root)}  # fmt: skip
    return rows, lines


def _of_kml(root: Element) -> tuple[list[dict[str, str]], dict[str, int]]:
    rows, other = [], 0
    typed = {one.attrib.get("name", ""): one.attrib.get("type", "").rpartition(":")[2].casefold()
             for one in root.iter() if local_name(one) == "SimpleField"}  # fmt: skip
    for mark, folder in _marks(root, ""):
        shapes = [one for one in mark.iter() if local_name(one) in _KML_SHAPES]
        if [local_name(one) for one in shapes] != ["Point"]:
            other += 1
            continue
        place = (next((one.text or "" for one in shapes[0] if local_name(one) == "coordinates"), "")).strip().split(",")
        row = {"latitude": place[1].strip() if len(place) > 1 else "", "longitude": place[0].strip()}
        for part in mark:
            if local_name(part) in ("name", "description") and _plain(part.text):
                row[local_name(part)] = _plain(part.text)
            elif local_name(part) == "TimeStamp":
                row["seen"] = _plain("".join(part.itertext()))
            elif local_name(part) == "ExtendedData":
                row |= _extended(part, typed, row)
        rows.append(row | ({"folder": folder} if folder and "folder" not in row else {}))
    return rows, {"fi-outlines": other, "fi-links": sum(local_name(one) == "NetworkLink" for one in root.iter())}


def _marks(within: Element, folder: str) -> Iterator[tuple[Element, str]]:
    """Each placemark, and the name of the folder it lies in."""
    for one in within:
        if local_name(one) == "Placemark":
            yield one, folder
        elif local_name(one) == "Folder":
            yield from _marks(one, next((_plain(part.text) for part in one if local_name(part) == "name"), ""))
        else:
            yield from _marks(one, folder)


def _extended(part: Element, typed: dict[str, str], row: dict[str, str]) -> dict[str, str]:
    """Own fields of a placemark, numbers and answers of a declared type written as such; none takes its place."""
    found = {}
    for data in (one for one in part.iter() if local_name(one) in ("Data", "SimpleData")):
        # beside its value stands what the field is called on a screen
        value = next((one.text for one in data if local_name(one) == "value"), data.text)
        name = data.attrib.get("name") or "field"
        found[f"{name} 2" if name in row else name] = _of_type(_plain(value), typed.get(name, ""))
    return found


def _of_type(text: str, kind: str) -> str:
    if kind in ("bool", "boolean"):
        return {"1": "true", "0": "false"}.get(text, text)
    if kind in ("float", "double", "decimal"):
        try:
            return f"{float(text):.12g}"  # exports write 45 as 45.000000
        except ValueError:
            return text
    return text


def _of_osm(root: Element) -> tuple[list[dict[str, str]], dict[str, int]]:
    rows, other = [], 0
    for node in (element for element in root if local_name(element) == "node"):
        tags = {one.attrib.get("k", ""): _plain(one.attrib.get("v")) for one in node if local_name(one) == "tag"}
        if tags.get("natural") == "tree":
            place = {"latitude": node.attrib.get("lat", ""), "longitude": node.attrib.get("lon", "")}
            rows.append({**tags, **place, "osm_id": node.attrib.get("id", "")})
        else:
            other += bool(tags)  # without a word of its own a node is a corner of an outline
    return rows, {"fi-other-nodes": other, "fi-outlines": sum(local_name(one) in ("way", "relation") for one in root)}


def _key(part: Element, row: dict[str, str]) -> str:
    name = local_name(part)
    return name if name not in row else f"{name} {len(row)}"


def _plain(text: str | None) -> str:
    """A text on one line, without the marks of a web page that such files carry in descriptions."""
    return _SPACES.sub(" ", _TAGS.sub(" ", unescape(text or ""))).strip()
