"""Does the line clear the ground with the walker on it, at every place, and how high may it be tied?"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from siteassess.advice.finding import Finding, found, whys
from siteassess.advice.line_inputs import LineInputs
from siteassess.advice.results import Clearance
from siteassess.advice.under_line import feet_apart, profile_of, tapes_apart
from siteassess.errors import OutsideModel
from siteassess.mechanics import clearance as heights
from siteassess.mechanics.clearance import empty_height, least_standing, walked_height
from siteassess.mechanics.line_load import LoadedLine
from siteassess.mechanics.profile import Profile
from siteassess.records.line import Line
from siteassess.reference.constants import constant
from siteassess.reference.findings import Said, names_of, said
from siteassess.reference.rules import RuleSet, SizeClause

MARGIN_M = constant("ground margin")
TAPES_APART = MARGIN_M / 2  # what two tapes may differ by [m]
HIGH_M = constant("high line from")
HIGH_HAMMOCK_M = constant("high hammock from")
HIGH_EQUIPMENT_M = constant("high equipment from")
TOO_HIGH = {"hammock": ("hammock-too-high", HIGH_HAMMOCK_M),
            "aerial equipment": ("equipment-too-high", HIGH_EQUIPMENT_M)}  # fmt: skip
ON_IT_M = 0.005  # what no tape tells from the ground itself
HEIGHTS_DIFFER_M = constant("heights differ")


@dataclass(frozen=True)
class HeightLimit:
    """A greatest height the place's rules set."""

    kind: str  # "attach height" or "line height", of the line with nobody on it
    metres: float


def height_limits(rules: RuleSet | None, use_words: Sequence[str]) -> tuple[HeightLimit, ...]:
    """Greatest heights in a rule set that hold for a use; `use_words` are what rules call it."""
    clauses = rules.clauses if rules else ()
    return tuple(
        HeightLimit(clause.kind, clause.value_m) for clause in clauses
        if isinstance(clause, SizeClause) and clause.kind in ("attach height", "line height")
        and clause.operator in ("<=", "<") and clause.value_m is not None
        and not (clause.measured_at and clause.measured_at.loaded)
        and clause.holds_for(use_words)
    )  # fmt: skip


def _taken(line: Line) -> Said:
    """What untaped ground is taken for."""
    if line.open_below is None or line.ground:
        return said("ground-taken-as-a-slope")
    return said("ground-taken-as-open", depth=line.open_below.text)


def clearance_of(
    line: Line, inputs: LineInputs, seek: bool = True, limits: tuple[HeightLimit, ...] = ()
) -> tuple[Clearance | None, list[Finding]]:
    """The line over the ground, and what it means for the line as a whole.

    Parameters
    ----------
    line, inputs : the line as recorded and as numbers
    seek : bool
        Whether to look for the standing tension that would clear it, which takes most of the time.
    limits : tuple of HeightLimit
        Of the place's rules.
    """
    answer, told = _clearance_of(line, inputs, seek, limits)
    apart = tapes_apart(line, inputs.span, inputs.rise, inputs.tie_a)
    if apart > TAPES_APART:
        told.append(found("ground-tapes-apart", "cannot say", looked_at=False, apart=apart))
    if (off := feet_apart(line, inputs.span)) > TAPES_APART:
        told.append(found("ground-foot-apart", "cannot say", looked_at=False, apart=off))
    return answer, told


def _clearance_of(
    line: Line, inputs: LineInputs, seek: bool, limits: tuple[HeightLimit, ...]
) -> tuple[Clearance | None, list[Finding]]:
    walked, tie_a, tie_b = inputs.loading(), inputs.tie_a, inputs.tie_b
    if inputs.hung or inputs.standing is None or walked is None or tie_a is None or tie_b is None:
        return None, [*_under_a_hammock(inputs), *too_high(inputs)]
    margin = MARGIN_M if inputs.keep_clear is None else inputs.keep_clear
    try:
        ground, taped = profile_of(line, walked.span, walked.rise, inputs.ground_rise, tie_a)
        as_worked_out, empty = walked_height(walked, tie_a, ground), empty_height(walked, tie_a, ground)
        off = 0.0 if line.mid_height is None else line.mid_height.si - as_worked_out.at_mid_span
        nearer = _nearer(ground, walked.span, -off) if off < 0 else ground
        on = as_worked_out if nearer is ground else walked_height(walked, tie_a, nearer)
    except OutsideModel as error:
        return None, [found("ground-not-worked-out", "suits if", looked_at=False, why=whys(error)), *too_high(inputs)]
    short = on.lowest < margin
    needed = least_standing(walked, tie_a, nearer, margin) if seek and short else math.nan
    lift = heights.lowest_tie(walked, tie_a, nearer, margin) - tie_a if short else None
    room = _room(limits, max(tie_a, tie_b), heights.highest_tie(walked, tie_a, ground, 0.0) - tie_a)
    several = (said("all-at-one-place", people=inputs.people),) if inputs.people > 1 else ()
    told = (*_told(on, needed, margin), *several, *_ties(lift, room, margin), *_measured(line, off),
            *(() if taped else (_taken(line),)))  # fmt: skip
    answer = Clearance(
        **_profile(on, empty, ground, walked.span), mid_height_loaded_m=max(on.at_mid_span, 0.0),
        lowest_m=max(on.lowest, 0.0),
        lowest_at_m=on.lowest_at, touches=bool(on.lowest < ON_IT_M),
        standing_to_clear_n=float(needed) if math.isfinite(needed) else None, told=(),
        touching_m=on.touches(ON_IT_M), margin_m=margin, lift_to_clear_m=lift, ties_may_rise_m=room,
    )  # fmt: skip
    answer = replace(answer, told=(feet_said(answer), *told))
    wish = _wish_unmet(inputs, answer)
    plain = [one for one in _findings(answer, taped, inputs) if not wish or one.effect != "suits"]
    feet = max(float(as_worked_out.height.max()), line.mid_height.si if line.mid_height else 0.0)
    empty_mid = float(tie_a + walked.rise / 2 - ground.at(walked.span / 2))
    return answer, [*plain, *wish, *_measured_lower(line, off, short), *_measured_higher(line, off, empty_mid),
                    *too_high(inputs, feet),
                    *_sag_too_deep(line, walked, tie_a, ground)]  # fmt: skip


def _under_a_hammock(inputs: LineInputs) -> list[Finding]:
    """The condition low lines have where nobody spoke of the ground: a hammock over a gully is a high one."""
    if not inputs.hung or inputs.under.how != "unknown":
        return []
    return [found("ground-under-hammock-unsaid", "suits if", looked_at=False, most=HIGH_HAMMOCK_M)]


def too_high(inputs: LineInputs, feet: float = -math.inf) -> list[Finding]:
    """A line recorded as low that is a high one by its height; `feet` is their greatest height over the ground [m]."""
    if inputs.use == "high line":
        return []
    tie = max((tie for tie in (inputs.tie_a, inputs.tie_b) if tie is not None), default=-math.inf)
    code, limit = TOO_HIGH.get(inputs.use, ("high-as-a-high-line", HIGH_M))
    # over taped ground the feet that were worked out say it better
    deep = inputs.deepest if inputs.under.how == "open below" or not math.isfinite(feet) else 0.0
    highest = max(tie, feet, deep)
    if highest <= limit:
        return []
    if deep == highest:
        what = said("so-deep-below", height=highest)
    elif feet == highest:
        what = said("feet-so-high", height=feet)
    else:
        what = said("tie-so-high", height=tie)
    return [found(code, "cannot say", looked_at=False, what=what, most=limit)]


def _sag_too_deep(line: Line, hung: LoadedLine, tie_a: float, ground: Profile) -> list[Finding]:
    """A sag that was measured deeper than the ground lies cannot have been measured."""
    if not (line.standing and line.standing.sag):
        return []
    deep = line.standing.sag.si - hung.rise / 2 - tie_a + float(ground.at(0.5 * hung.span))
    if deep <= TAPES_APART:
        return []
    return [found("sag-under-the-ground", "cannot say", looked_at=False, sag=line.standing.sag.text, depth=deep)]


def _profile(
    on: heights.WalkHeight, empty: heights.WalkHeight, ground: Profile, span: float
) -> dict[str, tuple[float, ...]]:
    """Ground, empty line and walker's feet from trunk to trunk, heights over the foot of A [m]."""
    distance = np.concatenate(([0.0], on.distance, [span]))
    below = ground.at(distance)
    line, feet = (np.maximum(np.concatenate(([one.tie_a], one.height, [one.tie_b])), 0.0) + below
                  for one in (empty, on))  # fmt: skip
    return {name: tuple(map(float, row)) for name, row in
            (("x_m", distance), ("ground_m", below), ("unloaded_m", line), ("walker_m", feet))}  # fmt: skip


def _room(limits: tuple[HeightLimit, ...], tie: float, by_line: float) -> float | None:
    """How far both ties may rise under the place's limits [m]; negative where they are too high, None without a limit.

    `tie` is the higher one; `by_line` is the same for a limit of 0 m on the whole empty line.
    """
    rooms = [limit.metres + by_line if limit.kind == "line height" else limit.metres - tie for limit in limits]
    return min(rooms, default=None)


def _findings(answer: Clearance, taped: bool, inputs: LineInputs) -> list[Finding]:
    """What the height over the ground means; of a high line, where nobody said how it lies, its fall asks instead."""
    feet = feet_said(answer)
    if not answer.touches and inputs.under.how == "unknown" and inputs.use != "high line":
        if inputs.high:  # deep ground is no fault there, but whoever hangs under it reaches lower than its feet here
            return [found("clears-equipment-if-level", "suits if", looked_at=False, feet=feet)]
        return [found("clears-if-level", "suits if", looked_at=False, feet=feet, most=HIGH_M)]
    if not answer.touches and answer.lowest_m < answer.margin_m and taped:
        return [found("clears-by-less", "suits", feet=feet, margin=answer.margin_m)]
    if not answer.touches:
        return [found("clears", "suits", feet=feet)]
    if not taped:
        return [found("touches-if-level", "suits if", feet=feet)]
    lift, room = answer.lift_to_clear_m, answer.ties_may_rise_m
    lifts = lift is not None and (room is None or lift <= room)
    return [touching(answer, tighter=answer.standing_to_clear_n is not None, higher=lifts)]


def _wish_unmet(inputs: LineInputs, answer: Clearance) -> list[Finding]:
    """Feet that stay off the ground, and not as far as was wished for."""
    if inputs.keep_clear is None or answer.touches or answer.lowest_m >= inputs.keep_clear:
        return []
    return [found("wished-height-not-kept", "suits if", feet=feet_said(answer), margin=inputs.keep_clear)]


def touching(answer: Clearance, tighter: bool, higher: bool) -> Finding:
    """What a walker who reaches known ground asks for, by which changes of the line would do."""
    code = {(True, True): "touches-tighter-or-higher", (True, False): "touches-tighter",
            (False, True): "touches-higher", (False, False): "touches"}[tighter, higher]
    values: dict[str, Any] = {"feet": feet_said(answer), "standing": answer.standing_to_clear_n,
                              "lift": answer.lift_to_clear_m}  # fmt: skip
    return found(code, "suits if", **{one: value for one, value in values.items() if one in names_of(code)})


def feet_said(answer: Clearance) -> Said:
    """How high the walker's feet stay at the lowest place, or where they reach the ground."""
    if not answer.touches:
        return said("feet-stay", height=answer.lowest_m, at=answer.lowest_at_m)
    return said("feet-reach", places=tuple(
        said("stretch", low=low, high=high) if high - low >= 1 else said("about-there", at=low)
        for low, high in answer.touching_m
    ))  # fmt: skip


def _told(on: heights.WalkHeight, needed: float, margin: float) -> tuple[Said, ...]:
    stands = said("walker-at-mid-span", stands=_stands(float(on.at_mid_span)), a=on.tie_a, b=on.tie_b)
    if not math.isfinite(needed):
        return (stands,)
    return stands, said("tension-would-clear", standing=float(needed), margin=margin)


def _stands(height: float) -> Said:
    if abs(height) < 0.005:
        return said("line-lies-on-the-ground")
    return said("line-so-high" if height > 0 else "feet-stand-on-the-ground", height=abs(height))


def _ties(lift: float | None, room: float | None, margin: float) -> tuple[Said, ...]:
    told = []
    if lift is not None:
        limit = () if room is None else (said("height-limit-allows" if lift <= room else "height-limit-forbids"),)
        told.append(said("higher-ties-would-clear", lift=float(lift), margin=margin, limit=limit))
    if room is not None and abs(room) < 0.005:
        told.append(said("ties-at-the-height-limit"))
    elif room is not None:
        told.append(said("ties-may-rise", room=float(room)) if room > 0 else said("ties-must-come-down", down=-room))
    return tuple(told)


def _measured(line: Line, off: float) -> tuple[Said, ...]:
    """A height that was measured beside the one worked out, by how much it lies off it [m]; lower is a finding."""
    if line.mid_height is None or off < -HEIGHTS_DIFFER_M:
        return ()
    return (said("measured-agrees", height=line.mid_height.text),) if off <= HEIGHTS_DIFFER_M else ()


def _measured_lower(line: Line, off: float, short: bool) -> list[Finding]:
    """What was measured lower than worked out; a condition where the feet then come nearer than they should."""
    if line.mid_height is None or off >= -HEIGHTS_DIFFER_M:
        return []
    return [found("measured-lower", "suits if" if short else "suits", height=line.mid_height.text, off=-off)]


def _measured_higher(line: Line, off: float, straight: float) -> list[Finding]:
    """What was measured higher than worked out: a tighter line than recorded, or over the ties no height of this line.

    `straight` is the height of the straight way from tie to tie over the ground at mid-span [m].
    """
    if line.mid_height is None or off <= HEIGHTS_DIFFER_M:
        return []
    if line.mid_height.si > straight + HEIGHTS_DIFFER_M:
        return [found("measured-over-the-ties", "cannot say", looked_at=False, height=line.mid_height.text,
                      straight=straight)]  # fmt: skip
    tighter = off > MARGIN_M  # a webbing somewhat stiffer than its class makes up the rest
    return [found("measured-higher", "suits if" if tighter else "suits", looked_at=False, height=line.mid_height.text,
                  off=off)]  # fmt: skip


def _nearer(ground: Profile, span: float, off: float) -> Profile:
    """The ground as near as was measured at mid-span: it lies higher, or a softer line lower; at the trunks as ever."""
    at = np.unique(np.concatenate((ground.distance, heights.HEIGHTS_AT * span)))
    share = np.clip(at / span, 0.0, 1.0)
    return Profile(at, ground.at(at) + 4 * off * share * (1 - share))
