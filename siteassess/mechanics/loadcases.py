"""The load cases of a line by its use: what each anchor feels, what the figure rests on, how far to trust it.

Every figure of a case is its own worst over the walker's positions; they need not occur together. Dynamic cases
take the larger of a factor on the walked case and an energy balance. Both rest on three measured lines
(`calibration.py`): outside those a case says so. A hammock hangs by its angle under load, or lies on a line that was
pulled taut.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from siteassess.errors import OutsideModel
from siteassess.mechanics import dynamics
from siteassess.mechanics.cable_many import solve_loads
from siteassess.mechanics.calibration import leave_one_out_scatter, outside_measured
from siteassess.mechanics.drops import TOGETHER, bounced, larger, rigging_peak, standing_alone, stumbled, walked
from siteassess.mechanics.falls import anchor_fall, backup_catch, leash_fall
from siteassess.mechanics.line_load import (
    BOUNCED,
    FIGURES,
    HAMMOCK_ANGLE,
    JUMP,
    LEASH,
    LEASH_EA,
    QUICK_STIFFNESS,
    SCATTER_ESTIMATE,
    UNNAMED_WALKER,
    WALKED,
    Basis,
    Floor,
    LoadCase,
    LoadedLine,
    basis,
)
from siteassess.mechanics.series import strain_at
from siteassess.mechanics.stretch_table import StretchTable
from siteassess.reference.constants import constant


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


DROP = constant("drop onto the line")


@dataclass(frozen=True)
class UseLoads:
    """What a kind of line asks for."""

    bounce_height: float  # drop onto the line at its unloaded height in the bounced case [m]
    falls: bool = False
    hung: bool = False
    measured: bool = False  # whether lines of this kind are among the measured ones


USES = {
    "hammock": UseLoads(0.0, hung=True), "low line": UseLoads(JUMP, measured=True), "trick line": UseLoads(DROP),
    "long line": UseLoads(JUMP, measured=True), "high line": UseLoads(0.0, falls=True, measured=True),
    "aerial equipment": UseLoads(DROP),
}


def load_cases(
    use: str, span: float, rise: float, standing: float | None, stiffness: float | StretchTable, weight: float,
    load: float | None = None, *, second_load: float | None = None, people: int = 2,
    standing_scatter: float = SCATTER_ESTIMATE, leash: float = LEASH, leash_stiffness: float | None = None,
    backup_extra_length: float | None = None, backup_stiffness: float | None = None,
    hang_angle_deg: float = HAMMOCK_ANGLE, floor: Floor | None = None, walk_only: bool = False,
) -> tuple[LoadCase, ...]:
    """Every load case of one line.

    Parameters
    ----------
    use : a key of `USES`
    span, rise, standing, stiffness, weight : as in `cable.solve` [m, m, N, N, N/m]. `standing` may be None for a
        hammock, which hangs by its angle; where it is given, the harder of hanging slack and lying on a taut line
        counts. `stiffness` may be a `StretchTable`.
    load : weight of the walker [N]; an unnamed walker weighs 100 kg
    second_load : weight of everybody else on the line at the same time [N]
    people : how many that makes, where `second_load` is given [-]
    standing_scatter : ln sd of the standing tension: `SCATTER_LOAD_CELL` or `SCATTER_ESTIMATE` [-].
    leash, leash_stiffness : float
        Length and force per metre of the leash of a high line [m, N/m]; without the latter `LEASH_EA` over the length.
    backup_extra_length, backup_stiffness : float, optional
        How much longer the backup line is than the straight line between the anchors, and its EA [m, N].
    hang_angle_deg : angle of a loaded hammock's suspension below the horizontal [deg]; a hammock of 2.5 to 3.5 m hangs
        so between trees some 3 to 5 m apart (judgement). Only the angle and the load decide its pull.
    floor : ground known to lie under the line, which ends every drop
    walk_only : nobody bounces or jumps on it: a stumble stands in the place of the bounced case. A leash fall stays.

    Returns
    -------
    tuple of LoadCase
        Named "rigging peak", "standing", "walked", "bounced" or "stumbled", "leash fall", "fall at an anchor",
        "two walkers" ("all walkers" for more), "backup catch" for lines, "lying" and "dropping in" for a hammock; only
        those that the use and the inputs call for. "walked" is the heaviest walker alone, every other case carries
        everybody, but for the fall at an anchor.

    Raises
    ------
    OutsideModel : where the line has no steady state, or its stiffness is not a finite number

    Notes
    -----
    The straight string of the energy balance takes the standing tension but not the line's own weight.
    """
    if use not in USES:
        raise OutsideModel(f"no load cases for the use {use!r}; known uses: {', '.join(USES)}",
                           "no-load-cases-for-the-use", use=use, uses=tuple(USES))
    if not isinstance(stiffness, StretchTable) and not np.isfinite(stiffness):
        raise OutsideModel("the load cases need a finite stiffness of the webbing", "stiffness-not-finite")
    if leash_stiffness is None:
        leash_stiffness = LEASH_EA / leash if leash > 0 else np.nan
    if not (leash > 0 and 0 < leash_stiffness < np.inf):
        raise OutsideModel("the leash needs a length and a stiffness", "leash-without-length")
    kind = USES[use]
    line = LoadedLine(span, rise, np.nan if standing is None else standing, stiffness, weight,
                UNNAMED_WALKER if load is None else load, floor)
    several = second_load is not None
    full = line if second_load is None else replace(line, load=line.load + second_load, several=True)
    if kind.hung:
        cases = hammock_cases(full, hang_angle_deg)
    else:
        if standing is None:
            raise OutsideModel("the standing tension is unknown", "standing-tension-unknown")
        alone = walked(line, "walked")
        together = walked(full, "two walkers" if people == 2 else "all walkers") if several else alone
        moved = stumbled(full, together) if walk_only else bounced(full, together, kind.bounce_height)
        cases = [rigging_peak(line), standing_alone(line), alone, moved]
        if kind.falls:
            cases.append(leash_fall(full, together, leash, leash_stiffness, everybody=several))
            cases.append(anchor_fall(line, leash, leash_stiffness))
            cases.append(backup_catch(full, leash, leash_stiffness, backup_extra_length, backup_stiffness))
        cases += [together] if several else []
    return tuple(_trust(case, line if case.name == "walked" else full, use, standing_scatter) for case in cases)


NEVER_MEASURED = ("stumbled", "fall at an anchor", "backup catch")
SCATTER_FROM = {"walked": "walked", "two walkers": "walked", "all walkers": "walked", "lying": "walked",
                "bounced": "bounced", "stumbled": "bounced", "dropping in": "bounced",
                "leash fall": "leash fall", "fall at an anchor": "leash fall",
                "backup catch": "leash fall"}


def _trust(case: LoadCase, line: LoadedLine, use: str, standing_scatter: float) -> LoadCase:
    """Fold the scatter of the leave-one-out errors into the demand and say what lies outside the measured lines."""
    if case.name not in SCATTER_FROM:
        return replace(case, ln_sd=standing_scatter)
    outside = outside_measured(line.span, line.secant, line.load)
    if not USES[use].measured:
        outside = (basis("no-such-use-measured", use=use), *outside)
    if case.name in (*TOGETHER, *NEVER_MEASURED):
        outside = (basis("no-such-case-measured", case=case.name), *outside)
    scatter = float(np.hypot(standing_scatter, leave_one_out_scatter(SCATTER_FROM[case.name])))
    return replace(case, calibrated=not outside, outside=outside, ln_sd=scatter)
