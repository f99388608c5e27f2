"""What was not looked at, at its kindest: a limit that is exceeded even so is exceeded, and not looking gains nothing.

Only what keeps a limit from being worked out is tried so. What stands in by an unkind value that is told, a soil taken
as wet or a walker nobody weighed, keeps that value: it does so for those who looked at everything else as well.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import replace
from typing import Any

from siteassess.advice.hold import Pulls, end_loads, pulls_of
from siteassess.advice.line_inputs import HAMMOCK_OVER_GROUND, LineInputs
from siteassess.advice.tree_inputs import TreeInputs
from siteassess.mechanics.ground import STEEPEST_DEG
from siteassess.mechanics.line_load import HAMMOCK_ANGLE
from siteassess.mechanics.rootplate import SLENDER_PER_DIAMETER
from siteassess.records.line import EndName
from siteassess.reference.constants import constant
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
