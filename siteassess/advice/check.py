"""What `siteassess check` finds in a readable record: doubtful readings, and whether each pair's measurements agree."""

from __future__ import annotations

from dataclasses import asdict, dataclass
from typing import Any

from siteassess.advice.geometry import Places, pair_geometry
from siteassess.advice.results import PairGeometry
from siteassess.records.reading import ReadRecord
from siteassess.records.readings import ReadingWarning, check_readings
from siteassess.records.record import Record


@dataclass(frozen=True)
class PairCheck:
    line: str
    a: str
    b: str
    geometry: PairGeometry


@dataclass(frozen=True)
class Checked:
    warnings: tuple[ReadingWarning, ...]
    pairs: tuple[PairCheck, ...]
    notes: tuple[str, ...]

    def as_dict(self) -> dict[str, Any]:
        return {
            "warnings": [asdict(warning) for warning in self.warnings],
            "pairs": [{"line": p.line, "a": p.a, "b": p.b, **_pair(p.geometry)} for p in self.pairs],
            "notes": list(self.notes),
        }


def check_record(record: Record, read: ReadRecord | None = None) -> Checked:
    """Check the readings of a record and every planned pair; what it was read with lets findings name lines."""
    places = Places(record)
    pairs = tuple(PairCheck(line.id, line.a.anchor, line.b.anchor, pair_geometry(line, places, record.survey.date))
                  for line in record.lines)  # fmt: skip
    return Checked(tuple(check_readings(record, read)), pairs, tuple(dict.fromkeys(places.notes)))


def _pair(found: PairGeometry) -> dict[str, Any]:
    return {key: value for key, value in asdict(found).items() if key != "rise_m"}
