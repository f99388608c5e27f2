"""Deciding things of each planned line that nobody has looked at yet, before anything is assessed."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass

from siteassess.advice.boulder_end import judge_boulder
from siteassess.advice.deciding import SIGN_OF_THING, STOP_SIGNS, WORST_CASE_TAKEN
from siteassess.advice.geometry import Places, pair_geometry
from siteassess.advice.judge import evidence_of
from siteassess.advice.line_inputs import line_inputs
from siteassess.advice.tree_inputs import tree_inputs
from siteassess.records.anchor import Boulder, Tree
from siteassess.records.record import Record
from siteassess.reference.findings import Said, said

# taken at a value that is told, so they never end in "cannot say" alone
TOLD_INSTEAD = (*WORST_CASE_TAKEN, "soil wetness", "span")


@dataclass(frozen=True)
class StillMissing:
    """What one end of a line lacks, the things of the whole line named at both ends."""

    line: str
    end: str
    anchor: str
    missing: tuple[str, ...]

    @property
    def told(self) -> Said:
        signs = tuple(STOP_SIGNS[SIGN_OF_THING[thing]] for thing in self.missing if thing in SIGN_OF_THING)
        things = tuple(thing for thing in self.missing if thing not in SIGN_OF_THING)
        told = (*((said("these-things", things=things),) if things else ()),
                *((said("signs-not-looked-for", signs=signs),) if signs else ()))  # fmt: skip
        return said("still-missing", line=self.line, anchor=self.anchor, things=told)


def still_missing(record: Record, places: Places) -> Iterator[StillMissing]:
    """Per end of every line, the deciding things whose lack ends in "cannot say"; ends that lack none are left out."""
    for line in record.lines:
        inputs = line_inputs(line, pair_geometry(line, places, record.survey.date).distance_m)
        for end, recorded in zip("AB", line.ends):
            anchor = record.anchor(recorded.anchor)
            tie = inputs.tie_a if end == "A" else inputs.tie_b
            if isinstance(anchor, Tree):
                missing = evidence_of(inputs, tree_inputs(anchor, tie, places.latitude(anchor.code))).missing
            elif isinstance(anchor, Boulder):
                missing = judge_boulder(anchor, inputs, end, math.nan).evidence.missing
            else:
                continue
            decides = tuple(thing for thing in missing if thing not in TOLD_INSTEAD)
            if decides:
                yield StillMissing(line.id, end, anchor.code, decides)
