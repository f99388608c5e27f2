"""The three measured lines as a table for the docs: measured, our load case, and each predicted from the others."""

from __future__ import annotations

from siteassess.mechanics.calibration import CASES, MEASURED_LINES, WALKER_MASS, leave_one_out, leave_one_out_scatter
from siteassess.mechanics.line_load import LEASH
from siteassess.mechanics.loadcases import load_cases
from siteassess.reference.webbing import leash_stiffness
from siteassess.units import STANDARD_GRAVITY

HEAD = ("measured line", "case", "measured", "our load case", "from the other two lines")


def measured_table() -> str:
    """Markdown rows, errors as they are, and under them the scatter that goes into the demand.

    "Our load case" is what the program asks of an anchor, tuned on these lines so that none stays low. "From the other
    two" leaves the line out and takes the factor on the static tension that the others give: the error to expect of a
    fourth line. The article does not tell the leash: one of dynamic rope is taken, as usual on such lines (judgement).
    """
    leash = leash_stiffness("dynamic rope") / LEASH
    left_out = {(row.line, row.case): row for row in leave_one_out()}
    rows = [_row(HEAD), _row(("---",) * len(HEAD))]
    for line in MEASURED_LINES:
        known = load_cases("high line", line.span, 0.0, line.standing, line.stiffness, 0.0,
                           WALKER_MASS * STANDARD_GRAVITY, leash_stiffness=leash)  # fmt: skip
        ours = {case.name: case.tension for case in known}
        for case in CASES:
            measured, left = line.measured(case), left_out[line.name, case]
            beside = _beside(ours[case], ours[case] / measured - 1), _beside(left.predicted, left.error)
            rows.append(_row((line.name, case, f"{measured / 1e3:.1f} kN", *beside)))
    scatter = ", ".join(f"{case} {leave_one_out_scatter(case):.2f}" for case in CASES)
    return "\n".join([*rows, "", f"Scatter from the last column, as ln sd: {scatter}."])


def _row(cells) -> str:
    return f"| {' | '.join(cells)} |"


def _beside(tension: float, error: float) -> str:
    return f"{tension / 1e3:.1f} kN ({error:+.0%})"
