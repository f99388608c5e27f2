"""What a file without latitude and longitude has instead, and how its places are named: zone, number of a grid, codes.

Nothing is read by it: a grid is named by whoever knows the file, here with the very words to name it by. A row that
says another zone or number than the grid named is not put where that grid would have it.
"""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from siteassess.places.grids import BANDS, UTM_SOUTH_DEG
from siteassess.reference.findings import Worded, worded
from siteassess.survey import cells
from siteassess.survey.cells import Floats
from siteassess.survey.mapping import column_key
from siteassess.survey.notes import Note
from siteassess.survey.reading import Chunk

ZONES = ("utmzone", "zoneutm", "utm", "utmzona", "zonautm", "huso", "husoutm", "fuseau", "fuseauutm")
ZONES_OF_ANY_KIND = ("zone", "zona")  # of a park, of a city: of the grid where each has the letter of a band
GRID_NUMBERS = ("epsg", "epsgcode", "crs", "srid")
_ZONE = re.compile(r"(?:utm)?\s*(?:zone)?\s*(0?[1-9]|[1-5]\d|60)\s*([C-HJ-NP-X])?", re.I)
_EPSG = re.compile(r"(?:epsg)?\s*:*\s*(\d{4,6})", re.I)
_CODES = {
    "MGRS": re.compile(r"\d{1,2}\s*[C-HJ-NP-X]\s*[A-HJ-NP-Z][A-HJ-NP-V]\s*(?:\d{1,5}\s*\d{1,5})", re.I),
    "plus code": re.compile(r"[23456789CFGHJMPQRVWX]{4,8}\+[23456789CFGHJMPQRVWX]{2,7}\b.*", re.I),
}
BAND_DEG, BAND_EDGE_DEG = 8.0, 1.0  # height of a band; and by how much a place may lie beside its own (judgement)
NORTHMOST_UNSURE = "S"  # the band from 32 to 40 degrees north, and short for south


def mend_of_places(header: Sequence[str], first: Mapping[str, np.ndarray]) -> Worded:
    """How to name the places of a file that has no column of latitude and longitude.

    Parameters
    ----------
    header : names of its columns
    first : cells of its first rows, by column
    """
    told = {name: sorted({cell.strip() for cell in cells.tidy(first[name]) if cell.strip()}) for name in header}
    filled = {name: texts for name, texts in told.items() if texts}
    for name, texts in filled.items():
        if column_key(name) in GRID_NUMBERS and all(map(_EPSG.fullmatch, texts)):
            return _of_grids(name, [_EPSG.fullmatch(text)[1] for text in texts])  # type: ignore[index]
    for name, texts in filled.items():
        read = [match for match in map(_ZONE.fullmatch, texts) if match]
        banded = column_key(name) in ZONES_OF_ANY_KIND and all(one[2] for one in read)
        if (banded or column_key(name) in ZONES) and len(read) == len(texts):
            return _of_zones(name, texts)
    for name, texts in filled.items():
        for form, code in _CODES.items():
            if sum(bool(code.fullmatch(text)) for text in texts) > len(texts) / 2:
                return worded("mend-places-in-codes", column=name, form=form)
    return worded("mend-grid-not-guessed")


def _of_grids(name: str, codes: list[str]) -> Worded:
    if len(codes) > 1:
        return worded("mend-several-grids", column=name, values=tuple(codes))
    return worded("mend-grid-of-column", column=name, value=codes[0], grid=f"EPSG:{codes[0]}")


def _of_zones(name: str, texts: list[str]) -> Worded:
    read = [match for match in map(_ZONE.fullmatch, texts) if match]
    zone, *others = {int(match[1]) for match in read}
    if others:
        return worded("mend-several-grids", column=name, values=tuple(texts))
    north, south = f"EPSG:{32600 + zone}", f"EPSG:{32700 + zone}"
    bands = {(match[2] or NORTHMOST_UNSURE).upper() for match in read}
    if NORTHMOST_UNSURE in bands or len({band >= "N" for band in bands}) > 1:
        return worded("mend-zone-without-half", column=name, value=texts[0], north=north, south=south)
    return worded("mend-grid-of-column", column=name, value=texts[0], grid=north if min(bands) >= "N" else south)


class GridsTold:
    """Columns in which each row tells its zone or the number of its grid, held against the grid that was named.

    Parameters
    ----------
    header : names of the file's columns
    grid : on which the file's columns of x and y are read; None where they are read on none
    """

    def __init__(self, header: Sequence[str], grid: str | None):
        wanted = (*ZONES, *ZONES_OF_ANY_KIND, *GRID_NUMBERS)
        self.names = [name for name in header if grid and column_key(name) in wanted]
        self._grid = grid or ""

    def hold(self, chunk: Chunk, part: pd.DataFrame) -> None:
        """Flag each row that says another zone or grid, in place.

        Parameters
        ----------
        chunk : with the columns `names`
        part : its rows as they were cleaned, with `line`, `flags` and `lat_deg`
        """
        split = part["line"].isin(chunk.line).to_numpy()
        latitude = part["lat_deg"].to_numpy(dtype=float)[split]
        for name in self.names:
            text, key = cells.tidy(chunk.columns[name]), column_key(name)
            other = np.zeros(len(text), bool)
            for one in filter(None, set(text.tolist())):
                own = text == one
                if key in GRID_NUMBERS:
                    other[own] = _is_other_grid(one, self._grid)
                elif _is_other_zone(one, self._grid):
                    other[own] = key in ZONES or _in_band(one, latitude[own], self._grid)
            flags = part["flags"].to_numpy(copy=True)
            flags[np.flatnonzero(split)[other]] |= int(Note.OTHER_GRID)
            part["flags"] = flags


def _is_other_grid(text: str, grid: str) -> bool:
    """Whether a cell names another grid; degrees, which x and y are not, are of another pair of columns."""
    from pyproj import CRS
    from pyproj.exceptions import CRSError

    match, named = _EPSG.fullmatch(text), CRS.from_user_input(grid)
    if not match:
        return False
    try:
        told = CRS.from_epsg(int(match[1]))
    except CRSError:
        return False
    if told.utm_zone and named.utm_zone:
        return bool(told.utm_zone != named.utm_zone)  # the datums of one zone lie a metre apart
    return bool(told.is_projected and told != named)


def _is_other_zone(text: str, grid: str) -> bool:
    from pyproj import CRS

    match, zone = _ZONE.fullmatch(text), CRS.from_user_input(grid).utm_zone
    if not (match and zone):
        return False
    band = (match[2] or NORTHMOST_UNSURE).upper()
    other_half = band != NORTHMOST_UNSURE and (band >= "N") != zone.endswith("N")
    return int(match[1]) != int(zone[:-1]) or other_half


def _in_band(text: str, latitude: Floats, grid: str) -> NDArray[np.bool_]:
    """Whether the letter of a zone fits the rows' own latitude, as that of a city's zone would not.

    N and S are written for the half of the earth too: then the zone beside the grid's alone is taken for one.
    """
    from pyproj import CRS

    match, zone = _ZONE.fullmatch(text), CRS.from_user_input(grid).utm_zone
    if not (match and match[2] and zone):
        return np.zeros(len(latitude), bool)
    letter = match[2].upper()
    south = UTM_SOUTH_DEG + BAND_DEG * BANDS.index(letter)
    north = south + BAND_DEG * (1.5 if letter == "X" else 1.0)
    with np.errstate(invalid="ignore"):
        fits: NDArray[np.bool_] = (latitude >= south - BAND_EDGE_DEG) & (latitude <= north + BAND_EDGE_DEG)
        if letter in "NS" and abs(int(match[1]) - int(zone[:-1])) in (1, 59):
            fits |= (latitude >= 0.0) == (letter == "N")
    return fits
