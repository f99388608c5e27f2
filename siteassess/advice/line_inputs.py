"""A line of the record turned into the numbers its loads are worked out from.

Nothing is filled in silently: what is missing is named, what is assumed is told.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from functools import lru_cache
from typing import Any

from siteassess.advice.finding import Finding, found, whys
from siteassess.advice.gear_inputs import (
    WebbingNumbers,
    joined_numbers,
    stiffness_of_class,
    stiffness_said,
    webbing_numbers,
    widest_alike,
)
from siteassess.advice.under_line import UnderLine, deepest, foot_of_b, ground_at, under_line
from siteassess.errors import OutsideModel, UnknownName
from siteassess.mechanics.cable_sag import standing_from_sag
from siteassess.mechanics.hauling import SETTLING, Range
from siteassess.mechanics.line_load import (
    FLAT_HAMMOCK_ANGLE,
    HAMMOCK_ANGLE,
    LONG_LEASH,
    SCATTER_ESTIMATE,
    SCATTER_LOAD_CELL,
    UNNAMED_WALKER,
    Floor,
    LoadCase,
    LoadedLine,
    secant_of,
)
from siteassess.mechanics.loadcases import USES, load_cases
from siteassess.mechanics.stretch_table import StretchTable
from siteassess.records.line import FROM_HEIGHT, EndName, Line
from siteassess.reference.constants import constant
from siteassess.reference.findings import Said, said
from siteassess.reference.webbing import classes_like, leash_stiffness, webbing_class
from siteassess.units import STANDARD_GRAVITY

WALK_ONLY = "walk only, no bouncing"
SCATTER_GUESS = constant("guess ln sd")
MOST_STANDING = constant("most standing")
HAMMOCK_SPAN = constant("hammock span")
HAMMOCK_OVER_GROUND = constant("hammock over ground")
HAMMOCK_STIFFNESS = constant("hammock stiffness")


@dataclass(frozen=True)
class Wider:
    """The widest webbing of its kind that a line may be of, beside the width it is judged at."""

    width: float  # of the class that is judged [m]
    stiffness: float | StretchTable | None  # EA [N], or stretch by tension
    weight: float  # [N/m]


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
    stiffness: float | StretchTable | None  # EA [N], or stretch by tension
    weight: float  # [N/m]
    load: float | None  # weight of the heaviest walker; None takes the unnamed walker [N]
    second_load: float | None  # weight of everybody else at the same time [N]
    leash: float | None  # [m]
    tie_a: float | None  # [m]
    tie_b: float | None  # [m]
    missing: tuple[str, ...] = ()
    told: tuple[Finding, ...] = ()
    strength: float | None = None  # rated strength of the webbing [N]
    class_strength: tuple[float, float] | None = None  # plausible strength of a class nobody rated [N]
    settles: Range = SETTLING["unknown"]  # share of the tension lost at the first walk [-]
    backup_extra: float | None = None  # of the backup line over the straight way across [m]
    backup_stiffness: float | None = None  # EA [N]
    keep_clear: float | None = None  # wished height of the feet over the ground [m]
    people: int = 1  # at once
    backup: str = "unknown"  # none, same tree, other tree
    under: UnderLine = UnderLine("unknown")  # ground that ends every drop
    deepest: float = 0.0  # greatest depth the ground was taped or told to lie at under the line [m]
    leash_ea: float | None = None  # of what the leash is made of; None takes the stiffest [N]
    walk_only: bool = False  # nobody bounces or jumps on it
    wider: Wider | None = None  # what it may be as well, where nobody said how wide its webbing is

    def tie(self, end: EndName) -> float | None:
        """Height of the tie at one end [m]."""
        return self.tie_a if end == "A" else self.tie_b

    @property
    def at_its_widest(self) -> LineInputs | None:
        """The same line of the widest webbing it may be of; None where its width is known or makes nothing of it."""
        if self.wider is None:
            return None
        return replace(self, stiffness=self.wider.stiffness, weight=self.wider.weight, wider=None)

    @property
    def walker(self) -> float:
        """Weight of the heaviest walker, or of the unnamed one [N]."""
        return self.load if self.load is not None else UNNAMED_WALKER

    @property
    def everybody(self) -> float:
        """Weight of all who are on it at once [N]."""
        return self.walker + (self.second_load or 0.0)

    @property
    def hang_angle_deg(self) -> float:
        """Angle a hammock hangs at under load [deg]: no steeper than leaves its bed over the ground."""
        ties = [tie for tie in (self.tie_a, self.tie_b) if tie is not None]
        most = HAMMOCK_ANGLE if len(ties) == 2 else FLAT_HAMMOCK_ANGLE  # a tie nobody read may be a low one
        if not ties or self.span is None:
            return most
        room = min(ties) - HAMMOCK_OVER_GROUND
        return min(most, math.degrees(math.atan2(2 * room, self.span)))

    @property
    def chord(self) -> float | None:
        """Straight distance between the ties [m]."""
        return None if self.span is None else math.hypot(self.span, self.rise)

    @property
    def secant(self) -> float:
        """The one stiffness at 10 kN that the energy balances go by [N]; NaN where unknown."""
        return math.nan if self.stiffness is None else secant_of(self.stiffness)

    @property
    def stiffness_told(self) -> Said:
        return stiffness_said(self.stiffness, self.secant)

    def loading(self) -> LoadedLine | None:
        """The line as the mechanics takes it, under all who are on it at one place; its standing tension may be NaN.

        None without a span or a webbing.
        """
        if self.span is None or self.stiffness is None:
            return None
        standing = math.nan if self.standing is None else self.standing
        return LoadedLine(self.span, self.rise, standing, self.stiffness, self.weight, self.everybody)

    @property
    def floor(self) -> Floor | None:
        """Known ground as the mechanics takes it."""
        if self.under.points is None or self.tie_a is None:
            return None
        return Floor(ground_at(self.under.points), self.tie_a, self.under.unseen)

    @property
    def high(self) -> bool:
        """Whether a failure means a fall from height, which asks for the larger divisor."""
        return self.use in FROM_HEIGHT

    @property
    def hung(self) -> bool:
        """Whether it hangs slack by its angle, as a hammock does, where other lines are tensioned."""
        return USES[self.use].hung


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
    tie_a = line.a.tie_height.si if line.a.tie_height else None
    tie_b = line.b.tie_height.si if line.b.tie_height else None
    rise = ground_rise + ((tie_b - tie_a) if tie_a is not None and tie_b is not None else 0.0)
    webbing = _webbing(line, span, rise, told, missing)
    stiffness, weight = webbing.stiffness, webbing.mass * STANDARD_GRAVITY
    load, second = _walkers(line, missing)
    standing, scatter = _standing(line, span, rise, stiffness, weight, told, missing)
    backup_extra, backup_stiffness = _backup(line, told)
    if line.use == "high line":
        if not (line.walkers and line.walkers.leash):
            missing.append("leash")
        if line.backup == "unknown":
            missing.append("backup")
    read = LineInputs(
        id=line.id, use=line.use, span=span, rise=rise, ground_rise=ground_rise, standing=standing,
        standing_ln_sd=scatter, stiffness=stiffness, weight=weight, load=load, second_load=second,
        leash=line.walkers.leash.si if line.walkers and line.walkers.leash else None,
        tie_a=tie_a, tie_b=tie_b, missing=tuple(missing), told=(), strength=webbing.strength,
        class_strength=webbing.class_strength, settles=webbing.settles,
        backup_extra=backup_extra, backup_stiffness=backup_stiffness,
        keep_clear=line.keep_clear.si if line.keep_clear else None, people=_people(line),
        backup=line.backup, under=under_line(line, span, rise, ground_rise, tie_a, tie_b),
        deepest=deepest(line, span, rise, tie_a),
        leash_ea=_leash(line, told), walk_only=bool(line.walkers and line.walkers.movement == WALK_ONLY),
        wider=_wider(line, span, rise),
    )  # fmt: skip
    return replace(read, told=(*told, *_people_told(read), *_hammock_told(read)))


def _people_told(inputs: LineInputs) -> list[Finding]:
    if inputs.people < 2:
        return []
    return [found("several-people", "suits", people=inputs.people, mass=inputs.everybody / STANDARD_GRAVITY)]


def _hammock_told(inputs: LineInputs) -> list[Finding]:
    if not inputs.hung:
        return []
    told = []
    if 0 < inputs.hang_angle_deg < HAMMOCK_ANGLE:
        told.append(found("hammock-hangs-flat", "suits", angle=inputs.hang_angle_deg, room=HAMMOCK_OVER_GROUND))
    if inputs.standing is not None:
        told.append(found("hammock-pulled-first", "suits", tension=inputs.standing))
    return told


def _span(line: Line, distance_m: float | None, told: list[Finding], missing: list[str]) -> tuple[float | None, float]:
    """Horizontal span and rise of the ground from A to B [m]."""
    profile_end = foot_of_b(line)
    if line.span is None:
        if distance_m is None:
            missing.append("span")
            return None, profile_end or 0.0
        told.append(found("span-by-positions", "suits if", looked_at=False, span=distance_m))
        missing.append("span")
        return distance_m, profile_end or 0.0
    taped, slope = line.span.taped.si, line.span.slope
    if line.span.along == "slope":
        if slope is None:
            return _along_unread_slope(taped, profile_end, distance_m, told, missing)
        angle = math.radians(slope.si)
        return taped * math.cos(angle), taped * math.sin(angle)
    if profile_end is None and slope is not None:
        profile_end = taped * math.tan(math.radians(slope.si))
    return taped, profile_end or 0.0


def _along_unread_slope(
    taped: float, profile_end: float | None, distance_m: float | None, told: list[Finding], missing: list[str]
) -> tuple[float | None, float]:
    """A tape along a slope that nobody read has no horizontal length, unless the ground under it was levelled."""
    if profile_end is not None and abs(profile_end) < taped:
        return math.sqrt(taped**2 - profile_end**2), profile_end
    missing.append("span")
    if distance_m is None:
        told.append(found("tape-slope-unread", "cannot say", looked_at=False))
        return None, 0.0
    told.append(found("tape-slope-unread-positions", "suits if", looked_at=False, span=distance_m))
    return distance_m, 0.0


def _webbing(line: Line, span: float | None, rise: float, told: list[Finding], missing: list[str]) -> WebbingNumbers:
    """The line's webbing, one or several joined; a hammock's straps where nothing was given."""
    if line.sections:
        tension = line.standing.tension.si if line.standing and line.standing.tension else 0.0
        chord = None if span is None else math.hypot(span, rise)
        webbing = joined_numbers(line.sections, chord, tension, told)
        beside = webbing_numbers(line.webbing, []).strength
        if beside is not None:
            webbing = replace(webbing, strength=min(beside, webbing.strength or beside))
    else:
        webbing = webbing_numbers(line.webbing, told)
    if webbing.stiffness is None and USES[line.use].hung:
        return replace(webbing, stiffness=HAMMOCK_STIFFNESS)
    if webbing.stiffness is None:
        missing.append("webbing")
    return webbing


def _wider(line: Line, span: float | None, rise: float) -> Wider | None:
    """What the webbing may be as well where its width was not said; of several pieces each of which it was not."""
    pieces = tuple(widest_alike(piece) for piece in (line.sections or (line.webbing,)))
    narrow = [was.kind for was, wide in zip(line.sections or (line.webbing,), pieces) if was and was.kind and wide]
    if not narrow or USES[line.use].hung:
        return None
    update: dict[str, Any] = {"webbing": pieces[0]}
    if line.sections:
        update = {"sections": tuple(wide or was for was, wide in zip(line.sections, pieces))}
    webbing = _webbing(line.model_copy(update=update), span, rise, [], [])
    width = max(webbing_class(kind).width_mm for kind in narrow) / 1e3
    return Wider(width, webbing.stiffness, webbing.mass * STANDARD_GRAVITY)


def _backup(line: Line, told: list[Finding]) -> tuple[float | None, float | None]:
    """Extra length [m] and EA [N] of the backup line."""
    backup = line.backup_line
    if backup is None:
        return None, None
    extra = backup.extra_length.si if backup.extra_length else None
    if backup.stiffness:
        return extra, backup.stiffness.si
    if backup.kind:
        try:
            stiffness, _ = stiffness_of_class(backup.kind)
        except UnknownName:
            told.append(found("backup-webbing-unknown", "suits", kind=backup.kind, names=classes_like(backup.kind)))
        else:
            return extra, stiffness.secant(stiffness.tension[-1]) if isinstance(stiffness, StretchTable) else stiffness
    return extra, None


def _leash(line: Line, told: list[Finding]) -> float | None:
    """EA of the leash of a high line [N]."""
    if line.use != "high line":
        return None
    kind = line.walkers.leash_kind if line.walkers else "unknown"
    if kind == "unknown":
        told.append(found("leash-stuff-unsaid", "suits", looked_at=False))
    return leash_stiffness("not known" if kind == "unknown" else kind)


def _people(line: Line) -> int:
    """How many are on it at once; one where nobody said."""
    return (line.walkers and line.walkers.at_once) or 1


def _walkers(line: Line, missing: list[str]) -> tuple[float | None, float | None]:
    """Weight of the heaviest walker and of all the others together [N]."""
    walkers = line.walkers
    load = walkers.mass.si * STANDARD_GRAVITY if walkers and walkers.mass else None
    if load is None:
        missing.append("walker")
    others = _people(line) - 1
    return load, others * (load if load is not None else UNNAMED_WALKER) if others else None


def _standing(
    line: Line, span: float | None, rise: float, stiffness: float | StretchTable | None, weight: float,
    told: list[Finding], missing: list[str],
) -> tuple[float | None, float]:  # fmt: skip
    """Standing tension [N] and its scatter [ln]."""
    standing = line.standing
    hung = USES[line.use].hung
    if hung and not (standing and (standing.tension or standing.sag)):
        return None, SCATTER_ESTIMATE
    if standing and standing.tension:
        scatter = {"load cell": SCATTER_LOAD_CELL, "guess": SCATTER_GUESS}.get(standing.how, SCATTER_ESTIMATE)
        # the angle a hammock hangs at is no better known for a load cell
        return standing.tension.si, max(scatter, SCATTER_ESTIMATE) if hung else scatter
    if standing and standing.sag and standing.sag_under and span and stiffness:
        under = standing.sag_under
        load = under.si * STANDARD_GRAVITY
        tension = float(standing_from_sag(span, rise, standing.sag.si - rise / 2, stiffness, weight, load, 0.5))
        if tension > MOST_STANDING:
            told.append(found("sag-asks-too-much", "cannot say", looked_at=False, under=under.text, tension=tension,
                              most=MOST_STANDING))  # fmt: skip
        elif math.isfinite(tension):
            told.append(found("standing-from-sag", "suits", under=under.text, tension=tension))
            return tension, SCATTER_ESTIMATE
        else:
            told.append(found("no-tension-sags-so", "cannot say", looked_at=False))
    missing.append("standing tension")
    return None, SCATTER_GUESS


@lru_cache(maxsize=4096)
def line_loads(inputs: LineInputs) -> tuple[tuple[LoadCase, ...], Said | None]:
    """Load cases of a line and, where there are none, why. Remedies ask again and again, hence the cache."""
    span, stiffness, hung = inputs.span, inputs.stiffness, inputs.hung
    if span is None or stiffness is None or (inputs.standing is None and not hung):
        known = {"span": span, "webbing": stiffness, "standing tension": math.nan if hung else inputs.standing}
        return (), said("load-lacks", things=tuple(name for name, value in known.items() if value is None))
    keywords: dict[str, float] = {"leash": LONG_LEASH if inputs.leash is None else inputs.leash}
    if inputs.leash_ea is not None:
        keywords["leash_stiffness"] = inputs.leash_ea / keywords["leash"]
    if hung:
        if span > HAMMOCK_SPAN:
            return (), said("hammock-too-long", span=span, most=HAMMOCK_SPAN)
        if inputs.hang_angle_deg <= 0:
            return (), said("hammock-on-the-ground", room=HAMMOCK_OVER_GROUND)
        keywords["hang_angle_deg"] = inputs.hang_angle_deg
    try:
        return load_cases(
            inputs.use, span, inputs.rise, inputs.standing, stiffness, inputs.weight, inputs.load,
            second_load=inputs.second_load, people=inputs.people, standing_scatter=inputs.standing_ln_sd,
            backup_extra_length=inputs.backup_extra, backup_stiffness=inputs.backup_stiffness, floor=inputs.floor,
            walk_only=inputs.walk_only, **keywords,
        ), None  # fmt: skip
    except OutsideModel as error:
        return (), said("load-outside-model", why=whys(error))
