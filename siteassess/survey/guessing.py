"""A guess at the columns of an unknown inventory, each with its reason; what cannot be told is left unknown.

A unit is never guessed from the numbers alone where more than one would pass: 12 could be inches or centimetres.
"""

from __future__ import annotations

import re
from itertools import islice
from typing import Literal

import numpy as np

from siteassess.errors import refused
from siteassess.reference.faults import any_of
from siteassess.reference.findings import Said, said, worded
from siteassess.survey import cells
from siteassess.survey.against_all import BELIEVED_MEDIAN_M, ENOUGH_ROWS
from siteassess.survey.mapping import (
    SIZE_UNITS,
    LengthColumn,
    Mapped,
    Mapping,
    NameColumn,
    Size,
    SizeKind,
    StatusColumn,
    Where,
    column_key,
    listed,
)
from siteassess.survey.reading import Opened
from siteassess.units import si_factor

# plain words of several languages as inventories use them, compared after `column_key`
WORDS = {
    "latitude": ("latitude", "lat", "ycoordwgs84", "breitengrad", "latitud"),
    "longitude": ("longitude", "lon", "long", "lng", "xcoordwgs84", "laengengrad", "längengrad", "longitud"),
    "cell": (
        "geopoint2d", "geopoint", "coordinates", "coordonnees", "location", "latlon", "latlng", "position", "wkt",
        "thegeom", "geom", "shape",
    ),
    "species": (
        "speciesname", "scientificname", "scientific", "botanicalname", "latinname", "spclatin", "artbot",
        "baumartlat", "specie", "species", "taxon", "art",
    ),
    "genus": ("genus", "genre", "gattung", "genusname"),
    "common": ("commonname", "common", "spccommon", "artdtsch", "treename", "nomcommun"),
    "id": ("treeid", "id", "objectid", "comid", "idbase", "assetid", "baumnummer", "ref", "fid", "uniqueid", "tag"),
    "height": (
        "height", "treeheight", "hauteur", "hauteurm", "hauteurenm", "baumhoehe", "hoehe", "heightm", "heightft",
        "heightinm",
    ),
    "crown": (
        "crownspread", "crownwidth", "crowndiameter", "diametercrown", "kronendurchmesser", "kronedurch", "spread",
        "canopyspread",
    ),
    "status": ("status", "treestatus", "condition"),
    "park": ("parkname", "park", "sitename", "site", "gruenflaeche"),
}
GIRTH = (
    "girth", "circumference", "circonference", "circonf", "stammumfang", "stammumfg", "umfang", "circ", "perimetro",
    "gbh",
)
DIAMETER = ("dbh", "diameter", "diametre", "durchmesser", "diam", "stammdurchmesser", "treedbh", "dap", "diametro")
UNIT_WORDS = {
    "cm": "cm", "mm": "mm", "inches": "in", "inch": "in", "in": "in", "ft": "ft", "feet": "ft", "m": "m",
    "metres": "m", "meters": "m",
}
DEAD, STUMP = ("dead", "tot", "mort", "morto", "muerto"), ("stump", "removed", "souche", "felled", "gefällt", "retired")
PREVIEW_ROWS = 2000
FIELD_TOLD = {"species": said("ds-field-species"), "status": said("ds-field-status")}  # else the word itself


def guess(source: Opened) -> tuple[Mapping, list[Said]]:
    """A mapping for a file that no shipped one fits, and why it reads each column as it does.

    Raises
    ------
    FaultyInput : no columns that could be a position
    """
    reasons: list[Said] = []
    found = {what: name for what in WORDS if (name := _find(source.header, WORDS[what]))}
    where = _where(source, found, reasons)
    decimal = _decimal(source, reasons)

    def named(what: str) -> tuple[str, ...]:
        if what not in found:
            return ()
        reasons.append(said("ds-by-name", field=FIELD_TOLD.get(what, what), column=found[what]))
        return (found[what],)

    # the reasons come in the order of the fields here
    mapping = Mapping(
        siteassess_mapping=1, name="guessed", title=source.path.name, source="guessed from the file's own columns",
        licence="not known: ask whoever gave you the file", position=where, decimal=decimal,
        id=Mapped(column=column) if (column := named("id")) else None,
        common=NameColumn(column=column) if (column := named("common")) else None,
        park=NameColumn(column=column) if (column := named("park")) else None, species=_species(found, reasons),
        status=StatusColumn(column=column, dead=DEAD, stump=STUMP) if (column := named("status")) else None,
        height=_length("height", found, reasons), crown=_length("crown", found, reasons),
        size=_size(source, decimal, reasons),
    )
    return mapping, reasons


def _find(header: list[str], words: tuple[str, ...]) -> str | None:
    names = {column_key(name): name for name in reversed(header)}
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


def _species(found: dict[str, str], reasons: list[Said]) -> NameColumn | None:
    genus, species = found.get("genus"), found.get("species")
    if genus and species and column_key(species) in ("species", "specie"):
        reasons.append(said("ds-both-together", field=FIELD_TOLD["species"], genus=genus, species=species))
        return NameColumn(column=(genus, species), join=True)
    if column := species or genus:
        reasons.append(said("ds-by-name", field=FIELD_TOLD["species"], column=column))
        return NameColumn(column=(column,))
    return None


def _unit_in(name: str) -> str | None:
    """A unit that stands as its own word at the end of a column's name: 'DBH (cm)', 'dbh_in', 'height ft'."""
    words = [word for word in re.split(r"[\W_]+", name.casefold()) if word]
    for word in reversed(words[1:]):
        if word in UNIT_WORDS:
            return UNIT_WORDS[word]
    # words run together, as in circonferenceencm
    tail = re.search(r"(?:en|in)(cm|mm|m)$", column_key(name))
    return tail[1] if tail else None


def _length(what: str, found: dict[str, str], reasons: list[Said]) -> LengthColumn | None:
    name = found.get(what)
    if not name:
        return None
    unit = _unit_in(name) or {"heightft": "ft", "heightm": "m", "hauteurm": "m"}.get(column_key(name))
    if unit is None:
        reasons.append(said("ds-no-unit", field=what, column=name))
        return None
    reasons.append(said("ds-unit-by-name", field=what, column=name, unit=unit))
    return LengthColumn(column=(name,), unit=unit)


def _size(source: Opened, decimal: str, reasons: list[Said]) -> Size | None:
    kinds: tuple[tuple[SizeKind, tuple[str, ...]], ...] = (("girth", GIRTH), ("diameter", DIAMETER))
    for kind, words in kinds:
        name = next((n for n in source.header for word in words if _is_size(n, word)), None)
        if name is None:
            continue
        unit = _unit_in(name)
        if unit:
            reasons.append(said("ds-unit-by-name", field=kind, column=name, unit=unit))
            return Size(column=(name,), kind=kind, unit=unit)
        passing = _passing_units(source, name, kind, decimal)
        if len(passing) == 1:
            reasons.append(said("ds-only-unit", field=kind, column=name, unit=passing[0]))
            return Size(column=(name,), kind=kind, unit=passing[0])
        could = any_of(*passing) if passing else worded("ds-no-usual-unit")
        reasons.append(said("ds-which-unit", field=kind, column=name, could=could))
        return None
    reasons.append(said("ds-no-size-column"))
    return None


def _is_size(name: str, word: str) -> bool:
    words = [piece for piece in re.split(r"[\W_]+", name.casefold()) if piece]
    crownish = any(piece.startswith(("crown", "kron", "couronne", "canopy", "stump")) for piece in words)
    return not crownish and (word in words or column_key(name) == word or (len(word) > 5 and word in column_key(name)))


def _passing_units(source: Opened, name: str, kind: str, decimal: str) -> list[str]:
    text = _preview(source, name)
    value, _, in_cell, _ = cells.lengths_m(text, "m", decimal)
    bare = value[(value > 0) & ~in_cell]
    if len(bare) < ENOUGH_ROWS:
        return list(SIZE_UNITS)
    median = np.median(bare) / (np.pi if kind == "girth" else 1.0)
    low, high = BELIEVED_MEDIAN_M
    return [unit for unit in SIZE_UNITS if low <= median * si_factor("length", unit) <= high]
