"""How the answer moves with a thing of the record: one or two paths over their values."""

from __future__ import annotations

import datetime
import itertools
from collections.abc import Iterable, Mapping
from typing import TYPE_CHECKING, Any

from siteassess.advice.assess import assess as judged
from siteassess.api.answers import ParkAnswer, day_asked
from siteassess.api.park import change
from siteassess.api.paths import put
from siteassess.errors import Fault, FaultyInput, UnknownName
from siteassess.records.record import Record
from siteassess.records.writing import as_plain

if TYPE_CHECKING:
    import pandas as pd


def sweep(
    park: Record, path: str | Mapping[str, Iterable[Any]], values: Iterable[Any] = (), *, unit: str | None = None,
    line: str | None = None, on: str | datetime.date | None = None,
) -> pd.DataFrame:  # fmt: skip
    """Judge a park again and again with other values at a path, or at each pairing of the values of two paths.

    Parameters
    ----------
    park : stays as it is
    path : as `change` takes it, or several paths, each with its values
    values : what to put there one after another, texts with their unit or numbers
    unit : of values that are numbers, such as "kN"; of one path alone
    line, on : as `assess` takes them

    Returns
    -------
    One row a line and a value: the values under the name of their path, then the columns of the frame "lines", and
    `hold_use` and `care_use` of its harder used end.

    Raises
    ------
    UnknownName : nothing in a record is called that, one value in place of several, or a path was given its unit twice.
    FaultyInput : with every fault of a value.

    Examples
    --------
    >>> from siteassess.api.park import read
    >>> park = read("mypark.yaml")
    >>> found = sweep(park, "lines.L1.standing.tension", [1, 3, 6], unit="kN", line="L1")
    >>> list(found["verdict"])
    ['suits if', 'suits', 'suits if']
    """
    import pandas as pd

    if isinstance(path, Mapping) and (unit is not None or _several(values, "values")):
        raise UnknownName("with several paths each has its own values: write their units into them, as in '6 kN'")
    ways = {name: _several(several, name) for name, several in
            (path if isinstance(path, Mapping) else {path: values}).items()}  # fmt: skip
    _refuse_faulty(park, ways, unit)
    code, day, frames = None if line is None else str(line), day_asked(on), list["pd.DataFrame"]()
    for chosen in itertools.product(*ways.values()):
        chosen_now = {name: _with_unit(one, unit) for name, one in zip(ways, chosen)}
        answer = ParkAnswer(judged(change(park, chosen_now), line_id=code, on=day, looks=False))  # no column tells one
        frame = answer.to_frame("lines")
        uses = {name: [getattr(one, name) for one in answer.lines] for name in ("hold_use", "care_use")}
        frame = frame.assign(**{name: pd.Series(use, dtype=float) for name, use in uses.items()})
        for place, (name, one) in enumerate(zip(ways, chosen)):
            frame.insert(place, name, [as_plain(one)] * len(frame))
        frames.append(frame)
    return pd.concat(frames, ignore_index=True) if frames else pd.DataFrame(columns=list(ways))


def _several(values: Any, name: Any) -> list[Any]:
    if isinstance(values, (str, bytes, Mapping)) or not isinstance(values, Iterable):
        raise UnknownName(f"{name!r} wants several values, as in ['4 kN', '6 kN'], not {values!r}")
    return list(values)


def _refuse_faulty(park: Record, ways: Mapping[str, list[Any]], unit: str | None) -> None:
    """Tell a path that leads nowhere, and all values of a single path that do not fit, before anything is judged."""
    faults: list[Fault] = []
    for name, values in ways.items():
        if not values:
            put(as_plain(park), name, None)
        for one in values:
            try:
                change(park, name, _with_unit(one, unit))
            except FaultyInput as error:
                faults += error.faults
    if len(ways) == 1 and faults:  # of several paths one value may need another's
        raise FaultyInput("park", dict.fromkeys(faults))


def _with_unit(value: Any, unit: str | None) -> Any:
    return value if unit is None or isinstance(value, str) else f"{as_plain(value)} {unit}"
