"""What every load case is made of: the line as numbers, the case, and the constants of both."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from siteassess.mechanics.cable import Solution, solve
from siteassess.mechanics.cable_many import solve_table
from siteassess.mechanics.profile import Ground
from siteassess.mechanics.stretch_table import StretchTable
from siteassess.units import STANDARD_GRAVITY

UNNAMED_WALKER = 100.0 * STANDARD_GRAVITY  # [N] judgement: heavier than most, since nobody was weighed
RIGGING_PEAK = 1.25  # judgement: pulled past the standing tension to make up for what is lost at lock-off
WALKED = 1.2  # derived: with 1.1 one of the three measured lines stays low
BOUNCED = 1.6  # derived: measured 1.42 to 1.57 times the walked tension, rounded up
LEASH_FALL = 2.0  # derived: measured 1.71 to 1.90 times the walked tension, rounded up
QUICK_STIFFNESS = 1.5  # derived: webbing is stiffer in a quick pull; chosen on the same three lines
BODY_ABOVE_LINE = 1.0  # [m] judgement: centre of a standing body above the line
LEASH = 1.2  # [m] judgement
LONG_LEASH = 1.8  # [m] taken where nobody told its length: few are longer (judgement)
LEASH_EA = 250e3  # [N] of the stiffest kind in the table of leashes, where nobody said what it is made of
SECANT_AT = 10e3  # [N] the tension at which the measured lines' stretch is given (read)
JUMP = 0.4  # [m] over the unloaded line; judgement: young adults' standing jumps average 0.36 m (women), 0.56 m (men)
STUMBLE = 0.25  # [m] a walker's body drops before the knees catch it; judgement
BODY_UNDER_LEASH = 1.0  # [m] feet under the tie-in of somebody who hangs in a leash; judgement
NEAREST_FALL = 0.5  # [m] to an anchor that somebody who stands falls; judgement: nearer a hand is on the trunk
HAMMOCK_ANGLE = 30.0  # [deg] judgement
FLAT_HAMMOCK_ANGLE = 15.0  # [deg] where a tie was not read (judgement)
MOST_STRETCH = 0.30  # read: ultimate elongation of nylon fibre 25 to 35 %, polyester 15 to 25 %
BACKUP_FLAG = 20e3  # [N] read: backup events can pass this (Int. Slackline Association note, Nov 2020, 58 tests)
SCATTER_LOAD_CELL = 0.10  # ln sd, judgement
SCATTER_ESTIMATE = 0.20  # ln sd, judgement
POSITIONS = np.linspace(0.02, 0.98, 49)
FIGURES = ("tension_a", "tension_b", "horizontal", "vertical_a", "vertical_b")


@dataclass(frozen=True)
class Basis:
    """What a figure rests on, or what was never measured: a code of the table `findings` and the values it names."""

    code: str
    values: tuple[tuple[str, float | str | Basis], ...] = ()


def basis(code: str, **values: float | str | Basis) -> Basis:
    """A code with its values: SI numbers, words, or a basis within a basis."""
    return Basis(code, tuple(values.items()))


@dataclass(frozen=True)
class LoadCase:
    """One load case. Tensions and pulls in N, lengths in m; NaN where it was not worked out."""

    name: str
    tension_a: float
    tension_b: float
    horizontal: float
    vertical_a: float
    """Positive: pulls the anchor down."""
    vertical_b: float
    drop: float
    """Greatest depth of the walker's point below anchor A, without any factor for steps; never under known ground."""
    basis: Basis
    sustained: bool = False
    """True for what presses for hours."""
    calibrated: bool | None = None
    """None: rests on statics alone. False: outside the measured lines, see `outside`."""
    outside: tuple[Basis, ...] = ()
    ln_sd: float = np.nan
    """Scatter of the demand, as the standard deviation of its logarithm."""
    reach: float = np.nan
    """Depth below anchor A of the feet of somebody who hangs in the leash."""
    ends_on_ground: bool = False
    """True where the ground ends the drop, wherever along the line."""

    @classmethod
    def of(cls, name: str, state: Solution, basis: Basis) -> LoadCase:
        """The case of one static state."""
        return cls(name, *(float(getattr(state, figure)) for figure in (*FIGURES, "drop")), basis)

    @property
    def tension(self) -> float:
        return max(self.tension_a, self.tension_b)


@dataclass(frozen=True)
class Floor:
    """Ground that is known to lie under a line, and that ends every drop."""

    ground: Ground
    tie_a: float
    """Height of tie A over the foot of A [m]."""
    unseen: float = 0.0
    """How much lower it may lie somewhere than was said, for the loads alone [m]."""

    def depth(self, distance) -> np.ndarray:
        """Of the ground under tie A at a distance from A [m]."""
        return self.tie_a - self.ground.at(distance)


@dataclass(frozen=True)
class Line:
    """The numbers every case works on."""

    span: float
    rise: float
    standing: float
    stiffness: float | StretchTable
    weight: float
    load: float
    floor: Floor | None = None
    several: bool = False
    """Whether more than one person is on it, who may hold it down at several places at once."""

    def at_tension(self, standing: float, load: float, at) -> Solution:
        how = solve_table if isinstance(self.stiffness, StretchTable) else solve
        return how(self.span, self.rise, standing, self.stiffness, self.weight, load, at).require()

    @property
    def secant(self) -> float:
        """The one stiffness the energy balances and the measured lines go by: the secant at 10 kN [N]."""
        table = self.stiffness
        return table.secant(min(SECANT_AT, table.tension[-1])) if isinstance(table, StretchTable) else table

    @property
    def quick_stiffness(self) -> float:
        return QUICK_STIFFNESS * self.secant

    @property
    def quick(self) -> tuple[float | StretchTable, ...]:
        """The webbing in a quick pull; a table counts as itself and as its secant, of which the harder is asked [N]."""
        table = self.stiffness
        if not isinstance(table, StretchTable):
            return (self.quick_stiffness,)
        return self.quick_stiffness, StretchTable(QUICK_STIFFNESS * table.tension, table.rows)

    @property
    def room_at_mid_span(self) -> float:
        """Depth of known ground under the straight line there; infinite where none is known [m]."""
        return np.inf if self.floor is None else float(self.floor.depth(0.5 * self.span)) + self.rise / 2

    def depth_below_a(self, depth: float) -> float:
        """Depth under the straight line at mid-span, counted from anchor A [m]."""
        return depth - self.rise / 2


def sweep(line: Line, positions=POSITIONS) -> Solution:
    """The static state with the walker at every position, for pictures and for clearance."""
    return line.at_tension(line.standing, line.load, positions)
