"""A thousand registers made by chance: what every channel says of each line, and one more bad fact on each."""

from __future__ import annotations

import sys
import tempfile
from collections import Counter
from pathlib import Path

TESTS = Path(__file__).resolve().parents[1]
sys.path[:0] = [str(TESTS.parent), str(TESTS)]

import made_registers as made  # noqa: E402

COUNT = 1000


def main() -> int:
    told, against, kinder, yes, facts = Counter(), [], [], 0, Counter()
    with tempfile.TemporaryDirectory() as folder:
        for seed in range(COUNT):
            one = made.Made(Path(folder), seed)
            said = made.channels(one)
            told.update({channel: len(answers) for channel, answers in said.items()})
            against += [(seed, *found) for found in made.disagreements(said)]
            yes += sum(word != "no" for word, _ in said["list"].values())
            fact = one.chance.choice(sorted(made.bad_facts(one)))
            made.bad_facts(one)[fact]()
            after = made.of_list(one)
            facts[fact.split(" ")[0]] += 1
            kinder += [(seed, fact) for name, was in said["list"].items() if made.kinder(was, after[name])]
            one.close()
    print(f"   {COUNT} registers, {told['list']} lines, {yes} of them open")
    print(f"   {sum(told.values())} answers in {len(told)} channels")
    print(f"   fewest: {', '.join(f'{channel} {count}' for channel, count in told.most_common()[-3:])}")
    print(f"   {len(against)} disagreements {against[:3] or ''}")
    print(f"   {sum(facts.values())} bad facts added, {len(kinder)} answers made kinder {kinder[:3] or ''}")
    return 1 if against or kinder else 0


if __name__ == "__main__":
    sys.exit(main())
