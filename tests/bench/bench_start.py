"""How long a newcomer waits: the help beside a bare interpreter, and the demo as a whole process.

Run: python tests/bench/bench_start.py
Goals: `siteassess --help` within 6 times `python -c pass`; the demo, every paper written, under 3 s of wall clock. CPU
seconds (user and system) stand beside the wall clock, since another program on the machine lengthens only the latter.
"""

import resource
import statistics
import subprocess
import sys
import tempfile
import time

RUNS = 5
PROGRAM = [sys.executable, "-m", "siteassess"]


def seconds(command):
    """Wall clock and CPU of one process [s]."""
    before = resource.getrusage(resource.RUSAGE_CHILDREN)
    started = time.perf_counter()
    subprocess.run(command, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL, check=True)
    wall = time.perf_counter() - started
    after = resource.getrusage(resource.RUSAGE_CHILDREN)
    cpu = after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime
    return wall, cpu


def medians(command):
    runs = [seconds(command) for _ in range(RUNS)]
    return tuple(statistics.median(column) for column in zip(*runs, strict=True))


def main():
    seconds([*PROGRAM, "--help"])  # byte code written, files in memory
    bare, help_ = medians([sys.executable, "-c", "pass"]), medians([*PROGRAM, "--help"])
    told = f"--help: {help_[0] * 1e3:.0f} ms wall, {help_[1] * 1e3:.0f} ms CPU"
    print(f"{told}; python -c pass: {bare[0] * 1e3:.0f} ms wall, {bare[1] * 1e3:.0f} ms CPU")
    print(f"ratio help / bare: {help_[0] / bare[0]:.1f} by wall, {help_[1] / bare[1]:.1f} by CPU (goal 6)")
    with tempfile.TemporaryDirectory() as folder:
        demo = [*PROGRAM, "demo", "--out", folder]
        seconds(demo)
        wall, cpu = medians(demo)
    print(f"demo, whole process: {wall:.2f} s wall, {cpu:.2f} s CPU, median of {RUNS} (goal 3 s on a quiet machine)")


if __name__ == "__main__":
    main()
