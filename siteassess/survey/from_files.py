"""Trees of any files as anchors of a record: what was read, with where it was read, and nothing beside it.

Waypoints, photos, map extracts, occurrence tables, inventories and spreadsheets all become rows that one engine cleans
(`cleaning`, `against_all`), so a swapped or impossible place, a duplicate or a stump is found alike in each. A size is
"copied" and a position "inventory" or "unknown": none of it was read on the tree for this record.
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from functools import partial
from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd

from siteassess.errors import Fault, FaultyFiles, FaultyInput, refused
from siteassess.places.geodesy import LocalFrame, median_place
from siteassess.reference.findings import Said, in_words, said, word, worded
from siteassess.reference.texts import text
from siteassess.reference.written_names import written_species
from siteassess.survey.cleaning import Inventory
from siteassess.survey.from_maps import listed_xml
from siteassess.survey.from_photos import PHOTO_ENDINGS, photo_row
from siteassess.survey.importing import read_source
from siteassess.survey.mapping import Binding, Mapped, Where, column_key, load_mapping
from siteassess.survey.notes import REPAIRS, SET_ASIDE, Note, notes_told
from siteassess.survey.proposal import plain_text
from siteassess.survey.reading import ListedRows, Opened, open_source
from siteassess.survey.sheets import LEAST_DIAMETER_M, LEAST_HEIGHT_M, MOST_DIAMETER_M, MOST_HEIGHT_M
from siteassess.survey.swapped import swapped_beside
from siteassess.units import quantity

MOST_ANCHORS = 500  # of one record, which people walk and fill in; a city's list is for the desk survey (judgement)
XML_ENDINGS = {".gpx", ".kml", ".kmz", ".osm"}
NAMES = ("name", "title", "label", "cmt")  # fields that call a point something
MOST_OF_A_NOTE, MOST_OF_NOTES = 120, 900  # letters that go into a note of one field, and of all
FEW_LINES = 4  # rows with one reason that are told each by itself
TOLD_OF_ROWS = {"not-taken": ("fi-not-taken", "fi-rows-not-taken"), "repaired": ("fi-repaired", "fi-rows-repaired"),
                "doubted": ("fi-doubted", "fi-rows-doubted")}  # fmt: skip
# by the north a photo counts from
LOOKS = {"true": "fi-looks-true", "magnetic": "fi-looks-magnetic", "": "fi-looks"}
IN_NOTES = Note.SEVERAL_TREES | Note.MAYBE_NO_TREE  # what stays to be looked at on the tree
NO_LIVE_TREE = Note.DEAD | Note.STUMP | Note.NOT_A_TREE
NEAR_M = 3.0  # within which points of two files may be one tree (judgement)
ACCURACY_RANGE_M = (0.001, 5000.0)  # what a record takes


@dataclass
class TakenIn:
    """Anchors out of files, as a record's file has them, and what is told of the reading."""

    language: str = "en"  # of the notes of the anchors
    anchors: list[dict[str, Any]] = field(default_factory=list)
    told: list[Said] = field(default_factory=list)
    credits: list[str] = field(default_factory=list)

    @property
    def places(self) -> list[tuple[float, float]]:
        """Latitude and longitude of each anchor [deg]."""
        return [(one["position"]["lat"], one["position"]["lon"]) for one in self.anchors]

    @property
    def middle(self) -> tuple[float, float]:
        """Latitude and longitude in the midst of the anchors [deg]."""
        lat, lon = zip(*self.places)
        return median_place(lat, lon)


def take_in(
    paths: Iterable[str | Path], folder: str | Path = ".", diameter_unit: str | None = None, grid: str | None = None,
    language: str = "en",
) -> TakenIn:
    """Read files of any kind as anchors.

    Parameters
    ----------
    paths : GPX, KML, GeoJSON, OpenStreetMap XML, photos, CSV or a spreadsheet, in any mixture
    folder : the record will lie in; photos in it, or below, are named by their way from there
    diameter_unit, grid : of columns of trunk sizes, and of positions in metres, that do not tell it
    language : of the notes of the anchors

    Raises
    ------
    FaultyInput : a file that cannot be read
    FaultyFiles : several of them
    """
    twice = Counter(Path(path).resolve() for path in paths)
    given = list({path.resolve(): path for path in reversed([*map(Path, paths)])}.values())[::-1]
    photos = [path for path in given if path.suffix.lower() in PHOTO_ENDINGS]
    found, errors = TakenIn(language), list[FaultyInput]()
    found.told = [said("fi-file-twice", file=path.name) for path, times in twice.items() if times > 1]
    readings = {path.name: partial(_one_file, path, found, diameter_unit, grid) for path in given if path not in photos}
    # photos come last, and together: only beside the others is one of them seen to be far off
    if photos:
        readings["photos"] = partial(_photos, photos, Path(folder), found)
    places = dict[str, list[tuple[float, float]]]()
    for name, read in readings.items():
        before = len(found.anchors)
        try:
            read()
            places[name] = found.places[before:]
        except FaultyInput as error:
            errors.append(error)
    if errors:
        raise errors[0] if len(errors) == 1 else FaultyFiles(errors)
    _refuse_too_many(len(found.anchors), given[0].name)
    found.told += [said("fi-of-file", file=name, says=(hint,)) for name, hint in swapped_beside(places).items()]
    _coded(found.anchors)
    _near_each_other(found)
    return found


def _refuse_too_many(count: int, name: str) -> None:
    if count > MOST_ANCHORS:
        wanted, mend = worded("want-at-most", limit=MOST_ANCHORS), worded("mend-desk-survey-first")
        raise refused(name, worded("the-rows"), count, wanted, mend)


# ---- one file


def _one_file(path: Path, found: TakenIn, diameter_unit: str | None, grid: str | None) -> None:
    source = _opened(path)
    mapping = None
    if isinstance(source, ListedRows) and path.suffix.lower() == ".osm":
        place = Where(latitude=Mapped(column=("latitude",)), longitude=Mapped(column=("longitude",)))
        mapping = load_mapping("openstreetmap").model_copy(update={"position": place})
    inventory = read_source(source, mapping, diameter_unit=diameter_unit, grid=grid)
    _refuse_too_many(int((~inventory.set_aside).sum()), path.name)
    _told(inventory, found)
    how = "unknown" if path.suffix.lower() in XML_ENDINGS - {".osm"} else "inventory"
    beside = _leftover(source, inventory, found)
    for _, row in inventory.good.iterrows():
        own = beside.get(int(row["line"]), {})
        found.anchors.append(_tree(row, inventory, how, own, language=found.language))
    whose = inventory.title, word(inventory.licence, found.language)
    found.credits.append(text("between", found.language).join(whose))


def _opened(path: Path) -> Opened:
    return listed_xml(path) if path.is_file() and path.suffix.lower() in XML_ENDINGS else open_source(path)


def _photos(paths: Sequence[Path], folder: Path, found: TakenIn) -> None:
    rows, faults = list[dict[str, str]](), list[Fault]()
    pictures: dict[tuple[float, ...], list[dict[str, str]]] = {}
    for path in paths:
        try:
            if not path.is_file():
                raise refused(path.name, worded("the-file"), worded("read-no-file"), worded("want-photo"))
            row = photo_row(path)
            place = _spot(row)
            # several pictures from one spot are one anchor's
            if place not in pictures:
                rows.append(row)
            picture = {"path": way_from(path, folder), "shows": _shows(row, found.language)}
            pictures.setdefault(place, []).append(picture)
        except FaultyInput as error:
            # one photo without a place keeps none of the others out
            faults += [Fault(0, path.name, one.read, one.wanted, one.mend) for one in error.faults]
    found.told += [said("fi-photo-not-taken", file=one.field, why=(said("fi-says", text=str(one.read)),))
                   for one in faults]  # fmt: skip
    if not rows:
        raise FaultyInput(paths[0].name, faults)
    header = list(dict.fromkeys(key for row in rows for key in row))
    source = ListedRows(Path(paths[0].name if len(paths) == 1 else "photos"), header, rows=rows,
                    lines=list(range(1, len(rows) + 1)))  # fmt: skip
    inventory = read_source(source)
    _told(inventory, found, {number: row["photo"] for number, row in enumerate(rows, 1)})
    for _, row in inventory.good.iterrows():
        photo = rows[int(row["line"]) - 1]
        tree = _tree(row, inventory, "unknown", {}, photo, found.language)
        found.anchors.append(tree | {"photos": pictures[_spot(photo)]})


def _spot(row: dict[str, str]) -> tuple[float, ...]:
    """The place of a photo to a step of about 10 cm, by which pictures taken from one spot are known."""
    return tuple(round(float(row[axis]), 6) for axis in ("latitude", "longitude"))


def way_from(path: Path, folder: Path) -> str:
    """The way from the record's folder to a photo; its bare name where it lies elsewhere.

    Parameters
    ----------
    path, folder : of the photo, and the record's
    """
    try:
        return path.resolve().relative_to(folder.resolve()).as_posix()
    except ValueError:
        return path.name


def _shows(row: dict[str, str], language: str) -> str:
    """What a photo says of itself."""
    parts = list[Said]()
    if looks := row.get("looks_deg"):
        parts.append(said(LOOKS[row.get("looks_north", "")], bearing=float(looks)))
    if taken := row.get("seen"):
        parts.append(said("fi-photo-taken", day=taken))
    return plain_text(", ".join(in_words(parts or [said("fi-shows-nothing")], language)))


# ---- what is told


def _told(inventory: Inventory, found: TakenIn, names: dict[int, str] | None = None) -> None:
    """How a file was read, each row that was mended, and each that is not taken; `names` are those of photos."""
    file, trees = inventory.name, inventory.trees
    found.told += [said("fi-of-file", file=file, says=(one,)) for one in inventory.remarks]
    alike: dict[tuple[str, tuple[Said, ...]], list[int]] = {}
    rows = zip(trees["line"].astype(int), trees["flags"].astype(int), trees["same_as"].astype(int), inventory.set_aside,
               trees["called"].astype(str))  # fmt: skip
    for line, flags, same, aside, called in rows:
        more = (said("fi-same-as", line=same),) if same else ()
        if called and flags & int(NO_LIVE_TREE | Note.MAYBE_NO_TREE):
            more = (*more, said("fi-called", name=plain_text(called)[:MOST_OF_A_NOTE]))
        torn = (inventory.torn[line],) if line in inventory.torn else ()
        # that a size or a kind is not told needs no line of its own
        if why := torn or notes_told(flags & int(SET_ASIDE if aside else REPAIRS)):
            alike.setdefault(("not-taken" if aside else "repaired", (*why, *more)), []).append(line)
        if not aside and flags & int(Note.MAYBE_NO_TREE):
            alike.setdefault(("doubted", (*notes_told(int(Note.MAYBE_NO_TREE)), *more)), []).append(line)
    for (what, why), lines in alike.items():
        if names:
            code = "fi-photo-not-taken" if what == "not-taken" else "fi-photo-mended"
            found.told += [said(code, file=names[line], why=why) for line in lines]
        elif len(lines) < FEW_LINES:
            found.told += [said(TOLD_OF_ROWS[what][0], file=file, line=line, why=why) for line in lines]
        else:
            found.told.append(said(TOLD_OF_ROWS[what][1], file=file, count=len(lines), lines=_runs(lines), why=why))
    found.told.append(said("fi-taken", file=file, count=int((~inventory.set_aside).sum()), of=len(trees)))


def _runs(lines: list[int]) -> str:
    """Line numbers with those that follow each other as one run: "3, 7-12"."""
    runs: list[list[int]] = []
    for line in sorted(lines):
        if runs and line == runs[-1][1] + 1:
            runs[-1][1] = line
        else:
            runs.append([line, line])
    return ", ".join(str(first) if first == last else f"{first}-{last}" for first, last in runs)


def _leftover(source: Opened, inventory: Inventory, found: TakenIn) -> dict[int, dict[str, str]]:
    """Cells of the kept rows that the record has no field for, by line."""
    assert inventory.mapping is not None
    binding = Binding(inventory.mapping, source.header, source.path.name, source.has_geometry)
    used = {name for what in ("id", "species", "seen")
            for name in binding.names(getattr(inventory.mapping, what))}  # fmt: skip
    place = inventory.mapping.position
    used |= {name for part in ("latitude", "longitude", "x", "y", "cell")
             for name in binding.names(getattr(place, part))}  # fmt: skip
    others = [name for name in source.header if name not in used]
    kept, beside = set(inventory.good["line"].astype(int)), dict[int, dict[str, str]]()
    long = dict[str, int]()
    for chunk in source.chunks(others) if others else ():
        for at, line in enumerate(chunk.line.tolist()):
            if line in kept:
                cells = {name: plain_text(chunk.columns[name][at]) for name in others if _filled(chunk, name, at)}
                beside[line] = {name: cell for name, cell in cells.items() if len(cell) <= MOST_OF_A_NOTE}
                for name in (one for one in cells if one not in beside[line]):
                    long[name] = long.get(name, 0) + 1
    if long:
        found.told.append(said("fi-too-long", file=inventory.name, columns=tuple(long), count=sum(long.values())))
    return beside


def _filled(chunk: Any, name: str, at: int) -> bool:
    cell = chunk.columns[name][at]
    return not (cell is None or cell != cell or plain_text(cell) in ("", "nan", "NaN", "None"))


# ---- one tree


def _tree(
    row: pd.Series, inventory: Inventory, how: str, beside: dict[str, str], photo: dict[str, str] | None = None,
    language: str = "en",
) -> dict[str, Any]:
    line = int(row["line"])
    where = photo["photo"] if photo else inventory.name
    source = said("fi-source-photo", file=where) if photo else said("fi-source", file=where, line=line)
    fix: dict[str, Any] = {"lat": round(float(row["lat_deg"]), 7), "lon": round(float(row["lon_deg"]), 7)}
    accuracy = float(row["accuracy_m"])
    if ACCURACY_RANGE_M[0] <= accuracy <= ACCURACY_RANGE_M[1]:
        fix["accuracy"] = quantity(accuracy, "m", "length").text
    fix |= {"how": how, "source": plain_text(source.in_words(language))}
    name = next((beside.pop(key) for key in NAMES if key in beside), "")
    species, notes = _species(row)
    notes += notes_told(int(row["flags"]) & int(IN_NOTES))
    if row["seen"] and not photo:
        notes.append(said("fi-seen", day=plain_text(row["seen"])))
    tree: dict[str, Any] = {"kind": "tree", "code": "", "tag": plain_text(row["id"]) or None, "name": name or None,
                            "position": fix, "species": species,
                            "trunk": _trunk(row, inventory)}  # fmt: skip
    height, crown = float(row["height_m"]), float(row["crown_m"])
    if LEAST_HEIGHT_M <= height <= MOST_HEIGHT_M:
        tree |= {"height": quantity(height, "m", "length").text, "height_how": "copied"}
    if math.isfinite(crown):
        tree["crown_spread"] = quantity(crown, "m", "length").text
    # a size, a height, a crown or an error that came in needs no note; what could not be read is kept as it stands
    for what, came in (("size", tree["trunk"]), ("height", "height" in tree), ("crown", "crown_spread" in tree),
                       ("accuracy", "accuracy" in fix)):  # fmt: skip
        spec = getattr(inventory.mapping, what)
        for column in [key for key in beside if spec and column_key(key) in map(column_key, spec.column)]:
            if came or not beside[column].strip("0.,"):
                del beside[column]
    tree |= {"source": fix["source"], "notes": _notes(notes, beside, language) or None}
    return {key: value for key, value in tree.items() if value not in (None, [], {})}


def _species(row: pd.Series) -> tuple[dict[str, str] | None, list[Said]]:
    """The kind as a record names it, never surer than a guess, and what the file wrote where that is another name."""
    for written in (plain_text(row["species"]), plain_text(row["common"])):
        match = written_species(written) if written else None
        if match is not None and match.genus:
            wrote = [said("ds-written-as", wrote=written[:MOST_OF_A_NOTE])] if written != match.accepted else []
            return {"name": match.accepted, "certainty": "guess"}, wrote
    named = plain_text(row["species"]) or plain_text(row["common"])
    if named:
        return {"name": named[:200], "certainty": "guess"}, []
    leaf = {"broadleaved": "broadleaf", "needleleaved": "conifer"}.get(str(row["leaf_type"]))
    return ({"name": "unknown", "certainty": "guess", "leaf_type": leaf} if leaf else None), []


def _trunk(row: pd.Series, inventory: Inventory) -> list[dict[str, str]]:
    """The size as the file has it, girth or diameter, read by nobody for this record."""
    assert inventory.mapping is not None
    diameter, size = float(row["diameter_m"]), inventory.mapping.size
    if size is None or not LEAST_DIAMETER_M <= diameter <= MOST_DIAMETER_M:
        return []
    girth = size.kind == "girth"
    value = quantity(diameter * (math.pi if girth else 1.0), "cm", "length").text
    read_at = quantity(inventory.read_at_m, "m", "length").text
    return [{size.kind: value, "read_at": read_at, "how": "copied"}]


def _notes(said_first: Sequence[Said], beside: dict[str, str], language: str) -> str:
    parts = [*in_words(said_first, language), *(f"{plain_text(key)}: {cell}" for key, cell in beside.items())]
    note, left = "", 0
    for part in parts:
        if len(note) + len(part) > MOST_OF_NOTES:
            left += 1
        else:
            note = f"{note}; {part}" if note else part
    more = said("fi-more-fields", count=left)
    return f"{note}; {more.in_words(language)}" if left else note


# ---- all of them


def _coded(anchors: list[dict[str, Any]]) -> None:
    """Codes T1, T2 and so on, in the order of the files."""
    for number, anchor in enumerate(anchors, 1):
        anchor["code"] = f"T{number}"


def _near_each_other(found: TakenIn) -> None:
    """Points so near that they may be one tree are told, and both kept: nobody here knows."""
    places = found.places
    if len(places) < 2:
        return
    from scipy.spatial import cKDTree

    xy = np.column_stack(LocalFrame(*found.middle).to_metres(*(np.array(axis) for axis in zip(*places))))
    for a, b in sorted(cKDTree(xy).query_pairs(NEAR_M)):
        found.told.append(said("fi-maybe-one", a=f"T{a + 1}", b=f"T{b + 1}", apart=float(np.hypot(*(xy[a] - xy[b])))))
