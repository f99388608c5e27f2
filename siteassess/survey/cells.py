"""Cells of an inventory as text, and what they say: lengths, positions, blanks.

The common case (a column of plain numbers) goes through one vectorised call; only cells that resist are read one
by one, each distinct text once.
"""

from __future__ import annotations

import json
import math
import re
from collections.abc import Callable
from typing import TypeAlias

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from siteassess.places.position_text import LETTER_O
from siteassess.units import si_factor

Floats: TypeAlias = NDArray[np.float64]
BLANKS = frozenset({"", "nan", "none", "null", "na", "n/a", "<na>", "-", "--", "unknown", "unbekannt", "inconnu"})
UNIT_SIGNS = {'"': "in", "''": "in", "″": "in", "'": "ft", "′": "ft", "inch": "in", "inches": "in", "feet": "ft"}
_NUMBER_UNIT = re.compile(r"([+-]?[\d.,\u00a0 ]*\d[.,]?)\s*([^\d\s.,].*)?")
_FEET_INCHES = re.compile(r"(\d+)\s*(?:ft|'|′)\s*(\d+(?:\.\d+)?)\s*(?:in|\"|″|'')?")
_DMS = re.compile(
    r"([+-]?\d+(?:\.\d+)?)\s*(?:°|deg|d|:|\s|(?=[NSEW]$))\s*(?:(\d+(?:\.\d+)?)\s*(?:'|′|’|:|\s)?\s*)?"
    r"(?:(\d+(?:\.\d+)?)\s*(?:\"|″|”|'')?\s*)?([NSEWO])?",
    re.IGNORECASE,
)
_BLANK_THOUSANDS = re.compile(r"[+-]?\d{1,3}(?: \d{3})+(?:[.,]\d+)?")
_WKT_POINT = re.compile(r"(?:SRID=\d+;)?\s*POINT\s*Z?\s*\(\s*([^\s(),]+)\s+([^\s(),]+)", re.IGNORECASE)
NAN = (math.nan, math.nan)


def tidy(column: np.ndarray) -> np.ndarray:
    """Text with outer blanks cut and every word for nothing made empty (object array of str)."""
    # plain loops: several times as quick here as the vectorised text calls, which loop inside and check more
    texts = [_plain(cell) for cell in column]
    blanks = {text for text in set(texts) if text and text.casefold() in BLANKS}
    if blanks:
        texts = ["" if text in blanks else text for text in texts]
    tidied = np.empty(len(texts), dtype=object)
    tidied[:] = texts
    return tidied


def _plain(cell: object) -> str:
    if type(cell) is str:
        return cell.strip()
    return "" if cell is None or cell != cell else str(cell).strip()


def plain_number(text: str, decimal: str) -> tuple[float, bool]:
    """A number with either decimal sign, and whether it bore the sign that was not announced.

    A lone sign before exactly three digits could part thousands, so unless it is the announced decimal sign the
    text is refused (NaN): "1,850" is never guessed at.
    """
    text = text.replace("\u00a0", " ").strip()
    if "_" in text or (" " in text and not _BLANK_THOUSANDS.fullmatch(text)):
        return math.nan, False  # Python's own sign between thousands; or two numbers, as of two stems: "30, 25"
    text = text.replace(" ", "")
    other = "," if decimal == "." else "."
    if decimal in text and other in text:
        if text.rindex(decimal) < text.rindex(other) or text.count(decimal) > 1:
            return math.nan, False
        if not re.fullmatch(rf"[+-]?\d{{1,3}}(?:\{other}\d{{3}})+\{decimal}\d+", text):
            return math.nan, False
        return float(text.replace(other, "").replace(decimal, ".")), False
    if other in text:
        if text.count(other) > 1 or re.fullmatch(rf"[+-]?\d{{1,3}}\{other}\d{{3}}", text):
            return math.nan, False
        swapped, odd = text.replace(other, "."), True
    else:
        swapped, odd = text.replace(decimal, "."), False
    try:
        value = float(swapped)
    except ValueError:
        return math.nan, False
    return (value, odd) if math.isfinite(value) else (math.nan, False)


def length_m(text: str, unit: str, decimal: str) -> tuple[float, bool, bool]:
    """One length of a cell [m], whether its unit stood in the cell, and whether the other decimal sign did."""
    if both := _FEET_INCHES.fullmatch(text):
        return float(both[1]) * si_factor("length", "ft") + float(both[2]) * si_factor("length", "in"), True, False
    match = _NUMBER_UNIT.fullmatch(text)
    if not match:
        return math.nan, False, False
    value, odd = plain_number(match[1], decimal)
    sign = (match[2] or "").strip().rstrip(".")
    own = UNIT_SIGNS.get(sign.casefold(), sign.casefold()) if sign else unit
    try:
        return value * si_factor("length", own), bool(sign), odd
    except KeyError:
        return math.nan, False, False


def lengths_m(column: np.ndarray, unit: str, decimal: str) -> tuple[np.ndarray, np.ndarray, np.ndarray, np.ndarray]:
    """A column of lengths.

    Parameters
    ----------
    column : tidied cells, shape (n,)
    unit : unit of a cell that names none
    decimal : announced decimal sign, "." or ","

    Returns
    -------
    value : ndarray of float
        Lengths [m], NaN where blank or not readable.
    unreadable, unit_in_cell, other_sign : ndarray of bool
    """
    text = pd.Series(column, dtype=object)
    filled = (text != "").to_numpy()
    announced = text.str.replace(",", ".", regex=False) if decimal == "," else text
    value = pd.to_numeric(announced, errors="coerce").to_numpy(dtype=float, copy=True) * si_factor("length", unit)
    value[~np.isfinite(value)] = np.nan
    in_cell, other = np.zeros(len(text), bool), np.zeros(len(text), bool)
    hard = filled & np.isnan(value)
    if decimal == ",":
        # "1.85" under a decimal comma passed the quick road: look at every cell that bears a point
        hard |= text.str.contains(".", regex=False).to_numpy(dtype=bool)
    if hard.any():
        known = {cell: length_m(cell, unit, decimal) for cell in set(column[hard])}
        rows = np.flatnonzero(hard)
        read = [known[cell] for cell in column[hard]]
        value[rows] = [one[0] for one in read]
        in_cell[rows] = [one[1] for one in read]
        other[rows] = [one[2] for one in read]
    return value, filled & np.isnan(value), in_cell, other


def degrees(text: str, decimal: str = ".") -> float:
    """One latitude or longitude, decimal or degrees-minutes-seconds with its letter [deg]; NaN if neither."""
    text = text.strip()
    # blanks part degrees from minutes here, never thousands; and degrees have no thousands to part
    if re.fullmatch(r"[+-]?\d{1,3}[.,]\d{3}", text):
        value = float(text.replace(",", "."))
    else:
        value = math.nan if re.search(r"\d\s+\d", text) else plain_number(text, decimal)[0]
    if not math.isnan(value):
        return value
    # The letter may lead or follow; O is the west of the Romance languages and the east of German, hence refused.
    lead = re.fullmatch(r"([NSEW])\s*(.+)", text, re.IGNORECASE)
    text = f"{lead[2]}{lead[1]}" if lead else text
    match = _DMS.fullmatch(text if "." in text else re.sub(r"(?<=\d),(?=\d)", ".", text))
    if not match or (match[4] or "").upper() == "O":
        return math.nan
    whole, minutes, seconds = float(match[1]), float(match[2] or 0), float(match[3] or 0)
    if minutes >= 60 or seconds >= 60:
        return math.nan
    size = abs(whole) + minutes / 60 + seconds / 3600
    south_or_west = (match[4] or "").upper() in ("S", "W")
    return -size if south_or_west or match[1].startswith("-") else size


def east_or_west(column: np.ndarray) -> NDArray[np.bool_]:
    """Where a position has an O, the east of one language and the west of others.

    Parameters
    ----------
    column : tidied cells
    """
    return np.array([bool(LETTER_O.search(cell)) for cell in column], dtype=bool)


def degrees_column(column: np.ndarray, decimal: str) -> Floats:
    """A column of latitudes or longitudes [deg], NaN where blank or not readable."""
    # "1.234,5" can only be a grid number; degrees never part thousands
    return _numbers(column, decimal, lambda cell: degrees(cell, decimal))


def grid_column(column: np.ndarray, decimal: str) -> Floats:
    """A column of projected coordinates [grid unit], thousands signs allowed beside the decimal sign."""
    return _numbers(column, decimal, lambda cell: plain_number(cell, decimal)[0])


def _numbers(column: np.ndarray, decimal: str, one: Callable[[str], float]) -> Floats:
    """The plain numbers of a column at once, and what is not among them cell by cell."""
    text = pd.Series(column, dtype=object)
    quick = text.str.replace(",", ".", regex=False) if decimal == "," else text
    value: Floats = pd.to_numeric(quick, errors="coerce").to_numpy(dtype=float, copy=True)
    for row in np.flatnonzero(np.isnan(value) & (column != "")):
        value[row] = one(column[row])
    value[~np.isfinite(value)] = np.nan
    return value


def one_cell(text: str, order: str) -> tuple[float, float]:
    """A position in one cell, as (first, second) = (latitude, longitude) or, for a grid, (y, x).

    Forms: "40.7, -73.9" in the stated order, "POINT (-73.9 40.7)", a GeoJSON point, or an object with lat and lon.
    The last three name their own order.
    """
    if match := _WKT_POINT.match(text):
        return degrees(match[2]), degrees(match[1])
    if text.startswith("{"):
        return _from_object(text)
    parts = [part for part in re.split(r"\s*[,;]\s*", text.strip("()[] ")) if part]
    if len(parts) != 2:
        return NAN
    first, second = degrees(parts[0]), degrees(parts[1])
    return (first, second) if order == "lat, lon" else (second, first)


def _from_object(text: str) -> tuple[float, float]:
    try:
        value = json.loads(text.replace("'", '"'))
        if "coordinates" in value:
            return float(value["coordinates"][1]), float(value["coordinates"][0])
        return float(value["lat"]), float(value["lon"])
    except (ValueError, KeyError, TypeError, IndexError):
        return NAN


def one_cell_column(column: np.ndarray, order: str) -> tuple[np.ndarray, np.ndarray]:
    """Latitudes and longitudes (or y and x) of a column of positions, NaN where blank or not readable."""
    pairs = np.array([one_cell(cell, order) if cell else NAN for cell in column], dtype=float).reshape(-1, 2)
    pairs[~np.isfinite(pairs).all(axis=1)] = np.nan
    return pairs[:, 0], pairs[:, 1]


def hstore_value(column: np.ndarray, key: str) -> np.ndarray:
    """Values of one key from a column of tags packed as "key"=>"value"."""
    pattern = re.compile(r'"' + re.escape(key) + r'"=>"((?:[^"\\]|\\.)*)"')
    return np.array([m[1] if (m := pattern.search(cell)) else "" for cell in column], dtype=object)
