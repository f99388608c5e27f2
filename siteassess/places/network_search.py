"""Which reading of a network is most likely wrong, if it can be told.

Every reading is left out in turn. The one whose leaving makes the rest agree best is named, but only where no other
comes near it: otherwise the answer is that it cannot be told which.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from scipy.special import chdtrc

from siteassess.errors import OutsideModel
from siteassess.places.agreement_words import any_slip_of
from siteassess.places.geodesy import LocalFrame
from siteassess.places.network_model import NetworkReading
from siteassess.places.network_solution import NetworkSolution, alarm, outlier, predicted, solve_network
from siteassess.places.positions import Located
from siteassess.reference.constants import constant
from siteassess.reference.findings import Said, said

# Named only if this many times as likely as any other reading (judgement).
NAMED_IF_TIMES_AS_LIKELY = constant("named if as likely")
# Readings left out in turn, worst first; more would only cost time (judgement).
MOST_LEFT_OUT = 40
MOST_NAMED = 3


@dataclass(frozen=True)
class Search:
    """What the search ended with: the readings named and their slips, or the suspects and theirs."""

    solution: NetworkSolution
    named: tuple[NetworkReading, ...] = ()
    slips: tuple[Said | None, ...] = ()
    suspects: tuple[NetworkReading, ...] = ()
    suspect_slips: tuple[Said | None, ...] = ()


def search(
    readings: Sequence[NetworkReading], solution: NetworkSolution, frame: LocalFrame, tied: bool,
    declination_sigma_deg: float, level: float,
) -> Search:
    """Set the reading most likely wrong aside, then look again, until the rest agree or it cannot be told.

    Parameters
    ----------
    readings : of one part of the network
    solution : of all of them
    frame : the plane
    tied : whether a fix ties the network to the ground
    declination_sigma_deg : standard error of the declination that all magnetic bearings share [deg]
    level : probability of an alarm where nothing is wrong [-]
    """
    kept = list(readings)
    named: list[NetworkReading] = []
    slips: list[Said | None] = []
    while solution.dof > 0 and alarm(solution) < level:
        suspects = _suspects(kept, solution, frame, tied, declination_sigma_deg)
        wrong, rest = suspects[0] if len(suspects) == 1 else (None, None)
        if not (rest and alarm(rest) >= level) and (swap := _swapped(kept, frame, declination_sigma_deg, level)):
            (one, two), solution = swap
            slip = said("slip-positions-swapped", a=one.start, b=two.start)
            return Search(solution, (*named, one, two), (*slips, slip, slip))
        if wrong is None or rest is None or len(named) >= MOST_NAMED or len(kept) - 1 <= len(readings) / 2:
            readings_left = tuple(reading for reading, _ in suspects)
            hints = tuple(_slip(reading, without) if without else None for reading, without in suspects)
            return Search(solution, tuple(named), tuple(slips), readings_left, hints)
        solution = rest
        slips.append(_slip(wrong, solution))
        named.append(wrong)
        kept.remove(wrong)
    return Search(solution, tuple(named), tuple(slips))


def _suspects(
    kept: Sequence[NetworkReading], solution: NetworkSolution, frame: LocalFrame,
    tied: bool, declination_sigma_deg: float
) -> list[tuple[NetworkReading, NetworkSolution | None]]:
    """The readings whose leaving explains the misfit about equally well, each with the solution without it.

    Compared by what the sum of squares loses, less twice the degrees of freedom it loses with it.
    """
    gains = []
    for reading in _worst_fitting(solution):
        without = _without(reading, kept, solution, frame, tied, declination_sigma_deg)
        if without is None:
            # nothing would be left to place an anchor by; the residual alone must speak
            statistic, lost_dof = outlier(solution, solution.readings.index(reading))
        else:
            statistic, lost_dof = solution.statistic - without.statistic, solution.dof - without.dof
        if lost_dof > 0:
            gains.append((statistic - 2.0 * lost_dof, reading, without))
    best = max((gain for gain, *_ in gains), default=0.0)
    if best <= 0.0:
        return []
    near = best - 2.0 * math.log(NAMED_IF_TIMES_AS_LIKELY)
    return [(reading, without) for gain, reading, without in sorted(gains, key=lambda g: -g[0]) if gain > near]


def _without(
    reading: NetworkReading, kept: Sequence[NetworkReading], solution: NetworkSolution, frame: LocalFrame, tied: bool,
    declination_sigma_deg: float,
) -> NetworkSolution | None:
    """The solution of all other readings, if they still place every anchor."""
    try:
        without, _ = solve_network([r for r in kept if r is not reading], frame, tied, declination_sigma_deg)
    except OutsideModel:
        return None
    return without if without.equations.names == solution.equations.names else None


def _worst_fitting(solution: NetworkSolution) -> list[NetworkReading]:
    """The readings worth leaving out in turn; all of them in a small network."""
    readings = solution.readings
    order = sorted(range(len(readings)), key=lambda k: -outlier(solution, k)[0])
    return [readings[k] for k in order[:MOST_LEFT_OUT]]


def _swapped(
    kept: Sequence[NetworkReading], frame: LocalFrame, declination_sigma_deg: float, level: float
) -> tuple[tuple[NetworkReading, NetworkReading], NetworkSolution] | None:
    """The one pair of fixes that makes everything agree when exchanged, and the solution without both."""
    fixes = [r for r in kept if r.kind == "position"]
    found = []
    for one, two in itertools.combinations(fixes, 2):
        others = [r for r in kept if r is not one and r is not two]
        exchanged = [replace(one, position=two.position), replace(two, position=one.position)]
        try:
            solution, _ = solve_network([*others, *exchanged], frame, True, declination_sigma_deg)
        except OutsideModel:
            continue
        if alarm(solution) >= level:
            found.append(((one, two), solution))
    return found[0] if len(found) == 1 else None


def _slip(wrong: NetworkReading, without: NetworkSolution) -> Said | None:
    """The slips under any of which the wrong reading agrees with the others after all; None for none."""
    fitting = []
    for slip, value in wrong.slips:
        meant = (
            NetworkReading("position", wrong.start, position=value)
            if isinstance(value, Located)
            else NetworkReading(wrong.kind, wrong.start, wrong.end, value, wrong.sigma, magnetic=wrong.magnetic)
        )
        miss, spread = predicted(meant, without)
        if chdtrc(len(miss), float(miss @ np.linalg.solve(spread, miss))) > 0.05:
            fitting.append(slip)
    return any_slip_of(fitting) if len(fitting) > 1 else fitting[0] if fitting else None
