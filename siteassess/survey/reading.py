"""Reading an inventory in chunks: delimited text, and the vector files pyogrio knows.

Nothing vanishes: a row that cannot be split into the header's cells is handed on with its line number, and one
stray quote costs its own row, not the rest of the file.
"""

from __future__ import annotations

import csv
import warnings
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field
from itertools import islice
from pathlib import Path
from typing import TYPE_CHECKING, TypeAlias

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from siteassess.errors import FaultyInput, SiteassessError, refused
from siteassess.reference.faults import missing_extra
from siteassess.reference.findings import Said, said, worded
from siteassess.survey.file_guard import SHEET_ENDINGS, refuse_hostile_file
from siteassess.survey.heads import (
    HEADER_WITHIN,
    INVENTORY_DELIMITERS,
    find_encoding,
    first_table,
    header_row,
    named_apart,
    parted,
)

if TYPE_CHECKING:
    import geopandas

CHUNK_ROWS = 50_000
LONGEST_ROW_LINES = 20
WHOLE_AT_ONCE = ("GeoJSON", "OSM")
TEXT_ENDINGS = {".csv", ".tsv", ".txt"}
PARQUET_ENDINGS = {".parquet", ".geoparquet"}


Good: TypeAlias = list[tuple[int, list[str]]]  # rows with their line
Torn: TypeAlias = dict[int, Said]  # reasons by line


@dataclass(frozen=True)
class TreePoints:
    """Shapes of a file as points, shape (n, 2), x first and NaN where one is something else."""

    xy: NDArray[np.float64]
    are_points: NDArray[np.bool_]


@dataclass
class Chunk:
    """Some rows as text, column by column.

    `line` is the line of a text file, or the number of a feature counted from 1. `points` are the file's own geometry
    in `crs`, where it has any.
    """

    line: np.ndarray
    columns: dict[str, np.ndarray]
    torn: Torn = field(default_factory=dict)
    points: TreePoints | None = None
    crs: str | None = None

    def __len__(self) -> int:
        return len(self.line)


@dataclass
class Opened:
    """An inventory file opened for reading: its header, and its chunks."""

    path: Path
    header: list[str]
    has_geometry: bool = False
    crs: str | None = None
    encoding: str = ""
    delimiter: str = ""
    driver: str = ""
    remarks: list[Said] = field(default_factory=list)
    size_bytes: int = 0
    layer: str | None = None
    options: dict[str, str] = field(default_factory=dict)  # of the driver
    first_line: int = 1  # of the first row
    renamed: bool = False  # a column whose name was given twice: columns are told apart by their place

    def chunks(self, wanted: Sequence[str], rows: int = CHUNK_ROWS) -> Iterator[Chunk]:
        """Chunks of at most `rows` rows, with the wanted columns only."""
        if self.delimiter:
            return _text_chunks(self, wanted, rows)
        if self.path.suffix.lower() in PARQUET_ENDINGS:
            return _parquet_chunks(self, wanted, rows)
        return _vector_chunks(self, wanted, rows)


@dataclass
class ListedRows(Opened):
    """Rows that stand in no table of their own: waypoints, photos, nodes of a map; each with its line or number."""

    rows: list[dict[str, str]] = field(default_factory=list)
    lines: list[int] = field(default_factory=list)

    def chunks(self, wanted: Sequence[str], rows: int = CHUNK_ROWS) -> Iterator[Chunk]:
        """Chunks of at most `rows` rows, with the wanted columns only."""
        for start in range(0, len(self.rows), rows):
            part, columns = self.rows[start : start + rows], dict[str, NDArray[np.object_]]()
            for name in wanted:
                columns[name] = np.empty(len(part), dtype=object)
                columns[name][:] = [row.get(name, "") for row in part]
            yield Chunk(np.array(self.lines[start : start + rows], dtype=np.int64), columns)


def open_source(path: str | Path, delimiter: str | None = None, encoding: str | None = None) -> Opened:
    """Look at a file's head.

    Parameters
    ----------
    path : delimited text, GeoJSON, GeoPackage, Shapefile, OpenStreetMap extract or GeoParquet
    delimiter, encoding : what the mapping says of a text file; looked for if not given

    Raises
    ------
    FaultyInput : no such file, an empty file, or no header
    """
    path = Path(path)
    if not path.is_file():
        read = worded("read-a-folder" if path.is_dir() else "read-no-file")
        raise _refused(path, read, worded("want-inventory-file"))
    if path.stat().st_size == 0:
        raise _refused(path, worded("read-empty-file"), worded("want-header-and-rows"))
    if path.suffix.lower() in PARQUET_ENDINGS:
        source = _open_parquet(path)
    elif path.suffix.lower() in TEXT_ENDINGS:
        source = _open_text(path, delimiter, encoding)
    else:
        source = _open_vector(path)
    source.size_bytes = path.stat().st_size
    return source


def _refused(path: Path, read: str, wanted: str) -> FaultyInput:
    return refused(path.name, worded("the-file"), read, wanted)


# --- delimited text -------------------------------------------------------------------------------------------


def _open_text(path: Path, delimiter: str | None, encoding: str | None) -> Opened:
    found, why = find_encoding(path)
    if encoding is None or found in ("utf-8-sig", "utf-16"):
        encoding = found
    else:
        why = said("ds-encoding-by-mapping", encoding=encoding)
    with path.open(encoding=encoding, errors="replace", newline="") as stream:
        lines = [line.strip("\ufeff") for line in islice(stream, HEADER_WITHIN)]
    at = above = header_row([parted(line, after) for line, after in zip(lines, [*lines[1:], lines[-1]])])
    head = lines[at]
    while head.count('"') % 2 and at + 1 < len(lines):  # a column's name of two lines
        at += 1
        head += lines[at]
    if not head.strip("\r\n \t,;|"):
        read, wanted = worded("read-empty-first-line"), worded("want-column-names")
        raise refused(path.name, worded("the-header"), read, wanted, line=1)
    if delimiter is None or delimiter not in head:
        delimiter = max(INVENTORY_DELIMITERS, key=head.count)
    names = next(csv.reader(head.splitlines(True), delimiter=delimiter))
    header = named_apart([" ".join(name.split()) for name in names])
    source = Opened(path, header, encoding=encoding, delimiter=delimiter, first_line=at + 2)
    source.remarks.append(said("ds-read-as", why=why, mark="tab" if delimiter == "\t" else delimiter))
    source.remarks += _told_above(above)
    return source


def _told_above(rows: int) -> list[Said]:
    return [said("ds-header-line", line=rows + 1)] if rows else []


def _text_chunks(source: Opened, wanted: Sequence[str], rows: int) -> Iterator[Chunk]:
    places = [source.header.index(name) for name in wanted]
    with source.path.open(encoding=source.encoding, errors="replace", newline="") as stream:
        first = source.first_line
        for _ in range(first - 1):
            stream.readline()
        while lines := list(islice(stream, rows)):
            block = _Block(lines, first, len(source.header), source.delimiter)
            block.split(stream)
            first += len(block.lines)
            good = block.good
            cells = list(zip(*(row for _, row in good))) if good else []
            columns = {
                name: np.array(cells[place], dtype=object) if cells else np.array([], dtype=object)
                for name, place in zip(wanted, places)
            }
            line = np.fromiter((number for number, _ in good), dtype=np.int64, count=len(good))
            yield Chunk(line, columns, block.torn)


@dataclass
class _Block:
    """Lines of a text file from line `first` on, and the rows they come to under a header of `width` cells."""

    lines: list[str]
    first: int
    width: int
    delimiter: str
    good: Good = field(default_factory=list)
    torn: Torn = field(default_factory=dict)

    def split(self, stream: Iterable[str]) -> None:
        """Sort the rows; a row that runs on beyond the block takes further lines from the stream."""
        rows = self._quick()
        if rows is None:
            self._split_quoted(stream)
        elif all(len(cells) == self.width for cells in rows):
            self.good = list(enumerate(rows, self.first))
        else:
            for at, cells in enumerate(rows):
                self._sort(at, cells)

    def _quick(self) -> list[list[str]] | None:
        """All rows of the block at once, if every line is one row."""
        if any(line.count('"') & 1 for line in self.lines):
            return None
        try:
            rows = list(csv.reader(self.lines, delimiter=self.delimiter))
        except csv.Error:
            return None
        return rows if len(rows) == len(self.lines) else None

    def _split_quoted(self, stream: Iterable[str]) -> None:
        """Some line leaves a quote open: join lines, within reason."""
        at = 0
        while at < len(self.lines):
            cells = self._joined(at, 1)
            if cells is not None:
                self._sort(at, cells)
                at += 1
                continue
            if at + LONGEST_ROW_LINES > len(self.lines):
                self.lines.extend(islice(stream, LONGEST_ROW_LINES))
            most = min(LONGEST_ROW_LINES, len(self.lines) - at)
            tried = ((self._joined(at, count), count) for count in range(2, most + 1))
            cells, count = next((one for one in tried if one[0] is not None), (None, 1))
            if cells is not None and len(cells) == self.width:
                self.good.append((self.first + at, cells))
                at += count
            else:
                self.torn[self.first + at] = said("ds-quote-open")
                at += 1

    def _joined(self, at: int, count: int) -> list[str] | None:
        """The cells of so many lines, unless a quote is left open; one within a cell, as after inches, is plain."""
        try:
            return next(csv.reader(self.lines[at : at + count], delimiter=self.delimiter, strict=True), [])
        except csv.Error:
            return None

    def _sort(self, at: int, cells: list[str]) -> None:
        if len(cells) == self.width:
            self.good.append((self.first + at, cells))
        elif any(cell.strip() for cell in cells):
            self.torn[self.first + at] = said("ds-other-width", cells=len(cells), header=self.width)


# --- vector files ---------------------------------------------------------------------------------------------


def _open_vector(path: Path) -> Opened:
    import pyogrio

    suffix = path.suffix.lower()
    refuse_hostile_file(path)
    layer = "points" if suffix in (".osm", ".pbf") else None
    # the first row of a sheet is its header, also where all its cells are texts
    options = {"HEADERS": "FORCE"} if suffix in SHEET_ENDINGS else {}
    try:
        layers = [str(name) for name, *_ in pyogrio.list_layers(path)]
        layer = layer or (layers[0] if len(layers) > 1 else None)
        layer, rows = first_table(path, layers) if options and layers else (layer, [])
        info = pyogrio.read_info(path, layer=layer, **options)
    except Exception as error:  # pyogrio raises many kinds, all of them "cannot be read" to the user
        raise _refused(path, str(error).partition(".; ")[0], worded("want-gdal-file")) from None
    names = [str(name) for name in info["fields"]]
    header = named_apart(names)
    if options and not header:
        raise _refused(path, worded("read-empty-file"), worded("want-header-and-rows"))
    source = Opened(path, header, has_geometry=info.get("geometry_type") is not None, crs=info.get("crs"),
                    layer=layer, options=options, first_line=2 if options else 1, renamed=header != names)  # fmt: skip
    if rows:
        at = header_row(rows)
        names = named_apart(rows[at])
        named = [dict(zip(reversed(names), reversed(row))) for row in rows[at + 1 :]]
        lines = list(range(at + 2, len(rows) + 1))
        source = ListedRows(path, names, remarks=_told_above(at), rows=named, lines=lines)
    if len(layers) > 1 and layer != "points":
        others = tuple(one for one in layers if one != layer)
        source.remarks.append(said("ds-other-layers", layer=layer, layers=others))
    source.driver = driver = str(info.get("driver", "GDAL"))
    on_grid = said("ds-read-on-grid", driver=driver, crs=source.crs)
    source.remarks.append(on_grid if source.crs else said("ds-read-without-grid", driver=driver))
    return source


def _vector_chunks(source: Opened, wanted: Sequence[str], rows: int) -> Iterator[Chunk]:
    import pyogrio

    done = 0
    # a GeoJSON file is parsed whole at every look into it, so it is read in one go
    most = None if source.driver in WHOLE_AT_ONCE else rows
    while True:
        with warnings.catch_warnings():
            # columns of outlines and of trees differ in an OpenStreetMap file; their types are all text to us
            warnings.simplefilter("ignore")
            try:
                meta, _, shapes, fields = pyogrio.raw.read(
                    source.path, layer=source.layer, columns=None if source.renamed else list(wanted),
                    skip_features=done, max_features=most, read_geometry=source.has_geometry, **source.options,
                )
            except (UnicodeDecodeError, RuntimeError) as error:  # what GDAL could open and cannot read
                raise _refused(source.path, str(error), worded("want-gdal-file")) from None
        count = len(fields[0]) if len(fields) else (len(shapes) if shapes is not None else 0)
        if count == 0:
            return
        names = source.header if source.renamed else map(str, meta["fields"])
        columns = {name: _as_text(values) for name, values in zip(names, fields) if name in wanted}
        line = np.arange(done, done + count, dtype=np.int64) + source.first_line
        yield Chunk(line, columns, points=_points(shapes), crs=source.crs)
        done += count
        if most is None or count < most:
            return


def _points(wkb: np.ndarray | None) -> TreePoints | None:
    if wkb is None:
        return None
    import shapely

    shapes = shapely.from_wkb(wkb, on_invalid="ignore")
    kinds = shapely.get_type_id(shapes)
    # many exports write each tree as a set of one point
    lone = (kinds == shapely.GeometryType.MULTIPOINT) & (shapely.get_num_geometries(shapes) == 1)
    shapes[lone] = shapely.get_geometry(shapes[lone], 0)
    are_points = lone | np.isin(kinds, (shapely.GeometryType.POINT, shapely.GeometryType.MISSING))
    return TreePoints(np.column_stack([shapely.get_x(shapes), shapely.get_y(shapes)]), are_points)


def _as_text(values: np.ndarray) -> np.ndarray:
    if values.dtype == object:
        return values
    if values.dtype.kind == "M":
        return np.where(np.isnat(values), "", values.astype(str)).astype(object)
    if values.dtype.kind == "f":
        # 30.0 was most likely written 30; %r keeps every digit
        return np.array(
            ["" if np.isnan(v) else (str(int(v)) if v.is_integer() else repr(v)) for v in values.tolist()], dtype=object
        )
    return values.astype(str).astype(object)


# --- GeoParquet -----------------------------------------------------------------------------------------------


def _open_parquet(path: Path) -> Opened:
    frame = _geo_parquet(path)
    header = [str(name) for name in frame.columns if name != frame.geometry.name]
    grid = frame.crs.to_string() if frame.crs else None
    return Opened(path, header, True, grid, remarks=[said("ds-read-as-parquet")])


def _geo_parquet(path: Path) -> geopandas.GeoDataFrame:
    import geopandas

    try:
        return geopandas.read_parquet(path)
    except ImportError:
        raise missing_extra("reading GeoParquet", "scale") from None
    except (ValueError, OSError) as error:
        raise _refused(path, str(error), worded("want-a-form", form="GeoParquet")) from None
    except Exception as error:
        raise SiteassessError(worded("no-geoparquet", file=path.name, why=str(error)[:200])) from None


def _parquet_chunks(source: Opened, wanted: Sequence[str], rows: int) -> Iterator[Chunk]:
    frame = _geo_parquet(source.path)
    for start in range(0, len(frame), rows):
        part = frame.iloc[start : start + rows]
        columns = {name: _as_text(pd.Series(part[name]).to_numpy()) for name in wanted}
        line = np.arange(start + 1, start + len(part) + 1, dtype=np.int64)
        yield Chunk(line, columns, points=_points(part.geometry.to_wkb().to_numpy()), crs=source.crs)
