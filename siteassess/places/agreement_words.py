"""The outcome of a pair check, as codes of the table `findings`."""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import TYPE_CHECKING

from siteassess.places.readings import PairReadings
from siteassess.reference.constants import constant
from siteassess.reference.findings import Said, said

if TYPE_CHECKING:
    from siteassess.places.agreement import PairAgreement

LEVELS_TOLD = {
    "agree": "readings-agree", "note": "readings-worth-a-look", "flag": "readings-not-to-rely-on",
    "reject": "readings-contradict",
}
NOT_TURNED = {"magnetic": "magnetic-bearing-not-turned", "grid": "grid-bearing-not-turned"}
# A position pair looser than this about the bearing shows only gross slips (judgement).
LITTLE_BEARING_DEG = constant("little bearing")
# Two anchors closer than this are one point to any receiver (judgement).
SAME_POSITION_M = constant("same position")


def agreement_told(agreement: PairAgreement, readings: PairReadings) -> Iterator[Said]:
    """The outcome, one code a sentence.

    Parameters
    ----------
    agreement : of the pair
    readings : it was found from
    """
    a, b = agreement.names
    for one in _told(agreement, readings):
        yield said("of-the-pair", a=a, b=b, what=one)


def _told(agreement: PairAgreement, readings: PairReadings) -> Iterator[Said]:
    found = agreement.comparison
    if found.course.distance_m < SAME_POSITION_M and not math.isfinite(found.tape_horizontal_m):
        yield said("stand-at-one-point")
    if found.course.distance_m < SAME_POSITION_M < found.tape_horizontal_m:
        yield said("position-copied")
    if readings.tape and not math.isfinite(found.tape_horizontal_m):
        yield said("slope-of-the-tape-unread")
    for sighting in (readings.out, readings.back):
        if sighting and not math.isfinite(readings.true_bearing(sighting)):
            yield said(NOT_TURNED[sighting.north])
    yield from _of_positions(agreement)
    if agreement.back_level in ("note", "flag", "reject"):
        yield said("out-and-back-differ", off=abs(found.back_residual_deg), errors=abs(found.back_z),
                   level=agreement.back_level)
    if agreement.level in ("flag", "reject"):
        yield _of_slips([one.slip for one in agreement.explanations])


def _of_positions(agreement: PairAgreement) -> Iterator[Said]:
    found = agreement.comparison
    if agreement.position_level == "cannot say":
        loose = not math.isfinite(found.position_distance_sigma_m)
        yield said("accuracy-of-positions-unknown" if loose else "nothing-beside-the-positions")
        return
    parts = []
    if math.isfinite(found.distance_residual_m):
        code = "positions-longer" if found.distance_residual_m >= 0 else "positions-shorter"
        parts.append(said(code, apart=abs(found.distance_residual_m), errors=abs(found.distance_z)))
    if math.isfinite(found.bearing_residual_deg):
        parts.append(said("bearing-off-the-compass", off=abs(found.bearing_residual_deg), errors=abs(found.bearing_z)))
    level = said(LEVELS_TOLD[agreement.position_level])
    yield said("positions-against-readings", parts=tuple(parts), level=level)
    sigma = found.position_bearing_sigma_deg
    if math.isfinite(found.compass_true_deg) and not sigma <= LITTLE_BEARING_DEG:
        how = said("loose-to-within", sigma=sigma) if sigma < 60.0 else said("loose-not-at-all")
        yield said("positions-carry-little", how=how)


def _of_slips(slips: list[Said]) -> Said:
    if not slips:
        return said("no-slip-explains-it")
    if len(slips) == 1:
        return said("one-slip-explains-it", slip=slips[0])
    return said("several-slips-explain-it", slips=any_slip_of(slips))


def any_slip_of(slips: list[Said]) -> Said:
    """Slips of which one is enough.

    Parameters
    ----------
    slips : at least one
    """
    return said("any-of", first=slips[0], others=tuple(said("or-if", slip=one) for one in slips[1:]))
