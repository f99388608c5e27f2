"""The site: whose ground it is, who looked, where help comes in, what lies about."""

from __future__ import annotations

from typing import Annotated, Any, Literal
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError

from pydantic import AfterValidator, StringConstraints, model_validator

from siteassess.records.fields import (
    Accuracy,
    Bearing,
    ClockTime,
    Code,
    IsoDate,
    Latitude,
    Longitude,
    Part,
    SiteLength,
    Text,
    YesNo,
    asks,
    fault,
    publishes,
    shares,
)
from siteassess.reference.findings import worded


class _Kept(dict[str, Any]):
    """A mapping that stays as it was read, as all of a record does."""

    def _refused(self, *_: Any, **__: Any) -> Any:
        raise TypeError("a record cannot be changed; siteassess.change(park, path, value) gives a changed one")

    __setitem__ = __delitem__ = update = pop = popitem = clear = setdefault = __ior__ = _refused

    def __reduce__(self) -> tuple[Any, ...]:
        return type(self), (dict(self),)


def _kept(value: Any) -> Any:
    if isinstance(value, dict):
        return _Kept({key: _kept(part) for key, part in value.items()})
    return tuple(map(_kept, value)) if isinstance(value, (list, tuple)) else value


North = Literal["magnetic", "true", "grid"]
LandStatus = Literal[
    "mown amenity", "woodland", "conservation", "heritage place", "school ground", "private", "unknown"
]
FeatureKind = Literal[
    "path", "worn track", "road", "water", "play area", "building", "power line", "wall", "gate", "hazard",
    "boundary", "watcher place", "flag place", "emergency point", "other tree", "railway", "closed area",
    "protected area",
]
AREAS: tuple[FeatureKind, ...] = ("play area", "closed area", "protected area", "building", "hazard")
WAYS: tuple[FeatureKind, ...] = ("path", "worn track", "road", "railway", "power line", "wall", "boundary")


class Fix(Part):
    """One reading of a position."""

    lat: Latitude | None = shares("Latitude in decimal degrees, north positive", quick=True)
    lon: Longitude | None = shares("Longitude in decimal degrees, east positive", quick=True)
    at: Text | None = asks("Position in another form: degrees-minutes-seconds, UTM, MGRS, Open Location Code")
    accuracy: Accuracy | None = shares("Stated accuracy of the position, a radius", quick=True)
    accuracy_means: Literal["50 %", "68 %", "95 %", "rms", "unknown"] = shares(
        "Share of readings that fall within that radius", "unknown"
    )
    how: Literal["phone", "receiver", "map", "inventory", "survey", "unknown"] = shares(
        "How the position was got", "unknown", quick=True
    )
    source: Text | None = asks("Source and licence, where the position was copied")

    @classmethod
    def misfit(cls, present: set[str]) -> tuple[str, str, str] | None:
        typed = sorted(present & {"lat", "lon", "at"})
        if typed in (["at"], ["lat", "lon"]):
            return None
        read = typed[0] if typed else worded("no-position")
        for more in typed[1:]:
            read = worded("read-and", one=read, other=more)
        return read, worded("want-one-position"), worded("mend-one-position")


class Tie(Part):
    """Tape and compass from a landmark or another anchor."""

    landmark: Code = asks("Code of the landmark or anchor measured from", ...)
    distance: SiteLength = asks("Taped distance", ...)
    bearing: Bearing | None = asks("Bearing from the landmark to this anchor")
    north: North = asks("North the bearing was read against", "magnetic")


class Position(Part):
    """Where a thing stands: fixes, and ties to landmarks."""

    fixes: tuple[Fix, ...] = asks("One or more position readings", (), quick=True)
    ties: tuple[Tie, ...] = asks("Tape and compass from landmarks", ())

    @model_validator(mode="before")
    @classmethod
    def _single_fix(cls, value: object) -> object:
        # one fix is the common case and is written without the list
        if isinstance(value, dict) and not {"fixes", "ties"} & set(value):
            return {"fixes": (value,)}
        return value


class Landmark(Part):
    code: Code = asks("Short code", ...)
    what: Text = asks("What it is, so that a stranger finds it", ...)
    position: Position | None = asks("Where it stands")


class Feature(Part):
    """A path, water, play area or other thing about the lines, as points in order."""

    kind: FeatureKind = asks("What it is", ...)
    name: Text | None = asks("Name or note")
    points: tuple[tuple[Latitude, Longitude], ...] = asks("Points as [latitude, longitude], in order", ...)
    closed: YesNo = asks("Whether the points close into an area", False)
    width: SiteLength | None = asks("Width, for a path or a stream")
    shut_by: Text | None = asks("Who shuts it while a line is up, for a path, a road or a gate")
    source: Text | None = asks("Source and licence")

    @property
    def is_area(self) -> bool:
        """Whether its points close into an area: as told, by its nature, or since the last is the first again.

        A way that comes back to its start leads round what lies within; it is an area only where somebody said so.
        """
        if len(set(self.points)) < 3:
            return False
        again = self.points[0] == self.points[-1] and self.kind not in WAYS
        return self.closed or self.kind in AREAS or again


class SurroundingsFile(Part):
    """A map file beside the record that holds more of what lies about."""

    file: Text = asks("Name of the file, beside the record: GeoJSON, GeoPackage, GPX, KML or OpenStreetMap", ...)
    kind: FeatureKind | None = asks("What it holds, if it holds one kind of thing and does not say which")
    credit: Text | None = asks("Whose data it is")
    licence: Text | None = asks("Licence of that data")


class Emergency(Part):
    """What a helper is told on the telephone, and how they get there."""

    number: Text | None = shares("Emergency number here")
    place: Text | None = shares("What people here call the place")
    gate: Text | None = shares("Nearest vehicle gate and road name")
    key: Text | None = asks("Who holds the key of the barrier")
    access: Text | None = shares("Surface to the spot: pram, car, four-wheel drive")
    signal: Text | None = shares("Phone signal here, or the nearest place with one")
    meeting_point: Text | None = asks("Where a helper waits, and who")
    defibrillator: Text | None = shares("Nearest defibrillator and first-aid kit")


class Permission(Part):
    """What allows the line, from whom and until when."""

    basis: Literal["rule", "permit", "spoken word", "unknown"] = shares("What allows the line", "unknown")
    by: Text | None = asks("Who gave it")
    reference: Text | None = asks("Reference number or date of the letter")
    expires: IsoDate | None = shares("Last day it holds")
    conditions: Text | None = asks("Conditions")


def _known_zone(name: str) -> str:
    try:
        ZoneInfo(name)
    except (ZoneInfoNotFoundError, ValueError, OSError):
        raise fault(name, worded("want-time-zone"), worded("mend-time-zone")) from None
    return name


TimeZone = Annotated[str, StringConstraints(min_length=1, max_length=64), AfterValidator(_known_zone)]


class Site(Part):
    """The park: whose it is, when it opens, by which rules, and what lies in it."""

    name: Text = publishes("Name of the park or place", ..., quick=True)
    invented: YesNo = publishes("Whether the place is invented, for teaching", False)
    manager: Text | None = asks("Who manages the land", quick=True)
    manager_contact: Text | None = asks("How to reach the manager")
    land_status: LandStatus = publishes("What kind of land it is", "unknown", quick=True)
    country: Annotated[str, StringConstraints(pattern=r"^[A-Z]{2}$")] | None = publishes("Country, two letters")
    region: Text | None = publishes(
        "Region and its climate (mild, temperate, continental), for seasons and disease windows"
    )
    time_zone: TimeZone | None = shares(
        "Time zone its clocks keep, for rules that go by the sun", example="Europe/Oslo"
    )
    opens: ClockTime | None = shares("Time the place opens, 24 hours")
    closes: ClockTime | None = shares("Time the place closes, 24 hours")
    permission: Permission | None = asks("What allows the line here")
    rule_set: Text | None = publishes("Name of a shipped rule set", table="rule sets")
    rules: Annotated[dict[str, Any], AfterValidator(_kept)] | None = asks(
        "The land manager's own rules, in the form of the shipped rule sets"
    )
    root_zone_standard: Literal[
        "BS 5837", "AS 4970", "DIN 18920", "critical root radius 1.0 ft/in", "critical root radius 1.25 ft/in",
        "critical root radius 1.5 ft/in",
    ] = shares("Standard the root protection radius follows", "BS 5837")
    emergency: Emergency | None = asks("Notes for an emergency")
    landmarks: tuple[Landmark, ...] = asks("Fixed things to measure from", (), seen_by="officer")
    surroundings: tuple[Feature, ...] = asks("Paths, water, play areas and the like", ())
    surroundings_files: tuple[SurroundingsFile, ...] = asks("Map files that hold more of them", ())
    credit: Text | None = publishes("Credit and licence of copied data")
    notes: Text | None = asks("Notes")


class Survey(Part):
    """Who looked, when and how."""

    by: Text = asks("Who surveyed", ..., quick=True)
    date: IsoDate = asks("Day of the survey", ..., quick=True)
    contact: Text | None = asks("Phone of the responsible person on the day")
    group: Text | None = asks("Group the surveyor belongs to")
    insurance: Text | None = asks("Liability insurance: insurer, number, sum, last day", quick=True)
    second_look_by: Text | None = asks("Who looked a second time")
    level: Text | None = asks("How the trees were looked at: from which sides, with what")
    weather: Text | None = asks("Weather, and days since rain")
