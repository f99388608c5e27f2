"""What the load cases of a line mean for its verdict: how far they may be trusted, and what the webbing can bear."""

from __future__ import annotations

import math
from collections.abc import Sequence

from siteassess.advice.finding import Finding, found
from siteassess.advice.line_inputs import LineInputs, line_loads
from siteassess.advice.results import Load
from siteassess.mechanics.line_load import BACKUP_FLAG, MOST_STRETCH, LoadCase
from siteassess.mechanics.series import strain_at
from siteassess.mechanics.stretch_table import StretchTable

BACKUP = "backup catch"


def load_findings(line: LineInputs, loads: Sequence[Load]) -> list[Finding]:
    """Findings on the load cases at one end.

    Parameters
    ----------
    line : LineInputs
    loads : sequence of Load
        Of the end judged; nothing is said where there are none.
    """
    if not loads:
        return []
    # a backup catch is borne by the backup's webbing, not by this one
    hardest = max((load for load in loads if load.case != BACKUP), key=lambda load: load.tension_n)
    return [*_trust(line, loads), *_falls(line), *_strength(line, hardest), *_stretch(line, hardest)]


def _trust(line: LineInputs, loads: Sequence[Load]) -> list[Finding]:
    told = []
    fall = next((load for load in loads if load.case == "leash fall"), None)
    if fall is not None and not fall.calibrated:
        told.append(found("leash-fall-unmeasured", "suits if"))
    if line.use == "aerial equipment" and line.backup == "none":
        told.append(found("equipment-unbacked", "suits if"))
    elif line.use == "aerial equipment" and line.backup == "unknown":
        told.append(found("equipment-backup-unsaid", "suits if", looked_at=False))
    if line.use == "high line" and line.backup == "none":
        told.append(found("no-backup", "cannot say", looked_at=False))
    elif line.use == "high line":
        told.append(found("fall-can-kill", "suits if"))
    if line.walk_only:
        told.append(found("judged-as-walked", "suits"))
    rough = tuple(load.case for load in loads if not load.calibrated and load.case != "leash fall")
    if rough:
        told.append(found("case-unmeasured" if len(rough) == 1 else "cases-unmeasured", "suits", cases=rough))
    return told


def _falls(line: LineInputs) -> list[Finding]:
    """A fall beside an anchor, and the catch of a backup, which alone can pass what the rest of the line feels."""
    cases = {case.name: case for case in line_loads(line)[0]}
    told = []
    if (near := cases.get("fall at an anchor")) is not None:
        told.append(found("fall-near-an-anchor", "suits", pull=near.vertical_a))
    if (fall := cases.get("leash fall")) is not None:
        told += _reach(line, fall.reach)
    if (catch := cases.get(BACKUP)) is not None:
        told.append(_caught(catch))
    return told


def _caught(catch: LoadCase) -> Finding:
    if math.isnan(catch.tension):
        return found("backup-catch-unknown", "suits if", looked_at=False, most=BACKUP_FLAG)
    if catch.tension == 0:
        return found("backup-catches-nobody", "suits if")
    if catch.tension <= BACKUP_FLAG:
        return found("backup-catch", "suits", pull=catch.tension)
    return found("backup-catch-hard", "suits if", pull=catch.tension, most=BACKUP_FLAG)


def _reach(line: LineInputs, reach: float) -> list[Finding]:
    """Whether somebody who hangs in the leash at the lowest point of a fall stays clear of the ground."""
    needed = reach + line.rise / 2
    floor = line.floor
    if floor is None or line.span is None:
        return [found("open-below-unsaid", "suits if", looked_at=False, needed=needed)]
    room = float(floor.depth(0.5 * line.span))
    if reach < room:
        return []
    return [found("fall-ends-on-ground", "suits if", needed=needed, room=room + line.rise / 2)]


def _strength(line: LineInputs, hardest: Load) -> list[Finding]:
    if line.strength and hardest.tension_n > line.strength:
        return [found("webbing-over-strength", "leave it", use=hardest.tension_n / line.strength)]
    if line.class_strength and hardest.tension_n > line.class_strength[0]:
        low, high = line.class_strength
        return [found("webbing-over-class", "suits if", case=hardest.case, pull=hardest.tension_n, low=low, high=high)]
    return []


def _stretch(line: LineInputs, hardest: Load) -> list[Finding]:
    if line.stiffness is None:
        return []
    stretch = float(strain_at(line.stiffness, hardest.tension_n))
    if stretch > MOST_STRETCH:
        return [found("webbing-overstretched", "cannot say", looked_at=False, case=hardest.case, stretch=stretch,
                      most=MOST_STRETCH)]  # fmt: skip
    table = line.stiffness if isinstance(line.stiffness, StretchTable) else None
    if table is not None and hardest.tension_n < table.tension[1]:  # a straight line to there is softer than a webbing
        return [found("stretch-table-starts", "suits if", looked_at=False, case=hardest.case, pull=hardest.tension_n,
                      first=float(table.tension[1]))]  # fmt: skip
    if table is not None and not table.covers(hardest.tension_n):
        return [found("stretch-table-ends", "suits if", case=hardest.case, pull=hardest.tension_n,
                      last=float(table.tension[-1]))]  # fmt: skip
    return []
