"""What every load case is made of: the line as numbers, the case, and the constants of both."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from siteassess.mechanics.arrays import Array, as_array
from siteassess.mechanics.cable import Solution, solve
from siteassess.mechanics.cable_many import solve_table
from siteassess.mechanics.profile import Profile
from siteassess.mechanics.stretch_table import StretchTable
from siteassess.reference.constants import constant
from siteassess.units import STANDARD_GRAVITY

UNNAMED_WALKER = constant("unnamed walker") * STANDARD_GRAVITY
RIGGING_PEAK = constant("rigging peak")
WALKED = constant("walked factor")
BOUNCED = constant("bounced factor")
LEASH_FALL = constant("leash fall factor")
QUICK_STIFFNESS = constant("quick stiffness")
BODY_ABOVE_LINE = constant("body above line")
LEASH = constant("measured leash")
LONG_LEASH = constant("long leash")
LEASH_EA = constant("unknown leash ea")
SECANT_AT = constant("secant at")
JUMP = constant("jump")
STUMBLE = constant("stumble")
BODY_UNDER_LEASH = constant("body under leash")
NEAREST_FALL = constant("nearest fall")
HAMMOCK_ANGLE = constant("hammock angle")
FLAT_HAMMOCK_ANGLE = constant("flat hammock angle")
MOST_STRETCH = constant("most stretch")
BACKUP_FLAG = constant("backup flag")
SCATTER_LOAD_CELL = constant("load cell ln sd")
SCATTER_ESTIMATE = constant("estimate ln sd")
LOADED_AT = np.linspace(0.02, 0.98, 49)
FIGURES = ("tension_a", "tension_b", "horizontal", "vertical_a", "vertical_b")


@dataclass(frozen=True)
class Basis:
    """What a figure rests on, or what was never measured: a code of the table `findings` and the values it names."""

    code: str
    values: tuple[tuple[str, float | str | Basis], ...] = ()


def basis(code: str, **values: float | str | Basis) -> Basis:
    """A code with its values: SI numbers, words, or a basis within a basis.

    Parameters
    ----------
    code : of the table `findings`
    **values : what its wording names [SI]
    """
    return Basis(code, tuple(values.items()))


@dataclass(frozen=True)
class LoadCase:
    """One load case. Tensions and pulls in N, lengths in m; NaN where it was not worked out."""

    name: str
    tension_a: float
    tension_b: float
    horizontal: float
    vertical_a: float  # positive: pulls the anchor down
    vertical_b: float
    drop: float
    """Greatest depth of the walker's point below anchor A, without any factor for steps; never under known ground."""
    basis: Basis
    sustained: bool = False  # true for what presses for hours
    calibrated: bool | None = None  # None: rests on statics alone; False: outside the measured lines, see `outside`
    outside: tuple[Basis, ...] = ()
    ln_sd: float = np.nan  # scatter of the demand, as the standard deviation of its logarithm
    reach: float = np.nan  # depth below anchor A of the feet of somebody who hangs in the leash
    ends_on_ground: bool = False  # true where the ground ends the drop, wherever along the line

    @classmethod
    def of(cls, name: str, state: Solution, basis: Basis) -> LoadCase:
        """The case of one static state, with its name and what it rests on."""
        a, b, level, down_a, down_b, drop = (float(getattr(state, figure)) for figure in (*FIGURES, "drop"))
        return cls(name, a, b, level, down_a, down_b, drop, basis)

    @property
    def tension(self) -> float:
        """The larger of the two anchor tensions [N]."""
        return max(self.tension_a, self.tension_b)


@dataclass(frozen=True)
class Floor:
    """Ground that is known to lie under a line, and that ends every drop."""

    ground: Profile
    tie_a: float  # height of tie A over the foot of A [m]
    unseen: float = 0.0  # how much lower it may lie somewhere than was said, for the loads alone [m]

    def depth(self, distance: ArrayLike) -> Array:
        """Of the ground under tie A at a distance from A [m]."""
        return as_array(self.tie_a - self.ground.at(distance))


@dataclass(frozen=True)
class LoadedLine:
    """The numbers every case works on."""

    span: float
    rise: float
    standing: float
    stiffness: float | StretchTable
    weight: float
    load: float
    floor: Floor | None = None
    several: bool = False  # whether more than one person is on it, who may hold it down at several places at once

    def at_tension(self, standing: float, load: float, at: ArrayLike) -> Solution:
        """The static state at a standing tension [N] under a load [N] at a place, as a fraction of the span from A [-].

        Raises
        ------
        OutsideModel : where there is none
        """
        if isinstance(self.stiffness, StretchTable):
            return solve_table(self.span, self.rise, standing, self.stiffness, self.weight, load, at).require()
        return solve(self.span, self.rise, standing, self.stiffness, self.weight, load, at).require()

    @property
    def secant(self) -> float:
        """The one stiffness the energy balances and the measured lines go by [N]."""
        return secant_of(self.stiffness)

    @property
    def quick_stiffness(self) -> float:
        """EA in a quick pull [N]."""
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
        return float(self.room(0.5 * self.span)) + self.rise / 2

    def room(self, distance: ArrayLike) -> Array:
        """Depth of known ground under tie A at a distance from A; infinite where none is known [m]."""
        return np.full(np.shape(distance), np.inf) if self.floor is None else self.floor.depth(distance)

    def pressed_to(self, distance: ArrayLike) -> Array:
        """`room` for the loads: as low as the ground may lie unseen [m]."""
        return as_array(self.room(distance) + (0.0 if self.floor is None else self.floor.unseen))

    def depth_below_a(self, depth: float) -> float:
        """Depth under the straight line at mid-span, counted from anchor A [m]."""
        return depth - self.rise / 2


def secant_of(stiffness: float | StretchTable) -> float:
    """The secant of a webbing at 10 kN, or at the last tension of a shorter table [N].

    Parameters
    ----------
    stiffness : its EA [N], or its table
    """
    if isinstance(stiffness, StretchTable):
        return stiffness.secant(min(SECANT_AT, stiffness.tension[-1]))
    return stiffness


def moved_along(line: LoadedLine, positions: ArrayLike = LOADED_AT) -> Solution:
    """The static state with the walker at every position, for pictures and for clearance.

    Parameters
    ----------
    line : with its walker
    positions : fractions of the span from A [-]
    """
    return line.at_tension(line.standing, line.load, positions)
