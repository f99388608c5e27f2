"""The few numbers the register itself needs out of a record: where, how thick, what kind."""

from __future__ import annotations

import math
import re
from collections.abc import Mapping, Sequence
from typing import Any

from siteassess.errors import SiteassessError
from siteassess.records.tree_sizes import FLARE_TOP_M
from siteassess.records.trunk import nearness
from siteassess.units import UnitText, parse


def natural(text: str) -> tuple[tuple[int, int, str], ...]:
    """A key that sorts T2 before T10."""
    parts = re.findall(r"\d+|\D+", text)
    return tuple((0, int(part), "") if part.isdecimal() else (1, 0, part.lower()) for part in parts)


def si(text: Any, kind: str) -> float | None:
    """A quantity text as an SI number; None where nothing was typed or it cannot be read.

    Parameters
    ----------
    text : as typed, or None
    kind : of quantity, a key of `units.UNITS`

    Returns
    -------
    [SI unit of the kind]
    """
    if text is None:
        return None
    try:
        return parse(text, kind).si
    except UnitText:
        return None


def position(record: Mapping[str, Any]) -> tuple[float, float, float | None] | None:
    """(latitude, longitude, accuracy radius) of the fix with the best stated accuracy [deg, deg, m]; None if none.

    The accuracy is None where it was not stated. A position that hangs on tape and compass alone is not worked out
    here and stays None.
    """
    fixes = (record.get("position") or {}).get("fixes") or ()
    found = [place for fix in fixes if (place := _fix(fix)) is not None]
    return min(found, key=lambda place: math.inf if place[2] is None else place[2], default=None)


def _fix(fix: Mapping[str, Any]) -> tuple[float, float, float | None] | None:
    accuracy = si(fix.get("accuracy"), "length")
    if fix.get("lat") is not None and fix.get("lon") is not None:
        return float(fix["lat"]), float(fix["lon"]), accuracy
    if fix.get("at") is None:
        return None
    from siteassess.places.position_text import read_position

    try:
        place = read_position(fix["at"])
    except SiteassessError:
        return None
    return place.latitude_deg, place.longitude_deg, accuracy


def trunk_reading(record: Mapping[str, Any]) -> Mapping[str, Any] | None:
    """The reading a trunk is known by: of several stems the thinnest, as it is judged, else the one nearest breast
    height, where an inventory reads; the thinner of two as near. None where none was taken."""
    readings: Sequence[Mapping[str, Any]] = record.get("each_stem") or ()
    if stems_read(record) > 1:
        return min(readings, key=_around)
    readings = record.get("trunk") or ()
    if len(readings) > 1:  # to read a text takes long, and most trunks were read once
        read = [one for one in readings if math.isfinite(_around(one))]
        readings = sorted(read, key=_nearness)
    return readings[0] if readings else None


def stems_read(record: Mapping[str, Any]) -> int:
    """How many stems were read each by itself, of which the trunk is known by the thinnest; else 1."""
    stems = record.get("each_stem") or ()
    return len(stems) if record.get("stems") == "several" and len(stems) > 1 else 1


def girth_place(record: Mapping[str, Any]) -> str | None:
    """What the girth a trunk is known by goes round; None where that is not known. Only like is compared with like."""
    if stems_read(record) > 1:
        return "one of several stems"
    size = girth(record)
    if size is None or size[1] is None:
        return None
    return "the trunk above its flare" if size[1] >= FLARE_TOP_M else "the flare of the roots"


def _around(reading: Mapping[str, Any]) -> float:
    around, across = si(reading.get("girth"), "length"), si(reading.get("diameter"), "length")
    return around if around is not None else math.inf if across is None else math.pi * across


def _nearness(reading: Mapping[str, Any]) -> tuple[float, float]:
    height = si(reading.get("read_at"), "length")
    return nearness(math.inf if height is None else height, _around(reading), None)


def girth(record: Mapping[str, Any]) -> tuple[float, float | None] | None:
    """(girth, height) of the reading a trunk is known by [m, m]; a diameter counts as a round trunk's."""
    reading = trunk_reading(record)
    if reading is None or not math.isfinite(_around(reading)):
        return None
    return _around(reading), si(reading.get("read_at"), "length")


def species(record: Mapping[str, Any]) -> str | None:
    """The name as typed; None when unknown.

    Parameters
    ----------
    record : of a tree, plain values
    """
    name = (record.get("species") or {}).get("name")
    return None if name is None or name.strip().lower() in ("", "unknown") else name


def genus(record: Mapping[str, Any]) -> str | None:
    """The genus, scientific; the typed name in small letters where no table knows it; None when unknown.

    Parameters
    ----------
    record : of a tree, plain values
    """
    name = species(record)
    if name is None:
        return None
    from siteassess.reference.species import find_species

    try:
        found = find_species(name).genus
    except SiteassessError:
        found = ""
    return (found or name).strip().lower()
