"""How numbers go in and out of the formulas of this room.

In goes whatever numpy takes for numbers (`ArrayLike`), out comes an array of floats (`Array`) of the broadcast shape,
0-d for plain numbers: numpy makes a scalar of what it reckons from 0-d arrays, so a formula hands its answer through
`as_array`. Who wants one number says `float(...)`.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

from siteassess.errors import OutsideModel

Array = NDArray[np.float64]
Flags = NDArray[np.bool_]
RowNumbers = NDArray[np.intp]


def as_array(values: ArrayLike) -> Array:
    """Numbers as an array of floats, 0-d for a plain one [unit of the numbers].

    Parameters
    ----------
    values : one number or many, in whatever numpy takes for an array [any unit]
    """
    return np.asarray(values, dtype=float)


def broadcast(*values: ArrayLike) -> tuple[Array, ...]:
    """Numbers as arrays of floats of one shape [unit of the numbers]; read them only, since they may share memory.

    Parameters
    ----------
    *values : numbers whose shapes fit together [any unit]

    Raises
    ------
    ValueError : where the shapes do not fit together

    Examples
    --------
    >>> [part.shape for part in broadcast([[1.0], [2.0]], [1.0, 2.0, 3.0])]
    [(2, 3), (2, 3)]
    """
    return tuple(np.broadcast_arrays(*map(as_array, values)))


def positive(what: str, values: ArrayLike) -> Array:
    """Numbers as an array, each of them above zero and finite [unit of the numbers].

    Parameters
    ----------
    what : its name, for the message
    values : NaN passes [any unit]

    Raises
    ------
    OutsideModel : where one is zero, negative or infinite
    """
    array = as_array(values)
    if np.any(array <= 0.0) or np.any(np.isinf(array)):
        raise OutsideModel(f"{what} must be positive and finite, got {array}", "not-positive", what=what, got=values)
    return array


def not_negative(what: str, values: ArrayLike) -> Array:
    """Numbers as an array, none of them negative or infinite [unit of the numbers].

    Parameters
    ----------
    what : its name, for the message
    values : NaN passes [any unit]

    Raises
    ------
    OutsideModel : where one is negative or infinite
    """
    array = as_array(values)
    if np.any(array < 0.0) or np.any(np.isinf(array)):
        raise OutsideModel(f"{what} must not be negative or infinite, got {array}", "negative", what=what, got=values)
    return array
