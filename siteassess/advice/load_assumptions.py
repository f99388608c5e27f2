"""The numbers of ours behind the loads of a line, as stated assumptions; the sums themselves keep them as constants."""

from __future__ import annotations

from siteassess.advice.ground import MARGIN_M
from siteassess.advice.line_inputs import HAMMOCK_STIFFNESS, SCATTER_GUESS
from siteassess.advice.under_line import UNDER_LINE_ASSUMPTIONS
from siteassess.advice.webbing_inputs import DEFAULT_MASS_PER_LENGTH
from siteassess.mechanics import floor, line_load, loadcases
from siteassess.mechanics.assumptions import Assumption
from siteassess.mechanics.calibration import MASS_BAND
from siteassess.reference.tables import rows

_MEASURED = "three measured lines of one walker, Volery, undated web article"
_AGREED = "agreed model"

OF_ANY_LINE = (
    Assumption("rigging peak over standing tension", line_load.RIGGING_PEAK, 1.1, 1.4, "", "judgement",
               "lock-off slip"),
    Assumption("walked case over the exact statics", line_load.WALKED, 1.1, 1.3, "", "derived", _MEASURED),
    Assumption("bounced over walked", line_load.BOUNCED, 1.42, 1.6, "", "derived", _MEASURED),
    Assumption("stiffness in a quick pull over the slow one", line_load.QUICK_STIFFNESS, 1.0, 2.0, "", "derived",
               _MEASURED),
    Assumption("an unnamed walker", 100.0, 80.0, 120.0, "kg", "judgement", _AGREED),
    Assumption("a walker counts as like the measured one within this share of the mass", MASS_BAND, 0.1, 0.3, "",
               "judgement", "one person was measured"),
    Assumption("scatter of a tension read off a load cell", line_load.SCATTER_LOAD_CELL, 0.05, 0.15, "ln", "judgement",
               _AGREED),
    Assumption("scatter of an estimated tension", line_load.SCATTER_ESTIMATE, 0.15, 0.35, "ln", "judgement", _AGREED),
    Assumption("scatter of a guessed tension", SCATTER_GUESS, 0.20, 0.35, "ln", "judgement", "no source found"),
    Assumption("mass of webbing where neither it nor its class is known", DEFAULT_MASS_PER_LENGTH, 0.03, 0.15, "kg/m",
               "judgement", "own weight decides little"),
    Assumption("a jump over the unloaded line", line_load.JUMP, 0.25, 0.6, "m", "judgement",
               "standing jumps of young adults average 0.36 m (women) and 0.56 m (men), Patterson and Peterson 2004"),
    Assumption("nobody jumps nearer to a trunk than this", floor.NEAREST, 1.0, 3.0, "m", "judgement",
               "out of arms' reach; no source found"),
    Assumption("nobody who stumbles on a loaded line is nearer to a trunk than this", floor.NEAREST_STUMBLE, 0.5, 1.5,
               "m", "judgement", "nearer a hand is on the trunk"),
    Assumption("a body drops in a stumble where nobody bounces", line_load.STUMBLE, 0.1, 0.4, "m", "judgement",
               "the knees catch it; no source found"),
    *UNDER_LINE_ASSUMPTIONS,
    Assumption("feet over the ground at the lowest place", MARGIN_M, 0.2, 0.5, "m", "judgement", "no source found"),
)  # fmt: skip
OF_A_HIGH_LINE = (
    Assumption("leash fall over walked", line_load.LEASH_FALL, 1.71, 2.0, "", "derived", _MEASURED),
    Assumption("centre of a standing body over the line", line_load.BODY_ABOVE_LINE, 0.9, 1.2, "m", "judgement",
               _AGREED),
    Assumption("leash where none was given", line_load.LONG_LEASH, 1.0, 2.0, "m", "judgement", _AGREED),
    Assumption("nobody falls nearer to an anchor than this", line_load.NEAREST_FALL, 0.0, 1.0, "m", "judgement",
               "nearer a hand is on the trunk"),
    Assumption("feet of somebody who hangs in the leash under its tie-in", line_load.BODY_UNDER_LEASH, 0.9, 1.3, "m",
               "judgement", "no source found"),
    *(Assumption(f"EA of a leash, {row.name}", row.ea_kn, row.ea_low_kn, row.ea_high_kn, "kN", row.flag, row.page)
      for row in rows("leashes")),
)
OF_A_HAMMOCK = (
    Assumption("angle a loaded hammock hangs at", line_load.HAMMOCK_ANGLE, 15.0, 45.0, "deg", "judgement",
               "common advice, no source"),
    Assumption("the same where a tie was not read", line_load.FLAT_HAMMOCK_ANGLE, 10.0, 30.0, "deg", "judgement",
               "the flatter it hangs, the harder it pulls"),
    Assumption("stiffness of a hammock's straps", HAMMOCK_STIFFNESS, 20e3, 200e3, "N", "judgement",
               "its pull hardly depends on it"),
)  # fmt: skip
OF_A_DROP = (
    Assumption("drop onto the line, trick lines and aerial equipment", loadcases.USES["trick line"].bounce_height,
               0.5, 1.5, "m", "judgement", "no source found"),
)  # fmt: skip
