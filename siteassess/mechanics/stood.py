"""A tree that stands has passed a test: its capacity, given that it bore the crown's moment in a gust it has met.

Satisfactory past performance as evidence of capacity is the frame of ISO 13822 (assessment of existing structures,
clause from memory). The sums are Bayes' rule for a log-normal capacity and a log-normal test whose height is not known
exactly, since a crown's drag scatters.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike
from scipy.special import log_ndtr, ndtri

from siteassess.mechanics.arrays import Array, as_array, broadcast
from siteassess.mechanics.scatter import LOWER_FRACTILE
from siteassess.reference.constants import constant

LOW_YEARLY_GUST = constant("low yearly gust")
SHARE_AT_TREE = constant("gust share at tree")
STOOD_ASSUMPTIONS = (LOW_YEARLY_GUST, SHARE_AT_TREE)

_LOW = LOWER_FRACTILE
_STEPS = np.linspace(-7.0, 7.0, 561)  # of the standard normal deviate; agrees with twice as many to 3e-4 (tested)


def capacity_after_test(
    median: ArrayLike, ln_sd: ArrayLike, test_moment: ArrayLike, test_ln_sd: ArrayLike
) -> tuple[Array, Array]:
    """Median and scatter of a capacity that is known to have borne a test [N m], [ln].

    Parameters
    ----------
    median, ln_sd : of the capacity before [N m], [ln]
    test_moment, test_ln_sd : median and scatter of what it bore [N m], [ln]

    Returns
    -------
    median, ln_sd : ndarray
        Of the log-normal with the same median and the same 5 % value as the capacity after the test. Unchanged where
        no test is known (NaN or 0); NaN where the capacity is not known.

    Notes
    -----
    The density after is that before times the probability that the test was smaller, so a larger test or a larger
    capacity before never lowers any fractile (monotone likelihood ratio). Summed on 561 points.
    """
    median, ln_sd, test, test_sd = broadcast(median, ln_sd, test_moment, test_ln_sd)
    bell = np.exp(-0.5 * _STEPS**2)
    with np.errstate(invalid="ignore", divide="ignore", over="ignore"):
        over_test = (np.log(median / test)[..., None] + ln_sd[..., None] * _STEPS) / test_sd[..., None]
        tested_bell = bell * np.exp(log_ndtr(over_test))
        # what the test moved, on the same points, so that what it moved by nothing stays exactly where it was
        middle, low = (_deviate(tested_bell, share) - _deviate(bell, share) + ndtri(share) for share in (0.5, _LOW))
        after = median * np.exp(ln_sd * middle)
        scatter = ln_sd * (middle - low) / -ndtri(_LOW)
    tested = (test > 0) & np.isfinite(test_sd) & np.isfinite(after) & (ln_sd > 0)
    return np.where(tested, after, median), np.where(tested, scatter, ln_sd)


def _deviate(density: Array, share: float) -> Array:
    """Deviate below which a share of a density lies, between the two points around it."""
    steps = np.cumsum(density[..., 1:] + density[..., :-1], axis=-1)
    cumulated = np.concatenate([np.zeros((*steps.shape[:-1], 1)), steps], axis=-1) / steps[..., -1:]
    above = np.clip(np.sum(cumulated < share, axis=-1), 1, _STEPS.size - 1)
    low, high = (np.take_along_axis(cumulated, at[..., None], -1)[..., 0] for at in (above - 1, above))
    return as_array(_STEPS[above - 1] + (_STEPS[1] - _STEPS[0]) * (share - low) / (high - low))
