"""Season on the day of the line: whether the cambium may be at work at the tree's place."""

from __future__ import annotations

import calendar
import datetime
import math

from siteassess.advice.tree_inputs import TreeInputs
from siteassess.reference.seasons import hemisphere_of, is_growing, season_bar


def growing_on(day: datetime.date, tree: TreeInputs) -> bool:
    """Whether the tree may be in growth on a day; an unknown place counts both hemispheres' windows."""
    return is_growing(day.month, tree.species.genus or None, _hemisphere(tree), day=day.day)


def dormant_months(tree: TreeInputs) -> str:
    """Months without growth, in words; empty where there is none."""
    bar = season_bar(tree.species.genus or None, _hemisphere(tree))
    quiet = [month for month, marks in enumerate(bar, start=1) if not marks["growing"]]
    if not quiet or len(quiet) == 12:
        return ""
    # the run of quiet months may pass the new year
    starts = [m for m in quiet if (m - 2) % 12 + 1 not in quiet]
    ends = [m for m in quiet if m % 12 + 1 not in quiet]
    return f"{calendar.month_name[starts[0]]} to {calendar.month_name[ends[0 if len(starts) == 1 else -1]]}"


def _hemisphere(tree: TreeInputs) -> str | None:
    return hemisphere_of(tree.latitude) if math.isfinite(tree.latitude) else None
