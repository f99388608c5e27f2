"""The year of one tree: cambium, nests and diseases on the day of the line, and what to keep clean.

A place or kind that is not known is taken at its worst for the bark, and told as possible for a disease.
"""

from __future__ import annotations

import calendar
import datetime
import math
from collections.abc import Collection, Sequence
from dataclasses import replace
from functools import lru_cache
from itertools import takewhile
from typing import Any

from siteassess.advice.care_results import Hygiene, SeasonPlan, SeasonWindow
from siteassess.advice.finding import Finding, found
from siteassess.advice.regions import (
    climate_of,
    country_of,
    country_unproved,
    inside,
    lies_in,
    regions_of,
    tells_a_climate,
)
from siteassess.advice.results import AnchorResult
from siteassess.advice.tree_inputs import TreeInputs
from siteassess.records.site import Site
from siteassess.reference.findings import Said, said
from siteassess.reference.seasons import (
    HEMISPHERES,
    Window,
    disease_windows,
    hemisphere_of,
    is_growing,
    season_bar,
    windows,
)
from siteassess.reference.species import find_species
from siteassess.reference.tables import document

# kinds that a disease asks something of, as they are told
STRUCK = {"Platanus": "any plane (Platanus)", "Quercus": "any oak (Quercus)"}
ONLY_TOLD = ("disease-open", "disease-if-there")


def growing_on(
    day: datetime.date, tree: TreeInputs, site: Site | None = None, last: datetime.date | None = None
) -> bool:
    """Whether the tree may be in growth on a day, or on any up to a last one; an unknown place counts both
    hemispheres' windows."""
    return _grows(day, last or day, _sure_genus(tree), _hemisphere(tree), climate_of(site))


@lru_cache(maxsize=4096)
def _grows(first: datetime.date, last: datetime.date, genus: str | None, side: str | None, climate: str) -> bool:
    return any(is_growing(day.month, genus, side, climate, day.day) for day in _days(first, last))


def _days(first: datetime.date, last: datetime.date) -> tuple[datetime.date, ...]:
    """Every day from one to another, of a span over a year the first year."""
    count = min((last - first).days, 366)
    return tuple(first + datetime.timedelta(days=ahead) for ahead in range(count + 1)) or (first,)


def _open(window: Window, first: datetime.date, last: datetime.date) -> bool:
    return any(window.holds(day.month, day.day) for day in _days(first, last))


def quiet_months(tree: TreeInputs, site: Site | None = None) -> list[int]:
    """Months without growth, January 1; of an unknown place those of both hemispheres."""
    bar = season_bar(_sure_genus(tree), _hemisphere(tree), climate_of(site))
    return [month for month, marks in enumerate(bar, start=1) if not marks["growing"]]


def dormant_months(tree: TreeInputs, site: Site | None = None) -> tuple[str, ...]:
    """The first and the last month without growth, words of the table `findings`; empty where there is none, or where
    these months are not one run: of an unknown place they are two, and one leads to the other through the growth."""
    runs = _runs(quiet_months(tree, site))
    return (calendar.month_name[runs[0][0]], calendar.month_name[runs[0][-1]]) if len(runs) == 1 else ()


def rest_told(tree: TreeInputs, site: Site, closed: Collection[int]) -> tuple[Said, ...]:
    """The months without growth that a place does not close; empty where none is left, or as `dormant_months`."""
    runs = _runs(quiet_months(tree, site))
    left = [month for month in runs[0] if month not in closed] if len(runs) == 1 else []
    names = tuple(calendar.month_name[month] for month in left)
    if len(names) > 1 and len(_runs(left)) == 1:
        return (said("from-month-to-month", first=names[0], last=names[-1]),)
    return (said("in-the-months", months=names),) if names else ()


def _runs(months: Sequence[int]) -> list[list[int]]:
    """Months in a row, which may pass the new year; of a whole year none begins."""
    starts = [month for month in months if (month - 2) % 12 + 1 not in months]
    following = [[(first + ahead - 1) % 12 + 1 for ahead in range(12)] for first in starts]
    return [list(takewhile(months.__contains__, run)) for run in following]


def season_plan(
    day: datetime.date, tree: TreeInputs, site: Site, last: datetime.date | None = None
) -> SeasonPlan:
    """The year of one tree and its windows on a day, or on any up to a last one."""
    last = last or day
    genus, sure, side = tree.species.genus or None, _sure_genus(tree), _hemisphere(tree)
    half = None if side == "tropics" else side
    kinds = ("nesting", "manager care", "manager closure")
    bearing = [window for kind in kinds for window in windows(kind, genus, _regions(site, kind, tree), half)]
    bearing += _diseases(genus, half, site, tree)
    growing = growing_on(day, tree, site, last)
    known = side in HEMISPHERES and sure is not None and (
        tells_a_climate(site) or growing == _grows(day, last, sure, side, "temperate"))
    shown = tuple(_shown(window, _open(window, day, last)) for window in bearing)
    return SeasonPlan(
        growing=growing, known=known, hemisphere=side or "not known",
        months=season_bar(sure, side, climate_of(site), _regions(site, "disease", tree)), windows=shown,
        hygiene=_hygiene(bearing), told=_advice(growing, known, shown, tree, site),
    )  # fmt: skip


def season_findings(
    day: datetime.date, tree: TreeInputs, site: Site, last: datetime.date | None = None
) -> list[Finding]:
    """What the windows that are open on the day, or on any up to a last one, mean for the verdict."""
    genus, side = tree.species.genus or None, _hemisphere(tree)
    open_now = [window for window in _diseases(genus, None if side == "tropics" else side, site, tree)
                if _open(window, day, last or day)]  # fmt: skip
    told: list[Finding] = []
    possible: dict[tuple[str, bool], list[Window]] = {}
    unplaced = math.isnan(tree.latitude) or country_unproved(site, tree.latitude, tree.longitude)
    for window in open_now:
        values: dict[str, Any] = {"disease": window.what, "region": window.region, "do": window.do}
        # a country nobody named takes nothing back of a position: what asks for something there asks for it
        asked = window.asks and inside(window.region, tree.latitude, tree.longitude)
        if not (asked or lies_in(window.region, site, tree.latitude, tree.longitude)):
            possible.setdefault((window.what, bool(window.asks) and unplaced), []).append(window)
        elif window.asks:
            told.append(found(window.asks, "suits if", **values))
        else:
            told.append(found("disease-open", "suits", **values))
    told += [_if_there(what, some, asks) for (what, asks), some in possible.items()]
    told_of = {window.what for window in open_now if window.asks}
    return told if _sure_genus(tree) else [
        *told, *(one for one in _of_unnamed_kinds(day, last or day, tree, site)
                 if dict(one.values)["disease"] not in told_of)]  # fmt: skip


def country_findings(site: Site, latitude: float, longitude: float) -> list[Finding]:
    """Told where a position lies outside the country named: what either asks for is then asked for.

    Parameters
    ----------
    site : with its country
    latitude, longitude : [deg]; NaN for no position
    """
    country = country_of(site)
    if country is None or not country_unproved(site, latitude, longitude):
        return []
    return [found("position-outside-country", "suits", country=country.name)]


def _sure_genus(tree: TreeInputs) -> str | None:
    """The genus of a tree by which its year is reckoned: a guess earns nothing that a tree nobody named does not."""
    return None if tree.kind_guessed else tree.species.genus or None


def _if_there(what: str, some: list[Window], asks: bool) -> Finding:
    """One finding on a disease whose regions the place may lie in; it asks for something where no position was read."""
    values: dict[str, Any] = {"disease": what, "regions": tuple(window.region for window in some), "does": _does(some)}
    if asks:
        return found("disease-unless-elsewhere", "suits if", looked_at=False, **values)
    return found("disease-if-there", "suits", **values)


def _of_unnamed_kinds(day: datetime.date, last: datetime.date, tree: TreeInputs, site: Site) -> list[Finding]:
    """What is asked of kinds a tree may be that nobody named, or guessed alone; needles and leaves are told apart."""
    by_disease: dict[str, list[Window]] = {}
    for window in disease_windows(None, None):
        at = lies_in(window.region, site, tree.latitude, tree.longitude)
        if window.asks and at is not False and _open(window, day, last) and _may_be(tree, window.genera):
            by_disease.setdefault(window.what, []).append(window)
    return [found("disease-unless-another-kind", "suits if", looked_at=False, disease=what, does=_does(some),
                  kinds=tuple(dict.fromkeys(STRUCK[genus] for window in some for genus in window.genera)))
            for what, some in by_disease.items()]  # fmt: skip


def _may_be(tree: TreeInputs, genera: tuple[str, ...]) -> bool:
    kinds = {tree.species.leaf_type, *(find_species(genus).leaf_type for genus in genera)}
    return "unknown" in kinds or len(kinds) == 1


def _does(some: list[Window]) -> tuple[Said, ...]:
    """What is to be done in any of the windows; where they ask for several things, each of them once."""
    whole = tuple(dict.fromkeys(window.do for window in some))
    each = whole if len(whole) == 1 else dict.fromkeys(do for one in whole for do in one.split("; "))
    return tuple(said("against-a-disease", do=do) for do in each)


def told_once(ends: tuple[AnchorResult, ...]) -> tuple[tuple[AnchorResult, ...], tuple[Finding, ...]]:
    """Ends and line-wide findings: what is only told of the year stands once for the line, with its anchors.

    What a verdict hangs on stays with its end.
    """
    anchors: dict[Said, list[str]] = {}
    for end in ends:
        for finding in end.findings:
            if finding.code in ONLY_TOLD:
                anchors.setdefault(Said(finding.code, finding.values), []).append(end.code)
    kept = tuple(
        replace(end, findings=tuple(finding for finding in end.findings if finding.code not in ONLY_TOLD))
        for end in ends
    )
    return kept, tuple(found("disease-at", "suits", trees=tuple(dict.fromkeys(codes)), told=told)
                       for told, codes in anchors.items())  # fmt: skip


def _advice(
    growing: bool, known: bool, shown: tuple[SeasonWindow, ...], tree: TreeInputs, site: Site
) -> tuple[Said, ...]:
    months = dormant_months(tree, site)
    quiet = (said("dormant-months", first=months[0], last=months[1]),) if months else ()
    year = (said("cambium-at-work" if known else "cambium-taken-at-work", quiet=quiet) if growing
            else said("dormant-by-our-table"))  # fmt: skip
    return (year, *(window.told for window in shown if window.open and window.kind != "disease"))


def _shown(window: Window, is_open: bool) -> SeasonWindow:
    start, end = (f"{month:02d}-{date:02d}" for month, date in (window.start, window.end))
    return SeasonWindow(window.kind, window.what, window.region, start, end, is_open, window.do,
                        window.source, window.flag)  # fmt: skip


def _hygiene(bearing: list[Window]) -> tuple[Hygiene, ...]:
    """What to keep clean: always, and more where a disease rides on ropes."""
    asked = {"", *(window.asks for window in bearing)}
    return tuple(Hygiene(row["code"], row["do"], row.get("brings", "")) for row in document("seasons")["hygiene"]
                 if row.get("against", "") in asked)  # fmt: skip


def _diseases(genus: str | None, half: str | None, site: Site, tree: TreeInputs) -> tuple[Window, ...]:
    """Disease windows of the genus that hold, or may hold, at the place."""
    return disease_windows_at(genus, half, site, tree.latitude, tree.longitude)


def disease_windows_at(
    genus: str | None, half: str | None, site: Site, latitude: float, longitude: float
) -> tuple[Window, ...]:
    """Disease windows of a genus, without those of regions the place is plainly not in; NaN degrees for no position.

    Parameters
    ----------
    genus : scientific; None has no window
    half : the hemisphere, as in `disease_windows`
    site : with its country and region in words
    latitude, longitude : [deg]
    """
    if not genus:
        return ()
    return tuple(window for window in disease_windows(genus, half)
                 if lies_in(window.region, site, latitude, longitude) is not False)  # fmt: skip


def _regions(site: Site, kind: str, tree: TreeInputs) -> tuple[str, ...]:
    return regions_of(kind, site, tree.latitude, tree.longitude)


def _hemisphere(tree: TreeInputs) -> str | None:
    return hemisphere_of(tree.latitude) if math.isfinite(tree.latitude) else None
