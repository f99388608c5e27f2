"""Every pair of places that was measured: planned lines, ties, and pairs that carry no line."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from siteassess.places.instruments import compass_sigma, length_sigma
from siteassess.places.readings import Sighting, Tape
from siteassess.records.line import Compass, Line, Span
from siteassess.records.record import Record
from siteassess.records.site import Tie
from siteassess.reference.findings import Said, said

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
    """Every pair of the record: each planned line, measured or not, then ties, then the pairs without a line."""
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
