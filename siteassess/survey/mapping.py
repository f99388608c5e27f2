"""The mapping file: which column of an inventory says what, in which unit, and how sure we are of the column.

A mapping is a small YAML file, shipped in `data/inventories/` or written by the user after the pattern there. It
never holds code. `known` says how its column names were come by: read in a published list or a real extract, or
from memory; a column from memory may be missing without a fault.
"""

from __future__ import annotations

import difflib
import re
from collections.abc import Iterable, Sequence
from pathlib import Path
from typing import Annotated, Literal, Self

import yaml
from pydantic import AfterValidator, BaseModel, ConfigDict, ValidationError, field_validator, model_validator

from siteassess.errors import Fault, FaultyInput, UnknownName, refused
from siteassess.records.trunk import BREAST_HEIGHT
from siteassess.reference.faults import any_of, of_model
from siteassess.reference.findings import Said, Worded, said, worded
from siteassess.reference.locate import data_folder
from siteassess.reference.names import without_accents
from siteassess.survey import called
from siteassess.units import UNITS

ColumnKnown = Literal["read", "memory", "user"]


class _Piece(BaseModel):
    model_config = ConfigDict(frozen=True, extra="forbid")


class Mapped(_Piece):
    """One column, by any of its names."""

    column: tuple[str, ...]
    known: ColumnKnown = "user"
    optional: bool = False

    @field_validator("column", mode="before")
    @classmethod
    def _one_or_many(cls, value: object) -> object:
        return (value,) if isinstance(value, str) else value

    @property
    def may_miss(self) -> bool:
        return self.optional or self.known == "memory"


def _length_unit(value: str) -> str:
    if value not in UNITS["length"]:
        raise ValueError(worded("want-unit-of-length", units=tuple(UNITS["length"])))
    return value


UnitOfLength = Annotated[str, AfterValidator(_length_unit)]
SizeKind = Literal["diameter", "girth"]


class Size(Mapped):
    """Girth or diameter, never one for the other."""

    kind: SizeKind
    unit: UnitOfLength
    read_at_m: float = BREAST_HEIGHT.value


class LengthColumn(Mapped):
    """A height or width; `classes` gives the low and high end of each class, in the unit."""

    unit: UnitOfLength = "m"
    classes: dict[str, tuple[float, float]] | None = None


class NameColumn(Mapped):
    """A name: the first column that is filled, or all of them together (`join`), maybe cut off `before` a mark."""

    join: bool = False
    before: str = ""


class StatusColumn(Mapped):
    dead: tuple[str, ...] = ()
    stump: tuple[str, ...] = ()


class Condition(Mapped):
    """Words for a tree in poor condition: no anchor to propose, though it stands."""

    poor: tuple[str, ...]


class Only(Mapped):
    """Rows that are trees at all."""

    values: tuple[str, ...]


class Setting(Mapped):
    street: tuple[str, ...] = ()
    park: tuple[str, ...] = ()


class Where(_Piece):
    """Position: degrees, a grid, one cell, or the file's own geometry."""

    latitude: Mapped | None = None
    longitude: Mapped | None = None
    x: Mapped | None = None
    y: Mapped | None = None
    crs: str | None = None
    cell: Mapped | None = None
    order: Literal["lat, lon", "lon, lat"] = "lat, lon"
    geometry: bool = False

    @field_validator("latitude", "longitude", "x", "y", "cell", mode="before")
    @classmethod
    def _short(cls, value: object) -> object:
        return {"column": value} if isinstance(value, (str, list)) else value

    @model_validator(mode="after")
    def _whole(self) -> Self:
        if (self.latitude is None) != (self.longitude is None) or (self.x is None) != (self.y is None):
            raise ValueError(worded("want-both-coordinates"))
        if self.x is not None and self.crs is None:
            raise ValueError(worded("want-crs-for-x-and-y"))
        if not (self.latitude or self.x or self.cell or self.geometry):
            raise ValueError(worded("want-some-position"))
        return self


class Bounds(_Piece):
    south: float
    west: float
    north: float
    east: float


class CheckPosition(_Piece):
    """A second position in the same row, to hold against the first."""

    x: str
    y: str
    crs: str
    tolerance_m: float = 5.0


class Mapping(_Piece):
    siteassess_mapping: Literal[1]
    name: str
    title: str
    source: str
    licence: str
    notes: str = ""
    recognise: tuple[str, ...] = ()
    delimiter: str | None = None
    decimal: Literal[".", ","] = "."
    encoding: str | None = None
    position: Where
    bounds: Bounds | None = None
    check_position: CheckPosition | None = None
    only: Only | None = None
    id: Mapped | None = None
    size: Size | None = None
    height: LengthColumn | None = None
    crown: LengthColumn | None = None
    species: NameColumn | None = None
    common: NameColumn | None = None
    status: StatusColumn | None = None
    condition: Condition | None = None
    setting: Setting | None = None
    setting_of_all: Literal["", "street", "park"] = ""
    park: NameColumn | None = None
    planted: Mapped | None = None
    leaf_type: Mapped | None = None
    accuracy: LengthColumn | None = None
    seen: Mapped | None = None
    leave_out: tuple[Only, ...] = ()
    several: tuple[str, ...] = ()  # columns in which a row may say that it is a group of trees


SIZE_UNITS = ("in", "cm", "m", "mm")  # of a trunk's size, the likeliest first
FIELDS = (
    "only", "id", "size", "height", "crown", "species", "common", "status", "condition", "setting", "park", "planted",
    "leaf_type", "accuracy", "seen",
)


def folder() -> Path:
    """Where the shipped mappings lie."""
    return data_folder() / "inventories"


def shipped_mappings() -> dict[str, Path]:
    """Shipped mappings by name."""
    return {path.stem: path for path in sorted(folder().glob("*.yaml"))}


def load_mapping(name_or_path: str) -> Mapping:
    """Read one mapping, shipped (by name) or the user's own (by path).

    Raises
    ------
    UnknownName : neither a shipped name nor a file
    FaultyInput : the file is not a mapping; every fault is listed
    """
    paths = shipped_mappings()
    path = paths.get(name_or_path) or Path(name_or_path)
    if not path.is_file():
        near = difflib.get_close_matches(name_or_path, paths, n=3, cutoff=0.3)
        raise UnknownName(worded("no-such-mapping", name=name_or_path, shipped=tuple(near or paths)))
    try:
        return Mapping.model_validate(yaml.safe_load(path.read_text(encoding="utf-8")))
    except (yaml.YAMLError, UnicodeDecodeError) as error:
        line = getattr(getattr(error, "problem_mark", None), "line", -1) + 1
        read, wanted = worded("read-no-yaml"), worded("want-mapping-file")
        raise refused(path.name, worded("the-file"), read, wanted, line=line) from None
    except ValidationError as error:
        fields = (".".join(map(str, one["loc"])) or worded("the-file") for one in error.errors())
        raise FaultyInput(path.name, map(of_model, error.errors(), fields)) from None


def column_key(name: str) -> str:
    """A column name with case, accents, blanks, marks and byte-order mark taken off, for comparing."""
    return re.sub(r"[\W_]+", "", without_accents(name.replace("\ufeff", "")))


def recognise(header: Iterable[str]) -> Mapping | None:
    """The shipped mapping whose telling columns all stand in the header, the one with most of them."""
    have = {column_key(name) for name in header}
    if {"osmid", "othertags"} <= have:
        return load_mapping("openstreetmap")  # the tags that would tell are packed away
    fitting = [
        mapping
        for mapping in map(load_mapping, shipped_mappings())
        if mapping.recognise and all(column_key(name) in have for name in mapping.recognise)
    ]
    return max(fitting, key=lambda mapping: len(mapping.recognise), default=None)


def listed(header: Sequence[str], most: int = 40) -> Worded:
    """Column names as they were read: no control signs of a binary file, and not without end."""
    names = ["".join(sign if sign.isprintable() else "?" for sign in name)[:60] for name in header[:most]]
    if not names:
        return worded("read-no-columns")
    return worded("read-columns-and-more" if len(header) > most else "read-columns", columns=tuple(names))


class Binding:
    """A mapping tied to the columns of one file."""

    def __init__(self, mapping: Mapping, header: Sequence[str], source: str, has_geometry: bool = False):
        self.mapping, self.header = mapping, list(header)
        self._by_key = {column_key(name): name for name in reversed(self.header)}
        self.missing: list[Said] = []
        faults: list[Fault] = []
        for name in FIELDS:
            spec = getattr(mapping, name)
            if spec is not None and not self.names(spec):
                if self._packed():
                    continue  # looked for among the packed tags, row by row
                if spec.may_miss:
                    self.missing.append(said("ds-no-column", key=name, columns=any_of(*spec.column)))
                else:
                    faults.append(self._fault(name, spec.column))
        self.where = self._position(mapping.position, has_geometry, faults)
        self.called, self.kinds, self.counts, self.countries = (
            [name for name in self.header if column_key(name) in words]
            for words in (called.CALL, called.KIND, called.COUNT, called.COUNTRY)
        )
        if mapping.check_position and not all(
            column_key(c) in self._by_key for c in (mapping.check_position.x, mapping.check_position.y)
        ):
            self.missing.append(said("ds-no-second-position"))
        if faults:
            raise FaultyInput(source, faults)

    def _packed(self) -> bool:
        return "othertags" in self._by_key

    def column(self, name: str) -> str | None:
        return self._by_key.get(column_key(name))

    def names(self, spec: Mapped | None) -> list[str]:
        """Columns of the file that a piece of the mapping names; all of them for a name or a status, else the first."""
        if spec is None:
            return []
        found = [self._by_key[column_key(name)] for name in spec.column if column_key(name) in self._by_key]
        return found if isinstance(spec, (NameColumn, StatusColumn)) else found[:1]

    def wanted(self) -> list[str]:
        """Every column of the file the mapping reads, each once."""
        specs = [*(getattr(self.mapping, name) for name in FIELDS), *self.mapping.leave_out]
        specs += [getattr(self.mapping.position, name) for name in ("latitude", "longitude", "x", "y", "cell")]
        names = [name for spec in specs for name in self.names(spec)]
        if check := self.mapping.check_position:
            names += [c for c in (self.column(check.x), self.column(check.y)) if c]
        if self._packed():
            names.append(self._by_key["othertags"])
        names += [*self.called, *self.kinds, *self.counts, *self.countries]
        names += (n for n in self.mapping.several if n in self.header)
        return list(dict.fromkeys(names))

    def _position(self, where: Where, has_geometry: bool, faults: list[Fault]) -> str:
        if where.geometry and has_geometry:
            return "geometry"
        for way, parts in (("degrees", ("latitude", "longitude")), ("grid", ("x", "y")), ("cell", ("cell",))):
            specs = [getattr(where, part) for part in parts]
            if all(specs) and all(self.names(spec) for spec in specs):
                return way
        if has_geometry:
            return "geometry"
        named = [
            name
            for part in ("latitude", "longitude", "x", "y", "cell")
            if (s := getattr(where, part))
            for name in s.column
        ]
        faults.append(self._fault(worded("the-position"), named))
        return ""

    def _fault(self, field: str, wanted: Sequence[str]) -> Fault:
        near = [n for name in wanted for n in difflib.get_close_matches(name, self.header, n=1, cutoff=0.6)]
        mend = worded("mend-did-you-mean", near=any_of(*near)) if near else worded("mend-name-column")
        column = worded("want-a-column", columns=any_of(*wanted)) if wanted else worded("want-own-geometry")
        return Fault(1, field, listed(self.header), column, mend)
