"""Webbings joined end to end, taken as one webbing that stretches as all of them together do.

The tension hardly changes along a walked line, so the stretches of the pieces add by their shares of the length. Only
where along the line the weight and the stretch sit is lost. `cable_many.solve_joined` keeps both and is the check:
over 30 to 150 m, at 1.5 kN and more, nylon with polyester or polyethylene, the tensions differ by under 0.7 %
(derived; tests/mechanics/test_line_series.py).

References
----------
1. NCERT, Physics XI, worked examples on mechanical properties of solids (read in copies).
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import ArrayLike

from siteassess.errors import OutsideModel
from siteassess.mechanics.arrays import Array, as_array
from siteassess.mechanics.stretch_table import StretchTable

ROWS = 25
SERIES_ROUNDS = 4


def strain_at(stiffness: float | StretchTable, tension: ArrayLike) -> Array:
    """Stretch of a webbing at a tension [-].

    Parameters
    ----------
    stiffness : EA [N], or a table
    tension : in the webbing [N]

    Examples
    --------
    A metre of steel rod of 10 mm radius, 200 GPa, gives by 1.59 mm under 100 kN [1]_:

    >>> f"{strain_at(200e9 * np.pi * 0.010**2, 100e3) * 1e3:.2f}"
    '1.59'
    """
    return stiffness.strain(tension) if isinstance(stiffness, StretchTable) else as_array(as_array(tension) / stiffness)


def in_series(shares: Sequence[float], stiffnesses: Sequence[float | StretchTable]) -> float | StretchTable:
    """The one stiffness, or stretch table, of webbings in series.

    Parameters
    ----------
    shares : of the whole unstretched length, summing to 1 [-]
    stiffnesses : EA of each [N], or its table

    Returns
    -------
    EA [N], or a table where one of them is.

    Raises
    ------
    OutsideModel : where the shares are not above zero or do not sum to 1

    Examples
    --------
    2.2 m of copper and 1.6 m of steel wire of 3 mm, 110 and 200 GPa, stretched by 0.70 mm: 1.8 x 10^2 N [1]_:

    >>> area = np.pi * 0.0015**2
    >>> f"{0.70e-3 / 3.8 * in_series([2.2 / 3.8, 1.6 / 3.8], [110e9 * area, 200e9 * area]):.1e}"
    '1.8e+02'
    """
    if not len(shares) == len(stiffnesses) > 0 or min(shares) <= 0 or not np.isclose(sum(shares), 1.0):
        raise OutsideModel("the pieces of a joined line need shares above zero that sum to one",
                           "joined-shares-wrong")
    ends = [s.tension[-1] for s in stiffnesses if isinstance(s, StretchTable)]
    tension = np.linspace(0, min(ends), ROWS)[1:] if ends else as_array(1.0)
    strain = as_array(np.sum([share * strain_at(law, tension) for share, law in zip(shares, stiffnesses)], axis=0))
    return StretchTable(tension, strain) if ends else float(1 / strain)


def shares_of(
    chord: float, standing: float, lengths: Sequence[float | None], stiffnesses: Sequence[float | StretchTable]
) -> tuple[float, ...]:
    """Share of each piece in the unstretched length between the anchors [-].

    Parameters
    ----------
    chord : straight distance between the anchors [m]
    standing : tension it stands at; 0 where unknown [N]
    lengths : slack length of each piece between the anchors; one may be None, the rest of the line [m]
    stiffnesses : EA of each [N], or its table

    Raises
    ------
    OutsideModel : where more than one length is unknown, or the known ones leave nothing for the rest
    """
    known = sum(length for length in lengths if length is not None)
    unknown = [i for i, length in enumerate(lengths) if length is None]
    if len(unknown) > 1:
        raise OutsideModel("of the pieces of a joined line, only one may be without a length",
                           "joined-two-without-length")
    if not all(length is None or length > 0 for length in lengths):
        raise OutsideModel("a piece of a joined line has no length at all", "joined-piece-of-no-length")
    if not unknown:
        return tuple(length / known for length in lengths if length is not None)
    whole = chord
    for _ in range(SERIES_ROUNDS):
        if whole <= known:
            raise OutsideModel("the pieces with a length leave nothing for the rest; count only what hangs free",
                               "joined-nothing-left")
        shares = tuple((whole - known if length is None else length) / whole for length in lengths)
        whole = chord / (1 + sum(s * float(strain_at(law, standing)) for s, law in zip(shares, stiffnesses)))
    return shares
