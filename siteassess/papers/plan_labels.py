"""Places for labels so that none lies on another: each tries a ring of places round its point, near before far."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np

from siteassess.papers.drawing import text_width
from siteassess.papers.plan_frame import Box

RINGS_MM = (0.0, 3.0, 7.0, 12.0, 17.0)
DIRECTIONS = tuple(math.radians(a) for a in (90, 270, 0, 180, 45, 135, 315, 225, 67, 113, 293, 247))
CLEAR_MM = 0.6
LEVEL_WAYS = DIRECTIONS[:2]  # a leader that lies level between two words reads as a line from one to the other
LEADER_FROM_MM = 3.0  # a label farther off its point than this has a leader
COVERS = math.cos(math.radians(50))  # a label within 50 degrees of a line's direction would lie on it


@dataclass(frozen=True)
class Wanted:
    """A label to be placed. `gap_mm` keeps it off its point, the `shorter` are used in turn where there is no room."""

    x: float
    y: float
    text: str
    size_mm: float
    gap_mm: float
    shorter: tuple[str, ...] = ()
    bold: bool = False
    colour: str = "ink"
    anchors: tuple[tuple[float, float], ...] = ()  # other points it may stand at, such as places along a line
    name: str = ""  # code of an anchor or a line
    avoid: tuple[float, ...] = ()  # directions in which something lies that should stay in sight [rad from up]

    def directions(self) -> list[float]:
        """The ring's directions, those towards something to be seen last."""
        return sorted(DIRECTIONS, key=lambda turn: any(math.cos(turn - way) > COVERS for way in self.avoid))


@dataclass(frozen=True)
class Placed:
    """A label with the lower left corner of its box, and where a leader should end if it stands far off."""

    wanted: Wanted
    text: str
    box: Box
    leader: tuple[float, float] | None


class LabelCrowd:
    """The boxes that are taken."""

    def __init__(self, frame: Box):
        self.frame = frame
        self.taken = np.empty((0, 4))

    def copy(self) -> LabelCrowd:
        twin = LabelCrowd(self.frame)
        twin.taken = self.taken.copy()
        return twin

    def take(self, x0: float, y0: float, x1: float, y1: float) -> None:
        self.taken = np.vstack([self.taken, (x0, y0, x1, y1)])

    def free(self, x0: float, y0: float, x1: float, y1: float) -> bool:
        f = self.frame
        if x0 < f.x + 1 or y0 < f.y + 1 or x1 > f.right - 1 or y1 > f.top - 1:
            return False
        t = self.taken
        return not bool(np.any((x0 < t[:, 2]) & (x1 > t[:, 0]) & (y0 < t[:, 3]) & (y1 > t[:, 1])))


def place(labels: list[Wanted], crowd: LabelCrowd) -> tuple[list[Placed], list[Wanted]]:
    """Place labels in their order, the first ones first.

    Where some find no room, all are tried again in their shortest form, and the fuller of the two is kept: long labels
    that came first would otherwise crowd out others whole.

    Returns
    -------
    The labels that found a place, none touching another or a taken box, and those that found none.
    """
    placed, left_out = _place_all(labels, crowd.copy())
    if left_out:
        brief = [replace(wanted, text=(wanted.text, *wanted.shorter)[-1], shorter=()) for wanted in labels]
        placed_brief, left_out_brief = _place_all(brief, crowd.copy())
        if len(left_out_brief) < len(left_out):
            return placed_brief, left_out_brief
    return placed, left_out


def _place_all(labels: list[Wanted], crowd: LabelCrowd) -> tuple[list[Placed], list[Wanted]]:
    placed, left_out = [], []
    for wanted in labels:
        texts = dict.fromkeys((wanted.text, *wanted.shorter))
        found = next((p for text in texts if (p := _try(wanted, text, crowd))), None)
        if found is None:
            left_out.append(wanted)
            continue
        b = found.box
        crowd.take(b.x - CLEAR_MM, b.y - CLEAR_MM, b.right + CLEAR_MM, b.top + CLEAR_MM)
        placed.append(found)
    return placed, left_out


def _try(wanted: Wanted, text: str, crowd: LabelCrowd) -> Placed | None:
    wide, tall = text_width(text, wanted.size_mm, wanted.bold), wanted.size_mm
    for ring in RINGS_MM:
        for px, py in ((wanted.x, wanted.y), *wanted.anchors):
            for turn in wanted.directions():
                if ring > LEADER_FROM_MM and turn in LEVEL_WAYS:
                    continue
                away = wanted.gap_mm + ring
                dx, dy = math.sin(turn), math.cos(turn)
                # the box's nearest edge or corner stands `away` from the point
                cx = px + dx * away + (wide / 2) * (dx if abs(dx) < 0.5 else math.copysign(1, dx))
                cy = py + dy * away + (tall / 2) * (dy if abs(dy) < 0.5 else math.copysign(1, dy))
                x0, y0 = cx - wide / 2, cy - tall / 2
                if crowd.free(x0 - CLEAR_MM, y0 - CLEAR_MM, x0 + wide + CLEAR_MM, y0 + tall + CLEAR_MM):
                    return Placed(wanted, text, Box(x0, y0, wide, tall), (px, py) if ring > LEADER_FROM_MM else None)
    return None
