"""The few numbers the register itself needs out of a record: where, how thick, what kind."""

from __future__ import annotations

import math
import re
from collections.abc import Mapping
from typing import Any

from siteassess.errors import SiteassessError
from siteassess.units import UnitText, parse


def natural(text: str) -> tuple[tuple[int, int, str], ...]:
    """A key that sorts T2 before T10."""
    parts = re.findall(r"\d+|\D+", text)
    return tuple((0, int(part), "") if part.isdecimal() else (1, 0, part.lower()) for part in parts)


def si(text: Any, kind: str) -> float | None:
    """A quantity text as an SI number; None where nothing was typed or it cannot be read."""
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


def girth(record: Mapping[str, Any]) -> tuple[float, float | None] | None:
    """(girth, height of the reading) of the first reading [m, m]; a diameter counts as a round trunk's."""
    for reading in record.get("trunk") or ():
        around = si(reading.get("girth"), "length")
        across = si(reading.get("diameter"), "length")
        if around is None and across is not None:
            around = math.pi * across
        if around is not None:
            return around, si(reading.get("read_at"), "length")
    return None


def species(record: Mapping[str, Any]) -> str | None:
    """The name as typed; None when unknown."""
    name = (record.get("species") or {}).get("name")
    return None if name is None or name.strip().lower() in ("", "unknown") else name


def genus(record: Mapping[str, Any]) -> str | None:
    """The genus, scientific; the typed name in small letters where no table knows it; None when unknown."""
    name = species(record)
    if name is None:
        return None
    from siteassess.reference.species import find_species

    try:
        found = find_species(name).genus
    except SiteassessError:
        found = ""
    return (found or name).strip().lower()
