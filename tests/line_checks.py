"""Level lines by small-sag formulas that know nothing of the exact solver, and single falls at mid-span."""

import numpy as np

from siteassess.mechanics import dynamics as dyn
from siteassess.units import STANDARD_GRAVITY


def irvine_pull(span, standing, stiffness, weight, load, at):
    """Horizontal pull under one load by the cubic of a hanging cable, for a sag under an eighth of the span [N].

    Irvine, H. M. and Sinclair, G. B., 1976, Int. J. Solids Struct. 12:309 (form from memory, derived again).
    """
    total = weight * span
    share = total / standing
    square = share**2 * stiffness / standing / (1 + share**2 / 8)
    loads = load * (total + load) / standing**2 * stiffness / standing / (1 + share**2 / 8)
    return standing * (1 + _positive_root([1, 2 + square / 24, 1 + square / 12, -0.5 * at * (1 - at) * loads]))


def weightless_pull(standing, stiffness, load, at):
    """Root of H^2 (H - H0) = EA P^2 x (1 - x) / 2; the span drops out [N]."""
    return _positive_root([1, -standing, 0, -0.5 * stiffness * load**2 * at * (1 - at)])


def _positive_root(coefficients):
    roots = np.roots(coefficients)
    return roots[np.abs(roots.imag) < 1e-9 * np.abs(roots).max()].real.max()


def sudden_load(span, standing, stiffness, load, height=0.0):
    """Peak of a weight put on a taut line at once, or dropped on it [m, N, N, N, m]."""
    return dyn.catch(span, dyn.taut_length(span, standing, stiffness), stiffness, load, free_fall=height)


def leash_fall(span, standing, stiffness, load, fall, leash):
    """Peak of a fall into a leash [N/m] from a line sprung back to its unloaded height [m, N, N, N, m]."""
    length = dyn.taut_length(span, standing, stiffness)
    return dyn.catch(span, length, stiffness, load, free_fall=fall, leash_stiffness=leash)


def bounce_frequency(span, standing, stiffness, load):
    """Of small bounces of a walker standing at mid-span of a weightless line [Hz]."""
    length = dyn.taut_length(span, standing, stiffness)
    depth = dyn.standing_depth(span, length, stiffness, load)
    half = np.hypot(span / 2, depth)
    # d/dy of 2 T y / s, with s the stretched half length: the pull turning upright, and the stretch of the line.
    turning = 2 * dyn.line_tension(span, length, stiffness, depth) * (span / 2) ** 2 / half**3
    return np.sqrt((turning + 4 * stiffness * depth**2 / (length * half**2)) * STANDARD_GRAVITY / load) / (2 * np.pi)
