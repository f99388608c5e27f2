"""How many anchors a second: trunk and root plate, all at once, beside the same sum in a plain loop.

Run: python tests/bench/bench_anchor.py
The peer is the loop below, written with the math module alone, as one would for a single tree. Both must agree
to 1e-12 before anything is timed.
"""

import math
import time

import numpy as np

from siteassess.mechanics.ownweight import own_lean_moment
from siteassess.mechanics.rootplate import root_limit
from siteassess.mechanics.stem import stem_limit

COUNT, LOOPED = 100_000, 10_000


def anchors(count, seed=3):
    draw = np.random.default_rng(seed)
    d = draw.uniform(0.2, 0.9, count)
    return {
        "d": d,
        "h": d * draw.uniform(15, 75, count),
        "tie": draw.uniform(0.3, 2.5, count),
        "pull": draw.uniform(1e3, 12e3, count),
        "mor": draw.uniform(35e6, 80e6, count),
        "bark": d * 0.02,
        "wall": d * draw.uniform(0.2, 0.5, count),
        "lean": draw.uniform(0, 5, count),
        "lost": draw.uniform(0, 0.25, count),
    }


def at_once(a):
    own = own_lean_moment(a["d"], a["h"], a["lean"])
    section = {"bark_thickness": a["bark"], "wall": a["wall"], "other_moment": own}
    trunk = stem_limit(a["mor"], a["d"], a["tie"], a["pull"], **section)
    plate = root_limit(a["d"], a["h"], a["tie"], a["pull"], share_lost=a["lost"], lean_moment=own)
    chance = 1 - (1 - trunk.probability(0.2)) * (1 - plate.probability(0.2))
    return np.maximum(trunk.use, plate.use), chance


def phi(x):
    return 0.5 * math.erfc(-x / math.sqrt(2))


def one(d, h, tie, pull, mor, bark, wall, lean, lost):
    own = 950 * 0.45 * math.pi / 4 * d * d * h * 1.2 * 9.80665 * 0.5 * h * math.sin(math.radians(lean))
    wood = d - 2 * bark
    z = math.pi / 32 * wood**3 * (1 - (max(wood - 2 * wall, 0) / wood) ** 4)
    stem_median, stem_demand = 0.8 * mor * z, pull * tie + own
    root_median = 30e3 * d * d * min(h, 50 * d) * 0.75 * (1 - lost)
    root_demand = pull * (tie + min(2 * d, 1)) + own
    uses, keeps = [], 1.0
    for median, sd, demand in ((stem_median, 0.40, stem_demand), (root_median, 0.48, root_demand)):
        uses.append(demand * 1.5 / (median * math.exp(-1.6448536269514722 * sd)))
        keeps *= 1 - phi(math.log(demand / median) / math.hypot(sd, 0.2))
    return max(uses), 1 - keeps


def main():
    few = anchors(LOOPED)
    started = time.perf_counter()
    looped = [one(*row) for row in zip(*(v.tolist() for v in few.values()), strict=True)]
    loop = (time.perf_counter() - started) / LOOPED
    use, chance = at_once(few)
    np.testing.assert_allclose(use, [x[0] for x in looped], rtol=1e-12)
    np.testing.assert_allclose(chance, [x[1] for x in looped], rtol=1e-9, atol=1e-15)

    many = anchors(COUNT)
    at_once(many)
    best = min(timed(many) for _ in range(5))
    print(f"{COUNT} anchors at once: {best * 1e3:.0f} ms, {COUNT / best:,.0f} a second")
    print(f"the same sum in a plain loop: {loop * 1e6:.2f} us each, {1 / loop:,.0f} a second")
    print(f"ratio at once / loop: {loop * COUNT / best:.1f}")


def timed(many):
    started = time.perf_counter()
    at_once(many)
    return time.perf_counter() - started


if __name__ == "__main__":
    main()
