"""What the load cases of a line mean for its verdict: how far they may be trusted, and what the webbing can bear."""

from __future__ import annotations

import math
from collections.abc import Sequence

from siteassess.advice.line_inputs import LineInputs, line_loads
from siteassess.advice.results import Finding, Load, as_told
from siteassess.mechanics.line_load import BACKUP_FLAG, MOST_STRETCH
from siteassess.mechanics.series import strain_at
from siteassess.mechanics.stretch_table import StretchTable
from siteassess.units import show

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
    found = []
    fall = next((load for load in loads if load.case == "leash fall"), None)
    if fall is not None and not fall.calibrated:
        found.append(as_told(
            "leash fall", "suits if", "a leash fall on this line lies outside the lines it was ever measured on",
            "a rigger trained for high lines confirms the load of a fall, measured on this line",
        ))  # fmt: skip
    if line.use == "high line" and line.no_backup:
        found.append(as_told("redundancy", "cannot say", "no independent backup: a high line is judged only with one, "
                             "since a fall from it can kill", looked_at=False,
                             do_next="plan a backup on an anchor of its own"))  # fmt: skip
    elif line.use == "high line":
        found.append(as_told(
            "redundancy", "suits if", "a fall from a high line can kill",
            "trained people rig it with an independent second sling and backup at each end",
        ))  # fmt: skip
    if line.walk_only:
        found.append(as_told("movement", "suits", "judged as walked only: nobody bounces or jumps on it"))
    rough = [load.case for load in loads if not load.calibrated and load.case != "leash fall"]
    if rough:
        lie = "case {} lies" if len(rough) == 1 else "cases {} lie"
        found.append(as_told("load", "suits", f"the {lie.format(_listed(rough))} outside the three measured lines, so "
                                              "their scatter is only indicative"))  # fmt: skip
    return found


def _listed(names: list[str]) -> str:
    return names[0] if len(names) == 1 else f"{', '.join(names[:-1])} and {names[-1]}"


def _falls(line: LineInputs) -> list[Finding]:
    """A fall beside an anchor, and the catch of a backup, which alone can pass what the rest of the line feels."""
    cases = {case.name: case for case in line_loads(line)[0]}
    found = []
    if (near := cases.get("fall at an anchor")) is not None:
        found.append(as_told("leash fall", "suits", "a fall within about 2 m of an anchor can pull it "
                                                    f"{show(near.vertical_a, 'kN', 2)} straight down"))  # fmt: skip
    if (fall := cases.get("leash fall")) is not None:
        found += _reach(line, fall.reach)
    catch = cases.get(BACKUP)
    if catch is None:
        return found
    if math.isnan(catch.tension):
        return [*found, as_told("backup", "suits", f"backup catch {catch.basis}; {catch.warning}")]
    if catch.tension == 0:
        says = "the ground ends a fall before the backup line is tight anywhere: it catches nobody"
        return [*found, as_told("backup", "suits if", says, "the backup is made shorter, or the line hangs higher, and "
                                "it is judged again")]  # fmt: skip
    says = f"a backup catch works out at {show(catch.tension, 'kN', 2)}, and none was measured to compare it with"
    if catch.tension <= BACKUP_FLAG:
        return [*found, as_told("backup", "suits", says)]
    return [*found, as_told("backup", "suits if", f"{says}: more than {BACKUP_FLAG / 1e3:.0f} kN",
                            "the backup is made shorter or stretchier, and judged again")]  # fmt: skip


def _reach(line: LineInputs, reach: float) -> list[Finding]:
    """Whether somebody who hangs in the leash at the lowest point of a fall stays clear of the ground."""
    needed = show(reach + line.rise / 2, "m", 2)
    if line.under.points is None:
        says = f"a fall into the leash reaches {needed} under the line, and how deep it is open below was not said"
        return [as_told("open below", "suits if", says, f"it is open more than {needed} below the line",
                        looked_at=False)]  # fmt: skip
    room = float(line.floor.depth(0.5 * line.span))
    if reach < room:
        return []
    return [as_told("open below", "suits if", f"a fall into the leash reaches {needed} under the line, and the ground "
                    f"lies {show(room + line.rise / 2, 'm', 2)} below it: it ends on the ground",
                    "the line hangs higher or tighter, or the leash is shorter, and it is judged again")]  # fmt: skip


def _strength(line: LineInputs, hardest: Load) -> list[Finding]:
    if line.strength:
        ratio = hardest.tension_n / line.strength
        if ratio <= 1:
            return []
        return [as_told("webbing", "leave it", f"the line's tension reaches {ratio:.0%} of the webbing's strength")]
    if line.class_strength and hardest.tension_n > line.class_strength[0]:
        low, high = (strength / 1e3 for strength in line.class_strength)
        return [as_told("webbing", "suits if",
                        f"{hardest.case} reaches {show(hardest.tension_n, 'kN', 2)}; webbing of this class breaks at "
                        f"{low:.0f} to {high:.0f} kN (recalled, not read)",
                        "the webbing's rated strength is known and well above that")]  # fmt: skip
    return []


def _stretch(line: LineInputs, hardest: Load) -> list[Finding]:
    stretch = float(strain_at(line.stiffness, hardest.tension_n))
    if stretch > MOST_STRETCH:
        says = (f"{hardest.case} would stretch the webbing by {stretch:.0%}, past the {MOST_STRETCH:.0%} at which the "
                "stretchiest breaks: no table holds there")  # fmt: skip
        return [as_told("webbing", "cannot say", says, looked_at=False,
                        do_next="plan a stiffer webbing, less tension or a shorter line")]  # fmt: skip
    table = line.stiffness if isinstance(line.stiffness, StretchTable) else None
    if table is not None and not table.covers(hardest.tension_n):
        last = show(float(table.tension[-1]), "kN", 2)
        return [as_told("webbing", "suits if",
                        f"{hardest.case} reaches {show(hardest.tension_n, 'kN', 2)}, past the stretch table's last row "
                        f"at {last}", "the webbing's stretch is known up to there")]  # fmt: skip
    return []
