"""What nobody said of a line: what is taken in its stead is told, and a power line nobody looked for is a condition."""

from __future__ import annotations

from siteassess.advice.crossings import LineCrossings
from siteassess.advice.finding import Finding, found
from siteassess.places.crossing_advice import ADVICE, PAST_STRIP_M
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
        unsaid.append("no road, railway, water or path over, under or beside it")
    return [found("not-told-and-taken", "suits", looked_at=False, things=tuple(unsaid))] if unsaid else []


def power_line_findings(record: Record, line: Line, around: LineCrossings) -> list[Finding]:
    """What a power line asks for that nobody looked for, or that was seen and is not drawn where it runs.

    One that is drawn near it is judged by where it runs. A map file shows the large ones alone, so it is no look.
    """
    pair = {end.anchor for end in line.ends}
    answers = {one.power_line for one in record.lines if {end.anchor for end in one.ends} == pair}
    if around.wire_marked or (line.power_line == "no" and "yes" not in answers):
        return []
    if "yes" in answers:  # seen under any line between the same two, it hangs over them all
        return [found("power-line-not-marked", "cannot say", reach=PAST_STRIP_M["power line"])]
    return [found("power-line-unseen", "suits if", looked_at=False, reach=PAST_STRIP_M["power line"])]
