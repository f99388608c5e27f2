"""How long a record of a thousand trees takes to read, against PyYAML's own safe loader on the same text.

Run: python tests/bench/bench_reading.py
"""

from __future__ import annotations

import time

import yaml

from siteassess.records.doubtful import check_readings
from siteassess.records.reading import read_text
from siteassess.records.writing import write_text

HEAD = "siteassess_record: 1\nsite: {name: Otter Mead}\nsurvey: {by: Ada Example, date: 2026-05-01}\nanchors:\n"
SIGNS = ("dead_tree", "soil_heave", "fresh_lean", "bracket_fungus", "stem_crack", "undercut_roots", "wide_opening")
SECTORS = ("N", "NE", "E", "SE", "S", "SW", "W", "NW")


def tree(index: int) -> str:
    signs = "".join(f"      {sign}: no\n" for sign in SIGNS)
    roots = "".join(f"      {sector}: covered\n" for sector in SECTORS)
    return (
        f"  - kind: tree\n    code: T{index}\n    position:\n      lat: {51.5 + index * 1.01e-5:.6f}\n"
        "      lon: -1.25321\n      accuracy: 5 m\n    species:\n      name: Quercus robur\n    trunk:\n"
        "      - girth: 142 cm\n"
        "        read_at: 1.3 m\n      - girth: 150 cm\n        read_at: 0.6 m\n    height: 18 m\n    lean: 2 deg\n"
        f"    lean_toward: 90 deg\n    roots:\n{roots}    signs:\n{signs}"
    )


def seconds(job, repeats: int = 3) -> float:
    best = float("inf")
    for _ in range(repeats):
        start = time.perf_counter()
        job()
        best = min(best, time.perf_counter() - start)
    return best


def main(count: int = 1000) -> None:
    text = HEAD + "".join(map(tree, range(count)))
    record = read_text(text)
    peer = seconds(lambda: yaml.load(text, Loader=yaml.SafeLoader))
    jobs = {
        "read": lambda: read_text(text),
        "check readings of": lambda: check_readings(record),
        "write": lambda: write_text(record),
    }
    for name, job in jobs.items():
        taken = seconds(job)
        print(f"{name} {count} trees: {taken:.2f} s, {taken / peer:.2f} x PyYAML's SafeLoader ({peer:.2f} s)")


if __name__ == "__main__":
    main()
