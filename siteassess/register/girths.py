"""The girth of a trunk over the years, each reading with the day it was taken."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Any

from siteassess.register import reading_records
from siteassess.register.events import Event


@dataclass(frozen=True)
class GirthReading:
    """A girth [m], the height it was read at [m], the day of the survey, and the entry that says it.

    `reading` is as typed; of several `stems` it is the thinnest, and where that names no height it was read at the tie.
    `day` is None where the survey's day was not written down; `entered` is the day it came into the register.
    """

    girth_m: float
    read_at_m: float | None
    day: str | None
    entered: str
    event: str
    stems: int
    reading: Mapping[str, Any]


def girth_over_years(events: Iterable[Event]) -> list[GirthReading]:
    """Every girth the surveys of an anchor read, oldest first.

    Parameters
    ----------
    events : all events of the anchor; a survey that only repeats a reading of the same day is left out
    """
    found: dict[tuple[float, float | None, str], GirthReading] = {}
    for event in events:
        record = event.body["record"] if event.kind == "anchor" else {}
        size, here = reading_records.girth(record), reading_records.trunk_known(record)
        if size is None or here.reading is None:
            continue
        typed = here.reading.model_dump(mode="json", exclude_unset=True)
        day, entered = event.body.get("surveyed"), event.recorded[:10]
        reading = GirthReading(*size, day, entered, event.name, len(here.stems), typed)
        found.setdefault((*size, day or entered), reading)
    return sorted(found.values(), key=lambda r: (r.day or r.entered, r.event))
