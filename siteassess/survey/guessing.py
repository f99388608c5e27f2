"""A guess at the columns of an unknown inventory, each with its reason; what cannot be told is left unknown.

Positions, height, crown and status go by the names of columns; the trees' names and their sizes by what is in them too
(`guessing_names`, `guessing_sizes`).
"""

from __future__ import annotations

import re
from itertools import islice
from typing import Literal

import numpy as np

from siteassess.errors import refused
from siteassess.reference.findings import Said, said, worded
from siteassess.reference.written_names import joined
from siteassess.survey import cells
from siteassess.survey.cleaning import to_degrees
from siteassess.survey.guessing_names import name_columns
from siteassess.survey.guessing_sizes import SIZED_ROWS, size_of, stoutest_measured, unit_in, without_unit
from siteassess.survey.mapping import (
    LengthColumn,
    Mapped,
    Mapping,
    NameColumn,
    StatusColumn,
    Where,
    column_key,
    listed,
)
from siteassess.survey.reading import Chunk, Opened

# plain words of several languages as inventories use them, compared after `column_key`
WORDS = {
    "latitude": ("latitude", "lat", "ycoordwgs84", "breitengrad", "latitud", "decimallatitude", "latwgs84",
                 "latitudedd"),
    "longitude": ("longitude", "lon", "long", "lng", "xcoordwgs84", "laengengrad", "langengrad", "longitud",
                  "decimallongitude", "lonwgs84", "longitudedd"),
    "cell": (
        "geopoint2d", "geopoint", "coordinates", "coordonnees", "location", "latlon", "latlng", "position", "wkt",
        "thegeom", "geom", "shape",
    ),
    "id": ("treeid", "id", "objectid", "comid", "idbase", "assetid", "baumnummer", "ref", "fid", "uniqueid", "tag",
           "baumnr", "nr", "numero", "numarbre", "codigo"),
    "height": (
        "height", "treeheight", "hauteur", "hauteurm", "hauteurenm", "baumhoehe", "hoehe", "hohe", "altura",
        "alturam", "heightm", "heightft",
        "heightinm",
    ),
    "crown": (
        "crownspread", "crownwidth", "crowndiameter", "diametercrown", "kronendurchmesser", "kronedurch", "spread",
        "canopyspread",
    ),
    "accuracy": ("accuracym", "accuracy", "coordinateuncertaintyinmeters", "gpsaccuracy", "horizontalaccuracy", "hacc"),
    "seen": ("seen", "eventdate", "observedon", "surveydate", "inventorydate", "dateseen"),
    "status": ("status", "treestatus", "condition"),
    "park": ("parkname", "park", "sitename", "site", "gruenflaeche"),
}
DEAD = ("dead", "tot", "mort", "morto", "muerto", "abgestorben", "dead tree")
STUMP = ("stump", "removed", "souche", "felled", "gefällt", "retired", "tocón", "stumpf", "cut down", "abattu")
PREVIEW_ROWS = 2000
FIELD_TOLD = {"status": said("ds-field-status"), "seen": said("ds-field-seen"),
              "accuracy": said("ds-field-accuracy")}  # else the word itself


def guess(source: Opened, diameter_unit: str | None = None) -> tuple[Mapping, list[Said]]:
    """A mapping for a file that no shipped one fits, and why it reads each column as it does.

    Parameters
    ----------
    source : the file
    diameter_unit : unit of the trunk's size, girth or diameter, that the user named

    Raises
    ------
    FaultyInput : no columns that could be a position
    """
    reasons: list[Said] = []
    found = {what: name for what in WORDS if (name := _find(source.header, WORDS[what]))}
    where = _where(source, found, reasons)
    decimal = _decimal(source, reasons)
    head = next(islice(source.chunks(source.header, PREVIEW_ROWS), 1), None)

    def named(what: str) -> tuple[str, ...]:
        if what not in found:
            return ()
        reasons.append(said("ds-by-name", field=FIELD_TOLD.get(what, what), column=found[what]))
        return (found[what],)

    # the reasons come in the order of the fields here
    tree_id = Mapped(column=column) if (column := named("id")) else None
    species, common = name_columns(source.header, head.columns if head else {}, reasons)
    mapping = Mapping(
        siteassess_mapping=1, name="guessed", title=source.path.name, source="guessed from the file's own columns",
        licence="not known: ask whoever gave you the file", position=where, decimal=decimal, id=tree_id,
        species=species, common=common, park=NameColumn(column=column) if (column := named("park")) else None,
        status=StatusColumn(column=column, dead=DEAD, stump=STUMP) if (column := named("status")) else None,
        accuracy=_length("accuracy", found, reasons), seen=Mapped(column=column) if (column := named("seen")) else None,
        height=_length("height", found, reasons), crown=_length("crown", found, reasons),
        size=size_of(source, decimal, _stoutest_of(source, species or common), _middle(where, head, decimal),
                     diameter_unit, reasons),
    )  # fmt: skip
    return mapping, reasons


def _stoutest_of(source: Opened, spec: NameColumn | None) -> cells.Floats | None:
    """The stoutest trunk measured of the kind of each row at the file's head [m]; None without a column of names."""
    if spec is None:
        return None
    chunk = next(islice(source.chunks(list(spec.column), SIZED_ROWS), 1), None)
    columns = [cells.tidy(chunk.columns[name]) for name in spec.column] if chunk else []
    if not columns:
        return None
    return stoutest_measured(joined(columns[0], columns[1]) if spec.join else columns[0])


def _middle(where: Where, head: Chunk | None, decimal: str) -> tuple[float, float] | None:
    """Latitude and longitude in the midst of the first rows [deg]; None where they are not known."""
    if head is None or not len(head):
        return None
    if where.geometry and head.points is not None:
        x, y = head.points.xy.T
        lat, lon = to_degrees(x, y, head.crs) if head.crs else (y, x)
    elif where.latitude and where.longitude:
        lat, lon = (cells.degrees_column(cells.tidy(head.columns[spec.column[0]]), decimal)
                    for spec in (where.latitude, where.longitude))  # fmt: skip
    elif where.cell:
        lat, lon = cells.one_cell_column(cells.tidy(head.columns[where.cell.column[0]]), where.order)
    else:
        return None
    known = np.isfinite(lat) & np.isfinite(lon)
    return (float(np.median(lat[known])), float(np.median(lon[known]))) if known.any() else None


def _find(header: list[str], words: tuple[str, ...]) -> str | None:
    # "Höhe (m)" is called "Höhe"; a column of the bare name comes first
    bare = {column_key(without_unit(name)): name for name in reversed(header)}
    names = bare | {column_key(name): name for name in reversed(header)}
    return next((names[word] for word in words if word in names), None)


def _where(source: Opened, found: dict[str, str], reasons: list[Said]) -> Where:
    if source.has_geometry:
        reasons.append(said("ds-own-geometry"))
        return Where(geometry=True, crs=None if source.crs else "EPSG:4326")
    if "latitude" in found and "longitude" in found:
        reasons.append(said("ds-by-their-names", latitude=found["latitude"], longitude=found["longitude"]))
        return Where(latitude=Mapped(column=(found["latitude"],)), longitude=Mapped(column=(found["longitude"],)))
    if "cell" in found:
        column = found["cell"]
        sample = [cells.one_cell(cell, "lat, lon") for cell in _preview(source, column) if cell]
        if sample and np.mean(~np.isnan(np.array(sample)[:, 0])) > 0.5:
            reasons.append(said("ds-one-column", column=column))
            return Where(cell=Mapped(column=(column,)))
    wanted, mend = worded("want-position-columns"), worded("mend-grid-not-guessed")
    raise refused(source.path.name, worded("the-position"), listed(source.header), wanted, mend, line=1)


def _preview(source: Opened, column: str) -> np.ndarray:
    chunk = next(islice(source.chunks([column], PREVIEW_ROWS), 1), None)
    return cells.tidy(chunk.columns[column]) if chunk is not None else np.array([], dtype=object)


def _decimal(source: Opened, reasons: list[Said]) -> Literal[".", ","]:
    """A comma, if the file is parted by semicolons and numbers with one comma outnumber those with a point."""
    if source.delimiter != ";":
        return "."
    chunk = next(islice(source.chunks(source.header, PREVIEW_ROWS), 1), None)
    texts = [] if chunk is None else [cell for column in chunk.columns.values() for cell in column]
    commas = sum(bool(re.fullmatch(r"[+-]?\d+,\d+", cell)) for cell in texts)
    points = sum(bool(re.fullmatch(r"[+-]?\d+\.\d+", cell)) for cell in texts)
    if commas > points:
        reasons.append(said("ds-decimal-comma", commas=commas, points=points))
        return ","
    return "."


def _length(what: str, found: dict[str, str], reasons: list[Said]) -> LengthColumn | None:
    name = found.get(what)
    if not name:
        return None
    unit = unit_in(name) or {"heightft": "ft", "heightm": "m", "hauteurm": "m"}.get(column_key(name))
    if unit is None:
        reasons.append(said("ds-no-unit", field=FIELD_TOLD.get(what, what), column=name))
        return None
    reasons.append(said("ds-unit-by-name", field=FIELD_TOLD.get(what, what), column=name, unit=unit))
    return LengthColumn(column=(name,), unit=unit)
