"""Kills a writer at 1,000 random moments: after each the register opens, verifies and holds every confirmed change.

Run: python tests/bench/kill_writer.py [KILLS]

The writer is a fork of this process, so that a kill costs milliseconds, and works with a cache of few pages, so that
half-done changes reach the file itself and must be played back. A change counts as confirmed once `with store.change()`
is left; the writer then tells its name through a pipe, which outlives it. Every tenth time the whole history is
verified, else its structure and heads; at the end all of it. A kill of the process is not a failure of power: what the
disk does with writes it has promised can only be tested by pulling plugs.
"""

from __future__ import annotations

import os
import random
import select
import signal
import sys
import tempfile
import time
from collections import Counter
from pathlib import Path

from siteassess.register import actions
from siteassess.register.store import FAULT_POINTS, Store
from siteassess.register.verify import verify

PARK = {
    "site": {"name": "Larchmere Green", "invented": True},
    "anchors": [
        {"kind": "tree", "code": code, "position": {"fixes": [{"lat": 50.0, "lon": 8.0}]}} for code in ("T1", "T2")
    ],
    "lines": [{"id": "L1", "use": "low line", "a": {"anchor": "T1"}, "b": {"anchor": "T2"}}],
}
STORM = {"what": "event", "date": "2026-05-01", "event": "storm"}
NOTE = {"what": "event", "date": "2026-05-01", "event": "pruning", "notes": "x" * 1500}


def write_until_killed(path: Path, tree: str, told: int, steps: int) -> None:
    """Add changes as fast as the disk lets, telling each step (one letter, 64 more for a confirmed change)."""
    store = Store.open(path)
    store.db.execute("PRAGMA cache_size = 2")
    letters = {point: chr(ord("a") + number) for number, point in enumerate(FAULT_POINTS)}
    store.at_point = lambda point: os.write(steps, letters[point].encode())
    by = actions.By("Ada", "bench")
    for number in range(10_000):
        with store.change() as writer:
            event = actions.log(writer, tree, STORM if number % 4 == 0 else NOTE, by)
        os.write(told, event.name.encode())


def one_kill(path: Path, tree: str, chance: random.Random) -> tuple[list[str], str]:
    """Start a writer, kill it at a random moment; the changes it confirmed and the step it died after."""
    reads, told = os.pipe()
    look, steps = os.pipe()
    child = os.fork()
    if child == 0:
        os.close(reads)
        os.close(look)
        try:
            write_until_killed(path, tree, told, steps)
        finally:
            os._exit(1)
    os.close(told)
    os.close(steps)
    # from its first step on, so that kills fall into writing and not into starting
    select.select([look], [], [], 30)
    time.sleep(chance.random() * 0.1)
    os.kill(child, signal.SIGKILL)
    os.waitpid(child, 0)
    with os.fdopen(reads, "rb") as pipe:
        names = pipe.read().decode()
    with os.fdopen(look, "rb") as pipe:
        letters = pipe.read().decode()
    last = FAULT_POINTS[ord(letters[-1]) - ord("a")] if letters else "before its first step"
    return [names[i : i + 64] for i in range(0, len(names), 64)], last


def check(store: Store, confirmed: set[str], whole: bool) -> None:
    kept = {name for name, _ in store.iterate()}
    assert confirmed <= kept, f"{len(confirmed - kept)} confirmed changes are lost"
    assert store.db.execute("PRAGMA integrity_check").fetchone() == ("ok",)
    assert len(store.heads()) == 1
    if whole:
        findings = verify(store)
        assert not findings, findings


def main(kills: int) -> None:
    chance = random.Random(7)
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "list.gpkg"
        started = time.perf_counter()
        confirmed: set[str] = set()
        died: Counter[str] = Counter()
        rolled_back = files = kept = 0
        tree = ""
        for number in range(kills):
            if number % 50 == 0:
                # a fresh file now and then, or verifying grows with all that was written
                path = Path(folder) / f"list{files}.gpkg"
                files += 1
                confirmed = set()
                with Store.create(path, title="invented", who="Ada") as store, store.change() as writer:
                    tree = actions.add_record(writer, PARK, actions.By("Ada", "bench"))["anchor T1"]
            names, last = one_kill(path, tree, chance)
            confirmed.update(names)
            kept += len(names)
            died[last] += 1
            rolled_back += path.with_name(path.name + "-journal").exists()
            with Store.open(path) as store:
                check(store, confirmed, number % 10 == 9 or number == kills - 1)
        took = time.perf_counter() - started
    print(f"{kills} kills in {took:.0f} s: all {kept} confirmed changes are there, every file whole")
    print(f"killed with a journal to play back: {rolled_back} of {kills}")
    for point, count in died.most_common():
        print(f"  died after '{point}': {count}")


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 1000)
