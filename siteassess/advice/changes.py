"""One field of a record changed, for judging it again: what a remedy asks for, a guy line too, done to the record.

What may be changed of a line or its end to make it suit goes from the smallest change to the largest that is told.
"""

from __future__ import annotations

import datetime
import math
from abc import ABC, abstractmethod
from collections.abc import Callable
from dataclasses import dataclass, replace
from functools import cached_property
from typing import Self

import numpy as np
from pydantic import ValidationError

from siteassess.advice.boulder_end import judge_boulder
from siteassess.advice.end_loads import LEAST_SPAN, LEAST_STANDING, LEAST_TIE, tie_findings
from siteassess.advice.finding import Limit
from siteassess.advice.hold import Pulls, end_loads
from siteassess.advice.judge import EndCase, judge_hold
from siteassess.advice.line_inputs import HAMMOCK_OVER_GROUND, WALK_ONLY, LineInputs, line_inputs
from siteassess.advice.tree_inputs import tree_inputs
from siteassess.advice.under_line import NOTHING_TAPED, TapedBeside
from siteassess.errors import OutsideModel
from siteassess.mechanics.anchor_vector import guy_tension
from siteassess.mechanics.cable import solve
from siteassess.mechanics.cable_sag import standing_from_sag
from siteassess.mechanics.line_load import HAMMOCK_ANGLE
from siteassess.records.anchor import Boulder, Ground, Tree
from siteassess.records.line import ON_FOOT, EndName, Line, Span, Standing, Walkers
from siteassess.reference.constants import constant
from siteassess.reference.findings import Said, said
from siteassess.units import STANDARD_GRAVITY, quantity, show


@dataclass(frozen=True)
class Held:
    """How much of an anchor's hold is used: all that the search for a remedy looks at."""

    hold_use: float | None
    take_down_wind: float | None  # [m/s]; None for a boulder, or where unknown
    limits: tuple[Limit, ...]
    tie_refused: bool = False  # whatever it holds, such as for a trunk too thin there


@dataclass(frozen=True)
class EndSetting(ABC):
    """One end of a line as recorded, with what its place in the park adds."""

    line: Line
    end: EndName
    anchor: Tree | Boulder
    distance_m: float | None  # between the anchors, by their positions
    bearing: float  # of the pull [deg true]
    latitude: float
    on: datetime.date
    others: tuple[Pulls, ...] = ()
    unsummed: tuple[str, ...] = ()  # other lines on the anchor whose pulls cannot be added
    least: tuple[Pulls, ...] = ()  # the least that these may pull
    guyed: float = 1.0
    ropes: tuple[Said, ...] = ()  # what the place's rules may say to a guy
    longitude: float = math.nan  # [deg]

    @cached_property
    def inputs(self) -> LineInputs:
        return line_inputs(self.line, self.distance_m)

    @property
    def tie(self) -> float | None:
        return self.inputs.tie(self.end)

    @abstractmethod
    def held(self) -> Held:
        """How much of the hold is used."""

    def after(self, field: str, value: float | None, standing: float | None = None) -> Self:
        """The same end once a field was changed; `value` in SI, a walker's in kg."""
        return replace(self, line=changed(self.line, self.end, field, value, standing))


@dataclass(frozen=True)
class TreeEnd(EndSetting):
    """One on a tree."""

    anchor: Tree
    taped: TapedBeside = NOTHING_TAPED  # of the ground beside it, under a line

    def case(self) -> EndCase:
        """The numbers it is judged by."""
        tree = tree_inputs(self.anchor, self.tie, self.latitude, self.longitude, self.taped)
        return EndCase(self.inputs, self.end, tree, self.bearing, self.others, self.unsummed, self.guyed, self.on,
                       self.least)  # fmt: skip

    def held(self) -> Held:
        """Of stem and root plate, and the wind."""
        case = self.case()
        judged = judge_hold(case)
        refused = [] if case.tie is None else tie_findings(case.tree, case.tie)
        return Held(judged.hold_use, judged.take_down_wind, judged.limits, bool(refused))

    def after(self, field: str, value: float | None, standing: float | None = None) -> Self:
        """The same end once a field was changed, a guy or a drier ground too."""
        if field == "guy" and value is not None:
            return replace(self, guyed=value)
        if field == DRIER:
            return replace(self, anchor=drier(self.anchor))
        return super().after(field, value, standing)


@dataclass(frozen=True)
class BoulderEnd(EndSetting):
    """One on a boulder."""

    anchor: Boulder

    def held(self) -> Held:
        """Of its sliding and tipping."""
        judged = judge_boulder(self.anchor, self.inputs, self.end, self.bearing, self.unsummed)
        return Held(judged.hold_use, None, judged.limits)


# what was said of the ground under a line, and of no wire near it, tells nothing of a line that hangs elsewhere
UNSAID = {"ground": (), "ground_below": (), "ground_between": "unknown", "open_below": None}


def _elsewhere(line: Line) -> dict[str, object]:
    return {**UNSAID, "power_line": "yes" if line.power_line == "yes" else "not looked"}


def changed(line: Line, end: EndName, field: str, value: float | None, standing: float | None = None) -> Line:
    """The line with one field changed.

    Parameters
    ----------
    line, end
        As recorded; "A" or "B".
    field : str
        "tie height", "standing tension", "walker", "people", "movement", "span" or "ties", the least height of both.
    value : float or None
        New value [m, N, kg, none, none, m, m].
    standing : float, optional
        Standing tension that goes with a new span [N].

    Raises
    ------
    ValueError
        For a field that no line holds, or one without its value.
    OutsideModel
        For a standing tension that no record holds.
    """
    if field == "movement":
        return line.model_copy(update={"walkers": moved(line.walkers, WALK_ONLY)})
    if value is None:
        raise ValueError(f"no line holds the field {field!r} without a value")
    if field == "tie height":
        tied = line.at(end).model_copy(update={"tie_height": quantity(value, "m", "length", 6)})
        return line.model_copy(update={end.lower(): tied})
    if field == "ties":
        for one in line.ends:
            if one.tie_height is None or one.tie_height.si < value:
                line = changed(line, "A" if one is line.a else "B", "tie height", value)
        return line
    if field == "standing tension":
        return _standing_at(line, value)
    if field == "walker":
        mass = quantity(value, "kg", "mass", 6)
        walkers = line.walkers.model_copy(update={"mass": mass}) if line.walkers else Walkers(mass=mass)
        return line.model_copy(update={"walkers": walkers})
    if field == "people":
        together = (line.walkers or Walkers()).model_copy(update={"at_once": int(value)})
        return line.model_copy(update={"walkers": together})
    if field == "span":
        taped = quantity(value, "m", "length", 6)
        level = {"taped": taped, "along": "horizontal", "slope": None}
        span = line.span.model_copy(update=level) if line.span else Span(taped=taped)
        shorter = line.model_copy(update={"span": span, **_elsewhere(line)})
        return shorter if standing is None else _standing_at(shorter, standing)
    raise ValueError(f"no line holds the field {field!r}")


DRIER = "soil wetness"  # the field of the one remedy that changes a tree


def drier(tree: Tree) -> Tree:
    """The tree on ground that is firm and moist."""
    ground = tree.ground.model_copy(update={"wetness": "moist"}) if tree.ground else Ground(wetness="moist")
    return tree.model_copy(update={"ground": ground})


def moved(walkers: Walkers | None, movement: str) -> Walkers:
    """The walkers with what is done on the line said."""
    return (walkers or Walkers()).model_copy(update={"movement": movement})


def _standing_at(line: Line, tension: float) -> Line:
    how = line.standing.how if line.standing else "guess"
    try:
        standing = Standing(tension=quantity(tension, "N", "force", 6), how=how)
    except ValidationError as error:
        raise OutsideModel(f"no record holds a standing tension of {show(tension, 'kN ~2')}",
                           "no-such-standing-tension", tension=tension) from error  # fmt: skip
    return line.model_copy(update={"standing": standing})


STEEP_DEG = constant("steep guy")


def guy_of(line: LineInputs, end: EndName, bearing: float, share: float = 0.5, slope_deg: float = 0.0) -> float | None:
    """Tension of a guy straight behind the hardest pull, tied at its height [N]; None where the pull is not known.

    Parameters
    ----------
    line : LineInputs
    end : "A" or "B"
    bearing : of the pull [deg true]
    share : of the tipping moment that the guy is to take [-]
    slope_deg : how steeply the guy runs down to the second tree [deg]
    """
    loads, _ = end_loads(line, end, bearing)
    if not loads or not line.tie(end):
        return None
    return float(guy_tension(max(load.horizontal_n for load in loads), share, slope_deg))


def carried(line: Line, end: EndName, code: str, standing: float | None) -> Line:
    """The line with one end carried to another anchor, tied as high, with the gear and the tension it has now.

    What was read between its anchors is not known there; neither is the sag under a walker, which told `standing` [N].
    """
    there = line.at(end).model_copy(update={"anchor": code})
    unread = {"span": None, "compass": None, "mid_height": None, **_elsewhere(line)}
    moved_there = line.model_copy(update={end.lower(): there, **unread})
    sagged = line.standing is not None and line.standing.sag is not None
    return moved_there if standing is None or not sagged else _standing_at(moved_there, standing)


def guy_said(
    line: LineInputs, end: EndName, bearing: float, share: float = 0.5, ropes: tuple[Said, ...] = ()
) -> Said:
    """The guy as advice: which way, how hard, what it does to both trees, and what the place's rules may say to it."""
    level = guy_of(line, end, bearing, share)
    part = said("half") if share == 0.5 else said("a-share", share=share)
    steep = guy_of(line, end, bearing, share, STEEP_DEG)
    if level is None or steep is None:
        return said("guyed-unmeasured", part=part, ropes=ropes)
    way = (said("toward-true", bearing=(bearing + 180) % 360),) if math.isfinite(bearing) else ()
    return said("guyed", way=way, part=part, level=level, steep=steep, slope=STEEP_DEG, ropes=ropes)


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


def lower_ties(setting: EndSetting) -> list[Try]:
    """Ties below the planned one, the highest first, down to the lowest that is told.

    Parameters
    ----------
    setting : of an end as recorded
    """
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
LEVERS: tuple[Lever, ...] = (_walk_only, _people, lower_ties, _steeper, _tensions, _drier, _walkers, _spans, _guyed)
OF_THE_LINE = (_walk_only, _people, _steeper, _tensions, _walkers, _spans)  # those that change both of its ends


def _steps_down(now: float, least: float, step: float) -> list[float]:
    """Round values below the present one, from the nearest down to the least."""
    first = math.ceil(now / step - 1e-9) - 1
    last = math.ceil(least / step - 1e-9)
    return [round(step * i, 6) for i in range(first, last - 1, -1)]
