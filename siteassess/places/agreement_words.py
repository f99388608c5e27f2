"""The outcome of a pair check in sentences."""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import TYPE_CHECKING

from siteassess.places.readings import PairReadings
from siteassess.reference.constants import constant

if TYPE_CHECKING:
    from siteassess.places.agreement import PairAgreement

LEVEL_WORDS = {
    "agree": "they agree",
    "note": "worth a second look",
    "flag": "do not rely on them until one is read again",
    "reject": "they contradict each other; one of them is wrong",
}
# A position pair looser than this about the bearing shows only gross slips (judgement).
LITTLE_BEARING_DEG = constant("little bearing")
# Two anchors closer than this are one point to any receiver (judgement).
SAME_POSITION_M = constant("same position")


def sentences(agreement: PairAgreement, readings: PairReadings) -> Iterator[str]:
    """The outcome in sentences."""
    found, (a, b) = agreement.comparison, agreement.names
    pair = f"{a} to {b}"
    if found.course.distance_m < SAME_POSITION_M and not math.isfinite(found.tape_horizontal_m):
        yield f"{pair}: both anchors stand at one point as far as their positions tell; no bearing can be given."
    if found.course.distance_m < SAME_POSITION_M < found.tape_horizontal_m:
        yield f"{pair}: both anchors have the same position although a span was taped; one may have been copied."
    if readings.tape and not math.isfinite(found.tape_horizontal_m):
        yield f"{pair}: the span was taped along the slope but the slope was not read, so it has no horizontal length."
    for sighting in (readings.out, readings.back):
        if sighting and not math.isfinite(readings.true_bearing(sighting)):
            yield f"{pair}: a {sighting.north} bearing was read, but what turns it into a true one is not known."
    yield from _position_messages(agreement, pair)
    if agreement.back_level in ("note", "flag", "reject"):
        yield (
            f"{pair}: the bearing out and the bearing back differ by {abs(found.back_residual_deg):.0f} deg from a "
            f"straight line ({abs(found.back_z):.1f} standard errors, {agreement.back_level}): iron nearby, or one "
            "misread."
        )
    if agreement.level in ("flag", "reject"):
        yield _verdict_on_slips(agreement, pair)


def _position_messages(agreement: PairAgreement, pair: str) -> Iterator[str]:
    found = agreement.comparison
    if agreement.position_level == "cannot say":
        if not math.isfinite(found.position_distance_sigma_m):
            yield f"{pair}: how accurate the positions are is not known, so they check nothing."
        else:
            yield f"{pair}: there is neither a tape nor a compass reading to set against the positions."
        return
    parts = []
    if math.isfinite(found.distance_residual_m):
        side = "longer" if found.distance_residual_m >= 0 else "shorter"
        parts.append(
            f"positions {abs(found.distance_residual_m):.1f} m {side} than the tape "
            f"({abs(found.distance_z):.1f} standard errors)"
        )
    if math.isfinite(found.bearing_residual_deg):
        parts.append(
            f"bearing from positions {abs(found.bearing_residual_deg):.0f} deg off the compass "
            f"({abs(found.bearing_z):.1f} standard errors)"
        )
    yield f"{pair}: {' and '.join(parts)}: {LEVEL_WORDS[agreement.position_level]}."
    loose = found.position_bearing_sigma_deg
    if math.isfinite(found.compass_true_deg) and not loose <= LITTLE_BEARING_DEG:
        how_loose = f"to within {loose:.0f} deg (one standard error)" if loose < 60.0 else "not at all"
        yield (
            f"{pair}: over this span the positions carry little about the bearing, {how_loose}: they would "
            "show swapped anchors or another gross slip, not a small compass error."
        )


def _verdict_on_slips(agreement: PairAgreement, pair: str) -> str:
    found = agreement.explanations
    if not found:
        return f"{pair}: none of the usual slips explains it; read tape, compass and positions again."
    if len(found) == 1:
        return f"{pair}: it would all agree if {found[0].sentence}. Check that first."
    choices = "; or ".join(e.sentence for e in found)
    return f"{pair}: cannot tell which, but it would agree if {choices}."
