"""Positions of a record that are not used, or that lie outside the country it names: told where they were typed."""

from __future__ import annotations

from collections.abc import Iterator

from siteassess.advice.geometry import Places
from siteassess.records.finding import Doubt
from siteassess.records.record import Record
from siteassess.reference.tables import rows


def unused_positions(record: Record, places: Places) -> Iterator[Doubt]:
    """What `places` could not use.

    A position that is left out drops the anchor out of every comparison, so it must not wait for a last line.
    """
    for code, path in _typed(record):
        places.at(code)
        for why in places.notes_on(code):
            yield Doubt(path, why.in_words().rstrip("."))


def outside_the_country(record: Record) -> Iterator[Doubt]:
    """Fixes outside the country of the record that would lie in it with latitude and longitude swapped.

    Notes
    -----
    Silent where the table `countries` does not hold the country, and where swapping explains nothing: lands overseas
    and a wrong country are not for this check.
    """
    box = next((row for row in rows("countries") if row.country == record.site.country), None)
    if box is None:
        return
    for code, path in _typed(record):
        thing = next(one for one in (*record.site.landmarks, *record.anchors) if one.code == code)
        for fix in thing.position.fixes:
            if fix.lat is None or _inside(box, fix.lat, fix.lon) or not _inside(box, fix.lon, fix.lat):
                continue
            says = f"lat {fix.lat:g}, lon {fix.lon:g} lies outside {box.name}, the country of the record"
            yield Doubt(path, says, "latitude and longitude swapped", f"lat {fix.lon:g}, lon {fix.lat:g}")
            break


def _typed(record: Record) -> Iterator[tuple[str, tuple]]:
    """Code and path of every anchor and landmark whose position was typed."""
    for index, landmark in enumerate(record.site.landmarks):
        if landmark.position is not None:
            yield landmark.code, ("site", "landmarks", index, "position")
    for index, anchor in enumerate(record.anchors):
        if anchor.position is not None:
            yield anchor.code, ("anchors", index, "position")


def _inside(box, latitude: float, longitude: float) -> bool:
    if not box.south_deg <= latitude <= box.north_deg:
        return False
    if box.west_deg <= box.east_deg:
        return box.west_deg <= longitude <= box.east_deg
    return longitude >= box.west_deg or longitude <= box.east_deg  # across the 180th meridian
