"""Writes the tables of the first word anew: `python tests/first_word_tables.py`, some minutes on two cores.

Told beside it: how far a pull between the rows lies over the straight line from row to row, at most.
"""

from __future__ import annotations

import json
import math
import random
import sys
from multiprocessing import Pool

import numpy as np

from siteassess.advice import first_word as words
from siteassess.reference.locate import data_folder


def pull(point) -> float:
    return words.line_pull(*point)


def between_the_rows(pulls: np.ndarray, count: int, seed: int = 1) -> list[tuple[float, tuple]]:
    """Pulls at random places over what the table says there, as logarithms, with the places."""
    drawn, told = random.Random(seed), []
    for _ in range(count):
        span, stiff, tight, tie = (
            math.exp(drawn.uniform(math.log(axis[0]), math.log(axis[-1])))
            for axis in (words.SPANNED, words.STIFF, words.TIGHT, words.TIES)
        )
        point = (drawn.choice(list(words.DONE_ON_IT)), span, stiff, tight, drawn.choice((tie, None)))
        told.append((math.log(words.line_pull(*point)) - _table_at(pulls, *point), point))
    return told


def _table_at(pulls: np.ndarray, done: str, span: float, stiff: float, tight: float, tie: float | None) -> float:
    table = np.log(pulls[list(words.DONE_ON_IT).index(done)])
    for axis, value in ((words.SPANNED, span), (words.STIFF, stiff), (words.TIGHT, tight)):
        table = _along(axis, value, table)
    return float(table[-1] if tie is None else _along(words.TIES, tie, table[:-1]))


def _along(axis, value: float, table: np.ndarray) -> np.ndarray:
    over = min(int(np.searchsorted(axis, value, side="right")) - 1, len(axis) - 2)
    part = math.log(value / axis[over]) / math.log(axis[over + 1] / axis[over])
    return (1 - part) * table[over] + part * table[over + 1]


def main() -> int:
    with Pool() as pool:
        pulls = np.array(pool.map(pull, list(words.line_points()), chunksize=32))
    shaped = pulls.reshape(len(words.DONE_ON_IT), len(words.SPANNED), len(words.STIFF), len(words.TIGHT), -1)
    over = sorted(one for one, _ in between_the_rows(shaped, 400))
    print(f"between the rows at most {math.exp(over[-1]) - 1:.1%} over them, {1 - math.exp(over[0]):.1%} under")
    with Pool() as pool:
        there = pool.map(pull, [point for _, point in words.middles(pulls.tolist())], chunksize=32)
    tables = words.tree_tables() | words.line_tables(pulls.tolist(), there)
    lines = ",\n".join(f"{json.dumps(name)}: {json.dumps(table)}" for name, table in tables.items())
    (data_folder() / words.FILE).write_text(f"{{\n{lines}\n}}\n", "utf-8", newline="\n")
    return 0


if __name__ == "__main__":
    sys.exit(main())
