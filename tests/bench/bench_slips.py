"""Of 2,000 planted slips of unit and size that change a use by a tenth: how many are flagged, by field and by kind.

And of 2,000 clean records: how many are doubted. No timing here; it is a measurement of the check of readings.
`python tests/bench/bench_slips.py SLIPS RECORDS SEED` takes other ones: nothing is to be tuned to those it is told by.
"""

from __future__ import annotations

import sys
from collections import Counter
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[1]))

from slips import clean_record, doubts, plant, read  # noqa: E402


def main(slips: int = 2000, records: int = 2000, seed: int = 0) -> None:
    alarms: Counter = Counter()
    falsely = 0
    for number in range(seed * 1_000_000, seed * 1_000_000 + records):
        told = doubts(read(clean_record(number)))
        falsely += bool(told)
        alarms.update({".".join(step for step in path if isinstance(step, str)) for path in told})
    print(f"clean records doubted: {falsely} of {records}, {falsely / records:.2%}")
    for field, count in alarms.most_common():
        print(f"   {count:5d} {field}")
    every, readable, missed = 0, 0, []
    fields: Counter = Counter()
    kinds: Counter = Counter()
    for planted in plant(slips, seed):
        every += 1
        readable += not planted.refused
        fields[planted.slip.field] += 1
        kinds[planted.slip.kind] += 1
        if not planted.flagged:
            missed.append(planted.slip)
    flagged = every - len(missed)
    print(f"slips flagged: {flagged} of {every}, {flagged / every:.2%}; "
          f"of those that read: {readable - len(missed)} of {readable}, {1 - len(missed) / readable:.2%}")  # fmt: skip
    for total, of in ((fields, lambda slip: slip.field), (kinds, lambda slip: slip.kind)):
        for name, count in Counter(map(of, missed)).most_common():
            print(f"   missed {count:4d} of {total[name]:4d}  {name}")
    for slip in missed[:: max(1, len(missed) // 40)]:
        print("   ", slip.field, slip.meant, "->", slip.typed)


if __name__ == "__main__":
    main(*map(int, sys.argv[1:]))
