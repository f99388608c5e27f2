"""The numbers behind hauling and gear, as stated assumptions; the sums themselves keep them as constants."""

from __future__ import annotations

from siteassess.advice.gear_loads import left_by
from siteassess.advice.ground import HIGH_HAMMOCK_M, HIGH_M
from siteassess.advice.hauling_inputs import FOOTING_NOT_SEEN
from siteassess.advice.line_inputs import HAMMOCK_OVER_GROUND, HAMMOCK_SPAN, HIGH_USES
from siteassess.advice.rated_gear import NATURAL_CHOKE_DEG, UNSAID_ENDS
from siteassess.advice.results import LineResult
from siteassess.mechanics import gear, hauling, tightening
from siteassess.mechanics.assumptions import Assumption
from siteassess.mechanics.line_load import BACKUP_FLAG, MOST_STRETCH

_RECALLED = "recalled, not checked"


def _range(name: str, band: hauling.Range, unit: str, flag: str, source: str) -> Assumption:
    return Assumption(name, band.likely, band.low, band.high, unit, flag, source)


OF_HAULING = (
    _range("pull of one person on slippery ground", hauling.PULLS["slippery ground"], "N", "judgement", "no source"),
    _range("pull of one person, standing", hauling.PULLS["standing"], "N", "memory", _RECALLED),
    _range("pull of one person, feet braced", hauling.PULLS["feet braced"], "N", "memory", _RECALLED),
    Assumption("two people pull this many times one", 2**hauling.TEAM_EXPONENT, 1.6, 2.0, "", "memory", _RECALLED),
    _range("share lost when the line is locked off", hauling.LOCK_LOSS, "", "memory", _RECALLED),
    _range("share lost at the first walk, fresh nylon", hauling.SETTLING["nylon"], "", "memory", "common practice"),
    _range("share lost at the first walk, unknown webbing", hauling.SETTLING["unknown"], "", "judgement", "no source"),
    Assumption("share of that loss left after each re-tensioning", hauling.SETTLING_FALLS, 0.3, 0.8, "", "judgement",
               "no source found"),
    _range("a friction grip gives way", hauling.FRICTION_GRIP, "N", "memory", _RECALLED),
    Assumption(f"footing not said is taken as {FOOTING_NOT_SEEN}, N", hauling.PULLS[FOOTING_NOT_SEEN].likely,
               hauling.PULLS["slippery ground"].likely, hauling.PULLS["feet braced"].likely, "N", "judgement",
               "between the other two"),
    Assumption("a higher tie that is tried", tightening.HIGHER, 0.2, 0.5, "m", "judgement", "most ladders and rules"),
    Assumption("a stiffer webbing tried, times", tightening.STIFFER, 1.5, 4.0, "", "judgement", "the next class"),
)  # fmt: skip
OF_GEAR = (
    Assumption("wanted over the load of its place, breaking strengths", gear.BREAKING_FACTOR, 3.0, 5.0, "", "read",
               "one group's practice"),
    Assumption(f"strength left by {UNSAID_ENDS}, taken where nobody said what holds a webbing", left_by(UNSAID_ENDS),
               0.60, 1.0, "", "read", "second hand; a sewn eye leaves all of it"),
    Assumption("strength left of webbing wound on a ratchet", left_by("ratchet"), 0.67, 0.80, "", "memory",
               "EN 12195-2: bare webbing three times, whole strap twice the lashing capacity"),
    Assumption("angle at a choker's eye, where none was read", NATURAL_CHOKE_DEG, 120.0, 135.0, "deg", "read",
               "two sling makers on a choke that is not forced down"),
    Assumption("webbing taken up by locks and tails", gear.TAILS, 2.0, 6.0, "m", "judgement", "no source found"),
    Assumption("stretch past which no table is believed", MOST_STRETCH, 0.25, 0.35, "", "read",
               "breaking stretch of nylon fibre 25 to 35 %"),
)  # fmt: skip
OF_HEIGHT = Assumption("height of feet or tie past which a line is judged as a high line", HIGH_M, 2.0, 3.0, "m",
                       "judgement", "a fall from there can kill")  # fmt: skip
OF_A_HAMMOCKS_PLACE = (
    Assumption("height of a tie past which no hammock is judged", HIGH_HAMMOCK_M, 1.5, 2.5, "m", "judgement",
               "people fall lying"),
    Assumption("span past which no hammock is judged", HAMMOCK_SPAN, 5.0, 7.0, "m", "judgement",
               "so long a one hangs and pulls like a line"),
    Assumption("height left under a loaded hammock", HAMMOCK_OVER_GROUND, 0.2, 0.5, "m", "judgement",
               "limits the angle it can hang at"),
)  # fmt: skip
OF_A_BACKUP = (
    Assumption("backup catch that is flagged", BACKUP_FLAG, 15e3, 25e3, "N", "read",
               "Int. Slackline Association note, November 2020, 58 tests"),
)  # fmt: skip


def line_assumptions(lines: tuple[LineResult, ...]) -> list[Assumption]:
    """Those that bear on some of the lines."""
    used: list[Assumption] = []
    if any(line.use not in (*HIGH_USES, "hammock") for line in lines):
        used.append(OF_HEIGHT)
    if any(line.use == "hammock" for line in lines):
        used += OF_A_HAMMOCKS_PLACE
    if any("hauling" in line.extra for line in lines):
        used += OF_HAULING
    if any(len(line.gear) > 1 for line in lines):
        used += OF_GEAR
    if any(line.use == "high line" for line in lines):
        used += OF_A_BACKUP
    return used
