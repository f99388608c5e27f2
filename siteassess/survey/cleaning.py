"""From chunks of text to one table of trees: each row kept, repaired with a note, or set aside with a reason.

Rows are judged in two rounds: by themselves as they are read, and against all the others once the last was read
(sizes against the whole column, spots shared by several rows, dates that stand on hundreds of trees).
"""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from siteassess.places.geodesy import POLE_LATITUDE_DEG
from siteassess.reference.findings import Said
from siteassess.reference.written_names import is_no_name, is_no_tree, joined
from siteassess.survey import cells
from siteassess.survey.called import befell, judge_called, of_a_part, several
from siteassess.survey.cells import Floats
from siteassess.survey.mapping import Binding, CheckPosition, LengthColumn, Mapped, Mapping, NameColumn, StatusColumn
from siteassess.survey.notes import Note, NoteFlags, count_notes, is_repaired, is_set_aside
from siteassess.survey.reading import Chunk, Torn
from siteassess.units import DEGREE_M, si_factor

HEIGHT_RANGE_M = (1.0, 116.0)  # the tallest living tree known is about 116 m (from memory)
CROWN_RANGE_M = (0.3, 60.0)  # judgement


@dataclass
class Inventory:
    """Every row of an inventory, with what befell it.

    `trees` holds one line a row, set-aside rows too: line, id, lat_deg, lon_deg, diameter_m, height_m, crown_m,
    species, common, park, setting, planted, leaf_type, seen, accuracy_m, size_text, called, country, flags, same_as
    (line of the row on the same spot).
    `torn` says of rows that could not be split why, by their lines.
    """

    name: str
    title: str
    licence: str
    read_at_m: float
    trees: pd.DataFrame
    remarks: list[Said]
    torn: Torn = field(default_factory=dict)
    mapping: Mapping | None = None  # by which it was read

    @property
    def flags(self) -> NoteFlags:
        flags: NoteFlags = self.trees["flags"].to_numpy()
        return flags

    @property
    def set_aside(self) -> NDArray[np.bool_]:
        return is_set_aside(self.flags)

    @property
    def good(self) -> pd.DataFrame:
        """Rows kept or repaired."""
        return self.trees[~self.set_aside]

    @property
    def counts(self) -> dict[str, int]:
        flags = self.flags
        aside, repaired = int(self.set_aside.sum()), int(is_repaired(flags).sum())
        return {
            "rows_read": len(flags), "rows_kept": len(flags) - aside - repaired, "rows_repaired": repaired,
            "rows_set_aside": aside,
        }

    @property
    def tally(self) -> dict[Said, int]:
        return count_notes(self.flags)


class Cleaner:
    """Cleans the chunks of one file by its binding."""

    def __init__(self, binding: Binding):
        self.binding, self.mapping = binding, binding.mapping

    def clean(self, chunk: Chunk) -> pd.DataFrame:
        """One chunk as rows of the table of trees."""
        flags = np.zeros(len(chunk), dtype=np.int64)
        frame = pd.DataFrame({"line": chunk.line})
        size_text = self._text(chunk, self.mapping.size)
        self._odd_letters(chunk, flags)
        self._position(chunk, frame, flags)
        self._size(size_text, frame, flags)
        self._height_and_crown(chunk, frame, flags)
        self._accuracy(chunk, frame)
        for name in ("id", "species", "common", "park", "planted", "leaf_type", "seen"):
            frame[name] = self._text(chunk, getattr(self.mapping, name))
        self._names(frame, flags)
        self._called(chunk, frame, flags)
        self._status(chunk, flags)
        self._setting(chunk, frame)
        self._only(chunk, flags)
        flags[(frame["species"] == "").to_numpy() & (frame["common"] == "").to_numpy()] |= Note.SPECIES_BLANK
        frame["size_text"] = size_text
        frame["flags"] = flags
        return self._with_torn(frame, chunk)

    def _text(self, chunk: Chunk, spec: Mapped | None) -> np.ndarray:
        names, packed = self.binding.names(spec), self.binding.column("other_tags")
        if spec is None or not (names or packed):
            return np.full(len(chunk), "", dtype=object)
        if packed:  # some tags of an extract have a column of their own, the others lie in one
            tags = cells.tidy(chunk.columns[packed])
            own = {key: chunk.columns.get(self.binding.column(key) or "") for key in spec.column}
            columns = [cells.tidy(cells.hstore_value(tags, key) if column is None else column)
                       for key, column in own.items()]  # fmt: skip
        else:
            columns = [cells.tidy(chunk.columns[name]) for name in names]
        text = columns[0]
        for more in columns[1:]:
            if isinstance(spec, NameColumn) and spec.join:
                text = joined(text, more)
            else:
                text = np.where(text == "", more, text)
        if isinstance(spec, NameColumn) and spec.before:
            text = pd.Series(text, dtype=object).str.split(spec.before, n=1).str[0].str.strip().to_numpy(dtype=object)
        return text

    def _odd_letters(self, chunk: Chunk, flags: NoteFlags) -> None:
        for column in chunk.columns.values():
            odd = [type(cell) is str and "\ufffd" in cell for cell in column]
            if any(odd):
                flags[odd] |= Note.ODD_LETTERS

    # --- position ---------------------------------------------------------------------------------------------

    def _position(self, chunk: Chunk, frame: pd.DataFrame, flags: NoteFlags) -> None:
        where, way = self.mapping.position, self.binding.where
        decimal = self.mapping.decimal
        crs = where.crs
        if way == "geometry":
            assert chunk.points is not None  # the way is taken of a file with shapes only
            (x, y), crs = chunk.points.xy.T.copy(), chunk.crs or where.crs
            flags[~chunk.points.are_points] |= Note.NOT_A_POINT
        elif way == "cell":
            y, x = cells.one_cell_column(texts := self._text(chunk, where.cell), where.order)
            flags[np.isnan(x) & cells.east_or_west(texts)] |= Note.LETTER_O
        elif way == "grid":
            x, y = (cells.grid_column(self._text(chunk, spec), decimal) for spec in (where.x, where.y))
        else:
            y, x = (
                cells.degrees_column(self._text(chunk, spec), decimal) for spec in (where.latitude, where.longitude)
            )
            flags[np.isnan(x) & cells.east_or_west(self._text(chunk, where.longitude))] |= Note.LETTER_O
            crs = None
        told = int(Note.NOT_A_POINT | Note.LETTER_O)
        flags[(np.isnan(x) | np.isnan(y)) & ((flags & told) == 0)] |= Note.NO_POSITION
        flags[(x == 0) & (y == 0)] |= Note.ZERO_POSITION
        lat, lon = to_degrees(x, y, crs) if crs else (y, x)
        with np.errstate(invalid="ignore"):
            off = ~((np.abs(lat) <= 90) & (np.abs(lon) <= 180)) & ~np.isnan(x) & ~np.isnan(y)
            swappable = off & (np.abs(lon) <= 90) & (np.abs(lat) <= 180)
        flags[swappable] |= Note.SWAPPED
        lat, lon = np.where(swappable, lon, lat), np.where(swappable, lat, lon)
        flags[off & ~swappable] |= Note.OFF_GLOBE
        with np.errstate(invalid="ignore"):
            flags[(np.abs(lat) > POLE_LATITUDE_DEG) & ((flags & Note.OFF_GLOBE) == 0)] |= Note.NEAR_A_POLE
        self._bounds(lat, lon, flags)
        if check := self.mapping.check_position:
            self._second_position(chunk, check, lat, lon, flags)
        frame["lat_deg"], frame["lon_deg"] = (np.where(np.isfinite(angle), angle, np.nan) for angle in (lat, lon))

    def _bounds(self, lat: Floats, lon: Floats, flags: NoteFlags) -> None:
        box = self.mapping.bounds
        if box is None:
            return
        open_rows = ~is_set_aside(flags)
        outside = ~((lat >= box.south) & (lat <= box.north) & (lon >= box.west) & (lon <= box.east)) & open_rows
        fits = outside & (lon >= box.south) & (lon <= box.north) & (lat >= box.west) & (lat <= box.east)
        lat[fits], lon[fits] = lon[fits], lat[fits]
        flags[fits] |= Note.SWAPPED
        flags[outside & ~fits] |= Note.OUT_OF_BOUNDS

    def _second_position(self, chunk: Chunk, check: CheckPosition, lat: Floats, lon: Floats, flags: NoteFlags) -> None:
        names = [name for one in (check.x, check.y) if (name := self.binding.column(one))]
        if len(names) < 2:
            return
        x, y = (cells.grid_column(cells.tidy(chunk.columns[name]), self.mapping.decimal) for name in names)
        lat2, lon2 = to_degrees(x, y, check.crs)
        apart = DEGREE_M * np.hypot(lat2 - lat, (lon2 - lon) * np.cos(np.radians(lat)))
        with np.errstate(invalid="ignore"):
            flags[(apart > check.tolerance_m) & ~is_set_aside(flags)] |= Note.POSITIONS_DISAGREE

    # --- size, height, crown ----------------------------------------------------------------------------------

    def _size(self, text: np.ndarray, frame: pd.DataFrame, flags: NoteFlags) -> None:
        spec = self.mapping.size
        if spec is None:
            frame["diameter_m"] = np.nan
            flags[:] |= Note.SIZE_BLANK
            return
        value, unreadable, in_cell, other = cells.lengths_m(text, spec.unit, self.mapping.decimal)
        with np.errstate(invalid="ignore"):
            flags[value == 0] |= Note.SIZE_ZERO
            flags[value < 0] |= Note.SIZE_UNREADABLE
            value[value <= 0] = np.nan
        flags[unreadable] |= Note.SIZE_UNREADABLE
        flags[in_cell & ~unreadable] |= Note.UNIT_IN_CELL
        flags[other & ~unreadable] |= Note.DECIMAL_SIGN
        flags[text == ""] |= Note.SIZE_BLANK
        frame["diameter_m"] = value / np.pi if spec.kind == "girth" else value

    def _accuracy(self, chunk: Chunk, frame: pd.DataFrame) -> None:
        """The stated error of each position; what cannot be read is not known."""
        spec = self.mapping.accuracy
        text = self._text(chunk, spec)
        value = cells.lengths_m(text, spec.unit, self.mapping.decimal)[0] if spec else np.full(len(chunk), np.nan)
        with np.errstate(invalid="ignore"):
            frame["accuracy_m"] = np.where(value > 0, value, np.nan)

    def _height_and_crown(self, chunk: Chunk, frame: pd.DataFrame, flags: NoteFlags) -> None:
        for name, note, (low, high) in (
            ("height", Note.HEIGHT_DROPPED, HEIGHT_RANGE_M),
            ("crown", Note.CROWN_DROPPED, CROWN_RANGE_M),
        ):
            spec: LengthColumn | None = getattr(self.mapping, name)
            text = self._text(chunk, spec)
            if spec is None or not (text != "").any():
                frame[f"{name}_m"] = np.nan
                continue
            if spec.classes:
                value, unreadable = self._classes(text, spec.classes, spec.unit)
                flags[~np.isnan(value)] |= Note.HEIGHT_IS_CLASS
            else:
                value, unreadable, _, _ = cells.lengths_m(text, spec.unit, self.mapping.decimal)
            with np.errstate(invalid="ignore"):
                wrong = unreadable | (value < low) | (value > high)
                # zero is how most inventories write "not recorded": blank, not a fault of the row
                flags[wrong & ~(value == 0)] |= note
            frame[f"{name}_m"] = np.where(wrong, np.nan, value)

    def _classes(
        self, text: np.ndarray, classes: dict[str, tuple[float, float]], unit: str
    ) -> tuple[Floats, NDArray[np.bool_]]:
        low = {label: ends[0] * si_factor("length", unit) for label, ends in classes.items()}
        labels = pd.Series(text, dtype=object).str.removesuffix(".0")
        value = labels.map(low).to_numpy(dtype=float, copy=True)
        unreadable = ((text != "") & ~labels.isin(list(low))).to_numpy(dtype=bool)
        value[value == 0] = np.nan  # the lowest class starts at the ground: its low end says nothing
        return value, unreadable

    # --- status and kind --------------------------------------------------------------------------------------

    def _status(self, chunk: Chunk, flags: NoteFlags) -> None:
        if poor := self.mapping.condition:
            words = pd.Series(self._text(chunk, poor), dtype=object).str.casefold()
            flags[words.isin([word.casefold() for word in poor.poor]).to_numpy()] |= Note.POOR_CONDITION
        spec = self.mapping.status
        if spec is None:
            return
        told = [cells.tidy(chunk.columns[name]) for name in self.binding.names(spec)] or [self._text(chunk, spec)]
        for text in told:
            self._status_told(pd.Series(text, dtype=object).str.casefold(), spec, flags)

    def _status_told(self, status: pd.Series, spec: StatusColumn, flags: NoteFlags) -> None:
        flags[status.isin([word.casefold() for word in spec.dead]).to_numpy()] |= Note.DEAD
        flags[status.isin([word.casefold() for word in spec.stump]).to_numpy()] |= Note.STUMP
        for one in filter(None, status.unique()):
            # "Standing dead", "felled 2023": a longer text, as "dead wood in the crown", tells of a part
            if is_no_tree(one) or not of_a_part(one):
                flags[(status == one).to_numpy()] |= befell(one)

    def _names(self, frame: pd.DataFrame, flags: NoteFlags) -> None:
        """Empty what names no kind; a stump, a dead tree or none at all in a name's place, or beside it, is told."""
        for column in ("species", "common"):
            name = frame[column].to_numpy(dtype=object)
            for one in filter(None, set(name.tolist())):
                flags[name == one] |= befell(one)
            none = {one for one in set(name.tolist()) if one and is_no_name(one)}
            if none:
                frame.loc[frame[column].isin(none), column] = ""

    def _called(self, chunk: Chunk, frame: pd.DataFrame, flags: NoteFlags) -> None:
        """A point's own name and kind: no live tree, or several, whose size is no trunk's."""
        names, kinds, counts = ([cells.tidy(chunk.columns[name]) for name in columns] for columns in (
            self.binding.called, self.binding.kinds, self.binding.counts))  # fmt: skip
        told = zip(*names, *kinds) if names or kinds else [()] * len(chunk)
        frame["called"] = np.array([", ".join(dict.fromkeys(filter(None, one))) for one in told], dtype=object)
        country = [cells.tidy(chunk.columns[name]) for name in self.binding.countries[:1]]
        frame["country"] = country[0] if country else ""
        species = [frame[name].to_numpy(dtype=object) for name in ("species", "common")]
        judge_called(names, kinds, species, flags)
        texts = [cells.tidy(chunk.columns[name]) for name in self.mapping.several if name in chunk.columns]
        group = several([*names, *species, *texts], kinds, counts, len(chunk))
        flags[group] |= Note.SEVERAL_TREES
        frame.loc[group, "diameter_m"] = np.nan

    def _setting(self, chunk: Chunk, frame: pd.DataFrame) -> None:
        spec = self.mapping.setting
        text = pd.Series(self._text(chunk, spec), dtype=object).str.casefold()
        frame["setting"] = self.mapping.setting_of_all
        for kind in ("street", "park"):
            words = [word.casefold() for word in getattr(spec, kind)] if spec else []
            frame.loc[text.isin(words), "setting"] = kind

    def _only(self, chunk: Chunk, flags: NoteFlags) -> None:
        for never in self.mapping.leave_out:
            words = pd.Series(self._text(chunk, never), dtype=object).str.casefold()
            flags[words.isin([word.casefold() for word in never.values]).to_numpy()] |= Note.NOT_A_TREE
        spec = self.mapping.only
        if spec is None or not (self.binding.names(spec) or self.binding.column("other_tags")):
            return
        wrong = ~pd.Series(self._text(chunk, spec), dtype=object).isin(spec.values).to_numpy()
        flags[wrong & ((flags & Note.NOT_A_POINT) == 0)] |= Note.NOT_A_TREE

    def _with_torn(self, frame: pd.DataFrame, chunk: Chunk) -> pd.DataFrame:
        if not chunk.torn:
            return frame
        torn = pd.DataFrame({"line": list(chunk.torn), "flags": int(Note.TORN)})
        for name in frame.columns.difference(torn.columns):
            torn[name] = np.nan if frame[name].dtype.kind == "f" else ""
        return pd.concat([frame, torn[frame.columns]]).sort_values("line", ignore_index=True)


def to_degrees(x: Floats, y: Floats, crs: str) -> tuple[Floats, Floats]:
    """Latitude and longitude on WGS84 of points on a named grid [deg]; what lies off the grid is infinite.

    Raises
    ------
    pyproj.exceptions.CRSError
        No such grid.
    """
    from pyproj import Transformer

    lon, lat = Transformer.from_crs(crs, "EPSG:4326", always_xy=True).transform(x, y)
    unknown = np.isnan(x) | np.isnan(y)
    return np.where(unknown, np.nan, lat), np.where(unknown, np.nan, lon)
