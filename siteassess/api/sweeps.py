"""How the answer moves with a thing of the record: one or two paths over their values."""

from __future__ import annotations

import datetime
import itertools
from collections.abc import Iterable, Mapping
from typing import TYPE_CHECKING, Any

from siteassess.api.answers import assess
from siteassess.api.park import change
from siteassess.errors import UnknownName
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
    UnknownName : nothing in a record is called that, or a path was given its unit twice.
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

    if isinstance(path, Mapping) and (unit is not None or list(values)):
        raise UnknownName("with several paths each has its own values: write their units into them, as in '6 kN'")
    ways = {name: list(several) for name, several in (path if isinstance(path, Mapping) else {path: values}).items()}
    frames = []
    for chosen in itertools.product(*ways.values()):
        put = {name: _with_unit(one, unit) for name, one in zip(ways, chosen)}
        answer = assess(change(park, put), line, on)
        frame = answer.to_frame("lines")
        uses = {name: [getattr(one, name) for one in answer.lines] for name in ("hold_use", "care_use")}
        frame = frame.assign(**{name: pd.Series(use, dtype=float) for name, use in uses.items()})
        for place, (name, one) in enumerate(zip(ways, chosen)):
            frame.insert(place, name, [as_plain(one)] * len(frame))
        frames.append(frame)
    return pd.concat(frames, ignore_index=True) if frames else pd.DataFrame(columns=list(ways))


def _with_unit(value: Any, unit: str | None) -> Any:
    return value if unit is None or isinstance(value, str) else f"{as_plain(value)} {unit}"
