"""The files of a desk survey: tables, GeoJSON, GPX, field sheets, a sketch, and every row that was not kept."""

from __future__ import annotations

import csv
import datetime
import io
import json
import re
from collections.abc import Iterable
from pathlib import Path
from typing import Any
from xml.etree import ElementTree

import pandas as pd

from siteassess.records.files import FORMULA, write_whole
from siteassess.records.writing import write_text
from siteassess.survey.notes import is_repaired, sentences
from siteassess.survey.proposal import CAUTIONS, Proposal, plain_text
from siteassess.survey.screen import out_sentences
from siteassess.survey.sheets import groups, record_of
from siteassess.survey.sketch import page

GPX = "http://www.topografix.com/GPX/1/1"
NUMBER = re.compile(r"[-+]?\d+(\.\d+)?([eE][-+]?\d+)?")


# of what is written, all that bears an ending which is read as well; a field sheet never replaces another file
REPLACED = ("pairs.csv", "candidates.csv", "proposal.geojson", "waypoints.gpx", "rows_set_aside.csv",
            "rows_repaired.csv", "not_candidates.csv")  # fmt: skip


def write_all(proposal: Proposal, folder: str | Path, date: datetime.date) -> list[Path]:
    """Write every file of a proposal.

    Parameters
    ----------
    proposal : Proposal
    folder : path
        Made if it is not there; files of the same names are replaced.
    date : date
        Day of the desk survey, for the field sheets.

    Returns
    -------
    list of Path
        The files, in the order they are best read.
    """
    folder = Path(folder)
    folder.mkdir(parents=True, exist_ok=True)
    texts = {
        "sketch.html": page(proposal),
        "pairs.csv": table(proposal.pairs),
        "candidates.csv": table(proposal.trees),
        "proposal.geojson": json.dumps(geojson(proposal), ensure_ascii=False, allow_nan=False, indent=1) + "\n",
        "waypoints.gpx": gpx(proposal),
        **{f"field_sheet_{number:02d}.yaml": sheet for number, sheet in enumerate(_sheets(proposal, date), 1)},
        "rows_set_aside.csv": table(_rows(proposal, aside=True)),
        "rows_repaired.csv": table(_rows(proposal, aside=False)),
        "not_candidates.csv": table(_not_candidates(proposal)),
    }
    texts = {_free_name(folder, name, text): text for name, text in texts.items()}
    for done, (name, text) in enumerate(texts.items()):
        try:
            write_whole(text, folder / name)
        except OSError as error:
            new = ", ".join(list(texts)[:done]) or "none"
            said = f"{error.strerror}; new files of this survey: {new}; any others are missing or of an earlier one"
            raise type(error)(error.errno, said, error.filename) from None
    return [folder / name for name in texts]


def _free_name(folder: Path, name: str, text: str) -> str:
    """The name itself, or for a field sheet the next name that no other sheet bears: one filled in is never lost."""
    if not name.startswith("field_sheet_"):
        return name
    number, free = 2, name
    while (folder / free).exists() and not _same_but_for_the_day((folder / free).read_text(encoding="utf-8"), text):
        free, number = name.replace(".yaml", f"_new{number}.yaml"), number + 1
    return free


def _same_but_for_the_day(one: str, other: str) -> bool:
    first, second = (re.sub(r"(?m)^  date: .*$", "", text) for text in (one, other))
    return first == second


def _sheets(proposal: Proposal, date: datetime.date) -> Iterable[str]:
    for name, members in groups(proposal):
        yield write_text(record_of(proposal, name, members, date))


# --- tables ---------------------------------------------------------------------------------------------------


def table(rows: list[dict[str, Any]]) -> str:
    """Rows as CSV; unknown stays an empty cell, and no cell can start a formula of a spreadsheet."""
    stream = io.StringIO()
    if rows:
        writer = csv.writer(stream, lineterminator="\r\n")
        writer.writerow(rows[0])
        writer.writerows([_cell(value) for value in row.values()] for row in rows)
    return stream.getvalue()


def _cell(value: object) -> str:
    if value is None:
        return ""
    text = "; ".join(map(str, value)) if isinstance(value, (list, tuple)) else str(value)
    return f"'{text}" if FORMULA.match(text) and not NUMBER.fullmatch(text) else text


def _rows(proposal: Proposal, aside: bool) -> list[dict[str, Any]]:
    inventory = proposal.survey.inventory
    which = inventory.set_aside if aside else is_repaired(inventory.flags)
    word = "reason" if aside else "note"
    return [
        {
            "line": int(row.line),
            "id": plain_text(row.id),
            word: "; ".join(sentences(row.flags)),
            "same_spot_as_line": int(row.same_as) or None,
            "size_as_read": plain_text(row.size_text),
            "latitude_deg": _known(row.lat_deg),
            "longitude_deg": _known(row.lon_deg),
        }
        for row in inventory.trees[which].itertuples()
    ]


def _not_candidates(proposal: Proposal) -> list[dict[str, Any]]:
    trees = proposal.survey.trees
    return [
        {
            "line": int(row.line),
            "id": plain_text(row.id),
            "species": plain_text(row.species),
            "why": "; ".join(out_sentences(row.out)),
        }
        for row in trees[~trees["candidate"]].itertuples()
    ]


def _known(value: float) -> float | None:
    return None if pd.isna(value) else round(float(value), 7)


# --- open formats ---------------------------------------------------------------------------------------------


def geojson(proposal: Proposal) -> dict[str, Any]:
    """Trees and pairs as one collection (RFC 7946: longitude first, WGS84, seven decimals)."""
    spot = {tree["code"]: [tree["longitude_deg"], tree["latitude_deg"]] for tree in proposal.trees}
    features = [_feature("Point", spot[tree["code"]], tree["code"], tree) for tree in proposal.trees]
    features += [_feature(*_stretch(spot[pair["a"]], spot[pair["b"]]), pair["id"], pair) for pair in proposal.pairs]
    inventory = proposal.survey.inventory
    return {
        "type": "FeatureCollection",
        "attribution": f"{inventory.title}; {inventory.licence}",
        "cautions": list(CAUTIONS),
        "features": features,
    }


def _stretch(a: list[float], b: list[float]) -> tuple[str, list[Any]]:
    if abs(a[0] - b[0]) <= 180:
        return "LineString", [a, b]
    # over the antimeridian: cut there, as the standard asks
    edge = 180.0 if a[0] > 0 else -180.0
    to_edge, in_all = edge - a[0], (b[0] - a[0] + 180) % 360 - 180
    latitude = round(a[1] + (b[1] - a[1]) * to_edge / in_all, 7) if in_all else a[1]
    return "MultiLineString", [[a, [edge, latitude]], [[-edge, latitude], b]]


def _feature(kind: str, coordinates: list[Any], name: str, properties: dict[str, Any]) -> dict[str, Any]:
    inner = {key: value for key, value in properties.items() if key not in ("latitude_deg", "longitude_deg")}
    return {"type": "Feature", "id": name, "geometry": {"type": kind, "coordinates": coordinates}, "properties": inner}


def gpx(proposal: Proposal) -> str:
    """Trees of the pairs as waypoints and circuits as routes (GPX 1.1), for the phone."""
    ElementTree.register_namespace("", GPX)
    root = ElementTree.Element(f"{{{GPX}}}gpx", version="1.1", creator="siteassess")
    about = _add(root, "metadata")
    _add(about, "name", plain_text(f"Desk survey: {proposal.survey.inventory.name}"))
    _add(about, "desc", " ".join(CAUTIONS))
    used = {code for pair in proposal.pairs for code in (pair["a"], pair["b"])}
    for tree in proposal.trees:
        if tree["code"] in used:
            mates = ", ".join(
                f"{p['id']} with {p['b'] if p['a'] == tree['code'] else p['a']}"
                for p in proposal.pairs
                if tree["code"] in (p["a"], p["b"])
            )
            size = "trunk not known" if tree["diameter_m"] is None else f"trunk {100 * tree['diameter_m']:.0f} cm"
            _point(
                root,
                "wpt",
                tree["latitude_deg"],
                tree["longitude_deg"],
                tree["code"],
                f"{tree['species']}, {size}; {mates}; {tree['to_do']}",
            )
    for circuit in proposal.circuits:
        route = _add(root, "rte")
        _add(route, "name", circuit["id"])
        for line in circuit["lines"]:
            _point(
                route,
                "rtept",
                line["middle_latitude_deg"],
                line["middle_longitude_deg"],
                line["pair"] or circuit["id"],
                f"{line['span_m']:.0f} m",
            )
    ElementTree.indent(root)
    return '<?xml version="1.0" encoding="UTF-8"?>\n' + ElementTree.tostring(root, encoding="unicode") + "\n"


def _add(parent: ElementTree.Element, tag: str, text: str = "") -> ElementTree.Element:
    child = ElementTree.SubElement(parent, f"{{{GPX}}}{tag}")
    if text:
        child.text = text
    return child


def _point(parent: ElementTree.Element, tag: str, lat: float, lon: float, name: str, text: str) -> None:
    point = ElementTree.SubElement(parent, f"{{{GPX}}}{tag}", lat=f"{lat:.7f}", lon=f"{lon:.7f}")
    _add(point, "name", name)
    _add(point, "desc", text)
