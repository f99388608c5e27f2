"""A hammock: it hangs by its angle under load, or lies on a line that was pulled taut."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from siteassess.errors import OutsideModel
from siteassess.mechanics import dynamics
from siteassess.mechanics.cable_many import solve_loads
from siteassess.mechanics.drops import bounced, larger, walked
from siteassess.mechanics.line_load import BOUNCED, FIGURES, QUICK_STIFFNESS, WALKED, Basis, LoadCase, LoadedLine, basis
from siteassess.mechanics.series import strain_at


def hammock_cases(line: LoadedLine, hang_angle_deg: float) -> list[LoadCase]:
    """The cases "lying" and "dropping in".

    A hammock that hangs slack has its length from the angle it hangs at under load; one pulled taut is a line.

    Parameters
    ----------
    line : with who lies in it; its standing tension NaN where it hangs slack
    hang_angle_deg : of the suspension under load below the horizontal [deg]

    Raises
    ------
    OutsideModel : where the angle does not lie between 0 and 90 degrees, or no steady state is found
    """
    angle = np.radians(hang_angle_deg)
    if not 0 < hang_angle_deg < 90:
        raise OutsideModel("the hang angle of a hammock must lie between 0 and 90 degrees", "hang-angle-outside")
    depth = 0.5 * line.span * np.tan(angle)
    legs = sum(np.hypot(line.span / 2, depth + side * line.rise / 2) for side in (-1, 1))
    pull = 0.5 * line.load / np.sin(angle)
    length = float(legs / (1 + strain_at(line.stiffness, pull)))
    state = solve_loads(line.span, line.rise, length, line.stiffness, line.weight, [line.load], [0.5]).require()
    state = replace(state, drop=state.drop[..., 0])
    lying = LoadCase.of("lying", state, basis("rests-on-a-hang-angle", angle=hang_angle_deg, times=WALKED))
    lying = replace(lying, **{name: WALKED * getattr(lying, name) for name in FIGURES}, sustained=True)
    slack_depth = np.sqrt(max((length / 2) ** 2 - (line.span / 2) ** 2, 0.0))
    peak = dynamics.catch(line.span, length, line.quick_stiffness, line.load, 0.0, slack_depth)
    energy = basis("energy-into-the-hammock", stiffer=QUICK_STIFFNESS)
    slack = [lying, _dropping_in(line, lying, length, peak, energy)]
    if not np.isfinite(line.standing):
        return slack
    taut = walked(line, "lying")
    return [harder(*pair) for pair in zip(slack, (taut, bounced(line, taut, 0.0, "dropping in")))]


def _dropping_in(line: LoadedLine, lying: LoadCase, length: float, peak: dynamics.Peak, energy: Basis) -> LoadCase:
    """Put suddenly into the hanging line; the ground under it ends that."""
    case = larger("dropping in", line, lying, BOUNCED, peak, float(peak.depth), energy)
    if line.floor is None or float(peak.depth) <= line.room_at_mid_span:
        return case
    room = line.room_at_mid_span
    down = dynamics.held_at(line.span, length, line.quick_stiffness, room + line.floor.unseen)
    ended = larger("dropping in", line, lying, 1.0, down, room, basis("hammock-pressed-down"))
    figures = {name: min(getattr(case, name), getattr(ended, name)) for name in FIGURES}
    return replace(ended, **figures, ends_on_ground=True)


def harder(one: LoadCase, other: LoadCase) -> LoadCase:
    """Every figure the greater of two states of the same case; the words are those of the greater tension.

    Parameters
    ----------
    one, other : hanging slack and lying on a taut line
    """
    rests = max(one, other, key=lambda case: case.tension).basis
    figures = {name: max(getattr(one, name), getattr(other, name)) for name in (*FIGURES, "drop")}
    return replace(one, basis=rests, ends_on_ground=one.ends_on_ground or other.ends_on_ground, **figures)
