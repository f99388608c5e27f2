"""A guess at the columns of an unknown inventory, each with its reason; what cannot be told is left unknown.

Positions, height, crown and status go by the names of columns; the trees' names and their sizes by what is in them too
(`guessing_names`, `guessing_sizes`).
"""

from __future__ import annotations

import re
from itertools import islice
from typing import Literal, TypeAlias

import numpy as np

from siteassess.errors import refused
from siteassess.places.geodesy import median_place
from siteassess.reference.findings import Said, said, worded
from siteassess.reference.names import without_accents
from siteassess.reference.written_names import is_several, joined
from siteassess.survey import cells
from siteassess.survey.called import called
from siteassess.survey.cleaning import to_degrees
from siteassess.survey.guessing_names import name_columns
from siteassess.survey.guessing_sizes import (
    SIZED_ROWS,
    bare_numbers,
    in_inches,
    size_of,
    stoutest_measured,
    unit_in,
    without_unit,
)
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
from siteassess.survey.notes import Note
from siteassess.survey.other_places import mend_of_places
from siteassess.survey.reading import Chunk, ListedRows, Opened

DESCRIBED, GONE_NOTES = ("desc", "description"), (Note.DEAD, Note.STUMP, Note.DEAD | Note.STUMP)
CellsByName: TypeAlias = dict[str, np.ndarray]  # cells by the name of their column
# plain words of several languages as inventories use them, compared after `column_key`
WORDS = {
    "latitude": ("latitude", "lat", "ycoordwgs84", "breitengrad", "latitud", "decimallatitude", "latwgs84",
                 "latitudedd", "gpslatitude", "gpslat", "breite", "geobreite"),
    "longitude": ("longitude", "lon", "long", "lng", "xcoordwgs84", "laengengrad", "langengrad", "longitud",
                  "decimallongitude", "lonwgs84", "longitudedd", "gpslongitude", "gpslon", "laenge", "lange",
                  "geolaenge"),
    "x": ("x", "xcoord", "coordx", "xcoordinate", "pointx", "posx", "xpos", "easting", "east", "rechtswert", "ostwert",
          "utmx", "coordenadax", "xutm"),
    "y": ("y", "ycoord", "coordy", "ycoordinate", "pointy", "posy", "ypos", "northing", "north", "hochwert", "nordwert",
          "utmy", "coordenaday", "yutm"),
    "cell": (
        "geopoint2d", "geopoint", "coordinates", "coordonnees", "location", "latlon", "latlng", "position", "wkt",
        "thegeom", "geom", "shape",
    ),
    "id": ("treeid", "id", "objectid", "comid", "idbase", "assetid", "baumnummer", "ref", "fid", "uniqueid", "tag",
           "baumnr", "nr", "numero", "numarbre", "codigo"),
    "height": (
        "height", "treeheight", "hauteur", "hauteurm", "hauteurenm", "baumhoehe", "hoehe", "hohe", "altura",
        "alturam", "heightm", "heightft",
        "heightinm", "hauteurtotale", "alturatotal", "totalheight",
    ),
    "crown": (
        "crownspread", "crownwidth", "crowndiameter", "diametercrown", "kronendurchmesser", "kronedurch", "spread",
        "canopyspread",
    ),
    "accuracy": ("accuracym", "accuracy", "coordinateuncertaintyinmeters", "gpsaccuracy", "horizontalaccuracy", "hacc"),
    "seen": ("seen", "eventdate", "observedon", "surveydate", "inventorydate", "dateseen"),
    "park": ("parkname", "park", "sitename", "site", "gruenflaeche"),
}
# a column called by one of these words tells whether the tree stands, and lives
STATUS = {"status", "treestatus", "condition", "treecondition", "etat", "statut", "zustand", "baumzustand", "vitalitat",
          "vitalitaet", "estado", "health"}  # fmt: skip
PREVIEW_ROWS = 2000
# the middle and the greatest number [m] of a column without a unit that is taken for metres where nobody measures in
# feet; a list in feet or centimetres lies above (judgement)
USUAL_IN_METRES = {"height": (25.0, 60.0), "crown": (16.0, 40.0)}
FIELD_TOLD = {"status": said("ds-field-status"), "seen": said("ds-field-seen"),
              "accuracy": said("ds-field-accuracy")}  # else the word itself


def guess(
    source: Opened, diameter_unit: str | None = None, grid: str | None = None
) -> tuple[Mapping, list[Said]]:
    """A mapping for a file that no shipped one fits, and why it reads each column as it does.

    Parameters
    ----------
    source : the file
    diameter_unit : unit of the trunk's size, girth or diameter, that the user named
    grid : of columns called x and y, east and north, that the user named

    Raises
    ------
    FaultyInput : no columns that could be a position
    """
    reasons: list[Said] = []
    found = {what: name for what in WORDS if (name := _find(source.header, WORDS[what]))}
    head = _head(source)
    first = {name: column[:PREVIEW_ROWS] for name, column in head.columns.items()}
    decimal = _decimal(source, first, reasons)
    if grid and head.points is not None and np.nanmax(np.abs(head.points.xy), initial=0.0) > 360.0:
        source.crs = head.crs = grid  # metres in a file whose form says degrees, as GeoJSON's does
        reasons.append(said("ds-geometry-on-grid", crs=grid))
    where = _where(source, found, first, head.columns, grid, decimal, reasons)
    at = _middle(where, head, decimal)

    def named(what: str) -> tuple[str, ...]:
        if what not in found:
            return ()
        reasons.append(said("ds-by-name", field=FIELD_TOLD.get(what, what), column=found[what]))
        return (found[what],)

    # the reasons come in the order of the fields here
    tree_id = Mapped(column=column) if (column := named("id")) else None
    species, common = name_columns(source.header, first, reasons)
    grouped = tuple(name for name, column in head.columns.items() if any(map(is_several, set(cells.tidy(column)))))
    mapping = Mapping(
        siteassess_mapping=1, name="guessed", title=source.path.name, source="guessed from the file's own columns",
        licence="not known: ask whoever gave you the file", position=where, decimal=decimal, id=tree_id,
        species=species, common=common, park=NameColumn(column=column) if (column := named("park")) else None,
        status=_status(source, reasons),
        accuracy=_length("accuracy", found, head, decimal, at, reasons),
        seen=Mapped(column=column) if (column := named("seen")) else None,
        height=_length("height", found, head, decimal, at, reasons),
        crown=_length("crown", found, head, decimal, at, reasons),
        size=size_of(head.columns, decimal, _stoutest_of(head, species or common), at, diameter_unit, reasons),
        several=grouped,
    )  # fmt: skip
    return mapping, reasons


def _status(source: Opened, reasons: list[Said]) -> StatusColumn | None:
    """Columns of a status; of waypoints what describes them too, where it says of one that it is gone."""
    found = [name for name in source.header if not STATUS.isdisjoint(re.split(r"[\W_]+", without_accents(name)))]
    if isinstance(source, ListedRows):
        found += [name for name in DESCRIBED if name in source.header and name not in found
                  and any(called(row.get(name, "")) in GONE_NOTES for row in source.rows)]  # fmt: skip
    reasons += [said("ds-by-name", field=FIELD_TOLD["status"], column=name) for name in found]
    return StatusColumn(column=tuple(found)) if found else None


def _head(source: Opened) -> Chunk:
    """The first rows, read once: a map file is parsed whole at every look into it."""
    nothing = {name: np.array([], dtype=object) for name in source.header}
    return next(islice(source.chunks(source.header, SIZED_ROWS), 1), Chunk(np.array([], dtype=np.int64), nothing))


def _stoutest_of(head: Chunk, spec: NameColumn | None) -> cells.Floats | None:
    """The stoutest trunk measured of the kind of each row at the file's head [m]; None without a column of names."""
    if spec is None:
        return None
    columns = [cells.tidy(head.columns[name]) for name in spec.column]
    return stoutest_measured(joined(columns[0], columns[1]) if spec.join else columns[0])


def _middle(where: Where, head: Chunk, decimal: str) -> tuple[float, float] | None:
    """Latitude and longitude in the midst of the first rows [deg]; None where they are not known."""
    if where.geometry and head.points is not None:
        x, y = head.points.xy.T
        lat, lon = to_degrees(x, y, head.crs) if head.crs else (y, x)
    elif where.latitude and where.longitude:
        lat, lon = (cells.degrees_column(cells.tidy(head.columns[spec.column[0]]), decimal)
                    for spec in (where.latitude, where.longitude))  # fmt: skip
    elif where.cell:
        lat, lon = cells.one_cell_column(cells.tidy(head.columns[where.cell.column[0]]), where.order)
    elif where.x and where.y and where.crs:
        x, y = (cells.grid_column(cells.tidy(head.columns[spec.column[0]]), decimal) for spec in (where.x, where.y))
        lat, lon = to_degrees(x, y, where.crs)
    else:
        return None
    known = np.isfinite(lat) & np.isfinite(lon)
    return median_place(lat[known], lon[known]) if known.any() else None


def _find(header: list[str], words: tuple[str, ...]) -> str | None:
    # "Höhe (m)" is called "Höhe"; a column of the bare name comes first
    bare = {column_key(without_unit(name)): name for name in reversed(header)}
    names = bare | {column_key(name): name for name in reversed(header)}
    return next((names[word] for word in words if word in names), None)


def _where(
    source: Opened, found: dict[str, str], first: CellsByName, head: CellsByName, grid: str | None, decimal: str,
    reasons: list[Said],
) -> Where:
    if source.has_geometry:
        reasons += [said("ds-own-geometry")] * (source.crs != grid or not grid)
        return Where(geometry=True, crs=None if source.crs else "EPSG:4326")
    if "latitude" in found and "longitude" in found:
        reasons.append(said("ds-by-their-names", latitude=found["latitude"], longitude=found["longitude"]))
        return Where(latitude=Mapped(column=(found["latitude"],)), longitude=Mapped(column=(found["longitude"],)))
    if "cell" in found:
        column = found["cell"]
        sample = [cells.one_cell(cell, "lat, lon") for cell in cells.tidy(first[column]) if cell]
        if sample and np.mean(~np.isnan(np.array(sample)[:, 0])) > 0.5:
            reasons.append(said("ds-one-column", column=column))
            return Where(cell=Mapped(column=(column,)))
    if "x" in found and "y" in found and (grid or _are_degrees(first[found["x"]], first[found["y"]], decimal)):
        x, y = (Mapped(column=(found[axis],)) for axis in "xy")
        code = "ds-on-named-grid" if grid else "ds-degrees-by-numbers"
        reasons.append(said(code, x=found["x"], y=found["y"], **({"crs": grid} if grid else {})))
        return Where(x=x, y=y, crs=grid) if grid else Where(latitude=y, longitude=x)
    wanted, mend = worded("want-position-columns"), mend_of_places(source.header, head)
    raise refused(source.path.name, worded("the-position"), listed(source.header), wanted, mend, line=1)


def _are_degrees(x: np.ndarray, y: np.ndarray, decimal: str) -> bool:
    """Whether plain numbers called x and y are longitudes and latitudes, as many exports have them.

    A grid has metres with a digit or two behind the sign; degrees need four to tell one tree from the next.
    """
    fine = re.compile(rf"-?\d{{1,3}}\{decimal}\d{{4,}}")
    filled = [pair for pair in zip(cells.tidy(x), cells.tidy(y)) if all(pair)]
    if not filled:
        return False
    lon, lat = (np.array([cells.degrees(cell, decimal) for cell in axis]) for axis in zip(*filled))
    within = bool(np.all((np.abs(lon) <= 180) & (np.abs(lat) <= 90)))
    return within and sum(bool(fine.fullmatch(cell)) for pair in filled for cell in pair) > 1.6 * len(filled)


def _decimal(source: Opened, first: CellsByName, reasons: list[Said]) -> Literal[".", ","]:
    """A comma, if the file is parted by semicolons and numbers with one comma outnumber those with a point."""
    if source.delimiter != ";":
        return "."
    texts = [cell for column in first.values() for cell in column]
    commas = sum(bool(re.fullmatch(r"[+-]?\d+,\d+", cell)) for cell in texts)
    points = sum(bool(re.fullmatch(r"[+-]?\d+\.\d+", cell)) for cell in texts)
    if commas > points:
        reasons.append(said("ds-decimal-comma", commas=commas, points=points))
        return ","
    return "."


def _length(
    what: str, found: dict[str, str], head: Chunk, decimal: str, at: tuple[float, float] | None, reasons: list[Said]
) -> LengthColumn | None:
    name = found.get(what)
    if not name:
        return None
    unit = unit_in(name) or {"heightft": "ft", "heightm": "m", "hauteurm": "m"}.get(column_key(name))
    feet = {"ft", "in"}.intersection(map(unit_in, head.columns))  # a list that has one size in feet has others
    if unit is None and what in USUAL_IN_METRES and not in_inches(at) and not feet:
        bare = bare_numbers(head.columns[name], decimal)[0]
        if len(bare) and np.median(bare) <= USUAL_IN_METRES[what][0] and np.max(bare) <= USUAL_IN_METRES[what][1]:
            reasons.append(said("ds-unit-by-place", field=what, column=name, unit="m"))
            return LengthColumn(column=(name,), unit="m")
    if unit is None:
        reasons.append(said("ds-no-unit", field=FIELD_TOLD.get(what, what), column=name))
        return None
    reasons.append(said("ds-unit-by-name", field=FIELD_TOLD.get(what, what), column=name, unit=unit))
    return LengthColumn(column=(name,), unit=unit)
