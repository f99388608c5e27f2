"""Which regions of the table of seasons a place lies in: by its record's words, its country and its position.

Light on purpose: the register asks this for each line of a list.
"""

from __future__ import annotations

import math
import re
import unicodedata
from typing import Any, Protocol

from siteassess.reference.tables import document, rows

# countries of Europe, for windows that hold there (ISO 3166, two letters)
EUROPE = (
    "AD", "AL", "AT", "BA", "BE", "BG", "BY", "CH", "CY", "CZ", "DE", "DK", "EE", "ES", "FI", "FO", "FR", "GB",
    "GG", "GI", "GR", "HR", "HU", "IE", "IM", "IS", "IT", "JE", "LI", "LT", "LU", "LV", "MC", "MD", "ME", "MK",
    "MT", "NL", "NO", "PL", "PT", "RO", "RS", "SE", "SI", "SJ", "SK", "SM", "UA", "VA", "XK",
)  # fmt: skip
NORTH_AMERICA = ("CA", "MX", "US")
# where the regions of the table lie: south, north, west, east [deg], drawn generously (judgement: from an atlas,
# memory); a place outside is plainly not in the region, whatever its record leaves open
BOUNDS = {
    "Wisconsin": ((42.0, 47.5, -93.5, -86.0),), "Michigan": ((41.5, 48.5, -91.0, -82.0),),
    "Texas": ((25.5, 37.0, -107.0, -93.0),), "Germany": ((47.0, 55.5, 5.5, 15.5),),
    "Europe": ((34.0, 72.0, -32.0, 70.0),),
    "Europe and North America": ((34.0, 72.0, -32.0, 70.0), (7.0, 84.0, -180.0, -50.0)),
    "Basel": ((47.4, 47.8, 7.4, 7.9),), "Lausanne": ((46.3, 46.8, 6.4, 6.9),), "Munich": ((47.9, 48.4, 11.2, 11.9),),
}  # fmt: skip


COUNTRIES = {
    "Germany": ("DE",), "Europe": EUROPE, "Europe and North America": (*EUROPE, *NORTH_AMERICA), "Wisconsin": ("US",),
    "Michigan": ("US",), "Texas": ("US",), "Basel": ("CH",), "Lausanne": ("CH",), "Munich": ("DE",),
}  # fmt: skip
WIDE_REGIONS = ("Germany", "Europe", "Europe and North America")  # whole countries and more

# words of a climate in four languages, and what takes them back when it stands at most a word before
_NOT = r"(?P<not>\b(?:not|no|nicht|kein\w*|pas|peu|non)\s+(?:\w+\s+)?)?"
MILD = re.compile(
    _NOT + r"\b(?:mild(?:e[mnrs]?)?|m[eé]diterr[aá]n\w*|doux|douce|suave|subtropical\w*|subtropisch\w*|frost-free"
    r"|frostfrei\w*|hors gel|sin heladas)\b", re.IGNORECASE,
)  # fmt: skip
WINTRY = re.compile(
    _NOT + r"\b(?:continental\w*|kontinental\w*|boreal\w*|bor[eé]al\w*|subarctic|subarktisch\w*|alpine?|alpin\w*"
    r"|temperate|gem[aä](?:ß|ss)igt\w*|temp[eé]r[eé]\w*|templad[oa]\w*|central european hills)\b", re.IGNORECASE,
)  # fmt: skip


class Named(Protocol):
    """What of a site's record tells where it lies."""

    name: str
    manager: str | None
    country: str | None
    region: str | None


def regions_of(kind: str, site: Named, latitude: float, longitude: float) -> tuple[str, ...]:
    """Regions of the table in which a site lies, for one kind of window; NaN degrees for no position.

    Parameters
    ----------
    kind : of window in `data/seasons.yaml`, such as "nesting"
    site : with its country and region in words
    latitude, longitude : [deg]
    """
    named = {row["region"] for row in document("seasons")["rows"] if row["kind"] == kind}
    return ("temperate", *sorted(name for name in named if lies_in(name, site, latitude, longitude)))


def lies_in(region: str, site: Named, latitude: float, longitude: float) -> bool | None:
    """Whether the site lies in a region of the table; None where neither record nor position tells."""
    if region == "temperate" or region.casefold() in (site.region or "").casefold():
        return True
    countries = COUNTRIES.get(region)
    if country_unproved(site, latitude, longitude):  # then either may be wrong, and neither takes back the other
        by_either = {inside(region, latitude, longitude), site.country in (countries or ())}
        if len(by_either) > 1:
            return None
    if _outside(region, latitude, longitude):
        return False
    if countries is not None and site.country is not None and site.country not in countries:
        return False  # a street or a park is named after places far away
    if region.casefold() in " ".join(part for part in (site.name, site.manager) if part).casefold():
        return True
    if countries is None:
        return False
    if site.country is None:
        return None
    if region in WIDE_REGIONS:
        return True
    # a state or town within the right country: told as possible unless the record names another of the table
    named = (site.region or "").casefold()
    others = (other for other, within in COUNTRIES.items() if other != region and site.country in within)
    return False if any(other.casefold() in named for other in others if other not in WIDE_REGIONS) else None


def country_of(site: Named) -> Any:
    """The row of the table of countries for the country a site names; None where it holds none."""
    return next((row for row in rows("countries") if row.country == site.country), None)


def in_country(country: Any, latitude: float, longitude: float) -> bool:
    """Whether a position lies within the bounds of a row of the table of countries.

    Parameters
    ----------
    country : row of the table
    latitude, longitude : [deg]
    """
    west, east = float(country.west_deg), float(country.east_deg)
    if not country.south_deg <= latitude <= country.north_deg:
        return False
    if west <= east:
        return west <= longitude <= east
    return longitude >= west or longitude <= east  # across the 180th meridian


def country_unproved(site: Named, latitude: float, longitude: float) -> bool:
    """Whether a position is known that the bounds of the country named do not hold, or whose bounds we do not know.

    Parameters
    ----------
    site : with its country
    latitude, longitude : [deg]; NaN for no position
    """
    if site.country is None or not (math.isfinite(latitude) and math.isfinite(longitude)):
        return False
    country = country_of(site)
    return country is None or not in_country(country, latitude, longitude)


def inside(region: str, latitude: float, longitude: float) -> bool:
    """Whether a known position lies within what is drawn of a region."""
    return any(south <= latitude <= north and west <= longitude <= east
               for south, north, west, east in BOUNDS.get(region, ()))  # fmt: skip


def climate_of(site: Named | None) -> str:
    """Climate word of the table of growing windows, by the words of the record's region; one that says no climate is
    taken as mild, where the year starts earliest."""
    told = unicodedata.normalize("NFC", (site.region or "") if site else "")
    mild = [not found["not"] for found in MILD.finditer(told)]
    if any(mild) or not (mild or tells_a_climate(site)):
        return "mild"
    return "central European hills" if "central european hills" in told.casefold() else "temperate"


def tells_a_climate(site: Named | None) -> bool:
    """Whether the record's region says how its winters are."""
    told = unicodedata.normalize("NFC", (site.region or "") if site else "")
    return bool(MILD.search(told)) or any(not found["not"] for found in WINTRY.finditer(told))


def _outside(region: str, latitude: float, longitude: float) -> bool:
    """Whether a known position lies outside a region; never for a position that is not known."""
    known = region in BOUNDS and math.isfinite(latitude) and math.isfinite(longitude)
    return known and not inside(region, latitude, longitude)
