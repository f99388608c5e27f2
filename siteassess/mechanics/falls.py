"""Falls from a high line: into the leash in mid-span and at an anchor, and into the backup line."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from siteassess.mechanics import dynamics
from siteassess.mechanics.drops import larger, peak_at_mid_span
from siteassess.mechanics.floor import NEAREST, ended_by_ground, places_on, swept
from siteassess.mechanics.held import held_fall
from siteassess.mechanics.line_load import (
    BODY_ABOVE_LINE,
    BODY_UNDER_LEASH,
    LEASH_FALL,
    NEAREST_FALL,
    QUICK_STIFFNESS,
    WALKED,
    LoadCase,
    LoadedLine,
    basis,
)


def leash_fall(line: LoadedLine, walked: LoadCase, leash: float, leash_stiffness: float, everybody: bool) -> LoadCase:
    """The larger of a factor on the walked case and the energy of a fall from the unloaded line.

    Within about 2 m of an anchor `anchor_fall` stands for it.

    Parameters
    ----------
    line : with everybody on it
    walked : the case of the walkers standing still, with its factor for steps
    leash : its length [m]
    leash_stiffness : its force for each metre [N/m]
    everybody : whether several fall at once
    """
    fall = BODY_ABOVE_LINE + leash
    peak, depth = peak_at_mid_span(line, fall, leash_stiffness)
    energy = basis("energy-of-all-into-the-leash" if everybody else "energy-into-the-leash", height=fall,
                   stiffer=QUICK_STIFFNESS)
    case = larger("leash fall", line, walked, LEASH_FALL, peak, depth, energy)
    case = replace(case, reach=case.drop + leash + float(peak.leash_stretch) + BODY_UNDER_LEASH)
    if line.floor is None:
        return case
    free = swept(line, fall, leash_stiffness)
    return ended_by_ground(line, case, free, energy, walked, LEASH_FALL * WALKED)


def anchor_fall(line: LoadedLine, leash: float, leash_stiffness: float) -> LoadCase:
    """A fall half a metre off an anchor, the ring not sliding, so that the short leg of webbing takes the most of it.

    Nearer nobody who stands on the line falls without a hand on the trunk (judgement). No more can come straight down
    than where the leash alone gives.

    Parameters
    ----------
    line : with the one who falls
    leash : its length [m]
    leash_stiffness : its force for each metre [N/m]
    """
    fall = BODY_ABOVE_LINE + leash
    state = line.at_tension(line.standing, 0.0, 0.5)
    straight = float(dynamics.spring_drop(line.load, leash_stiffness, fall)[0])
    length = dynamics.taut_length(line.span, line.standing, line.quick_stiffness)
    beside = held_fall(line.span, length, line.quick_stiffness, line.load, fall, leash_stiffness,
                                NEAREST_FALL / line.span)
    down = min(straight, float(beside.force))
    near = max(float(beside.tension), line.standing)
    return LoadCase("fall at an anchor", near, near, float(state.horizontal), down, down, float(state.drop),
                    basis("rests-on-a-fall-beside", height=fall, near=NEAREST_FALL))


def backup_catch(
    line: LoadedLine, leash: float, leash_stiffness: float, extra_length: float | None, stiffness: float | None
) -> LoadCase:
    """The catch by a slack backup line once the main line has failed; not worked out without its length and EA.

    Parameters
    ----------
    line : the main line, with everybody on it
    leash : its length [m]
    leash_stiffness : its force for each metre [N/m]
    extra_length : how much longer the backup is than the straight line between the anchors; None unknown [m]
    stiffness : EA of the backup; None unknown [N]
    """
    nothing = LoadCase("backup catch", np.nan, np.nan, np.nan, np.nan, np.nan, np.nan,
                       basis("backup-nobody-measured"))
    if extra_length is None or stiffness is None:
        return nothing
    fall = BODY_ABOVE_LINE + leash
    # over ground the worst place lies off the middle, where the slack is taken up before the ground is met
    at = np.array([0.5]) if line.floor is None else places_on(line, min(NEAREST / line.span, 0.2))
    start = np.maximum(line.at_tension(line.standing, line.load, at).drop + line.rise * at, 0.0)
    chord = float(np.hypot(line.span, line.rise))
    quick, length = QUICK_STIFFNESS * stiffness, chord + extra_length
    peak = dynamics.catch(chord, length, quick, line.load, fall, start, leash_stiffness, at)
    room = line.room(line.span * at) + line.rise * at
    lowest, tension = peak.depth, peak.tension
    ended = lowest > room
    if ended.any():
        unseen = line.pressed_to(line.span * at) + line.rise * at
        down = dynamics.held_at(chord, length, quick, np.minimum(unseen, lowest), at)
        lowest, tension = down.depth, down.tension
    if not np.isfinite(tension).all():
        return nothing
    near, far = (share * chord for share in (np.minimum(at, 1 - at), np.maximum(at, 1 - at)))
    middle = int(np.argmin(np.abs(at - 0.5)))  # without ground the hardest; no figure grows past it
    worst = float(min(tension.max(), peak.tension[middle]))
    level = float(min((tension * far / np.hypot(far, lowest)).max(), peak.horizontal[middle]))
    upright = float(min((tension * lowest / np.hypot(near, lowest)).max(), 0.5 * peak.force[middle]))
    upright += 0.5 * line.weight * line.span
    return LoadCase(
        "backup catch", worst, worst, level, upright, upright,
        float((np.minimum(lowest, room) - line.rise * at).max()),
        basis("backup-pressed-down", at=float(line.span * at[np.argmax(tension)]))
        if ended[np.argmax(tension)]
        else basis("energy-into-the-backup", height=fall),
        ends_on_ground=bool(ended.any()),
    )
