"""What a file without latitude and longitude has instead, and how its places are named: zone, number of a grid, codes.

Nothing is read by it: a grid is named by whoever knows the file, here with the very words to name it by.
"""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence

import numpy as np

from siteassess.reference.findings import Worded, worded
from siteassess.survey import cells
from siteassess.survey.mapping import column_key

ZONES = ("utmzone", "zoneutm", "utm", "utmzona", "zonautm", "huso", "husoutm", "fuseau", "fuseauutm")
ZONES_OF_ANY_KIND = ("zone", "zona")  # of a park, of a city: of the grid where each has the letter of a band
GRID_NUMBERS = ("epsg", "epsgcode", "crs", "srid")
_ZONE = re.compile(r"(?:utm)?\s*(?:zone)?\s*(0?[1-9]|[1-5]\d|60)\s*([C-HJ-NP-X])?", re.I)
_EPSG = re.compile(r"(?:epsg)?\s*:*\s*(\d{4,6})", re.I)
_CODES = {
    "MGRS": re.compile(r"\d{1,2}\s*[C-HJ-NP-X]\s*[A-HJ-NP-Z][A-HJ-NP-V]\s*(?:\d{1,5}\s*\d{1,5})", re.I),
    "plus code": re.compile(r"[23456789CFGHJMPQRVWX]{4,8}\+[23456789CFGHJMPQRVWX]{2,7}\b.*", re.I),
}
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
