"""Latitude and longitude that a whole file may have swapped: told as a hint where something says where it lies.

No row stands out by itself: 51.5, 7.4 and 7.4, 51.5 are both on the globe. A country in the file, of the record begun
or in its site's name, the area of the file's grid, and the places of other files say which of the two it is; where none
does, nothing is told. Nothing is ever swapped here.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Sequence
from functools import cache
from typing import Any, TypeAlias

import numpy as np
import pandas as pd

from siteassess.advice.regions import in_country
from siteassess.places.geodesy import POLE_LATITUDE_DEG, bearing_distance, median_place
from siteassess.reference.findings import Said, said, word
from siteassess.reference.languages import languages
from siteassess.reference.names import folded
from siteassess.reference.tables import rows
from siteassess.survey.cleaning import to_degrees

Within: TypeAlias = Callable[[float, float], bool]  # of latitude and longitude [deg]
# all of these are judgement
MOST_TURNED = 0.5  # share of the rows with a country that must lie in it the other way round, and not as they are
BESIDE_A_GRID_DEG = 3.0  # by how much a grid is used beyond its area, as one zone is for a whole country
TOO_FAR_M, TURNED_NEAR_M = 200_000.0, 50_000.0  # from the other files: as it is, and the other way round


def country_told(text: str) -> Any:
    """The row of the table of countries that a cell names, by its code or in a language; None for another.

    Parameters
    ----------
    text : of a cell
    """
    return _countries().get(text.strip()) or _countries().get(folded(text))


@cache
def _countries() -> dict[str, Any]:
    found = {row.country: row for row in rows("countries")}
    return found | {folded(word(row.name, language)): row for row in rows("countries") for language in languages()}


def country_within(text: str) -> Any:
    """The one country that a text names in any language, as "Green, Germany" does; None for none or several.

    Parameters
    ----------
    text : of a site's name
    """
    named = {row.country: row for name, row in _countries().items()
             if len(name) > 2 and re.search(rf"\b{re.escape(name)}\b", folded(text))}  # fmt: skip
    return next(iter(named.values())) if len(named) == 1 else None


def swapped_by_country(trees: pd.DataFrame) -> list[Said]:
    """A hint where the rows of an inventory lie in the country they name only the other way round.

    Parameters
    ----------
    trees : rows that were kept, with `country`, `lat_deg` and `lon_deg`
    """
    known, fitting = 0, dict[str, int]()
    for name in filter(None, trees["country"].astype(str).unique()):
        if country := country_told(name):
            own = trees[(trees["country"] == name).to_numpy()]
            known += len(own)
            # a city's million rows lie in a few squares of a hundredth of a degree
            spots, counts = np.unique(own[["lat_deg", "lon_deg"]].to_numpy().round(2), axis=0, return_counts=True)
            other = sum(int(n) for (lat, lon), n in zip(spots, counts) if _swapped(lat, lon, _bounds_of(country)))
            fitting[country.name] = fitting.get(country.name, 0) + other
    count = sum(fitting.values())
    if not known or count <= MOST_TURNED * known:
        return []
    return [_hint(count, said("swapped-in-country", country=max(fitting, key=lambda one: fitting[one])))]


def swapped_by_grid(trees: pd.DataFrame, crs: str | None) -> list[Said]:
    """A hint where the middle of the rows lies in the area of its grid only the other way round, or far off it.

    Parameters
    ----------
    trees : rows that were kept
    crs : of the file's own shapes, or of its columns of x and y
    """
    if not crs or trees.empty:
        return []
    from pyproj import CRS, Transformer

    area = CRS.from_user_input(crs).area_of_use
    if area is None or area.west > area.east:
        return []
    lat, lon = median_place(trees["lat_deg"].to_numpy(), trees["lon_deg"].to_numpy())

    def within(lat: float, lon: float, beside: float = 0.0) -> bool:
        return bool(area.south - beside <= lat <= area.north + beside
                    and area.west - beside <= lon <= area.east + beside)  # fmt: skip

    if within(lat, lon):
        return []
    if _swapped(lat, lon, within):
        return [_hint(len(trees), said("swapped-on-grid", crs=crs))]
    if not CRS.from_user_input(crs).is_projected:
        return []
    x, y = Transformer.from_crs("EPSG:4326", crs, always_xy=True).transform(lon, lat)
    turned = (float(angle[0]) for angle in to_degrees(np.array([y]), np.array([x]), crs))
    if within(*turned):
        return [said("ds-maybe-turned-on-grid", count=len(trees), crs=crs)]
    return [] if within(lat, lon, BESIDE_A_GRID_DEG) else [said("ds-outside-grid", crs=crs)]


def swapped_by_site(places: Sequence[tuple[float, float]], countries: Iterable[Any]) -> list[Said]:
    """A hint where the middle of some places lies in a country told of the site only the other way round.

    Parameters
    ----------
    places : latitude and longitude [deg]
    countries : rows of the table of countries, or None
    """
    middle = median_place([lat for lat, _ in places], [lon for _, lon in places])
    return [_hint(len(places), said("swapped-in-country", country=one.name))
            for one in dict.fromkeys(filter(None, countries)) if _swapped(*middle, _bounds_of(one))][:1]  # fmt: skip


def swapped_beside(files: dict[str, list[tuple[float, float]]]) -> dict[str, Said]:
    """A hint for each file that lies near most others only the other way round; of two, both may be the one.

    Parameters
    ----------
    files : latitude and longitude of what was taken of each [deg]
    """
    middles = {name: median_place(*zip(*places)) for name, places in files.items() if places}
    hints = dict[str, Said]()
    for name, (lat, lon) in middles.items():
        others = {other: middle for other, middle in middles.items() if other != name}
        beside = tuple(other for other, middle in others.items()
                       if abs(lon) < POLE_LATITUDE_DEG and _apart(lat, lon, *middle) > TOO_FAR_M
                       and _apart(lon, lat, *middle) < TURNED_NEAR_M)  # fmt: skip
        if len(beside) > MOST_TURNED * len(others):
            hints[name] = _hint(len(files[name]), said("swapped-beside", files=beside))
    return hints


def _apart(lat: float, lon: float, lat2: float, lon2: float) -> float:
    return float(bearing_distance(lat, lon, lat2, lon2).distance_m)


def _bounds_of(country: Any) -> Within:
    return lambda lat, lon: in_country(country, lat, lon)


def _swapped(lat: float, lon: float, within: Within) -> bool:
    """Whether a place lies in some bounds the other way round alone."""
    return not within(lat, lon) and abs(lon) <= 90 and within(lon, lat)


def _hint(count: int, where: Said) -> Said:
    return said("ds-maybe-swapped", count=count, where=where)
