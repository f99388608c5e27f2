"""Which column of an unknown inventory tells the trunk, and in which unit: by its name, else by its values.

A wrong unit is 2.54, ten or a hundred times off. The values tell it where one unit alone makes the stoutest trunks of
the file about as stout as the stoutest that was measured of their kind; inches are thought of only where trees are
measured in them, since a list of young trees in centimetres would else grow stout. What cannot be told stays unread.
"""

from __future__ import annotations

import re
from functools import cache

import numpy as np
from numpy.typing import NDArray

from siteassess.advice.regions import in_country
from siteassess.reference.faults import any_of
from siteassess.reference.findings import Said, said
from siteassess.reference.names import without_accents
from siteassess.reference.tables import rows
from siteassess.reference.written_names import written_species
from siteassess.survey import cells
from siteassess.survey.against_all import BELIEVED_MEDIAN_M
from siteassess.survey.cells import Floats
from siteassess.survey.mapping import Size, SizeKind, column_key
from siteassess.units import si_factor

GIRTH = (
    "girth", "circumference", "circonference", "circonf", "stammumfang", "stammumfg", "umfang", "circ", "perimetro",
    "perimetre", "circunferencia", "circonferenza", "contorno", "gbh", "cbh", "omkrets", "omtrek", "obwod", "stu",
)  # fmt: skip
DIAMETER = (
    "dbh", "diameter", "diametre", "durchmesser", "diam", "stammdurchmesser", "treedbh", "dap", "diametro", "bhd",
    "trunkdiameter", "stemdiameter", "dhp",
)  # fmt: skip
NO_TRUNK = ("crown", "kron", "couronne", "canopy", "stump", "copa", "cime", "houppier", "spread", "chioma", "krone",
            "pit", "root", "plot", "alcorque", "ball")  # fmt: skip
UNIT_WORDS = {
    "cm": "cm", "mm": "mm", "inches": "in", "inch": "in", "in": "in", "ft": "ft", "feet": "ft", "m": "m",
    "metres": "m", "meters": "m", "centimeters": "cm", "centimetres": "cm", "zoll": "in", "pouces": "in",
}  # fmt: skip
# all of these are judgement
SIZED_ROWS = 20_000  # at the head of a file, whose sizes are looked at
ENOUGH_SIZES, ENOUGH_FOR_INCHES = 30, 100  # rows with a size, to tell a unit from them
STOUTEST = 0.98  # the share of trunks that lies under "the stoutest one in fifty"
# the stoutest one in fifty over the stoutest that was measured of its kind, as twenty inventories of cities have it:
# 0.34 to 1.12; of a bed of young trees 0.16
REACH_USUAL, REACH_YOUNG, REACH_INCHES = (0.30, 1.15), (0.10, 1.15), (0.45, 1.15)
STOUT_IF_UNMEASURED_M = 1.2  # of a genus that no table of city trees has
IN_INCHES = ("US", "CA")  # countries where trees are measured in inches, or may be


def unit_in(name: str) -> str | None:
    """A unit that stands as its own word at the end of a column's name: 'DBH (cm)', 'dbh_in', 'height ft'.

    Parameters
    ----------
    name : of the column
    """
    words = [word for word in re.split(r"[\W_]+", name.casefold()) if word]
    for word in reversed(words[1:]):
        if word in UNIT_WORDS:
            return UNIT_WORDS[word]
    # words run together, as in circonferenceencm, dbhcm
    tail = re.search(r"(?:(?:en|in)(cm|mm|m)|(cm|mm))$", column_key(name))
    return tail and (tail[1] or tail[2])


def without_unit(name: str) -> str:
    """A column's name without a unit in brackets, or as its last word; "(N)" is a side, and stays.

    Parameters
    ----------
    name : of the column
    """
    words = [word for word in re.split(r"[\W_]+", name) if word]
    while len(words) > 1 and words[-1].casefold() in (*UNIT_WORDS, "en"):  # "Höhe in m", "hauteur en m"
        words.pop()
    return " ".join(words)


def size_columns(header: list[str]) -> list[tuple[str, SizeKind]]:
    """Columns whose name is that of a trunk's girth or diameter, girths first, each with which of the two.

    Parameters
    ----------
    header : names of the file's columns
    """
    kinds: tuple[tuple[SizeKind, tuple[str, ...]], ...] = (("girth", GIRTH), ("diameter", DIAMETER))
    found: dict[str, SizeKind] = {}
    for kind, words in kinds:
        for name in (name for word in words for name in header if _is_size(name, word)):
            found.setdefault(name, kind)
    return list(found.items())


def _is_size(name: str, word: str) -> bool:
    words = [piece for piece in re.split(r"[\W_]+", without_accents(name)) if piece]
    other = any(piece.startswith(NO_TRUNK) for piece in words)
    key = column_key(name)
    return not other and (word in words or key == word or (len(word) > 5 and word in key)
                          or key in (word + unit for unit in UNIT_WORDS))  # fmt: skip


def size_of(
    columns: dict[str, NDArray[np.object_]], decimal: str, stoutest: Floats | None, at: tuple[float, float] | None,
    stated: str | None, reasons: list[Said],
) -> Size | None:
    """The size column of a file, and its unit, with the reasons; None where it has none or its unit stays open.

    Parameters
    ----------
    columns, decimal : cells of the file's head by the name of their column, and the decimal sign
    stoutest : trunk that was measured of the kind of each of the first rows [m]; None where no kinds are known
    at : latitude and longitude of the trees [deg]; None if not known
    stated : unit that the user named
    reasons : added to
    """
    found = size_columns(list(columns))
    if not found:
        reasons.append(said("ds-no-size-column"))
        return None
    # an empty column of that name, as many exports have one, gives way to a filled one, whose unit is told if may be
    filled = [one for one in found if any(map(len, bare_numbers(columns[one[0]], decimal)[1:]))]
    with_unit = [one for one in filled if stated or unit_in(one[0]) or len(bare_numbers(columns[one[0]], decimal)[2])]
    name, kind = (*with_unit, *filled, *found)[0]
    if others := tuple(other for other, _ in found if other != name):
        reasons.append(said("ds-other-sizes", names=others))
    if unit := stated or unit_in(name):
        told = "ds-unit-stated" if stated else "ds-unit-by-name"
        reasons.append(said(told, field=kind, column=name, unit=unit))
        return Size(column=(name,), kind=kind, unit=unit)
    values, where, own = bare_numbers(columns[name], decimal)
    if len(own) and not len(values):
        reasons.append(said("ds-unit-by-cells", field=kind, column=name))
        return Size(column=(name,), kind=kind, unit="cm")  # of no cell
    limits = stoutest[where] if stoutest is not None and len(stoutest) > max(where, default=-1) else None
    unit = _by_values(name, kind, values, limits, at, reasons)
    return Size(column=(name,), kind=kind, unit=unit) if unit else None


def _by_values(
    name: str, kind: SizeKind, values: Floats, limits: Floats | None, at: tuple[float, float] | None,
    reasons: list[Said],
) -> str | None:
    inches = in_inches(at)
    units = ("cm", "mm", "m", "in") if inches else ("cm", "mm", "m")
    usual = REACH_USUAL if inches else REACH_YOUNG
    reach = {unit: stoutest_reach(values, kind, unit, limits) for unit in units}
    # a young stand in centimetres is met, hardly ever one in millimetres
    bands = {unit: {"in": REACH_INCHES, "mm": REACH_USUAL}.get(unit, usual) for unit in units}
    passing = [unit for unit, share in reach.items() if bands[unit][0] <= share <= bands[unit][1]
               and _usual(values, kind, unit)]  # fmt: skip
    if "in" in passing and len(passing) == 1 and len(values) < ENOUGH_FOR_INCHES:
        passing = ["cm", "in"]  # a bed of young trees in centimetres would grow stout
    passing = passing if len(values) >= ENOUGH_SIZES else []
    if len(passing) == 1:
        unit = passing[0]
        others = tuple(said("ds-reach", unit=one, share=share) for one, share in reach.items() if one != unit)
        reasons.append(said("ds-unit-by-sizes", field=kind, column=name, unit=unit, count=len(values),
                            share=reach[unit], beside=others))  # fmt: skip
        return unit
    could = any_of(*(passing or units))
    few = len(values) < ENOUGH_SIZES
    reasons.append(said("ds-size-open-few" if few else "ds-size-open", field=kind, column=name, could=could,
                        count=len(values)))  # fmt: skip
    return None


def in_inches(at: tuple[float, float] | None) -> bool:
    """Whether trees may be measured in inches and feet at a place [deg]; where it is not known, they may.

    Parameters
    ----------
    at : latitude and longitude [deg]
    """
    return at is None or any(in_country(row, *at) for row in rows("countries") if row.country in IN_INCHES)


def _usual(values: Floats, kind: SizeKind, unit: str) -> bool:
    """Whether the middle trunk is as thick as that of an inventory may be; fillers such as 999 do not move it."""
    low, high = BELIEVED_MEDIAN_M
    return bool(low <= np.median(_diameters(values, kind, unit)) <= high)


def _diameters(values: Floats, kind: SizeKind, unit: str) -> Floats:
    return values * si_factor("length", unit) / (np.pi if kind == "girth" else 1.0)


def stoutest_reach(values: Floats, kind: SizeKind, unit: str, limits: Floats | None) -> float:
    """The stoutest one in fifty of some trunks, over the stoutest trunk that was measured of its kind [-].

    Parameters
    ----------
    values : girths or diameters in a unit
    kind : which of the two
    unit : of the values
    limits : stoutest diameter measured of the kind of each [m]; None for one of all
    """
    if not len(values):
        return float("nan")
    stoutest = STOUT_IF_UNMEASURED_M if limits is None else limits
    return float(np.quantile(_diameters(values, kind, unit) / stoutest, STOUTEST))


def stoutest_measured(names: NDArray[np.object_]) -> Floats:
    """The stoutest trunk of a city that was measured of each named kind [m].

    Parameters
    ----------
    names : of trees, as written
    """
    known = {name: written_species(str(name)) for name in set(names.tolist())}
    stout = {name: _stoutest().get(match.genus, STOUT_IF_UNMEASURED_M) if match else STOUT_IF_UNMEASURED_M
             for name, match in known.items()}  # fmt: skip
    return np.array([stout[name] for name in names], dtype=float)


@cache
def _stoutest() -> dict[str, float]:
    found: dict[str, float] = {}
    for row in rows("allometry"):
        if row.rank in ("genus", "species") and row.diameter_high_m:
            genus = row.name.split()[0]
            found[genus] = max(found.get(genus, 0.0), row.diameter_high_m)
    return found


def bare_numbers(
    column: NDArray[np.object_], decimal: str
) -> tuple[Floats, NDArray[np.int64], NDArray[np.int64]]:
    """Numbers over zero of a column that name no unit of their own, their rows, and the rows of those that do.

    Parameters
    ----------
    column, decimal : cells as read, and the decimal sign
    """
    value, _, in_cell, _ = cells.lengths_m(cells.tidy(column), "m", decimal)
    with np.errstate(invalid="ignore"):
        where = np.flatnonzero((value > 0) & ~in_cell)
    return value[where], where, np.flatnonzero(in_cell)
