"""What `siteassess check` prints."""

from __future__ import annotations

from collections.abc import Iterator

from siteassess.advice.check import Checked, PairCheck
from siteassess.papers.look import plain
from siteassess.papers.wording import bearing, known, metres

HEADS = ("pair", "for", "position", "tape", "bearing", "compass", "level")
NOTHING = "-"
NAME_AT_MOST = 24


def check_text(name: str, found: Checked) -> str:
    """The check of a record as lines of text: doubtful readings, a table of all pairs, and how they fit together."""
    name, doubtful = plain(name), len(found.warnings)
    counted = f"; {doubtful} doubtful reading{'s' if doubtful > 1 else ''}, look at them first" if doubtful else ""
    lines = [f"{name}: readable, no fault found{counted}"]
    for warning in found.warnings:
        at = f"{name}:{warning.line}: " if warning.line else ""
        lines.append(f"  {at}doubtful: {plain(warning.sentence())}")
    if not found.warnings:
        lines.append("  no doubtful reading")
    if found.pairs:
        lines += ["", *_table([_row(pair) for pair in found.pairs])]
        lines.append("position, tape: horizontal; bearing: by position, true; compass: as read, out / back")
    for pair in found.pairs:
        lines += _said(pair)
    lines += _together(found)
    lines += [plain(one.sentence()) for one in found.still_missing]
    for around in found.around.values():
        lines += [f"  {plain(finding.says)}" for finding in around.findings]
    lines += [f"note: {plain(text)}" for text in found.notes]
    return "\n".join(lines) + "\n"


def _row(pair: PairCheck) -> tuple[str, ...]:
    g, read = pair.geometry, pair.read
    dial = " / ".join(bearing(one.bearing_deg) if one else NOTHING for one in (read.out, read.back))
    north = next((sighting.north for _, _, sighting in read.sightings), None)
    return (
        f"{pair.a} to {pair.b}", pair.source[:NAME_AT_MOST], _or_nothing(g.distance_m), _or_nothing(g.taped_m),
        bearing(g.bearing_true_deg) if known(g.bearing_true_deg) else NOTHING,
        f"{dial} {north}" if north else NOTHING, g.level,
    )  # fmt: skip


def _or_nothing(length: float | None) -> str:
    return metres(length) if known(length) else NOTHING


def _table(rows: list[tuple[str, ...]]) -> Iterator[str]:
    rows = [HEADS, *rows]
    wide = [max(len(plain(row[k])) for row in rows) for k in range(len(HEADS))]
    for row in rows:
        yield "  ".join(plain(cell).ljust(width) for cell, width in zip(row, wide)).rstrip()


def _said(pair: PairCheck) -> Iterator[str]:
    """What stands behind the word in the table; of a pair that agrees the table says enough."""
    g = pair.geometry
    if g.level == "agrees":
        return
    yield f"  {plain(g.agreement)}"
    yield from (f"    {plain(text)}" for text in g.notes)


def _together(found: Checked) -> Iterator[str]:
    if found.together.says or found.triangles or found.traverses:
        yield "all readings together:"
    yield from (f"  {plain(text)}" for text in found.together.says)
    yield from (f"  {plain(one.sentence())}" for one in (*found.triangles, *found.traverses))
    adjustment = found.together.found
    if adjustment is None or not found.together.may_be_drawn:
        return
    yield "  places by all readings, and how far from there the true place lies 95 times of 100:"
    for code in found.places.codes:
        anchor = adjustment.anchors.get(code)
        if anchor is None or not known(anchor.position.latitude_deg):
            continue
        at, ellipse = anchor.position, anchor.ellipse.at_95_percent()
        yield (f"  {plain(code)}: {at.latitude_deg:.6f}, {at.longitude_deg:.6f}; {ellipse.semi_major_m:.1f} m toward "
               f"{bearing(ellipse.major_bearing_deg)} and back, {ellipse.semi_minor_m:.1f} m across")  # fmt: skip
