"""Ten thousand random trees through the whole judgement of an end, one by one, beside the vectorised sums alone.

Run from the repository's root: `python tests/bench/bench_judge.py`. Prints faults found, the rate, and the ratio to the
root plate and stem sums of `mechanics` over the same number of trees in one call.
"""

from __future__ import annotations

import sys
import time
from pathlib import Path

import numpy as np

TESTS = Path(__file__).parent.parent
sys.path[:0] = [str(TESTS), str(TESTS / "advice")]

from test_random_trees import faults_of, random_cases  # noqa: E402

from siteassess.mechanics.rootplate import root_limit  # noqa: E402
from siteassess.mechanics.stem import stem_limit  # noqa: E402

COUNT = 10_000


def main() -> None:
    start = time.perf_counter()
    faults = [fault for case in random_cases(COUNT, seed=11) for fault in faults_of(case)]
    one_by_one = time.perf_counter() - start
    draw = np.random.default_rng(11)
    diameter, height = draw.uniform(0.2, 1.0, COUNT), draw.uniform(6, 25, COUNT)
    start = time.perf_counter()
    root_limit(diameter, height, 1.2, 5e3, digging_behind=0.0)
    stem_limit(5e7, diameter, 1.2, 5e3, section_height=0.3, bark_thickness=0.02)
    at_once = time.perf_counter() - start
    print(f"{COUNT} random trees judged whole: {len(faults)} faults, {COUNT / one_by_one:,.0f} a second")
    rate, ratio = COUNT / at_once, one_by_one / at_once
    print(f"stem and root plate of as many in one call: {rate:,.0f} a second, ratio {ratio:,.0f}")
    for fault in faults[:20]:
        print(fault)


if __name__ == "__main__":
    main()
