"""A position with its standard error, and what stated accuracies mean.

The standard error is kept per axis (east and north), since that is what sums with tapes and compasses need. An
accuracy nobody stated stays unknown: it is None here and never becomes a number on its own.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from siteassess.errors import Fault, FaultyInput

# Radius of a circle holding that share of fixes, in per-axis standard errors (Rayleigh distribution; derived).
RADIUS_IN_SIGMAS = {
    "68 %": math.sqrt(-2.0 * math.log(1.0 - 0.68)),
    "95 %": math.sqrt(-2.0 * math.log(1.0 - 0.95)),
    "median": math.sqrt(2.0 * math.log(2.0)),
    "rms": math.sqrt(2.0),
    "per axis": 1.0,
}


@dataclass(frozen=True)
class Position:
    """Where something stands on WGS84 and how well that is known.

    `covariance_m2` holds the variance east, the covariance east-north and the variance north [m2]; None is unknown.
    """

    latitude_deg: float
    longitude_deg: float
    covariance_m2: tuple[float, float, float] | None = None
    how: str = ""

    @classmethod
    def at(cls, latitude_deg: float, longitude_deg: float, sigma_m: float | None = None, how: str = "") -> Position:
        """A position with the same standard error along both axes [m]; None or NaN where it is unknown."""
        refuse_sigma("position", sigma_m)
        known = sigma_m is not None and math.isfinite(sigma_m)
        covariance = (float(sigma_m) ** 2, 0.0, float(sigma_m) ** 2) if known else None
        return cls(float(latitude_deg), float(longitude_deg), covariance, how)

    @property
    def sigma_m(self) -> float:
        """Per-axis standard error, the quadratic mean of both axes; NaN where it is unknown [m]."""
        if self.covariance_m2 is None:
            return float("nan")
        return math.sqrt((self.covariance_m2[0] + self.covariance_m2[2]) / 2.0)

    def covariance(self) -> np.ndarray:
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
    """
    faults = []
    if meaning not in RADIUS_IN_SIGMAS:
        faults.append(Fault(0, "accuracy meaning", repr(meaning), " or ".join(f'"{m}"' for m in RADIUS_IN_SIGMAS)))
    if not (math.isfinite(radius_m) and radius_m > 0):
        faults.append(Fault(0, "accuracy", f"{radius_m} m", "a length above 0 m"))
    if faults:
        raise FaultyInput("accuracy", faults)
    return radius_m / RADIUS_IN_SIGMAS[meaning]


def refuse_sigma(what: str, sigma: float | None) -> None:
    """Raise on a standard error of zero or less: nothing is read without error, and sums divide by it."""
    if sigma is not None and sigma <= 0:
        raise FaultyInput(what, [Fault(0, f"standard error of the {what}", f"{sigma}", "a value above 0")])
