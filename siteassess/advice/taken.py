"""What nobody said of a line and what is taken in its stead: it is told, and no word hangs on its being told."""

from __future__ import annotations

from siteassess.advice.finding import Finding, found
from siteassess.places.crossing_advice import ADVICE
from siteassess.records.line import Line
from siteassess.records.record import Record


def line_taken(record: Record, line: Line) -> list[Finding]:
    """How many are on it, and that nothing lies across, where nobody marked anything that lies about."""
    site = record.site
    marked = site.surroundings_files or any(feature.kind in ADVICE for feature in site.surroundings)
    unsaid = []
    if line.walkers is None or line.walkers.at_once is None:
        unsaid.append("one person at a time")
    if not marked:
        unsaid.append("no power line, road, railway, water or path over, under or beside it")
    return [found("not-told-and-taken", "suits", looked_at=False, things=tuple(unsaid))] if unsaid else []
