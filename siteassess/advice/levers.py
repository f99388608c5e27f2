"""What may be changed of a line or its end to make it suit, from the smallest change to the largest that is told."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from siteassess.advice.changes import DRIER, EndSetting, TreeEnd, guy_said
from siteassess.advice.kindest import LEAST_SPAN, LEAST_STANDING, LEAST_TIE
from siteassess.advice.line_inputs import HAMMOCK_OVER_GROUND, LineInputs
from siteassess.errors import OutsideModel
from siteassess.mechanics.cable import solve
from siteassess.mechanics.cable_sag import standing_from_sag
from siteassess.mechanics.line_load import HAMMOCK_ANGLE
from siteassess.records.line import ON_FOOT
from siteassess.reference.constants import constant
from siteassess.reference.findings import Said, said
from siteassess.units import STANDARD_GRAVITY

LEAST_TIE_TO_JUMP = constant("least tie to jump")
LEAST_TIE_OVER_SPAN = constant("least tie over span")
LEAST_WALKER = constant("least walker")
SHORTEST_SHARE = constant("shortest share of a span")
SLACKEST_SHARE = constant("slackest share of a tension")
GUY_SHARE = constant("guy share")
LEVER_ASSUMPTIONS = (LEAST_TIE, LEAST_TIE_TO_JUMP, LEAST_TIE_OVER_SPAN, LEAST_STANDING, SLACKEST_SHARE, LEAST_WALKER,
                     LEAST_SPAN, SHORTEST_SHARE, GUY_SHARE)  # fmt: skip
WALKED_USES = tuple(use for use in ON_FOOT if use != "trick line")  # that one is there to be jumped on


@dataclass(frozen=True)
class Try:
    """One change worth trying: the field, its value, and how to say it."""

    field: str
    value: float | None
    unit: str
    what: Said
    standing: float | None = None


def _ties(setting: EndSetting) -> list[Try]:
    return [] if setting.tie is None else [
        Try("tie height", tie, "m", said("tie-no-higher", tie=tie))
        for tie in _steps_down(setting.tie, _least_tie(setting.inputs), 0.05)
    ]  # fmt: skip


def _steeper(setting: EndSetting) -> list[Try]:
    """Both ties of a hammock higher, until it hangs as steep as any is taken to."""
    line = setting.inputs
    if not line.hung or line.standing is not None or None in (line.tie_a, line.tie_b, line.span):
        return []
    assert line.tie_a is not None and line.tie_b is not None and line.span is not None
    now = min(line.tie_a, line.tie_b)
    steep = HAMMOCK_OVER_GROUND + line.span / 2 * math.tan(math.radians(HAMMOCK_ANGLE))
    return [Try("ties", float(tie), "m", said("ties-no-lower", tie=float(tie)))
            for tie in np.ceil(np.arange(now + 0.05, steep + 0.1, 0.1) * 20 - 1e-9) / 20]  # fmt: skip


def _least_tie(line: LineInputs) -> float:
    """The lowest tie that is told [m]: a long line hangs the deeper, and must be stepped onto and walked to its end."""
    if line.use == "trick line":
        return LEAST_TIE_TO_JUMP.value
    grows = 0.0 if line.hung or line.high or line.span is None else LEAST_TIE_OVER_SPAN * line.span
    return max(LEAST_TIE.value, grows)


def _tensions(setting: EndSetting) -> list[Try]:
    now = setting.inputs.standing
    return [] if now is None else [
        Try("standing tension", pull, "N", said("standing-no-more", standing=pull))
        for pull in _steps_down(now, max(LEAST_STANDING.value, SLACKEST_SHARE.value * now), 100.0)
    ]  # fmt: skip


def _walkers(setting: EndSetting) -> list[Try]:
    now = setting.inputs.walker / STANDARD_GRAVITY
    return [Try("walker", mass, "kg", said("nobody-heavier", mass=mass))
            for mass in _steps_down(now, LEAST_WALKER.value, 5.0)]  # fmt: skip


def _people(setting: EndSetting) -> list[Try]:
    """Fewer at a time."""
    now = setting.inputs.people
    return [Try("people", float(some), "", said("no-more-at-once", people=some)) for some in range(now - 1, 0, -1)]


def _walk_only(setting: EndSetting) -> list[Try]:
    line = setting.inputs
    if line.walk_only or line.use not in WALKED_USES:
        return []
    return [Try("movement", None, "", said("nobody-bounces"))]


def _spans(setting: EndSetting) -> list[Try]:
    """Shorter lines that sag as deep under the walker as this one, and so stand with less tension."""
    line, length, now = setting.inputs, setting.inputs.span, setting.inputs.standing
    if length is None or now is None or line.stiffness is None or setting.line.span is None:
        return []
    load = line.walker
    try:
        drop = float(solve(length, line.rise, now, line.secant, line.weight, load, 0.5).require().drop)
    except OutsideModel:
        return []
    spans = np.array(_steps_down(length, max(LEAST_SPAN.value, SHORTEST_SHARE.value * length), 1.0))
    standing = np.ceil(standing_from_sag(spans, line.rise, drop, line.secant, line.weight, load, 0.5) / 10) * 10
    return [
        Try("span", float(span), "m", said("span-no-longer", span=float(span), standing=float(pull)), float(pull))
        for span, pull in zip(spans, standing) if LEAST_STANDING.value <= pull < now
    ]


def _drier(setting: EndSetting) -> list[Try]:
    """On another day; peat, and what water stands on, does not dry between two days."""
    ground = setting.anchor.ground if isinstance(setting, TreeEnd) else None
    if ground is None or ground.texture == "peat" or ground.wetness not in ("wet", "unknown"):
        return []
    return [Try(DRIER, None, "", said("ground-firm-and-moist"))]


def _guyed(setting: EndSetting) -> list[Try]:
    if not isinstance(setting, TreeEnd):
        return []
    what = guy_said(setting.inputs, setting.end, setting.bearing, 1 - GUY_SHARE.value, setting.ropes)
    return [Try("guy", GUY_SHARE.value, "", what)]


Lever = Callable[[EndSetting], list[Try]]
# what is done soonest first
LEVERS: tuple[Lever, ...] = (_walk_only, _people, _ties, _steeper, _tensions, _drier, _walkers, _spans, _guyed)
OF_THE_LINE = (_walk_only, _people, _steeper, _tensions, _walkers, _spans)  # those that change both of its ends


def _steps_down(now: float, least: float, step: float) -> list[float]:
    """Round values below the present one, from the nearest down to the least."""
    first = math.ceil(now / step - 1e-9) - 1
    last = math.ceil(least / step - 1e-9)
    return [round(step * i, 6) for i in range(first, last - 1, -1)]
