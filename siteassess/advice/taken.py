"""What nobody said of a line is taken and told; a power line seen near it, or not looked for, asks for something."""

from __future__ import annotations

import math
from typing import Literal

import shapely

from siteassess.advice.crossings import LineCrossings
from siteassess.advice.finding import Finding, found
from siteassess.advice.geometry import Places, pair_geometry, pull_bearing
from siteassess.advice.line_setting import LineSetting
from siteassess.mechanics.anchor_vector import angle_between
from siteassess.places.crossing_advice import ADVICE, PAST_STRIP_M
from siteassess.places.geodesy import LocalFrame
from siteassess.records.line import ENDS, Line
from siteassess.records.record import Record
from siteassess.reference.constants import constant

SAME_AIR_DEG = constant("same air")


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


def power_line_findings(setting: LineSetting, around: LineCrossings) -> list[Finding]:
    """What a power line asks for that nobody looked for, or that was seen and is not drawn where it runs.

    One that is drawn near it is judged by where it runs; whether another runs nearer, only a look tells. A map file
    shows the large ones alone, so it is no look. One that was seen under another line hangs over this one too where
    that goes the same way from the same tree, and may where it lies near.
    """
    line = setting.line
    reach = PAST_STRIP_M["power line"]
    unseen = found("power-line-unseen", "suits if", looked_at=False, reach=reach)
    unlooked = [unseen] if line.power_line == "not looked" else []
    # one that is drawn near the line it was seen from is settled, and says nothing of another, nearer by
    seen = [other for other in setting.record.lines if other.power_line == "yes" and other.id not in around.wires_of]
    airs = {other.id: "same" if other.id == line.id else _air(setting, other) for other in seen}
    if "same" in airs.values():
        return [found("power-line-not-marked", "cannot say", reach=reach)]
    if unknown := tuple(name for name, air in airs.items() if air == "unknown"):
        return [found("power-line-way-unknown", "cannot say", looked_at=False, lines=unknown)]
    if near := tuple(other.id for other in seen if _lies_near(setting, other)):
        return [found("power-line-at-another", "suits if", looked_at=False, lines=near, reach=reach)]
    return unlooked


def _air(setting: LineSetting, other: Line) -> Literal["same", "unknown", "other"]:
    """Whether another line runs between the same two trees, or about the same way from one, as far as is known."""
    line, trees = setting.line, setting.entries
    if {trees.of(end.anchor) for end in line.ends} == {trees.of(end.anchor) for end in other.ends}:
        return "same"
    there = pair_geometry(other, setting.places)
    apart = [angle_between(pull_bearing(line, setting.geometry, mine), pull_bearing(other, there, its))
             for mine in ENDS for its in ENDS
             if trees.of(line.at(mine).anchor) == trees.of(other.at(its).anchor)]  # fmt: skip
    if any(angle <= SAME_AIR_DEG for angle in apart):
        return "same"
    return "unknown" if any(math.isnan(angle) for angle in apart) else "other"


def _lies_near(setting: LineSetting, other: Line) -> bool:
    """Whether another line shares a tree, or may, or lies no farther off than a power line counts for all one knows."""
    theirs = {setting.entries.of(end.anchor) for end in other.ends}
    for end in setting.line.ends:
        if theirs & {setting.entries.of(code) for code in (end.anchor, *setting.entries.may_be(end.anchor))}:
            return True
    apart = _apart_m(setting.places, setting.line, other)
    return apart is None or apart <= PAST_STRIP_M["power line"]


def _apart_m(places: Places, one: Line, other: Line) -> float | None:
    """Between two straight lines, nearest to nearest [m]; None where the place of an end is not known."""
    ends = [places.at(end.anchor) for line in (one, other) for end in line.ends]
    known = [(end.latitude_deg, end.longitude_deg) for end in ends if end is not None]
    if len(known) < len(ends):
        return None
    frame = LocalFrame.around(*zip(*known))
    flat = [frame.to_metres(*end) for end in known]
    return float(shapely.LineString(flat[:2]).distance(shapely.LineString(flat[2:])))
