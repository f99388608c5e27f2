"""What `siteassess check` prints."""

from __future__ import annotations

from siteassess.advice.check import Checked
from siteassess.papers.look import plain
from siteassess.papers.wording import bearing, metres


def check_text(name: str, found: Checked) -> str:
    """The check of a record as lines of text."""
    lines = [f"{name}: readable, no fault found"]
    for warning in found.warnings:
        at = f"{name}:{warning.line}: " if warning.line else ""
        lines.append(f"  {at}doubtful: {plain(warning.sentence())}")
    if not found.warnings:
        lines.append("  no doubtful reading")
    for pair in found.pairs:
        g = pair.geometry
        lines.append(
            f"{plain(pair.line)} {plain(pair.a)} to {plain(pair.b)}: {metres(g.distance_m)} by position, "
            f"{metres(g.taped_m)} taped; bearing {bearing(g.bearing_true_deg)} true, "
            f"{bearing(g.bearing_magnetic_deg)} magnetic: {g.level}"
        )
        lines.append(f"  {plain(g.agreement)}")
        lines += [f"  perhaps: {plain(text)}" for text in g.notes]
    lines += [f"note: {plain(text)}" for text in found.notes]
    return "\n".join(lines) + "\n"
