"""The load cases beside a motion integrated in time: where they are low, over spans, walkers, webbings and leashes.

Run: python -m tests.bench motion. Every row is one kind of movement; the numbers are our load case over the motion's
greatest anchor tension. Nothing is timed: what counts is the least ratio and how many cases stay under 1.
"""

import sys
from itertools import product
from pathlib import Path

import numpy as np

sys.path.insert(0, str(Path(__file__).resolve().parents[1]))

from line_motion import GRAVITY, peaks  # noqa: E402

from siteassess.mechanics.line_load import Floor  # noqa: E402
from siteassess.mechanics.loadcases import load_cases  # noqa: E402
from siteassess.mechanics.profile import plain_slope  # noqa: E402

SPANS = (10.0, 15.0, 20.0, 30.0, 50.0, 80.0, 120.0, 150.0)
MASSES = (50.0, 80.0, 110.0)
WEBBINGS = (55.6e3, 120e3, 250e3, 500e3, 1000e3)
TIMES_STIFF = (1.0, 1.25, 1.5)
PLACES = (0.5, 0.25, 0.1)
LEASHES = (0.8, 1.2, 1.8)
LEASH_EA = {"dynamic rope": 30e3, "low-stretch rope": 41e3, "webbing": 250e3}


def tensions(span):
    """Two standing tensions a line of that length is pulled to [N]."""
    return (1500.0 + 10.0 * span, 3000.0 + 30.0 * span)


def lines(span):
    rows = product(tensions(span), WEBBINGS, TIMES_STIFF, MASSES, PLACES)
    return np.array([row for row in rows if row[0] / row[1] < 0.15]).T


def ours(use, span, standing, stiffness, mass, case, **more):
    found = {c.name: c for c in load_cases(use, span, 0.0, standing, stiffness, 0.07 * GRAVITY, mass * GRAVITY, **more)}
    falls = (case, "fall at an anchor")
    return max(found[one].tension for one in falls if one in found and case in (one, "leash fall"))


def told(name, ratios, columns):
    low = np.argsort(ratios)[:1]
    where = "; ".join("span {:.0f} m, {:.1f} kN, EA {:.0f} kN x {:.2f}, {:.0f} kg, at {:.2f}".format(
        *(c[i] / s for c, s in zip(columns, (1, 1e3, 1e3, 1, 1, 1)))) for i in low)  # fmt: skip
    spread = f"least {ratios.min():.2f}, 5 % {np.quantile(ratios, 0.05):.2f}, median {np.median(ratios):.2f}"
    low = f"low {np.mean(ratios < 1):4.0%}, low by 5 % {np.mean(ratios < 0.95):4.0%}"
    print(f"{name:42} {len(ratios):5d} cases, {spread}, {low} | {where}", flush=True)


def landings(use, height, spans=SPANS, tie=None):
    """Our bounced case over a landing from a height, for every line of the grid; a tie height: over level ground."""
    ratios, rows = [], []
    for span in spans:
        standing, stiffness, times, mass, at = lines(span)
        standing, stiffness, times, mass, at = (c[at * span >= 2.0] for c in (standing, stiffness, times, mass, at))
        motion = peaks(span, standing, stiffness * times, mass, at=at, height=height, floor=tie or np.inf)
        floor = {"floor": Floor(plain_slope(span), tie)} if tie else {}
        known = {}
        for i, key in enumerate(zip(standing, stiffness, mass)):
            if key not in known:
                known[key] = ours(use, span, *key, "bounced", **floor)
            ratios.append(known[key] / motion.tension[i])
        rows.append(np.array([np.full(at.shape, span), standing, stiffness, times, mass, at]))
    return np.array(ratios), np.concatenate(rows, axis=1)


def falls(kind, leash, spans=SPANS):
    """Our leash fall over a fall from the loaded line."""
    ratios, rows = [], []
    for span in spans:
        standing, stiffness, times, mass, at = lines(span)
        motion = peaks(span, standing, stiffness * times, mass, at=at, leash=leash, link=LEASH_EA[kind] / leash,
                       from_loaded=True)  # fmt: skip
        known = {}
        for i, key in enumerate(zip(standing, stiffness, mass)):
            if key not in known:
                known[key] = ours("high line", span, *key, "leash fall", leash=leash,
                                  leash_stiffness=LEASH_EA[kind] / leash)  # fmt: skip
            ratios.append(known[key] / motion.tension[i])
        rows.append(np.array([np.full(at.shape, span), standing, stiffness, times, mass, at]))
    return np.array(ratios), np.concatenate(rows, axis=1)


def main():
    for use, height in (("low line", 0.0), ("low line", 0.4), ("trick line", 1.0)):
        told(f"{use}, let go {height} m over it", *landings(use, height))
    for tie in (0.6, 1.0, 2.0):
        told(f"low line tied at {tie} m over level ground", *landings("low line", 0.4, SPANS[:6], tie))
    for kind, leash in product(LEASH_EA, LEASHES):
        told(f"high line, leash of {leash} m, {kind}", *falls(kind, leash, SPANS[1:]))


if __name__ == "__main__":
    main()
