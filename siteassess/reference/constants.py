"""The numbers of ours that decide: rows of the table `constants`, each with its range, unit, flag and source.

The only file of this room that `mechanics` may know: a formula takes its own constants by name, and looks nothing up.
"""

from __future__ import annotations

from functools import cache
from typing import NoReturn

from siteassess.errors import UnknownName
from siteassess.reference.tables import Flag, rows


class Constant(float):
    """A number that a verdict rests on; it reckons as its value, and reports print it with where it comes from."""

    code: str  # what the program calls it
    name: str  # what reports call it
    low: float | None  # plausible range; None where none was found [unit]
    high: float | None
    unit: str  # of value and range; empty for a share or a count
    flag: Flag  # how it was come by
    source: str  # id of the table `sources`
    note: str  # what reports say of it

    def __new__(cls, value: float, **told: object) -> Constant:
        made = super().__new__(cls, value)
        vars(made).update(told)
        return made

    def __setattr__(self, name: str, value: object) -> NoReturn:
        raise AttributeError(f"a constant stays as it is: its row of the table says {name}")

    @property
    def value(self) -> float:
        """The number alone."""
        return float(self)

    @property
    def ends(self) -> tuple[float, float]:
        """Low and high end of the range [unit].

        Raises
        ------
        ValueError : the row names no range
        """
        if self.low is None or self.high is None:
            raise ValueError(f"the constant {self.code!r} has no range")
        return self.low, self.high


@cache
def _table() -> dict[str, Constant]:
    told = [row._asdict() for row in rows("constants")]
    return {row["code"]: Constant(row.pop("value"), **row) for row in told}


def constant(code: str) -> Constant:
    """The constant of a code, always the same object.

    Parameters
    ----------
    code : of a row of `data/constants.csv`

    Raises
    ------
    UnknownName : the table has no such code
    """
    try:
        return _table()[code]
    except KeyError:
        raise UnknownName(f"no constant {code!r} in constants.csv") from None


def constants(kind: str) -> dict[str, Constant]:
    """Constants of one kind, by what their codes say after it and a colon, in the order of the table.

    Parameters
    ----------
    kind : what the codes begin with, before the colon

    Returns
    -------
    By the rest of the code.

    Raises
    ------
    UnknownName : the table has none of that kind
    """
    found = {code.removeprefix(f"{kind}: "): one for code, one in _table().items() if code.startswith(f"{kind}: ")}
    if not found:
        raise UnknownName(f"no constants {kind!r} in constants.csv")
    return found
