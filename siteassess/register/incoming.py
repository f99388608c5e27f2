"""What came in from a file, before anything of it is kept: the same shape whatever the format was."""

from __future__ import annotations

import json
import math
import re
from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

from siteassess.errors import Fault, FaultyInput, refused
from siteassess.places.exchange import MapFile
from siteassess.reference.findings import worded
from siteassess.register.events import THINGS, is_name
from siteassess.register.guard import refuse_hostile
from siteassess.register.moves import STATUSES
from siteassess.register.share import Shared

MAX_FEATURES = 200_000
_CODE_LETTERS = re.compile(r"[^A-Za-z0-9_.-]+")


@dataclass
class Incoming:
    """Features of a file, with what the file says of itself; `foreign` when another program wrote it."""

    source: str
    features: list[Shared] = field(default_factory=list)
    facts: dict[str, str] = field(default_factory=dict)
    foreign: bool = False


def taken_in(found: MapFile, kind: str = "other") -> Incoming:
    """What a file of a text format holds, ours or another's.

    Parameters
    ----------
    kind : what a point of another program is taken for, "tree" or "other"

    Raises
    ------
    FaultyInput : too many features, hostile texts, coordinates off the earth.
    """
    refuse_too_many(len(found.features), found.source)
    incoming = Incoming(found.source, facts=found.facts or {}, foreign=found.facts is None)
    refuse_hostile(incoming.facts, found.source)
    for number, one in enumerate(found.features, start=1):
        places = list(one.places or ()) or None
        if not incoming.foreign:
            incoming.features.append(from_flat(one.fields, places, found.source, one.line))
        elif places and len(places) == 1:
            species = (one.fields.get(key) for key in ("species", "genus"))
            known = next((text for text in species if isinstance(text, str) and text), None)
            point = foreign_point(one.name, places[0], found.source, number, kind, known, one.line)
            incoming.features.append(point)
    return incoming


def from_flat(row: Mapping[str, Any], points: list[tuple[float, float]] | None, source: str, line: int = 0) -> Shared:
    """A feature out of a flat row of ours.

    Raises
    ------
    FaultyInput : a column is missing or holds what it may not.
    """
    refuse_hostile({k: v for k, v in row.items() if k != "record"}, source)
    faults = []
    for column in ("id", "site_id", "anchor_a", "anchor_b"):
        value = row.get(column)
        if not (is_name(value) or (value in (None, "") and column.startswith("anchor_"))):
            faults.append(Fault(line, column, ascii(value)[:60], worded("rg-want-a-name")))
    if row.get("feature") not in THINGS:
        faults.append(Fault(line, "feature", ascii(row.get("feature"))[:60], worded("rg-want-a-thing")))
    if row.get("status") not in STATUSES:
        faults.append(Fault(line, "status", ascii(row.get("status"))[:60], worded("one-of", names=STATUSES)))
    record = _record(row.get("record"), source, line)
    if faults:
        raise FaultyInput(source, faults)
    anchors = (row["anchor_a"], row["anchor_b"]) if row.get("anchor_a") and row.get("anchor_b") else None
    return Shared(
        row["feature"], row["id"], row["site_id"], str(row.get("site_name") or ""), str(row.get("code") or ""),
        row["status"], record, points and checked_points(points, source, line), exact=row.get("exact") != "no",
        status_until=row.get("status_until") or None, valid_until=row.get("valid_until") or None,
        conditions=row.get("conditions") or None, anchors=anchors,
    )


def _record(value: Any, source: str, line: int) -> dict[str, Any]:
    if isinstance(value, str):
        try:
            value = json.loads(value)
        except (ValueError, RecursionError):
            raise _no_record(source, value, line) from None
    if not isinstance(value, dict):
        raise _no_record(source, value, line)
    refuse_hostile(value, source)
    return value


def _no_record(source: str, value: Any, line: int) -> FaultyInput:
    return refused(source, "record", ascii(value)[:60], worded("rg-want-json-record"), line=line)


def foreign_point(
    name: str | None, point: tuple[float, float], source: str, number: int, kind: str, species: str | None = None,
    line: int = 0,
) -> Shared:
    """A point another program wrote, as an anchor nothing is known of but its place.

    Parameters
    ----------
    point : (longitude, latitude) [deg]
    number : its place in the file, for a code where its name gives none
    kind : "tree" or "other"
    line : of a text file, else 0
    """
    text = (name or "").strip()
    refuse_hostile({"name": text, "species": species or ""}, source)
    ((lon, lat),) = checked_points([point], source, line, number)
    code = _CODE_LETTERS.sub("-", text).strip("-._")[:24] or f"P{number:03d}"
    fix = {"lat": lat, "lon": lon, "how": "unknown", "source": source[:200]}
    record: dict[str, Any] = {"kind": kind, "code": code, "position": {"fixes": [fix]}}
    if kind == "other":
        record["what"] = (text or source)[:200]  # nothing says what it is: its name, else the file it is from
    elif text:
        record["name"] = text[:200]
    if species and kind == "tree":
        record["species"] = {"name": species[:200], "certainty": "guess"}
    return Shared("anchor", "", "", "", code, "draft", record, [(lon, lat)])


def checked_points(
    points: list[tuple[float, float]], source: str, line: int = 0, number: int = 0
) -> list[tuple[float, float]]:
    """Points that lie on the earth.

    Parameters
    ----------
    line, number : of a text file, and of a feature of it, for messages

    Raises
    ------
    FaultyInput : a coordinate is not finite or out of range.
    """
    for lon, lat in points:
        if not (math.isfinite(lon) and math.isfinite(lat) and abs(lat) <= 90 and abs(lon) <= 180):
            of_one = worded("the-part-of-feature", number=number, key="coordinates") if number else ""
            where, wanted = of_one or worded("the-coordinates"), worded("rg-want-on-earth")
            raise refused(source, where, f"{lon}, {lat}", wanted, line=line)
    return [(float(lon), float(lat)) for lon, lat in points]


def refuse_too_many(count: int, source: str) -> None:
    """Nothing, unless a file holds more features than are taken.

    Raises
    ------
    FaultyInput : it does.
    """
    if count > MAX_FEATURES:
        raise refused(source, worded("the-features"), count, worded("want-at-most", limit=MAX_FEATURES))
