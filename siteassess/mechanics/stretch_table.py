"""Webbing whose stretch is given as a table of tension and strain instead of one stiffness."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
from numpy.typing import ArrayLike

from siteassess.errors import OutsideModel
from siteassess.mechanics.arrays import Array, Flags, as_array


class StretchTable:
    """Strain of a webbing as a smooth, rising function of its tension.

    Parameters
    ----------
    tension : tensions in rising order [N]; no tension at no strain is put in front if missing
    strain : stretch per unstretched length at each tension, rising [-]

    Raises
    ------
    OutsideModel : where the table does not rise, or holds fewer than one row above zero

    Notes
    -----
    Between the rows runs a curve that keeps the table rising (piecewise cubic, Fritsch and Carlson). Past the last
    row it goes on straight; `covers` tells whether a tension lies within the table.
    """

    def __init__(self, tension: ArrayLike, strain: ArrayLike) -> None:
        # Here and not at the top: this import takes 0.4 s, and most lines are given by one stiffness.
        from scipy.interpolate import PchipInterpolator

        tension, strain = as_array(tension), as_array(strain)
        if tension.size and tension[0] > 0:
            tension, strain = np.concatenate(([0.0], tension)), np.concatenate(([0.0], strain))
        if tension.size < 2 or tension.shape != strain.shape or tension[0] != 0 or strain[0] != 0:
            raise OutsideModel("a stretch table needs rows of tension and strain, from no tension at no strain",
                               "stretch-table-without-rows")
        if not (np.all(np.diff(tension) > 0) and np.all(np.diff(strain) > 0)):
            raise OutsideModel("a stretch table must rise from row to row in tension and in strain",
                               "stretch-table-not-rising")
        self.tension, self.rows = tension, strain
        if tension.size > 2:
            self._curve: Callable[[Array], Array] = PchipInterpolator(tension, strain)
            self._slope: Callable[[Array], Array] = PchipInterpolator(tension, strain).derivative()
        else:
            self._curve = lambda t: t * (strain[1] / tension[1])
            self._slope = lambda t: np.full_like(t, strain[1] / tension[1])
        self._end_slope = float(self._slope(tension[-1:])[0])

    def strain(self, tension: ArrayLike) -> Array:
        """Strain at a tension [-]."""
        tension = as_array(tension)
        inside = np.clip(tension, 0.0, self.tension[-1])
        return as_array(self._curve(inside) + (tension - inside) * self._end_slope)

    def compliance(self, tension: ArrayLike) -> Array:
        """Growth of strain per newton at a tension [1/N]."""
        return as_array(self._slope(np.clip(as_array(tension), 0.0, self.tension[-1])))

    def secant(self, tension: float) -> float:
        """Tension over strain, the one stiffness that is right at this tension only [N]."""
        return float(tension / self.strain(tension))

    def covers(self, tension: ArrayLike) -> Flags:
        """True where the tension lies within the rows given."""
        return np.asarray(as_array(tension) <= self.tension[-1])
