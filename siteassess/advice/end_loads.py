"""The loads of a line at one end, beside the sums: at their kindest, what they mean for its verdict, what a tie asks.

What was not looked at is tried at its kindest: a limit that is exceeded even so is exceeded, and not looking gains
nothing. Only what keeps a limit from being worked out is tried so. What stands in by an unkind value that is told, a
soil taken as wet or a walker nobody weighed, keeps that value: it does so for those who looked at everything else.

What the load cases mean: how far they may be trusted, and what the webbing can bear. What a tie asks: how thick a trunk
has to be there whatever the sums say, and how high it may sit.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import replace
from typing import Any

import numpy as np

from siteassess.advice.finding import Finding, found
from siteassess.advice.hold import Pulls, end_loads, pulls_of
from siteassess.advice.line_inputs import HAMMOCK_OVER_GROUND, LineInputs, line_loads
from siteassess.advice.results import Load
from siteassess.advice.tree_inputs import TreeInputs
from siteassess.mechanics.ground import STEEPEST_DEG
from siteassess.mechanics.line_load import BACKUP_FLAG, HAMMOCK_ANGLE, MOST_STRETCH, LoadCase
from siteassess.mechanics.rootplate import SLENDER_PER_DIAMETER
from siteassess.mechanics.series import strain_at
from siteassess.mechanics.stretch_table import StretchTable
from siteassess.records.line import EndName
from siteassess.reference.constants import constant
from siteassess.reference.findings import said
from siteassess.reference.webbing import softest_webbing

LEAST_TIE = constant("least tie")
LEAST_STANDING = constant("least standing")
LEAST_SPAN = constant("least span")
# [m] tried for a line nobody taped and no position places, of which the kindest counts (judgement)
KINDEST_SPANS = (LEAST_SPAN.value, 20.0, 60.0, 200.0)


def kindest_lines(line: LineInputs) -> Iterator[LineInputs]:
    """The line with what its loads lack at its kindest, once for every span it may have."""
    tie = LEAST_TIE.value
    if line.hung and line.span is not None:  # no lower than it hangs at its steepest, where it asks least of a trunk
        tie = HAMMOCK_OVER_GROUND + line.span / 2 * math.tan(math.radians(HAMMOCK_ANGLE))
    tie_a, tie_b = (tie if read is None else read for read in (line.tie_a, line.tie_b))
    kind = replace(
        line, tie_a=tie_a, tie_b=tie_b,
        standing=LEAST_STANDING.value if line.standing is None and not line.hung else line.standing,
        stiffness=softest_webbing() if line.stiffness is None else line.stiffness,
    )  # fmt: skip
    for span in (line.span,) if line.span is not None else KINDEST_SPANS:
        yield replace(kind, span=span)


def pulls_at(line: LineInputs, end: EndName, bearing: float) -> tuple[Pulls | None, Pulls | None]:
    """The pulls of a line at one end, and where they are not known, the least they may be; None where neither is."""
    tie = line.tie(end)
    loads, _ = end_loads(line, end, bearing)
    if loads and tie is not None:
        return pulls_of(loads, tie, bearing), None
    if line.span is None or math.isnan(bearing):
        return None, None  # it may pull the other way, or hardly at all
    (kind,) = kindest_lines(line)
    loads, _ = end_loads(kind, end, bearing)
    tie = kind.tie(end)
    return None, pulls_of(loads, tie, bearing) if loads and tie is not None else None


def kindest_tree(tree: TreeInputs) -> TreeInputs:
    """The tree with what was not looked at at its kindest."""
    filled = tree.height_how == "filled"
    unseen: dict[str, Any] = {name: kind for name, kind in KINDEST.items() if math.isnan(getattr(tree, name))}
    tall = min(tree.height_high, SLENDER_PER_DIAMETER.value * tree.root_diameter) if filled else tree.height
    return replace(
        tree, height=tall,
        sector_lost=_seen(tree.sector_lost, 0.0), digging=_seen(tree.digging, math.inf),
        cut_off=_seen(tree.cut_off, math.inf),
        **unseen,
    )  # fmt: skip


KINDEST = {"lean_deg": 0.0, "slope_deg": 0.0, "bank_m": math.inf, "forked": 0.0, "wall": math.inf}
"""By field of a tree: what is taken where nobody looked."""


def without_what_refuses(tree: TreeInputs) -> TreeInputs:
    """The tree without what was seen and keeps its limits from being worked out: a worse fact must not hide one."""
    return replace(
        tree, sector_lost=tuple(0.0 for _ in tree.sector_lost), digging=tuple(math.inf for _ in tree.digging),
        cut_off=tuple(math.inf for _ in tree.cut_off), slope_deg=min(tree.slope_deg, STEEPEST_DEG.value),
        height=min(tree.height, SLENDER_PER_DIAMETER.value * tree.root_diameter), wall=math.inf, opening_deg=0.0,
    )  # fmt: skip


def _seen(values: tuple[float, ...], kind: float) -> tuple[float, ...]:
    return tuple(kind if math.isnan(value) else value for value in values)


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


LEAST_TRUNK = constant("least trunk")
USUAL_LEAST_TRUNK = constant("usual least trunk")
HIGH_LINE_TRUNK = constant("high line trunk")
HIGHEST_TIE = constant("highest tie")
LEAST_TRUNK_ASSUMPTIONS = (LEAST_TRUNK, USUAL_LEAST_TRUNK, HIGH_LINE_TRUNK, HIGHEST_TIE)


def size_findings(line: LineInputs, tree: TreeInputs, tie: float | None) -> list[Finding]:
    """What stands against the size of a trunk at its tie, whatever it is worked out to carry."""
    diameter = tree.diameter_at(tie) if tie is not None else tree.diameter
    if np.isnan(diameter):
        return []
    if diameter < LEAST_TRUNK:
        return [found("trunk-under-least", "leave it", diameter=diameter, least=LEAST_TRUNK)]
    if line.use == "high line" and diameter < HIGH_LINE_TRUNK.value:
        return [found("trunk-slim-for-a-high-line", "cannot say", diameter=diameter,
                      slim=said("slim-for-a-high-line", least=HIGH_LINE_TRUNK.value))]  # fmt: skip
    if diameter < USUAL_LEAST_TRUNK and not line.hung:
        return [found("trunk-under-public-rules", "suits if", diameter=diameter, low=USUAL_LEAST_TRUNK.low,
                      high=USUAL_LEAST_TRUNK.high)]  # fmt: skip
    return []


def tie_findings(tree: TreeInputs, tie: float) -> list[Finding]:
    """What stands against a tie at a height, whatever hangs from it."""
    diameter = tree.diameter_at(tie)
    thin = [found("trunk-under-least", "leave it", diameter=diameter, least=LEAST_TRUNK)]
    return [*thin * (diameter < LEAST_TRUNK), *high_tie(tree, tie)]


def crown_unread(tree: TreeInputs, tie: float | None) -> list[Finding]:
    """A lowest branch nobody read may be below the tie, where nothing was ever tested."""
    if tie is None or not np.isnan(tree.crown_base):
        return []
    return [found("lowest-branch-unread", "suits if", looked_at=False)]


def high_tie(tree: TreeInputs, tie: float | None) -> list[Finding]:
    """High in the tree neither the trunk nor the root plate was ever tested."""
    if tie is None:
        return []
    if tree.height_how != "filled" and tie >= tree.height:
        return [found("tie-over-the-top", "leave it", tie=tie, height=tree.height)]
    in_crown, over_third = tie > tree.crown_base, tie > HIGHEST_TIE.value * tree.height + 1e-9
    if in_crown and over_third:
        return [found("tie-in-the-crown-and-high", "cannot say", tie=tie, base=tree.crown_base, height=tree.height)]
    if in_crown:
        return [found("tie-in-the-crown", "cannot say", tie=tie, base=tree.crown_base)]
    return [found("tie-over-a-third", "cannot say", tie=tie, height=tree.height)] if over_third else []
