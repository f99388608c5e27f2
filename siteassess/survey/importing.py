"""The whole import in one short function: open, bind, clean by chunks, judge against all."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pandas as pd

from siteassess.errors import refused
from siteassess.records.trunk import BREAST_HEIGHT
from siteassess.reference.findings import Said, said, worded
from siteassess.survey.against_all import judge_against_all
from siteassess.survey.cleaning import Cleaner, Inventory
from siteassess.survey.guessing import guess
from siteassess.survey.mapping import Binding, Mapping, load_mapping, recognise
from siteassess.survey.notes import is_set_aside
from siteassess.survey.other_places import GridsTold
from siteassess.survey.reading import CHUNK_ROWS, Opened, Torn, open_source
from siteassess.survey.sizes_beside import SizesBeside
from siteassess.survey.swapped import swapped_by_country, swapped_by_grid

Progress = Callable[[int], None]
# repeated texts are kept once, so that a million rows cost a few bytes each
NAME_COLUMNS = (
    "species", "common", "park", "setting", "planted", "leaf_type", "size_text", "seen", "called", "country",
)  # fmt: skip


def read_inventory(
    path: str | Path, mapping: str | Mapping | None = None, *, diameter_unit: str | None = None,
    grid: str | None = None, chunk_rows: int = CHUNK_ROWS, progress: Progress | None = None,
) -> Inventory:
    """Read and clean a tree inventory.

    Parameters
    ----------
    path : CSV, XLSX, GeoJSON, GeoPackage, Shapefile, OpenStreetMap extract or GeoParquet
    mapping : a shipped mapping's name, a mapping file, or a mapping; recognised by its columns, or guessed with
        reasons, if not given
    diameter_unit : unit of the column of trunk sizes, girths or diameters, where the file does not tell it, or tells it
        wrongly: cm, mm, in, m or ft
    grid : EPSG code of the grid of columns called x and y, east and north, or of a map file that does not tell it
    chunk_rows : rows held as text at a time [-]
    progress : called with the number of rows done after each chunk

    Returns
    -------
    Every row of the file, kept, repaired or set aside.

    Raises
    ------
    FaultyInput : the file or its columns cannot be read as a tree inventory; all faults found are listed
    UnknownName : no such mapping
    MissingExtra : GeoParquet without pyarrow
    """
    given = load_mapping(mapping) if isinstance(mapping, str) else mapping
    source = open_source(path, given.delimiter if given else None, given.encoding if given else None)
    return read_source(source, given, diameter_unit=diameter_unit, grid=grid, chunk_rows=chunk_rows, progress=progress)


def read_source(
    source: Opened, given: Mapping | None = None, *, diameter_unit: str | None = None, grid: str | None = None,
    chunk_rows: int = CHUNK_ROWS, progress: Progress | None = None,
) -> Inventory:
    """Read and clean an opened inventory; otherwise as `read_inventory`.

    Parameters
    ----------
    source : opened
    given : mapping; recognised by its columns, or guessed with reasons, if not given
    diameter_unit, grid : of the column of trunk sizes, and of the positions, where the file does not tell it
    chunk_rows : rows held as text at a time [-]
    progress : called with the number of rows done after each chunk
    """
    remarks = list(source.remarks)
    if given is None:
        given = recognise(source.header)
        if given is not None:
            remarks.append(said("ds-recognised", mapping=given.name))
            if source.delimiter:
                source = open_source(source.path, given.delimiter, given.encoding)
        else:
            given, reasons = guess(source, diameter_unit, grid)
            remarks += [said("ds-guessed", reason=reason) for reason in reasons]
    if diameter_unit and given.name != "guessed":
        given = _in_unit(given, diameter_unit, remarks)
    binding = Binding(given, source.header, source.path.name, source.has_geometry)
    remarks.extend(binding.missing)
    beside = SizesBeside(source.header, given.size, given.decimal)
    trees, torn = _clean_all(source, binding, beside, chunk_rows, progress)
    remarks += beside.remarks()
    remarks.extend(judge_against_all(trees, given, source.path.name))
    kept = trees[~is_set_aside(trees["flags"].to_numpy())]
    remarks += swapped_by_country(kept) or swapped_by_grid(
        kept, source.crs if binding.where == "geometry" else _grid_of_columns(binding)
    )
    if given.size is None and len(kept):
        remarks.append(said("ds-without-size", count=len(kept)))
    read_at = given.size.read_at_m if given.size else BREAST_HEIGHT.value
    return Inventory(source.path.name, given.title, given.licence, read_at, trees, remarks, torn, given)


def _grid_of_columns(binding: Binding) -> str | None:
    """The grid on which columns of x and y are read; None where they are degrees, or the file has shapes."""
    return binding.mapping.position.crs if binding.where in ("grid", "cell") else None


def _in_unit(mapping: Mapping, unit: str, remarks: list[Said]) -> Mapping:
    """A mapping whose sizes are in a unit that the user named."""
    if mapping.size is None:
        remarks.append(said("ds-no-size-column"))
        return mapping
    remarks.append(said("ds-unit-stated", field=mapping.size.kind, column=mapping.size.column[0], unit=unit))
    return mapping.model_copy(update={"size": mapping.size.model_copy(update={"unit": unit})})


def _clean_all(
    source: Opened, binding: Binding, beside: SizesBeside, chunk_rows: int, progress: Progress | None
) -> tuple[pd.DataFrame, Torn]:
    from pyproj.exceptions import CRSError

    cleaner, parts, done = Cleaner(binding), [], 0
    grids = GridsTold(source.header, _grid_of_columns(binding))
    torn: Torn = {}
    try:
        for chunk in source.chunks(list(dict.fromkeys([*binding.wanted(), *beside.names, *grids.names])), chunk_rows):
            part = cleaner.clean(chunk)
            grids.hold(chunk, part)
            beside.hold(chunk, part[part["line"].isin(chunk.line)]["diameter_m"].to_numpy(dtype=float))
            torn |= chunk.torn
            part[list(NAME_COLUMNS)] = part[list(NAME_COLUMNS)].astype("category")
            parts.append(part)
            done += len(part)
            if progress:
                progress(done)
    except CRSError as error:
        raise refused(source.path.name, "crs", str(error), worded("want-epsg-code")) from None
    if not done:
        read, wanted = worded("read-no-rows"), worded("want-one-tree")
        raise refused(source.path.name, worded("the-rows"), read, wanted, line=1)
    return _stack(parts), torn


def _stack(parts: list[pd.DataFrame]) -> pd.DataFrame:
    for name in NAME_COLUMNS:
        union = pd.api.types.union_categoricals([part[name] for part in parts])
        codes, at = union.codes, 0
        for part in parts:
            part[name] = pd.Categorical.from_codes(codes[at : at + len(part)], categories=union.categories)
            at += len(part)
    trees = pd.concat(parts, ignore_index=True)
    trees["planted"] = trees["planted"].astype(object)
    return trees
