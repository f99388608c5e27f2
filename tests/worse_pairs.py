"""A drawn record beside the same made worse in one way, both judged, and what of the answer improved.

Import as `from worse_pairs import ...`; the tests folder is on the path (see pyproject.toml).
"""

from __future__ import annotations

import copy
import random
from collections.abc import Iterator
from dataclasses import dataclass
from itertools import islice

from drawn import drawn
from worse import WORSE

from siteassess.advice.assess import assess
from siteassess.advice.results import LineResult
from siteassess.advice.verdict import VERDICTS
from siteassess.errors import SiteassessError
from siteassess.records.record import Record

SLACK = 1e-4  # a use may fall by rounding, and by how a line shares its own weight between its ends


@dataclass(frozen=True)
class Pair:
    """A record and the same made worse in one way, both judged."""

    worse: str
    made: dict
    changed: dict
    before: LineResult
    after: LineResult


def judged(made: dict, remedies: bool = True) -> LineResult | None:
    """The answer, without what bears on no word of it; None for a record that is refused."""
    try:
        return assess(Record.model_validate(copy.deepcopy(made)), remedies=remedies, looks=False).lines[0]
    except (ValueError, SiteassessError):
        return None


def improved(before: LineResult, after: LineResult) -> Iterator[tuple[str, str, object, object]]:
    """Words and uses that are better after than before: which, where, both values."""
    places = [("line", before, after), *((one.end, one, other) for one, other in zip(before.anchors, after.anchors))]
    for where, one, other in places:
        if VERDICTS.index(other.verdict) < VERDICTS.index(one.verdict):
            yield "word", where, one.verdict, other.verdict
    for one, other in zip(before.anchors, after.anchors):
        for name in ("hold_use", "care_use"):
            was, now = getattr(one, name), getattr(other, name)
            if was is not None and now is not None and now < was * (1 - SLACK):
                yield name, one.end, round(was, 4), round(now, 4)


def judged_beside(before: LineResult, made: dict) -> LineResult | None:
    """The answer beside another; remedies are sought only where one could make it the better."""
    after = judged(made, remedies=False)
    return judged(made) if after is not None and _could_be_better(before, after) else after


def _could_be_better(before: LineResult, after: LineResult) -> bool:
    """A remedy turns "leave it" for an exceeded limit into "suits if", and nothing else."""
    mended = [end.end for end in after.anchors if any(one.about.endswith("exceeded") for one in end.findings)]
    could = [one.verdict for one in (before, *(end for end in before.anchors if end.end in mended))]
    return bool(mended and {"leave it", "cannot say"} & set(could)) or any(improved(before, after))


def pair_of(seed: int, name: str, made: dict | None = None, before: LineResult | None = None) -> Pair | None:
    """The drawn record of a seed beside one of its worsenings; None where there is nothing to worsen or to judge."""
    made = made or drawn(seed)
    changed = copy.deepcopy(made)
    if not WORSE[name](changed, random.Random(f"{name} {seed}")):
        return None
    before = before or judged(made)
    after = before and judged_beside(before, changed)
    return after and Pair(name, made, changed, before, after)


def pairs(seed: int, each: int) -> Iterator[Pair]:
    """The drawn record of a seed beside `each` of its worsenings, drawn by lot."""
    made = drawn(seed)
    before = judged(made)
    if before is None:
        return
    names = list(WORSE)
    random.Random(f"worse {seed}").shuffle(names)
    found = (pair_of(seed, name, made, before) for name in names)
    yield from islice((pair for pair in found if pair is not None), each)
