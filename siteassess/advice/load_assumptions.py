"""The numbers of ours behind the loads of a line, as reports tell them."""

from __future__ import annotations

from siteassess.advice.ground import MARGIN_M
from siteassess.advice.line_inputs import HAMMOCK_STIFFNESS, SCATTER_GUESS
from siteassess.advice.under_line import UNDER_LINE_ASSUMPTIONS
from siteassess.advice.webbing_inputs import DEFAULT_MASS_PER_LENGTH
from siteassess.mechanics import floor, line_load, loadcases
from siteassess.mechanics.calibration import MASS_BAND
from siteassess.reference.constants import Constant, constant
from siteassess.reference.tables import rows

OF_ANY_LINE = (
    line_load.RIGGING_PEAK, line_load.WALKED, line_load.BOUNCED, line_load.QUICK_STIFFNESS, constant("unnamed walker"),
    MASS_BAND, line_load.SCATTER_LOAD_CELL, line_load.SCATTER_ESTIMATE, SCATTER_GUESS, DEFAULT_MASS_PER_LENGTH,
    line_load.JUMP, floor.NEAREST, floor.NEAREST_STUMBLE, line_load.STUMBLE, *UNDER_LINE_ASSUMPTIONS, MARGIN_M,
)  # fmt: skip
OF_A_HIGH_LINE = (
    line_load.LEASH_FALL, line_load.BODY_ABOVE_LINE, line_load.LONG_LEASH, line_load.NEAREST_FALL,
    line_load.BODY_UNDER_LEASH,
    *(Constant(row.ea_kn, name=f"EA of a leash, {row.name}", low=row.ea_low_kn, high=row.ea_high_kn, unit="kN",
               flag=row.flag, note=row.page) for row in rows("leashes")),
)  # fmt: skip
OF_A_HAMMOCK = (line_load.HAMMOCK_ANGLE, line_load.FLAT_HAMMOCK_ANGLE, HAMMOCK_STIFFNESS)
OF_A_DROP = (loadcases.DROP,)
