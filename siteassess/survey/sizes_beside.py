"""Several columns of trunk sizes in one file: one is read, and the others are held against it.

A girth is pi diameters, as near as both were written; two diameters are alike. Where they are not, one of the columns
is something else: another day's, another stem's, another unit, or a girth under a diameter's name. Which of them is
nobody here knows, so it is told with a count.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from siteassess.reference.findings import Said, said
from siteassess.survey import cells
from siteassess.survey.cells import Floats
from siteassess.survey.guessing_sizes import size_columns, unit_in
from siteassess.survey.mapping import SIZE_UNITS, Size, SizeKind, column_key
from siteassess.survey.reading import Chunk
from siteassess.units import si_factor

ENOUGH_FOR_A_STEP = 10  # sizes that are all tens or fives, to take that for how they were rounded (judgement)
STEPS = (10.0, 5.0, 1.0, 0.5, 0.1, 0.05, 0.01, 0.005, 0.001, 0.0005, 0.0001)


@dataclass
class _Beside:
    name: str
    kind: SizeKind
    both: int = 0
    apart: int = 0


class SizesBeside:
    """The further columns of trunk sizes of a file, and on how many rows they contradict the one that is read.

    Parameters
    ----------
    header : names of the file's columns
    size : the column that is read; None where none is
    decimal : the file's decimal sign
    """

    def __init__(self, header: Sequence[str], size: Size | None, decimal: str):
        self.size, self.decimal = size, decimal
        read = {column_key(name) for name in size.column} if size else set()
        self._others = [_Beside(name, kind) for name, kind in size_columns(list(header))
                        if size and column_key(name) not in read]  # fmt: skip

    @property
    def names(self) -> list[str]:
        """The further columns."""
        return [one.name for one in self._others]

    def hold(self, chunk: Chunk, diameter: Floats) -> None:
        """Count the rows of a chunk that have both, and those that contradict each other.

        Parameters
        ----------
        chunk : with the further columns
        diameter : as read of the rows that could be split [m]
        """
        for one in self._others if self.size else ():
            text = cells.tidy(chunk.columns[one.name])
            if not len(text):
                continue
            told = unit_in(one.name)
            # without a unit of its own, it contradicts where no unit would make it agree
            ways = [self._apart(text, one.kind, unit, diameter) for unit in ((told,) if told else SIZE_UNITS)]
            both = ways[0] >= 0
            one.both += int(both.sum())
            one.apart += min(int((way > 0).sum()) for way in ways)

    def _apart(self, text: np.ndarray, kind: SizeKind, unit: str, diameter: Floats) -> np.ndarray:
        """Of each row 1 where the sizes contradict each other, 0 where they agree, -1 where one is not known."""
        assert self.size is not None
        across = np.pi if kind == "girth" else 1.0
        other = cells.lengths_m(text, unit, self.decimal)[0] / across
        own = np.pi if self.size.kind == "girth" else 1.0
        rounded = _step(other * across, unit) / 2 / across + _step(diameter * own, self.size.unit) / 2 / own
        with np.errstate(invalid="ignore"):
            known = (other > 0) & (diameter > 0)
            return np.where(known, (np.abs(other - diameter) > rounded * 1.001).astype(int), -1)

    def remarks(self) -> list[Said]:
        """What is told of each further column that contradicts."""
        read = self.size.column[0] if self.size else ""
        return [said("ds-sizes-apart", column=read, other=one.name, count=one.apart, of=one.both)
                for one in self._others if one.apart]  # fmt: skip


def _step(lengths: Floats, unit: str) -> Floats | float:
    """To what lengths [m] were rounded, in a unit: the coarsest step that all of them are whole numbers of [m]."""
    factor = si_factor("length", unit)
    values = lengths[np.isfinite(lengths) & (lengths > 0)] / factor
    coarse = len(values) >= ENOUGH_FOR_A_STEP
    for step in STEPS if coarse else STEPS[2:]:
        if np.allclose(values / step, np.round(values / step), rtol=0, atol=1e-6):
            return step * factor
    return STEPS[-1] * factor
