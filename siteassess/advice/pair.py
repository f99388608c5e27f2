"""The two ends together: what was measured between them, whether it agrees, the weaker end, the pair's probability.

Chance can bring two loose positions anywhere near a tape, so no test of chance catches a slip of feet for metres on a
short line; the factor itself is what gives it away.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace

import numpy as np

from siteassess.advice.finding import Finding, found
from siteassess.advice.results import AnchorResult, PairGeometry
from siteassess.advice.verdict import VERDICTS
from siteassess.mechanics.scatter import any_exceeds_shared_demand
from siteassess.places.instruments import compass_sigma, length_sigma
from siteassess.places.readings import Sighting, Tape
from siteassess.records.line import Compass, Line, Span
from siteassess.records.record import Record
from siteassess.records.site import Tie
from siteassess.reference.constants import constant
from siteassess.reference.findings import Said, said
from siteassess.units import si_factor


def pair_findings(geometry: PairGeometry) -> list[Finding]:
    """What the geometry of the pair means for the line."""
    loose = [found("positions-too-loose", "suits", looked_at=False, off=geometry.off_m, apart=geometry.distance_m)
             ] if geometry.loose else []  # fmt: skip
    return [*loose, *_agreement_findings(geometry)]


def _agreement_findings(geometry: PairGeometry) -> list[Finding]:
    if geometry.level == "reject":
        return [found("readings-disagree", "cannot say", looked_at=False, says=geometry.told)]
    if geometry.level == "flag":
        return [found("reading-doubtful", "suits if", says=geometry.told)]
    if doubt := mixed_units(geometry):
        return [found("unit-of-the-tape", "suits if", doubt=doubt)]
    return []


def weaker(ends: tuple[AnchorResult, ...]) -> str | None:
    """Code of the end with the worse verdict, then the greater use; None where the ends cannot be told apart."""
    def rank(end: AnchorResult) -> tuple[int, float, float]:
        return VERDICTS.index(end.verdict), end.hold_use or 0.0, end.care_use or 0.0

    first, second = ends
    if rank(first) == rank(second):
        return None
    return max(ends, key=rank).code


def pair_probability(ends: tuple[AnchorResult, ...]) -> float | None:
    """Probability that any hold limit at either end is exceeded, under one uncertain pull."""
    limits = [limit for end in ends for limit in end.limits if limit.name != "bark"]
    if not limits or any(limit.capacity_median is None or limit.ln_sd_demand is None for limit in limits):
        return None
    demand, demand_sd, median, sd = np.array(
        [(one.demand, one.ln_sd_demand, one.capacity_median, one.ln_sd_capacity) for one in limits], dtype=float).T
    return float(any_exceeds_shared_demand(demand, demand_sd.max(), median, sd))


FEET_A_METRE = 1 / si_factor("length", "ft")
NEAR_THE_FACTOR = constant("mixed units")


def mixed_units(geometry: PairGeometry) -> Said | None:
    """The doubt; None where the ratio of tape and positions is not that of feet and metres."""
    taped, apart = geometry.taped_m, geometry.distance_m
    if not taped or not apart:
        return None
    for factor, slip in ((1 / FEET_A_METRE, "metres-written-as-feet"), (FEET_A_METRE, "feet-written-as-metres")):
        if (1 - NEAR_THE_FACTOR) * factor <= taped / apart <= (1 + NEAR_THE_FACTOR) * factor:
            return said(slip, taped=taped, apart=apart, ratio=taped / apart, meant=taped / factor)
    return None


def with_mixed_units(geometry: PairGeometry) -> PairGeometry:
    """The same geometry with the doubt among its notes, and a level that says there is one."""
    doubt = mixed_units(geometry)
    if doubt is None:
        return geometry
    level = "note" if geometry.level in ("agrees", "not checked") else geometry.level
    return replace(geometry, level=level, notes=(doubt, *geometry.notes))


UNKNOWN_DEVICE = "unknown"


@dataclass(frozen=True)
class PairRead:
    """Tape and compass between two places, with what in the record they stand under."""

    source: Said
    a: str
    b: str
    tape: Tape | None = None
    out: Sighting | None = None
    back: Sighting | None = None
    line: str | None = None
    tie_of: str | None = None

    @property
    def sightings(self) -> Iterator[tuple[str, str, Sighting]]:
        """(from, to, sighting) of every bearing read."""
        if self.out:
            yield self.a, self.b, self.out
        if self.back:
            yield self.b, self.a, self.back

    @property
    def was_measured(self) -> bool:
        return any(read is not None for read in (self.tape, self.out, self.back))


def measured_pairs(record: Record) -> tuple[PairRead, ...]:
    """Every pair of the record: each planned line, measured or not, then ties, then the pairs without a line.

    Parameters
    ----------
    record : whole
    """
    return (*(of_line(line) for line in record.lines), *_ties(record), *_without_line(record))


def of_line(line: Line) -> PairRead:
    """What was read along one planned line."""
    return PairRead(said("read-for-a-line", name=line.id), line.a.anchor, line.b.anchor, tape_of(line.span),
                        *_out_and_back(line.compass), line=line.id)  # fmt: skip


def of_tie(tie: Tie, code: str) -> PairRead:
    """What was read from a landmark to one place."""
    length = tie.distance.si
    tape = Tape(length, length_sigma(length, "taped")) if length > 0 else None
    out = Sighting(tie.bearing.si, tie.north, compass_sigma(UNKNOWN_DEVICE)) if tie.bearing else None
    return PairRead(said("read-for-a-tie", name=code), tie.landmark, code, tape, out, tie_of=code)


def tape_of(span: Span | None) -> Tape | None:
    """A taped span; one along a slope that nobody read has no horizontal length."""
    if span is None:
        return None
    length = span.taped.si
    return Tape(length, length_sigma(length, span.how), along_slope=span.along == "slope",
                slope_deg=span.slope.si if span.slope else None)  # fmt: skip


def _ties(record: Record) -> Iterator[PairRead]:
    for thing in (*record.site.landmarks, *record.anchors):
        for tie in thing.position.ties if thing.position else ():
            yield of_tie(tie, thing.code)


def _without_line(record: Record) -> Iterator[PairRead]:
    for number, pair in enumerate(record.measured_pairs, 1):
        yield PairRead(said("read-as-a-pair", number=number), pair.a, pair.b, tape_of(pair.span),
                           *_out_and_back(pair.compass))  # fmt: skip


def _out_and_back(compass: Compass | None) -> tuple[Sighting | None, Sighting | None]:
    if compass is None:
        return None, None
    sigma = compass_sigma(compass.device)
    out, back = (Sighting(read.si, compass.north, sigma) if read else None for read in (compass.out, compass.back))
    return out, back
