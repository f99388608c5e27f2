"""Run every bench and print its ratios: `python -m tests.bench [name ...]` from the checkout.

Each script runs in a process of its own, so that its peak memory and imports are its own. Names choose among them by
part of the file's name. A script whose peer library is missing is named and passed over; one that fails makes the exit
code 1, as does one that takes over half an hour.
"""

from __future__ import annotations

import subprocess
import sys
import time
from pathlib import Path

FOLDER = Path(__file__).resolve().parent
LONGEST_S = 1800


def chosen(names: list[str]) -> list[Path]:
    """The scripts whose file names hold one of the names; all without a name."""
    scripts = sorted(FOLDER.glob("bench_*.py"))
    return [script for script in scripts if not names or any(name in script.stem for name in names)]


def run(script: Path) -> bool:
    """Run one script, its lines as they come; whether it did not fail."""
    print(f"== {script.stem.removeprefix('bench_')}", flush=True)
    begin = time.perf_counter()
    command = [sys.executable, str(script)]
    try:
        done = subprocess.run(command, cwd=FOLDER.parents[1], stderr=subprocess.PIPE, text=True, timeout=LONGEST_S)
    except subprocess.TimeoutExpired:
        print(f"   failed: stopped after {LONGEST_S} s", flush=True)
        return False
    took = time.perf_counter() - begin
    last = done.stderr.strip().splitlines()[-1] if done.stderr.strip() else ""
    if done.returncode == 0:
        print(f"   ({took:.0f} s)", flush=True)
        return True
    missing = last.startswith(("ModuleNotFoundError", "ImportError"))
    print(f"   {'passed over' if missing else 'failed'}: {last or f'exit code {done.returncode}'}", flush=True)
    return missing


def main(names: list[str]) -> int:
    scripts = chosen(names)
    if not scripts:
        print(f"no bench by that name; there are: {', '.join(s.stem.removeprefix('bench_') for s in chosen([]))}")
        return 2
    failed = [script.stem for script in scripts if not run(script)]
    return 1 if failed else 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
