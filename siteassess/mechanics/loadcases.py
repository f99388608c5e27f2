"""The load cases of a line by its use: what each anchor feels, what the figure rests on, how far to trust it.

Every figure of a case is its own worst over the walker's positions; they need not occur together. Dynamic cases
take the larger of a factor on the walked case and an energy balance. Both rest on three measured lines
(`calibration.py`): outside those a case says so.
"""

from __future__ import annotations

from dataclasses import dataclass, fields, replace

import numpy as np

from siteassess.errors import OutsideModel
from siteassess.mechanics import dynamics
from siteassess.mechanics.cable import Solution, solve
from siteassess.mechanics.cable_many import solve_loads, solve_table
from siteassess.mechanics.calibration import leave_one_out_scatter, outside_measured
from siteassess.mechanics.stretch_table import StretchTable

UNNAMED_WALKER = 100.0 * dynamics.STANDARD_GRAVITY  # [N] judgement: heavier than most, since nobody was weighed
RIGGING_PEAK = 1.25  # judgement: pulled past the standing tension to make up for what is lost at lock-off
WALKED = 1.2  # derived: with 1.1 one of the three measured lines stays low
BOUNCED = 1.6  # derived: measured 1.42 to 1.57 times the walked tension, rounded up
LEASH_FALL = 2.0  # derived: measured 1.71 to 1.90 times the walked tension, rounded up
QUICK_STIFFNESS = 1.5  # derived: webbing is stiffer in a quick pull; chosen on the same three lines
BODY_ABOVE_LINE = 1.0  # [m] judgement: centre of a standing body above the line
LEASH = 1.2  # [m] judgement
LEASH_STIFFNESS = 10e3  # [N/m] judgement
SECANT_AT = 10e3  # [N] the tension at which the measured lines' stretch is given (read)
HAMMOCK_ANGLE = 30.0  # [deg] judgement
MOST_STRETCH = 0.30  # read: ultimate elongation of nylon fibre 25 to 35 %, polyester 15 to 25 %
BACKUP_FLAG = 20e3  # [N] read: backup events can pass this (Int. Slackline Association note, Nov 2020, 58 tests)
SCATTER_LOAD_CELL = 0.10  # ln sd, judgement
SCATTER_ESTIMATE = 0.20  # ln sd, judgement
POSITIONS = np.linspace(0.02, 0.98, 49)
WHO = {"two walkers": "both walkers together, which is never less than apart,",
       "all walkers": "all walkers together, which is never less than apart,"}  # fmt: skip


@dataclass(frozen=True)
class Use:
    """What a kind of line asks for."""

    bounce_height: float
    """Drop onto the line at its unloaded height in the bounced case [m]; judgement."""
    falls: bool = False
    hung: bool = False


USES = {
    "hammock": Use(0.0, hung=True),
    "low line": Use(0.0),
    "trick line": Use(1.0),
    "long line": Use(0.0),
    "high line": Use(0.0, falls=True),
    "aerial equipment": Use(1.0),
}


@dataclass(frozen=True)
class LoadCase:
    """One load case. Tensions and pulls in N, lengths in m; NaN where it was not worked out."""

    name: str
    tension_a: float
    tension_b: float
    horizontal: float
    vertical_a: float
    """Positive: pulls the anchor down."""
    vertical_b: float
    drop: float
    """Greatest depth of the walker's point below anchor A, without any factor for steps."""
    basis: str
    sustained: bool = False
    """True for what presses for hours."""
    calibrated: bool | None = None
    """None: rests on statics alone. False: outside the measured lines, see `outside`."""
    outside: tuple[str, ...] = ()
    ln_sd: float = np.nan
    """Scatter of the demand, as the standard deviation of its logarithm."""
    warning: str = ""

    @property
    def tension(self) -> float:
        return max(self.tension_a, self.tension_b)


@dataclass(frozen=True)
class Line:
    """The numbers every case works on."""

    span: float
    rise: float
    standing: float
    stiffness: float | StretchTable
    weight: float
    load: float

    def at_tension(self, standing: float, load: float, at) -> Solution:
        how = solve_table if isinstance(self.stiffness, StretchTable) else solve
        return how(self.span, self.rise, standing, self.stiffness, self.weight, load, at).require()

    @property
    def secant(self) -> float:
        """The one stiffness the energy balances and the measured lines go by: the secant at 10 kN [N]."""
        table = self.stiffness
        return table.secant(min(SECANT_AT, table.tension[-1])) if isinstance(table, StretchTable) else table

    @property
    def quick_stiffness(self) -> float:
        return QUICK_STIFFNESS * self.secant

    def depth_below_a(self, depth: float) -> float:
        """Depth under the straight line at mid-span, counted from anchor A [m]."""
        return depth - self.rise / 2


def load_cases(
    use: str,
    span: float,
    rise: float,
    standing: float | None,
    stiffness: float | StretchTable,
    weight: float,
    load: float | None = None,
    *,
    second_load: float | None = None,
    people: int = 2,
    standing_scatter: float = SCATTER_ESTIMATE,
    leash: float = LEASH,
    leash_stiffness: float = LEASH_STIFFNESS,
    backup_extra_length: float | None = None,
    backup_stiffness: float | None = None,
    hang_angle_deg: float = HAMMOCK_ANGLE,
) -> tuple[LoadCase, ...]:
    """Every load case of one line.

    Parameters
    ----------
    use : str
        A key of `USES`.
    span, rise, standing, stiffness, weight : float
        As in `cable.solve` [m, m, N, N, N/m]. `standing` may be None for a hammock, which hangs by its angle;
        where it is given, the harder of hanging slack and lying on a taut line counts. `stiffness` may be a
        `StretchTable`.
    load : float, optional
        Weight of the walker [N]; an unnamed walker weighs 100 kg.
    second_load : float, optional
        Weight of everybody else on the line at the same time [N].
    people : int
        How many that makes, where `second_load` is given [-].
    standing_scatter : float
        ln sd of the standing tension: `SCATTER_LOAD_CELL` or `SCATTER_ESTIMATE` [-].
    leash, leash_stiffness : float
        Length and force per metre of the leash of a high line [m, N/m].
    backup_extra_length, backup_stiffness : float, optional
        How much longer the backup line is than the straight line between the anchors, and its EA [m, N].
    hang_angle_deg : float
        Angle of a loaded hammock's suspension below the horizontal [deg]; a hammock of 2.5 to 3.5 m hangs so
        between trees some 3 to 5 m apart (judgement). Only the angle and the load decide its pull.

    Returns
    -------
    tuple of LoadCase
        Named "rigging peak", "standing", "walked", "bounced", "leash fall", "two walkers" ("all walkers" for more),
        "backup catch" for lines, "lying" and "dropping in" for a hammock; only those that the use and the inputs call
        for. "walked" is the heaviest walker alone, every other case carries everybody.

    Raises
    ------
    OutsideModel
        Where the line has no steady state, or its stiffness is not a finite number.

    Notes
    -----
    The straight string of the energy balance takes the standing tension but not the line's own weight.
    """
    if use not in USES:
        raise OutsideModel(f"no load cases for the use {use!r}; known uses: {', '.join(USES)}")
    if not isinstance(stiffness, StretchTable) and not np.isfinite(stiffness):
        raise OutsideModel("the load cases need a finite stiffness of the webbing")
    if not (leash >= 0 and leash_stiffness > 0):
        raise OutsideModel("the leash needs a length and a stiffness")
    kind = USES[use]
    line = Line(span, rise, np.nan if standing is None else standing, stiffness, weight,
                UNNAMED_WALKER if load is None else load)  # fmt: skip
    several = second_load is not None
    full = replace(line, load=line.load + second_load) if several else line
    if kind.hung:
        cases = _hammock(full, hang_angle_deg)
    else:
        if standing is None:
            raise OutsideModel("the standing tension is unknown")
        walked = _walked(line, "walked")
        together = _walked(full, "two walkers" if people == 2 else "all walkers") if several else walked
        cases = [_rigging_peak(line), _standing(line), walked, _bounced(full, together, kind.bounce_height)]
        if kind.falls:
            fall = _leash_fall(full, together, leash, leash_stiffness)
            cases.append(_at_the_anchor(fall, line, BODY_ABOVE_LINE + leash, leash_stiffness))
            cases.append(_backup_catch(full, leash, leash_stiffness, backup_extra_length, backup_stiffness))
        cases += [together] if several else []
    return tuple(_trust(case, line if case.name == "walked" else full, use, standing_scatter) for case in cases)


def sweep(line: Line, positions=POSITIONS) -> Solution:
    """The static state with the walker at every position, for pictures and for clearance."""
    return line.at_tension(line.standing, line.load, positions)


def _rigging_peak(line: Line) -> LoadCase:
    state = line.at_tension(RIGGING_PEAK * line.standing, 0.0, 0.5)
    return _from_state("rigging peak", state, f"{RIGGING_PEAK} x standing tension, pulled for the loss at lock-off")


def _standing(line: Line) -> LoadCase:
    state = line.at_tension(line.standing, 0.0, 0.5)
    return replace(_from_state("standing", state, "own weight at the given tension"), sustained=True)


def _from_state(name: str, state: Solution, basis: str) -> LoadCase:
    figures = (state.tension_a, state.tension_b, state.horizontal, state.vertical_a, state.vertical_b, state.drop)
    return LoadCase(name, *(float(figure) for figure in figures), basis)


def _walked(line: Line, name: str) -> LoadCase:
    state = line.at_tension(line.standing, line.load, POSITIONS)
    who = WHO.get(name, "walker")
    basis = f"exact statics, {who} at the worst position, x {WALKED} for steps"
    return LoadCase(
        name,
        WALKED * float(state.tension_a.max()),
        WALKED * float(state.tension_b.max()),
        WALKED * float(state.horizontal.max()),
        WALKED * float(state.vertical_a.max()),
        WALKED * float(state.vertical_b.max()),
        float(state.drop.max()),
        basis,
    )


def _peak(line: Line, fall: float, leash_stiffness: float = np.inf) -> tuple[dynamics.Peak, float]:
    """The hardest of a fall on the line as tensioned and on the same line once it has lost its tension.

    A slacker line lets the walker fall deeper and can end up to some 5 % higher. Counting both keeps a tension that
    is lost from ever being credited, and a line that is tightened from ever looking kinder. The depth is that of the
    line as tensioned, at its slow stiffness, which goes deeper.
    """
    stiffness = np.array([[line.quick_stiffness], [line.secant]])
    lengths = dynamics.taut_length(line.span, np.array([line.standing, 0.0]), stiffness)
    peaks = dynamics.catch(line.span, lengths, stiffness, line.load, fall, leash_stiffness=leash_stiffness)
    harder = 0, int(np.argmax(peaks.tension[0]))
    hardest = dynamics.Peak(*(getattr(peaks, field.name)[harder] for field in fields(dynamics.Peak)))
    return hardest, float(peaks.depth[:, 0].max())


def _bounced(line: Line, walked: LoadCase, height: float, name: str = "bounced") -> LoadCase:
    """Everybody on it at once, which is never less than one who bounces while the others stand."""
    peak, depth = _peak(line, height)
    what = f"dropped {height} m onto" if height else "put suddenly on"
    who = "everybody at once" if walked.name in WHO else "the walker"
    energy = f"energy of {who} {what} the unloaded line, stiffness x {QUICK_STIFFNESS}"
    return _larger(name, line, walked, BOUNCED, peak, depth, energy)


def _leash_fall(line: Line, walked: LoadCase, leash: float, leash_stiffness: float) -> LoadCase:
    fall = BODY_ABOVE_LINE + leash
    peak, depth = _peak(line, fall, leash_stiffness)
    who = " of everybody at once" if walked.name in WHO else ""
    energy = f"energy of a {fall} m fall{who} into the leash from the unloaded line, stiffness x {QUICK_STIFFNESS}"
    return _larger("leash fall", line, walked, LEASH_FALL, peak, depth, energy)


def _at_the_anchor(case: LoadCase, line: Line, fall: float, leash_stiffness: float) -> LoadCase:
    """Within about 2 m of an anchor the leash catches on that anchor: its pull down meets the standing tension.

    A body in two dimensions whose ring cannot slide stays under this sum on soft lines: 6.8 of 7.4 kN at 0.02 of a
    30 m line of 60 kN at 3 kN (derived; tests/published/test_line_dynamics.py). A ring that slides stays far under.
    """
    straight = float(dynamics.spring_drop(line.load, leash_stiffness, fall)[0])
    near = float(np.hypot(line.standing, straight))
    basis = f"{fall} m fall into the leash straight on an anchor" if near > case.tension else case.basis
    return replace(
        case,
        tension_a=max(case.tension_a, near),
        tension_b=max(case.tension_b, near),
        vertical_a=max(case.vertical_a, straight),
        vertical_b=max(case.vertical_b, straight),
        basis=basis,
        warning=f"a fall within about 2 m of an anchor can pull it {straight / 1e3:.1f} kN straight down",
    )


def _larger(name, line: Line, walked: LoadCase, factor: float, peak, depth: float, energy: str) -> LoadCase:
    """The larger of the factor on the walked case and the energy balance; pulls scale with the tension."""
    by_energy = float(peak.tension)
    if not np.isfinite(by_energy):
        raise OutsideModel(f"the energy balance of the case {name!r} has no answer with these inputs")
    scale = max(factor, by_energy / min(walked.tension_a, walked.tension_b))
    upright = 0.5 * (float(peak.force) + line.weight * line.span)
    basis = f"{factor} x {walked.name}" if scale == factor else energy
    return LoadCase(
        name,
        max(factor * walked.tension_a, by_energy),
        max(factor * walked.tension_b, by_energy),
        max(factor * walked.horizontal, float(peak.horizontal)),
        max(factor * walked.vertical_a, upright),
        max(factor * walked.vertical_b, upright),
        line.depth_below_a(depth),
        basis,
    )


def _backup_catch(line: Line, leash, leash_stiffness, extra_length, stiffness) -> LoadCase:
    nothing = LoadCase("backup catch", *(np.nan,) * 6, "not worked out: length and stiffness of the backup not given",
                       warning=f"a backup catch can pass {BACKUP_FLAG / 1e3:.0f} kN")  # fmt: skip
    if extra_length is None or stiffness is None:
        return nothing
    fall = BODY_ABOVE_LINE + leash
    start = max(float(line.at_tension(line.standing, line.load, 0.5).drop) + line.rise / 2, 0.0)
    chord = float(np.hypot(line.span, line.rise))
    quick, length = QUICK_STIFFNESS * stiffness, chord + extra_length
    peak = dynamics.catch(chord, length, quick, line.load, fall, start, leash_stiffness)
    tension, upright = float(peak.tension), 0.5 * (float(peak.force) + line.weight * line.span)
    if not np.isfinite(tension):
        return nothing
    passes = tension > BACKUP_FLAG
    return LoadCase(
        "backup catch", tension, tension, float(peak.horizontal), upright, upright,
        line.depth_below_a(float(peak.depth)),
        f"energy of a {fall} m fall from the loaded line into leash and slack backup; nothing measured to compare with",
        warning=f"passes {BACKUP_FLAG / 1e3:.0f} kN" if passes else "",
    )  # fmt: skip


def _hammock(line: Line, hang_angle_deg: float) -> list[LoadCase]:
    """A hammock that hangs slack has its length from the angle it hangs at under load; one pulled taut is a line."""
    angle = np.radians(hang_angle_deg)
    if not 0 < hang_angle_deg < 90:
        raise OutsideModel("the hang angle of a hammock must lie between 0 and 90 degrees")
    depth = 0.5 * line.span * np.tan(angle)
    legs = sum(np.hypot(line.span / 2, depth + side * line.rise / 2) for side in (-1, 1))
    pull = 0.5 * line.load / np.sin(angle)
    table = isinstance(line.stiffness, StretchTable)
    length = legs / (1 + (line.stiffness.strain(pull) if table else pull / line.stiffness))
    state = solve_loads(line.span, line.rise, length, line.stiffness, line.weight, [line.load], [0.5]).require()
    state = replace(state, drop=state.drop[..., 0])
    lying = _from_state("lying", state, f"exact statics, hanging {hang_angle_deg:.0f} degrees under load, x {WALKED}")
    lying = replace(
        lying,
        **{name: WALKED * getattr(lying, name)
           for name in ("tension_a", "tension_b", "horizontal", "vertical_a", "vertical_b")},
        sustained=True,
    )  # fmt: skip
    slack_depth = np.sqrt(max((length / 2) ** 2 - (line.span / 2) ** 2, 0.0))
    peak = dynamics.catch(line.span, length, line.quick_stiffness, line.load, 0.0, slack_depth)
    energy = f"energy of the weight put suddenly into the hanging line, stiffness x {QUICK_STIFFNESS}"
    slack = [lying, _larger("dropping in", line, lying, BOUNCED, peak, float(peak.depth), energy)]
    if not np.isfinite(line.standing):
        return slack
    taut = _walked(line, "lying")
    return [_harder(*pair) for pair in zip(slack, (taut, _bounced(line, taut, 0.0, "dropping in")))]


def _harder(one: LoadCase, other: LoadCase) -> LoadCase:
    """Every figure the greater of two states of the same case; the words are those of the greater tension."""
    figures = ("tension_a", "tension_b", "horizontal", "vertical_a", "vertical_b", "drop")
    basis = max(one, other, key=lambda case: case.tension).basis
    return replace(one, basis=basis, **{name: max(getattr(one, name), getattr(other, name)) for name in figures})


SCATTER_FROM = {"walked": "walked", "two walkers": "walked", "all walkers": "walked", "bounced": "bounced",
                "leash fall": "leash fall", "lying": "walked", "dropping in": "bounced",
                "backup catch": "leash fall"}  # fmt: skip


def _trust(case: LoadCase, line: Line, use: str, standing_scatter: float) -> LoadCase:
    """Fold the scatter of the leave-one-out errors into the demand and say what lies outside the measured lines."""
    if case.name not in SCATTER_FROM:
        return replace(case, ln_sd=standing_scatter, warning=_overstretched(case, line))
    outside = outside_measured(line.span, line.secant, line.load)
    if use in ("hammock", "trick line", "aerial equipment"):
        outside = (f"no {use} was measured", *outside)
    if case.name in (*WHO, "backup catch"):
        outside = (f"no {case.name} measured", *outside)
    case = replace(case, warning="; ".join(filter(None, (case.warning, _overstretched(case, line)))))
    scatter = float(np.hypot(standing_scatter, leave_one_out_scatter(SCATTER_FROM[case.name])))
    return replace(case, calibrated=not outside, outside=outside, ln_sd=scatter)


def _overstretched(case: LoadCase, line: Line) -> str:
    """Words where a tension stretches the webbing past what its stiffness or table can be believed for."""
    table = line.stiffness if isinstance(line.stiffness, StretchTable) else None
    if table and not table.covers(case.tension):
        return f"{case.tension / 1e3:.1f} kN lies past the last row of the stretch table"
    stretch = case.tension / line.secant
    if not table and stretch > MOST_STRETCH:
        return f"the webbing would be stretched by {100 * stretch:.0f} %; nylon breaks at 25 to 35 %"
    return ""
