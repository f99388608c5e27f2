"""The cases of a line without a fall: pulled tight, standing, walked, bounced or jumped on, and a walker's stumble."""

from __future__ import annotations

from dataclasses import fields, replace

import numpy as np

from siteassess.errors import OutsideModel
from siteassess.mechanics import dynamics
from siteassess.mechanics.floor import Swept, ended_by_ground, places_on, swept
from siteassess.mechanics.line_load import (
    BOUNCED,
    FIGURES,
    LOADED_AT,
    QUICK_STIFFNESS,
    RIGGING_PEAK,
    STUMBLE,
    WALKED,
    Basis,
    LoadCase,
    LoadedLine,
    basis,
)

TOGETHER = {"two walkers": "rests-on-both-walkers", "all walkers": "rests-on-all-walkers"}


def rigging_peak(line: LoadedLine) -> LoadCase:
    """Pulled past the standing tension for what is lost at lock-off.

    Parameters
    ----------
    line : as it shall stand
    """
    state = line.at_tension(RIGGING_PEAK * line.standing, 0.0, 0.5)
    return LoadCase.of("rigging peak", state, basis("rests-on-rigging", times=RIGGING_PEAK))


def standing_alone(line: LoadedLine) -> LoadCase:
    """Under its own weight, for hours.

    Parameters
    ----------
    line : as it stands
    """
    state = line.at_tension(line.standing, 0.0, 0.5)
    return replace(LoadCase.of("standing", state, basis("rests-on-own-weight")), sustained=True)


def walked(line: LoadedLine, name: str) -> LoadCase:
    """The walker at the worst place, with a factor for steps.

    Parameters
    ----------
    line : with its walker
    name : of the case
    """
    places = places_on(line, LOADED_AT[0])
    state = line.at_tension(line.standing, line.load, places)
    statics = basis(TOGETHER.get(name, "rests-on-a-walker"), times=WALKED)
    figures = {figure: WALKED * getattr(state, figure) for figure in FIGURES}
    a, b, level, down_a, down_b = (float(values.max()) for values in figures.values())
    case = LoadCase(name, a, b, level, down_a, down_b, float(state.drop.max()), statics)
    if line.floor is None:
        return case
    # the factor for steps may press the line lower than the walker standing still
    return ended_by_ground(line, case, Swept(places, figures, state.drop), statics)


def bounced(line: LoadedLine, walked: LoadCase, height: float, name: str = "bounced") -> LoadCase:
    """Everybody on it at once, which is never less than one who bounces while the others stand.

    Parameters
    ----------
    line : with everybody on it
    walked : the case of the walkers standing still, with its factor for steps
    height : they drop onto the unloaded line from [m]
    name : of the case
    """
    peak, depth = peak_at_mid_span(line, height)
    energy = _landing(height, everybody=walked.name in TOGETHER)
    free = swept(line, height)
    # straight down a landing beside the trunk pulls hardest, or a stumble, which may be nearer
    beside = free, swept(line, STUMBLE, from_loaded=True)
    down = {name: max(float(one.figures[name].max()) for one in beside) for name in ("vertical_a", "vertical_b")}
    case = larger(name, line, walked, BOUNCED, peak, depth, energy)
    case = replace(case, **{name: max(getattr(case, name), value) for name, value in down.items()})
    if line.floor is None:
        return case
    # nearer to a trunk than anybody jumps they still stumble, and the line pressed down there may ask more
    return ended_by_ground(line, case, free, energy, stumbled(line, walked), BOUNCED * WALKED)


def _landing(height: float, everybody: bool) -> Basis:
    if height:
        return basis("energy-of-all-landing" if everybody else "energy-of-a-landing", height=height,
                     stiffer=QUICK_STIFFNESS)
    return basis("energy-of-all-suddenly" if everybody else "energy-of-a-sudden-walker", stiffer=QUICK_STIFFNESS)


def stumbled(line: LoadedLine, walked: LoadCase) -> LoadCase:
    """Where nobody bounces or jumps: a body that drops while its feet stay on the line, and is caught by the knees.

    Parameters
    ----------
    line, walked : as in `bounced`
    """
    free = swept(line, STUMBLE, from_loaded=True)
    energy = basis("energy-of-a-stumble", height=STUMBLE, stiffer=QUICK_STIFFNESS)
    figures = {name: max(float(values.max()), getattr(walked, name)) for name, values in free.figures.items()}
    drop = float(free.depth.max())
    milder = basis("no-harder-than", case=walked.name, why=energy)
    case = LoadCase("stumbled", **figures, drop=drop,
                    basis=energy if figures["tension_a"] > walked.tension_a else milder)
    return case if line.floor is None else ended_by_ground(line, case, free, energy, walked)


def peak_at_mid_span(line: LoadedLine, fall: float, leash_stiffness: float = np.inf) -> tuple[dynamics.Peak, float]:
    """The hardest of a fall on the line as tensioned and on the same line once it has lost its tension.

    A slacker line lets the walker fall deeper and can end up to some 5 % higher. Counting both keeps a tension that
    is lost from ever being credited at mid-span, and a line that is tightened from ever looking kinder. Beside a trunk
    a line that lost all of its tension would ask more than this; with half of it left it asks no more than 3 % more.
    The depth is that of the line as tensioned, at its slow stiffness, which goes deeper.

    Parameters
    ----------
    line : with its walker
    fall : free height [m]
    leash_stiffness : force of the leash for each metre; infinite without one [N/m]

    Returns
    -------
    tuple of Peak and float
        The peak, and the greatest depth under the straight line [m].
    """
    stiffness = np.array([[line.quick_stiffness], [line.secant]])
    lengths = dynamics.taut_length(line.span, np.array([line.standing, 0.0]), stiffness)
    peaks = dynamics.catch(line.span, lengths, stiffness, line.load, fall, leash_stiffness=leash_stiffness)
    harder = 0, int(np.argmax(peaks.tension[0]))
    hardest = dynamics.Peak(*(getattr(peaks, field.name)[harder] for field in fields(dynamics.Peak)))
    return hardest, float(peaks.depth[:, 0].max())


def larger(
    name: str, line: LoadedLine, walked: LoadCase, factor: float, peak: dynamics.Peak, depth: float, energy: Basis
) -> LoadCase:
    """The larger of a factor on the walked case and an energy balance; pulls scale with the tension.

    Parameters
    ----------
    name : of the case
    line, walked : as in `bounced`
    factor : on the walked case [-]
    peak : of the energy balance
    depth : greatest depth under the straight line at mid-span [m]
    energy : what the balance rests on

    Raises
    ------
    OutsideModel : where the balance has no finite answer
    """
    by_energy = float(peak.tension)
    if not np.isfinite(by_energy):
        raise OutsideModel(f"the energy balance of the case '{name}' has no answer with these inputs",
                           "energy-balance-unanswered", case=name)
    scale = max(factor, by_energy / min(walked.tension_a, walked.tension_b))
    upright = 0.5 * (float(peak.force) + line.weight * line.span)
    return LoadCase(
        name, max(factor * walked.tension_a, by_energy), max(factor * walked.tension_b, by_energy),
        max(factor * walked.horizontal, float(peak.horizontal)), max(factor * walked.vertical_a, upright),
        max(factor * walked.vertical_b, upright), line.depth_below_a(depth),
        basis("so-many-times-a-case", times=factor, case=walked.name) if scale == factor else energy,
    )
