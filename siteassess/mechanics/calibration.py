"""The three measured lines under every dynamic factor, and how well two of them tell the third.

One person of 57 kg, one load cell at one anchor, three lines. Nothing else with standing, walking, bouncing and
falling measured on the same line was found, so this is an indication, not a validation.

References
----------
.. [1] Volery, S., Forces in highlining, web article, undated, table (read). The standing tension of the 63 m line
   is printed ten times larger there and taken as a misprint, since the person's load stands on top of it.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache

import numpy as np

from siteassess.mechanics.cable import solve
from siteassess.mechanics.line_load import Basis, basis
from siteassess.reference.constants import constant
from siteassess.units import STANDARD_GRAVITY

WALKER_MASS = constant("measured walker")
MASS_BAND = constant("mass band")
CASES = ("walked", "bounced", "leash fall")


@dataclass(frozen=True)
class MeasuredLine:
    """Tensions at one anchor of one line [N]; span [m]; stiffness is the secant EA at 10 kN [N]."""

    name: str
    span: float
    stiffness: float
    standing: float
    walked: float
    bounced: float
    leash_fall: float
    bounce_frequency: float

    def measured(self, case: str) -> float:
        """Tension of one of `CASES` [N]."""
        return float(getattr(self, case.replace(" ", "_")))

    def static(self) -> float:
        """Tension worked out with the walker standing still at mid-span, the line taken as weightless [N]."""
        weight = WALKER_MASS * STANDARD_GRAVITY
        return float(solve(self.span, 0.0, self.standing, self.stiffness, 0.0, weight, 0.5).require().tension_a)


MEASURED_LINES = (
    MeasuredLine("63 m, stretchy webbing", 63.0, 10e3 / 0.18, 1500.0, 2400.0, 3600.0, 4300.0, 0.35),
    MeasuredLine("39 m, stretchy webbing", 39.0, 10e3 / 0.18, 1400.0, 2100.0, 3300.0, 4000.0, 0.46),
    MeasuredLine("41 m, low-stretch webbing", 41.0, 10e3 / 0.04, 1700.0, 3100.0, 4400.0, 5300.0, 0.56),
)


@dataclass(frozen=True)
class LeftOut:
    """One measured line predicted from the others."""

    line: str
    case: str
    factor: float  # factor on the static tension that the other lines give [-]
    predicted: float  # [N]
    measured: float  # [N]

    @property
    def error(self) -> float:
        """Predicted over measured, less one [-]."""
        return self.predicted / self.measured - 1


def leave_one_out() -> tuple[LeftOut, ...]:
    """Predict every line from the factors of the other lines: the honest error of a factor on the static tension."""
    rows = []
    for case in CASES:
        for left in MEASURED_LINES:
            others = [np.log(one.measured(case) / one.static()) for one in MEASURED_LINES if one is not left]
            factor = float(np.exp(np.mean(others)))
            rows.append(LeftOut(left.name, case, factor, factor * left.static(), left.measured(case)))
    return tuple(rows)


@cache
def leave_one_out_scatter(case: str) -> float:
    """Root mean square of the logarithms predicted over measured of one case [-]; from three lines only.

    Parameters
    ----------
    case : one of `CASES`
    """
    logs = [np.log(row.predicted / row.measured) for row in leave_one_out() if row.case == case]
    return float(np.sqrt(np.mean(np.square(logs))))


def outside_measured(span: float, stiffness: float, load: float) -> tuple[Basis, ...]:
    """Everything about a line that lies outside the measured lines; empty where nothing does.

    Parameters
    ----------
    span : of the line [m]
    stiffness : its EA [N]
    load : the walker's weight [N]
    """
    spans, stiffnesses = ([getattr(line, name) for line in MEASURED_LINES] for name in ("span", "stiffness"))
    ranges = (
        ("span-never-measured", span, min(spans), max(spans)),
        ("stiffness-never-measured", stiffness, min(stiffnesses), max(stiffnesses)),
        ("walker-never-measured", load / STANDARD_GRAVITY, WALKER_MASS * (1 - MASS_BAND),
         WALKER_MASS * (1 + MASS_BAND)),
    )
    return tuple(basis(code, value=value, low=low, high=high) for code, value, low, high in ranges
                 if not low * (1 - 1e-9) <= value <= high * (1 + 1e-9))
