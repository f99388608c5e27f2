"""A line of the record turned into the numbers its loads are worked out from.

Nothing is filled in silently: what is missing is named, what is assumed is told.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import lru_cache

from siteassess.advice.results import Finding
from siteassess.errors import OutsideModel, UnknownName
from siteassess.mechanics.cable_sag import standing_from_sag
from siteassess.mechanics.loadcases import SCATTER_ESTIMATE, SCATTER_LOAD_CELL, LoadCase, load_cases
from siteassess.records.line import Line
from siteassess.reference.webbing import webbing_class

GRAVITY = 9.80665
SCATTER_GUESS = 0.30  # ln sd of a guessed standing tension (judgement: between an estimate's 0.20 and its 0.35)
DEFAULT_MASS_PER_LENGTH = 0.070  # [kg/m] used where neither mass nor class is known (judgement; own weight decides little)
HAMMOCK_STIFFNESS = 50e3  # [N] straps and cord of a hammock; its pull hardly depends on it (judgement)


@dataclass(frozen=True)
class LineInputs:
    """Numbers of one line. None where nothing is known; `missing` names those that decide."""

    id: str
    use: str
    span: float | None  # horizontal [m]
    rise: float  # of tie B over tie A [m]
    ground_rise: float  # of the ground at B over that at A [m]
    standing: float | None  # [N]
    standing_ln_sd: float
    stiffness: float | None  # EA [N]
    weight: float  # [N/m]
    load: float | None  # weight of the heaviest walker; None takes the unnamed walker [N]
    second_load: float | None  # [N]
    leash: float | None  # [m]
    tie_a: float | None  # [m]
    tie_b: float | None  # [m]
    missing: tuple[str, ...] = ()
    told: tuple[Finding, ...] = ()
    strength: float | None = None  # rated strength of the webbing [N]

    @property
    def high(self) -> bool:
        """Whether a failure means a fall from height, which asks for the larger divisor."""
        return self.use in ("high line", "aerial equipment")


def line_inputs(line: Line, distance_m: float | None = None) -> LineInputs:
    """Numbers of a planned line.

    Parameters
    ----------
    line : Line
        The line as recorded.
    distance_m : float, optional
        Horizontal distance between the anchors by their positions, used where no tape was laid [m].

    Returns
    -------
    LineInputs
    """
    told: list[Finding] = []
    missing: list[str] = []
    span, ground_rise = _span(line, distance_m, told, missing)
    stiffness, weight, strength = _webbing(line, told, missing)
    tie_a = line.a.tie_height.si if line.a.tie_height else None
    tie_b = line.b.tie_height.si if line.b.tie_height else None
    rise = ground_rise + ((tie_b - tie_a) if tie_a is not None and tie_b is not None else 0.0)
    load, second = _walkers(line, missing)
    standing, scatter = _standing(line, span, rise, stiffness, weight, told, missing)
    if line.use == "high line":
        if not (line.walkers and line.walkers.leash):
            missing.append("leash")
        if line.backup == "unknown":
            missing.append("backup")
    return LineInputs(
        id=line.id, use=line.use, span=span, rise=rise, ground_rise=ground_rise, standing=standing,
        standing_ln_sd=scatter, stiffness=stiffness, weight=weight, load=load, second_load=second,
        leash=line.walkers.leash.si if line.walkers and line.walkers.leash else None,
        tie_a=tie_a, tie_b=tie_b, missing=tuple(missing), told=tuple(told), strength=strength,
    )  # fmt: skip


def _span(line: Line, distance_m: float | None, told: list[Finding], missing: list[str]) -> tuple[float | None, float]:
    """Horizontal span and rise of the ground from A to B [m]."""
    profile_end = line.ground[-1].height.si if line.ground else None
    if line.span is None:
        if distance_m is None:
            missing.append("span")
            return None, profile_end or 0.0
        told.append(Finding("span", "suits if", f"no tape was laid; the span is {distance_m:.1f} m by positions alone",
                            "the span is taped and agrees", looked_at=False))  # fmt: skip
        missing.append("span")
        return distance_m, profile_end or 0.0
    taped, slope = line.span.taped.si, line.span.slope
    if line.span.along == "slope":
        if slope is None:
            told.append(Finding("span", "suits", "the tape lay along the slope but no slope was read; taken as level"))
            return taped, profile_end or 0.0
        angle = math.radians(slope.si)
        return taped * math.cos(angle), taped * math.sin(angle)
    if profile_end is None and slope is not None:
        profile_end = taped * math.tan(math.radians(slope.si))
    return taped, profile_end or 0.0


def _webbing(line: Line, told: list[Finding], missing: list[str]) -> tuple[float | None, float, float | None]:
    """Stiffness EA [N], weight a metre [N/m], rated strength [N]."""
    webbing = line.webbing
    row = None
    if webbing and webbing.kind:
        try:
            row = webbing_class(webbing.kind)
        except UnknownName as error:
            told.append(Finding("webbing", "suits", f"webbing '{webbing.kind}' is in no table: {error}"))
    stiffness = webbing.stiffness.si if webbing and webbing.stiffness else (row.ea_kn * 1e3 if row else None)
    mass = webbing.mass.si if webbing and webbing.mass else None
    if mass is None:
        mass = row.mass_g_per_m / 1e3 if row and row.mass_g_per_m else DEFAULT_MASS_PER_LENGTH
    if stiffness is None:
        if line.use == "hammock":
            stiffness = HAMMOCK_STIFFNESS
        else:
            missing.append("webbing")
    strength = webbing.strength.si if webbing and webbing.strength else None
    return stiffness, mass * GRAVITY, strength


def _walkers(line: Line, missing: list[str]) -> tuple[float | None, float | None]:
    """Weight of the heaviest walker and of all the others together [N]."""
    walkers = line.walkers
    load = walkers.mass.si * GRAVITY if walkers and walkers.mass else None
    if load is None:
        missing.append("walker")
    others = (walkers.at_once - 1) if walkers else 0
    return load, others * (load if load is not None else 100.0 * GRAVITY) if others else None


def _standing(line, span, rise, stiffness, weight, told, missing) -> tuple[float | None, float]:
    """Standing tension [N] and its scatter [ln]."""
    standing = line.standing
    if line.use == "hammock":
        return None, SCATTER_ESTIMATE
    if standing and standing.tension:
        scatter = {"load cell": SCATTER_LOAD_CELL, "guess": SCATTER_GUESS}.get(standing.how, SCATTER_ESTIMATE)
        return standing.tension.si, scatter
    if standing and standing.sag and span and stiffness:
        load = standing.sag_under.si * GRAVITY
        found = float(standing_from_sag(span, rise, standing.sag.si - rise / 2, stiffness, weight, load, 0.5))
        if math.isfinite(found):
            told.append(Finding("standing tension", "suits",
                                f"standing tension {found / 1e3:.2f} kN, worked out from the sag under a walker"))  # fmt: skip
            return found, SCATTER_ESTIMATE
        told.append(Finding("standing tension", "cannot say", "no tension gives the sag that was measured",
                            looked_at=False))  # fmt: skip
    missing.append("standing tension")
    return None, SCATTER_GUESS


@lru_cache(maxsize=4096)
def line_loads(inputs: LineInputs) -> tuple[tuple[LoadCase, ...], str]:
    """Load cases of a line and, where there are none, why. Remedies ask again and again, hence the cache."""
    lacking = [name for name in ("span", "webbing", "standing tension") if _lacks(inputs, name)]
    if lacking:
        return (), "the load cannot be worked out without: " + ", ".join(lacking)
    keywords = {"leash": inputs.leash} if inputs.leash is not None else {}
    try:
        return load_cases(
            inputs.use, inputs.span, inputs.rise, inputs.standing, inputs.stiffness, inputs.weight, inputs.load,
            second_load=inputs.second_load, standing_scatter=inputs.standing_ln_sd, **keywords,
        ), ""  # fmt: skip
    except OutsideModel as error:
        return (), f"the load lies outside the model: {error}"


def _lacks(inputs: LineInputs, name: str) -> bool:
    value = {"span": inputs.span, "webbing": inputs.stiffness, "standing tension": inputs.standing}[name]
    return value is None and not (name == "standing tension" and inputs.use == "hammock")
