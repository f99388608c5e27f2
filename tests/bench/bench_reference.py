"""Time to load the names, wood and bark tables and resolve a first name, as a ratio to reading the same files bare.

Run: python tests/bench/bench_reference.py
"""

import csv
import time

from siteassess.reference import names, species, tables
from siteassess.reference.locate import data_folder

TABLES = ("species", "wood_green", "bark")


def bare() -> None:
    for name in TABLES:
        with (data_folder() / f"{name}.csv").open(encoding="utf-8", newline="") as file:
            list(csv.reader(file))


def ours() -> None:
    for cached in (tables.rows, names.index, species.find_species):
        cached.cache_clear()
    for name in TABLES:
        tables.rows(name)
    species.find_species("London plane")


def best_of(job, repeats: int = 15) -> float:
    times = []
    for _ in range(repeats):
        start = time.perf_counter()
        job()
        times.append(time.perf_counter() - start)
    return min(times)


if __name__ == "__main__":
    peer, load = best_of(bare), best_of(ours)
    print(f"csv.reader alone {peer * 1e3:.1f} ms")
    print(f"tables, index and a first name {load * 1e3:.1f} ms, {load / peer:.1f} times")
