"""The year of one tree: cambium, nests and diseases on the day of the line, and what to keep clean.

A place or kind that is not known is taken at its worst for the bark, and told as possible for a disease.
"""

from __future__ import annotations

import calendar
import datetime
import math

from siteassess.advice.care_results import SeasonPlan, SeasonWindow
from siteassess.advice.results import Finding
from siteassess.advice.tree_inputs import TreeInputs
from siteassess.records.site import Site
from siteassess.reference.seasons import (
    HEMISPHERES,
    Window,
    disease_windows,
    hemisphere_of,
    is_growing,
    season_bar,
    windows,
)
from siteassess.reference.tables import document

# countries of Europe, for windows that hold there (ISO 3166, two letters)
EUROPE = (
    "AD", "AL", "AT", "BA", "BE", "BG", "BY", "CH", "CY", "CZ", "DE", "DK", "EE", "ES", "FI", "FO", "FR", "GB",
    "GG", "GI", "GR", "HR", "HU", "IE", "IM", "IS", "IT", "JE", "LI", "LT", "LU", "LV", "MC", "MD", "ME", "MK",
    "MT", "NL", "NO", "PL", "PT", "RO", "RS", "SE", "SI", "SJ", "SK", "SM", "UA", "VA", "XK",
)  # fmt: skip
NORTH_AMERICA = ("CA", "MX", "US")
MILD_WORDS = ("mild", "mediterranean", "subtropical", "frost-free")
HARD_BY_ID = {
    "oak-wilt": "the land manager agrees, since a wound may let oak wilt in now",
    "plane-canker": "the land manager says the place is free of canker stain, and all that touches bark is disinfected "
                    "before and after",
}  # fmt: skip


def growing_on(day: datetime.date, tree: TreeInputs, site: Site | None = None) -> bool:
    """Whether the tree may be in growth on a day; an unknown place counts both hemispheres' windows."""
    return is_growing(day.month, tree.species.genus or None, _hemisphere(tree), _climate(site), day.day)


def dormant_months(tree: TreeInputs, site: Site | None = None) -> str:
    """Months without growth, in words; empty where there is none."""
    bar = season_bar(tree.species.genus or None, _hemisphere(tree), _climate(site))
    quiet = [month for month, marks in enumerate(bar, start=1) if not marks["growing"]]
    if not quiet or len(quiet) == 12:
        return ""
    # the run of quiet months may pass the new year
    starts = [m for m in quiet if (m - 2) % 12 + 1 not in quiet]
    ends = [m for m in quiet if m % 12 + 1 not in quiet]
    return f"{calendar.month_name[starts[0]]} to {calendar.month_name[ends[0 if len(starts) == 1 else -1]]}"


def season_plan(day: datetime.date, tree: TreeInputs, site: Site) -> SeasonPlan:
    """The year of one tree and its windows on a day."""
    genus, side = tree.species.genus or None, _hemisphere(tree)
    half = None if side == "tropics" else side
    kinds = ("nesting", "manager care", "manager closure")
    found = [window for kind in kinds for window in windows(kind, genus, _regions(site, kind), half)]
    found += _diseases(genus, half, site)
    growing = growing_on(day, tree, site)
    known = side in HEMISPHERES and genus is not None
    shown = tuple(_shown(window, day) for window in found)
    return SeasonPlan(
        growing=growing, known=known, hemisphere=side or "not known",
        months=season_bar(genus, side, _climate(site), _regions(site, "disease")), windows=shown,
        hygiene=_hygiene(found), advice=_advice(growing, known, side, shown, tree, site),
    )  # fmt: skip


def season_findings(day: datetime.date, tree: TreeInputs, site: Site) -> list[Finding]:
    """What the windows that are open on the day mean for the verdict."""
    genus, side = tree.species.genus or None, _hemisphere(tree)
    found = []
    for window in _diseases(genus, None if side == "tropics" else side, site) if genus else ():
        if not window.holds(day.month, day.day):
            continue
        there = _lies_in(window.region, site)
        place = "" if there else f" if the place lies in {window.region}"
        told = f"{window.what} ({window.region}){place}: {window.do}"
        asked = next((text for start, text in HARD_BY_ID.items() if window.id.startswith(start)), "")
        if there and asked:
            found.append(Finding("disease", "suits if", told, asked))
        else:
            found.append(Finding("disease", "suits", told))
    return found


def _advice(growing: bool, known: bool, side, shown, tree: TreeInputs, site: Site) -> tuple[str, ...]:
    told = []
    quiet = dormant_months(tree, site)
    if growing:
        why = "the cambium may be at work" + ("" if known else " (place or kind not known, taken at its worst)")
        told.append(f"{why}: bark slips more easily" + (f"; dormant months: {quiet}" if quiet else ""))
    else:
        told.append("dormant on that day by our table; dates shift with the year and the site")
    told += [f"{window.what} ({window.region}, {window.start} to {window.end}): {window.do}"
             for window in shown if window.open and window.kind != "disease"]  # fmt: skip
    return tuple(told)


def _shown(window: Window, day: datetime.date) -> SeasonWindow:
    start, end = (f"{month:02d}-{date:02d}" for month, date in (window.start, window.end))
    return SeasonWindow(window.kind, window.what, window.region, start, end, window.holds(day.month, day.day),
                        window.do, window.source, window.flag)  # fmt: skip


def _hygiene(found: list[Window]) -> tuple[str, ...]:
    """What to keep clean: always, and more where a disease rides on ropes."""
    kept = document("seasons")["hygiene"]
    between_trees = any(window.id.startswith("plane-canker") for window in found)
    return tuple(row["do"] for row in kept if between_trees or "planes" not in row["do"])


def _diseases(genus: str | None, half: str | None, site: Site) -> tuple[Window, ...]:
    """Disease windows of the genus that hold, or may hold, at the place."""
    return tuple(w for w in disease_windows(genus, half) if genus and _lies_in(w.region, site) is not False)


def _regions(site: Site, kind: str) -> tuple[str, ...]:
    """Regions of the table in which the site lies, for one kind of window."""
    named = {row["region"] for row in document("seasons")["rows"] if row["kind"] == kind}
    return ("temperate", *sorted(name for name in named if _lies_in(name, site)))


def _lies_in(region: str, site: Site) -> bool | None:
    """Whether the site lies in a region of the table; None where the record does not say."""
    said = " ".join(part for part in (site.region, site.name, site.manager) if part).casefold()
    if region == "temperate" or region.casefold() in said:
        return True
    countries = {"Germany": ("DE",), "Europe": EUROPE, "Europe and North America": (*EUROPE, *NORTH_AMERICA),
                 "Wisconsin": ("US",), "Michigan": ("US",), "Texas": ("US",), "Basel": ("CH",), "Lausanne": ("CH",),
                 "Munich": ("DE",)}.get(region)  # fmt: skip
    if countries is None:
        return False
    if site.country is None:
        return None
    if site.country not in countries:
        return False
    if region in ("Germany", "Europe", "Europe and North America"):
        return True
    # a state or town within the right country: told as possible unless the record names another
    return None if site.region is None else False


def _climate(site: Site | None) -> str:
    """Climate word of the table of growing windows: mild sites start a month early."""
    said = (site.region or "").casefold() if site else ""
    if any(word in said for word in MILD_WORDS):
        return "mild"
    return "central European hills" if "central european hills" in said else "temperate"


def _hemisphere(tree: TreeInputs) -> str | None:
    return hemisphere_of(tree.latitude) if math.isfinite(tree.latitude) else None
