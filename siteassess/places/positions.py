"""A position with its standard error, and what stated accuracies mean.

The standard error is kept per axis (east and north), since that is what sums with tapes and compasses need. An
accuracy nobody stated stays unknown: it is None here and never becomes a number on its own.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from scipy.special import chdtrc  # the chi-square tail without the third of a second scipy.stats takes to load

from siteassess.errors import Fault, FaultyInput
from siteassess.places.geodesy import Array, LocalFrame, destination
from siteassess.reference.constants import constant
from siteassess.reference.findings import worded

# Radius of a circle holding that share of fixes, in per-axis standard errors (Rayleigh distribution; derived).
RADIUS_IN_SIGMAS = {
    "68 %": math.sqrt(-2.0 * math.log(1.0 - 0.68)), "95 %": math.sqrt(-2.0 * math.log(1.0 - 0.95)),
    "median": math.sqrt(2.0 * math.log(2.0)), "rms": math.sqrt(2.0), "per axis": 1.0,
}
SAME_RECEIVER_CORRELATION = constant("same receiver correlation")


@dataclass(frozen=True)
class Located:
    """Where something stands on WGS84 and how well that is known.

    `covariance_m2` holds the variance east, the covariance east-north and the variance north [m2]; None is unknown.
    `apart_m` is how far apart the readings lie that it was got from, where they scatter more than their errors allow.
    """

    latitude_deg: float
    longitude_deg: float
    covariance_m2: tuple[float, float, float] | None = None
    how: str = ""
    apart_m: float | None = None

    @classmethod
    def at(cls, latitude_deg: float, longitude_deg: float, sigma_m: float | None = None, how: str = "") -> Located:
        """A position with the same standard error along both axes [m]; None or NaN where it is unknown."""
        refuse_sigma("position", sigma_m)
        variance = math.nan if sigma_m is None else float(sigma_m) ** 2
        covariance = (variance, 0.0, variance) if math.isfinite(variance) else None
        return cls(float(latitude_deg), float(longitude_deg), covariance, how)

    @property
    def sigma_m(self) -> float:
        """Per-axis standard error, the quadratic mean of both axes; NaN where it is unknown [m]."""
        if self.covariance_m2 is None:
            return float("nan")
        return math.sqrt((self.covariance_m2[0] + self.covariance_m2[2]) / 2.0)

    def covariance(self) -> Array:
        """Covariance of (east, north), shape (2, 2); NaN where it is unknown [m2]."""
        if self.covariance_m2 is None:
            return np.full((2, 2), np.nan)
        east, both, north = self.covariance_m2
        return np.array([[east, both], [both, north]])


def axis_sigma(radius_m: float, meaning: str) -> float:
    """Per-axis standard error behind a stated horizontal accuracy.

    Parameters
    ----------
    radius_m : the figure stated by the receiver or the survey [m]
    meaning : what it stands for: "68 %" or "95 %" (radius of the circle holding that share of fixes), "median"
        (half of them), "rms" (root mean square of the distance from the truth), "per axis" (already what is wanted)

    Returns
    -------
    The standard error along one axis [m].

    Raises
    ------
    FaultyInput : another meaning, or a radius that is not a positive number.

    Notes
    -----
    Assumes errors alike in all directions. Phones state 68 % (one large maker's documentation, read) or 95 % (a web
    standard, memory): ask which. Where nobody knows, "median" is the widest reading of the same figure.

    Examples
    --------
    A circle of radius r holds 1 - exp(-r^2 / 2) of the fixes, in standard errors; by hand sqrt(-2 ln 0.05) for 95 %:

    >>> round(axis_sigma(2.4477, "95 %"), 4), round(axis_sigma(1.1774, "median"), 4)
    (1.0, 1.0)

    Twice the root mean square is 2.4 times the median (US National Research Council 1995, The Global Positioning
    System, definitions of accuracy, read):

    >>> f"{2 * axis_sigma(1.0, 'median') / axis_sigma(1.0, 'rms'):.1f}"
    '2.4'
    """
    faults = []
    if meaning not in RADIUS_IN_SIGMAS:
        wanted = worded("want-one-of", choices=tuple(RADIUS_IN_SIGMAS))
        faults.append(Fault(0, "accuracy_means", repr(meaning), wanted))
    if not (math.isfinite(radius_m) and radius_m > 0):
        faults.append(Fault(0, "accuracy", f"{radius_m} m", worded("want-length-above-0")))
    if faults:
        raise FaultyInput("accuracy", faults)
    return radius_m / RADIUS_IN_SIGMAS[meaning]


def from_landmark(
    origin: Located, distance_m: float, bearing_true_deg: float, distance_sigma_m: float, bearing_sigma_deg: float,
    how: str = "",
) -> Located:
    """A position by tape and bearing from a known one, with the ellipse that tape and compass leave.

    Parameters
    ----------
    origin : the landmark or anchor measured from
    distance_m, bearing_true_deg : horizontal distance [m] and true bearing there [deg]
    distance_sigma_m, bearing_sigma_deg : their standard errors [m], [deg]
    how : how it was got

    Returns
    -------
    Position, of unknown accuracy where the origin's is unknown.

    Raises
    ------
    OutsideModel : a latitude within half a degree of a pole.

    Examples
    --------
    100 m east on the equator, 0.3 m and 1 degree; by hand variances of 1 + 0.3^2 east, 1 + (100 pi / 180)^2 north:

    >>> place = from_landmark(Located.at(0.0, 0.0, 1.0), 100.0, 90.0, 0.3, 1.0)
    >>> [round(variance, 4) for variance in place.covariance_m2[::2]]
    [1.09, 4.0462]

    From Flinders Peak to Buninyong, 37 39 10.1561 S, 143 55 35.3839 E (Geoscience Australia's worked line, copies
    read), to the printed hundred-thousandth of a second:

    >>> flinders = Located.at(-37.95103341667, 144.42486788889, 0.1)
    >>> place = from_landmark(flinders, 54972.271, 306.868158333, 0.01, 0.001)
    >>> f"{place.latitude_deg:.6f} {place.longitude_deg:.6f}"
    '-37.652821 143.926496'
    """
    latitude, longitude = destination(origin.latitude_deg, origin.longitude_deg, bearing_true_deg, distance_m)
    turn = math.radians(bearing_true_deg)
    ahead, aside = np.array([math.sin(turn), math.cos(turn)]), np.array([math.cos(turn), -math.sin(turn)])
    sideways = distance_m * math.radians(bearing_sigma_deg)
    own = distance_sigma_m**2 * np.outer(ahead, ahead) + sideways**2 * np.outer(aside, aside)
    return Located(latitude, longitude, _packed(origin.covariance() + own), how)


def mean_of_fixes(fixes: Sequence[Located], correlation: float = SAME_RECEIVER_CORRELATION) -> Located:
    """One position from repeated fixes of the same place, weighted by their covariances.

    Parameters
    ----------
    fixes : at least one; all with a known standard error, or all without
    correlation : share of the error that all fixes have in common, 0 to 1 [-]. Fixes by one receiver on one day share
        much of it (the reflections off the same trees), so averaging does not remove that part.

    Returns
    -------
    Position. Where the fixes scatter more than their standard errors allow (99 %), the result's is widened by that
    ratio, and how far apart they lie is told. With no standard error known the mean is plain and its error unknown.

    Raises
    ------
    FaultyInput : no fix, known and unknown errors mixed, or a correlation outside 0 to 1.

    Notes
    -----
    The default correlation 0.5 is a judgement; 0 would promise that ten minutes of phone fixes are a survey.

    Examples
    --------
    Four fixes of 3 m in one place, with nothing, half and all of the error shared, by hand 3 / sqrt 4,
    sqrt(9 / 8 + 9 / 2) and 3 m:

    >>> fixes = 4 * [Located.at(0.0, 0.0, 3.0)]
    >>> [round(mean_of_fixes(fixes, shared).sigma_m, 4) for shared in (0.0, 0.5, 1.0)]
    [1.5, 2.3717, 3.0]

    Lengths of 242.15, 242.16 and 242.14 with weight 2 and of 242.05, 242.29 and 242.38 with weight 1 average to 242.180
    (Mahun, Open Access Lessons: Surveying, chapter "Weight a minute", read), where one is misprinted. Here as
    millionths of a degree:

    >>> read = [(242.15, 1), (242.16, 1), (242.14, 1), (242.05, 2), (242.29, 2), (242.38, 2)]
    >>> fixes = [Located.at(length / 1e6, 0.0, variance**0.5) for length, variance in read]
    >>> f"{mean_of_fixes(fixes, 0.0).latitude_deg * 1e6:.3f}"
    '242.180'
    """
    known = [fix.covariance_m2 is not None for fix in fixes]
    if not fixes or any(known) != all(known) or not 0.0 <= correlation <= 1.0:
        read = worded("read-fixes", count=len(fixes), correlation=correlation)
        raise FaultyInput("fixes", [Fault(0, worded("some-fixes"), read, worded("want-fixes-alike"))])
    if len(fixes) == 1:
        return fixes[0]
    frame = LocalFrame.around([f.latitude_deg for f in fixes], [f.longitude_deg for f in fixes])
    points = np.column_stack(frame.to_metres([f.latitude_deg for f in fixes], [f.longitude_deg for f in fixes]))
    if not all(known):
        latitude, longitude = frame.to_degrees(*points.mean(axis=0))
        return Located.at(latitude, longitude, None, worded("mean-of-fixes", count=len(fixes)))
    covariances = np.array([f.covariance() for f in fixes])
    weights = np.linalg.inv(covariances)
    combined = np.linalg.inv(weights.sum(axis=0))
    mean = combined @ np.einsum("nij,nj->i", weights, points)
    # the part all fixes share stays; only the rest averages out
    covariance = (1.0 - correlation) * combined + correlation * combined @ _shared(weights, covariances) @ combined
    off = points - mean
    scatter = float(np.einsum("ni,nij,nj->", off, weights, off))
    dof = 2 * (len(fixes) - 1)
    apart = None
    if chdtrc(dof, scatter) < 0.01:
        covariance = covariance * (scatter / dof)
        apart = float(np.linalg.norm(points[:, None] - points, axis=2).max())
    latitude, longitude = frame.to_degrees(*mean)
    return Located(latitude, longitude, _packed(covariance), worded("weighted-mean-of-fixes", count=len(fixes)), apart)


def _shared(weights: Array, covariances: Array) -> Array:
    """Spread of the weighted sum of fixes whose errors go wholly together."""
    values, vectors = np.linalg.eigh(covariances)
    roots = np.einsum("nij,nj,nkj->nik", vectors, np.sqrt(values), vectors)
    together: Array = np.einsum("nij,njk->ik", weights, roots)
    return together @ together.T


def _packed(covariance: Array) -> tuple[float, float, float] | None:
    if not np.isfinite(covariance).all():
        return None
    return float(covariance[0, 0]), float(covariance[0, 1]), float(covariance[1, 1])



def refuse_sigma(what: str, sigma: float | None) -> None:
    """Raise on a standard error of zero or less: nothing is read without error, and sums divide by it.

    Parameters
    ----------
    what : was read, for the message
    sigma : its standard error, None where it is unknown [unit of the reading]

    Raises
    ------
    FaultyInput : zero or less.
    """
    if sigma is not None and sigma <= 0:
        raise FaultyInput(what, [Fault(0, worded("standard-error-of", what=what), f"{sigma}", worded("want-above-0"))])
