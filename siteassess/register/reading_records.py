"""The few numbers the register itself needs out of a record: where, how thick, what kind."""

from __future__ import annotations

import math
import re
from collections.abc import Mapping, Sequence
from typing import Any, TypeVar

from pydantic import ValidationError

from siteassess.errors import SiteassessError
from siteassess.records.anchor import Stem, Tree, TrunkReading
from siteassess.records.fields import Part
from siteassess.records.trunk import FLARE_TOP_M, TrunkHere, as_typed, trunk_at
from siteassess.units import UnitText, parse

P = TypeVar("P", bound=Part)


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


def trunk_known(record: Mapping[str, Any]) -> TrunkHere:
    """The trunk a tree is known by, as it is judged; what cannot be read of a file edited by hand is left out.

    Parameters
    ----------
    record : of a tree, plain values
    """
    stems = record.get("stems", "unknown")
    return trunk_at(Tree.model_construct(trunk=_read(TrunkReading, record.get("trunk")), stems=stems,
                                         each_stem=_read(Stem, record.get("each_stem"))), None)  # fmt: skip


def _read(part: type[P], typed: Sequence[Mapping[str, Any]] | None) -> tuple[P, ...]:
    found: list[P] = []
    for one in typed or ():
        try:
            found.append(part.model_validate(one))
        except ValidationError:
            continue
    return tuple(found)


def girth_place(record: Mapping[str, Any]) -> str | None:
    """What the girth a trunk is known by goes round; None where that is not known. Only like is compared with like."""
    here = trunk_known(record)
    if len(here.stems) > 1:
        return "one of several stems"
    if here.reading is None:
        return None
    return "the trunk above its flare" if here.read_at >= FLARE_TOP_M else "the flare of the roots"


def girth(record: Mapping[str, Any]) -> tuple[float, float | None] | None:
    """(girth, height) of the reading a trunk is known by [m, m]; a diameter counts as a round trunk's, and that of a
    stem has no height."""
    reading = trunk_known(record).reading
    if reading is None:
        return None
    name, size = as_typed(reading)
    around = size.si if name == "girth" else math.pi * size.si
    return around, reading.read_at.si if isinstance(reading, TrunkReading) else None


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
