"""A thousand sequences of typing, tabs, kills, full storage and reloads on the field form: no keystroke may be lost.

Run: python tests/bench/keep_sequences.py [COUNT] [--from SEED] [--shrink]
One sequence again: python tests/bench/keep_sequences.py 1 --from SEED --shrink

Kills are real ones (SIGKILL to the renderers, or to the whole browser, which is then started on the same profile). What
counts as lost is told in `tests/form_sequences.py`. About a second a sequence.
"""

from __future__ import annotations

import argparse
import statistics
import sys
import tempfile
import time
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[1]))

from form_sequences import run  # noqa: E402
from form_stage import Lost, Stage, Tally, steps_of  # noqa: E402

from siteassess.papers.form import form_page  # noqa: E402


def shrink(stage: Stage, seed: int) -> list[tuple[str, int]]:
    """The fewest steps of a seed that still fail: each is left out in turn."""
    steps = steps_of(seed)
    for index in reversed(range(len(steps))):
        fewer = steps[:index] + steps[index + 1 :]
        try:
            run(stage, seed, fewer)
        except Lost:
            steps = fewer
        except Exception:
            continue
    return steps


def main() -> int:
    asked = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    asked.add_argument("count", nargs="?", type=int, default=1000)
    asked.add_argument("--from", dest="first", type=int, default=0, metavar="SEED")
    asked.add_argument("--shrink", action="store_true", help="leave out steps of a failing one while it still fails")
    given = asked.parse_args()
    whole, lost, broken, began = Tally(), [], [], time.monotonic()
    with tempfile.TemporaryDirectory(ignore_cleanup_errors=True) as folder:
        stage = Stage(Path(folder), form_page())
        for seed in range(given.first, given.first + given.count):
            if seed % 50 == 0:
                print(f"  at seed {seed} after {time.monotonic() - began:.0f} s, {whole.keys} keystrokes", flush=True)
            try:
                whole.add(run(stage, seed))
            except Lost as error:
                lost.append(seed)
                print(f"seed {seed}: {error}", flush=True)
                if given.shrink:
                    print(f"  steps: {shrink(stage, seed)}", flush=True)
            except Exception as error:  # the stage itself failed: told apart from a loss, and never counted as passed
                broken.append(seed)
                print(f"seed {seed} could not be run: {type(error).__name__}: {error}", flush=True)
        stage.close()
    took = time.monotonic() - began
    print(f"{given.count} sequences from seed {given.first} in {took:.0f} s: {whole.keys} keystrokes,")
    print(f"  {len(lost)} sequences with a loss, {len(broken)} that could not be run")
    print(f"  keystrokes dealt with while something was ended under them: {whole.killed_keys};")
    print(f"  of these gone before the page had said they are kept: {whole.young}")
    print("  steps: " + ", ".join(f"{kind} {count}" for kind, count in whole.done.most_common()))
    if whole.waits:
        middle, longest = statistics.median(whole.waits) * 1e3, max(whole.waits) * 1e3
        print(f"  from a word's first key until all of it is kept: {middle:.0f} ms, longest {longest:.0f} ms")
    return 1 if lost or broken else 0


if __name__ == "__main__":
    sys.exit(main())
