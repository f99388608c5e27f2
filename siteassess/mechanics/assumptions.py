"""A number of ours that a verdict rests on, kept together with its range, its flag and its source."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

Flag = Literal["read", "derived", "judgement", "memory"]


@dataclass(frozen=True)
class Assumption:
    """One named model constant that reports print.

    `flag` says how the number was come by: read in the source, derived from read numbers, our judgement,
    or recalled from memory and not checked.
    """

    name: str
    value: float
    low: float
    high: float
    unit: str
    flag: Flag
    source: str

    def __float__(self) -> float:
        return float(self.value)

    def sentence(self) -> str:
        unit = f" {self.unit}" if self.unit else ""
        return (
            f"{self.name}: {self.value:g}{unit} (plausible {self.low:g} to {self.high:g}; "
            f"{self.flag}: {self.source})"
        )
