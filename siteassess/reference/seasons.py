"""Windows of the year: growing cambium, nesting, disease, by region, genus and hemisphere.

A month, a genus or a hemisphere that is not known is taken at its worst: the window counts as open if it may be.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache

from siteassess.reference.tables import rows

HEMISPHERES = ("north", "south")
TROPICS_DEG = 23.4
"""Latitude below which the windows of the temperate year say nothing (judgement: the tropic circles)."""
_LAST_DAY = (31, 29, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31)


@dataclass(frozen=True)
class Window:
    """One window of the year in one hemisphere; start and end as (month, day), both inside it."""

    id: str
    kind: str
    region: str
    genera: tuple[str, ...]
    start: tuple[int, int]
    end: tuple[int, int]
    what: str
    do: str
    source: str
    flag: str
    note: str
    asks: str = ""  # code of the finding on a disease that asks for something

    def holds(self, month: int, day: int | None = None) -> bool:
        """Whether the window is open on a date; without a day, on any day of the month."""
        first, last = ((month, day),) * 2 if day else ((month, 1), (month, _LAST_DAY[month - 1]))
        if self.start <= self.end:
            return first <= self.end and last >= self.start
        return last >= self.start or first <= self.end


def hemisphere_of(latitude_deg: float) -> str:
    """'north', 'south', or 'tropics' between the tropic circles.

    Parameters
    ----------
    latitude_deg : [deg]
    """
    if abs(latitude_deg) < TROPICS_DEG:
        return "tropics"
    return "north" if latitude_deg > 0.0 else "south"


def windows(
    kind: str, genus: str | None = None, regions: tuple[str, ...] = ("temperate",), hemisphere: str | None = "north"
) -> tuple[Window, ...]:
    """Windows of a kind that bear on a genus in some regions.

    Parameters
    ----------
    kind : {'growing', 'nesting', 'disease', 'manager care', 'manager closure'}
        Kind of window.
    genus : genus of the tree; not known takes the windows of all genera
    regions : regions as named in the table `seasons`, and above all 'temperate'
    hemisphere : {'north', 'south', None}
        Hemisphere; not known takes both.
    """
    wanted = {region.casefold() for region in regions}
    return tuple(
        window
        for side in (HEMISPHERES if hemisphere is None else (hemisphere,))
        for window in _all(side)
        if window.kind == kind
        and (not window.genera or genus is None or genus in window.genera)
        and window.region.casefold() in wanted
    )


def disease_windows(genus: str | None, hemisphere: str | None = "north") -> tuple[Window, ...]:
    """Disease windows of a genus in every region: the reader knows which region is theirs.

    Parameters
    ----------
    genus : scientific; None takes the windows of every genus
    hemisphere : "north" or "south"; None takes both
    """
    return windows("disease", genus, tuple({window.region for window in _all("north")}), hemisphere)


def is_growing(
    month: int | None, genus: str | None = None, hemisphere: str | None = "north", region: str = "temperate",
    day: int | None = None,
) -> bool:
    """Whether the cambium may be at work.

    Parameters
    ----------
    month : month, 1 to 12; not known counts as growing
    genus : genus; not known takes the longest window
    hemisphere : {'north', 'south', 'tropics', None}
        Hemisphere; in the tropics and where not known at its worst.
    region : {'temperate', 'mild'}
        Climate; mild sites start in March.
    day : day of the month
    """
    if month is None or hemisphere == "tropics":
        return True
    return any(window.holds(month, day) for window in windows("growing", genus, ("temperate", region), hemisphere))


def season_bar(
    genus: str | None = None, hemisphere: str | None = "north", region: str = "temperate", regions: tuple[str, ...] = ()
) -> tuple[dict[str, bool], ...]:
    """Twelve months, each with whether it is 'growing', 'nesting' or a 'disease' month.

    Parameters
    ----------
    genus, hemisphere, region : as for `is_growing`
    regions : regions whose disease and nesting windows count besides the temperate ones ('Wisconsin', 'Germany')

    Returns
    -------
    January first; each by 'growing', 'nesting' and 'disease'.
    """
    places = ("temperate", region, *regions)
    nesting = windows("nesting", genus, places, None if hemisphere == "tropics" else hemisphere)
    disease = windows("disease", genus, places, None if hemisphere == "tropics" else hemisphere) if genus else ()
    return tuple(
        {
            "growing": is_growing(month, genus, hemisphere, region),
            "nesting": any(window.holds(month) for window in nesting),
            "disease": any(window.holds(month) for window in disease),
        }
        for month in range(1, 13)
    )


@cache
def _all(hemisphere: str) -> tuple[Window, ...]:
    return tuple(_read(hemisphere))


def _read(hemisphere: str) -> Iterator[Window]:
    for row in rows("seasons"):
        if row["hemisphere"] != hemisphere and not row["shifts"]:
            continue
        start, end = _month_day(row["start"]), _month_day(row["end"])
        if row["hemisphere"] != hemisphere:
            start, end = _half_a_year_on(start), _half_a_year_on(end)
        yield Window(
            row["id"], row["kind"], row["region"], tuple(row["genera"]), start, end, row["what"], row["do"],
            row["source"], row["flag"], row.get("note", ""), row.get("asks", ""),
        )


def _month_day(text: str) -> tuple[int, int]:
    month, day = text.split("-")
    return int(month), int(day)


def _half_a_year_on(date: tuple[int, int]) -> tuple[int, int]:
    """Six months later; the last day of a month stays the last."""
    month, day = date
    later = (month + 5) % 12 + 1
    return later, _LAST_DAY[later - 1] if day >= _LAST_DAY[month - 1] else min(day, _LAST_DAY[later - 1])
