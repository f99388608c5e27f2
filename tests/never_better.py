"""What may not improve by a record getting worse in one way: a word for the line or one of its ends, or a use.

Import as `from never_better import ...`; the tests folder is on the path (see pyproject.toml). The few cases in which
it does stand in `tests/excused.py`. `tests/bench/dominance.py` asks it of twenty thousand pairs,
`tests/advice/test_dominance.py` of five hundred.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from excused import EXCUSED, Excuse
from worse_pairs import Pair, improved, pairs


@dataclass(frozen=True)
class Better:
    """Something of an answer that improved though the record got worse."""

    worse: str
    seed: int
    what: str
    before: object
    after: object

    def __str__(self) -> str:
        return f"{self.worse} (seed {self.seed}): {self.what} {self.before} -> {self.after}"


def better_by(pair: Pair) -> Iterator[tuple[str, object, object, Excuse | None]]:
    """What improved in a pair, from and to what, each with the excuse for it."""
    for what, where, before, after in improved(pair.before, pair.after):
        excuse = next((one for one in EXCUSED if one.holds(pair, what, where, before, after)), None)
        yield f"{what} of {where}", before, after, excuse


def searched(seed: int, each: int) -> tuple[int, list[Better], dict[str, list[str]]]:
    """How many pairs of a seed were judged, what got better without an excuse, and by excuse what was made worse."""
    count, found, excused = 0, [], {}
    for pair in pairs(seed, each):
        count += 1
        for what, before, after, excuse in better_by(pair):
            if excuse is None:
                found.append(Better(pair.worse, seed, what, before, after))
            else:
                excused.setdefault(excuse.reason, []).append(pair.worse)
    return count, found, excused
