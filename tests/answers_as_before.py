"""The answers to some drawn records as they were when last looked at: words, codes, uses, and a sum over every number.

Import as `from answers_as_before import ...`; the tests folder is on the path (see pyproject.toml). They prove nothing
right: that is for the published values, the hand-argued records and the searches. They let no decision change without
being seen: who changes one writes them anew, reads what moved in the difference, and says why.

    python tests/answers_as_before.py [NAME]      writes the file anew, or shows every value of one answer
"""

# ruff: noqa: E402
from __future__ import annotations

import copy
import datetime
import json
import math
import random
import sys
import zlib
from collections import defaultdict
from collections.abc import Iterator
from dataclasses import fields, is_dataclass
from pathlib import Path

sys.path[:0] = [str(Path(__file__).parent), str(Path(__file__).parents[1])]

from drawn import drawn
from everyday import EVERYDAY, NOBODY
from parks import data
from seldom_said import SELDOM_SAID
from worse import WORSE

from siteassess.advice.assess import assess
from siteassess.advice.finding import Finding
from siteassess.records.record import Record
from siteassess.reference.findings import Said

FILE = Path(__file__).with_suffix(".jsonl")
DRAWN = (*range(14), *range(1000, 1016), *range(60_000, 60_008))
TOGETHER = (3, 8)  # lines on one pair of trees
NEAR = 2e-3  # within which a number or a sum is the same: solvers and machines differ in later digits


def records() -> dict[str, dict]:
    """By name: everyday pairs, what is seldom said, several lines on one pair, drawn ones, half with less said."""
    found = {one.name: data(one.edits) for one in (*EVERYDAY, *NOBODY)}
    found |= {name: data(edits) for name, edits in SELDOM_SAID.items()}
    for count in TOGETHER:
        line = data()["lines"][0]
        found[f"{count} lines on two trees"] = data({"lines": [{**line, "id": f"L{n + 1}"} for n in range(count)]})
    return found | {f"drawn {seed}": _drawn(seed) for seed in DRAWN}


def _drawn(seed: int) -> dict:
    record, draw = drawn(seed), random.Random(f"as before {seed}")
    if seed % 2:
        for name in draw.sample([name for name in WORSE if name.startswith("withheld")], 2):
            WORSE[name](record, draw)
    return record


def answer(name: str, made: dict, remedies: bool = True) -> dict:
    """An answer in short: what a reader looks at first, and by part of it the sum over all its words and numbers."""
    told = assess(Record.model_validate(copy.deepcopy(made)), remedies=remedies)
    line = told.lines[0]
    sums: dict[str, float] = defaultdict(float)
    for path, value in values(told.lines, told.trees):
        part = path[2:5] if path[2] == "anchors" else path[2:3] if path[0] == "line" else path[:2]
        sums[" ".join(part)] += _weight("".join(path)) * value
    ends = [{"word": one.verdict, "hold": _short(one.hold_use), "bark": _short(one.care_use),
             "gust": _short(one.take_down_wind_m_s), "found": _codes(one.findings), "mends": [
                 f"{remedy.field} {_short(remedy.value)}: {remedy.reaches}" for remedy in one.remedies],
             } for one in line.anchors]  # fmt: skip
    return {"name": name, "word": line.verdict, "found": _codes(line.findings), "ends": ends,
            "sums": {name: round(value, 4) for name, value in sums.items()}}  # fmt: skip


def values(lines, trees) -> Iterator[tuple[tuple[str, ...], float]]:
    """Every word and number of an answer with its path; sentences are left out, but for the codes behind them."""
    yield from _flat(("line",), lines)
    yield from _flat(("tree",), trees)


def moved(was: dict, now: dict) -> list[str]:
    """What differs between two answers by more than the last digits."""
    names = [name for name in was if name != "sums" and not _same(was[name], now[name])]
    return names + [name for name in was["sums"] | now["sums"]
                    if not abs(was["sums"].get(name, math.inf) - now["sums"].get(name, math.inf)) <= NEAR]


def before() -> dict[str, dict]:
    """By name the answers of the file."""
    rows = map(json.loads, FILE.read_text(encoding="utf-8").splitlines())
    return {row["name"]: row for row in rows}


def _same(one, other) -> bool:
    if isinstance(one, dict):
        return one.keys() == other.keys() and all(_same(value, other[name]) for name, value in one.items())
    if isinstance(one, list):
        return len(one) == len(other) and all(map(_same, one, other))
    if isinstance(one, float) and isinstance(other, float):
        return abs(one - other) <= NEAR * max(1.0, abs(one))
    return one == other


def _flat(path: tuple[str, ...], value) -> Iterator[tuple[tuple[str, ...], float]]:
    if isinstance(value, Finding):
        yield from _flat((*path, value.code), (value.effect, value.looked_at, dict(value.values)))
    elif is_dataclass(value):
        for one in fields(value):
            if one.name == "every_step":  # their values stand elsewhere in the answer; here as they are told in English
                yield from _flat((*path, "steps"), value.steps)
            elif not (isinstance(value, Said) and one.name == "part"):  # which of its wordings is meant
                yield from _flat((*path, one.name), getattr(value, one.name))
    elif isinstance(value, dict):
        for name, one in value.items():
            yield from _flat((*path, str(name)), one)
    elif isinstance(value, (tuple, list)):
        for number, one in enumerate(value):
            yield from _flat((*path, str(number)), one)
    elif isinstance(value, (bool, int, float)) and math.isfinite(value):
        yield path, math.asinh(1e3 * value)
    elif isinstance(value, (str, datetime.date)) and len(str(value)) < 20 or isinstance(value, (float, type(None))):
        yield path, zlib.crc32(str(value).encode()) / 2**32


def _weight(path: str) -> float:
    return 0.5 + zlib.crc32(path.encode()) / 2**32


def _codes(findings) -> list[str]:
    return sorted(f"{one.code}: {one.effect}" for one in findings)


def _short(value: float | None) -> float | None:
    return None if value is None or not math.isfinite(value) else float(f"{value:.5g}")


if __name__ == "__main__":
    if len(sys.argv) > 1:
        told = assess(Record.model_validate(records()[sys.argv[1]]))
        print("\n".join(f"{' '.join(path)}: {value:.6g}" for path, value in values(told.lines, told.trees)))
    else:
        rows = (json.dumps(answer(name, made)) + "\n" for name, made in records().items())
        FILE.write_text("".join(rows), encoding="utf-8")
