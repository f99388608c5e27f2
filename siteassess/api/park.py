"""A park's record in Python: read, begun, changed, checked and written."""

from __future__ import annotations

import datetime
import json
import logging
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import count
from pathlib import Path
from typing import TYPE_CHECKING, Any

from siteassess.api.paths import put, without_taken
from siteassess.errors import UnknownName, refused
from siteassess.records.loading import load_with_lines, record_with_rules
from siteassess.records.record import RECORD_FORMAT, Record
from siteassess.records.writing import as_plain, write_record
from siteassess.records.yaml_lines import MAX_DIGITS, document_of

if TYPE_CHECKING:
    import pandas as pd

    from siteassess.advice.check import Checked

LOG = logging.getLogger("siteassess")


def read(path: str | Path, surroundings: Iterable[str | Path] = ()) -> Record:
    """Read a park's record.

    Parameters
    ----------
    path : YAML, or the filled-in spreadsheet as CSV
    surroundings : map files to take paths, water and buildings from, beside those that the record names

    Returns
    -------
    Record
        It cannot be changed; `change` gives a changed one. What was taken from each map file is told to the log
        `siteassess`.

    Raises
    ------
    FaultyInput : with every fault: line, field, what was read, what is wanted, how to mend it.

    Examples
    --------
    >>> read("mypark.yaml")
    <record of 'Brindlewick Common (invented)', surveyed 2026-04-18: 11 anchors, 5 lines>
    """
    path, given = Path(path), [Path(one) for one in surroundings]
    record = load_with_lines(path).record
    if not given and not record.site.surroundings_files:
        return record
    from siteassess.advice.surroundings import with_surroundings

    record, told = with_surroundings(record, path.parent, given)
    for one in told:
        LOG.info(one.in_words())
    return record


def new_park(
    name: str, by: str, on: str | datetime.date, anchors: Iterable[Mapping[str, Any]] = (),
    lines: Iterable[Mapping[str, Any]] = (), *, from_files: Sequence[str | Path] = (), folder: str | Path = ".",
    diameter_unit: str | None = None, grid: str | None = None, **site: Any,
) -> Record:  # fmt: skip
    """Begin a record.

    Parameters
    ----------
    name : of the site
    by : who looked
    on : day of the survey
    anchors, lines : each with the keys that the record's file has, such as `{"kind": "tree", "code": "T1"}`
    from_files : files to take trees from, as `siteassess new --from` does: waypoints, geotagged photos, inventories;
        how each was read, and every row that was not taken, is told to the log `siteassess`
    folder : the record will be written to; photos below it are named by their way from there
    diameter_unit : of columns of trunk sizes in those files that do not tell it: cm, mm, in, m or ft
    grid : EPSG code of positions in metres in those files that do not tell it
    site : further keys of the site, such as `country="GB"`

    Returns
    -------
    Record

    Raises
    ------
    FaultyInput : with every fault of what was given, or a file that cannot be read.

    Examples
    --------
    >>> trees = [{"kind": "tree", "code": code, "species": {"name": "oak"}} for code in ("T1", "T2")]
    >>> line = {"id": "L1", "use": "hammock", "a": {"anchor": "T1"}, "b": {"anchor": "T2"}}
    >>> new_park("Nowhere Green (invented)", "A. Surveyor", "2026-05-01", trees, [line], country="GB")
    <record of 'Nowhere Green (invented)', surveyed 2026-05-01: 2 anchors, 1 lines>
    """
    given, credit = list(anchors), dict[str, Any]()
    if from_files:
        from siteassess.survey.begun import begun

        record, told = begun(list(from_files), folder, diameter_unit=diameter_unit, grid=grid)
        codes = {str(one.get("code")) for one in given}
        given += [{**one, "code": code} for one, code in zip(record["anchors"], _free_codes(codes))]
        credit = {key: value for key, value in record["site"].items() if key == "credit"}
        for one in told:
            LOG.info(one.in_words())
    plain = {"siteassess_record": RECORD_FORMAT, "site": {"name": name, **credit, **site},
             "survey": {"by": by, "date": on}, "anchors": given, "lines": list(lines)}  # fmt: skip
    return _read_again(_plain(plain, "park"))


def _free_codes(taken: set[str]) -> Iterator[str]:
    return (code for code in (f"T{number}" for number in count(1)) if code not in taken)


def change(park: Record, path: str | Mapping[str, Any], value: Any = ...) -> Record:
    """A record with one thing changed, or several; all rules of reading hold.

    Parameters
    ----------
    park : stays as it is
    path : names from the outside in, such as "lines.L1.standing.tension", where a list's item is named by its code or
        counted from 0; or several such paths, each with its value
    value : as the record's file has it, so a size is a text with its unit; a mapping is a whole part, and one at the
        path of a new anchor or line adds it; None takes away. With several paths each has its own

    Returns
    -------
    Record

    Raises
    ------
    UnknownName : of all paths that lead to nothing, and what is near each; a path without a value.
    FaultyInput : with every fault of the changed record.

    Examples
    --------
    >>> park = read("mypark.yaml")
    >>> change(park, "lines.L1.standing.tension", "6 kN").line("L1").standing.tension.si
    6000.0
    >>> change(park, "lines.L1.standng.tension", "6 kN")
    Traceback (most recent call last):
    siteassess.errors.UnknownName: 'lines.L1.standng.tension': no 'standng' there; did you mean standing?
    """
    refuse_no_park(park)
    if isinstance(path, Mapping) is (value is not ...):
        raise UnknownName("a path wants its value, None to take away; of several paths each has its own in the mapping")
    plain, unknown = as_plain(park), list[str]()
    for one, to in (path.items() if isinstance(path, Mapping) else ((path, value),)):
        try:
            put(plain, one, _plain(to, one))
        except UnknownName as error:
            unknown.append(str(error))
    if unknown:
        raise UnknownName("\n".join(unknown))
    return _read_again(without_taken(plain))


def _plain(value: Any, path: Any) -> Any:
    """As the record's file would hold it."""
    try:
        plain = as_plain(value.tolist() if getattr(value, "ndim", 0) and hasattr(value, "tolist") else value)
        json.dumps(plain, default=str)
        if not _too_long(plain):
            return plain
    except (RecursionError, RuntimeError, TypeError, ValueError):  # holds itself, or nothing that a file could hold
        pass
    wanted = "what the record's file can hold: texts, plain numbers, lists and mappings"
    raise refused("park", str(path), type(value).__name__, wanted)


def _too_long(plain: Any) -> bool:
    """Whether a whole number in it has more digits than a file may."""
    if isinstance(plain, (dict, list)):
        return any(map(_too_long, plain.values() if isinstance(plain, dict) else plain))
    return isinstance(plain, int) and abs(plain) >= 10**MAX_DIGITS


def _read_again(plain: Any) -> Record:
    return record_with_rules(document_of(as_plain(plain)), "park").record


def write(park: Record, path: str | Path) -> None:
    """Write a record as YAML: only what was filled in, units as typed; a crash in mid-write leaves the old file.

    Parameters
    ----------
    park : whole
    path : of the file

    Raises
    ------
    OSError : the folder cannot be written to.
    """
    refuse_no_park(park)
    write_record(park, path)


def refuse_no_park(given: Any) -> None:
    """A path or an answer is easily given in place of a park.

    Parameters
    ----------
    given : to a function that takes a park

    Raises
    ------
    FaultyInput : it is none.
    """
    if not isinstance(given, Record):
        raise refused("siteassess", "park", type(given).__name__, "a record, as read(path) or new_park(...) gives it")


@dataclass(frozen=True, repr=False)
class ParkCheck:
    """What a check found; `found` holds all of it."""

    park: Record
    found: Checked

    @property
    def doubts(self) -> tuple[str, ...]:
        """Readings that look like a slip, in English."""
        return tuple(one.whole.in_words() for one in self.found.warnings)

    @property
    def pairs(self) -> pd.DataFrame:
        """How each pair's positions, tape and compass agree, one row a pair; columns end in their unit."""
        import pandas as pd

        return pd.DataFrame(self.to_dict()["pairs"])

    def to_dict(self) -> dict[str, Any]:
        """As `siteassess check --json`."""
        from siteassess.papers.as_json import jsonable

        return {"faults": [], **jsonable(self.found.as_dict())}

    def in_words(self, language: str = "en") -> str:
        """As `siteassess check` tells it.

        Parameters
        ----------
        language : to tell it in
        """
        from siteassess.papers.check_text import check_text

        return check_text(self.park.site.name, self.found, language)

    def __repr__(self) -> str:
        rejected = sum(one.geometry.level == "reject" for one in self.found.pairs)
        return (f"<check of {self.park.site.name!r}: {len(self.doubts)} doubtful readings, "
                f"{len(self.found.pairs)} pairs, {rejected} of them contradict>")


def check(park: Record) -> ParkCheck:
    """Look for doubtful readings, and whether positions, tape and compass agree.

    Parameters
    ----------
    park : as read

    Examples
    --------
    >>> check(read("mypark.yaml"))
    <check of 'Brindlewick Common (invented)': 0 doubtful readings, 7 pairs, 0 of them contradict>
    """
    from siteassess.advice.check import check_record

    refuse_no_park(park)
    return ParkCheck(park, check_record(park))
