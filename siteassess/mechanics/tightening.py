"""Can this crew make this line tight enough to clear the ground, and which one change helps most?"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from siteassess.mechanics.clearance import least_standing
from siteassess.mechanics.hauling import Range, Stage, haul, reaches, settled
from siteassess.mechanics.line_load import LoadedLine
from siteassess.mechanics.profile import Profile
from siteassess.reference.constants import constant

STIFFER = constant("stiffer webbing")
HIGHER = constant("higher tie")


@dataclass(frozen=True)
class Pullers:
    """Who pulls with what."""

    people: int
    stages: tuple[Stage, ...]
    pull_each: Range | float | None = None
    footing: str = "feet braced"
    friction_grip: Range | None = None

    def left(self, settles: Range, re_tensioned: int) -> Range:
        """Tension left after lock-off and settling [N]; the share lost and times pulled up again as in
        `hauling.settled`."""
        pulled = haul(self.people, self.stages, self.pull_each, self.footing, self.friction_grip)
        return settled(pulled.locked, settles, re_tensioned)


@dataclass(frozen=True)
class Change:
    """One change, and how the tension that stays compares with the tension that clears."""

    name: str  # a key, put into words elsewhere
    needed: float  # least standing tension that clears [N]; NaN where none does
    stays: Range  # tension that stays [N]

    @property
    def ratio(self) -> float:
        """Likely tension that stays over the tension needed [-]; 0 where nothing clears."""
        return self.stays.likely / self.needed if np.isfinite(self.needed) else 0.0

    @property
    def answer(self) -> str:
        """Whether it is tight enough: "yes", "perhaps" or "no"."""
        return reaches(self.needed, self.stays) if np.isfinite(self.needed) else "no"


def tight_enough(
    line: LoadedLine, tie_a: float, ground: Profile, margin: float, crew: Pullers, settles: Range, re_tensioned: int = 0
) -> Change:
    """Whether the line and crew as they are make it tight enough.

    Parameters
    ----------
    line, tie_a, ground, margin : as in `clearance.least_standing` [m]
    crew : who pulls with what
    settles, re_tensioned : as in `hauling.settled`
    """
    needed = least_standing(line, tie_a, ground, margin)
    return Change("as-planned", needed, crew.left(settles, re_tensioned))


def what_helps(
    line: LoadedLine, tie_a: float, ground: Profile, margin: float, crew: Pullers, settles: Range, re_tensioned: int = 0
) -> Sequence[Change]:
    """One change at a time, the most helpful first.

    Only a plain stiffness can be made stiffer; with a stretch table that change is left out.

    Parameters
    ----------
    line, tie_a, ground, margin, crew, settles, re_tensioned : as in `tight_enough` [m]
    """
    same_line = least_standing(line, tie_a, ground, margin)  # what the crew changes leave as it is
    stays = crew.left(settles, re_tensioned)
    sheave, person = replace(crew, stages=_one_more(crew.stages)), replace(crew, people=crew.people + 1)
    answers = [
        Change("one-more-sheave", same_line, sheave.left(settles, re_tensioned)),
        Change("one-more-person", same_line, person.left(settles, re_tensioned)),
        Change("ties-higher", least_standing(line, tie_a + HIGHER, ground, margin), stays),
        Change("one-more-round", same_line, crew.left(settles, re_tensioned + 1)),
    ]
    if isinstance(line.stiffness, (int, float)):
        stiffer = replace(line, stiffness=STIFFER * line.stiffness)
        answers.append(Change("stiffer-webbing", least_standing(stiffer, tie_a, ground, margin), stays))
    return sorted(answers, key=lambda change: -change.ratio)


def _one_more(stages: tuple[Stage, ...]) -> tuple[Stage, ...]:
    return (*stages[:-1], stages[-1]._replace(ideal=stages[-1].ideal + 1))
