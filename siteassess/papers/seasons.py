"""The twelve months of one tree as a picture: when its bark slips, when birds nest, when its diseases spread."""

from __future__ import annotations

import math

from siteassess.advice.care_results import SeasonPlan, SeasonWindow
from siteassess.advice.geometry import Places
from siteassess.advice.season import disease_windows_at
from siteassess.advice.tree_inputs import tree_inputs
from siteassess.papers.picture_use import year_picture
from siteassess.records.anchor import Anchor, Tree
from siteassess.records.record import Record
from siteassess.reference import seasons
from siteassess.reference.findings import word

MONTHS = range(1, 13)
SHOWN_KINDS = ("nesting", "disease", "manager closure")


def planned_season(plan: SeasonPlan, month: int | None, prefix: str, language: str = "en") -> str:
    """The season bar of a tree whose year the assessment has worked out."""
    states = ["growing" if marks["growing"] else "dormant" for marks in plan.months]
    windows = [(_where(w, language), months_between(w.start, w.end)) for w in plan.windows if w.kind in SHOWN_KINDS]
    return year_picture(states, _merged(windows), month, prefix, language)


def months_between(start: str, end: str) -> tuple[int, ...]:
    """Months from one month-day to another, past the new year where the window does."""
    first, last = int(start.split("-")[0]), int(end.split("-")[0])
    return tuple(m for m in MONTHS if (first <= m <= last if start <= end else m >= first or m <= last))


def season_picture(record: Record, code: str, month: int | None, prefix: str, language: str = "en") -> str:
    """The season bar of one tree of a record, from the tables of seasons.

    Parameters
    ----------
    record : of the site, with its region
    code : code of a tree in it
    month : the planned month, 1 to 12, or None
    prefix : keeps the picture's ids apart from others on the page
    language : what it is told in
    """
    genus = genus_of(record.anchor(code))
    place = Places(record).at(code)
    side = seasons.hemisphere_of(place.latitude_deg) if place else None
    where = (place.latitude_deg, place.longitude_deg) if place else (math.nan, math.nan)
    region = record.site.region
    growing = [seasons.is_growing(m, genus, side) for m in MONTHS]
    regions = ("temperate", *((region,) if region else ()))
    half = None if side == "tropics" else side
    windows = [
        (word(w.what, language), tuple(m for m in MONTHS if w.holds(m)))
        for w in seasons.windows("nesting", genus, regions, half)
    ]
    if genus:
        windows += [
            (_where(w, language), tuple(m for m in MONTHS if w.holds(m)))
            for w in disease_windows_at(genus, half, record.site, *where)
        ]
    states = ["growing" if grows else "dormant" for grows in growing]
    return year_picture(states, _merged(windows), month, prefix, language)


def _where(window: SeasonWindow | seasons.Window, language: str) -> str:
    return f"{word(window.what, language)} ({word(window.region, language)})"


def genus_of(anchor: Anchor) -> str | None:
    """The genus as the assessment reads it; None where the kind is not known."""
    if not isinstance(anchor, Tree):
        return None
    return tree_inputs(anchor, None, float("nan")).species.genus or None


def _merged(windows: list[tuple[str, tuple[int, ...]]]) -> list[tuple[str, tuple[int, ...]]]:
    """Windows of the same words in one row."""
    rows: dict[str, set[int]] = {}
    for words, months in windows:
        rows.setdefault(words, set()).update(months)
    return [(words, tuple(sorted(months))) for words, months in rows.items()]
