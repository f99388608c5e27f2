"""Loads the tables in data/ as frozen rows, once.

A table is a CSV file (rows that repeat) or a YAML file (rows that nest, under the key `rows`). In a CSV table a
column is a number if its name ends in a unit or in one of the words below; an empty cell is None, never 0. Every
row that carries a number names its `source` (an id of sources.yaml) and its `flag`:

read        seen in the source; a note says where it was seen second hand
derived     worked out from read values
judgement   ours, or a relative's value used as a stand-in
memory      recalled, not checked
"""

from __future__ import annotations

import csv
from collections import namedtuple
from collections.abc import Mapping
from functools import cache
from pathlib import Path
from types import MappingProxyType
from typing import Any, Literal, get_args

from siteassess.errors import SiteassessError, UnknownName
from siteassess.reference.languages import load_yaml, with_languages
from siteassess.reference.locate import data_folder

Flag = Literal["read", "derived", "judgement", "memory"]
FLAGS: tuple[Flag, ...] = get_args(Flag)
NUMBER_ENDINGS = (
    "value", "low", "high", "sd", "share", "factor", "exponent",
    "m", "cm", "mm", "ft", "in", "g_per_m", "kg_m3", "g_cm3",
    "n", "kn", "pa", "kpa", "mpa", "gpa", "knm_m3", "ms", "deg", "pct", "p2", "p3", "p4", "b2", "a1", "a2", "a3",
)
"""Last words of the names of number columns (`ea_low_kn`, `width_mm`, `high`)."""


def is_number_column(name: str) -> bool:
    """Whether a CSV column holds numbers, by its name."""
    return any(name == end or name.endswith("_" + end) for end in NUMBER_ENDINGS)


@cache
def table_names() -> tuple[str, ...]:
    """Names of all tables, in alphabetical order."""
    return tuple(sorted(path.stem for path in _files()))


@cache
def rows(name: str) -> tuple[Any, ...]:
    """Rows of a table, frozen.

    Parameters
    ----------
    name : a name of `table_names()`

    Returns
    -------
    Named tuples for a CSV table (numbers as float or None, texts as str), read-only mappings for YAML.

    Raises
    ------
    UnknownName : if no table has the name
    SiteassessError : if a row has a cell too many or too few, or one that is no number where one is wanted
    """
    path = _path(name)
    if path.suffix == ".yaml":
        listed: tuple[Any, ...] = document(name)["rows"]
        return listed
    with path.open(encoding="utf-8", newline="") as file:
        lines = csv.reader(file)
        header = next(lines)
        row_type: Any = namedtuple(_camel(name), header)  # type: ignore[misc] # its columns are the file's
        readers = [_number if is_number_column(column) else str.strip for column in header]
        try:
            return tuple(
                row_type._make(read(cell) for read, cell in zip(readers, line, strict=True)) for line in lines if line
            )
        except (ValueError, TypeError) as fault:
            raise SiteassessError(f"table {name}, line {lines.line_num}: {fault}") from fault


@cache
def document(name: str) -> Mapping[str, Any]:
    """A YAML table whole, with what stands beside its rows (date, notes), frozen; its texts in every language.

    Parameters
    ----------
    name : of the file without the ending

    Returns
    -------
    Frozen all through.
    """
    whole: Mapping[str, Any] = freeze(with_languages(name, load_yaml(_path(name))))
    return whole


def freeze(value: Any) -> Any:
    """Read-only view of nested mappings and lists."""
    if isinstance(value, dict):
        return MappingProxyType({key: freeze(inner) for key, inner in value.items()})
    if isinstance(value, list):
        return tuple(freeze(inner) for inner in value)
    return value


def _files() -> list[Path]:
    return [path for path in data_folder().iterdir() if path.suffix in (".csv", ".yaml")]


def _path(name: str) -> Path:
    for path in _files():
        if path.stem == name:
            return path
    raise UnknownName(f"no table {name!r}; there are: {', '.join(table_names())}")


def _number(cell: str) -> float | None:
    return float(cell) if cell.strip() else None


def _camel(name: str) -> str:
    return "".join(part.capitalize() for part in name.split("_")) + "Row"
