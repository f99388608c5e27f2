"""Time of 100,000 line cases on one core, and the ratio to the mooring library per case in the same run.

Run: python tests/bench/bench_cable.py. Goals: under 1 s, and 1,500 times faster a case.
"""

import time

import moorpy
import numpy as np

from siteassess.mechanics.cable import solve

CASES, PEER_CASES = 100_000, 60


def cases(count, seed=1):
    rng = np.random.default_rng(seed)
    span = rng.uniform(15, 400, count)
    return (
        span,
        span * rng.uniform(-0.2, 0.2, count),
        np.exp(rng.uniform(np.log(300), np.log(20e3), count)),
        np.exp(rng.uniform(np.log(25e3), np.log(2e6), count)),
        rng.uniform(0.25, 1.2, count),
        rng.uniform(300, 2000, count),
        rng.uniform(0.02, 0.98, count),
    )


def peer_seconds(columns, ours):
    """Seconds a case of the peer, which is given our unstretched lengths and so is spared the standing state."""
    spent = 0.0
    for i, (span, rise, _, stiffness, weight, load, at) in enumerate(zip(*columns)):
        system = moorpy.System(depth=1000)
        system.lineTypes["line"] = {
            "name": "line", "EA": stiffness, "w": weight, "m": weight / system.g, "d_vol": 1e-9, "input_d": 1e-9,
        }  # fmt: skip
        upto, whole = float(ours.unstretched_to_load[i]), float(ours.unstretched[i])
        begin = time.process_time()
        system.addPoint(1, [0, 0, -100])
        system.addPoint(1, [span, 0, -100 + rise])
        system.addPoint(0, [at * span, 0, -100 + at * rise - 0.05 * span], fExt=[0, 0, -load])
        system.addLine(upto, "line", pointA=1, pointB=3)
        system.addLine(whole - upto, "line", pointA=3, pointB=2)
        system.initialize()
        system.solveEquilibrium(tol=1e-9)
        spent += time.process_time() - begin
    return spent / len(columns[0])


def main():
    columns = cases(CASES)
    solve(*(column[:100] for column in columns))
    times = []
    for _ in range(5):
        begin = time.process_time()
        state = solve(*columns)
        times.append(time.process_time() - begin)
    best, unsolved = min(times), int((~state.converged).sum())
    some = [column[:PEER_CASES] for column in cases(PEER_CASES, seed=2)]
    peer = peer_seconds(some, solve(*some).require())
    print(f"{CASES} cases: best {best:.3f} s, worst {max(times):.3f} s of 5; {1e6 * best / CASES:.2f} us a case")
    print(f"without an answer: {unsolved} ({state.why()})")
    print(f"mooring library: {1e3 * peer:.1f} ms a case; ratio {peer / (best / CASES):.0f}")


if __name__ == "__main__":
    main()
