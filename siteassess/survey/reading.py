"""Reading an inventory in chunks: delimited text, and the vector files pyogrio knows.

Nothing vanishes: a row that cannot be split into the header's cells is handed on with its line number, and one
stray quote costs its own row, not the rest of the file.
"""

from __future__ import annotations

import codecs
import csv
import warnings
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from itertools import islice
from pathlib import Path

import numpy as np
import pandas as pd

from siteassess.errors import Fault, FaultyInput, MissingExtra, SiteassessError

CHUNK_ROWS = 50_000
LONGEST_ROW_LINES = 20
DELIMITERS = (",", ";", "\t", "|")
WHOLE_AT_ONCE = ("GeoJSON", "OSM")
TEXT_ENDINGS = {".csv", ".tsv", ".txt"}
PARQUET_ENDINGS = {".parquet", ".geoparquet"}


@dataclass
class Chunk:
    """Some rows as text, column by column.

    `line` is the line of a text file, or the number of a feature counted from 1. `x` and `y` are the file's own
    geometry in `crs`, NaN where it is not a point.
    """

    line: np.ndarray
    columns: dict[str, np.ndarray]
    torn: list[tuple[int, str]] = field(default_factory=list)
    x: np.ndarray | None = None
    y: np.ndarray | None = None
    point: np.ndarray | None = None
    crs: str | None = None

    def __len__(self) -> int:
        return len(self.line)


@dataclass
class Source:
    """An inventory file opened for reading: its header, and its chunks."""

    path: Path
    header: list[str]
    has_geometry: bool = False
    crs: str | None = None
    encoding: str = ""
    delimiter: str = ""
    driver: str = ""
    remarks: list[str] = field(default_factory=list)
    size_bytes: int = 0

    def chunks(self, wanted: Sequence[str], rows: int = CHUNK_ROWS) -> Iterator[Chunk]:
        """Chunks of at most `rows` rows, with the wanted columns only."""
        if self.delimiter:
            return _text_chunks(self, wanted, rows)
        if self.path.suffix.lower() in PARQUET_ENDINGS:
            return _parquet_chunks(self, wanted, rows)
        return _vector_chunks(self, wanted, rows)


def open_source(path: str | Path, delimiter: str | None = None, encoding: str | None = None) -> Source:
    """Look at a file's head.

    Parameters
    ----------
    path : path
        Delimited text, GeoJSON, GeoPackage, Shapefile, OpenStreetMap extract or GeoParquet.
    delimiter, encoding : str, optional
        What the mapping says of a text file; looked for if not given.

    Raises
    ------
    FaultyInput
        No such file, an empty file, or no header.
    """
    path = Path(path)
    if not path.is_file():
        raise FaultyInput(path.name, [Fault(0, "file", "no such file", "an inventory file")])
    if path.stat().st_size == 0:
        raise FaultyInput(path.name, [Fault(0, "file", "an empty file", "a header and rows")])
    if path.suffix.lower() in PARQUET_ENDINGS:
        source = _open_parquet(path)
    elif path.suffix.lower() in TEXT_ENDINGS:
        source = _open_text(path, delimiter, encoding)
    else:
        source = _open_vector(path)
    source.size_bytes = path.stat().st_size
    return source


# --- delimited text -------------------------------------------------------------------------------------------


def find_encoding(path: Path) -> tuple[str, str]:
    """Encoding of a text file by its mark, or by trying its first megabyte, and why."""
    with path.open("rb") as stream:
        head = stream.read(1 << 20)
    if head.startswith(codecs.BOM_UTF8):
        return "utf-8-sig", "UTF-8 by its byte-order mark"
    if head.startswith((codecs.BOM_UTF16_LE, codecs.BOM_UTF16_BE)):
        return "utf-16", "UTF-16 by its byte-order mark"
    try:
        codecs.getincrementaldecoder("utf-8")().decode(head)
        return "utf-8", "UTF-8: its first megabyte reads so"
    except UnicodeDecodeError as error:
        return "cp1252", f"Windows-1252: byte {error.start} is not UTF-8"


def _open_text(path: Path, delimiter: str | None, encoding: str | None) -> Source:
    found, why = find_encoding(path)
    if encoding is None or found in ("utf-8-sig", "utf-16"):
        encoding = found
    else:
        why = f"{encoding}, by the mapping"
    with path.open(encoding=encoding, errors="replace", newline="") as stream:
        head = stream.readline()
    if not head.strip("\r\n\ufeff \t,;|"):
        raise FaultyInput(path.name, [Fault(1, "header", "an empty first line", "the names of the columns")])
    if delimiter is None or delimiter not in head:
        delimiter = max(DELIMITERS, key=head.count)
    header = [name.strip().strip("\ufeff") for name in next(csv.reader([head], delimiter=delimiter))]
    source = Source(path, header, encoding=encoding, delimiter=delimiter)
    source.remarks.append(f"read as {why}; cells parted by {'tab' if delimiter == chr(9) else delimiter}")
    return source


def _text_chunks(source: Source, wanted: Sequence[str], rows: int) -> Iterator[Chunk]:
    places = [source.header.index(name) for name in wanted]
    with source.path.open(encoding=source.encoding, errors="replace", newline="") as stream:
        stream.readline()
        for good, torn in _split(stream, len(source.header), source.delimiter, rows):
            cells = list(zip(*(row for _, row in good))) if good else []
            columns = {
                name: np.array(cells[place], dtype=object) if cells else np.array([], dtype=object)
                for name, place in zip(wanted, places)
            }
            line = np.fromiter((number for number, _ in good), dtype=np.int64, count=len(good))
            yield Chunk(line, columns, torn)


def _split(stream, width: int, delimiter: str, rows: int):
    """Yield good rows with their line and torn rows with their reason for each block of lines after the header."""
    first = 2
    while block := list(islice(stream, rows)):
        good: list[tuple[int, list[str]]] = []
        torn: list[tuple[int, str]] = []
        rows_read = _quick(block, delimiter)
        if rows_read is not None:
            if all(len(cells) == width for cells in rows_read):
                good = list(enumerate(rows_read, first))
            else:
                for number, cells in enumerate(rows_read, first):
                    _sort(number, cells, width, good, torn)
            used = len(block)
        else:
            used = _split_quoted(block, stream, first, width, delimiter, good, torn)
        first += used
        yield good, torn


def _quick(block, delimiter) -> list[list[str]] | None:
    """All rows of a block at once, if every line is one row."""
    if any(line.count('"') & 1 for line in block):
        return None
    try:
        rows_read = list(csv.reader(block, delimiter=delimiter))
    except csv.Error:
        return None
    return rows_read if len(rows_read) == len(block) else None


def _split_quoted(block, stream, first, width, delimiter, good, torn) -> int:
    """Rows of a block in which some line leaves a quote open: join lines, within reason."""
    at = 0
    while at < len(block):
        cells = _alone(block[at], delimiter)
        if cells is not None:
            _sort(first + at, cells, width, good, torn)
            at += 1
            continue
        if at + LONGEST_ROW_LINES > len(block):
            block.extend(islice(stream, LONGEST_ROW_LINES))
        joined = _join(block, at, width, delimiter)
        if joined is None:
            torn.append((first + at, "a quote that never closes"))
            at += 1
        else:
            cells, lines = joined
            good.append((first + at, cells))
            at += lines
    return at


def _alone(line: str, delimiter: str) -> list[str] | None:
    """The cells of one line, unless it leaves a quote open; a quote within a cell, as after inches, is a plain sign."""
    try:
        return next(csv.reader([line], delimiter=delimiter, strict=True), [])
    except csv.Error:
        return None


def _join(block, at, width, delimiter) -> tuple[list[str], int] | None:
    """The row that starts at a line and runs over several, if its cells come out right."""
    for more in range(2, LONGEST_ROW_LINES + 1):
        if at + more > len(block):
            return None
        try:
            cells = next(csv.reader(block[at : at + more], delimiter=delimiter, strict=True))
        except csv.Error:
            continue  # still open
        return (cells, more) if len(cells) == width else None
    return None


def _sort(number, cells, width, good, torn) -> None:
    if len(cells) == width:
        good.append((number, cells))
    elif any(cell.strip() for cell in cells):
        torn.append((number, f"{len(cells)} cells under a header of {width}"))


# --- vector files ---------------------------------------------------------------------------------------------


def _open_vector(path: Path) -> Source:
    import pyogrio

    layer = "points" if path.suffix.lower() in (".osm", ".pbf") else None
    try:
        info = pyogrio.read_info(path, layer=layer)
    except Exception as error:  # pyogrio raises many kinds, all of them "cannot be read" to the user
        raise FaultyInput(path.name, [Fault(0, "file", str(error)[:200], "a file GDAL can read")]) from None
    header = [str(name) for name in info["fields"]]
    source = Source(path, header, has_geometry=info.get("geometry_type") is not None, crs=info.get("crs"))
    source.driver = str(info.get("driver", ""))
    source.remarks.append(
        f"read through {info.get('driver', 'GDAL')}; {'grid ' + source.crs if source.crs else 'no grid stated'}"
    )
    return source


def _vector_chunks(source: Source, wanted: Sequence[str], rows: int) -> Iterator[Chunk]:
    import pyogrio

    layer = "points" if source.path.suffix.lower() in (".osm", ".pbf") else None
    done = 0
    # a GeoJSON file is parsed whole at every look into it, so it is read in one go
    most = None if source.driver in WHOLE_AT_ONCE else rows
    while True:
        with warnings.catch_warnings():
            # columns of outlines and of trees differ in an OpenStreetMap file; their types are all text to us
            warnings.simplefilter("ignore")
            meta, _, shapes, fields = pyogrio.raw.read(
                source.path,
                layer=layer,
                columns=list(wanted),
                skip_features=done,
                max_features=most,
                read_geometry=source.has_geometry,
            )
        count = len(fields[0]) if len(fields) else (len(shapes) if shapes is not None else 0)
        if count == 0:
            return
        columns = {str(name): _as_text(values) for name, values in zip(meta["fields"], fields)}
        line = np.arange(done + 1, done + count + 1, dtype=np.int64)
        yield _with_geometry(Chunk(line, columns, crs=source.crs), shapes)
        done += count
        if most is None or count < most:
            return


def _with_geometry(chunk: Chunk, wkb) -> Chunk:
    if wkb is None:
        return chunk
    import shapely

    shapes = shapely.from_wkb(wkb, on_invalid="ignore")
    chunk.point = shapely.get_type_id(shapes) == shapely.GeometryType.POINT
    chunk.x, chunk.y = shapely.get_x(shapes), shapely.get_y(shapes)
    return chunk


def _as_text(values: np.ndarray) -> np.ndarray:
    if values.dtype == object:
        return values
    if values.dtype.kind == "f":
        # 30.0 was most likely written 30; %r keeps every digit
        return np.array(
            ["" if np.isnan(v) else (str(int(v)) if v.is_integer() else repr(v)) for v in values.tolist()], dtype=object
        )
    return values.astype(str).astype(object)


# --- GeoParquet -----------------------------------------------------------------------------------------------


def _open_parquet(path: Path) -> Source:
    frame = _geo_parquet(path)
    header = [str(name) for name in frame.columns if name != frame.geometry.name]
    return Source(path, header, True, frame.crs.to_string() if frame.crs else None, remarks=["read as GeoParquet"])


def _geo_parquet(path: Path):
    import geopandas

    try:
        return geopandas.read_parquet(path)
    except ImportError:
        raise MissingExtra("reading GeoParquet", "scale") from None
    except (ValueError, OSError) as error:
        raise FaultyInput(path.name, [Fault(0, "file", str(error)[:200], "a GeoParquet file")]) from None
    except Exception as error:
        raise SiteassessError(f"{path.name}: cannot be read as GeoParquet: {str(error)[:200]}") from None


def _parquet_chunks(source: Source, wanted: Sequence[str], rows: int) -> Iterator[Chunk]:
    frame = _geo_parquet(source.path)
    for start in range(0, len(frame), rows):
        part = frame.iloc[start : start + rows]
        columns = {name: _as_text(pd.Series(part[name]).to_numpy()) for name in wanted}
        line = np.arange(start + 1, start + len(part) + 1, dtype=np.int64)
        yield _with_geometry(Chunk(line, columns, crs=source.crs), part.geometry.to_wkb().to_numpy())
