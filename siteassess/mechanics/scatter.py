"""Scatter: log-normal capacities and demands, allowable values, probabilities and what matters most.

Capacities and demands are products of uncertain numbers, so their logarithms add and a log-normal is the
simple honest shape: never negative, and a single spread (`ln_sd`, standard deviation of the natural
logarithm) says how sure we are.
"""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np
from numpy.typing import ArrayLike
from scipy.special import ndtr, ndtri

from siteassess.mechanics.arrays import Array, as_array, broadcast
from siteassess.reference.constants import constant, constants

LOWER_FRACTILE = constant("lower fractile")
DIVISOR_GROUND_LINE = constant("divisor ground line")
DIVISOR_HIGH_LINE = constant("divisor high line")
READING_LN_SD = {tuple(how.split(", ")): one for how, one in constants("reading ln sd").items()}
"""How far off a reading may be by how it was got; widens the scatter through its local exponent."""


def percentile(median: ArrayLike, ln_sd: ArrayLike, probability: ArrayLike) -> Array:
    """Value that a log-normal stays under with the given probability [unit of the median].

    Parameters
    ----------
    median : median, not negative [any unit]
    ln_sd : standard deviation of the logarithm, not negative [ln]
    probability : between 0 and 1 [-]

    Returns
    -------
    NaN where any input is NaN, the median negative, or the scatter negative.

    Examples
    --------
    The normal deviate of 95 % is 1.6449 (any table of the normal distribution), so exp(0.1 x 1.6449):

    >>> f"{percentile(1.0, 0.1, 0.95):.4f}"
    '1.1788'
    """
    median, ln_sd = as_array(median), as_array(ln_sd)
    with np.errstate(invalid="ignore"):
        value = median * np.exp(ln_sd * ndtri(probability))
        return np.where((median >= 0.0) & (ln_sd >= 0.0), value, np.nan)


def five_percent_value(median: ArrayLike, ln_sd: ArrayLike) -> Array:
    """Value that 95 of 100 exceed [unit of the median].

    Parameters
    ----------
    median, ln_sd : as in `percentile` [any unit], [ln]

    Examples
    --------
    The normal deviate of 5 % is -1.6449 (any table of the normal distribution), so exp(-0.2 x 1.6449):

    >>> f"{five_percent_value(1.0, 0.2):.4f}"
    '0.7197'
    """
    return percentile(median, ln_sd, LOWER_FRACTILE)


def allowable(median: ArrayLike, ln_sd: ArrayLike, divisor: ArrayLike = DIVISOR_GROUND_LINE) -> Array:
    """5 % value over a divisor of at least one [unit of the median]; NaN for a divisor under one.

    Parameters
    ----------
    median, ln_sd : as in `percentile` [any unit], [ln]
    divisor : of the 5 % value [-]
    """
    divisor = as_array(divisor)
    with np.errstate(invalid="ignore"):
        return np.where(divisor >= 1.0, five_percent_value(median, ln_sd) / divisor, np.nan)


def combined_ln_sd(*ln_sds: ArrayLike) -> Array:
    """Scatter of a product of independent factors [ln]: root of the sum of squares.

    Parameters
    ----------
    *ln_sds : scatter of each factor [ln]

    Examples
    --------
    By hand:

    >>> round(float(combined_ln_sd(0.3, 0.4)), 9)
    0.5
    """
    total = as_array(0.0)
    for ln_sd in ln_sds:
        total = total + np.square(as_array(ln_sd))
    return as_array(np.sqrt(total))


def exceedance_probability(
    demand_median: ArrayLike, demand_ln_sd: ArrayLike, capacity_median: ArrayLike, capacity_ln_sd: ArrayLike
) -> Array:
    """Probability that an independent log-normal demand exceeds a log-normal capacity [-].

    Parameters
    ----------
    demand_median, capacity_median : medians, not negative [same unit]
    demand_ln_sd, capacity_ln_sd : scatters [ln]

    Returns
    -------
    0 where the demand is 0 and the capacity positive, 1 where the capacity is 0 and the demand positive; NaN where an
    input is NaN or negative, or both medians are 0. Without any scatter a demand equal to the capacity counts as one
    half.

    Examples
    --------
    Medians 1.6449 joint scatters of 0.5 apart: 5 % (any table of the normal distribution).

    >>> f"{exceedance_probability(1.0, 0.3, np.exp(1.6449 * 0.5), 0.4):.3f}"
    '0.050'
    """
    demand, d_sd, capacity, c_sd = broadcast(demand_median, demand_ln_sd, capacity_median, capacity_ln_sd)
    bad = ~((demand >= 0) & (capacity >= 0) & (d_sd >= 0) & (c_sd >= 0)) | ((demand == 0) & (capacity == 0))
    with np.errstate(divide="ignore", invalid="ignore"):
        gap = np.log(demand) - np.log(capacity)
        spread = np.hypot(d_sd, c_sd)
        score = np.where(spread > 0, gap / spread, np.where(gap == 0, 0.0, np.inf * np.sign(gap)))
    return np.where(bad, np.nan, ndtr(score))


# 64 nodes: agrees with sampling and with 128 nodes to 1e-9 for the scatters used here (tested).
_NODES, _WEIGHTS = np.polynomial.hermite_e.hermegauss(64)
_WEIGHTS = _WEIGHTS / _WEIGHTS.sum()


def any_exceeds_shared_demand(
    demand_medians: ArrayLike, shared_ln_sd: ArrayLike, capacity_medians: ArrayLike, capacity_ln_sds: ArrayLike
) -> Array:
    """Probability that at least one limit is exceeded when one uncertain factor scales every demand [-].

    This is the case of a pair: both trees carry the same line, so a stronger pull than foreseen meets both.

    Parameters
    ----------
    demand_medians, capacity_medians, capacity_ln_sds : one entry per limit on the last axis [same unit; ln]
    shared_ln_sd : scatter of the common factor [ln]; broadcasts against the leading axes
    """
    demand, capacity, c_sd = broadcast(demand_medians, capacity_medians, capacity_ln_sds)
    factor = np.exp(as_array(shared_ln_sd)[..., None] * _NODES)
    single = exceedance_probability(demand[..., None] * factor[..., None, :], 0.0, capacity[..., None], c_sd[..., None])
    return as_array(np.sum(_WEIGHTS * (1.0 - np.prod(1.0 - single, axis=-2)), axis=-1))


def variance_shares(inputs: Mapping[str, tuple[float, float]]) -> dict[str, float]:
    """Share of the variance of a product of powers that each input brings, largest first [-].

    Parameters
    ----------
    inputs : mapping of name to (exponent, ln_sd) [-, ln]
        A product a^p b^q has variance (p sd_a)^2 + (q sd_b)^2 of its logarithm.

    Returns
    -------
    Shares adding to 1, in falling order (equal shares by name); all 0 where nothing scatters; all NaN where any scatter
    is NaN.

    Examples
    --------
    By hand 0.3^2 and 0.4^2 of 0.5^2:

    >>> {name: round(share, 2) for name, share in variance_shares({"d": (3.0, 0.1), "h": (1.0, 0.4)}).items()}
    {'h': 0.64, 'd': 0.36}
    """
    squares = {name: (exponent * ln_sd) ** 2 for name, (exponent, ln_sd) in inputs.items()}
    total = sum(squares.values())
    if total == 0:
        return dict.fromkeys(sorted(squares), 0.0)
    return {name: squares[name] / total for name in sorted(squares, key=lambda n: (-squares[n], n))}
