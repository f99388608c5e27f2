"""The numbers behind hauling and gear, as reports tell them."""

from __future__ import annotations

from siteassess.advice.gear_loads import left_by
from siteassess.advice.ground import HIGH_HAMMOCK_M, HIGH_M
from siteassess.advice.hauling_inputs import FOOTING_NOT_SEEN
from siteassess.advice.line_inputs import HAMMOCK_OVER_GROUND, HAMMOCK_SPAN, HIGH_USES
from siteassess.advice.rated_gear import NATURAL_CHOKE_DEG, UNSAID_ENDS
from siteassess.advice.results import LineResult
from siteassess.mechanics import gear, hauling, tightening
from siteassess.mechanics.line_load import BACKUP_FLAG, MOST_STRETCH
from siteassess.reference.constants import Constant, constant, constants

PULLS = constants("pull of one person")
OF_HAULING = (
    *PULLS.values(), constant("two people pull"), constant("lock loss"), constant("settling: nylon"),
    constant("settling: unknown"), hauling.SETTLING_FALLS, constant("friction grip"),
    Constant(PULLS[FOOTING_NOT_SEEN], name=f"footing not said is taken as {FOOTING_NOT_SEEN}, N",
             low=PULLS["slippery ground"], high=PULLS["feet braced"], unit="N", flag="judgement",
             note="between the other two"),
    tightening.HIGHER, tightening.STIFFER,
)  # fmt: skip
OF_GEAR = (
    gear.BREAKING_FACTOR,
    Constant(left_by(UNSAID_ENDS), name=f"strength left by {UNSAID_ENDS}, taken where nobody said what holds a webbing",
             low=0.60, high=1.0, unit="", flag="read", note="second hand; a sewn eye leaves all of it"),
    Constant(left_by("ratchet"), name="strength left of webbing wound on a ratchet", low=0.67, high=0.80, unit="",
             flag="memory", note="EN 12195-2: bare webbing three times, whole strap twice the lashing capacity"),
    NATURAL_CHOKE_DEG, gear.TAILS, MOST_STRETCH,
)  # fmt: skip
OF_A_HAMMOCKS_PLACE = (HIGH_HAMMOCK_M, HAMMOCK_SPAN, HAMMOCK_OVER_GROUND)


def line_assumptions(lines: tuple[LineResult, ...]) -> list[Constant]:
    """Those that bear on some of the lines."""
    used: list[Constant] = []
    if any(line.use not in (*HIGH_USES, "hammock") for line in lines):
        used.append(HIGH_M)
    if any(line.use == "hammock" for line in lines):
        used += OF_A_HAMMOCKS_PLACE
    if any("hauling" in line.extra for line in lines):
        used += OF_HAULING
    if any(len(line.gear) > 1 for line in lines):
        used += OF_GEAR
    if any(line.use == "high line" for line in lines):
        used.append(BACKUP_FLAG)
    return used
