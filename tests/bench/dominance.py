"""Makes drawn records worse in one way at a time and asks whether any answer improves: twenty thousand pairs.

Run: python tests/bench/dominance.py [PAIRS] [--from SEED] [--each WORSENINGS]

What may not improve, and the excuses, are told in `tests/excused.py`. Printed are the pairs judged, how often each
excuse was taken, and every improvement without one. About three pairs a second on one core.
"""

from __future__ import annotations

import argparse
import sys
import time
from collections import Counter
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[1]))

from never_better import searched  # noqa: E402


def main() -> int:
    asked = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    asked.add_argument("pairs", nargs="?", type=int, default=20_000)
    asked.add_argument("--from", dest="first", type=int, default=0, metavar="SEED")
    asked.add_argument("--each", type=int, default=20, metavar="WORSENINGS")
    given = asked.parse_args()
    count, better, excused, seed, began = 0, [], Counter(), given.first, time.monotonic()
    while count < given.pairs:
        judged, found, taken = searched(seed, given.each)
        count, seed = count + judged, seed + 1
        better += found
        excused.update({reason: len(names) for reason, names in taken.items()})
        for one in found:
            print(f"  {one}", flush=True)
    print(f"{count:,} pairs of seeds {given.first} to {seed - 1} in {time.monotonic() - began:.0f} s")
    print(f"better without an excuse: {len(better)}")
    for reason, times in excused.most_common():
        print(f"  {times:6,}  {reason}")
    return 1 if better else 0


if __name__ == "__main__":
    sys.exit(main())
